//! A table with everything settled but its rows: reads them, and tells how it was understood.

use super::cells::Columns;
use super::draft::Draft;
use super::prepare::layer_field;
use super::report::{ColumnReport, PageEntry, TableReport};
use super::table::{Found, Shape};
use super::{Paper, cells, grid, others, parts, runs};
use crate::map::{Field, Group};
use crate::reader::{Row, Sheet};
use airshelf_catalog::{Quantity, SheetTable, TableKind, Uuid};
use airshelf_units::{Decimal, Unit};
use serde::Serialize;

/// A table with everything settled but its rows.
pub(super) struct Ready<'w> {
    pub(super) found: Found,
    pub(super) paper: Paper<'w>,
    pub(super) decimal: Option<Decimal>,
    /// How a grid is laid out, and the unit of its cells.
    pub(super) grid: Option<(grid::Layout, Option<Unit>)>,
    pub(super) layout: String,
}

/// Lists of reports as JSON; they hold nothing that JSON cannot.
fn json<T: Serialize>(list: &[T]) -> String {
    serde_json::to_string(list).expect("reports hold only text and finite numbers")
}

impl<'w> Ready<'w> {
    pub(super) fn stage(&mut self, draft: &mut Draft<'_, '_>) {
        let sheet: &'w Sheet = self.paper.sheet;
        if let Some((layout, unit)) = &self.grid {
            grid::stage(draft, &self.paper, &self.found, layout, *unit, self.decimal);
            return;
        }
        let mut columns =
            Columns { literal: self.found.exported, ..Columns::of(&self.found.columns, self.decimal) };
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
            Shape::Grid(_) => TableKind::Matrix,
            Shape::Listed(Group::Parts) => TableKind::Parts,
            Shape::Listed(Group::Guesses) => TableKind::Predictions,
            Shape::Listed(Group::Ratings) => TableKind::Ratings,
            Shape::Listed(Group::Runs) if self.paper.winners => TableKind::Winners,
            Shape::Listed(Group::Runs) => TableKind::Runs,
        }
    }

    pub(super) fn describe(&self) -> String {
        if let Some((layout, _)) = &self.grid {
            let cells = match layout.cells {
                Field::Flow => "flows",
                Field::StatedLossPercent => "losses in percent",
                _ => "losses",
            };
            if let Some(outer) = layout.outer {
                return format!(
                    "{outer}s and {}s down, {}s across, cells are {cells}",
                    layout.down, layout.across
                );
            }
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

    pub(super) fn report(&self, file: Uuid, ambiguous: &[(Uuid, u32, String)]) -> (SheetTable, TableReport) {
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
