//! What a page claims: places for what was not held, differences from one reading each.

use super::desk::Desk;
use super::evening::{Model, group_of};
use super::fault::{Detail, Repair};
use super::rule::Rule;
use super::shelf::Row;
use airshelf_catalog::{Refit, Restraint};

pub(crate) fn check_held(desk: &mut Desk) {
    let rows = desk.rows();
    for (i, row) in rows.iter().enumerate() {
        let place = row.run.table.zip(row.run.row);
        let unread = place.and_then(|place| desk.shelf.held_somehow.get(&place));
        if let Some(text) = unread.filter(|_| row.is_test() && row.run.restraint.is_none()) {
            let text = (*text).to_owned();
            desk.report(i, Rule::Unrestrained, "restraint", Detail::HeldSomehow { text })
                .repaired(Repair::Exclude);
        }
    }
    for (i, row) in rows.iter().enumerate() {
        let Some(restraint) = row.restraint.filter(|r| *r != Restraint::Fastened) else { continue };
        if desk.has(i, Rule::Unrestrained) {
            continue;
        }
        let place = row.claim.and_then(|c| c.place);
        let claimed = place.is_some() || row.run.note.as_deref().is_some_and(claims_difference);
        if !row.is_test() || !claimed {
            continue;
        }
        if restraint == Restraint::Taped && refitted(rows, row) {
            continue;
        }
        let detail = Detail::Held { restraint: restraint.name().to_owned(), place };
        desk.report(i, Rule::Unrestrained, "restraint", detail).repaired(Repair::Exclude);
    }
}

/// Whether refitted repeats of a taped assembly are stated.
fn refitted(rows: &[Row], row: &Row) -> bool {
    let same = |r: &&Row| r.assembly == row.assembly && r.restraint == row.restraint;
    rows.iter().filter(same).filter(|r| r.run.refit == Some(Refit::Yes)).count() >= 2
        || (rows.iter().filter(same).count() >= 2
            && rows.iter().filter(same).any(|r| r.run.refit == Some(Refit::Yes)))
}

const COMPARES: [&str; 19] = [
    "beats",
    "beat ",
    "better",
    "worse",
    "outflows",
    "wins",
    "won by",
    "ahead of",
    "gains",
    "gained",
    "picks up",
    "picked up",
    "improve",
    "loses to",
    "lost to",
    "more than",
    "less than",
    "up on",
    "down on",
];

/// Whether a remark claims a difference: a comparison with a number or with what it is compared with.
pub(crate) fn claims_difference(note: &str) -> bool {
    let note = note.to_lowercase();
    if note.contains("not better")
        || note.contains("no better")
        || note.contains("no worse")
        || note.contains('?')
    {
        return false;
    }
    let compares = COMPARES.iter().any(|w| note.contains(w));
    let to_what = note.chars().any(|c| c.is_ascii_digit())
        || [" than ", " the ", " over ", " by "].iter().any(|w| note.contains(w));
    compares && to_what
}

pub(crate) fn check_readings(desk: &mut Desk, model: &Model) {
    let rows = desk.rows();
    for (i, row) in rows.iter().enumerate() {
        let Some(note) = row.run.note.as_deref().filter(|n| row.is_test() && claims_difference(n)) else {
            continue;
        };
        let stated = row.claim.and_then(|c| c.readings).or(desk.evening.session.readings_each);
        let readings = stated.unwrap_or_else(|| {
            let group = group_of(row);
            let sound =
                model.groups.iter().find(|(g, _)| *g == group).map(|(_, f)| f.iter().map(Vec::len).sum());
            sound.unwrap_or_else(|| rows.iter().filter(|r| group_of(r) == group).count()) as i64
        });
        if readings < 2 {
            let text = note.to_owned();
            desk.report(i, Rule::SingleReading, "note", Detail::Claimed { text, readings });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::claims_difference;

    #[test]
    fn a_remark_is_a_claim_only_when_it_compares() {
        assert!(claims_difference("beats the other spacer by 0.2"));
        assert!(claims_difference("better than the next by 1.4"));
        for plain in [
            "tea",
            "wiped the seal",
            "phone rang: started over",
            "was the base on?",
            "new gasket under the base",
        ] {
            assert!(!claims_difference(plain), "{plain}");
        }
    }
}
