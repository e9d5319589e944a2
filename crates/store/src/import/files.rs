//! What an import says of rows and files that were there before it.

use super::{Bulk, Completing, MOST_CHANGES};
use crate::error::StoreError;
use crate::local::{self, Place};
use airshelf_catalog::change::cbor::put_change;
use airshelf_catalog::change::{Act, Change, Edited};
use airshelf_catalog::model::ImportFile;
use airshelf_catalog::{Entity, EntityKind, Value};

impl Bulk<'_, '_, '_> {
    /// Writes what the file states of rows held before it, and says of how many; a row that is not held any more is
    /// passed over, and one of which nothing changes, unless it is to be touched.
    pub(super) fn complete(
        &mut self,
        completing: &[Completing<'_>],
        touch: bool,
    ) -> Result<usize, StoreError> {
        let mut written = 0;
        for piece in completing.chunks(MOST_CHANGES) {
            self.close()?;
            self.catch_up()?;
            let mut edited = Vec::new();
            for one in piece {
                let Some(known) = local::find(self.tables.conn, one.row)?.filter(|k| k.born.is_some()) else {
                    continue;
                };
                let (state, _) = self.tables.state(known.id)?;
                let mut edits = Vec::new();
                for (field, value) in one.fields {
                    let live = state.fields.get(field).map_or(&[][..], |live| live);
                    if live.first().map_or(&Value::Null, |live| &live.value) != value {
                        let replaces = live.iter().map(|live| live.stamp).collect();
                        edits.push(Edited { field: *field, value: value.clone(), replaces });
                    }
                }
                if touch || !edits.is_empty() {
                    let act = Act::Edit(edits);
                    let change = Change { entity: one.kind.number(), row: one.row, act, strange: vec![] };
                    put_change(&mut self.body, &change);
                    edited.push(change);
                }
            }
            written += edited.len();
            self.changes += edited.len();
            self.written += edited.len();
            let at = Place { txn: self.txn, stamp: self.stamp, number: self.number };
            self.close()?;
            self.catch_up()?;
            for change in &edited {
                self.tables.take(at, change)?;
            }
        }
        Ok(written)
    }

    /// Writes the files last, when it is known how many changes their import made, but into their own transaction.
    pub(super) fn files(&mut self, files: &[ImportFile]) -> Result<(), StoreError> {
        self.close()?;
        let mut later = Vec::new();
        let new = files.len();
        for file in files {
            let known = local::find(self.tables.conn, file.id)?;
            match known.filter(|known| known.born.is_some()) {
                None => {
                    let mut whole = file.clone();
                    whole.changes = Some((self.written + new) as i64);
                    self.add_own(&whole)?;
                }
                Some(known) => later.push((file, known.id)),
            }
        }
        for (file, id) in later {
            self.done += 1;
            self.imported.already += 1;
            self.again(file, id)?;
        }
        Ok(())
    }

    /// A file known already: brings it back where it was taken back, and counts what is new in it.
    fn again(&mut self, file: &ImportFile, id: i64) -> Result<(), StoreError> {
        let (state, _) = self.tables.state(id)?;
        let number_of = |name: &str| {
            let field = ImportFile::FIELDS.iter().find(|field| field.name == name);
            field.expect("the file's own fields").number
        };
        let mut edits = Vec::new();
        let mut set = |name: &str, value: &dyn Fn(Option<&Value>) -> Option<Value>| {
            let live = state.fields.get(&number_of(name)).map_or(&[][..], |live| live);
            if let Some(value) = value(live.first().map(|live| &live.value)) {
                let replaces = live.iter().map(|live| live.stamp).collect();
                edits.push(Edited { field: number_of(name), value, replaces });
            }
        };
        let undone = |value: Option<&Value>| (value == Some(&Value::Int(1))).then_some(Value::Int(0));
        set("undone", &undone);
        let mapping = file.mapping.clone().map_or(Value::Null, Value::Text);
        set("mapping", &|value| {
            let again = state.fields.get(&number_of("undone")).and_then(|live| live.first());
            let back = again.is_some_and(|live| live.value == Value::Int(1));
            (back && value.unwrap_or(&Value::Null) != &mapping).then(|| mapping.clone())
        });
        let written = self.written as i64;
        let more = |value: Option<&Value>| {
            let before = if let Some(Value::Int(before)) = value { *before } else { 0 };
            (written > 0).then_some(Value::Int(before + written + 1))
        };
        set("changes", &more);
        if edits.is_empty() {
            return Ok(());
        }
        self.imported.brought_back |= edits.iter().any(|edit| edit.field == number_of("undone"));
        let change = Change {
            entity: EntityKind::ImportFile.number(),
            row: file.id,
            act: Act::Edit(edits),
            strange: vec![],
        };
        put_change(&mut self.body, &change);
        self.changes += 1;
        let at = Place { txn: self.txn, stamp: self.stamp, number: self.number };
        self.close()?;
        self.catch_up()?;
        self.tables.take(at, &change)
    }
}
