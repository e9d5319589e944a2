//! A photo without what it says about its taker: place, serial numbers, owner, remarks, hidden pictures.
//!
//! Only segments are left out; the compressed picture is taken over byte for byte. What is needed to show it right stays:
//! size and color. Its orientation is read, and stands alone in the little EXIF that is written in place of the camera's.

use crate::PhotoError;
use crate::exif::{Exif, minimal};

/// A photo as it may be stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clean {
    /// The bytes to store.
    pub bytes: Vec<u8>,
    /// EXIF orientation, 1 to 8, where the photo says one.
    pub orientation: Option<u8>,
    /// When it was taken, as the camera wrote it, civil: `2025-04-19T18:40:07`.
    pub taken: Option<String>,
}

/// Leaves out of a JPEG, PNG or WebP whatever is no part of the picture.
///
/// # Errors
/// [`PhotoError::OtherKind`] for every other kind, whose metadata cannot be taken out without recompressing;
/// [`PhotoError::Damaged`] where its segments do not add up.
///
/// # Examples
/// ```
/// # let mut png = std::io::Cursor::new(Vec::new());
/// # image::RgbImage::new(4, 4).write_to(&mut png, image::ImageFormat::Png)?;
/// let clean = airshelf_photo::cleaned(png.get_ref())?;
/// assert_eq!(clean.bytes, *png.get_ref(), "there was nothing to leave out");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn cleaned(bytes: &[u8]) -> Result<Clean, PhotoError> {
    if bytes.starts_with(b"\xff\xd8\xff") {
        jpeg(bytes)
    } else if bytes.starts_with(PNG) {
        png(bytes)
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        webp(bytes)
    } else {
        Err(PhotoError::OtherKind)
    }
}

fn cut() -> PhotoError {
    PhotoError::Damaged { why: "it ends in the middle".into() }
}

fn clean(bytes: Vec<u8>, exif: Exif) -> Clean {
    Clean { bytes, orientation: exif.orientation, taken: exif.taken }
}

/// Whether the picture lies other than it is to be seen.
fn lies(exif: &Exif) -> Option<u8> {
    exif.orientation.filter(|o| *o != 1)
}

const EXIF_HEAD: &[u8] = b"Exif\0\0";

fn jpeg(bytes: &[u8]) -> Result<Clean, PhotoError> {
    let mut kept: Vec<&[u8]> = Vec::new();
    let mut exif = Exif::default();
    let mut at = 2;
    loop {
        // Any number of fill bytes may stand before a marker (ITU-T T.81, B.1.1.2).
        let start = at;
        if bytes.get(at) != Some(&0xff) {
            return Err(PhotoError::Damaged { why: "a segment does not begin where it should".into() });
        }
        while bytes.get(at) == Some(&0xff) {
            at += 1;
        }
        let marker = *bytes.get(at).ok_or_else(cut)?;
        at += 1;
        if marker == 0xd9 {
            // What stands behind the end is another picture, or a film with its own place and time.
            kept.push(b"\xff\xd9");
            break;
        }
        if marker == 0x01 || (0xd0..=0xd7).contains(&marker) {
            kept.push(&bytes[start..at]);
            continue;
        }
        let length =
            bytes.get(at..at + 2).map(|l| usize::from(l[0]) << 8 | usize::from(l[1])).ok_or_else(cut)?;
        let end = at + length;
        let content = bytes.get(at + 2..end).filter(|_| length >= 2).ok_or_else(cut)?;
        if marker == 0xe1 && content.starts_with(EXIF_HEAD) {
            exif = exif.or(Exif::read(&content[EXIF_HEAD.len()..]));
        }
        // Of what applications add only JFIF, the color profile and the color transform belong to the picture.
        let needed = match marker {
            0xe0 => content.starts_with(b"JFIF\0"),
            0xe2 => content.starts_with(b"ICC_PROFILE\0"),
            0xee => content.starts_with(b"Adobe"),
            0xe1..=0xef | 0xfe => false,
            _ => true,
        };
        if needed {
            kept.push(&bytes[start..end]);
        }
        at = end;
        if marker == 0xda {
            // Coded data run to the next marker that is neither a stuffed byte nor a restart.
            let data = at;
            loop {
                match (bytes.get(at), bytes.get(at + 1)) {
                    (Some(0xff), Some(0x00 | 0xd0..=0xd7)) => at += 2,
                    (Some(0xff), Some(0xff)) => at += 1,
                    (Some(0xff), Some(_)) => break,
                    (Some(_), _) => at += 1,
                    (None, _) => return Err(cut()),
                }
            }
            kept.push(&bytes[data..at]);
        }
    }
    let mut out = b"\xff\xd8".to_vec();
    let jfif = kept.first().is_some_and(|first| first.starts_with(b"\xff\xe0"));
    let (head, rest) = kept.split_at(usize::from(jfif));
    out.extend(head.concat());
    if let Some(orientation) = lies(&exif) {
        let content = [EXIF_HEAD, &minimal(orientation)].concat();
        out.extend(b"\xff\xe1");
        out.extend((content.len() as u16 + 2).to_be_bytes());
        out.extend(content);
    }
    out.extend(rest.concat());
    Ok(clean(out, exif))
}

