//! Parts: dimensions that cannot be, areas beyond the geometry, prices, filtration without a test.

use super::dates::record_place;
use super::fault::{Amount, Detail, Fault, Repair};
use super::misread::median;
use super::rule::Rule;
use super::shelf::{PartSeen, Shelf};
use super::written;
use airshelf_catalog::limits::{LEAST_PITCH_M, Limited, NECK_ALLOWANCE_M, Standing, USUAL_NECKS_M};
use airshelf_catalog::{Measurement, PartDimension, PartKind, PartStatus, TableKind, Uuid};
use airshelf_units::Unit;
use std::collections::BTreeMap;

/// Depth of a pleat as read with a rule may exceed the room for it by this, m. Common practice, no source.
const READING_M: f64 = 0.0005;
/// A stated area may exceed the possible one by rounding of its factors.
const AREA_SLACK: f64 = 1.02;

pub(crate) fn check(shelf: &mut Shelf, faults: &mut Vec<Fault>) {
    let siblings = written::Siblings::of(shelf);
    let mut wrong: Vec<(usize, Uuid)> = Vec::new();
    for (at, part) in shelf.parts.iter().enumerate() {
        for m in &part.measured {
            if let Some(fault) = zero(shelf, m).or_else(|| written::check(shelf, part, m, &siblings)) {
                wrong.push((at, m.id));
                faults.push(fault);
            }
        }
    }
    for (at, id) in wrong {
        shelf.parts[at].wrong.push(id);
    }
    let mut more: Vec<(usize, Uuid)> = Vec::new();
    let medians = price_medians(shelf);
    for (at, part) in shelf.parts.iter().enumerate() {
        let mut desk = Bench { shelf, part, faults, wrong: Vec::new() };
        desk.diameters();
        desk.pleats();
        desk.area();
        desk.limits();
        more.extend(desk.wrong.into_iter().map(|id| (at, id)));
        price(shelf, part, &medians, faults);
        filtration(shelf, part, faults);
    }
    for (at, id) in more {
        shelf.parts[at].wrong.push(id);
    }
}

/// Area of the media of a pleated element, m²: from its pleats, else as stated.
pub(crate) fn media_area_m2(part: &PartSeen) -> Option<f64> {
    let free = part.dimension(PartDimension::PleatFreeHeight);
    let computed = pleat_area(part, free);
    computed
        .or_else(|| part.dimension(PartDimension::MediaArea))
        .or_else(|| pleat_area(part, part.dimension(PartDimension::Height)))
}

fn pleat_area(part: &PartSeen, height_m: Option<f64>) -> Option<f64> {
    let count = part.dimension(PartDimension::PleatCount)?;
    let depth = part.dimension(PartDimension::PleatDepth)?;
    if !(3.0..=10_000.0).contains(&count) {
        return None;
    }
    airshelf_flow::geometry::media_area_m2(count.round() as u32, depth, height_m?).ok()
}

/// The name of a dimension's field in part sheets.
pub(crate) fn dimension_field(which: PartDimension) -> String {
    which.name().replace(' ', "_")
}

/// A fault of one measurement.
pub(crate) fn measured_fault(shelf: &Shelf, m: &Measurement, rule: Rule, detail: Detail) -> Fault {
    let field = m.dimension.map(dimension_field).unwrap_or_default();
    let mut place = record_place(shelf, m.table, m.row, &field);
    if let Some((table, column)) = shelf.table(m.table).zip(m.column) {
        place.column = table.header_at(column).map(str::to_owned).or(place.column);
        if let Some(own) = table.field_at(column).filter(|_| table.record.kind == Some(TableKind::Runs)) {
            place.field = own.to_owned();
        }
    }
    Fault {
        rule,
        severity: rule.severity(),
        place,
        rows: Vec::new(),
        value: m.value.as_ref().and_then(|q| q.raw()).map(str::to_owned),
        subject: m.id,
        covers: Vec::new(),
        detail,
        repair: None,
    }
}

fn zero(shelf: &Shelf, m: &Measurement) -> Option<Fault> {
    let value = m.value.as_ref()?;
    // A flat base drops by nothing; everything else has some extent.
    if value.si != 0.0 || m.dimension? == PartDimension::Drop {
        return None;
    }
    let mut fault = measured_fault(shelf, m, Rule::BlankAsZero, Detail::Zero { others: None });
    fault.repair = Some(Repair::Blank { field: fault.place.field.clone() });
    Some(fault)
}

struct Bench<'s, 'a> {
    shelf: &'s Shelf<'a>,
    part: &'s PartSeen<'a>,
    faults: &'s mut Vec<Fault>,
    wrong: Vec<Uuid>,
}

impl Bench<'_, '_> {
    fn measured(&self, which: PartDimension) -> Option<(&Measurement, f64)> {
        let part = self.part;
        let sound = |m: &&&Measurement| {
            m.dimension == Some(which) && !part.wrong.contains(&m.id) && !self.wrong.contains(&m.id)
        };
        let m = part.measured.iter().find(sound)?;
        Some((m, m.value.as_ref()?.si))
    }

