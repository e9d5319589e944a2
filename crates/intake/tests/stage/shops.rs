//! Habits of other shops: pages, lists and grids that leave things to the reader.

use super::*;
use airshelf_catalog::{BaselineKind, PartKind, Purpose, Restraint, Service, TableKind};

#[test]
fn a_title_parts_its_day_its_carburetor_and_its_range() {
    let (sheet, _) = staged(
        "13 JULY 2024 - carburetor K2 - range 560 m3/h\nAir;25 °C;Pressure of the air;993 hPa\nReference (naked);472,1 m3/h\n\
         No.;Kind;Element;Lid;Held;Condition;Set mbar;Flow m3/h\n1;reference;;;;;50;473,1\n2;measurement;F1;D1;screw;just washed;50;438,1\n",
    );
    let table = &sheet.tables[0];
    assert!(near(page_si(table, "range").unwrap(), 560.0 / 3600.0));
    assert!(near(page_si(table, "barometer").unwrap(), 99_300.0));
    let session = &sheet.records.sessions[0];
    assert_eq!(session.stated_baseline_kind, Some(BaselineKind::Bare));
    assert!(near(session.stated_baseline.as_ref().unwrap().si, 472.1 / 3600.0));
    assert_eq!(session.date.as_deref(), Some("2024-07-13"));
    let run = run_at(&sheet.records, 6);
    assert_eq!(
        (run.purpose, run.restraint, run.service),
        (Some(Purpose::Test), Some(Restraint::Fastened), Some(Service::Washed))
    );
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
}

#[test]
fn a_question_in_the_header_is_answered_with_yes_and_no() {
    let (sheet, _) = staged(
        "Run,Doing,Cover,Element,Nut?,CFM\n1,run,T1,E1,yes,320\n2,run,T1,E1,no,321\n3,run,T1,E1,\"by hand, no nut\",322\n",
    );
    assert_eq!(fields(&sheet.tables[0])[4], "restraint");
    let held = |row| run_at(&sheet.records, row).restraint;
    assert_eq!(
        (held(2), held(3), held(4)),
        (Some(Restraint::Fastened), Some(Restraint::None), Some(Restraint::HandHeld))
    );
}

#[test]
fn a_grid_with_decimal_commas_takes_all_its_rows() {
    let (sheet, cells) = staged(
        "Elm Yard: loss in m3/h, every figure the mean of three\n\"14.09.2024; 20 °C; 998 hPa; 47 % humidity\"\n\"at 50 mbar; reference bare 470,3; paper unused, foam oiled\"\n\n\
         lowered part: filter / lid;closed lid;domed lid\nold paper 254x57;37,6;25,5 @ 30 mbar\nold foam 280x76;34,2;-\n",
    );
    assert_eq!((sheet.rows.read, sheet.runs), (2, 3));
    has(&cells, 7, "closed lid", 34.2 / 3600.0);
    has(&cells, 6, "domed lid", 3000.0);
    let session = &sheet.records.sessions[0];
    assert!(near(session.stated_baseline.as_ref().unwrap().si, 470.3 / 3600.0));
    assert_eq!(session.stated_baseline_kind, Some(BaselineKind::Bare));
    let bases: Vec<_> = sheet.records.parts.iter().filter(|p| p.kind == Some(PartKind::Base)).collect();
    assert_eq!(bases.len(), 1);
    // A sentence ends before the states of the elements.
    let (sheet, _) = staged(
        "\"May 4, 2024. Paper new, foam oiled. 58 F\"\n\"15 in. of water. Bare carb 344.2 going in, 343.9 coming out.\"\ntop / element,paper 12x2,foam 14x2\nsolid,28.0,24.7\nslotted,26.0,22.2\n",
    );
    let session = &sheet.records.sessions[0];
    assert_eq!(session.service_note.as_deref(), Some("Paper new, foam oiled"));
    assert_eq!(session.date.as_deref(), Some("2024-05-04"));
    assert!(near(session.stated_baseline.as_ref().unwrap().si, 344.2 * 0.000_471_947_443_2));
    assert_eq!(session.stated_baseline_kind, Some(BaselineKind::Bare));
}

