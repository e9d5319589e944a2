//! Finds the tables of a sheet: where their headers are, which rows are data, and which lines stand above.

mod grids;

use super::terms::{no_part, plain, purpose, summary};
use crate::map::columns::{Assigned, best_group, suffices};
use crate::map::{Field, Group, Header, Mapping};
use crate::reader::{CellKind, Row, Sheet};

/// What a table found holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Shape {
    /// One record a row.
    Listed(Group),
    /// Results in a grid of two kinds of parts.
    Grid,
}

/// A table of a sheet; rows as indices into [`Sheet::rows`].
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub shape: Shape,
    pub header: usize,
    pub columns: Vec<Assigned>,
    /// Lines between the table before and the header.
    pub above: Vec<usize>,
    /// Rows of data.
    pub rows: Vec<usize>,
    /// Comment lines within the table.
    pub comments: Vec<usize>,
    /// The columns that are this table's, where others stand beside it.
    pub span: Span,
}

/// Columns from the first to before the last.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Span {
    pub from: usize,
    pub to: usize,
}

impl Span {
    /// All columns of a sheet.
    pub const ALL: Span = Span { from: 0, to: usize::MAX };

    pub fn has(self, column: u32) -> bool {
        (self.from..self.to).contains(&(column as usize))
    }
}

/// How many cells have content, and how many of these begin like numbers; stops early once it is plainly data.
fn texts_and_numbers(row: &Row) -> (usize, usize) {
    let (mut texts, mut numbers) = (0, 0);
    for cell in row.cells() {
        let raw = cell.raw.trim_start();
        let Some(first) = raw.bytes().next() else { continue };
        let signed = matches!(first, b'-' | b'+') && raw.as_bytes().get(1).is_some_and(u8::is_ascii_digit);
        if first.is_ascii_digit() || signed || matches!(cell.kind, CellKind::Number(_) | CellKind::Date(_)) {
            numbers += 1;
            if numbers > 3 && numbers > texts {
                break;
            }
        } else {
            texts += 1;
        }
    }
    (texts, numbers)
}

/// Columns looked at; no sheet of runs has so many that mean something.
const MOST_COLUMNS: usize = 256;

pub(crate) fn headers_of(row: &Row) -> Vec<Header> {
    row.cells()
        .filter(|c| !c.raw.trim().is_empty())
        .take(MOST_COLUMNS)
        .map(|c| Header::of(c.column as usize, c.raw.trim()))
        .collect()
}

/// The tables whose header a row is: one, or several beside each other with a free column between.
fn listed_headers(row: &Row) -> Vec<(Group, Vec<Assigned>, Span)> {
    let (texts, numbers) = texts_and_numbers(row);
    if texts < 2 || numbers * 5 > texts {
        return Vec::new();
    }
    let headers = headers_of(row);
    // A line of prose with a few commas is no header.
    let long = headers.iter().filter(|h| h.text.chars().count() > 44).count();
    if long * 3 > headers.len() {
        return Vec::new();
    }
    let sides = beside_each_other(&headers);
    if !sides.is_empty() {
        return sides;
    }
    best_group(&headers).map(|(group, columns, _)| (group, columns, Span::ALL)).into_iter().collect()
}

/// Tables beside each other: each is one by itself, and they are of different kinds or repeat their headers.
fn beside_each_other(headers: &[Header]) -> Vec<(Group, Vec<Assigned>, Span)> {
    let sides: Vec<&[Header]> = headers.chunk_by(|a, b| b.column == a.column + 1).collect();
    if sides.len() < 2 {
        return Vec::new();
    }
    let tables: Vec<(Group, Vec<Assigned>)> = sides
        .iter()
        .filter(|side| side.len() > 1)
        .filter_map(|side| best_group(side).map(|(group, columns, _)| (group, columns)))
        .collect();
    let differ = tables.windows(2).any(|pair| pair[0].0 != pair[1].0);
    let spelled = |table: &(Group, Vec<Assigned>)| -> Vec<String> {
        table.1.iter().map(|c| c.header.text.to_lowercase()).collect()
    };
    let repeat = tables.windows(2).any(|pair| {
        let (one, other) = (spelled(&pair[0]), spelled(&pair[1]));
        one.iter().filter(|text| other.contains(text)).count() * 2 > one.len().min(other.len())
    });
    if tables.len() < 2 || !(differ || repeat) {
        return Vec::new();
    }
    let starts: Vec<usize> = tables.iter().map(|t| t.1[0].header.column).collect();
    let span = |at: usize| Span {
        from: if at == 0 { 0 } else { starts[at] },
        to: starts.get(at + 1).copied().unwrap_or(usize::MAX),
    };
    tables.into_iter().enumerate().map(|(at, (group, columns))| (group, columns, span(at))).collect()
}

