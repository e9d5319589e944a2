//! Photos as bytes: what they are, what of them is stored, and a small picture of them.
//!
//! Start reading at [`cleaned`] and [`thumbnail`].
//!
//! Architecture invariants: this crate knows no part and no file, only bytes. It never changes an original. What a hostile
//! or broken file can cost is bounded before a pixel is decoded.

#![cfg_attr(test, allow(clippy::unwrap_used))]

mod clean;
mod exif;
mod thumbnail;

pub use clean::{Clean, cleaned};
pub use thumbnail::{EDGE_PX, thumbnail};

/// A photo that no picture can be made of. Trying again does not help with any of them.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PhotoError {
    /// The bytes are of no kind that is decoded here: JPEG, PNG and WebP are.
    #[error("this is no JPEG, PNG or WebP")]
    OtherKind,
    /// The picture would take more memory than is given to one.
    #[error("the picture is too big: {width} × {height}")]
    TooBig {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// The bytes are damaged or cut off.
    #[error("the picture is damaged: {why}")]
    Damaged {
        /// What the decoder says.
        why: String,
    },
}
