//! The records of an evening, with what is wrong with them and how its readings repeat each other.

use super::super::amount::Amount;
use super::evenings::is_open;
use super::measured::Units;
use crate::audited::{FaultReport, blocked, report};
use crate::code::{Code, Fault};
use crate::explain::{leaked, reduced_by};
use crate::fittings::Blocked;
use crate::sentences::bench as words;
use crate::shelf::Shelf;
use airshelf_catalog::{
    Assembly, Purpose, Reading, Records, Refit, Restraint, Run, Service, Session, Uuid, Value,
};
use airshelf_intake::audit::{Fault as Found, Rule, Scope, audit};
use std::collections::HashMap;

/// Earlier evenings on the bench that lend their scatter while an evening goes on.
const EARLIER: usize = 12;

/// The records of an evening with what is wrong with them.
pub(super) struct Night {
    pub records: Records,
    pub session: Session,
    pub faults: Vec<Found>,
    pub blocked: HashMap<Uuid, Blocked>,
    pub units: Units,
}

/// A reading brought to its set pressure, with whom it repeats.
#[derive(Clone, Copy)]
pub(super) struct Reduced {
    pub reading: Uuid,
    pub same: Same,
    fitting: usize,
    pub at_set_m3_s: f64,
}

/// Runs that repeat each other.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Same {
    pub purpose: Option<Purpose>,
    assembly: Option<Uuid>,
    restraint: Option<Restraint>,
    service: Option<Service>,
    item: Option<Uuid>,
    range: Option<Uuid>,
    set_pressure: Option<i64>,
}

impl Same {
    pub fn of(run: &Run, session: &Session) -> Same {
        let set = run.set_pressure.as_ref().or(session.set_pressure.as_ref());
        Same {
            purpose: run.purpose,
            assembly: run.assembly,
            restraint: run.restraint.or(session.restraint).filter(|_| run.purpose != Some(Purpose::Baseline)),
            service: run.service,
            item: run.item.or(session.item),
            range: run.range.or(session.range),
            set_pressure: set.filter(|p| p.si > 0.0).map(|p| (libm::log(p.si) * 1000.0).round() as i64),
        }
    }
}

impl Night {
    /// The evening alone, or with what earlier ones on its bench can lend.
    pub fn of(shelf: &Shelf, session: Uuid, with_earlier: bool) -> Result<Night, Fault> {
        let missing = || Fault::new(Code::NotFound, "this evening is not on the shelf");
        let own: Session = shelf.store().get(session)?.ok_or_else(missing)?;
        let mut ids = if with_earlier { earlier(shelf, &own)? } else { Vec::new() };
        ids.push(session);
        let records = shelf.store().evenings(&ids)?;
        Night::made(shelf, own, records)
    }

    /// The evening as it would be with one more reading, whose run comes last.
    pub fn with(
        shelf: &Shelf,
        session: Session,
        assembly: Option<Assembly>,
        mut run: Run,
        reading: Reading,
    ) -> Result<Night, Fault> {
        let mut records = shelf.store().evenings(&[session.id])?;
        run.order_number =
            Some(records.runs.iter().filter_map(|run| run.order_number).max().unwrap_or(0) + 1);
        if let Some(new) = assembly.filter(|new| records.assemblies.iter().all(|held| held.id != new.id)) {
            shelf.store().take_in(&mut records, new)?;
        }
        records.runs.push(run);
        records.readings.push(reading);
        Night::made(shelf, session, records)
    }

    fn made(shelf: &Shelf, session: Session, mut records: Records) -> Result<Night, Fault> {
        records.runs.sort_by_key(|run| (run.session != Some(session.id), run.order_number, run.row));
        let faults = audit(&records, &Scope { tables: None, limits: shelf.limits() });
        let range = session.range.and_then(|id| records.bench_ranges.iter().find(|r| r.id == id));
        let units = Units::of(Some(&session), range, shelf.system());
        Ok(Night { blocked: blocked(&faults), units, faults, records, session })
    }

    /// The runs of the evening, in order.
    pub fn runs(&self) -> impl DoubleEndedIterator<Item = &Run> {
        self.records.runs.iter().filter(|run| run.session == Some(self.session.id))
    }

