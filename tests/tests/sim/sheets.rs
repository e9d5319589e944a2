//! A few old sheets that devices import, the same one on several; all name one part, and say different things of it.

use airshelf_catalog::model::{ImportFile, Part, Reading, Run, SheetTable};
use airshelf_catalog::{Quantity, Records, Uuid};
use airshelf_store::Store;
use std::collections::BTreeSet;

/// How many there are.
pub const COUNT: u8 = 4;

fn id(sheet: u8, row: u8) -> Uuid {
    Uuid::from_bytes([
        0x5e, sheet, row, 0x5e, 0x5e, 0x5e, 0x5e, 0x5e, 0x5e, 0x5e, 0x5e, 0x5e, 0x5e, 0x5e, sheet, row,
    ])
}

/// The flow of a reading on a sheet.
pub fn flow_m3_s(sheet: u8, row: u8) -> f64 {
    0.1 + f64::from(sheet) / 100.0 + f64::from(row) / 1000.0
}

/// A sheet's records.
pub fn sheet(n: u8) -> Records {
    let table = id(n, 2);
    let part = |row: Uuid, tag: String| Part {
        id: row,
        note: Some(format!("sheet {n} says of {tag}")),
        tag: Some(tag),
        table: Some(table),
        ..Part::default()
    };
    let reading = |row: u8| Reading {
        id: id(n, row),
        run: Some(id(n, 3)),
        flow: Some(Quantity::of_si(flow_m3_s(n, row))),
        ..Reading::default()
    };
    Records {
        import_files: vec![ImportFile {
            id: id(n, 1),
            name: Some(format!("sheet {n}")),
            ..ImportFile::default()
        }],
        sheet_tables: vec![SheetTable { id: table, file: Some(id(n, 1)), ..SheetTable::default() }],
        parts: vec![part(id(99, 1), "sheet's shared".into()), part(id(n, 6), format!("sheet's {n}"))],
        runs: vec![Run { id: id(n, 3), table: Some(table), ..Run::default() }],
        readings: vec![reading(4), reading(5)],
        ..Records::default()
    }
}

/// Which sheet a file is.
pub fn which(file: Uuid) -> Option<u8> {
    (0..COUNT).find(|n| id(*n, 1) == file)
}

/// The part that every sheet names.
pub fn shared() -> Uuid {
    id(99, 1)
}

/// The sheet that alone has a row.
pub fn only_on(row: Uuid) -> Option<u8> {
    (0..COUNT).find(|n| [4, 5, 6].iter().any(|at| id(*n, *at) == row))
}

/// The sheets that a store shows as taken back.
pub fn taken_back(store: &Store) -> BTreeSet<u8> {
    let files = store.load::<ImportFile>().unwrap();
    files.iter().filter(|file| file.undone == Some(true)).filter_map(|file| which(file.id)).collect()
}

/// The labels of a sheet's imports that a store holds.
pub fn imports(store: &Store, n: u8) -> BTreeSet<String> {
    let entries = store.history(usize::MAX).unwrap();
    let of_it = entries.into_iter().filter(|entry| entry.head.imports.contains(&id(n, 1)));
    of_it.map(|entry| entry.head.label).collect()
}