#[test]
fn weather_written_where_it_changes_holds_until_then() {
    let log = |first: &str| {
        let mut text = "Evening\tNo.\tKind\tElement\tAir C\tBarometer hPa\tFlow m3/h\n".to_owned();
        for (i, air) in [first, "", "", "24", "", "", "23", ""].iter().enumerate() {
            let baro = if i == 0 { "994" } else { "" };
            text += &format!("J1\t{}\ttest\tE1\t{air}\t{baro}\t43{i},1\n", i + 1);
        }
        text
    };
    let air = |text: &str| -> Vec<Option<f64>> {
        let (sheet, _) = staged(text);
        sheet
            .records
            .readings
            .iter()
            .map(|r| r.air_temperature.as_ref().map(|q| (q.si - 273.15).round()))
            .collect()
    };
    let told = air(&log("23"));
    assert_eq!(told, [23., 23., 23., 24., 24., 24., 23., 23.].map(Some));
    let (sheet, _) = staged(&log("23"));
    assert!(sheet.records.readings.iter().all(|r| r.barometer.is_some()));
    // The same number again is a reading of its own, and a blank then a gap.
    assert_eq!(air(&log("24"))[1], None);
    // One blank among many readings is a gap.
    let gap = "No.,Kind,Element,Air F,CFM\n1,test,E1,70,260\n2,test,E1,71,261\n3,test,E1,,261\n4,test,E1,72,261\n5,test,E1,73,262\n6,test,E1,74,261\n";
    assert_eq!(air(gap)[2], None);
}

#[test]
fn a_list_numbered_by_its_losses_gives_places() {
    let (sheet, _) = staged(
        "TAKEN OFF THE DOOR,,,,\nbaseline was 344,,,,\nNo.,CFM lost,What,Element,Held with\n1,10.1,gauze 14x4 / slotted / drop,oiled,nut\n2,14.2,gauze 14x4 / solid / drop,oiled,hand\n\
         3,16.4,paper 14x3 / slotted / flat,new,nut\n4,-17.3,paper 14x3 / solid / drop,new,tape\n",
    );
    assert_eq!(sheet.tables[0].kind, TableKind::Winners);
    assert_eq!(fields(&sheet.tables[0]), ["place", "stated_loss", "assembly", "service", "restraint"]);
    let run = run_at(&sheet.records, 5);
    assert_eq!((run.service, run.restraint), (Some(Service::Oiled), Some(Restraint::HandHeld)));
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
}

