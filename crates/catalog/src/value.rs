//! The form in which a field travels: one value, of one kind, under one number.

use crate::quantity::{Price, Quantity};
use airshelf_units::Dimension;
use uuid::Uuid;

/// A value on its way into or out of a change.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Blank; never zero.
    Null,
    /// A whole number, a flag (0 or 1) or the code of an enumeration.
    Int(i64),
    /// A bare number.
    Real(f64),
    /// Text, a civil date or a civil clock.
    Text(String),
    /// Bytes.
    Bytes(Vec<u8>),
    /// The identifier of another row.
    Id(Uuid),
    /// A measured value.
    Quantity(Quantity),
    /// Money.
    Price(Price),
}

/// A borrowed [`Value`], so that writing many rows copies nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ValueRef<'a> {
    /// See [`Value::Null`].
    Null,
    /// See [`Value::Int`].
    Int(i64),
    /// See [`Value::Real`].
    Real(f64),
    /// See [`Value::Text`].
    Text(&'a str),
    /// See [`Value::Bytes`].
    Bytes(&'a [u8]),
    /// See [`Value::Id`].
    Id(Uuid),
    /// See [`Value::Quantity`].
    Quantity(&'a Quantity),
    /// See [`Value::Price`].
    Price(&'a Price),
}

impl Value {
    /// Borrows the value.
    pub fn as_ref(&self) -> ValueRef<'_> {
        match self {
            Value::Null => ValueRef::Null,
            Value::Int(i) => ValueRef::Int(*i),
            Value::Real(r) => ValueRef::Real(*r),
            Value::Text(t) => ValueRef::Text(t),
            Value::Bytes(b) => ValueRef::Bytes(b),
            Value::Id(id) => ValueRef::Id(*id),
            Value::Quantity(q) => ValueRef::Quantity(q),
            Value::Price(p) => ValueRef::Price(p),
        }
    }
}

impl ValueRef<'_> {
    /// Copies the value.
    pub fn to_owned(self) -> Value {
        match self {
            ValueRef::Null => Value::Null,
            ValueRef::Int(i) => Value::Int(i),
            ValueRef::Real(r) => Value::Real(r),
            ValueRef::Text(t) => Value::Text(t.to_owned()),
            ValueRef::Bytes(b) => Value::Bytes(b.to_owned()),
            ValueRef::Id(id) => Value::Id(id),
            ValueRef::Quantity(q) => Value::Quantity(q.clone()),
            ValueRef::Price(p) => Value::Price(p.clone()),
        }
    }
}

/// What kind of value a field holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FieldKind {
    /// Free text.
    Text,
    /// A civil date or date with time, as ISO 8601 text, never moved to another time zone.
    Civil,
    /// A whole number.
    Int,
    /// A bare number.
    Real,
    /// Yes or no.
    Flag,
    /// A code of one of the [`crate::enums`]; the slice lists the codes this program knows with their names.
    OneOf(&'static [(i64, &'static str)]),
    /// The identifier of a row of that entity.
    Link(EntityKind),
    /// The identifier of a row of any entity.
    LinkAny,
    /// A measured value of that dimension.
    Quantity(Dimension),
    /// A measured value whose dimension another field of the row decides.
    AnyQuantity,
    /// Money.
    Price,
    /// Bytes.
    Bytes,
}

/// One field of an entity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FieldDef {
    /// The number that stands for the field in changes; never reused.
    pub number: u16,
    /// The field's name in code, columns and keys.
    pub name: &'static str,
    /// What it holds.
    pub kind: FieldKind,
}

/// A value that a field cannot hold.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ValueError {
    /// This program does not know the field; the value is parked, not lost.
    #[error("field {number} of {entity} is not known to this program")]
    UnknownField {
        /// The entity's name.
        entity: &'static str,
        /// The field's number.
        number: u16,
    },
    /// This program does not know the enumeration's value; it is parked, not lost.
    #[error("value {code} of {field} is not known to this program")]
    UnknownCode {
        /// The field's name.
        field: &'static str,
        /// The code.
        code: i64,
    },
    /// The value is of another kind than the field; trying again does not help.
    #[error("{field} cannot hold this kind of value")]
    WrongKind {
        /// The field's name.
        field: &'static str,
    },
}

impl ValueError {
    /// Whether a newer program may understand the value, so that it must be kept aside.
    pub fn is_unknown(&self) -> bool {
        !matches!(self, ValueError::WrongKind { .. })
    }
}

/// A row of the catalogue, of a known kind, with numbered fields.
pub trait Entity: Sized + Default + Clone + PartialEq + std::fmt::Debug + Send + Sync {
    /// Which entity it is.
    const KIND: EntityKind;
    /// Its fields in the order of their numbers.
    const FIELDS: &'static [FieldDef];
    /// The row's identifier.
    fn id(&self) -> Uuid;
    /// Replaces the row's identifier.
    fn set_id(&mut self, id: Uuid);
    /// The value of the field at `index` in [`Entity::FIELDS`].
    fn value(&self, index: usize) -> ValueRef<'_>;
    /// Sets the field with that number.
    ///
    /// # Errors
    /// [`ValueError`] if the field or the value is not known, or is of another kind.
    fn set(&mut self, number: u16, value: Value) -> Result<(), ValueError>;
}

pub use crate::model::EntityKind;

/// A Rust type that a field can have; every field is optional, because a blank is a blank.
pub(crate) trait Held: Sized {
    fn hold(&self) -> ValueRef<'_>;
    fn take(value: Value, field: &'static str) -> Result<Self, ValueError>;
}

macro_rules! held {
    ($ty:ty, $pattern:pat => $out:expr, $self:ident => $borrow:expr) => {
        impl Held for Option<$ty> {
            fn hold(&self) -> ValueRef<'_> {
                match self {
                    None => ValueRef::Null,
                    Some($self) => $borrow,
                }
            }
            fn take(value: Value, field: &'static str) -> Result<Self, ValueError> {
                match value {
                    Value::Null => Ok(None),
                    $pattern => Ok(Some($out)),
                    _ => Err(ValueError::WrongKind { field }),
                }
            }
        }
    };
}

held!(String, Value::Text(t) => t, t => ValueRef::Text(t));
held!(i64, Value::Int(i) => i, i => ValueRef::Int(*i));
held!(bool, Value::Int(i) => i != 0, b => ValueRef::Int(i64::from(*b)));
held!(Uuid, Value::Id(id) => id, id => ValueRef::Id(*id));
held!(Quantity, Value::Quantity(q) => q, q => ValueRef::Quantity(q));
held!(Price, Value::Price(p) => p, p => ValueRef::Price(p));
held!(Vec<u8>, Value::Bytes(b) => b, b => ValueRef::Bytes(b));

impl Held for Option<f64> {
    fn hold(&self) -> ValueRef<'_> {
        self.map_or(ValueRef::Null, ValueRef::Real)
    }
    fn take(value: Value, field: &'static str) -> Result<Self, ValueError> {
        match value {
            Value::Null => Ok(None),
            Value::Real(r) => Ok(Some(r)),
            Value::Int(i) => Ok(Some(i as f64)),
            _ => Err(ValueError::WrongKind { field }),
        }
    }
}
