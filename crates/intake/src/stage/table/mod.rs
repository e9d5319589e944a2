//! Finds the tables of a sheet: where their headers are, which rows are data, and which lines stand above.

mod export;
mod grids;
mod headers;
mod rows;
mod told;
mod units;

use crate::map::columns::Assigned;
use crate::map::group::suffices;
use crate::map::{Group, Mapping};
use crate::reader::{Row, Sheet};
use crate::stage::legend::Legend;
use crate::stage::page::is_label;
pub(crate) use headers::headers_of;
use headers::{listed_headers, spelled_headers, texts_and_numbers};
use told::{override_columns, told_header};
use units::units_below;

/// What a table found holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Shape {
    /// One record a row.
    Listed(Group),
    /// Results in a grid of two kinds of parts, with the names of rows in so many columns: of two, the first may stand
    /// once for several rows.
    Grid(usize),
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
    /// Whether the columns are just those that `export` writes: every row is one, and every cell what it says.
    pub exported: bool,
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

/// Finds the tables of a sheet in the order of their headers; those without a row of data too.
pub(crate) fn find(sheet: &Sheet, mapping: Option<&Mapping>) -> Vec<Found> {
    let mut tables: Vec<Found> = Vec::new();
    let mut above: Vec<usize> = Vec::new();
    let mut legend = Legend::default();
    let mut at = 0;
    while at < sheet.rows.len() {
        let row = &sheet.rows[at];
        let entry = mapping.and_then(|m| m.table(sheet.name.as_deref(), row.number()));
        let no_header = entry.is_some_and(|t| t.is_no_header());
        let forced = entry.filter(|t| t.header_row.is_some() && !no_header);
        let whole = |(group, columns): (Group, Vec<Assigned>)| vec![(group, columns, Span::ALL)];
        let below = tables.last().is_some_and(|table| table.goes_on(sheet, at));
        if below && forced.is_none() && tables.last().is_some_and(|table| table.exported) {
            let table = tables.last_mut().expect("looked at above");
            // Only a row that begins like the header can be one again.
            let again = row.text(0).trim().eq_ignore_ascii_case(sheet.rows[table.header].text(0).trim());
            if !(again && export::is_header(&headers_of(row))) {
                table.take_exported(sheet, at, &mut above);
                at += 1;
                continue;
            }
        }
        let mut headers = match forced {
            // Where its own words say so as well, only its columns are told.
            Some(entry) => match listed_headers(row, &sheet.rows[at + 1..]) {
                own if own.is_empty() || entry.kind.is_some() => whole(told_header(row, entry)),
                own => own,
            },
            None if no_header => Vec::new(),
            None if row.is_comment() && !comment_is_header(row) => Vec::new(),
            None => match listed_headers(row, &sheet.rows[at + 1..]) {
                own if own.is_empty() => spelled_headers(row, &legend),
                own => own,
            },
        };
        if headers.is_empty()
            && entry.is_none_or(|t| t.header_row.is_none())
            && (!row.is_comment() || comment_is_header(row))
        {
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
            let own = lines_above(sheet, &mut tables, &mut above);
            for (group, mut columns, span) in headers {
                if let Some((below, under)) = units_below(sheet, header, &columns, span) {
                    columns = below;
                    at = under;
                }
                if let Some(entry) = entry {
                    override_columns(&mut columns, entry, span);
                }
                let (rows, comments) = (Vec::new(), Vec::new());
                let shape = Shape::Listed(group);
                let exported = export::is_header(&headers_of(row));
                tables.push(Found {
                    shape,
                    header,
                    columns,
                    above: own.clone(),
                    rows,
                    comments,
                    span,
                    exported,
                });
            }
            at += 1;
            continue;
        }
        // Within a table whose header is plain, a row of it heads no grid.
        let own = no_header || below && tables.last().is_some_and(|table| table.holds(row));
        let grids = if own { Vec::new() } else { grids::headed(sheet, at) };
        if !grids.is_empty() {
            let own = std::mem::take(&mut above);
            for (labels, headers, span) in grids {
                let columns = headers
                    .into_iter()
                    .map(|header| Assigned { confidence: 0.8, ..Assigned::open(header) })
                    .collect();
                let (rows, comments) = (Vec::new(), Vec::new());
                tables.push(Found {
                    shape: Shape::Grid(labels),
                    header: at,
                    columns,
                    above: own.clone(),
                    rows,
                    comments,
                    span,
                    exported: false,
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
            row.cells().for_each(|cell| legend.hear(cell.raw));
            above.push(at);
        }
        at += 1;
    }
    tables
}

/// The lines above a header: also a line of nothing but labels over one line of values, which looked like a table.
fn lines_above(sheet: &Sheet, tables: &mut Vec<Found>, above: &mut Vec<usize>) -> Vec<usize> {
    let own = std::mem::take(above);
    let labels = |table: &Found| {
        let row = &sheet.rows[table.header];
        let filled = || row.cells().filter(|c| !c.raw.trim().is_empty());
        let values = table.rows.first().or(own.first());
        table.rows.len() < 2
            && matches!(table.shape, Shape::Listed(_))
            && table.span == Span::ALL
            && values == Some(&(table.header + 1))
            && filled().count() > 2
            && filled().all(|c| is_label(c.raw))
    };
    match tables.pop_if(|table| labels(table)) {
        Some(table) => {
            let head = table.above.into_iter().chain([table.header]).chain(table.rows);
            head.chain(own).collect()
        }
        None => own,
    }
}

/// Whether a line that begins with `#` is a header whose first column is called so.
fn comment_is_header(row: &Row) -> bool {
    row.text(0).trim() == "#"
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
        assert_eq!(found, [(Shape::Grid(1), 1, vec![2, 3, 4])]);
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
            let grid = (Shape::Grid(1), rows[0] - 1, rows.to_vec());
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
        assert_eq!(found, [(Shape::Grid(1), 1, vec![2, 3]), (Shape::Grid(1), 1, vec![2])]);
    }

    #[test]
    fn a_grid_may_have_two_columns_of_names() {
        let found = tables(
            "losses in CFM\nTray,Cover,P 9x2,F 9x3\nlow,plain,20.1,17.7\n,vented,15.5,n/t\ndeep,plain,18.8 @ 6 inH2O,0\n,vented,,12.9\n\nn/t: no time\n",
        );
        assert_eq!(found, [(Shape::Grid(2), 2, vec![3, 4, 5, 6])]);
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
        assert_eq!(found, [(Shape::Grid(1), 2, vec![3, 4]), (Shape::Grid(1), 6, vec![7])]);
    }
}
