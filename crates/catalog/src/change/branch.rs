//! Branches: what a copy of a device wrote apart from the original, under a name of its own.
//!
//! Where a folder was copied, or put back to an earlier state, two transactions carry one device and one number. One
//! branch keeps the device's name; the other goes by a name that says of which device it is, from which number on, and
//! how it begins, so that every store comes to the same name by itself. The bytes of its transactions stay as they are.
//! They, and those of others who saw them under the old name, go on naming that; what they mean is told apart here:
//!
//! - a stamp means the transaction of that clock of whichever branch has one; where several have, the one that the
//!   writer was itself on, else none unless all of them are named;
//! - a vector covers a device's transactions beyond the number where a branch begins only where it names that branch
//!   too, since its writer may have seen either under that number.
//!
//! Whatever is in doubt counts as not seen: it shows, or stands as a conflict.

use super::{Seen, Stamp};
use crate::ids::Derived;
use uuid::Uuid;

/// A device's own identifier is a UUID of version 7 (RFC 9562); these bytes make it one of version 8, which is ours.
const VERSION: (usize, u8) = (6, 0x8b);
const VARIANT: (usize, u8) = (8, 0xb7);
/// Numbers beyond this are not told apart.
const MOST: u64 = 0xff_ffff;

fn is_branch(device: Uuid) -> bool {
    let bytes = device.as_bytes();
    bytes[VERSION.0] == VERSION.1 && bytes[VARIANT.0] == VARIANT.1
}

/// What all branches of a device have in common.
fn mark(device: Uuid) -> [u8; 4] {
    let id = if is_branch(device) { device } else { Derived::new("branches of").id(Some(device)).finish() };
    id.as_bytes()[..4].try_into().expect("an identifier is longer")
}

/// Names the branch of a device, or of another branch, whose first transaction has a number, a clock and contents.
pub fn name(device: Uuid, number: u64, hlc: u64, head: &[u8], body: &[u8]) -> Uuid {
    let first = Derived::new("begins with").bytes(&hlc.to_le_bytes()).bytes(head).bytes(body).finish();
    let mut bytes = *first.as_bytes();
    let from = from_the_root(device, number).min(MOST).to_be_bytes();
    bytes[..4].copy_from_slice(&mark(device));
    bytes[4..6].copy_from_slice(&from[6..]);
    bytes[7] = from[5];
    bytes[VERSION.0] = VERSION.1;
    bytes[VARIANT.0] = VARIANT.1;
    Uuid::from_bytes(bytes)
}

/// The number of the device itself under which a branch begins; none for a device itself.
pub fn begins_at(device: Uuid) -> Option<u64> {
    let bytes = device.as_bytes();
    is_branch(device).then(|| u64::from(bytes[7]) << 16 | u64::from(bytes[4]) << 8 | u64::from(bytes[5]))
}

fn from_the_root(device: Uuid, number: u64) -> u64 {
    begins_at(device).map_or(number, |from| from + number - 1)
}

/// Whether two are branches of one device, or one is the device and the other a branch of it.
pub fn are_of_one_device(a: Uuid, b: Uuid) -> bool {
    a == b || ((is_branch(a) || is_branch(b)) && mark(a) == mark(b))
}

/// Whether a list of stamps, as the transaction `by` names them, means `stamp` among all that there are.
pub fn means<'a>(
    named: &[Stamp],
    by: Stamp,
    stamp: Stamp,
    all: impl Iterator<Item = &'a Stamp> + Clone,
) -> bool {
    let alike = |a: Stamp, b: Stamp| a.hlc == b.hlc && are_of_one_device(a.device, b.device);
    if !named.iter().any(|name| alike(*name, stamp)) {
        return false;
    }
    let mut others = all.filter(|other| **other != stamp && alike(**other, stamp)).peekable();
    if others.peek().is_none() || by.device == stamp.device {
        return true;
    }
    others.all(|other| other.device != by.device && named.contains(other)) && named.contains(&stamp)
}

