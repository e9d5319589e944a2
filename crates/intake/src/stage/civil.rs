//! Civil dates and clocks as people write them; nothing is moved to another time zone.

use crate::map::DateOrder;
use chrono::{Datelike, NaiveDate};

/// A date as read.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Civil {
    /// `YYYY-MM-DD`, with `THH:MM` where a clock stands beside it.
    pub iso: String,
    /// Whether day and month could be exchanged and nothing else decided.
    pub ambiguous: bool,
}

/// What the dates of a page or file say about their order, counted.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct OrderVotes {
    day: usize,
    month: usize,
}

impl OrderVotes {
    /// Looks at one text that may be a date.
    pub fn hear(&mut self, text: &str) {
        let Some((a, b, _, mark)) = three_numbers(date_part(text)) else { return };
        // A year in front says nothing of the others.
        if a > 31 {
            return;
        }
        if mark == '.' || (a > 12 && b <= 12) {
            self.day += 1;
        } else if b > 12 && a <= 12 {
            self.month += 1;
        }
    }

    /// The order, where the dates decide it.
    pub fn order(&self) -> Option<DateOrder> {
        match self.day.cmp(&self.month) {
            std::cmp::Ordering::Greater => Some(DateOrder::DayFirst),
            std::cmp::Ordering::Less => Some(DateOrder::MonthFirst),
            std::cmp::Ordering::Equal => None,
        }
    }
}

fn date_part(text: &str) -> &str {
    let text = text.trim().trim_end_matches(['.', ',', ';']);
    match text.split_once([' ', 'T']) {
        Some((date, clock)) if clock.contains(':') && date.len() >= 6 => date,
        _ => text,
    }
}

/// Three numbers with the same mark between them.
fn three_numbers(text: &str) -> Option<(u32, u32, u32, char)> {
    let mark = text.chars().find(|c| !c.is_ascii_digit())?;
    if !matches!(mark, '/' | '.' | '-') {
        return None;
    }
    let mut parts = text.split(mark).map(str::trim);
    let mut next = || -> Option<u32> {
        let part = parts.next()?;
        (!part.is_empty() && part.len() <= 4 && part.bytes().all(|b| b.is_ascii_digit()))
            .then(|| part.parse().ok())?
    };
    let found = (next()?, next()?, next()?, mark);
    parts.next().is_none().then_some(found)
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

pub(super) fn month_of(word: &str) -> Option<u32> {
    let word = word.to_lowercase();
    if word.len() < 3 {
        return None;
    }
    MONTHS
        .iter()
        .position(|m| m.starts_with(&word) || word == "sept" && m.starts_with("sep"))
        .map(|m| m as u32 + 1)
        .or_else(|| month_abroad(&word))
}

/// `5.iii.2021`: a month in Roman numerals between the day and the year.
fn roman_month(word: &str) -> Option<u32> {
    const NUMERALS: [&str; 12] = ["i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii"];
    NUMERALS.iter().position(|own| own.eq_ignore_ascii_case(word)).map(|month| month as u32 + 1)
}

/// Months in German, French and Spanish where they differ from English beyond their ends.
const ABROAD: [(u32, &[&str]); 12] = [
    (1, &["januar", "jänner", "janvier", "enero"]),
    (2, &["februar", "février", "fevrier", "febrero"]),
    (3, &["märz", "maerz", "mars", "marzo"]),
    (4, &["avril", "abril"]),
    (5, &["mai", "mayo"]),
    (6, &["juni", "juin", "junio"]),
    (7, &["juli", "juillet", "julio"]),
    (8, &["août", "aout", "agosto"]),
    (9, &["septembre", "septiembre"]),
    (10, &["oktober", "octobre", "octubre"]),
    (11, &["novembre", "noviembre"]),
    (12, &["dezember", "décembre", "decembre", "diciembre"]),
];

fn month_abroad(word: &str) -> Option<u32> {
    let mut fits = ABROAD.iter().filter(|m| m.1.iter().any(|name| name.starts_with(word)));
    let month = fits.next()?.0;
    // `jui` may be two.
    fits.next().is_none().then_some(month)
}

fn year_of(year: u32, digits: usize) -> i32 {
    match (digits, year) {
        (1 | 2, ..70) => 2000 + year as i32,
        (1 | 2, _) => 1900 + year as i32,
        _ => year as i32,
    }
}

fn iso(year: i32, month: u32, day: u32) -> Option<String> {
    let date = NaiveDate::from_ymd_opt(year, month, day)?;
    (1900..=2200).contains(&year).then(|| date.format("%Y-%m-%d").to_string())
}

/// Reads a date; `order` is what the page or file decided, `guess` what to take where nothing did.
pub(crate) fn date(text: &str, order: Option<DateOrder>, guess: DateOrder) -> Option<Civil> {
    // `12 de mayo de 2024`
    if text.contains(" de ") {
        return date(&text.replace(" de ", " "), order, guess);
    }
    let text = text.trim();
    let (day_text, clock_text) = match text.split_once('T') {
        Some((day, clock)) if day.ends_with(|c: char| c.is_ascii_digit()) => (day, Some(clock)),
        _ => match text.rsplit_once(' ') {
            Some((day, clock)) if clock.contains(':') => (day, Some(clock)),
            _ => (text, None),
        },
    };
    // `2024-08-09 8:15 PM` has a clock of two words.
    let (day_text, clock_text) = match (clock_text, text.find(':')) {
        (None, Some(_)) => match text.split_once(' ') {
            Some((day, rest)) => (day, Some(rest)),
            None => (day_text, clock_text),
        },
        _ => (day_text, clock_text),
    };
    let (iso, ambiguous) = day_of(day_text.trim().trim_end_matches(['.', ',', ';', ':']), order, guess)?;
    let iso = match clock_text.map(str::trim).filter(|c| !c.is_empty()) {
        None => iso,
        Some(text) => match clock(text.trim_end_matches('Z')) {
            Some(clock) if clock != "00:00" => format!("{iso}T{clock}"),
            Some(_) => iso,
            None => return None,
        },
    };
    Some(Civil { iso, ambiguous })
}

/// What stands beside a date that is none by itself.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Beside {
    /// The only year that the page names.
    pub year: Option<i32>,
    /// The only month that the page names with a year and without a day.
    pub month: Option<(u32, i32)>,
    /// Whether its column counts days, as spreadsheets do.
    pub counted: bool,
    /// Whether its column has the year in front, in two digits.
    pub year_first: bool,
}

