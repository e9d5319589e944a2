//! Columns that only units, numbers or the columns beside them explain, and parts and titles that the shelf explains.

use super::*;
use airshelf_catalog::{BaselineKind, PartDimension, PartKind, Purpose, ids};

fn header_fields(text: &str) -> Vec<String> {
    let (sheet, _) = staged(text);
    fields(&sheet.tables[0]).into_iter().map(str::to_owned).collect()
}

#[test]
fn of_two_pressures_one_was_wanted_and_one_was_read() {
    for (header, expected) in [
        ("Aim, kPa;Seen, kPa", ["set_pressure", "actual_pressure"]),
        ("Got inH2O;Wanted inH2O", ["actual_pressure", "set_pressure"]),
        ("Depression (mbar);Target depression (mbar)", ["actual_pressure", "set_pressure"]),
        ("Set [mmH2O];Measured [mmH2O]", ["set_pressure", "actual_pressure"]),
        ("Column one, inH2O;Column two, inH2O", ["set_pressure", "actual_pressure"]),
    ] {
        let found = header_fields(&format!(
            "Run;Kind;Filter;{header};CFM\n1;baseline;;10;10.02;277\n2;test;A;10;9.97;260\n3;test;A;10;10.01;261\n"
        ));
        assert_eq!(&found[3..5], expected, "{header}");
    }
    // Words alike: the one that wanders was read.
    let found = header_fields(
        "Run,Kind,Filter,Water A (inH2O),Water B (inH2O),CFM\n1,baseline,,10.02,10,277\n2,test,A,9.97,10,260\n3,test,A,10.01,10,261\n",
    );
    assert_eq!(&found[3..5], ["actual_pressure", "set_pressure"]);
}

#[test]
fn flows_are_told_apart_by_their_sums_and_proportions() {
    // 250.0 · √(25/24.5) = 252.5, 240.0 · √(25/25.4) = 238.1, 245.0 · √(25/24.8) = 246.0, less leakage of 2.0 each.
    let found = header_fields(
        "Run,Kind,Element,Wanted inH2O,Shown inH2O,Gross CFM,Leak CFM,One CFM,Two CFM\n\
         1,baseline,,25,24.5,252.0,2.0,250.0,252.5\n2,test,A,25,25.4,242.0,2.0,240.0,238.1\n3,test,A,25,24.8,247.0,2.0,245.0,246.0\n",
    );
    assert_eq!(&found[5..], ["flow", "leakage", "net_flow", "flow_at_set_pressure"]);
    let found = header_fields(
        "Run;Kind;Element;Column X [L/s];Air factor;Column Y [L/s]\n1;baseline;;131.9;1.02;134.5\n2;test;A;125.1;1.02;127.6\n3;test;A;125.4;1.02;127.9\n",
    );
    assert_eq!(&found[3..], ["flow", "air_factor", "flow_at_reference_air"]);
    let found = header_fields(
        "Run,Kind,Element,Baseline CFM,Raw CFM,Column Z CFM\n1,baseline,,277,277,\n2,test,A,277,260.5,16.5\n3,test,A,277,261.2,15.8\n4,test,B,277,250,27\n",
    );
    assert_eq!(&found[3..], ["stated_baseline", "flow", "stated_loss"]);
    let found = header_fields(
        "Run,Kind,Element,Flow L/s,Against bare L/s\n1,baseline,,83,\n2,test,A,78,-5\n3,test,A,77.5,-5.5\n",
    );
    assert_eq!(&found[3..], ["flow", "stated_loss"]);
}

#[test]
fn a_flow_brought_to_a_pressure_that_its_header_tells() {
    let found = header_fields(
        "Run,Kind,Element,Set (inH2O),Read (inH2O),Gross (CFM),Net at 25 inH2O (CFM)\n1,baseline,,25,24.5,252,252.5\n2,test,A,25,25.4,242,238.1\n",
    );
    assert_eq!(&found[3..], ["set_pressure", "actual_pressure", "flow", "flow_at_set_pressure"]);
}

