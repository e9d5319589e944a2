//! What a column means: header words, units and content become fields.
//!
//! Start at [`columns::assign`]; [`vocabulary`] lists the spellings, [`header`] takes a header apart, [`mapping`] is
//! what a person may say instead.

mod check;
pub mod columns;
mod evidence;
pub mod field;
pub(crate) mod group;
pub mod header;
pub(crate) mod likeness;
pub mod mapping;
mod pieces;
pub(crate) mod vocabulary;

pub use check::MapFault;
pub use columns::Assigned;
pub use field::Field;
pub use group::{Group, fields_of};
pub use header::Header;
pub use mapping::{ColumnMapping, DateOrder, Mapping, TableMapping};
