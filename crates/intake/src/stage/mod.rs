//! The second stage of reading old records: sheets of cells become records of the catalogue, with where each stood.
//!
//! [`stage`] finds the tables of a [`Workbook`], reads what stands above them, gives every column a field and a unit, and
//! makes sessions, runs, readings, parts, guesses and ratings of the rows. Nothing is written anywhere: the result is
//! [`Records`] that a caller shows, audits and only then stores.
//!
//! - A cell that cannot be read is set aside with its reason; its row is taken without it. A row without a result is set
//!   aside whole. Blank stays blank and a typed zero stays zero.
//! - Identifiers derive from content, so that the same run in another file or spelling gets the same one; a place that
//!   repeats a known record becomes an [`airshelf_catalog::AlsoAt`].
//! - Dates and clocks stay as written, civil. A date whose day and month could be exchanged, and that nothing in the
//!   file decides, is read as the file's units suggest and marked `date_ambiguous` on its table.

mod cells;
mod civil;
mod complete;
mod draft;
mod evidence;
mod grid;
mod known;
mod legend;
mod others;
mod page;
mod parts;
mod raw;
mod runs;
mod settle;
mod table;
mod terms;

pub use complete::{Completed, complete};
pub use known::Known;
pub use raw::{pack_rows, unpack_rows};
pub use terms::service_in;

use crate::map::{DateOrder, Field, Group, Header, Mapping};
use crate::reader::{Format, Row, Sheet, Workbook};
use airshelf_catalog::ids::Derived;
use airshelf_catalog::{BaselineKind, ImportFile, Quantity, Records, SheetTable, TableKind, Uuid};
use airshelf_units::{Decimal, Dimension, Unit, read};
use cells::Columns;
use draft::{At, Draft};
use page::{Hand, Page, PageValue};
use serde::Serialize;
use settle::Habits;
use std::collections::HashSet;
use table::{Found, Shape};

/// A measured cell with what it was taken to mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conversion<'a> {
    /// The sheet's name; none in text files.
    pub sheet: Option<&'a str>,
    /// The file's own row.
    pub row: u32,
    /// The header as spelled.
    pub column: &'a str,
    /// The field's name.
    pub field: &'a str,
    /// The cell as written.
    pub raw: &'a str,
    /// The value in `si_unit`.
    pub si: f64,
    /// The SI unit's symbol.
    pub si_unit: &'static str,
}

/// Hears of measured cells.
pub type Convert<'a> = dyn FnMut(Conversion<'_>) + Send + 'a;

/// How many rows of data were met, and what became of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
pub struct RowCounts {
    /// Rows of data, faulty and duplicate ones included.
    pub read: usize,
    /// Rows that became records.
    pub taken: usize,
    /// Rows that the shelf has already.
    pub already: usize,
    /// Rows set aside whole: entries of [`Records::quarantined`] without a column.
    pub quarantined: usize,
    /// Cells set aside of rows that were taken without them: entries with a column.
    pub cells: usize,
}

/// A column as it was understood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColumnReport {
    /// Column, from 0.
    pub column: usize,
    /// The header as spelled.
    pub header: String,
    /// The field's name; none where the column was left out.
    pub field: Option<String>,
    /// The unit's symbol.
    pub unit: Option<String>,
    /// From 0 (a guess) to 1 (the field's own name).
    pub confidence: f64,
}

/// A table as it was understood.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TableReport {
    /// The sheet's name; none in text files.
    pub sheet: Option<String>,
    /// What it holds.
    pub kind: TableKind,
    /// The layout in words.
    pub layout: String,
    /// The file's own row of the header.
    pub header_row: u32,
    /// The file's own row of the first row of data.
    pub first_row: u32,
    /// The file's own row of the last row of data.
    pub last_row: u32,
    /// How many rows of data it has.
    pub rows: usize,
    /// `.` or `,` where the table decides it.
    pub decimal: Option<char>,
    /// Its columns.
    pub columns: Vec<ColumnReport>,
    /// What stands above it and holds for its rows.
    pub page: Vec<PageEntry>,
}

