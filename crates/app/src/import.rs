//! Old records in: read, stage, audit, and, if asked, keep.

use crate::audited::{FaultReport, report};
use crate::code::{Code, Fault};
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::limits::Limits as AuditLimits;
use airshelf_catalog::{Records, RecordsPart, SheetTable, Uuid};
use airshelf_intake::audit::{Fault as Found, Scope as AuditScope, audit};
use airshelf_intake::map::{MapFault, Mapping};
use airshelf_intake::reader::{Limits, ReadFault, Workbook, column_name, read};
use airshelf_intake::stage::{Completed, Known, RowCounts, TableReport, complete, stage};
use airshelf_store::{Completing, Pace};
use airshelf_units::System;
use serde::Serialize;
use std::collections::{HashMap, HashSet};
use std::sync::{Arc, mpsc};
use ts_rs::TS;

/// A file to import.
#[derive(Clone, Debug)]
pub struct FileIn {
    /// The path as given.
    pub path: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// What is asked of an import.
#[derive(Clone, Copy, Debug)]
pub struct ImportAsked<'a> {
    /// Keep what was read; without it, nothing is written.
    pub write: bool,
    /// What a person says about the columns.
    pub mapping: Option<&'a Mapping>,
    /// List every measured cell as it was read.
    pub conversions: bool,
    /// A person's units, for the sentences.
    pub system: System,
}

/// `airshelf import`.
#[derive(Clone, Debug, Default, Serialize, TS)]
pub struct ImportReport {
    /// Whether it was kept.
    pub written: bool,
    /// One for each file.
    pub files: Vec<FileReport>,
}

impl ImportReport {
    /// Whether any file could not be read or kept.
    pub fn failed(&self) -> bool {
        self.files.iter().any(|f| f.error.is_some())
    }
}

/// What one file held.
#[derive(Clone, Debug, Serialize, TS)]
pub struct FileReport {
    /// The path as given.
    pub file: String,
    /// Why it could not be read or kept; nothing of it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error: Option<Fault>,
    /// Its encoding, for text.
    pub encoding: Option<String>,
    /// Its tables.
    #[ts(type = "unknown[]")]
    pub tables: Vec<TableReport>,
    /// Its rows.
    #[ts(type = "unknown")]
    pub rows: RowCounts,
    /// Rows or cells that hold a run.
    pub runs: usize,
    /// Rows that hold a part.
    pub parts: usize,
    /// What is wrong with it.
    pub faults: Vec<FaultReport>,
    /// Rows and cells that could not be taken.
    pub quarantined: Vec<QuarantineReport>,
    /// Rows of headers below which no row of data stands, beside the tables.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub headers_only: Vec<HeadersReport>,
    /// Every measured cell as it was read.
    pub conversions: Vec<ConversionReport>,
}

impl FileReport {
    fn of(path: String) -> Self {
        FileReport {
            file: path,
            error: None,
            encoding: None,
            tables: Vec::new(),
            rows: RowCounts::default(),
            runs: 0,
            parts: 0,
            faults: Vec::new(),
            quarantined: Vec::new(),
            headers_only: Vec::new(),
            conversions: Vec::new(),
        }
    }

    /// What was read of it is not on the shelf.
    fn refuse(&mut self, why: Fault) {
        self.rows.taken = 0;
        self.error = Some(why);
    }

    /// A file that could not even be opened.
    pub fn refused(path: String, why: Fault) -> Self {
        FileReport { error: Some(why), ..FileReport::of(path) }
    }
}

/// A row or a cell that could not be taken.
#[derive(Clone, Debug, Serialize, TS)]
pub struct QuarantineReport {
    /// The sheet; none in text files.
    pub sheet: Option<String>,
    /// The file's own row.
    pub row: Option<i64>,
    /// The column as spelled in the file, for a cell.
    pub column: Option<String>,
    /// What stood there.
    pub raw: Option<String>,
    /// Why.
    pub reason: Option<String>,
}

/// A row of headers without data below it.
#[derive(Clone, Debug, Serialize, TS)]
pub struct HeadersReport {
    /// The sheet; none in text files.
    pub sheet: Option<String>,
    /// The file's own row.
    pub row: u32,
}

