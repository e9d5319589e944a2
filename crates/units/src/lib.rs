//! Quantities as people write them: read, convert, print.
//!
//! A length may be `1-1/8`, `2 15/16 in`, `57 mm` or `1′ 2″`; a pressure `5.5 inH2O`, `20 in. water` or `0,85 kPa`.
//! [`read`] turns such a text into a number of a known [`Unit`] and into SI; [`show`] goes the other way.
//!
//! Architecture invariant: this crate knows no part, no bench and no table layout. It touches no file, clock, locale or
//! environment; the decimal style of a table is passed in ([`Decimal`], found with [`decimal_of`]). A text that can be
//! read in two ways is refused with both readings, never guessed.
//!
//! Start reading at [`read`] (one cell), then `table.rs` (every unit with its factor and source).

mod decimal;
mod dimension;
mod error;
mod fraction;
mod named;
mod number;
mod read;
mod show;
mod sizes;
mod system;
mod table;
mod unit;

pub use decimal::{Decimal, decimal_of};
pub use dimension::Dimension;
pub use error::{ReadError, UnitError};
pub use fraction::{Fraction, Mixed, nearest_fraction};
pub use read::{Read, read, read_any};
pub use show::{Digits, Rounded, show, show_number, to_resolution};
pub use sizes::read_sizes;
pub use system::{System, barometer, in_system, usual};
pub use unit::Unit;
