//! The shelf itself as records: people, parts with their sizes, bench, engine, vehicle, assemblies.

use super::shed::{REVISED, REVISION, SPACER, THINGS, layers, part_id, revision_id};
use super::written::{price, quantity};
use airshelf_catalog::ids::{Derived, assembly, pack_layers};
use airshelf_catalog::{
    Alias, Assembly, Bench, BenchRange, Engine, Listing, Measurement, Meter, Part, PartDimension, PartStatus,
    Person, Records, Revision, Source, Uuid, Vehicle,
};
use airshelf_units::Unit;

/// Who owns the shed.
pub const OWNER: &str = "Wren";
/// Who comes on Saturdays.
pub const FRIEND: &str = "Odell";
/// The bench's name.
pub const BENCH: &str = "shed bench";
/// Full scales in CFM and the step of each, as its owner writes them.
const RANGES: [(&str, &str); 3] = [("2", "0.01"), ("10", "0.05"), ("300", "0.1")];

/// What the notebook calls some parts.
const SPOKEN: [(&str, &str); 5] =
    [("flat", "BS-1"), ("dropped", "BS-2"), ("solid", "LD-1"), ("vented", "LD-2"), ("domed", "LD-3")];

/// The person of that name.
pub fn person_id(name: &str) -> Uuid {
    Derived::new("person").folded(name).finish()
}

fn bench_id() -> Uuid {
    Derived::new("bench").folded(BENCH).finish()
}

/// The range with that full scale, in CFM as written.
pub fn range_id(full_scale_cfm: &str) -> Uuid {
    let full_scale = quantity(full_scale_cfm, Unit::CFM);
    Derived::new("bench_range").id(Some(bench_id())).real(Some(full_scale.si)).finish()
}

/// The bench.
pub fn bench() -> Uuid {
    bench_id()
}

/// The truck.
pub fn vehicle_id() -> Uuid {
    Derived::new("vehicle").folded("the half-ton").finish()
}

/// Adds an assembly once and returns it.
pub fn assemble(records: &mut Records, stack: &[&str]) -> Uuid {
    let layers = layers(stack);
    let id = assembly(&layers);
    if records.assemblies.iter().all(|a| a.id != id) {
        records.assemblies.push(Assembly { id, layers: Some(pack_layers(&layers)), ..Assembly::default() });
    }
    id
}

/// People, parts, bench, engine and vehicle.
pub fn stock() -> Records {
    let mut records = Records::default();
    for name in [OWNER, FRIEND] {
        records.persons.push(Person { id: person_id(name), name: Some(name.into()) });
    }
    parts(&mut records);
    for (spelling, tag) in SPOKEN {
        let part = part_id(tag);
        records.aliases.push(Alias {
            id: Derived::new("alias").folded(spelling).id(Some(part)).finish(),
            spelling: Some(spelling.into()),
            part: Some(part),
        });
    }
    records.benches.push(Bench {
        id: bench_id(),
        name: Some(BENCH.into()),
        meter: Some(Meter::SameAirOrifice),
        note: Some("three ranges; the adapter takes two-barrels".into()),
        ..Bench::default()
    });
    for (full_scale, step) in RANGES {
        records.bench_ranges.push(BenchRange {
            id: range_id(full_scale),
            bench: Some(bench_id()),
            full_scale: Some(quantity(full_scale, Unit::CFM)),
            step: Some(quantity(step, Unit::CFM)),
            ..BenchRange::default()
        });
    }
    let engine = Derived::new("engine").folded("the six").finish();
    records.engines.push(Engine {
        id: engine,
        name: Some("the six".into()),
        displacement: Some(quantity("250", Unit::CUBIC_INCH)),
        volumetric_efficiency: Some(quantity("78", Unit::PERCENT).from_source(Source::Estimated)),
        speed: Some(quantity("4200", Unit::RPM)),
        highest_speed: Some(quantity("5000", Unit::RPM)),
        note: Some("two-barrel on the cast adapter".into()),
    });
    records.vehicles.push(Vehicle {
        id: vehicle_id(),
        name: Some("the half-ton".into()),
        hood_height: Some(quantity("5-1/4", Unit::INCH).from_source(Source::Measured)),
        wanted_clearance: Some(quantity("3/4", Unit::INCH)),
        engine: Some(engine),
        note: Some("clay on the air cleaner, hood closed once".into()),
    });
    records
}

fn parts(records: &mut Records) {
    for thing in THINGS {
        let part = part_id(thing.tag);
        let revised = thing.tag == SPACER;
        records.parts.push(Part {
            id: part,
            tag: Some(thing.tag.into()),
            kind: Some(thing.kind),
            name: Some(thing.name.into()),
            maker: Some(thing.maker.to_owned()).filter(|m| !m.is_empty()),
            price: thing.price.map(price),
            arrived: thing.arrived.map(Into::into),
            status: Some(thing.status),
            place: Some(thing.place.to_owned()).filter(|p| !p.is_empty()),
            filtration: thing.filtration.map(Into::into),
            service: thing.service,
            note: thing.note.map(Into::into),
            ..Part::default()
        });
        let first = revision_id(thing.tag);
        records.revisions.push(Revision { id: first, part: Some(part), ..Revision::default() });
        sizes(
            records,
            first,
            thing.sizes,
            if thing.status == PartStatus::Wanted { Source::Stated } else { Source::Measured },
        );
        if revised {
            let second = revision_id(&format!("{SPACER} {REVISION}"));
            records.revisions.push(Revision {
                id: second,
                part: Some(part),
                label: Some(REVISION.into()),
                previous: Some(first),
                change: Some("3/8 in radius of clay at the top edge".into()),
                revised: Some(REVISED.into()),
            });
            sizes(records, second, thing.sizes, Source::Measured);
        }
        if thing.status == PartStatus::Wanted {
            records.listings.push(Listing {
                id: Derived::new("listing").id(Some(part)).finish(),
                part: Some(part),
                seller: Some("swap meet, third row".into()),
                price: Some(price("38.00")),
                seen: Some("2025-10-04".into()),
                note: Some("box opened, element clean".into()),
            });
        }
    }
}

fn sizes(records: &mut Records, revision: Uuid, sizes: &[(PartDimension, &str)], source: Source) {
    for &(dimension, raw) in sizes {
        let unit = if dimension == PartDimension::PleatCount { Unit::COUNT } else { Unit::INCH };
        let value = quantity(raw, unit).from_source(source);
        records.measurements.push(Measurement {
            id: Derived::new("measurement")
                .id(Some(revision))
                .int(Some(dimension.code()))
                .real(Some(value.si))
                .finish(),
            revision: Some(revision),
            dimension: Some(dimension),
            value: Some(value),
            ..Measurement::default()
        });
    }
}
