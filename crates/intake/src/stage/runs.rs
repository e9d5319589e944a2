//! Rows of runs, and lists from best to worst.

use super::cells::{Columns, quantity, si_unit, whole};
use super::complete::{Completed, HeldRun};
use super::draft::{At, Draft};
use super::page::baseline_kind;
use super::settle::kind_in;
use super::table::Found;
use super::terms::{self, no_part, not_run, plain};
use super::{Conversion, Convert, Paper, civil, raw};
use crate::map::Field;
use crate::reader::Row;
use crate::threads::ahead;
use airshelf_catalog::ids::{Derived, beside};
use airshelf_catalog::{
    BaselineKind, Claim, Direction, EntityKind, PartDimension, PartKind, Purpose, Quantity, Reading, Refit,
    Restraint, Run, Service, Session, SheetRows, Uuid, Value,
};
use airshelf_units::{Dimension, Unit, read_sizes};
use std::collections::HashMap;

/// Terms already read; a table uses few.
struct Read<T>(Vec<(String, Option<T>)>);

impl<T: Copy> Read<T> {
    fn of(&mut self, text: &str, read: impl Fn(&str) -> Option<T>) -> Option<T> {
        if text.is_empty() {
            return None;
        }
        if let Some(known) = self.0.iter().find(|k| k.0 == text) {
            return known.1;
        }
        let found = read(text);
        if self.0.len() < 64 {
            self.0.push((text.to_owned(), found));
        }
        found
    }
}

/// What a row's cells say before it becomes a run.
#[derive(Default)]
struct Line<'w> {
    session: &'w str,
    date: &'w str,
    date_column: usize,
    bench: &'w str,
    range: Option<Quantity>,
    item: &'w str,
    purpose: &'w str,
    purpose_column: usize,
    order: &'w str,
    clock: &'w str,
    base: &'w str,
    layers: [&'w str; 5],
    assembly: &'w str,
    stud: &'w str,
    restraint: Option<Restraint>,
    service: Option<Service>,
    direction: Option<Direction>,
    refit: Option<Refit>,
    set: Option<Quantity>,
    actual: Option<Quantity>,
    flow: Option<Quantity>,
    air: Option<Quantity>,
    meter: Option<Quantity>,
    barometer: Option<Quantity>,
    humidity: Option<Quantity>,
    note: Option<String>,
    photo: Option<String>,
    claim: Claim,
    claims: bool,
    measures: Vec<(PartKind, PartDimension, Quantity, usize)>,
    broken: Vec<(usize, String)>,
    no_flow: Option<String>,
}

const LAYERS: [PartKind; 5] =
    [PartKind::Spacer, PartKind::Base, PartKind::VelocityStack, PartKind::Filter, PartKind::Lid];

/// What a cell of a column of parts stands for.
struct LayerText {
    parts: Vec<(PartKind, Uuid)>,
    /// It says that the row is a baseline, and names no part.
    baseline: bool,
}

struct Evening {
    id: Uuid,
    date: Option<String>,
    bench: Option<Uuid>,
    /// The baseline that its rows claim, and whether they claim different ones.
    claimed: Option<Quantity>,
    various: bool,
}

impl Evening {
    fn of(id: Uuid, date: Option<String>, bench: Option<Uuid>) -> Self {
        Evening { id, date, bench, claimed: None, various: false }
    }

    fn claims(&mut self, baseline: &Quantity) {
        match &self.claimed {
            None => self.claimed = Some(baseline.clone()),
            Some(held) => self.various |= held.si != baseline.si,
        }
    }
}

