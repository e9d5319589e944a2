//! What must hold once nobody writes and everybody has met everybody.

use crate::network::{Met, Weather};
use crate::world::World;
use airshelf_catalog::Records;
use airshelf_store::{BlobState, Encoded, Scope, Store, VersionVector};

/// Lets all devices meet until nothing moves, and looks at what they hold.
pub fn settles(world: &mut World) {
    for device in &mut world.devices {
        device.machine.installs(false);
        device.open().unwrap();
    }
    meet_until_nothing_moves(world);
    let logs: Vec<Vec<Encoded>> = world.devices.iter().map(|device| log_of(device.held())).collect();
    let first = shown(world.devices[0].held());
    for (device, log) in world.devices.iter().zip(&logs) {
        let store = device.held();
        assert!(*log == logs[0], "{} and {} hold other transactions", device.name, world.devices[0].name);
        let shows = shown(store);
        assert!(
            shows == first,
            "{} and {} differ: {}",
            device.name,
            world.devices[0].name,
            difference(&shows, &first)
        );
        let checked = store.check().unwrap();
        assert!(checked.is_sound(), "{}: {checked:?}", device.name);
        assert!(checked.incomplete.is_empty(), "{}: {:?}", device.name, checked.incomplete);
        let missing = world.facts.missing(store);
        assert!(missing.is_empty(), "{}: {}", device.name, missing.join("\n"));
    }
    blobs_are_where_they_are_said_to_be(world);
}

/// The first device is a hub; most of it comes to rest around it before everybody calls everybody.
fn meet_until_nothing_moves(world: &mut World) {
    let count = world.devices.len();
    let around_the_first: Vec<(usize, usize)> = (1..count).map(|client| (client, 0)).collect();
    let mut all = Vec::new();
    for a in 0..count {
        for b in a + 1..count {
            let hub = if world.devices[a].is_hub { a } else { b };
            if world.devices[hub].is_hub {
                all.push((a + b - hub, hub));
            }
        }
    }
    for _ in 0..4 {
        for _ in 0..8 {
            if !meet(world, &around_the_first) {
                break;
            }
        }
        if !meet(world, &all) {
            return;
        }
    }
    panic!("the devices never come to rest");
}

/// Whether anything moved.
fn meet(world: &mut World, pairs: &[(usize, usize)]) -> bool {
    let mut moved = false;
    for (client, hub) in pairs {
        let met = world.exchange(*client, *hub, Weather::Clear);
        assert!(matches!(met, Met::Whole { .. }), "{met:?}");
        moved |= met == Met::Whole { moved: true };
    }
    moved
}

fn blobs_are_where_they_are_said_to_be(world: &World) {
    for (hash, bytes) in world.facts.blobs() {
        let mut somewhere = false;
        let mut elsewhere = None;
        for device in &world.devices {
            match device.held().blob_state(hash).unwrap() {
                BlobState::Here => {
                    somewhere = true;
                    let held = device.held().blobs().get(hash).unwrap();
                    assert!(held.as_ref() == Some(bytes), "{}: a photo is not what it was", device.name);
                }
                BlobState::Elsewhere => elsewhere = Some(&device.name),
                BlobState::Lost => panic!("{}: a photo is lost", device.name),
            }
        }
        assert!(somewhere, "a photo is nowhere, and {elsewhere:?} says elsewhere");
    }
}

fn log_of(store: &Store) -> Vec<Encoded> {
    store.transactions_since(&VersionVector::default(), usize::MAX).unwrap()
}

type Shown = (Records, Vec<String>, Vec<String>);

fn shown(store: &Store) -> Shown {
    let mut records = store.records(Scope::All).unwrap();
    macro_rules! sort { ($($plural:ident),+ $(,)?) => { $( records.$plural.sort_by_key(|row| row.id); )+ } }
    sort!(
        persons,
        parts,
        revisions,
        measurements,
        aliases,
        photos,
        listings,
        assemblies,
        benches,
        bench_ranges,
        sessions,
        runs,
        readings,
        claims,
        ratings,
        predictions,
        service_events,
        engines,
        vehicles,
        decisions,
        import_files,
        sheet_tables,
        sheet_rows,
        also_at,
        quarantined,
    );
    let mut conflicts: Vec<String> = store.conflicts().unwrap().iter().map(|c| format!("{c:?}")).collect();
    conflicts.sort();
    let mut parked: Vec<String> = store.parked().unwrap().iter().map(|p| format!("{p:?}")).collect();
    parked.sort();
    (records, conflicts, parked)
}

/// The first places where two differ.
fn difference(a: &Shown, b: &Shown) -> String {
    let (a, b) = (format!("{a:#?}"), format!("{b:#?}"));
    let lines = a.lines().zip(b.lines()).filter(|(a, b)| a != b).take(6);
    lines.map(|(a, b)| format!("{} / {}; ", a.trim(), b.trim())).collect()
}
