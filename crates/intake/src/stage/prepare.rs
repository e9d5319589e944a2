//! Settles everything of a table but its rows: page, columns, units, session.

use super::page::{Hand, Page, PageValue};
use super::ready::Ready;
use super::settle::Habits;
use super::table::{Found, Shape};
use super::{Known, Paper, civil, evidence, grid, page, runs, settle, table, terms};
use crate::map::{DateOrder, Field, Group, Header, Mapping};
use crate::reader::{Row, Sheet};
use airshelf_catalog::ids::Derived;
use airshelf_catalog::{BaselineKind, PartKind, Quantity, Uuid};
use airshelf_units::{Decimal, Dimension, Unit, read};

pub(super) struct Setting<'w, 'a> {
    pub(super) file: Uuid,
    pub(super) stem: &'a str,
    pub(super) sheet: &'w Sheet,
    pub(super) habits: Habits,
    pub(super) order: Option<DateOrder>,
    pub(super) known: &'a Known,
    pub(super) mapping: Option<&'a Mapping>,
    /// The page of the table before on the same sheet.
    pub(super) before: Option<&'a Page>,
}

pub(super) fn prepare<'w>(set: &Setting<'w, '_>, mut found: Found) -> Ready<'w> {
    let sheet = set.sheet;
    let header_row = sheet.rows[found.header].number();
    let told = set.mapping.and_then(|m| m.table(sheet.name.as_deref(), header_row));
    let decimal = match told.and_then(|t| t.decimal.as_deref()) {
        Some(",") => Some(Decimal::Comma),
        Some(".") => Some(Decimal::Point),
        _ => settle::decimal(&found, sheet),
    };
    let guess = if set.habits.metric || decimal == Some(Decimal::Comma) {
        DateOrder::DayFirst
    } else {
        DateOrder::MonthFirst
    };
    let flow = set.habits.flow.unwrap_or(if set.habits.metric { Unit::L_S } else { Unit::CFM });
    let hand = Hand { decimal, order: told.and_then(|t| t.date_order).or(set.order), guess, flow };
    let above: Vec<&Row> = found.above.iter().map(|r| &sheet.rows[*r]).collect();
    let mut page = page::read_page(&above, hand, found.span);
    if let Some(told) = told {
        told_page(&mut page, told, hand);
    }
    page::item_of_shelf(&above, set.known, &mut page);
    if page.is_silent()
        && let Some(before) = set.before
    {
        let own = std::mem::take(&mut page);
        page = before.clone();
        page.lines = own.lines;
        // Its own title comes before what the one above says.
        page.words = format!("{} {}", own.words, page.words).trim().to_owned();
        if !own.words.is_empty() && (own.losses || own.flows || own.percent) {
            (page.losses, page.flows, page.percent) = (own.losses, own.flows, own.percent);
        }
    }
    for cell in below(&found, sheet).flat_map(Row::cells) {
        page.legend.hear(cell.raw);
    }
    evidence::by_key(&mut found, &page.legend);
    let unfit = evidence::by_content(&mut found, sheet, decimal, &page.legend);
    if !found.has(Field::SetPressure) && !matches!(found.shape, Shape::Grid(_)) {
        let of_flow = |f: Field| f.dimension() == Some(Dimension::Flow);
        let flows: Vec<&Header> =
            found.columns.iter().filter(|c| c.field.is_some_and(of_flow)).map(|c| &c.header).collect();
        page::pressure_of_header(&flows, header_row, hand, &mut page);
    }
    settle::fields(&mut found, sheet, &page, set.known);
    evidence::as_headed(&mut found, unfit);
    settle::units(&mut found, sheet, &page, set.habits);

    let winners = found.shape == Shape::Listed(Group::Runs)
        && found.has(Field::Place)
        && !(found.has(Field::Order) || found.has(Field::Purpose) || found.has(Field::Clock));
    let unordered = matches!(found.shape, Shape::Grid(_))
        || winners
        || !(found.has(Field::Order) || found.has(Field::Clock) || found.has(Field::Purpose));
    let session = told
        .and_then(|t| t.session.clone())
        .or_else(|| sheet.name.clone().filter(|n| !generic(n)))
        .or_else(|| page.text(Field::Session).map(str::to_owned))
        .unwrap_or_else(|| set.stem.to_owned());
    let pressure = page
        .quantity(Field::SetPressure)
        .and_then(Quantity::unit)
        .or(set.habits.pressure)
        .or(Some(if set.habits.metric { Unit::KPA } else { Unit::IN_H2O }));
    let (layers, state) = layers(&found, &above, set.known);
    if let Some(state) = state.filter(|_| page.service_note.is_none() && !found.has(Field::Service)) {
        page.service_note = Some(state);
    }
    let paper = Paper {
        sheet,
        table: table_id(set.file, sheet, header_row, found.span),
        canonical: canonical(&found),
        dates: dates_beside(&found, sheet, &page, &session),
        page,
        hand,
        session,
        unordered,
        winners,
        column_baseline: column_baseline(&found),
        titled: titled(&found, &above),
        usual_flow: evidence::usual_flow(&found, sheet, decimal),
        stack: stack_order(&found),
        layers,
        pressure,
    };
    let mut ready = Ready { found, paper, decimal, grid: None, layout: String::new() };
    if matches!(ready.found.shape, Shape::Grid(_)) {
        let layout = grid::layout(&ready.paper, &ready.found);
        let unit = match layout.cells {
            Field::StatedLossPercent => Some(Unit::PERCENT),
            _ => ready.paper.page.flow_unit.or(Some(flow)),
        };
        let labels = layout.outer.iter().chain([&layout.down]).copied().map(layer_field);
        let fields: Vec<Field> = labels.collect();
        for (at, column) in ready.found.columns.iter_mut().enumerate() {
            let label = fields.get(at).copied();
            column.field = Some(label.unwrap_or(layout.cells));
            column.unit = unit.filter(|_| label.is_none());
        }
        ready.grid = Some((layout, unit));
    }
    ready.layout = ready.describe();
    ready
}

