//! Words, grids and remarks as a dozen other people write them.

use super::*;
use airshelf_catalog::{BaselineKind, PartDimension, PartKind, Purpose, Restraint, Service, TableKind};

const CFM: f64 = 0.000_471_947_443_2;
const IN_H2O: f64 = 249.088_91;

#[test]
fn two_grids_beside_each_other_share_their_page() {
    let (sheet, cells) = staged(
        "\"CFM lost, each the mean of two pulls, tied down with the nut; paper unused, foam with oil\",,,,,,\n\
         \"12 May 2024, 67 F, 29.91 inHg, 48 % RH, drawn at 12 inches of water, bare carb 300.4 CFM\",,,,,,\n\
         low pan: lid / element,P 9x2,F 9x3,,deep pan: lid / element,P 9x2,F 9x3\n\
         plain,20.1,17.7,,plain,18.8 (at 8 in),16.0\nvented,15.5,0,,vented,-13.9,12.9 @ 8 inches\n",
    );
    assert_eq!((sheet.rows.read, sheet.runs, sheet.records.sessions.len()), (4, 8, 1));
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
    has(&cells, 4, "P 9x2", 20.1 * CFM);
    has(&cells, 4, "P 9x2", 18.8 * CFM);
    has(&cells, 4, "P 9x2", 8.0 * IN_H2O);
    has(&cells, 5, "F 9x3", 8.0 * IN_H2O);
    let session = &sheet.records.sessions[0];
    assert_eq!(session.date.as_deref(), Some("2024-05-12"));
    assert!(near(session.set_pressure.as_ref().unwrap().si, 12.0 * IN_H2O));
    assert_eq!(session.restraint, Some(Restraint::Fastened));
    assert_eq!(session.service_note.as_deref(), Some("paper unused, foam with oil"));
    let names = |kind| {
        let parts = sheet.records.parts.iter().filter(|p| p.kind == Some(kind));
        parts.map(|p| p.tag.clone().unwrap()).collect::<Vec<_>>()
    };
    assert_eq!(names(PartKind::Base), ["low", "deep"]);
    assert_eq!(names(PartKind::Lid), ["plain", "vented"]);
    assert_eq!(names(PartKind::Filter), ["P 9x2", "F 9x3"]);
}

#[test]
fn titles_above_two_grids_name_what_each_has() {
    let (sheet, _) = staged(
        "losses in CFM at 10 inH2O\nDeep pan,,,,Shallow pan,,\ntop \\ element,P 9x2,F 9x3,,top \\ element,P 9x2,F 9x3\n\
         plain,20.1,17.7,,plain,18.8,16.0\nvented,15.5,n/t,,vented,13.9,12.9\n",
    );
    assert_eq!(sheet.runs, 7);
    let bases: Vec<_> =
        sheet.tables.iter().map(|t| t.page.iter().find(|p| p.field == "base").unwrap()).collect();
    assert_eq!((bases[0].raw.as_str(), bases[1].raw.as_str()), ("Deep pan", "Shallow pan"));
}

#[test]
fn tables_of_one_evening_beside_each_other_share_its_day_and_air() {
    let (sheet, _) = staged(
        "7 MAY: W7 on the big bench\nDate,2024-05-07,70 F,29.8 inHg,RH 50 %,10 inH2O,,,,,,\n\
         Run,Kind,Filter,Lid,CFM,,Run,Kind,Filter,Lid,CFM\n1,baseline,,,241,,1,baseline,,,240\n2,test,E1,T1,230,,2,test,E2,T1,231\n",
    );
    assert_eq!((sheet.runs, sheet.records.sessions.len()), (4, 1));
    for table in &sheet.tables {
        assert!(near(page_si(table, "barometer").unwrap(), 29.8 * 3_386.388_64));
        assert!(near(page_si(table, "set_pressure").unwrap(), 10.0 * IN_H2O));
    }
}

#[test]
fn rated_flows_are_told_whatever_their_items_are_called() {
    for header in ["Mixer,CFM,inHg,Place", "Carby,Moves CFM,at in. Hg,Rank", "Which carbie,cfm,in Hg,Pos"] {
        let (sheet, _) = staged(&format!(
            "JAR FOR MAY 7, CFM lost\nWhose tip,Element,Lid,\"Tip, CFM down\",Not under,Not over,Put in the jar\n\
             ann,E1,T1,12,9,15,2024-05-06 20:00\nbo,E1,T1,14,10,17,2024-05-06 20:05\n\nMIXERS\n{header}\nbig four,640,1.5,1\nold two,500,3,2\n"
        ));
        let kinds: Vec<_> = sheet.tables.iter().map(|t| (t.kind, t.rows)).collect();
        assert_eq!(kinds, [(TableKind::Predictions, 2), (TableKind::Ratings, 2)], "{header}");
        assert_eq!(sheet.runs, 0);
        let guess = &sheet.records.predictions[0];
        assert!(near(guess.loss.as_ref().unwrap().si, 12.0 * CFM));
        assert!(near(guess.high.as_ref().unwrap().si, 15.0 * CFM));
        assert!(near(sheet.records.ratings[1].rated_at.as_ref().unwrap().si, 3.0 * 3_386.388_64));
    }
}

