//! Which runs may be compared with which: sessions into groups, runs into fittings.
//!
//! A group is one session, item, range, direction, set pressure and baseline definition (DEVELOPERS.md,
//! How assemblies are compared). Consecutive runs of one assembly without a refit are one fitting. What the audit blocks is left
//! out and named.

use airshelf_catalog::{
    BaselineKind, Claim, Direction, Purpose, Quantity, Reading, Records, Refit, Restraint, Run, Service,
    Session, Uuid,
};
use std::collections::{BTreeMap, HashMap};

/// What is compared: an assembly in one restraint and service state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Subject {
    /// The assembly.
    pub assembly: Uuid,
    /// How it was held.
    pub restraint: Option<Restraint>,
    /// The state of its element.
    pub service: Option<Service>,
}

/// What the baseline of a group consists of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Baseline {
    /// The bare item.
    Bare,
    /// The item with that base.
    With(Uuid),
    /// There is none, or the record does not say what it was.
    None,
}

/// One number that enters a fitting.
#[derive(Clone, Debug)]
pub struct Taken {
    /// The run.
    pub run: Uuid,
    /// Clock in seconds, else the order.
    pub when: f64,
    /// Flow as read, m³/s.
    pub flow_m3_s: f64,
    /// Actual pressure, Pa, where it was read.
    pub actual_pa: Option<f64>,
    /// One unit of the last digit shown, m³/s, where the text is known.
    pub step_m3_s: Option<f64>,
    /// Air temperature at the part less that at the meter, K, where both were read.
    pub part_less_meter_k: Option<f64>,
}

/// One fitting: a run, or several consecutive ones without taking the assembly off.
#[derive(Clone, Debug)]
pub struct Fitted {
    /// What was fitted; none for a baseline.
    pub subject: Option<Subject>,
    /// Its readings, in the order they were made.
    pub readings: Vec<Taken>,
}

/// What makes runs comparable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Terms {
    /// The item on the bench.
    pub item: Option<Uuid>,
    /// The range.
    pub range: Option<Uuid>,
    /// The direction.
    pub direction: Direction,
    /// The set pressure in thousandths of its logarithm, so that one typed two ways is one.
    set_pressure: Option<i64>,
    /// The baseline.
    pub baseline: Baseline,
}

/// Runs that may be compared.
#[derive(Clone, Debug)]
pub struct Comparable {
    /// Under which terms.
    pub terms: Terms,
    /// The set pressure, Pa; none where neither the runs nor their page have one.
    pub set_pressure_pa: Option<f64>,
    /// The fittings in the order they were made.
    pub fittings: Vec<Fitted>,
    /// Fixture leakage: flow in m³/s at a pressure in Pa, as read.
    pub leakage: Vec<(f64, Option<f64>)>,
    /// True where leakage was read and every reading of it is left out.
    pub leakage_left_out: bool,
    /// True where the fitting times are clock times.
    pub by_clock: bool,
    /// True for a list or table without run order.
    pub unordered: bool,
}

/// A run left out, with the rule or circumstance that keeps it out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// The run.
    pub run: Uuid,
    /// Why, as a code.
    pub why: String,
}

/// A sweep: one assembly at several pressures.
#[derive(Clone, Debug)]
pub struct Swept {
    /// What was swept; none for the bare item.
    pub subject: Option<Subject>,
    /// Flow as read in m³/s and pressure in Pa.
    pub points: Vec<(f64, f64)>,
}

/// A session sorted into what can be compared.
#[derive(Clone, Debug)]
pub struct Evening<'a> {
    /// The session.
    pub session: &'a Session,
    /// Its groups.
    pub groups: Vec<Comparable>,
    /// Its sweeps.
    pub sweeps: Vec<Swept>,
    /// What was left out.
    pub left_out: Vec<LeftOut>,
}

struct Row<'a> {
    run: &'a Run,
    readings: Vec<&'a Reading>,
    claim: Option<&'a Claim>,
    position: usize,
}

impl Row<'_> {
    /// Whether a flow was read; the air of a page stands in readings of its losses too.
    fn was_read(&self) -> bool {
        self.readings.iter().any(|r| r.flow.is_some())
    }
}

/// A run that the audit keeps out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Blocked {
    /// The rule's code.
    pub why: String,
    /// Only its claimed loss is kept out; a flow that was read still counts.
    pub claims_only: bool,
}

