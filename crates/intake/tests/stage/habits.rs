//! Habits by which a sheet explains itself: keys within keys, titles, lines over a grid, names of a page.

use super::*;
use airshelf_catalog::{Direction, PartDimension, PartKind, Purpose, Restraint, Service, TableKind};

fn part<'s>(sheet: &'s Staged, tag: &str) -> &'s airshelf_catalog::Part {
    let named = |p: &&airshelf_catalog::Part| p.tag.as_deref() == Some(tag) || p.name.as_deref() == Some(tag);
    sheet.records.parts.iter().find(named).unwrap_or_else(|| panic!("no part {tag}"))
}

#[test]
fn a_key_explains_columns_with_their_units_and_words_within_words() {
    let (sheet, cells) = staged(
        "Barn, spring\n\"g = job: nk = naked (no parts), go = dressed, jp = jam plate leak, tf = throttle flaps leak\"\n\
         \"ty = tray, el = element, cn = its condition (fu = freshly unpacked), hd = held how (st = strap over)\"\n\
         \"v = flow, L/s; pa / pg = pull asked / got, mm of water; o = air, °C\"\n\n\
         no;g;ty;el;cn;hd;v;pa;pg;o\n1;jp;;;;;1.1;260;259.8;11\n2;tf;;;;;6.1;260;260.1;11\n3;nk;none;;;;132.2;260;260.4;11\n\
         4;go;Pan;Felt;fu;st;121.4;260;259.9;12\n5;nk;none;;;;132.0;260;260.0;12\n",
    );
    let table = &sheet.tables[0];
    assert_eq!(
        fields(table),
        [
            "order",
            "purpose",
            "base",
            "filter",
            "service",
            "restraint",
            "flow",
            "set_pressure",
            "actual_pressure",
            "air_temperature"
        ]
    );
    has(&cells, 10, "pa", 260.0 * 9.80665);
    has(&cells, 10, "pg", 259.9 * 9.80665);
    has(&cells, 10, "v", 0.1214);
    has(&cells, 10, "o", 285.15);
    let purposes: Vec<_> = (7..=11).map(|row| run_at(&sheet.records, row).purpose.unwrap()).collect();
    assert_eq!(
        purposes,
        [
            Purpose::FixtureLeakage,
            Purpose::ClosedThrottleLeakage,
            Purpose::Baseline,
            Purpose::Test,
            Purpose::Baseline
        ]
    );
    let run = run_at(&sheet.records, 10);
    assert_eq!((run.service, run.restraint), (Some(Service::New), Some(Restraint::Fastened)));
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
}

#[test]
fn what_explains_a_word_states_nothing_of_the_runs() {
    let (sheet, _) = staged(
        "bolt = the rod through it all, cap = what sits on top\nNo,Kind,Element,Cap,CFM\n1,bare,,,240\n2,test,E1,C1,226\n",
    );
    assert!(sheet.tables[0].page.iter().all(|p| p.field != "restraint"), "{:?}", sheet.tables[0].page);
}

#[test]
fn a_phrase_of_the_key_is_no_key_to_its_last_word() {
    let (sheet, _) = staged(
        "clean carb = the carb with nothing on it. lid leak = a plate over the hole\n\
         No,Kind,Tray,Element,CFM\n1,clean carb,none,,240\n2,lid leak,,,2.1\n3,test,T1,E1,226\n",
    );
    let purpose = |row| run_at(&sheet.records, row).purpose;
    assert_eq!(
        (purpose(3), purpose(4), purpose(5)),
        (Some(Purpose::Baseline), Some(Purpose::FixtureLeakage), Some(Purpose::Test))
    );
}

