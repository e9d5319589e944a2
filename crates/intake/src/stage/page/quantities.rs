//! What a number on a page measures: by its unit, its label, its words, its size.

use super::baseline::baseline_kind;
use super::figures::{Figure, clause, figures};
use super::{Hand, Page, PageValue};
use crate::map::{Field, Header};
use crate::stage::civil;
use crate::stage::terms::{plain, says};
use airshelf_catalog::{BaselineKind, Quantity};
use airshelf_units::{Dimension, Read, Unit, read_any};

pub(super) fn find_quantities(
    text: &str,
    row: u32,
    label: Option<&(Field, Header)>,
    hand: Hand,
    page: &mut Page,
) {
    if label.is_none() && civil::date(text, hand.order, hand.guess).is_some() {
        return;
    }
    let found = figures(text, hand.decimal);
    let of_flow = |f: &Figure| f.read.is_some_and(|r| r.unit.dimension() == Dimension::Flow);
    let one_flow = found.iter().filter(|f| of_flow(f)).count() == 1;
    let weather = found.iter().filter(|f| f.read.is_some_and(|r| is_weather(&r))).count();
    // What has its unit is told first; bare numbers take what is left.
    let (with_unit, bare): (Vec<_>, Vec<_>) = found.iter().partition(|f| f.read.is_some());
    for figure in with_unit.into_iter().chain(bare) {
        let (start, end) = clause(text, figure.at);
        let mut words = plain(&text[start..end]);
        if let Some((_, header)) = label {
            words = format!("{} {words}", header.words.join(" "));
        }
        let words = words.replace("carburettor", "carburetor");
        let field = label.map(|l| l.0).filter(|f| *f != Field::Note);
        let own = meaning(figure, field, label.map(|l| &l.1), &words, weather, hand, page);
        // `Empty as of Sunday taken, it was 240 CFM`: what the only flow of a line is, another clause says.
        let of_line = || {
            let whole = plain(text).replace("carburettor", "carburetor");
            let alone = one_flow && of_flow(figure) && label.is_none() && whole.split(' ').count() <= 16;
            meaning(figure, field, None, &whole, weather, hand, page).filter(|_| alone)
        };
        let Some((field, read, assumed)) = own.or_else(of_line) else { continue };
        if field == Field::StatedBaseline && page.baseline_kind.is_none() {
            // What it consists of may stand in brackets behind the number.
            let said = baseline_kind(&words);
            let whole = if said == BaselineKind::Unknown { baseline_kind(&plain(text)) } else { said };
            page.baseline_kind = Some(whole);
        }
        let raw = match field {
            Field::Range if label.is_none_or(|l| l.0 != Field::Range) => {
                with_word(text, start, figure, "range")
            }
            Field::StatedBaseline if label.is_none_or(|l| l.0 != Field::StatedBaseline) => {
                with_word(text, start, figure, "baseline")
            }
            _ => figure.raw,
        };
        page.put(PageValue {
            field,
            row: Some(row),
            raw: raw.to_owned(),
            quantity: Some(Quantity::read(read.si, figure.raw, read.unit)),
            text: None,
            assumed,
        });
    }
}

/// The figure with the word before it that says what it is.
fn with_word<'t>(text: &'t str, start: usize, figure: &Figure<'t>, word: &str) -> &'t str {
    let end = figure.at + figure.raw.len();
    let before = &text[start..figure.at];
    match before
        .char_indices()
        .rev()
        .find(|&(at, _)| before[at..].get(..word.len()).is_some_and(|w| w.eq_ignore_ascii_case(word)))
    {
        Some((at, _)) => &text[start + at..end],
        None => figure.raw,
    }
}

fn is_weather(read: &Read) -> bool {
    match read.unit.dimension() {
        Dimension::Temperature => true,
        Dimension::Pressure => read.si > 45_000.0,
        _ => false,
    }
}

/// A pressure that only the header of a flow tells: `Flow at 25 inH2O`.
pub(crate) fn pressure_of_header(headers: &[&Header], row: u32, hand: Hand, page: &mut Page) {
    for header in headers {
        let lower = header.text.to_lowercase();
        let Some(at) = [" at ", "@"].iter().find_map(|mark| lower.find(mark).map(|at| at + mark.len()))
        else {
            continue;
        };
        let Some(rest) = header.text.get(at..) else { continue };
        let raw = rest[..rest.find(['(', '[', ',']).unwrap_or(rest.len())].trim();
        if let Some(read) =
            read_any(raw, hand.decimal).ok().filter(|r| r.unit.dimension() == Dimension::Pressure)
        {
            page.put(PageValue {
                field: Field::SetPressure,
                row: Some(row),
                raw: raw.to_owned(),
                quantity: Some(Quantity::read(read.si, raw, read.unit)),
                text: None,
                assumed: false,
            });
        }
    }
}

