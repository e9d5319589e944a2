//! Printouts whose columns stand under one another with blanks between them and nothing else: where the columns of
//! each table are.

use std::ops::Range;

/// A table of a printout: the columns that its lines share.
#[derive(Debug, Clone, PartialEq)]
struct Block {
    /// Bytes of the text.
    lines: Range<usize>,
    /// Where columns begin, counted in characters; the first is at the left edge.
    starts: Vec<usize>,
    /// Where the gutter before each column begins.
    ends: Vec<usize>,
}

/// The tables of a printout, in the text's order.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Layout {
    blocks: Vec<Block>,
}

/// A piece of a line with two blanks on either side.
#[derive(Debug, Clone, Copy)]
struct Piece {
    from: usize,
    to: usize,
}

/// Words with which a line begins that is a sentence and no row. Common practice, no source.
const SENTENCE: usize = 5;

/// Of so many lines one may write over a gutter.
const LINES_AN_OVERFLOW: usize = 20;

/// Rows of a table that are looked at.
const LOOK: usize = 500;

impl Layout {
    /// Finds the columns of the tables; lines without two blanks in a row are no rows.
    pub fn of(text: &str) -> Layout {
        let mut layout = Layout::default();
        let mut lines: Vec<(usize, &str)> = Vec::new();
        let mut before: Vec<&str> = Vec::new();
        let mut at = 0;
        for line in text.split_inclusive('\n').chain(["\n"]) {
            let content = line.trim_end();
            if !content.is_empty() {
                lines.push((at, content));
            } else if !lines.is_empty() {
                layout.take(&lines, &mut before, at);
                lines.clear();
            }
            at += line.len();
        }
        layout
    }

    /// Takes lines between blank ones as a table of its own, or as more of the one before.
    fn take<'t>(&mut self, lines: &[(usize, &'t str)], before: &mut Vec<&'t str>, end: usize) {
        let rows: Vec<&str> =
            lines.iter().map(|line| line.1).filter(|line| is_row(line)).take(LOOK).collect();
        if let Some(last) = self.blocks.last_mut()
            && !rows.is_empty()
            && !is_headed(&rows)
        {
            if before.len() >= LOOK {
                last.lines.end = end;
                return;
            }
            let both: Vec<&str> = before.iter().copied().chain(rows.iter().copied()).take(LOOK).collect();
            let (starts, ends) = columns(&both);
            if starts.len() >= last.starts.len() && starts.len() > 2 {
                (last.starts, last.ends) = (starts, ends);
                last.lines.end = end;
                *before = both;
                return;
            }
        }
        let (starts, ends) = columns(&rows);
        self.blocks.push(Block { lines: lines[0].0..end, starts, ends });
        *before = rows;
    }

    /// How well the layout fits: as with separators, the share of lines that are rows times the root of the columns
    /// gained; nothing where too few lines share columns.
    pub fn worth(&self, text: &str) -> f64 {
        let (mut all, mut rows, mut gained) = (0usize, 0usize, 0usize);
        for block in &self.blocks {
            let lines = || text[block.lines.clone()].lines().filter(|line| !line.trim().is_empty());
            all += lines().count();
            let filled: Vec<usize> =
                lines().filter(|line| is_row(line)).map(|line| pieces(line).len()).collect();
            if filled.len() > 2 && block.starts.len() > 2 {
                rows += filled.len();
                gained += filled.len() * (block.starts.len() - 1);
            }
        }
        if rows == 0 { 0.0 } else { rows as f64 / all as f64 * (gained as f64 / rows as f64).sqrt() }
    }

    /// The cells of the line that begins at a byte of the text, as bytes of the line; blanks around them are left out.
    pub fn cells(&self, at: usize, line: &str) -> Vec<Range<usize>> {
        let place = self.blocks.partition_point(|block| block.lines.end <= at);
        let bytes: Vec<usize> = line.char_indices().map(|c| c.0).chain([line.len()]).collect();
        let cut = |from: usize, to: usize| {
            let text = &line[bytes[from]..bytes[to]];
            let from = bytes[from] + text.len() - text.trim_start().len();
            from..from + text.trim().len()
        };
        let width = bytes.len() - 1;
        let Some(block) = self.blocks.get(place).filter(|block| block.starts.len() > 1) else {
            return pieces(line).into_iter().map(|piece| cut(piece.from, piece.to)).collect();
        };
        if !is_row(line) {
            let indent = line.chars().take_while(|c| c.is_whitespace()).count();
            let column = block.starts.partition_point(|start| *start <= indent).max(1) - 1;
            let within = block.ends.get(column).is_none_or(|end| width <= *end) && indent > 0;
            let own = cut(0, width);
            return if within {
                vec![own.start..own.start; column].into_iter().chain([own]).collect()
            } else {
                vec![own]
            };
        }
        let blank: Vec<bool> = line.chars().map(char::is_whitespace).collect();
        let mut cells = Vec::with_capacity(block.starts.len());
        let mut from = 0;
        for (start, gutter) in block.starts[1..].iter().zip(&block.ends) {
            // Something written over the gutter stays whole, in the column in which it begins.
            let Some(end) = (*gutter..*start).find(|at| blank.get(*at).is_none_or(|blank| *blank)) else {
                cells.push(None);
                continue;
            };
            let end = end.min(width).max(from);
            cells.push(Some(cut(from, end)));
            from = end;
        }
        cells.push(Some(cut(from, width)));
        whole(cells)
    }
}

/// Puts a cell that was written over gutters into the first of its columns.
fn whole(cells: Vec<Option<Range<usize>>>) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::with_capacity(cells.len());
    let mut open = 0;
    for cell in cells {
        match cell {
            None => open += 1,
            Some(cell) => {
                let end = cell.end;
                out.push(cell);
                out.extend(std::iter::repeat_n(end..end, std::mem::take(&mut open)));
            }
        }
    }
    out
}

