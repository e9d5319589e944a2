//! An evening is typed in at the bench, and says what it should at each step.

use super::reading::PressureAt;
use super::*;
use crate::code::Code;
use crate::import::{FileIn, ImportAsked};
use crate::shelf::CompareAsked;
use airshelf_catalog::{Assembly, EntityKind, Purpose, Reading, Restraint, Run, Service, Value};
use airshelf_store::native::Native;
use airshelf_store::{Host, Identity};
use airshelf_units::System;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// A device whose clock goes on by a minute whenever somebody looks.
struct Clockwork(Native, AtomicU64);

impl Host for Clockwork {
    fn now_ms(&self) -> u64 {
        self.0.now_ms()
    }
    fn wall(&self) -> String {
        let minute = self.1.fetch_add(1, Ordering::Relaxed);
        format!("2025-11-20T{:02}:{:02}:07+01:00", 18 + minute / 60, minute % 60)
    }
    fn random(&self, out: &mut [u8]) {
        self.0.random(out);
    }
    fn identity(&self, place: &Path) -> std::io::Result<Identity> {
        self.0.identity(place)
    }
    fn new_identity(&self, place: &Path) -> std::io::Result<Identity> {
        self.0.new_identity(place)
    }
}

struct Bench {
    _dir: tempfile::TempDir,
    shelf: Shelf,
}

fn texts(fields: &[(&str, &str)]) -> Vec<(String, String)> {
    fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
}

/// A shelf with a carburetor, a base, a filter, two lids and a stud, and a bench of 300 CFM that leaks into a range of 2.
fn equipped() -> Bench {
    let dir = tempfile::tempdir().unwrap();
    let host = Clockwork(Native::new(dir.path().join("config")), AtomicU64::new(0));
    let mut shelf = Shelf::create(&dir.path().join("shed"), Arc::new(host)).unwrap();
    for (tag, kind) in [
        ("CB-1", "carburetor"),
        ("BS-1", "base"),
        ("FF-1", "filter"),
        ("LD-1", "lid"),
        ("LD-2", "lid"),
        ("ST-1", "stud"),
    ] {
        shelf.add(EntityKind::Part, &texts(&[("tag", tag), ("kind", kind)])).unwrap();
    }
    let bench = equipment::keep_bench(&mut shelf, None, "Old Blue", Some(Meter::SameAirOrifice)).unwrap().id;
    for (scale, step) in [("2 CFM", "0.01 CFM"), ("300 CFM", "")] {
        equipment::keep_range(&mut shelf, None, bench, scale, step, "").unwrap();
    }
    Bench { _dir: dir, shelf }
}

impl Bench {
    fn revision(&self, tag: &str) -> Uuid {
        self.shelf.find_row(Some(EntityKind::Revision), tag).unwrap()
    }

    fn range(&self, at: usize) -> Uuid {
        equipment::benches(&self.shelf).unwrap()[0].ranges[at].id
    }

    fn new_evening(&self, name: &str) -> NewEvening {
        let offered = evenings::offered(&self.shelf).unwrap();
        NewEvening {
            name: name.into(),
            date: offered.date,
            bench: offered.benches[0].id,
            range: self.range(1),
            item: Some(offered.items[0].id),
            set_pressure: "20".into(),
            air_temperature: "71".into(),
            barometer: "29.2".into(),
            humidity: "45".into(),
        }
    }

    fn begun(&mut self) -> Uuid {
        let new = self.new_evening("QL-1120");
        evenings::open(&mut self.shelf, &new).unwrap().session
    }

    fn reading(&self, session: Uuid, purpose: Purpose, tags: &[&str], flow: &str) -> NewReading {
        let test = purpose == Purpose::Test;
        NewReading {
            session,
            purpose,
            parts: tags.iter().map(|tag| self.revision(tag)).collect(),
            restraint: test.then_some(Restraint::Fastened),
            service: test.then_some(Service::Oiled),
            refitted: true,
            range: None,
            flow: flow.into(),
            held: PressureAt::OnTarget,
        }
    }