/// A measured cell as it was read.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ConversionReport {
    /// The sheet; none in text files.
    pub sheet: Option<Arc<str>>,
    /// The file's own row.
    pub row: u32,
    /// The column as spelled in the file.
    pub column: Arc<str>,
    /// What it was taken to be.
    pub field: Arc<str>,
    /// What stood there.
    pub raw: Box<str>,
    /// The value in SI units.
    pub si: f64,
    /// Their symbol.
    pub si_unit: &'static str,
}

/// How far an import is; called often, answers whether to go on.
pub type Progress<'a> = &'a mut dyn FnMut(&str, u64, u64) -> bool;

/// Files read and staged behind the shelf's records, to be audited together with them.
struct Gathered {
    records: Records,
    staged: Vec<StagedFile>,
    reports: Vec<FileReport>,
}

/// One file's stretch of the records.
struct StagedFile {
    /// Its place in the reports.
    report: usize,
    /// Counts of the records before and after its own.
    from: Vec<usize>,
    to: Vec<usize>,
    /// What it states of rows that were there before and had a blank.
    completed: Vec<Completed>,
    bytes: Vec<u8>,
}

/// Reads files without a shelf: what an import would say, with nothing kept.
///
/// # Errors
/// [`Fault`] if it was stopped; what is wrong with one file stands in that file's report.
pub fn dry_run(files: Vec<FileIn>, asked: &ImportAsked, progress: Progress) -> Result<ImportReport, Fault> {
    let mut gathered = gather(Records::default(), files, asked, &[], progress)?;
    let faults = gathered.audit(AuditLimits::default());
    gathered.report(&faults, asked.system);
    Ok(ImportReport { written: false, files: gathered.reports })
}

impl Shelf {
    /// Imports files in the order given. A dry run unless `asked.write`; then each file is kept whole or not at all.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read; what is wrong with one file stands in that file's report.
    pub fn import(
        &mut self,
        files: Vec<FileIn>,
        asked: &ImportAsked,
        progress: Progress,
    ) -> Result<ImportReport, Fault> {
        self.import_said(files, asked, &[], progress)
    }

    /// As [`Shelf::import`], with what a person says of the columns of each file by itself.
    pub(crate) fn import_said(
        &mut self,
        files: Vec<FileIn>,
        asked: &ImportAsked,
        said: &[Option<Mapping>],
        progress: Progress,
    ) -> Result<ImportReport, Fault> {
        let mut gathered = gather(self.records()?, files, asked, said, progress)?;
        let limits = self.limits();
        let (faults, refused) = if asked.write {
            // What is kept does not depend on what the audit says, so that both go on at once where there are threads.
            beside(|| gathered.audit(limits), || self.keep_all(&gathered, progress))
        } else {
            (gathered.audit(limits), Vec::new())
        };
        gathered.report(&faults, asked.system);
        for (report, fault) in refused {
            gathered.reports[report].refuse(fault);
        }
        Ok(ImportReport { written: asked.write, files: gathered.reports })
    }

    fn keep_all(&mut self, gathered: &Gathered, progress: Progress) -> Vec<(usize, Fault)> {
        let mut refused = Vec::new();
        for file in &gathered.staged {
            let path = &gathered.reports[file.report].file;
            let made = gathered.records.part(&file.from, &file.to);
            if let Err(fault) = self.keep(made, file, path, progress) {
                refused.push((file.report, fault));
            }
        }
        refused
    }

    fn keep(
        &mut self,
        made: RecordsPart,
        file: &StagedFile,
        path: &str,
        progress: Progress,
    ) -> Result<(), Fault> {
        if made.is_empty() && file.completed.is_empty() {
            // Nothing in it is new, but its original may have been lost.
            self.store.blobs().put(&file.bytes).map_err(store_fault)?;
            return Ok(());
        }
        let label = format!("import {}", file_name(path));
        let completing: Vec<Completing> = file
            .completed
            .iter()
            .map(|one| Completing { kind: one.kind, row: one.row, fields: &one.fields })
            .collect();
        let blobs = self.store.blobs().clone();
        let (told, kept) = mpsc::channel();
        let mut is_kept = None;
        let (original, imported) = beside(
            move || {
                let original = blobs.put(&file.bytes);
                let _ = told.send(original.is_ok());
                original
            },
            || {
                self.store.import_completing(made, &completing, &label, &mut |done, total| {
                    // The original is on the disk before the rows read from it are.
                    let safe = done < total || *is_kept.get_or_insert_with(|| kept.recv() == Ok(true));
                    match safe && progress("keeping", done as u64, total as u64) {
                        true => Pace::GoOn,
                        false => Pace::Stop,
                    }
                })
            },
        );
        original.map_err(store_fault)?;
        imported.map_err(store_fault)?;
        Ok(())
    }
}

