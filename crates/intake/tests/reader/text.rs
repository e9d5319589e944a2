//! Text files: delimiters, quotes, line numbers, encodings.

use airshelf_intake::reader::{Limits, Quoting, ReadFault, Source, open, read};

use crate::{book, read_all, refused, rows, texts};

fn utf16(text: &str, big: bool, mark: bool) -> Vec<u8> {
    let mark = if mark { "\u{FEFF}" } else { "" };
    let units = mark.encode_utf16().chain(text.encode_utf16());
    let bytes = units.map(|unit| if big { unit.to_be_bytes() } else { unit.to_le_bytes() });
    bytes.flatten().collect()
}

#[test]
fn semicolons_win_over_decimal_commas() {
    let two = book("a.csv", b"lid;loss\nsolid;17,0\nvented;14,8\n");
    assert_eq!(two.delimiter, Some(';'));
    let even = book("b.csv", b"1,5;2,5;3,5\n4,5;5,5;6,5\n7,5;8,5;9,5\n");
    assert_eq!(even.delimiter, Some(';'));
    assert_eq!(rows(&even)[2], (3, vec!["7,5", "8,5", "9,5"]));
}

#[test]
fn commas_between_digits_separate_where_nothing_else_does() {
    let table = book("a.csv", b"1,2,3\n4,5,6\n");
    assert_eq!(rows(&table), [(1, vec!["1", "2", "3"]), (2, vec!["4", "5", "6"])]);
}

#[test]
fn pipes_and_tabs_separate() {
    assert_eq!(book("a.txt", b"lid|loss\nsolid|17\n").delimiter, Some('|'));
    let tabs = book("a.csv", b"lid\tnote\nsolid\tno, not yet\nvented\tyes, twice\n");
    assert_eq!(tabs.delimiter, Some('\t'));
}

#[test]
fn header_lines_and_comments_hardly_count() {
    let page = "Shed, winter; cold, wet, windy\nlow, lower, lowest\n\n# a,b,c,d,e,f\n\
                lid;filter;loss\nsolid;paper, 11x3;17\nvented;foam;9\ndomed;foam;8\n";
    let read = book("a.csv", page.as_bytes());
    assert_eq!(read.delimiter, Some(';'));
    let numbers: Vec<u32> = read.sheets[0].rows.iter().map(|row| row.number()).collect();
    assert_eq!(numbers, [1, 2, 4, 5, 6, 7, 8]);
    assert!(read.sheets[0].row(4).unwrap().is_comment());
    assert!(read.sheets[0].row(3).is_none());
}

#[test]
fn a_quoted_comment_is_a_comment() {
    let read = book("a.csv", b"tag,name\n\"# box two, steel rule\"\nPF-1,paper\n");
    let comment = &read.sheets[0].rows[1];
    assert!(comment.is_comment());
    assert_eq!(texts(comment), ["# box two, steel rule"]);
    assert_eq!(comment.raw(), "\"# box two, steel rule\"");
}

#[test]
fn the_spreadsheet_hint_names_the_delimiter() {
    let read = book("a.csv", b"sep=;\r\na,b;c,d\r\ne,f;g\r\n");
    assert_eq!(rows(&read)[1], (2, vec!["a,b", "c,d"]));
}

#[test]
fn one_column_has_no_delimiter() {
    let read = book("a.txt", b"solid\nvented\n");
    assert_eq!((read.delimiter, rows(&read).len()), (None, 2));
}

#[test]
fn lines_within_a_quoted_cell_count() {
    let read = book("a.csv", b"a,b\r\n1,\"two\r\nlines\"\r\n\r\n\"x\"\"y\",2");
    assert_eq!(rows(&read), [(1, vec!["a", "b"]), (2, vec!["1", "two\r\nlines"]), (5, vec!["x\"y", "2"])]);
    assert_eq!(read.sheets[0].rows[1].raw(), "1,\"two\r\nlines\"");
    assert_eq!(read.sheets[0].rows[2].raw(), "\"x\"\"y\",2");
}

#[test]
fn any_line_end_will_do() {
    for end in ["\n", "\r\n", "\r"] {
        let text = ["lid,loss", "", "solid,17", "vented,14"].join(end);
        let read = book("a.csv", text.as_bytes());
        let numbers: Vec<u32> = read.sheets[0].rows.iter().map(|row| row.number()).collect();
        assert_eq!(numbers, [1, 3, 4], "{end:?}");
    }
}

