//! What a user can ask of a shelf, and the answers.
//!
//! Start reading at [`Shelf`], which opens a shelf and answers requests; [`calc`] computes without one.
//! [`fittings`] sorts runs into what may be compared, [`compare`] turns that into verdicts, [`sentences`] words them.
//!
//! Architecture invariants: this crate never prints and never reads a clock. Only here is it decided what crosses to a
//! screen or a script. Verdicts and faults are codes and quantities; sentences are made in one module.

#![cfg_attr(test, allow(clippy::unwrap_used))]

mod audited;
pub mod calc;
pub mod code;
pub mod compare;
pub mod conflicts;
pub mod demo;
pub mod entry;
pub mod explain;
mod exported;
pub mod fittings;
mod found;
mod import;
pub mod keep;
mod mending;
pub mod names;
pub mod photos;
pub mod report;
pub mod request;
pub mod sentences;
mod shelf;
pub mod sync;

pub use airshelf_catalog::EntityKind;
pub use airshelf_intake::map::Mapping;
#[cfg(target_family = "wasm")]
pub use airshelf_store::browser::Browser;
#[cfg(not(target_family = "wasm"))]
pub use airshelf_store::native;
pub use airshelf_store::{Host, Identity};
pub use airshelf_units as units;
pub use audited::{AuditReport, FaultReport};
pub use code::{Code, Fault};
pub use found::{Found, HitReport};
pub use import::{
    ConversionReport, FileIn, FileReport, HeadersReport, ImportAsked, ImportReport, Progress,
    QuarantineReport, dry_run,
};
pub use mending::{AsideCell, AsideCells, RowMended};
pub use shelf::{CompareAsked, Shelf};
