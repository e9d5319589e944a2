//! Benches and their ranges.

use super::measured::{Units, needed, typed};
use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::names::as_written;
use crate::shelf::Shelf;
use airshelf_catalog::ids::fold;
use airshelf_catalog::{Bench, BenchRange, Meter, Quantity};
use airshelf_units::{Dimension, Unit};
use serde::Serialize;
use ts_rs::TS;
use uuid::Uuid;

/// A bench with its ranges.
#[derive(Clone, Debug, Serialize, TS)]
pub struct BenchCard {
    /// Which.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// What its meter measures; none: unknown, and no flow at reference air.
    pub meter: Option<Meter>,
    /// Its ranges, the smallest first.
    pub ranges: Vec<RangeCard>,
    /// The unit of a flow where none is written.
    pub flow_unit: String,
}

/// One range of a bench.
#[derive(Clone, Debug, Serialize, TS)]
pub struct RangeCard {
    /// Which.
    pub id: Uuid,
    /// Its full scale, as written.
    pub full_scale: String,
    /// The smallest step that its meter shows, as written.
    pub step: Option<String>,
    /// The repeatability that its owner states, as written.
    pub stated_scatter: Option<String>,
}

fn card(range: &BenchRange) -> RangeCard {
    RangeCard {
        id: range.id,
        full_scale: range.full_scale.as_ref().and_then(as_written).unwrap_or_else(|| "no full scale".into()),
        step: range.step.as_ref().and_then(as_written),
        stated_scatter: range.stated_scatter.as_ref().and_then(as_written),
    }
}

pub(super) fn benches(shelf: &Shelf) -> Result<Vec<BenchCard>, Fault> {
    let mut ranges: Vec<BenchRange> = shelf.store().load()?;
    ranges.sort_by(|a, b| full_scale(a).total_cmp(&full_scale(b)));
    let mut benches: Vec<Bench> = shelf.store().load()?;
    benches.sort_by_cached_key(|bench| bench.name.clone());
    let system = shelf.system();
    Ok(benches
        .into_iter()
        .map(|bench| {
            let own = || ranges.iter().filter(|range| range.bench == Some(bench.id));
            BenchCard {
                id: bench.id,
                name: bench.name.unwrap_or_default(),
                meter: bench.meter,
                ranges: own().map(card).collect(),
                flow_unit: Units::of(None, own().next_back(), system).flow.shown().into(),
            }
        })
        .collect())
}

fn full_scale(range: &BenchRange) -> f64 {
    range.full_scale.as_ref().map_or(0.0, |scale| scale.si)
}

pub(super) fn keep_bench(
    shelf: &mut Shelf,
    id: Option<Uuid>,
    name: &str,
    meter: Option<Meter>,
) -> Result<Changed, Fault> {
    let name = name.trim();
    if name.is_empty() {
        return Err(Fault::new(Code::BadArgument, "the bench has no name: say what people call it"));
    }
    let benches: Vec<Bench> = shelf.store().load()?;
    if benches.iter().any(|b| Some(b.id) != id && b.name.as_deref().is_some_and(|n| fold(n) == fold(name))) {
        return Err(Fault::new(Code::BadArgument, format!("there is a bench {name} already")));
    }
    let held = benches.into_iter().find(|bench| Some(bench.id) == id);
    if id.is_some() && held.is_none() {
        return Err(Fault::new(Code::NotFound, "this bench is not on the shelf any more"));
    }
    let bench = Bench { name: Some(name.into()), meter, ..held.unwrap_or_default() };
    keep(shelf, &format!("bench {name}"), id, bench)
}

pub(super) fn keep_range(
    shelf: &mut Shelf,
    id: Option<Uuid>,
    bench: Uuid,
    full_scale: &str,
    step: &str,
    stated_scatter: &str,
) -> Result<Changed, Fault> {
    let held: Option<BenchRange> = id.map(|id| shelf.store().get(id)).transpose()?.flatten();
    let name = shelf.store().get::<Bench>(bench)?.and_then(|bench| bench.name);
    let (Some(name), true) = (name, id.is_none() || held.is_some()) else {
        return Err(Fault::new(Code::NotFound, "this bench or range is not on the shelf any more"));
    };
    let held = held.unwrap_or_default();
    let unit = Units::of(None, Some(&held), shelf.system()).flow;
    let scale = needed("full scale", full_scale, Dimension::Flow, unit)?;
    let step = typed("smallest step", step, Dimension::Flow, scale.unit().unwrap_or(unit))?;
    if step.as_ref().is_some_and(|step| step.si >= scale.si) {
        return Err(Fault::new(Code::BadQuantity, "the smallest step is as large as the whole range"));
    }
    let scatter = typed("repeatability", stated_scatter, Dimension::Ratio, Unit::PERCENT)?;
    if scatter.as_ref().is_some_and(|scatter| scatter.si > 0.2) {
        let what = "a repeatability above 20 % of flow is beyond any bench";
        return Err(Fault::new(Code::BadQuantity, what).hint("Say it in percent of flow, such as 0.4 %."));
    }
    let same = |new: Option<Quantity>, old: Option<Quantity>| match (&new, &old) {
        (Some(a), Some(b)) if as_written(a) == as_written(b) => old,
        _ => new,
    };
    let range = BenchRange {
        bench: Some(bench),
        full_scale: same(Some(scale), held.full_scale.clone()),
        step: same(step, held.step.clone()),
        stated_scatter: same(scatter, held.stated_scatter.clone()),
        ..held
    };
    keep(shelf, &format!("range {full_scale} of {name}"), id, range)
}

fn keep<E: airshelf_catalog::Entity>(
    shelf: &mut Shelf,
    label: &str,
    id: Option<Uuid>,
    row: E,
) -> Result<Changed, Fault> {
    let outcome = shelf.store.write(label, |w| {
        Ok::<Uuid, Fault>(match id {
            None => w.create(&row)?,
            Some(id) => {
                w.update(&row)?;
                id
            }
        })
    })?;
    Ok(Changed::of(outcome))
}
