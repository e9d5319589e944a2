//! The catalogue: what a shelf holds, as plain values.
//!
//! Start reading at [`model`], which lists every entity with its fields; [`records`] bundles them, [`ids`] says
//! where identifiers come from, [`value`] is the form in which a field travels in a change.
//!
//! Architecture invariant: this crate knows no SQL, no file, no clock and no randomness. It says what a change
//! is and how changes merge; it never decides when one happens.

#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod change;
pub mod enums;
pub mod ids;
pub mod limits;
pub mod model;
pub mod quantity;
pub mod records;
pub mod value;

pub use enums::*;
pub use model::*;
pub use quantity::{Details, Price, Quantity, Source, Written};
pub use records::{Records, RecordsPart};
pub use uuid::Uuid;
pub use value::{Entity, EntityKind, FieldDef, FieldKind, Value, ValueError, ValueRef};
