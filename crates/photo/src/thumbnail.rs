//! A small picture for lists, the right way up.

use crate::PhotoError;
use image::codecs::jpeg::JpegEncoder;
use image::error::ImageError;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};
use std::io::Cursor;

/// The longer edge of a thumbnail.
pub const EDGE_PX: u32 = 320;
/// The most pixels that are decoded; phones take up to about 200 million, lists do not need those.
const MOST_PX: u64 = 120_000_000;
/// The most memory that a decoder may take.
const MOST_BYTES: u64 = 512 << 20;
const QUALITY: u8 = 78;

/// Makes a JPEG of at most [`EDGE_PX`] from a JPEG, PNG or WebP, turned as its EXIF orientation says; of an animation, the
/// first picture. Carries no metadata.
///
/// # Errors
/// [`PhotoError`]. A picture that is too big is refused from its header, before memory is taken.
///
/// # Examples
/// ```
/// # let mut png = std::io::Cursor::new(Vec::new());
/// # image::RgbImage::new(640, 480).write_to(&mut png, image::ImageFormat::Png)?;
/// let small = airshelf_photo::thumbnail(png.get_ref())?;
/// assert!(small.starts_with(b"\xff\xd8\xff"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn thumbnail(bytes: &[u8]) -> Result<Vec<u8>, PhotoError> {
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|e| damaged(&e))?;
    let known = [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP];
    if !reader.format().is_some_and(|format| known.contains(&format)) {
        return Err(PhotoError::OtherKind);
    }
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_BYTES);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|e| damaged(&e))?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MOST_PX || decoder.total_bytes() > MOST_BYTES {
        return Err(PhotoError::TooBig { width, height });
    }
    // A photo whose orientation cannot be read is shown as it lies.
    let orientation = decoder.orientation().ok();
    let whole = DynamicImage::from_decoder(decoder).map_err(|e| match e {
        ImageError::Limits(_) => PhotoError::TooBig { width, height },
        other => damaged(&other),
    })?;
    let mut small = if width.max(height) > EDGE_PX { whole.thumbnail(EDGE_PX, EDGE_PX) } else { whole };
    if let Some(orientation) = orientation {
        small.apply_orientation(orientation);
    }
    let mut out = Vec::new();
    JpegEncoder::new_with_quality(&mut out, QUALITY)
        .encode_image(&small.to_rgb8())
        .map_err(|e| damaged(&e))?;
    Ok(out)
}

fn damaged(error: &dyn std::fmt::Display) -> PhotoError {
    PhotoError::Damaged { why: error.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{Rgb, RgbImage};

    fn picture(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
        // Left half red, right half blue.
        let image = RgbImage::from_fn(width, height, |x, _| {
            if x < width / 2 { Rgb([220, 20, 20]) } else { Rgb([20, 20, 220]) }
        });
        let mut out = Cursor::new(Vec::new());
        image.write_to(&mut out, format).unwrap();
        out.into_inner()
    }

    /// Puts an EXIF segment that holds only the orientation behind a JPEG's first two bytes.
    fn turned(jpeg: &[u8], orientation: u8) -> Vec<u8> {
        let mut exif = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
        exif.extend([orientation, 0, 0, 0, 0, 0, 0]);
        let mut out = jpeg[..2].to_vec();
        out.extend([0xff, 0xe1]);
        out.extend((exif.len() as u16 + 2).to_be_bytes());
        out.extend(exif);
        out.extend(&jpeg[2..]);
        out
    }

    fn decoded(small: &[u8]) -> RgbImage {
        image::load_from_memory_with_format(small, ImageFormat::Jpeg).unwrap().to_rgb8()
    }

    #[test]
    fn the_longer_edge_is_bounded_and_a_small_one_stays() {
        for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
            let small = decoded(&thumbnail(&picture(1600, 1200, format)).unwrap());
            assert_eq!(small.dimensions(), (320, 240), "{format:?}");
        }
        assert_eq!(decoded(&thumbnail(&picture(64, 20, ImageFormat::Png)).unwrap()).dimensions(), (64, 20));
    }

    #[test]
    fn it_stands_the_right_way_up() {
        let lying = picture(640, 480, ImageFormat::Jpeg);
        let as_it_lies = decoded(&thumbnail(&lying).unwrap());
        assert!(as_it_lies.get_pixel(10, 120)[0] > 150, "red is left");
        // 6: turned a quarter clockwise to be seen right, so that left comes to stand above.
        let right = decoded(&thumbnail(&turned(&lying, 6)).unwrap());
        assert_eq!(right.dimensions(), (240, 320));
        assert!(right.get_pixel(120, 10)[0] > 150 && right.get_pixel(120, 310)[2] > 150);
    }

    #[test]
    fn what_is_broken_or_another_kind_is_refused() {
        let whole = picture(640, 480, ImageFormat::Png);
        assert!(matches!(thumbnail(&whole[..whole.len() / 2]), Err(PhotoError::Damaged { .. })));
        for other in [&b""[..], b"hello", b"GIF89a\x01\0\x01\0\0\0\0;"] {
            assert_eq!(thumbnail(other), Err(PhotoError::OtherKind));
        }
    }

    #[test]
    fn a_picture_that_would_take_gigabytes_is_refused_from_its_header() {
        // A PNG of 30,000 × 30,000: only its header is there.
        let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec();
        png.extend(30_000u32.to_be_bytes());
        png.extend(30_000u32.to_be_bytes());
        png.extend([8, 2, 0, 0, 0]);
        let mut crc = !0u32;
        for byte in &png[12..] {
            crc ^= u32::from(*byte);
            for _ in 0..8 {
                crc = if crc & 1 == 1 { crc >> 1 ^ 0xedb8_8320 } else { crc >> 1 };
            }
        }
        png.extend((!crc).to_be_bytes());
        png.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
        assert_eq!(thumbnail(&png), Err(PhotoError::TooBig { width: 30_000, height: 30_000 }));
    }
}
