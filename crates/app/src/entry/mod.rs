//! Listing, showing, adding and changing single rows, driven by the catalogue's own list of fields.

mod edit;
mod fields;
mod row;

pub use edit::Changed;
pub(crate) use edit::called;
pub use fields::{FieldHelp, Resolve, parse};
pub use row::{Shown, shown};