/// A value that stands above a table, in the form that [`SheetTable::page`] keeps as JSON.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PageEntry {
    /// The field's name.
    pub field: String,
    /// The file's own row.
    pub row: Option<u32>,
    /// The text as written.
    pub raw: String,
    /// A name, a date in ISO 8601, a term.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<String>,
    /// The value in SI.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub si: Option<f64>,
    /// The SI unit's symbol.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub si_unit: Option<&'static str>,
    /// True where the unit is only the usual one.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub assumed: bool,
}

/// What a file yields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Staged {
    /// New records, with the file, its tables, raw rows, further places and what was set aside.
    pub records: Records,
    /// Fields of records that the shelf has, or an earlier file of the same import, with blanks there; see [`complete`].
    pub completed: Vec<Completed>,
    /// The tables found.
    pub tables: Vec<TableReport>,
    /// Rows of data.
    pub rows: RowCounts,
    /// Rows, cells of a grid or lines of a list that hold a run, faulty and duplicate ones included.
    pub runs: usize,
    /// Rows of tables of parts.
    pub parts: usize,
    /// Headers below which no row of data stands: sheet and the file's own row.
    pub rowless: Vec<(Option<String>, u32)>,
    /// Dates whose day and month could be exchanged.
    ambiguous: Vec<(Uuid, u32, String)>,
}

impl Staged {
    pub(crate) fn ambiguous(&mut self, at: At, raw: &str) {
        self.ambiguous.push((at.table, at.row, raw.to_owned()));
    }
}

/// What one table's rows are read with.
pub(crate) struct Paper<'w> {
    pub sheet: &'w Sheet,
    pub table: Uuid,
    pub page: Page,
    pub hand: Hand,
    /// The session's name where no column has one.
    pub session: String,
    /// A sheet in the columns that `export` writes.
    pub canonical: bool,
    pub unordered: bool,
    pub winners: bool,
    /// What tells dates that are no whole dates by themselves.
    pub dates: civil::Beside,
    /// What a column of baselines says that they consist of.
    pub column_baseline: Option<BaselineKind>,
    /// The unit of a pressure that a cell writes without one.
    pub pressure: Option<Unit>,
}