/// Sorts every session of the records. `blocked` says which runs the audit keeps out, and by which rule.
pub fn evenings<'a>(records: &'a Records, blocked: &HashMap<Uuid, Blocked>) -> Vec<Evening<'a>> {
    let mut readings: HashMap<Uuid, Vec<&Reading>> = HashMap::new();
    for reading in records.readings.iter().filter(|r| r.struck.is_none()) {
        if let Some(run) = reading.run {
            readings.entry(run).or_default().push(reading);
        }
    }
    let claims: HashMap<Uuid, &Claim> = records.claims.iter().filter_map(|c| Some((c.run?, c))).collect();
    let mut runs: HashMap<Uuid, Vec<Row>> = HashMap::new();
    for (position, run) in records.runs.iter().enumerate() {
        if let Some(session) = run.session {
            runs.entry(session).or_default().push(Row {
                run,
                readings: readings.remove(&run.id).unwrap_or_default(),
                claim: claims.get(&run.id).copied(),
                position,
            });
        }
    }
    let mut sessions: Vec<&Session> = records.sessions.iter().collect();
    sessions.sort_by(|a, b| (&a.date, &a.name, a.id).cmp(&(&b.date, &b.name, b.id)));
    sessions.into_iter().map(|s| evening(s, runs.remove(&s.id).unwrap_or_default(), blocked)).collect()
}

fn evening<'a>(
    session: &'a Session,
    mut rows: Vec<Row<'a>>,
    blocked: &HashMap<Uuid, Blocked>,
) -> Evening<'a> {
    rows.sort_by_key(|row| {
        (row.run.order_number.unwrap_or(i64::MAX), row.run.row, row.run.column, row.position)
    });
    let only_item = sole(rows.iter().filter(|r| !leaks(r.run)).filter_map(|r| r.run.item)).or(session.item);
    let only_range =
        sole(rows.iter().filter(|r| !leaks(r.run)).filter_map(|r| r.run.range)).or(session.range);
    let by_clock = clocked(&rows);

    let leakage: Vec<(f64, Option<f64>)> = rows
        .iter()
        .filter(|r| r.run.purpose == Some(Purpose::FixtureLeakage) && !blocked.contains_key(&r.run.id))
        .flat_map(|r| {
            let set = pressure(r.run, session);
            r.readings
                .iter()
                .filter_map(move |reading| Some((si(&reading.flow)?, si(&reading.actual_pressure).or(set))))
        })
        .collect();

    let bare = mean(
        rows.iter()
            .filter(|r| {
                r.run.purpose == Some(Purpose::Baseline) && r.run.baseline_kind == Some(BaselineKind::Bare)
            })
            .filter(|r| !blocked.contains_key(&r.run.id))
            .flat_map(|r| r.readings.iter().filter_map(|reading| si(&reading.flow))),
    );
    let signs = loss_signs(rows.iter().filter_map(|r| r.claim));
    let mut left_out = Vec::new();
    let mut taken: Vec<(Terms, Option<f64>, Fitted, Refit)> = Vec::new();
    let mut sweeps: BTreeMap<Option<Subject>, Vec<(f64, f64)>> = BTreeMap::new();
    let mut stands: Option<Option<Subject>> = None;
    for row in &rows {
        let run = row.run;
        let subject = run.assembly.filter(|_| run.purpose != Some(Purpose::Baseline)).map(|assembly| {
            Subject { assembly, restraint: run.restraint.or(session.restraint), service: run.service }
        });
        let refitted = run.refit == Some(Refit::Yes) || stands != Some(subject);
        if !leaks(run) {
            stands = Some(subject);
        }
        if let Some(by) = blocked.get(&run.id)
            && (!by.claims_only || !row.was_read())
        {
            left_out.push(LeftOut { run: run.id, why: by.why.clone() });
            continue;
        }
        let set = pressure(run, session);
        let when = match by_clock {
            true => row.readings.iter().find_map(|r| seconds(r.clock.as_deref()?)).unwrap_or(0.0),
            false => run.order_number.map_or(row.position as f64, |n| n as f64),
        };
        let numbers = numbers(row, session, bare, signs, when);
        match run.purpose {
            Some(Purpose::Sweep) => {
                for number in &numbers {
                    if let Some(p) = number.actual_pa.or(set) {
                        sweeps.entry(subject).or_default().push((number.flow_m3_s, p));
                    }
                }
                continue;
            }
            Some(Purpose::Baseline | Purpose::Test) | None => {}
            Some(_) => continue,
        }
        if numbers.is_empty() {
            left_out.push(LeftOut { run: run.id, why: "no-reading".into() });
            continue;
        }
        if run.purpose != Some(Purpose::Baseline) && subject.is_none() {
            left_out.push(LeftOut { run: run.id, why: "no-parts".into() });
            continue;
        }
        let baseline = match (run.purpose, run.baseline_kind, run.assembly) {
            (Some(Purpose::Baseline), Some(BaselineKind::WithBase), Some(base)) => Baseline::With(base),
            (Some(Purpose::Baseline), Some(BaselineKind::Bare), _) => Baseline::Bare,
            (Some(Purpose::Baseline), ..) => {
                left_out.push(LeftOut { run: run.id, why: "baseline-undefined".into() });
                continue;
            }
            _ => Baseline::None,
        };
        let terms = Terms {
            item: run.item.or(only_item),
            range: run.range.or(only_range),
            direction: run.direction.unwrap_or(Direction::Intake),
            set_pressure: set.map(|p| (libm::log(p) * 1000.0).round() as i64),
            baseline,
        };
        taken.push((
            terms,
            set,
            Fitted { subject, readings: numbers },
            if refitted { Refit::Yes } else { Refit::No },
        ));
    }
    if by_clock {
        past_midnight(&mut taken);
    }
    stated_baseline(session, &mut taken);
    let mut groups = group(taken, &leakage, by_clock, session.unordered == Some(true));
    let leaked = rows.iter().any(|r| r.run.purpose == Some(Purpose::FixtureLeakage));
    for group in &mut groups {
        group.leakage_left_out = leaked && group.leakage.is_empty();
    }
    let sweeps = sweeps.into_iter().map(|(subject, points)| Swept { subject, points }).collect();
    Evening { session, groups, sweeps, left_out }
}

