//! Sheets of other shops: other words, units, marks, orders and wordings of the same kinds.

use super::*;
use airshelf_catalog::{BaselineKind, PartKind, Purpose, Restraint, Service, TableKind, ids};

#[test]
fn metric_page_with_decimal_commas_and_many_ditto_marks() {
    let (sheet, cells) = staged(
        "\"Shop: Elm Row Garage\";;;;\n\"Datum\";\"2024-03-04\";\"Pressure\";\"5 kPa\"\n\"Room: 21,5 °C; 1.008,2 hPa; 47 % RH\";;;;\n\
         Nr;Kind of run;Air cleaner;Cover;Pan;How fastened;Cond.;Depression set [mbar];Depression read [mbar];Airflow [m³/h];Time\n\
         1;bare baseline;;;;;;50;50,1;472,3;19.05\n\
         2;Test;KF-1;TP-2;-;wing nut;as new;50;49,9;455,1;19.12\n\
         3;Test;〃;-\"-;do;ditto;″;″;50,0;455,9;19.20\n\
         # Pause\n\
         4;Test;KF-2;TP-2;PN-1;by hand;cleaned;50;50,2;449;19.31\n\
         ;mean of the three;;;;;;;;453,3;\n\
         5;bare baseline;;;;;;50;50,0;471,8;19.40\nEnde\n",
    );
    assert_eq!((sheet.rows.read, sheet.rows.taken, sheet.runs), (5, 5, 5));
    assert_eq!(
        fields(&sheet.tables[0]),
        [
            "order",
            "purpose",
            "filter",
            "lid",
            "base",
            "restraint",
            "service",
            "set_pressure",
            "actual_pressure",
            "flow",
            "clock"
        ]
    );
    assert_eq!(sheet.tables[0].decimal, Some(','));
    has(&cells, 6, "Airflow [m³/h]", 455.1 / 3600.0);
    has(&cells, 7, "Depression set [mbar]", 5000.0);
    let (second, third) = (run_at(&sheet.records, 6), run_at(&sheet.records, 7));
    assert_eq!(
        (second.assembly, second.restraint, second.service),
        (third.assembly, third.restraint, third.service)
    );
    assert_eq!(run_at(&sheet.records, 9).service, Some(Service::Washed));
    assert_eq!(run_at(&sheet.records, 5).baseline_kind, Some(BaselineKind::Bare));
    assert!(near(page_si(&sheet.tables[0], "barometer").unwrap(), 100_820.0));
}

#[test]
fn piped_page_with_values_behind_words() {
    let (sheet, cells) = staged(
        "Ridge Lane Flow Room|||\nEvening of 7 March 2024|||\nAll at 28\" of water|Range: 400 CFM|Baro 29.92|Temp 71\n\
         Baseline with flat base 301.2 CFM\n|||\n\
         Order|Kind|Cleaner|Cover|Bottom|Secured by|Oil?|Vac. held (\"H2O)|Reading CFM|Lost CFM|%Lost|Pos|Scribbles\n\
         1|base run||||||28.0|301.5||||\n2|t|A-1|T-1|P-1|nut|new|28.1|290.2|11.0|3.7|2|\n\
         3|t|A-2|T-1|P-1|tape|oiled|27.9|295.0|6.2|2.1|1|beats A-1 by 4.8\n\
         4|t|A-1|T-2|P-1|loose|new|28.0|n/a|||\n5|base run||||||28.0|300.9||||\n",
    );
    assert_eq!((sheet.runs, sheet.rows.taken, sheet.rows.quarantined), (5, 4, 1));
    let table = &sheet.tables[0];
    for (field, si) in [
        ("set_pressure", 28.0 * 249.088_91),
        ("range", 0.188_778_977_280),
        ("barometer", 29.92 * 3_386.388_64),
        ("air_temperature", 294.816_666_666_7),
    ] {
        assert!(near(page_si(table, field).unwrap(), si), "{field}");
    }
    assert_eq!(sheet.records.sessions[0].stated_baseline_kind, Some(BaselineKind::WithBase));
    has(&cells, 8, "%Lost", 0.037);
    assert_eq!(run_at(&sheet.records, 9).restraint, Some(Restraint::Taped));
    let claim = sheet.records.claims.iter().find(|c| c.run == Some(run_at(&sheet.records, 9).id)).unwrap();
    assert_eq!(claim.place, Some(1));
    assert_eq!(sheet.records.quarantined[0].row, Some(10));
}

