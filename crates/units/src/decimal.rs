//! Decimal point or decimal comma: what a table uses, and what one number means under it.

use crate::{Dimension, ReadError};
use std::borrow::Cow;

/// The mark between the whole part and the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Decimal {
    /// `1,004.4`
    Point,
    /// `1.004,4`
    Comma,
}

impl Decimal {
    fn mark(self) -> char {
        match self {
            Decimal::Point => '.',
            Decimal::Comma => ',',
        }
    }
}

/// Decides the decimal style of a table from its cells.
///
/// A cell decides where its number can be read in one way only: `141,58` and `1.004,4` are comma, `265.8` and `1,004.4`
/// point. A lone `1,008` or `5.012` decides nothing, because the mark may group thousands. Cells that are not numbers
/// (dates, times, fractions, words) decide nothing. The majority wins; a draw, or nothing to go by, is `None`.
/// Source: common practice.
///
/// ```
/// use airshelf_units::{Decimal, decimal_of};
/// assert_eq!(decimal_of(["5,012", "141,58", "1.004,4"].into_iter()), Some(Decimal::Comma));
/// assert_eq!(decimal_of(["1,008"].into_iter()), None);
/// ```
pub fn decimal_of<'a>(numbers: impl Iterator<Item = &'a str>) -> Option<Decimal> {
    let (mut point, mut comma) = (0_usize, 0_usize);
    for cell in numbers {
        match style_of(cell) {
            Some(Decimal::Point) => point += 1,
            Some(Decimal::Comma) => comma += 1,
            None => {}
        }
    }
    match point.cmp(&comma) {
        std::cmp::Ordering::Greater => Some(Decimal::Point),
        std::cmp::Ordering::Less => Some(Decimal::Comma),
        std::cmp::Ordering::Equal => None,
    }
}

fn style_of(cell: &str) -> Option<Decimal> {
    let cell = &without_apostrophes(cell.trim().trim_start_matches(['-', '+', '−', '–']));
    let end = cell.find(|c: char| !matches!(c, '0'..='9' | '.' | ',')).unwrap_or(cell.len());
    let (token, rest) = cell.split_at(end);
    let rest = rest.trim_start();
    // A date, a clock or two numbers in one cell: not a number to judge by.
    if token.ends_with(['.', ',']) || rest.starts_with(|c: char| c.is_ascii_digit() || "/:-–".contains(c)) {
        return None;
    }
    match marks(token)? {
        Marks::Both { decimal } => Some(if decimal == '.' { Decimal::Point } else { Decimal::Comma }),
        Marks::Grouped { mark: '.' } => Some(Decimal::Comma),
        Marks::Grouped { .. } => Some(Decimal::Point),
        Marks::One { may_group: true, .. } | Marks::None => None,
        Marks::One { mark: '.', .. } => Some(Decimal::Point),
        Marks::One { .. } => Some(Decimal::Comma),
    }
}

/// A number without the apostrophes between its thousands: `1'013.5` is `1013.5`.
fn without_apostrophes(cell: &str) -> Cow<'_, str> {
    const MARKS: [char; 6] = ['\'', '’', '‘', '´', 'ʼ', '′'];
    let Some((first, rest)) = cell.split_once(MARKS) else { return Cow::Borrowed(cell) };
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    let thousands = (1..=3).contains(&first.len())
        && digits(first) == first.len()
        && rest.split(MARKS).all(|group| digits(group) == 3);
    if thousands { Cow::Owned(cell.replace(MARKS, "")) } else { Cow::Borrowed(cell) }
}

/// What the marks in a run of digits, points and commas can be.
enum Marks {
    None,
    /// One mark, once.
    One {
        mark: char,
        may_group: bool,
    },
    /// One kind of mark, several times, between groups of three.
    Grouped {
        mark: char,
    },
    /// Grouping marks and one decimal mark.
    Both {
        decimal: char,
    },
}