/// Finds the tables of a sheet in the order of their headers; those without a row of data too.
pub(crate) fn find(sheet: &Sheet, mapping: Option<&Mapping>) -> Vec<Found> {
    let mut tables: Vec<Found> = Vec::new();
    let mut above: Vec<usize> = Vec::new();
    let mut at = 0;
    while at < sheet.rows.len() {
        let row = &sheet.rows[at];
        let entry = mapping.and_then(|m| m.table(sheet.name.as_deref(), row.number()));
        let forced = entry.filter(|t| t.header_row.is_some());
        let whole = |(group, columns): (Group, Vec<Assigned>)| vec![(group, columns, Span::ALL)];
        let mut headers = match forced {
            Some(entry) => whole(told_header(row, entry)),
            None if row.is_comment() && !comment_is_header(row) => Vec::new(),
            None => listed_headers(row),
        };
        if headers.is_empty() && forced.is_none() && (!row.is_comment() || comment_is_header(row)) {
            let told = || {
                // What a person said of the columns may make a header of a row that its words do not.
                let entry = entry.filter(|e| e.header_row.is_none() && !e.columns.is_empty())?;
                let named = headers_of(row)
                    .iter()
                    .filter(|h| entry.column(h.column, &h.text).is_some_and(|c| c.column.is_none()))
                    .count();
                (named > 0 && texts_and_numbers(row).0 >= 2)
                    .then(|| told_header(row, entry))
                    .filter(|h| suffices(&h.1, h.0))
            };
            headers = told().map(whole).unwrap_or_default();
        }
        if !headers.is_empty() {
            let header = at;
            let own = std::mem::take(&mut above);
            for (group, mut columns, span) in headers {
                if let Some(entry) = entry {
                    override_columns(&mut columns, entry);
                }
                if forced.is_none()
                    && let Some((below, under)) = units_below(sheet, header, &columns, span)
                {
                    columns = below;
                    at = under;
                }
                let (rows, comments) = (Vec::new(), Vec::new());
                let shape = Shape::Listed(group);
                tables.push(Found { shape, header, columns, above: own.clone(), rows, comments, span });
            }
            at += 1;
            continue;
        }
        let grids = grids::headed(sheet, at);
        if !grids.is_empty() {
            let own = std::mem::take(&mut above);
            for (headers, span) in grids {
                let columns = headers
                    .into_iter()
                    .map(|header| Assigned { confidence: 0.8, ..Assigned::open(header) })
                    .collect();
                let (rows, comments) = (Vec::new(), Vec::new());
                tables.push(Found {
                    shape: Shape::Grid,
                    header: at,
                    columns,
                    above: own.clone(),
                    rows,
                    comments,
                    span,
                });
            }
            at += 1;
            continue;
        }
        let last = tables.last().map(|table| table.header);
        let mut taken = false;
        for table in tables.iter_mut().rev().take_while(|table| Some(table.header) == last) {
            taken |= table.take(sheet, at, &mut above);
        }
        if !taken {
            above.push(at);
        }
        at += 1;
    }
    tables
}