#[test]
fn ragged_rows_keep_their_own_width() {
    let read = book("a.csv", b"a,b,c\n1\n1,2,3,4,\n,,\n");
    let widths: Vec<usize> = read.sheets[0].rows.iter().map(|row| row.len()).collect();
    assert_eq!(widths, [3, 1, 5, 3]);
    assert!(read.sheets[0].rows[3].is_blank());
    assert_eq!(read.sheets[0].rows[1].text(7), "");
}

#[test]
fn a_lone_mark_is_a_ditto() {
    let log = b"lid\theld\tflow\nLD-1\tfastened\t260\n\"\t\"\t261\nLD-2\t\"\t262\n";
    let read = book("log.tsv", log);
    assert_eq!(read.quoting, Some(Quoting::None));
    assert_eq!(rows(&read)[2], (3, vec!["\"", "\"", "261"]));
}

#[test]
fn a_stray_mark_swallows_nothing() {
    let read = book("a.csv", b"tag,note\nPF-1,\"11 inch, new\nPF-2,old\nPF-3,\"9\" round\nPF-4,x\n");
    assert_eq!(rows(&read).len(), 5);
    assert_eq!(read.sheets[0].row(4).unwrap().text(1), "\"9\" round");
}

#[test]
fn a_mark_closed_only_hundreds_of_rows_later_swallows_none_of_them() {
    let mut text = String::from("tag,note,size\nPF-0,\"11 inch,x\n");
    for n in 1..300 {
        text += &format!("PF-{n},old,\"2, maybe 3\"\"\"\n");
    }
    let plain = text.replace("\"2, maybe 3\"\"\"", "2") + "PF-300,9 inch\",2\n";
    let read = book("a.csv", plain.as_bytes());
    assert_eq!(rows(&read).len(), 302);
    assert_eq!(rows(&read)[1], (2, vec!["PF-0", "\"11 inch", "x"]));
    // Quotes after the stray mark still hold.
    let read = book("a.csv", text.as_bytes());
    assert_eq!(rows(&read)[300], (301, vec!["PF-299", "old", "2, maybe 3\""]));
}

#[test]
fn cells_after_one_of_several_lines_belong_to_its_row() {
    let read = book("a.csv", b"a,b,c,d\n\"1\n\n2\",,\"x, y\nz\",\"9\" round\n5,\"6\n\",\n7,8,9,0\n");
    assert_eq!(
        rows(&read)[1..],
        [
            (2, vec!["1\n\n2", "", "x, y\nz", "\"9\" round"]),
            (6, vec!["5", "6\n", ""]),
            (8, vec!["7", "8", "9", "0"]),
        ]
    );
}

#[test]
fn a_byte_order_mark_within_the_text_is_text() {
    let read = book("a.csv", "\u{FEFF}\u{FEFF}lid,loss\n\u{FEFF}solid,17\n".as_bytes());
    assert_eq!(rows(&read), [(1, vec!["\u{FEFF}lid", "loss"]), (2, vec!["\u{FEFF}solid", "17"])]);
}

#[test]
fn quotes_everywhere_are_told() {
    let read = book("a.csv", b"\"a\",\"b, c\"\n\"1\",\"\"\n");
    assert_eq!(read.quoting, Some(Quoting::All));
    assert_eq!(rows(&read)[1], (2, vec!["1", ""]));
}

#[test]
fn utf16_is_told_without_a_byte_order_mark() {
    for (big, mark, name) in [
        (false, true, "utf-16"),
        (true, true, "utf-16"),
        (false, false, "utf-16le"),
        (true, false, "utf-16be"),
    ] {
        let read = book("a.txt", &utf16("lid\tair °C\nsolid\t20\n", big, mark));
        assert_eq!((read.encoding, read.delimiter), (Some(name), Some('\t')));
        assert_eq!(read.sheets[0].rows[0].text(1), "air °C");
    }
}