#[test]
fn a_unit_may_stand_first_in_a_header() {
    let (sheet, cells) = staged(
        "Go\tKind\tPan\tCleaner\tin. w.g. set\tmm of water shown\tcfm shown\tcfm leak\tcfm less leak\t°C in the shop\n\
         1\tbare\tnone\t\t10\t254\t241.3\t1.1\t240.2\t19\n2\ttest\tB1\tF1\t10\t252\t229.0\t1.1\t227.9\t19\n",
    );
    assert_eq!(
        fields(&sheet.tables[0])[4..],
        ["set_pressure", "actual_pressure", "flow", "leakage", "net_flow", "air_temperature"]
    );
    has(&cells, 3, "mm of water shown", 252.0 * 9.806_65);
}

#[test]
fn a_dimension_belongs_to_the_part_beside_it() {
    let (sheet, cells) = staged(
        "Run;Kind;Element;Its height (mm);How wide, mm;Spacer;Tall (mm);Flow m3/h\n1;bare;;;;;;428,9\n\
         2;test;F-1;60;230;S-1;19;405,2\n3;test;F-2;3 in;230;;;410,0\n",
    );
    let found = fields(&sheet.tables[0]);
    assert_eq!((found[3], found[6]), ("filter_height", "spacer_height"));
    has(&cells, 3, "Its height (mm)", 0.06);
    has(&cells, 4, "Its height (mm)", 0.0762);
    let tall = |d| sheet.records.measurements.iter().filter(|m| m.dimension == Some(d)).count();
    assert_eq!(tall(PartDimension::Height), 3);
}

#[test]
fn a_key_tells_what_short_words_stand_for() {
    let (sheet, _) = staged(
        "# nothing written = as above; T = thumbscrew, H = palm of the hand, N = new, O = with oil\n\
         No,What was done,Pan,Cleaner,Hat,How kept on,Cleaner was,CFM\n1,nothing on,none,,,,,241.3\n\
         2,cleaner on,B-1,F-1,L-1,T,N,229.0\n3,cleaner on,B-1,F-2,L-2,H,O,231.2\n",
    );
    assert_eq!(
        fields(&sheet.tables[0]),
        ["order", "purpose", "base", "filter", "lid", "restraint", "service", "flow"]
    );
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
    let run = |row| (run_at(&sheet.records, row).restraint, run_at(&sheet.records, row).service);
    assert_eq!(run(4), (Some(Restraint::Fastened), Some(Service::New)));
    assert_eq!(run(5), (Some(Restraint::HandHeld), Some(Service::Oiled)));
    assert_eq!(run_at(&sheet.records, 3).baseline_kind, Some(BaselineKind::Bare));
}

#[test]
fn a_notebook_says_how_it_was_held_and_where_it_came_in_its_own_words() {
    let (sheet, _) = staged(
        "Page 12 of the green book\nBare: 240.8 cfm. Paper all new, foam oiled.\n\n\
         Try\tBits on\tLid was\tReading cfm\tDown on bare\tCame\tRemark\n1\tnothing\t\t240.9\t\t\t\n\
         2\tF-1 + L-1 + B-1\tnut on\t228.7\t12.1\t5th\t\n3\tF-1 + L-2 + B-1\theld down with a thumb\t230.2\t10.6\t3rd\tlid sat crooked\n\
         4\tF-2 + L-2 + B-1\tcame adrift\t231.9\t8.9\t1st\t\n5\tF-2 + L-1 + B-1\tnut missing\t230.0\t10.8\t4th\t\n\
         6\tF-2 + L-1 + B-1\tgaffer tape\t229.9\t10.9\t2nd\t\n",
    );
    assert_eq!(
        fields(&sheet.tables[0]),
        ["order", "assembly", "restraint", "flow", "stated_loss", "place", "note"]
    );
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
    let held: Vec<_> = (6..=10).map(|row| run_at(&sheet.records, row).restraint.unwrap()).collect();
    assert_eq!(
        held,
        [Restraint::Fastened, Restraint::HandHeld, Restraint::Lost, Restraint::None, Restraint::Taped]
    );
    assert_eq!(sheet.records.claims.iter().filter_map(|c| c.place).collect::<Vec<_>>(), [5, 3, 1, 4, 2]);
    assert_eq!(sheet.records.sessions[0].service_note.as_deref(), Some("Paper all new, foam oiled"));
    assert_eq!(run_at(&sheet.records, 5).purpose, Some(Purpose::Baseline));
}

