//! Old records: a file of any shop becomes records of the catalogue, and the audit says what is wrong with them.
//!
//! 1. [`reader`]: bytes to sheets of cells, exactly as written (CSV in any delimiter and encoding, XLSX, ODS).
//! 2. [`map`]: what each column means, and in which unit; a person's [`map::Mapping`] overrides it.
//! 3. [`stage`]: tables, page headers, ditto marks, grids and lists become [`airshelf_catalog::Records`], every one with
//!    its file, sheet and row; what cannot be read is set aside with its reason.
//! 4. [`audit`]: rules over catalogue records, whether just staged or long stored.
//! 5. [`export`]: records back to canonical sheets.
//!
//! Start reading at [`stage::stage`].
//!
//! Architecture invariant: this crate reads bytes that it is given and returns values. It opens no file, reads no clock,
//! and writes nothing anywhere; it never changes a raw text that it read.

#![cfg_attr(test, allow(clippy::unwrap_used))]

pub mod audit;
pub mod export;
pub mod map;
pub mod reader;
pub mod stage;
mod threads;
