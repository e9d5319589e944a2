//! Workbooks: what their cells say, as a person sees it.

use airshelf_intake::reader::{CellKind, Format, Merged, ReadFault};

use crate::zipped::{CLOCK, DATE, DATE_AND_CLOCK, NO_STRINGS, PERCENT, SPREADSHEET, ods, xlsx, zipped};
use crate::{book, refused, rows};

#[test]
fn an_xlsx_cell_reads_as_shown() {
    let read = book(
        "runs.csv",
        &xlsx(
            &format!(
                r#"<row r="2"><c r="A2" t="s"><v>0</v></c><c r="C2"><v>277.3</v></c><c r="D2"><v>20.0</v></c></row>
                   <row r="5"><c r="A5" s="{DATE}"><v>45514</v></c><c r="B5" s="{CLOCK}"><v>0.77777777777777779</v></c>
                   <c r="C5" s="{DATE_AND_CLOCK}"><v>45514.777777777781</v></c><c r="D5" s="{PERCENT}"><v>0.48</v></c>
                   <c r="E5" t="b"><v>1</v></c><c r="F5" t="e"><f>1/0</f><v>#DIV/0!</v></c>
                   <c r="G5"><f>A1+B1</f><v>0.30000000000000004</v></c><c r="H5" s="1"/>
                   <c r="I5" t="str"><f>x</f><v>kept &amp; cached</v></c></row>"#
            ),
            false,
            "<sst uniqueCount=\"1\"><si><t>held</t></si></sst>",
        ),
    );
    assert_eq!((read.format, read.encoding, read.delimiter), (Format::Xlsx, None, None));
    let sheet = &read.sheets[0];
    assert_eq!((sheet.name.as_deref(), sheet.hidden), (Some("Runs"), false));
    let first = sheet.row(2).unwrap();
    assert_eq!(first.raw(), "held\t\t277.3\t20");
    assert_eq!((first.len(), first.text(1), first.kind(2)), (4, "", &CellKind::Number(277.3)));
    assert_eq!(first.cells().count(), 3);
    let second = sheet.row(5).unwrap();
    assert_eq!(
        second.raw(),
        "2024-08-10\t18:40\t2024-08-10T18:40:00\t48%\tTRUE\t#DIV/0!\t0.3\t\tkept & cached"
    );
    assert_eq!(second.kind(0), &CellKind::Date("2024-08-10".into()));
    assert_eq!(second.kind(1), &CellKind::Text);
    assert_eq!(second.kind(3), &CellKind::Number(0.48));
    assert_eq!((second.kind(4), second.kind(5)), (&CellKind::Bool(true), &CellKind::Error));
    let block = Merged { first_row: 1, last_row: 2, first_column: 0, last_column: 2 };
    assert_eq!(sheet.merged, [block]);
    assert!(read.sheets[1].hidden);
    assert_eq!(rows_of(&read, 1), [(3, vec!["", "7"])]);
}

fn rows_of(book: &airshelf_intake::reader::Workbook, sheet: usize) -> Vec<(u32, Vec<&str>)> {
    let rows = book.sheets[sheet].rows.iter();
    rows.map(|row| (row.number(), crate::texts(row))).collect()
}

