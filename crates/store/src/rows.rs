//! Rows of any entity in and out of their tables, field by field as the catalog lists them.

use crate::error::StoreError;
use crate::layout::{Layout, layout};
use crate::local::Uuids;
use airshelf_catalog::quantity::Written;
use airshelf_catalog::{Entity, FieldDef, FieldKind, Price, Quantity, Value, ValueError, ValueRef};
use airshelf_units::Unit;
use rusqlite::types::{Null, ValueRef as Column};
use rusqlite::{Row, Statement};

/// Whether a field can hold a value, and this program knows what it means. A unit of another dimension is an audit
/// finding, not a refusal.
pub(crate) fn fits(field: &FieldDef, value: &Value) -> Result<(), ValueError> {
    let name = field.name;
    match (field.kind, value) {
        (_, Value::Null)
        | (FieldKind::Text | FieldKind::Civil, Value::Text(_))
        | (FieldKind::Int | FieldKind::Flag, Value::Int(_))
        | (FieldKind::Real, Value::Real(_) | Value::Int(_))
        | (FieldKind::Link(_) | FieldKind::LinkAny, Value::Id(_))
        | (FieldKind::Quantity(_) | FieldKind::AnyQuantity, Value::Quantity(_))
        | (FieldKind::Price, Value::Price(_))
        | (FieldKind::Bytes, Value::Bytes(_)) => Ok(()),
        (FieldKind::OneOf(codes), Value::Int(code)) => {
            if codes.iter().any(|(known, _)| known == code) {
                Ok(())
            } else {
                Err(ValueError::UnknownCode { field: name, code: *code })
            }
        }
        _ => Err(ValueError::WrongKind { field: name }),
    }
}

/// Binds one field's columns from parameter `at` on; `id` is the local integer where the value is a link.
pub(crate) fn bind(
    statement: &mut Statement<'_>,
    at: usize,
    value: ValueRef<'_>,
    id: i64,
    scratch: &mut String,
) -> Result<(), StoreError> {
    match value {
        ValueRef::Null => {}
        ValueRef::Int(i) => statement.raw_bind_parameter(at, i)?,
        ValueRef::Real(r) => statement.raw_bind_parameter(at, r)?,
        ValueRef::Text(t) => statement.raw_bind_parameter(at, t)?,
        ValueRef::Bytes(b) => statement.raw_bind_parameter(at, b)?,
        ValueRef::Id(_) => statement.raw_bind_parameter(at, id)?,
        ValueRef::Quantity(q) => {
            if q.si.is_nan() {
                statement.raw_bind_parameter(at, Null)?;
            } else {
                statement.raw_bind_parameter(at, q.si)?;
            }
            if let Some(written) = &q.written {
                scratch.clear();
                written.pack(scratch);
                statement.raw_bind_parameter(at + 1, scratch.as_str())?;
            }
        }
        ValueRef::Price(p) => {
            statement.raw_bind_parameter(at, p.amount)?;
            statement.raw_bind_parameter(at + 1, p.currency.as_str())?;
            statement.raw_bind_parameter(at + 2, p.raw.as_str())?;
        }
    }
    Ok(())
}

/// Reads rows of one entity; remembers the units of its columns, which rarely change from row to row.
pub(crate) struct Reader<'r, 'c> {
    layout: &'static Layout,
    uuids: &'r Uuids<'c>,
    units: Vec<Option<Unit>>,
}

impl<'r, 'c> Reader<'r, 'c> {
    pub(crate) fn of<E: Entity>(uuids: &'r Uuids<'c>) -> Self {
        Reader { layout: layout(E::KIND), uuids, units: vec![None; E::FIELDS.len()] }
    }

    pub(crate) fn read<E: Entity>(&mut self, row: &Row<'_>) -> Result<E, StoreError> {
        let mut entity = E::default();
        entity.set_id(self.uuids.of(row.get(0)?)?);
        for (index, field) in E::FIELDS.iter().enumerate() {
            let at = self.layout.first[index] + 1;
            let column = row.get_ref(at)?;
            if matches!(column, Column::Null) {
                continue;
            }
            let value = self.value(index, field, column, row, at)?;
            entity.set(field.number, value).map_err(|e| StoreError::damaged(e.to_string()))?;
        }
        Ok(entity)
    }

    fn value(
        &mut self,
        index: usize,
        field: &FieldDef,
        column: Column<'_>,
        row: &Row<'_>,
        at: usize,
    ) -> Result<Value, StoreError> {
        let wrong = || StoreError::damaged(format!("a {} of another kind", field.name));
        Ok(match (field.kind, column) {
            (FieldKind::Text | FieldKind::Civil, Column::Text(t)) => {
                Value::Text(std::str::from_utf8(t).map_err(|_| wrong())?.to_owned())
            }
            (FieldKind::Int | FieldKind::Flag | FieldKind::OneOf(_), Column::Integer(i)) => Value::Int(i),
            (FieldKind::Link(_) | FieldKind::LinkAny, Column::Integer(id)) => Value::Id(self.uuids.of(id)?),
            (FieldKind::Real, Column::Real(r)) => Value::Real(r),
            (FieldKind::Bytes, Column::Blob(b)) => Value::Bytes(b.to_vec()),
            (FieldKind::Quantity(_) | FieldKind::AnyQuantity, Column::Real(si)) => {
                let written = match row.get_ref(at + 1)? {
                    Column::Text(t) => {
                        Some(self.written(index, std::str::from_utf8(t).map_err(|_| wrong())?)?)
                    }
                    _ => None,
                };
                Value::Quantity(Quantity { si, written })
            }
            (FieldKind::Price, Column::Real(amount)) => {
                Value::Price(Price { amount, currency: row.get(at + 1)?, raw: row.get(at + 2)? })
            }
            _ => return Err(wrong()),
        })
    }

    fn written(&mut self, index: usize, text: &str) -> Result<Written, StoreError> {
        if let Some(unit) = self.units[index]
            && let Some((raw, symbol)) = text.split_once('\u{1f}')
            && symbol == unit.symbol()
        {
            return Ok(Written { raw: raw.into(), unit, details: None });
        }
        let written =
            Written::unpack(text).ok_or_else(|| StoreError::damaged("a quantity in an unknown unit"))?;
        self.units[index] = Some(written.unit);
        Ok(written)
    }
}