fn meaning(
    figure: &Figure<'_>,
    label: Option<Field>,
    header: Option<&Header>,
    words: &str,
    weather: usize,
    hand: Hand,
    page: &Page,
) -> Option<(Field, Read, bool)> {
    let any = |phrases: &[&str]| phrases.iter().any(|p| says(words, p));
    let leak = any(&["leak", "leakage"]);
    let of_air = any(&["barometer", "baro", "barometric", "atmospheric", "station pressure", "glass"]);
    let in_unit = |unit: Unit, value: f64| Read {
        si: unit.to_si(value),
        value,
        unit,
        resolution: None,
        fraction: None,
    };
    if let Some(read) = figure.read {
        return match read.unit.dimension() {
            Dimension::Pressure if of_air || read.si > 45_000.0 => Some((Field::Barometer, read, false)),
            Dimension::Pressure if leak => None,
            Dimension::Pressure => Some((Field::SetPressure, read, false)),
            Dimension::Flow if leak => None,
            Dimension::Flow if any(&RANGE) => Some((Field::Range, read, false)),
            Dimension::Flow
                if label == Some(Field::StatedBaseline)
                    || any(&[
                        "baseline",
                        "bare",
                        "base line",
                        "zero",
                        "zeros",
                        "nothing on",
                        "naked",
                        "empty",
                    ])
                    || any(&["carb alone", "carburetor alone", "referenz", "référence", "referencia"])
                    || any(&["reference"]) && !any(&["air", "reference air"]) =>
            {
                Some((Field::StatedBaseline, read, false))
            }
            Dimension::Temperature if any(&["meter"]) => Some((Field::MeterTemperature, read, false)),
            Dimension::Temperature => Some((Field::AirTemperature, read, false)),
            Dimension::Ratio => {
                let said = label == Some(Field::Humidity)
                    || any(&["rh", "humidity", "hum", "damp", "moisture"])
                    || any(&["feuchte", "luftfeuchte", "luftfeuchtigkeit", "humidité", "humedad"])
                    || figure.raw.to_lowercase().contains("rh");
                let other = any(&[
                    "loss",
                    "within",
                    "repeat",
                    "repeats",
                    "scatter",
                    "better",
                    "percent of",
                    "of range",
                    "spread",
                    "error",
                ]);
                let of_room = label == Some(Field::AirTemperature)
                    || any(&["weather", "conditions", "ambient", "room", "air"]);
                (said || ((weather > 0 || of_room) && !other)).then_some((Field::Humidity, read, false))
            }
            // An inch of something: `28 in` behind a label of a pressure.
            Dimension::Length if label == Some(Field::SetPressure) && read.unit == Unit::INCH => {
                Some((Field::SetPressure, in_unit(Unit::IN_H2O, read.value), true))
            }
            Dimension::Length if label == Some(Field::Barometer) && read.unit == Unit::INCH => {
                Some((Field::Barometer, in_unit(Unit::IN_HG, read.value), true))
            }
            Dimension::Length if label == Some(Field::Barometer) && read.unit == Unit::MM => {
                Some((Field::Barometer, in_unit(Unit::MM_HG, read.value), true))
            }
            _ => None,
        };
    }
    let value = figure.value?;
    let flow = page.flow_unit.unwrap_or(hand.flow);
    let headed = |dimension: Dimension| header.and_then(|h| h.unit_for(dimension, of_air));
    match label {
        Some(Field::SetPressure) => {
            let unit = headed(Dimension::Pressure);
            let usual = if flow == Unit::CFM { Unit::IN_H2O } else { Unit::KPA };
            (value > 0.0).then(|| (Field::SetPressure, in_unit(unit.unwrap_or(usual), value), unit.is_none()))
        }
        Some(Field::Barometer) => {
            let unit = headed(Dimension::Pressure);
            let taken = unit.or_else(|| barometer_unit(value))?;
            Some((Field::Barometer, in_unit(taken, value), unit.is_none()))
        }
        Some(Field::AirTemperature) => {
            let unit = headed(Dimension::Temperature);
            let usual = if value > 45.0 { Unit::FAHRENHEIT } else { Unit::CELSIUS };
            Some((Field::AirTemperature, in_unit(unit.unwrap_or(usual), value), unit.is_none()))
        }
        Some(Field::Humidity) => {
            let unit = headed(Dimension::Ratio);
            Some((Field::Humidity, in_unit(unit.unwrap_or(Unit::PERCENT), value), unit.is_none()))
        }
        Some(Field::Range) => {
            let unit = headed(Dimension::Flow);
            Some((Field::Range, in_unit(unit.unwrap_or(flow), value), unit.is_none()))
        }
        Some(Field::StatedBaseline) => {
            let unit = headed(Dimension::Flow);
            (value > 5.0)
                .then(|| (Field::StatedBaseline, in_unit(unit.unwrap_or(flow), value), unit.is_none()))
        }
        _ if any(&["baseline", "base line"]) && !leak && value > 5.0 => {
            Some((Field::StatedBaseline, in_unit(flow, value), true))
        }
        _ if of_air || any(&["hg", "mercury"]) => {
            let unit = barometer_unit(value)?;
            Some((Field::Barometer, in_unit(unit, value), true))
        }
        // Between a temperature and a humidity a bare number of that size is the barometer.
        _ if weather > 0 && page.get(Field::Barometer).is_none() && like_barometer(figure.raw, value) => {
            Some((Field::Barometer, in_unit(barometer_unit(value)?, value), true))
        }
        _ if any(&["temp", "temperature"]) && (0.0..130.0).contains(&value) => {
            let unit = if value > 45.0 { Unit::FAHRENHEIT } else { Unit::CELSIUS };
            Some((Field::AirTemperature, in_unit(unit, value), true))
        }
        _ if any(&["rh", "humidity"]) && (1.0..=100.0).contains(&value) => {
            Some((Field::Humidity, in_unit(Unit::PERCENT, value), true))
        }
        _ if any(&["test pressure", "set pressure", "depression", "test depression"])
            && (1.0..=100.0).contains(&value) =>
        {
            let unit = if flow == Unit::CFM { Unit::IN_H2O } else { Unit::KPA };
            Some((Field::SetPressure, in_unit(unit, value), true))
        }
        // A bare number beside a word for the flow of the carburetor alone; smaller ones count something.
        _ if any(&BARE) && !leak && value > 20.0 => Some((Field::StatedBaseline, in_unit(flow, value), true)),
        _ if value > 0.0 && of_range(words, figure.raw) => Some((Field::Range, in_unit(flow, value), true)),
        _ => None,
    }
}

