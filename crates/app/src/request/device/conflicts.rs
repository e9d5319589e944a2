//! Values that were changed apart, side by side.

use crate::code::Fault;
use crate::entry::called;
use crate::keep::in_words;
use crate::names::Names;
use crate::shelf::Shelf;
use airshelf_catalog::{FieldKind, Value};
use airshelf_store::Scope;
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// A field with several values, none of which replaces the others.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ConflictCard {
    /// Its number in the list, from 1.
    pub number: usize,
    /// The row.
    pub id: Uuid,
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
}

pub(super) fn all(shelf: &Shelf) -> Result<Vec<ConflictCard>, Fault> {
    let list = shelf.store().conflicts()?;
    if list.is_empty() {
        return Ok(Vec::new());
    }
    let records = shelf.store().records(Scope::Shelf)?;
    let names = Names::of(&records);
    let peers = shelf.store().peers()?;
    let from = |device: Uuid| {
        let known = peers.iter().find(|peer| peer.device == device).and_then(|peer| peer.name.clone());
        match known {
            _ if device == shelf.store().device() => "this device".to_owned(),
            Some(name) => name,
            None => format!("another device ({})", &device.to_string()[..8]),
        }
    };
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
        name: called(&records, &names, c.kind, c.id),
        field: c.field.name.replace('_', " "),
        values: std::iter::once(&c.shown)
            .chain(&c.others)
            .map(|live| Standing { text: text(c.field.kind, &live.value), from: from(live.stamp.device) })
            .collect(),
    };
    Ok(list.iter().enumerate().map(card).collect())
}
