//! Values of runs and engines outside their impossible or usual limits.

use super::desk::Desk;
use super::fault::{Amount, Detail, Fault, Place, Repair};
use super::misread::{median, one_slip};
use super::rule::{Rule, Severity};
use super::shelf::{Row, Shelf};
use airshelf_catalog::limits::{Limited, Standing};
use airshelf_catalog::{PartDimension, PartKind, Purpose, Quantity, Session, Uuid};
use airshelf_units::Unit;

type Own = for<'a> fn(&Row<'a>) -> Option<&'a Quantity>;
type Paged = for<'a> fn(&'a Session) -> Option<&'a Quantity>;

struct Field {
    field: &'static str,
    what: &'static str,
    limited: Limited,
    unit: Unit,
    own: Own,
    page: Paged,
}

const FIELDS: [Field; 6] = [
    Field {
        field: "set_pressure",
        what: "test pressure",
        limited: Limited::TestPressure,
        unit: Unit::IN_H2O,
        own: |r| r.run.set_pressure.as_ref(),
        page: |s| s.set_pressure.as_ref(),
    },
    Field {
        field: "actual_pressure",
        what: "test pressure",
        limited: Limited::TestPressure,
        unit: Unit::IN_H2O,
        own: |r| r.actual(),
        page: |_| None,
    },
    Field {
        field: "barometer",
        what: "barometer",
        limited: Limited::Barometer,
        unit: Unit::IN_HG,
        own: |r| r.reading?.barometer.as_ref(),
        page: |s| s.barometer.as_ref(),
    },
    Field {
        field: "air_temperature",
        what: "air temperature",
        limited: Limited::AirTemperature,
        unit: Unit::FAHRENHEIT,
        own: |r| r.reading?.air_temperature.as_ref(),
        page: |s| s.air_temperature.as_ref(),
    },
    Field {
        field: "meter_temperature",
        what: "air temperature at the meter",
        limited: Limited::AirTemperature,
        unit: Unit::FAHRENHEIT,
        own: |r| r.reading?.meter_temperature.as_ref(),
        page: |_| None,
    },
    Field {
        field: "humidity",
        what: "humidity",
        limited: Limited::Humidity,
        unit: Unit::PERCENT,
        own: |r| r.reading?.humidity.as_ref(),
        page: |s| s.humidity.as_ref(),
    },
];

pub(crate) fn check(desk: &mut Desk) {
    for field in &FIELDS {
        of_field(desk, field);
    }
    flow(desk);
    temperature_gap(desk);
    leakage(desk);
}

fn detail(field: &Field, quantity: &Quantity, limit: f64) -> Detail {
    Detail::Limit {
        value: Amount::like(quantity.si, Some(quantity), field.unit),
        limit: Amount::like(limit, Some(quantity), field.unit),
        what: field.what,
    }
}

/// Other readings of the number: another unit of the same dimension, else one slip.
fn mended(quantity: &Quantity, limited: Limited, others: Option<f64>, desk: &Desk) -> Option<Amount> {
    let usual = |si: f64| desk.shelf.limits.judge(limited, si) == Standing::Usual;
    if let Some(middle) = others {
        let tolerance = if limited == Limited::Humidity { 0.25 } else { 0.03 };
        return one_slip(quantity, middle, tolerance).filter(|a| usual(a.si));
    }
    let unit = quantity.unit()?;
    let number = unit.from_si(quantity.si);
    let also = [Unit::IN_HG, Unit::HPA, Unit::KPA, Unit::IN_H2O, Unit::CELSIUS, Unit::FAHRENHEIT];
    also.into_iter()
        .filter(|u| *u != unit && u.dimension() == unit.dimension())
        .map(|u| Amount::new(u.to_si(number), u))
        .find(|a| usual(a.si))
}

