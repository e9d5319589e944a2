//! Importing whole files: all or nothing, nothing twice, small and quick.

#![allow(clippy::unwrap_used)]

mod bench;

use airshelf_catalog::model::*;
use airshelf_catalog::{Entity, EntityKind, Records, Value};
use airshelf_store::native::Native;
use airshelf_store::{Applied, Completing, Outcome, Pace, Scope, Store, StoreError, TransactionId, Undone};
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

fn undo(store: &mut Store, id: TransactionId) -> Outcome<Undone> {
    store.write::<Undone, StoreError>("undo", |w| w.undo(id)).unwrap()
}

/// The same rows from a corrected file: other files, other places, the same identifiers.
fn corrected(records: &Records) -> Records {
    let mut other = records.clone();
    let file = uuid::Uuid::from_bytes([9; 16]);
    let table = uuid::Uuid::from_bytes([10; 16]);
    other.import_files = vec![ImportFile { id: file, ..ImportFile::default() }];
    other.sheet_tables = vec![SheetTable { id: table, file: Some(file), ..SheetTable::default() }];
    other.sheet_rows.clear();
    other.runs.iter_mut().for_each(|run| run.table = Some(table));
    other
}

#[test]
fn a_corrected_file_brings_the_rows_of_one_that_was_taken_back_into_sight() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = shelf(folder.path());
    let records = bench::evenings(150);
    store.import(&records, "import first", &mut on).unwrap();
    let first = store.history(1).unwrap()[0].id;
    undo(&mut store, first);
    assert!(store.load::<Reading>().unwrap().is_empty());
    let other = corrected(&records);
    let imported = store.import(&other, "import corrected", &mut on).unwrap();
    assert_eq!((imported.total(), imported.already), (2, 0), "the file and its table are new");
    assert_eq!(imported.shown_again, other.len() - 2);
    assert_eq!(store.load::<Reading>().unwrap().len(), records.readings.len());
    let runs = store.load::<Run>().unwrap();
    assert!(runs.iter().all(|run| run.table == other.runs[0].table), "found where it is now");
    assert_eq!(store.load::<Part>().unwrap().len(), records.parts.len());
    assert_eq!(store.conflicts().unwrap(), []);
    let again = store.import(&other, "import corrected", &mut on).unwrap();
    assert_eq!((again.total(), again.shown_again, again.transactions), (0, 0, 0));
    let file = other.import_files[0].id;
    let back = store.write::<Undone, StoreError>("take back", |w| w.take_back(&[file])).unwrap();
    assert_eq!(back.value.left, []);
    assert!(store.load::<Reading>().unwrap().is_empty() && store.load::<Part>().unwrap().is_empty());
    assert!(store.check().unwrap().is_sound());
}

#[test]
fn what_a_person_changed_since_stays_when_its_file_is_taken_back_and_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = shelf(folder.path());
    let records = bench::evenings(25);
    store.import(&records, "import", &mut on).unwrap();
    let import = store.history(1).unwrap()[0].id;
    let run = records.runs[3].id;
    let note = Value::Text("lid sat crooked".into());
    store.write::<(), StoreError>("note", |w| w.edit::<Run>(run, "note", note)).unwrap();
    let undone = undo(&mut store, import);
    assert_eq!(undone.value.left, [(EntityKind::Run, run)]);
    assert!(store.get::<Run>(run).unwrap().is_some(), "it stays in sight");
    assert_eq!(store.load::<Run>().unwrap().len(), 1);
    undo(&mut store, undone.transaction.unwrap());
    assert_eq!(store.load::<Run>().unwrap().len(), records.runs.len());
    let file = records.import_files[0].id;
    let again = store.write::<Undone, StoreError>("take back", |w| w.take_back(&[file])).unwrap();
    assert_eq!(again.value.left, [(EntityKind::Run, run)], "and what took it back before is no such change");
}

