//! A thread that writes down what the import lays into the tables.

use crate::log;
use airshelf_catalog::change::cbor::{put_creation, put_field};
use airshelf_catalog::{Entity, ValueRef};
use std::sync::mpsc;

/// About what a row costs in a transaction before compression, beside its long fields.
const ABOUT_A_ROW: usize = 120;

/// A row as the log records its creation.
pub(super) trait Recorded: Sync {
    fn write_down(&self, body: &mut Vec<u8>);
    fn about_bytes(&self) -> usize;
}

impl<E: Entity> Recorded for E {
    fn write_down(&self, body: &mut Vec<u8>) {
        let held = |index: &usize| self.value(*index) != ValueRef::Null;
        put_creation(body, E::KIND.number(), self.id(), (0..E::FIELDS.len()).filter(held).count());
        for index in (0..E::FIELDS.len()).filter(held) {
            put_field(body, E::FIELDS[index].number, self.value(index));
        }
    }

    fn about_bytes(&self) -> usize {
        let long = |index: usize| match self.value(index) {
            ValueRef::Text(text) => text.len(),
            ValueRef::Bytes(bytes) => bytes.len(),
            _ => 0,
        };
        ABOUT_A_ROW + (0..E::FIELDS.len()).map(long).sum::<usize>()
    }
}

pub(super) fn write_down(rows: &[&dyn Recorded]) -> Vec<u8> {
    let mut body = Vec::with_capacity(rows.len() * ABOUT_A_ROW * 2);
    for row in rows {
        row.write_down(&mut body);
    }
    body
}

/// Writes transactions down and compresses them beside the tables' work, in the order of the calls.
pub(super) struct Scribe<'r> {
    pub(super) rows: mpsc::Sender<Vec<&'r dyn Recorded>>,
    pub(super) bodies: mpsc::Receiver<Vec<u8>>,
}

impl<'r> Scribe<'r> {
    /// None where there are no threads; everything is then written down in its turn.
    #[cfg(not(target_family = "wasm"))]
    pub(super) fn hire<'s>(scope: &'s std::thread::Scope<'s, '_>) -> Option<Self>
    where
        'r: 's,
    {
        let (rows, calls) = mpsc::channel::<Vec<&'r dyn Recorded>>();
        let (answers, bodies) = mpsc::channel();
        scope.spawn(move || {
            for rows in calls {
                if answers.send(log::compress(&write_down(&rows))).is_err() {
                    break;
                }
            }
        });
        Some(Scribe { rows, bodies })
    }
}
