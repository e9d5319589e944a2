//! The order of files does not matter: what an earlier one left blank, a later one completes.

use super::samples::sample;
use super::*;
use airshelf_catalog::Part;
use airshelf_intake::stage::complete;

/// Imports files one after the other, as a shelf keeps them.
fn shelf_of(files: &[(&str, &[u8])]) -> Records {
    let mut shelf = Records::default();
    for (name, bytes) in files {
        let (staged, _) = staged_with(name, bytes, &Known::of(&shelf), None);
        shelf.append(staged.records);
        complete(&mut shelf, &staged.completed).unwrap();
    }
    shelf
}

fn shelf(names: &[&str]) -> Records {
    let files: Vec<(&str, Vec<u8>)> = names.iter().map(|n| (*n, sample(n))).collect();
    shelf_of(&files.iter().map(|(n, b)| (*n, b.as_slice())).collect::<Vec<_>>())
}

fn part<'r>(records: &'r Records, tag: &str) -> &'r Part {
    let mut found = records.parts.iter().filter(|p| p.tag.as_deref() == Some(tag));
    let part = found.next().unwrap();
    assert!(found.next().is_none(), "{tag} stands once");
    part
}

#[test]
fn a_part_that_a_run_named_first_is_completed_by_its_sheet() {
    let runs_first = shelf(&["01-runs-april.csv", "02-parts-shelf.csv"]);
    let parts_first = shelf(&["02-parts-shelf.csv", "01-runs-april.csv"]);
    for listed in &parts_first.parts {
        let tag = listed.tag.as_deref().unwrap();
        assert_eq!(part(&runs_first, tag), listed);
    }
    let paper = part(&runs_first, "PF-1");
    assert_eq!(paper.maker.as_deref(), Some("Marlstone Paper"));
    assert_eq!(paper.price.as_ref().map(|p| p.amount), Some(24.5));
    assert_eq!((paper.arrived.as_deref(), paper.only_named), (Some("2024-02-10"), None));
}

#[test]
fn files_of_one_import_complete_one_another_through_what_is_known() {
    let mut known = Known::default();
    let (first, _) = staged_with("runs.csv", &sample("01-runs-april.csv"), &known, None);
    known.remember(&first);
    let (second, _) = staged_with("parts.csv", &sample("02-parts-shelf.csv"), &known, None);
    assert!(!second.completed.is_empty());
    assert_eq!(second.rows.taken, second.rows.read);
    known.remember(&second);
    let copy = [sample("02-parts-shelf.csv"), b"\n".to_vec()].concat();
    let (third, _) = staged_with("again.csv", &copy, &known, None);
    assert!(third.completed.is_empty(), "{:?}", third.completed);
    assert_eq!(third.rows.already, third.rows.read);
}

#[test]
fn a_part_typed_by_hand_keeps_what_it_has_and_gets_what_it_lacks() {
    let by_hand = "tag,kind,name,maker,price\nPF-9,filter,,Own Make,20\n";
    let sheet = "tag,kind,name,maker,price,note\nPF-9,filter,paper tall,Other Make,20,found in May\n";
    let shelf = shelf_of(&[("a.csv", by_hand.as_bytes())]);
    let (staged, _) = staged_with("b.csv", sheet.as_bytes(), &Known::of(&shelf), None);
    let shelf = shelf_of(&[("a.csv", by_hand.as_bytes()), ("b.csv", sheet.as_bytes())]);
    let held = part(&shelf, "PF-9");
    assert_eq!(
        (held.name.as_deref(), held.maker.as_deref(), held.note.as_deref()),
        (Some("paper tall"), Some("Own Make"), Some("found in May"))
    );
    let aside = &staged.records.quarantined[..];
    assert_eq!(aside.len(), 1);
    assert_eq!((aside[0].raw.as_deref(), aside[0].column), (Some("Other Make"), Some(3)));
}

#[test]
fn runs_are_the_same_whichever_file_comes_first() {
    let other = shelf(&["02-parts-shelf.csv", "13-may-again.csv", "04-runs-may.csv"]);
    let usual = shelf(&["02-parts-shelf.csv", "04-runs-may.csv", "13-may-again.csv"]);
    assert_eq!(other.runs.len(), usual.runs.len());
    for run in &usual.runs {
        let same = other.runs.iter().find(|r| r.id == run.id).unwrap();
        assert_eq!((same.item, same.range), (run.item, run.range), "row {:?}", run.row);
    }
    for session in &usual.sessions {
        let same = other.sessions.iter().find(|s| s.id == session.id).unwrap();
        assert_eq!(same.bench, session.bench);
    }
}

#[test]
fn a_state_or_restraint_that_one_file_leaves_out_makes_no_second_run() {
    let full = "session,date,order,purpose,filter,lid,restraint,service,actual pressure (inH2O),flow (CFM)\n\
        QL-1,2024-05-11,1,baseline,,,,,20.01,278.5\nQL-1,2024-05-11,2,test,PF-1,LD-2,fastened,new,20.03,265.1\n";
    let bare = "session,date,order,purpose,filter,lid,actual pressure (inH2O),flow (CFM)\n\
        QL-1,2024-05-11,1,baseline,,,20.01,278.5\nQL-1,2024-05-11,2,test,PF-1,LD-2,20.03,265.1\n";
    let ways = [("a.csv", full), ("b.csv", bare)];
    for ways in [ways, [ways[1], ways[0]]] {
        let shelf = shelf_of(&ways.map(|(n, t)| (n, t.as_bytes())));
        assert_eq!(shelf.runs.len(), 2);
        let run = &shelf.runs[1];
        assert_eq!(run.service.map(|s| s.name()), Some("new"));
        assert_eq!(run.restraint.map(|s| s.name()), Some("fastened"));
    }
}

#[test]
fn what_is_set_aside_is_counted_as_it_is_listed() {
    for text in [
        "run,purpose,filter,held,CFM,Air F\n1,test,PF-1,somehow,260,warm\n2,test,PF-1,taped,n/a,72\n",
        "date,run,purpose,filter,CFM\nlast week,1,test,PF-1,260\nlast week,2,test,PF-1,261\n",
        "lid \\ filter,PF-1,PF-2\nLD-1,10.1,12..x\nLD-2,9..,8..1\n",
        "tag,kind,price\nPF-1,filter,a swap\n,filter,3\n",
    ] {
        let (sheet, _) = staged(text);
        let whole = sheet.records.quarantined.iter().filter(|q| q.column.is_none()).count();
        let rows = sheet.rows;
        assert!(!sheet.records.quarantined.is_empty(), "{text}");
        assert_eq!(
            (rows.quarantined, rows.cells),
            (whole, sheet.records.quarantined.len() - whole),
            "{text}: {:?}",
            sheet.records.quarantined
        );
        assert_eq!(rows.read, rows.taken + rows.already + rows.quarantined, "{text}");
    }
}
