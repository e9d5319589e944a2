//! OpenDocument spreadsheets (OASIS ODF 1.2, part 1), read as a stream.
//!
//! The XML is walked here and not through a library's rectangle of cells: a
//! repeated blank row costs nothing, a repeated filled one is counted before
//! it is unfolded, and merged blocks and shown text stay available.

use std::collections::HashSet;
use std::io::{BufRead, BufReader};

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::archive::{Archive, attribute, corrupt};
use super::budget::Budget;
use super::row::Held;
use super::{CellKind, Limits, Merged, ReadFault, Row, Sheet, civil};

/// Longest text of one cell, in bytes.
const LONGEST_CELL: usize = 1 << 20;

/// Reads every sheet of the workbook.
pub(super) fn sheets(
    name: &str,
    members: &mut Archive<'_>,
    limits: &Limits,
) -> Result<Vec<Sheet>, ReadFault> {
    let content = members.by_name("content.xml").map_err(|error| corrupt(name, "content.xml", error))?;
    let mut xml = Reader::from_reader(BufReader::new(content));
    xml.config_mut().expand_empty_elements = true;
    let mut walk = Walk { name, xml, budget: Budget::new(name, limits), sheet: String::new(), row: 0 };
    walk.document()
}

struct Walk<'a, R> {
    name: &'a str,
    xml: Reader<R>,
    budget: Budget<'a>,
    /// Where the walk is, for faults.
    sheet: String,
    row: u32,
}

