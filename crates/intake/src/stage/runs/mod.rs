//! Rows of runs, and lists from best to worst.

mod compound;
mod desk;
mod evenings;
mod kept;
mod line;
mod same;
mod sweeps;

use super::Paper;
use super::cells::Columns;
use super::draft::Draft;
use super::table::Found;
use crate::map::Field;
use crate::threads::ahead;
use airshelf_catalog::PartKind;
pub(crate) use compound::{pieces, pressure_beside, sized, split_at_pressure, split_stack, stack_order};
use desk::Desk;
pub(crate) use evenings::page_session;
pub(crate) use kept::RawRows;
use line::{Cells, Read};
pub(crate) use same::put_run;
use std::collections::HashMap;

pub(super) const LAYERS: [PartKind; 5] =
    [PartKind::Spacer, PartKind::Base, PartKind::VelocityStack, PartKind::Filter, PartKind::Lid];

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
        sweeps: sweeps::sweeps(paper, found),
    };
    desk.draft.expect_runs(found.rows.len());
    let rows = found.rows.iter().map(|&index| &paper.sheet.rows[index]);
    ahead(rows, |row| (row, cells.line(row)), |(row, line)| desk.take(row, line));
    desk.state_claimed();
    cells.raw.flush(paper.table, &mut cells.sheet_rows);
    draft.records.sheet_rows.append(&mut cells.sheet_rows);
    draft.convert = cells.convert;
}
