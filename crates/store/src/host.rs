//! What a store needs from the machine it runs on, passed in so that nothing here reads a clock by itself.

use std::path::Path;
use uuid::Uuid;

/// Who this device is to other devices. It lives outside the shelf's folder and outside every backup, so that a copy
/// of a shelf is never taken for the device that it was copied from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity {
    /// Names the device in stamps.
    pub device: Uuid,
    /// Its secret, for pairing.
    pub key: [u8; 32],
}

/// The machine: clock, randomness, who this device is, who sits at it.
pub trait Host: Send + Sync {
    /// Milliseconds since 1970; only orders, so a wrong clock loses nothing.
    fn now_ms(&self) -> u64;
    /// The wall clock with its offset, RFC 3339.
    fn wall(&self) -> String;
    /// Fills `out` with random bytes.
    fn random(&self, out: &mut [u8]);
    /// The identity of this device for the shelf at `place`, made on first call.
    ///
    /// # Errors
    /// Whatever keeps it from being read or kept.
    fn identity(&self, place: &Path) -> std::io::Result<Identity>;
    /// Replaces that identity by a new one.
    ///
    /// # Errors
    /// Whatever keeps it from being kept.
    fn new_identity(&self, place: &Path) -> std::io::Result<Identity>;
    /// What this device keeps beside its identity under a name, such as the keys of hubs; in no backup and no export.
    ///
    /// # Errors
    /// Whatever keeps it from being read.
    fn recall(&self, what: &str) -> std::io::Result<Option<String>> {
        let _ = what;
        Ok(None)
    }
    /// Keeps it.
    ///
    /// # Errors
    /// Whatever keeps it from being kept; a host that keeps such things elsewhere says `Unsupported`.
    fn remember(&self, what: &str, text: &str) -> std::io::Result<()> {
        let _ = (what, text);
        Err(std::io::ErrorKind::Unsupported.into())
    }
    /// Who is writing, where that is known.
    fn person(&self) -> Option<Uuid> {
        None
    }
    /// The program and its version.
    fn program(&self) -> String {
        concat!("airshelf ", env!("CARGO_PKG_VERSION")).to_owned()
    }
    /// Whether the program knows that field of that entity; the way to run as an older program, which parks the rest.
    fn knows(&self, entity: u8, field: u16) -> bool {
        let _ = (entity, field);
        true
    }
}

/// A throw of the dice for a stamp.
pub(crate) fn dice(host: &dyn Host) -> u16 {
    let mut random = [0; 2];
    host.random(&mut random);
    u16::from_le_bytes(random)
}

/// A new row's identifier: UUIDv7 from the host's clock and randomness.
pub(crate) fn fresh_id(host: &dyn Host) -> Uuid {
    let mut random = [0; 10];
    host.random(&mut random);
    airshelf_catalog::ids::fresh(host.now_ms(), &random)
}
