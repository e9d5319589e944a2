//! The records as the rules see them: sessions with their runs in order, parts with their dimensions, tables with
//! their headers. Built once, in one pass over the records.

use airshelf_catalog::limits::Limits;
use airshelf_catalog::{
    Claim, Measurement, Part, PartDimension, PartKind, Purpose, Quantity, Reading, Records, Restraint,
    Revision, Run, Session, SheetTable, TableKind, Uuid, ids,
};
use rustc_hash::FxHashMap;
use std::collections::HashMap;

pub(crate) type IdMap<T> = FxHashMap<Uuid, T>;
pub(crate) type KeyMap<K, T> = FxHashMap<K, T>;

#[derive(serde::Deserialize, Default)]
struct Column {
    column: i64,
    #[serde(default)]
    header: String,
    #[serde(default)]
    field: Option<String>,
}

/// What a page says above its table.
#[derive(serde::Deserialize, Default)]
pub(crate) struct PageEntry {
    #[serde(default)]
    pub field: String,
    #[serde(default)]
    pub row: Option<i64>,
    #[serde(default)]
    pub raw: Option<String>,
}

/// A table with its headers and page.
pub(crate) struct Table<'a> {
    pub record: &'a SheetTable,
    pub file: Option<&'a str>,
    columns: Vec<Column>,
    pub page: Vec<PageEntry>,
}

impl Table<'_> {
    pub fn header_of(&self, field: &str) -> Option<&str> {
        self.columns.iter().find(|c| c.field.as_deref() == Some(field)).map(|c| c.header.as_str())
    }
    pub fn header_at(&self, column: i64) -> Option<&str> {
        self.columns.iter().find(|c| c.column == column).map(|c| c.header.as_str())
    }
    pub fn field_at(&self, column: i64) -> Option<&str> {
        self.columns.iter().find(|c| c.column == column)?.field.as_deref()
    }
    pub fn page_entry(&self, field: &str) -> Option<&PageEntry> {
        self.page.iter().find(|e| e.field == field)
    }
}

/// A part with what was measured of it.
pub(crate) struct PartSeen<'a> {
    pub part: &'a Part,
    pub measured: Vec<&'a Measurement>,
    /// In how many runs it was.
    pub runs: usize,
    /// True when the shelf knows a later revision of it.
    pub changed: bool,
    /// Measurements that a rule already called wrong.
    pub wrong: Vec<Uuid>,
}

impl PartSeen<'_> {
    /// The first sound value of a dimension, SI.
    pub fn dimension(&self, which: PartDimension) -> Option<f64> {
        self.measured
            .iter()
            .find(|m| m.dimension == Some(which) && !self.wrong.contains(&m.id))?
            .value
            .as_ref()
            .map(|q| q.si)
    }

    pub fn measurement(&self, which: PartDimension) -> Option<&Measurement> {
        self.measured.iter().find(|m| m.dimension == Some(which)).copied()
    }

    pub fn kind(&self) -> Option<PartKind> {
        self.part.kind
    }

    /// What people call it: tag and name.
    pub fn tag(&self) -> String {
        self.part.tag.clone().or_else(|| self.part.name.clone()).unwrap_or_default()
    }

    /// Every word said of it, in lower case.
    pub fn words(&self) -> String {
        let mut out = String::new();
        for text in [&self.part.tag, &self.part.name, &self.part.note].into_iter().flatten() {
            out.push_str(&text.to_lowercase());
            out.push(' ');
        }
        out
    }
}

/// One reading of a run, or a run that only claims.
pub(crate) struct Row<'a> {
    pub run: &'a Run,
    pub reading: Option<&'a Reading>,
    pub claim: Option<&'a Claim>,
    /// Set pressure: its own, else the page's.
    pub set: Option<&'a Quantity>,
    /// Full scale of its range, m³/s.
    pub range_m3_s: Option<f64>,
    pub range: Option<Uuid>,
    pub item: Option<Uuid>,
    pub restraint: Option<Restraint>,
    /// Its assembly, as an index into [`Shelf::assemblies`].
    pub assembly: Option<usize>,
    /// Position in its session, from the order number, else from the sheet.
    pub t: f64,
    /// Index of its table, for what came first.
    pub table: usize,
}

