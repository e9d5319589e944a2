//! An evening at an invented bench, in as many rows as asked for.

use airshelf_catalog::ids::{Derived, Layer, assembly, beside, first_revision, named_part, pack_layers};
use airshelf_catalog::model::*;
use airshelf_catalog::{PartKind, Purpose, Quantity, Records, Restraint, Service, TableKind};
use airshelf_units::Unit;
use uuid::Uuid;

const INCH_WATER: &str = "inH2O";

fn unit(symbol: &str) -> Unit {
    Unit::all().find(|unit| unit.symbol() == symbol).unwrap_or_else(|| panic!("no unit {symbol}"))
}

fn part(records: &mut Records, kind: PartKind, tag: &str, table: Uuid) -> Uuid {
    let id = named_part(kind, tag);
    let revision = first_revision(id);
    if !records.parts.iter().any(|part| part.id == id) {
        records.parts.push(Part {
            id,
            tag: Some(tag.into()),
            kind: Some(kind),
            only_named: Some(true),
            table: Some(table),
            ..Part::default()
        });
        records.revisions.push(Revision { id: revision, part: Some(id), ..Revision::default() });
    }
    revision
}

/// Evenings of 25 runs: a leak, baselines, six stacks three times each; like the big sheet that times imports.
pub fn evenings(rows: usize) -> Records {
    let mut dice = 0x9e37_79b9_7f4a_7c15_u64;
    let mut roll = move |below: usize| {
        dice ^= dice << 13;
        dice ^= dice >> 7;
        dice ^= dice << 17;
        (dice % below as u64) as usize
    };
    let (pressure, cfm) = (unit(INCH_WATER), unit("CFM"));
    let (fahrenheit, mercury, percent) = (Unit::FAHRENHEIT, unit("inHg"), unit("%"));
    let mut records = Records::default();
    let file = Derived::new("import_file").text("big").finish();
    let table = Derived::new("sheet_table").id(Some(file)).finish();
    records.import_files.push(ImportFile { id: file, name: Some("big.csv".into()), ..ImportFile::default() });
    records.sheet_tables.push(SheetTable {
        id: table,
        file: Some(file),
        kind: Some(TableKind::Runs),
        header_row: Some(1),
        ..SheetTable::default()
    });
    let bench = Derived::new("bench").text("big bench").finish();
    records.benches.push(Bench { id: bench, name: Some("big bench".into()), ..Bench::default() });
    let range = Derived::new("bench_range").id(Some(bench)).finish();
    let full = Quantity::read(cfm.to_si(300.0), "300", cfm);
    records.bench_ranges.push(BenchRange {
        id: range,
        bench: Some(bench),
        full_scale: Some(full),
        ..BenchRange::default()
    });
    let item = part(&mut records, PartKind::Carburetor, "BC-1", table);
    let filters: Vec<_> =
        (0..100).map(|n| part(&mut records, PartKind::Filter, &format!("BF-{n:03}"), table)).collect();
    let lids: Vec<_> =
        (0..20).map(|n| part(&mut records, PartKind::Lid, &format!("BL-{n:02}"), table)).collect();
    let bases: Vec<_> =
        (0..12).map(|n| part(&mut records, PartKind::Base, &format!("BB-{n:02}"), table)).collect();
    let mut known = std::collections::HashSet::new();
    let mut raw = String::new();
    let (mut session, mut stacks) = (Uuid::nil(), Vec::new());
    for row in 0..rows {
        let order = row % 25;
        if order == 0 {
            let name = format!("BIG-{:06}", row / 25);
            session = Derived::new("session").folded(&name).finish();
            records.sessions.push(Session {
                id: session,
                name: Some(name),
                date: Some("1960-01-02".into()),
                bench: Some(bench),
                table: Some(table),
                ..Session::default()
            });
            stacks.clear();
            for _ in 0..6 {
                let layers = [bases[roll(12)], filters[roll(100)], lids[roll(20)]].map(Layer::of);
                let id = assembly(&layers);
                if known.insert(id) {
                    records.assemblies.push(Assembly {
                        id,
                        layers: Some(pack_layers(&layers)),
                        ..Assembly::default()
                    });
                }
                stacks.push(id);
            }
        }
        let stack = (order % 4 != 0).then(|| stacks[roll(6)]);
        let flow = 2500 + roll(400);
        let run = Derived::new("run")
            .id(Some(session))
            .int(Some(order as i64))
            .id(stack)
            .int(Some(flow as i64))
            .finish();
        let read = |value: f64, text: String, unit: Unit| Some(Quantity::read(unit.to_si(value), text, unit));
        records.runs.push(Run {
            id: run,
            session: Some(session),
            order_number: Some(order as i64 + 1),
            purpose: Some(if stack.is_some() { Purpose::Test } else { Purpose::Baseline }),
            assembly: stack,
            item: Some(item),
            range: Some(range),
            set_pressure: read(20.0, "20".into(), pressure),
            restraint: stack.map(|_| Restraint::Fastened),
            service: stack.map(|_| Service::New),
            table: Some(table),
            row: Some(row as i64 + 2),
            ..Run::default()
        });
        let actual = 1996 + roll(9);
        let (air, glass, damp) = (64 + row / 25 % 14, 2910 + row / 25 % 60, 38 + row / 25 % 24);
        records.readings.push(Reading {
            id: beside("reading", run),
            run: Some(run),
            flow: read(flow as f64 / 10.0, format!("{}.{}", flow / 10, flow % 10), cfm),
            actual_pressure: read(
                actual as f64 / 100.0,
                format!("{}.{:02}", actual / 100, actual % 100),
                pressure,
            ),
            air_temperature: read(air as f64, air.to_string(), fahrenheit),
            barometer: read(glass as f64 / 100.0, format!("{}.{:02}", glass / 100, glass % 100), mercury),
            humidity: read(damp as f64, damp.to_string(), percent),
            ..Reading::default()
        });
        raw.push_str(&format!(
            "BIG-{:06},1960-01-02,big bench,300,BC-1,test,{order},BB-01,,BF-0{},BL-1{},fastened,new,20,{}.{:02},{}.{},{air},{}.{:02},{damp},\n",
            row / 25, roll(100), roll(20), actual / 100, actual % 100, flow / 10, flow % 10, glass / 100, glass % 100
        ));
        if row % 500 == 499 || row + 1 == rows {
            records.sheet_rows.push(SheetRows {
                id: Derived::new("sheet_rows").id(Some(table)).int(Some(row as i64)).finish(),
                table: Some(table),
                first_row: Some((row - row % 500) as i64 + 2),
                packed: Some(lz4_flex::compress_prepend_size(raw.as_bytes())),
            });
            raw.clear();
        }
    }
    records
}