#[test]
fn cells_decide_where_a_header_means_two_things() {
    // `Lower` is the low end of a guess only where numbers stand below it.
    let (sheet, _) = staged(
        "Written,Who,Lower,Element,Lid,Loss CFM,at least,at most\n2024-07-12 20:10,ann,B1,E1,T1,34,25,42\n2024-07-12 20:12,bob,B1,E2,T1,28,20,36\n",
    );
    assert_eq!(
        fields(&sheet.tables[0]),
        ["written", "who", "base", "filter", "lid", "stated_loss", "low", "high"]
    );
    let (sheet, _) = staged(
        "Run,Ran,On,Filter,CFM\n1,baseline,4/13/2024,,277\n2,test,4/13/2024,E1,266\n3,test,4/13/2024,E2,267\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["order", "purpose", "date", "filter", "flow"]);
}

#[test]
fn guesses_and_ratings_beside_each_other_are_two_tables() {
    let (sheet, cells) = staged(
        "Evening of 22 July 2024,,,,,,,,,\nRun,Purpose,Filter,Lid,CFM,,,,,\n1,baseline,,,345,,,,,\n2,test,E1,T1,320,,,,,\n,,,,,,,,,\n\
         BETS FOR JULY 22,,,,,,CARBS,,,\nWho bets,Element,Top,CFM lost,From,,Carb,CFM,at in. Hg,Place\n\
         ann,E1,T1,25,20,,four-barrel,640,3,1\nbob,E1,T1,21,16,,two-barrel,390,1.5,2\nbob,E1,T2,22,17,,,,,\n",
    );
    let kinds: Vec<_> = sheet.tables.iter().map(|t| (t.kind, t.rows)).collect();
    assert_eq!(kinds, [(TableKind::Runs, 2), (TableKind::Predictions, 3), (TableKind::Ratings, 2)]);
    has(&cells, 8, "at in. Hg", 3.0 * 3_386.388_64);
    assert_eq!(sheet.records.ratings[1].place, Some(2));
    let session = sheet.records.sessions[0].id;
    assert!(sheet.records.predictions.iter().all(|p| p.session == Some(session)));
    let tables: Vec<_> = sheet.records.sheet_tables.iter().map(|t| t.id).collect();
    assert_ne!(tables[1], tables[2]);
}

#[test]
fn a_guess_is_for_the_evening_of_its_day_among_several_of_one_sheet() {
    let evening = |day: &str| {
        format!(
            "{day} JULY 2024\nNo.,Kind,Element,Lid,CFM\n1,reference,,,473\n2,measurement,E{day},T1,438\n\n"
        )
    };
    let text = format!(
        "{}{}Guesses for 13 July: loss in CFM\nWritten,Who,Element,Lid,Loss CFM\n2024-07-12 20:10,ann,E13,T1,34\n",
        evening("13"),
        evening("20")
    );
    let (sheet, _) = staged(&text);
    let session = sheet.records.predictions[0].session;
    let of = sheet.records.sessions.iter().find(|s| Some(s.id) == session).unwrap();
    assert_eq!(of.date.as_deref(), Some("2024-07-13"));
}

#[test]
fn weather_in_one_line_is_told_apart_by_its_units_and_sizes() {
    for line in [
        "\"29.31 Hg / 74 F / 55 % hum.\"",
        "\"74 F 29.31 55 %RH\"",
        "\"20 inH2O, bare carb 278; paper as new; 74 F 29.31 55 %RH\"",
        "\"RH 55, 74 F, 29.31\"",
    ] {
        let (sheet, _) = staged(&format!("{line}\nRun,Kind,Filter,CFM\n1,test,E1,266\n2,test,E2,267\n"));
        let table = &sheet.tables[0];
        let si = |field| page_si(table, field).unwrap_or_else(|| panic!("{line}: no {field}"));
        assert!(near(si("barometer"), 29.31 * 3_386.388_64), "{line}");
        assert!(near(si("humidity"), 0.55), "{line}");
        assert!(near(si("air_temperature"), 296.483_333_333), "{line}");
    }
    let (sheet, _) = staged(
        "Prüfdruck;50 mbar;Luft;21,5 °C;Luftdruck;993 hPa;Luftfeuchte 48 %\nLauf;Art;Filtereinsatz;Durchfluss m³/h\n1;Messung;F1;441,6\n2;Messung;F2;442,6\n",
    );
    assert!(near(page_si(&sheet.tables[0], "humidity").unwrap(), 0.48));
}

#[test]
fn a_zero_with_nothing_on_is_a_bare_baseline() {
    let (sheet, _) = staged(
        "The zero was 278.4 CFM with nothing on it,,,,\n#,When,Job,Element,Flowed\n1,19:00,zero,,278.4\n2,19:06,try,P1,260.2\n",
    );
    assert_eq!(fields(&sheet.tables[0]), ["order", "clock", "purpose", "filter", "flow"]);
    let session = &sheet.records.sessions[0];
    assert!(near(session.stated_baseline.as_ref().unwrap().si, 278.4 * 0.000_471_947_443_2));
    assert_eq!(run_at(&sheet.records, 3).baseline_kind, Some(BaselineKind::Bare));
    assert_eq!(sheet.records.readings[1].clock.as_deref(), Some("19:06"));
}

#[test]
fn a_french_page_is_read_as_any_other() {
    let (sheet, _) = staged(
        "Séance du 12 mai 2022;;;;;;\nBanc du garage, plage 500 m3/h;;;;;;\nDépression : 50 mbar;;Température : 19 °C;;Pression atm. : 1002 hPa;Humidité : 50 %;\n\
         Débit carb only = 472,7;;;;;;\nNº;Heure;Essai;Filtre;Couvercle;Embase;Fixation;État;Débit lu (m3/h);Perte (m3/h);Remarque\n\
         1;18h00;référence;;;sans;;;472,8;;\n2;18h07;mesure;P1;C1;B1;écrou;neuf;441,4;31,4;\n3;18h13;mesure;P2;C1;B1;à la main;neuf;450,7;22,1;\nmoyenne;;;;;;;;;26,7;\n",
    );
    assert_eq!((sheet.runs, sheet.records.quarantined.len()), (3, 0));
    let table = &sheet.tables[0];
    for (field, si) in [
        ("range", 500.0 / 3600.0),
        ("set_pressure", 5000.0),
        ("air_temperature", 292.15),
        ("barometer", 100_200.0),
        ("humidity", 0.5),
        ("stated_baseline", 472.7 / 3600.0),
    ] {
        assert!(page_si(table, field).is_some_and(|found| near(found, si)), "{field}");
    }
    assert_eq!(sheet.records.sessions[0].date.as_deref(), Some("2022-05-12"));
    assert_eq!(run_at(&sheet.records, 6).baseline_kind, Some(BaselineKind::Bare));
    let (second, third) = (run_at(&sheet.records, 7), run_at(&sheet.records, 8));
    assert_eq!((second.restraint, second.service), (Some(Restraint::Fastened), Some(Service::New)));
    assert_eq!(third.restraint, Some(Restraint::HandHeld));
}