/// What people call the carburetor with nothing on it.
const BARE: [&str; 12] = [
    "the bare",
    "carb only",
    "carburetor only",
    "bare carb",
    "bare carburetor",
    "carb alone",
    "carb bare",
    "carburetor alone",
    "zero run",
    "reference bare",
    "reference naked",
    "bare baseline",
];

/// Words for the range of a bench.
const RANGE: [&str; 8] =
    ["range", "scale", "full scale", "messbereich", "bereich", "plage", "gamme", "rango"];

/// Whether a number stands right beside a word for the range: `range 560`, `range of 560`, `400 range`.
fn of_range(words: &str, raw: &str) -> bool {
    let number = plain(raw);
    let list: Vec<&str> =
        words.split(' ').filter(|w| !["of", "is", "the", "to", "in", "use"].contains(w)).collect();
    let Some(at) = list.iter().position(|w| number.starts_with(*w) && !w.is_empty()) else { return false };
    let beside = |at: Option<usize>| at.and_then(|at| list.get(at)).is_some_and(|w| RANGE.contains(w));
    beside(at.checked_sub(1)) || beside(Some(at + number.split(' ').count()))
}

/// Whether a bare number is written as a barometer is read: hundredths of an inch, or whole hectopascals.
fn like_barometer(raw: &str, value: f64) -> bool {
    let parted = raw.contains(['.', ',']);
    (parted && (27.0..=31.5).contains(&value)) || (930.0..=1050.0).contains(&value)
}

/// The unit of a barometer reading, from its size. Source: common practice; ranges as of station pressures.
pub(crate) fn barometer_unit(value: f64) -> Option<Unit> {
    match value {
        v if (20.0..=33.0).contains(&v) => Some(Unit::IN_HG),
        v if (820.0..=1100.0).contains(&v) => Some(Unit::HPA),
        v if (500.0..=800.0).contains(&v) => Some(Unit::MM_HG),
        v if (60.0..=110.0).contains(&v) => Some(Unit::KPA),
        v if (60_000.0..=110_000.0).contains(&v) => Some(Unit::PASCAL),
        _ => None,
    }
}
