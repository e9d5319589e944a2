//! Small workbooks made by hand for the tests.

use std::io::{Cursor, Write};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// Zips members; deflated, but for the ODF `mimetype`.
pub fn zipped(members: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in members {
        let method = match *name {
            "mimetype" => CompressionMethod::Stored,
            _ => CompressionMethod::Deflated,
        };
        let options = SimpleFileOptions::default().compression_method(method);
        zip.start_file(*name, options).unwrap();
        zip.write_all(content.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

const TYPES: &str = r#"<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>"#;
const ROOT: &str = r#"<Relationships><Relationship Id="r" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const RELATIONS: &str = r#"<Relationships><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet2.xml"/></Relationships>"#;
const STYLES: &str = r#"<styleSheet><numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy-mm-dd hh:mm"/></numFmts><cellXfs count="5"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="20"/><xf numFmtId="9"/><xf numFmtId="164"/></cellXfs></styleSheet>"#;

/// Cell styles of [`xlsx`]: date, clock, percent, date and clock.
pub const DATE: u32 = 1;
pub const CLOCK: u32 = 2;
pub const PERCENT: u32 = 3;
pub const DATE_AND_CLOCK: u32 = 4;

/// A workbook with the sheets `Runs` (the XML of its rows given) and a hidden
/// `Scratch`, and shared strings.
pub fn xlsx(rows: &str, from_1904: bool, strings: &str) -> Vec<u8> {
    let sheet = format!(
        r#"<worksheet><sheetData>{rows}</sheetData><mergeCells count="1"><mergeCell ref="A1:C2"/></mergeCells></worksheet>"#
    );
    let scratch = r#"<worksheet><sheetData><row r="3"><c r="B3"><v>7</v></c></row></sheetData></worksheet>"#;
    let workbook = format!(
        r#"<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><workbookPr date1904="{}"/><sheets><sheet name="Runs" sheetId="1" r:id="r1"/><sheet name="Scratch" sheetId="2" state="hidden" r:id="r2"/></sheets></workbook>"#,
        u8::from(from_1904)
    );
    zipped(&[
        ("[Content_Types].xml", TYPES),
        ("_rels/.rels", ROOT),
        ("xl/workbook.xml", &workbook),
        ("xl/_rels/workbook.xml.rels", RELATIONS),
        ("xl/styles.xml", STYLES),
        ("xl/sharedStrings.xml", strings),
        ("xl/worksheets/sheet1.xml", &sheet),
        ("xl/worksheets/sheet2.xml", scratch),
    ])
}

/// Shared strings without any.
pub const NO_STRINGS: &str = "<sst/>";

pub const SPREADSHEET: &str = "application/vnd.oasis.opendocument.spreadsheet";

/// A spreadsheet whose sheet `Runs` has the rows given, after the automatic
/// styles given.
pub fn ods(styles: &str, rows: &str) -> Vec<u8> {
    let content = format!(
        r#"<?xml version="1.0"?><office:document-content xmlns:office="o" xmlns:table="t" xmlns:text="x" xmlns:style="s"><office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet><table:table table:name="Runs" table:style-name="ta1">{rows}</table:table></office:spreadsheet></office:body></office:document-content>"#
    );
    zipped(&[
        ("mimetype", SPREADSHEET),
        ("META-INF/manifest.xml", "<manifest:manifest/>"),
        ("content.xml", &content),
    ])
}
