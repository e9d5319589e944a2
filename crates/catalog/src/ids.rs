//! Where identifiers come from.
//!
//! New rows carry a UUIDv7, made from a clock and random bytes that the caller passes in. An assembly and every
//! imported row carry a UUIDv8 derived from content (RFC 9562, section 5.8), so that two devices that build the
//! same assembly or import the same sheet offline make one row.

use sha2::{Digest, Sha256};
use uuid::{Builder, Uuid};

/// Makes a UUIDv7 from milliseconds since 1970 and ten random bytes.
pub fn fresh(unix_ms: u64, random: &[u8; 10]) -> Uuid {
    Builder::from_unix_timestamp_millis(unix_ms, random).into_uuid()
}

/// Derives a UUIDv8 from content: SHA-256 over length-prefixed pieces, under a name that separates uses.
#[derive(Clone)]
pub struct Derived(Sha256);

impl Derived {
    /// Starts a derivation under `name` (an entity's table, say).
    pub fn new(name: &str) -> Self {
        Derived(Sha256::new()).bytes(name.as_bytes())
    }

    /// Adds a piece.
    #[must_use]
    pub fn bytes(mut self, piece: &[u8]) -> Self {
        self.0.update((piece.len() as u32).to_le_bytes());
        self.0.update(piece);
        self
    }

    /// Adds text as it stands.
    #[must_use]
    pub fn text(self, piece: &str) -> Self {
        self.bytes(piece.as_bytes())
    }

    /// Adds text without regard to case and spacing.
    #[must_use]
    pub fn folded(self, piece: &str) -> Self {
        self.bytes(fold(piece).as_bytes())
    }

    /// Adds an identifier, or the lack of one.
    #[must_use]
    pub fn id(self, piece: Option<Uuid>) -> Self {
        match piece {
            Some(id) => self.bytes(id.as_bytes()),
            None => self.bytes(&[]),
        }
    }

    /// Adds a whole number, or the lack of one.
    #[must_use]
    pub fn int(self, piece: Option<i64>) -> Self {
        match piece {
            Some(i) => self.bytes(&i.to_le_bytes()),
            None => self.bytes(&[]),
        }
    }

    /// Adds a number rounded to nine significant digits, so that `277.9` and `277.90` are one value, or the lack of one.
    #[must_use]
    pub fn real(self, piece: Option<f64>) -> Self {
        match piece {
            None => self.bytes(&[]),
            Some(0.0) => self.bytes(&[0; 10]),
            Some(x) => {
                let exponent = libm::log10(x.abs()).floor() as i16;
                let scaled = (x / 10f64.powi(i32::from(exponent)) * 1e8).round() as i64;
                let (scaled, exponent) = if scaled.abs() >= 1_000_000_000 {
                    (scaled / 10, exponent + 1)
                } else {
                    (scaled, exponent)
                };
                let mut bytes = [0u8; 10];
                bytes[..8].copy_from_slice(&scaled.to_le_bytes());
                bytes[8..].copy_from_slice(&exponent.to_le_bytes());
                self.bytes(&bytes)
            }
        }
    }

    /// The identifier.
    pub fn finish(self) -> Uuid {
        let hash = self.0.finalize();
        let mut first = [0u8; 16];
        first.copy_from_slice(&hash[..16]);
        Builder::from_custom_bytes(first).into_uuid()
    }
}

/// Derives the identifier of a row that belongs to one other row, such as a run's reading. It begins with the owner's
/// first half, so that an index keeps the two side by side.
pub fn beside(name: &str, owner: Uuid) -> Uuid {
    let mut bytes = *Derived::new(name).id(Some(owner)).finish().as_bytes();
    bytes[..8].copy_from_slice(&owner.as_bytes()[..8]);
    Builder::from_custom_bytes(bytes).into_uuid()
}

/// Folds a name for comparison: lower case, single spaces, no spaces around dashes.
pub fn fold(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.extend(word.chars().flat_map(char::to_lowercase));
    }
    out
}

/// The part that a name or tag stands for when nothing else is known: one per kind and folded name.
pub fn named_part(kind: crate::PartKind, name: &str) -> Uuid {
    Derived::new("part").int(Some(kind.code())).folded(name).finish()
}

/// The first revision of a part.
pub fn first_revision(part: Uuid) -> Uuid {
    Derived::new("revision").id(Some(part)).finish()
}

