//! What a calculator asks for and answers with.

use super::{Calculator, Refused};
use crate::code::{Code, Fault};
use airshelf_flow::Caution;
use airshelf_units::{Dimension, Read, System, Unit, read, read_any};
use serde_json::{Map, Value, json};

/// What a parameter may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A quantity of that dimension, with its unit.
    Quantity(Dimension),
    /// A quantity with its unit, of any dimension.
    AnyQuantity,
    /// A flow, or a ratio of flow in percent.
    FlowOrRatio,
    /// A bare number.
    Number,
    /// A ratio: a bare number up to 2, or percent.
    Ratio,
    /// A whole number.
    Whole,
    /// A speed of rotation; a bare number is revolutions per minute.
    Speed,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// The name of a unit.
    Unit,
    /// `FLOW:DROP`.
    Point,
}

/// Whether a parameter must be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Need {
    /// Given in this place, without a name.
    Positional,
    /// Given in this place, without a name, one or more times.
    Repeated,
    /// Given by name.
    Required,
    /// May be given by name.
    Optional,
    /// Taken as this where it is not given.
    Default(&'static str),
}

/// One parameter of a calculator.
#[derive(Clone, Copy, Debug)]
pub struct Parameter {
    /// Its name.
    pub name: &'static str,
    /// What it means, in a few words.
    pub about: &'static str,
    /// What it may be.
    pub kind: Kind,
    /// Whether it must be given.
    pub need: Need,
}

/// One value of a result.
#[derive(Clone, Debug)]
pub struct Output {
    /// The key, ending in its unit.
    pub key: &'static str,
    /// What it is called.
    pub label: &'static str,
    /// The value, SI.
    pub value: Value,
    /// Its dimension, for showing it in a person's units; none for bare numbers and words.
    pub dimension: Option<Dimension>,
    /// The unit to show it in, where that is not the usual one of its dimension.
    pub unit: Option<Unit>,
}

/// What a calculator computed.
#[derive(Clone, Debug, Default)]
pub struct Answer {
    /// The values.
    pub result: Vec<Output>,
    /// What a person should know beside them.
    pub cautions: Vec<Said>,
    /// A value came out that no number holds.
    pub(super) beyond: bool,
}

/// A caution as a formula gives it, or in words of the calculator's own.
#[derive(Clone, Debug)]
pub enum Said {
    /// Of a formula.
    Formula(Caution),
    /// In words.
    Words(&'static str),
}

impl Said {
    pub(super) fn in_words(&self, system: System) -> String {
        match self {
            Said::Formula(caution) => crate::sentences::caution(caution, system),
            Said::Words(words) => (*words).to_owned(),
        }
    }
}

impl From<Caution> for Said {
    fn from(caution: Caution) -> Self {
        Said::Formula(caution)
    }
}

impl From<&'static str> for Said {
    fn from(words: &'static str) -> Self {
        Said::Words(words)
    }
}

impl Answer {
    /// Adds a quantity.
    pub(super) fn quantity(
        mut self,
        key: &'static str,
        label: &'static str,
        dimension: Dimension,
        si: f64,
    ) -> Self {
        self.beyond |= !si.is_finite();
        self.result.push(Output { key, label, value: json!(si), dimension: Some(dimension), unit: None });
        self
    }

    /// Adds a quantity that may be undefined.
    pub(super) fn maybe(
        self,
        key: &'static str,
        label: &'static str,
        dimension: Dimension,
        si: Option<f64>,
    ) -> Self {
        match si {
            Some(si) => self.quantity(key, label, dimension, si),
            None => self.plain(key, label, Value::Null),
        }
    }

    /// Adds a bare number, a word or a yes or no.
    pub(super) fn plain(mut self, key: &'static str, label: &'static str, value: impl Into<Value>) -> Self {
        self.result.push(Output { key, label, value: value.into(), dimension: None, unit: None });
        self
    }

    /// Adds a sentence that a person should read.
    pub(super) fn caution(mut self, caution: impl Into<Said>) -> Self {
        self.cautions.push(caution.into());
        self
    }

    /// Adds sentences that a person should read.
    pub(super) fn cautions(mut self, cautions: impl IntoIterator<Item = Caution>) -> Self {
        self.cautions.extend(cautions.into_iter().map(Said::Formula));
        self
    }
}

/// A calculation as it is shown.
#[derive(Clone, Debug)]
pub struct Shown {
    /// Each parameter as it was read.
    pub inputs: Map<String, Value>,
    /// The values.
    pub result: Vec<Output>,
    /// The formula.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// Where it holds.
    pub range: &'static str,
    /// What a person should know beside the values.
    pub cautions: Vec<String>,
}