#[test]
fn a_title_parts_its_statements_with_any_mark() {
    for mark in [" · ", " – ", " • ", " | ", "; "] {
        let (sheet, _) = staged(&format!(
            "Heath End{mark}two days at 10 inH2O{mark}all filters new{mark}wing nut every time\n\
             Run,Kind,Filter,Lid,CFM\n1,baseline,,,241\n2,test,E1,T1,230\n"
        ));
        let session = &sheet.records.sessions[0];
        assert_eq!(session.service_note.as_deref(), Some("all filters new"), "{mark}");
        assert_eq!(session.restraint, Some(Restraint::Fastened), "{mark}");
    }
    // What leaves it to the rows states nothing.
    let (sheet, _) =
        staged("Element,oiled or new as said\nRun,Kind,Filter,CFM\n1,test,E1,230\n2,test,E1,231\n");
    assert_eq!(sheet.records.sessions[0].service_note, None);
}

#[test]
fn claims_about_dust_are_claims_of_filtration() {
    for header in
        ["Filters how well", "How well it stops dust", "Keeps dust out", "Said to catch", "Micron rating"]
    {
        let (sheet, _) = staged(&format!(
            "Tag,Type,Called,Across in,High in,{header}\nQ1,filter,\"paper, low\",9½,2 1/4,95 per cent at one pass\nQ2,filter,foam,9½,3,unknown\n"
        ));
        let told = sheet.records.parts[0].filtration.as_deref();
        assert_eq!(told, Some("95 per cent at one pass"), "{header}");
    }
}

#[test]
fn apostrophes_part_the_thousands_of_a_barometer() {
    let (sheet, cells) = staged(
        "Run;Kind;Filter;Flow L/s;Baro hPa\n1;bare;;118.4;1'002.5\n2;test;E1;112.1;1'002.0\n3;test;E1;112.6;998.5\n",
    );
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
    has(&cells, 2, "Baro hPa", 100_250.0);
}

#[test]
fn pages_part_their_figures_by_strokes_and_thousands_by_spaces() {
    let (sheet, _) = staged(
        "What the lids cost, in percent of the bare carb, lid nut tight on all, every paper new\n\
         20 June 2024 / 23 °C / 1 009 hPa / 58 % hum. / 4,2 kPa / bare 402 m³/h\n\n\
         Filter ↓ Lid →\tflat\ttall\tslotted\tmean\npaper 240x60\t4,1 %\t3,2 %\t2,6 %\t3,3 %\n\
         foam 250x80\t3,0 %\t–\t1,9 %\t2,5 %\nmean\t3,5 %\t3,2 %\t2,2 %\t\n",
    );
    assert_eq!((sheet.runs, sheet.rows.read), (5, 2));
    let table = &sheet.tables[0];
    for (field, si) in
        [("air_temperature", 296.15), ("barometer", 100_900.0), ("set_pressure", 4200.0), ("humidity", 0.58)]
    {
        assert!(page_si(table, field).is_some_and(|found| near(found, si)), "{field}");
    }
    assert_eq!(sheet.records.sessions[0].date.as_deref(), Some("2024-06-20"));
}

#[test]
fn a_pecking_order_counts_its_readings_and_what_came_off() {
    let (sheet, _) = staged(
        "\"Pecking order, spring 2024 (CFM off the bare 233.5, at 11 inH2O, 60 F, 29.9 inHg, 48 % RH)\",,,,,\n\
         Which,CFM off,Goes,Lid kept by,Element looked,Came\nF2 | H2 | B2,6.6,3,wing nut,oiled,1st\n\
         F1 | H2 | B1,10.8,1,two thumbs,unused,2nd\nF2 | H1 | B2,11.2,2,wing nut,oiled,3rd\nF1 | H1 | B1,12.3,1,slid off,unused,4th\n",
    );
    assert_eq!(
        fields(&sheet.tables[0]),
        ["assembly", "stated_loss", "readings", "restraint", "service", "place"]
    );
    assert!(sheet.records.quarantined.is_empty(), "{:?}", sheet.records.quarantined);
    assert!(near(page_si(&sheet.tables[0], "stated_baseline").unwrap(), 233.5 * CFM));
    assert_eq!(run_at(&sheet.records, 6).restraint, Some(Restraint::Lost));
}

#[test]
fn a_line_of_units_stands_for_all_headers_above_it() {
    let (sheet, cells) = staged(
        "Pull;Role;Set;Got;Full scale;Metered;Leak allowed;Honest flow;Eaten;Shed;Glass;Damp;Filter tag;Lid tag;Base tag;How tight\n\
         ;;kPa;kPa;L/s;L/s;L/s;L/s;L/s;°C;hPa;%;;;;\n1;zero;3,00;2,99;150;131,20;0,60;130,60;;20,5;1 004,2;61;;;bare;\n\
         2;go;3,00;3,02;150;124,90;0,60;124,30;6,91;20,6;1 004,2;61;P7;D2;U1;M10 nut\n",
    );
    assert_eq!(
        fields(&sheet.tables[0])[2..],
        [
            "set_pressure",
            "actual_pressure",
            "range",
            "flow",
            "leakage",
            "net_flow",
            "stated_loss",
            "air_temperature",
            "barometer",
            "humidity",
            "filter",
            "lid",
            "base",
            "restraint"
        ]
    );
    has(&cells, 4, "Glass", 100_420.0);
    has(&cells, 4, "Eaten", 0.00691);
}
