//! The sample sheets: tables, rows, runs, page values, and importing twice.

use super::*;
use airshelf_catalog::{BaselineKind, PartDimension, PartKind, Purpose, Restraint, Service, TableKind, ids};
use std::path::PathBuf;

pub(super) fn sample(name: &str) -> Vec<u8> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sheets/visible");
    std::fs::read(folder.join(name)).unwrap()
}

/// File, rows of data, runs, rows of parts, and for each table: header row, first and last row of data, kind.
type Expected = (&'static str, usize, usize, usize, &'static [(u32, u32, u32, TableKind)]);

pub(super) const SAMPLES: &[Expected] = {
    use TableKind::*;
    &[
        ("01-runs-april.csv", 43, 43, 0, &[(1, 2, 44, Runs)]),
        ("02-parts-shelf.csv", 16, 0, 16, &[(1, 2, 17, Parts)]),
        ("03-parts-second-box.csv", 18, 0, 18, &[(1, 3, 21, Parts)]),
        ("04-runs-may.csv", 68, 68, 0, &[(1, 2, 70, Runs)]),
        ("05-page-31.csv", 16, 16, 0, &[(8, 9, 24, Runs)]),
        ("06-metric-evening.csv", 30, 30, 0, &[(1, 2, 32, Runs)]),
        ("07-bench-log.tsv", 54, 54, 0, &[(2, 3, 57, Runs)]),
        (
            "08-season-book.xlsx",
            67,
            45,
            13,
            &[
                (4, 5, 17, Parts),
                (5, 6, 23, Runs),
                (5, 6, 19, Runs),
                (5, 6, 18, Runs),
                (2, 3, 7, Predictions),
                (2, 3, 6, Ratings),
            ],
        ),
        ("09-lid-evenings.ods", 29, 29, 0, &[(8, 9, 21, Runs), (8, 9, 24, Runs)]),
        ("10-lid-by-filter.csv", 6, 22, 0, &[(5, 6, 8, Matrix), (10, 11, 13, Matrix)]),
        ("11-winners.csv", 8, 8, 0, &[(3, 4, 11, Winners)]),
        ("12-old-export.txt", 29, 26, 0, &[(1, 2, 14, Runs), (17, 18, 30, Runs), (33, 34, 36, Ratings)]),
        ("13-may-again.csv", 20, 20, 0, &[(1, 2, 21, Runs)]),
        ("14-clean-september.csv", 31, 31, 0, &[(2, 3, 34, Runs)]),
        ("15-clean-notebook.xlsx", 13, 13, 0, &[(6, 7, 21, Runs)]),
        ("16-runs-november.csv", 32, 32, 0, &[(1, 2, 33, Runs)]),
    ]
};

/// Every sample, imported one after the other into one shelf.
pub(super) fn all() -> (Vec<Staged>, Known) {
    let mut known = Known::default();
    let staged = SAMPLES
        .iter()
        .map(|(name, ..)| {
            let (staged, _) = staged_with(name, &sample(name), &known, None);
            known.remember(&staged);
            staged
        })
        .collect();
    (staged, known)
}

#[test]
fn tables_rows_runs_and_parts_are_counted_as_they_stand() {
    let (all, _) = all();
    for ((name, rows, runs, parts, tables), staged) in SAMPLES.iter().zip(&all) {
        assert_eq!((staged.rows.read, staged.runs, staged.parts), (*rows, *runs, *parts), "{name}");
        let found: Vec<_> =
            staged.tables.iter().map(|t| (t.header_row, t.first_row, t.last_row, t.kind)).collect();
        assert_eq!(found, *tables, "{name}");
        assert!(staged.records.quarantined.is_empty(), "{name}: {:?}", staged.records.quarantined);
        assert_eq!(staged.rows.taken + staged.rows.already, *rows, "{name}");
    }
}

#[test]
fn importing_again_adds_nothing_and_another_copy_only_says_where_else() {
    let (_, known) = all();
    for (name, rows, ..) in SAMPLES {
        let (again, _) = staged_with(name, &sample(name), &known, None);
        assert!(again.records.is_empty(), "{name}");
        assert_eq!(again.rows.already, *rows, "{name}");
    }
    // The same rows in a file of other bytes.
    let mut copy = sample("16-runs-november.csv");
    copy.extend_from_slice(b"\n# copied\n");
    let (copied, _) = staged_with("copy.csv", &copy, &known, None);
    assert_eq!(copied.rows.already, 32);
    assert_eq!((copied.records.runs.len(), copied.records.also_at.len()), (0, 32));
}