fn of_field(desk: &mut Desk, field: &Field) {
    let rows = desk.rows();
    let limit = desk.shelf.limits.of(field.limited);
    if let Some(quantity) = (field.page)(desk.evening.session)
        && !rows.is_empty()
        && !desk.has(0, Rule::BlankAsZero)
    {
        let standing = limit.judge(quantity.si);
        let (rule, bound) = match standing {
            Standing::Usual => (None, 0.0),
            Standing::Unusual(b) => (Some(Rule::Unusual), b),
            Standing::Impossible(b) => (Some(Rule::OutOfRange), b),
        };
        // A unit named for the whole session has said the cause.
        if let Some(rule) =
            rule.filter(|_| field.limited != Limited::TestPressure || !desk.has_any(0, &[Rule::PressureUnit]))
        {
            let to = mended(quantity, field.limited, None, desk);
            let all: Vec<usize> = (0..rows.len()).collect();
            let entry_row = desk.shelf.table(rows[0].run.table).and_then(|t| t.page_entry(field.field)?.row);
            let session = desk.evening.session.id;
            let fault = desk.report_over(&all, rule, field.field, detail(field, quantity, bound));
            fault.value = quantity.raw().map(str::to_owned);
            fault.place.row = entry_row.or(fault.place.row);
            fault.subject = session;
            if let (Some(to), Rule::OutOfRange) = (to, rule) {
                fault.repaired(Repair::Set { field: field.field.into(), to: vec![to] });
            }
        }
    }
    let mut unusual: Vec<(usize, f64)> = Vec::new();
    let mut written = 0;
    for (i, row) in rows.iter().enumerate() {
        let Some(quantity) = (field.own)(row) else { continue };
        written += 1;
        let standing = limit.judge(quantity.si);
        if standing == Standing::Usual {
            continue;
        }
        let zero =
            quantity.unit().is_none_or(|u| u.from_si(quantity.si) == 0.0) && desk.has(i, Rule::BlankAsZero);
        let pressure = field.limited == Limited::TestPressure;
        if zero || (pressure && desk.has(i, Rule::PressureUnit)) {
            continue;
        }
        match standing {
            Standing::Usual => {}
            Standing::Impossible(bound) => {
                let others = median(
                    rows.iter()
                        .enumerate()
                        .filter(|(j, _)| *j != i)
                        .filter_map(|(_, r)| (field.own)(r))
                        .map(|q| q.si)
                        .filter(|si| limit.judge(*si) == Standing::Usual)
                        .collect(),
                );
                let to = mended(quantity, field.limited, others, desk);
                let fault = desk.report(i, Rule::OutOfRange, field.field, detail(field, quantity, bound));
                if let Some(to) = to {
                    fault.repaired(Repair::Set { field: field.field.into(), to: vec![to] });
                }
            }
            Standing::Unusual(bound) => {
                // Told once where set and actual pressure say the same.
                if field.field != "actual_pressure" || row.set.is_none() {
                    unusual.push((i, bound));
                }
            }
        }
    }
    told_together(desk, &unusual, written, field.field, |i, bound| {
        detail(field, (field.own)(&rows[i]).expect("judged above"), bound)
    });
}

/// One fault where most rows of a session are unusual in the same way, else one each.
fn told_together(
    desk: &mut Desk,
    at: &[(usize, f64)],
    written: usize,
    field: &'static str,
    detail: impl Fn(usize, f64) -> Detail,
) {
    if at.len() >= 3 && 2 * at.len() > written {
        let rows: Vec<usize> = at.iter().map(|(i, _)| *i).collect();
        desk.report_over(&rows, Rule::Unusual, field, detail(at[0].0, at[0].1));
        return;
    }
    for &(i, bound) in at {
        desk.report(i, Rule::Unusual, field, detail(i, bound));
    }
}

