//! What the numbers of a table tell of its columns where headers leave it open: sizes, sums and proportions that hold
//! from row to row.
//!
//! - net flow + leakage = flow as read
//! - flow at set pressure = flow · √(set / actual), for the flow as read or the net flow
//! - flow at reference air = flow · air factor
//! - stated baseline − flow = stated loss
//!
//! Common practice, no source. A relation counts when most rows keep it, so that a few wrong rows do not hide it.

use super::civil;
use super::legend::Legend;
use super::table::{Found, Shape};
use super::terms::{direction, ditto, no_part, not_run, only_service, purpose, restraint, service};
use crate::map::columns::{Assigned, assign_but, suffices};
use crate::map::{DateOrder, Field, Group, Header};
use crate::reader::{CellKind, Sheet};
use airshelf_units::{Decimal, Dimension, Unit, read, read_sizes};

/// Rows looked at.
const LOOK: usize = 200;
/// Below this a field is only a guess from the header.
const SURE: f64 = 0.97;
/// Given to what the numbers tell.
const TOLD: f64 = 0.75;

/// Gives columns the fields that the numbers of the table speak for.
///
/// Gives back the columns whose cells do not fit their header, as the header alone had them.
pub(super) fn by_content(
    found: &mut Found,
    sheet: &Sheet,
    decimal: Option<Decimal>,
    legend: &Legend,
) -> Vec<Assigned> {
    let Shape::Listed(group) = found.shape else { return Vec::new() };
    let book = Book { sheet, decimal, legend };
    let unfit = unfit(found, group, &book);
    dates(found, group, &book);
    if !matches!(group, Group::Runs | Group::Parts) {
        return unfit;
    }
    sizes(found, &book);
    if group == Group::Runs {
        states_for_elements(found, &book);
        places(found, &book);
        held(found, &book);
        stacks(found, &book);
        numbered_or_named(found, &book);
        named_stack(found, &book);
        air(found, &book);
        pressures(found, &book);
        flows(found, &book);
        shares(found, &book);
        stack(found, &book);
    }
    unfit
}

/// Where nothing else was found for a column that does not fit its header, the header stands: its cells are set aside
/// one by one, with their reasons.
pub(super) fn as_headed(found: &mut Found, unfit: Vec<Assigned>) {
    for column in unfit {
        if found.columns.iter().any(|c| c.field == column.field) {
            continue;
        }
        // A header that only half fits stands for nothing once its cells do not.
        if column.confidence < 0.9 {
            continue;
        }
        let own = found.columns.iter_mut().find(|c| c.header.column == column.header.column);
        if let Some(own) = own.filter(|c| c.field.is_none()) {
            *own = column;
        }
    }
}

struct Book<'w> {
    sheet: &'w Sheet,
    decimal: Option<Decimal>,
    /// What the page says of its short words.
    legend: &'w Legend,
}

impl<'w> Book<'w> {
    fn texts(&self, found: &Found, at: usize) -> Vec<&'w str> {
        let column = found.columns[at].header.column;
        let rows = found.rows.iter().take(LOOK).map(|r| self.sheet.rows[*r].text(column).trim());
        rows.filter(|t| !t.is_empty() && !ditto(t) && !not_run(t)).collect()
    }

    /// The numbers of a column, row by row.
    fn numbers(&self, found: &Found, at: usize) -> Vec<Option<f64>> {
        let column = found.columns[at].header.column;
        let number = |row: usize| {
            let row = &self.sheet.rows[row];
            let own = matches!(row.kind(column), CellKind::Number(_));
            let decimal = if own { Some(Decimal::Point) } else { self.decimal };
            let text = row.text(column).trim();
            read(text, Dimension::Ratio, Some(Unit::RATIO), decimal).ok().map(|r| r.value)
        };
        found.rows.iter().take(LOOK).map(|r| number(*r)).collect()
    }
}

fn place(found: &Found, field: Field) -> Option<usize> {
    found.columns.iter().position(|c| c.field == Some(field))
}

fn give(found: &mut Found, at: usize, field: Field) {
    let column = &mut found.columns[at];
    column.field = Some(field);
    column.confidence = TOLD;
    column.unit = field.dimension().and_then(|d| column.header.unit_for(d, field == Field::Barometer));
}