/// Runs both, at once where there are threads.
#[cfg(not(target_family = "wasm"))]
fn beside<A: Send, B>(a: impl FnOnce() -> A + Send, b: impl FnOnce() -> B) -> (A, B) {
    std::thread::scope(|scope| {
        let a = scope.spawn(a);
        let b = b();
        (a.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)), b)
    })
}

/// Runs both, one after the other.
#[cfg(target_family = "wasm")]
fn beside<A, B>(a: impl FnOnce() -> A, b: impl FnOnce() -> B) -> (A, B) {
    (a(), b())
}

fn gather(
    records: Records,
    files: Vec<FileIn>,
    asked: &ImportAsked,
    said: &[Option<Mapping>],
    progress: Progress,
) -> Result<Gathered, Fault> {
    let told = |fault: MapFault| Fault::new(Code::BadArgument, fault.to_string());
    asked.mapping.into_iter().chain(said.iter().flatten()).try_for_each(Mapping::check).map_err(told)?;
    // Columns of the map that no file has so far; a file that cannot be read may have had any.
    let mut unmet: Option<Vec<(usize, usize)>> = None;
    let mut known = Known::of(&records);
    let mut gathered = Gathered { records, staged: Vec::new(), reports: Vec::new() };
    let total = files.len() as u64;
    for (report, file) in files.into_iter().enumerate() {
        if !progress("reading", report as u64, total) {
            return Err(Fault::new(Code::Stopped, "stopped; nothing was kept"));
        }
        let mapping = said.get(report).and_then(Option::as_ref).or(asked.mapping);
        let (mut told_of, made, missing) = one(&file, &known, asked, mapping);
        unmet = Some(
            unmet.map_or(missing.clone(), |all| all.into_iter().filter(|m| missing.contains(m)).collect()),
        );
        if let Some((made, completed)) = made {
            if report as u64 + 1 < total {
                known.add(&made);
                known.complete(&completed);
            }
            told_of.quarantined = quarantined(&made, &told_of.tables);
            let from = gathered.records.counts();
            gathered.records.append(made);
            let to = gathered.records.counts();
            complete(&mut gathered.records, &completed).expect("staging names fields of the model");
            gathered.staged.push(StagedFile { report, from, to, completed, bytes: file.bytes });
        }
        gathered.reports.push(told_of);
    }
    if let (Some(mapping), Some(&first)) = (asked.mapping, unmet.iter().flatten().next()) {
        return Err(told(mapping.unmet_fault(first)));
    }
    progress("auditing", 0, 1);
    Ok(gathered)
}

impl Gathered {
    /// The tables of the files, each with its file's place in the reports.
    fn tables(&self) -> HashMap<Uuid, usize> {
        let mut tables = HashMap::new();
        for file in &self.staged {
            for table in self.records.part(&file.from, &file.to).rows::<SheetTable>() {
                tables.insert(table.id, file.report);
            }
        }
        tables
    }

    fn audit(&self, limits: AuditLimits) -> Vec<Found> {
        let scope = AuditScope { tables: Some(self.tables().into_keys().collect()), limits };
        audit(&self.records, &scope)
    }

    fn report(&mut self, faults: &[Found], system: System) {
        let tables = self.tables();
        for fault in faults {
            let Some(&at) = fault.place.table.and_then(|t| tables.get(&t)) else { continue };
            let file = self.reports[at].file.clone();
            self.reports[at].faults.push(report(fault, Some(file), system));
        }
    }
}

/// What a file yields beside its report: records, and what it completes of the shelf's.
type Made = Option<(Records, Vec<Completed>)>;

