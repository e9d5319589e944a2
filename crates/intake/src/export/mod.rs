//! Records back to canonical sheets: the columns, names and units that `import` knows without guessing.
//!
//! Importing an export into an empty shelf gives the same values. A text is written as it was typed wherever it reads
//! back to the same value; else the number in the column's unit, with as many digits as it takes. What a page said once
//! for all its rows stands in every row. Optional columns appear only where some record has them.

mod number;
mod parts;
mod runs;

pub use parts::parts;
pub use runs::runs;

use airshelf_catalog::{Quantity, Records, Uuid};
use airshelf_units::{Dimension, Unit};
use number::cell;
use std::collections::HashMap;
use std::io::Write;

/// Why a sheet could not be written. Trying again helps where the place to write to has room again.
#[derive(Debug, thiserror::Error)]
#[error("the sheet could not be written: {0}; look at the disk and try again")]
pub struct ExportError(#[from] csv::Error);

impl From<std::io::Error> for ExportError {
    fn from(error: std::io::Error) -> Self {
        ExportError(error.into())
    }
}

/// One column of a sheet before it is written.
struct Column<'r> {
    name: &'static str,
    optional: bool,
    cells: Cells<'r>,
}

enum Cells<'r> {
    Text(Vec<String>),
    /// Quantities, with the unit to use where they were written in several.
    Measured(Dimension, Unit, Vec<Option<&'r Quantity>>),
}

impl Column<'_> {
    fn is_empty(&self) -> bool {
        match &self.cells {
            Cells::Text(list) => list.iter().all(String::is_empty),
            Cells::Measured(_, _, list) => list.iter().all(Option::is_none),
        }
    }

    /// The unit that all cells were written in, else the usual one.
    fn unit(&self) -> Option<Unit> {
        let Cells::Measured(dimension, usual, list) = &self.cells else { return None };
        let mut units =
            list.iter().flatten().filter_map(|q| q.unit()).filter(|u| u.dimension() == *dimension);
        let first = units.next().unwrap_or(*usual);
        Some(if units.all(|u| u == first) { first } else { *usual })
    }

    fn header(&self) -> String {
        match self.unit() {
            Some(unit) if unit != Unit::COUNT => format!("{} ({})", self.name, unit_name(unit)),
            _ => self.name.to_owned(),
        }
    }
}

/// The unit as canonical headers write it.
fn unit_name(unit: Unit) -> &'static str {
    match unit {
        Unit::FAHRENHEIT => "F",
        Unit::CELSIUS => "C",
        other => other.symbol(),
    }
}

fn write<W: Write>(columns: Vec<Column<'_>>, rows: usize, out: W) -> Result<(), ExportError> {
    let columns: Vec<Column<'_>> = columns.into_iter().filter(|c| !(c.optional && c.is_empty())).collect();
    let units: Vec<Option<Unit>> = columns.iter().map(Column::unit).collect();
    let mut writer = csv::Writer::from_writer(out);
    writer.write_record(columns.iter().map(Column::header))?;
    for row in 0..rows {
        writer.write_record(columns.iter().zip(&units).map(|(column, unit)| {
            match (&column.cells, unit) {
                (Cells::Text(list), _) => list[row].clone(),
                (Cells::Measured(_, _, list), Some(unit)) => {
                    list[row].map_or_else(String::new, |q| cell(q, *unit))
                }
                (Cells::Measured(..), None) => String::new(),
            }
        }))?;
    }
    writer.flush()?;
    Ok(())
}

/// Parts' texts by revision: the tag, else the name, with the label of a later revision.
fn revision_names(records: &Records) -> HashMap<Uuid, String> {
    let parts: HashMap<Uuid, &str> =
        records.parts.iter().filter_map(|p| Some((p.id, p.tag.as_deref().or(p.name.as_deref())?))).collect();
    records
        .revisions
        .iter()
        .filter_map(|r| {
            let name = parts.get(&r.part?)?;
            Some((
                r.id,
                match &r.label {
                    None => (*name).to_owned(),
                    Some(label) => format!("{name} rev {label}"),
                },
            ))
        })
        .collect()
}
