//! Rows of old sheets that could not be taken.

use super::row;
use crate::output::Output;
use airshelf_app::entry::Shown;
use airshelf_app::{AsideCells, Fault, RowMended};
use serde_json::json;

/// A row that could not be taken, with its cells, so that a person sees what to type.
pub(crate) fn aside(shown: &Shown, cells: Result<AsideCells, Fault>, out: &mut Output) {
    if out.json {
        let mut json = shown.json.clone();
        match cells {
            Ok(cells) => json.insert("cells".into(), json!(cells.cells)),
            Err(fault) => json.insert("cells_fault".into(), json!(fault)),
        };
        out.document(&json);
        return;
    }
    row(shown, out);
    match cells {
        Ok(held) => {
            let rows: Vec<Vec<String>> = held
                .cells
                .iter()
                .map(|cell| {
                    let mark = if cell.at_fault { "could not be read" } else { "" };
                    vec![cell.letters.clone(), cell.header.clone(), cell.text.clone(), mark.to_owned()]
                })
                .collect();
            out.line("");
            out.table(&["column", "header", "cell", ""], &rows);
            out.line("");
            let id: String = held.id.to_string().chars().take(13).collect();
            out.wrapped("", &format!("Take it again with: airshelf quarantine mend {id} COLUMN=TEXT …"));
        }
        Err(fault) => out.wrapped("", &fault.message),
    }
}

/// What came of a row that was taken again.
pub(crate) fn mended(mended: &RowMended, out: &mut Output) {
    out.wrapped("", &mended.said);
    for still in &mended.aside {
        out.wrapped("  still set aside: ", still);
    }
    if let Some(number) = mended.change {
        out.wrapped("", &format!("Undo with `airshelf undo {number}`."));
    }
}