/// The number up to which a vector covers a device's transactions, where its writer was on `writer` and these branches
/// are known.
pub fn covered<'a>(
    seen: &Seen,
    writer: Uuid,
    device: Uuid,
    branches: impl IntoIterator<Item = &'a Uuid>,
) -> u64 {
    let mut covered = seen.get(&device).copied().unwrap_or(0);
    if writer == device {
        return covered;
    }
    let start = begins_at(device).unwrap_or(1);
    for branch in branches {
        // Whoever turned out to be on a branch wrote before anybody knew of it.
        let knew = *branch != writer && seen.contains_key(branch);
        if *branch != device && are_of_one_device(*branch, device) && !knew {
            let begins = begins_at(*branch).unwrap_or(1);
            covered = covered.min(begins.saturating_sub(start));
        }
    }
    covered
}

#[cfg(test)]
mod tests {
    use super::*;

    fn device(n: u8) -> Uuid {
        Uuid::from_bytes([n; 16])
    }

    fn stamp(hlc: u64, device: Uuid) -> Stamp {
        Stamp { hlc, device }
    }

    #[test]
    fn a_name_says_of_which_device_it_is_and_where_it_begins_however_it_parted() {
        let branch = name(device(1), 70_000, 5, b"head", b"body");
        assert!(are_of_one_device(branch, device(1)) && !are_of_one_device(branch, device(2)));
        assert!(!are_of_one_device(device(1), device(2)));
        assert_eq!((begins_at(branch), begins_at(device(1))), (Some(70_000), None));
        // Parted from the branch or from the device, what begins the same at the same place has one name.
        let later = name(branch, 3, 9, b"head", b"other");
        assert_eq!(later, name(device(1), 70_002, 9, b"head", b"other"));
        assert_ne!(later, name(device(1), 70_002, 9, b"head", b"another"));
        assert!(are_of_one_device(later, branch) && are_of_one_device(later, device(1)));
    }

    #[test]
    fn a_stamp_means_the_branch_that_its_writer_was_on_and_in_doubt_none() {
        let (root, other) = (device(1), device(2));
        let branch = name(root, 4, 7, b"", b"");
        let (here, there) = (stamp(7, root), stamp(7, branch));
        let both = [here, there];
        let means =
            |named: &[Stamp], by: Stamp, what: Stamp, all: &[Stamp]| means(named, by, what, all.iter());
        assert!(means(&[here], stamp(9, other), there, &[there]), "the only one of that clock");
        assert!(
            !means(&[here], stamp(9, other), here, &both) && !means(&[here], stamp(9, other), there, &both)
        );
        assert!(means(&both, stamp(9, other), here, &both) && means(&both, stamp(9, other), there, &both));
        assert!(
            means(&[here], stamp(9, branch), there, &both) && !means(&[here], stamp(9, branch), here, &both)
        );
        assert!(means(&[here], stamp(9, root), here, &both) && !means(&[here], stamp(9, root), there, &both));
        assert!(!means(&[here], stamp(9, other), stamp(8, root), &both));
    }

    #[test]
    fn a_vector_covers_beyond_a_fork_only_where_it_names_the_branch() {
        let (root, other) = (device(1), device(2));
        let branch = name(root, 4, 7, b"", b"");
        let mut seen = Seen::from([(root, 9), (other, 2)]);
        assert_eq!(covered(&seen, other, root, []), 9);
        assert_eq!(covered(&seen, other, root, [&branch]), 3);
        assert_eq!(covered(&seen, root, root, [&branch]), 9, "its own");
        assert_eq!(covered(&seen, other, other, [&branch]), 2);
        seen.insert(branch, 1);
        assert_eq!(covered(&seen, other, root, [&branch]), 9);
        assert_eq!(
            covered(&seen, branch, root, [&branch]),
            3,
            "who is on the branch has not seen the rest of the device"
        );
        let later = name(branch, 2, 8, b"", b"");
        seen.insert(branch, 5);
        assert_eq!(covered(&seen, other, branch, [&branch, &later]), 1);
    }
}
