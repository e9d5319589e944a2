//! Reads two or three sizes written in one cell.

use crate::{Decimal, Read, ReadError, Unit, read};

/// Reads a cell that holds several sizes, such as `11x2¼`, `11" x 3"`, `10 x 2 1/4` or `250 × 60 mm`.
///
/// A size without a unit takes the unit of the next one that has one, else of the one before, else `default`; so that in
/// `250 x 60 mm` both are millimeters. `None` where the cell is not two or three sizes.
///
/// ```
/// use airshelf_units::{Decimal, Unit, read_sizes};
/// let sizes = read_sizes("11x2¼", Unit::INCH, Decimal::Point).unwrap();
/// assert_eq!(sizes.iter().map(|size| size.value).collect::<Vec<_>>(), [11.0, 2.25]);
/// ```
pub fn read_sizes(text: &str, default: Unit, decimal: impl Into<Option<Decimal>>) -> Option<Vec<Read>> {
    let decimal = decimal.into();
    let dimension = default.dimension();
    let text = text.replace(" by ", "×");
    let cells: Vec<&str> = text.split(['x', 'X', '×', '✕', '*']).collect();
    if !(2..=3).contains(&cells.len()) {
        return None;
    }
    let mut own: Vec<Option<Unit>> = Vec::with_capacity(cells.len());
    for cell in &cells {
        match read(cell, dimension, None, decimal) {
            Ok(size) => own.push(Some(size.unit)),
            Err(ReadError::NoUnit { .. }) => own.push(None),
            Err(_) => return None,
        }
    }
    let unit_of = |at: usize| {
        own[at..]
            .iter()
            .flatten()
            .next()
            .or(own[..at].iter().flatten().next_back())
            .copied()
            .unwrap_or(default)
    };
    cells
        .iter()
        .enumerate()
        .map(|(at, cell)| read(cell, dimension, Some(unit_of(at)), decimal).ok())
        .collect()
}