fn stack_order(found: &Found) -> Vec<PartKind> {
    let column = found.columns.iter().find(|c| c.field == Some(Field::Assembly));
    column.map(|c| runs::stack_order(&c.header.text)).unwrap_or_default()
}

/// The parts that a page names for all its runs, `Filter: E-4` or `E-4, unused`, where the table has no column of them;
/// with the state that stands behind one.
fn layers<'w>(found: &Found, above: &[&'w Row], known: &Known) -> ([&'w str; 5], Option<(String, u32)>) {
    let (mut out, mut state) = ([""; 5], None);
    if found.shape != Shape::Listed(Group::Runs) || found.has(Field::Assembly) {
        return (out, state);
    }
    for row in above {
        for cell in row.cells().filter(|c| found.span.has(c.column)) {
            let named = match cell.raw.split_once(':') {
                Some((label, name)) => {
                    let label = label.trim();
                    let kind = terms::kind_named(label).filter(|_| !label.ends_with('s'));
                    kind.map(|kind| (kind, name.trim()))
                }
                None => {
                    let (name, rest) = cell.raw.split_once(',').unwrap_or((cell.raw, ""));
                    let part = known.part(None, name.trim()).and_then(|part| known.parts.get(&part));
                    let kind = part.filter(|part| part.only_named.is_none()).and_then(|part| part.kind);
                    let told = rest.trim().is_empty() || terms::only_service(rest);
                    let free = kind.filter(|kind| told && !found.has(layer_field(*kind)));
                    if free == Some(PartKind::Filter) && !rest.trim().is_empty() {
                        state.get_or_insert((rest.trim().to_owned(), row.number()));
                    }
                    free.map(|kind| (kind, name.trim()))
                }
            };
            let Some((kind, name)) = named else { continue };
            let Some(place) = runs::LAYERS.iter().position(|own| *own == kind) else { continue };
            let one = !name.is_empty() && name.chars().count() <= 40 && !name.contains(['=', ';']);
            let other =
                terms::restraint(name).is_some() || terms::service(name).is_some() || terms::no_part(name);
            if one && !other && !found.has(layer_field(kind)) && out[place].is_empty() {
                out[place] = name;
            }
        }
    }
    (out, state)
}

/// The kind of part that the line right above a table of parts names and nothing else.
fn titled(found: &Found, above: &[&Row]) -> Option<PartKind> {
    let mut cells = above.last()?.cells().filter(|c| found.span.has(c.column) && !c.raw.trim().is_empty());
    let (title, more) = (cells.next()?, cells.next());
    let parts = found.shape == Shape::Listed(Group::Parts) && more.is_none();
    terms::kind_named(title.raw.trim()).filter(|_| parts)
}

/// Rows looked at below a table.
const BELOW: usize = 40;

/// The lines below a table, up to the next one: a key may stand there too.
fn below<'w>(found: &Found, sheet: &'w Sheet) -> impl Iterator<Item = &'w Row> {
    let last = found.rows.last().map_or(sheet.rows.len(), |last| last + 1);
    let few = |row: &&Row| row.cells().filter(|c| !c.raw.trim().is_empty()).count() <= MOST_CELLS_OF_A_LINE;
    sheet.rows[last..].iter().take(BELOW).take_while(few)
}