#[test]
fn a_fixture_leakage_read_in_the_gross_column_is_a_run() {
    let (sheet, cells) = staged(
        "No\tKind\tPlate\tCleaner\tCover\tSet inH2O\tGot inH2O\tGross CFM\tLeak CFM\tLess leak CFM\n\
         1\tfixture leakage\t\t\t\t25\t24.9\t1.4\t\t\n2\tzero run\tbare\t\t\t25\t24.97\t363.3\t1.4\t361.9\n3\ttest\tB1\tF2\tT1\t25\t25.0\t344.1\t1.4\t342.7\n",
    );
    assert_eq!((sheet.runs, sheet.rows.taken, sheet.records.quarantined.len()), (3, 3, 0));
    has(&cells, 2, "Gross CFM", 1.4 * 0.000_471_947_443_2);
    has(&cells, 3, "Got inH2O", 24.97 * 249.088_91);
    let bare = run_at(&sheet.records, 3);
    assert_eq!((bare.purpose, bare.baseline_kind), (Some(Purpose::Baseline), Some(BaselineKind::Bare)));
    assert!(
        sheet.records.parts.iter().any(|p| p.tag.as_deref() == Some("B1") && p.kind == Some(PartKind::Base))
    );
}

#[test]
fn many_words_say_that_a_baseline_is_bare() {
    for (purpose, base) in [
        ("baseline", "none (bare)"),
        ("reference", "without any base"),
        ("ref", "no pan"),
        ("baseline, carb alone", ""),
        ("zero run, nothing on", ""),
        ("without anything", ""),
        ("base line: naked", ""),
    ] {
        let (sheet, _) = staged(&format!(
            "Run;Kind;Pan;Filter;CFM\n1;{purpose};{base};;277\n2;test;P-1;F-1;260\n3;test;P-1;F-1;261\n"
        ));
        let run = run_at(&sheet.records, 2);
        assert_eq!(
            (run.purpose, run.baseline_kind, run.assembly),
            (Some(Purpose::Baseline), Some(BaselineKind::Bare), None),
            "{purpose}; {base}"
        );
    }
    let (sheet, _) =
        staged("Run;Kind;Pan;Filter;CFM\n1;no filter;;;277\n2;test;P-1;F-1;260\n3;test;P-1;F-1;261\n");
    assert_eq!(run_at(&sheet.records, 2).baseline_kind, Some(BaselineKind::Unknown));
}

#[test]
fn sizes_and_areas_are_known_by_how_they_are_written() {
    let (sheet, cells) = staged(
        "Run;Kind;Pan;Filter;Ø × height, mm;CFM\n1;baseline;bare;;;277\n2;test;P-1;F-1;203×83;260\n3;test;P-1;F-2;190×51;250\n",
    );
    has(&cells, 3, "Ø × height, mm", 0.083);
    let tall = ids::first_revision(ids::named_part(PartKind::Filter, "F-1"));
    let across = sheet
        .records
        .measurements
        .iter()
        .find(|m| m.revision == Some(tall) && m.dimension == Some(PartDimension::OutsideDiameter));
    assert!(near(across.unwrap().value.as_ref().unwrap().si, 0.203));
    let (_, cells) = staged(
        "Tag,Kind,What it is like,Paper (sq in),Rod length (in)\nF-1,filter,14x3,1248,\nF-2,filter,\"14 x 4\"\"\",\"1,640\",\nR-1,stud,,,8.5\n",
    );
    has(&cells, 2, "What it is like", 0.0762);
    has(&cells, 3, "Paper (sq in)", 1640.0 * 0.000_645_16);
    has(&cells, 4, "Rod length (in)", 0.2159);
}

#[test]
fn a_word_that_ends_like_a_unit_is_none() {
    let (sheet, _) = staged(
        "No.,Kind of run,Air cleaner,Shape it is in,CFM read\n1,baseline (bare),,,364.4\n2,test,G1,oiled,348.5\n3,test,F2,new,341.9\n",
    );
    assert_eq!(fields(&sheet.tables[0])[3..], ["service", "flow"]);
}