    fn kept(&mut self, session: Uuid, purpose: Purpose, tags: &[&str], flow: &str) -> Changed {
        let new = self.reading(session, purpose, tags, flow);
        reading::keep(&mut self.shelf, &new).unwrap()
    }

    fn page(&self, session: Uuid) -> EveningPage {
        page::page(&self.shelf, session).unwrap()
    }
}

const A: [&str; 3] = ["BS-1", "FF-1", "LD-1"];
const B: [&str; 3] = ["BS-1", "FF-1", "LD-2"];

/// Two assemblies, each fitted three times, between baselines.
fn typed_in(bench: &mut Bench) -> Uuid {
    let session = bench.begun();
    let leak = NewReading {
        range: Some(bench.range(0)),
        ..bench.reading(session, Purpose::FixtureLeakage, &[], "1.02")
    };
    reading::keep(&mut bench.shelf, &leak).unwrap();
    bench.kept(session, Purpose::Baseline, &[], "277.4");
    for (a, b) in [("251.3", "246.0"), ("250.9", "246.4"), ("251.4", "245.7")] {
        bench.kept(session, Purpose::Test, &A, a);
        bench.kept(session, Purpose::Test, &B, b);
    }
    bench.kept(session, Purpose::Baseline, &[], "277.0");
    session
}

#[test]
fn an_evening_begins_today_with_what_the_last_one_had() {
    let mut bench = equipped();
    let offered = evenings::offered(&bench.shelf).unwrap();
    assert_eq!((offered.date.as_str(), offered.items.len()), ("2025-11-20", 1));
    assert_eq!(offered.pressure_unit, "inH2O");
    let session = bench.begun();
    let next = evenings::offered(&bench.shelf).unwrap();
    assert_eq!(next.set_pressure.as_deref(), Some("20 inH2O"));
    assert_eq!((next.range, next.item), (Some(bench.range(1)), Some(bench.revision("CB-1"))));
    let page = bench.page(session);
    assert_eq!(page.air, ["71 °F", "29.2 inHg", "45 %"]);
    assert_eq!(page.set_pressure.unwrap().text, "20 inH2O");
    let again = bench.new_evening("ql-1120");
    let twice = evenings::open(&mut bench.shelf, &again).unwrap_err();
    assert!(twice.message.contains("already"), "{twice}");
    let dry = NewEvening { humidity: "145".into(), ..bench.new_evening("other") };
    assert_eq!(evenings::open(&mut bench.shelf, &dry).unwrap_err().code, Code::BadQuantity);
}

#[test]
fn a_bench_and_its_ranges_are_changed_and_not_doubled() {
    let mut bench = equipped();
    let twice = equipment::keep_bench(&mut bench.shelf, None, "old blue", None).unwrap_err();
    assert!(twice.message.contains("already"), "{twice}");
    let card = equipment::benches(&bench.shelf).unwrap().remove(0);
    assert_eq!(card.ranges.iter().map(|r| r.full_scale.as_str()).collect::<Vec<_>>(), ["2 CFM", "300 CFM"]);
    let range = Some(card.ranges[1].id);
    equipment::keep_range(&mut bench.shelf, range, card.id, "300 CFM", "0.5", "0.4").unwrap();
    let card = equipment::benches(&bench.shelf).unwrap().remove(0);
    assert_eq!(card.ranges.len(), 2);
    assert_eq!(card.ranges[1].step.as_deref(), Some("0.5 CFM"));
    assert_eq!(card.ranges[1].stated_scatter.as_deref(), Some("0.4 %"));
    let coarse = equipment::keep_range(&mut bench.shelf, range, card.id, "300", "400", "").unwrap_err();
    assert_eq!(coarse.code, Code::BadQuantity);
}