impl Shown {
    /// The document that scripts read.
    pub fn to_json(&self) -> Value {
        let result: Map<String, Value> =
            self.result.iter().map(|out| (out.key.to_owned(), out.value.clone())).collect();
        json!({
            "inputs": self.inputs,
            "result": result,
            "formula": self.formula,
            "source": self.source,
            "range": self.range,
            "cautions": self.cautions,
        })
    }
}

#[derive(Clone, Debug)]
enum Got {
    Quantity(Read),
    Number(f64),
    Word(String),
    Unit(Unit),
    Point(Read, Read),
}

/// The parameters of one calculation, read.
#[derive(Debug)]
pub struct Asked(Vec<(&'static str, String, Got)>);

impl Asked {
    pub(super) fn read(
        parameters: &'static [Parameter],
        given: &[(&str, Vec<String>)],
    ) -> Result<Self, Fault> {
        let mut got = Vec::new();
        for parameter in parameters {
            let texts: Vec<&str> = given
                .iter()
                .filter(|(name, _)| *name == parameter.name)
                .flat_map(|(_, texts)| texts.iter().map(String::as_str))
                .collect();
            let texts = match (texts.is_empty(), parameter.need) {
                (false, _) => texts,
                (true, Need::Default(text)) => vec![text],
                (true, Need::Optional) => continue,
                (true, _) => {
                    let message = format!("{} is missing: {}", parameter.name, parameter.about);
                    return Err(Fault::new(Code::BadArgument, message));
                }
            };
            for text in texts {
                let value = parameter.read(text).map_err(|fault| Fault {
                    message: format!("{}: {}", parameter.name, fault.message),
                    ..fault
                })?;
                got.push((parameter.name, text.to_owned(), value));
            }
        }
        Ok(Asked(got))
    }

    /// The SI value of a quantity or number, if given.
    pub(super) fn given(&self, name: &str) -> Option<f64> {
        self.0.iter().find(|(n, ..)| *n == name).and_then(|(_, _, got)| match got {
            Got::Quantity(read) => Some(read.si),
            Got::Number(x) => Some(*x),
            _ => None,
        })
    }

    /// The SI value of a parameter that the calculator requires or defaults.
    pub(super) fn si(&self, name: &str) -> f64 {
        self.given(name).expect("a required or defaulted parameter was read")
    }

    /// How a quantity was read, if given.
    pub(super) fn quantity(&self, name: &str) -> Option<&Read> {
        self.0.iter().find_map(|(n, _, got)| match got {
            Got::Quantity(read) if *n == name => Some(read),
            _ => None,
        })
    }

    pub(super) fn word(&self, name: &str) -> Option<&str> {
        self.0.iter().find_map(|(n, _, got)| match got {
            Got::Word(word) if *n == name => Some(word.as_str()),
            _ => None,
        })
    }

    pub(super) fn unit(&self, name: &str) -> Option<Unit> {
        self.0.iter().find_map(|(n, _, got)| match got {
            Got::Unit(unit) if *n == name => Some(*unit),
            _ => None,
        })
    }

    pub(super) fn points(&self) -> Vec<(f64, f64)> {
        self.0
            .iter()
            .filter_map(|(_, _, got)| match got {
                Got::Point(flow, drop) => Some((flow.si, drop.si)),
                _ => None,
            })
            .collect()
    }

    pub(super) fn shown(&self) -> Map<String, Value> {
        let mut map: Map<String, Value> = Map::new();
        for (name, raw, got) in &self.0 {
            let value = match got {
                Got::Quantity(read) => {
                    json!({ "raw": raw, "read_as": read.echo(), "si": read.si, "si_unit": si_symbol(read.unit) })
                }
                Got::Number(x) => json!(x),
                Got::Word(word) => json!(word),
                Got::Unit(unit) => json!(unit.symbol()),
                Got::Point(flow, drop) => {
                    json!([{ "raw": raw, "read_as": format!("{} : {}", flow.echo(), drop.echo()),
                             "flow_m3_s": flow.si, "drop_pa": drop.si }])
                }
            };
            match (map.get_mut(*name), value) {
                (Some(Value::Array(list)), Value::Array(more)) => list.extend(more),
                (_, value) => {
                    map.insert((*name).to_owned(), value);
                }
            }
        }
        map
    }
}

pub(crate) fn si_symbol(unit: Unit) -> &'static str {
    unit.dimension().si_unit().symbol()
}

/// Refuses a temperature below absolute zero.
fn warm(text: &str, read: Read) -> Result<Read, Fault> {
    match read.unit.dimension() {
        Dimension::Temperature if read.si < 0.0 => {
            Err(Fault::new(Code::BadQuantity, format!("`{text}` is below absolute zero")))
        }
        _ => Ok(read),
    }
}

impl Parameter {
    fn read(&self, text: &str) -> Result<Got, Fault> {
        let bad = |e: airshelf_units::ReadError| Fault::new(Code::BadQuantity, e.to_string());
        let number = || {
            text.trim()
                .parse::<f64>()
                .ok()
                .filter(|x| x.is_finite())
                .ok_or_else(|| Fault::new(Code::BadQuantity, format!("`{text}` is not a number")))
        };
        Ok(match self.kind {
            Kind::Quantity(dimension) => {
                Got::Quantity(warm(text, read(text, dimension, None, None).map_err(bad)?)?)
            }
            Kind::AnyQuantity => Got::Quantity(warm(text, read_any(text, None).map_err(bad)?)?),
            Kind::FlowOrRatio => match read(text, Dimension::Flow, None, None) {
                Ok(flow) => Got::Quantity(flow),
                Err(why) => match read(text, Dimension::Ratio, None, None) {
                    Ok(ratio) => Got::Quantity(ratio),
                    Err(_) => return Err(bad(why)),
                },
            },
            Kind::Number => Got::Number(number()?),
            Kind::Ratio => match text.trim().parse::<f64>() {
                Ok(x) if (0.0..=2.0).contains(&x) => Got::Number(x),
                Ok(x) => {
                    let message = format!("{x} is no ratio; write {x}% or a number such as 0.95");
                    return Err(Fault::new(Code::BadQuantity, message));
                }
                Err(_) => Got::Quantity(read(text, Dimension::Ratio, None, None).map_err(bad)?),
            },
            Kind::Whole => {
                let x = number()?;
                if x < 1.0 || x.fract() != 0.0 || x > 1e9 {
                    return Err(Fault::new(
                        Code::BadQuantity,
                        format!("`{text}` is not a whole number above zero"),
                    ));
                }
                Got::Number(x)
            }
            Kind::Speed => {
                Got::Quantity(read(text, Dimension::RotationalSpeed, Some(Unit::RPM), None).map_err(bad)?)
            }
            Kind::Choice(words) => {
                let word = text.trim().to_lowercase();
                if !words.contains(&word.as_str()) {
                    let message = format!("`{text}` is not one of {}", words.join(", "));
                    return Err(Fault::new(Code::BadArgument, message));
                }
                Got::Word(word)
            }
            Kind::Unit => {
                Got::Unit(Unit::named(text, None).map_err(|e| Fault::new(Code::BadQuantity, e.to_string()))?)
            }
            Kind::Point => {
                let (flow, drop) = text.split_once(':').ok_or_else(|| {
                    Fault::new(
                        Code::BadQuantity,
                        format!("`{text}` is not FLOW:DROP, such as 120CFM:2.1inH2O"),
                    )
                })?;
                Got::Point(
                    read(flow, Dimension::Flow, None, None).map_err(bad)?,
                    read(drop, Dimension::Pressure, None, None).map_err(bad)?,
                )
            }
        })
    }
}

/// `airshelf calc convert`.
pub(super) const CONVERT: Calculator = Calculator {
    name: "convert",
    about: "one quantity in another unit",
    parameters: &[
        Parameter {
            name: "value",
            about: "what people write: 1-1/8\", 5.5inH2O, 78F",
            kind: Kind::AnyQuantity,
            need: Need::Positional,
        },
        Parameter { name: "unit", about: "the unit wanted", kind: Kind::Unit, need: Need::Positional },
    ],
    formula: "value in SI = number × factor + offset of its unit; the unit wanted, the reverse",
    source: "NIST SP 811 (2008) App. B.8 for the factors",
    range: "any finite value; gauge and absolute pressure are not turned into each other",
    example: "airshelf calc convert 5.5inH2O kPa",
    compute: convert,
};

fn convert(asked: &Asked) -> Result<Answer, Refused> {
    let value = asked.quantity("value").expect("positional");
    let mut unit = asked.unit("unit").expect("positional");
    if unit.dimension() != value.unit.dimension() {
        // A spelling such as `F` or `in` names units of several dimensions; the value says which is meant.
        let fits = asked
            .0
            .iter()
            .find(|(name, ..)| *name == "unit")
            .map(|(_, raw, _)| raw.clone())
            .unwrap_or_default();
        unit = Unit::named(&fits, Some(value.unit.dimension()))
            .map_err(|e| Fault::new(Code::BadQuantity, e.to_string()))?;
    }
    Ok(Answer::default()
        .plain("value", "value", unit.from_si(value.si))
        .plain("unit", "unit", unit.symbol())
        .plain("si", "in SI", value.si)
        .plain("si_unit", "SI unit", si_symbol(value.unit))
        .plain("read_as", "read as", value.echo()))
}
