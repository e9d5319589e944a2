//! What a change is, how it is written down, and how changes merge.
//!
//! A store holds a set of [`Transaction`]s and nothing else that matters: its tables are what the changes of that set
//! add up to ([`merge`]). A change sets fields of one row, deletes the row, or creates it; an edit names the stamps it
//! replaces, so that what two people wrote apart stands side by side until somebody settles it.
//!
//! Start reading at [`stamp`] (what orders changes), then [`merge`] (the rule), then [`cbor`] (the bytes).

pub mod branch;
pub mod cbor;
pub mod merge;
pub mod stamp;

use crate::value::Value;
use std::collections::BTreeMap;
use uuid::Uuid;

pub use merge::{Live, RowState, merge, same};
pub use stamp::{Clock, Stamp};

/// How far each device's transactions are held: device → number of its last one.
pub type Seen = BTreeMap<Uuid, u64>;

/// What one transaction does to one row.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The entity's number; one that this program does not know is parked.
    pub entity: u8,
    /// The row.
    pub row: Uuid,
    /// What happens to it.
    pub act: Act,
    /// Fields whose values this program cannot read at all; they are parked.
    pub strange: Vec<u16>,
}

/// The three things that can happen to a row.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// The row appears with these fields; a field not listed is blank.
    Create(Vec<(u16, Value)>),
    /// Fields get other values. An edit without fields only touches the row, which revives it.
    Edit(Vec<Edited>),
    /// The row goes away for everybody who has written nothing about it beyond what the vector covers.
    Delete(Seen),
    /// Something a newer program does.
    Strange(u8),
}

/// One field of an edit.
#[derive(Clone, Debug, PartialEq)]
pub struct Edited {
    /// The field's number.
    pub field: u16,
    /// Its value from now on.
    pub value: Value,
    /// Every stamp whose value the writer saw or settled.
    pub replaces: Vec<Stamp>,
}

/// What a transaction says once for all its changes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Head {
    /// Who wrote it.
    pub person: Option<Uuid>,
    /// The wall clock with its offset (RFC 3339); displayed, never compared.
    pub wall: String,
    /// The program and its version.
    pub program: String,
    /// What was done, in words.
    pub label: String,
    /// For an import: the files it took in.
    pub imports: Vec<Uuid>,
}

/// A transaction: all of it holds, or nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct Transaction {
    /// The device that wrote it and its place in the order of all.
    pub stamp: Stamp,
    /// Its place in the order of its device, from 1 without gaps.
    pub number: u64,
    /// Who, when, with what and why.
    pub head: Head,
    /// What it does.
    pub changes: Vec<Change>,
}
