//! A row as scripts and people see it.

use crate::names::{Names, for_person};
use airshelf_catalog::quantity::si_suffix;
use airshelf_catalog::{Entity, EntityKind, FieldKind, Uuid, ValueRef, ids};
use airshelf_units::{Digits, System, show, usual};
use serde_json::{Map, Value, json};

/// A row in both forms.
#[derive(Clone, Debug)]
pub struct Shown {
    /// SI values with keys ending in their unit.
    pub json: Map<String, Value>,
    /// Field and text, blanks left out.
    pub lines: Vec<(String, String)>,
}

/// Shows a row; `name_of` names the rows it links to.
pub fn shown<E: Entity>(
    row: &E,
    names: &Names,
    name_of: &dyn Fn(EntityKind, Uuid) -> Option<String>,
    system: System,
) -> Shown {
    let mut json = Map::new();
    let mut lines = Vec::new();
    json.insert("id".into(), json!(row.id()));
    for (index, field) in E::FIELDS.iter().enumerate() {
        let value = row.value(index);
        let key = field.name.to_owned();
        match (value, field.kind) {
            (ValueRef::Null, _) => {
                let key = match field.kind {
                    FieldKind::Quantity(dimension) => format!("{key}_{}", si_suffix(dimension)),
                    _ => key,
                };
                json.insert(key, Value::Null);
            }
            (ValueRef::Text(text), _) => {
                json.insert(key, json!(text));
                lines.push((words(field.name), text.to_owned()));
            }
            (ValueRef::Int(code), FieldKind::OneOf(codes)) => {
                let name = codes.iter().find(|(c, _)| *c == code).map_or("?", |(_, name)| name);
                json.insert(key, json!(name));
                lines.push((words(field.name), name.to_owned()));
            }
            (ValueRef::Int(i), FieldKind::Flag) => {
                json.insert(key, json!(i != 0));
                lines.push((words(field.name), if i != 0 { "yes" } else { "no" }.to_owned()));
            }
            (ValueRef::Int(i), _) => {
                json.insert(key, json!(i));
                lines.push((words(field.name), i.to_string()));
            }
            (ValueRef::Real(x), _) => {
                json.insert(key, json!(x));
                lines.push((words(field.name), x.to_string()));
            }
            (ValueRef::Id(id), kind) => {
                json.insert(key, json!(id));
                let name = match kind {
                    FieldKind::Link(EntityKind::Revision) => Some(names.revision(id)),
                    FieldKind::Link(EntityKind::Assembly) => Some(names.assembly(Some(id))),
                    FieldKind::Link(kind) => name_of(kind, id),
                    _ => None,
                };
                lines.push((words(field.name), name.unwrap_or_else(|| id.to_string())));
            }
            (ValueRef::Quantity(q), _) => {
                let dimension = match field.kind {
                    FieldKind::Quantity(dimension) => Some(dimension),
                    _ => q.unit().map(airshelf_units::Unit::dimension),
                };
                let suffix = dimension.map_or("si", si_suffix);
                json.insert(format!("{key}_{suffix}"), json!(q.si));
                if let Some(written) = &q.written {
                    json.insert(
                        format!("{key}_written"),
                        json!(format!("{} {}", written.raw, written.unit.symbol())),
                    );
                }
                let text = match (q.unit(), dimension) {
                    (None, Some(of)) => show(q.si, usual(of, system), Digits::Significant(5)),
                    _ => for_person(q, system),
                };
                lines.push((words(field.name), text));
            }
            (ValueRef::Price(price), _) => {
                json.insert(key, json!(price));
                lines.push((
                    words(field.name),
                    format!("{:.2} {}", price.amount, price.currency).trim().to_owned(),
                ));
            }
            (ValueRef::Bytes(bytes), _) if E::KIND == EntityKind::Assembly => {
                let layers = ids::unpack_layers(bytes).unwrap_or_default();
                let parts: Vec<String> = layers.iter().map(|l| names.revision(l.revision)).collect();
                json.insert(
                    key,
                    json!(
                        layers
                            .iter()
                            .zip(&parts)
                            .map(|(l, part)| json!({ "revision": l.revision, "part": part,
                            "orientation": l.orientation, "gap_m": l.gap_m }))
                            .collect::<Vec<_>>()
                    ),
                );
                lines.push(("parts, from the item up".into(), parts.join(" + ")));
            }
            (ValueRef::Bytes(bytes), _) => {
                let hex: String = bytes.iter().take(32).map(|b| format!("{b:02x}")).collect();
                json.insert(key, json!(hex));
                lines.push((words(field.name), hex));
            }
        }
    }
    Shown { json, lines }
}

fn words(field: &str) -> String {
    field.replace('_', " ")
}
