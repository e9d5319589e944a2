//! Which rows are data, and which are means, remarks and lines of a page.

use super::{Found, Shape};
use crate::map::{Field, Group, Header};
use crate::reader::{Row, Sheet};
use crate::stage::terms::{kind, no_part, purpose, summary};

impl Found {
    pub fn has(&self, field: Field) -> bool {
        self.columns.iter().any(|c| c.field == Some(field))
    }

    /// How many columns the names of a grid's rows take.
    pub fn labels(&self) -> usize {
        if let Shape::Grid(labels) = self.shape { labels } else { 1 }
    }

    /// The column in which the names of a grid's rows stand.
    pub fn names(&self) -> usize {
        self.columns.get(self.labels() - 1).map_or(self.span.from, |c| c.header.column)
    }

    /// The column of names to the left of that, of which one may stand for several rows.
    pub fn outer_names(&self) -> Option<usize> {
        (self.labels() > 1).then(|| self.columns.first().map(|c| c.header.column))?
    }

    pub(super) fn text<'r>(&self, row: &'r Row, field: Field) -> &'r str {
        self.columns.iter().find(|c| c.field == Some(field)).map_or("", |c| row.text(c.header.column).trim())
    }

    /// Takes the row in if it is data or a comment within the data; gives whether it did.
    pub(super) fn take(&mut self, sheet: &Sheet, at: usize, above: &mut Vec<usize>) -> bool {
        let row = &sheet.rows[at];
        if row.is_comment() {
            self.comments.push(at);
            // It may stand above the next table instead.
            if above.last() != Some(&at) {
                above.push(at);
            }
            return true;
        }
        if !self.is_data(row) {
            return false;
        }
        self.rows.push(at);
        above.clear();
        true
    }

    /// Whether a row follows the header or the last row without a blank one between.
    pub(super) fn goes_on(&self, sheet: &Sheet, at: usize) -> bool {
        let last = self.rows.last().max(self.comments.last()).copied().unwrap_or(self.header);
        let Some(before) = at.checked_sub(1).filter(|before| *before >= last) else { return false };
        let before = &sheet.rows[before];
        let lines = before.raw().matches('\n').count() as u32;
        sheet.rows[at].number() <= before.number() + 1 + lines
    }

    /// Takes in a row of an exported sheet, where everything that is no remark is one.
    pub(super) fn take_exported(&mut self, sheet: &Sheet, at: usize, above: &mut Vec<usize>) {
        let row = &sheet.rows[at];
        if row.cells().all(|c| c.raw.trim().is_empty()) {
            return;
        }
        // A tag may begin with the mark of remarks; then what it is stands beside it.
        let told = [Field::Kind, Field::Purpose].iter().any(|f| !self.text(row, *f).is_empty());
        if row.is_comment() && !told {
            self.comments.push(at);
        } else {
            self.rows.push(at);
            above.clear();
        }
    }

    /// Whether a row is this table's, and its header was plain enough to say so.
    pub(super) fn holds(&self, row: &Row) -> bool {
        let known: Vec<f64> =
            self.columns.iter().filter(|c| c.field.is_some()).map(|c| c.confidence).collect();
        let plain = known.len() >= 4 && known.iter().sum::<f64>() >= 0.85 * known.len() as f64;
        // A corner with both its kinds in it heads a grid anywhere.
        let corner = row.text(self.span.from).contains(['\\', '/', '×']);
        plain && !corner && matches!(self.shape, Shape::Listed(_)) && self.is_data(row)
    }

    fn is_data(&self, row: &Row) -> bool {
        if let Shape::Grid(labels) = self.shape {
            let headers: Vec<Header> = self.columns.iter().map(|c| c.header.clone()).collect();
            return super::grids::is_row(row, labels, &headers, self.span);
        }
        let mut filled = 0;
        let mut first = "";
        for cell in row.cells() {
            let text = cell.raw.trim();
            if text.is_empty() || !self.span.has(cell.column) {
                continue;
            }
            filled += 1;
            if filled == 1 {
                first = text;
            }
            // A line of means may stand anywhere; its word comes before its number.
            if filled <= 3 && text.as_bytes()[0].is_ascii_alphabetic() && summary(text) && self.no_order(row)
            {
                return false;
            }
            if filled > 3 {
                break;
            }
        }
        let few = self.columns.len() <= 3;
        let tagged = self.shape == Shape::Listed(Group::Parts) && is_tag(self.text(row, Field::Tag));
        if (filled < 2 && !tagged) || (filled == 2 && !few && first.ends_with(':')) {
            return false;
        }
        match self.shape {
            Shape::Listed(Group::Runs) => self.is_run(row, filled),
            Shape::Listed(Group::Parts) => {
                let named = !self.text(row, Field::Tag).is_empty() || !self.text(row, Field::Name).is_empty();
                let typed =
                    || !self.text(row, Field::Tag).is_empty() && kind(self.text(row, Field::Kind)).is_some();
                named && (filled > 2 || few || tagged || typed())
            }
            Shape::Listed(Group::Guesses) => [Field::Guess, Field::Low, Field::High, Field::Place]
                .iter()
                .any(|f| self.text(row, *f).contains(|c: char| c.is_ascii_digit())),
            Shape::Listed(Group::Ratings) => {
                self.text(row, Field::Flow).contains(|c: char| c.is_ascii_digit())
            }
            Shape::Grid(_) => false,
        }
    }

    /// `Air, 75 F, Barometer, 29.6 inHg` between two tables: a label where the order or the purpose should be.
    fn is_page_line(&self, row: &Row) -> bool {
        if self.span.from > 0 {
            return false;
        }
        let first = row.text(0).trim();
        if !first.as_bytes().first().is_some_and(u8::is_ascii_alphabetic) {
            return false;
        }
        let at_start = self.columns.iter().find(|c| c.header.column == 0).and_then(|c| c.field);
        matches!(at_start, Some(Field::Order | Field::Clock) | None)
            && crate::stage::page::is_label(first)
            && purpose(self.text(row, Field::Purpose)).is_none()
    }

    fn no_order(&self, row: &Row) -> bool {
        self.text(row, Field::Order).is_empty()
            || !self.text(row, Field::Order).starts_with(|c: char| c.is_ascii_digit())
    }

    /// A row holds a run if it has a result, or says that it is one and has none.
    fn is_run(&self, row: &Row, filled: usize) -> bool {
        let result = [
            Field::Flow,
            Field::NetFlow,
            Field::StatedLoss,
            Field::StatedLossPercent,
            Field::Leakage,
            Field::FlowPercent,
        ]
        .iter()
        .any(|f| {
            let text = self.text(row, *f);
            let body = text.trim_start_matches(['-', '−', '+', '(', '~', '<', '>', '=', ' ']);
            let number = body.starts_with(|c: char| c.is_ascii_digit());
            (number && !of_another_kind(body, *f)) || crate::stage::terms::ditto(text)
        });
        if self.is_page_line(row) {
            return false;
        }
        let ordered = || {
            let order = self.text(row, Field::Order);
            order.len() <= 8 && order.contains(|c: char| c.is_ascii_digit())
        };
        let stated = || purpose(self.text(row, Field::Purpose)).is_some();
        let parted = || {
            [Field::Filter, Field::Lid, Field::Base, Field::Assembly, Field::VelocityStack]
                .iter()
                .any(|f| !no_part(self.text(row, *f)))
        };
        let placed = || !self.text(row, Field::Place).is_empty();
        if result {
            // A lone number below the table is a mean or a remark.
            return filled > 3 || ordered() || stated() || parted() || placed() || self.columns.len() <= 3;
        }
        // A baseline without a reading may state the one that its page goes by.
        let states = || {
            purpose(self.text(row, Field::Purpose)) == Some(airshelf_catalog::Purpose::Baseline)
                && self.text(row, Field::StatedBaseline).starts_with(|c: char| c.is_ascii_digit())
        };
        let named = || stated() || parted();
        (ordered() && named()) || filled > 2 && (states() || self.has(Field::Order) && placed() && named())
    }
}

/// Whether a text is a tag as shelves have them: letters and a number, in one short word.
fn is_tag(text: &str) -> bool {
    text.len() <= 12
        && !text.contains(char::is_whitespace)
        && text.starts_with(char::is_alphabetic)
        && text.contains(|c: char| c.is_ascii_digit())
}

/// Whether a number stands in a unit that the field cannot have: `29.6 inHg` is no flow.
fn of_another_kind(text: &str, field: Field) -> bool {
    if text.ends_with(|c: char| c.is_ascii_digit()) || text.contains('@') {
        return false;
    }
    let measured = field.dimension();
    airshelf_units::read_any(text, None)
        .is_ok_and(|r| Some(r.unit.dimension()) != measured && !r.unit.shown().is_empty())
}