/// Where the cells of a column cannot be what its header was taken for, the header is read again without that.
fn unfit(found: &mut Found, group: Group, book: &Book<'_>) -> Vec<Assigned> {
    let mut not: Vec<(usize, Field)> = Vec::new();
    let mut unfit: Vec<Assigned> = Vec::new();
    for _ in 0..4 {
        let before = not.len();
        for at in 0..found.columns.len() {
            let column = &found.columns[at];
            if let Some(field) = column.field.filter(|_| !column.told)
                && cannot_be(found, book, at, field)
            {
                not.push((column.header.column, field));
                if unfit.iter().all(|u| u.header.column != column.header.column) {
                    unfit.push(column.clone());
                }
            }
        }
        if not.len() == before {
            break;
        }
        let headers: Vec<Header> = found.columns.iter().map(|c| c.header.clone()).collect();
        let mut again = assign_but(&headers, group, &not);
        for (new, own) in again.iter_mut().zip(&found.columns) {
            if own.told {
                *new = own.clone();
            } else if found.columns.iter().any(|c| c.told && c.field.is_some() && c.field == new.field) {
                *new = Assigned::open(own.header.clone());
            }
        }
        if !suffices(&again, group) {
            break;
        }
        found.columns = again;
    }
    unfit
}

/// Whether hardly any cell of a column can be read as a field that needs numbers, dates or known words.
fn cannot_be(found: &Found, book: &Book<'_>, at: usize, field: Field) -> bool {
    let texts = book.texts(found, at);
    if texts.len() < 2 {
        return false;
    }
    let share =
        |fits: &dyn Fn(&str) -> bool| texts.iter().filter(|t| fits(t)).count() as f64 / texts.len() as f64;
    let numeric = |text: &str| {
        let body = text.trim_start_matches(|c: char| !c.is_alphanumeric());
        body.starts_with(|c: char| c.is_numeric())
    };
    let day = |text: &str| {
        numeric(text)
            || civil::date(text, None, DateOrder::DayFirst).is_some()
            || text.split(|c: char| !c.is_alphanumeric()).any(|word| civil::month_of(word).is_some())
    };
    let clock = |text: &str| text.contains(':') && civil::clock(text).is_some();
    let unsure = found.columns[at].confidence < SURE;
    let out = |text: &str| book.legend.spelled_out(text).to_owned();
    match field {
        Field::Date if share(&clock) > 0.8 => true,
        Field::Clock if share(&|t| t.len() > 5 && day(t) && !t.contains(':')) > 0.8 => true,
        field if field.dimension().is_some() && field != Field::Size => {
            share(&|t| numeric(t) || t.contains(|c: char| c.is_ascii_digit()) && t.contains(['~', '<', '=']))
                < 0.3
        }
        Field::Order | Field::Place | Field::Readings => {
            share(&|t| t.len() <= 2 || t.contains(|c: char| c.is_ascii_digit())) < 0.3
        }
        Field::Date | Field::Arrived | Field::Revised | Field::Written if unsure => share(&day) < 0.2,
        Field::Clock => share(&|t| t.contains(|c: char| c.is_ascii_digit())) < 0.3,
        // Numbers are no words for these, whatever the header.
        Field::Service | Field::Direction if share(&numeric) > 0.8 => {
            texts.len() > 2 && share(&|t| service(&out(t)).is_some() || direction(&out(t)).is_some()) == 0.0
        }
        Field::Purpose if unsure => share(&|t| purpose(&out(t)).is_some()) == 0.0,
        Field::Restraint if unsure => share(&|t| restraint(&out(t)).is_some() || numeric(t)) == 0.0,
        Field::Service if unsure => share(&|t| service(&out(t)).is_some()) == 0.0,
        Field::Direction if unsure => share(&|t| direction(&out(t)).is_some()) == 0.0,
        _ => false,
    }
}

/// A column without a name whose cells are all dates.
fn dates(found: &mut Found, group: Group, book: &Book<'_>) {
    let field = match group {
        Group::Runs => Field::Date,
        Group::Parts => Field::Arrived,
        Group::Guesses => Field::Written,
        Group::Ratings => return,
    };
    if place(found, field).is_some() {
        return;
    }
    let dated = |at: &usize| {
        let column = &found.columns[*at];
        let texts = book.texts(found, *at);
        column.field.is_none()
            && !column.told
            && texts.len() > 1
            && texts.iter().all(|t| t.len() > 5 && civil::date(t, None, DateOrder::DayFirst).is_some())
    };
    if let Some(at) = (0..found.columns.len()).find(dated) {
        give(found, at, field);
    }
}

