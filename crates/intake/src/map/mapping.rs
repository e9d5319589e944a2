//! What a person says about a file where the words of its headers do not suffice.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Overrides for a file's tables; read from and written to JSON.
///
/// ```
/// let mapping: airshelf_intake::map::Mapping = serde_json::from_str(
///     r#"{"tables":[{"header_row":4,"columns":[{"header":"Wert","field":"flow","unit":"L/s"}],"decimal":","}]}"#,
/// )?;
/// assert_eq!(mapping.tables[0].columns[0].field.as_deref(), Some("flow"));
/// # Ok::<(), serde_json::Error>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapping {
    /// One entry for each table that needs one.
    #[serde(default)]
    pub tables: Vec<TableMapping>,
}

/// Overrides for one table, or for every table that the entry fits.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct TableMapping {
    /// The sheet's name; none: any sheet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// The file's own row of the header; given, it is the header whatever its words say. None: any table.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub header_row: Option<u32>,
    /// What the table holds (`runs`, `parts`, `winners`, `predictions`, `ratings`); `none` where the row heads nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// Columns; those left out are found by their words.
    pub columns: Vec<ColumnMapping>,
    /// `.` or `,`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<String>,
    /// Which comes first in a date such as 3/4/2024.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date_order: Option<DateOrder>,
    /// The session's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub session: Option<String>,
    /// What holds for every row: field name to text with its unit, such as `"set_pressure": "20 inH2O"`.
    pub page: BTreeMap<String, String>,
}

/// One column of a [`TableMapping`].
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ColumnMapping {
    /// The header as spelled in the file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub header: Option<String>,
    /// The column, from 0; wins over `header`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<usize>,
    /// The field's name; none: the column is left out.
    pub field: Option<String>,
    /// The unit; none: as the header says.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
}

/// Which comes first in a date of three numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DateOrder {
    /// 3/4/2024 is the third of April.
    DayFirst,
    /// 3/4/2024 is the fourth of March.
    MonthFirst,
}

impl Mapping {
    /// The mapping as an imported file keeps it.
    pub fn to_json(&self) -> String {
        serde_json::to_string(self).expect("a mapping holds nothing that JSON cannot")
    }

    /// Finds the entry for a table; the most specific one wins.
    pub fn table(&self, sheet: Option<&str>, header_row: u32) -> Option<&TableMapping> {
        self.tables
            .iter()
            .filter(|t| t.sheet.is_none() || t.sheet.as_deref() == sheet)
            .filter(|t| t.header_row.is_none_or(|row| row == header_row))
            .max_by_key(|t| (t.header_row.is_some(), t.sheet.is_some()))
    }
}

impl TableMapping {
    /// Whether a person says that the row is no header.
    pub(crate) fn is_no_header(&self) -> bool {
        self.header_row.is_some()
            && self.kind.as_deref().is_some_and(|kind| kind.eq_ignore_ascii_case("none"))
    }

    /// Finds the entry for a column.
    pub fn column(&self, column: usize, header: &str) -> Option<&ColumnMapping> {
        let same = |h: &str| h.trim().eq_ignore_ascii_case(header.trim());
        self.columns.iter().find(|c| match c.column {
            Some(index) => index == column,
            None => c.header.as_deref().is_some_and(same),
        })
    }
}