#[test]
fn titles_tell_the_kind_and_first_columns_the_tag() {
    let (sheet, _) = staged(
        "In the barn, cm\n\nROOFS\nHow we know it,It is,\"Across, cm (OD)\",Since\nHood,plain sheet,37,2014-03-02\nMoon,domed,37,2014-03-09\n\n\
         RISERS\nHow we know it,It is,\"Height, cm\",Since\nLoop,turned ring,2.5,2014-03-02\n\n\
         CARBURETTOR\nHow we know it,It is,\"What the pan sits on (register), cm\",Since\nTwin,two-barrel,7.6,2014-03-02\n",
    );
    let kinds: Vec<_> = ["Hood", "Moon", "Loop", "Twin"].iter().map(|tag| part(&sheet, tag).kind).collect();
    assert_eq!(
        kinds,
        [Some(PartKind::Lid), Some(PartKind::Lid), Some(PartKind::Spacer), Some(PartKind::Carburetor)]
    );
    assert_eq!(part(&sheet, "Moon").tag.as_deref(), Some("Moon"));
    let register = sheet.records.measurements.iter().find(|m| m.dimension == Some(PartDimension::Register));
    assert!(near(register.unwrap().value.as_ref().unwrap().si, 0.076));
}

#[test]
fn a_kind_may_have_the_word_that_columns_have_for_it() {
    let (sheet, _) = staged(
        "Mark,Sort,Across mm,High mm,Came\nM1,hat,290,6,2014-03-02\nM2,roof,290,6,2014-03-02\nM3,packer,,25,2014-03-02\n",
    );
    assert_eq!(
        (part(&sheet, "M1").kind, part(&sheet, "M2").kind, part(&sheet, "M3").kind),
        (Some(PartKind::Lid), Some(PartKind::Lid), Some(PartKind::Spacer))
    );
}

#[test]
fn a_page_may_name_the_part_that_all_its_runs_have() {
    let (sheet, _) = staged(
        "PAGE 7,Element: Felt,Condition: washed\n12 April 2014,at 25 inH2O\n\nNo,Kind,Tray,Lid,CFM\n1,bare,none,,240\n2,test,T1,L1,226\n3,bare,none,,240\n",
    );
    let assembly = run_at(&sheet.records, 6).assembly;
    let stack = sheet.records.assemblies.iter().find(|a| Some(a.id) == assembly).unwrap();
    assert_eq!(airshelf_catalog::ids::unpack_layers(stack.layers.as_deref().unwrap()).unwrap().len(), 3);
    assert_eq!(part(&sheet, "Felt").kind, Some(PartKind::Filter));
    assert_eq!(run_at(&sheet.records, 5).assembly, run_at(&sheet.records, 7).assembly);
}

#[test]
fn a_line_over_a_grid_parts_its_columns() {
    let (sheet, _) = staged(
        "\"CFM lost, mean of three\"\n\"25 inH2O, bare carb 240\"\n\ncovers across,Tray: low,,Tray: deep,\nElement,plain,vented,plain,vented\nFelt,20.1,15.2,17.3,12.1\nPaper,24.1,19.2,21.3,16.1\n",
    );
    let mut assemblies: Vec<_> = sheet.records.runs.iter().map(|r| r.assembly.unwrap()).collect();
    assemblies.sort_unstable();
    assemblies.dedup();
    assert_eq!((sheet.runs, assemblies.len()), (8, 8));
    let trays = sheet.records.parts.iter().filter(|p| p.kind == Some(PartKind::Base)).count();
    assert_eq!(trays, 2);
}

#[test]
fn a_label_its_number_and_its_unit_may_stand_in_three_cells() {
    let (sheet, _) = staged(
        "Pressure drop,25,in. H2O,Range,350,cfm\nAir,21,°C,Barometer,100.35,kPa,R.H.,55,%\n\nNo,Kind,Element,CFM\n1,bare,,240\n2,test,E1,226\n",
    );
    let table = &sheet.tables[0];
    for (field, si) in [
        ("humidity", 0.55),
        ("barometer", 100_350.0),
        ("air_temperature", 294.15),
        ("set_pressure", 25.0 * 249.08891),
    ] {
        assert!(near(page_si(table, field).unwrap(), si), "{field}");
        assert!(table.page.iter().all(|p| p.field != field || !p.assumed), "{field}");
    }
}

