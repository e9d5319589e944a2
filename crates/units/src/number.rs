//! Takes the number off the front of a text.

use crate::named::is_invisible;
use crate::{Mixed, ReadError};

/// A number as written, and what follows it.
pub(crate) struct Scan<'a> {
    pub negative: bool,
    pub written: Written<'a>,
    /// What follows, trimmed: the unit, or nothing.
    pub rest: &'a str,
}

pub(crate) enum Written<'a> {
    /// Digits with points and commas, times ten to a power.
    Figure { token: &'a str, exponent: i32 },
    /// A fraction; its sign is in `Scan::negative`.
    Fraction(Mixed),
}

/// Brings the many forms of spaces, dashes, slashes and small digits to one.
pub(crate) fn plain_text(text: &str) -> String {
    let chars: Vec<char> = text.trim().chars().filter(|c| !is_invisible(*c)).collect();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while at < chars.len() {
        let c = chars[at];
        at += 1;
        match c {
            '−' | '–' | '‒' | '‐' | '‑' | '﹣' | '-' => out.push('-'),
            '⁄' | '∕' | '／' => out.push('/'),
            // A hard or thin space between digits groups thousands; a plain one separates numbers.
            '\u{a0}' | '\u{2009}' | '\u{202f}' | '\u{2007}' | '\u{2008}' | '\u{200a}'
                if groups(&out, &chars[at..]) => {}
            // So does an apostrophe: `1'013.5`; before two digits it is a foot.
            '\'' | '’' | '‘' | '´' | 'ʼ' | '′' if groups(&out, &chars[at..]) => {}
            c if c.is_whitespace() => out.push(' '),
            c if raised(c).is_some() => {
                // Small digits above a fraction line are a numerator (9¹⁄₂); elsewhere they are an exponent (in³).
                let run = chars[at..].iter().take_while(|c| raised(**c).is_some()).count();
                if matches!(chars.get(at + run), Some('⁄' | '∕' | '/')) {
                    if out.ends_with(|c: char| c.is_ascii_digit()) {
                        out.push(' ');
                    }
                    out.extend(chars[at - 1..at + run].iter().filter_map(|c| raised(*c)));
                    out.push('/');
                    at += run + 1;
                    while let Some(digit) = chars.get(at).copied().and_then(lowered) {
                        out.push(digit);
                        at += 1;
                    }
                } else {
                    out.push(c);
                }
            }
            c => out.push(c),
        }
    }
    out
}

fn groups(before: &str, after: &[char]) -> bool {
    let digits = after.iter().take_while(|c| c.is_ascii_digit()).count();
    before.ends_with(|c: char| c.is_ascii_digit())
        && digits == 3
        && !matches!(after.get(3), Some('/' | '⁄' | '∕' | '／'))
}

fn raised(c: char) -> Option<char> {
    "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().position(|digit| digit == c).and_then(|n| char::from_digit(n as u32, 10))
}

fn lowered(c: char) -> Option<char> {
    "₀₁₂₃₄₅₆₇₈₉".chars().position(|digit| digit == c).and_then(|n| char::from_digit(n as u32, 10))
}

/// A fraction that is one character.
fn vulgar(c: char) -> Option<(u64, u64)> {
    Some(match c {
        '½' => (1, 2),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅐' => (1, 7),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        '⅑' => (1, 9),
        '⅒' => (1, 10),
        _ => return None,
    })
}

/// Says whether a number can begin with this character.
pub(crate) fn starts_number(c: char) -> bool {
    c.is_ascii_digit() || vulgar(c).is_some()
}

/// Takes the number off the front of a text that went through [`plain_text`].
pub(crate) fn scan(text: &str) -> Result<Scan<'_>, ReadError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(ReadError::Empty);
    }
    let malformed = |why| ReadError::Malformed { text: text.to_owned(), why };
    let (negative, body) = match text.strip_prefix('-') {
        Some(body) => (true, body.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text).trim_start()),
    };
    let (written, rest) = number(body, text)?;
    let rest = rest.trim_start();
    match rest.chars().next() {
        Some(c) if starts_number(c) || c == '.' => {
            return Err(malformed("more than one number stands here; write one, such as 1-1/8 or 1008"));
        }
        Some('/') => return Err(malformed("a fraction has whole numbers above and below, such as 1-1/8")),
        Some(',' | ';' | ':') => return Err(malformed("write one number and its unit, such as 57 mm")),
        Some('±' | '+') => {
            return Err(malformed("write the number alone; a tolerance has a field of its own"));
        }
        Some('x' | 'X' | '×')
            if rest.trim_start_matches(['x', 'X', '×', ' ']).starts_with(|c: char| c.is_ascii_digit()) =>
        {
            return Err(malformed("two sizes stand here, and one is asked for; write one, such as 11 in"));
        }
        _ => {}
    }
    let rest = match rest.strip_prefix('-') {
        // 28-inch, 2-7/8-in.
        Some(after) if after.starts_with(|c: char| c.is_alphabetic() || c == '"' || c == '%') => after,
        Some(_) => {
            return Err(malformed(
                "a dash may join a whole number and a fraction, as in 1-1/8; a range is two numbers",
            ));
        }
        None => rest,
    };
    Ok(Scan { negative, written, rest })
}