/// The columns that lines share: where they begin, and where the gutters before them do.
fn columns(rows: &[&str]) -> (Vec<usize>, Vec<usize>) {
    let width = rows.iter().map(|row| row.chars().count()).max().unwrap_or(0);
    let mut written = vec![0usize; width];
    for row in rows {
        for piece in pieces(row) {
            // A single blank in a piece may still be a gutter of its own.
            for (at, c) in row.chars().enumerate().skip(piece.from).take(piece.to - piece.from) {
                written[at] += usize::from(!c.is_whitespace());
            }
        }
    }
    let most = rows.len() / LINES_AN_OVERFLOW;
    let left = written.iter().take_while(|count| **count == 0).count();
    let (mut starts, mut ends) = (vec![left], Vec::new());
    let mut at = left;
    while at < width {
        if written[at] > most {
            at += 1;
            continue;
        }
        let end = (at..width).find(|at| written[*at] > most).unwrap_or(width);
        let next = (end..width).find(|at| written[*at] <= most).unwrap_or(width);
        if end < width && (end - at > 1 || parts(rows, *starts.last().unwrap_or(&0)..at, end..next)) {
            starts.push(end);
            ends.push(at);
        }
        at = end;
    }
    (starts, ends)
}

/// Whether a single blank parts two columns: the heading has a name on either side, and most rows have something there.
fn parts(rows: &[&str], left: Range<usize>, right: Range<usize>) -> bool {
    let has = |row: &str, range: &Range<usize>| {
        row.chars().skip(range.start).take(range.len()).any(|c| !c.is_whitespace())
    };
    let Some((heading, rest)) = rows.split_first() else { return false };
    let both = rest.iter().filter(|row| has(row, &left) && has(row, &right)).count();
    has(heading, &left) && has(heading, &right) && both * 2 > rest.len()
}

/// Whether a line may be a row of a table: it has pieces, and does not begin with a sentence.
fn is_row(line: &str) -> bool {
    let pieces = pieces(line);
    let Some(first) = pieces.first().filter(|_| pieces.len() > 1) else { return false };
    let first: String = line.chars().skip(first.from).take(first.to - first.from).collect();
    first.split_whitespace().count() < SENTENCE
}

/// Whether the first of some rows is a heading: no number in it, and some below.
fn is_headed(rows: &[&str]) -> bool {
    let numbers = |row: &str| {
        let chars: Vec<char> = row.chars().collect();
        pieces(row).into_iter().any(|piece| chars[piece.from].is_ascii_digit())
    };
    !numbers(rows[0]) && (rows.len() == 1 || rows[1..].iter().any(|row| numbers(row)))
}

/// The pieces of a line that two blanks or more part.
fn pieces(line: &str) -> Vec<Piece> {
    let mut out: Vec<Piece> = Vec::new();
    for (at, c) in line.chars().enumerate() {
        if c.is_whitespace() {
            continue;
        }
        match out.last_mut() {
            Some(last) if at <= last.to + 1 => last.to = at + 1,
            _ => out.push(Piece { from: at, to: at + 1 }),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> Vec<Vec<&str>> {
        let layout = Layout::of(text);
        let mut at = 0;
        let mut out = Vec::new();
        for line in text.split_inclusive('\n') {
            let content = line.trim_end();
            if !content.is_empty() {
                out.push(layout.cells(at, content).into_iter().map(|cell| &content[cell]).collect());
            }
            at += line.len();
        }
        out
    }

    #[test]
    fn empty_cells_and_names_of_several_words_stay_in_their_columns() {
        let text = "\
No  Kind      Top     Flow CFM  Day
1   baseline             277.1  Mar 3 2021
2   test      lid 04     266.0  Mar 3 2021
12  test      dome       268.4  Mar 3 2021
";
        let rows = rows(text);
        assert_eq!(rows[1], ["1", "baseline", "", "277.1", "Mar 3 2021"]);
        assert_eq!(rows[2], ["2", "test", "lid 04", "266.0", "Mar 3 2021"]);
    }

    #[test]
    fn one_blank_parts_columns_that_are_both_named_and_filled() {
        let text = "No  Kind Flow  CFM\n 1  base 277.1 277\n 2  test 266.0 266\n 3  test 265.0 265\n";
        assert_eq!(rows(text)[1], ["1", "base", "277.1", "277"]);
        // Not a date under one word.
        let text = "Day          Flow\nMar 03 2021  277\nMar 03 2021  266\n";
        assert_eq!(rows(text)[1], ["Mar 03 2021", "277"]);
    }

    #[test]
    fn a_gap_between_evenings_and_a_sentence_part_no_table() {
        let text = "\
evening two, read by two of us with the stove on
No  Kind   Flow  Note
1   bare   277   wind
2   test   266

3   test   265   none of us saw why
4   bare   276
";
        let rows = rows(text);
        assert_eq!(rows[0], ["evening two, read by two of us with the stove on"]);
        assert_eq!(rows[4], ["3", "test", "265", "none of us saw why"]);
    }

    #[test]
    fn what_writes_over_a_gutter_stays_whole() {
        let mut text = "No  Kind   Top   Flow\n".to_owned();
        for no in 10..40 {
            text += &format!("{no}  test   dome  266\n");
        }
        text += "41  a remark ovr  266\n";
        let rows = rows(&text);
        assert_eq!(rows[1], ["10", "test", "dome", "266"]);
        assert_eq!(rows[31], ["41", "a remark ovr", "", "266"]);
    }
}
