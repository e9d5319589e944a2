//! Merging is commutative, associative and idempotent, whatever three devices do apart.

use crate::device::{Machine, assert_equal, log_of, pour, shown};
use airshelf_catalog::change::cbor::Envelope;
use airshelf_catalog::model::{ImportFile, Listing, Part, Reading, SheetTable};
use airshelf_catalog::{Quantity, Records, Uuid, Value};
use airshelf_store::{Encoded, Pace, Store, StoreError};
use proptest::prelude::*;
use std::collections::{BTreeMap, VecDeque};

/// One thing a person does.
#[derive(Clone, Copy, Debug)]
enum Doing {
    CreatePart { which: u8, note: u8 },
    Edit { which: u8, field: u8, text: u8 },
    Delete { which: u8 },
    Refer { which: u8 },
    Import { which: u8, note: u8 },
    Read,
    Strike { which: u8 },
    Undo,
    Settle,
    PourInto { other: u8 },
}

fn doing() -> impl Strategy<Value = Doing> {
    prop_oneof![
        3 => (0..3u8, 0..3u8).prop_map(|(which, note)| Doing::CreatePart { which, note }),
        6 => (0..3u8, 0..2u8, 0..4u8).prop_map(|(which, field, text)| Doing::Edit { which, field, text }),
        2 => (0..3u8).prop_map(|which| Doing::Delete { which }),
        1 => (0..3u8).prop_map(|which| Doing::Refer { which }),
        2 => (0..3u8, 0..2u8).prop_map(|(which, note)| Doing::Import { which, note }),
        2 => Just(Doing::Read),
        1 => (0..4u8).prop_map(|which| Doing::Strike { which }),
        1 => Just(Doing::Undo),
        1 => Just(Doing::Settle),
        3 => (0..3u8).prop_map(|other| Doing::PourInto { other }),
    ]
}

fn part(which: u8) -> Uuid {
    Uuid::from_bytes([0xa0 | which; 16])
}

/// A sheet that names a part, which others may know, and a listing of its own.
fn sheet(which: u8, note: u8) -> Records {
    let own = |n: u8| Uuid::from_bytes([0x10 * n + which * 2 + note; 16]);
    let tag = Some(format!("P-{which}"));
    let part_row = Part {
        id: part(which),
        tag,
        note: Some(format!("note {note}")),
        table: Some(own(2)),
        ..Part::default()
    };
    Records {
        import_files: vec![ImportFile { id: own(1), ..ImportFile::default() }],
        sheet_tables: vec![SheetTable { id: own(2), file: Some(own(1)), ..SheetTable::default() }],
        parts: vec![part_row],
        listings: vec![Listing { id: own(3), part: Some(part((which + note) % 3)), ..Listing::default() }],
        ..Records::default()
    }
}

/// Does it where it can be done; gives the reading made, if one was.
fn act(stores: &mut [Store], who: usize, doing: Doing) -> Option<Uuid> {
    let label = format!("{doing:?}");
    let done: Result<Option<Uuid>, StoreError> = match doing {
        Doing::PourInto { other } => {
            let other = usize::from(other) % stores.len();
            if other != who {
                let sent = log_of(&stores[who]);
                stores[other].apply(&sent).unwrap();
            }
            return None;
        }
        Doing::CreatePart { which, note } => stores[who]
            .write(&label, |w| {
                let note = (note > 0).then(|| format!("note {note}"));
                w.create(&Part { id: part(which), tag: Some(format!("P-{which}")), note, ..Part::default() })
            })
            .map(|_| None),
        Doing::Edit { which, field, text } => stores[who]
            .write(&label, |w| {
                let value = if text == 0 { Value::Null } else { Value::Text(format!("text {text}")) };
                w.edit::<Part>(part(which), ["note", "place"][usize::from(field)], value)
            })
            .map(|_| None),
        Doing::Delete { which } => stores[who].write(&label, |w| w.delete::<Part>(part(which))).map(|_| None),
        Doing::Refer { which } => stores[who]
            .write(&label, |w| w.create(&Listing { part: Some(part(which)), ..Listing::default() }))
            .map(|_| None),
        Doing::Import { which, note } => {
            stores[who].import(&sheet(which, note), &label, &mut |_, _| Pace::GoOn).map(|_| None)
        }
        Doing::Read => stores[who]
            .write(&label, |w| {
                w.create(&Reading { flow: Some(Quantity::of_si(0.125)), ..Reading::default() })
            })
            .map(|outcome| Some(outcome.value)),
        Doing::Strike { which } => {
            let readings = stores[who].load::<Reading>().unwrap();
            let reading = readings.get(usize::from(which))?;
            stores[who].write(&label, |w| w.strike(reading.id, "slipped")).map(|_| None)
        }
        Doing::Undo => {
            let last = stores[who].history(1).unwrap().pop()?;
            stores[who].write(&label, |w| w.undo(last.id)).map(|_| None)
        }
        Doing::Settle => {
            let conflict = stores[who].conflicts().unwrap().pop()?;
            let value = conflict.others[0].value.clone();
            stores[who].settle(&conflict, value).map(|_| None)
        }
    };
    match done {
        Ok(reading) => reading,
        Err(StoreError::NoSuchRow { .. }) => None,
        Err(error) => panic!("{doing:?}: {error}"),
    }
}

