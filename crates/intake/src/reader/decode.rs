//! A text file's bytes to characters, with no character lost or replaced.

use std::borrow::Cow;

use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{DecoderResult, Encoding, UTF_16BE, UTF_16LE, WINDOWS_1252};

use super::ReadFault;

/// Text and the name of the encoding it had.
pub(super) struct Decoded<'a> {
    pub text: Cow<'a, str>,
    pub encoding: &'static str,
}

/// Decodes a text file.
///
/// A byte order mark decides; then zero bytes in every second place (UTF-16);
/// then whether the bytes are valid UTF-8; else Windows-1252 or what the
/// letters suggest.
pub(super) fn decode<'a>(name: &str, bytes: &'a [u8]) -> Result<Decoded<'a>, ReadFault> {
    if let Some(rest) = bytes.strip_prefix(b"\xEF\xBB\xBF") {
        return utf8(name, rest, "utf-8-sig");
    }
    if let Some(rest) = bytes.strip_prefix(b"\xFF\xFE") {
        return other(name, rest, UTF_16LE, "utf-16");
    }
    if let Some(rest) = bytes.strip_prefix(b"\xFE\xFF") {
        return other(name, rest, UTF_16BE, "utf-16");
    }
    match zero_bytes(bytes) {
        Some(encoding) if encoding == UTF_16LE => return other(name, bytes, encoding, "utf-16le"),
        Some(encoding) => return other(name, bytes, encoding, "utf-16be"),
        None => {}
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(Decoded { text: Cow::Borrowed(text), encoding: "utf-8" }),
        Err(_) if mostly_utf8(bytes) => utf8(name, bytes, "utf-8"),
        Err(_) => {
            let encoding = guess(bytes);
            other(name, bytes, encoding, plain_name(encoding))
        }
    }
}

fn utf8<'a>(name: &str, bytes: &'a [u8], encoding: &'static str) -> Result<Decoded<'a>, ReadFault> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Ok(Decoded { text: Cow::Borrowed(text), encoding }),
        Err(error) => {
            let valid = String::from_utf8_lossy(&bytes[..error.valid_up_to()]);
            Err(bad(name, &valid, encoding))
        }
    }
}

fn other<'a>(
    name: &str,
    bytes: &'a [u8],
    encoding: &'static Encoding,
    shown: &'static str,
) -> Result<Decoded<'a>, ReadFault> {
    let mut decoder = encoding.new_decoder_without_bom_handling();
    let mut text = String::with_capacity(bytes.len());
    let mut at = 0;
    loop {
        let rest = bytes.get(at..).unwrap_or_default();
        let (result, read) = decoder.decode_to_string_without_replacement(rest, &mut text, true);
        at += read;
        match result {
            DecoderResult::InputEmpty => break,
            DecoderResult::OutputFull => text.reserve(rest.len().max(64)),
            DecoderResult::Malformed(..) => return Err(bad(name, &text, shown)),
        }
    }
    // Single-byte encodings map unassigned bytes to control codes instead of
    // failing.
    if let Some(place) = text.find(|c| ('\u{80}'..='\u{9F}').contains(&c)) {
        return Err(bad(name, &text[..place], shown));
    }
    Ok(Decoded { text: Cow::Owned(text), encoding: shown })
}

fn bad(name: &str, before: &str, encoding: &'static str) -> ReadFault {
    ReadFault::BadEncoding {
        file: name.into(),
        line: 1 + super::lines::line_ends(before.as_bytes()),
        encoding,
    }
}

/// Tells UTF-16 without a byte order mark by the zero bytes beside ASCII.
fn zero_bytes(bytes: &[u8]) -> Option<&'static Encoding> {
    let head = &bytes[..bytes.len().min(4096)];
    let pairs = head.len() / 2;
    let zeros = |from: usize| head.iter().skip(from).step_by(2).filter(|b| **b == 0).count();
    let (first, second) = (zeros(0), zeros(1));
    if pairs < 2 {
        None
    } else if second * 3 > pairs && first * 20 <= pairs {
        Some(UTF_16LE)
    } else if first * 3 > pairs && second * 20 <= pairs {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// Whether a file that is not valid UTF-8 was meant to be: it has whole
/// multi-byte characters and fewer broken ones.
fn mostly_utf8(bytes: &[u8]) -> bool {
    let (mut whole, mut broken) = (0usize, 0usize);
    for chunk in bytes.utf8_chunks() {
        whole += chunk.valid().chars().filter(|c| !c.is_ascii()).count();
        broken += usize::from(!chunk.invalid().is_empty());
    }
    whole > broken
}

fn guess(bytes: &[u8]) -> &'static Encoding {
    // Signs alone (degree, fractions, dashes, quotes) are no evidence for
    // another alphabet.
    let letters = bytes.iter().any(|b| *b >= 0xC0 && !matches!(b, 0xD7 | 0xD8 | 0xF7 | 0xF8));
    if !letters {
        return WINDOWS_1252;
    }
    let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    let guess = detector.guess(None, Utf8Detection::Deny);
    if has_signs(bytes) && lacks_signs(guess) { WINDOWS_1252 } else { guess }
}

/// Whether a sheet of this trade has its signs where Windows-1252 has them: `m³`, `m²`, `3½`, a lone `ø`.
fn has_signs(bytes: &[u8]) -> bool {
    let letter = |b: Option<&u8>| b.is_some_and(|b| b.is_ascii_alphabetic() || *b >= 0xC0);
    bytes.iter().enumerate().any(|(at, byte)| {
        let before = at.checked_sub(1).and_then(|at| bytes.get(at));
        let after = bytes.get(at + 1);
        match byte {
            0xB2 | 0xB3 => before.is_some_and(|b| b.eq_ignore_ascii_case(&b'm')) && !letter(after),
            0xBC..=0xBE => {
                before.is_none_or(|b| b.is_ascii_digit() || b" \t,;-\"".contains(b)) && !letter(after)
            }
            0xD8 | 0xF8 => !letter(before) && !letter(after),
            _ => false,
        }
    })
}

/// Whether a single-byte encoding has other letters in the places of those signs.
fn lacks_signs(encoding: &'static Encoding) -> bool {
    encoding.is_single_byte() && {
        let (text, _) = encoding.decode_without_bom_handling(b"\xB3");
        text != "³"
    }
}

fn plain_name(encoding: &'static Encoding) -> &'static str {
    match encoding.name() {
        "windows-1252" => "cp1252",
        "windows-1250" => "cp1250",
        "windows-1251" => "cp1251",
        "windows-1253" => "cp1253",
        "windows-1254" => "cp1254",
        "windows-1255" => "cp1255",
        "windows-1256" => "cp1256",
        "windows-1257" => "cp1257",
        "windows-1258" => "cp1258",
        "windows-874" => "cp874",
        "IBM866" => "cp866",
        "ISO-8859-2" => "iso-8859-2",
        "ISO-8859-4" => "iso-8859-4",
        "ISO-8859-5" => "iso-8859-5",
        "ISO-8859-6" => "iso-8859-6",
        "ISO-8859-7" => "iso-8859-7",
        "ISO-8859-8" => "iso-8859-8",
        "KOI8-U" => "koi8-u",
        "Shift_JIS" => "shift_jis",
        "EUC-JP" => "euc-jp",
        "EUC-KR" => "euc-kr",
        "Big5" => "big5",
        "GBK" => "gbk",
        shown => shown,
    }
}
