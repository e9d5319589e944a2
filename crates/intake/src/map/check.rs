//! What of a mapping cannot be followed: fields, units and values that are none, headers that no file has.

use super::Field;
use super::mapping::{Mapping, TableMapping};
use crate::reader::Workbook;
use crate::stage::says_something;
use airshelf_units::{Unit, UnitError};

/// Why a mapping cannot be followed. Trying again with the same one does not help.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MapFault {
    /// A field that there is not.
    #[error("the map names a field `{name}`, which is none{}", nearest(.near))]
    Field {
        /// As the map has it.
        name: String,
        /// The field that is spelled most like it.
        near: Option<String>,
    },
    /// A unit that is none, or that measures something else.
    #[error("the map gives the field {field} a unit that it cannot have: {why}")]
    Unit {
        /// The field's name.
        field: String,
        /// What is wrong with the unit.
        why: UnitError,
    },
    /// A unit for what is not measured.
    #[error("the map gives the field {field} the unit `{unit}`, but it holds no measured value")]
    Unmeasured {
        /// The field's name.
        field: String,
        /// As the map has it.
        unit: String,
    },
    /// A word that must be one of a few.
    #[error("the map says {what} `{text}`; it is one of {of}")]
    Word {
        /// What it says.
        what: &'static str,
        /// As the map has it.
        text: String,
        /// What there is.
        of: &'static str,
    },
    /// What it says of a page cannot be read.
    #[error("the map says that {field} is `{text}` for every row, which cannot be read as such")]
    Page {
        /// The field's name.
        field: String,
        /// As the map has it.
        text: String,
    },
    /// A header that no file has.
    #[error("the map speaks of a column `{header}`, but no such header stands in {}", place(.sheet, *.row))]
    Header {
        /// As the map has it.
        header: String,
        /// The sheet that it should stand on.
        sheet: Option<String>,
        /// The row that it should stand in.
        row: Option<u32>,
    },
    /// A column that names neither its header nor its number.
    #[error("the map has a column without a header and without a number; give it one of them")]
    NoColumn,
}

fn nearest(near: &Option<String>) -> String {
    near.as_ref().map(|near| format!("; the nearest is `{near}`")).unwrap_or_default()
}

fn place(sheet: &Option<String>, row: Option<u32>) -> String {
    let row = row.map(|row| format!("row {row} of ")).unwrap_or_default();
    let sheet = sheet.as_ref().map(|sheet| format!("sheet {sheet} of ")).unwrap_or_default();
    format!("{row}{sheet}the files")
}

/// A field of that name.
fn field(name: &str) -> Result<Field, MapFault> {
    Field::from_name(name).ok_or_else(|| {
        let near = Field::names()
            .map(|own| (strsim::jaro_winkler(&own, &name.to_lowercase()), own))
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|best| best.0 >= 0.8);
        MapFault::Field { name: name.to_owned(), near: near.map(|n| n.1) }
    })
}

fn one_of(what: &'static str, text: Option<&str>, of: &'static str) -> Result<(), MapFault> {
    match text {
        Some(text) if !of.split(' ').any(|word| word.eq_ignore_ascii_case(text.trim())) => {
            Err(MapFault::Word { what, text: text.to_owned(), of })
        }
        _ => Ok(()),
    }
}

impl Mapping {
    /// Looks for what cannot be followed whatever the files hold.
    ///
    /// # Errors
    /// The first [`MapFault`] in the order of its tables.
    pub fn check(&self) -> Result<(), MapFault> {
        self.tables.iter().try_for_each(table)
    }

    /// The headers that it speaks of and a file does not have, by their place among its tables and columns.
    pub fn unmet(&self, workbook: &Workbook) -> Vec<(usize, usize)> {
        let mut out = Vec::new();
        for (at, table) in self.tables.iter().enumerate() {
            for (place, column) in table.columns.iter().enumerate() {
                if let (Some(header), None) = (&column.header, column.column)
                    && !stands(workbook, table, header)
                {
                    out.push((at, place));
                }
            }
        }
        out
    }

    /// The fault of a column that no file has.
    pub fn unmet_fault(&self, (table, column): (usize, usize)) -> MapFault {
        let table = &self.tables[table];
        let header = table.columns[column].header.clone().unwrap_or_default();
        MapFault::Header { header, sheet: table.sheet.clone(), row: table.header_row }
    }
}

fn stands(workbook: &Workbook, table: &TableMapping, header: &str) -> bool {
    let sheets = workbook.sheets.iter().filter(|s| table.sheet.is_none() || s.name == table.sheet);
    let same = |text: &str| text.trim().eq_ignore_ascii_case(header.trim());
    sheets
        .flat_map(|sheet| &sheet.rows)
        .filter(|row| table.header_row.is_none_or(|number| number == row.number()))
        .any(|row| row.cells().any(|cell| same(cell.raw)))
}

fn table(table: &TableMapping) -> Result<(), MapFault> {
    one_of("a table's kind is", table.kind.as_deref(), "runs parts winners predictions ratings none")?;
    one_of("the decimal mark is", table.decimal.as_deref(), ". ,")?;
    for column in &table.columns {
        if column.header.is_none() && column.column.is_none() {
            return Err(MapFault::NoColumn);
        }
        let Some(name) = &column.field else { continue };
        let field = field(name)?;
        let Some(unit) = &column.unit else { continue };
        match field.dimension() {
            None => {
                return Err(MapFault::Unmeasured { field: name.clone(), unit: unit.clone() });
            }
            Some(dimension) => Unit::named(unit, Some(dimension))
                .map_err(|why| MapFault::Unit { field: name.clone(), why })?,
        };
    }
    for (name, text) in &table.page {
        if !says_something(field(name)?, text) {
            return Err(MapFault::Page { field: name.clone(), text: text.clone() });
        }
    }
    Ok(())
}
