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
pub(crate) mod vocabulary;

<<<<<<< HEAD
pub use columns::Assigned;
=======
pub use check::MapFault;
pub use columns::{Assigned, Group};
>>>>>>> b9a6ef1 (intake, app: no row of a table vanishes; units, restraints, baselines and maps that are not understood are told; losses written negative are losses)
pub use field::Field;
pub use group::Group;
pub use header::Header;
pub use mapping::{ColumnMapping, DateOrder, Mapping, TableMapping};
