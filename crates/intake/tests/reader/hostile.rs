//! Damaged files and files made to exhaust memory: each gets a fault with a
//! place, soon.

use airshelf_intake::reader::{Limits, ReadFault, read};

use crate::zipped::{NO_STRINGS, ods, xlsx, zipped};
use crate::{book, refused, rows};

const SMALL: &str = r#"<row r="1"><c r="A1"><v>1</v></c></row>"#;

#[test]
fn a_far_corner_costs_one_cell() {
    let far =
        r#"<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>2</v></c></row>"#;
    let read = book("far.xlsx", &xlsx(far, false, NO_STRINGS));
    let last = &read.sheets[0].rows[1];
    assert_eq!((last.number(), last.len(), last.text(16_383)), (1_048_576, 16_384, "2"));
    assert_eq!(last.cells().count(), 1);
}

#[test]
fn repeated_filled_rows_are_counted_before_they_are_unfolded() {
    let cell = r#"<table:table-cell office:value-type="float" office:value="1" table:number-columns-repeated="16384"/>"#;
    let bomb = format!(
        r#"<table:table-row><table:table-cell/></table:table-row><table:table-row table:number-rows-repeated="1048575">{cell}</table:table-row>"#
    );
    assert_eq!(
        refused("bomb.ods", &ods("", &bomb)),
        ReadFault::TooManyCells {
            file: "bomb.ods".into(),
            sheet: Some("Runs".into()),
            cell: "XFD2".into(),
            limit: Limits::default().sheet_cells,
        }
    );
    let wide = r#"<table:table-row><table:table-cell table:number-columns-repeated="4294967295"/><table:table-cell office:value-type="float" office:value="1"/></table:table-row>"#;
    assert!(matches!(refused("wide.ods", &ods("", wide)), ReadFault::TooWide { row: 1, .. }));
}