/// Reads one file; last the columns of the map that it does not have.
fn one(
    file: &FileIn,
    known: &Known,
    asked: &ImportAsked,
    mapping: Option<&Mapping>,
) -> (FileReport, Made, Vec<(usize, usize)>) {
    let mut report = FileReport::of(file.path.clone());
    let name = file_name(&file.path);
    let workbook = match read(name, &file.bytes, &Limits::default()) {
        Ok(workbook) => workbook,
        Err(fault) => {
            report.error = Some(unreadable(&fault));
            return (report, None, Vec::new());
        }
    };
    let missing = mapping.map(|m| m.unmet(&workbook)).unwrap_or_default();
    report.encoding = workbook.encoding.map(str::to_owned);
    let mut conversions = Vec::new();
    let mut words = Shared::default();
    let staged = stage(name, &workbook, known, mapping, &mut |c| {
        if asked.conversions {
            conversions.push(ConversionReport {
                sheet: c.sheet.map(|s| words.of(s)),
                row: c.row,
                column: words.of(c.column),
                field: words.of(c.field),
                raw: c.raw.into(),
                si: c.si,
                si_unit: c.si_unit,
            });
        }
    });
    if staged.tables.is_empty() {
        report.error = Some(no_table(name, &workbook, &staged.rowless));
        return (report, None, missing);
    }
    report.conversions = conversions;
    report.headers_only =
        staged.rowless.into_iter().map(|(sheet, row)| HeadersReport { sheet, row }).collect();
    report.tables = staged.tables;
    report.rows = staged.rows;
    report.runs = staged.runs;
    report.parts = staged.parts;
    (report, Some((staged.records, staged.completed)), missing)
}

/// What a file without a table holds instead, so that a person finds it.
fn no_table(name: &str, workbook: &Workbook, rowless: &[(Option<String>, u32)]) -> Fault {
    if let Some((sheet, row)) = rowless.first() {
        let on = sheet.as_deref().map_or(String::new(), |s| format!(" on sheet {s}"));
        let what = format!("{name}: row {row}{on} has headers, and no row of data stands below them");
        return Fault::new(Code::UnreadableFile, what);
    }
    let sheets: Vec<String> = workbook
        .sheets
        .iter()
        .map(|sheet| {
            let cells =
                || sheet.rows.iter().flat_map(|row| row.cells().map(move |c| (row.number(), c.column)));
            let called = sheet.name.as_deref().map_or("it".into(), |n| format!("sheet {n}"));
            match (cells().next(), cells().last()) {
                (Some(first), Some(last)) => {
                    let place = |(row, column): (u32, u32)| format!("{}{row}", column_name(column));
                    format!("{called} has {} cells from {} to {}", cells().count(), place(first), place(last))
                }
                _ => format!("{called} is empty"),
            }
        })
        .collect();
    let what = format!(
        "{name}: no table was found, no row of headers such as date, flow, lid; {}",
        sheets.join("; ")
    );
    Fault::new(Code::UnreadableFile, what)
        .hint("Say with --map which row is the header and what its columns mean.")
}

fn quarantined(made: &Records, tables: &[TableReport]) -> Vec<QuarantineReport> {
    let held: HashMap<_, _> = made.sheet_tables.iter().map(|t| (t.id, t)).collect();
    let spelled = |table: &SheetTable, column: i64| {
        let report = tables
            .iter()
            .find(|t| t.sheet == table.sheet && table.header_row == Some(i64::from(t.header_row)))?;
        let column = report.columns.iter().find(|c| c.column as i64 == column)?;
        Some(column.header.clone()).filter(|header| !header.trim().is_empty())
    };
    made.quarantined
        .iter()
        .map(|q| {
            let table = q.table.and_then(|t| held.get(&t).copied());
            QuarantineReport {
                sheet: table.and_then(|t| t.sheet.clone()),
                row: q.row,
                column: q.column.map(|column| {
                    let letters = || column_name(u32::try_from(column).unwrap_or_default());
                    table.and_then(|t| spelled(t, column)).unwrap_or_else(letters)
                }),
                raw: q.raw.clone(),
                reason: q.reason.clone(),
            }
        })
        .collect()
}

/// Words that many conversions share, kept once.
#[derive(Default)]
struct Shared(HashSet<Arc<str>>);