#[test]
fn a_reading_that_is_only_tried_leaves_nothing() {
    let mut bench = equipped();
    let session = bench.begun();
    bench.kept(session, Purpose::Test, &A, "251.3");
    let before = bench.shelf.store().load::<Assembly>().unwrap().len();
    let tried = reading::attempt(&bench.shelf, &bench.reading(session, Purpose::Test, &A, "250.6")).unwrap();
    assert_eq!(tried.flow.text, "250.6 CFM");
    assert_eq!(tried.echo, "250.6 CFM at 20 inH2O; 0.70 CFM below the fitting before it");
    assert!(tried.faults.is_empty(), "{:?}", tried.faults);
    reading::attempt(&bench.shelf, &bench.reading(session, Purpose::Test, &B, "244")).unwrap();
    assert_eq!(bench.shelf.store().load::<Run>().unwrap().len(), 1);
    assert_eq!(bench.shelf.store().load::<Assembly>().unwrap().len(), before);
}

#[test]
fn range_and_pressure_faults_are_told_while_typing() {
    let mut bench = equipped();
    let session = bench.begun();
    bench.kept(session, Purpose::Baseline, &[], "277.4");
    let over = reading::attempt(&bench.shelf, &bench.reading(session, Purpose::Test, &A, "2513")).unwrap();
    assert!(over.faults.iter().any(|f| f.rule == "over-range"), "{:?}", over.faults);
    let near = reading::attempt(&bench.shelf, &bench.reading(session, Purpose::Test, &A, "290")).unwrap();
    assert!(near.faults.iter().any(|f| f.rule == "near-range"), "{:?}", near.faults);
    let at = |text: &str| NewReading {
        held: PressureAt::At { text: text.into() },
        ..bench.reading(session, Purpose::Test, &A, "251.3")
    };
    let off = reading::attempt(&bench.shelf, &at("19.6")).unwrap();
    assert!(off.faults.iter().any(|f| f.rule == "off-pressure"), "{:?}", off.faults);
    assert!(off.echo.starts_with("253.9 CFM at 20 inH2O"), "251.3 (20/19.6)^½: {}", off.echo);
    let far = reading::attempt(&bench.shelf, &at("10")).unwrap();
    assert!(far.refused.is_some() && far.reduced.is_none(), "{far:?}");
    let silent = reading::attempt(&bench.shelf, &at("x")).unwrap_err();
    assert_eq!(silent.code, Code::BadQuantity);
}

#[test]
fn the_two_leakages_are_two_things() {
    let mut bench = equipped();
    let session = typed_in(&mut bench);
    let shut = bench.reading(session, Purpose::ClosedThrottleLeakage, &[], "3.9");
    reading::keep(&mut bench.shelf, &shut).unwrap();
    let page = bench.page(session);
    assert_eq!(page.fixture_leakage.as_ref().unwrap().flow.text, "1.020 CFM");
    assert!(page.closed_throttle_leakage.unwrap().sentence.contains("never taken off"));
    let test = page.runs.iter().find(|r| r.purpose == Some(Purpose::Test)).unwrap();
    let line = &test.readings[0];
    assert_eq!(line.flow.as_ref().unwrap().text, "251.3 CFM");
    assert_eq!(line.reduced.as_ref().unwrap().text, "250.3 CFM", "1.02 CFM off, and not 3.9");
    let blanked = &page.runs[0];
    assert_eq!((blanked.purpose, blanked.number), (Some(Purpose::FixtureLeakage), Some(1)));
    assert!(blanked.readings[0].reduced.is_none());
}

