//! One evening says the same whether it is read alone or with the whole shelf.

use super::*;
use crate::ImportAsked;
use crate::import::FileIn;
use crate::shelf::CompareAsked;
use airshelf_store::native::Native;
use airshelf_units::System;
use std::sync::{Arc, OnceLock};

/// The demo with its old notebook on it, made once.
fn demo() -> Shelf {
    static FOLDER: OnceLock<tempfile::TempDir> = OnceLock::new();
    let folder = FOLDER.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let host = Arc::new(Native::new(folder.path().join("config")));
        let dir = folder.path().join("demo");
        let made = Shelf::make_demo(&dir, host.clone(), &mut |_, _, _| true).unwrap();
        let mut shelf = Shelf::open(&dir, host).unwrap();
        let files = made.old_records.into_iter().map(|(path, bytes)| FileIn { path, bytes }).collect();
        let asked = ImportAsked { write: true, mapping: None, conversions: false, system: System::Us };
        assert!(!shelf.import(files, &asked, &mut |_, _, _| true).unwrap().failed());
        folder
    });
    let host = Arc::new(Native::new(folder.path().join("config")));
    Shelf::open(&folder.path().join("demo"), host).unwrap()
}

fn list(shelf: &Shelf) -> EveningList {
    list::sessions(shelf, 0, 1000).unwrap()
}

#[test]
fn an_evening_read_alone_says_what_it_says_with_the_whole_shelf() {
    let shelf = demo();
    for line in list(&shelf).evenings {
        let id = line.id.to_string();
        let asked = CompareAsked { session: Some(&id), dont_care: Some("0.5%"), engine: None };
        let whole = shelf.compare(&asked, System::Us).unwrap();
        let question = open::Question { session: line.id, dont_care: Some("0.5"), engine: None };
        let alone = open::Opened::of(&shelf, &question, false).unwrap();
        let json = |report: &crate::report::SessionReport| serde_json::to_string(report).unwrap();
        assert_eq!(json(&alone.report), json(&whole.sessions[0]), "{}", line.name);
    }
}

#[test]
fn evenings_and_pages_are_listed_with_the_latest_first() {
    let shelf = demo();
    let all = list(&shelf);
    assert_eq!(all.total, all.evenings.len());
    assert!(all.evenings.iter().any(|e| e.page) && all.evenings.iter().any(|e| !e.page));
    assert!(all.evenings.windows(2).all(|two| two[0].date >= two[1].date));
    let second = list::sessions(&shelf, 1, 1).unwrap();
    assert_eq!(second.evenings[0].id, all.evenings[1].id);
    assert!(all.evenings.iter().any(|e| e.item.is_some() && e.held.contains("assemblies in")));
}

fn main_evening(shelf: &Shelf) -> Uuid {
    list(shelf).evenings.iter().find(|e| e.name == "QL-0517").unwrap().id
}

#[test]
fn every_assembly_has_its_loss_with_both_ends_and_every_pair_a_sentence_and_a_limit() {
    let shelf = demo();
    let session = main_evening(&shelf);
    let engine = shelf.store().load::<airshelf_catalog::Engine>().unwrap()[0].id;
    let said = evening::finding(&shelf, session, None, Some(engine)).unwrap();
    let group = &said.groups[0];
    assert_eq!(group.rows.len(), 8);
    assert_eq!(group.pairs.len(), 28);
    for row in &group.rows {
        let loss = row.loss.as_ref().unwrap();
        assert!(
            loss.low.as_ref().unwrap().si < loss.value.si && loss.value.si < loss.high.as_ref().unwrap().si
        );
        assert!((row.drawn.value - 100.0 * loss.value.si).abs() < 1e-9);
        assert!(row.flow.text.ends_with("CFM") && row.flow.other.as_ref().unwrap().ends_with("L/s"));
        assert!(row.engine.is_some());
    }
    for pair in &group.pairs {
        assert!(pair.sentence.contains("rpm"), "the engine's half: {}", pair.sentence);
        assert!(pair.drawn.as_ref().unwrap().limit > 0.0);
    }
    let pair = &group.pairs[3];
    let question = open::Question { session, dont_care: None, engine: Some(engine) };
    let again = evening::one_pair(&shelf, &question, 0, &pair.b, &pair.a).unwrap();
    assert_eq!(again.sentence, pair.sentence);
}

#[test]
fn a_pair_is_drawn_as_far_apart_as_its_rows_stand() {
    let shelf = demo();
    let said = evening::finding(&shelf, main_evening(&shelf), None, None).unwrap();
    let group = &said.groups[0];
    let at = |key: &str| group.rows.iter().find(|r| r.key == key).unwrap().drawn.value;
    for pair in &group.pairs {
        let drawn = pair.drawn.as_ref().unwrap().difference;
        assert!((drawn - (at(&pair.a) - at(&pair.b)).abs()).abs() < 0.02 * drawn + 1e-9, "{}", pair.sentence);
    }
}