#[test]
fn parts_in_millimeters_by_their_title() {
    let (sheet, cells) = staged(
        "Shelf list, sizes in mm unless marked\n\
         Part no.;What kind;Description;Made by;Paid;Came in;Outer dia;Inner dia;Overall height;No. of pleats;Pleat deep;Carb opening;Weight (g);Where\n\
         E-1;element;paper tall;Greywick;€ 24,50;03/04/2024;279;218;76,2;210;24;;412;bin 3\n\
         E-2;element;foam;Greywick;31,-;21/05/2024;241;190;3.5\";;;;300;bin 3\n\
         P-1;pan;flat;;;;292;;3;;;77,8;;\n",
    );
    assert_eq!((sheet.parts, sheet.records.quarantined.len()), (3, 0));
    has(&cells, 3, "Outer dia", 0.279);
    has(&cells, 3, "Overall height", 0.0762);
    has(&cells, 4, "Overall height", 0.0889);
    has(&cells, 3, "No. of pleats", 210.0);
    has(&cells, 5, "Carb opening", 0.0778);
    let first = &sheet.records.parts[0];
    assert_eq!((first.kind, first.arrived.as_deref()), (Some(PartKind::Filter), Some("2024-04-03")));
    let price = first.price.as_ref().unwrap();
    assert_eq!((price.amount, price.currency.as_str()), (24.5, "EUR"));
}

#[test]
fn a_grid_of_flows_turned_the_other_way() {
    let (sheet, cells) = staged(
        "\"Elements down, covers across. Flow in L/s at 2.5 kPa, 23 C 1004 hPa 51 %RH\"\n\"all taped, 2 pulls each; date 2023-11-05\"\npan: PN-2\n\
         ,solid,vented,open\nA 10x2,120.3,121.9,nt\nB 11x3,124.8,-,127.1\nC foam,123.3,125.0,126.2 at 2.0 kPa\n",
    );
    assert_eq!((sheet.rows.read, sheet.runs), (3, 7));
    assert_eq!((sheet.tables[0].kind, sheet.records.readings.len()), (TableKind::Matrix, 7));
    has(&cells, 7, "open", 0.1262);
    has(&cells, 7, "open", 2000.0);
    let session = &sheet.records.sessions[0];
    assert_eq!(
        (session.restraint, session.readings_each, session.date.as_deref()),
        (Some(Restraint::Taped), Some(2), Some("2023-11-05"))
    );
    let kinds = |kind| sheet.records.parts.iter().filter(|p| p.kind == Some(kind)).count();
    assert_eq!((kinds(PartKind::Lid), kinds(PartKind::Filter), kinds(PartKind::Base)), (3, 3, 1));
}

#[test]
fn a_list_from_best_to_worst_numbers_places() {
    let (sheet, _) = staged(
        "Final ranking after the winter\nbare carb flowed 277 CFM at 20 inH2O\n#\tCombo\tDown (CFM)\tHeld with\tPulls\tComment\n\
         1\tA-2 + vented + dropped\t4.1\tstud\t3\t\n2\tA-1 + vented + dropped\t5.5\tmasking tape\t3\t\n3\tA-1 + solid + flat\t7.7\tstud\t1\t\n",
    );
    assert_eq!(sheet.tables[0].kind, TableKind::Winners);
    let places: Vec<_> =
        sheet.records.claims.iter().map(|c| (c.place.unwrap(), c.readings.unwrap())).collect();
    assert_eq!(places, [(1, 3), (2, 3), (3, 1)]);
    let session = &sheet.records.sessions[0];
    assert_eq!((session.unordered, session.stated_baseline_kind), (Some(true), Some(BaselineKind::Bare)));
    assert!(sheet.records.runs.iter().all(|r| r.order_number.is_none() && r.purpose == Some(Purpose::Test)));
    // The same words make the same parts as a grid's labels do.
    let flat = ids::named_part(PartKind::Base, "flat");
    assert!(sheet.records.parts.iter().any(|p| p.id == flat));
}