impl<'a> Row<'a> {
    pub fn flow(&self) -> Option<&'a Quantity> {
        self.reading?.flow.as_ref()
    }
    pub fn flow_m3_s(&self) -> Option<f64> {
        self.flow().map(|q| q.si)
    }
    pub fn actual(&self) -> Option<&'a Quantity> {
        self.reading?.actual_pressure.as_ref()
    }
    /// The pressure that the reading was taken at: actual, else set.
    pub fn pressure_pa(&self) -> Option<f64> {
        self.actual().or(self.set).map(|q| q.si).filter(|p| *p > 0.0)
    }
    pub fn is(&self, purpose: Purpose) -> bool {
        self.run.purpose == Some(purpose)
    }
    /// A test or one run of a sweep: something with an assembly to be compared.
    pub fn is_test(&self) -> bool {
        matches!(self.run.purpose, Some(Purpose::Test | Purpose::Sweep) | None)
    }
    pub fn is_leakage(&self) -> bool {
        matches!(self.run.purpose, Some(Purpose::FixtureLeakage | Purpose::ClosedThrottleLeakage))
    }
    /// Flow brought to the set pressure, m³/s: `Q·(P_set/P_actual)^½`, within 5 %.
    pub fn flow_at_set_m3_s(&self) -> Option<f64> {
        let flow = self.flow_m3_s()?;
        match (self.set, self.actual()) {
            (Some(set), Some(actual)) if actual.si > 0.0 && (set.si / actual.si - 1.0).abs() <= 0.05 => {
                Some(flow * (set.si / actual.si).sqrt())
            }
            _ => Some(flow),
        }
    }
    pub fn clock_min(&self) -> Option<i64> {
        minutes(self.reading?.clock.as_deref()?)
    }
    /// Whether both clocks show the same, to the second where both were written so; none where one is missing.
    pub fn same_clock(&self, other: &Row) -> Option<bool> {
        let second = |row: &Row| row.reading?.clock.as_deref()?.split(':').nth(2)?.trim().parse::<i64>().ok();
        let minute = self.clock_min()? == other.clock_min()?;
        Some(minute && second(self).zip(second(other)).is_none_or(|(a, b)| a == b))
    }
    pub fn loss(&self) -> Option<&'a Quantity> {
        self.claim?.stated_loss.as_ref()
    }
}

/// Minutes since midnight of a civil clock (`18:40`).
pub(crate) fn minutes(clock: &str) -> Option<i64> {
    let mut parts = clock.split(':');
    let hours: i64 = parts.next()?.trim().parse().ok()?;
    let minutes: i64 = parts.next()?.trim().parse().ok()?;
    ((0..24).contains(&hours) && (0..60).contains(&minutes)).then_some(hours * 60 + minutes)
}

/// A session with its runs in order.
pub(crate) struct Evening<'a> {
    pub session: &'a Session,
    pub rows: Vec<Row<'a>>,
    /// The pressure that most of its runs were set to, Pa; the page's, where it states one.
    pub set_pa: Option<f64>,
    /// The quantity that [`Evening::set_pa`] comes from.
    pub set: Option<&'a Quantity>,
    pub kind: Option<TableKind>,
    /// True for a list or table without run order.
    pub unordered: bool,
    /// True when nothing more will be read.
    pub closed: bool,
}

pub(crate) struct Shelf<'a> {
    pub records: &'a Records,
    pub limits: &'a Limits,
    pub tables: Vec<Table<'a>>,
    pub table_at: IdMap<usize>,
    pub parts: Vec<PartSeen<'a>>,
    /// Part of a revision.
    pub part_of: IdMap<usize>,
    /// Revisions that have a record of their own.
    pub revisions: IdMap<&'a Revision>,
    /// Layers of each assembly: revision and part.
    pub assemblies: Vec<Vec<(Uuid, usize)>>,
    pub evenings: Vec<Evening<'a>>,
    /// `k = P/Q²` of the bare baselines of each session, by item.
    pub usual_k: IdMap<Vec<(Uuid, f64)>>,
    /// Closed-throttle leakage of each item with its pressure, SI.
    pub throttles: IdMap<Vec<(f64, f64)>>,
    /// Cells of how a run was held that could not be read, by table and row.
    pub held_somehow: HashMap<(Uuid, i64), &'a str>,
    /// The same of states of elements.
    in_some_state: HashMap<(Uuid, i64), &'a str>,
    /// Ranges that some session measured the same check plates on.
    pub plate_ranges: Vec<Vec<Uuid>>,
    /// True when the shelf has part entries of its own, not only names in runs.
    pub has_parts: bool,
}