#[test]
fn a_test_is_a_number_or_a_kind_as_its_cells_say() {
    let numbered = header_fields("Test,Kind,Element,CFM\n1,baseline,,277\n2,test,A,260\n");
    assert_eq!(numbered[0], "order");
    let named = header_fields("Test,Element,Cover,CFM\nbaseline,,,277\nrun,A,T1,260\nrun,A,T2,262\n");
    assert_eq!(named[0], "purpose");
}

#[test]
fn a_page_tells_its_date_and_air_in_one_line_each() {
    let (sheet, _) = staged(
        "18 February 2025: loss in L/s at 10 inH2O\nAir,20.6 °C,995.9 hPa,45 %\nbare baseline 82.9 L/s\n\n\
         flat pan / lid against filter,paper 190x50,foam 200x80\nclosed,6.59,4.50\nbowl,6.24,4.61\n",
    );
    let session = &sheet.records.sessions[0];
    assert_eq!(session.date.as_deref(), Some("2025-02-18"));
    assert!(near(session.humidity.as_ref().unwrap().si, 0.45));
    let kinds = |kind| sheet.records.parts.iter().filter(|p| p.kind == Some(kind)).count();
    assert_eq!((kinds(PartKind::Base), kinds(PartKind::Lid), kinds(PartKind::Filter)), (1, 2, 2));
}

#[test]
fn a_title_may_name_a_carburetor_of_the_shelf() {
    let (shelf, _) = staged("tag,kind,name,OD (in)\nQX-4,carburetor,old four,5.125\n");
    let known = Known::of(&shelf.records);
    let (night, _) = staged_with(
        "n.csv",
        b"NIGHT OF August 12  QX-4; 400 CFM range,,,\nNo,Purpose,Element,CFM\n1,baseline,,365\n2,test,F1,338\n",
        &known,
        None,
    );
    let item = ids::first_revision(shelf.records.parts[0].id);
    assert_eq!(night.records.sessions[0].item, Some(item));
}

#[test]
fn a_name_and_the_word_for_its_kind_lead_to_the_same_part() {
    let (shelf, _) = staged("tag,kind,name,OD (in)\nT1,lid,solid lid,14.5\nF1,filter,low paper,14\n");
    let known = Known::of(&shelf.records);
    let (best, _) = staged_with(
        "best.csv",
        b"Best first\nRank,What was on,CFM lost\n1,F1 / solid lid,15.1\n2,low paper / Solid Lid,15.3\n3,F1 / domed lid,16.0\n",
        &known,
        None,
    );
    let tags: Vec<_> = best.records.parts.iter().map(|p| p.tag.clone().unwrap()).collect();
    assert_eq!(tags, ["domed"]);
    assert_eq!(best.records.runs[0].assembly, best.records.runs[1].assembly);
}

#[test]
fn a_part_that_runs_named_first_keeps_its_place_when_it_is_listed() {
    let (runs, _) = staged(
        "run,purpose,filter,lid,CFM\n1,test,low paper,closed lid,260\n2,test,low paper,closed lid,261\n",
    );
    let mut known = Known::of(&runs.records);
    let (shelf, _) = staged_with(
        "shelf.csv",
        b"tag,kind,name,OD (in)\nS1,filter,low paper,14\nS2,lid,closed lid,14.5\nS3,lid,closed lid,15\n",
        &known,
        None,
    );
    let completed = shelf.completed.iter().map(|c| c.row);
    let ids: Vec<_> = completed.chain(shelf.records.parts.iter().map(|p| p.id)).collect();
    let named = |kind, name| ids::named_part(kind, name);
    assert_eq!(
        ids,
        [
            named(PartKind::Filter, "low paper"),
            named(PartKind::Lid, "closed lid"),
            named(PartKind::Lid, "S3")
        ]
    );
    known.remember(&shelf);
    let (again, _) = staged_with(
        "more.csv",
        b"run,purpose,filter,CFM\n1,test,S1,262\n2,test,low paper,262.5\n",
        &known,
        None,
    );
    assert!(again.records.parts.is_empty());
    assert_eq!(run_at(&again.records, 2).assembly, run_at(&again.records, 3).assembly);
}