impl Shared {
    fn of(&mut self, text: &str) -> Arc<str> {
        if let Some(held) = self.0.get(text) {
            return held.clone();
        }
        let held: Arc<str> = text.into();
        self.0.insert(held.clone());
        held
    }
}

/// The name of a file without its folders, in either system's spelling.
pub(crate) fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

fn unreadable(fault: &ReadFault) -> Fault {
    Fault::new(Code::UnreadableFile, fault.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_kept_of_a_file_whose_original_cannot_be() {
        let folder = tempfile::tempdir().unwrap();
        let dir = folder.path().join("shelf");
        let host = Arc::new(airshelf_store::native::Native::new(folder.path().join("config")));
        let mut shelf = Shelf::create(&dir, host).unwrap();
        let bytes = b"run;purpose;filter;lid;flow (L/s)\n1;baseline;;;131,96\n2;test;PF-1;LD-1;125,16\n";
        let mut import = || {
            let file = FileIn { path: "loop.csv".into(), bytes: bytes.to_vec() };
            let asked = ImportAsked { write: true, mapping: None, conversions: false, system: System::Us };
            let report = shelf.import(vec![file], &asked, &mut |_, _, _| true).unwrap();
            let error = report.files[0].error.as_ref().map(|fault| fault.message.clone());
            (error, shelf.records().unwrap().runs.len())
        };
        let blobs = dir.join("blobs");
        let _ = std::fs::remove_dir_all(&blobs);
        std::fs::write(&blobs, "no folder").unwrap();
        let (error, runs) = import();
        assert!(error.is_some_and(|error| error.contains("keeping")));
        assert_eq!(runs, 0);
        std::fs::remove_file(&blobs).unwrap();
        assert_eq!(import(), (None, 2));
    }

    fn dry(text: &str, mapping: Option<&Mapping>) -> Result<Gathered, Fault> {
        let file = FileIn { path: "list.csv".into(), bytes: text.as_bytes().to_vec() };
        let asked = ImportAsked { write: false, mapping, conversions: false, system: System::Us };
        gather(Records::default(), vec![file], &asked, &[], &mut |_, _, _| true)
    }

    #[test]
    fn losses_that_a_list_writes_negative_are_losses() {
        let flows = |losses: [&str; 3]| -> Vec<f64> {
            let [a, b, c] = losses;
            let text = format!(
                "\"Losses, carb HL-4, 301.2 CFM bare at 20 inches of water\",\nassembly,loss\n\
                 F-1 + L-1,{a}\nF-2 + L-1,{b}\nF-3 + L-1,{c}\n"
            );
            let records = dry(&text, None).unwrap().records;
            let evenings = crate::fittings::evenings(&records, &HashMap::new());
            let fittings = evenings.iter().flat_map(|e| &e.groups).flat_map(|g| &g.fittings);
            let taken = fittings.filter(|f| f.subject.is_some()).flat_map(|f| &f.readings);
            let mut flows: Vec<f64> =
                taken.map(|t| (t.flow_m3_s / 0.000_471_947_443_2 * 10.0).round() / 10.0).collect();
            flows.sort_by(f64::total_cmp);
            flows
        };
        assert_eq!(flows(["-20", "-16.8", "-11.1"]), [281.2, 284.4, 290.1]);
        // One alone against the others is a gain.
        assert_eq!(flows(["20", "16.8", "-1.1"]), [281.2, 284.4, 302.3]);
    }

    #[test]
    fn a_map_that_cannot_be_followed_is_a_bad_argument() {
        let text = "order,filter,lid,Wert\n1,F-1,L-1,270\n2,F-2,L-1,265\n";
        let code = |column: &str| {
            let map = format!("{{\"tables\":[{{\"columns\":[{column}]}}]}}");
            dry(text, Some(&serde_json::from_str(&map).unwrap())).map(|_| ()).map_err(|f| f.code)
        };
        for column in [
            r#"{"header":"Wert","field":"flowz"}"#,
            r#"{"header":"Wert","field":"flow","unit":"kPa"}"#,
            r#"{"header":"Dicke","field":"flow","unit":"L/s"}"#,
        ] {
            assert_eq!(code(column), Err(Code::BadArgument), "{column}");
        }
        assert_eq!(code(r#"{"header":"Wert","field":"flow","unit":"CFM"}"#), Ok(()));
    }
}