#[test]
fn guesses_and_ratings_on_one_sheet() {
    let (sheet, cells) = staged(
        "bets before the 2024-03-07 evening; flow guesses\nBettor;Element;Lid;Flow guess (CFM);At least;At most;Put down\n\
         Ann;A-1;T-1;288;280;295;2024-03-06 21:00\nBo;A-2;T-1;291;285;297;03/07/2024 9:15 AM\n\n\
         Carb ratings\nModel;Advertised CFM;Measured at;Rank\nbig two-barrel;500;3.0\" Hg;1\nsmall four-barrel;390;1.5\" Hg;2\n",
    );
    let kinds: Vec<_> = sheet.tables.iter().map(|t| t.kind).collect();
    assert_eq!(kinds, [TableKind::Predictions, TableKind::Ratings]);
    assert_eq!(sheet.runs, 0);
    let second = &sheet.records.predictions[1];
    assert_eq!(second.written.as_deref(), Some("2024-03-07T09:15"));
    assert!(near(second.flow.as_ref().unwrap().si, 291.0 * 0.000_471_947_443_2));
    has(&cells, 8, "Measured at", 3.0 * 3_386.388_64);
    has(&cells, 4, "At most", 297.0 * 0.000_471_947_443_2);
}

#[test]
fn two_pages_below_each_other_keep_their_own_conditions() {
    let (sheet, _) = staged(
        "Date,2024-05-01,,\nDepression,25 inH2O,,\nAir,70 F,Barometer,29.5 inHg\nRun,What,Filter,Flow\n1,baseline,,280\n2,test,F1,270\n\n\
         Date,2024-05-08,,\nDepression,10 inH2O,,\nAir,75 F,Barometer,29.6 inHg\nRun,What,Filter,Flow\n1,baseline,,180\n2,test,F1,170\n",
    );
    assert_eq!((sheet.tables.len(), sheet.rows.read, sheet.records.quarantined.len()), (2, 4, 0));
    let sessions: Vec<_> = sheet
        .records
        .sessions
        .iter()
        .map(|s| (s.date.clone().unwrap(), (s.set_pressure.as_ref().unwrap().si / 249.088_91).round()))
        .collect();
    assert_eq!(sessions, [("2024-05-01".to_owned(), 25.0), ("2024-05-08".to_owned(), 10.0)]);
}

#[test]
fn a_line_of_units_below_the_headers() {
    let (sheet, cells) = staged(
        "Run;Purpose;Filter;Lid;Set;Actual;Flow;Air;Baro\n;;;;kPa;kPa;L/s;°C;hPa\n1;baseline;;;7;7,01;131,9;21;1004\n2;test;A;B;7;7,02;125,1;21;1004\n",
    );
    assert_eq!((sheet.rows.read, sheet.tables[0].first_row), (2, 3));
    has(&cells, 4, "Flow", 0.1251);
    has(&cells, 4, "Actual", 7020.0);
    has(&cells, 4, "Air", 294.15);
}

#[test]
fn units_below_part_the_columns_of_one_header_and_go_before_any_other() {
    let (sheet, cells) = staged(
        "Tin shed, range 500 CFM\nNo.;What;Suction;;Flow;Range;Cover;Air\n;;asked mmH2O;got mmH2O;l/min;l/min;;°C\n\
         1;rig leak, blanked;510;510;32;60;;18,0\n2;bare;510;508;8024;9000;;18,1\n3;test;510;509;7416;9000;V1;18,2\n",
    );
    assert_eq!(
        fields(&sheet.tables[0]),
        ["order", "purpose", "set_pressure", "actual_pressure", "flow", "range", "lid", "air_temperature"]
    );
    has(&cells, 4, "Flow", 32.0 / 60_000.0);
    has(&cells, 4, "Range", 60.0 / 60_000.0);
    has(&cells, 5, "Suction", 510.0 * 9.806_65);
    has(&cells, 5, "got mmH2O", 508.0 * 9.806_65);
    // A first row of data is no line of units.
    let (sheet, _) = staged("Run;Purpose;Held;Flow;Lid\nA;bare;5 kPa;131 L/s;\nB;test;5 kPa;125 L/s;V1\n");
    assert_eq!(sheet.rows.read, 2);
}