/// Sorts the marks of a token; `None` where no style gives it a meaning.
fn marks(token: &str) -> Option<Marks> {
    if !token.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let last = match token.rfind(['.', ',']) {
        Some(at) => at,
        None => return Some(Marks::None),
    };
    let decimal = if token.as_bytes()[last] == b'.' { '.' } else { ',' };
    let other = if decimal == '.' { ',' } else { '.' };
    let whole = &token[..last];
    if whole.contains(other) {
        return (!whole.contains(decimal) && grouped(whole, other)).then_some(Marks::Both { decimal });
    }
    if whole.contains(decimal) {
        return grouped(token, decimal).then_some(Marks::Grouped { mark: decimal });
    }
    Some(Marks::One { mark: decimal, may_group: grouped(token, decimal) })
}

/// Says whether a mark can group thousands: `1,008` and `12.345.678`, not `0,125`, `1234,567` or `3,5`.
fn grouped(token: &str, mark: char) -> bool {
    let mut groups = token.split(mark);
    let first = groups.next().unwrap_or_default();
    (1..=3).contains(&first.len()) && !first.starts_with('0') && groups.all(|group| group.len() == 3)
}

/// A decimal number with its last digit.
pub(crate) struct Figure {
    pub value: f64,
    pub resolution: f64,
}

/// Gives a run of digits, points and commas its value.
///
/// A mark that cannot group thousands is the decimal mark whatever the table uses (`3,5` in a table with points). A mark
/// that can do both follows the table, except in a length: no part is a thousand inches or a few meters long, so there
/// `1,125` among points is as likely a slip and is refused with both readings. With no known style a comma that can do
/// both is refused too, but for a rotational speed or a count, which have no decimals.
pub(crate) fn figure(
    token: &str,
    exponent: i32,
    style: Option<Decimal>,
    dimension: Dimension,
) -> Result<Figure, ReadError> {
    let malformed = || ReadError::Malformed {
        text: token.to_owned(),
        why: "its points and commas do not make a number; write it without grouping, such as 1004.4",
    };
    let decimal = match marks(token).ok_or_else(malformed)? {
        Marks::None | Marks::Grouped { .. } => None,
        Marks::Both { decimal } => Some(decimal),
        Marks::One { mark, may_group: false } => Some(mark),
        Marks::One { mark, may_group: true } => {
            let both = || ReadError::Ambiguous {
                text: token.to_owned(),
                candidates: both_readings(token, mark, style),
            };
            match style {
                Some(style) if style.mark() == mark => Some(mark),
                Some(_) if dimension == Dimension::Length => return Err(both()),
                Some(_) => None,
                None if matches!(dimension, Dimension::RotationalSpeed | Dimension::Count) => None,
                None if mark == '.' => Some(mark),
                None => return Err(both()),
            }
        }
    };
    let (whole, decimals) = match decimal.and_then(|mark| token.rsplit_once(mark)) {
        Some((whole, decimals)) => (whole, decimals),
        None => (token, ""),
    };
    let mut plain: String = whole.chars().filter(char::is_ascii_digit).collect();
    let places = i32::try_from(decimals.len()).map_err(|_| malformed())?;
    plain.push('.');
    plain.push_str(decimals);
    plain.push_str(&format!("e{exponent}"));
    let value: f64 = plain.parse().map_err(|_| malformed())?;
    if !value.is_finite() {
        return Err(malformed());
    }
    Ok(Figure { value, resolution: 10_f64.powi(exponent.saturating_sub(places)) })
}

/// Writes both readings so that each is read in one way only.
fn both_readings(token: &str, mark: char, style: Option<Decimal>) -> Vec<String> {
    let grouped: String = token.chars().filter(|c| *c != mark).collect();
    let decimal = token.replacen(mark, style.unwrap_or(Decimal::Point).mark().encode_utf8(&mut [0; 4]), 1);
    vec![decimal, grouped]
}
