//! Two copies of a device write apart, and others have seen the one or the other before the copies are noticed.

use crate::device::{Machine, assert_equal, edit, log_of, pour, settle, sync};
use crate::{copy_folder, part, write};
use airshelf_catalog::model::Part;
use airshelf_catalog::{Uuid, Value};
use airshelf_store::{Store, StoreError};
use tempfile::TempDir;

/// A device, its copy, a hub and somebody else, all of one shelf with one part. The original's clock may be ahead of the
/// copy's; the earlier branch keeps the device's name.
fn copied(original_ms: u64, copy_ms: u64) -> (TempDir, [Store; 4], Uuid) {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut original = Store::create(&at("original"), Machine::number(1, 1_000)).unwrap();
    let id = part(&mut original, "CO-1");
    drop(original);
    copy_folder(&at("original"), &at("copy"));
    let mut original = Store::open(&at("original"), Machine::number(1, original_ms)).unwrap();
    let copy = Store::open(&at("copy"), Machine::number(1, copy_ms)).unwrap();
    let mut hub = Store::create(&at("hub"), Machine::number(8, 1_000)).unwrap();
    let mut other = Store::create(&at("other"), Machine::number(9, 1_000)).unwrap();
    sync(&mut original, &mut hub);
    sync(&mut other, &mut hub);
    (folder, [original, copy, hub, other], id)
}

fn standing(store: &Store, id: Uuid) -> Vec<String> {
    let shown = store.get::<Part>(id).unwrap().and_then(|part| part.note);
    let conflicts = store.conflicts().unwrap();
    let others =
        conflicts.iter().flat_map(|conflict| &conflict.others).filter_map(|live| match &live.value {
            Value::Text(text) => Some(text.clone()),
            _ => None,
        });
    let mut all: Vec<String> = shown.into_iter().chain(others).collect();
    all.sort();
    all
}

#[test]
fn what_goes_on_from_one_copy_is_never_laid_on_the_other() {
    let (_folder, [mut original, mut copy, mut hub, _], id) = copied(50_000, 2_000);
    edit::<Part>(&mut original, id, "note", "of the original");
    sync(&mut original, &mut hub);
    let before = hub.version_vector().unwrap();
    edit::<Part>(&mut copy, id, "place", "of the copy");
    sync(&mut copy, &mut hub);
    // The hub holds as many of the device as before, but the copy's, which is the earlier.
    let held = hub.version_vector().unwrap();
    let device = original.device();
    assert_eq!(held.devices[&device].number, before.devices[&device].number);
    edit::<Part>(&mut original, id, "note", "of the original again");
    let late = original.transactions_since(&before, usize::MAX).unwrap();
    assert!(matches!(hub.apply(&late), Err(StoreError::Forked { .. })));
    assert_eq!(hub.version_vector().unwrap(), held, "nothing of it is taken");
    sync(&mut original, &mut hub);
    sync(&mut copy, &mut hub);
    assert_equal(&original, &hub);
    assert_equal(&copy, &hub);
    assert_eq!(standing(&hub, id), ["of the original again"]);
}

#[test]
fn a_delete_that_saw_one_copy_does_not_hide_what_the_other_wrote() {
    for copy_keeps_the_name in [false, true] {
        let copy_ms = if copy_keeps_the_name { 2_000 } else { 90_000 };
        let (_folder, [mut original, mut copy, mut hub, mut other], id) = copied(50_000, copy_ms);
        let elsewhere = part(&mut original, "CO-2");
        sync(&mut original, &mut hub);
        sync(&mut other, &mut hub);
        write(&mut other, |w| w.delete::<Part>(id));
        edit::<Part>(&mut copy, id, "note", "fits after all");
        for _ in 0..2 {
            sync(&mut copy, &mut hub);
            sync(&mut other, &mut hub);
            sync(&mut original, &mut hub);
        }
        for store in [&original, &copy, &other] {
            assert_equal(store, &hub);
        }
        assert_eq!(standing(&hub, id), ["fits after all"]);
        // Now that everybody has seen both, it goes when it is deleted, whoever wrote what of it.
        edit::<Part>(&mut original, elsewhere, "note", "a crack");
        sync(&mut original, &mut hub);
        sync(&mut other, &mut hub);
        write(&mut other, |w| w.delete::<Part>(id));
        write(&mut other, |w| w.delete::<Part>(elsewhere));
        for store in [&mut other, &mut copy, &mut original] {
            sync(store, &mut hub);
        }
        sync(&mut other, &mut hub);
        assert_equal(&other, &hub);
        assert_eq!((hub.get::<Part>(id).unwrap(), hub.get::<Part>(elsewhere).unwrap()), (None, None));
    }
}

