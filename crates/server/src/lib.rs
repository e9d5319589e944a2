//! The hub: what other devices sync with, who may, and how they know that it is the hub.
//!
//! Start reading at [`run`], which opens the ports and stops again, then [`hub`], what every request can reach;
//! [`guard`] is what each request passes before anything else, [`api`] what can be asked, [`trust`] who may ask,
//! [`tls`] the certificates, [`page`] and [`screens`] what a browser sees.
//!
//! Architecture invariants: only this crate knows HTTP, TLS and ports. No cookies: a device shows its key in a header.
//! Keys and codes are kept as hashes, outside the shelf's folder and every backup. No request names a file: what is
//! served stands in the program. Nothing is decided here about records; that is the app's.

#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod api;
pub mod client;
pub mod guard;
pub mod hub;
pub mod log;
pub mod page;
pub mod refusal;
pub mod run;
pub mod screens;
pub mod tls;
pub mod trust;
mod watch;

pub use hub::Hub;
pub use refusal::Refusal;
pub use run::{Certificate, Options, PORT, Reach, Running, serve};
pub use trust::{DeviceReport, Invitation, Trust};