#[test]
fn what_another_window_takes_back_is_out_of_sight_here_too() {
    let folder = tempfile::tempdir().unwrap();
    let mut here = shelf(folder.path());
    let records = bench::evenings(25);
    here.import(&records, "import", &mut on).unwrap();
    let mut there = again(folder.path());
    let file = records.import_files[0].id;
    let runs = |store: &Store| store.load::<Run>().unwrap().len();
    assert_eq!((runs(&here), runs(&there)), (25, 25));
    let back = there.write::<Undone, StoreError>("take back", |w| w.take_back(&[file])).unwrap();
    assert_eq!((runs(&here), runs(&there)), (0, 0));
    undo(&mut there, back.transaction.unwrap());
    assert_eq!((runs(&here), runs(&there)), (25, 25));
}

#[test]
fn a_row_that_was_deleted_shows_again_once_a_file_has_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut store = shelf(folder.path());
    let records = second_file();
    store.import(&records, "import", &mut on).unwrap();
    let part = records.parts[0].id;
    let place = Value::Text("top board".into());
    store.write::<(), StoreError>("place", |w| w.edit::<Part>(part, "place", place)).unwrap();
    store.write::<(), StoreError>("delete", |w| w.delete::<Part>(part)).unwrap();
    let imported = store.import(&records, "import again", &mut on).unwrap();
    assert_eq!((imported.total(), imported.shown_again), (0, 1));
    let part = store.get::<Part>(part).unwrap().expect("in sight");
    assert_eq!(part.place.as_deref(), Some("top board"), "what a person wrote of it stays");
    assert!(store.check().unwrap().is_sound());
}

/// Two shelves of one identity of shelf.
fn two(folder: &Path) -> (Store, Store) {
    let (a, mut b) = (shelf(&folder.join("a")), shelf(&folder.join("b")));
    b.join_empty(&a.version_vector().unwrap()).unwrap();
    (a, b)
}

fn send(from: &Store, to: &mut Store) -> Applied {
    let sent = from.transactions_since(&to.version_vector().unwrap(), usize::MAX).unwrap();
    to.apply(&sent).unwrap()
}

#[test]
fn an_import_stands_that_whoever_took_it_back_elsewhere_had_not_seen() {
    for b_first in [true, false] {
        let folder = tempfile::tempdir().unwrap();
        let (mut a, mut b) = two(folder.path());
        let records = bench::evenings(150);
        a.import(&records, "import", &mut on).unwrap();
        let import = a.history(1).unwrap()[0].id;
        undo(&mut a, import);
        b.import(&records, "import", &mut on).unwrap();
        let told = if b_first {
            let told = send(&b, &mut a);
            send(&a, &mut b);
            told
        } else {
            send(&a, &mut b);
            send(&b, &mut a)
        };
        assert_eq!(told.revived.len(), 1, "it says that the file came back");
        for store in [&a, &b] {
            assert_eq!(store.load::<Reading>().unwrap().len(), records.readings.len());
            assert_ne!(store.load::<ImportFile>().unwrap()[0].undone, Some(true));
            let checked = store.check().unwrap();
            assert!(checked.is_sound(), "{checked:?}");
        }
        assert_eq!(a.records(Scope::All).unwrap(), b.records(Scope::All).unwrap());
        // Who has seen both takes both back.
        let file = records.import_files[0].id;
        a.write::<Undone, StoreError>("take back", |w| w.take_back(&[file])).unwrap();
        send(&a, &mut b);
        for store in [&a, &b] {
            assert!(store.load::<Reading>().unwrap().is_empty());
            assert!(store.check().unwrap().is_sound());
        }
    }
}

#[test]
fn an_import_that_two_took_back_apart_stays_so() {
    let folder = tempfile::tempdir().unwrap();
    let (mut a, mut b) = two(folder.path());
    let records = bench::evenings(25);
    for store in [&mut a, &mut b] {
        store.import(&records, "import", &mut on).unwrap();
        let import = store.history(1).unwrap()[0].id;
        undo(store, import);
    }
    send(&a, &mut b);
    send(&b, &mut a);
    assert!(a.load::<Reading>().unwrap().is_empty() && b.load::<Reading>().unwrap().is_empty());
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
