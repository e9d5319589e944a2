//! airshelf-stats: scatter, uncertainty and verdicts.
//!
//! Pure functions on `f64`. What repeats of a bench show, what they do not,
//! and what may therefore be said about two parts.
//!
//! What is deliberately absent: units and how people write them
//! (`airshelf-units`), physics (`airshelf-flow`), parts and sessions
//! (`airshelf-catalog`), sentences (`airshelf-app`), and any clock, file or
//! randomness. Nothing here calls a difference from one reading each, and
//! nothing takes readings without a refit for repeats.
//!
//! Where to start: [`compare`] is the heart, from the fittings of one group to
//! losses, places and verdicts. [`plan`] says how many fittings it takes and
//! [`effects`] separates lids, filters and bases. The rest is what these stand
//! on: [`studentized_range`] and [`distribution`], [`regression`] and
//! [`anova`], [`uncertainty`] after the GUM, [`difference`], [`agreement`],
//! [`outlier`], [`drift`] and [`control`]. [`predict`] and [`rank`] are about
//! guesses made before the test.
//!
//! Handbooks that are open (GUM, NIST/SEMATECH) are cited by clause; where a
//! docstring says "from memory", the page was not opened, and the values are
//! checked against published figures in `tests/reference.rs`.
#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod agreement;
pub mod anova;
pub mod compare;
pub mod control;
pub mod difference;
pub mod distribution;
pub mod drift;
pub mod effects;
mod error;
pub mod outlier;
pub mod plan;
pub mod predict;
pub mod rank;
pub mod regression;
mod special;
pub mod studentized_range;
pub mod summary;
pub mod uncertainty;

pub use error::{Result, StatsError};