/// A line of a page has fewer cells than a row of a table.
const MOST_CELLS_OF_A_LINE: usize = 4;

fn table_id(file: Uuid, sheet: &Sheet, header_row: u32, span: table::Span) -> Uuid {
    let id = Derived::new("sheet_table")
        .id(Some(file))
        .text(sheet.name.as_deref().unwrap_or(""))
        .int(Some(i64::from(header_row)));
    // A table to the right of another has its column as well.
    if span.from > 0 { id.int(Some(span.from as i64)).finish() } else { id.finish() }
}

/// What dates of a table may leave out: the year that the page has, and that they are days counted by a spreadsheet.
fn dates_beside(found: &Found, sheet: &Sheet, page: &Page, session: &str) -> civil::Beside {
    let mut years: Vec<i32> = page
        .lines
        .iter()
        .map(|l| l.1.as_str())
        .chain([session])
        .flat_map(|text| text.split(|c: char| !c.is_ascii_alphanumeric()))
        .filter(|word| word.len() == 4)
        .filter_map(|word| word.parse().ok())
        .filter(|year| (1950..2100).contains(year))
        .collect();
    years.sort_unstable();
    years.dedup();
    let texts = page.lines.iter().map(|l| l.1.as_str()).chain([session]);
    let mut months: Vec<(u32, i32)> = texts.flat_map(civil::months_in).collect();
    months.sort_unstable();
    months.dedup();
    let (mut all, mut counted) = (0, 0);
    for column in found.columns.iter().filter(|c| matches!(c.field, Some(Field::Date | Field::Arrived))) {
        for row in found.rows.iter().take(200) {
            let text = sheet.rows[*row].text(column.header.column).trim();
            all += usize::from(!text.is_empty());
            counted += usize::from(civil::counted(text).is_some());
        }
    }
    let date = found.columns.iter().find(|c| c.field == Some(Field::Date)).map(|c| c.header.column);
    let rows = found.rows.iter().take(200).filter(|_| date.is_some());
    let days = rows.map(|row| sheet.rows[*row].text(date.unwrap_or_default()).trim());
    let days = days.filter(|text| !text.is_empty() && !terms::ditto(text));
    civil::Beside {
        year: (years.len() == 1).then(|| years[0]),
        month: (months.len() == 1).then(|| months[0]),
        counted: counted > 1 || (counted == 1 && all == 1),
        year_first: civil::year_first(days),
    }
}

