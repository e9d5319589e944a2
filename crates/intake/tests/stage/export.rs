//! The way back: exported sheets give the same values, and exporting again the same bytes.

use super::samples::all;
use super::*;
use airshelf_catalog::{PartDimension, Purpose, ids};
use airshelf_intake::export;
use airshelf_intake::stage::complete;
use std::collections::BTreeMap;

fn shelf() -> Records {
    let mut records = Records::default();
    for staged in all().0 {
        records.append(staged.records);
        complete(&mut records, &staged.completed).unwrap();
    }
    records
}

/// What a run says, whether on itself or on its page.
fn effective(records: &Records) -> Vec<String> {
    let mut out: Vec<String> = records
        .runs
        .iter()
        .map(|run| {
            let session = records.sessions.iter().find(|s| Some(s.id) == run.session).unwrap();
            let reading = records.readings.iter().find(|r| r.run == Some(run.id));
            let claim = records.claims.iter().find(|c| c.run == Some(run.id));
            let range =
                run.range.or(session.range).and_then(|id| records.bench_ranges.iter().find(|r| r.id == id));
            let si = |q: Option<&airshelf_catalog::Quantity>| {
                q.map_or("-".to_owned(), |q| format!("{:.9e}", q.si))
            };
            let own = |of: fn(&airshelf_catalog::Reading) -> &Option<airshelf_catalog::Quantity>,
                       page: &Option<airshelf_catalog::Quantity>| {
                si(reading.and_then(|r| of(r).as_ref()).or(page.as_ref()))
            };
            let none = None;
            format!(
                "{:?} {:?} {:?} {:?} {:?} {:?} {:?} range {} set {} {} {} {} {} {} loss {} net {} {:?} {:?}",
                session.name,
                run.date.as_ref().or(session.date.as_ref()),
                run.order_number,
                run.purpose,
                run.assembly,
                if run.purpose == Some(Purpose::FixtureLeakage) { None } else { run.item.or(session.item) },
                run.baseline_kind,
                si(range.and_then(|r| r.full_scale.as_ref())),
                si(run.set_pressure.as_ref().or(session.set_pressure.as_ref())),
                own(|r| &r.actual_pressure, &none),
                own(|r| &r.flow, &none),
                own(|r| &r.air_temperature, &session.air_temperature),
                own(|r| &r.barometer, &session.barometer),
                own(|r| &r.humidity, &session.humidity),
                si(claim.and_then(|c| c.stated_loss.as_ref())),
                si(claim.and_then(|c| c.net_flow.as_ref())),
                claim.and_then(|c| c.place),
                reading.and_then(|r| r.clock.as_ref()),
            )
        })
        .collect();
    out.sort();
    out
}

#[test]
fn exported_runs_come_back_with_the_same_values() {
    let records = shelf();
    let mut sheet = Vec::new();
    export::runs(&records, &mut sheet).unwrap();
    let (back, _) = staged_with("runs.csv", &sheet, &Known::default(), None);
    assert!(back.records.quarantined.is_empty(), "{:?}", &back.records.quarantined[..1]);
    assert_eq!(back.records.runs.len(), records.runs.len());
    let (before, after) = (effective(&records), effective(&back.records));
    for (a, b) in before.iter().zip(&after) {
        assert_eq!(a, b);
    }
    let mut again = Vec::new();
    export::runs(&back.records, &mut again).unwrap();
    assert_eq!(String::from_utf8(again).unwrap(), String::from_utf8(sheet).unwrap());
}

#[test]
fn a_canonical_sheet_is_written_as_it_was() {
    let bytes = super::samples::sample("01-runs-april.csv");
    let (staged, _) = staged_with("a.csv", &bytes, &Known::default(), None);
    let mut out = Vec::new();
    export::runs(&staged.records, &mut out).unwrap();
    assert_eq!(String::from_utf8(out).unwrap(), String::from_utf8(bytes).unwrap());
}