#[test]
fn a_copy_that_deletes_does_not_hide_what_the_other_wrote_meanwhile() {
    for original_ms in [2_000, 90_000] {
        let (_folder, [mut original, mut copy, mut hub, _other], id) = copied(original_ms, 50_000);
        part(&mut copy, "CO-3");
        write(&mut copy, |w| w.delete::<Part>(id));
        edit::<Part>(&mut original, id, "note", "fits after all");
        for _ in 0..2 {
            sync(&mut original, &mut hub);
            sync(&mut copy, &mut hub);
        }
        assert_equal(&original, &hub);
        assert_equal(&copy, &hub);
        assert_eq!(standing(&hub, id), ["fits after all"]);
    }
}

#[test]
fn an_edit_that_saw_one_copy_does_not_replace_what_the_other_wrote() {
    // Both clocks are behind, so that the copies count on from the same stamp.
    let (_folder, [mut original, mut copy, mut hub, mut other], id) = copied(0, 0);
    edit::<Part>(&mut original, id, "note", "by the original");
    sync(&mut original, &mut hub);
    sync(&mut other, &mut hub);
    edit::<Part>(&mut other, id, "note", "by the other, who saw the original's");
    edit::<Part>(&mut copy, id, "note", "by the copy");
    for _ in 0..2 {
        sync(&mut copy, &mut hub);
        sync(&mut other, &mut hub);
        sync(&mut original, &mut hub);
    }
    let all = standing(&hub, id);
    assert!(all.contains(&"by the copy".into()), "{all:?}");
    assert!(all.contains(&"by the other, who saw the original's".into()), "{all:?}");
}

#[test]
fn a_branch_that_comes_back_under_its_new_name_is_kept_once() {
    let folder = tempfile::tempdir().unwrap();
    let (_kept, [mut original, mut copy, mut hub, mut other], id) = copied(2_000, 50_000);
    edit::<Part>(&mut copy, id, "note", "by the copy");
    sync(&mut copy, &mut other);
    edit::<Part>(&mut copy, id, "place", "in the copy's drawer");
    edit::<Part>(&mut original, id, "condition", "worn");
    sync(&mut original, &mut hub);
    // The copy is renamed where it meets the hub; the other still holds its start under the old name, and gets the rest.
    sync(&mut copy, &mut hub);
    let mut third = Store::create(&folder.path().join("third"), Machine::number(5, 1_000)).unwrap();
    sync(&mut third, &mut hub);
    crate::device::pour(&third, &mut other);
    settle(&mut third, &mut other);
    sync(&mut third, &mut other);
    assert_equal(&third, &other);
    sync(&mut other, &mut hub);
    assert_equal(&other, &hub);
    assert_eq!(log_of(&other), log_of(&copy));
    edit::<Part>(&mut other, id, "note", "by the other");
    sync(&mut other, &mut hub);
    sync(&mut original, &mut hub);
    assert_eq!(standing(&hub, id), ["by the other"]);
    assert_eq!(log_of(&hub).len(), 5);
}

#[test]
fn what_came_back_before_a_copy_was_met_is_not_told_again() {
    let (_folder, [mut original, mut copy, mut hub, mut other], id) = copied(2_000, 50_000);
    other.write("delete", |w| w.delete::<Part>(id)).unwrap_or_else(|e: StoreError| panic!("{e}"));
    edit::<Part>(&mut original, id, "note", "still needed");
    sync(&mut original, &mut hub);
    assert_eq!(pour(&other, &mut hub).revived.len(), 1);
    part(&mut copy, "CO-2");
    assert_eq!(settle(&mut copy, &mut hub), 1);
    let told = pour(&copy, &mut hub);
    assert_eq!((told.new, told.revived), (1, vec![]));
}
