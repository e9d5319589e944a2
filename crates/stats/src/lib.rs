//! airshelf-stats: scatter, uncertainty and verdicts.
#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod compare;
pub mod distribution;
pub mod drift;
mod error;
pub mod plan;
pub mod studentized_range;

pub use error::{Result, StatsError};
