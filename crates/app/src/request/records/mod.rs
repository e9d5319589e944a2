//! Old records: sheets in, what is wrong with them, what could not be taken.
//!
//! [`sheet`] shows a file before anything is kept of it, [`files`] what was imported, [`faults`] the audit,
//! [`mend`] what a person decides about a fault, [`aside`] rows that could not be taken.

mod aside;
mod faults;
mod files;
mod mend;
mod said;
mod sheet;

#[cfg(test)]
mod tests;

use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::import::FileIn;
use crate::keep::UndoReport;
use crate::mending::{AsideCells, RowMended};
use crate::shelf::Shelf;
use airshelf_intake::stage::CellText;
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

pub use aside::{AsideList, AsideRow};
pub use faults::{Choice, FaultList, FaultRow, RuleCount};
pub use files::{FileList, FileRow, Kept, KeptFile};
pub use mend::ChangeOffered;
pub use said::{ColumnSaid, FieldOffered, FieldsOffered, TableSaid, UnitOffered};
pub use sheet::{
    CellShown, ColumnShown, DryRun, HeadShown, PageLine, RowShown, SheetRead, SheetRows, TableShown,
};

/// A question about old records.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "RecordsAsked")]
pub enum Asked {
    /// Reads the attached files and says what an import would do; nothing is kept.
    DryRun {
        /// The names of the attached files, in their order.
        names: Vec<String>,
        /// What a person says of their headers and columns.
        #[serde(default)]
        said: Vec<TableSaid>,
    },
    /// Rows of a table of the one attached file beside their reading.
    SheetRows {
        /// The file's name.
        name: String,
        /// What a person says of its headers and columns.
        #[serde(default)]
        said: Vec<TableSaid>,
        /// Which of its tables, from 0.
        table: usize,
        /// How many rows of it to pass over.
        from: usize,
        /// How many at most.
        count: usize,
    },
    /// Keeps what the attached files hold; each whole or not at all.
    Import {
        /// The names of the attached files, in their order.
        names: Vec<String>,
        /// What a person says of their headers and columns.
        #[serde(default)]
        said: Vec<TableSaid>,
    },
    /// The old notebook that belongs to the demo; nothing on any other shelf.
    DemoNotebook {
        /// Which of its files is wanted as bytes, from 0; none for their names.
        file: Option<usize>,
    },
    /// What was imported.
    Files,
    /// Takes an import back: its rows are hidden, and undoing that brings them back.
    TakeBack {
        /// The file.
        file: Uuid,
    },
    /// What is wrong with the records.
    Audit {
        /// A session's id or name; none for all.
        session: Option<String>,
        /// Only this severity: `block`, `warn` or `inform`.
        severity: Option<String>,
        /// Only this rule.
        rule: Option<String>,
        /// How many to pass over.
        from: usize,
        /// How many at most.
        count: usize,
    },
    /// Lets a fault stand: a person looked at it, and it is no fault.
    LetStand {
        /// The record at fault.
        subject: Uuid,
        /// The rule.
        rule: String,
        /// Why.
        reason: String,
    },
    /// Accepts a repair.
    Repair {
        /// The record at fault.
        subject: Uuid,
        /// The rule.
        rule: String,
        /// Which of the values offered, from 0.
        choice: usize,
    },
    /// Puts another value where a fault is than those offered.
    RepairWith {
        /// The record at fault.
        subject: Uuid,
        /// The rule.
        rule: String,
        /// The value as a person writes it.
        text: String,
    },
    /// Rows and cells that could not be taken.
    Quarantine {
        /// How many to pass over.
        from: usize,
        /// How many at most.
        count: usize,
    },
    /// The cells of a row that could not be taken.
    Aside {
        /// Which.
        id: Uuid,
    },
    /// Takes such a row again, with what a person says stands in its cells.
    TakeAgain {
        /// Which.
        id: Uuid,
        /// The cells that were changed.
        cells: Vec<CellSaid>,
    },
    /// Puts a row that could not be taken away for good; undoing that brings it back.
    Dismiss {
        /// Which.
        id: Uuid,
    },
}

