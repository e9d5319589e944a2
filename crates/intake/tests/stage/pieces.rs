//! Columns named in one piece, stamps of date and clock, and keys that explain them.

use super::{fields, has, near, page_si, run_at, staged, staged_with};
use airshelf_catalog::{BaselineKind, PartKind, Purpose, Records};
use airshelf_intake::stage::Known;

#[test]
fn names_in_one_piece_end_in_their_unit() {
    let (sheet, cells) = staged(
        "nr,kind,pan,element,hat,air_scale_l_s,air_l_s,pull_set_mm_h2o,pull_read_mm_h2o,glass_mm_hg\n\
         1,bare,none,,,50,43.1,250,250.4,751\n2,test,P1,E1,H1,50,40.2,250,249.1,751\n3,test,P1,E2,H1,50,40.9,250,250.2,751\n",
    );
    assert_eq!(
        fields(&sheet.tables[0]),
        [
            "order",
            "purpose",
            "base",
            "filter",
            "lid",
            "range",
            "flow",
            "set_pressure",
            "actual_pressure",
            "barometer"
        ]
    );
    has(&cells, 2, "air_scale_l_s", 0.05);
    has(&cells, 3, "air_l_s", 0.0402);
    has(&cells, 3, "pull_set_mm_h2o", 250.0 * 9.80665);
    has(&cells, 3, "glass_mm_hg", 751.0 * 133.322_387_4);
}