const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";

fn png(bytes: &[u8]) -> Result<Clean, PhotoError> {
    let mut kept: Vec<&[u8]> = Vec::new();
    let mut exif = Exif::default();
    let mut at = PNG.len();
    loop {
        let head = bytes.get(at..at + 8).ok_or_else(cut)?;
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let end = length.checked_add(at + 12).ok_or_else(cut)?;
        let chunk = bytes.get(at..end).ok_or_else(cut)?;
        let name: [u8; 4] = [head[4], head[5], head[6], head[7]];
        match &name {
            b"eXIf" => exif = exif.or(Exif::read(&chunk[8..8 + length])),
            b"tEXt" | b"zTXt" | b"iTXt" | b"tIME" => {}
            // Chunks in small letters of makers' own say what makers like (PNG 3rd edition, 5.4).
            [first, second, ..] if first.is_ascii_lowercase() && second.is_ascii_lowercase() => {}
            _ => kept.push(chunk),
        }
        at = end;
        if &name == b"IEND" {
            break;
        }
    }
    let mut out = PNG.to_vec();
    let (head, rest) = kept.split_at(kept.len().min(1));
    out.extend(head.concat());
    if let Some(orientation) = lies(&exif) {
        let content = minimal(orientation);
        out.extend((content.len() as u32).to_be_bytes());
        let named = [b"eXIf".as_slice(), &content].concat();
        out.extend(&named);
        out.extend(crc32(&named).to_be_bytes());
    }
    out.extend(rest.concat());
    Ok(clean(out, exif))
}

/// CRC-32 as PNG has it (PNG 3rd edition, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |crc, byte| {
        (0..8).fold(
            crc ^ u32::from(*byte),
            |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xedb8_8320 } else { crc >> 1 },
        )
    })
}

/// Flags of `VP8X` that say that EXIF and XMP follow.
const WEBP_EXIF: u8 = 0x08;
const WEBP_XMP: u8 = 0x04;