/// Another order of the same transactions, in which only each device's own order is kept, and some come twice.
fn shuffled(all: &[Encoded], dice: &mut impl FnMut(usize) -> usize) -> Vec<Encoded> {
    let mut queues: BTreeMap<Uuid, VecDeque<&Encoded>> = BTreeMap::new();
    for sent in all {
        queues.entry(Envelope::unpack(&sent.0).unwrap().stamp.device).or_default().push_back(sent);
    }
    let mut out: Vec<Encoded> = Vec::new();
    while !queues.is_empty() {
        let device = *queues.keys().nth(dice(queues.len())).unwrap();
        let queue = queues.get_mut(&device).unwrap();
        out.extend(queue.pop_front().cloned());
        if queue.is_empty() {
            queues.remove(&device);
        }
        if dice(4) == 0 {
            let again = out[dice(out.len())].clone();
            out.push(again);
        }
    }
    out
}

fn same_shelf(folder: &std::path::Path, count: u8) -> Vec<Store> {
    let clocks = [50_000, 1_000, 90_000_000];
    let mut stores: Vec<Store> = (0..count)
        .map(|n| {
            Store::create(&folder.join(n.to_string()), Machine::number(n + 1, clocks[usize::from(n)]))
                .unwrap()
        })
        .collect();
    // Device 1 writes once, so that all hold one shelf.
    stores[0]
        .write("first", |w| w.create(&Part { id: part(0), tag: Some("P-0".into()), ..Part::default() }))
        .unwrap_or_else(|e: StoreError| panic!("{e}"));
    let (first, rest) = stores.split_at_mut(1);
    for other in rest {
        pour(&first[0], other);
    }
    stores
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn merging_is_commutative_associative_and_idempotent(
        doings in prop::collection::vec((0..3usize, doing()), 1..24),
        seed in any::<u64>(),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let mut stores = same_shelf(folder.path(), 3);
        let mut readings = Vec::new();
        for (who, doing) in doings {
            readings.extend(act(&mut stores, who, doing));
        }
        let logs: Vec<_> = stores.iter().map(log_of).collect();
        // A takes B then C, B takes C then A, C takes A and B in one: every grouping and order.
        for (to, from) in [(0, 1), (0, 2), (1, 2), (1, 0)] {
            stores[to].apply(&logs[from]).unwrap();
        }
        let together: Vec<Encoded> = logs[0].iter().chain(&logs[1]).cloned().collect();
        stores[2].apply(&together).unwrap();
        prop_assert_eq!(shown(&stores[0]), shown(&stores[1]));
        prop_assert_eq!(shown(&stores[1]), shown(&stores[2]));
        // Again: nothing is new.
        let before = shown(&stores[0]);
        let all = log_of(&stores[1]);
        prop_assert_eq!(stores[0].apply(&all).unwrap().new, 0);
        prop_assert_eq!(before, shown(&stores[0]));
        // Every reading is there, whoever took it.
        let held: Vec<Uuid> = stores[2].load::<Reading>().unwrap().iter().map(|reading| reading.id).collect();
        prop_assert!(readings.iter().all(|reading| held.contains(reading)));
        // Into an empty store, in an order that no device saw, some of it twice.
        let mut dice = fastrand::Rng::with_seed(seed);
        let mut fresh = Store::create(&folder.path().join("fresh"), Machine::number(8, 5)).unwrap();
        fresh.meet(&stores[0].version_vector().unwrap()).unwrap();
        for sent in shuffled(&all, &mut |below| dice.usize(..below)) {
            fresh.apply(&[sent]).unwrap();
        }
        assert_equal(&fresh, &stores[0]);
    }

    #[test]
    fn every_value_written_apart_shows_or_is_listed(
        left in prop::collection::vec((0..2u8, 1..4u8), 1..5),
        right in prop::collection::vec((0..2u8, 1..4u8), 1..5),
    ) {
        let folder = tempfile::tempdir().unwrap();
        let mut stores = same_shelf(folder.path(), 2);
        let mut last: [BTreeMap<u8, String>; 2] = Default::default();
        for (who, edits) in [left, right].into_iter().enumerate() {
            for (field, text) in edits {
                act(&mut stores, who, Doing::Edit { which: 0, field, text });
                last[who].insert(field, format!("text {text}"));
            }
        }
        let [a, b] = &mut stores[..] else { unreachable!() };
        pour(a, b);
        pour(b, a);
        assert_equal(a, b);
        let row = a.get::<Part>(part(0)).unwrap().unwrap();
        let conflicts = a.conflicts().unwrap();
        for (field, text) in last.iter().flatten() {
            let shows = [&row.note, &row.place][usize::from(*field)].as_ref() == Some(text);
            let listed = conflicts.iter().flat_map(|c| &c.others).any(|live| live.value == Value::Text(text.clone()));
            prop_assert!(shows || listed, "{} is neither shown nor listed", text);
        }
    }
}
