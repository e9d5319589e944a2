//! The store: a shelf on disk, in one SQLite file with photos beside it.
//!
//! What is kept is a log of transactions, byte for byte as their writers made them; the typed tables are what the
//! changes of that log add up to, and [`Store::check`] proves it by replaying the log into an empty store. Two stores
//! sync by exchanging the transactions that the other does not hold.
//!
//! Start reading at [`shelf`] (creating and opening), then [`tables`] (how a change reaches a table), [`writer`]
//! (one person's write), [`import`] (a hundred thousand rows at once), [`sync`].
//!
//! Architecture invariant: only this crate knows SQL. It reads no clock, no randomness and no configuration: the
//! [`Host`] passed in does, and [`native`] is the one for ordinary programs. It never prints.

#![cfg_attr(test, allow(clippy::unwrap_used))]

#[cfg(not(target_family = "wasm"))]
mod backup;
mod births;
pub mod blobs;
#[cfg(target_family = "wasm")]
pub mod browser;
mod check;
mod conflicts;
mod connection;
pub mod error;
mod evening;
mod evenings;
mod fork;
#[cfg(all(test, not(target_family = "wasm")))]
mod full;
mod hidden;
pub mod history;
mod host;
mod import;
mod layout;
mod local;
mod log;
#[cfg(not(target_family = "wasm"))]
mod naming;
#[cfg(not(target_family = "wasm"))]
pub mod native;
mod part_rows;
mod parts;
mod peers;
mod place;
mod query;
mod references;
mod rows;
mod search;
mod shelf;
mod sync;
mod tables;
mod taken_back;
mod undo;
mod whole;
mod writer;

#[cfg(not(target_family = "wasm"))]
pub use backup::BackedUp;
pub use blobs::{BlobState, Blobs, Piece};
pub use check::{Checked, Incomplete, Parked};
pub use conflicts::Conflict;
pub use error::StoreError;
pub use evening::SessionCount;
pub use fork::Link;
pub use history::{Entry, TransactionId};
pub use host::{Host, Identity};
pub use import::{Completing, Imported, Pace};
pub use layout::ddl;
pub use part_rows::PartRows;
pub use parts::{NearPart, PartFilter, SizeSought};
pub use peers::Peer;
pub use query::Scope;
pub use search::Hit;
pub use shelf::{ReadOnly, Store};
pub use sync::{Applied, Encoded, HeldUntil, Revived, VersionVector};
pub use undo::Undone;
pub use writer::{Changed, Outcome, Writer};