#[test]
fn exported_parts_come_back_with_the_same_values() {
    let records = shelf();
    let mut sheet = Vec::new();
    export::parts(&records, &mut sheet).unwrap();
    let (back, _) = staged_with("parts.csv", &sheet, &Known::default(), None);
    assert!(back.records.quarantined.is_empty(), "{:?}", back.records.quarantined);
    let listed = |records: &Records| -> BTreeMap<_, _> {
        records
            .parts
            .iter()
            .filter(|p| p.only_named != Some(true))
            .map(|p| {
                (
                    p.id,
                    (
                        p.tag.clone(),
                        p.kind,
                        p.name.clone(),
                        p.price.as_ref().map(|c| c.amount),
                        p.arrived.clone(),
                        p.note.clone(),
                    ),
                )
            })
            .collect()
    };
    let (before, after) = (listed(&records), listed(&back.records));
    for (id, part) in &before {
        assert_eq!(after.get(id), Some(part));
    }
    let own = |records: &Records, tag: &str, dimension: PartDimension| {
        let part = records
            .parts
            .iter()
            .find(|p| p.tag.as_deref() == Some(tag) && p.only_named != Some(true))
            .unwrap();
        let revision = ids::first_revision(part.id);
        let of = records.measurements.iter().find(|m| {
            m.revision == Some(revision) && m.dimension == Some(dimension) && m.table == part.table
        });
        of.unwrap().value.as_ref().unwrap().si
    };
    for (tag, dimension) in [
        ("PF-11", PartDimension::InsideDiameter),
        ("PF-13", PartDimension::Height),
        ("FF-12", PartDimension::Height),
        ("C2-1", PartDimension::Register),
        ("W-F2", PartDimension::MediaArea),
        ("W-F2", PartDimension::OutsideDiameter),
        ("PF-18", PartDimension::Height),
    ] {
        let (a, b) = (own(&records, tag, dimension), own(&back.records, tag, dimension));
        assert!((a - b).abs() <= 1e-12 * a.abs(), "{tag}: {a} and {b}");
    }
}

#[test]
fn a_page_s_baseline_and_a_unit_of_its_own_come_back() {
    let page = "Losses of an evening, CFM; baseline bare 277.9\nlid \\ filter,PF-1,PF-2\nLD-1,10.1,12.3\nLD-2,9.4,8.1\n";
    let log = "session,order,purpose,filter,lid,range,CFM\nS,1,baseline,,,\"141,58 L/s\",277.1\nS,2,test,PF-1,LD-1,300,260.2\nS,3,baseline,,,300,277.3\n";
    let mut records = Records::default();
    for (name, text) in [("page.csv", page), ("log.csv", log)] {
        records.append(staged_with(name, text.as_bytes(), &Known::default(), None).0.records);
    }
    let mut sheet = Vec::new();
    export::runs(&records, &mut sheet).unwrap();
    let text = String::from_utf8(sheet.clone()).unwrap();
    assert!(text.contains("141.58 L/s"), "{text}");
    let (back, _) = staged_with("back.csv", &sheet, &Known::default(), None);
    assert!(back.records.quarantined.is_empty(), "{:?}", back.records.quarantined);
    assert_eq!(effective(&back.records), effective(&records));
    let (before, after) = (&records.sessions[0], &back.records.sessions[0]);
    assert_eq!(after.stated_baseline_kind, Some(airshelf_catalog::BaselineKind::Bare));
    assert_eq!(after.stated_baseline.as_ref().map(|q| q.si), before.stated_baseline.as_ref().map(|q| q.si));
    assert_eq!((before.unordered, after.unordered), (Some(true), Some(true)));
    assert!(back.records.claims.iter().all(|c| c.stated_baseline.is_none()));
    let mut again = Vec::new();
    export::runs(&back.records, &mut again).unwrap();
    assert_eq!(String::from_utf8(again).unwrap(), text);
}