/// An `Element` whose cells are all states of elements tells the state.
fn states_for_elements(found: &mut Found, book: &Book<'_>) {
    let Some(at) = place(found, Field::Filter).filter(|at| !found.columns[*at].told) else { return };
    let texts = book.texts(found, at);
    if place(found, Field::Service).is_none() && texts.len() > 1 && texts.iter().all(|t| only_service(t)) {
        give(found, at, Field::Service);
    }
}

/// `1st`, `2nd`, `4th =` are places, whatever the column is called.
fn places(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Place).is_some() {
        return;
    }
    let ordinal = |text: &str| {
        let body = text.trim_start_matches(['=', '(']);
        let digits = body.bytes().take_while(u8::is_ascii_digit).count();
        let rest = body[digits..].trim_end_matches(['=', ')', ' ', '?', '!']).to_lowercase();
        (1..=3).contains(&digits)
            && matches!(rest.as_str(), "st" | "nd" | "rd" | "th" | "er" | "ème" | "º" | "ª")
    };
    let placed = |at: &usize| {
        let column = &found.columns[*at];
        let texts = book.texts(found, *at);
        let open = column.field.is_none() || column.confidence < SURE;
        open && !column.told
            && texts.len() > 1
            && texts.iter().filter(|t| ordinal(t)).count() * 5 > texts.len() * 4
    };
    if let Some(at) = (0..found.columns.len()).find(placed) {
        give(found, at, Field::Place);
    }
}

/// `Lid was` over cells that say how it was held is no lid.
fn held(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Restraint).is_some() {
        return;
    }
    let says_how = |at: &usize| {
        let column = &found.columns[*at];
        let unsure = column.field.is_none_or(|f| f.layer().is_some() || f == Field::Stud || f == Field::Date);
        let texts = book.texts(found, *at);
        let how = texts.iter().filter(|t| restraint(book.legend.spelled_out(t)).is_some()).count();
        unsure && column.confidence < SURE && !column.told && texts.len() > 1 && how * 5 > texts.len() * 4
    };
    if let Some(at) = (0..found.columns.len()).find(says_how) {
        give(found, at, Field::Restraint);
    }
}

/// A column whose cells are several parts each is the stack, where no other column names parts.
fn stacks(found: &mut Found, book: &Book<'_>) {
    if [Field::Filter, Field::Lid, Field::Assembly].iter().any(|f| place(found, *f).is_some()) {
        return;
    }
    let several = |text: &str| {
        ["+", " / ", "/", " | ", " > ", " & "].iter().any(|mark| {
            let pieces: Vec<&str> = text.split(mark).map(str::trim).collect();
            (2..=5).contains(&pieces.len())
                && pieces.iter().all(|p| p.len() > 1 && p.contains(|c: char| c.is_alphabetic()))
        })
    };
    let stacked = |at: &usize| {
        let column = &found.columns[*at];
        let texts = book.texts(found, *at);
        let open = column.field.is_none_or(|f| !matches!(f, Field::Note)) && column.confidence < SURE;
        open && !column.told
            && texts.len() > 1
            && texts.iter().filter(|t| several(t)).count() * 2 > texts.len()
    };
    if let Some(at) = (0..found.columns.len()).find(stacked) {
        give(found, at, Field::Assembly);
    }
}

/// A column of `A×B` is one of sizes.
fn sizes(found: &mut Found, book: &Book<'_>) {
    for at in 0..found.columns.len() {
        let column = &found.columns[at];
        let open = column.field.is_none() || (column.field == Some(Field::Name) && column.confidence < SURE);
        if !open || place(found, Field::Size).is_some() {
            continue;
        }
        let texts = book.texts(found, at);
        let sized = texts.iter().filter(|t| read_sizes(t, Unit::INCH, book.decimal).is_some()).count();
        if sized >= 2 && sized * 5 > texts.len() * 3 {
            give(found, at, Field::Size);
        }
    }
}

