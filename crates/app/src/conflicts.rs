//! Values that were changed apart, side by side.

use crate::code::Fault;
use crate::entry::called;
use crate::keep::in_words;
use crate::names::Names;
use crate::shelf::Shelf;
use airshelf_catalog::change::Stamp;
use airshelf_catalog::{FieldKind, Value};
use airshelf_store::Scope;
use chrono::DateTime;
use serde::Serialize;
use std::collections::HashSet;
use ts_rs::TS;
use uuid::Uuid;

/// A field with several values, none of which replaces the others.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ConflictCard {
    /// Its number in the list, from 1.
    pub number: usize,
    /// The row.
    pub id: Uuid,
    /// What kind of row it is.
    pub kind: &'static str,
    /// What the row is and what people call it.
    pub name: String,
    /// The field in words.
    pub field: String,
    /// Its values, the one that shows first.
    pub values: Vec<Standing>,
}

/// One of the values.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Standing {
    /// The value in words.
    pub text: String,
    /// Who wrote it: this device, or what the other is called.
    pub from: String,
    /// When, in universal time by that device's clock.
    pub when: String,
}

/// Every conflict of a shelf.
pub(crate) fn all(shelf: &Shelf) -> Result<Vec<ConflictCard>, Fault> {
    let list = shelf.store().conflicts()?;
    if list.is_empty() {
        return Ok(Vec::new());
    }
    let records = shelf.store().records(Scope::Shelf)?;
    let names = Names::of(&records);
    let standing = list.iter().flat_map(|c| std::iter::once(&c.shown).chain(&c.others));
    let from = devices(shelf, standing.map(|live| live.stamp.device).collect())?;
    let text = |kind: FieldKind, value: &Value| match (kind, value) {
        (FieldKind::OneOf(codes), Value::Int(code)) => codes
            .iter()
            .find(|(c, _)| c == code)
            .map_or_else(|| code.to_string(), |(_, name)| (*name).to_owned()),
        (FieldKind::Flag, Value::Int(flag)) => if *flag != 0 { "yes" } else { "no" }.to_owned(),
        (FieldKind::Link(kind), Value::Id(id)) => called(&records, &names, kind, *id),
        _ => in_words(value),
    };
    let card = |(at, c): (usize, &airshelf_store::Conflict)| ConflictCard {
        number: at + 1,
        id: c.id,
        kind: c.kind.table(),
        name: called(&records, &names, c.kind, c.id),
        field: c.field.name.replace('_', " "),
        values: std::iter::once(&c.shown)
            .chain(&c.others)
            .map(|live| Standing {
                text: text(c.field.kind, &live.value),
                from: from(live.stamp.device),
                when: when(live.stamp),
            })
            .collect(),
    };
    Ok(list.iter().enumerate().map(card).collect())
}

/// What devices are called: this one, by the name they gave, or as another; by the end of its id only where there
/// are several of these (ids made on one day begin alike).
pub(crate) fn devices(shelf: &Shelf, all: Vec<Uuid>) -> Result<impl Fn(Uuid) -> String + use<>, Fault> {
    let own = shelf.store().device();
    let peers = shelf.store().peers()?;
    let named = move |device: Uuid| {
        let known = peers.iter().find(|peer| peer.device == device).and_then(|peer| peer.name.clone());
        if device == own { Some("this device".to_owned()) } else { known }
    };
    let strangers: HashSet<Uuid> = all.into_iter().filter(|device| named(*device).is_none()).collect();
    Ok(move |device: Uuid| {
        named(device).unwrap_or_else(|| match strangers.len() {
            0 | 1 => "another device".to_owned(),
            _ => format!("another device (…{})", &device.to_string()[28..]),
        })
    })
}

fn when(stamp: Stamp) -> String {
    let at = i64::try_from(stamp.hlc >> 16).ok().and_then(DateTime::from_timestamp_millis);
    at.map_or_else(String::new, |at| at.format("%Y-%m-%d %H:%M UTC").to_string())
}
