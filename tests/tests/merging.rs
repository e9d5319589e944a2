//! Stores that were written apart become equal, and nothing anybody wrote is lost on the way.

#![allow(clippy::unwrap_used)]

#[path = "merging/copies.rs"]
mod copies;
#[path = "merging/device.rs"]
mod device;
#[path = "merging/property.rs"]
mod property;
#[path = "merging/unknown.rs"]
mod unknown;

use airshelf_catalog::model::{Assembly, ImportFile, Listing, Part, Reading, Run, SheetTable};
use airshelf_catalog::{Quantity, Records, Uuid, Value};
use airshelf_store::{Pace, Store, StoreError, Undone, VersionVector};
use device::{Machine, assert_equal, edit, log_of, pour, settle, shown, sync};
use std::path::Path;
use std::sync::Arc;
use tempfile::TempDir;

/// A folder with as many stores of one shelf as asked for; the second's clock is an hour behind, the third's ahead.
fn stores(count: u8) -> (TempDir, Vec<Store>) {
    let folder = tempfile::tempdir().unwrap();
    let clocks = [4_000_000_u64, 400_000, 40_000_000, 4_000_000];
    let stores = (0..count)
        .map(|n| {
            Store::create(&folder.path().join(n.to_string()), Machine::number(n + 1, clocks[usize::from(n)]))
                .unwrap()
        })
        .collect();
    (folder, stores)
}

fn part(store: &mut Store, tag: &str) -> Uuid {
    let part = Part { tag: Some(tag.into()), note: Some("as found".into()), ..Part::default() };
    store.write("new part", |w| w.create(&part)).unwrap_or_else(|e: StoreError| panic!("{e}")).value
}