#[test]
fn all_lengths_of_a_list_stand_in_the_unit_that_its_title_or_its_largest_numbers_tell() {
    let list = "Mark;Which is;Outer dia;Inner dia;Height;Pleat depth;Media;Jottings\n\
        E1;element;280;220;57;25;4784;\nE2;element;300;220;60;25;6760;odd one\n\
        V1;cover;292;;8;;;\nV2;cover;292;;8;;;\nT1;tray;292;;3;;;\n";
    for title in ["", "Stock for the spring, everything in mm, media in cm²\n"] {
        let (sheet, cells) = staged(&format!("{title}{list}"));
        let row = if title.is_empty() { 2 } else { 3 };
        has(&cells, row, "Outer dia", 0.280);
        has(&cells, row, "Height", 0.057);
        has(&cells, row, "Pleat depth", 0.025);
        has(&cells, row, "Media", 0.4784);
        has(&cells, row + 2, "Height", 0.008);
        assert_eq!(
            fields(&sheet.tables[0])[1..],
            ["kind", "OD", "ID", "height", "pleat_depth", "media_area", "note"]
        );
    }
    // One number out of many decides nothing.
    let (_, cells) = staged(
        "Mark;Kind;OD;Height\nE1;element;11;2,25\nE2;element;279;3\nE3;element;14;3\nV1;lid;11,5;0,25\n",
    );
    has(&cells, 2, "Height", 2.25 * 0.0254);
}

#[test]
fn a_bare_carburettor_is_a_baseline_in_either_spelling() {
    let (sheet, _) = staged(
        "What every pair loses, in m³/h; 5000 Pa\nBare carburettor 480,2 before and 479,9 after\n\n\
         cover;stock paper;tall paper\nplain;40,3;36,4\ntall;37,7;33,7\n",
    );
    assert!(near(page_si(&sheet.tables[0], "stated_baseline").unwrap(), 480.2 / 3600.0));
    assert!(sheet.records.runs.iter().all(|r| r.baseline_kind != Some(BaselineKind::Unknown)));
}

