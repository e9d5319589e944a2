//! Reads `FIELD=VALUE` as people write it, by the kind of the field.

use crate::code::{Code, Fault};
use airshelf_catalog::{EntityKind, FieldDef, FieldKind, Price, Quantity, Uuid, Value};
use airshelf_units::{Dimension, Unit, read};
use serde::Serialize;

/// Finds the row that a tag, a name or the beginning of an id means.
pub trait Resolve {
    /// The row of that kind; any kind where none is given.
    ///
    /// # Errors
    /// [`Fault`] if nothing or more than one row fits.
    fn row(&self, kind: Option<EntityKind>, text: &str) -> Result<Uuid, Fault>;
}

/// What can be set of an entity.
#[derive(Clone, Debug, Serialize)]
pub struct FieldHelp {
    /// The name.
    pub name: &'static str,
    /// What it takes, in a few words.
    pub takes: String,
}

impl FieldHelp {
    /// Describes a field.
    pub fn of(field: &FieldDef) -> Self {
        let takes = match field.kind {
            FieldKind::Text => "text".into(),
            FieldKind::Civil => "a date, 2024-05-18 or 2024-05-18T19:40".into(),
            FieldKind::Int => "a whole number".into(),
            FieldKind::Real => "a number".into(),
            FieldKind::Flag => "yes or no".into(),
            FieldKind::OneOf(codes) => codes.iter().map(|(_, name)| *name).collect::<Vec<_>>().join(" | "),
            FieldKind::Link(kind) => format!("a {} (tag, name or id)", kind.table().replace('_', " ")),
            FieldKind::LinkAny => "an id".into(),
            FieldKind::Quantity(Dimension::Count) => "a number".into(),
            FieldKind::Quantity(dimension) => format!("a {} with its unit", dimension.name()),
            FieldKind::AnyQuantity => "a quantity with its unit".into(),
            FieldKind::Price => "an amount, with its currency: 24.50 USD".into(),
            FieldKind::Bytes => "nothing by hand".into(),
        };
        FieldHelp { name: field.name, takes }
    }
}

/// Reads the text for a field; an empty text blanks it.
///
/// # Errors
/// [`Fault`] if the text is not of the field's kind.
pub fn parse(field: &FieldDef, text: &str, resolve: &dyn Resolve) -> Result<Value, Fault> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(Value::Null);
    }
    let bad = |what: String| Fault::new(Code::BadQuantity, format!("{}: {what}", field.name));
    Ok(match field.kind {
        FieldKind::Text => Value::Text(text.to_owned()),
        FieldKind::Civil => {
            Value::Text(civil(text).ok_or_else(|| bad(format!("`{text}` is not a date such as 2024-05-18")))?)
        }
        FieldKind::Int => {
            Value::Int(text.parse().map_err(|_| bad(format!("`{text}` is not a whole number")))?)
        }
        FieldKind::Real => {
            let number = text.parse().ok().filter(|x: &f64| x.is_finite());
            let number: f64 = number.ok_or_else(|| bad(format!("`{text}` is not a number")))?;
            possible(field, number).map_err(|why| bad(format!("`{text}`: {why}")))?;
            Value::Real(number)
        }
        FieldKind::Flag => match text.to_lowercase().as_str() {
            "yes" | "true" | "1" => Value::Int(1),
            "no" | "false" | "0" => Value::Int(0),
            _ => return Err(bad(format!("`{text}` is neither yes nor no"))),
        },
        FieldKind::OneOf(codes) => {
            let wanted = text.to_lowercase();
            let code = codes.iter().find(|(_, name)| name.to_lowercase() == wanted).map(|(code, _)| *code);
            let names = || codes.iter().map(|(_, name)| *name).collect::<Vec<_>>().join(", ");
            Value::Int(code.ok_or_else(|| bad(format!("`{text}` is not one of {}", names())))?)
        }
        FieldKind::Link(kind) => Value::Id(resolve.row(Some(kind), text)?),
        FieldKind::LinkAny => Value::Id(resolve.row(None, text)?),
        FieldKind::Quantity(dimension) => {
            let value = quantity(text, dimension).map_err(|e| bad(e.to_string()))?;
            possible(field, value.si).map_err(|why| bad(format!("`{text}`: {why}")))?;
            Value::Quantity(value)
        }
        FieldKind::AnyQuantity => {
            let read = airshelf_units::read_any(text, None).map_err(|e| bad(e.to_string()))?;
            Value::Quantity(Quantity::read(read.si, text, read.unit))
        }
        FieldKind::Price => {
            Value::Price(price(text).ok_or_else(|| bad(format!("`{text}` is not an amount such as 24.50")))?)
        }
        FieldKind::Bytes => return Err(bad("is not set by hand".into())),
    })
}

