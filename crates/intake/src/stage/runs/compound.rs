//! Cells that hold several things: a result with its pressure, diameter and height, a stack of parts.

use crate::map::Field;
use crate::stage::cells::quantity;
use crate::stage::settle::kind_in;
use crate::stage::terms::{kind_named, no_part, plain};
use airshelf_catalog::{PartDimension, PartKind, Quantity};
use airshelf_units::{Dimension, Unit};

/// `14.6 @ 12 inH2O` is a result and its own pressure, and so is `14.6 (at 12 in)`.
pub(crate) fn split_at_pressure(text: &str) -> Option<(&str, &str)> {
    let digit = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
    let (number, pressure) = match text.split_once('@').or_else(|| text.split_once(" at ")) {
        Some((number, pressure)) => (number, pressure),
        None => {
            let (number, inner) = text.strip_suffix(')')?.split_once('(')?;
            let said = inner.trim().strip_prefix("at ");
            let pressure = said.unwrap_or(inner).trim();
            // A bare number in brackets counts something.
            let with_unit = pressure.ends_with(|c: char| c.is_alphabetic() || "0\"″".contains(c))
                && pressure.contains(|c: char| c.is_alphabetic() || "\"″".contains(c));
            if said.is_none() && !with_unit {
                return None;
            }
            (number, pressure)
        }
    };
    let number = number.trim().trim_end_matches(['(', ',']).trim();
    let pressure = pressure.trim().trim_end_matches(')').trim();
    (digit(pressure) && number.contains(|c: char| c.is_ascii_digit())).then_some((number, pressure))
}

/// Reads a pressure that stands beside a result; an inch or a millimeter there is one of what the page is set in.
pub(crate) fn pressure_beside(
    text: &str,
    kind: &crate::reader::CellKind,
    usual: Option<Unit>,
    decimal: Option<airshelf_units::Decimal>,
) -> Result<Quantity, airshelf_units::ReadError> {
    quantity(text, kind, Field::SetPressure, usual, decimal).or_else(|error| {
        let length = airshelf_units::read(text, Dimension::Length, None, decimal).map_err(|_| error)?;
        let mercury = usual.is_some_and(|u| u == Unit::IN_HG || u == Unit::MM_HG);
        let unit = match (length.unit, mercury) {
            (Unit::MM, false) => Unit::MM_H2O,
            (Unit::MM, true) => Unit::MM_HG,
            (Unit::CM, _) => Unit::CM_H2O,
            (_, true) => Unit::IN_HG,
            (_, false) => Unit::IN_H2O,
        };
        Ok(Quantity::read(unit.to_si(length.value), text, unit))
    })
}

/// Diameter and height out of two sizes; of three the middle or the smallest diameter is the inside one.
pub(crate) fn sized(sizes: &[airshelf_units::Read]) -> Vec<(PartDimension, airshelf_units::Read)> {
    match sizes {
        [od, height] => vec![(PartDimension::OutsideDiameter, *od), (PartDimension::Height, *height)],
        [od, id, height] => vec![
            (PartDimension::OutsideDiameter, *od),
            (PartDimension::InsideDiameter, *id),
            (PartDimension::Height, *height),
        ],
        _ => Vec::new(),
    }
}

/// Marks between the parts of a stack.
const BETWEEN: [char; 6] = ['/', '|', '>', ';', '+', ','];

/// The parts of a stack.
pub(crate) fn pieces(text: &str) -> Vec<&str> {
    let mark = BETWEEN.into_iter().find(|m| text.contains(*m)).unwrap_or('/');
    text.split(mark).map(str::trim).filter(|p| !p.is_empty()).collect()
}

/// The order in which a column has the parts of a stack, as its header tells it: `pan + element + hat`. One word that
/// is not known names the kind that the others leave.
pub(crate) fn stack_order(header: &str) -> Vec<PartKind> {
    let named: Vec<Option<PartKind>> = pieces(header).into_iter().map(kind_named).collect();
    let left =
        [PartKind::Base, PartKind::Filter, PartKind::Lid].into_iter().filter(|k| !named.contains(&Some(*k)));
    let (open, left) = (named.iter().filter(|k| k.is_none()).count(), left.collect::<Vec<_>>());
    if named.len() < 2 || open > 1 || open == 1 && (named.len() < 3 || left.len() != 1) {
        return Vec::new();
    }
    named.into_iter().filter_map(|kind| kind.or_else(|| left.first().copied())).collect()
}

/// Splits `foam 9.5x3.5 / vented / dropped` into parts: by tags that the shelf knows, else in the order that the header
/// tells, else by their words, else in the order filter, lid, base.
pub(crate) fn split_stack<'t>(
    text: &'t str,
    known: &crate::stage::Known,
    order: &[PartKind],
) -> Vec<(PartKind, &'t str)> {
    let all = pieces(text);
    let order = if all.len() == order.len() { order } else { &[] };
    let mut out: Vec<(Option<PartKind>, &str)> = all
        .into_iter()
        .enumerate()
        .filter(|(_, piece)| !no_part(piece))
        .map(|(place, piece)| {
            let listed =
                known.part(None, piece).and_then(|p| known.parts.get(&p)).filter(|p| p.only_named.is_none());
            let by_words = || {
                let size = piece.split(['x', '×']).count() == 2
                    && piece.bytes().filter(u8::is_ascii_digit).count() >= 2;
                kind_in(&plain(piece)).or(size.then_some(PartKind::Filter))
            };
            let kind = listed.and_then(|p| p.kind).or(order.get(place).copied()).or_else(by_words);
            (kind, piece)
        })
        .collect();
    let mut usual = [PartKind::Filter, PartKind::Lid, PartKind::Base, PartKind::Spacer].into_iter();
    for at in 0..out.len() {
        if out[at].0.is_none() {
            let free = usual.find(|k| out.iter().all(|o| o.0 != Some(*k)));
            out[at].0 = Some(free.unwrap_or(PartKind::Other));
        }
    }
    out.into_iter().map(|(kind, text)| (kind.unwrap_or(PartKind::Other), text)).collect()
}