#[test]
fn rated_flows_are_given_at_a_pressure() {
    let (sheet, cells) = staged(
        "Carburettor;CFM;given at;against the first CFM\nfour-choke;500;1,5 inHg;\ntwin-choke;410;3,0 inHg;-90\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["item", "flow", "rated_at", "against_first"]);
    has(&cells, 3, "given at", 3.0 * 3386.389);
}

#[test]
fn session_and_date_blanks_repeat_and_open_dates_are_marked() {
    let (sheet, _) = staged(
        "session,date,run,type,element,top,stack,flow_cfm,set_inH2O,airTemp_F,baro_inHg,RH_pct\nA,7/8/2024,1,baseline,,,,281.2,20,72,29.3,50\n\
         ,,2,test,E-1,T-1,VS-2,270.0,20,72,29.3,50\nB,7/9/2024,1,baseline,,,,281.0,20,72,,50\n",
    );
    assert_eq!(sheet.records.sessions.len(), 2);
    assert_eq!(run_at(&sheet.records, 3).session, run_at(&sheet.records, 2).session);
    let open: Vec<_> = sheet.tables[0]
        .page
        .iter()
        .filter(|p| p.field == "date_ambiguous")
        .map(|p| (p.row, p.raw.as_str()))
        .collect();
    assert_eq!(open, [(Some(2), "7/8/2024"), (Some(4), "7/9/2024")]);
    assert!(sheet.records.parts.iter().any(|p| p.kind == Some(PartKind::VelocityStack)));
    let last = sheet.records.readings.iter().find(|r| r.run == Some(run_at(&sheet.records, 4).id)).unwrap();
    assert!(last.barometer.is_none());
}

#[test]
fn three_columns_are_a_table_too() {
    let (sheet, _) = staged("filter,lid,CFM\nnone,none,277\nPF-1,LD-1,260.1\nPF-2,LD-1,263.3\n");
    assert_eq!(sheet.runs, 3);
    let first = run_at(&sheet.records, 2);
    assert_eq!((first.purpose, first.baseline_kind), (Some(Purpose::Baseline), Some(BaselineKind::Unknown)));
}

#[test]
fn a_cell_that_cannot_be_read_stands_aside_and_its_row_is_taken() {
    let (sheet, _) =
        staged("run,purpose,filter,held,CFM,Air F\n1,test,PF-1,somehow,260,warm\n2,test,PF-1,taped,261,72\n");
    assert_eq!((sheet.rows.taken, sheet.rows.quarantined), (2, 0));
    let aside: Vec<_> = sheet
        .records
        .quarantined
        .iter()
        .map(|q| (q.row.unwrap(), q.column.unwrap(), q.raw.clone().unwrap()))
        .collect();
    assert_eq!(aside, [(2, 3, "somehow".to_owned()), (2, 5, "warm".to_owned())]);
}

#[test]
fn a_run_past_midnight_stays_in_its_session() {
    let (sheet, _) = staged(
        "session,date,run,purpose,filter,CFM\nL,2024-05-01,1,baseline,,277\nL,2024-05-02,2,test,PF-1,260\nL,2024-06-02,1,test,PF-1,261\n",
    );
    assert_eq!(sheet.records.sessions.len(), 2);
    assert_eq!(run_at(&sheet.records, 3).date.as_deref(), Some("2024-05-02"));
}

#[test]
fn known_tags_and_aliases_lead_to_the_shelf_s_parts() {
    let (shelf, _) = staged("tag,kind,name,OD (in)\nPF-1,filter,paper,11\nVS-1,velocity stack,horn,\n");
    let mut known = Known::of(&shelf.records);
    let part = shelf.records.parts[0].id;
    let alias = airshelf_catalog::Alias {
        id: ids::Derived::new("alias").finish(),
        spelling: Some("the paper one".into()),
        part: Some(part),
    };
    known.add(&Records { aliases: vec![alias], ..Records::default() });
    let (runs, _) = staged_with(
        "r.csv",
        b"run,purpose,filter,spacer,CFM\n1,test,pf-1,VS-1,260\n2,test,The Paper One,VS-1,261\n",
        &known,
        None,
    );
    assert!(runs.records.parts.is_empty(), "{:?}", runs.records.parts);
    assert_eq!(run_at(&runs.records, 2).assembly, run_at(&runs.records, 3).assembly);
}

#[test]
fn a_title_names_the_carburetor_that_is_spelled_as_it_spells_it() {
    let shelf = "tag,kind,name,OD (in)\nTC2,carburetor,twin,3\nTC2.,carburetor,,3\n";
    let known = Known::of(&staged(shelf).0.records);
    for title in ["TC2", "TC2."] {
        let text = format!(
            "\"{title}, range 550 m³/h, 5000 Pa\"\nrun,purpose,lid,CFM\n1,test,L-1,260\n2,test,L-2,261\n"
        );
        let (runs, _) = staged_with("r.csv", text.as_bytes(), &known, None);
        let item = runs.tables[0].page.iter().find(|p| p.field == "item").map(|p| p.raw.as_str());
        assert_eq!(item, Some(title));
    }
}

#[test]
fn a_listed_part_is_never_overwritten() {
    let (first, _) = staged("tag,kind,name,price,OD (in)\nPF-1,filter,paper,20,11\n");
    let known = Known::of(&first.records);
    let (second, _) =
        staged_with("p.csv", b"tag,kind,name,price,OD (in)\nPF-1,filter,paper,25,10\n", &known, None);
    assert!(second.records.parts.is_empty());
    assert_eq!((second.records.also_at.len(), second.records.measurements.len()), (1, 1));
    assert!(second.records.quarantined[0].reason.as_deref().unwrap().contains("20"));
}

#[test]
fn a_mapping_says_what_headers_do_not() {
    let text = "Versuch;Wert;Teil;Druck\n1;131,9;PF-1;5,0\n2;125,1;PF-2;5,0\n";
    let mapping: Mapping = serde_json::from_str(
        r#"{"tables":[{"header_row":1,"decimal":",","session":"spring","page":{"date":"2024-03-01","barometer":"1004 hPa"},
            "columns":[{"header":"Versuch","field":"order"},{"header":"Wert","field":"flow","unit":"L/s"},
                       {"column":2,"field":"filter"},{"header":"Druck","field":"set_pressure","unit":"kPa"}]}]}"#,
    )
    .unwrap();
    let (sheet, cells) = staged_with("v.csv", text.as_bytes(), &Known::default(), Some(&mapping));
    assert_eq!(sheet.runs, 2);
    has(&cells, 2, "Wert", 0.1319);
    has(&cells, 3, "Druck", 5000.0);
    let session = &sheet.records.sessions[0];
    assert_eq!((session.name.as_deref(), session.date.as_deref()), (Some("spring"), Some("2024-03-01")));
    assert!(near(session.barometer.as_ref().unwrap().si, 100_400.0));
    let (without, _) = staged_with("v.csv", text.as_bytes(), &Known::default(), None);
    assert!(without.tables.is_empty());
}

