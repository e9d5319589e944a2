//! A grid of results: lids down, filters across, or the other way around.

use super::cells::{quantity, si_unit};
use super::draft::{At, Draft};
use super::runs::{RawRows, page_session, pressure_beside, put_run, split_at_pressure};
use super::settle::kind_in;
use super::table::Found;
use super::terms::{ditto, kind, kind_named, not_run, plain, says};
use super::{Conversion, Paper};
use crate::map::Field;
use airshelf_catalog::{Claim, PartKind, Purpose, Reading, Run, Uuid};
use airshelf_units::{Decimal, Unit};

/// What a grid's rows, columns and cells are.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Layout {
    /// The kind of the names to the left of those, of which one may stand for several rows.
    pub outer: Option<PartKind>,
    pub down: PartKind,
    pub across: PartKind,
    /// Parts that every cell has, such as a base.
    pub held: Vec<(PartKind, String)>,
    /// Parts that the cells of some columns have, each from a column on, as a line over the header names them.
    pub over: Vec<(usize, PartKind, String)>,
    pub cells: Field,
}

/// Reads the corner (`flat base: lid \ filter`), and where it is silent the lines above.
pub(crate) fn layout(paper: &Paper<'_>, found: &Found) -> Layout {
    let header = &paper.sheet.rows[found.header];
    if let Some(layout) = with_two_names(paper, found) {
        return layout;
    }
    let corner = header.text(found.names()).trim();
    let (label, axes) = corner.split_once([':', '|']).map_or(("", corner), |(l, a)| (l.trim(), a.trim()));
    let (label, axes) = match axes.split_once(['/', ',', ';']) {
        // `flat pan / lid against filter`: the part that all cells have stands before the axes.
        Some((held, rest)) if label.is_empty() && axes_of(rest).len() == 2 => (held.trim(), rest.trim()),
        _ => (label, axes),
    };
    let mut kinds = axes_of(axes);
    let words = &paper.page.words;
    if kinds.len() < 2 {
        let one = kinds.first().copied();
        kinds = axis_words(words)
            .or_else(|| {
                let across = across_kind(found);
                match (one, across) {
                    (Some(down), Some(across)) if down != across => Some(vec![down, across]),
                    (Some(PartKind::Filter), None) => Some(vec![PartKind::Filter, PartKind::Lid]),
                    (Some(down), None) => Some(vec![down, PartKind::Filter]),
                    (None, Some(PartKind::Lid)) => Some(vec![PartKind::Filter, PartKind::Lid]),
                    _ => None,
                }
            })
            .unwrap_or_else(|| vec![PartKind::Lid, PartKind::Filter]);
    }
    let over = over(paper, found, &kinds);
    let mut held = Vec::new();
    let labels = [label.to_owned()].into_iter().chain(paper.page.lines.iter().rev().map(|l| l.1.clone()));
    for text in labels {
        if let Some((kind, name)) = labelled(&text, &kinds).filter(|l| over.iter().all(|o| o.1 != l.0)) {
            held.push((kind, name));
            break;
        }
    }
    // What stands before the axes of a corner is the part that the axes leave.
    if held.is_empty() && over.is_empty() && !label.is_empty() && label.split_whitespace().count() <= 3 {
        let left = [PartKind::Base, PartKind::Lid, PartKind::Filter].into_iter().find(|k| !kinds.contains(k));
        held.extend(left.map(|kind| (kind, label.to_owned())));
    }
    Layout { outer: None, down: kinds[0], across: kinds[1], held, over, cells: cells_are(paper, found) }
}

