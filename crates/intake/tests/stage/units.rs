//! Units that are not understood, and numbers that are marked: nothing is taken for something else.

use super::{has, near, staged, staged_with};
use airshelf_catalog::Source;
use airshelf_intake::stage::Known;

#[test]
fn a_header_with_an_unknown_unit_gives_no_flow() {
    for unit in ["(lb/min)", "(kg/h)", "(gpm)", "(SCFM)", "(Nm3/h)", "(banana)", "[mł/h]", "kg/h", ", gpm"] {
        let text = format!("order,filter,lid,\"flow {unit}\"\n1,F-1,L-1,277.1\n2,F-2,L-1,265.8\n");
        let (staged, cells) = staged(&text.replace("flow ,", "flow,"));
        assert!(staged.records.readings.is_empty(), "{unit}: {cells:?}");
        assert_eq!(staged.rows.quarantined, 2, "{unit}");
        let named = unit.trim_matches(|c| "()[], ".contains(c));
        let reason = staged.records.quarantined[0].reason.clone().unwrap();
        assert!(reason.contains(named), "{unit}: {reason}");
    }
}

#[test]
fn a_header_of_a_pressure_with_an_unknown_unit_gives_no_pressure() {
    let (staged, _) = staged(
        "order,filter,lid,test pressure (banana),flow (CFM)\n1,F-1,L-1,20,277.1\n2,F-2,L-1,20,265.8\n",
    );
    assert_eq!((staged.runs, staged.rows.cells), (2, 2));
    assert!(staged.records.runs.iter().all(|r| r.set_pressure.is_none()));
    assert!(staged.records.quarantined[0].reason.as_ref().unwrap().contains("banana"));
}

#[test]
fn a_cell_with_its_own_unit_needs_none_above_it() {
    let (_, cells) = staged("order,filter,lid,flow (kg/h)\n1,F-1,L-1,100 L/s\n2,F-2,L-1,265.8\n");
    has(&cells, 2, "flow (kg/h)", 0.1);
    assert!(cells.iter().all(|c| c.0 != 3 || c.2 != "flow"));
}

#[test]
fn remarks_in_brackets_are_no_units() {
    for header in ["flow (as read)", "flow (average)", "flow (uncorr.)", "flow (meas.)"] {
        let (staged, _) = staged(&format!("order,filter,lid,{header}\n1,F-1,L-1,277.1\n2,F-2,L-1,265.8\n"));
        assert_eq!(staged.records.readings.len(), 2, "{header}");
    }
}

#[test]
fn a_line_of_units_may_hold_one_that_is_not_understood() {
    let (staged, _) = staged(
        "order,filter,lid,set pressure,flow,air\n,,,inH2O,kg/h,F\n1,F-1,L-1,20,277.1,70\n2,F-2,L-1,20,265.8,70\n",
    );
    assert!(staged.records.readings.is_empty());
    assert!(staged.records.quarantined.iter().all(|q| q.reason.as_ref().unwrap().contains("kg/h")));
}

#[test]
fn cubic_meters_in_latin_1_stay_cubic_meters() {
    let text = "Lauf;Zweck;Filter;Deckel;Durchfluss [m³/h]\n1;Grundlauf;;;951,3\n2;Prüflauf;Größe 3;Höcker;903,1\n\
                3;Prüflauf;Größe 4;Höcker;907,2\n";
    let bytes: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let (staged, cells) = staged_with("blatt.csv", &bytes, &Known::default(), None);
    assert!(cells.iter().any(|c| c.0 == 2 && near(c.3, 951.3 / 3600.0)), "{cells:?}");
    assert_eq!(staged.records.import_files[0].encoding.as_deref(), Some("cp1252"));
}

#[test]
fn a_flow_in_percent_is_of_its_range() {
    for header in
        ["flow (%)", "flow (% of range)", "indicated (%)", "reading (%)", "percent of range", "% of range"]
    {
        let text = format!("order,filter,lid,range (CFM),{header}\n1,F-1,L-1,400,75.3\n2,F-2,L-1,400,70.0\n");
        let (staged, _) = staged(&text);
        let flows: Vec<f64> =
            staged.records.readings.iter().filter_map(|r| r.flow.as_ref()).map(|q| q.si).collect();
        assert_eq!(flows.len(), 2, "{header}: {:?}", staged.tables);
        assert!(near(flows[0], 0.753 * 400.0 * 0.000_471_947_443_2), "{header}: {flows:?}");
        assert!(staged.records.claims.is_empty(), "{header}");
    }
    // Without a range there is no flow, and the reason is told.
    let (staged, _) = staged("order,filter,lid,flow (%)\n1,F-1,L-1,75.3\n2,F-2,L-1,70.0\n");
    assert!(staged.records.readings.is_empty());
    assert!(staged.records.quarantined[0].reason.as_ref().unwrap().contains("range"));
}

#[test]
fn what_was_written_as_unsure_is_marked() {
    let (staged, _) = staged("order,filter,lid,flow (CFM)\n1,F-1,L-1,~390\n2,F-2,L-1,390?\n3,F-3,L-1,390\n");
    let sources: Vec<Option<Source>> =
        staged.records.readings.iter().map(|r| r.flow.as_ref().unwrap().source()).collect();
    assert_eq!(sources, [Some(Source::Estimated), Some(Source::Estimated), None]);
}

#[test]
fn fractions_beside_one_metric_row_keep_a_sheet_in_inches() {
    let (_, cells) = staged(
        "tag,kind,OD,ID,height,pleat depth,neck,drop\nPF-1,filter,14,12,3,7/8,,\nPF-2,filter,355,305,75,22,,\n\
         BS-1,base,14,,,,5-1/8,1/2\nBS-2,base,14 1/8,,,,130,1.2\n",
    );
    has(&cells, 2, "OD", 14.0 * 0.0254);
    has(&cells, 2, "pleat depth", 0.875 * 0.0254);
    has(&cells, 4, "neck", 5.125 * 0.0254);
}
