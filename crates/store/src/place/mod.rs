//! Where a shelf's files lie: a folder of a disk, or a browser's private file system.

#[cfg(not(target_family = "wasm"))]
mod native;
#[cfg(target_family = "wasm")]
mod wasm;

#[cfg(not(target_family = "wasm"))]
pub(crate) use native::{can_write, clear, copy_into, look, make, name_shelf};
#[cfg(target_family = "wasm")]
pub(crate) use wasm::{can_write, clear, copy_into, look, make};
