//! Finding where two copies of one device parted, in a few questions however long they are.

use super::wire::{ForkAt, LinksOf};
use crate::code::Fault;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::Uuid;
use airshelf_store::Link;
use std::collections::BTreeMap;

/// Links asked for at once.
const AT_ONCE: u64 = 128;

/// The search for the first transaction of a device that differs: it lies after `same`, and not after `differs`.
#[derive(Clone, Debug)]
pub(super) struct Search {
    device: Uuid,
    same: u64,
    differs: u64,
}

/// What a search has come to.
pub(super) enum Found {
    /// The two agree by now.
    Nothing,
    /// It lies between numbers that are yet to be asked for.
    Between,
    /// It is here, with the other's link: one of the two renames its branch.
    Here(ForkAt, Link),
}

impl Search {
    pub(super) fn of(device: Uuid, shortest: u64) -> Self {
        Search { device, same: 0, differs: shortest }
    }

    pub(super) fn asking(&self) -> LinksOf {
        let span = self.differs - self.same;
        let step = span.div_ceil(AT_ONCE).max(1);
        let mut numbers: Vec<u64> =
            (1..=AT_ONCE).map(|n| self.same + n * step).take_while(|n| *n < self.differs).collect();
        numbers.push(self.differs);
        LinksOf { device: self.device, numbers }
    }

    /// Takes their links in.
    pub(super) fn narrow(&mut self, shelf: &Shelf, theirs: &BTreeMap<u64, Link>) -> Result<Found, Fault> {
        let numbers: Vec<u64> = theirs.keys().copied().collect();
        let ours = shelf.store().links(self.device, &numbers).map_err(store_fault)?;
        let mut both = numbers.iter().filter_map(|n| Some((*n, ours.get(n)?, &theirs[n]))).peekable();
        if both.peek().is_none() {
            return Ok(Found::Nothing);
        }
        let mut parted = None;
        for (number, our, their) in both {
            if our == their {
                self.same = self.same.max(number);
            } else {
                parted = Some((number, our.clone(), their.clone()));
                break;
            }
        }
        let Some((number, our, their)) = parted else { return Ok(Found::Nothing) };
        self.differs = number;
        if self.differs == self.same + 1 {
            let at = ForkAt { device: self.device, from: number, link: our };
            return Ok(Found::Here(at, their));
        }
        Ok(Found::Between)
    }
}
