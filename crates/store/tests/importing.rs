//! Importing whole files: all or nothing, nothing twice, small and quick.

#![allow(clippy::unwrap_used)]

mod bench;

use airshelf_catalog::model::*;
use airshelf_catalog::{Entity, EntityKind, Records, Value};
use airshelf_store::native::Native;
use airshelf_store::{Completing, Outcome, Pace, Scope, Store, StoreError, Undone};
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;

fn shelf(folder: &Path) -> Store {
    Store::create(&folder.join("shelf"), Arc::new(Native::new(folder.join("config")))).unwrap()
}

fn again(folder: &Path) -> Store {
    Store::open(&folder.join("shelf"), Arc::new(Native::new(folder.join("config")))).unwrap()
}

fn on(_: usize, _: usize) -> Pace {
    Pace::GoOn
}

#[test]
fn what_goes_in_comes_out_and_goes_in_only_once() {
    let folder = tempfile::tempdir().unwrap();
    let records = bench::evenings(5_100);
    let mut store = shelf(folder.path());
    let imported = store.import(&records, "import big.csv", &mut on).unwrap();
    assert_eq!(imported.total(), records.len());
    assert!(imported.transactions > 3, "a big file comes in digestible pieces: {}", imported.transactions);
    drop(store);
    let mut store = again(folder.path());
    let mut out = store.records(Scope::All).unwrap();
    assert_eq!(out.import_files[0].changes, Some(records.len() as i64));
    out.import_files[0].changes = None;
    assert_eq!(out, records);
    let twice = store.import(&records, "import big.csv", &mut on).unwrap();
    assert_eq!((twice.total(), twice.already, twice.transactions), (0, records.len(), 0));
    let session = out.sessions[3].id;
    let some = store.records(Scope::Sessions(&[session])).unwrap();
    assert_eq!((some.runs.len(), some.readings.len()), (25, 25));
    assert!(store.records(Scope::Shelf).unwrap().runs.is_empty());
    assert_eq!(store.sessions_named("  big-000003 ").unwrap()[0].id, session);
    let found = store.search("BF-012", 5).unwrap();
    assert_eq!(found[0].kind, EntityKind::Part);
    assert_eq!(store.get::<Part>(found[0].id).unwrap().unwrap().tag.unwrap(), "BF-012");
}

/// A run named the evening's session, its item and a row of another kind before the file that has them came.
#[test]
fn rows_that_were_named_before_a_big_import_are_born_in_it() {
    let folder = tempfile::tempdir().unwrap();
    let records = bench::evenings(2_000);
    let mut store = shelf(folder.path());
    let before =
        Run { session: Some(records.sessions[2].id), item: records.runs[700].item, ..Run::default() };
    store.write("before", |w| w.create(&before)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    store.import(&bench::evenings(50), "import some", &mut on).unwrap();
    let imported = store.import(&records, "import all", &mut on).unwrap();
    assert_eq!(imported.total() + imported.already, records.len());
    drop(store);
    let store = again(folder.path());
    assert_eq!(store.get::<Session>(records.sessions[2].id).unwrap().unwrap(), records.sessions[2]);
    for (run, reading) in records.runs.iter().zip(&records.readings).step_by(97) {
        assert_eq!(store.get::<Run>(run.id).unwrap().unwrap(), *run);
        assert_eq!(store.get::<Reading>(reading.id).unwrap().unwrap(), *reading);
    }
    let checked = store.check().unwrap();
    assert!(checked.is_sound(), "{checked:?}");
}

/// A first file names a part, a second says who made it.
fn named_and_completed(store: &mut Store) -> (uuid::Uuid, Vec<(u16, Value)>) {
    let first = bench::evenings(25);
    store.import(&first, "import first", &mut on).unwrap();
    let maker = Part::FIELDS.iter().find(|field| field.name == "maker").unwrap().number;
    (first.parts[0].id, vec![(maker, Value::Text("Marlstone Paper".into()))])
}

fn second_file() -> Records {
    let file = ImportFile { id: uuid::Uuid::from_bytes([7; 16]), ..ImportFile::default() };
    let own = Part { id: uuid::Uuid::from_bytes([8; 16]), tag: Some("ZZ-1".into()), ..Part::default() };
    Records { import_files: vec![file], parts: vec![own], ..Records::default() }
}

#[test]
fn what_a_file_completes_is_kept_and_taken_back_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = shelf(folder.path());
    let (part, fields) = named_and_completed(&mut store);
    let first = store.history(1).unwrap()[0].id;
    let maker = |store: &Store| store.get::<Part>(part).unwrap().unwrap().maker;
    let completing = [Completing { kind: EntityKind::Part, row: part, fields: &fields }];
    let second = |store: &mut Store| {
        store.import_completing(&second_file(), &completing, "import second", &mut on).unwrap();
        store.history(1).unwrap()[0].id
    };
    let undo = |store: &mut Store, id| -> Outcome<Undone> {
        store.write::<Undone, StoreError>("undo", |w| w.undo(id)).unwrap()
    };
    let id = second(&mut store);
    assert_eq!(maker(&store).as_deref(), Some("Marlstone Paper"));
    let undone = undo(&mut store, id);
    assert_eq!((undone.value.done, undone.value.left.len()), (2, 0));
    assert_eq!(maker(&store), None);
    undo(&mut store, undone.transaction.unwrap());
    assert_eq!(maker(&store).as_deref(), Some("Marlstone Paper"), "an undo is undone");
    undo(&mut store, id);
    let id = second(&mut store);
    assert_eq!(maker(&store).as_deref(), Some("Marlstone Paper"), "brought back with its file");
    undo(&mut store, id);
    undo(&mut store, first);
    assert!(store.load::<Part>().unwrap().is_empty(), "taking a file back needs no row that it completed");
    let checked = store.check().unwrap();
    assert!(checked.is_sound() && checked.incomplete.is_empty(), "{checked:?}");
}

