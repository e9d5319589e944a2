//! Sheets that speak in short words of their own and say elsewhere what these mean.

use super::*;
use airshelf_catalog::{Direction, PartKind, Purpose, Restraint, Service, TableKind};

#[test]
fn a_key_below_the_table_explains_its_cells_and_its_headers() {
    let (sheet, _) = staged(
        "WET WEEKEND\n\nNo;Dy;Kind;CFM;Tray;Cover;Element;Fx;Wy\n1;07MAR2021;NK;240.2;;;;;S\n2;07MAR2021;GO;226.1;T1;C1;E1;TS;S\n\
         3;07MAR2021;GO;226.4;T1;C1;E1;PM;B\n4;07MAR2021;NK;240.0;;;;;S\n\n4 rows\n\
         Dy = date, Fx = fixing, Wy = direction. NK = naked carb\nTS = thumbscrew run down. PM = palm of a hand. S = sucks, B = blows, GO = test\n",
    );
    let names = fields(&sheet.tables[0]);
    assert_eq!((names[1], names[7], names[8]), ("date", "restraint", "direction"));
    let (bare, second, third) =
        (run_at(&sheet.records, 4), run_at(&sheet.records, 5), run_at(&sheet.records, 6));
    assert_eq!((bare.purpose, second.purpose), (Some(Purpose::Baseline), Some(Purpose::Test)));
    assert_eq!(
        (second.restraint, second.direction, third.restraint, third.direction),
        (
            Some(Restraint::Fastened),
            Some(Direction::Intake),
            Some(Restraint::HandHeld),
            Some(Direction::Exhaust)
        )
    );
    assert_eq!(sheet.records.sessions[0].date.as_deref(), Some("2021-03-07"));
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
}

#[test]
fn a_tilde_repeats_the_cell_above_it() {
    let (sheet, _) = staged(
        "No\tKind\tElement\tCover\tHeld\tState\tSet inH2O\tFlow CFM\n1\tbare\t\t\t\t\t20\t240.1\n\
         2\ttest\tE1\tC1\tstrap\tunused\t~\t226.0\n3\t~\t~\t~\t~\t~\t~\t226.3\n",
    );
    let (one, other) = (run_at(&sheet.records, 3), run_at(&sheet.records, 4));
    assert_eq!(
        (other.assembly, other.purpose, other.restraint, other.service),
        (one.assembly, one.purpose, one.restraint, one.service)
    );
    assert_eq!((other.restraint, other.service), (Some(Restraint::Fastened), Some(Service::New)));
    assert!(near(other.set_pressure.as_ref().unwrap().si, 20.0 * 249.08891));
}

#[test]
fn a_second_line_of_headers_names_what_the_first_leaves_open() {
    let (sheet, _) = staged(
        "Go,Did what,Element,,Cover,Came through,Cost\n,,,state,,CFM,CFM\n1,bare,,,,240.1,\n2,test,E1,unused,C1,226.0,14.1\n3,test,E2,oiled,C1,228.0,12.1\n",
    );
    assert_eq!(fields(&sheet.tables[0])[3], "service");
    assert_eq!(sheet.runs, 3);
    assert_eq!(run_at(&sheet.records, 4).service, Some(Service::New));
}

#[test]
fn the_air_has_a_way_a_warmth_and_a_dampness() {
    let (sheet, _) = staged(
        "No,Kind,Air,Element,Flow CFM,\"Air, deg F\",\"Air, % RH\"\n1,bare,pulls,,240.1,60,51\n2,test,pulls,E1,226.0,60,50\n3,test,pushes,E1,227.0,60,50\n4,bare,pulls,,240.0,60,50\n",
    );
    let names = fields(&sheet.tables[0]);
    assert_eq!((names[2], names[5], names[6]), ("direction", "air_temperature", "humidity"));
    assert_eq!(run_at(&sheet.records, 4).direction, Some(Direction::Exhaust));
}

#[test]
fn an_id_beside_an_inside_diameter_is_a_tag() {
    for text in [
        "I.D.,It's a,OD,ID,High,Dust\nQ1,element,11,9,3,unknown\nQ2,cover,11,,0.5,--\n",
        "I.D.,Kind,Across,Inner across,High,Dust\nQ1,element,11,9,3,unknown\nQ2,cover,11,,0.5,-\n",
    ] {
        let (sheet, _) = staged(text);
        let names = fields(&sheet.tables[0]);
        assert_eq!((names[0], names[1], names[3]), ("tag", "kind", "ID"), "{text}");
        let part = |tag: &str| sheet.records.parts.iter().find(|p| p.tag.as_deref() == Some(tag)).unwrap();
        assert_eq!((part("Q1").kind, part("Q2").kind), (Some(PartKind::Filter), Some(PartKind::Lid)));
        // A stroke is no claim.
        assert_eq!(part("Q1").filtration.as_deref(), Some("unknown"));
        assert_eq!(part("Q2").filtration, None);
    }
}

#[test]
fn a_grid_whose_rows_have_two_names_has_both_in_every_run() {
    let (sheet, cells) = staged(
        "every tray with every cover, loss in CFM\nMay 4, 2021; 12 inH2O; thumbscrew on every one\n\nTray,Cover,old paper,new gauze\n\
         low,plain,21.0,18.5\n,vented,16.2,n/t\ndeep,plain,19.4,0\n,vented,,12.2 @ 8 inH2O\n",
    );
    let table = &sheet.tables[0];
    assert_eq!((table.kind, table.rows, sheet.runs), (TableKind::Matrix, 4, 6));
    has(&cells, 6, "old paper", 16.2 * 0.028_316_846_592 / 60.0);
    let of = |kind: PartKind| sheet.records.parts.iter().filter(|p| p.kind == Some(kind)).count();
    assert_eq!((of(PartKind::Base), of(PartKind::Lid), of(PartKind::Filter)), (2, 2, 2));
    let stacks: std::collections::HashSet<_> = sheet.records.runs.iter().map(|r| r.assembly).collect();
    assert_eq!(stacks.len(), 6);
}

#[test]
fn a_printout_in_columns_is_read_like_any_sheet() {
    let (sheet, cells) = staged(
        "\
QUARRY LOOP SHED     carb K2     u = unused   w = washed

Eve  Day          No  Kind  Tray  Element  State  Set inH2O  Flow CFM  Lost CFM
A    Mar 03 2021   1  bare                              12     240.1
A    Mar 03 2021   2  test  T1    E1       u            12     226.0      14.1
A    Mar 03 2021  10  test  T1    E2       w            12     228.5      11.6

rated by others
Carb          CFM  at inHg
two-barrel    390  3.0
four-barrel   500  1.5
",
    );
    assert_eq!(sheet.tables.len(), 2);
    assert_eq!((sheet.tables[0].rows, sheet.tables[1].rows, sheet.runs), (3, 2, 3));
    assert_eq!(sheet.tables[1].kind, TableKind::Ratings);
    has(&cells, 6, "Lost CFM", 11.6 * 0.028_316_846_592 / 60.0);
    let run = run_at(&sheet.records, 6);
    assert_eq!((run.order_number, run.service), (Some(10), Some(Service::Washed)));
    assert_eq!(sheet.records.sessions[0].date.as_deref(), Some("2021-03-03"));
}
