//! A measured value as one field: the SI number, and how it was written.

use airshelf_units::{Dimension, Unit};

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize, ts_rs::TS)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// Read off an instrument by the person who wrote it down.
    Measured,
    /// Claimed by a seller, a label or somebody else's page.
    Stated,
    /// Judged by eye or derived from something similar.
    Estimated,
}

/// The text a person typed, and what it was taken to mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Written {
    /// The text as typed, untouched.
    pub raw: Box<str>,
    /// The unit the number was read in.
    pub unit: Unit,
    /// What else was said of it; boxed, because most of a hundred thousand imported cells have none.
    pub details: Option<Box<Details>>,
}

/// What may be said of a value beside its text and unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Details {
    /// The instrument.
    pub instrument: Option<String>,
    /// Standard uncertainty in SI units.
    pub standard_uncertainty_si: Option<f64>,
    /// Where the value comes from.
    pub source: Option<Source>,
}

/// A value in SI units together with how it was written; one field of a record.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// The value in the SI unit of its dimension.
    pub si: f64,
    /// How it was written; none for computed values.
    pub written: Option<Written>,
}

impl Quantity {
    /// Makes a quantity that nobody typed.
    pub fn of_si(si: f64) -> Self {
        Quantity { si, written: None }
    }

    /// Makes a quantity read from `raw` in `unit`.
    pub fn read(si: f64, raw: impl Into<Box<str>>, unit: Unit) -> Self {
        Quantity { si, written: Some(Written { raw: raw.into(), unit, details: None }) }
    }

    /// Says where the value comes from; nothing to say of a computed value.
    #[must_use]
    pub fn from_source(mut self, source: Source) -> Self {
        if let Some(written) = &mut self.written {
            written.details.get_or_insert_default().source = Some(source);
        }
        self
    }

    /// Where the value comes from, where that was said.
    pub fn source(&self) -> Option<Source> {
        self.written.as_ref()?.details.as_ref()?.source
    }

    /// The unit it was written in, where known.
    pub fn unit(&self) -> Option<Unit> {
        self.written.as_ref().map(|w| w.unit)
    }

    /// The text as typed, where known.
    pub fn raw(&self) -> Option<&str> {
        self.written.as_ref().map(|w| &*w.raw)
    }
}

const SEPARATOR: char = '\u{1f}';

impl Written {
    /// Packs the text, unit and details into one line; the form the store keeps beside the SI value.
    pub fn pack(&self, out: &mut String) {
        out.push_str(&self.raw);
        out.push(SEPARATOR);
        out.push_str(self.unit.symbol());
        if let Some(details) = &self.details {
            out.push(SEPARATOR);
            out.push_str(details.instrument.as_deref().unwrap_or(""));
            out.push(SEPARATOR);
            if let Some(u) = details.standard_uncertainty_si {
                out.push_str(&u.to_string());
            }
            out.push(SEPARATOR);
            out.push_str(match details.source {
                None => "",
                Some(Source::Measured) => "measured",
                Some(Source::Stated) => "stated",
                Some(Source::Estimated) => "estimated",
            });
        }
    }

    /// Reads back what [`Written::pack`] wrote; none if the unit is not known to this program.
    pub fn unpack(text: &str) -> Option<Self> {
        let mut parts = text.split(SEPARATOR);
        let raw = parts.next()?.into();
        let unit = Unit::from_symbol(parts.next()?)?;
        let Some(instrument) = parts.next() else {
            return Some(Written { raw, unit, details: None });
        };
        let instrument = Some(instrument.to_owned()).filter(|s| !s.is_empty());
        let standard_uncertainty_si = match parts.next()? {
            "" => None,
            s => Some(s.parse().ok()?),
        };
        let source = match parts.next()? {
            "" => None,
            "measured" => Some(Source::Measured),
            "stated" => Some(Source::Stated),
            "estimated" => Some(Source::Estimated),
            _ => return None,
        };
        Some(Written {
            raw,
            unit,
            details: Some(Box::new(Details { instrument, standard_uncertainty_si, source })),
        })
    }
}

/// An amount of money with its currency (ISO 4217 code, or empty where the page does not say).
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Price {
    /// The amount, in whole units of the currency.
    pub amount: f64,
    /// ISO 4217 code, or empty.
    pub currency: String,
    /// The text as typed.
    pub raw: String,
}

/// The suffix that names the SI unit of a dimension in column and key names.
pub fn si_suffix(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Length => "m",
        Dimension::Area => "m2",
        Dimension::Volume => "m3",
        Dimension::Pressure => "pa",
        Dimension::Flow => "m3_s",
        Dimension::MassFlow => "kg_s",
        Dimension::Temperature | Dimension::TemperatureDifference => "k",
        Dimension::Ratio => "ratio",
        Dimension::Density => "kg_m3",
        Dimension::Viscosity => "pa_s",
        Dimension::Speed => "m_s",
        Dimension::Mass => "kg",
        Dimension::RotationalSpeed => "rad_s",
        Dimension::Power => "w",
        Dimension::Time => "s",
        Dimension::Angle => "rad",
        Dimension::Count => "count",
    }
}
