//! The two things that are worth knowing of a photo's EXIF: how it lies, and when it was taken.

/// What was found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Exif {
    pub orientation: Option<u8>,
    pub taken: Option<String>,
}

/// Tags of CIPA DC-008 (EXIF 2.32).
const ORIENTATION: u16 = 0x0112;
const CHANGED: u16 = 0x0132;
const EXIF_DIRECTORY: u16 = 0x8769;
const TAKEN: u16 = 0x9003;
/// A directory of a camera has some tens of entries.
const MOST_ENTRIES: u16 = 500;

impl Exif {
    /// What this one says, and where it says nothing, the other.
    pub fn or(self, other: Exif) -> Exif {
        Exif { orientation: self.orientation.or(other.orientation), taken: self.taken.or(other.taken) }
    }

    /// Reads a TIFF header with its first directory and the one of EXIF; what is damaged says nothing.
    pub fn read(tiff: &[u8]) -> Exif {
        let little = match tiff.get(..4) {
            Some(b"II*\0") => true,
            Some(b"MM\0*") => false,
            _ => return Exif::default(),
        };
        let tiff = Tiff { bytes: tiff, little };
        let mut exif = Exif::default();
        let mut changed = None;
        let Some(first) = tiff.long(4) else { return exif };
        let mut deeper = None;
        tiff.each(first, |tag, at| match tag {
            ORIENTATION => {
                let said = tiff.short(at + 8).and_then(|o| u8::try_from(o).ok());
                exif.orientation = said.filter(|o| (1..=8).contains(o));
            }
            CHANGED => changed = tiff.date(at),
            EXIF_DIRECTORY => deeper = tiff.long(at + 8),
            _ => {}
        });
        if let Some(directory) = deeper {
            tiff.each(directory, |tag, at| {
                if tag == TAKEN {
                    exif.taken = tiff.date(at);
                }
            });
        }
        exif.taken = exif.taken.or(changed);
        exif
    }
}

struct Tiff<'a> {
    bytes: &'a [u8],
    little: bool,
}

impl Tiff<'_> {
    fn short(&self, at: usize) -> Option<u16> {
        let b: [u8; 2] = self.bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if self.little { u16::from_le_bytes(b) } else { u16::from_be_bytes(b) })
    }

    fn long(&self, at: usize) -> Option<usize> {
        let b: [u8; 4] = self.bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        let n = if self.little { u32::from_le_bytes(b) } else { u32::from_be_bytes(b) };
        usize::try_from(n).ok()
    }

    fn each(&self, directory: usize, mut entry: impl FnMut(u16, usize)) {
        let count = self.short(directory).unwrap_or(0).min(MOST_ENTRIES);
        for n in 0..usize::from(count) {
            let Some(at) = directory.checked_add(2 + 12 * n) else { return };
            let Some(tag) = self.short(at) else { return };
            entry(tag, at);
        }
    }

    /// `2025:04:19 18:40:07` becomes a civil time; zeros and blanks say that the camera did not know.
    fn date(&self, at: usize) -> Option<String> {
        let start = self.long(at + 8)?;
        let text = std::str::from_utf8(self.bytes.get(start..start.checked_add(19)?)?).ok()?;
        let (day, clock) = text.split_once(' ')?;
        let digits = |text: &str, sign: char| text.chars().all(|c| c.is_ascii_digit() || c == sign);
        let whole = digits(day, ':') && digits(clock, ':') && !day.starts_with("0000");
        whole.then(|| format!("{}T{clock}", day.replace(':', "-")))
    }
}

/// A TIFF that says nothing but the orientation.
pub(crate) fn minimal(orientation: u8) -> Vec<u8> {
    let mut tiff = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
    tiff.extend([orientation, 0, 0, 0, 0, 0, 0]);
    tiff
}