impl<'a> Shelf<'a> {
    /// Looks at everything, or only at one session's runs.
    pub fn of(records: &'a Records, limits: &'a Limits, only: Option<Uuid>) -> Self {
        let files: IdMap<&str> =
            records.import_files.iter().filter_map(|f| Some((f.id, f.name.as_deref()?))).collect();
        let tables: Vec<Table> = records
            .sheet_tables
            .iter()
            .map(|t| Table {
                record: t,
                file: t.file.and_then(|f| files.get(&f).copied()),
                columns: t.columns.as_deref().and_then(|c| serde_json::from_str(c).ok()).unwrap_or_default(),
                page: t.page.as_deref().and_then(|p| serde_json::from_str(p).ok()).unwrap_or_default(),
            })
            .collect();
        let table_at: IdMap<usize> = tables.iter().enumerate().map(|(i, t)| (t.record.id, i)).collect();

        let mut parts: Vec<PartSeen> = Vec::with_capacity(records.parts.len());
        let mut part_at = IdMap::default();
        let mut part_of = IdMap::default();
        let mut revisions = IdMap::default();
        for part in &records.parts {
            // A part that a run named and a part sheet then describes stands twice in a dry run; the sheet knows more.
            if let Some(&at) = part_at.get(&part.id) {
                let seen: &mut PartSeen = &mut parts[at];
                if seen.part.only_named == Some(true) {
                    seen.part = part;
                }
                continue;
            }
            part_at.insert(part.id, parts.len());
            part_of.insert(ids::first_revision(part.id), parts.len());
            parts.push(PartSeen { part, measured: Vec::new(), runs: 0, changed: false, wrong: Vec::new() });
        }
        for revision in &records.revisions {
            if let Some(&at) = revision.part.as_ref().and_then(|p| part_at.get(p)) {
                part_of.insert(revision.id, at);
                parts[at].changed |= revision.label.is_some();
            }
            revisions.insert(revision.id, revision);
        }
        for m in &records.measurements {
            if let Some(&at) = m.revision.as_ref().and_then(|r| part_of.get(r)) {
                parts[at].measured.push(m);
            }
        }
        let kind_of =
            |table: Option<Uuid>| table.and_then(|t| table_at.get(&t)).and_then(|&i| tables[i].record.kind);
        for part in &mut parts {
            // What a part sheet says of a part goes before what a run sheet says in passing.
            part.measured.sort_by_key(|m| kind_of(m.table) == Some(TableKind::Runs));
        }

        let mut assemblies = Vec::with_capacity(records.assemblies.len());
        let mut assembly_at: IdMap<usize> = IdMap::default();
        for assembly in &records.assemblies {
            let layers = assembly.layers.as_deref().and_then(ids::unpack_layers).unwrap_or_default();
            assembly_at.insert(assembly.id, assemblies.len());
            assemblies.push(
                layers
                    .iter()
                    .filter_map(|l| Some((l.revision, *part_of.get(&l.revision)?)))
                    .collect::<Vec<_>>(),
            );
        }
        let ranges: IdMap<f64> =
            records.bench_ranges.iter().filter_map(|r| Some((r.id, r.full_scale.as_ref()?.si))).collect();

        let mut evenings: Vec<Evening> = Vec::with_capacity(records.sessions.len());
        let mut evening_at: IdMap<usize> = IdMap::default();
        for session in &records.sessions {
            if only.is_some_and(|o| o != session.id) || evening_at.contains_key(&session.id) {
                continue;
            }
            evening_at.insert(session.id, evenings.len());
            evenings.push(Evening {
                session,
                rows: Vec::new(),
                set_pa: None,
                set: None,
                kind: kind_of(session.table),
                unordered: session.unordered == Some(true)
                    || matches!(kind_of(session.table), Some(TableKind::Matrix | TableKind::Winners)),
                closed: session.closed.is_some() || session.table.is_some(),
            });
        }
        // Readings and claims come in the order of their runs, so that the next one usually is the right one.
        let mut readings: IdMap<(usize, usize)> =
            HashMap::with_capacity_and_hasher(records.readings.len(), Default::default());
        let mut next_reading = vec![usize::MAX; records.readings.len()];
        for (i, reading) in records.readings.iter().enumerate() {
            let Some(run) = reading.run else { continue };
            readings
                .entry(run)
                .and_modify(|(_, last)| {
                    next_reading[*last] = i;
                    *last = i;
                })
                .or_insert((i, i));
        }
        let claims: IdMap<&Claim> = records.claims.iter().filter_map(|c| Some((c.run?, c))).collect();
        for run in &records.runs {
            let Some(&at) = run.session.as_ref().and_then(|s| evening_at.get(s)) else { continue };
            let session = evenings[at].session;
            let range = run.range.or(session.range);
            let assembly = run.assembly.and_then(|a| assembly_at.get(&a).copied());
            for &(_, part) in assembly.map_or(&[][..], |a| &assemblies[a]) {
                parts[part].runs += 1;
            }
            let row = |reading| Row {
                run,
                reading,
                claim: claims.get(&run.id).copied(),
                set: run.set_pressure.as_ref().or(session.set_pressure.as_ref()),
                range_m3_s: range.and_then(|r| ranges.get(&r).copied()),
                range,
                item: run.item.or(session.item),
                restraint: run.restraint.or(session.restraint),
                assembly,
                t: 0.0,
                table: run.table.and_then(|t| table_at.get(&t).copied()).unwrap_or(usize::MAX),
            };
            match readings.get(&run.id) {
                None => evenings[at].rows.push(row(None)),
                Some(&(first, _)) => {
                    let mut i = first;
                    while i != usize::MAX {
                        let reading = &records.readings[i];
                        if reading.struck.is_none() {
                            evenings[at].rows.push(row(Some(reading)));
                        }
                        i = next_reading[i];
                    }
                }
            }
            if let Some(item) = run.item.or(session.item)
                && let Some(&part) = part_of.get(&item)
            {
                parts[part].runs += 1;
            }
        }
        for evening in &mut evenings {
            on_the_only_range(evening, &ranges);
            arrange(evening);
        }
        let unread = |wanted: &str| {
            let waiting = records.quarantined.iter().filter(|q| q.repaired.is_none());
            waiting
                .filter_map(|q| {
                    let table = &tables[*table_at.get(&q.table?)?];
                    let field = table.field_at(q.column?)?;
                    (field == wanted).then_some(((q.table?, q.row?), q.raw.as_deref()?))
                })
                .collect()
        };
        let (held_somehow, in_some_state) = (unread("restraint"), unread("service"));
        let has_parts = parts.iter().any(|p| p.part.only_named != Some(true));
        let mut shelf = Shelf {
            usual_k: IdMap::default(),
            throttles: IdMap::default(),
            plate_ranges: Vec::new(),
            held_somehow,
            in_some_state,
            records,
            limits,
            tables,
            table_at,
            parts,
            part_of,
            revisions,
            assemblies,
            evenings,
            has_parts,
        };
        super::pressure::usual_k(&mut shelf);
        for evening in &shelf.evenings {
            let mut on: Vec<Uuid> =
                evening.rows.iter().filter(|r| r.is(Purpose::CheckPlate)).filter_map(|r| r.range).collect();
            on.sort_unstable();
            on.dedup();
            if on.len() > 1 {
                shelf.plate_ranges.push(on);
            }
        }
        for row in shelf.evenings.iter().flat_map(|e| &e.rows) {
            if row.is(Purpose::ClosedThrottleLeakage)
                && let (Some(item), Some(at), Some(flow)) = (row.item, row.pressure_pa(), row.flow_m3_s())
            {
                shelf.throttles.entry(item).or_default().push((at, flow));
            }
        }
        shelf
    }