fn webp(bytes: &[u8]) -> Result<Clean, PhotoError> {
    let stated = u32::from_le_bytes([bytes[4], bytes[5], bytes[6], bytes[7]]) as usize;
    let whole = bytes.get(..stated.saturating_add(8)).ok_or_else(cut)?;
    let mut out = whole[..12].to_vec();
    let mut exif = Exif::default();
    let mut flags_at = None;
    let mut at = 12;
    while at < whole.len() {
        let head = whole.get(at..at + 8).ok_or_else(cut)?;
        let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]) as usize;
        let end = length.checked_add(at + 8).filter(|end| *end <= whole.len()).ok_or_else(cut)?;
        // Chunks are padded to even lengths (RFC 9649, 2.3).
        let padded = (end + length % 2).min(whole.len());
        match &head[..4] {
            b"EXIF" => {
                let content = &whole[at + 8..end];
                exif = exif.or(Exif::read(content.strip_prefix(EXIF_HEAD).unwrap_or(content)));
            }
            b"XMP " => {}
            b"VP8 " | b"VP8L" | b"VP8X" | b"ALPH" | b"ANIM" | b"ANMF" | b"ICCP" => {
                if &head[..4] == b"VP8X" && length >= 10 {
                    flags_at = Some(out.len() + 8);
                }
                out.extend(&whole[at..padded]);
                if padded == end && length % 2 == 1 {
                    out.push(0);
                }
            }
            _ => {}
        }
        at = padded;
    }
    if let Some(flags) = flags_at.and_then(|at| out.get_mut(at)) {
        *flags &= !(WEBP_EXIF | WEBP_XMP);
        if lies(&exif).is_some() {
            *flags |= WEBP_EXIF;
        }
    }
    if let (Some(orientation), Some(_)) = (lies(&exif), flags_at) {
        let content = minimal(orientation);
        out.extend(b"EXIF");
        out.extend((content.len() as u32).to_le_bytes());
        out.extend(content);
    }
    let size = (out.len() - 8) as u32;
    out[4..8].copy_from_slice(&size.to_le_bytes());
    Ok(clean(out, exif))
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ImageFormat, Rgb, RgbImage};
    use std::io::Cursor;

    fn picture(format: ImageFormat) -> Vec<u8> {
        let image = RgbImage::from_fn(64, 48, |x, y| Rgb([(x * 4) as u8, (y * 5) as u8, 90]));
        let mut out = Cursor::new(Vec::new());
        image.write_to(&mut out, format).unwrap();
        out.into_inner()
    }

    /// Orientation, maker, a GPS directory, a date and a camera's serial number, as TIFF in the order of Motorola.
    fn telling(orientation: u8) -> Vec<u8> {
        let mut tiff = b"MM\0\x2a\0\0\0\x08\0\x04".to_vec();
        tiff.extend([0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, orientation, 0, 0]);
        tiff.extend([0x01, 0x32, 0, 2, 0, 0, 0, 20, 0, 0, 0, 62]);
        tiff.extend([0x88, 0x25, 0, 4, 0, 0, 0, 1, 0, 0, 0, 82]);
        tiff.extend([0xa4, 0x31, 0, 2, 0, 0, 0, 12, 0, 0, 0, 100]);
        tiff.extend([0, 0, 0, 0]);
        assert_eq!(tiff.len(), 62);
        tiff.extend(b"2025:04:19 18:40:07\0");
        tiff.extend([0, 1, 0, 1, 0, 2, 0, 0, 0, 2, b'N', 0, 0, 0, 0, 0, 0, 0]);
        tiff.extend(b"SERIAL-4711\0");
        tiff
    }

    fn with_segments(jpeg: &[u8], tiff: &[u8]) -> Vec<u8> {
        let mut out = jpeg[..2].to_vec();
        let mut segment = |marker: u8, content: &[u8]| {
            out.extend([0xff, marker]);
            out.extend((content.len() as u16 + 2).to_be_bytes());
            out.extend(content);
        };
        segment(0xe1, &[EXIF_HEAD, tiff].concat());
        segment(0xe1, b"http://ns.adobe.com/xap/1.0/\0<gps>SERIAL-4711</gps>");
        segment(0xed, b"Photoshop 3.0\0SERIAL-4711");
        segment(0xfe, b"taken at SERIAL-4711");
        out.extend(&jpeg[2..]);
        out.extend(b"another picture behind the end, SERIAL-4711");
        out
    }

    fn says(bytes: &[u8], what: &[u8]) -> bool {
        bytes.windows(what.len()).any(|window| window == what)
    }

    #[test]
    fn a_jpeg_keeps_its_picture_and_its_orientation_and_nothing_else() {
        let plain = picture(ImageFormat::Jpeg);
        let told = with_segments(&plain, &telling(6));
        let clean = cleaned(&told).unwrap();
        assert_eq!((clean.orientation, clean.taken.as_deref()), (Some(6), Some("2025-04-19T18:40:07")));
        assert!(!says(&clean.bytes, b"SERIAL-4711") && !says(&clean.bytes, b"2025:04:19"));
        let pixels = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8();
        assert_eq!(pixels(&clean.bytes), pixels(&plain), "not recompressed");
        assert_eq!(cleaned(&clean.bytes).unwrap().bytes, clean.bytes, "once is enough");
        assert_eq!(cleaned(&clean.bytes).unwrap().orientation, Some(6));
    }

    #[test]
    fn a_jpeg_that_says_nothing_stays_byte_for_byte() {
        let plain = picture(ImageFormat::Jpeg);
        let clean = cleaned(&plain).unwrap();
        assert_eq!((clean.bytes, clean.orientation), (plain, None));
    }

    #[test]
    fn a_png_and_a_webp_lose_theirs_too() {
        let png = picture(ImageFormat::Png);
        let mut told = png[..33].to_vec();
        for (name, content) in [(b"tEXt", b"Comment\0SERIAL-4711".to_vec()), (b"eXIf", telling(8))] {
            told.extend((content.len() as u32).to_be_bytes());
            let named = [name.as_slice(), &content].concat();
            told.extend(&named);
            told.extend(crc32(&named).to_be_bytes());
        }
        told.extend(&png[33..]);
        let clean = cleaned(&told).unwrap();
        assert_eq!(clean.orientation, Some(8));
        assert!(!says(&clean.bytes, b"SERIAL-4711"));
        assert!(image::load_from_memory(&clean.bytes).is_ok());

        let webp = picture(ImageFormat::WebP);
        let mut told = webp.clone();
        told.extend(b"XMP \x0c\0\0\0SERIAL-4711\0");
        let size = (told.len() - 8) as u32;
        told[4..8].copy_from_slice(&size.to_le_bytes());
        let clean = cleaned(&told).unwrap();
        assert_eq!(clean.bytes, webp);
    }

    #[test]
    fn what_is_cut_off_or_of_another_kind_is_refused() {
        for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
            let whole = picture(format);
            for end in [20, whole.len() / 2, whole.len() - 3] {
                assert!(
                    matches!(cleaned(&whole[..end]), Err(PhotoError::Damaged { .. })),
                    "{format:?} {end}"
                );
            }
        }
        for other in [&b""[..], b"GIF89a\x01\0\x01\0", b"\0\0\0\x18ftypheic", b"II*\0"] {
            assert_eq!(cleaned(other), Err(PhotoError::OtherKind));
        }
    }

    #[test]
    fn hostile_lengths_cost_nothing() {
        let mut png = PNG.to_vec();
        png.extend(u32::MAX.to_be_bytes());
        png.extend(b"IHDR");
        assert!(cleaned(&png).is_err());
        assert!(cleaned(b"RIFF\xff\xff\xff\xffWEBPVP8X\xff\xff\xff\xff").is_err());
        assert!(cleaned(b"\xff\xd8\xff\xe1\0\0").is_err());
        let looping =
            [&b"\xff\xd8\xff\xe1\0\x12Exif\0\0II*\0\x08\0\0\0"[..], &[0xff; 2], b"\xff\xd9"].concat();
        assert!(cleaned(&looping).is_ok_and(|c| c.orientation.is_none()));
    }
}
