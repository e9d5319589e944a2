//! Finding things by words: tags, names, makers, notes, dimensions as people wrote them, and assemblies by their parts.

use crate::error::StoreError;
use crate::shelf::Store;
use airshelf_catalog::{EntityKind, ValueRef};
use rusqlite::Connection;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;
use uuid::Uuid;

/// A row that matches, best first.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// What it is.
    pub kind: EntityKind,
    /// Which one.
    pub id: Uuid,
    /// Lower is better; comparable within one search only.
    pub rank: f64,
}

/// The field that weighs most, and the others that are found by.
fn words_of(kind: EntityKind) -> (&'static str, &'static [&'static str]) {
    match kind {
        EntityKind::Person => ("name", &[]),
        EntityKind::Part => ("tag", &["name", "maker", "place", "condition", "filtration", "note"]),
        EntityKind::Revision => ("label", &["change"]),
        EntityKind::Measurement => ("", &["value"]),
        EntityKind::Alias => ("spelling", &[]),
        EntityKind::Photo => ("", &["file_name", "note"]),
        EntityKind::Listing => ("", &["seller", "note"]),
        EntityKind::Assembly
        | EntityKind::Bench
        | EntityKind::Session
        | EntityKind::Engine
        | EntityKind::Vehicle => ("name", &["note"]),
        EntityKind::Run | EntityKind::Prediction | EntityKind::ServiceEvent => ("", &["note"]),
        EntityKind::Rating => ("item", &["note"]),
        EntityKind::Decision => ("", &["reason"]),
        EntityKind::ImportFile => ("name", &[]),
        _ => ("", &[]),
    }
}

/// Which fields those are, by their place in the entity's list.
type Places = (Option<usize>, Vec<usize>);

fn places(kind: EntityKind) -> &'static Places {
    static PLACES: OnceLock<Vec<Places>> = OnceLock::new();
    let of = |kind: EntityKind| {
        let (tag, words) = words_of(kind);
        let at = |name: &str| kind.fields().iter().position(|field| field.name == name);
        (at(tag), words.iter().filter_map(|name| at(name)).collect())
    };
    let places = PLACES.get_or_init(|| {
        let most = EntityKind::ALL.iter().map(|kind| kind.number()).max().unwrap_or(0);
        (0..=most).map(|number| EntityKind::from_number(number).map(of).unwrap_or_default()).collect()
    });
    &places[usize::from(kind.number())]
}

fn text_of(value: ValueRef<'_>) -> &str {
    match value {
        ValueRef::Text(text) => text,
        ValueRef::Quantity(q) => q.raw().unwrap_or(""),
        _ => "",
    }
}

/// Keeps the words of a row.
pub(crate) fn index<'v>(
    conn: &Connection,
    kind: EntityKind,
    id: i64,
    value: &impl Fn(usize) -> ValueRef<'v>,
    again: bool,
) -> Result<(), StoreError> {
    if matches!(kind, EntityKind::Reading | EntityKind::Claim | EntityKind::SheetRows | EntityKind::AlsoAt) {
        return Ok(());
    }
    if again {
        conn.prepare_cached("DELETE FROM search WHERE rowid = ?1")?.execute([id])?;
    }
    let (tag, words) = places(kind);
    let tag = tag.map_or("", |at| text_of(value(at)));
    let words: Vec<&str> =
        words.iter().map(|at| text_of(value(*at))).filter(|text| !text.is_empty()).collect();
    if tag.is_empty() && words.is_empty() {
        return Ok(());
    }
    let mut insert = conn.prepare_cached("INSERT INTO search (rowid, tag, words) VALUES (?1, ?2, ?3)")?;
    insert.execute((id, tag, words.join(" \u{2022} ")))?;
    Ok(())
}

/// One typed word as an FTS5 phrase that also matches its beginnings.
fn phrase(word: &str) -> String {
    format!("\"{}\"*", word.replace('"', "\"\""))
}

impl Store {
    /// Finds rows by words, best first; several words must all match, and an assembly matches by its parts.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn search(&self, text: &str, limit: usize) -> Result<Vec<Hit>, StoreError> {
        let words: Vec<&str> =
            text.split_whitespace().filter(|word| word.chars().any(char::is_alphanumeric)).collect();
        if words.is_empty() {
            return Ok(Vec::new());
        }
        let all: Vec<String> = words.iter().map(|word| phrase(word)).collect();
        let mut found = self.matching(&all.join(" "))?;
        self.assemblies_of(&words, &mut found)?;
        let hidden = self.hidden()?;
        let mut hits = Vec::new();
        for (id, rank) in found {
            let (uuid, entity): ([u8; 16], u8) = self
                .conn
                .prepare_cached("SELECT uuid, entity FROM row WHERE id = ?1")?
                .query_row([id], |row| Ok((row.get(0)?, row.get(1)?)))?;
            if let (Some(kind), false) = (EntityKind::from_number(entity), hidden.contains(id)) {
                hits.push(Hit { kind, id: Uuid::from_bytes(uuid), rank });
            }
        }
        hits.sort_by(|a, b| a.rank.total_cmp(&b.rank).then(a.kind.cmp(&b.kind)).then(a.id.cmp(&b.id)));
        hits.truncate(limit);
        Ok(hits)
    }

    fn matching(&self, query: &str) -> Result<BTreeMap<i64, f64>, StoreError> {
        let mut find = self.conn.prepare_cached(
            "SELECT rowid, bm25(search, 10.0, 1.0) FROM search WHERE search MATCH ?1 ORDER BY 2 LIMIT 2000",
        )?;
        let found = find.query_map([query], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(found.collect::<Result<_, _>>()?)
    }

    /// Adds assemblies of which every word names a part.
    fn assemblies_of(&self, words: &[&str], found: &mut BTreeMap<i64, f64>) -> Result<(), StoreError> {
        let mut all: Option<BTreeMap<i64, f64>> = None;
        for word in words {
            let mut here: BTreeMap<i64, f64> = BTreeMap::new();
            for (part, rank) in self.matching(&phrase(word))? {
                let mut layers = self.conn.prepare_cached(
                    "SELECT DISTINCT layer.assembly FROM revision r JOIN layer ON layer.revision = r.id
                     WHERE r.part = ?1 OR r.part = (SELECT part FROM alias WHERE id = ?1)",
                )?;
                for assembly in layers.query_map([part], |row| row.get::<_, i64>(0))? {
                    let best = here.entry(assembly?).or_insert(rank);
                    *best = best.min(rank);
                }
            }
            all = Some(match all {
                None => here,
                Some(before) => {
                    let both: BTreeSet<i64> =
                        before.keys().filter(|id| here.contains_key(id)).copied().collect();
                    both.into_iter().map(|id| (id, before[&id] + here[&id])).collect()
                }
            });
        }
        // A part named outright comes before the assemblies that hold it.
        for (assembly, rank) in all.unwrap_or_default() {
            found.entry(assembly).or_insert(rank / 2.0);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use airshelf_catalog::FieldKind;

    #[test]
    fn every_word_field_is_a_field_that_has_words() {
        for kind in EntityKind::ALL {
            let (tag, words) = words_of(*kind);
            for name in words.iter().chain(Some(&tag).filter(|tag| !tag.is_empty())) {
                let field = kind.fields().iter().find(|field| field.name == *name).unwrap();
                assert!(matches!(
                    field.kind,
                    FieldKind::Text | FieldKind::Quantity(_) | FieldKind::AnyQuantity
                ));
            }
        }
    }
}