impl<R: BufRead> Walk<'_, R> {
    fn document(&mut self) -> Result<Vec<Sheet>, ReadFault> {
        let mut hidden_styles = HashSet::new();
        let mut style = None;
        let mut sheets = Vec::new();
        loop {
            match self.event()? {
                Event::Start(element) => match element.local_name().as_ref() {
                    "style" => style = attribute(&element, "style:name"),
                    "table-properties"
                        if attribute(&element, "table:display").as_deref() == Some("false") =>
                    {
                        hidden_styles.extend(style.take());
                    }
                    "tracked-changes" | "dde-links" => self.skip(&element)?,
                    "table" => {
                        let hidden = attribute(&element, "table:style-name")
                            .is_some_and(|style| hidden_styles.contains(&style));
                        self.sheet = attribute(&element, "table:name").unwrap_or_default();
                        sheets.push(self.table(hidden)?);
                    }
                    _ => {}
                },
                Event::Eof => return Ok(sheets),
                _ => {}
            }
        }
    }

    fn table(&mut self, hidden: bool) -> Result<Sheet, ReadFault> {
        let mut rows = Vec::new();
        let mut merged = Vec::new();
        self.row = 1;
        loop {
            match self.event()? {
                Event::Start(element) => match element.local_name().as_ref() {
                    "table-row" => {
                        let repeated = count(&element, "table:number-rows-repeated");
                        let cells = self.cells(repeated, &mut merged)?;
                        let next = self.row.saturating_add(repeated);
                        if !cells.is_empty() {
                            rows.extend((self.row..next).map(|row| Row::cells_of(row, cells.clone())));
                        }
                        self.row = next;
                    }
                    // Groups of rows hold rows; anything else holds none.
                    "table-header-rows" | "table-row-group" | "table-rows" => {}
                    _ => self.skip(&element)?,
                },
                Event::End(element) if element.local_name().as_ref() == "table" => {
                    return Ok(Sheet { name: Some(std::mem::take(&mut self.sheet)), hidden, rows, merged });
                }
                Event::Eof => return Err(self.cut_short()),
                _ => {}
            }
        }
    }

    /// Reads the cells of a row that stands `repeated` times.
    fn cells(&mut self, repeated: u32, merged: &mut Vec<Merged>) -> Result<Vec<Held>, ReadFault> {
        let mut cells = Vec::new();
        let mut column = 0u32;
        loop {
            match self.event()? {
                Event::Start(element) => match element.local_name().as_ref() {
                    "table-cell" | "covered-table-cell" => {
                        let across = count(&element, "table:number-columns-repeated");
                        let wide = count(&element, "table:number-columns-spanned");
                        let high = count(&element, "table:number-rows-spanned");
                        if wide > 1 || high > 1 {
                            merged.push(Merged {
                                first_row: self.row,
                                last_row: self.row.saturating_add(high - 1),
                                first_column: column,
                                last_column: column.saturating_add(wide - 1),
                            });
                        }
                        let next = column.saturating_add(across);
                        if let Some((raw, kind)) = self.cell(&element)? {
                            let times = u64::from(across).saturating_mul(repeated.into());
                            let (sheet, row) = (&self.sheet, self.row);
                            self.budget.take(sheet, row, next - 1, times, raw.len())?;
                            let raw = raw.into_boxed_str();
                            cells.extend((column..next).map(|column| Held {
                                column,
                                raw: raw.clone(),
                                kind: kind.clone(),
                            }));
                        }
                        column = next;
                    }
                    "table-cell-group" | "table-header-columns" => {}
                    _ => self.skip(&element)?,
                },
                Event::End(element) if element.local_name().as_ref() == "table-row" => {
                    return Ok(cells);
                }
                Event::Eof => return Err(self.cut_short()),
                _ => {}
            }
        }
    }

    /// Reads one cell up to its end; `None` where it has no content.
    fn cell(&mut self, cell: &BytesStart<'_>) -> Result<Option<(String, CellKind)>, ReadFault> {
        let text = self.text()?;
        let number = || attribute(cell, "office:value").and_then(|value| value.parse().ok());
        let as_text = |text: String| (!text.is_empty()).then_some((text, CellKind::Text));
        if attribute(cell, "calcext:value-type").as_deref() == Some("error") {
            return Ok((!text.is_empty()).then_some((text, CellKind::Error)));
        }
        let kind = attribute(cell, "office:value-type");
        Ok(match kind.as_deref() {
            Some("float" | "currency") => match number() {
                Some(value) => Some((civil::number(value), CellKind::Number(value))),
                None => as_text(text),
            },
            Some("percentage") => match number() {
                Some(value) => Some((civil::percent(value), CellKind::Number(value))),
                None => as_text(text),
            },
            Some("date") => match attribute(cell, "office:date-value") {
                Some(written) => Some(civil::iso(&written)),
                None => as_text(text),
            },
            Some("time") => {
                let written = attribute(cell, "office:time-value");
                as_text(written.and_then(|time| civil::iso_duration(&time)).unwrap_or(text))
            }
            Some("boolean") => match attribute(cell, "office:boolean-value").as_deref() {
                Some("true") => Some(("TRUE".into(), CellKind::Bool(true))),
                Some("false") => Some(("FALSE".into(), CellKind::Bool(false))),
                _ => as_text(text),
            },
            _ if text.is_empty() => as_text(attribute(cell, "office:string-value").unwrap_or(text)),
            _ => as_text(text),
        })
    }

    /// Gathers a cell's paragraphs, one a line; notes and drawings that hang
    /// on the cell are no part of its text.
    fn text(&mut self) -> Result<String, ReadFault> {
        let mut text = String::new();
        let mut paragraphs = 0;
        loop {
            match self.event()? {
                Event::Start(element) => match element.local_name().as_ref() {
                    "p" | "h" => {
                        if paragraphs > 0 {
                            text.push('\n');
                        }
                        paragraphs += 1;
                        self.paragraph(&mut text)?;
                    }
                    _ => self.skip(&element)?,
                },
                Event::End(_) => return Ok(text),
                Event::Eof => return Err(self.cut_short()),
                _ => {}
            }
        }
    }

    fn paragraph(&mut self, text: &mut String) -> Result<(), ReadFault> {
        let begun = text.len();
        let mut depth = 1;
        while depth > 0 {
            match self.event()? {
                Event::Start(element) => match element.local_name().as_ref() {
                    "s" => {
                        let spaces = count(&element, "text:c").min(LONGEST_CELL as u32);
                        text.extend(std::iter::repeat_n(' ', spaces as usize));
                        depth += 1;
                    }
                    "tab" => {
                        text.push('\t');
                        depth += 1;
                    }
                    "line-break" => {
                        text.push('\n');
                        depth += 1;
                    }
                    "annotation" | "note" | "ruby-text" => self.skip(&element)?,
                    _ => depth += 1,
                },
                Event::End(_) => depth -= 1,
                Event::Text(written) => {
                    // White space in the file collapses (ODF 1.2, 6.1.2);
                    // spaces that count are elements of their own.
                    for c in written.xml10_content().chars() {
                        let space = matches!(c, ' ' | '\t' | '\r' | '\n');
                        if !space {
                            text.push(c);
                        } else if text.len() > begun && !text.ends_with(' ') {
                            text.push(' ');
                        }
                    }
                }
                Event::CData(written) => text.push_str(&written.xml10_content()),
                Event::GeneralRef(entity) => match entity.resolve_char_ref() {
                    Ok(Some(c)) => text.push(c),
                    _ => match quick_xml::escape::resolve_predefined_entity(&entity) {
                        Some(known) => text.push_str(known),
                        None => return Err(self.corrupt(format!("unknown entity {:?}", &*entity))),
                    },
                },
                Event::Eof => return Err(self.cut_short()),
                _ => {}
            }
            if text.len() > LONGEST_CELL {
                return Err(self.corrupt("a cell of more than a million characters".into()));
            }
        }
        Ok(())
    }

    /// Passes over the element just begun.
    fn skip(&mut self, _begun: &BytesStart<'_>) -> Result<(), ReadFault> {
        let mut depth = 1;
        while depth > 0 {
            match self.event()? {
                Event::Start(_) => depth += 1,
                Event::End(_) => depth -= 1,
                Event::Eof => return Err(self.cut_short()),
                _ => {}
            }
        }
        Ok(())
    }

    fn event(&mut self) -> Result<Event<'static>, ReadFault> {
        let mut buffer = Vec::new();
        match self.xml.read_event_into(&mut buffer) {
            Ok(event) => Ok(event.into_owned()),
            Err(error) => Err(self.corrupt(error.to_string())),
        }
    }

    fn cut_short(&self) -> ReadFault {
        self.corrupt("the file ends inside a table".into())
    }

    fn corrupt(&self, detail: String) -> ReadFault {
        let place = match self.row {
            0 => "content.xml".into(),
            row => format!("sheet {:?}, row {row}", self.sheet),
        };
        corrupt(self.name, &place, detail)
    }
}

/// A repeat count or span; absent, unreadable and zero are one.
fn count(element: &BytesStart<'_>, key: &str) -> u32 {
    let written = element.try_get_attribute(key).ok().flatten();
    let value = written.and_then(|found| found.value.parse::<u64>().ok());
    u32::try_from(value.unwrap_or(1)).unwrap_or(u32::MAX).max(1)
}