/// A `Test` may be its number or its kind.
fn numbered_or_named(found: &mut Found, book: &Book<'_>) {
    for (own, other) in [(Field::Order, Field::Purpose), (Field::Purpose, Field::Order)] {
        let Some(at) = place(found, own) else { continue };
        if place(found, other).is_some() {
            continue;
        }
        let texts = book.texts(found, at);
        let numeric = texts.iter().filter(|t| t.starts_with(|c: char| c.is_ascii_digit())).count();
        let named = texts.iter().filter(|t| purpose(t).is_some()).count();
        let other_fits = if own == Field::Order {
            named * 5 > texts.len() * 3
        } else {
            numeric * 5 > texts.len() * 4 && named * 5 < texts.len()
        };
        if other_fits {
            give(found, at, other);
        }
    }
}

/// A `What` whose cells are no purposes is the stack, where no other column names parts.
fn named_stack(found: &mut Found, book: &Book<'_>) {
    let Some(at) = place(found, Field::Purpose) else { return };
    let parts =
        [Field::Base, Field::Spacer, Field::VelocityStack, Field::Filter, Field::Lid, Field::Assembly];
    if parts.iter().any(|f| place(found, *f).is_some()) {
        return;
    }
    let texts = book.texts(found, at);
    let named = texts.iter().filter(|t| purpose(t).is_some()).count();
    if named * 2 < texts.len() {
        give(found, at, Field::Assembly);
    }
}

/// A pressure of some hundred hectopascals is that of the day.
fn air(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Barometer).is_some() {
        return;
    }
    for at in 0..found.columns.len() {
        let column = &found.columns[at];
        let Some(unit) = column.header.unit.filter(|u| u.dimension() == Dimension::Pressure) else {
            continue;
        };
        if column.field.is_some() && column.confidence > 0.8 {
            continue;
        }
        let of_air = |v: &f64| (60_000.0..110_000.0).contains(&unit.to_si(*v));
        let numbers: Vec<f64> = book.numbers(found, at).into_iter().flatten().collect();
        if !numbers.is_empty() && numbers.iter().filter(|v| of_air(v)).count() * 2 > numbers.len() {
            give(found, at, Field::Barometer);
            return;
        }
    }
}

/// Of two pressures whose words are alike, the one that wanders was read; one beside a known one is the other.
fn pressures(found: &mut Found, book: &Book<'_>) {
    let open: Vec<usize> = (0..found.columns.len())
        .filter(|&at| {
            let column = &found.columns[at];
            column.field.is_none()
                && column.header.unit.is_some_and(|u| u.dimension() == Dimension::Pressure)
                && !column.header.words.iter().any(|w| matches!(w.as_str(), "meter" | "orifice" | "inclined"))
        })
        .collect();
    if let [one] = open.as_slice() {
        match (place(found, Field::SetPressure), place(found, Field::ActualPressure)) {
            (Some(_), None) => give(found, *one, Field::ActualPressure),
            (None, Some(_)) => give(found, *one, Field::SetPressure),
            _ => {}
        }
    }
    let (Some(set), Some(actual)) = (place(found, Field::SetPressure), place(found, Field::ActualPressure))
    else {
        return;
    };
    let told = |at: usize| {
        let words = &found.columns[at].header.words;
        ["set", "target", "wanted", "nominal", "actual", "read", "measured", "held", "got"]
            .iter()
            .any(|w| words.iter().any(|own| own == w))
    };
    if told(set) || told(actual) {
        return;
    }
    let different = |at: usize| {
        let mut texts = book.texts(found, at);
        texts.sort_unstable();
        texts.dedup();
        texts.len()
    };
    if different(set) > different(actual) {
        give(found, set, Field::ActualPressure);
        give(found, actual, Field::SetPressure);
    }
}

fn median(numbers: &[Option<f64>]) -> Option<f64> {
    let mut numbers: Vec<f64> = numbers.iter().flatten().map(|v| v.abs()).collect();
    numbers.sort_by(f64::total_cmp);
    numbers.get(numbers.len() / 2).copied()
}

/// How many rows have both numbers, and in how many they agree to the digits that sheets show.
fn agree(told: &[Option<f64>], expected: &[Option<f64>]) -> (usize, usize) {
    let pairs = told.iter().zip(expected).filter_map(|(a, b)| Some(((*a)?, (*b)?)));
    pairs.fold((0, 0), |(all, close), (a, b)| {
        (all + 1, close + usize::from((a - b).abs() <= (5e-4 * b.abs()).max(0.006)))
    })
}