/// One layer of an assembly.
#[derive(Clone, Debug, PartialEq)]
pub struct Layer {
    /// The revision.
    pub revision: Uuid,
    /// Orientation in words (`upside down`), empty for the usual one.
    pub orientation: String,
    /// Gap to the layer below in metres, where one was left on purpose.
    pub gap_m: Option<f64>,
}

impl Layer {
    /// A layer in its usual orientation without a gap.
    pub fn of(revision: Uuid) -> Self {
        Layer { revision, orientation: String::new(), gap_m: None }
    }
}

/// Packs the layers of an assembly, from the item up: per layer 16 bytes of revision, a flag byte,
/// and only where flagged the orientation (length byte and text) and the gap (f64, little endian).
pub fn pack_layers(layers: &[Layer]) -> Vec<u8> {
    let mut out = Vec::with_capacity(layers.len() * 17);
    for layer in layers {
        out.extend_from_slice(layer.revision.as_bytes());
        let oriented = !layer.orientation.is_empty();
        out.push(u8::from(oriented) | u8::from(layer.gap_m.is_some()) << 1);
        if oriented {
            let text: String = layer.orientation.chars().take(60).collect();
            out.push(text.len() as u8);
            out.extend_from_slice(text.as_bytes());
        }
        if let Some(gap) = layer.gap_m {
            out.extend_from_slice(&gap.to_le_bytes());
        }
    }
    out
}

/// Reads back what [`pack_layers`] wrote; none if the bytes are not of that form.
pub fn unpack_layers(mut bytes: &[u8]) -> Option<Vec<Layer>> {
    let mut layers = Vec::new();
    while !bytes.is_empty() {
        let revision = Uuid::from_slice(bytes.get(..16)?).ok()?;
        let flags = *bytes.get(16)?;
        bytes = &bytes[17..];
        let mut layer = Layer::of(revision);
        if flags & 1 != 0 {
            let length = usize::from(*bytes.first()?);
            layer.orientation = std::str::from_utf8(bytes.get(1..=length)?).ok()?.to_owned();
            bytes = &bytes[1 + length..];
        }
        if flags & 2 != 0 {
            layer.gap_m = Some(f64::from_le_bytes(bytes.get(..8)?.try_into().ok()?));
            bytes = &bytes[8..];
        }
        layers.push(layer);
    }
    Some(layers)
}

/// The identifier of the assembly with those layers.
pub fn assembly(layers: &[Layer]) -> Uuid {
    Derived::new("assembly").bytes(&pack_layers(layers)).finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_layers_make_one_assembly_and_another_order_another() {
        let (a, b) = (
            Layer::of(named_part(crate::PartKind::Base, "BS-1")),
            Layer::of(named_part(crate::PartKind::Lid, "LD-1")),
        );
        assert_eq!(assembly(&[a.clone(), b.clone()]), assembly(&[a.clone(), b.clone()]));
        assert_ne!(assembly(&[a.clone(), b.clone()]), assembly(&[b, a.clone()]));
        let lifted = Layer { orientation: "upside down".into(), gap_m: Some(0.003), ..a };
        let packed = pack_layers(std::slice::from_ref(&lifted));
        assert_eq!(unpack_layers(&packed), Some(vec![lifted]));
        assert_eq!(unpack_layers(&packed[..packed.len() - 1]), None);
    }

    #[test]
    fn derived_ids_are_version_8_and_do_not_depend_on_trailing_zeros() {
        let id = Derived::new("reading").real(Some(277.9)).finish();
        assert_eq!(id.get_version_num(), 8);
        assert_eq!(id, Derived::new("reading").real("277.90".parse().ok()).finish());
        assert_ne!(id, Derived::new("reading").real(Some(277.8)).finish());
    }

    #[test]
    fn a_reading_stands_beside_its_run_and_is_not_it() {
        let run = Derived::new("run").int(Some(1)).finish();
        let (reading, claim) = (beside("reading", run), beside("claim", run));
        assert_eq!(reading.as_bytes()[..6], run.as_bytes()[..6]);
        assert_ne!(reading, run);
        assert_ne!(reading, claim);
        assert_eq!(reading.get_version_num(), 8);
    }

    #[test]
    fn fresh_ids_sort_by_time() {
        assert!(fresh(1, &[255; 10]) < fresh(2, &[0; 10]));
        assert_eq!(fresh(1, &[0; 10]).get_version_num(), 7);
    }
}