/// A line of nothing but units below the headers belongs to them.
fn units_below(sheet: &Sheet, at: usize, columns: &[Assigned], span: Span) -> Option<(Vec<Assigned>, usize)> {
    let row = sheet.rows.get(at + 1)?;
    let mut headers: Vec<Header> = columns.iter().map(|c| c.header.clone()).collect();
    let mut units = 0;
    for cell in row.cells().filter(|c| span.has(c.column) && !c.raw.trim().is_empty()) {
        let text = cell.raw.trim();
        let unit = match crate::map::header::unit_cell(text) {
            Some(unit) => unit,
            None if no_unit(text) => continue,
            None => return None,
        };
        let header = headers.iter_mut().find(|h| h.column == cell.column as usize)?;
        header.unit = Some(unit);
        units += 1;
    }
    if units < 2 {
        return None;
    }
    let (_, columns, _) = best_group(&headers)?;
    Some((columns, at + 1))
}

/// What stands in a line of units under a column that has none: a stroke, the form of a clock or a date.
fn no_unit(text: &str) -> bool {
    let form = |c: char| "-–—:/. ".contains(c) || "hmsdyHMSDY".contains(c);
    let inner = text.trim_matches(['(', ')', '[', ']']);
    (inner.chars().count() <= 10 && inner.chars().all(form))
        || matches!(
            plain(inner).as_str(),
            "min" | "h min" | "hr" | "no" | "nr" | "text" | "yes no" | "y n" | "tag"
        )
}

/// Whether a line that begins with `#` is a header whose first column is called so.
fn comment_is_header(row: &Row) -> bool {
    row.text(0).trim() == "#"
}

fn told_header(row: &Row, entry: &crate::map::TableMapping) -> (Group, Vec<Assigned>) {
    let headers = headers_of(row);
    let group = match entry.kind.as_deref().map(plain).as_deref() {
        Some("parts") => Group::Parts,
        Some("predictions") => Group::Guesses,
        Some("ratings") => Group::Ratings,
        Some(_) => Group::Runs,
        None => best_group(&headers).map_or(Group::Runs, |b| b.0),
    };
    let mut columns = crate::map::columns::assign(&headers, group);
    override_columns(&mut columns, entry);
    (group, columns)
}

fn override_columns(columns: &mut Vec<Assigned>, entry: &crate::map::TableMapping) {
    for told in &entry.columns {
        if let Some(column) = told.column
            && columns.iter().all(|c| c.header.column != column)
        {
            let header = Header::of(column, told.header.as_deref().unwrap_or(""));
            columns.push(Assigned::open(header));
        }
    }
    for at in 0..columns.len() {
        let Some(told) = entry.column(columns[at].header.column, &columns[at].header.text) else { continue };
        let field = told.field.as_deref().and_then(Field::from_name);
        if field.is_some() {
            for other in columns.iter_mut().filter(|c| c.field == field) {
                other.field = None;
                other.unit = None;
            }
        }
        let column = &mut columns[at];
        column.field = field;
        column.confidence = 1.0;
        column.told = true;
        column.unit = field.and_then(Field::dimension).and_then(|d| {
            let told = told.unit.as_deref().and_then(|u| airshelf_units::Unit::named(u, Some(d)).ok());
            told.or_else(|| column.header.unit_for(d, field == Some(Field::Barometer)))
        });
    }
}

impl Found {
    pub fn has(&self, field: Field) -> bool {
        self.columns.iter().any(|c| c.field == Some(field))
    }

    /// The column in which the names of a grid's rows stand.
    pub fn names(&self) -> usize {
        self.columns.first().map_or(self.span.from, |c| c.header.column)
    }