#[test]
fn an_open_evening_says_what_the_bench_can_see_and_no_verdict() {
    let mut bench = equipped();
    let session = bench.begun();
    let page = bench.page(session);
    assert_eq!((page.seen.from, page.standing.is_none(), page.open), ("none", true, true));
    assert!(page.next[0].contains("fixture leakage"), "{:?}", page.next);
    bench.kept(session, Purpose::Baseline, &[], "277.4");
    assert_eq!(bench.page(session).next[0], "Baseline due in 4 runs.");
    for flow in ["251.3", "250.9", "251.4"] {
        bench.kept(session, Purpose::Test, &A, flow);
    }
    let page = bench.page(session);
    assert_eq!(page.next[0], "Baseline due after the next run.");
    assert_eq!(page.seen.from, "session");
    let seen = page.seen.flow.unwrap();
    assert!((3.0..5.0).contains(&(seen.si / 4.719_474_432e-4)), "{seen:?}");
    let standing = page.standing.unwrap();
    assert_eq!(standing.what, "BS-1 + FF-1 + LD-1");
    assert_eq!((standing.restraint, standing.service), (Some(Restraint::Fastened), Some(Service::Oiled)));
    assert_eq!(page.runs[2].readings[0].apart.as_ref().unwrap().text, "-0.45 CFM");
    assert!(page.before_closing.iter().any(|w| w.contains("after the last assembly")));
    bench.kept(session, Purpose::Test, &B, "246");
    assert_eq!(bench.page(session).next[0], "Baseline due now.");
    bench.kept(session, Purpose::Baseline, &[], "276.0");
    let page = bench.page(session);
    assert!(page.before_closing.is_empty(), "{:?}", page.before_closing);
    assert_eq!(page.baseline.unwrap().drift.unwrap().text, "-0.50 %");
    let compared = bench.shelf.compare(&asked(), System::Us).unwrap();
    assert!(compared.sessions[0].groups[0].pairs.is_empty());
}

#[test]
fn readings_of_one_fitting_count_once() {
    let mut bench = equipped();
    let session = bench.begun();
    bench.kept(session, Purpose::Baseline, &[], "277.4");
    bench.kept(session, Purpose::Test, &A, "251.3");
    let same = NewReading { refitted: false, ..bench.reading(session, Purpose::Test, &A, "251.9") };
    reading::keep(&mut bench.shelf, &same).unwrap();
    let page = bench.page(session);
    assert_eq!(page.seen.from, "none", "nothing was refitted");
    assert_eq!(page.next[0], "Baseline due in 3 runs.");
    let tried = reading::attempt(&bench.shelf, &bench.reading(session, Purpose::Test, &A, "251.6")).unwrap();
    assert!(tried.apart.unwrap().si.abs() < 1e-9, "it is the mean of the two");
}

#[test]
fn a_strike_keeps_the_reading_with_its_reason_and_undo_strikes_a_kept_one() {
    let mut bench = equipped();
    let session = bench.begun();
    bench.kept(session, Purpose::Baseline, &[], "277.4");
    let kept = bench.kept(session, Purpose::Test, &A, "215.3");
    let line = bench.page(session).runs[1].readings[0].clone();
    let silent = reading::strike(&mut bench.shelf, session, line.id, " ").unwrap_err();
    assert_eq!(silent.code, Code::BadArgument);
    reading::strike(&mut bench.shelf, session, line.id, "digits swapped").unwrap();
    let page = bench.page(session);
    assert_eq!(page.runs[1].readings[0].struck.as_deref(), Some("digits swapped"));
    assert_eq!(page.next[0], "Baseline due in 4 runs.");
    assert!(reading::strike(&mut bench.shelf, session, line.id, "again").is_err());
    let other = bench.kept(session, Purpose::Test, &A, "251.3");
    assert_ne!(other.change, kept.change);
    bench.shelf.undo(other.change.unwrap()).unwrap();
    let struck: Vec<Reading> = bench.shelf.store().load().unwrap();
    assert_eq!(struck.iter().filter(|r| r.struck.is_some()).count(), 2, "nothing was lost");
}