impl Beside {
    /// Reads a date, a day without its year, or a count of days.
    pub fn date(self, text: &str, order: Option<DateOrder>, guess: DateOrder) -> Option<Civil> {
        if self.year_first
            && let Some((year, month, day, _)) = three_numbers(text)
        {
            return iso(year_of(year, 2), month, day).map(|iso| Civil { iso, ambiguous: false });
        }
        let whole = date(text, order, guess);
        if whole.is_some() {
            return whole;
        }
        if self.counted
            && let Some(iso) = counted(text)
        {
            return Some(Civil { iso, ambiguous: false });
        }
        // `8` or `Sat 8` in the book of a month.
        if let Some((month, year)) = self.month
            && let Some(day) = day_alone(text)
        {
            return iso(year, month, day).map(|iso| Civil { iso, ambiguous: false });
        }
        let named = text.split(|c: char| !c.is_alphanumeric()).any(|word| month_of(word).is_some());
        let year = self.year.filter(|_| named && !text.contains(':'))?;
        date(&format!("{text} {year}"), order, guess)
    }
}

fn day_alone(text: &str) -> Option<u32> {
    let mut words =
        text.split([' ', ',', '.']).filter(|word| !(word.is_empty() || word.len() > 2 && is_weekday(word)));
    let (word, more) = (words.next()?, words.next());
    let digits = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let ending = matches!(&word[digits.len()..], "" | "st" | "nd" | "rd" | "th");
    digits.parse().ok().filter(|day| ending && more.is_none() && digits.len() < 3 && (1..=31).contains(day))
}

/// The months that a text names with a year and without a day: `OCTOBER 2016`.
pub(crate) fn months_in(text: &str) -> Vec<(u32, i32)> {
    let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let year = |word: &str| {
        let year = if word.len() == 4 { word.parse::<i32>().ok() } else { None };
        year.filter(|year| (1950..2100).contains(year))
    };
    let dated = |at: usize| {
        let before = at.checked_sub(1).and_then(|before| words.get(before));
        before.is_some_and(|w| w.starts_with(|c: char| c.is_ascii_digit()))
    };
    let pairs = words.windows(2).enumerate().filter(|(at, _)| !dated(*at));
    pairs.filter_map(|(_, pair)| Some((month_of(pair[0])?, year(pair[1])?))).collect()
}

