//! How a spreadsheet's numbers, dates and clock times read as text: civil, as
//! written, in no time zone.

use calamine::{ExcelDateTime, ExcelDateTimeType};

use super::CellKind;

/// Shows a number as spreadsheets do: at most 15 significant digits, the
/// fewest that give that value back; `277.3`, `20`, `0.3` for 0.1 + 0.2.
pub(super) fn number(value: f64) -> String {
    let shortest = value.to_string();
    if shortest.len() <= 15 && value != 0.0 {
        return shortest;
    }
    // The text of a float with 15 digits always parses.
    let value: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    if value == 0.0 {
        "0".into()
    } else if value.is_finite() && !(1e-9..1e15).contains(&value.abs()) {
        format!("{value:e}")
    } else {
        value.to_string()
    }
}

/// Shows a number in a percent format.
pub(super) fn percent(value: f64) -> String {
    format!("{}%", number(value * 100.0))
}

/// Gives the text and kind of a serial date, time or duration (ECMA-376
/// part 1, 18.17.4), to the second.
pub(super) fn serial(value: f64, duration: bool, from_1904: bool) -> (String, CellKind) {
    let seconds = (value * 86_400.0).round();
    if !(0.0..1e12).contains(&seconds) {
        return (number(value), CellKind::Number(value));
    }
    let seconds = seconds as u64;
    if duration || seconds < 86_400 {
        return (clock(seconds), CellKind::Text);
    }
    let (day, rest) = (seconds / 86_400, seconds % 86_400);
    let midnight = ExcelDateTime::new(day as f64, ExcelDateTimeType::DateTime, from_1904);
    let (year, month, day, ..) = midnight.to_ymd_hms_milli();
    let mut text = format!("{year:04}-{month:02}-{day:02}");
    if rest > 0 {
        let (hours, minutes) = (rest / 3600, rest / 60 % 60);
        text += &format!("T{hours:02}:{minutes:02}:{:02}", rest % 60);
    }
    (text.clone(), CellKind::Date(text))
}

/// Gives the text and kind of an ISO 8601 date, or date and time, without its
/// midnight, fraction of a second and zone; text where it is none.
pub(super) fn iso(written: &str) -> (String, CellKind) {
    let date = written.get(..10).unwrap_or_default();
    let shaped = |text: &str, shape: &str| {
        text.len() == shape.len()
            && text.bytes().zip(shape.bytes()).all(|(byte, wanted)| match wanted {
                b'0' => byte.is_ascii_digit(),
                _ => byte == wanted,
            })
    };
    if !shaped(date, "0000-00-00") {
        return (written.to_owned(), CellKind::Text);
    }
    let time = written.get(11..).unwrap_or_default();
    let time = match time.get(..8).or(time.get(..5)) {
        Some(time) if shaped(time, "00:00:00") => time.to_owned(),
        Some(time) if shaped(time, "00:00") => format!("{time}:00"),
        _ => String::new(),
    };
    let text = match time.as_str() {
        "" | "00:00:00" => date.to_owned(),
        time => format!("{date}T{time}"),
    };
    (text.clone(), CellKind::Date(text))
}

/// Gives an ISO 8601 duration (`PT18H40M00S`) as a clock shows it.
pub(super) fn iso_duration(written: &str) -> Option<String> {
    let mut left = written.trim().strip_prefix("PT")?;
    let mut seconds = 0.0;
    while let Some(end) = left.find(['H', 'M', 'S']) {
        let unit = match left.as_bytes()[end] {
            b'H' => 3600.0,
            b'M' => 60.0,
            _ => 1.0,
        };
        seconds += left[..end].replace(',', ".").parse::<f64>().ok()? * unit;
        left = &left[end + 1..];
    }
    let seconds = seconds.round();
    ((0.0..1e12).contains(&seconds) && left.is_empty()).then(|| clock(seconds as u64))
}

/// Hours and minutes, and seconds where there are any.
fn clock(seconds: u64) -> String {
    let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if rest == 0 { format!("{hours:02}:{minutes:02}") } else { format!("{hours:02}:{minutes:02}:{rest:02}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_show_the_fewest_digits() {
        assert_eq!(number(277.3), "277.3");
        assert_eq!(number(20.0), "20");
        assert_eq!(number(0.1 + 0.2), "0.3");
        assert_eq!(number(-0.0), "0");
        assert_eq!(number(1e300), "1e300");
        assert_eq!(number(1e-7), "0.0000001");
        assert_eq!(number(-2.5e-12), "-2.5e-12");
        assert_eq!(percent(0.07), "7%");
    }

    // Serials and dates: ECMA-376 part 1, 18.17.4.1 (1900 and 1904 bases).
    #[test]
    fn serial_dates_are_civil_in_both_epochs() {
        assert_eq!(serial(45514.0, false, false).0, "2024-08-10");
        assert_eq!(serial(45514.0 - 1462.0, false, true).0, "2024-08-10");
        assert_eq!(serial(45_514.777_777_78, false, false).0, "2024-08-10T18:40:00");
        assert_eq!(serial(0.777_777_78, false, false), ("18:40".into(), CellKind::Text));
        assert_eq!(serial(1.5, true, false).0, "36:00");
        assert_eq!(serial(-1.0, false, false).0, "-1");
    }

    #[test]
    fn iso_dates_lose_midnight_and_zone_only() {
        assert_eq!(iso("2024-08-24T00:00:00").0, "2024-08-24");
        assert_eq!(iso("2024-08-24T18:40:00.000Z").0, "2024-08-24T18:40:00");
        assert_eq!(iso("soon"), ("soon".into(), CellKind::Text));
        assert_eq!(iso_duration("PT18H40M00S").as_deref(), Some("18:40"));
        assert_eq!(iso_duration("PT0H05M03.2S").as_deref(), Some("00:05:03"));
        assert_eq!(iso_duration("P1D"), None);
    }
}