#[test]
fn dates_count_from_the_workbooks_epoch() {
    let cell = format!(r#"<row r="1"><c r="A1" s="{DATE}"><v>44052</v></c></row>"#);
    assert_eq!(rows(&book("a.xlsx", &xlsx(&cell, true, NO_STRINGS))), [(1, vec!["2024-08-10"])]);
    assert_eq!(rows(&book("a.xlsx", &xlsx(&cell, false, NO_STRINGS))), [(1, vec!["2020-08-09"])]);
}

#[test]
fn rows_out_of_order_are_put_in_order() {
    let cells = r#"<row r="9"><c r="B9"><v>4</v></c><c r="A9"><v>3</v></c></row><row r="2"><c r="A2"><v>1</v></c></row>
                   <row r="9"><c r="C9"><v>5</v></c></row>"#;
    let read = book("a.xlsx", &xlsx(cells, false, NO_STRINGS));
    assert_eq!(rows(&read), [(2, vec!["1"]), (9, vec!["3", "4", "5"])]);
}

#[test]
fn an_ods_cell_reads_as_shown() {
    let read = book(
        "runs.ods",
        &ods(
            r#"<style:style style:name="ta1" style:family="table"><style:table-properties table:display="false"/></style:style>"#,
            r#"<table:table-column/><table:table-header-rows><table:table-row>
               <table:table-cell office:value-type="string" table:number-columns-spanned="2" table:number-rows-spanned="1"><text:p>lid<text:s text:c="2"/>&amp; <text:span>base</text:span></text:p><text:p>two</text:p></table:table-cell>
               <table:covered-table-cell/>
               <table:table-cell office:value-type="float" office:value="277.3"><text:p>277,30</text:p></table:table-cell>
               </table:table-row></table:table-header-rows>
               <table:table-row table:number-rows-repeated="3"><table:table-cell table:number-columns-repeated="1024"/></table:table-row>
               <table:table-row table:number-rows-repeated="2"><table:table-cell/>
               <table:table-cell office:value-type="date" office:date-value="2024-08-24"><text:p>24.8.</text:p></table:table-cell>
               <table:table-cell office:value-type="time" office:time-value="PT18H40M00S"><text:p>6:40 PM</text:p></table:table-cell>
               <table:table-cell office:value-type="percentage" office:value="0.07"><text:p>7 %</text:p></table:table-cell>
               <table:table-cell office:value-type="boolean" office:boolean-value="true"><text:p>WAHR</text:p></table:table-cell>
               <table:table-cell office:value-type="string" calcext:value-type="error"><text:p>#DIV/0!</text:p></table:table-cell>
               <table:table-cell office:value-type="string" table:number-columns-repeated="2"><office:annotation><text:p>a note</text:p></office:annotation><text:p>do.</text:p></table:table-cell>
               </table:table-row><table:table-row table:number-rows-repeated="1048570"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>"#,
        ),
    );
    assert_eq!(read.format, Format::Ods);
    let sheet = &read.sheets[0];
    assert!(sheet.hidden);
    let block = Merged { first_row: 1, last_row: 1, first_column: 0, last_column: 1 };
    assert_eq!(sheet.merged, [block]);
    let shown = vec!["", "2024-08-24", "18:40", "7%", "TRUE", "#DIV/0!", "do.", "do."];
    assert_eq!(rows(&read), [(1, vec!["lid  & base\ntwo", "", "277.3"]), (5, shown.clone()), (6, shown)]);
    let row = sheet.row(6).unwrap();
    assert_eq!(row.kind(1), &CellKind::Date("2024-08-24".into()));
    assert_eq!((row.kind(3), row.kind(5)), (&CellKind::Number(0.07), &CellKind::Error));
}

/// An old compound file that names a stream.
fn compound(stream: &str) -> Vec<u8> {
    let mut bytes = vec![0xD0, 0xCF, 0x11, 0xE0, 0xA1, 0xB1, 0x1A, 0xE1];
    bytes.resize(1024, 0);
    bytes.extend(stream.encode_utf16().flat_map(u16::to_le_bytes));
    bytes.resize(2048, 0);
    bytes
}

#[test]
fn encrypted_workbooks_say_so() {
    let by_flag = zipped(&[
        ("mimetype", SPREADSHEET),
        (
            "META-INF/manifest.xml",
            r#"<manifest:manifest><manifest:file-entry manifest:full-path="content.xml"><manifest:encryption-data/></manifest:file-entry></manifest:manifest>"#,
        ),
        ("content.xml", "rubbish"),
    ]);
    let whole = zipped(&[("mimetype", SPREADSHEET), ("encrypted-package", "rubbish")]);
    for bytes in [compound("EncryptedPackage"), by_flag, whole] {
        let fault = refused("runs.xlsx", &bytes);
        assert_eq!(fault, ReadFault::Encrypted { file: "runs.xlsx".into() });
        assert!(fault.to_string().contains("password"));
    }
}

#[test]
fn old_workbooks_ask_to_be_saved_as_xlsx() {
    let binary = zipped(&[("[Content_Types].xml", ""), ("xl/workbook.bin", "")]);
    for bytes in [compound("Workbook"), b"\x09\x08\x08\0\0\0\x05\0".to_vec(), binary] {
        let fault = refused("runs.csv", &bytes);
        assert!(matches!(fault, ReadFault::OldFormat { .. }), "{fault:?}");
        assert!(fault.to_string().contains("save it as XLSX"));
    }
}

#[test]
fn other_zipped_files_are_no_table() {
    for (members, what) in [
        (vec![("[Content_Types].xml", ""), ("word/document.xml", "")], "text document"),
        (vec![("holiday.jpg", "")], "zip archive"),
        (vec![("mimetype", "application/vnd.oasis.opendocument.text")], "no spreadsheet"),
    ] {
        let fault = refused("runs.xlsx", &zipped(&members));
        assert!(matches!(&fault, ReadFault::NotATable { looks_like, .. } if looks_like.contains(what)));
    }
}

#[test]
fn a_workbook_without_content_is_empty() {
    let empty = ods("", "<table:table-row><table:table-cell/></table:table-row>");
    assert!(matches!(refused("a.ods", &empty), ReadFault::Empty { .. }));
}