#[test]
fn a_grid_names_what_was_run_and_its_cells_are_rows() {
    let shelf = demo();
    let said = evening::finding(&shelf, main_evening(&shelf), None, None).unwrap();
    let grid = said.groups[0].grid.as_ref().expect("two lids on two filters on two bases");
    let measured: Vec<_> = grid.cells.iter().filter(|c| c.state == "measured").collect();
    assert_eq!(measured.len(), 8);
    let in_all = grid.lids.len() * grid.filters.len() * grid.bases.len();
    assert_eq!(grid.cells.iter().any(|c| c.state == "next"), measured.len() < in_all);
    for cell in measured {
        let key = cell.key.as_ref().unwrap();
        let row = said.groups[0].rows.iter().find(|r| &r.key == key).unwrap();
        assert_eq!(cell.text, row.main.text);
    }
}

#[test]
fn a_half_filled_grid_names_the_next_run() {
    let shelf = demo();
    let found = list(&shelf).evenings.iter().any(|line| {
        let said = evening::finding(&shelf, line.id, None, None).unwrap();
        said.groups.iter().filter_map(|g| g.grid.as_ref()).any(|grid| grid.next.is_some())
    });
    assert!(found, "one of the evenings has an empty cell");
}

#[test]
fn an_engine_loses_more_air_the_faster_it_turns() {
    let shelf = demo();
    let engine = shelf.store().load::<airshelf_catalog::Engine>().unwrap()[0].id;
    let said = curves::engine(&shelf, main_evening(&shelf), engine).unwrap();
    let line = said.groups[0].lines.last().unwrap();
    assert!(line.points.len() > 4);
    assert!(line.points.windows(2).all(|two| two[0].x < two[1].x && two[0].y < two[1].y));
    assert!(line.points.iter().any(|p| p.said == "2,000 rpm"));
    assert!(said.cautions.iter().any(|c| c.to_lowercase().contains("puls")), "{:?}", said.cautions);
}

#[test]
fn a_sweep_is_drawn_as_read_and_as_fitted() {
    let shelf = demo();
    let plots: Vec<Plot> = list(&shelf)
        .evenings
        .iter()
        .filter_map(|line| evening::finding(&shelf, line.id, None, None).unwrap().sweeps)
        .collect();
    assert!(!plots.is_empty());
    for line in plots.iter().flat_map(|plot| &plot.lines) {
        assert!(line.points.windows(2).all(|two| two[0].x <= two[1].x));
        assert_eq!(line.id.ends_with("fitted"), line.points[0].low.is_some());
    }
}

#[test]
fn what_stands_behind_a_number_are_the_chains_of_its_runs() {
    let shelf = demo();
    let session = main_evening(&shelf);
    let said = evening::finding(&shelf, session, None, None).unwrap();
    let row = &said.groups[0].rows[0];
    let behind = behind::behind(&shelf, session, 0, Some(&row.key)).unwrap();
    assert_eq!(behind.what, row.label);
    assert!(behind.compared.iter().any(|link| link.name == "loss against the baseline"));
    assert_eq!(format!("{} fittings", behind.runs.len()), row.note);
    assert!(behind.runs.iter().all(|chain| chain.steps.len() > 2));
    let baseline = behind::behind(&shelf, session, 0, None).unwrap();
    assert!(baseline.runs.iter().all(|chain| chain.what.contains("baseline")));
    let chain = behind::explain(&shelf, &behind.runs[0].run.to_string()).unwrap();
    assert!(chain.steps.len() > behind.runs[0].steps.len(), "with the comparison's steps");
    assert!(chain.steps.iter().any(|s| s.value.text.ends_with("CFM")));
}

#[test]
fn best_and_worst_are_told_for_what_can_be_compared() {
    let shelf = demo();
    let said = list::gist(&shelf, main_evening(&shelf)).unwrap();
    assert!(said.sentences[0].starts_with("Best "), "{:?}", said.sentences);
}

#[test]
fn what_is_left_out_says_why_in_a_sentence() {
    let shelf = demo();
    let mut rows = Vec::new();
    for line in list(&shelf).evenings {
        rows.extend(evening::finding(&shelf, line.id, None, None).unwrap().left_out);
    }
    assert!(!rows.is_empty());
    assert!(rows.iter().all(|row| row.why.contains(' ') && row.why != row.rule));
}

#[test]
fn a_percentage_that_is_none_is_refused_in_words() {
    let shelf = demo();
    let fault = evening::finding(&shelf, main_evening(&shelf), Some("a lot"), None).unwrap_err();
    assert_eq!(fault.code, crate::code::Code::BadQuantity);
    assert!(!fault.message.contains("--"));
}