    /// Whether check plates on some evening join two ranges.
    pub fn joined(&self, a: Uuid, b: Uuid) -> bool {
        self.plate_ranges.iter().any(|on| on.contains(&a) && on.contains(&b))
    }

    pub fn layers(&self, row: &Row) -> &[(Uuid, usize)] {
        row.assembly.map_or(&[], |a| &self.assemblies[a])
    }

    /// The first layer of a kind.
    pub fn layer(&self, row: &Row, kind: PartKind) -> Option<&PartSeen<'a>> {
        self.layers(row).iter().map(|&(_, p)| &self.parts[p]).find(|p| p.kind() == Some(kind))
    }

    pub fn part_of_revision(&self, revision: Uuid) -> Option<&PartSeen<'a>> {
        self.part_of.get(&revision).map(|&p| &self.parts[p])
    }

    /// The day a revision of a part was made: its own, else the part's where that speaks of this revision.
    ///
    /// A part at revision B was something else before, and what ran then was not B.
    pub fn revised(&self, revision: Uuid, part: &PartSeen<'a>) -> Option<&'a str> {
        let own = self.revisions.get(&revision);
        if let Some(date) = own.and_then(|r| r.revised.as_deref()) {
            return Some(date);
        }
        let label = own.and_then(|r| r.label.as_deref());
        let speaks_of_it = match (part.part.revision_label.as_deref(), label) {
            (Some(at), Some(label)) => ids::fold(at) == ids::fold(label),
            (None, None) => !part.changed,
            _ => false,
        };
        part.part.revised.as_deref().filter(|_| speaks_of_it)
    }

    pub fn table(&self, id: Option<Uuid>) -> Option<&Table<'a>> {
        id.and_then(|t| self.table_at.get(&t)).map(|&i| &self.tables[i])
    }

    /// The state of a row's element: its own, else what its page says once.
    pub fn service_stated(&self, evening: &Evening, row: &Row) -> bool {
        row.run.service.is_some()
            || evening.session.service_note.is_some()
            // A word that nobody here knows was set aside, and is asked for there.
            || row.run.table.zip(row.run.row).is_some_and(|place| self.in_some_state.contains_key(&place))
    }
}