/// Makes records of a file's sheets.
///
/// `file_name` names the file in records; `known` is what the shelf has; `mapping` overrides what headers say;
/// `conversions` hears of every measured cell as it is read.
///
/// ```
/// use airshelf_intake::{reader, stage::{Known, stage}};
/// let text = b"run;purpose;filter;lid;flow (L/s)\n1;baseline;;;131,96\n2;test;PF-1;LD-1;125,16\n";
/// let book = reader::read("loop.csv", text, &reader::Limits::default())?;
/// let mut cells = Vec::new();
/// let staged = stage("loop.csv", &book, &Known::default(), None, &mut |c| cells.push(c.si));
/// assert_eq!(staged.runs, 2);
/// assert!((cells[1] - 0.12516).abs() < 1e-12);
/// # Ok::<(), reader::ReadFault>(())
/// ```
pub fn stage(
    file_name: &str,
    workbook: &Workbook,
    known: &Known,
    mapping: Option<&Mapping>,
    conversions: &mut Convert<'_>,
) -> Staged {
    let mut tables: Vec<(usize, Found)> = Vec::new();
    let mut rowless: Vec<(Option<String>, u32)> = Vec::new();
    for (index, sheet) in workbook.sheets.iter().enumerate() {
        for found in table::find(sheet, mapping) {
            if !found.rows.is_empty() {
                tables.push((index, found));
            } else if matches!(found.shape, Shape::Listed(_)) {
                rowless.push((sheet.name.clone(), sheet.rows[found.header].number()));
            }
        }
    }
    let habits = Habits::of(&workbook.sheets, &tables);
    let order = date_order(workbook, &tables);
    let file = Derived::new("import_file").bytes(&workbook.sha256).finish();

    let mut draft = Draft::new(known, conversions);
    draft.staged.rowless = rowless;
    draft.records.import_files.push(ImportFile {
        id: file,
        name: Some(file_name.rsplit(['/', '\\']).next().unwrap_or(file_name).to_owned()),
        sha256: Some(workbook.sha256.to_vec()),
        format: Some(
            match workbook.format {
                Format::Csv => "csv",
                Format::Xlsx => "xlsx",
                Format::Ods => "ods",
            }
            .to_owned(),
        ),
        encoding: workbook.encoding.map(str::to_owned),
        delimiter: workbook.delimiter.map(String::from),
        ..ImportFile::default()
    });

    let stem = file_stem(file_name);
    let mut ready: Vec<Ready<'_>> = Vec::new();
    for (index, found) in tables {
        let sheet = &workbook.sheets[index];
        let before = ready.last().filter(|r| std::ptr::eq(r.paper.sheet, sheet)).map(|r| &r.paper.page);
        ready.push(prepare(
            &Setting { file, stem: &stem, sheet, habits, order, known, mapping, before },
            found,
        ));
    }
    // Parts first, so that runs find them; guesses after the sessions that they are for.
    for turn in 0..3 {
        for ready in &mut ready {
            let now = match ready.found.shape {
                Shape::Listed(Group::Parts) => 0,
                Shape::Listed(Group::Runs) | Shape::Grid => 1,
                _ => 2,
            };
            if now == turn {
                ready.stage(&mut draft);
            }
        }
    }
    mark_unordered(&mut draft.records);
    let ambiguous = std::mem::take(&mut draft.staged.ambiguous);
    for ready in &ready {
        let (record, report) = ready.report(file, &ambiguous);
        draft.records.sheet_tables.push(record);
        draft.staged.tables.push(report);
    }
    let Draft { mut staged, records, .. } = draft;
    if known.has_file(&workbook.sha256) {
        staged.rows = RowCounts { read: staged.rows.read, already: staged.rows.read, ..RowCounts::default() };
        staged.completed.clear();
    } else {
        staged.records = records;
    }
    staged
}

/// Sessions whose runs have neither number nor clock have no order, whatever columns their table has.
fn mark_unordered(records: &mut Records) {
    let numbered = |run: &airshelf_catalog::Run| run.order_number.is_some();
    if records.runs.iter().all(numbered) {
        return;
    }
    let clocked: HashSet<Uuid> =
        records.readings.iter().filter(|r| r.clock.is_some()).filter_map(|r| r.run).collect();
    let ordered: HashSet<Uuid> = records
        .runs
        .iter()
        .filter(|r| {
            numbered(r) || clocked.contains(&r.id) || r.purpose == Some(airshelf_catalog::Purpose::Baseline)
        })
        .filter_map(|r| r.session)
        .collect();
    for session in &mut records.sessions {
        if !ordered.contains(&session.id) {
            session.unordered = Some(true);
        }
    }
}

fn file_stem(name: &str) -> String {
    let name = name.rsplit(['/', '\\']).next().unwrap_or(name);
    name.rsplit_once('.').map_or(name, |(stem, _)| stem).to_owned()
}

/// The order of day and month that the file's dates decide.
fn date_order(workbook: &Workbook, tables: &[(usize, Found)]) -> Option<DateOrder> {
    let mut votes = civil::OrderVotes::default();
    for (index, found) in tables {
        let sheet = &workbook.sheets[*index];
        for row in found.above.iter().map(|r| &sheet.rows[*r]) {
            for cell in row.cells() {
                cell.raw.split([' ', ',', ';', ':']).for_each(|word| votes.hear(word));
            }
        }
        for column in &found.columns {
            if !matches!(column.field, Some(Field::Date | Field::Arrived | Field::Revised | Field::Written)) {
                continue;
            }
            let mut last = "";
            for row in found.rows.iter().map(|r| &sheet.rows[*r]) {
                let text = row.text(column.header.column);
                if text != last {
                    votes.hear(text);
                    last = text;
                }
            }
        }
    }
    votes.order()
}

struct Setting<'w, 'a> {
    file: Uuid,
    stem: &'a str,
    sheet: &'w Sheet,
    habits: Habits,
    order: Option<DateOrder>,
    known: &'a Known,
    mapping: Option<&'a Mapping>,
    /// The page of the table before on the same sheet.
    before: Option<&'a Page>,
}

