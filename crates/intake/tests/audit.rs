//! The audit over whole sheets: the sample sheets with their planted faults, and every rule on its own.

#![allow(clippy::unwrap_used)]

#[path = "audit/parts.rs"]
mod parts;
#[path = "audit/runs.rs"]
mod runs;
#[path = "audit/samples.rs"]
mod samples;
#[path = "audit/sheet.rs"]
mod sheet;
#[path = "audit/twice.rs"]
mod twice;
