//! What holds for any file: no panic, and what a CSV writer wrote comes back.

use airshelf_intake::reader::{Limits, read};
use proptest::prelude::*;

use crate::samples::sample;
use crate::zipped::{NO_STRINGS, ods, xlsx};
use crate::{book, read_all};

/// A cell that no reader could take for something else: it neither begins nor
/// ends with a delimiter or line end, which could pass for a ditto mark.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[0-9]{1,3}\\.[0-9]",
        2 => "[A-Z]{2}-[0-9]",
        2 => "[ -+\\--~°½é\"]([ -~°½\r\n\"]{0,10}[ -+\\--~\"])?",
        1 => Just(String::new()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    // Against the csv crate's writer, a general-purpose library.
    #[test]
    fn a_written_table_reads_back_equal(table in prop::collection::vec(prop::collection::vec(cell(), 2..6), 1..12)) {
        let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(b"sep=,\n".to_vec());
        for row in &table {
            writer.write_record(row).unwrap();
        }
        let bytes = writer.into_inner().unwrap();
        let read = book("table.csv", &bytes);
        let mut number = 2;
        let mut rows = read.sheets[0].rows.iter();
        prop_assert_eq!(rows.next().unwrap().raw(), "sep=,");
        for (row, written) in rows.by_ref().zip(&table) {
            prop_assert_eq!(crate::texts(row), written.iter().map(String::as_str).collect::<Vec<_>>());
            prop_assert_eq!(row.number(), number);
            let ends = row.raw().replace("\r\n", "\n").matches(['\n', '\r']).count();
            number += 1 + ends as u32;
        }
        prop_assert!(rows.next().is_none());
        prop_assert_eq!(read.sheets[0].rows.len(), table.len() + 1);
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = read_all("any", &bytes);
    }

    #[test]
    fn any_text_keeps_every_line(text in "[ -~\t\r\n\"';,|°½]{0,300}") {
        if let Ok(read) = read_all("any", text.as_bytes()) {
            let raw: Vec<String> = read.sheets[0].rows.iter().map(|row| row.raw().into_owned()).collect();
            let joined = |text: &str| text.replace(['\r', '\n'], "");
            prop_assert_eq!(joined(&raw.concat()), joined(&text));
        }
    }

    #[test]
    fn a_damaged_sample_never_panics(which in 0usize..16, damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6)) {
        let (name, mut bytes) = sample(which);
        for (at, byte) in damage {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        let _ = read_all(name, &bytes);
    }

    #[test]
    fn damaged_sheets_never_panic(
        rows in "(<row( r=\"[0-9A-Z-]{0,11}\")?>(<c( r=\"[A-Z]{0,5}[0-9-]{0,11}\")?( s=\"[0-9-]{1,3}\")?( t=\"(s|n|b|e|d|str|inlineStr)\")?>(<v>[-0-9.e#A-Z:/!]{0,9}</v>|<is><t>&?x;?</t></is>|<f/>)?</c>){0,3}</row>){0,4}",
        table in "(<table:table-row( table:number-rows-repeated=\"[0-9-]{0,11}\")?>(<table:table-cell( table:number-columns-repeated=\"[0-9]{0,11}\")?( table:number-rows-spanned=\"[0-9]{0,11}\")?( office:value-type=\"(float|date|time|string|boolean)\")?( office:value=\"[0-9.e-]{0,5}\")?( office:date-value=\"[0-9T:-]{0,12}\")?( office:time-value=\"P?T[0-9HMS.]{0,6}\")?>(<text:p>a(&[a-z]{1,3};)?<text:s text:c=\"[0-9]{0,11}\"/></text:p>)?</table:table-cell>){0,3}</table:table-row>){0,4}",
    ) {
        let limits = Limits { sheet_cells: 10_000, unpacked_bytes: 1 << 20, ..Limits::default() };
        let _ = read("a.xlsx", &xlsx(&rows, false, NO_STRINGS), &limits);
        let _ = read("a.ods", &ods("", &table), &limits);
    }
}