#[test]
fn pages_of_losses_only_keep_their_losses_and_what_they_are_against() {
    let (percent, _) =
        staged("Evening of losses, bare baseline 277.9 CFM\nFilter,Loss %\nPF-1,4.2\nPF-2,3.1\n");
    let losses: Vec<_> =
        percent.records.claims.iter().map(|c| c.stated_loss_percent.as_ref().unwrap().si).collect();
    assert!(near(losses[0], 0.042) && near(losses[1], 0.031), "{losses:?}");
    assert_eq!(percent.records.sessions[0].stated_baseline_kind, Some(BaselineKind::Bare));

    let canonical = |header: &str| {
        staged(&format!(
            "session,date,purpose,order,base,filter,lid,set pressure (inH2O),flow (CFM),{header},stated loss (CFM)\n\
             S,2024-05-11,test,1,,PF-1,LD-1,20,,277.9,12.4\nS,2024-05-11,test,2,,PF-2,LD-1,20,,277.9,9.4\n"
        ))
        .0
    };
    let said = canonical("stated baseline bare (CFM)");
    assert_eq!((said.records.claims.len(), said.records.readings.len()), (2, 0));
    assert_eq!(said.records.sessions[0].stated_baseline_kind, Some(BaselineKind::Bare));
    assert!(said.records.sessions[0].stated_baseline.is_some());
    let silent = canonical("stated baseline (CFM)");
    assert_eq!(silent.records.claims.len(), 2);
    assert_eq!(silent.records.sessions[0].stated_baseline, None);
}

#[test]
fn a_column_of_stacks_is_no_purpose_whatever_it_is_called() {
    let (sheet, _) =
        staged("What,Loss CFM\nPF-1 / LD-1,12.4\nPF-2 / LD-1,9.4\nfoam 10x3 / dropped base,7.7\n");
    assert_eq!(fields(&sheet.tables[0]), ["assembly", "stated_loss"]);
    assert!(sheet.records.quarantined.is_empty());
    assert!(sheet.records.runs.iter().all(|r| r.purpose == Some(Purpose::Test) && r.assembly.is_some()));
    let (sheet, _) = staged("What,CFM\nbaseline,277.4\ntest,260.1\nbaseline,277.1\n");
    assert_eq!(fields(&sheet.tables[0]), ["purpose", "flow"]);
}

#[test]
fn headers_alone_and_ten_thousand_columns() {
    let (empty, _) = staged("run,purpose,filter,lid,CFM\n");
    assert_eq!((empty.tables.len(), empty.rowless.as_slice()), (0, &[(None, 1)][..]));
    let extra: String = (0..10_000).map(|i| format!(",extra {i}")).collect();
    let cells = ",x".repeat(10_000);
    let (wide, _) = staged(&format!(
        "session,run,purpose,filter,lid,held,CFM{extra}\nS,1,test,PF-1,LD-1,taped,260{cells}\nS,2,test,PF-2,LD-1,taped,261{cells}\n"
    ));
    assert_eq!((wide.runs, wide.rowless.len()), (2, 0));
}

#[test]
fn dates_take_the_page_s_year_and_spaces_part_thousands() {
    let (sheet, cells) = staged(
        "Bench log 2024;;;;\nDay;Run;Filter;L/s;Baro (hPa)\nSat May 11;1;PF-1;125,1;1 013,25\n12th May;2;PF-1;125,4;1 013,5 hPa\nsoon;3;PF-1;125,2;998,1\n",
    );
    let dates: Vec<_> = sheet.records.sessions.iter().map(|s| s.date.as_deref()).collect();
    assert_eq!(dates[0], Some("2024-05-11"));
    has(&cells, 3, "Baro (hPa)", 101_325.0);
    has(&cells, 4, "Baro (hPa)", 101_350.0);
    assert_eq!(sheet.rows.cells, 1);
    let (counted, _) = staged("date,run,filter,CFM\n45423,1,PF-1,260\n45423,2,PF-1,261\n");
    assert_eq!(counted.records.sessions[0].date.as_deref(), Some("2024-05-11"));
}