/// A table with everything settled but its rows.
struct Ready<'w> {
    found: Found,
    paper: Paper<'w>,
    decimal: Option<Decimal>,
    /// How a grid is laid out, and the unit of its cells.
    grid: Option<(grid::Layout, Option<Unit>)>,
    layout: String,
}

fn prepare<'w>(set: &Setting<'w, '_>, mut found: Found) -> Ready<'w> {
    let sheet = set.sheet;
    let header_row = sheet.rows[found.header].number();
    let told = set.mapping.and_then(|m| m.table(sheet.name.as_deref(), header_row));
    let decimal = match told.and_then(|t| t.decimal.as_deref()) {
        Some(",") => Some(Decimal::Comma),
        Some(".") => Some(Decimal::Point),
        _ => settle::decimal(&found, sheet),
    };
    let guess = if set.habits.metric || decimal == Some(Decimal::Comma) {
        DateOrder::DayFirst
    } else {
        DateOrder::MonthFirst
    };
    let flow = set.habits.flow.unwrap_or(if set.habits.metric { Unit::L_S } else { Unit::CFM });
    let hand = Hand { decimal, order: told.and_then(|t| t.date_order).or(set.order), guess, flow };
    let above: Vec<&Row> = found.above.iter().map(|r| &sheet.rows[*r]).collect();
    let mut page = page::read_page(&above, hand, found.span);
    if let Some(told) = told {
        told_page(&mut page, told, hand);
    }
    page::item_of_shelf(&above, set.known, &mut page);
    if page.is_silent()
        && let Some(before) = set.before
    {
        let own = std::mem::take(&mut page);
        page = before.clone();
        page.lines = own.lines;
        // Its own title comes before what the one above says.
        page.words = format!("{} {}", own.words, page.words).trim().to_owned();
        if !own.words.is_empty() && (own.losses || own.flows || own.percent) {
            (page.losses, page.flows, page.percent) = (own.losses, own.flows, own.percent);
        }
    }
    let unfit = evidence::by_content(&mut found, sheet, decimal, &page.legend);
    if !found.has(Field::SetPressure) && found.shape != Shape::Grid {
        let of_flow = |f: Field| f.dimension() == Some(Dimension::Flow);
        let flows: Vec<&Header> =
            found.columns.iter().filter(|c| c.field.is_some_and(of_flow)).map(|c| &c.header).collect();
        page::pressure_of_header(&flows, header_row, hand, &mut page);
    }
    settle::fields(&mut found, sheet, &page, set.known);
    evidence::as_headed(&mut found, unfit);
    settle::units(&mut found, sheet, &page, set.habits);

    let winners = found.shape == Shape::Listed(Group::Runs)
        && found.has(Field::Place)
        && !(found.has(Field::Order) || found.has(Field::Purpose) || found.has(Field::Clock));
    let unordered = found.shape == Shape::Grid
        || winners
        || !(found.has(Field::Order) || found.has(Field::Clock) || found.has(Field::Purpose));
    let session = told
        .and_then(|t| t.session.clone())
        .or_else(|| sheet.name.clone().filter(|n| !generic(n)))
        .or_else(|| page.text(Field::Session).map(str::to_owned))
        .unwrap_or_else(|| set.stem.to_owned());
    let pressure = page
        .quantity(Field::SetPressure)
        .and_then(Quantity::unit)
        .or(set.habits.pressure)
        .or(Some(if set.habits.metric { Unit::KPA } else { Unit::IN_H2O }));
    let paper = Paper {
        sheet,
        table: table_id(set.file, sheet, header_row, found.span),
        canonical: canonical(&found),
        dates: dates_beside(&found, sheet, &page, &session),
        page,
        hand,
        session,
        unordered,
        winners,
        column_baseline: column_baseline(&found),
        pressure,
    };
    let mut ready = Ready { found, paper, decimal, grid: None, layout: String::new() };
    if ready.found.shape == Shape::Grid {
        let layout = grid::layout(&ready.paper, &ready.found);
        let unit = match layout.cells {
            Field::StatedLossPercent => Some(Unit::PERCENT),
            _ => ready.paper.page.flow_unit.or(Some(flow)),
        };
        let names = ready.found.names();
        for column in &mut ready.found.columns {
            let across = column.header.column != names;
            column.field = Some(if across { layout.cells } else { layer_field(layout.down) });
            column.unit = unit.filter(|_| across);
        }
        ready.grid = Some((layout, unit));
    }
    ready.layout = ready.describe();
    ready
}