fn write<T>(
    store: &mut Store,
    work: impl FnOnce(&mut airshelf_store::Writer<'_>) -> Result<T, StoreError>,
) -> T {
    store.write("a write", work).unwrap().value
}

fn note(store: &Store, id: Uuid) -> Option<String> {
    store.get::<Part>(id).unwrap().unwrap().note
}

#[test]
fn what_two_wrote_apart_shows_or_is_a_conflict_until_it_is_settled() {
    let (_folder, mut stores) = stores(2);
    let [a, b] = &mut stores[..] else { unreachable!() };
    let id = part(a, "LD-7");
    sync(a, b);
    edit::<Part>(a, id, "note", "bent rim");
    edit::<Part>(b, id, "note", "rim straightened");
    edit::<Part>(b, id, "place", "top shelf");
    sync(a, b);
    assert_equal(a, b);
    let conflicts = a.conflicts().unwrap();
    assert_eq!(conflicts.len(), 1, "different fields are no conflict: {conflicts:?}");
    let said = [&conflicts[0].shown.value, &conflicts[0].others[0].value];
    assert!(
        said.contains(&&Value::Text("bent rim".into()))
            && said.contains(&&Value::Text("rim straightened".into()))
    );
    // An edit replaces what showed; what did not show still stands.
    edit::<Part>(a, id, "note", "rim trued");
    assert_eq!(a.conflicts().unwrap().len(), 1);
    let conflict = a.conflicts().unwrap().remove(0);
    a.settle(&conflict, Value::Text("rim bent, then trued".into())).unwrap();
    sync(a, b);
    assert_equal(a, b);
    assert!(b.conflicts().unwrap().is_empty());
    assert_eq!(note(b, id).unwrap(), "rim bent, then trued");
    assert_eq!(b.get::<Part>(id).unwrap().unwrap().place.unwrap(), "top shelf");
}

#[test]
fn equal_values_are_no_conflict() {
    let (_folder, mut stores) = stores(2);
    let [a, b] = &mut stores[..] else { unreachable!() };
    let id = part(a, "LD-8");
    sync(a, b);
    edit::<Part>(a, id, "note", "dented");
    edit::<Part>(b, id, "note", "dented");
    sync(a, b);
    assert_equal(a, b);
    assert!(a.conflicts().unwrap().is_empty());
    // Both stamps are replaced by the next edit, so that none of them comes up later.
    edit::<Part>(a, id, "note", "hammered out");
    sync(a, b);
    assert_equal(a, b);
    assert!(b.conflicts().unwrap().is_empty());
}

#[test]
fn a_delete_holds_where_everybody_had_seen_the_row_as_it_was() {
    let (_folder, mut stores) = stores(2);
    let [a, b] = &mut stores[..] else { unreachable!() };
    let id = part(a, "FL-3");
    sync(a, b);
    write(b, |w| w.delete::<Part>(id));
    sync(a, b);
    assert_equal(a, b);
    assert_eq!(a.get::<Part>(id).unwrap(), None);
    assert!(a.search("FL-3", 9).unwrap().is_empty());
}

#[test]
fn a_concurrent_edit_or_reference_brings_a_deleted_row_back_and_says_so() {
    for refer in [false, true] {
        let (_folder, mut stores) = stores(2);
        let [a, b] = &mut stores[..] else { unreachable!() };
        let id = part(a, "FL-4");
        sync(a, b);
        write(a, |w| w.delete::<Part>(id));
        if refer {
            write(b, |w| {
                w.create(&Listing { part: Some(id), seller: Some("a neighbor".into()), ..Listing::default() })
            });
        } else {
            edit::<Part>(b, id, "note", "works well");
        }
        let (to_b, to_a) = (pour(a, b), pour(b, a));
        assert_eq!((to_b.revived.len(), to_a.revived.len()), (1, 1));
        assert_eq!(to_a.revived[0].id, id);
        assert_equal(a, b);
        assert_eq!(a.get::<Part>(id).unwrap().unwrap().tag.unwrap(), "FL-4");
        // Deleted again, now that all is seen, it stays away.
        write(a, |w| w.delete::<Part>(id));
        sync(a, b);
        assert_equal(a, b);
        assert_eq!(b.get::<Part>(id).unwrap(), None);
    }
}

#[test]
fn readings_are_struck_and_never_edited_or_deleted() {
    let (_folder, mut stores) = stores(1);
    let a = &mut stores[0];
    let reading = write(a, |w| {
        let run = w.create(&Run::default())?;
        w.create(&Reading { run: Some(run), flow: Some(Quantity::of_si(0.13)), ..Reading::default() })
    });
    let edit =
        a.write("edit", |w| w.edit::<Reading>(reading, "flow", Value::Quantity(Quantity::of_si(0.14))));
    assert!(matches!(edit, Err(StoreError::ReadingsStay)));
    let delete = a.write("delete", |w| w.delete::<Reading>(reading));
    assert!(matches!(delete, Err(StoreError::ReadingsStay)));
    write(a, |w| w.strike(reading, "throttle was not open"));
    let held = a.get::<Reading>(reading).unwrap().unwrap();
    assert_eq!(
        (held.flow, held.struck.unwrap()),
        (Some(Quantity::of_si(0.13)), "throttle was not open".into())
    );
    let layers = a.write("layers", |w| {
        let id = w.create(&Assembly::default())?;
        w.edit::<Assembly>(id, "layers", Value::Bytes(vec![]))
    });
    assert!(matches!(layers, Err(StoreError::LayersStay)));
    assert!(a.load::<Assembly>().unwrap().is_empty(), "a write that fails leaves nothing");
}

#[test]
fn undo_puts_back_only_what_nobody_wrote_over() {
    let (_folder, mut stores) = stores(2);
    let [a, b] = &mut stores[..] else { unreachable!() };
    let id = part(a, "BS-2");
    let edited = a
        .write("edit", |w| {
            w.edit::<Part>(id, "note", Value::Text("drilled".into()))?;
            w.edit::<Part>(id, "place", Value::Text("drawer".into()))
        })
        .unwrap_or_else(|e: StoreError| panic!("{e}"));
    edit::<Part>(a, id, "place", "box 4");
    let undone = write(a, |w| w.undo(edited.transaction.unwrap()));
    assert_eq!(undone, Undone { done: 0, left: vec![(airshelf_catalog::EntityKind::Part, id)] });
    let held = a.get::<Part>(id).unwrap().unwrap();
    assert_eq!((held.note.as_deref(), held.place.as_deref()), (Some("as found"), Some("box 4")));
    let reading = a
        .write("a reading", |w| {
            let run = w.create(&Run::default())?;
            w.create(&Reading { run: Some(run), flow: Some(Quantity::of_si(0.13)), ..Reading::default() })
        })
        .unwrap_or_else(|e: StoreError| panic!("{e}"));
    write(a, |w| w.undo(reading.transaction.unwrap()));
    let struck = a.get::<Reading>(reading.value).unwrap().unwrap();
    assert_eq!(struck.struck.unwrap(), "undone");
    let deleted = a.write("delete", |w| w.delete::<Part>(id)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    assert_eq!(a.get::<Part>(id).unwrap(), None);
    write(a, |w| w.undo(deleted.transaction.unwrap()));
    assert_eq!(note(a, id).unwrap(), "as found");
    sync(a, b);
    assert_equal(a, b);
}

fn import_of(name: &str, shared: Uuid) -> Records {
    let own = |n: u8| Uuid::from_bytes([n ^ name.len() as u8; 16]);
    let table = own(0x52);
    let row = |id: Uuid, tag: &str| Part { id, tag: Some(tag.into()), table: Some(table), ..Part::default() };
    Records {
        import_files: vec![ImportFile { id: own(0x51), name: Some(name.into()), ..ImportFile::default() }],
        sheet_tables: vec![SheetTable { id: table, file: Some(own(0x51)), ..SheetTable::default() }],
        parts: vec![row(shared, "SHARED-1"), row(own(0x53), name)],
        ..Records::default()
    }
}

#[test]
fn undoing_an_import_hides_its_rows_but_not_what_is_needed_otherwise() {
    let (_folder, mut stores) = stores(2);
    let [a, b] = &mut stores[..] else { unreachable!() };
    let shared = Uuid::from_bytes([0x77; 16]);
    let mut on = |_: usize, _: usize| Pace::GoOn;
    a.import(&import_of("one", shared), "import one", &mut on).unwrap();
    let first = a.history(1).unwrap()[0].id;
    write(a, |w| w.create(&Listing { part: Some(shared), ..Listing::default() }));
    write(a, |w| w.undo(first));
    let tags = |store: &Store| -> Vec<String> {
        store.load::<Part>().unwrap().into_iter().filter_map(|part| part.tag).collect()
    };
    assert_eq!(tags(a), ["SHARED-1"], "a listing still needs it");
    sync(a, b);
    assert_equal(a, b);
    assert!(
        b.search("one", 9).unwrap().iter().all(|hit| hit.kind == airshelf_catalog::EntityKind::ImportFile)
    );
    let again = b.import(&import_of("one", shared), "import one again", &mut on).unwrap();
    assert_eq!((again.total(), again.brought_back), (0, true));
    assert_eq!(tags(b), ["SHARED-1", "one"]);
    sync(a, b);
    assert_equal(a, b);
}

#[test]
fn one_sheet_imported_on_two_devices_is_one_sheet_without_conflicts() {
    let (_folder, mut stores) = stores(3);
    let [a, b, c] = &mut stores[..] else { unreachable!() };
    let records = import_of("may", Uuid::from_bytes([0x77; 16]));
    let mut on = |_: usize, _: usize| Pace::GoOn;
    // Both belong to one shelf before they part.
    part(a, "PT-1");
    sync(a, b);
    a.import(&records, "import", &mut on).unwrap();
    b.import(&records, "import", &mut on).unwrap();
    edit::<Part>(b, records.parts[0].id, "note", "the good one");
    sync(a, b);
    sync(b, c);
    assert_equal(a, b);
    assert_equal(b, c);
    assert!(a.conflicts().unwrap().is_empty());
    assert_eq!(a.load::<Part>().unwrap().len(), 3);
    assert!(a.check().unwrap().incomplete.is_empty());
}

#[test]
fn an_import_that_has_not_all_arrived_is_listed() {
    let (_folder, mut stores) = stores(2);
    let [a, b] = &mut stores[..] else { unreachable!() };
    let parts = (0..4_000u32).map(|n| {
        let id = Uuid::from_u128(u128::from(n) + 1);
        Part { id, tag: Some(format!("P-{n}")), ..Part::default() }
    });
    let mut records = import_of("big", Uuid::from_bytes([0x77; 16]));
    records.parts.extend(parts);
    a.import(&records, "import", &mut |_, _| Pace::GoOn).unwrap();
    b.meet(&a.version_vector().unwrap()).unwrap();
    let all = log_of(a);
    assert!(all.len() > 2);
    b.apply(&all[..1]).unwrap();
    let incomplete = b.check().unwrap().incomplete;
    assert_eq!(incomplete.len(), 1);
    assert!(incomplete[0].here >= 2_000, "{incomplete:?}");
    b.apply(&all[1..]).unwrap();
    assert_eq!(b.check().unwrap().incomplete, []);
    assert_equal(a, b);
}

#[test]
fn stores_of_different_shelves_do_not_mix_and_gaps_are_refused() {
    let (_folder, mut stores) = stores(2);
    let [a, b] = &mut stores[..] else { unreachable!() };
    part(a, "A-1");
    part(a, "A-2");
    part(b, "B-1");
    let refused = b.meet(&a.version_vector().unwrap());
    assert!(matches!(refused, Err(StoreError::OtherShelf { .. })));
    assert!(matches!(b.apply(&log_of(a)[1..]), Err(StoreError::Gap { number: 2, .. })));
    assert_eq!(b.load::<Part>().unwrap().len(), 1, "nothing of a refused batch stays");
}

fn copy_folder(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        if entry.file_type().unwrap().is_file() {
            std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
        }
    }
}

#[test]
fn a_cloned_store_is_noticed_takes_a_new_device_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut a = Store::create(&at("a"), Machine::number(1, 1_000)).unwrap();
    let id = part(&mut a, "CL-1");
    drop(a);
    copy_folder(&at("a"), &at("b"));
    let mut a = Store::open(&at("a"), Machine::number(1, 2_000)).unwrap();
    let mut b = Store::open(&at("b"), Machine::number(1, 2_000)).unwrap();
    let mut hub = Store::create(&at("hub"), Machine::number(9, 2_000)).unwrap();
    edit::<Part>(&mut a, id, "note", "written on the original");
    // Same numbers, and even the same clocks.
    edit::<Part>(&mut b, id, "note", "written on the copy");
    edit::<Part>(&mut b, id, "note", "written on the copy, twice");
    let gone = write(&mut b, |w| w.create(&Part { tag: Some("CL-2".into()), ..Part::default() }));
    write(&mut b, |w| w.delete::<Part>(gone));
    sync(&mut a, &mut hub);
    assert_eq!(b.forked_from(&hub.version_vector().unwrap()).unwrap(), [a.device()]);
    let all = b.transactions_since(&VersionVector::default(), usize::MAX).unwrap();
    let refused = hub.apply(&all);
    assert!(matches!(refused, Err(StoreError::Forked { number: 2, .. })), "{refused:?}");
    pour(&b, &mut hub);
    assert_eq!(shown(&a), shown(&hub), "nothing of the clone's was taken under the wrong name");
    // One of the branches has 1 transaction, the other 4; whichever is later is renamed, by whoever holds it.
    assert!([1, 4].contains(&settle(&mut b, &mut hub)));
    sync(&mut b, &mut hub);
    sync(&mut a, &mut hub);
    assert_ne!(a.device(), b.device(), "whose branch was renamed writes under a new identity");
    sync(&mut b, &mut hub);
    assert_equal(&a, &hub);
    assert_equal(&b, &hub);
    let conflicts = a.conflicts().unwrap();
    assert_eq!(conflicts.len(), 1);
    let said = [&conflicts[0].shown.value, &conflicts[0].others[0].value];
    for text in ["written on the original", "written on the copy, twice"] {
        assert!(said.contains(&&Value::Text(text.into())), "{text} is kept");
    }
    assert_eq!(a.get::<Part>(gone).unwrap(), None);
    // Both go on writing.
    edit::<Part>(&mut a, id, "place", "here");
    edit::<Part>(&mut b, id, "condition", "good");
    sync(&mut b, &mut hub);
    sync(&mut a, &mut hub);
    sync(&mut b, &mut hub);
    assert_equal(&a, &b);
}