/// The date of a spreadsheet's count of days since 1899-12-30, within 1970 to 2100. Source: ECMA-376 part 1, 18.17.4.1
/// (1900 date base), from memory.
pub(crate) fn counted(text: &str) -> Option<String> {
    let whole = text.strip_suffix(".0").unwrap_or(text);
    if whole.len() != 5 || !whole.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let days: u64 = whole.parse().ok().filter(|d| (25_569..73_050).contains(d))?;
    let date = NaiveDate::from_ymd_opt(1899, 12, 30)?.checked_add_days(chrono::Days::new(days))?;
    Some(date.format("%Y-%m-%d").to_string())
}

fn day_of(text: &str, order: Option<DateOrder>, guess: DateOrder) -> Option<(String, bool)> {
    // A weekday in front says nothing more.
    let text = match text.split_once([',', ' ']) {
        Some((word, rest)) if word.len() >= 3 && is_weekday(word) => rest.trim_start_matches([',', ' ', '.']),
        _ => text,
    };
    if let Some((a, b, c, mark)) = three_numbers(text) {
        let first_digits = text.find(mark).unwrap_or(0);
        if first_digits == 4 {
            return iso(a as i32, b, c).map(|d| (d, false));
        }
        let digits = text.len() - text.rfind(mark).map_or(0, |at| at + 1);
        let year = year_of(c, digits);
        if mark == '.' {
            return iso(year, b, a).map(|d| (d, false));
        }
        return match (a, b) {
            (13.., _) => iso(year, b, a).map(|d| (d, false)),
            (_, 13..) => iso(year, a, b).map(|d| (d, false)),
            _ => {
                let day_first = order.unwrap_or(guess) == DateOrder::DayFirst;
                let (month, day) = if day_first { (b, a) } else { (a, b) };
                iso(year, month, day).map(|d| (d, order.is_none() && a != b))
            }
        };
    }
    if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) {
        let found = iso(text[..4].parse().ok()?, text[4..6].parse().ok()?, text[6..].parse().ok()?)?;
        return Some((found, false));
    }
    let mut words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty() && *w != "of").collect();
    // `06APR2019`, `6Apr 19`: nothing stands between the day, the month and the year.
    if words.len() < 3 && text.len() <= 11 {
        let kind = |c: char| c.is_ascii_digit();
        words = words.iter().flat_map(|word| parted(word, kind)).collect();
    }
    if words.len() != 3 {
        return None;
    }
    let number = |word: &str| -> Option<u32> {
        let digits = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let ending = &word[digits.len()..];
        matches!(ending.to_lowercase().as_str(), "" | "st" | "nd" | "rd" | "th")
            .then(|| digits.parse().ok())?
    };
    let numbered = [words[0], words[2]].iter().all(|w| w.bytes().all(|b| b.is_ascii_digit()));
    let second = month_of(words[1]).or_else(|| roman_month(words[1]).filter(|_| numbered));
    let (day, month, year) = match (month_of(words[0]), second) {
        (Some(month), _) => (number(words[1])?, month, words[2]),
        (None, Some(month)) if words[0].len() == 4 && words[0].bytes().all(|b| b.is_ascii_digit()) => {
            (number(words[2])?, month, words[0])
        }
        (None, Some(month)) => (number(words[0])?, month, words[2]),
        _ => return None,
    };
    iso(year_of(year.parse().ok()?, year.len()), month, day).map(|d| (d, false))
}

/// The pieces of a word in which all characters are of the kind, or none.
fn parted(word: &str, kind: impl Fn(char) -> bool) -> Vec<&str> {
    let mut out = Vec::new();
    let mut from = 0;
    for ((_, before), (at, after)) in word.char_indices().zip(word.char_indices().skip(1)) {
        if kind(before) != kind(after) {
            out.push(&word[from..at]);
            from = at;
        }
    }
    out.push(&word[from..]);
    out
}

fn is_weekday(word: &str) -> bool {
    let word = word.to_lowercase();
    let word = word.trim_end_matches('.');
    ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
        .iter()
        .any(|d| d.starts_with(word))
}

