//! What a screen can ask: one request, one answer, both as JSON, the same bytes from every shell.
//!
//! Each place of the screens has a file or a folder of its own here, with the requests that it makes (`Asked`) and what
//! comes back (`Answer`). [`Desk`] holds the open shelf and answers. Photos and sheets travel beside the JSON, as bytes.
//!
//! Architecture invariant: whatever a screen shows is made here, numbers in words of both unit systems included; a
//! screen computes nothing. TypeScript types are generated from these types, never written twice.

mod amount;
pub mod bench;
mod desk;
pub mod device;
pub mod entry;
pub mod findings;
pub mod records;
pub mod shelf;

pub use amount::{Amount, Interval};
pub use desk::{Answered, Desk, Places};

use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A question of a screen.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "place", rename_all = "kebab-case")]
pub enum Request {
    /// Parts and assemblies.
    Shelf(shelf::Asked),
    /// Tonight at the bench.
    Bench(bench::Asked),
    /// What was learned.
    Findings(findings::Asked),
    /// Old records.
    Records(records::Asked),
    /// This device.
    Device(device::Asked),
    /// Rows, fields and quantities, wherever they are shown.
    Entry(entry::Asked),
}

/// The answer to the request of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[expect(clippy::large_enum_variant, reason = "an answer is written down at once and never kept")]
#[serde(tag = "place", rename_all = "kebab-case")]
pub enum Answer {
    /// To [`Request::Shelf`].
    Shelf(shelf::Answer),
    /// To [`Request::Bench`].
    Bench(bench::Answer),
    /// To [`Request::Findings`].
    Findings(findings::Answer),
    /// To [`Request::Records`].
    Records(records::Answer),
    /// To [`Request::Device`].
    Device(device::Answer),
    /// To [`Request::Entry`].
    Entry(entry::Answer),
}