#[test]
fn a_name_that_begins_like_a_summary_is_a_row() {
    let (sheet, _) = staged(
        "Carb,Rated CFM,Rated at,Place\nspread bore,610,1.5 inHg,1\ntwo-barrel,500,3.0 inHg,2\nspread of both,110,,\n",
    );
    assert_eq!(sheet.records.ratings.len(), 2);
}

#[test]
fn a_header_may_tell_the_pressure_of_its_flow() {
    let (sheet, _) = staged(
        "Run,Base,Cleaner,Lid,Flow at 25 inH2O,Loss\n1,bare,,,363.5,\n2,B1,F1,T1,340.5,23.0\n3,B1,F2,T1,345.5,18.0\n",
    );
    assert_eq!(fields(&sheet.tables[0])[4..], ["flow", "stated_loss"]);
    assert_eq!(sheet.runs, 3);
    assert!(near(page_si(&sheet.tables[0], "set_pressure").unwrap(), 25.0 * 249.088_91));
}

#[test]
fn percent_columns_are_losses_or_the_humidity_of_the_day() {
    let found = header_fields(
        "Nr;Kind;Filter;Flow m3/h;Lost m3/h;Share (%);p (mbar);phi (%)\n1;baseline;;300,0;;;990,1;45\n2;test;A;280,0;20,0;6,7;990,0;45\n3;test;A;281,0;19,0;6,3;990,0;44\n",
    );
    assert_eq!(found[3..], ["flow", "stated_loss", "stated_loss_percent", "barometer", "humidity"]);
}

#[test]
fn words_without_their_vowels_and_baselines_named_on_the_page() {
    let (sheet, _) = staged(
        "Zero run;277.2 CFM (carb alone)\n\nTst;Knd;Fltr;Lid;CFM\n1;zero;;;277.1\n2;try;A;T;260\n3;try;A;T;261\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["order", "purpose", "filter", "lid", "flow"]);
    assert_eq!(run_at(&sheet.records, 4).baseline_kind, Some(BaselineKind::Bare));
    let (sheet, _) = staged(
        "all zero runs with nothing on\n\nRun;Kind;Filter;Lid;CFM\n1;zero run;;;277.1\n2;try;A;T;260\n3;try;A;T;261\n",
    );
    assert_eq!(run_at(&sheet.records, 4).baseline_kind, Some(BaselineKind::Bare));
}

#[test]
fn the_part_beside_filter_and_lid_is_the_base() {
    let (sheet, _) = staged(
        "Baselines: carb alone\nNr,Did,Cup,Air box filter,Cap,m3/h,Said by\n1,zero,,,,270.1,Ann\n2,element,P1,E1,C1,255.1,Ann\n3,element,P1,E2,C1,254.0,Bo\n4,zero,,,,270.3,Bo\n",
    );
    assert_eq!(fields(&sheet.tables[0])[2..6], ["base", "filter", "lid", "flow"]);
    assert_ne!(sheet.tables[0].columns[6].field.as_deref(), Some("base"));
    assert_eq!(run_at(&sheet.records, 3).baseline_kind, Some(BaselineKind::Bare));
}

#[test]
fn readings_of_a_bench_and_a_stack_of_none() {
    let (sheet, _) = staged(
        "pull,what,stack of parts,Set depression,True depression,Bench reading,Corrected reading\n1,ref,none,28,28.1,300.5,300.0\n2,combo,E1 + C1 + P1,28,27.8,281.2,282.2\n3,ref,none,28,28,300.1,300.1\n",
    );
    assert_eq!(
        fields(&sheet.tables[0])[2..],
        ["assembly", "set_pressure", "actual_pressure", "flow", "flow_at_set_pressure"]
    );
    assert_eq!(run_at(&sheet.records, 2).baseline_kind, Some(BaselineKind::Bare));
    let (sheet, _) = staged(
        "Ranking against the bare carb (277.5 CFM)\nBest,Combo,CFM given up,Percent,Runs\n1.,E1 foam | open lid | flat base,4.1,1.5 %,3\n2.,E2 paper | open lid | flat base,6.0,2.2 %,2\n",
    );
    assert_eq!(
        fields(&sheet.tables[0]),
        ["place", "assembly", "stated_loss", "stated_loss_percent", "readings"]
    );
}