#[test]
fn what_happened_is_put_down_and_spoils_one_reading() {
    let mut bench = equipped();
    let session = bench.begun();
    bench.kept(session, Purpose::Test, &A, "251.3");
    bench.kept(session, Purpose::Test, &A, "263.0");
    let spoiled = bench.page(session).runs[1].readings[0].id;
    let before = bench.shelf.history(1).unwrap()[0].number;
    reading::happened(&mut bench.shelf, session, "the lid lifted", Some(spoiled)).unwrap();
    let page = bench.page(session);
    assert!(page.note.unwrap().ends_with("the lid lifted"));
    assert_eq!(page.runs[1].readings[0].struck.as_deref(), Some("the lid lifted"));
    assert!(page.runs[0].readings[0].struck.is_none());
    assert_eq!(bench.shelf.history(1).unwrap()[0].number, before + 1, "one transaction");
    reading::happened(&mut bench.shelf, session, "the dog barked", None).unwrap();
    assert_eq!(bench.page(session).note.unwrap().lines().count(), 2);
}

#[test]
fn the_highest_pressure_is_where_the_baseline_fills_the_range() {
    let mut bench = equipped();
    let session = bench.begun();
    assert!(bench.page(session).holds.is_empty(), "nothing was read yet");
    bench.kept(session, Purpose::Baseline, &[], "150");
    let holds = bench.page(session).holds;
    assert_eq!(holds.len(), 1, "the leakage range holds it at no pressure");
    assert_eq!(holds[0].highest.text, "80.0 inH2O", "20 (300/150)²");
    assert_eq!(holds[0].leaves_margin.text, "72.2 inH2O", "20 (285/150)²");
}

#[test]
fn parts_used_last_come_first_and_a_stud_is_no_layer() {
    let mut bench = equipped();
    let session = bench.begun();
    bench.kept(session, Purpose::Test, &["LD-2", "ST-1", "FF-1", "BS-1"], "246");
    let page = bench.page(session);
    let names: Vec<_> = page.standing.unwrap().parts.into_iter().map(|part| part.name).collect();
    assert_eq!(names, ["BS-1", "FF-1", "LD-2", "ST-1"]);
    let run = bench.shelf.store().load::<Run>().unwrap().remove(0);
    assert_eq!(run.stud, Some(bench.revision("ST-1")));
    let lids = choose::choices(&bench.shelf, session, Some(PartKind::Lid), "").unwrap();
    assert_eq!(lids.parts.iter().map(|p| p.name.as_str()).collect::<Vec<_>>(), ["LD-2", "LD-1"]);
    assert_eq!((lids.before.len(), lids.before[0].tonight), (1, 1));
    let found = choose::choices(&bench.shelf, session, None, "ld").unwrap();
    assert_eq!(found.parts.len(), 2);
    let none = NewReading { parts: Vec::new(), ..bench.reading(session, Purpose::Test, &A, "246") };
    assert!(reading::keep(&mut bench.shelf, &none).is_err());
}

#[test]
fn a_closed_evening_takes_no_reading_until_it_is_opened_again() {
    let mut bench = equipped();
    let session = typed_in(&mut bench);
    evenings::close(&mut bench.shelf, session).unwrap();
    assert!(!bench.page(session).open);
    let new = bench.reading(session, Purpose::Test, &A, "250");
    assert!(reading::keep(&mut bench.shelf, &new).unwrap_err().message.contains("closed"));
    assert_eq!(
        evenings::list(&bench.shelf).unwrap()[0].closed.as_deref().map(|c| &c[..10]),
        Some("2025-11-20")
    );
    evenings::reopen(&mut bench.shelf, session).unwrap();
    reading::keep(&mut bench.shelf, &new).unwrap();
    let labels = bench.shelf.history(3).unwrap();
    assert!(labels.iter().any(|h| h.label.contains("open again")), "reopening is recorded");
}

#[test]
fn a_reading_keeps_its_air_when_the_evening_grows_warmer() {
    let mut bench = equipped();
    let session = bench.begun();
    bench.kept(session, Purpose::Baseline, &[], "277.4");
    let warmer = NewEvening { air_temperature: "78".into(), ..bench.new_evening("QL-1120") };
    evenings::change(&mut bench.shelf, session, &warmer).unwrap();
    bench.kept(session, Purpose::Baseline, &[], "277.0");
    let mut read: Vec<Reading> = bench.shelf.store().load().unwrap();
    read.sort_by(|a, b| a.clock.cmp(&b.clock));
    let told: Vec<_> = read.iter().map(|r| r.air_temperature.as_ref().unwrap().raw().unwrap()).collect();
    assert_eq!(told, ["71", "78"]);
}