#[test]
fn repeated_text_is_counted_before_it_is_copied() {
    let long = "x".repeat(200_000);
    let strings = format!("<sst uniqueCount=\"1\"><si><t>{long}</t></si></sst>");
    let cells: String =
        (1..=4000).map(|row| format!(r#"<row r="{row}"><c r="A{row}" t="s"><v>0</v></c></row>"#)).collect();
    assert!(matches!(refused("bomb.xlsx", &xlsx(&cells, false, &strings)), ReadFault::TooLarge { .. }));
    let spaces = r#"<table:table-row><table:table-cell office:value-type="string"><text:p><text:s text:c="4000000000"/><text:s text:c="9"/></text:p></table:table-cell></table:table-row>"#;
    assert!(matches!(refused("bomb.ods", &ods("", spaces)), ReadFault::Corrupt { .. }));
}

#[test]
fn a_claimed_count_of_strings_takes_no_room() {
    let strings = r#"<sst uniqueCount="99999999999"><si><t>a</t></si></sst>"#;
    assert!(matches!(refused("bomb.xlsx", &xlsx(SMALL, false, strings)), ReadFault::TooManyCells { .. }));
}

/// Writes another unpacked size into every local and central header.
fn claim(mut bytes: Vec<u8>, member: &str, size: u32) -> Vec<u8> {
    let mut patched = 0;
    for at in 0..bytes.len() - 46 {
        let (size_at, name_at) = match &bytes[at..at + 4] {
            b"PK\x03\x04" => (at + 22, at + 30),
            b"PK\x01\x02" => (at + 24, at + 46),
            _ => continue,
        };
        if bytes[name_at..].starts_with(member.as_bytes()) {
            bytes[size_at..size_at + 4].copy_from_slice(&size.to_le_bytes());
            patched += 1;
        }
    }
    assert_eq!(patched, 2);
    bytes
}

#[test]
fn a_member_that_claims_a_gigabyte_is_not_unpacked() {
    let bytes = claim(xlsx(SMALL, false, NO_STRINGS), "xl/worksheets/sheet1.xml", 1 << 30);
    let fault = refused("bomb.xlsx", &bytes);
    assert!(matches!(&fault, ReadFault::TooLarge { what, .. } if what.contains("sheet1.xml")));
}

#[test]
fn a_member_that_hides_its_size_is_measured() {
    let blanks = " ".repeat(8 << 20);
    let rows = format!("{SMALL}{blanks}");
    let limits = Limits { member_bytes: 4 << 20, ..Limits::default() };
    let honest = xlsx(&rows, false, NO_STRINGS);
    assert!(matches!(read("bomb.xlsx", &honest, &limits), Err(ReadFault::TooLarge { .. })));
    let lying = claim(honest, "xl/worksheets/sheet1.xml", 1000);
    let fault = read("bomb.xlsx", &lying, &limits).unwrap_err();
    assert!(matches!(fault, ReadFault::TooLarge { .. } | ReadFault::Corrupt { .. }), "{fault:?}");
}

#[test]
fn a_file_cut_short_is_damaged() {
    for whole in [xlsx(SMALL, false, NO_STRINGS), ods("", "<table:table-row/>")] {
        for kept in [30, whole.len() / 2, whole.len() - 30] {
            let fault = refused("cut.csv", &whole[..kept]);
            assert!(matches!(fault, ReadFault::Corrupt { .. }), "{fault:?}");
        }
    }
    let unclosed = ods("", "<table:table-row><table:table-cell>");
    assert!(matches!(refused("a.ods", &unclosed), ReadFault::Corrupt { .. }));
}

#[test]
fn damage_names_the_sheet_and_row() {
    let cells = r#"<row r="1"><c r="A1"><v>1</v></c></row><row r="2"><c r="A2" t="s"><v>77</v></c></row>"#;
    let fault = refused("a.xlsx", &xlsx(cells, false, NO_STRINGS));
    assert!(
        matches!(&fault, ReadFault::Corrupt { place, .. } if place.contains("Runs") && place.contains("row 1")),
        "{fault:?}"
    );
}

#[test]
fn missing_members_are_damage() {
    let bare = zipped(&[("[Content_Types].xml", "<Types/>")]);
    assert!(matches!(refused("a.xlsx", &bare), ReadFault::Corrupt { .. }));
    let bare = zipped(&[("mimetype", crate::zipped::SPREADSHEET)]);
    assert!(matches!(refused("a.ods", &bare), ReadFault::Corrupt { .. }));
}

#[test]
fn many_unclosed_marks_stay_quick() {
    let mut text = String::from("tag,note\n");
    for n in 0..20_000 {
        text += &format!("PF-{n},\"\"\"\"\"\"\"\"\"\"\"x\n");
    }
    let read = book("a.csv", text.as_bytes());
    assert_eq!(rows(&read).last().unwrap().0, 20_001);
}

#[test]
fn odd_addresses_are_read_or_refused() {
    for row in ["0", "4294967295", "4294967296", "99999999999", "-1", "x", ""] {
        for cell in ["A0", "A4294967295", "A4294967296", "XFE1", "ZZZZZZZZ1", "1A", "A", "7", ""] {
            for target in [row, "1"] {
                let cells = format!(
                    r#"<row r="{target}"><c r="{cell}"><v>1</v></c><c><v>2</v></c></row><row><c><v>3</v></c></row>"#
                );
                let _ = crate::read_all("a.xlsx", &xlsx(&cells, false, NO_STRINGS));
            }
        }
    }
    for merged in ["A0:B0", "B2:A1", "A1", ":", "A1:XFE9999999999", ""] {
        let cells =
            format!(r#"{SMALL}</sheetData><mergeCells><mergeCell ref="{merged}"/></mergeCells><sheetData>"#);
        let _ = crate::read_all("a.xlsx", &xlsx(&cells, false, NO_STRINGS));
    }
}