fn number<'a>(body: &'a str, text: &str) -> Result<(Written<'a>, &'a str), ReadError> {
    let malformed = |why| ReadError::Malformed { text: text.to_owned(), why };
    if let Some((top_bottom, rest)) = take_vulgar(body) {
        return Ok((fraction(None, top_bottom, text)?, rest));
    }
    let (token, rest) = take_figure(body);
    if token.is_empty() {
        return Err(ReadError::NotANumber { text: text.to_owned() });
    }
    if !token.bytes().all(|b| b.is_ascii_digit()) {
        let next = rest.trim_start();
        if next.starts_with('/') || take_vulgar(next).is_some() {
            return Err(malformed(
                "a fraction has whole numbers above and below, such as 1-1/8; write 1.5 or 1-1/2",
            ));
        }
        let (exponent, rest) = take_exponent(rest);
        return Ok((Written::Figure { token, exponent }, rest));
    }
    if let Some(below) = rest.trim_start().strip_prefix('/') {
        let (bottom, rest) = denominator(below, text)?;
        return Ok((fraction(None, (whole_number(token, text)?, bottom), text)?, rest));
    }
    // The dash in 1-1/8 is a joiner, not a minus.
    let spaced = rest.trim_start();
    let joined = spaced.strip_prefix(['-', '+']).unwrap_or(spaced).trim_start();
    if let Some((top_bottom, rest)) = take_vulgar(joined) {
        return Ok((fraction(Some(whole_number(token, text)?), top_bottom, text)?, rest));
    }
    let (top, after) = take_digits(joined);
    if !top.is_empty()
        && joined.len() < rest.len()
        && let Some(below) = after.trim_start().strip_prefix('/')
    {
        let (bottom, rest) = denominator(below, text)?;
        let top = whole_number(top, text)?;
        return Ok((fraction(Some(whole_number(token, text)?), (top, bottom), text)?, rest));
    }
    let (exponent, rest) = take_exponent(rest);
    Ok((Written::Figure { token, exponent }, rest))
}

fn fraction<'a>(whole: Option<u64>, (top, bottom): (u64, u64), text: &str) -> Result<Written<'a>, ReadError> {
    let malformed = |why| Err(ReadError::Malformed { text: text.to_owned(), why });
    if bottom == 0 {
        return malformed("nothing can be divided by zero; write a fraction such as 1-1/8");
    }
    if whole.is_some() && top >= bottom {
        return malformed(
            "after a whole number the fraction is less than one, as in 1-1/8; write 11/8 or 1.375",
        );
    }
    Ok(Written::Fraction(Mixed { negative: false, whole, numerator: top, denominator: bottom }))
}

fn denominator<'a>(below: &'a str, text: &str) -> Result<(u64, &'a str), ReadError> {
    let (bottom, rest) = take_digits(below.trim_start());
    if bottom.is_empty() {
        let why = "a fraction has a number below the line, such as 1-1/8";
        return Err(ReadError::Malformed { text: text.to_owned(), why });
    }
    Ok((whole_number(bottom, text)?, rest))
}

fn whole_number(digits: &str, text: &str) -> Result<u64, ReadError> {
    // Nine digits keep every later product exact.
    let parsed = if digits.len() <= 9 { digits.parse().ok() } else { None };
    parsed.ok_or_else(|| ReadError::Malformed {
        text: text.to_owned(),
        why: "a fraction this long is not read; write a decimal number, such as 1.125",
    })
}

fn take_vulgar(text: &str) -> Option<((u64, u64), &str)> {
    let c = text.chars().next()?;
    vulgar(c).map(|top_bottom| (top_bottom, &text[c.len_utf8()..]))
}

fn take_digits(text: &str) -> (&str, &str) {
    text.split_at(text.bytes().take_while(u8::is_ascii_digit).count())
}

/// Takes digits with points and commas; a mark counts only next to digits (`20.` is a number, `20,` is not).
fn take_figure(text: &str) -> (&str, &str) {
    let bytes = text.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let mut end = 0;
    while end < bytes.len() {
        match bytes[end] {
            b'0'..=b'9' => end += 1,
            b'.' | b',' if digit(end + 1) => end += 1,
            b'.' if end > 0 && digit(end - 1) && !text[..end].contains(['.', ',']) => {
                end += 1;
                break;
            }
            _ => break,
        }
    }
    text.split_at(end)
}

fn take_exponent(text: &str) -> (i32, &str) {
    let Some(after) = text.strip_prefix(['e', 'E']) else { return (0, text) };
    let (digits, rest) = take_digits(after.strip_prefix(['-', '+']).unwrap_or(after));
    match digits.parse::<i32>() {
        Ok(size) if size <= 300 => (if after.starts_with('-') { -size } else { size }, rest),
        _ => (0, text),
    }
}
