//! How an entity lies in its table: the columns of each field, and the statements made from them.
//!
//! A link is a local integer; a quantity is its SI value (the suffix names the unit) and how it was written; a price is
//! its amount, currency and text. The tables that the `migrations` make are these layouts written out, and a
//! test compares them, so that model and schema cannot drift apart.

use airshelf_catalog::quantity::si_suffix;
use airshelf_catalog::{EntityKind, FieldDef, FieldKind};
use std::fmt::Write;
use std::sync::OnceLock;

/// The columns and statements of one entity's table.
pub(crate) struct Layout {
    pub kind: EntityKind,
    /// Name and SQL type of each column after `id`.
    pub columns: Vec<(String, &'static str)>,
    /// For each field, its first column (0 is the one after `id`).
    pub first: Vec<usize>,
    pub insert: String,
    /// Inserts, or sets every column this program knows and leaves a newer program's alone.
    pub upsert: String,
    pub select: String,
}

fn columns_of(field: &FieldDef) -> Vec<(String, &'static str)> {
    let name = field.name;
    match field.kind {
        FieldKind::Text | FieldKind::Civil => vec![(name.to_owned(), "TEXT")],
        FieldKind::Int | FieldKind::Flag | FieldKind::OneOf(_) | FieldKind::Link(_) | FieldKind::LinkAny => {
            vec![(name.to_owned(), "INTEGER")]
        }
        FieldKind::Real => vec![(name.to_owned(), "REAL")],
        FieldKind::Bytes => vec![(name.to_owned(), "BLOB")],
        FieldKind::Quantity(dimension) => {
            vec![(format!("{name}_{}", si_suffix(dimension)), "REAL"), (format!("{name}_written"), "TEXT")]
        }
        FieldKind::AnyQuantity => vec![(format!("{name}_si"), "REAL"), (format!("{name}_written"), "TEXT")],
        FieldKind::Price => vec![
            (format!("{name}_amount"), "REAL"),
            (format!("{name}_currency"), "TEXT"),
            (format!("{name}_raw"), "TEXT"),
        ],
    }
}

impl Layout {
    fn of(kind: EntityKind) -> Self {
        let (mut columns, mut first) = (Vec::new(), Vec::new());
        for field in kind.fields() {
            first.push(columns.len());
            columns.extend(columns_of(field));
        }
        let table = kind.table();
        let names: Vec<String> = columns.iter().map(|(name, _)| format!("\"{name}\"")).collect();
        let marks: Vec<String> = (1..=columns.len() + 1).map(|n| format!("?{n}")).collect();
        let sets: Vec<String> = names.iter().map(|name| format!("{name} = excluded.{name}")).collect();
        let insert =
            format!("INSERT INTO \"{table}\" (id, {}) VALUES ({})", names.join(", "), marks.join(", "));
        Layout {
            kind,
            upsert: format!("{insert} ON CONFLICT (id) DO UPDATE SET {}", sets.join(", ")),
            insert,
            select: format!("SELECT id, {} FROM \"{table}\"", names.join(", ")),
            columns,
            first,
        }
    }

    /// The statement that makes the table.
    fn ddl(&self) -> String {
        let mut out = format!("CREATE TABLE \"{}\" (\n    id INTEGER PRIMARY KEY", self.kind.table());
        for (name, sql_type) in &self.columns {
            let _ = write!(out, ",\n    \"{name}\" {sql_type}");
        }
        out.push_str("\n) STRICT;\n");
        out
    }
}

/// The layout of an entity.
pub(crate) fn layout(kind: EntityKind) -> &'static Layout {
    static LAYOUTS: OnceLock<Vec<Option<Layout>>> = OnceLock::new();
    let layouts = LAYOUTS.get_or_init(|| {
        let most = EntityKind::ALL.iter().map(|k| k.number()).max().unwrap_or(0);
        (0..=most).map(|number| EntityKind::from_number(number).map(Layout::of)).collect()
    });
    layouts[usize::from(kind.number())].as_ref().expect("every entity has a layout")
}

/// The statements that would make the table of every entity at once.
pub fn ddl() -> String {
    let tables: Vec<String> = EntityKind::ALL.iter().map(|kind| layout(*kind).ddl()).collect();
    format!(
        "-- One table for each entity of the catalog; a link is a row's local integer.\n\n{}",
        tables.join("\n")
    )
}