    fn value(&self, which: PartDimension) -> Option<f64> {
        self.measured(which).map(|(_, v)| v)
    }

    fn report(&mut self, which: PartDimension, rule: Rule, detail: Detail, repair: Option<Repair>) {
        let Some((m, _)) = self.measured(which) else { return };
        let mut fault = measured_fault(self.shelf, m, rule, detail);
        fault.repair = repair;
        let id = m.id;
        self.faults.push(fault);
        self.wrong.push(id);
    }

    fn shown(&self, which: PartDimension, si: f64, unit: Unit) -> Amount {
        Amount::like(si, self.measured(which).and_then(|(m, _)| m.value.as_ref()), unit)
    }

    fn diameters(&mut self) {
        use PartDimension::{InsideDiameter, OutsideDiameter};
        let (Some(od), Some(id)) = (self.value(OutsideDiameter), self.value(InsideDiameter)) else { return };
        if od <= id {
            let detail = Detail::Limit {
                value: self.shown(OutsideDiameter, od, Unit::INCH),
                limit: self.shown(InsideDiameter, id, Unit::INCH),
                what: "outside diameter, which must exceed the inside diameter,",
            };
            let swap = Repair::Swap { field: "OD".into(), with: "ID".into() };
            self.report(OutsideDiameter, Rule::OutOfRange, detail, Some(swap));
        }
    }

    fn pleats(&mut self) {
        use PartDimension::{InsideDiameter, OutsideDiameter, PleatCount, PleatDepth};
        let (od, id) = (self.value(OutsideDiameter), self.value(InsideDiameter));
        if let (Some(od), Some(id), Some(depth)) = (od, id, self.value(PleatDepth)) {
            let room = (od - id) / 2.0;
            if od > id && depth > room + READING_M {
                let detail = Detail::PleatDepth {
                    depth: self.shown(PleatDepth, depth, Unit::INCH),
                    room: self.shown(PleatDepth, room, Unit::INCH),
                };
                self.report(PleatDepth, Rule::AreaImpossible, detail, None);
            }
        }
        if let (Some(id), Some(count)) = (id, self.value(PleatCount).filter(|c| *c >= 3.0)) {
            let pitch = std::f64::consts::PI * id / count;
            if pitch < LEAST_PITCH_M {
                let detail = Detail::Pitch { count, pitch: self.shown(InsideDiameter, pitch, Unit::INCH) };
                self.report(PleatCount, Rule::AreaImpossible, detail, None);
            }
        }
    }

    fn area(&mut self) {
        use PartDimension::{Height, MediaArea, PleatCount, PleatDepth, PleatFreeHeight};
        let Some(stated) = self.value(MediaArea) else { return };
        let (Some(count), Some(depth)) = (self.value(PleatCount), self.value(PleatDepth)) else { return };
        let Some(height) = self.value(PleatFreeHeight).or(self.value(Height)) else { return };
        if !(3.0..=10_000.0).contains(&count) {
            return;
        }
        let Ok(possible) = airshelf_flow::geometry::media_area_m2(count.round() as u32, depth, height) else {
            return;
        };
        if stated > AREA_SLACK * possible {
            let possible = self.shown(MediaArea, possible, Unit::SQ_IN);
            let detail = Detail::Area { stated: self.shown(MediaArea, stated, Unit::SQ_IN), possible };
            let repair = Repair::Set { field: "media_area".into(), to: vec![possible] };
            self.report(MediaArea, Rule::AreaImpossible, detail, Some(repair));
        }
    }

    fn limits(&mut self) {
        let kind = self.part.kind();
        for &which in PartDimension::ALL {
            let Some((_, value)) = self.measured(which) else { continue };
            let element = kind == Some(PartKind::Filter);
            let limited = match which {
                PartDimension::OutsideDiameter if element => Some(Limited::ElementDiameter),
                PartDimension::Height if element => Some(Limited::ElementHeight),
                PartDimension::PleatDepth => Some(Limited::PleatDepth),
                PartDimension::PleatCount => Some(Limited::PleatCount),
                PartDimension::NeckBore => Some(Limited::NeckBore),
                PartDimension::Drop => Some(Limited::BaseDrop),
                _ => None,
            };
            let unit = if which == PartDimension::PleatCount { Unit::COUNT } else { Unit::INCH };
            let standing = match limited {
                Some(limited) => self.shelf.limits.judge(limited, value),
                None if value < 0.0 => Standing::Impossible(0.0),
                None => Standing::Usual,
            };
            let standing = if which == PartDimension::NeckBore && standing == Standing::Usual {
                neck(value)
            } else {
                standing
            };
            let (rule, limit) = match standing {
                Standing::Usual => continue,
                Standing::Unusual(l) => (Rule::Unusual, l),
                Standing::Impossible(l) => (Rule::OutOfRange, l),
            };
            let shown = |bench: &Self, si| bench.shown(which, si, unit);
            let repair = (rule == Rule::OutOfRange && value < 0.0)
                .then(|| Repair::Set { field: dimension_field(which), to: vec![shown(self, -value)] });
            let detail =
                Detail::Limit { value: shown(self, value), limit: shown(self, limit), what: which.name() };
            self.report(which, rule, detail, repair);
        }
    }
}

