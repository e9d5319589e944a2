//! What crosses between two shelves. Transactions travel as a CBOR sequence (RFC 8742), byte for byte as they were
//! written; pieces of photos as they are; all else as JSON.

use airshelf_catalog::Uuid;
pub use airshelf_store::blobs::{hex as hash_text, parse as parse_hash};
use airshelf_store::{Encoded, Link, Piece, StoreError, VersionVector};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A question of one shelf to another. Asking it again does no harm.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {
    /// Who are you, and what do you hold?
    Hello(Hello),
    /// What are the links of a device's chain?
    Links(LinksOf),
    /// Here is a transaction that differs from yours; rename your branch if it is the later one.
    Fork(ForkAt),
    /// Take these transactions: a CBOR sequence.
    Push(Vec<u8>),
    /// What do you hold beyond this?
    Pull(Pull),
    /// Which photos and originals do you have, and which do you lack?
    Blobs(BlobsOf),
    /// Give a piece of a photo or original.
    Get {
        /// Which.
        hash: [u8; 32],
        /// From which byte.
        from: u64,
        /// How many bytes at most.
        most: usize,
    },
    /// Give a small picture of a photo.
    Thumbnail {
        /// Which.
        hash: [u8; 32],
    },
    /// Take a piece of a photo or original.
    Put {
        /// Which.
        hash: [u8; 32],
        /// Where it begins.
        from: u64,
        /// How many bytes there are in all.
        total: u64,
        /// The bytes.
        bytes: Vec<u8>,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// To [`Ask::Hello`].
    Welcome(Welcome),
    /// To [`Ask::Links`].
    Links(Links),
    /// To [`Ask::Fork`].
    Forked(Forked),
    /// To [`Ask::Push`].
    Pushed(Pushed),
    /// To [`Ask::Pull`]: a CBOR sequence, empty when there is nothing more.
    Batch(Vec<u8>),
    /// To [`Ask::Blobs`].
    Blobs(BlobsHeld),
    /// To [`Ask::Get`]; none where the other does not have it.
    Piece(Option<PieceOf>),
    /// To [`Ask::Thumbnail`]: a JPEG; none where the other has neither it nor what to make it of.
    Thumbnail(Option<Vec<u8>>),
    /// To [`Ask::Put`].
    Taken(Taken),
}

/// Who asks, and what it holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Hello {
    /// The asking device.
    pub device: Uuid,
    /// What it calls itself.
    pub name: Option<String>,
    /// Its program and version.
    pub program: String,
    /// Its clock, milliseconds since 1970.
    pub now_ms: u64,
    /// What it holds.
    #[cfg_attr(feature = "openapi", schema(value_type = super::shape::Vector))]
    pub vector: VersionVector,
}

/// Who answers, and what it holds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Welcome {
    /// The answering device.
    pub device: Uuid,
    /// What it calls itself.
    pub name: Option<String>,
    /// Its program and version.
    pub program: String,
    /// Its clock, milliseconds since 1970.
    pub now_ms: u64,
    /// What it holds.
    #[cfg_attr(feature = "openapi", schema(value_type = super::shape::Vector))]
    pub vector: VersionVector,
    /// Devices of which it holds other transactions than the asking shelf.
    pub forked: Vec<Uuid>,
}

/// Asks for links of a device's chain.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct LinksOf {
    /// The device.
    pub device: Uuid,
    /// The numbers asked for, at most 256.
    pub numbers: Vec<u64>,
}

/// Links of a device's chain; those that are not held are left out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Links {
    /// By number.
    #[cfg_attr(feature = "openapi", schema(value_type = std::collections::HashMap<String, super::shape::Chained>))]
    pub links: BTreeMap<u64, Link>,
}

/// The first transaction of a device that differs between the two.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct ForkAt {
    /// The device.
    pub device: Uuid,
    /// The number.
    pub from: u64,
    /// The asking shelf's link there.
    #[cfg_attr(feature = "openapi", schema(value_type = super::shape::Chained))]
    pub link: Link,
}

/// What became of a fork.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Forked {
    /// How many transactions were renamed; none where the answering shelf's branch keeps its name.
    pub renamed: Option<usize>,
}

/// Asks for transactions.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Pull {
    /// What the asking shelf holds.
    #[cfg_attr(feature = "openapi", schema(value_type = super::shape::Vector))]
    pub vector: VersionVector,
    /// About how many bytes to give.
    pub budget_bytes: usize,
}

/// What the other holds now that it has committed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Pushed {
    /// What it holds.
    #[cfg_attr(feature = "openapi", schema(value_type = super::shape::Vector))]
    pub vector: VersionVector,
    /// How many transactions were new to it.
    pub new: usize,
    /// How many rows came back because somebody wrote about them.
    pub revived: usize,
}

/// A photo or original by its SHA-256, in hexadecimal digits, with its size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct BlobName {
    /// SHA-256.
    #[cfg_attr(feature = "openapi", schema(pattern = "^[0-9a-f]{64}$"))]
    pub sha256: String,
    /// Size; for one that is asked for, the byte to go on from.
    pub bytes: u64,
}

/// Asks after photos and originals.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct BlobsOf {
    /// Those that the asking shelf has, and is not sure that anybody else does; at most 1,000.
    pub have: Vec<BlobName>,
    /// Those that it lacks, by SHA-256; at most 1,000.
    #[cfg_attr(feature = "openapi", schema(value_type = Vec<super::shape::Sha256>))]
    pub want: Vec<String>,
    /// The last that the answering shelf named as lacking, to go on after it.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(pattern = "^[0-9a-f]{64}$"))]
    pub after: Option<String>,
}

/// What the answering shelf has and lacks.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct BlobsHeld {
    /// Of those named, those that it has.
    pub held: Vec<BlobName>,
    /// Those that it lacks, in the order of their hashes, with the byte that it would go on from; fewer than 1,000 are
    /// the last.
    pub lacking: Vec<BlobName>,
}

/// A piece of a photo or original.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PieceOf {
    /// Size of the whole.
    pub total: u64,
    /// The bytes.
    pub bytes: Vec<u8>,
}

/// What became of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Taken {
    /// So many bytes are there; go on from here.
    Held(u64),
    /// The whole is there and verified.
    Whole,
    /// The bytes are not what the hash says; none was kept.
    Wrong,
}

impl From<Piece> for Taken {
    fn from(piece: Piece) -> Self {
        match piece {
            Piece::Held(bytes) => Taken::Held(bytes),
            Piece::Whole => Taken::Whole,
            Piece::Wrong => Taken::Wrong,
        }
    }
}

/// Joins transactions into a CBOR sequence.
pub(crate) fn join(transactions: &[Encoded]) -> Vec<u8> {
    transactions.iter().flat_map(|encoded| encoded.0.iter().copied()).collect()
}

/// Parts a CBOR sequence into transactions.
///
/// # Errors
/// [`StoreError::Malformed`].
pub(crate) fn part(sequence: &[u8]) -> Result<Vec<Encoded>, StoreError> {
    Encoded::part(sequence)
}