#[test]
fn a_person_s_own_word_on_a_completed_field_stays() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = shelf(folder.path());
    let (part, fields) = named_and_completed(&mut store);
    let completing = [Completing { kind: EntityKind::Part, row: part, fields: &fields }];
    store.import_completing(&second_file(), &completing, "import second", &mut on).unwrap();
    let id = store.history(1).unwrap()[0].id;
    let own = Value::Text("Quarry Loop Shed".into());
    store.write::<(), StoreError>("change", |w| w.edit::<Part>(part, "maker", own)).unwrap();
    let undone = store.write::<Undone, StoreError>("undo", |w| w.undo(id)).unwrap();
    assert_eq!(undone.value.left, [(EntityKind::Part, part)]);
    assert_eq!(store.get::<Part>(part).unwrap().unwrap().maker.as_deref(), Some("Quarry Loop Shed"));
}

#[test]
fn a_stopped_import_completes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = shelf(folder.path());
    let (part, fields) = named_and_completed(&mut store);
    let completing = [Completing { kind: EntityKind::Part, row: part, fields: &fields }];
    let stopped = store.import_completing(&second_file(), &completing, "second", &mut |_, _| Pace::Stop);
    assert!(matches!(stopped, Err(StoreError::Stopped)));
    assert_eq!(store.get::<Part>(part).unwrap().unwrap().maker, None);
    assert!(store.check().unwrap().is_sound());
}

#[test]
fn a_stopped_import_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let records = bench::evenings(2_500);
    let mut store = shelf(folder.path());
    let mut calls = 0;
    let stopped = store.import(&records, "import", &mut |done, total| {
        calls += 1;
        if done > total / 2 { Pace::Stop } else { Pace::GoOn }
    });
    assert!(matches!(stopped, Err(StoreError::Stopped)));
    assert!(calls > 1);
    assert!(store.records(Scope::All).unwrap().is_empty());
    assert!(store.is_empty().unwrap());
}

/// The budget of 600 bytes for each imported row, log and raw text included.
#[test]
fn a_row_takes_no_more_than_600_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let (first, rows) = (5_000, 20_000);
    let mut store = shelf(folder.path());
    store.import(&bench::evenings(first), "import", &mut on).unwrap();
    drop(store);
    let size = || std::fs::metadata(folder.path().join("shelf/airshelf.db")).unwrap().len();
    let before = size();
    let mut store = again(folder.path());
    let begin = Instant::now();
    store.import(&bench::evenings(rows), "import", &mut on).unwrap();
    let took = begin.elapsed();
    drop(store);
    let each = (size() - before) as f64 / (rows - first) as f64;
    println!("{each:.0} bytes a row; {rows} rows in {took:.2?}");
    assert!(each <= 600.0, "{each:.0} bytes a row");
}

/// Times the store's share of a big import; absolute times hold only in release, on an idle machine.
#[test]
fn a_hundred_thousand_rows_are_quickly_in_and_out() {
    let rows = if cfg!(debug_assertions) { 5_000 } else { 100_000 };
    let folder = tempfile::tempdir().unwrap();
    let records = bench::evenings(rows);
    let mut store = shelf(folder.path());
    let begin = Instant::now();
    store.import(&records, "import", &mut on).unwrap();
    let wrote = begin.elapsed();
    let begin = Instant::now();
    let out = store.records(Scope::All).unwrap();
    let read = begin.elapsed();
    assert_eq!(out.len(), records.len());
    let begin = Instant::now();
    let held = store.held(records.runs.iter().map(|run| run.id)).unwrap();
    println!("{} records in {wrote:.2?}, out {read:.2?}, held {:.2?}", records.len(), begin.elapsed());
    assert_eq!(held.len(), rows);
    drop(store);
    let size = std::fs::metadata(folder.path().join("shelf/airshelf.db")).unwrap().len();
    println!("{} bytes a row", size / rows as u64);
}

/// Two devices that import one big sheet apart: the second copy of every row is passed over, and quickly.
#[test]
fn a_sheet_imported_twice_apart_merges_quickly() {
    let rows = if cfg!(debug_assertions) { 2_000 } else { 50_000 };
    let folder = tempfile::tempdir().unwrap();
    let records = bench::evenings(rows);
    let mut a = shelf(&folder.path().join("a"));
    let mut b = shelf(&folder.path().join("b"));
    let part = Part { tag: Some("ON-BOTH".into()), ..Part::default() };
    a.write("first", |w| w.create(&part)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    b.meet(&a.version_vector().unwrap()).unwrap();
    b.apply(&a.transactions_since(&b.version_vector().unwrap(), usize::MAX).unwrap()).unwrap();
    a.import(&records, "import", &mut on).unwrap();
    b.import(&records, "import", &mut on).unwrap();
    let sent = a.transactions_since(&b.version_vector().unwrap(), usize::MAX).unwrap();
    let begin = Instant::now();
    let applied = b.apply(&sent).unwrap();
    println!("{} rows merged again in {:.2?}", records.len(), begin.elapsed());
    assert_eq!(applied.conflicts, []);
    assert_eq!(b.records(Scope::All).unwrap().len(), records.len() + 1);
    assert!(b.check().unwrap().is_sound());
}
