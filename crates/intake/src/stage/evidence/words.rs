//! What the words, dates and sizes of a column make of it.

use super::{Book, LOOK, SURE, give, place};
use crate::map::{DateOrder, Field, Group};
use crate::stage::civil;
use crate::stage::runs::{pieces, stack_order};
use crate::stage::table::Found;
use crate::stage::terms::{direction, no_part, only_service, plain, purpose, restraint, says, service};
use airshelf_catalog::Purpose;
use airshelf_units::{Unit, read_sizes};

/// A column without a name whose cells are all dates.
pub(super) fn dates(found: &mut Found, group: Group, book: &Book<'_>) {
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

/// Where days are written so that they can be several, a column without a meaning whose cells are all days with their
/// years says which they are; the short ones name the sessions.
pub(super) fn stamps(found: &mut Found, book: &Book<'_>) {
    let Some(own) = place(found, Field::Date).filter(|at| !found.columns[*at].told) else { return };
    let short = book.texts(found, own);
    if short.is_empty() || !short.iter().all(|t| civil::is_short_day(t)) {
        return;
    }
    let whole = |text: &&&str| {
        let day = civil::date(text, None, DateOrder::DayFirst);
        let year = text.split(|c: char| !c.is_ascii_digit()).any(|word| word.len() == 4);
        day.is_some_and(|day| year && !day.ambiguous)
    };
    let stamped = |at: &usize| {
        let column = &found.columns[*at];
        let texts = book.texts(found, *at);
        let open = matches!(column.field, None | Some(Field::Session | Field::Clock));
        open && !column.told
            && texts.len() >= short.len()
            && texts.iter().filter(whole).count() == texts.len()
    };
    let Some(at) = (0..found.columns.len()).find(stamped) else { return };
    found.columns[own].field = None;
    let open = place(found, Field::Session).is_none_or(|held| held == at);
    give(found, at, Field::Date);
    if open {
        give(found, own, Field::Session);
    }
}

/// Beside a number that runs through the whole book, `id` from 1001, one that begins again with each session is the order.
pub(super) fn orders(found: &mut Found, book: &Book<'_>) {
    let Some(own) = place(found, Field::Order).filter(|at| !found.columns[*at].told) else { return };
    let whole = |at: usize| -> Vec<u32> {
        let texts = book.texts(found, at);
        let numbers: Vec<u32> = texts.iter().filter_map(|t| t.parse().ok()).collect();
        if numbers.len() == texts.len() { numbers } else { Vec::new() }
    };
    let through = whole(own);
    let climbs = through.windows(2).filter(|pair| pair[0] < pair[1]).count();
    let numbered = !through.is_empty() && through.iter().all(|number| *number >= 100);
    if !numbered || climbs * 10 + 10 < through.len() * 9 {
        return;
    }
    let counts = |at: &usize| {
        let column = &found.columns[*at];
        let numbers = whole(*at);
        let step = |pair: &&[u32]| pair[1] == pair[0] + 1 || pair[1] == 1;
        let steps = numbers.windows(2).filter(step).count();
        let open = column.field.is_none() && !column.told && column.header.unit.is_none();
        open && numbers.len() == through.len() && numbers[0] < 3 && steps * 5 >= (numbers.len() - 1) * 4
    };
    if let Some(at) = (0..found.columns.len()).find(counts) {
        found.columns[own].field = None;
        give(found, at, Field::Order);
    }
}

/// What a column without a meaning says of parts in the words for what a filter holds back.
pub(super) fn filtered(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Filtration).is_some() {
        return;
    }
    let claims = |text: &str| {
        let words = plain(text);
        words == "claimed" || words.starts_with("tested") || says(&words, "dust") || says(&words, "dirt")
    };
    let claimed = |at: &usize| {
        let column = &found.columns[*at];
        let texts = book.texts(found, *at);
        let some = texts.iter().filter(|t| claims(t)).count();
        let open = texts.iter().filter(|t| plain(t) == "unknown").count();
        column.field.is_none() && !column.told && some > 0 && open > 0 && (some + open) * 5 > texts.len() * 3
    };
    if let Some(at) = (0..found.columns.len()).find(claimed) {
        give(found, at, Field::Filtration);
    }
}

/// A list of parts without a column of tags has them in its first one, where every row has a name of its own there.
pub(super) fn first_names(found: &mut Found, book: &Book<'_>) {
    let open = found.columns.first().is_some_and(|c| c.field.is_none() && !c.told && c.header.unit.is_none());
    if !open || place(found, Field::Tag).is_some() {
        return;
    }
    let mut texts = book.texts(found, 0);
    let rows = found.rows.len().min(LOOK);
    let short =
        texts.iter().all(|t| t.chars().count() <= 32 && civil::date(t, None, DateOrder::DayFirst).is_none());
    let all = texts.len();
    texts.sort_unstable();
    texts.dedup();
    if all == rows && short && texts.len() * 5 >= rows * 4 {
        give(found, 0, Field::Tag);
    }
}

/// A column without a meaning in which some rows have a sentence holds remarks.
pub(super) fn remarks(found: &mut Found, book: &Book<'_>) {
    let rows = found.rows.len().min(LOOK);
    for at in 0..found.columns.len() {
        let column = &found.columns[at];
        if column.field.is_some() || column.told || column.header.unit.is_some() {
            continue;
        }
        let texts = book.texts(found, at);
        let sentence = |text: &&&str| {
            let words = text.split_whitespace();
            words.filter(|w| w.chars().filter(|c| c.is_alphabetic()).count() > 1).count() > 2
        };
        let some = texts.iter().filter(sentence).count();
        if some > 0 && some * 2 >= texts.len() && texts.len() * 2 <= rows {
            give(found, at, Field::Note);
        }
    }
}

