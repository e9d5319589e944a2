//! Old records: sheets in, what is wrong with them, what could not be taken.

use crate::audited::AuditReport;
use crate::code::{Code, Fault};
use crate::import::{FileIn, ImportAsked, ImportReport};
use crate::shelf::Shelf;
use serde::{Deserialize, Serialize};
use ts_rs::TS;

/// A question about old records.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "RecordsAsked")]
pub enum Asked {
    /// Reads the attached files; a dry run unless they shall be kept.
    Import {
        /// The names of the attached files, in their order.
        names: Vec<String>,
        /// Keep what was read.
        write: bool,
    },
    /// What is wrong with one session, or with everything.
    Audit {
        /// A session's id or name; none for all.
        session: Option<String>,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "RecordsAnswer")]
pub enum Answer {
    /// What each file held.
    Import(ImportReport),
    /// Faults.
    Audit(AuditReport),
}

pub(super) fn answer(
    shelf: &mut Shelf,
    asked: Asked,
    attached: Vec<Vec<u8>>,
    progress: crate::Progress<'_>,
    _bytes: &mut Option<Vec<u8>>,
) -> Result<Answer, Fault> {
    let system = shelf.system();
    Ok(match asked {
        Asked::Import { names, write } => {
            if names.len() != attached.len() {
                let what = format!("{} names for {} files", names.len(), attached.len());
                return Err(Fault::new(Code::BadArgument, what));
            }
            let files = names.into_iter().zip(attached).map(|(path, bytes)| FileIn { path, bytes }).collect();
            let asked = ImportAsked { write, mapping: None, conversions: true, system };
            Answer::Import(shelf.import(files, &asked, progress)?)
        }
        Asked::Audit { session } => Answer::Audit(shelf.audit(session.as_deref(), system)?),
    })
}
