//! A box of parts, measured with a steel rule and typed as read.

use super::OldRecord;
use super::pad::Pad;

const HEADER: [&str; 18] = [
    "tag",
    "kind",
    "name",
    "maker",
    "price",
    "arrived",
    "OD (in)",
    "ID (in)",
    "height (in)",
    "pleat count",
    "pleat depth (in)",
    "pleat free height (in)",
    "neck bore (in)",
    "drop (in)",
    "stud length (in)",
    "filtration",
    "service",
    "note",
];

/// Tag, name, price, OD, ID, height, pleats, depth, free height, filtration, state, note, and the rule that is broken.
type Element = (
    &'static str,
    &'static str,
    &'static str,
    [&'static str; 6],
    &'static str,
    &'static str,
    &'static str,
    Option<&'static str>,
);

const ELEMENTS: [Element; 7] = [
    (
        "PF-21",
        "paper wide",
        "22.00",
        ["11\"", "8-5/8", "2 1/4\"", "204", "1-1/8", "1-7/8"],
        "unknown",
        "new",
        "",
        None,
    ),
    (
        "PF-22",
        "paper medium",
        "21.00",
        ["10-1/2", "7 3/4\"", "3", "190", "1.18", "2-1/2"],
        "unknown",
        "new",
        "pleats 1-1/8 deep by the rule",
        Some("fraction-misread"),
    ),
    (
        "PF-23",
        "paper thin",
        "26.00",
        ["10", "7 1/2\"", "57", "176", "7/8", "1-7/8"],
        "unknown",
        "new",
        "",
        Some("inch-mm"),
    ),
    (
        "PF-24",
        "paper deep",
        "25.00",
        ["11", "8-1/2", "2 1/2\"", "150", "1-3/4", "2"],
        "unknown",
        "new",
        "",
        Some("area-impossible"),
    ),
    (
        "FF-21",
        "foam tall",
        "32.00",
        ["9 1/2\"", "7 1/2\"", "3.5\"", "", "", ""],
        "stops everything",
        "oiled",
        "",
        Some("filtration-unproven"),
    ),
    (
        "PF-25",
        "paper no label",
        "18.00",
        ["10 1/2", "8", "0", "196", "7/8", ""],
        "unknown",
        "new",
        "",
        Some("blank-as-zero"),
    ),
    (
        "FF-22",
        "foam short",
        "-12.00",
        ["9.5", "7.5", "2-1/2", "", "", ""],
        "unknown",
        "oiled",
        "",
        Some("out-of-range"),
    ),
];

pub fn sheet() -> OldRecord {
    let mut pad = Pad::with(',');
    pad.row(&HEADER);
    pad.row(&["# second box, steel rule"]);
    for (tag, name, price, sizes, filtration, service, note, rule) in ELEMENTS {
        let maker = if tag.starts_with("FF") { "Hobbin Foam" } else { "Marlstone Paper" };
        let mut cells = vec![tag, "filter", name, maker, price, "2024-09-28"];
        cells.extend(sizes);
        cells.extend(["", "", "", filtration, service, note]);
        let row = pad.row(&cells);
        if let Some(rule) = rule {
            pad.plant(row, rule);
        }
    }
    pad.done("old-box-two.csv")
}