#[test]
fn a_sweep_needs_its_pressures() {
    let mut bench = equipped();
    let session = bench.begun();
    let swept = NewReading { held: PressureAt::NotRead, ..bench.reading(session, Purpose::Sweep, &A, "180") };
    assert!(reading::keep(&mut bench.shelf, &swept).is_err());
    for (flow, at) in [("180", "10"), ("251", "20"), ("281", "25")] {
        let point = NewReading {
            held: PressureAt::At { text: at.into() },
            refitted: false,
            ..bench.reading(session, Purpose::Sweep, &A, flow)
        };
        reading::keep(&mut bench.shelf, &point).unwrap();
    }
    let compared = bench.shelf.compare(&asked(), System::Us).unwrap();
    assert_eq!(compared.sessions[0].sweeps[0].points, 3);
}

fn asked() -> CompareAsked<'static> {
    CompareAsked { session: Some("QL-1120"), ..CompareAsked::default() }
}

/// What a comparison says, without the ids of rows.
fn said(shelf: &Shelf) -> serde_json::Value {
    fn strip(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Object(fields) => {
                fields.remove("id");
                fields.values_mut().for_each(strip);
            }
            serde_json::Value::Array(rows) => rows.iter_mut().for_each(strip),
            _ => {}
        }
    }
    let mut json = serde_json::to_value(shelf.compare(&asked(), System::Us).unwrap()).unwrap();
    strip(&mut json);
    json
}

#[test]
fn an_evening_typed_in_compares_as_the_same_rows_imported() {
    let mut bench = equipped();
    let session = typed_in(&mut bench);
    evenings::close(&mut bench.shelf, session).unwrap();
    let mut sheet = String::from(
        "session,date,bench,range (CFM),item,purpose,order,base,filter,lid,restraint,service,refit,\
         set pressure (inH2O),actual pressure (inH2O),flow (CFM),air temperature (F),barometer (inHg),humidity (%),clock\n",
    );
    let mut runs: Vec<Run> = bench.shelf.store().load().unwrap();
    runs.sort_by_key(|run| run.order_number);
    for run in &runs {
        let read = bench.shelf.store().find_by::<Reading>("run", &Value::Id(run.id)).unwrap().remove(0);
        let purpose = run.purpose.unwrap();
        let (item, range) = match purpose {
            Purpose::FixtureLeakage => ("blanked", "2"),
            _ => ("CB-1", "300"),
        };
        let lid = bench.page(session).runs.iter().find(|r| r.id == run.id).unwrap().what.clone();
        let parts = match purpose {
            Purpose::Test => format!("BS-1,FF-1,{},fastened,oiled,yes", &lid[lid.len() - 4..]),
            _ => "bare,,,,,yes".into(),
        };
        let flow = read.flow.as_ref().unwrap().raw().unwrap();
        let clock = read.clock.as_deref().unwrap();
        sheet += &format!(
            "QL-1120,2025-11-20,Old Blue,{range},{item},{},{},{parts},20,20,{flow},71,29.2,45,{clock}\n",
            purpose.name(),
            run.order_number.unwrap()
        );
    }
    let mut other = equipped();
    let file = FileIn { path: "evening.csv".into(), bytes: sheet.into_bytes() };
    let how = ImportAsked { write: true, mapping: None, conversions: false, system: System::Us };
    let report = other.shelf.import(vec![file], &how, &mut |_, _, _| true).unwrap();
    assert_eq!((report.files[0].runs, report.failed()), (runs.len(), false), "{report:?}");
    let (typed, imported) = (said(&bench.shelf), said(&other.shelf));
    assert!(typed["sessions"][0]["groups"][0]["pairs"][0]["sentence"].is_string(), "{typed}");
    assert_eq!(typed, imported);
}
