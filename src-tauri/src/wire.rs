//! A request and its answer as bytes: a text behind its length, then attachments; lengths in four bytes, the smallest
//! first.

use airshelf_app::request::Answered;

/// The request's text and what is attached; nothing where the bytes are cut off.
pub(crate) fn unpacked(mut bytes: &[u8]) -> Option<(String, Vec<Vec<u8>>)> {
    let mut parts = Vec::new();
    while !bytes.is_empty() {
        let (length, rest) = bytes.split_first_chunk::<4>()?;
        let (part, rest) = rest.split_at_checked(u32::from_le_bytes(*length) as usize)?;
        parts.push(part.to_vec());
        bytes = rest;
    }
    if parts.is_empty() {
        return None;
    }
    let text = String::from_utf8(parts.remove(0)).ok()?;
    Some((text, parts))
}

/// The answer's text, then its bytes to the end.
pub(crate) fn packed(answered: Answered) -> Vec<u8> {
    let bytes = answered.bytes.unwrap_or_default();
    let mut out = Vec::with_capacity(4 + answered.json.len() + bytes.len());
    let length = u32::try_from(answered.json.len()).expect("no answer has 4 GB of text");
    out.extend(length.to_le_bytes());
    out.extend(answered.json.as_bytes());
    out.extend(bytes);
    out
}

/// A text and several attachments, as [`unpacked`] takes them.
pub(crate) fn joined(text: &str, attached: &[Vec<u8>]) -> Vec<u8> {
    let mut out = Vec::new();
    for part in std::iter::once(text.as_bytes()).chain(attached.iter().map(Vec::as_slice)) {
        let length = u32::try_from(part.len()).expect("no file of 4 GB was read into memory");
        out.extend(length.to_le_bytes());
        out.extend(part);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn attachments_come_out_as_they_went_in_and_a_cut_message_is_refused() {
        let message = b"\x02\0\0\0{}\x03\0\0\0abc\0\0\0\0";
        let (text, attached) = unpacked(message).unwrap();
        assert_eq!((text.as_str(), &attached), ("{}", &vec![b"abc".to_vec(), Vec::new()]));
        assert_eq!(joined(&text, &attached), message);
        for cut in [&message[..message.len() - 5], &message[..3], b""] {
            assert!(unpacked(cut).is_none(), "{cut:?}");
        }
    }

    #[test]
    fn an_answer_is_its_text_and_then_its_bytes() {
        let answered = Answered { json: "{}".into(), bytes: Some(vec![7, 8]) };
        assert_eq!(packed(answered), b"\x02\0\0\0{}\x07\x08");
    }
}