/// What the header of a column of baselines says that they consist of: `bare baseline (CFM)`.
pub(super) fn column_baseline(found: &Found) -> Option<BaselineKind> {
    let header = found.columns.iter().find(|c| c.field == Some(Field::StatedBaseline))?;
    let kind = page::baseline_kind(&terms::plain(&header.header.text));
    (kind != BaselineKind::Unknown).then_some(kind)
}

pub(super) fn layer_field(kind: airshelf_catalog::PartKind) -> Field {
    [Field::Base, Field::Spacer, Field::Filter, Field::Lid, Field::VelocityStack]
        .into_iter()
        .find(|f| f.layer() == Some(kind))
        .unwrap_or(Field::Name)
}

/// Names that a program gives to a sheet that nobody named.
fn generic(name: &str) -> bool {
    let name = name.trim().to_lowercase();
    let bare = name.trim_end_matches(|c: char| c.is_ascii_digit() || c == ' ' || c == '(' || c == ')');
    matches!(
        bare,
        "" | "sheet"
            | "tabelle"
            | "feuille"
            | "hoja"
            | "foglio"
            | "blad"
            | "table"
            | "tab"
            | "worksheet"
            | "data"
            | "export"
    )
}

/// Whether the columns are those that `export` writes.
pub(super) fn canonical(found: &Found) -> bool {
    let own = ["session", "purpose", "order", "base", "filter", "lid"];
    let set = |text: &str| found.columns.iter().any(|c| c.header.text.trim().eq_ignore_ascii_case(text));
    let with_unit = |name: &str| {
        found.columns.iter().any(|c| {
            c.header
                .text
                .trim()
                .to_ascii_lowercase()
                .strip_prefix(name)
                .is_some_and(|rest| rest.trim_start().starts_with('('))
        })
    };
    own.iter().all(|name| set(name)) && with_unit("flow") && with_unit("set pressure")
}

/// Whether what a person says of a page can be read as that field.
pub(crate) fn says_something(field: Field, text: &str) -> bool {
    let decimals = [Decimal::Point, Decimal::Comma];
    match (field, field.dimension()) {
        (Field::Date, _) => civil::date(text, None, DateOrder::DayFirst).is_some(),
        (Field::Restraint, _) => terms::restraint(text).is_some(),
        (_, Some(dimension)) => {
            let unit = matches!(field, Field::Range | Field::StatedBaseline).then_some(Unit::CFM);
            decimals.into_iter().any(|decimal| read(text, dimension, unit, decimal).is_ok())
        }
        _ => !text.trim().is_empty(),
    }
}

/// Puts in what a person says that a page says.
fn told_page(page: &mut Page, told: &crate::map::TableMapping, hand: Hand) {
    for (name, text) in &told.page {
        let Some(field) = Field::from_name(name) else { continue };
        page.values.retain(|v| v.field != field);
        let mut value =
            PageValue { field, row: None, raw: text.clone(), quantity: None, text: None, assumed: false };
        match (field, field.dimension()) {
            (Field::Date, _) => match civil::date(text, hand.order, hand.guess) {
                Some(date) => value.text = Some(date.iso),
                None => continue,
            },
            (Field::Restraint, _) => {
                page.restraint = terms::restraint(text).map(|r| (r, 0, text.clone()));
                continue;
            }
            (Field::Service, _) => {
                page.service_note = Some((text.clone(), 0));
                continue;
            }
            (_, Some(dimension)) => {
                let unit = match field {
                    Field::Range | Field::StatedBaseline => Some(hand.flow),
                    _ => None,
                };
                match read(text, dimension, unit, hand.decimal) {
                    Ok(read) => value.quantity = Some(Quantity::read(read.si, text.as_str(), read.unit)),
                    Err(_) => continue,
                }
                if field == Field::StatedBaseline {
                    page.baseline_kind = Some(page::baseline_kind(&terms::plain(text)));
                }
            }
            _ => value.text = Some(text.clone()),
        }
        page.values.push(value);
    }
}
