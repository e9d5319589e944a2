//! What a person says of a sheet's headers and columns before it is kept, and what there is to say.

use airshelf_catalog::TableKind;
use airshelf_intake::map::{ColumnMapping, Mapping, TableMapping, fields_of};
use airshelf_units::Unit;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// What a person says of a row and the columns below it.
#[derive(Clone, Debug, PartialEq, Deserialize, TS)]
pub struct TableSaid {
    /// Which of the files, from 0.
    pub file: usize,
    /// The sheet; none in text files.
    pub sheet: Option<String>,
    /// The file's own row.
    pub row: u32,
    /// Whether it heads a table.
    pub heads: bool,
    /// Columns of which something is said; the others are found by their words.
    pub columns: Vec<ColumnSaid>,
}

/// What a person says of a column.
#[derive(Clone, Debug, PartialEq, Deserialize, TS)]
pub struct ColumnSaid {
    /// The column, from 0.
    pub column: usize,
    /// The field; none: the column is left out.
    pub field: Option<String>,
    /// The unit; none: as the header says.
    pub unit: Option<String>,
}

/// The fields that columns of such a table can hold.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FieldsOffered {
    /// The kind of table.
    pub kind: String,
    /// The fields.
    pub fields: Vec<FieldOffered>,
}

/// A field that a column can hold.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FieldOffered {
    /// Its name.
    pub name: String,
    /// In words.
    pub text: String,
    /// Units that its numbers can be in; none where it holds words.
    pub units: Vec<UnitOffered>,
}

/// A unit that a column can be in.
#[derive(Clone, Debug, Serialize, TS)]
pub struct UnitOffered {
    /// Its symbol.
    pub symbol: String,
    /// As people write it.
    pub text: String,
}

/// The mapping of each file, where something was said of it.
pub(super) fn mappings(said: &[TableSaid], files: usize) -> Vec<Option<Mapping>> {
    let of = |file: usize| {
        let tables: Vec<TableMapping> = said.iter().filter(|said| said.file == file).map(table).collect();
        (!tables.is_empty()).then_some(Mapping { tables })
    };
    (0..files).map(of).collect()
}

fn table(said: &TableSaid) -> TableMapping {
    let column = |column: &ColumnSaid| ColumnMapping {
        header: None,
        column: Some(column.column),
        field: column.field.clone(),
        unit: column.unit.clone(),
    };
    TableMapping {
        sheet: said.sheet.clone(),
        header_row: Some(said.row),
        kind: (!said.heads).then(|| "none".into()),
        columns: said.columns.iter().map(column).collect(),
        ..TableMapping::default()
    }
}

/// What can be said of the columns of a kind of table.
pub(super) fn offered(kind: TableKind) -> FieldsOffered {
    let fields = fields_of(kind).into_iter().map(|field| FieldOffered {
        text: field.name().replace('_', " "),
        units: field.dimension().map_or_else(Vec::new, |dimension| {
            let fitting =
                Unit::all().filter(|unit| unit.dimension() == dimension && !unit.shown().is_empty());
            fitting
                .map(|unit| UnitOffered { symbol: unit.symbol().to_owned(), text: unit.shown().to_owned() })
                .collect()
        }),
        name: field.name().into_owned(),
    });
    FieldsOffered { kind: kind.name().to_owned(), fields: fields.collect() }
}

/// Whether a person said what a column holds.
pub(super) fn of_column(
    said: &[TableSaid],
    file: usize,
    sheet: Option<&str>,
    row: u32,
    column: usize,
) -> bool {
    said.iter()
        .filter(|s| s.file == file && s.sheet.as_deref() == sheet && s.row == row && s.heads)
        .any(|s| s.columns.iter().any(|c| c.column == column))
}
