//! The sixteen sample files, byte for byte, with what their makers say of
//! them.

use std::path::PathBuf;

use airshelf_intake::reader::Format::{self, Csv, Ods, Xlsx};
use airshelf_intake::reader::{CellKind, Quoting, Workbook};

use crate::book;

/// File, format, encoding, delimiter, quoting, SHA-256.
type Sample = (&'static str, Format, Option<&'static str>, Option<char>, Option<Quoting>, &'static str);

#[rustfmt::skip]
const SAMPLES: [Sample; 16] = [
    ("01-runs-april.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "c60ada61adbb5f7431dfcdcc06baa6c8b15efbdb86e79907c70007c3762a79fa"),
    ("02-parts-shelf.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "91b26342f47aa3272b0975e74fa15ed241c2290db4bfed721d371a0cb86e9ca6"),
    ("03-parts-second-box.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "0ea3bc20cc52d374b889578fae95ea7eac99e45587b36411a2456aaaa2490b1b"),
    ("04-runs-may.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "fe8457c3248914171b617d761404ea3a4e67fb44efc0c0b4efa94148af532e9f"),
    ("05-page-31.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "0ed57886f73fd8763cea1dcf959c2059d4727905413a78d503ded0fe2b5859ab"),
    ("06-metric-evening.csv", Csv, Some("utf-8-sig"), Some(';'), Some(Quoting::Minimal), "841cf8602c57a391d01c3741b0f86240e8e389086928172f4d7b7a72bacea005"),
    ("07-bench-log.tsv", Csv, Some("utf-8"), Some('\t'), Some(Quoting::None), "f8bae3e4e2da27e0cb831d8c244f757ab9f634be50e9501802e25d8d2b465673"),
    ("08-season-book.xlsx", Xlsx, None, None, None, "ae997816677fe1a2db8cd196b7af9b159ad456d4f6129300e91956bb2eaae3af"),
    ("09-lid-evenings.ods", Ods, None, None, None, "bd8e36e169650a06302a2b77698ed92b9c0639c375a967ee5458bb9ca4e963ac"),
    ("10-lid-by-filter.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "5c6f3a1b2ec3a92e3bbaf63a61973a59c45bdad33a13ad2502d7193f1c22ecfa"),
    ("11-winners.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "cb5a84fcc8664a8dc2b6cc7ec0ab592a225bae327483a676baf0b0ea0d81f66b"),
    ("12-old-export.txt", Csv, Some("utf-16"), Some('\t'), Some(Quoting::Minimal), "f7cc6430a3c48da7b39f214513236ff74254227bcdc946fe4ee26bec4ec16efa"),
    ("13-may-again.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::Minimal), "606042289061b3230214ac574d8c414395f8ab28fe960119978f1bc4a3fcd5e8"),
    ("14-clean-september.csv", Csv, Some("cp1252"), Some(','), Some(Quoting::Minimal), "3917681801bc6f8544bcddc73970894a6ae867b654d7ecb450ff1bc7ff6b5920"),
    ("15-clean-notebook.xlsx", Xlsx, None, None, None, "e822aa4bd25b9b2aef83e1e71385b2f0724498a7fd9f21e296213c3e6e938311"),
    ("16-runs-november.csv", Csv, Some("utf-8"), Some(','), Some(Quoting::All), "36ce509cb9c6334c23dd0d87fb796ba97e3bc90007e402251fd55f470cfca26c"),
];

/// Name and bytes of a sample.
pub fn sample(which: usize) -> (&'static str, Vec<u8>) {
    let name = SAMPLES[which].0;
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/sheets/visible");
    (name, std::fs::read(folder.join(name)).unwrap())
}

fn open(which: usize) -> Workbook {
    let (name, bytes) = sample(which);
    book(name, &bytes)
}

#[test]
fn every_sample_is_told_for_what_it_is() {
    for (which, (name, format, encoding, delimiter, quoting, sha256)) in SAMPLES.into_iter().enumerate() {
        let read = open(which);
        assert_eq!(read.format, format, "{name}");
        assert_eq!(read.encoding, encoding, "{name}");
        assert_eq!(read.delimiter, delimiter, "{name}");
        assert_eq!(read.quoting, quoting, "{name}");
        let digest: String = read.sha256.iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(digest, sha256, "{name}");
    }
}

#[test]
fn cells_stand_where_the_file_has_them() {
    for (which, sheet, row, column, raw) in [
        (0, 0, 2, 14, "19.97"),
        (2, 0, 3, 6, "11\""),
        (4, 0, 9, 9, "277.0"),
        (5, 0, 2, 16, "1.004,4"),
        (6, 0, 5, 12, "\""),
        (7, 1, 6, 3, "11x3"),
        (7, 1, 6, 10, "1,008 sq in"),
        (7, 2, 6, 13, "277.3"),
        (9, 0, 8, 1, "14.6 @ 12 inH2O"),
        (11, 0, 18, 14, "283.2"),
        (13, 0, 7, 6, "9½x3½"),
        (14, 0, 10, 4, "30 mm"),
        (15, 0, 33, 13, "20"),
    ] {
        let read = open(which);
        let found = read.sheets[sheet].row(row);
        assert_eq!(found.map(|row| row.text(column)), Some(raw), "{}", SAMPLES[which].0);
    }
}

#[test]
fn sheets_and_rows_keep_names_and_numbers() {
    let season = open(7);
    let names: Vec<_> = season.sheets.iter().map(|s| s.name.as_deref().unwrap()).collect();
    assert_eq!(
        names,
        ["Read me", "Parts", "10 August", "17 August", "27 July", "Guesses", "Carbs", "Sheet3"]
    );
    let written = &season.sheets[5].rows[2];
    assert_eq!(written.kind(7), &CellKind::Date("2024-08-09T20:15:00".into()));
    let lids = open(8);
    let numbers: Vec<u32> = lids.sheets[0].rows.iter().map(|row| row.number()).collect();
    assert_eq!(numbers[..6], [1, 2, 3, 4, 5, 8]);
    assert_eq!(lids.sheets[0].rows[1].kind(1), &CellKind::Date("2024-08-24".into()));
    let page = open(4);
    assert!(page.sheets[0].row(7).is_none());
    assert_eq!(page.sheets[0].row(8).unwrap().text(9), "Flow, CFM");
}
