//! airshelf-flow: from what a bench shows to what an engine loses.
//!
//! Pure functions on `f64` in SI units. Every public function names its
//! formula, its symbols, where it holds, and where it comes from.
//!
//! What is deliberately absent: units as people write them (`airshelf-units`),
//! scatter and verdicts (`airshelf-stats`), parts and sessions
//! (`airshelf-catalog`), any clock, file or randomness. There is no function
//! that subtracts closed-throttle leakage: that leakage is a condition of the
//! carburetor and belongs to the reading.
//!
//! Where to start: [`reduce`] walks one reading from the gauge to a flow at
//! reference air; [`restriction`] turns two flows into the part's own `k`;
//! [`engine`] asks what that costs. [`air`], [`orifice`], [`plate`],
//! [`leakage`], [`scale`] and [`sweep`] are the steps they use; [`geometry`]
//! and [`photo_scale`] are about the part on the workbench. Quantities that
//! deserve a warning come with a [`Caution`], whose sentence is made in one
//! place.
//!
//! Priced standards were not opened for this crate: their equations and clause
//! numbers are from memory or from open-source transcriptions, and the values
//! are checked against those (see `tests/reference.rs`).
#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod air;
mod caution;
pub mod engine;
mod error;
pub mod geometry;
pub mod leakage;
pub mod orifice;
pub mod photo_scale;
pub mod plate;
pub mod reduce;
pub mod restriction;
pub mod scale;
pub mod sweep;

pub use caution::Caution;
pub use error::{FlowError, Limit};