#[test]
fn what_is_out_and_in_beside_millimeters_are_diameters() {
    let (sheet, cells) = staged(
        "# KEY hi = how tall, snout = the ring that it slips over (register); hole = what slips over it\n\
         tag;type;out_mm;in_mm;hi_mm;snout_mm;cleaning\nE1;filter;180;140;60;;claimed\nE2;filter;170;130;70;;unknown\nV7;carburetor;;;;66;\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["tag", "kind", "OD", "ID", "height", "register", "filtration"]);
    has(&cells, 3, "out_mm", 0.18);
    has(&cells, 3, "in_mm", 0.14);
    has(&cells, 5, "snout_mm", 0.066);
}

#[test]
fn a_key_may_explain_several_columns_at_once() {
    let (sheet, _) = staged(
        "# KEY w, v, up = outer diameter, inner diameter, height; x = name\ntag;type;w_mm;v_mm;up_mm\nE1;filter;180;140;60\nE2;filter;170;130;70\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["tag", "kind", "OD", "ID", "height"]);
}

#[test]
fn a_stamp_says_what_day_a_short_date_means() {
    let (sheet, _) = staged(
        "nr,day_id,stamp,kind,pan,element,flow_l_s\n1,21-03-07,2021-03-07 10:12,bare,none,,43\n2,21-03-07,2021-03-07 10:19,test,P1,E1,40\n3,21-03-09,2021-03-09 09:00,bare,none,,43.1\n",
    );
    let days: Vec<_> =
        sheet.records.sessions.iter().map(|s| (s.name.clone().unwrap(), s.date.clone().unwrap())).collect();
    assert_eq!(days, [("21-03-07".into(), "2021-03-07".into()), ("21-03-09".into(), "2021-03-09".into())]);
    let clocks: Vec<_> = sheet.records.readings.iter().filter_map(|r| r.clock.clone()).collect();
    assert_eq!(clocks, ["10:12", "10:19", "09:00"]);
}

#[test]
fn two_digits_in_front_that_stay_while_the_last_change_are_the_year() {
    let days = |text: &str| {
        let (sheet, _) = staged(text);
        sheet.records.sessions.iter().map(|s| s.date.clone().unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(
        days(
            "date,nr,kind,element,CFM\n21-05-16,1,bare,,240\n21-05-16,2,test,E1,226\n21-06-03,1,bare,,240\n"
        ),
        ["2021-05-16", "2021-06-03"]
    );
    assert_eq!(
        days(
            "date,nr,kind,element,CFM\n16-05-21,1,bare,,240\n16-05-21,2,test,E1,226\n13-06-21,1,bare,,240\n"
        ),
        ["2021-05-16", "2021-06-13"]
    );
}

#[test]
fn a_code_for_the_baseline_says_that_the_pan_is_off() {
    for (key, kind) in [
        ("E = empty carburettor (pan also off)", BaselineKind::Bare),
        ("EMPTY = carburettor with nothing on it, no pan", BaselineKind::Bare),
        ("E = empty carburettor", BaselineKind::Unknown),
    ] {
        let code = key.split(' ').next().unwrap();
        let (sheet, _) = staged(&format!(
            "\"# KEY kind: {key}, M = measured with the cleaner on\"\nnr,kind,pan,element,CFM\n1,{code},,,240\n2,M,P1,E1,226\n3,{code},,,240.1\n"
        ));
        let run = run_at(&sheet.records, 3);
        assert_eq!((run.purpose, run.baseline_kind), (Some(Purpose::Baseline), Some(kind)), "{key}");
        assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
    }
}

#[test]
fn one_stack_at_several_pressures_in_a_row_is_a_sweep() {
    for (word, last) in [("wibble", Purpose::Sweep), ("test", Purpose::Sweep)] {
        let (sheet, _) = staged(&format!(
            "No,Kind,Pan,Element,Set inH2O,CFM\n1,bare,none,,18,240\n2,test,P1,E1,18,226\n3,test,P1,E2,18,227\n4,{word},P1,E3,14,200\n5,{word},P1,E3,10,170\n6,{word},P1,E3,20,239\n7,bare,none,,18,240\n"
        ));
        let purposes: Vec<_> = [3, 4, 5, 7].map(|row| run_at(&sheet.records, row).purpose.unwrap()).into();
        assert_eq!(purposes, [Purpose::Test, Purpose::Test, last, last], "{word}");
    }
    // Two are no sweep: one was read at another pressure.
    let (sheet, _) = staged(
        "No,Kind,Pan,Element,Set inH2O,CFM\n1,bare,none,,18,240\n2,test,P1,E1,18,226\n3,test,P1,E1,10,170\n4,test,P1,E2,18,227\n",
    );
    assert_eq!(run_at(&sheet.records, 4).purpose, Some(Purpose::Test));
}

#[test]
fn a_line_of_a_page_with_numbers_in_it_heads_no_table() {
    let (sheet, _) = staged(
        "\"April 16, 2021\"\nCarb K-2,Full scale 300 CFM,Pull 10 in. WC\nAir 68 F,29.2 in. Hg,41 % RH\n\nNo,Kind,Pan,Element,CFM\n1,bare,none,,240\n2,test,P1,E1,226\n",
    );
    assert_eq!(sheet.tables.len(), 1, "{:?}", sheet.tables);
    assert!(near(page_si(&sheet.tables[0], "set_pressure").unwrap(), 2490.8891));
    assert!(near(page_si(&sheet.tables[0], "humidity").unwrap(), 0.41));
}

#[test]
fn the_bracket_behind_a_unit_tells_where_a_baseline_is_from() {
    let (sheet, cells) = staged(
        "NIGHT,TRY,KIND,PAN,ELEMENT,AIR CFM,CONTROL CFM (FROM N1),LOSS CFM\nN2,1,BARE,none,,240,235,\nN2,2,TEST,P1,E1,226,235,9\nN2,3,TEST,P1,E2,225,235,10\n",
    );
    assert_eq!(fields(&sheet.tables[0])[5..], ["flow", "stated_baseline", "stated_loss"]);
    has(&cells, 3, "CONTROL CFM (FROM N1)", 235.0 * 0.028_316_846_592 / 60.0);
    let (sheet, _) = staged(
        "What counts?\n\"bare of last Sunday taken, it was 235 CFM\"\n\nNo,Kind,Pan,Element,CFM,Loss CFM\n1,bare,none,,240,\n2,test,P1,E1,226,9\n",
    );
    assert!(near(page_si(&sheet.tables[0], "stated_baseline").unwrap(), 235.0 * 0.028_316_846_592 / 60.0));
}

#[test]
fn rated_flows_stand_against_one_that_is_named() {
    let (sheet, _) = staged(
        "Carb,Air CFM,Rated at in. Hg,Against the van's CFM\nsmall two-barrel,330,1.5,\nlarge four-barrel,480,3,+150\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["item", "flow", "rated_at", "against_first"]);
}

#[test]
fn a_kind_is_known_by_one_of_its_words_and_a_part_by_its_name_with_a_size() {
    let (parts, _) = staged(
        "Tag,Type,Description,OD (in)\nR1,raiser block,square edge,5\nE1,element,paper 12 x 2.5,12\nE2,element,paper 12 x 3.5,12\nH1,lid,\"lid, shut\",12\nH2,lid,lid with holes,12\n",
    );
    let kind = |tag: &str| parts.records.parts.iter().find(|p| p.tag.as_deref() == Some(tag)).unwrap();
    assert_eq!(kind("R1").kind, Some(PartKind::Spacer));
    let mut shelf = Records::default();
    let known: Vec<_> = parts.records.parts.iter().map(|p| p.id).collect();
    shelf.append(parts.records);
    let (grid, _) = staged_with(
        "grid.csv",
        "Losses, CFM\n18 in. WC, range 300 CFM\nbare carb 240 CFM\n\nlid \\ element,paper 12x2.5,paper 12x3.5\nshut,23,21\nholes,20,18\n".as_bytes(),
        &Known::of(&shelf),
        None,
    );
    let new: Vec<_> =
        grid.records.parts.iter().filter(|p| !known.contains(&p.id)).map(|p| p.tag.clone()).collect();
    assert_eq!((grid.runs, new), (4, vec![Some("shut".to_owned()), Some("holes".to_owned())]));
}

#[test]
fn the_number_that_begins_again_each_day_is_the_order() {
    let (sheet, _) = staged(
        "id,stamp,nr,kind,pan,element,CFM\n1001,2021-03-07 10:12,1,bare,none,,240\n1002,2021-03-07 10:19,2,test,P1,E1,226\n1003,2021-03-09 10:12,1,bare,none,,240\n1004,2021-03-09 10:12,2,test,P1,E1,226\n",
    );
    let orders: Vec<_> = sheet.records.runs.iter().filter_map(|run| run.order_number).collect();
    assert_eq!(orders, [1, 2, 1, 2]);
}
