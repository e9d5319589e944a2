//! No row of a table vanishes: it becomes a record, or it is set aside with its reason.

use super::staged;

const PARTS: &str = "tag,kind,name,maker,price,arrived,OD (in),ID (in),height (in),pleat count,pleat depth (in),\
    pleat free height (in),neck bore (in),drop (in),stud length (in),filtration,service,note\n";

#[track_caller]
fn tags(text: &str, expected: &[&str]) {
    let (staged, _) = staged(text);
    let found: Vec<&str> = staged.records.parts.iter().filter_map(|p| p.tag.as_deref()).collect();
    assert_eq!(found, expected, "{:?}", staged.records.quarantined);
}

#[test]
fn a_part_with_nothing_but_its_kind_is_a_part() {
    let row = |cells: &str| format!("{cells}{}\n", ",".repeat(17 - cells.matches(',').count()));
    let body = [row("PF-1,filter,tall paper,,,,14,12,3"), row("LD-1,lid"), row("ST-1,stud")].concat();
    tags(&format!("{PARTS}{body}"), &["PF-1", "LD-1", "ST-1"]);
    tags(
        "Tag,Kind,OD,ID,Height\nPF-1,filter,14,12,3\nLD-1,lid,,,\nBS-2,,,,\nPF-2,filter,14,12,2\n",
        &["PF-1", "LD-1", "BS-2", "PF-2"],
    );
}

#[test]
fn a_tag_of_an_exported_sheet_is_what_it_says() {
    let row = |cells: &str| format!("{cells}{}\n", ",".repeat(17 - cells.matches(',').count()));
    let body = [
        row("PF-1,filter,tall paper,,,,14,12,3"),
        row("average,filter,,,,,13,12,3"),
        row("do.,lid,,,,,14"),
        row("\"\"\"\",base,,,,,14"),
        row("none,lid,,,,,13"),
        row("#4,lid,,,,,12"),
    ];
    tags(&format!("{PARTS}{}", body.concat()), &["PF-1", "average", "do.", "\"", "none", "#4"]);
}

#[test]
fn a_row_of_an_exported_sheet_heads_no_grid() {
    let row = |cells: &str| format!("{cells}{}\n", ",".repeat(17 - cells.matches(',').count()));
    let body = [
        row("PF-1,filter,tall paper,,,,14,12,3"),
        row("BS-A,base,dee"),
        row("dropped base,12,30.00"),
        row("VS-9,velocity stack"),
        row("LD-1,lid,flat,,,,14"),
    ];
    tags(&format!("{PARTS}{}", body.concat()), &["PF-1", "BS-A", "dropped base", "VS-9", "LD-1"]);
    // Nor does one of a sheet by hand whose header was plain.
    tags(
        "Tag,Kind,Name,OD,ID,Height\nPF-1,filter,tall paper,14,12,3\nBS-A,base,dee,,,\nPF-D,22,19,,,\nLD-1,lid,flat,14,,\n",
        &["PF-1", "BS-A", "PF-D", "LD-1"],
    );
}

#[test]
fn a_run_without_a_flow_is_set_aside_with_its_reason() {
    let (staged, _) = staged("order,filter,flow (CFM)\n1,F-1,280.0\n2,F-2,\n3,F-3,270.0\n");
    assert_eq!((staged.rows.read, staged.rows.quarantined), (3, 1));
    let aside = &staged.records.quarantined[0];
    assert_eq!((aside.row, aside.reason.as_deref()), (Some(3), Some("the row has no flow")));
}