fn table_id(file: Uuid, sheet: &Sheet, header_row: u32, span: table::Span) -> Uuid {
    let id = Derived::new("sheet_table")
        .id(Some(file))
        .text(sheet.name.as_deref().unwrap_or(""))
        .int(Some(i64::from(header_row)));
    // A table to the right of another has its column as well.
    if span.from > 0 { id.int(Some(span.from as i64)).finish() } else { id.finish() }
}

/// What dates of a table may leave out: the year that the page has, and that they are days counted by a spreadsheet.
fn dates_beside(found: &Found, sheet: &Sheet, page: &Page, session: &str) -> civil::Beside {
    let mut years: Vec<i32> = page
        .lines
        .iter()
        .map(|l| l.1.as_str())
        .chain([session])
        .flat_map(|text| text.split(|c: char| !c.is_ascii_alphanumeric()))
        .filter(|word| word.len() == 4)
        .filter_map(|word| word.parse().ok())
        .filter(|year| (1950..2100).contains(year))
        .collect();
    years.sort_unstable();
    years.dedup();
    let (mut all, mut counted) = (0, 0);
    for column in found.columns.iter().filter(|c| matches!(c.field, Some(Field::Date | Field::Arrived))) {
        for row in found.rows.iter().take(200) {
            let text = sheet.rows[*row].text(column.header.column).trim();
            all += usize::from(!text.is_empty());
            counted += usize::from(civil::counted(text).is_some());
        }
    }
    civil::Beside {
        year: (years.len() == 1).then(|| years[0]),
        counted: counted > 1 || (counted == 1 && all == 1),
    }
}

/// What the header of a column of baselines says that they consist of: `bare baseline (CFM)`.
fn column_baseline(found: &Found) -> Option<BaselineKind> {
    let header = found.columns.iter().find(|c| c.field == Some(Field::StatedBaseline))?;
    let kind = page::baseline_kind(&terms::plain(&header.header.text));
    (kind != BaselineKind::Unknown).then_some(kind)
}

fn layer_field(kind: airshelf_catalog::PartKind) -> Field {
    [Field::Base, Field::Spacer, Field::Filter, Field::Lid, Field::VelocityStack]
        .into_iter()
        .find(|f| f.layer() == Some(kind))
        .unwrap_or(Field::Name)
}

/// Names that a program gives to a sheet that nobody named.
fn generic(name: &str) -> bool {
    let name = name.trim().to_lowercase();
    let bare = name.trim_end_matches(|c: char| c.is_ascii_digit() || c == ' ' || c == '(' || c == ')');
    matches!(
        bare,
        "" | "sheet"
            | "tabelle"
            | "feuille"
            | "hoja"
            | "foglio"
            | "blad"
            | "table"
            | "tab"
            | "worksheet"
            | "data"
            | "export"
    )
}

/// Whether the columns are those that `export` writes.
fn canonical(found: &Found) -> bool {
    let own = ["session", "purpose", "order", "base", "filter", "lid"];
    let set = |text: &str| found.columns.iter().any(|c| c.header.text.trim().eq_ignore_ascii_case(text));
    let with_unit = |name: &str| {
        found.columns.iter().any(|c| {
            c.header
                .text
                .trim()
                .to_ascii_lowercase()
                .strip_prefix(name)
                .is_some_and(|rest| rest.trim_start().starts_with('('))
        })
    };
    own.iter().all(|name| set(name)) && with_unit("flow") && with_unit("set pressure")
}