/// Reads the headers of two columns of names; what stands across is what they leave, a filter before all.
fn with_two_names(paper: &Paper<'_>, found: &Found) -> Option<Layout> {
    let header = &paper.sheet.rows[found.header];
    let outer = kind(header.text(found.outer_names()?).trim())?;
    let down = kind(header.text(found.names()).trim())?;
    let own = [outer, down];
    let across = across_kind(found).filter(|kind| !own.contains(kind)).or_else(|| {
        [PartKind::Filter, PartKind::Lid, PartKind::Base].into_iter().find(|kind| !own.contains(kind))
    })?;
    let cells = cells_are(paper, found);
    Some(Layout { outer: Some(outer), down, across, held: Vec::new(), over: Vec::new(), cells })
}

/// The parts that the line right over the header names, each for the columns from its own on: `base: flat` over three
/// lids and `base: deep` over the same three again.
fn over(paper: &Paper<'_>, found: &Found, axes: &[PartKind]) -> Vec<(usize, PartKind, String)> {
    let columns = &found.columns[found.labels()..];
    let names: Vec<&str> = columns.iter().map(|c| c.header.text.as_str()).collect();
    let Some(row) = found.header.checked_sub(1).map(|at| &paper.sheet.rows[at]) else { return Vec::new() };
    let heads = || columns.iter().filter(|c| !row.text(c.header.column).trim().is_empty());
    let count = heads().count();
    // The same names stand under every head.
    let again = count > 1 && names.len().is_multiple_of(count) && {
        let each = names.len() / count;
        names.chunks(each).all(|group| group == &names[..each])
            && columns.chunks(each).all(|group| !row.text(group[0].header.column).trim().is_empty())
    };
    if !again {
        return Vec::new();
    }
    let left = [PartKind::Base, PartKind::Lid, PartKind::Filter].into_iter().find(|k| !axes.contains(k));
    let named = heads().map(|column| {
        let text = row.text(column.header.column).trim();
        let own = text.split_once(':').and_then(|(kind, name)| Some((kind_named(kind)?, name.trim())));
        let own = own.filter(|own| !axes.contains(&own.0) && !own.1.is_empty());
        let (kind, name) = own
            .map(|(kind, name)| (kind, name.to_owned()))
            .or_else(|| labelled(text, axes))
            .or(left.map(|kind| (kind, text.to_owned())))?;
        Some((column.header.column, kind, name))
    });
    named.collect::<Option<Vec<_>>>().unwrap_or_default()
}

/// The kinds of parts that a corner names: `lid \\ filter`, `lid against filter`.
fn axes_of(text: &str) -> Vec<PartKind> {
    text.split(['\\', '/', '×', '|', '>'])
        .flat_map(|part| part.split(" by "))
        .flat_map(|part| part.split(" against "))
        .flat_map(|part| part.split(" versus "))
        .flat_map(|part| part.split(" vs "))
        .filter_map(|part| kind(part.trim()))
        .collect()
}

/// `lids down, filters across` in a title.
fn axis_words(words: &str) -> Option<Vec<PartKind>> {
    let list: Vec<&str> = words.split(' ').collect();
    let before =
        |mark: &str| list.windows(2).find(|w| w[1] == mark).and_then(|w| kind(w[0].trim_end_matches('s')));
    Some(vec![before("down").or_else(|| before("downward"))?, before("across")?])
}

fn across_kind(found: &Found) -> Option<PartKind> {
    let kinds: Vec<PartKind> =
        found.columns.iter().skip(found.labels()).filter_map(|c| kind_in(&plain(&c.header.text))).collect();
    let first = *kinds.first()?;
    (kinds.iter().filter(|k| **k == first).count() * 2 > kinds.len()).then_some(first)
}