fn flow(desk: &mut Desk) {
    let rows = desk.rows();
    let limit = desk.shelf.limits.of(Limited::FlowOfRange);
    let mut low: Vec<(usize, f64)> = Vec::new();
    let mut written = 0;
    let shown = |i: usize, share: f64| {
        let flow = rows[i].flow().expect("judged for its flow");
        let range = rows[i].range_m3_s.unwrap_or(0.0);
        Detail::Limit {
            value: Amount::like(flow.si, Some(flow), Unit::CFM),
            limit: Amount::like(share * range, Some(flow), Unit::CFM),
            what: "flow",
        }
    };
    for (i, row) in rows.iter().enumerate() {
        let Some(flow) = row.flow() else { continue };
        if flow.si < 0.0 {
            let to = Amount::like(-flow.si, Some(flow), Unit::CFM);
            desk.report(i, Rule::OutOfRange, "flow", shown(i, 0.0))
                .repaired(Repair::Set { field: "flow".into(), to: vec![to] });
            continue;
        }
        let Some(range) = row.range_m3_s.filter(|r| *r > 0.0) else { continue };
        written += 1;
        if row.is_leakage() || desk.has_any(i, &[Rule::OverRange, Rule::NearRange, Rule::BlankAsZero]) {
            continue;
        }
        if let Standing::Unusual(bound) = limit.judge(flow.si / range) {
            low.push((i, bound));
        }
    }
    told_together(desk, &low, written, "flow", shown);
}

fn temperature_gap(desk: &mut Desk) {
    let rows = desk.rows();
    let mut wide: Vec<(usize, f64)> = Vec::new();
    let mut written = 0;
    let gap = |r: &Row| {
        let part = r.reading?.air_temperature.as_ref().or(desk.evening.session.air_temperature.as_ref())?;
        Some((r.reading?.meter_temperature.as_ref()?.si - part.si).abs())
    };
    let gaps: Vec<Option<f64>> = rows.iter().map(gap).collect();
    for (i, gap) in gaps.iter().enumerate() {
        let Some(gap) = gap else { continue };
        written += 1;
        if desk.has_any(i, &[Rule::OutOfRange, Rule::BlankAsZero]) {
            continue;
        }
        if let Standing::Unusual(bound) = desk.shelf.limits.judge(Limited::TemperatureGap, *gap) {
            wide.push((i, bound));
        }
    }
    told_together(desk, &wide, written, "meter_temperature", |i, bound| Detail::Limit {
        value: Amount::new(gaps[i].unwrap_or(0.0), Unit::DELTA_F),
        limit: Amount::new(bound, Unit::DELTA_F),
        what: "difference between the air at the part and at the meter",
    });
}

fn leakage(desk: &mut Desk) {
    let rows = desk.rows();
    let of = |pick: &dyn Fn(&Row) -> bool| {
        median(
            rows.iter()
                .enumerate()
                .filter(|(i, r)| {
                    pick(r) && !desk.has_any(*i, &[Rule::OverRange, Rule::OutOfRange, Rule::BlankAsZero])
                })
                .filter_map(|(_, r)| r.flow_m3_s().filter(|f| *f > 0.0))
                .collect(),
        )
    };
    let open = of(&|r| r.is(Purpose::Baseline)).or_else(|| of(&|r| r.is_test()));
    let tests = of(&|r| r.is_test()).or(open);
    for (i, row) in rows.iter().enumerate() {
        let (limited, against, what) = match row.run.purpose {
            Some(Purpose::FixtureLeakage) => (Limited::FixtureLeakage, tests, "fixture leakage against flow"),
            Some(Purpose::ClosedThrottleLeakage) => {
                (Limited::ClosedThrottleLeakage, open, "closed-throttle leakage against open flow")
            }
            _ => continue,
        };
        let (Some(flow), Some(against)) = (row.flow_m3_s(), against) else { continue };
        judge_share(desk, i, limited, flow / against, "flow", what);
    }
    let mut high: Vec<(usize, f64)> = Vec::new();
    let mut written = 0;
    let share = |r: &Row| Some(r.claim?.leakage.as_ref()?.si / r.flow_m3_s().filter(|f| *f > 0.0)?);
    for (i, row) in rows.iter().enumerate() {
        let Some(value) = share(row).filter(|_| !row.is_leakage()) else { continue };
        written += 1;
        if desk.has_any(i, &[Rule::ThrottleLeakSubtracted, Rule::OverRange]) {
            continue;
        }
        let limit = desk.shelf.limits.of(Limited::FixtureLeakage);
        match limit.judge(value) {
            Standing::Unusual(bound) if value < 1.0 => high.push((i, bound)),
            Standing::Usual => {}
            _ => judge_share(desk, i, Limited::FixtureLeakage, value, "leakage", "leakage against flow"),
        }
    }
    told_together(desk, &high, written, "leakage", |i, limit| Detail::Share {
        value: share(&rows[i]).unwrap_or(0.0),
        limit,
        what: "leakage against flow",
    });
}