/// Puts in what a person says that a page says.
fn told_page(page: &mut Page, told: &crate::map::TableMapping, hand: Hand) {
    for (name, text) in &told.page {
        let Some(field) = Field::from_name(name) else { continue };
        page.values.retain(|v| v.field != field);
        let mut value =
            PageValue { field, row: None, raw: text.clone(), quantity: None, text: None, assumed: false };
        match (field, field.dimension()) {
            (Field::Date, _) => match civil::date(text, hand.order, hand.guess) {
                Some(date) => value.text = Some(date.iso),
                None => continue,
            },
            (Field::Restraint, _) => {
                page.restraint = terms::restraint(text).map(|r| (r, 0, text.clone()));
                continue;
            }
            (Field::Service, _) => {
                page.service_note = Some((text.clone(), 0));
                continue;
            }
            (_, Some(dimension)) => {
                let unit = match field {
                    Field::Range | Field::StatedBaseline => Some(hand.flow),
                    _ => None,
                };
                match read(text, dimension, unit, hand.decimal) {
                    Ok(read) => value.quantity = Some(Quantity::read(read.si, text.as_str(), read.unit)),
                    Err(_) => continue,
                }
                if field == Field::StatedBaseline {
                    page.baseline_kind = Some(page::baseline_kind(&terms::plain(text)));
                }
            }
            _ => value.text = Some(text.clone()),
        }
        page.values.push(value);
    }
}

/// Lists of reports as JSON; they hold nothing that JSON cannot.
fn json<T: Serialize>(list: &[T]) -> String {
    serde_json::to_string(list).expect("reports hold only text and finite numbers")
}

impl<'w> Ready<'w> {
    fn stage(&mut self, draft: &mut Draft<'_, '_>) {
        let sheet: &'w Sheet = self.paper.sheet;
        if let Some((layout, unit)) = &self.grid {
            grid::stage(draft, &self.paper, &self.found, layout, *unit, self.decimal);
            return;
        }
        let mut columns = Columns::of(&self.found.columns, self.decimal);
        let comments: Vec<String> = self
            .found
            .above
            .iter()
            .chain(&self.found.comments)
            .map(|r| {
                sheet.rows[*r]
                    .cells()
                    .map(|c| c.raw.trim())
                    .filter(|t| !t.is_empty())
                    .collect::<Vec<_>>()
                    .join(", ")
            })
            .collect();
        let text: Vec<&str> = comments.iter().map(String::as_str).collect();
        let rows: Vec<&Row> = self.found.rows.iter().take(400).map(|r| &sheet.rows[*r]).collect();
        columns.mark_repeats(&text, &rows, &sheet.merged, self.paper.canonical);
        match self.found.shape {
            Shape::Listed(Group::Parts) => parts::stage(draft, &self.paper, &self.found, &mut columns),
            Shape::Listed(Group::Guesses) => others::guesses(draft, &self.paper, &self.found, &mut columns),
            Shape::Listed(Group::Ratings) => others::ratings(draft, &self.paper, &self.found, &mut columns),
            _ => runs::stage(draft, &self.paper, &self.found, &mut columns),
        }
    }

    fn kind(&self) -> TableKind {
        match self.found.shape {
            Shape::Grid => TableKind::Matrix,
            Shape::Listed(Group::Parts) => TableKind::Parts,
            Shape::Listed(Group::Guesses) => TableKind::Predictions,
            Shape::Listed(Group::Ratings) => TableKind::Ratings,
            Shape::Listed(Group::Runs) if self.paper.winners => TableKind::Winners,
            Shape::Listed(Group::Runs) => TableKind::Runs,
        }
    }

    fn describe(&self) -> String {
        if let Some((layout, _)) = &self.grid {
            let cells = match layout.cells {
                Field::Flow => "flows",
                Field::StatedLossPercent => "losses in percent",
                _ => "losses",
            };
            return format!("{}s down, {}s across, cells are {cells}", layout.down, layout.across);
        }
        let what = match self.kind() {
            TableKind::Runs if self.paper.canonical => "canonical sheet of runs",
            TableKind::Runs => "runs, one a row",
            TableKind::Parts => "parts, one a row",
            TableKind::Winners => "list from best to worst",
            TableKind::Predictions => "guesses, one a row",
            TableKind::Ratings => "rated flows, one a row",
            TableKind::Matrix => "grid",
        };
        what.to_owned()
    }