/// A part that a label gives to all cells: `flat base`, `base: flat`, `on BS-1 base`.
fn labelled(text: &str, axes: &[PartKind]) -> Option<(PartKind, String)> {
    let text = text.trim().trim_end_matches(':').trim();
    if text.is_empty() || text.chars().count() > 40 || text.split_whitespace().count() > 5 {
        return None;
    }
    let words = plain(text);
    let kind = [
        (PartKind::Base, ["base", "pan", "lower part", "bottom", "tray"]),
        (PartKind::Spacer, ["spacer", "riser", "ring", "entretoise", "zwischenring"]),
        (PartKind::Lid, ["lid", "cover", "deckel", "couvercle", "tapa"]),
        (PartKind::Filter, ["filter", "element", "cleaner", "filtre", "filtro"]),
    ]
    .into_iter()
    .find(|(kind, names)| !axes.contains(kind) && names.iter().any(|n| says(&words, n)))?
    .0;
    let name = match text.split_once([':', '=']) {
        Some((_, name)) => name.trim(),
        None => {
            let text = ["on the ", "with the ", "with ", "on ", "the "]
                .iter()
                .find_map(|p| text.strip_prefix(p))
                .unwrap_or(text);
            let lower = text.to_lowercase();
            match ["base ", "spacer ", "pan "].iter().find(|p| lower.starts_with(**p)) {
                Some(prefix) => text[prefix.len()..].trim(),
                None => text,
            }
        }
    };
    (!name.is_empty()).then(|| (kind, name.to_owned()))
}

/// Whether the cells are losses, percent or flows: as the page says, else by their size against the baseline.
fn cells_are(paper: &Paper<'_>, found: &Found) -> Field {
    let page = &paper.page;
    let across =
        |column: u32| found.columns[found.labels()..].iter().any(|c| c.header.column == column as usize);
    let percent = page.percent
        || found
            .rows
            .iter()
            .any(|r| paper.sheet.rows[*r].cells().any(|c| across(c.column) && c.raw.trim().ends_with('%')));
    if page.losses {
        return if percent { Field::StatedLossPercent } else { Field::StatedLoss };
    }
    if percent && !page.flows {
        return Field::StatedLossPercent;
    }
    if page.flows {
        return Field::Flow;
    }
    let mut numbers: Vec<f64> = found
        .rows
        .iter()
        .flat_map(|r| paper.sheet.rows[*r].cells())
        .filter(|c| across(c.column))
        .filter_map(|c| {
            quantity(c.raw.trim(), c.kind, Field::Flow, Some(Unit::CFM), Some(Decimal::Point)).ok()
        })
        .map(|q| Unit::CFM.from_si(q.si))
        .collect();
    numbers.sort_by(f64::total_cmp);
    let median = numbers.get(numbers.len() / 2).copied().unwrap_or(0.0);
    let baseline = page.quantity(Field::StatedBaseline).map_or(240.0, |q| Unit::CFM.from_si(q.si));
    if median > 0.3 * baseline { Field::Flow } else { Field::StatedLoss }
}

