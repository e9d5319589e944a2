//! The cells of one row, each read as its column's field; knows nothing of the records.

use super::compound::{pressure_beside, sized, split_at_pressure};
use super::kept::RawRows;
use crate::map::Field;
use crate::reader::Row;
use crate::stage::cells::{Columns, quantity, si_unit, whole};
use crate::stage::terms::not_run;
use crate::stage::{Conversion, Convert, Paper, terms};
use airshelf_catalog::{
    Claim, Direction, PartDimension, PartKind, Quantity, Refit, Restraint, Service, SheetRows,
};
use airshelf_units::{Dimension, Unit, read_sizes};

/// Terms already read; a table uses few.
pub(super) struct Read<T>(pub(super) Vec<(String, Option<T>)>);

impl<T: Copy> Read<T> {
    pub(super) fn of(&mut self, text: &str, read: impl Fn(&str) -> Option<T>) -> Option<T> {
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
pub(super) struct Line<'w> {
    pub(super) session: &'w str,
    pub(super) date: &'w str,
    pub(super) date_column: usize,
    pub(super) bench: &'w str,
    pub(super) range: Option<Quantity>,
    pub(super) item: &'w str,
    pub(super) purpose: &'w str,
    pub(super) purpose_column: usize,
    pub(super) order: &'w str,
    pub(super) clock: &'w str,
    pub(super) base: &'w str,
    pub(super) layers: [&'w str; 5],
    pub(super) assembly: &'w str,
    pub(super) stud: &'w str,
    pub(super) restraint: Option<Restraint>,
    pub(super) service: Option<Service>,
    pub(super) direction: Option<Direction>,
    pub(super) refit: Option<Refit>,
    pub(super) set: Option<Quantity>,
    pub(super) actual: Option<Quantity>,
    pub(super) flow: Option<Quantity>,
    /// The flow as a share of the range, with its column.
    pub(super) share: Option<(Quantity, usize)>,
    pub(super) air: Option<Quantity>,
    pub(super) meter: Option<Quantity>,
    pub(super) barometer: Option<Quantity>,
    pub(super) humidity: Option<Quantity>,
    pub(super) note: Option<String>,
    pub(super) photo: Option<String>,
    pub(super) claim: Claim,
    pub(super) claims: bool,
    pub(super) measures: Vec<(PartKind, PartDimension, Quantity, usize)>,
    pub(super) broken: Vec<(usize, String)>,
    pub(super) no_flow: Option<String>,
}

/// Reads the cells of one row after the other; knows nothing of the records.
pub(super) struct Cells<'p, 'w, 'c> {
    pub(super) paper: &'p Paper<'w>,
    pub(super) columns: &'p mut Columns<'w>,
    pub(super) convert: Option<&'c mut Convert<'c>>,
    pub(super) restraints: Read<Restraint>,
    pub(super) services: Read<Service>,
    pub(super) directions: Read<Direction>,
    pub(super) refits: Read<Refit>,
    pub(super) raw: RawRows,
    pub(super) sheet_rows: Vec<SheetRows>,
}

impl<'w> Cells<'_, 'w, '_> {
    fn converted(&mut self, conversion: Conversion<'_>) {
        if let Some(convert) = &mut self.convert {
            convert(conversion);
        }
    }

    pub(super) fn line(&mut self, row: &'w Row) -> Line<'w> {
        self.raw.keep(row, self.paper.table, &mut self.sheet_rows);
        let mut line = Line::default();
        let (decimal, literal) = (self.columns.decimal, self.columns.literal);
        // The columns are put back below; a cell may need the rest of `self`.
        let mut columns = std::mem::take(&mut self.columns.list);
        for column in &mut columns {
            let text = Columns::text(column, row, literal);
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
                            let reason = column.reason(&error);
                            if field == Field::Flow {
                                line.no_flow = Some(reason.clone());
                            }
                            line.broken.push((column.index, reason));
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
                        .of(text, |t| legend.read(t, |t| terms::restraint_under(&column.header, t)));
                    if line.restraint.is_none() && !not_run(text) {
                        line.broken.push((column.index, unread(text, "restraint")));
                    }
                }
                Field::Service => {
                    let legend = &self.paper.page.legend;
                    line.service = self.services.of(text, |t| legend.read(t, terms::service));
                    if line.service.is_none() && !not_run(text) {
                        line.broken.push((column.index, unread(text, "service state")));
                    }
                }
                Field::Direction => {
                    let legend = &self.paper.page.legend;
                    line.direction = self.directions.of(text, |t| legend.read(t, terms::direction));
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
        if line.flow.is_none() && line.no_flow.is_none() {
            line.flow_of_range(self.paper.page.quantity(Field::Range));
        }
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
        column: &crate::stage::cells::Column<'w>,
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

impl Line<'_> {
    /// Makes a flow of the share of the range that a meter showed; the range is the row's own, else the page's.
    fn flow_of_range(&mut self, page: Option<&Quantity>) {
        let Some((share, column)) = self.share.take() else { return };
        match self.range.as_ref().or(page) {
            Some(range) => {
                let shown = |q: &Quantity| q.raw().unwrap_or_default().to_owned();
                let unit = range.unit().unwrap_or(Unit::M3_S);
                let raw = format!("{} % of {}", shown(&share).trim_end_matches(['%', ' ']), shown(range));
                self.flow = Some(Quantity::read(share.si * range.si, raw, unit));
            }
            None => {
                let reason = "the flow is in percent of a range that neither the row nor its page states";
                self.no_flow = Some(reason.to_owned());
                self.broken.push((column, reason.to_owned()));
            }
        }
    }

    pub(super) fn put(&mut self, field: Field, value: Quantity, column: usize) {
        let claim = match field {
            Field::StatedBaseline => &mut self.claim.stated_baseline,
            Field::StatedLoss => &mut self.claim.stated_loss,
            Field::StatedLossPercent => &mut self.claim.stated_loss_percent,
            Field::Leakage => &mut self.claim.leakage,
            Field::NetFlow => &mut self.claim.net_flow,
            Field::FlowAtSetPressure => &mut self.claim.flow_at_set_pressure,
            Field::FlowAtReferenceAir => &mut self.claim.flow_at_reference_air,
            Field::FlowPercent => {
                self.share = Some((value, column));
                return;
            }
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

pub(super) fn unread(text: &str, what: &str) -> String {
    format!("`{text}` is no {what} known here")
}