/// The clock behind a day: `2024-08-09 20:15`.
pub(crate) fn clock_behind(text: &str) -> Option<String> {
    let (_, rest) = text.split_once(':').is_some().then(|| text.split_once([' ', 'T']))??;
    clock(rest.trim_end_matches('Z'))
}

/// Whether a text is a day of three numbers none of which has the four digits of a year.
pub(crate) fn is_short_day(text: &str) -> bool {
    three_numbers(text).is_some_and(|(a, b, c, _)| a < 100 && b < 100 && c < 100)
}

/// Whether days of a column of two digits each have the year in front, `21-05-16`: it hardly changes while the last of
/// the numbers does.
pub(crate) fn year_first<'t>(texts: impl Iterator<Item = &'t str>) -> bool {
    let (mut years, mut days) = (Vec::new(), Vec::new());
    for text in texts {
        let Some((year, month, day, '-' | '/')) = three_numbers(text) else { return false };
        if !(0..100).contains(&year) || iso(year_of(year, 2), month, day).is_none() {
            return false;
        }
        years.push(year);
        days.push(day);
    }
    for numbers in [&mut years, &mut days] {
        numbers.sort_unstable();
        numbers.dedup();
    }
    years.len() < days.len() && years.last().zip(years.first()).is_some_and(|(last, first)| last - first < 3)
}

/// Reads a clock to `HH:MM`, or `HH:MM:SS` where seconds are written.
///
/// `18:40`, `6:40 PM`, `6.40pm`, `18h40`, `1840` and `7 pm` are read.
pub(crate) fn clock(text: &str) -> Option<String> {
    let lower = text.trim().to_lowercase();
    let lower = lower.strip_suffix("uhr").unwrap_or(&lower).trim();
    let compact: String = lower.chars().filter(|c| !c.is_whitespace()).collect();
    let (body, half) = match compact.replace("a.m.", "am").replace("p.m.", "pm") {
        s if s.ends_with("am") => (s[..s.len() - 2].to_owned(), Some(false)),
        s if s.ends_with("pm") => (s[..s.len() - 2].to_owned(), Some(true)),
        s => (s, None),
    };
    let parts: Vec<&str> = body.split([':', '.', 'h']).filter(|p| !p.is_empty()).collect();
    if parts.is_empty() || !parts.iter().all(|p| p.bytes().all(|b| b.is_ascii_digit()) && p.len() <= 4) {
        return None;
    }
    let (hour, minute, second) = match parts.as_slice() {
        [whole] if whole.len() == 4 => (whole[..2].parse().ok()?, whole[2..].parse().ok()?, 0),
        [hour] if half.is_some() && hour.len() <= 2 => (hour.parse().ok()?, 0, 0),
        [hour, minute] if minute.len() == 2 => (hour.parse().ok()?, minute.parse().ok()?, 0),
        [hour, minute, second] if minute.len() == 2 && second.len() == 2 => {
            (hour.parse().ok()?, minute.parse().ok()?, second.parse::<u32>().ok()?)
        }
        _ => return None,
    };
    let hour: u32 = match (half, hour) {
        (Some(true), 1..=11) => hour + 12,
        (Some(false), 12) => 0,
        (Some(_), 13..) => return None,
        (_, hour) => hour,
    };
    let minute: u32 = minute;
    if hour > 23 || minute > 59 || second > 59 {
        return None;
    }
    Some(if second > 0 {
        format!("{hour:02}:{minute:02}:{second:02}")
    } else {
        format!("{hour:02}:{minute:02}")
    })
}