/// An `Element`, or another part that the header hardly names, whose cells are all states of elements tells the state.
pub(super) fn states_for_elements(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Service).is_some() {
        return;
    }
    let states = |at: &usize| {
        let column = &found.columns[*at];
        let part = column.field.and_then(Field::layer);
        let unsure = column.field == Some(Field::Filter) || part.is_some() && column.confidence < SURE;
        let texts = book.texts(found, *at);
        unsure && !column.told && texts.len() > 1 && texts.iter().all(|t| only_service(t))
    };
    if let Some(at) = (0..found.columns.len()).find(states) {
        give(found, at, Field::Service);
    }
}

/// `1st`, `2nd`, `4th =` are places, whatever the column is called.
pub(super) fn places(found: &mut Found, book: &Book<'_>) {
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
pub(super) fn held(found: &mut Found, book: &Book<'_>) {
    if place(found, Field::Restraint).is_some() {
        return;
    }
    let says_how = |at: &usize| {
        let column = &found.columns[*at];
        let unsure = column.field.is_none_or(|f| f.layer().is_some() || f == Field::Stud || f == Field::Date);
        let texts = book.texts(found, *at);
        let how = texts.iter().filter(|t| book.reads(t, restraint)).count();
        unsure && column.confidence < SURE && !column.told && texts.len() > 1 && how * 5 > texts.len() * 4
    };
    if let Some(at) = (0..found.columns.len()).find(says_how) {
        give(found, at, Field::Restraint);
    }
}

/// A column without a meaning of its own whose cells are all words for states or directions.
pub(super) fn worded(found: &mut Found, book: &Book<'_>) {
    let reads = |field: Field, text: &str| match field {
        Field::Service => book.reads(text, service),
        _ => book.reads(text, direction),
    };
    for field in [Field::Service, Field::Direction] {
        if place(found, field).is_some() {
            continue;
        }
        let says_so = |at: &usize| {
            let column = &found.columns[*at];
            let mut texts = book.texts(found, *at);
            let worded = texts.iter().filter(|t| reads(field, t)).count();
            let short = texts.iter().all(|t| t.chars().count() <= 24);
            let plenty = texts.len() > 3 && worded * 10 > texts.len() * 9;
            texts.sort_unstable();
            texts.dedup();
            // Two words at least, and a few of them: remarks and names differ from row to row.
            // One word for all rows says it where the header is taken for a name that it hardly fits.
            let named = matches!(column.field, Some(Field::Bench | Field::Session | Field::Item));
            let unsure = named && column.confidence < 0.9;
            let several = (if unsure { 1 } else { 2 }..=8).contains(&texts.len());
            (column.field.is_none() || unsure) && !column.told && plenty && short && several
        };
        if let Some(at) = (0..found.columns.len()).find(says_so) {
            give(found, at, field);
        }
    }
}

/// A column whose cells are several parts each is the stack, where no other column names parts.
pub(super) fn stacks(found: &mut Found, book: &Book<'_>) {
    // A header that names several parts, over cells of as many.
    let told = |at: &usize| {
        let column = &found.columns[*at];
        let order = stack_order(&column.header.text);
        let texts = book.texts(found, *at);
        let fit = texts.iter().filter(|t| pieces(t).len() == order.len()).count();
        let open = !column.told && column.confidence < SURE;
        open && order.len() > 1 && texts.len() > 1 && fit * 2 > texts.len()
    };
    if place(found, Field::Assembly).is_none()
        && let Some(at) = (0..found.columns.len()).find(told)
    {
        give(found, at, Field::Assembly);
    }
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
pub(super) fn sizes(found: &mut Found, book: &Book<'_>) {
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
pub(super) fn numbered_or_named(found: &mut Found, book: &Book<'_>) {
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

/// A column whose cells are purposes says what each run was for, whatever it is called, beside columns that name parts.
pub(super) fn purposes(found: &mut Found, book: &Book<'_>) {
    let parts = [Field::Base, Field::Filter, Field::Lid];
    let named = |field: &Field| place(found, *field).is_some();
    if named(&Field::Purpose) || parts.iter().filter(|field| named(field)).count() < 2 {
        return;
    }
    let says_why = |at: &usize| {
        let column = &found.columns[*at];
        let texts = book.texts(found, *at);
        let read: Vec<_> = texts.iter().filter_map(|t| book.legend.read(t, purpose)).collect();
        column.field.is_none_or(|f| f == Field::Assembly)
            && !column.told
            && read.len() > 2
            && read.len() * 5 > texts.len() * 4
            && read.contains(&Purpose::Baseline)
            && read.contains(&Purpose::Test)
    };
    if let Some(at) = (0..found.columns.len()).find(says_why) {
        give(found, at, Field::Purpose);
    }
}

/// A `What` whose cells are no purposes is the stack, where no other column names parts.
pub(super) fn named_stack(found: &mut Found, book: &Book<'_>) {
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

/// Where a filter stands with a lid or a base, the only text without a name that is there with the filter and gone
/// without it is the other of the two.
pub(super) fn stack(found: &mut Found, book: &Book<'_>) {
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
