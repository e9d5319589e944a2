//! A winter's losses as a table: lids down, filters across, once for each base.

use super::super::shed::{Shed, thing, usual_service};
use super::OldRecord;
use super::pad::Pad;
use airshelf_units::Unit;

const FILTERS: [&str; 3] = ["PF-1", "PF-2", "FF-1"];
const LIDS: [&str; 3] = ["LD-1", "LD-3", "LD-2"];

pub fn sheet(shed: &Shed) -> OldRecord {
    let bare = shed.flow_m3_s(&[], None);
    let loss = |base: &'static str, lid: &'static str, filter: &'static str| {
        let stack = [base, filter, lid];
        let flow_m3_s = shed.flow_m3_s(&stack, usual_service(&stack));
        format!("{:.1}", Unit::CFM.from_si(bare - flow_m3_s))
    };
    let mut pad = Pad::with(',');
    pad.row(&["Loss table from the winter, CFM, mean of three readings each, everything fastened"]);
    pad.row(&[
        "Quarry Loop Shed, 2025-01-18; paper new, foam oiled; 52 F, 29.40 inHg, 45 % RH; range 300 CFM",
    ]);
    pad.row(&["20 inH2O; baseline bare 277.3 before and 277.1 after"]);
    for base in ["BS-1", "BS-2"] {
        pad.row(&[""]);
        let corner = format!("{}: lid \\ filter", thing(base).name);
        pad.row(&[&[corner.as_str()], &FILTERS[..]].concat());
        for lid in LIDS {
            let mut cells = vec![thing(lid).name.to_owned()];
            cells.extend(FILTERS.map(|filter| loss(base, lid, filter)));
            let rule = match (base, lid) {
                ("BS-1", "LD-3") => {
                    cells[2] = "0".into();
                    Some("blank-as-zero")
                }
                ("BS-1", "LD-2") => {
                    // At 12 inH2O every flow is smaller by the root of the pressures, and so is the loss.
                    let at_20: f64 = cells[1].parse().expect("a loss is a number");
                    cells[1] = format!("{:.1} @ 12 inH2O", at_20 * (12.0f64 / 20.0).sqrt());
                    Some("pressure-mixed")
                }
                ("BS-2", "LD-1") => {
                    cells[1].insert(0, '-');
                    Some("sign-mixed")
                }
                _ => None,
            };
            let row = pad.row(&cells);
            if let Some(rule) = rule {
                pad.plant(row, rule);
            }
        }
    }
    pad.done("old-lids.csv")
}
