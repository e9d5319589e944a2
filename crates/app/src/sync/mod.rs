//! Two shelves become equal: what is asked, what is answered, and the order of it.
//!
//! [`Exchange`] is the asking side and [`Shelf::answer`](crate::Shelf::answer) the other; neither knows what carries
//! the questions. Every question may be lost, doubled or asked again: the only cursor is what a shelf says it holds once
//! it has committed. Nothing here asks "upload or download?", and an exchange stops where it gains nothing, never after
//! a count.
//!
//! Order: greet, settle forks of copied devices, send, receive, photos. One that goes on from another a moment ago first
//! sends or asks for what is new. Start reading at [`wire`].

mod exchange;
mod forks;
pub mod http;
mod hub;
mod photos;
#[cfg(feature = "openapi")]
mod shape;
pub mod wire;

pub use exchange::{Exchange, SyncReport};
pub use hub::Local;
pub use photos::PhotosAsked;
