//! Tests that cross crates.

pub mod same;
