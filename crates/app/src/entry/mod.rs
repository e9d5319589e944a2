//! Listing, showing, adding and changing single rows, driven by the catalogue's own list of fields.

mod beside;
mod edit;
mod fields;
mod find;
mod row;
mod write;

pub use edit::Changed;
pub use fields::{FieldHelp, Resolve, parse};
pub(crate) use find::called;
pub use row::{Shown, shown};
pub(crate) use write::{checked, measure, measures};
