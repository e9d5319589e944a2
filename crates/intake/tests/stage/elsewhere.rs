//! Other names for parts, units told once above a table, and other marks between cells.

use super::*;
use airshelf_catalog::{BaselineKind, PartKind, Purpose};

const CFM: f64 = 0.000_471_947_443_2;

#[test]
fn plates_and_packers_are_parts_like_any_other() {
    let (sheet, _) = staged(
        "tag,sort,name,diameter (mm),height (mm),bore (mm),maker,filtration\n\
         N1,cartridge,paper 180 x 40,180,40,-,-,--\nN2,faceplate,plain faceplate,200,5,-,Ibbot,-\n\
         N3,backplate,flat backplate,200,3,50,Ibbot,-\nN4,packer,packer 12,70,12,50,-,-\nN5,collar,short collar,70,8,50,-,-\n",
    );
    let kinds: Vec<_> = sheet.records.parts.iter().map(|p| p.kind.unwrap()).collect();
    assert_eq!(kinds, [PartKind::Filter, PartKind::Lid, PartKind::Base, PartKind::Spacer, PartKind::Spacer]);
    // A stroke is a blank.
    let first = &sheet.records.parts[0];
    assert_eq!((first.maker.as_deref(), first.filtration.as_deref()), (None, None));
}

#[test]
fn a_reference_names_the_session_and_a_column_of_purposes_the_purpose() {
    let (sheet, _) = staged(
        "Ref,Day,Seq,With,Cartridge,Backplate,Faceplate,Flow (L/s),Held (kPa)\n\
         K1,2023-02-03,1,blank,,,,0.4,3.0\nK1,2023-02-03,2,nothing on,,,,92.1,3.0\n\
         K1,2023-02-03,3,on,N1,N3,N2,88.0,3.0\nK2,2023-02-10,1,nothing on,,,,92.4,3.0\nK2,2023-02-10,2,on,N1,N3,N2,88.3,3.0\n",
    );
    let names: Vec<_> = sheet.records.sessions.iter().map(|s| s.name.clone().unwrap()).collect();
    assert_eq!(names, ["K1", "K2"]);
    let purposes: Vec<_> = sheet.records.runs.iter().map(|r| r.purpose.unwrap()).collect();
    let (base, test) = (Purpose::Baseline, Purpose::Test);
    assert_eq!(purposes, [Purpose::FixtureLeakage, base, test, base, test]);
    assert!(sheet.records.runs.iter().all(|r| r.refit.is_none()));
}

#[test]
fn cells_are_read_as_purposes_under_any_header_beside_parts() {
    let (sheet, _) = staged(
        "No,Fitted,Cartridge,Backplate,Faceplate,\"Flow, L/s\"\n1,\"carb alone, no cleaner\",,,,92.0\n\
         2,cleaner on,N1,N3,N2,88.0\n3,cleaner on,N1,N3,N2,88.1\n4,\"carb alone, no cleaner\",,,,92.1\n",
    );
    let purposes: Vec<_> = sheet.records.runs.iter().map(|r| r.purpose.unwrap()).collect();
    let (base, test) = (Purpose::Baseline, Purpose::Test);
    assert_eq!(purposes, [base, test, test, base]);
}

#[test]
fn a_title_tells_the_unit_of_pressures() {
    let (sheet, cells) = staged(
        "Two nights; pressure kPa, flow and scale L/s\n\n\
         No,Kind,Cartridge,Faceplate,Wanted,Held,Flow\n1,baseline,,,4,4.01,92.0\n2,test,N1,N2,4,3.99,88.0\n",
    );
    assert_eq!(sheet.runs, 2);
    has(&cells, 4, "Wanted", 4000.0);
    has(&cells, 5, "Held", 3990.0);
}

#[test]
fn a_line_of_units_may_have_an_inch_with_a_word() {
    let (_, cells) = staged(
        "No,Kind,Cartridge,,Lid,Range,Flow,Target\n,,,in tall,,CFM,CFM,in. w.c.\n\
         1,baseline,,,,250,203.7,12\n2,test,N1,1.97,N2,250,192.7,12\n3,test,N1,1.97,N2,250,192.9,12\n",
    );
    has(&cells, 4, "in tall", 1.97 * 0.0254);
    has(&cells, 4, "Range", 250.0 * CFM);
}

#[test]
fn what_a_meter_can_show_stands_beside_what_it_showed() {
    let (sheet, cells) =
        staged("m³/h;of m³/h;No;Kind;Cartridge;Lid\n347,1;396;1;baseline;;\n322,1;396;2;test;N1;N2\n");
    has(&cells, 2, "of m³/h", 0.11);
    assert!(near(sheet.records.bench_ranges[0].full_scale.as_ref().unwrap().si, 0.11));
}

#[test]
fn a_baseline_above_the_table_may_go_by_what_was_on() {
    let (sheet, _) = staged(
        "Air / barometer / damp,20 °C,1011 hPa,55 %,\n\"carb alone, no cleaner\",92.40 L/s,,,\n\n\
         No,Kind,Cartridge,Lid,\"Flow, L/s\"\n1,test,N1,N2,88.0\n2,test,N3,N2,88.1\n",
    );
    let session = &sheet.records.sessions[0];
    assert!(near(session.stated_baseline.as_ref().unwrap().si, 0.0924));
    assert_eq!(session.stated_baseline_kind, Some(BaselineKind::Bare));
    assert!(near(page_si(&sheet.tables[0], "humidity").unwrap(), 0.55));
}

#[test]
fn cells_may_be_parted_by_carets() {
    let (sheet, cells) = staged(
        "NO^KIND^CARTRIDGE^LID^WANTED kPa^FLOW L/s^NOTE\n1^baseline^^^3^96.3^\n2^test^N1^N2^3^89.9^warm, then cool\n",
    );
    assert_eq!(sheet.runs, 2);
    has(&cells, 3, "FLOW L/s", 0.0899);
}
