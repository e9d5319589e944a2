//! What a newer program wrote is parked by an older one, forwarded byte for byte, and taken up after its upgrade.

use crate::device::{Machine, assert_equal, log_of, pour, shown, sync};
use airshelf_catalog::change::cbor::{Envelope, put_change};
use airshelf_catalog::change::{Act, Change, Edited, Head, Stamp};
use airshelf_catalog::model::{Decision, Part};
use airshelf_catalog::{DecisionKind, Entity, EntityKind, PartKind, Uuid, Value};
use airshelf_store::{Encoded, Store, StoreError};

/// A program from before parts had a condition and people made decisions.
fn older(entity: u8, field: u16) -> bool {
    entity != EntityKind::Decision.number() && !(entity == EntityKind::Part.number() && field == 9)
}

#[test]
fn an_older_program_parks_forwards_and_takes_up_after_its_upgrade() {
    assert_eq!(Part::FIELDS[8].name, "condition");
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut new = Store::create(&at("new"), Machine::number(1, 1_000)).unwrap();
    let mut old = Store::create(&at("old"), Machine::knowing(2, 1_000, older)).unwrap();
    let mut other = Store::create(&at("other"), Machine::number(3, 1_000)).unwrap();
    let part = new
        .write("new part", |w| {
            let part =
                Part { tag: Some("NW-1".into()), condition: Some("like new".into()), ..Part::default() };
            let id = w.create(&part)?;
            w.create(&Decision { subject: Some(id), kind: Some(DecisionKind::Keep), ..Decision::default() })?;
            Ok::<_, StoreError>(id)
        })
        .unwrap()
        .value;
    let applied = pour(&new, &mut old);
    assert_eq!(applied.new, 1);
    assert_eq!(old.parked().unwrap().len(), 2);
    let held = old.get::<Part>(part).unwrap().unwrap();
    assert_eq!((held.tag.as_deref(), held.condition), (Some("NW-1"), None));
    assert!(old.load::<Decision>().unwrap().is_empty());
    // The older program edits what it knows of the same row, and the newer edits what the older does not know.
    old.write("edit", |w| w.edit::<Part>(part, "place", Value::Text("bench".into())))
        .unwrap_or_else(|e: StoreError| panic!("{e}"));
    new.write("edit", |w| w.edit::<Part>(part, "condition", Value::Text("worn".into())))
        .unwrap_or_else(|e: StoreError| panic!("{e}"));
    sync(&mut new, &mut old);
    pour(&old, &mut other);
    assert_eq!(log_of(&old), log_of(&new), "forwarded byte for byte");
    assert_equal(&other, &new);
    assert_eq!(other.get::<Part>(part).unwrap().unwrap().condition.as_deref(), Some("worn"));
    assert!(old.check().unwrap().is_sound());
    drop(old);
    let upgraded = Store::open(&at("old"), Machine::number(2, 2_000)).unwrap();
    assert!(upgraded.parked().unwrap().is_empty());
    assert_equal(&upgraded, &new);
    assert_eq!(upgraded.load::<Decision>().unwrap().len(), 1);
}

#[test]
fn an_older_program_lists_no_conflict_about_what_it_does_not_show() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut a = Store::create(&at("a"), Machine::number(1, 1_000)).unwrap();
    let mut b = Store::create(&at("b"), Machine::number(2, 1_000)).unwrap();
    let mut old = Store::create(&at("old"), Machine::knowing(3, 1_000, older)).unwrap();
    let part =
        a.write("new part", |w| w.create(&Part::default())).unwrap_or_else(|e: StoreError| panic!("{e}"));
    sync(&mut a, &mut b);
    for (store, worn) in [(&mut a, "worn"), (&mut b, "torn")] {
        store
            .write("edit", |w| {
                w.edit::<Part>(part.value, "condition", Value::Text(worn.into()))?;
                w.edit::<Part>(part.value, "place", Value::Text(worn.into()))
            })
            .unwrap_or_else(|e: StoreError| panic!("{e}"));
    }
    sync(&mut a, &mut b);
    pour(&a, &mut old);
    let listed = |store: &Store| -> Vec<&str> {
        store.conflicts().unwrap().iter().map(|conflict| conflict.field.name).collect()
    };
    assert_eq!((listed(&a), listed(&old)), (vec!["place", "condition"], vec!["place"]));
}

/// A transaction of a program that does not exist yet.
fn of_tomorrow(row: Uuid, known: Uuid) -> Encoded {
    let device = Uuid::from_bytes([0x44; 16]);
    let stamp = Stamp { hlc: 99 << 40, device };
    let change = |entity, row, act| Change { entity, row, act, strange: vec![] };
    let changes = [
        change(
            200,
            Uuid::from_bytes([0x45; 16]),
            Act::Create(vec![(1, Value::Text("an entity of tomorrow".into()))]),
        ),
        change(
            EntityKind::Part.number(),
            row,
            Act::Create(vec![(1, Value::Text("TM-1".into())), (2, Value::Int(99)), (900, Value::Int(5))]),
        ),
        change(
            EntityKind::Part.number(),
            known,
            Act::Edit(vec![Edited { field: 2, value: Value::Int(98), replaces: vec![] }]),
        ),
    ];
    let mut plain = Vec::new();
    changes.iter().for_each(|change| put_change(&mut plain, change));
    let head = Head { program: "airshelf 99".into(), ..Head::default() }.pack();
    let body = lz4_flex::compress_prepend_size(&plain);
    Encoded(Envelope { stamp, number: 1, head: &head, body: &body }.pack())
}

#[test]
fn unknown_entities_fields_and_codes_are_kept_aside_and_the_rest_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut a = Store::create(&at("a"), Machine::number(1, 1_000)).unwrap();
    let mut b = Store::create(&at("b"), Machine::number(2, 1_000)).unwrap();
    let known = Part { tag: Some("LD-1".into()), kind: Some(PartKind::Lid), ..Part::default() };
    let known = a.write("new", |w| w.create(&known)).unwrap_or_else(|e: StoreError| panic!("{e}")).value;
    let row = Uuid::from_bytes([0x46; 16]);
    let sent = of_tomorrow(row, known);
    let applied = a.apply(std::slice::from_ref(&sent)).unwrap();
    assert_eq!((applied.new, applied.parked), (1, 4));
    let taken = a.get::<Part>(row).unwrap().unwrap();
    assert_eq!((taken.tag.as_deref(), taken.kind), (Some("TM-1"), None));
    assert_eq!(
        a.get::<Part>(known).unwrap().unwrap().kind,
        Some(PartKind::Lid),
        "the last value that is known shows"
    );
    pour(&a, &mut b);
    assert!(log_of(&b).contains(&sent));
    assert_eq!(shown(&a), shown(&b));
    assert_equal(&a, &b);
}

#[test]
fn bytes_that_are_no_transaction_change_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut a = Store::create(&folder.path().join("a"), Machine::number(1, 1_000)).unwrap();
    let mut good = of_tomorrow(Uuid::from_bytes([1; 16]), Uuid::from_bytes([2; 16]));
    assert!(a.apply(&[Encoded(b"nonsense".to_vec())]).is_err());
    good.0.truncate(good.0.len() - 3);
    assert!(a.apply(&[good]).is_err());
    assert!(a.is_empty().unwrap());
    assert!(a.parked().unwrap().is_empty());
}