    fn text<'r>(&self, row: &'r Row, field: Field) -> &'r str {
        self.columns.iter().find(|c| c.field == Some(field)).map_or("", |c| row.text(c.header.column).trim())
    }

    /// Takes the row in if it is data or a comment within the data; gives whether it did.
    fn take(&mut self, sheet: &Sheet, at: usize, above: &mut Vec<usize>) -> bool {
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

    fn is_data(&self, row: &Row) -> bool {
        if self.shape == Shape::Grid {
            let headers: Vec<Header> = self.columns.iter().map(|c| c.header.clone()).collect();
            return grids::is_row(row, &headers, self.span);
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
        if filled < 2 || (filled == 2 && !few && first.ends_with(':')) {
            return false;
        }
        match self.shape {
            Shape::Listed(Group::Runs) => self.is_run(row, filled),
            Shape::Listed(Group::Parts) => {
                let named = !self.text(row, Field::Tag).is_empty() || !self.text(row, Field::Name).is_empty();
                named && (filled > 2 || few)
            }
            Shape::Listed(Group::Guesses) => [Field::Guess, Field::Low, Field::High, Field::Place]
                .iter()
                .any(|f| self.text(row, *f).contains(|c: char| c.is_ascii_digit())),
            Shape::Listed(Group::Ratings) => {
                self.text(row, Field::Flow).contains(|c: char| c.is_ascii_digit())
            }
            Shape::Grid => false,
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
            && super::page::is_label(first)
            && purpose(self.text(row, Field::Purpose)).is_none()
    }

    fn no_order(&self, row: &Row) -> bool {
        self.text(row, Field::Order).is_empty()
            || !self.text(row, Field::Order).starts_with(|c: char| c.is_ascii_digit())
    }

    /// A row holds a run if it has a result, or says that it is one and has none.
    fn is_run(&self, row: &Row, filled: usize) -> bool {
        let result =
            [Field::Flow, Field::NetFlow, Field::StatedLoss, Field::StatedLossPercent, Field::Leakage]
                .iter()
                .any(|f| {
                    let text = self.text(row, *f);
                    let body = text.trim_start_matches(['-', '−', '+', '(', '~', '<', '>', '=', ' ']);
                    let number = body.starts_with(|c: char| c.is_ascii_digit());
                    (number && !of_another_kind(body, *f)) || super::terms::ditto(text)
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
        filled > 2
            && (states() || (ordered() || self.has(Field::Order) && placed()) && (stated() || parted()))
    }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reader::{Limits, read};

    fn tables(text: &str) -> Vec<(Shape, u32, Vec<u32>)> {
        let book = read("t.csv", text.as_bytes(), &Limits::default()).unwrap();
        let sheet = &book.sheets[0];
        find(sheet, None)
            .into_iter()
            .filter(|t| !t.rows.is_empty())
            .map(|t| {
                (
                    t.shape,
                    sheet.rows[t.header].number(),
                    t.rows.iter().map(|r| sheet.rows[*r].number()).collect(),
                )
            })
            .collect()
    }

    #[test]
    fn averages_notes_and_comments_are_no_data() {
        let found = tables(
            "Thursday,,\n\nRun,Purpose,CFM,Notes\n1,baseline,277,\n,average of the last three,266.1,\n# tea\n2,test,260,\nFoam wins.,,,\n",
        );
        assert_eq!(found, [(Shape::Listed(Group::Runs), 3, vec![4, 7])]);
    }

    #[test]
    fn two_kinds_of_tables_stand_beside_each_other() {
        let found = tables(
            "BETS,,,,,,CARBS\nWho,Filter,Lid,CFM lost,From,To,,Carb,CFM,at inHg\nann,E1,T1,25,20,30,,four-barrel,640,3\nbob,E2,T1,24,19,29,,two-barrel,390,1.5\nbob,E3,T1,26,22,29,,,,\n",
        );
        assert_eq!(
            found,
            [
                (Shape::Listed(Group::Guesses), 2, vec![3, 4, 5]),
                (Shape::Listed(Group::Ratings), 2, vec![3, 4])
            ]
        );
        // A free column within one table parts nothing.
        let found = tables("Run,Purpose,Filter,CFM,,Note\n1,baseline,,277,,\n2,test,E1,266,,tea\n");
        assert_eq!(found, [(Shape::Listed(Group::Runs), 1, vec![2, 3])]);
    }

    #[test]
    fn a_grid_with_decimal_commas_and_a_pressure_of_its_own() {
        let found = tables(
            "flat part: filter / lid;closed lid;domed lid\nold paper 254x57;37,6;25,5 @ 30 mbar\nold foam 280x57;34,2;31,9\nold foam 300x57;28,2;0\n",
        );
        assert_eq!(found, [(Shape::Grid, 1, vec![2, 3, 4])]);
    }

    #[test]
    fn a_line_of_units_may_show_the_form_of_a_clock() {
        let found =
            tables("No.;Clock;Kind;Filter;Flow\n;h:min;;;m3/h\n1;17:30;test;E1;471,7\n2;17:37;test;E2;447\n");
        assert_eq!(found, [(Shape::Listed(Group::Runs), 1, vec![3, 4])]);
    }

    #[test]
    fn items_with_a_flow_and_a_test_depression_are_rated() {
        for header in [
            "No.,Carburetor,CFM,Test depression in Hg",
            "Place,Carb,Flow CFM,Test depression",
            "#,Carburetor,CFM,Vacuum (inHg)",
        ] {
            let found = tables(&format!("{header}\n1,four-barrel,640,3\n2,two-barrel,390,1.5\n"));
            assert_eq!(found, [(Shape::Listed(Group::Ratings), 1, vec![2, 3])], "{header}");
        }
    }

    #[test]
    fn grids_beside_each_other() {
        let beside = |text: &str, rows: &[u32]| {
            let found = tables(text);
            let grid = (Shape::Grid, rows[0] - 1, rows.to_vec());
            assert_eq!(found, [grid.clone(), grid], "{text}");
        };
        beside(
            "lost, CFM\nlow pan: top / element,P 9x2,F 9x3,,deep pan: top / element,P 9x2,F 9x3\nplain,20.1,17.7,,plain,18.8,16.0 @ 6 inH2O\nvented,15.5,-,,vented,0,12.9\n",
            &[3, 4],
        );
        // No free column between, no word in the corner.
        beside(
            "lid \\ filter;P 9x2;F 9x3;lid \\ filter;P 9x2;F 9x3\nplain;20,1;17,7;plain;18,8;16,0\nvented;15,5;;vented;13,9;12,9\n",
            &[2, 3],
        );
        beside(
            "low pan,,,,deep pan,,\n,P 9x2,F 9x3,,,P 9x2,F 9x3\nplain,20.1,17.7,,plain,18.8,16.0\nvented,15.5,n/t,,vented,13.9,12.9\n",
            &[3, 4],
        );
        // The right one is shorter; a mean beside and below is no part.
        let found = tables(
            "top / element,P 9x2,F 9x3,mean,,top / element,P 9x2,F 9x3\nplain,20.1,17.7,18.9,,plain,18.8,16.0\nvented,15.5,14.1,14.8,,,,\nmean,17.8,15.9,,,,,\n",
        );
        assert_eq!(found, [(Shape::Grid, 1, vec![2, 3]), (Shape::Grid, 1, vec![2])]);
    }

    #[test]
    fn a_list_of_rated_flows_is_no_grid() {
        for header in ["Mixer,CFM,inHg,Place", "Whose it was,CFM,inHg,Place", "What,Flow cfm,at in. Hg,Rank"]
        {
            let found = tables(&format!("MIXERS\n{header}\nfour-barrel,640,3,1\ntwo-barrel,390,1.5,2\n"));
            assert_eq!(found, [(Shape::Listed(Group::Ratings), 2, vec![3, 4])], "{header}");
        }
    }

    #[test]
    fn two_grids_and_a_note_on_one_sheet() {
        let found = tables(
            "losses in CFM\nflat base: lid \\ filter,A 10x2,B 11x2\nsolid,20.9,n/t\nvented,14.6 @ 12 inH2O,-\n\ndropped base: lid \\ filter,A 10x2,B 11x2\nsolid,19.3,15.3\n\nn/t: not tested\n",
        );
        assert_eq!(found, [(Shape::Grid, 2, vec![3, 4]), (Shape::Grid, 6, vec![7])]);
    }
}