    fn report(&self, file: Uuid, ambiguous: &[(Uuid, u32, String)]) -> (SheetTable, TableReport) {
        let sheet = self.paper.sheet;
        let number = |index: &usize| sheet.rows[*index].number();
        let columns: Vec<ColumnReport> = self
            .found
            .columns
            .iter()
            .map(|c| ColumnReport {
                column: c.header.column,
                header: c.header.text.clone(),
                field: c.field.map(|f| f.name().into_owned()),
                unit: c.unit.map(|u| u.symbol().to_owned()),
                confidence: c.confidence,
            })
            .collect();
        let report = TableReport {
            sheet: sheet.name.clone(),
            kind: self.kind(),
            layout: self.layout.clone(),
            header_row: number(&self.found.header),
            first_row: self.found.rows.first().map_or(0, number),
            last_row: self.found.rows.last().map_or(0, number),
            rows: self.found.rows.len(),
            decimal: self.decimal.map(|d| if d == Decimal::Comma { ',' } else { '.' }),
            columns,
            page: self.page_entries(ambiguous),
        };
        let record = SheetTable {
            id: self.paper.table,
            file: Some(file),
            sheet: report.sheet.clone(),
            kind: Some(report.kind),
            header_row: Some(i64::from(report.header_row)),
            first_row: Some(i64::from(report.first_row)),
            layout: Some(report.layout.clone()),
            columns: Some(json(&report.columns)),
            page: Some(json(&report.page)),
            decimal: report.decimal.map(String::from),
            last_row: Some(i64::from(report.last_row)),
        };
        (record, report)
    }

    fn page_entries(&self, ambiguous: &[(Uuid, u32, String)]) -> Vec<PageEntry> {
        let page = &self.paper.page;
        let term = |field: &str, row: u32, raw: &str, value: String| PageEntry {
            field: field.to_owned(),
            row: (row > 0).then_some(row),
            raw: raw.to_owned(),
            value: Some(value),
            si: None,
            si_unit: None,
            assumed: false,
        };
        let mut out: Vec<PageEntry> = page
            .values
            .iter()
            .map(|v| PageEntry {
                field: v.field.name().into_owned(),
                row: v.row,
                raw: v.raw.clone(),
                value: v.text.clone(),
                si: v.quantity.as_ref().map(|q| q.si),
                si_unit: v.quantity.as_ref().and_then(Quantity::unit).map(cells::si_unit),
                assumed: v.assumed,
            })
            .collect();
        if let Some((layout, _)) = &self.grid {
            let row = self.paper.sheet.rows[self.found.header].number();
            for (kind, name) in &layout.held {
                out.push(term(&layer_field(*kind).name(), row, name, name.clone()));
            }
        }
        if let (Some(kind), Some(value)) = (page.baseline_kind, page.get(Field::StatedBaseline)) {
            out.push(term(
                "stated_baseline_kind",
                value.row.unwrap_or(0),
                &value.raw,
                kind.name().to_owned(),
            ));
        }
        if let Some((held, row, raw)) = &page.restraint {
            out.push(term("restraint", *row, raw, held.name().to_owned()));
        }
        if let Some((text, row)) = &page.service_note {
            out.push(term("service", *row, text, text.clone()));
        }
        if let Some((number, row, raw)) = &page.readings_each {
            out.push(term("readings", *row, raw, number.to_string()));
        }
        if page.ambiguous_date
            && let Some(date) = page.get(Field::Date)
        {
            out.push(term(
                "date_ambiguous",
                date.row.unwrap_or(0),
                &date.raw,
                date.text.clone().unwrap_or_default(),
            ));
        }
        for (_, row, raw) in ambiguous.iter().filter(|a| a.0 == self.paper.table) {
            out.push(term("date_ambiguous", *row, raw, raw.clone()));
        }
        out
    }
}
