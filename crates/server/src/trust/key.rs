//! Keys and codes: 256 random bits that a device shows, eight digits that a person types; kept only as hashes.

use airshelf_app::Host;
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq;

/// A new key, as hexadecimal digits.
pub(crate) fn fresh(host: &dyn Host) -> String {
    let mut key = [0; 32];
    host.random(&mut key);
    hex(&key)
}

/// A new code of eight digits, each as likely as any other.
pub(crate) fn fresh_code(host: &dyn Host) -> String {
    loop {
        let mut bytes = [0; 4];
        host.random(&mut bytes);
        let number = u32::from_le_bytes(bytes);
        // 42 × 10^8 is the biggest multiple that fits; what lies above would favor low codes.
        if number < 4_200_000_000 {
            return format!("{:08}", number % 100_000_000);
        }
    }
}

/// The hash that is kept.
pub(crate) fn hash(secret: &str) -> String {
    hex(&Sha256::digest(secret.as_bytes()))
}

/// Whether two hashes are equal, in a time that does not tell where they differ.
pub(crate) fn same(a: &str, b: &str) -> bool {
    a.as_bytes().ct_eq(b.as_bytes()).into()
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