    pub fn standing_readings(&self) -> Vec<(&Run, &Reading)> {
        let mut by_run: HashMap<Uuid, Vec<&Reading>> = HashMap::new();
        for reading in self.records.readings.iter().filter(|r| r.struck.is_none()) {
            by_run.entry(reading.run.unwrap_or_default()).or_default().push(reading);
        }
        let of = |run: &'_ Run| by_run.get(&run.id).cloned().unwrap_or_default();
        self.runs().flat_map(|run| of(run).into_iter().map(move |reading| (run, reading))).collect()
    }

    /// Its readings, each brought to its set pressure.
    pub fn reduced(&self) -> Vec<Reduced> {
        let mut out = Vec::new();
        let leaked = leaked(&self.records, self.session.id, &self.blocked);
        let (mut fitting, mut before) = (0, None);
        for (run, reading) in self.standing_readings() {
            let same = Same::of(run, &self.session);
            if run.refit != Some(Refit::No) || before != Some(same) {
                fitting += 1;
            }
            before = Some(same);
            if let Some(Ok(brought)) = reduced_by(&self.records, run, reading, &self.blocked, &leaked) {
                out.push(Reduced { reading: reading.id, same, fitting, at_set_m3_s: brought.at_set_m3_s });
            }
        }
        out
    }

    /// The mean of a reading's repeats, each fitting counting once, and how many there are.
    fn repeats(all: &[Reduced], same: Same, but: Option<Uuid>) -> Option<(f64, usize)> {
        let mut fittings: Vec<(usize, f64, f64)> = Vec::new();
        for one in all.iter().filter(|one| one.same == same && Some(one.reading) != but) {
            match fittings.last_mut().filter(|(fitting, ..)| *fitting == one.fitting) {
                Some((_, sum, n)) => (*sum, *n) = (*sum + one.at_set_m3_s, *n + 1.0),
                None => fittings.push((one.fitting, one.at_set_m3_s, 1.0)),
            }
        }
        let count = fittings.len();
        let sum: f64 = fittings.iter().map(|(_, sum, n)| sum / n).sum();
        (count > 0).then(|| (sum / count as f64, count))
    }

    /// How far a flow is from the repeats of its kind, and that in words.
    pub fn beside(&self, same: Same, but: Option<Uuid>, at_set_m3_s: f64) -> Option<(Amount, String)> {
        self.apart(&self.reduced(), same, but, at_set_m3_s)
    }

    /// The same, where the reduced readings are at hand.
    pub fn apart(
        &self,
        all: &[Reduced],
        same: Same,
        but: Option<Uuid>,
        flow: f64,
    ) -> Option<(Amount, String)> {
        let (mean, count) = Night::repeats(all, same, but)?;
        let size = self.units.little((flow - mean).abs());
        let told = words::beside_repeats(&size.text, flow < mean, count);
        Some((self.units.little(flow - mean), told))
    }

    /// What is wrong with a run, as far as it can be mended at the bench.
    pub fn faults_of(&self, run: Uuid) -> Vec<FaultReport> {
        let told = self.faults.iter().filter(|fault| fault.subject == run && speaks(fault.rule));
        told.map(|fault| report(fault, None, self.units.system)).collect()
    }
}

/// Rules that speak of a reading; the others speak of pages, parts and sums that nobody types at a bench.
pub(super) fn speaks(rule: Rule) -> bool {
    !matches!(rule, Rule::AmbientMissing | Rule::ServiceStateMissing | Rule::OrderTrend | Rule::Unbracketed)
}

/// The last closed evenings before this one on its bench.
fn earlier(shelf: &Shelf, own: &Session) -> Result<Vec<Uuid>, Fault> {
    let Some(bench) = own.bench else { return Ok(Vec::new()) };
    let mut before: Vec<Session> = shelf.store().find_by("bench", &Value::Id(bench))?;
    let order = |s: &Session| (s.date.clone(), s.name.clone(), s.id);
    before.retain(|s| !is_open(s) && order(s) < order(own));
    before.sort_by_cached_key(order);
    Ok(before.iter().rev().take(EARLIER).map(|s| s.id).collect())
}
