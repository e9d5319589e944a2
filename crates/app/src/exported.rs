//! Canonical sheets of a shelf.

use crate::code::{Code, Fault};
use crate::shelf::Shelf;
use airshelf_intake::export;

impl Shelf {
    /// The runs as a canonical sheet; importing it into an empty shelf gives the same values.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read.
    pub fn export_runs(&self) -> Result<Vec<u8>, Fault> {
        let mut out = Vec::new();
        export::runs(&self.records()?, &mut out).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
        Ok(out)
    }

    /// The parts as a canonical sheet.
    ///
    /// # Errors
    /// As [`Shelf::export_runs`].
    pub fn export_parts(&self) -> Result<Vec<u8>, Fault> {
        let mut out = Vec::new();
        export::parts(&self.records()?, &mut out).map_err(|e| Fault::new(Code::Store, e.to_string()))?;
        Ok(out)
    }
}