#[test]
fn a_store_that_was_put_back_to_an_earlier_state_notices_what_it_had_written() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut a = Store::create(&at("a"), Machine::number(1, 1_000)).unwrap();
    let id = part(&mut a, "RS-1");
    let backup = at("shelf.zip");
    a.backup(&backup).unwrap();
    let mut hub = Store::create(&at("hub"), Machine::number(9, 2_000)).unwrap();
    edit::<Part>(&mut a, id, "note", "after the backup");
    sync(&mut a, &mut hub);
    drop(a);
    // Restored in place, but by hand, so that the identity outside the folder stays.
    let mut back = Store::restore(&backup, &at("back"), Machine::number(7, 3_000)).unwrap();
    assert_ne!(back.device(), Uuid::from_bytes([7; 16]), "a restored shelf is another device");
    assert_eq!(note(&back, id).unwrap(), "as found");
    drop(back);
    back = Store::open(&at("back"), Machine::number(1, 3_000)).unwrap();
    assert!(pour(&hub, &mut back).new_identity);
    assert_ne!(back.device(), Uuid::from_bytes([1; 16]));
    assert_eq!(note(&back, id).unwrap(), "after the backup", "what it had written comes home");
    edit::<Part>(&mut back, id, "note", "under a new name");
    sync(&mut back, &mut hub);
    assert_equal(&back, &hub);
}

#[test]
fn a_store_is_the_same_machine_in_every_thread() {
    fn goes_anywhere<T: Send>(_: &T) {}
    let (_folder, stores) = stores(1);
    goes_anywhere(&stores[0]);
    let host: Arc<Machine> = Machine::number(1, 1);
    goes_anywhere(&host);
}