/// A neck near none of the usual ones, with the nearest of them.
fn neck(bore_m: f64) -> Standing {
    let nearest = USUAL_NECKS_M.into_iter().min_by(|a, b| (a - bore_m).abs().total_cmp(&(b - bore_m).abs()));
    match nearest {
        Some(usual) if (usual - bore_m).abs() > NECK_ALLOWANCE_M + 1e-6 => Standing::Unusual(usual),
        _ => Standing::Usual,
    }
}

/// Median price by kind and currency, where at least three are known.
fn price_medians(shelf: &Shelf) -> BTreeMap<(PartKind, String), f64> {
    let mut prices: BTreeMap<(PartKind, String), Vec<f64>> = BTreeMap::new();
    for part in &shelf.parts {
        if let (Some(kind), Some(price)) = (part.kind(), part.part.price.as_ref().filter(|p| p.amount > 0.0))
        {
            prices.entry((kind, price.currency.clone())).or_default().push(price.amount);
        }
    }
    prices.into_iter().filter(|(_, p)| p.len() >= 3).filter_map(|(k, p)| Some((k, median(p)?))).collect()
}

fn part_fault(shelf: &Shelf, part: &PartSeen, rule: Rule, field: &str, value: &str, detail: Detail) -> Fault {
    Fault {
        rule,
        severity: rule.severity(),
        place: record_place(shelf, part.part.table, part.part.row, field),
        rows: Vec::new(),
        value: Some(value.to_owned()),
        subject: part.part.id,
        covers: Vec::new(),
        detail,
        repair: None,
    }
}

fn price(
    shelf: &Shelf,
    part: &PartSeen,
    medians: &BTreeMap<(PartKind, String), f64>,
    faults: &mut Vec<Fault>,
) {
    let Some(price) = part.part.price.as_ref() else { return };
    if price.amount < 0.0 {
        let detail = Detail::Share { value: price.amount, limit: 0.0, what: "price" };
        let mut fault = part_fault(shelf, part, Rule::OutOfRange, "price", &price.raw, detail);
        fault.repair = Some(Repair::SetText { field: "price".into(), to: format!("{:.2}", -price.amount) });
        faults.push(fault);
        return;
    }
    let Some(median) = part.kind().and_then(|k| medians.get(&(k, price.currency.clone()))) else { return };
    let share = price.amount / median;
    if let Standing::Unusual(limit) = shelf.limits.judge(Limited::PriceOfMedian, share) {
        let detail =
            Detail::Share { value: share, limit, what: "price as a multiple of the median of its kind" };
        faults.push(part_fault(shelf, part, Rule::Unusual, "price", &price.raw, detail));
    }
}

fn filtration(shelf: &Shelf, part: &PartSeen, faults: &mut Vec<Fault>) {
    if part.part.status == Some(PartStatus::Wanted) && part.part.filtration.is_none() {
        return;
    }
    let Some(text) = part.part.filtration.as_deref().map(str::trim).filter(|t| !t.is_empty()) else { return };
    if !proven(text) {
        let detail = Detail::Text { text: text.to_owned() };
        let mut fault = part_fault(shelf, part, Rule::FiltrationUnproven, "filtration", text, detail);
        fault.repair = Some(Repair::SetText { field: "filtration".into(), to: "unknown".into() });
        faults.push(fault);
    }
}

/// Unknown and claimed say what they are; a test names its standard by number.
fn proven(text: &str) -> bool {
    let text = text.to_lowercase();
    if matches!(text.as_str(), "unknown" | "claimed" | "?" | "-" | "n/a" | "none" | "not known") {
        return true;
    }
    let standard = text.strip_prefix("tested").map(|s| s.trim_start_matches([':', ' ', '-', '(']));
    standard.is_some_and(|s| s.chars().any(|c| c.is_ascii_digit()) && s.chars().any(char::is_alphabetic))
}

#[cfg(test)]
mod tests {
    use super::proven;

    #[test]
    fn only_a_named_test_proves_filtration() {
        for fine in ["unknown", "claimed", "Tested: ISO 5011", "tested to SAE J726"] {
            assert!(proven(fine), "{fine}");
        }
        for claim in
            ["99 % of everything", "stops fine dust better than paper", "tested", "tested: in the shed"]
        {
            assert!(!proven(claim), "{claim}");
        }
    }
}