#[test]
fn words_of_a_direction_beat_a_header_that_half_names_a_bench() {
    let (sheet, _) = staged(
        "No,Kind,Air is moved on the bench by,Element,CFM\n1,bare,suction,,240\n2,test,suction,E1,226\n3,test,blowing,E1,227\n4,bare,suction,,240\n",
    );
    assert_eq!(fields(&sheet.tables[0])[2], "direction");
    assert_eq!(run_at(&sheet.records, 4).direction, Some(Direction::Exhaust));
}

#[test]
fn a_gauge_without_a_unit_stands_back_behind_the_pressure_with_one() {
    let (sheet, cells) = staged(
        "at 250 mm water\nNo,Kind,tilted gauge,Element,\"Pull got, mm water\",CFM\n1,bare,143.9,,250.3,240\n2,test,133.7,E1,250.8,226\n3,test,133.5,E1,249.8,226\n4,bare,143.7,,250.1,240\n",
    );
    assert_eq!(fields(&sheet.tables[0])[2..5], ["-", "filter", "actual_pressure"]);
    has(&cells, 4, "Pull got, mm water", 250.8 * 9.80665);
}

#[test]
fn numbers_that_fall_as_the_flow_climbs_are_places_and_sentences_are_remarks() {
    let (sheet, _) = staged(
        "No,Kind,Element,Lid,CFM,Tally,Beside\n1,bare,,,240,,\n2,test,E1,L1,226.1,3,\n3,test,E2,L1,230.2,1,beats the next one by 1.9\n4,test,E3,L1,220.4,4,\n5,test,E4,L1,228.3,2,\n6,bare,,,240,,\n",
    );
    assert_eq!(fields(&sheet.tables[0])[5..], ["place", "note"]);
}

#[test]
fn a_list_chalked_in_columns_may_have_commas_in_its_cells() {
    let text = "\
[off the door, the winter before]
bare was 310 cfm

Place  Pan, pack, top                Lost cfm  Held by       Pack was  Times
1      low, tall felt, drilled       11.3      wing nut      unused    3
2      low, 280x76 paper, drilled    13.4      wing nut      unused    3
3      low, tall felt, plain         15.3      by hand       oiled     3
4      deep, 280x76 paper, drilled   16.3      wing nut      unused    1
";
    let (sheet, cells) = staged_with("door.txt", text.as_bytes(), &Known::default(), None);
    assert_eq!((sheet.tables[0].kind, sheet.runs), (TableKind::Winners, 4));
    has(&cells, 7, "Lost cfm", 15.3 * 0.028316846592 / 60.0);
    assert_eq!(run_at(&sheet.records, 7).restraint, Some(Restraint::HandHeld));
    assert_eq!(fields(&sheet.tables[0])[1], "assembly");
    // The header tells the order of the parts in a cell.
    let kinds: Vec<_> = ["low", "tall felt", "drilled"].iter().map(|tag| part(&sheet, tag).kind).collect();
    assert_eq!(kinds, [Some(PartKind::Base), Some(PartKind::Filter), Some(PartKind::Lid)]);
}

