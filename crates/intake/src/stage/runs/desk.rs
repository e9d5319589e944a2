//! What a row of cells becomes: a run with its session, assembly, item and claims.

use super::LAYERS;
use super::compound::split_stack;
use super::evenings::{Evening, draft_session, open_session};
use super::line::{Line, Read, unread};
use super::same::put_run;
use crate::map::Field;
use crate::reader::Row;
use crate::stage::cells::whole;
use crate::stage::draft::{At, Draft};
use crate::stage::page::baseline_kind;
use crate::stage::settle::kind_in;
use crate::stage::terms::{no_part, not_run, plain};
use crate::stage::{Paper, civil, terms};
use airshelf_catalog::{BaselineKind, PartKind, Purpose, Quantity, Reading, Run, Session, Uuid};
use std::collections::{HashMap, HashSet};

/// What a cell of a column of parts stands for.
pub(super) struct LayerText {
    parts: Vec<(PartKind, Uuid)>,
    /// It says that the row is a baseline, and names no part.
    baseline: bool,
}

pub(super) struct Desk<'d, 'k, 'c, 'w, 'p> {
    pub(super) draft: &'d mut Draft<'k, 'c>,
    pub(super) paper: &'p Paper<'w>,
    pub(super) evenings: Vec<Evening>,
    pub(super) by_name: HashMap<String, Vec<usize>>,
    pub(super) last: (&'w str, &'w str, usize),
    pub(super) dates: HashMap<&'w str, Option<String>>,
    /// Whether the last date is one that cannot be read.
    pub(super) unread: bool,
    pub(super) purposes: Read<Purpose>,
    pub(super) layers: Vec<(PartKind, Uuid)>,
    /// What the texts of each column of parts stand for.
    pub(super) texts: [HashMap<&'w str, LayerText>; 5],
    pub(super) items: HashMap<&'w str, Option<Uuid>>,
    pub(super) kinds: HashMap<(&'w str, &'w str, &'w str, bool), BaselineKind>,
    pub(super) has_parts: bool,
    pub(super) winners: bool,
    /// Rows that are steps of a sweep, by their numbers.
    pub(super) sweeps: HashSet<u32>,
}

impl<'w> Desk<'_, '_, '_, 'w, '_> {
    pub(super) fn take(&mut self, row: &'w Row, mut line: Line<'w>) {
        let at = At { table: self.paper.table, row: row.number() };
        self.draft.staged.rows.read += 1;
        let legend = &self.paper.page.legend;
        let stated = self.purposes.of(line.purpose, |t| legend.read(t, terms::purpose));
        let stated = if self.sweeps.contains(&at.row) { Some(Purpose::Sweep) } else { stated };
        let purpose = self.purpose(stated, &line);
        if matches!(purpose, Purpose::Test | Purpose::Sweep) {
            for (own, of_page) in line.layers.iter_mut().zip(self.paper.layers) {
                if own.is_empty() {
                    *own = of_page;
                }
            }
        }
        if line.flow.is_none()
            && matches!(purpose, Purpose::FixtureLeakage | Purpose::ClosedThrottleLeakage)
            && line.no_flow.is_none()
        {
            line.flow = line.claim.leakage.take();
        }
        if purpose == Purpose::Baseline
            && line.flow.is_none()
            && line.no_flow.is_none()
            && line.order.is_empty()
            && line.claim.net_flow.is_none()
            && let Some(baseline) = line.claim.stated_baseline.take()
        {
            self.state_baseline(baseline, &line, at);
            return;
        }
        self.draft.staged.runs += 1;
        let result = line.flow.is_some()
            || line.claim.stated_loss.is_some()
            || line.claim.stated_loss_percent.is_some()
            || line.claim.net_flow.is_some();
        if !result {
            let reason = line.no_flow.take().unwrap_or_else(|| "the row has no flow".to_owned());
            self.draft.set_aside(at, &row.raw(), None, reason);
            return;
        }
        if stated.is_none() && !line.purpose.is_empty() && !not_run(line.purpose) {
            line.broken.push((line.purpose_column, unread(line.purpose, "purpose")));
        }
        let evening = self.evening(&line, at);
        if let Some(baseline) = &line.claim.stated_baseline {
            self.evenings[evening].claims(baseline);
        }
        if self.unread && !not_run(line.date) {
            line.broken.push((line.date_column, unread(line.date, "date")));
        }
        let run = self.run(&line, purpose, evening, at);
        self.parts_measured(&line, at);
        for (column, reason) in std::mem::take(&mut line.broken) {
            self.draft.set_aside(at, row.text(column), Some(column), reason);
        }
        self.put(run, line, at, None);
    }

    /// A baseline's row without a flow says what the session states as its baseline.
    fn state_baseline(&mut self, baseline: Quantity, line: &Line<'w>, at: At) {
        let evening = self.evening(line, at);
        let told = Session {
            stated_baseline: Some(baseline),
            stated_baseline_kind: Some(self.baseline(line)),
            ..Session::default()
        };
        let new = draft_session(self.draft, self.evenings[evening].id, &told);
        match new {
            true => self.draft.staged.rows.taken += 1,
            false => self.draft.staged.rows.already += 1,
        }
    }

    /// Where a column of baselines says what they consist of, and has the same in all rows of a session, it is the
    /// session's.
    pub(super) fn state_claimed(&mut self) {
        let Some(kind) = self.paper.column_baseline else { return };
        for evening in &mut self.evenings {
            if let Some(baseline) = evening.claimed.take().filter(|_| !evening.various) {
                let told = Session {
                    stated_baseline: Some(baseline),
                    stated_baseline_kind: Some(kind),
                    ..Session::default()
                };
                draft_session(self.draft, evening.id, &told);
            }
        }
    }

    pub(super) fn purpose(&self, stated: Option<Purpose>, line: &Line<'_>) -> Purpose {
        if let Some(purpose) = stated {
            return purpose;
        }
        let by_item = terms::purpose(line.item).filter(|p| *p == Purpose::FixtureLeakage);
        let by_stack = terms::purpose(line.assembly)
            .filter(|p| *p != Purpose::Test && kind_in(&plain(line.assembly)).is_none());
        if let Some(purpose) = by_item.or(by_stack) {
            return purpose;
        }
        let bare = plain(line.base) == "bare"
            || line.layers.iter().any(|l| terms::purpose(l) == Some(Purpose::Baseline));
        let empty =
            line.assembly.is_empty() && line.layers.iter().enumerate().all(|(i, l)| i == 1 || no_part(l));
        if (bare && empty) || (empty && self.has_parts && !self.winners && no_part(line.base)) {
            self.leaks(line).unwrap_or(Purpose::Baseline)
        } else {
            Purpose::Test
        }
    }

    /// A flow of next to nothing, with no part on and a word that is not known, is a leak: the carburetor's own where one
    /// is named, or where it is more than fixtures leak. Share: common practice, no source.
    fn leaks(&self, line: &Line<'_>) -> Option<Purpose> {
        let share = line.flow.as_ref()?.si / self.paper.usual_flow?;
        let unread = !line.purpose.is_empty() && no_part(line.base);
        (unread && share < 0.06).then_some(if !no_part(line.item) && !line.item.is_empty() || share > 0.012 {
            Purpose::ClosedThrottleLeakage
        } else {
            Purpose::FixtureLeakage
        })
    }

    /// The session of a row, by its name and date; rows of one name a day apart are one session past midnight.
    fn evening(&mut self, line: &Line<'w>, at: At) -> usize {
        if self.last.2 != usize::MAX && self.last.0 == line.session && self.last.1 == line.date {
            return self.last.2;
        }
        let date = self.date(line.date, at);
        self.unread = date.is_none() && !line.date.is_empty();
        let date = date.or_else(|| self.paper.page.text(Field::Date).map(str::to_owned));
        // Rows stamped with their clocks have days in common.
        if let Some(last) = self.evenings.get(self.last.2).filter(|_| self.last.0 == line.session)
            && date.is_some()
            && last.date == date
        {
            self.last.1 = line.date;
            return self.last.2;
        }
        let name = if line.session.is_empty() { &self.paper.session } else { line.session };
        let held = self.by_name.get(name).cloned().unwrap_or_default();
        let near = held.iter().copied().find(|&i| match (&self.evenings[i].date, &date) {
            (Some(a), Some(b)) => a == b || civil::days_between(a, b) == Some(1),
            (_, None) => true,
            (None, Some(_)) => false,
        });
        let index = near.unwrap_or_else(|| {
            let evening = self.open(name, date, line);
            self.evenings.push(evening);
            self.by_name.entry(name.to_owned()).or_default().push(self.evenings.len() - 1);
            self.evenings.len() - 1
        });
        self.last = (line.session, line.date, index);
        index
    }

    pub(super) fn date(&mut self, text: &'w str, at: At) -> Option<String> {
        if text.is_empty() {
            return None;
        }
        if let Some(known) = self.dates.get(text) {
            return known.clone();
        }
        let hand = self.paper.hand;
        let read = self.paper.dates.date(text, hand.order, hand.guess);
        let iso = read.as_ref().map(|d| d.iso.get(..10).unwrap_or(&d.iso).to_owned());
        match read {
            Some(date) if date.ambiguous => self.draft.staged.ambiguous(at, text),
            Some(_) => {}
            None => {}
        }
        self.dates.insert(text, iso.clone());
        iso
    }

    fn open(&mut self, name: &str, date: Option<String>, line: &Line<'_>) -> Evening {
        let bench = match (line.bench, self.paper.page.text(Field::Bench)) {
            ("", None) => None,
            ("", Some(name)) => Some(self.draft.bench(name)),
            (name, _) => Some(self.draft.bench(name)),
        };
        open_session(self.draft, self.paper, name, date, bench)
    }

    pub(super) fn run(&mut self, line: &Line<'w>, purpose: Purpose, evening: usize, at: At) -> Run {
        let bench = self.evenings[evening].bench;
        let range = line.range.as_ref().map(|q| self.draft.range(bench, q));
        let mut baseline = None;
        self.layers.clear();
        if !line.assembly.is_empty() && purpose != Purpose::Baseline {
            for (kind, text) in split_stack(line.assembly, self.draft.known, &self.paper.stack) {
                let revision = self.draft.labelled(kind, text, at);
                self.layers.push((self.draft.kind_of(&revision, kind), revision));
            }
        }
        for (i, kind) in LAYERS.into_iter().enumerate() {
            let text = line.layers[i];
            if text.is_empty() {
                continue;
            }
            if !self.texts[i].contains_key(text) {
                let read = self.layer_text(i, kind, text, at);
                self.texts[i].insert(text, read);
            }
            let read = &self.texts[i][text];
            if !(purpose == Purpose::Baseline && read.baseline) {
                self.layers.extend_from_slice(&read.parts);
            }
        }
        if purpose == Purpose::Baseline {
            let key = (line.purpose, line.base, line.assembly, says_bare(line));
            let kind = self.kinds.get(&key).copied().unwrap_or_else(|| self.baseline(line));
            self.kinds.insert(key, kind);
            baseline = Some(kind);
        }
        let mut layers = std::mem::take(&mut self.layers);
        let assembly = self.draft.assembly(&mut layers);
        self.layers = layers;
        let item = match line.item {
            "" => None,
            text => match self.items.get(text) {
                Some(known) => *known,
                None => {
                    let none = no_part(text) || terms::purpose(text) == Some(Purpose::FixtureLeakage);
                    let item = (!none).then(|| self.draft.revision(PartKind::Carburetor, text, at));
                    self.items.insert(text, item);
                    item
                }
            },
        };
        let stud = (!line.stud.is_empty() && !no_part(line.stud))
            .then(|| self.draft.revision(PartKind::Stud, line.stud, at));
        let date = (!line.date.is_empty())
            .then(|| self.dates.get(line.date).cloned().flatten())
            .flatten()
            .filter(|d| self.evenings[evening].date.as_ref() != Some(d));
        Run {
            id: Uuid::nil(),
            session: Some(self.evenings[evening].id),
            order_number: whole(line.order),
            purpose: Some(purpose),
            assembly,
            item,
            range,
            direction: line.direction,
            set_pressure: None,
            restraint: line.restraint,
            service: line.service,
            stud,
            refit: line.refit,
            baseline_kind: baseline,
            note: None,
            photo_note: None,
            table: Some(at.table),
            row: Some(i64::from(at.row)),
            column: None,
            date,
        }
    }

    fn layer_text(&mut self, place: usize, kind: PartKind, text: &str, at: At) -> LayerText {
        let mut read =
            LayerText { parts: Vec::new(), baseline: place != 1 && terms::purpose(text).is_some() };
        if text == "?" || no_part(text) || (place == 1 && baseline_kind(&plain(text)) == BaselineKind::Bare) {
            return read;
        }
        for tag in text.split([';', '+', '&']).map(str::trim).filter(|t| !t.is_empty()) {
            let revision = self.draft.revision(kind, tag, at);
            read.parts.push((self.draft.kind_of(&revision, kind), revision));
        }
        read
    }

    fn baseline(&self, line: &Line<'_>) -> BaselineKind {
        // A question mark is an answer: nobody knew.
        if line.base.trim() == "?" {
            return BaselineKind::Unknown;
        }
        let said =
            |text: &str| Some(baseline_kind(&plain(text))).filter(|kind| *kind != BaselineKind::Unknown);
        if let Some(said) = said(line.purpose).or_else(|| self.paper.page.legend.read(line.purpose, said)) {
            return said;
        }
        // `none` where the whole stack should be.
        let stack = plain(line.assembly);
        if !stack.is_empty() && (no_part(&stack) || baseline_kind(&stack) == BaselineKind::Bare) {
            return BaselineKind::Bare;
        }
        let base = line.base;
        if base.contains('?') || (base.is_empty() && line.purpose.contains('?')) {
            return BaselineKind::Unknown;
        }
        if !base.is_empty() {
            let bare = baseline_kind(&plain(base)) == BaselineKind::Bare || no_part(base);
            return if bare { BaselineKind::Bare } else { BaselineKind::WithBase };
        }
        if self.paper.canonical || says_bare(line) {
            return BaselineKind::Bare;
        }
        self.paper.page.baseline_kind.unwrap_or(BaselineKind::Unknown)
    }

    fn parts_measured(&mut self, line: &Line<'w>, at: At) {
        for (kind, dimension, value, column) in &line.measures {
            let place = LAYERS.iter().position(|k| k == kind);
            let text = match place {
                Some(i) => line.layers[i],
                None if *kind == PartKind::Stud => line.stud,
                None => "",
            };
            if !no_part(text) {
                let revision = self.draft.revision(*kind, text, at);
                self.draft.measure(revision, *dimension, value.clone(), at, *column);
            }
        }
    }

    pub(super) fn put(&mut self, mut run: Run, line: Line<'w>, at: At, column: Option<usize>) {
        run.set_pressure = line.set;
        run.note = line.note;
        run.photo_note = line.photo;
        run.column = column.map(|c| c as i64);
        let clock = (!line.clock.is_empty())
            .then(|| civil::clock(line.clock).unwrap_or_else(|| line.clock.to_owned()))
            .or_else(|| civil::clock_behind(line.date));
        let reading = Reading {
            flow: line.flow,
            actual_pressure: line.actual,
            air_temperature: line.air,
            barometer: line.barometer,
            humidity: line.humidity,
            meter_temperature: line.meter,
            clock,
            ..Reading::default()
        };
        put_run(self.draft, run, reading, line.claims.then_some(line.claim), at);
    }
}

/// Whether a cell that could name a part says that the carburetor was bare.
fn says_bare(line: &Line<'_>) -> bool {
    line.layers.iter().any(|text| !text.is_empty() && baseline_kind(&plain(text)) == BaselineKind::Bare)
}