fn mostly(told: &[Option<f64>], expected: &[Option<f64>]) -> bool {
    let (all, close) = agree(told, expected);
    all >= 3 && close * 5 >= all * 3
}

fn combine(a: &[Option<f64>], b: &[Option<f64>], with: fn(f64, f64) -> f64) -> Vec<Option<f64>> {
    a.iter().zip(b).map(|(a, b)| Some(with((*a)?, (*b)?))).collect()
}

/// Tells the flows of a table from one another.
fn flows(found: &mut Found, book: &Book<'_>) {
    let measured = |found: &Found, at: usize| {
        let column = &found.columns[at];
        let flow = |u: Unit| u.dimension() == Dimension::Flow;
        match column.field {
            None => column.header.unit.is_some_and(flow),
            Some(Field::Range) => false,
            Some(field) => field.dimension() == Some(Dimension::Flow),
        }
    };
    largest(found, book, &measured);
    let Some(own) = place(found, Field::Flow) else { return };
    let flow = book.numbers(found, own);
    let Some(usual) = median(&flow).filter(|v| *v > 0.0) else { return };
    // A `baseline` of a tenth of the flow, or below zero, is what was lost against it.
    if let Some(at) = place(found, Field::StatedBaseline)
        && place(found, Field::StatedLoss).is_none()
        && median(&book.numbers(found, at)).is_some_and(|v| v < 0.4 * usual)
    {
        give(found, at, Field::StatedLoss);
    }
    for at in 0..found.columns.len() {
        let column = &found.columns[at];
        if at == own || !measured(found, at) || (column.field.is_some() && column.confidence >= SURE) {
            continue;
        }
        if column.header.unit.is_some() && column.header.unit != found.columns[own].header.unit {
            continue;
        }
        let told = book.numbers(found, at);
        let current = column.field;
        if let Some(field) = related(found, book, &flow, &told).filter(|f| Some(*f) != current)
            && place(found, field).is_none_or(|held| found.columns[held].confidence < SURE)
        {
            if let Some(held) = place(found, field) {
                found.columns[held].field = None;
                found.columns[held].unit = None;
            }
            give(found, at, field);
        }
    }
}

/// Where the flow as read is only a guess, it is the column with the largest numbers that nobody else claims.
fn largest(found: &mut Found, book: &Book<'_>, measured: &dyn Fn(&Found, usize) -> bool) {
    let Some(own) = place(found, Field::Flow).filter(|at| found.columns[*at].confidence < 0.7) else {
        return;
    };
    let open = (0..found.columns.len())
        .filter(|&at| at == own || (found.columns[at].field.is_none() && measured(found, at)));
    let sized = open.filter_map(|at| Some((at, median(&book.numbers(found, at))?)));
    // Of equal ones the first: what was read stands before what was made of it.
    let best = sized.reduce(|a, b| if b.1 > 1.02 * a.1 { b } else { a });
    if let Some((best, _)) = best.filter(|b| b.0 != own) {
        found.columns[own].field = None;
        found.columns[own].unit = None;
        give(found, best, Field::Flow);
    }
}

/// A column in percent is the loss where it follows from baseline and flow; steady and large, it is the humidity.
fn shares(found: &mut Found, book: &Book<'_>) {
    for at in 0..found.columns.len() {
        let column = &found.columns[at];
        // `Percent` alone is taken for the humidity, which is never so low.
        let guessed = column.field == Some(Field::Humidity) && column.confidence < 0.8;
        if guessed && place(found, Field::StatedLossPercent).is_none() {
            let shares = book.texts(found, at).into_iter().filter_map(|t| {
                read(t, Dimension::Ratio, Some(Unit::PERCENT), book.decimal).ok().map(|r| r.si)
            });
            if shares.fold(0.0, f64::max) < 0.15 {
                give(found, at, Field::StatedLossPercent);
                continue;
            }
        }
        let column = &found.columns[at];
        if column.field.is_some() || column.header.unit != Some(Unit::PERCENT) {
            continue;
        }
        let told = book.numbers(found, at);
        let of = |field: Field| place(found, field).map(|at| book.numbers(found, at));
        let lost = of(Field::StatedLoss).zip(of(Field::Flow)).is_some_and(|(loss, flow)| {
            let all = told.iter().zip(loss.iter().zip(&flow));
            let pairs = all.filter_map(|(p, (l, f))| Some(((*p)?, (*l)?, (*f)?)));
            let (all, close) = pairs.fold((0, 0), |(all, close), (p, l, f)| {
                (all + 1, close + usize::from((p.abs() - 100.0 * l.abs() / (f + l.abs())).abs() <= 0.11))
            });
            all >= 2 && close * 5 >= all * 3
        });
        if lost && place(found, Field::StatedLossPercent).is_none() {
            give(found, at, Field::StatedLossPercent);
            continue;
        }
        let mut numbers: Vec<f64> = told.into_iter().flatten().collect();
        numbers.sort_by(f64::total_cmp);
        let middle = numbers.get(numbers.len() / 2).copied().unwrap_or(0.0);
        let steady = numbers.len() > 2
            && numbers[numbers.len() / 10] > 0.7 * middle
            && numbers[numbers.len() - 1 - numbers.len() / 10] < 1.4 * middle;
        if steady && (15.0..=100.0).contains(&middle) && place(found, Field::Humidity).is_none() {
            give(found, at, Field::Humidity);
        }
    }
}