/// Reads the cells of a grid, each a run of its own.
pub(super) fn stage(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'_>,
    found: &Found,
    layout: &Layout,
    unit: Option<Unit>,
    decimal: Option<Decimal>,
) {
    let session = page_session(draft, paper);
    let header_at = At { table: paper.table, row: paper.sheet.rows[found.header].number() };
    let mut kept = RawRows::new();
    let mut across: Vec<(usize, Uuid)> = Vec::new();
    for column in found.columns.iter().skip(found.labels()) {
        let name = column.header.text.as_str();
        across.push((column.header.column, draft.labelled(layout.across, name, header_at)));
    }
    let held: Vec<(PartKind, Uuid)> =
        layout.held.iter().map(|(kind, name)| (*kind, draft.labelled(*kind, name, header_at))).collect();
    let over: Vec<(usize, PartKind, Uuid)> = layout
        .over
        .iter()
        .map(|(from, kind, name)| (*from, *kind, draft.labelled(*kind, name, header_at)))
        .collect();
    let mut outer = "";
    for &index in &found.rows {
        let row = &paper.sheet.rows[index];
        let at = At { table: paper.table, row: row.number() };
        let own = found.outer_names().map_or("", |column| row.text(column).trim());
        if !own.is_empty() && !ditto(own) {
            outer = own;
        }
        kept.keep(row, paper.table, &mut draft.records.sheet_rows);
        draft.staged.rows.read += 1;
        let before = (draft.staged.rows.taken, draft.staged.rows.already, draft.staged.rows.cells);
        let down = draft.labelled(layout.down, row.text(found.names()).trim(), at);
        for (column, revision) in &across {
            let text = row.text(*column).trim();
            if text.is_empty() || (not_run(text) && !text.starts_with('0')) {
                continue;
            }
            draft.staged.runs += 1;
            let (number, pressure) = split_at_pressure(text).map_or((text, None), |(n, p)| (n, Some(p)));
            let kind = row.kind(*column);
            let value = quantity(number, kind, layout.cells, unit, decimal);
            let set = pressure.map(|p| pressure_beside(p, kind, paper.pressure, decimal));
            let (value, set) = match (value, set.transpose()) {
                (Ok(value), Ok(set)) => (value, set),
                (Err(error), _) | (_, Err(error)) => {
                    draft.set_aside(at, text, Some(*column), error.to_string());
                    continue;
                }
            };
            let header = paper.sheet.rows[found.header].text(*column);
            for (field, value) in [(layout.cells, Some(&value)), (Field::SetPressure, set.as_ref())] {
                let Some(value) = value else { continue };
                draft.converted(Conversion {
                    sheet: paper.sheet.name.as_deref(),
                    row: row.number(),
                    column: header.trim(),
                    field: &field.name(),
                    raw: text,
                    si: value.si,
                    si_unit: si_unit(value.unit().unwrap_or(Unit::M3_S)),
                });
            }
            let mut layers = held.clone();
            layers.extend(over.iter().rev().find(|o| o.0 <= *column).map(|o| (o.1, o.2)));
            layers.extend(
                layout
                    .outer
                    .filter(|_| !outer.is_empty())
                    .map(|kind| (kind, draft.labelled(kind, outer, at))),
            );
            layers.push((layout.down, down));
            layers.push((layout.across, *revision));
            let mut reading = Reading::default();
            let mut claim = Claim::default();
            match layout.cells {
                Field::Flow => reading.flow = Some(value),
                Field::StatedLossPercent => claim.stated_loss_percent = Some(value),
                _ => claim.stated_loss = Some(value),
            }
            let claims = layout.cells != Field::Flow;
            let run = Run {
                session: Some(session),
                purpose: Some(Purpose::Test),
                assembly: draft.assembly(&mut layers),
                set_pressure: set,
                table: Some(at.table),
                row: Some(i64::from(at.row)),
                column: Some(*column as i64),
                ..Run::default()
            };
            put_run(draft, run, reading, claims.then_some(claim), at);
        }
        // Rows are counted once, whatever their number of cells.
        let now = &mut draft.staged.rows;
        let (taken, already, aside) = (now.taken > before.0, now.already > before.1, now.cells > before.2);
        (now.taken, now.already) = (before.0, before.1);
        match (taken, already, aside) {
            (false, true, _) => now.already += 1,
            (false, false, true) => {
                draft.set_aside(at, &row.raw(), None, "no cell of the row could be read".to_owned());
            }
            // A row in which nothing was run is taken as that.
            _ => now.taken += 1,
        }
    }
    kept.flush(paper.table, &mut draft.records.sheet_rows);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_name_what_every_cell_has() {
        let axes = [PartKind::Lid, PartKind::Filter];
        assert_eq!(labelled("flat base", &axes), Some((PartKind::Base, "flat base".to_owned())));
        assert_eq!(labelled("Base: BS-1", &axes), Some((PartKind::Base, "BS-1".to_owned())));
        assert_eq!(labelled("with the dropped pan", &axes), Some((PartKind::Base, "dropped pan".to_owned())));
        assert_eq!(labelled("losses of the winter", &axes), None);
    }

    #[test]
    fn a_title_says_what_goes_down_and_across() {
        assert_eq!(
            axis_words("losses filters down lids across"),
            Some(vec![PartKind::Filter, PartKind::Lid])
        );
    }
}