#[test]
fn the_same_run_in_another_file_and_spelling_is_the_same_run() {
    let (all, _) = all();
    let may = &all[3].records;
    let again = &all[12].records;
    let also: Vec<_> = again.also_at.iter().map(|a| (a.row.unwrap(), a.record.unwrap())).collect();
    let held: Vec<_> = (45..=50).map(|row| run_at(may, row).id).collect();
    assert_eq!(also, (2..=7).zip(held).collect::<Vec<_>>());
    assert_eq!(again.runs.len(), 14);
}

#[test]
fn a_row_typed_twice_is_a_second_record() {
    let (all, _) = all();
    let may = &all[3].records;
    let (first, second) = (run_at(may, 6), run_at(may, 32));
    assert_eq!(
        (first.order_number, first.assembly, first.session),
        (second.order_number, second.assembly, second.session)
    );
    assert_ne!(first.id, second.id);
}

#[test]
fn a_page_holds_for_its_rows() {
    let (page, cells) = staged_with("05-page-31.csv", &sample("05-page-31.csv"), &Known::default(), None);
    let session = &page.records.sessions[0];
    assert_eq!((session.name.as_deref(), session.date.as_deref()), (Some("page 31"), Some("2024-06-15")));
    let si = |q: &Option<airshelf_catalog::Quantity>| q.as_ref().unwrap().si;
    assert!(near(si(&session.set_pressure), 4981.7782));
    assert!(near(si(&session.barometer), 99_255.061_59));
    assert!(near(si(&session.air_temperature), 296.483_333_333));
    assert!(near(si(&session.humidity), 0.52));
    assert!(near(si(&session.stated_baseline), 0.130_776_636_510_72));
    assert_eq!(session.stated_baseline_kind, Some(BaselineKind::Bare));
    has(&cells, 10, "Down, CFM", -0.007_173_601_140);
    let lost = run_at(&page.records, 12);
    assert_eq!(
        (lost.restraint, lost.service, lost.set_pressure.is_none()),
        (Some(Restraint::Lost), Some(Service::Oiled), true)
    );
    let reading = page.records.readings.iter().find(|r| r.run == Some(lost.id)).unwrap();
    assert_eq!(reading.clock.as_deref(), Some("19:02"));
    assert_eq!(page.records.benches[0].name.as_deref(), Some("shed bench"));
}

#[test]
fn ditto_marks_and_told_blanks_repeat_and_other_blanks_stay() {
    let (log, cells) = staged_with("07-bench-log.tsv", &sample("07-bench-log.tsv"), &Known::default(), None);
    let run = run_at(&log.records, 9);
    let above = run_at(&log.records, 8);
    assert_eq!(
        (run.assembly, run.restraint, run.service),
        (above.assembly, Some(Restraint::Fastened), Some(Service::New))
    );
    has(&cells, 9, "Set inH2O", 4981.7782);
    let reading =
        |row| log.records.readings.iter().find(|r| r.run == Some(run_at(&log.records, row).id)).unwrap();
    assert!(near(reading(9).barometer.as_ref().unwrap().si, 99_322.789_4));
    // A leakage row without its pressure has none.
    assert!(run_at(&log.records, 3).set_pressure.is_none());
    // What the log does not say repeats stays blank.
    let (metric, _) =
        staged_with("06-metric-evening.csv", &sample("06-metric-evening.csv"), &Known::default(), None);
    let blank =
        metric.records.readings.iter().find(|r| r.run == Some(run_at(&metric.records, 4).id)).unwrap();
    assert!(blank.air_temperature.is_none());
}

#[test]
fn baselines_say_what_they_consist_of_or_that_nobody_knows() {
    let kind = |name: &str, row: i64| {
        let (staged, _) = staged_with(name, &sample(name), &Known::default(), None);
        let at = staged
            .records
            .runs
            .iter()
            .filter(|r| r.row == Some(row))
            .find(|r| r.purpose == Some(Purpose::Baseline));
        at.unwrap().baseline_kind.unwrap()
    };
    assert_eq!(kind("01-runs-april.csv", 4), BaselineKind::Bare);
    assert_eq!(kind("04-runs-may.csv", 63), BaselineKind::Unknown);
    assert_eq!(kind("05-page-31.csv", 9), BaselineKind::Bare);
    assert_eq!(kind("06-metric-evening.csv", 3), BaselineKind::Bare);
    assert_eq!(kind("09-lid-evenings.ods", 14), BaselineKind::Unknown);
}