/// Reads a quantity; only counts and engine speeds have a unit of their own.
pub(crate) fn quantity(text: &str, dimension: Dimension) -> Result<Quantity, airshelf_units::ReadError> {
    let default = match dimension {
        Dimension::Count => Some(Unit::COUNT),
        Dimension::RotationalSpeed => Some(Unit::RPM),
        _ => None,
    };
    let read = read(text, dimension, default, None)?;
    Ok(Quantity::read(read.si, text, read.unit))
}

/// Refuses what cannot be: lengths, flows, pressures and the like are above zero, ratios within reason.
fn possible(field: &FieldDef, si: f64) -> Result<(), &'static str> {
    let signed = matches!(field.name, "stated_loss" | "against_first" | "loss" | "low" | "high");
    let may_be_zero = signed || matches!(field.name, "leakage" | "humidity");
    let highest = match field.kind {
        FieldKind::Quantity(Dimension::Ratio) if field.name == "volumetric_efficiency" => 1.6,
        FieldKind::Quantity(Dimension::Ratio) => 1.0,
        FieldKind::Quantity(Dimension::Flow) => 20.0,
        FieldKind::Quantity(Dimension::Pressure) => 2e5,
        FieldKind::Quantity(Dimension::Length) => 10.0,
        _ => f64::MAX,
    };
    match si {
        si if si.abs() > highest => Err("it is beyond what can be"),
        si if si < 0.0 && !signed => Err("it cannot be below zero"),
        0.0 if !may_be_zero => Err("it cannot be zero"),
        _ => Ok(()),
    }
}

fn civil(text: &str) -> Option<String> {
    let (date, time) = text.split_once(['T', ' ']).map_or((text, None), |(d, t)| (d, Some(t)));
    let date = chrono::NaiveDate::parse_from_str(date, "%Y-%m-%d").ok()?;
    match time {
        None => Some(date.format("%Y-%m-%d").to_string()),
        Some(time) => {
            let time = chrono::NaiveTime::parse_from_str(time, "%H:%M")
                .or_else(|_| chrono::NaiveTime::parse_from_str(time, "%H:%M:%S"))
                .ok()?;
            Some(date.and_time(time).format("%Y-%m-%dT%H:%M:%S").to_string())
        }
    }
}

fn price(text: &str) -> Option<Price> {
    let mut amount = None;
    let mut currency = String::new();
    for word in text.split_whitespace() {
        let bare = word.trim_start_matches(['$', '€', '£']);
        if let Ok(x) = bare.parse::<f64>() {
            amount = Some(x).filter(|x| x.is_finite());
            match word.chars().next() {
                Some('$') => currency = "USD".into(),
                Some('€') => currency = "EUR".into(),
                Some('£') => currency = "GBP".into(),
                _ => {}
            }
        } else if word.len() == 3 && word.chars().all(|c| c.is_ascii_alphabetic()) {
            currency = word.to_uppercase();
        } else {
            return None;
        }
    }
    Some(Price { amount: amount?, currency, raw: text.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use airshelf_catalog::{Engine, Entity, Part};

    struct Nothing;
    impl Resolve for Nothing {
        fn row(&self, _: Option<EntityKind>, text: &str) -> Result<Uuid, Fault> {
            Err(Fault::new(Code::NotFound, text.to_owned()))
        }
    }

    fn field<E: Entity>(name: &str) -> &'static FieldDef {
        E::FIELDS.iter().find(|f| f.name == name).unwrap()
    }

    #[test]
    fn a_quantity_needs_its_unit_and_keeps_its_text() {
        let Value::Quantity(displacement) =
            parse(field::<Engine>("displacement"), "250 in3", &Nothing).unwrap()
        else {
            panic!("not a quantity")
        };
        assert!((displacement.si - 0.004_096_766).abs() < 1e-9);
        assert_eq!(displacement.raw(), Some("250 in3"));
        assert!(parse(field::<Engine>("displacement"), "250", &Nothing).is_err());
        assert!(parse(field::<Engine>("speed"), "4500", &Nothing).is_ok());
    }

    #[test]
    fn blanks_dates_prices_and_words_are_read() {
        assert_eq!(parse(field::<Part>("note"), " ", &Nothing).unwrap(), Value::Null);
        assert_eq!(
            parse(field::<Part>("arrived"), "2024-05-18", &Nothing).unwrap(),
            Value::Text("2024-05-18".into())
        );
        assert!(parse(field::<Part>("arrived"), "18.5.", &Nothing).is_err());
        assert_eq!(parse(field::<Part>("kind"), "Filter", &Nothing).unwrap(), Value::Int(1));
        let Value::Price(price) = parse(field::<Part>("price"), "$24.50", &Nothing).unwrap() else {
            panic!("not a price")
        };
        assert_eq!((price.amount, price.currency.as_str()), (24.5, "USD"));
    }
}