/// A page of losses has no baseline rows; the baseline it states stands in for them.
fn stated_baseline(session: &Session, taken: &mut Vec<(Terms, Option<f64>, Fitted, Refit)>) {
    let has_one = taken.iter().any(|(terms, ..)| terms.baseline != Baseline::None);
    let Some(flow_m3_s) = si(&session.stated_baseline) else { return };
    if has_one || session.stated_baseline_kind != Some(BaselineKind::Bare) {
        return;
    }
    let Some((terms, set, ..)) = taken.first().map(|(t, s, ..)| (*t, *s)) else { return };
    let first = taken[0].2.readings.first().map_or(0.0, |r| r.when);
    let reading = Taken {
        run: session.id,
        when: first - 1.0,
        flow_m3_s,
        actual_pa: None,
        step_m3_s: None,
        part_less_meter_k: None,
    };
    let fitted = Fitted { subject: None, readings: vec![reading] };
    taken.insert(0, (Terms { baseline: Baseline::Bare, ..terms }, set, fitted, Refit::Yes));
}

fn group(
    taken: Vec<(Terms, Option<f64>, Fitted, Refit)>,
    leakage: &[(f64, Option<f64>)],
    by_clock: bool,
    unordered: bool,
) -> Vec<Comparable> {
    let mut groups: BTreeMap<Terms, (Option<f64>, Vec<Fitted>)> = BTreeMap::new();
    let push = |groups: &mut BTreeMap<Terms, (Option<f64>, Vec<Fitted>)>,
                terms: Terms,
                set,
                fitted: &Fitted,
                refit| {
        let fittings = &mut groups.entry(terms).or_insert((set, Vec::new())).1;
        match fittings.last_mut() {
            Some(last) if refit == Refit::No && last.subject == fitted.subject => {
                last.readings.extend(fitted.readings.iter().cloned());
            }
            _ => fittings.push(fitted.clone()),
        }
    };
    let mut baselines: Vec<Terms> =
        taken.iter().map(|(t, ..)| *t).filter(|t| t.baseline != Baseline::None).collect();
    baselines.sort();
    baselines.dedup();
    for (terms, set, fitted, refit) in &taken {
        if terms.baseline != Baseline::None {
            push(&mut groups, *terms, *set, fitted, *refit);
            continue;
        }
        let mine: Vec<Terms> = baselines
            .iter()
            .filter(|b| Terms { baseline: Baseline::None, ..**b } == *terms)
            .copied()
            .collect();
        if mine.is_empty() {
            push(&mut groups, *terms, *set, fitted, *refit);
        }
        for with in mine {
            push(&mut groups, with, *set, fitted, *refit);
        }
    }
    groups
        .into_iter()
        .filter(|(_, (_, fittings))| fittings.iter().any(|f| f.subject.is_some()))
        .map(|(terms, (set_pressure_pa, mut fittings))| {
            if unordered {
                for reading in fittings.iter_mut().flat_map(|f| &mut f.readings) {
                    reading.when = 0.0;
                }
            }
            Comparable {
                terms,
                set_pressure_pa,
                fittings,
                leakage: leakage.to_vec(),
                leakage_left_out: false,
                by_clock,
                unordered,
            }
        })
        .collect()
}