/// Gives a session the stated baseline that it lacks; gives whether it did.
fn draft_session(draft: &mut Draft<'_, '_>, id: Uuid, told: &Session) -> bool {
    let own = draft.records.sessions.iter_mut().find(|s| s.id == id);
    let Some(held) = own.as_deref().or_else(|| draft.known.sessions.get(&id)) else { return false };
    if held.stated_baseline.is_some() {
        return false;
    }
    let mut held = held.clone();
    // What a baseline that is not there consists of says nothing.
    held.stated_baseline_kind = None;
    let completed = Completed::blanks(&held, told, &["stated_baseline", "stated_baseline_kind"]);
    match own {
        Some(own) => completed.put(own).expect("the fields are those of a session"),
        None => draft.complete(completed),
    }
    true
}

/// Keeps raw rows as they come and puts them down several hundred at a time.
pub(super) struct RawRows {
    plain: Vec<u8>,
    first: i64,
    before: i64,
    count: usize,
}

impl RawRows {
    pub fn new() -> Self {
        RawRows { plain: Vec::new(), first: 0, before: 0, count: 0 }
    }

    pub fn keep(&mut self, row: &Row, table: Uuid, out: &mut Vec<SheetRows>) {
        let number = i64::from(row.number());
        if self.count == 0 {
            self.first = number;
            self.before = number;
        }
        raw::add(&mut self.plain, number, &row.raw(), &mut self.before);
        self.count += 1;
        if self.count >= raw::ROWS_TOGETHER {
            self.flush(table, out);
        }
    }

    pub fn flush(&mut self, table: Uuid, out: &mut Vec<SheetRows>) {
        if self.count == 0 {
            return;
        }
        out.push(SheetRows {
            id: Derived::new("sheet_rows").id(Some(table)).int(Some(self.first)).finish(),
            table: Some(table),
            first_row: Some(self.first),
            packed: Some(raw::compress(&self.plain)),
        });
        self.plain.clear();
        self.count = 0;
    }
}

/// Reads the rows of a table of runs.
pub(super) fn stage<'w>(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'w>,
    found: &Found,
    columns: &mut Columns<'w>,
) {
    let mut cells = Cells {
        paper,
        columns,
        convert: draft.convert.take(),
        restraints: Read(Vec::new()),
        services: Read(Vec::new()),
        directions: Read(Vec::new()),
        refits: Read(Vec::new()),
        raw: RawRows::new(),
        sheet_rows: Vec::new(),
    };
    let mut desk = Desk {
        draft,
        paper,
        evenings: Vec::new(),
        by_name: HashMap::new(),
        last: ("", "", usize::MAX),
        dates: HashMap::new(),
        unread: false,
        purposes: Read(Vec::new()),
        layers: Vec::new(),
        texts: Default::default(),
        items: HashMap::new(),
        kinds: HashMap::new(),
        has_parts: [Field::Base, Field::Filter, Field::Lid, Field::Assembly].iter().any(|f| found.has(*f)),
        winners: paper.winners,
    };
    desk.draft.expect_runs(found.rows.len());
    let rows = found.rows.iter().map(|&index| &paper.sheet.rows[index]);
    ahead(rows, |row| (row, cells.line(row)), |(row, line)| desk.take(row, line));
    desk.state_claimed();
    cells.raw.flush(paper.table, &mut cells.sheet_rows);
    draft.records.sheet_rows.append(&mut cells.sheet_rows);
    draft.convert = cells.convert;
}

/// Reads the cells of one row after the other; knows nothing of the records.
struct Cells<'p, 'w, 'c> {
    paper: &'p Paper<'w>,
    columns: &'p mut Columns<'w>,
    convert: Option<&'c mut Convert<'c>>,
    restraints: Read<Restraint>,
    services: Read<Service>,
    directions: Read<Direction>,
    refits: Read<Refit>,
    raw: RawRows,
    sheet_rows: Vec<SheetRows>,
}

