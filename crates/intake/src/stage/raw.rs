//! Raw text of imported rows, several hundred together, compressed (LZ4 block format).

use lz4_flex::block::{compress_prepend_size, decompress_size_prepended};

/// Rows kept together; one row is then found by unpacking little.
pub(crate) const ROWS_TOGETHER: usize = 512;

/// Packs rows, each with its number in the file.
///
/// Before compression a row is: steps from the number of the row before, length in bytes (both as LEB128), text.
///
/// ```
/// use airshelf_intake::stage::{pack_rows, unpack_rows};
/// let packed = pack_rows(2, [(2, "a,b"), (4, "c,d")]);
/// assert_eq!(unpack_rows(2, &packed).unwrap(), [(2, "a,b".to_owned()), (4, "c,d".to_owned())]);
/// ```
pub fn pack_rows<'r>(first: i64, rows: impl IntoIterator<Item = (i64, &'r str)>) -> Vec<u8> {
    let mut plain = Vec::new();
    let mut before = first;
    for (number, text) in rows {
        add(&mut plain, number, text, &mut before);
    }
    compress_prepend_size(&plain)
}

/// Adds a row to the text that [`pack_rows`] compresses.
pub(super) fn add(plain: &mut Vec<u8>, number: i64, text: &str, before: &mut i64) {
    leb128((number - *before).max(0) as u64, plain);
    leb128(text.len() as u64, plain);
    plain.extend_from_slice(text.as_bytes());
    *before = number;
}

/// Compresses what [`add`] gathered.
pub(super) fn compress(plain: &[u8]) -> Vec<u8> {
    compress_prepend_size(plain)
}

/// Reads back what [`pack_rows`] wrote; none if the bytes are not of that form.
pub fn unpack_rows(first: i64, packed: &[u8]) -> Option<Vec<(i64, String)>> {
    // A block of a few hundred rows is small; a hostile size is no reason to ask for memory.
    let size = u32::from_le_bytes(packed.get(..4)?.try_into().ok()?);
    if size > 256 << 20 {
        return None;
    }
    let plain = decompress_size_prepended(packed).ok()?;
    let mut rest = plain.as_slice();
    let mut number = first;
    let mut rows = Vec::new();
    while !rest.is_empty() {
        number = number.checked_add(i64::try_from(take(&mut rest)?).ok()?)?;
        let length = usize::try_from(take(&mut rest)?).ok()?;
        let text = std::str::from_utf8(rest.get(..length)?).ok()?;
        rows.push((number, text.to_owned()));
        rest = &rest[length..];
    }
    Some(rows)
}

fn leb128(mut value: u64, out: &mut Vec<u8>) {
    while value >= 0x80 {
        out.push(value as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

fn take(bytes: &mut &[u8]) -> Option<u64> {
    let mut value = 0_u64;
    for shift in (0..64).step_by(7) {
        let (&byte, rest) = bytes.split_first()?;
        *bytes = rest;
        value |= u64::from(byte & 0x7f) << shift;
        if byte & 0x80 == 0 {
            return Some(value);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_come_back_with_their_numbers_and_broken_bytes_do_not() {
        let rows: Vec<(i64, String)> = (0..700).map(|i| (i * 3 + 10, format!("row;{i};äöü"))).collect();
        let packed = pack_rows(10, rows.iter().map(|(n, t)| (*n, t.as_str())));
        assert_eq!(unpack_rows(10, &packed), Some(rows));
        assert_eq!(unpack_rows(10, &packed[..packed.len() - 3]), None);
        assert_eq!(unpack_rows(0, &[255, 255, 255, 255, 0]), None);
    }
}
