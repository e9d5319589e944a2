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
mod mend;
mod others;
mod page;
mod parts;
mod prepare;
mod raw;
mod ready;
mod report;
mod runs;
mod settle;
mod table;
mod terms;

use crate::map::{DateOrder, Field, Group, Mapping};
use crate::reader::{Format, Sheet, Workbook};
use airshelf_catalog::ids::Derived;
use airshelf_catalog::{BaselineKind, ImportFile, PartKind, Records, Uuid};
use airshelf_units::Unit;
pub use complete::{Completed, complete};
use draft::Draft;
pub use known::Known;
pub use mend::{CellText, Correction, Mended, NotMended, mend};
use page::{Hand, Page};
pub(crate) use prepare::says_something;
use prepare::{Setting, prepare};
pub use raw::{pack_rows, unpack_rows};
use ready::Ready;
pub use report::{ColumnReport, Conversion, Convert, PageEntry, RowCounts, Staged, TableReport};
use settle::Habits;
use std::collections::HashSet;
use table::{Found, Shape};
pub use terms::service_in;

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
    /// The flow that most runs are near, SI.
    pub usual_flow: Option<f64>,
    /// The order of the parts in a column of stacks, where its header tells it.
    pub stack: Vec<PartKind>,
    /// Parts that the page names for all runs of a table without a column of them.
    pub layers: [&'w str; 5],
    /// The kind of part that the title of a table of parts names: `LIDS`.
    pub titled: Option<PartKind>,
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
        mapping: mapping.filter(|m| !m.tables.is_empty()).map(Mapping::to_json),
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
                Shape::Listed(Group::Runs) | Shape::Grid(_) => 1,
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