#[test]
fn states_under_a_header_that_half_names_a_part_are_states() {
    let (sheet, _) = staged(
        "Rank,\"Pan, element, lid\",Lost CFM,Pack was,Times\n1,\"low, felt, vented\",11.2,oiled,3\n2,\"low, paper, vented\",12.9,unused,3\n3,\"deep, felt, plain\",14.1,oiled,3\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["place", "assembly", "stated_loss", "service", "readings"]);
    assert_eq!(run_at(&sheet.records, 3).service, Some(Service::New));
}

#[test]
fn labels_may_stand_over_their_values() {
    let (sheet, _) = staged(
        "SATURDAY\nDate,Carb,,Range,Pull,Air\n2021-05-08,K2,,350 CFM,25 inH2O,20 °C\n\nNo,Kind,Element,Lid,CFM\n1,bare,,,240\n2,test,E1,L1,226\n",
    );
    assert_eq!(sheet.tables.len(), 1, "{:?}", sheet.tables[0]);
    let entry = |field: &str| sheet.tables[0].page.iter().find(|p| p.field == field).unwrap();
    assert_eq!(entry("item").value.as_deref(), Some("K2"));
    assert_eq!(entry("date").value.as_deref(), Some("2021-05-08"));
    assert!(near(entry("range").si.unwrap(), 350.0 * 0.028316846592 / 60.0));
}

#[test]
fn two_dots_and_marks_that_the_page_explains_repeat_the_cell_above() {
    for (key, mark) in
        [("two dots = the same again", ".."), ("a dash = as above", "-"), ("// means ditto", "//")]
    {
        let (sheet, _) = staged(&format!(
            "{key}\nNo,Kind,Element,Lid,State,CFM\n1,test,E1,L1,unused,226\n2,{mark},{mark},L2,{mark},227\n3,{mark},{mark},{mark},{mark},227.5\n"
        ));
        let (one, other) = (run_at(&sheet.records, 4), run_at(&sheet.records, 5));
        assert_eq!((one.service, one.purpose), (Some(Service::New), Some(Purpose::Test)), "{key}");
        assert_eq!((one.assembly, one.service), (other.assembly, other.service), "{key}");
    }
}

#[test]
fn a_book_of_one_month_has_days_only_and_another_has_roman_months() {
    let days = |text: &str| {
        let (sheet, _) = staged(text);
        assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
        sheet.records.sessions.iter().map(|s| s.date.clone().unwrap()).collect::<Vec<_>>()
    };
    let book = "OCTOBER 2021\n\nDay,No,Kind,Element,CFM\n9,1,Datum (carburettor alone),,240\n,2,trial,E1,226\n16,1,datum,,240\n";
    assert_eq!(days(book), ["2021-10-09", "2021-10-16"]);
    assert_eq!(
        days("Date,No,Kind,Element,CFM\n5.iii.2021,1,datum,,240\n5.iii.2021,2,trial,E1,226\n"),
        ["2021-03-05"]
    );
}

#[test]
fn next_to_no_flow_under_an_unknown_word_is_no_baseline() {
    let (sheet, _) = staged(
        "No,Kind,Tray,Element,CFM\n1,wibble,,,1.2\n2,wobble,,,6.1\n3,bare,none,,240\n4,test,T1,E1,226\n5,test,T1,E1,226.3\n6,wubble,none,,240.2\n",
    );
    let purposes: Vec<_> = [2, 3, 7].map(|row| run_at(&sheet.records, row).purpose.unwrap()).into();
    assert_eq!(purposes, [Purpose::FixtureLeakage, Purpose::ClosedThrottleLeakage, Purpose::Baseline]);
}

#[test]
fn units_are_no_unit_under_test_and_a_sentence_ends_behind_a_tag() {
    let (sheet, _) = staged(
        "Units: flow in cfm, air in °F\n\nNo,Kind,Element,Flow,Air\n1,bare,,240,70\n2,test,E1,226,70\n",
    );
    assert!(sheet.tables[0].page.iter().all(|p| p.field != "item"), "{:?}", sheet.tables[0].page);
    let (sheet, _) =
        staged("\"Day book, carb KX-2. do. = ditto\"\n\nNo,Kind,Element,CFM\n1,bare,,240\n2,test,E1,226\n");
    let item = sheet.tables[0].page.iter().find(|p| p.field == "item").unwrap();
    assert_eq!(item.value.as_deref(), Some("KX-2"));
}

#[test]
fn two_capitals_of_the_shelf_name_a_carburetor_where_they_stand_apart() {
    let mut shelf = Records::default();
    for (name, text, item) in [
        ("a.csv", "Tag,Kind,Register (mm),Arrived\nZK,carburetor,76,2021-03-02\n", None),
        ("b.csv", "\"ZK, 350 cfm range\"\nNo,Kind,Element,CFM\n1,bare,,240\n2,test,E1,226\n", Some("ZK")),
        ("c.csv", "\"zk, 350 cfm range\"\nNo,Kind,Element,CFM\n1,bare,,240\n2,test,E1,226\n", None),
    ] {
        let (sheet, _) = staged_with(name, text.as_bytes(), &Known::of(&shelf), None);
        let found = sheet.tables[0].page.iter().find(|p| p.field == "item").and_then(|p| p.value.clone());
        assert_eq!(found.as_deref(), item, "{name}");
        shelf.append(sheet.records);
    }
}