struct Desk<'d, 'k, 'c, 'w, 'p> {
    draft: &'d mut Draft<'k, 'c>,
    paper: &'p Paper<'w>,
    evenings: Vec<Evening>,
    by_name: HashMap<String, Vec<usize>>,
    last: (&'w str, &'w str, usize),
    dates: HashMap<&'w str, Option<String>>,
    /// Whether the last date is one that cannot be read.
    unread: bool,
    purposes: Read<Purpose>,
    layers: Vec<(PartKind, Uuid)>,
    /// What the texts of each column of parts stand for.
    texts: [HashMap<&'w str, LayerText>; 5],
    items: HashMap<&'w str, Option<Uuid>>,
    kinds: HashMap<(&'w str, &'w str, &'w str), BaselineKind>,
    has_parts: bool,
    winners: bool,
}

impl<'w> Cells<'_, 'w, '_> {
    fn converted(&mut self, conversion: Conversion<'_>) {
        if let Some(convert) = &mut self.convert {
            convert(conversion);
        }
    }

    fn line(&mut self, row: &'w Row) -> Line<'w> {
        self.raw.keep(row, self.paper.table, &mut self.sheet_rows);
        let mut line = Line::default();
        let decimal = self.columns.decimal;
        // The columns are put back below; a cell may need the rest of `self`.
        let mut columns = std::mem::take(&mut self.columns.list);
        for column in &mut columns {
            let text = Columns::text(column, row);
            if text.is_empty() {
                continue;
            }
            let field = column.field;
            if let Some(dimension) = field.dimension() {
                if field == Field::Size {
                    self.size(text, row, column.index, &column.header, column.unit, decimal, &mut line);
                    continue;
                }
                let kind = row.kind(column.index);
                match quantity(text, kind, field, column.unit, decimal) {
                    Ok(value) => {
                        let unit = value.unit().unwrap_or(dimension.si_unit());
                        self.converted(Conversion {
                            sheet: self.paper.sheet.name.as_deref(),
                            row: row.number(),
                            column: &column.header,
                            field: &column.name,
                            raw: text,
                            si: value.si,
                            si_unit: si_unit(unit),
                        });
                        line.put(field, value, column.index);
                    }
                    Err(_) if not_run(text) => {}
                    // A result may carry its pressure: `265.8 @ 12 inH2O`.
                    Err(error) => match self.with_pressure(text, row, field, column, decimal, &mut line) {
                        true => {}
                        false => {
                            if field == Field::Flow {
                                line.no_flow = Some(error.to_string());
                            }
                            line.broken.push((column.index, error.to_string()));
                        }
                    },
                }
                continue;
            }
            match field {
                Field::Session => line.session = text,
                Field::Date => {
                    line.date = text;
                    line.date_column = column.index;
                }
                Field::Bench => line.bench = text,
                Field::Item => line.item = text,
                Field::Purpose => {
                    line.purpose = text;
                    line.purpose_column = column.index;
                }
                Field::Order => line.order = text,
                Field::Clock => line.clock = text,
                Field::Base => {
                    line.base = text;
                    line.layers[1] = text;
                }
                Field::Spacer => line.layers[0] = text,
                Field::VelocityStack => line.layers[2] = text,
                Field::Filter => line.layers[3] = text,
                Field::Lid => line.layers[4] = text,
                Field::Assembly => line.assembly = text,
                Field::Stud => line.stud = text,
                Field::Restraint => {
                    let legend = &self.paper.page.legend;
                    line.restraint = self
                        .restraints
                        .of(text, |t| terms::restraint_under(&column.header, legend.spelled_out(t)));
                    if line.restraint.is_none() && !not_run(text) {
                        line.broken.push((column.index, unread(text, "restraint")));
                    }
                }
                Field::Service => {
                    let legend = &self.paper.page.legend;
                    line.service = self.services.of(text, |t| terms::service(legend.spelled_out(t)));
                    if line.service.is_none() && !not_run(text) {
                        line.broken.push((column.index, unread(text, "service state")));
                    }
                }
                Field::Direction => {
                    let legend = &self.paper.page.legend;
                    line.direction = self.directions.of(text, |t| terms::direction(legend.spelled_out(t)));
                    if line.direction.is_none() && !not_run(text) {
                        line.broken.push((column.index, unread(text, "direction")));
                    }
                }
                Field::Refit => line.refit = self.refits.of(text, terms::refit),
                Field::Note => match &mut line.note {
                    Some(note) => {
                        note.push_str("; ");
                        note.push_str(text);
                    }
                    None => line.note = Some(text.to_owned()),
                },
                Field::Photo => line.photo = Some(text.to_owned()),
                Field::Place | Field::Readings => {
                    let number = whole(text);
                    if number.is_none() && !not_run(text) {
                        line.broken.push((column.index, unread(text, "whole number")));
                    }
                    line.claims |= number.is_some();
                    let place =
                        if field == Field::Place { &mut line.claim.place } else { &mut line.claim.readings };
                    *place = number;
                }
                Field::AirFactor => {
                    match airshelf_units::read(text, Dimension::Ratio, Some(Unit::RATIO), decimal) {
                        Ok(factor) => {
                            line.claim.air_factor = Some(factor.value);
                            line.claims = true;
                        }
                        Err(_) if not_run(text) => {}
                        Err(error) => line.broken.push((column.index, error.to_string())),
                    }
                }
                Field::BaselineSession => {
                    line.claim.baseline_session = Some(text.to_owned());
                    line.claims = true;
                }
                _ => {}
            }
        }
        self.columns.list = columns;
        line
    }

    #[allow(clippy::too_many_arguments)]
    fn size(
        &mut self,
        text: &str,
        row: &Row,
        column: usize,
        header: &str,
        unit: Option<Unit>,
        decimal: Option<airshelf_units::Decimal>,
        line: &mut Line<'w>,
    ) {
        let sizes = read_sizes(text, unit.unwrap_or(Unit::INCH), decimal);
        let Some(sizes) = sizes else {
            if !not_run(text) {
                line.broken.push((column, unread(text, "size of diameter and height")));
            }
            return;
        };
        for (dimension, size) in sized(&sizes) {
            self.converted(Conversion {
                sheet: self.paper.sheet.name.as_deref(),
                row: row.number(),
                column: header,
                field: if dimension == PartDimension::OutsideDiameter {
                    "size"
                } else {
                    crate::map::field::dimension_key(dimension)
                },
                raw: text,
                si: size.si,
                si_unit: "m",
            });
            line.measures.push((
                PartKind::Filter,
                dimension,
                Quantity::read(size.si, text, size.unit),
                column,
            ));
        }
    }

    fn with_pressure(
        &mut self,
        text: &'w str,
        row: &Row,
        field: Field,
        column: &super::cells::Column<'w>,
        decimal: Option<airshelf_units::Decimal>,
        line: &mut Line<'w>,
    ) -> bool {
        let Some((number, pressure)) = split_at_pressure(text) else { return false };
        let Ok(value) = quantity(number, row.kind(column.index), field, column.unit, decimal) else {
            return false;
        };
        let Ok(set) = pressure_beside(pressure, row.kind(column.index), self.paper.pressure, decimal) else {
            return false;
        };
        for (name, value) in [(column.name.as_str(), &value), ("set_pressure", &set)] {
            self.converted(Conversion {
                sheet: self.paper.sheet.name.as_deref(),
                row: row.number(),
                column: &column.header,
                field: name,
                raw: text,
                si: value.si,
                si_unit: si_unit(value.unit().unwrap_or(Unit::PASCAL)),
            });
        }
        line.put(field, value, column.index);
        line.set.get_or_insert(set);
        true
    }
}

impl<'w> Desk<'_, '_, '_, 'w, '_> {
    fn take(&mut self, row: &'w Row, mut line: Line<'w>) {
        let at = At { table: self.paper.table, row: row.number() };
        self.draft.staged.rows.read += 1;
        let legend = &self.paper.page.legend;
        let stated = self.purposes.of(line.purpose, |t| terms::purpose(legend.spelled_out(t)));
        let purpose = self.purpose(stated, &line);
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
    fn state_claimed(&mut self) {
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

    fn purpose(&self, stated: Option<Purpose>, line: &Line<'_>) -> Purpose {
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
            Purpose::Baseline
        } else {
            Purpose::Test
        }
    }

    /// The session of a row, by its name and date; rows of one name a day apart are one session past midnight.
    fn evening(&mut self, line: &Line<'w>, at: At) -> usize {
        if self.last.2 != usize::MAX && self.last.0 == line.session && self.last.1 == line.date {
            return self.last.2;
        }
        let date = self.date(line.date, at);
        self.unread = date.is_none() && !line.date.is_empty();
        let date = date.or_else(|| self.paper.page.text(Field::Date).map(str::to_owned));
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

    fn date(&mut self, text: &'w str, at: At) -> Option<String> {
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

    fn run(&mut self, line: &Line<'w>, purpose: Purpose, evening: usize, at: At) -> Run {
        let bench = self.evenings[evening].bench;
        let range = line.range.as_ref().map(|q| self.draft.range(bench, q));
        let mut baseline = None;
        self.layers.clear();
        if !line.assembly.is_empty() && purpose != Purpose::Baseline {
            for (kind, text) in split_stack(line.assembly, self.draft.known) {
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
            let key = (line.purpose, line.base, line.assembly);
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
        let said = baseline_kind(&plain(self.paper.page.legend.spelled_out(line.purpose)));
        if said != BaselineKind::Unknown {
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
        if self.paper.canonical {
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

    fn put(&mut self, mut run: Run, line: Line<'w>, at: At, column: Option<usize>) {
        run.set_pressure = line.set;
        run.note = line.note;
        run.photo_note = line.photo;
        run.column = column.map(|c| c as i64);
        let clock = (!line.clock.is_empty())
            .then(|| civil::clock(line.clock).unwrap_or_else(|| line.clock.to_owned()));
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

/// Gives a run its identifier and puts it down with its reading and claim, or notes where else it stands.
pub(super) fn put_run(
    draft: &mut Draft<'_, '_>,
    mut run: Run,
    mut reading: Reading,
    claim: Option<Claim>,
    at: At,
) {
    if run.order_number.is_some() {
        order_session(draft, &run);
    }
    let id = draft.free_id(&run_key(&run, &reading, claim.as_ref(), run.restraint, run.service));
    if let Some((id, held)) = held(draft, id, &run, &reading, claim.as_ref()) {
        if held.table != Some(at.table) {
            draft.also_at(id, at, run.column.map(|c| c as usize));
            if let Some((item, range)) = run.session.and_then(|s| draft.paged.get(&s)) {
                run.item = run.item.or(*item);
                run.range = run.range.or(*range);
            }
            let benchless = run.range.and_then(|r| draft.benchless(r));
            draft.complete(held.completed(id, &run, benchless));
        }
        draft.staged.rows.already += 1;
        return;
    }
    run.id = id;
    let read = reading.flow.is_some()
        || reading.actual_pressure.is_some()
        || reading.air_temperature.is_some()
        || reading.barometer.is_some()
        || reading.humidity.is_some()
        || reading.meter_temperature.is_some()
        || reading.clock.is_some();
    if read {
        reading.id = beside("reading", id);
        reading.run = Some(id);
        draft.records.readings.push(reading);
    }
    if let Some(mut claim) = claim {
        claim.id = beside("claim", id);
        claim.run = Some(id);
        draft.records.claims.push(claim);
    }
    draft.records.runs.push(run);
    draft.staged.rows.taken += 1;
}

/// A session of the shelf that was only a list has an order once runs with numbers come to it.
fn order_session(draft: &mut Draft<'_, '_>, run: &Run) {
    let Some(session) = run.session.and_then(|s| draft.known.sessions.get(&s)) else { return };
    if session.unordered == Some(true) && draft.ordered.insert(session.id) {
        let mut completed = Completed { kind: EntityKind::Session, row: session.id, fields: Vec::new() };
        completed.set::<Session>("unordered", Value::Null);
        completed.set::<Session>("table", run.table.map_or(Value::Null, Value::Id));
        draft.complete(completed);
    }
}

/// What a run's identifier derives from.
fn run_key(
    run: &Run,
    reading: &Reading,
    claim: Option<&Claim>,
    restraint: Option<Restraint>,
    service: Option<Service>,
) -> Derived {
    let si = |q: &Option<Quantity>| q.as_ref().map(|q| q.si);
    let key = Derived::new("run")
        .id(run.session)
        .int(run.order_number)
        .text(run.purpose.map_or("", Purpose::name))
        .id(run.assembly)
        .text(restraint.map_or("", Restraint::name))
        .text(service.map_or("", Service::name))
        .real(si(&run.set_pressure))
        .real(si(&reading.actual_pressure))
        .real(si(&reading.flow));
    if reading.flow.is_some() {
        return key;
    }
    key.real(claim.and_then(|c| si(&c.stated_loss).or(si(&c.stated_loss_percent)).or(si(&c.net_flow))))
}

/// The run of the shelf that this is: by its identifier, else the one of the same number in the same session that
/// differs only in that one of the two leaves restraint or service blank.
fn held(
    draft: &mut Draft<'_, '_>,
    id: Uuid,
    run: &Run,
    reading: &Reading,
    claim: Option<&Claim>,
) -> Option<(Uuid, HeldRun)> {
    let known = draft.known;
    if let Some(held) = known.runs.get(&id) {
        return Some((id, *held));
    }
    run.order_number?;
    known.sessions.get(&run.session?)?;
    let restraints: Vec<_> = match run.restraint {
        Some(own) => vec![Some(own), None],
        None => std::iter::once(None).chain(Restraint::ALL.iter().copied().map(Some)).collect(),
    };
    let services: Vec<_> = match run.service {
        Some(own) => vec![Some(own), None],
        None => std::iter::once(None).chain(Service::ALL.iter().copied().map(Some)).collect(),
    };
    for restraint in restraints {
        for service in &services {
            let other = run_key(run, reading, claim, restraint, *service).int(Some(1)).finish();
            if let Some(held) = known.runs.get(&other)
                && draft.take_id(other)
            {
                return Some((other, *held));
            }
        }
    }
    None
}

/// Puts down a session with what its page says, unless the shelf or this file already has it.
fn open_session(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'_>,
    name: &str,
    date: Option<String>,
    bench: Option<Uuid>,
) -> Evening {
    let id = session_id(name, date.as_deref());
    if let Some(held) = draft.sessions.get(&id) {
        return Evening::of(id, date, held.or(bench));
    }
    if let Some(known) = draft.known.sessions.get(&id) {
        let evening = Evening::of(id, date, known.bench.or(bench));
        let person = paper.page.text(Field::Who).map(str::to_owned).map(|name| draft.person(&name));
        let told = Session { bench, person, ..Session::default() };
        draft.complete(Completed::blanks(known, &told, &["bench", "person"]));
        // What else this page says speaks of its own rows, not of those that others put into the session.
        let item = page_item(draft, paper).filter(|_| known.item.is_none());
        let range = paper.page.quantity(Field::Range).filter(|_| known.range.is_none()).cloned();
        let range = range.map(|q| draft.range(evening.bench, &q));
        draft.paged.insert(id, (item, range));
        draft.sessions.insert(id, evening.bench);
        return evening;
    }
    draft.sessions.insert(id, bench);
    let page = &paper.page;
    let own = |field: Field| page.quantity(field).cloned();
    let range = page.quantity(Field::Range).cloned().map(|q| draft.range(bench, &q));
    let item = page_item(draft, paper);
    let person = page.text(Field::Who).map(str::to_owned).map(|name| draft.person(&name));
    draft.records.sessions.push(Session {
        id,
        name: Some(name.to_owned()),
        date: date.clone(),
        bench,
        item,
        set_pressure: own(Field::SetPressure),
        range,
        air_temperature: own(Field::AirTemperature),
        barometer: own(Field::Barometer),
        humidity: own(Field::Humidity),
        stated_baseline: own(Field::StatedBaseline),
        stated_baseline_kind: page.baseline_kind,
        person,
        unordered: paper.unordered.then_some(true),
        table: Some(paper.table),
        service_note: page.service_note.as_ref().map(|s| s.0.clone()),
        restraint: page.restraint.as_ref().map(|r| r.0),
        readings_each: page.readings_each.as_ref().map(|r| r.0),
        ..Session::default()
    });
    Evening::of(id, date, bench)
}

/// The item that a page names for all its rows.
fn page_item(draft: &mut Draft<'_, '_>, paper: &Paper<'_>) -> Option<Uuid> {
    let at = At { table: paper.table, row: paper.page.get(Field::Item).and_then(|v| v.row).unwrap_or(1) };
    let text = paper.page.text(Field::Item)?.to_owned();
    Some(draft.revision(PartKind::Carburetor, &text, at))
}

/// The session of a table without a session column.
pub(super) fn page_session(draft: &mut Draft<'_, '_>, paper: &Paper<'_>) -> Uuid {
    let bench = paper.page.text(Field::Bench).map(str::to_owned).map(|name| draft.bench(&name));
    let date = paper.page.text(Field::Date).map(str::to_owned);
    open_session(draft, paper, &paper.session, date, bench).id
}

pub(super) fn session_id(name: &str, date: Option<&str>) -> Uuid {
    Derived::new("session").folded(name).text(date.unwrap_or("")).finish()
}

impl Line<'_> {
    fn put(&mut self, field: Field, value: Quantity, column: usize) {
        let claim = match field {
            Field::StatedBaseline => &mut self.claim.stated_baseline,
            Field::StatedLoss => &mut self.claim.stated_loss,
            Field::StatedLossPercent => &mut self.claim.stated_loss_percent,
            Field::Leakage => &mut self.claim.leakage,
            Field::NetFlow => &mut self.claim.net_flow,
            Field::FlowAtSetPressure => &mut self.claim.flow_at_set_pressure,
            Field::FlowAtReferenceAir => &mut self.claim.flow_at_reference_air,
            other => {
                let own = match other {
                    Field::Range => &mut self.range,
                    Field::SetPressure => &mut self.set,
                    Field::ActualPressure => &mut self.actual,
                    Field::Flow => &mut self.flow,
                    Field::AirTemperature => &mut self.air,
                    Field::MeterTemperature => &mut self.meter,
                    Field::Barometer => &mut self.barometer,
                    Field::Humidity => &mut self.humidity,
                    Field::PartOf(kind, dimension) => {
                        self.measures.push((kind, dimension, value, column));
                        return;
                    }
                    _ => return,
                };
                *own = Some(value);
                return;
            }
        };
        *claim = Some(value);
        self.claims = true;
    }
}

fn unread(text: &str, what: &str) -> String {
    format!("`{text}` is no {what} known here")
}

/// `14.6 @ 12 inH2O` is a result and its own pressure, and so is `14.6 (at 12 in)`.
pub(super) fn split_at_pressure(text: &str) -> Option<(&str, &str)> {
    let digit = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
    let (number, pressure) = match text.split_once('@').or_else(|| text.split_once(" at ")) {
        Some((number, pressure)) => (number, pressure),
        None => {
            let (number, inner) = text.strip_suffix(')')?.split_once('(')?;
            let said = inner.trim().strip_prefix("at ");
            let pressure = said.unwrap_or(inner).trim();
            // A bare number in brackets counts something.
            let with_unit = pressure.ends_with(|c: char| c.is_alphabetic() || "0\"″".contains(c))
                && pressure.contains(|c: char| c.is_alphabetic() || "\"″".contains(c));
            if said.is_none() && !with_unit {
                return None;
            }
            (number, pressure)
        }
    };
    let number = number.trim().trim_end_matches(['(', ',']).trim();
    let pressure = pressure.trim().trim_end_matches(')').trim();
    (digit(pressure) && number.contains(|c: char| c.is_ascii_digit())).then_some((number, pressure))
}

/// Reads a pressure that stands beside a result; an inch or a millimeter there is one of what the page is set in.
pub(super) fn pressure_beside(
    text: &str,
    kind: &crate::reader::CellKind,
    usual: Option<Unit>,
    decimal: Option<airshelf_units::Decimal>,
) -> Result<Quantity, airshelf_units::ReadError> {
    quantity(text, kind, Field::SetPressure, usual, decimal).or_else(|error| {
        let length = airshelf_units::read(text, Dimension::Length, None, decimal).map_err(|_| error)?;
        let mercury = usual.is_some_and(|u| u == Unit::IN_HG || u == Unit::MM_HG);
        let unit = match (length.unit, mercury) {
            (Unit::MM, false) => Unit::MM_H2O,
            (Unit::MM, true) => Unit::MM_HG,
            (Unit::CM, _) => Unit::CM_H2O,
            (_, true) => Unit::IN_HG,
            (_, false) => Unit::IN_H2O,
        };
        Ok(Quantity::read(unit.to_si(length.value), text, unit))
    })
}

/// Diameter and height out of two sizes; of three the middle or the smallest diameter is the inside one.
pub(super) fn sized(sizes: &[airshelf_units::Read]) -> Vec<(PartDimension, airshelf_units::Read)> {
    match sizes {
        [od, height] => vec![(PartDimension::OutsideDiameter, *od), (PartDimension::Height, *height)],
        [od, id, height] => vec![
            (PartDimension::OutsideDiameter, *od),
            (PartDimension::InsideDiameter, *id),
            (PartDimension::Height, *height),
        ],
        _ => Vec::new(),
    }
}

/// Splits `foam 9.5x3.5 / vented / dropped` into parts: by tags that the shelf knows, else by their words, else in the
/// order filter, lid, base.
pub(super) fn split_stack<'t>(text: &'t str, known: &super::Known) -> Vec<(PartKind, &'t str)> {
    let mark = ['/', '|', '>', ';', '+', ','].into_iter().find(|m| text.contains(*m)).unwrap_or('/');
    let pieces: Vec<&str> =
        text.split(mark).map(str::trim).filter(|p| !p.is_empty() && !no_part(p)).collect();
    let mut out: Vec<(Option<PartKind>, &str)> = pieces
        .into_iter()
        .map(|piece| {
            let listed =
                known.part(None, piece).and_then(|p| known.parts.get(&p)).filter(|p| p.only_named.is_none());
            let by_words = || {
                let size = piece.split(['x', '×']).count() == 2
                    && piece.bytes().filter(u8::is_ascii_digit).count() >= 2;
                kind_in(&plain(piece)).or(size.then_some(PartKind::Filter))
            };
            let kind = listed.and_then(|p| p.kind).or_else(by_words);
            (kind, piece)
        })
        .collect();
    let mut usual = [PartKind::Filter, PartKind::Lid, PartKind::Base, PartKind::Spacer].into_iter();
    for at in 0..out.len() {
        if out[at].0.is_none() {
            let free = usual.find(|k| out.iter().all(|o| o.0 != Some(*k)));
            out[at].0 = Some(free.unwrap_or(PartKind::Other));
        }
    }
    out.into_iter().map(|(kind, text)| (kind.unwrap_or(PartKind::Other), text)).collect()
}