/// Where a filter stands with a lid or a base, the only text without a name that is there with the filter and gone
/// without it is the other of the two.
fn stack(found: &mut Found, book: &Book<'_>) {
    let Some(filter) = place(found, Field::Filter) else { return };
    let missing = match (place(found, Field::Lid), place(found, Field::Base)) {
        (Some(_), None) => Field::Base,
        (None, Some(_)) => Field::Lid,
        _ => return,
    };
    let text = |row: usize, at: usize| book.sheet.rows[row].text(found.columns[at].header.column).trim();
    let with_filter = |at: usize| {
        let (mut both, mut without, mut alone) = (0, 0, 0);
        for &row in found.rows.iter().take(LOOK) {
            let filtered = !no_part(text(row, filter));
            let named = !no_part(text(row, at));
            both += usize::from(filtered && named);
            without += usize::from(filtered && !named);
            alone += usize::from(!filtered && named);
        }
        both >= 2 && alone == 0 && without * 5 <= both
    };
    let named: Vec<usize> = (0..found.columns.len())
        .filter(|&at| found.columns[at].field.is_none() && found.columns[at].header.unit.is_none())
        .filter(|&at| book.numbers(found, at).iter().all(Option::is_none) && with_filter(at))
        .collect();
    let bare_rows = found.rows.iter().take(LOOK).any(|row| no_part(text(*row, filter)));
    if let ([one], true) = (named.as_slice(), bare_rows) {
        give(found, *one, missing);
    }
}

/// What a column is whose numbers follow from others of the row.
fn related(found: &Found, book: &Book<'_>, flow: &[Option<f64>], told: &[Option<f64>]) -> Option<Field> {
    let of = |field: Field| place(found, field).map(|at| book.numbers(found, at));
    if let Some(leakage) = of(Field::Leakage)
        && mostly(told, &combine(flow, &leakage, |f, l| if l == 0.0 { f64::NAN } else { f - l }))
    {
        return Some(Field::NetFlow);
    }
    let net = of(Field::NetFlow);
    let bases: Vec<&[Option<f64>]> = net.as_deref().into_iter().chain([flow]).collect();
    if let (Some(set), Some(actual)) = (of(Field::SetPressure), of(Field::ActualPressure)) {
        let factor = combine(&set, &actual, |set, actual| (set / actual).sqrt());
        for base in &bases {
            let expected = combine(base, &factor, |f, k| f * k);
            if mostly(told, &expected) && agree(told, &expected).1 > agree(told, base).1 {
                return Some(Field::FlowAtSetPressure);
            }
        }
    }
    if let Some(factor) = of(Field::AirFactor) {
        for base in &bases {
            let expected = combine(base, &factor, |f, k| f * k);
            if mostly(told, &expected) && agree(told, &expected).1 > agree(told, base).1 {
                return Some(Field::FlowAtReferenceAir);
            }
        }
    }
    let baseline = of(Field::StatedBaseline)?;
    let corrected = of(Field::FlowAtSetPressure);
    let size: Vec<Option<f64>> = told.iter().map(|v| v.map(f64::abs)).collect();
    let lost = |base: &[Option<f64>]| mostly(&size, &combine(&baseline, base, |b, f| (b - f).abs()));
    corrected.as_deref().into_iter().chain(bases).any(lost).then_some(Field::StatedLoss)
}