/// What a person says stands in a cell.
#[derive(Clone, Debug, Deserialize, TS)]
pub struct CellSaid {
    /// The column, from 0.
    pub column: usize,
    /// Its text.
    pub text: String,
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "RecordsAnswer")]
pub enum Answer {
    /// What each file holds.
    DryRun(DryRun),
    /// Rows.
    SheetRows(SheetRows),
    /// What was kept.
    Import(Kept),
    /// Names of the notebook's files; the bytes of one stand beside.
    DemoNotebook(Vec<String>),
    /// Imported files.
    Files(FileList),
    /// What changed.
    TakeBack(UndoReport),
    /// Faults.
    Audit(FaultList),
    /// What changed.
    LetStand(Changed),
    /// What changed.
    Repair(Changed),
    /// What changed.
    RepairWith(Changed),
    /// What stands aside.
    Quarantine(AsideList),
    /// Its cells.
    Aside(AsideCells),
    /// What came of it.
    TakeAgain(RowMended),
    /// What changed.
    Dismiss(Changed),
}

pub(super) fn answer(
    shelf: &mut Shelf,
    asked: Asked,
    attached: Vec<Vec<u8>>,
    progress: crate::Progress<'_>,
    bytes: &mut Option<Vec<u8>>,
) -> Result<Answer, Fault> {
    Ok(match asked {
        Asked::DryRun { names, said } => {
            Answer::DryRun(sheet::dry_run(shelf, files_of(names, attached)?, &said, progress)?)
        }
        Asked::SheetRows { name, said, table, from, count } => {
            let mut files = files_of(vec![name], attached)?;
            Answer::SheetRows(sheet::rows(shelf, &files.remove(0), &said, table, (from, count))?)
        }
        Asked::Import { names, said } => {
            Answer::Import(files::keep(shelf, files_of(names, attached)?, &said, progress)?)
        }
        Asked::DemoNotebook { file } => Answer::DemoNotebook(files::notebook(shelf, file, bytes)?),
        Asked::Files => Answer::Files(files::list(shelf)?),
        Asked::TakeBack { file } => Answer::TakeBack(shelf.take_back(file)?),
        Asked::Audit { session, severity, rule, from, count } => {
            let wanted = faults::Wanted { severity: severity.as_deref(), rule: rule.as_deref(), from, count };
            Answer::Audit(faults::list(shelf, session.as_deref(), &wanted)?)
        }
        Asked::LetStand { subject, rule, reason } => {
            Answer::LetStand(mend::let_stand(shelf, subject, &rule, &reason)?)
        }
        Asked::Repair { subject, rule, choice } => {
            Answer::Repair(mend::repair(shelf, subject, &rule, choice)?)
        }
        Asked::RepairWith { subject, rule, text } => {
            Answer::RepairWith(mend::repair_with(shelf, subject, &rule, &text)?)
        }
        Asked::Quarantine { from, count } => Answer::Quarantine(aside::list(shelf, from, count)?),
        Asked::Aside { id } => Answer::Aside(shelf.aside_cells(&id.to_string())?),
        Asked::TakeAgain { id, cells } => {
            let cells: Vec<CellText> = cells
                .into_iter()
                .map(|cell| CellText { column: cell.column, text: cell.text.trim().to_owned() })
                .collect();
            Answer::TakeAgain(shelf.take_again(id, &cells)?)
        }
        Asked::Dismiss { id } => Answer::Dismiss(aside::dismiss(shelf, id)?),
    })
}

fn files_of(names: Vec<String>, attached: Vec<Vec<u8>>) -> Result<Vec<FileIn>, Fault> {
    if names.len() != attached.len() || names.is_empty() {
        let what = format!("{} names for {} files", names.len(), attached.len());
        return Err(Fault::new(Code::BadArgument, what));
    }
    Ok(names.into_iter().zip(attached).map(|(path, bytes)| FileIn { path, bytes }).collect())
}