/// A run that names no range was on the one that all others of its evening were on.
fn on_the_only_range(evening: &mut Evening, ranges: &IdMap<f64>) {
    let mut named = evening.rows.iter().filter(|r| !r.is_leakage()).filter_map(|r| r.range);
    let Some(only) = named.next() else { return };
    if named.any(|other| other != only) {
        return;
    }
    for row in evening.rows.iter_mut().filter(|r| r.range.is_none() && !r.is_leakage()) {
        row.range = Some(only);
        row.range_m3_s = ranges.get(&only).copied();
    }
}

fn arrange(evening: &mut Evening) {
    let ordered = evening.rows.iter().all(|r| r.run.order_number.is_some());
    if ordered {
        evening.rows.sort_by_key(|r| (r.run.order_number, r.table, r.run.row));
    } else {
        evening.rows.sort_by_key(|r| (r.table, r.run.row));
        let clocks: Vec<Option<i64>> = evening.rows.iter().map(Row::clock_min).collect();
        if !clocks.is_empty() && clocks.iter().all(Option::is_some) {
            evening.rows.sort_by_key(Row::clock_min);
        }
    }
    for (i, row) in evening.rows.iter_mut().enumerate() {
        row.t = row.run.order_number.filter(|_| ordered).map_or(i as f64, |o| o as f64);
    }
    evening.set = evening.session.set_pressure.as_ref();
    if evening.set.is_none() {
        evening.set = usual_set(&evening.rows);
    }
    evening.set_pa = evening.set.map(|q| q.si).filter(|p| *p > 0.0);
}

/// The set pressure (else the actual one) that most baselines and tests share within 5 %.
fn usual_set<'a>(rows: &[Row<'a>]) -> Option<&'a Quantity> {
    let mut best: Option<(usize, &Quantity)> = None;
    let mut seen: Vec<(f64, usize, &Quantity)> = Vec::new();
    for row in rows.iter().filter(|r| !r.is_leakage() && !r.is(Purpose::Sweep)) {
        let Some(pressure) = row.set.or(row.actual()).filter(|q| q.si > 0.0) else { continue };
        match seen.iter_mut().find(|(p, ..)| (pressure.si / *p - 1.0).abs() <= 0.05) {
            Some((_, n, _)) => *n += 1,
            None => seen.push((pressure.si, 1, pressure)),
        }
    }
    for (_, n, q) in seen {
        if best.is_none_or(|(most, _)| n > most) {
            best = Some((n, q));
        }
    }
    best.map(|(_, q)| q)
}