fn judge_share(
    desk: &mut Desk,
    i: usize,
    limited: Limited,
    value: f64,
    field: &'static str,
    what: &'static str,
) {
    let standing = desk.shelf.limits.judge(limited, value);
    // Leakage as large as the flow is impossible, not only larger.
    let (rule, limit) = match standing {
        Standing::Impossible(limit) => (Rule::OutOfRange, limit),
        _ if value >= 1.0 => (Rule::OutOfRange, 1.0),
        Standing::Unusual(limit) => (Rule::Unusual, limit),
        Standing::Usual => return,
    };
    desk.report(i, rule, field, Detail::Share { value, limit, what });
}

pub(crate) fn check_engines(shelf: &Shelf, faults: &mut Vec<Fault>) {
    for engine in &shelf.records.engines {
        let Some(ve) = engine.volumetric_efficiency.as_ref() else { continue };
        let (rule, limit) = match shelf.limits.judge(Limited::VolumetricEfficiency, ve.si) {
            Standing::Usual => continue,
            Standing::Unusual(l) => (Rule::Unusual, l),
            Standing::Impossible(l) => (Rule::OutOfRange, l),
        };
        faults.push(plain(
            rule,
            engine.id,
            "volumetric_efficiency",
            ve.raw(),
            ve.si,
            limit,
            "volumetric efficiency",
        ));
    }
    face_speeds(shelf, faults);
}

fn plain(
    rule: Rule,
    subject: Uuid,
    field: &str,
    raw: Option<&str>,
    value: f64,
    limit: f64,
    what: &'static str,
) -> Fault {
    Fault {
        rule,
        severity: rule.severity(),
        place: Place { field: field.to_owned(), ..Place::default() },
        rows: Vec::new(),
        value: raw.map(str::to_owned),
        subject,
        covers: Vec::new(),
        detail: Detail::Share { value, limit, what },
        repair: None,
    }
}

/// Speed of the air at the face of each pleated element, at the most that it was seen to flow.
fn face_speeds(shelf: &Shelf, faults: &mut Vec<Fault>) {
    let area: Vec<Option<f64>> = shelf
        .parts
        .iter()
        .map(|p| (p.kind() == Some(PartKind::Filter)).then(|| super::element::media_area_m2(p)).flatten())
        .collect();
    if area.iter().all(Option::is_none) {
        return;
    }
    let mut most = vec![0.0_f64; shelf.parts.len()];
    for evening in &shelf.evenings {
        for row in evening.rows.iter().filter(|r| r.is_test()) {
            let Some(flow) = row.flow_m3_s().filter(|f| row.range_m3_s.is_none_or(|r| *f <= r)) else {
                continue;
            };
            for &(_, p) in shelf.layers(row) {
                most[p] = most[p].max(flow);
            }
        }
    }
    for (p, part) in shelf.parts.iter().enumerate() {
        let Some(area) = area[p].filter(|_| most[p] > 0.0) else { continue };
        let speed = most[p] / area;
        let (rule, limit) = match shelf.limits.judge(Limited::FaceSpeed, speed) {
            Standing::Usual => continue,
            Standing::Unusual(l) => (Rule::Unusual, l),
            Standing::Impossible(l) => (Rule::OutOfRange, l),
        };
        let which =
            if part.measurement(PartDimension::MediaArea).is_some() { "media_area" } else { "pleat_count" };
        let mut fault = plain(rule, part.part.id, which, None, 0.0, 0.0, "");
        fault.severity = Severity::Inform;
        fault.place = super::dates::record_place(shelf, part.part.table, part.part.row, which);
        fault.detail = Detail::Limit {
            value: Amount::new(speed, Unit::M_S),
            limit: Amount::new(limit, Unit::M_S),
            what: "speed of the air at the face of the media",
        };
        faults.push(fault);
    }
}
