//! Flows and shares told apart by their sums and proportions.

use super::{Book, SURE, give, place};
use crate::map::Field;
use crate::stage::table::Found;
use airshelf_units::{Dimension, Unit, read};

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
pub(super) fn flows(found: &mut Found, book: &Book<'_>) {
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
pub(super) fn shares(found: &mut Found, book: &Book<'_>) {
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

/// Whole numbers that fall as the flow climbs say which came first, second, and so on.
pub(super) fn ranks(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Place).is_some() {
        return;
    }
    let of = |field: Field| place(found, field).map(|at| book.numbers(found, at));
    let Some(flow) = of(Field::Flow).or_else(|| of(Field::NetFlow)) else { return };
    let ranked = |at: &usize| {
        let column = &found.columns[*at];
        if column.field.is_some() || column.told || column.header.unit.is_some() {
            return false;
        }
        let told = book.numbers(found, *at);
        let pairs: Vec<(f64, f64)> =
            told.iter().zip(&flow).filter_map(|(r, f)| Some(((*r)?, (*f)?))).collect();
        let whole = pairs.iter().all(|p| p.0.fract() == 0.0 && (1.0..=60.0).contains(&p.0));
        let filled = book.texts(found, *at).len();
        let mut ranks: Vec<u8> = pairs.iter().map(|p| p.0 as u8).collect();
        ranks.sort_unstable();
        ranks.dedup();
        let from_one =
            ranks.first() == Some(&1) && ranks.last().is_some_and(|l| usize::from(*l) <= ranks.len() + 2);
        let (mut all, mut fall) = (0, 0);
        for (i, a) in pairs.iter().enumerate() {
            for b in pairs[i + 1..].iter().filter(|b| b.0 != a.0) {
                all += 1;
                fall += usize::from((a.0 < b.0) == (a.1 > b.1));
            }
        }
        whole && filled == pairs.len() && ranks.len() >= 4 && from_one && fall * 10 >= all * 9
    };
    if let Some(at) = (0..found.columns.len()).find(ranked) {
        give(found, at, Field::Place);
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
