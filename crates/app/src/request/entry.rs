//! Rows, fields and quantities, wherever a screen shows them.

use super::amount::Amount;
use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::keep::UndoReport;
use crate::shelf::Shelf;
use airshelf_catalog::EntityKind;
use airshelf_units::{Decimal, Digits, Dimension, System, Unit, in_system, read};
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A question about rows and fields.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "EntryAsked")]
pub enum Asked {
    /// Reads a quantity as it is typed; needs no shelf.
    Read {
        /// What was typed, such as `2 15/16`.
        text: String,
        /// What it measures, such as `length`.
        dimension: String,
        /// The unit that is meant where the text has none.
        unit: Option<String>,
    },
    /// Adds a row of a kind, such as `vehicle`, by fields and texts.
    Add {
        /// The kind.
        kind: String,
        /// Fields and what was typed into them.
        fields: Vec<(String, String)>,
    },
    /// Changes fields of a row.
    Change {
        /// The kind.
        kind: String,
        /// Its id, or what people call it.
        which: String,
        /// Fields and what was typed into them.
        fields: Vec<(String, String)>,
    },
    /// Removes a row.
    Remove {
        /// The kind.
        kind: String,
        /// Its id, or what people call it.
        which: String,
    },
    /// Strikes a run's readings out, or one reading.
    Strike {
        /// The run or the reading.
        which: String,
        /// Why.
        reason: String,
    },
    /// Takes a change back.
    Undo {
        /// Its number.
        #[ts(type = "number")]
        change: u64,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "EntryAnswer")]
pub enum Answer {
    /// How it was read.
    Read(Typed),
    /// The new row.
    Add(Changed),
    /// The changed row.
    Change(Changed),
    /// The removed row.
    Remove(Changed),
    /// The struck row.
    Strike(Changed),
    /// What was taken back.
    Undo(UndoReport),
}

/// A quantity as it was typed.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Typed {
    /// How it was understood, in the unit it was typed in and in the other system.
    pub amount: Amount,
    /// The same in one line, such as `2 15/16 in = 74.61 mm`.
    pub echo: String,
}

pub(super) fn answer(shelf: Option<&mut Shelf>, asked: Asked) -> Result<Answer, Fault> {
    if let Asked::Read { text, dimension, unit } = &asked {
        return Ok(Answer::Read(typed(text, dimension, unit.as_deref())?));
    }
    let shelf = shelf.ok_or_else(|| Fault::new(Code::NoShelf, "no shelf is open on this device"))?;
    Ok(match asked {
        Asked::Read { .. } => unreachable!("it is answered without a shelf"),
        Asked::Add { kind, fields } => Answer::Add(shelf.add(kind_named(&kind)?, &fields)?),
        Asked::Change { kind, which, fields } => {
            Answer::Change(shelf.change(kind_named(&kind)?, &which, &fields)?)
        }
        Asked::Remove { kind, which } => Answer::Remove(shelf.remove(kind_named(&kind)?, &which)?),
        Asked::Strike { which, reason } => Answer::Strike(shelf.strike(&which, &reason)?),
        Asked::Undo { change } => Answer::Undo(shelf.undo(change)?),
    })
}

fn kind_named(name: &str) -> Result<EntityKind, Fault> {
    EntityKind::ALL
        .iter()
        .copied()
        .find(|kind| kind.table() == name)
        .ok_or_else(|| Fault::new(Code::BadArgument, format!("there are no rows of the kind {name}")))
}

/// Reads what was typed for a dimension, in `unit` where it says none.
///
/// # Errors
/// [`Code::BadQuantity`] with what was not understood, or with the candidates.
pub(super) fn typed(text: &str, dimension: &str, unit: Option<&str>) -> Result<Typed, Fault> {
    let dimension = Dimension::ALL
        .iter()
        .copied()
        .find(|d| d.name() == dimension)
        .ok_or_else(|| Fault::new(Code::BadArgument, format!("nothing is measured as {dimension}")))?;
    let unit = unit
        .map(|unit| Unit::named(unit, Some(dimension)))
        .transpose()
        .map_err(|e| Fault::new(Code::BadQuantity, e.to_string()))?;
    let read = read(text, dimension, unit, Decimal::Point)
        .map_err(|e| Fault::new(Code::BadQuantity, e.to_string()))?;
    let typed_in = read.unit;
    let (us, si) = (in_system(typed_in, System::Us), in_system(typed_in, System::Si));
    let other = if typed_in == us { si } else { us };
    let amount = Amount::in_units(read.si, typed_in, other, Digits::Significant(5));
    Ok(Typed { echo: read.echo(), amount })
}