/// Days from one ISO date to another.
pub(crate) fn days_between(from: &str, to: &str) -> Option<i64> {
    let day = |text: &str| NaiveDate::parse_from_str(text.get(..10)?, "%Y-%m-%d").ok();
    Some(i64::from(day(to)?.num_days_from_ce() - day(from)?.num_days_from_ce()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<(String, bool)> {
        date(text, None, DateOrder::MonthFirst).map(|d| (d.iso, d.ambiguous))
    }

    #[test]
    fn dates_in_every_hand() {
        for (text, iso) in [
            ("2024-04-13", "2024-04-13"),
            ("13.04.2024", "2024-04-13"),
            ("04.05.2024", "2024-05-04"),
            ("6/15/2024", "2024-06-15"),
            ("15/6/24", "2024-06-15"),
            ("14-Sep-2024", "2024-09-14"),
            ("20 July 2024", "2024-07-20"),
            ("July 20th, 2024", "2024-07-20"),
            ("11th May 2024", "2024-05-11"),
            ("3rd of June 2024", "2024-06-03"),
            ("11. Mai 2024", "2024-05-11"),
            ("12. Dezember 2024", "2024-12-12"),
            ("2 März 2024", "2024-03-02"),
            ("Sat, 20 July 2024", "2024-07-20"),
            ("7 juin 2024", "2024-06-07"),
            ("3 août 2024", "2024-08-03"),
            ("12 de mayo de 2024", "2024-05-12"),
            ("5.iii.2021", "2021-03-05"),
            ("12 XI 2021", "2021-11-12"),
            ("2024/7/2", "2024-07-02"),
            ("2024-08-09T20:15:00", "2024-08-09T20:15"),
            ("2024-08-09 8:15 PM", "2024-08-09T20:15"),
        ] {
            assert_eq!(read(text), Some((iso.to_owned(), false)), "{text}");
        }
        assert_eq!(read("9/7/2024"), Some(("2024-09-07".to_owned(), true)));
        assert_eq!(
            date("9/7/2024", Some(DateOrder::DayFirst), DateOrder::MonthFirst).unwrap().iso,
            "2024-07-09"
        );
        for none in ["10 August", "baseline", "13.5", "31.02.2024", "20", "1/2"] {
            assert_eq!(read(none), None, "{none}");
        }
    }

    #[test]
    fn a_page_s_year_and_counted_days_complete_a_date() {
        let beside = |year, counted| Beside { year, counted, ..Beside::default() };
        let read = |beside: Beside, text| beside.date(text, None, DateOrder::MonthFirst).map(|d| d.iso);
        for text in ["Sat May 11", "11th May", "Sat, 11 May", "May 11"] {
            assert_eq!(read(beside(Some(2024), false), text).as_deref(), Some("2024-05-11"), "{text}");
            assert_eq!(read(beside(None, false), text), None);
        }
        let book = Beside { month: months_in("OCTOBER 2023, the second shelf").pop(), ..Beside::default() };
        for (text, day) in [("8", "2023-10-08"), ("Sun 22nd", "2023-10-22")] {
            assert_eq!(read(book, text).as_deref(), Some(day), "{text}");
        }
        assert_eq!((read(book, "32"), read(book, "8.5")), (None, None));
        assert_eq!(months_in("Saturday 4 June 2016"), []);
        assert!(year_first(["21-05-16", "21-06-03"].into_iter()));
        for other in [["16-05-21", "17-05-21"], ["03-05-21", "04-06-21"], ["21-05-16", "21-05-16"]] {
            assert!(!year_first(other.into_iter()), "{other:?}");
        }
        assert_eq!(clock_behind("2021-03-07 10:12").as_deref(), Some("10:12"));
        assert_eq!((clock_behind("2021-03-07"), clock_behind("10:12")), (None, None));
        assert_eq!(read(beside(None, true), "45423").as_deref(), Some("2024-05-11"));
        assert_eq!(read(beside(None, false), "45423"), None);
        assert_eq!(read(beside(Some(2024), true), "practice"), None);
    }

    #[test]
    fn one_certain_date_decides_the_others() {
        let mut votes = OrderVotes::default();
        for text in ["9/7/2024", "5/25/2024"] {
            votes.hear(text);
        }
        assert_eq!(votes.order(), Some(DateOrder::MonthFirst));
    }

    #[test]
    fn clocks_in_every_hand() {
        for (text, clock_text) in [
            ("6:40 PM", "18:40"),
            ("18:40", "18:40"),
            ("6.40pm", "18:40"),
            ("18h05", "18:05"),
            ("1905", "19:05"),
            ("7 pm", "19:00"),
            ("12:05 am", "00:05"),
            ("18:40:00", "18:40"),
        ] {
            assert_eq!(clock(text).as_deref(), Some(clock_text), "{text}");
        }
        assert_eq!(clock("25:10"), None);
        assert_eq!(clock("late"), None);
    }
}