#[test]
fn bytes_beyond_utf8_read_as_windows_1252() {
    let read = book("a.csv", b"size,air\n11x2\xBC,70 \xB0F\n9\xBDx3\xBD,71 \xB0F\n");
    assert_eq!(read.encoding, Some("cp1252"));
    assert_eq!(rows(&read)[1].1, ["11x2¼", "70 °F"]);
    let accents = book("b.csv", b"lid,note\nsolid,d\xE9j\xE0 vu, Stra\xDFe, M\xFCller\n");
    assert_eq!(accents.encoding, Some("cp1252"));
    assert_eq!(accents.sheets[0].rows[1].text(1), "déjà vu");
}

#[test]
fn a_broken_character_names_its_line() {
    let utf8 = refused("a.csv", "air,°C\n\n½,\u{B0}\n".as_bytes().strip_suffix(b"\xB0\n").unwrap());
    assert_eq!(utf8, ReadFault::BadEncoding { file: "a.csv".into(), line: 3, encoding: "utf-8" });
    let odd = utf16("lid\tloss\nsolid\t17\n", false, true);
    assert!(matches!(refused("b.txt", &odd[..odd.len() - 3]), ReadFault::BadEncoding { line: 2, .. }));
    // 0x81 is no character in Windows-1252.
    assert!(matches!(
        refused("c.csv", b"a,\xB0\nb,\x81\n"),
        ReadFault::BadEncoding { line: 2, encoding: "cp1252", .. }
    ));
}

#[test]
fn a_byte_order_mark_is_no_text() {
    let read = book("a.csv", "\u{FEFF}lid,loss\nsolid,17\n".as_bytes());
    assert_eq!((read.encoding, read.sheets[0].rows[0].text(0)), (Some("utf-8-sig"), "lid"));
}

#[test]
fn content_decides_and_not_the_name() {
    let read = book("book.xlsx", b"lid,loss\nsolid,17\n");
    assert_eq!(read.delimiter, Some(','));
    for (bytes, what) in [
        (&b"%PDF-1.7\n..."[..], "PDF"),
        (b"\x89PNG\r\n\x1A\n\0\0", "PNG"),
        (b"\xFF\xD8\xFF\xE0\0\x10JFIF", "JPEG"),
        (b"\n <!DOCTYPE HTML><table>", "web page"),
        (b"<?xml version=\"1.0\"?><a/>", "XML"),
        (b"{\"runs\": []}", "JSON"),
        (b"a,b\n\x01\x02\x03\x04\x05\0\0\x06", "binary"),
    ] {
        let fault = refused("records.csv", bytes);
        assert!(matches!(fault, ReadFault::NotATable { .. }), "{fault:?}");
        assert!(fault.to_string().contains(what), "{fault}");
    }
    // Two letters that a picture also begins with.
    assert_eq!(rows(&book("a.csv", b"BM,loss\nMZ,1\n")).len(), 2);
}

#[test]
fn nothing_is_empty() {
    for nothing in [&b""[..], b"\n\n  \r\n", b"\xEF\xBB\xBF", b"\xFF\xFE\n\0", b"\0\0\0"] {
        assert!(matches!(refused("a.csv", nothing), ReadFault::Empty { .. }), "{nothing:?}");
    }
}

#[test]
fn limits_name_the_row() {
    let narrow = Limits { columns: 3, ..Limits::default() };
    assert!(matches!(
        read("a.csv", b"a,b\n1,2\n\n1,2,3,4\n", &narrow),
        Err(ReadFault::TooWide { row: 4, limit: 3, .. })
    ));
    let few = Limits { text_cells: 3, ..Limits::default() };
    assert!(matches!(read("a.csv", b"a,b\n1,2\n", &few), Err(ReadFault::TooManyCells { limit: 3, .. })));
    let short = Limits { file_bytes: 4, ..Limits::default() };
    assert!(matches!(read("a.csv", b"a,b\n1\n", &short), Err(ReadFault::TooLarge { .. })));
}

#[test]
fn rows_one_at_a_time_are_the_rows_of_the_whole() {
    let text = b"a;b\n\n\"x\ny\";2\n# note\n3;4";
    let Source::Text(file) = open("a.csv", text, &Limits::default()).unwrap() else {
        panic!("text is no spreadsheet");
    };
    let one_by_one: Vec<_> = file.rows().map(Result::unwrap).collect();
    let whole = read_all("a.csv", text).unwrap();
    assert_eq!(one_by_one, whole.sheets[0].rows);
    assert_eq!((file.delimiter(), file.sha256), (whole.delimiter, whole.sha256));
}