#[test]
fn grids_give_each_cell_its_assembly_and_its_own_pressure() {
    let (grid, cells) =
        staged_with("10-lid-by-filter.csv", &sample("10-lid-by-filter.csv"), &Known::default(), None);
    let session = &grid.records.sessions[0];
    assert_eq!(
        (session.unordered, session.restraint, session.readings_each),
        (Some(true), Some(Restraint::Fastened), Some(3))
    );
    assert_eq!(session.service_note.as_deref(), Some("paper new, foam oiled"));
    has(&cells, 8, "M-paper 10x2.25", 0.006_890_432_670);
    let own = grid.records.runs.iter().find(|r| r.row == Some(8) && r.column == Some(1)).unwrap();
    assert!(near(own.set_pressure.as_ref().unwrap().si, 12.0 * 249.088_91));
    // A typed zero is kept as zero.
    has(&cells, 7, "M-paper 11x3", 0.0);
    let flat = ids::first_revision(ids::named_part(PartKind::Base, "flat"));
    let dropped = ids::first_revision(ids::named_part(PartKind::Base, "dropped"));
    for (row, base) in [(6, flat), (11, dropped)] {
        let run = grid.records.runs.iter().find(|r| r.row == Some(row)).unwrap();
        let assembly = grid.records.assemblies.iter().find(|a| Some(a.id) == run.assembly).unwrap();
        let layers = ids::unpack_layers(assembly.layers.as_deref().unwrap()).unwrap();
        assert_eq!((layers.len(), layers[0].revision), (3, base));
    }
}

#[test]
fn parts_keep_their_fractions_units_and_the_register() {
    let (box_two, cells) =
        staged_with("03-parts-second-box.csv", &sample("03-parts-second-box.csv"), &Known::default(), None);
    has(&cells, 3, "ID (in)", 0.219_075);
    has(&cells, 5, "height (in)", 0.074_612_5);
    has(&cells, 12, "height (in)", 0.057);
    has(&cells, 5, "pleat depth (in)", 0.034_925);
    assert_eq!(box_two.records.parts[0].price.as_ref().unwrap().amount, 22.0);
    let (shelf, _) =
        staged_with("02-parts-shelf.csv", &sample("02-parts-shelf.csv"), &Known::default(), None);
    let flange = ids::first_revision(ids::named_part(PartKind::Carburetor, "C2-1"));
    let measured: Vec<_> = shelf.records.measurements.iter().filter(|m| m.revision == Some(flange)).collect();
    assert_eq!((measured.len(), measured[0].dimension), (1, Some(PartDimension::Register)));
    let stack = shelf.records.parts.iter().find(|p| p.tag.as_deref() == Some("VS-1")).unwrap();
    assert_eq!(stack.kind, Some(PartKind::VelocityStack));
}

#[test]
fn a_dimension_said_in_every_row_is_kept_once_and_a_differing_one_at_its_row() {
    let (metric, _) =
        staged_with("06-metric-evening.csv", &sample("06-metric-evening.csv"), &Known::default(), None);
    let tall = ids::first_revision(ids::named_part(PartKind::Filter, "PF-2"));
    let heights: Vec<_> = metric
        .records
        .measurements
        .iter()
        .filter(|m| m.revision == Some(tall))
        .map(|m| (m.row.unwrap(), m.value.as_ref().unwrap().si))
        .collect();
    assert_eq!(heights, [(5, 0.076), (10, 0.003)]);
}

#[test]
fn guesses_find_the_session_that_their_title_names() {
    let (book, _) =
        staged_with("08-season-book.xlsx", &sample("08-season-book.xlsx"), &Known::default(), None);
    let august = book.records.sessions.iter().find(|s| s.name.as_deref() == Some("10 August")).unwrap();
    assert!(
        book.records
            .predictions
            .iter()
            .all(|p| p.session == Some(august.id) && p.assembly.is_some() && p.loss.is_some())
    );
    assert_eq!(book.records.predictions[3].written.as_deref(), Some("2024-08-10T23:40"));
    let item = ids::first_revision(ids::named_part(PartKind::Carburetor, "C2-1"));
    assert_eq!(august.item, Some(item));
}

#[test]
fn raw_rows_are_kept_with_their_numbers() {
    let (april, _) = staged_with("01-runs-april.csv", &sample("01-runs-april.csv"), &Known::default(), None);
    let rows = &april.records.sheet_rows[0];
    let unpacked =
        airshelf_intake::stage::unpack_rows(rows.first_row.unwrap(), rows.packed.as_deref().unwrap())
            .unwrap();
    assert_eq!(unpacked.len(), 43);
    assert_eq!(unpacked[0].0, 2);
    assert!(unpacked[0].1.starts_with("QL-0413,2024-04-13,shed bench,2,blanked"));
}