/// What turns a page's losses, in flow and in percent, into losses: a page that writes most of them negative means them so.
pub(crate) fn loss_signs<'c>(claims: impl Iterator<Item = &'c Claim> + Clone) -> (f64, f64) {
    let sign = |stated: fn(&Claim) -> &Option<Quantity>| {
        let losses = claims.clone().filter_map(|c| si(stated(c))).filter(|loss| *loss != 0.0);
        let (all, negative) =
            losses.fold((0, 0), |(all, negative), loss| (all + 1, negative + i32::from(loss < 0.0)));
        // One alone is a gain.
        if negative >= 2 && 2 * negative > all { -1.0 } else { 1.0 }
    };
    (sign(|c| &c.stated_loss), sign(|c| &c.stated_loss_percent))
}

/// The flows of a run: its readings, else the baseline less the loss that its page claims. Where the page states no
/// baseline, `bare` is the mean of those it measured.
fn numbers(row: &Row, session: &Session, bare: Option<f64>, signs: (f64, f64), when: f64) -> Vec<Taken> {
    let read: Vec<Taken> = row
        .readings
        .iter()
        .filter_map(|reading| {
            Some(Taken {
                run: row.run.id,
                when,
                flow_m3_s: si(&reading.flow).filter(|q| *q > 0.0)?,
                actual_pa: si(&reading.actual_pressure),
                step_m3_s: reading.flow.as_ref().and_then(step),
                part_less_meter_k: si(&reading.air_temperature)
                    .zip(si(&reading.meter_temperature))
                    .map(|(a, b)| a - b),
            })
        })
        .collect();
    if row.was_read() {
        return read;
    }
    let Some(claim) = row.claim else { return Vec::new() };
    let baseline = si(&claim.stated_baseline).or(si(&session.stated_baseline)).or(bare);
    let flow = match (baseline, si(&claim.stated_loss), si(&claim.stated_loss_percent)) {
        (Some(q0), Some(loss), _) => q0 - signs.0 * loss,
        (Some(q0), None, Some(ratio)) => q0 * (1.0 - signs.1 * ratio),
        _ => return Vec::new(),
    };
    let step_m3_s = claim.stated_loss.as_ref().and_then(step);
    vec![Taken {
        run: row.run.id,
        when,
        flow_m3_s: flow,
        actual_pa: None,
        step_m3_s,
        part_less_meter_k: None,
    }]
}

fn leaks(run: &Run) -> bool {
    matches!(
        run.purpose,
        Some(Purpose::FixtureLeakage | Purpose::ClosedThrottleLeakage | Purpose::CheckPlate)
    )
}

fn pressure(run: &Run, session: &Session) -> Option<f64> {
    si(&run.set_pressure).or(si(&session.set_pressure)).filter(|p| *p > 0.0)
}

fn si(quantity: &Option<Quantity>) -> Option<f64> {
    quantity.as_ref().map(|q| q.si)
}

/// One unit of the last digit shown, in SI units.
fn step(quantity: &Quantity) -> Option<f64> {
    let written = quantity.written.as_ref()?;
    let digits = written.raw.rsplit(['.', ',']).next().filter(|d| d.len() < written.raw.len());
    let decimals = digits.map_or(0, |d| d.chars().take_while(char::is_ascii_digit).count());
    Some(written.unit.to_si(10f64.powi(-(decimals as i32))) - written.unit.to_si(0.0))
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0u32), |(sum, count), x| (sum + x, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

fn sole<T: PartialEq>(mut values: impl Iterator<Item = T>) -> Option<T> {
    let first = values.next()?;
    values.all(|v| v == first).then_some(first)
}

fn seconds(clock: &str) -> Option<f64> {
    let mut parts = clock.split(':');
    let hours: f64 = parts.next()?.trim().parse().ok()?;
    let minutes: f64 = parts.next()?.trim().parse().ok()?;
    let seconds: f64 = parts.next().map_or(Some(0.0), |s| s.trim().parse().ok())?;
    Some(hours * 3600.0 + minutes * 60.0 + seconds)
}

fn clocked(rows: &[Row]) -> bool {
    let mut clocks = rows
        .iter()
        .filter(|r| matches!(r.run.purpose, Some(Purpose::Baseline | Purpose::Test)))
        .map(|r| r.readings.iter().find_map(|reading| seconds(reading.clock.as_deref()?)));
    let mut any = false;
    clocks.all(|c| {
        any = true;
        c.is_some()
    }) && any
}

/// An evening that goes past midnight goes on at 24 hours.
fn past_midnight(taken: &mut [(Terms, Option<f64>, Fitted, Refit)]) {
    let mut add = 0.0;
    let mut before = f64::NEG_INFINITY;
    for reading in taken.iter_mut().flat_map(|(_, _, fitted, _)| &mut fitted.readings) {
        let read = reading.when;
        if read + add < before - 12.0 * 3600.0 {
            add += 24.0 * 3600.0;
        }
        reading.when = read + add;
        before = reading.when;
    }
}
