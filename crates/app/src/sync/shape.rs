//! What the store's part of a message looks like, for the document of an API; the store itself knows no such documents.

use airshelf_catalog::Uuid;
use std::collections::HashMap;
use utoipa::ToSchema;

/// How far a shelf holds every device's transactions.
#[derive(ToSchema)]
#[allow(dead_code, reason = "only its shape is asked for")]
pub(crate) struct Vector {
    /// The shelf.
    shelf: Uuid,
    /// Whether that is the demonstration.
    demo: bool,
    /// By device, the last that is held of it; all before it are.
    devices: HashMap<String, Held>,
}

/// How far a shelf holds one device's transactions.
#[derive(ToSchema)]
#[allow(dead_code, reason = "only its shape is asked for")]
pub(crate) struct Held {
    /// The number of the last.
    number: u64,
    /// A hash over all of them.
    chain: Vec<u8>,
}

/// One transaction of a device as another shelf compares it.
#[derive(ToSchema)]
#[allow(dead_code, reason = "only its shape is asked for")]
pub(crate) struct Chained {
    /// Its clock.
    hlc: u64,
    /// The hash over it and all before it.
    chain: Vec<u8>,
}

/// A SHA-256 in hexadecimal digits.
#[derive(ToSchema)]
#[schema(pattern = "^[0-9a-f]{64}$")]
#[allow(dead_code, reason = "only its shape is asked for")]
pub(crate) struct Sha256(String);
