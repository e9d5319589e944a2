//! What a column means: header words, units and content become fields.
//!
//! Start at [`columns::assign`]; [`vocabulary`] lists the spellings, [`header`] takes a header apart, [`mapping`] is
//! what a person may say instead.

pub mod columns;
mod evidence;
pub mod field;
pub mod header;
pub mod mapping;
pub(crate) mod vocabulary;

pub use columns::{Assigned, Group};
pub use field::Field;
pub use header::Header;
pub use mapping::{ColumnMapping, DateOrder, Mapping, TableMapping};
