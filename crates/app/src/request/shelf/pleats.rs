//! Counting pleats: a quarter of the ring, depth and free height at a few places, the media area as it grows.

use super::section::length;
use crate::code::{Code, Fault};
use crate::request::Amount;
use airshelf_units::{Decimal, Digits, Dimension, System, read, show_number, usual};
use serde::Serialize;
use ts_rs::TS;

/// Quarters of a ring.
const QUARTERS: u32 = 4;

/// A size as the mean of several places.
#[derive(Clone, Debug, Serialize, TS)]
pub struct MeanSize {
    /// The mean.
    pub mean: Amount,
    /// Standard deviation between the places; none of a single one.
    pub spread: Option<Amount>,
    /// The mean as a text for its field.
    pub text: String,
    /// The spread as a standard uncertainty, SI.
    pub uncertainty_si: Option<f64>,
    /// Number of places.
    pub places: usize,
}

/// The pleats of a ring as counted so far.
#[derive(Clone, Debug, Serialize, TS)]
pub struct PleatsCounted {
    /// All around.
    pub count: u32,
    /// In words: `53 in a quarter, 212 all around`.
    pub counted: String,
    /// Their depth.
    pub depth: Option<MeanSize>,
    /// Their free height.
    pub free_height: Option<MeanSize>,
    /// The media area, once all three are there.
    pub area: Option<Amount>,
    /// In words.
    pub area_said: String,
}

pub(super) fn counted(
    quarter: u32,
    depths: &[String],
    free_heights: &[String],
    system: System,
) -> Result<PleatsCounted, Fault> {
    let count = quarter.checked_mul(QUARTERS).filter(|n| *n <= 10_000).ok_or_else(|| {
        Fault::new(Code::BadArgument, format!("{quarter} pleats in a quarter are more than any ring has"))
    })?;
    let depth = mean(depths, system)?;
    let free_height = mean(free_heights, system)?;
    let area_m2 = depth.as_ref().zip(free_height.as_ref()).and_then(|(depth, free)| {
        airshelf_flow::geometry::media_area_m2(count, depth.mean.si, free.mean.si).ok()
    });
    let area = area_m2.map(|si| Amount::of(si, Dimension::Area, system, Digits::Significant(3)));
    let mut wanted = Vec::new();
    if count < 3 {
        wanted.push("pleats");
    }
    if depth.is_none() {
        wanted.push("a depth");
    }
    if free_height.is_none() {
        wanted.push("a free height");
    }
    let area_said = match &area {
        Some(area) => format!("{} of media, both flanks of every pleat.", area.text),
        None => format!("Media area: still wants {}.", wanted.join(" and ")),
    };
    let counted = format!("{quarter} in a quarter, {count} all around");
    Ok(PleatsCounted { count, counted, depth, free_height, area, area_said })
}

/// The mean of what was typed; its unit is that of the first.
fn mean(texts: &[String], system: System) -> Result<Option<MeanSize>, Fault> {
    let mut unit = usual(Dimension::Length, system);
    let mut values = Vec::new();
    for text in texts.iter().filter(|text| !text.trim().is_empty()) {
        let read = read(text, Dimension::Length, Some(unit), Decimal::Point)
            .map_err(|e| Fault::new(Code::BadQuantity, e.to_string()))?;
        unit = if values.is_empty() { read.unit } else { unit };
        values.push(read.si);
    }
    if values.is_empty() {
        return Ok(None);
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|x| (x - mean) * (x - mean)).sum();
    let spread = (values.len() > 1).then(|| (squares / (n - 1.0)).sqrt()).filter(|s| *s > 1e-9);
    let text = match values.len() {
        1 => texts.iter().find(|text| !text.trim().is_empty()).cloned().unwrap_or_default(),
        _ => format!("{} {}", show_number(unit.from_si(mean), Digits::Significant(4)), unit.symbol()),
    };
    Ok(Some(MeanSize {
        mean: length(mean, system),
        spread: spread.map(|si| Amount::of(si, Dimension::Length, system, Digits::Significant(1))),
        text,
        uncertainty_si: spread.filter(|s| *s > 0.0),
        places: values.len(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(of: &[&str]) -> Vec<String> {
        of.iter().map(|text| (*text).to_owned()).collect()
    }

    #[test]
    fn a_quarter_counts_four_times_and_the_area_grows_with_what_is_known() {
        let first = counted(50, &[], &[], System::Us).unwrap();
        assert_eq!((first.count, first.area), (200, None));
        let all = counted(50, &texts(&["1 in"]), &texts(&["2.75"]), System::Us).unwrap();
        // 2 · 200 · 1 in · 2.75 in.
        assert_eq!(
            all.area.unwrap().text,
            "1100 sq in".replace("sq in", airshelf_units::Unit::SQ_IN.shown())
        );
    }

    #[test]
    fn three_places_give_a_mean_and_their_spread_as_its_uncertainty() {
        let seen = counted(50, &texts(&["0.9", "1.0", "1.1"]), &[], System::Us).unwrap().depth.unwrap();
        assert_eq!((seen.text.as_str(), seen.places), ("1.000 in", 3));
        assert!((seen.uncertainty_si.unwrap() - 0.1 * 0.0254).abs() < 1e-12);
        let one = counted(50, &texts(&["15/16"]), &[], System::Us).unwrap().depth.unwrap();
        assert_eq!((one.text.as_str(), one.uncertainty_si), ("15/16", None));
    }
}
