//! Which field each column of a header row holds, and how sure that is.

use super::evidence::by_unit;
use super::field::Field;
use super::header::{BROUGHT, Header};
use super::vocabulary::{
    DIMENSION_WORDS, FILLERS, KIND_WORDS, NAMING_WORDS, SMALL_WORDS, Spelling, WHOLE_WORDS, WITH_UNIT,
    spellings,
};
use airshelf_catalog::{PartDimension, PartKind};
use airshelf_units::{Dimension, Unit};

/// Kinds of tables that share a vocabulary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Runs, and lists from best to worst.
    Runs,
    /// Parts.
    Parts,
    /// Guesses before a test.
    Guesses,
    /// Rated flows.
    Ratings,
}

/// A column with its field.
#[derive(Clone, Debug, PartialEq)]
pub struct Assigned {
    /// The header.
    pub header: Header,
    /// What the column holds; none where nothing fits.
    pub field: Option<Field>,
    /// The unit of its numbers, where the header says.
    pub unit: Option<Unit>,
    /// From 0 (a guess) to 1 (the field's own name).
    pub confidence: f64,
    /// Whether a person said so.
    pub told: bool,
}

impl Assigned {
    /// A column that nothing is known of.
    pub(crate) fn open(header: Header) -> Assigned {
        Assigned { header, field: None, unit: None, confidence: 0.0, told: false }
    }
}

/// Less than this is no match.
pub(crate) const LEAST: f64 = 0.62;

/// A word of a header stands for a word of a spelling: the same, or shortened to three letters or more.
fn same_word(written: &str, word: &str) -> Option<f64> {
    if written == word {
        return Some(1.0);
    }
    let singular = |w: &str| w.strip_suffix('s').is_some_and(|s| s.len() > 2 && s == word);
    if singular(written) {
        return Some(0.97);
    }
    if WHOLE_WORDS.contains(&written) {
        return None;
    }
    if written.len() >= 3 && word.starts_with(written) {
        return Some(0.94);
    }
    // Written without its vowels: `fltr`, `tmp`.
    let vowel = |c: char| "aeiou".contains(c);
    let bare = written.len() >= 3 && !written.contains(vowel) && written.starts_with(|c| word.starts_with(c));
    let consonants = if bare && word.contains(vowel) { word.replace(vowel, "") } else { return None };
    if consonants == written { Some(0.92) } else { consonants.starts_with(written).then_some(0.89) }
}

fn phrase(words: &[&str], joined: &str, spelling: &Spelling) -> f64 {
    let wanted = &spelling.words;
    if words.len() == wanted.len() {
        let matched =
            words.iter().zip(wanted).try_fold(1.0, |least: f64, (a, b)| Some(least.min(same_word(a, b)?)));
        if let Some(matched) = matched {
            return matched;
        }
    }
    // All words of the spelling, in any order, among others.
    if wanted.len() <= words.len() && !wanted.iter().all(|w| SMALL_WORDS.contains(w)) {
        let found = |want: &str| words.iter().filter_map(|w| same_word(w, want)).reduce(f64::max);
        let weakest = wanted.iter().try_fold(1.0, |least: f64, want| Some(least.min(found(want)?)));
        if let Some(weakest) = weakest {
            let share = wanted.len() as f64 / words.len() as f64;
            return weakest * if share >= 1.0 { 0.95 } else { 0.5 + 0.4 * share };
        }
    }
    let (shorter, longer) = (joined.len().min(spelling.text.len()), joined.len().max(spelling.text.len()));
    // A slip in a word of five letters makes another word as often (`plate`, `place`).
    if shorter < 4 || (longer - shorter) as f64 > 0.19 * longer as f64 {
        return 0.0;
    }
    let near = strsim::normalized_damerau_levenshtein(joined, spelling.text);
    if near > 0.81 { 0.9 * near } else { 0.0 }
}

/// How well a header names a field: 1 for its own name, 0 for no likeness.
pub(crate) fn score(header: &Header, field: Field, spellings: &[Spelling]) -> f64 {
    let all: Vec<&str> = header.words.iter().map(String::as_str).collect();
    let fewer: Vec<&str> = all.iter().copied().filter(|w| !FILLERS.contains(w)).collect();
    let (joined, joined_fewer) = (all.join(" "), fewer.join(" "));
    let mut best: f64 = 0.0;
    for spelling in spellings {
        best = best.max(phrase(&all, &joined, spelling));
        if fewer.len() < all.len() && !fewer.is_empty() {
            best = best.max(0.97 * phrase(&fewer, &joined_fewer, spelling));
        }
    }
    // `Base tag`, `which lid`: a part and a word for what names it.
    if field.layer().is_some() || field == Field::Stud {
        let bare: Vec<&str> = fewer.iter().copied().filter(|w| !NAMING_WORDS.contains(w)).collect();
        if bare.len() < fewer.len() && !bare.is_empty() {
            let joined = bare.join(" ");
            for spelling in spellings {
                best = best.max(0.95 * phrase(&bare, &joined, spelling));
            }
        }
    }
    // The first spelling is the field's own name; a tie with somebody else's name for it is its own.
    if best > 0.0 && spellings.first().is_none_or(|own| own.text != joined) {
        best -= 0.005;
    }
    match (header.unit, field.dimension()) {
        (None, _) => best,
        (Some(_), None) => best * 0.3,
        (Some(unit), Some(dimension)) => {
            if header.unit_for(dimension, field == Field::Barometer).is_none() {
                // Sizes and counts may stand under a header whose last word only looks like a unit.
                best * 0.2
            } else if all.is_empty() {
                unit_alone(unit, field)
            } else {
                best.max(with_unit(&all, &joined, field))
            }
        }
    }
}

/// How well words name a field that only the unit beside them tells: `Read, inH2O` is a pressure, `Read, CFM` a flow.
fn with_unit(words: &[&str], joined: &str, field: Field) -> f64 {
    let lists = WITH_UNIT.iter().filter(|w| w.0 == field);
    let best = lists.flat_map(|w| &w.1).map(|spelling| phrase(words, joined, spelling)).fold(0.0, f64::max);
    0.92 * best
}

/// A header that is only a unit.
fn unit_alone(unit: Unit, field: Field) -> f64 {
    let barometer = [Unit::IN_HG, Unit::HPA, Unit::MBAR, Unit::MM_HG].contains(&unit);
    match (unit.dimension(), field) {
        (Dimension::Flow, Field::Flow) => 0.95,
        (Dimension::Flow, Field::Guess) => 0.9,
        (Dimension::Temperature, Field::AirTemperature) => 0.95,
        (Dimension::Ratio, Field::Humidity) => 0.7,
        (Dimension::Pressure, Field::Barometer) if barometer => 0.9,
        (Dimension::Pressure, Field::RatedAt) => 0.9,
        (Dimension::Pressure, Field::ActualPressure) if !barometer => 0.8,
        (Dimension::Pressure, Field::SetPressure) if !barometer => 0.79,
        (Dimension::Area, Field::Of(PartDimension::MediaArea)) => 0.9,
        (Dimension::Mass, Field::Of(PartDimension::Mass)) => 0.9,
        _ => 0.0,
    }
}

/// A dimension of a part within a table of runs: `Filter height (mm)`.
fn part_dimension(header: &Header) -> Option<Field> {
    let has = |words: &[&str]| header.words.iter().any(|w| words.contains(&w.as_str()));
    let kind = KIND_WORDS.iter().find(|k| has(k.1))?.0;
    let mut dimension = DIMENSION_WORDS.iter().find(|d| has(d.1))?.0;
    if dimension == PartDimension::StudLength && kind != PartKind::Stud {
        return None;
    }
    if dimension == PartDimension::Height && kind == PartKind::Stud {
        dimension = PartDimension::StudLength;
    }
    let field = Field::PartOf(kind, dimension);
    match (header.unit, field.dimension()) {
        (Some(unit), Some(measured)) if unit.dimension() != measured => None,
        _ => Some(field),
    }
}

/// Two dimensions and a sign between them: `Ø × height`, `across by high`.
fn by_by(text: &str) -> bool {
    let lower = text.to_lowercase();
    let split = ["×", " x ", " by ", "*"].iter().find_map(|mark| lower.split_once(mark));
    let Some((before, after)) = split else { return false };
    let names = |side: &str| {
        super::header::words_of(side).iter().any(|word| {
            matches!(word.as_str(), "ø" | "across" | "o" | "h" | "d")
                || DIMENSION_WORDS.iter().any(|d| d.1.contains(&word.as_str()))
        })
    };
    names(before) && names(after)
}

/// `Net at 25 inH2O`, `Corrected to 28"`: what was read, brought to a pressure that the header tells.
fn at_a_pressure(header: &Header) -> bool {
    header.unit.is_none_or(|u| u.dimension() == Dimension::Flow)
        && header.words.iter().any(|w| BROUGHT.contains(&w.as_str()))
        && header.words.iter().any(|w| w == "at" || w == "to")
        && header.words.iter().any(|w| w.starts_with(|c: char| c.is_ascii_digit()))
}

/// Fields that more than one column may hold.
fn may_repeat(field: Field) -> bool {
    matches!(field, Field::Note)
}

/// Gives each header the field that it names best within a group of tables; a field goes to one column only.
///
/// Source of the spellings and weights: common practice, no source.
pub fn assign(headers: &[Header], group: Group) -> Vec<Assigned> {
    assign_but(headers, group, &[])
}

/// As [`assign`], but leaves out fields that a column of that number cannot hold.
pub(crate) fn assign_but(headers: &[Header], group: Group, not: &[(usize, Field)]) -> Vec<Assigned> {
    let mut pairs: Vec<(f64, usize, Field)> = Vec::new();
    for (at, header) in headers.iter().enumerate() {
        if group == Group::Runs
            && let Some(field) = part_dimension(header)
        {
            pairs.push((0.96, at, field));
        }
        let is_size =
            header.words.first().is_some_and(|w| w == "size" || w == "sizes") || by_by(&header.text);
        if group == Group::Runs && at_a_pressure(header) {
            pairs.push((0.93, at, Field::FlowAtSetPressure));
        }
        if group == Group::Parts && header.words.is_empty() && header.text.contains(['$', '€', '£', '¥'])
        {
            pairs.push((0.9, at, Field::Price));
        }
        for (field, spellings) in spellings(group) {
            let score = match *field {
                Field::Size if is_size => 0.98,
                field => score(header, field, spellings),
            };
            if score >= LEAST && !not.contains(&(header.column, *field)) {
                pairs.push((score, at, *field));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut out: Vec<Assigned> = headers.iter().cloned().map(Assigned::open).collect();
    let mut taken: Vec<Field> = Vec::new();
    for (score, at, field) in pairs {
        if out[at].field.is_some() || (taken.contains(&field) && !may_repeat(field)) {
            continue;
        }
        taken.push(field);
        out[at].field = Some(field);
        out[at].confidence = (score * 100.0).round() / 100.0;
        out[at].unit =
            field.dimension().and_then(|d| headers[at].unit_for(d, matches!(field, Field::Barometer)));
    }
    by_unit(&mut out, group);
    if group == Group::Runs {
        of_the_part_beside(&mut out, not);
    }
    out
}

/// `Its height (mm)`, `Tall, in` in a table of runs: a dimension of the part named to the left of it, else of the filter.
fn of_the_part_beside(columns: &mut [Assigned], not: &[(usize, Field)]) {
    for at in 0..columns.len() {
        let header = &columns[at].header;
        if columns[at].field.is_some() || header.unit.is_some_and(|u| u.dimension() != Dimension::Length) {
            continue;
        }
        let has = |words: &[&str]| header.words.iter().any(|w| words.contains(&w.as_str()));
        let sized = DIMENSION_WORDS.iter().find(|d| has(d.1)).map(|d| d.0);
        let Some(dimension) =
            sized.or_else(|| has(&["ø", "across"]).then_some(PartDimension::OutsideDiameter))
        else {
            continue;
        };
        // A drop in inches may be one of water; a length says of what.
        if matches!(dimension, PartDimension::Drop | PartDimension::StudLength) {
            continue;
        }
        let left = columns[..at].iter().rev().take(4).find_map(|c| c.field.and_then(Field::layer));
        let filter = columns.iter().any(|c| c.field == Some(Field::Filter)).then_some(PartKind::Filter);
        let Some(field) = left.or(filter).map(|kind| Field::PartOf(kind, dimension)) else { continue };
        let taken = columns.iter().any(|c| c.field == Some(field)) || not.contains(&(header.column, field));
        if !taken {
            columns[at].field = Some(field);
            columns[at].confidence = 0.72;
            columns[at].unit = columns[at].header.unit_for(Dimension::Length, false);
        }
    }
}

/// Whether the assigned columns can be such a table at all.
pub(crate) fn suffices(columns: &[Assigned], group: Group) -> bool {
    let has = |field: Field| columns.iter().any(|c| c.field == Some(field));
    let any = |fields: &[Field]| fields.iter().any(|f| has(*f));
    match group {
        Group::Runs => {
            any(&[Field::Flow, Field::StatedLoss, Field::StatedLossPercent, Field::NetFlow])
                && any(&[
                    Field::Order,
                    Field::Purpose,
                    Field::Filter,
                    Field::Lid,
                    Field::Base,
                    Field::Assembly,
                    Field::Session,
                    Field::Clock,
                    Field::Restraint,
                    Field::VelocityStack,
                ])
        }
        Group::Parts => {
            let dimensions =
                columns.iter().filter(|c| matches!(c.field, Some(Field::Of(_) | Field::Size))).count();
            any(&[Field::Tag, Field::Name])
                && (dimensions > 0 || any(&[Field::Kind, Field::Maker, Field::Arrived]))
        }
        Group::Guesses => {
            any(&[Field::Guess, Field::Place, Field::Low])
                && any(&[Field::Who, Field::High, Field::Written])
                && any(&[Field::Assembly, Field::Filter, Field::Lid, Field::Base, Field::Place])
        }
        Group::Ratings => {
            has(Field::Item) && has(Field::Flow) && (has(Field::RatedAt) || has(Field::AgainstFirst))
        }
    }
}

/// Fields that only a table of runs has beside an item, a flow and a pressure.
fn only_of_runs(field: Field) -> bool {
    use Field::{
        ActualPressure, Assembly, Base, Clock, Direction, Filter, Lid, NetFlow, Purpose, Restraint, Service,
        Session, Spacer, StatedLoss, StatedLossPercent, Stud, VelocityStack,
    };
    [
        ActualPressure,
        Assembly,
        Base,
        Clock,
        Direction,
        Filter,
        Lid,
        NetFlow,
        Purpose,
        Restraint,
        Service,
        Session,
        Spacer,
        StatedLoss,
        StatedLossPercent,
        Stud,
        VelocityStack,
    ]
    .contains(&field)
}

/// Finds the group of tables whose words a header row speaks; none where it is no header.
pub(crate) fn best_group(headers: &[Header]) -> Option<(Group, Vec<Assigned>, f64)> {
    let mut best: Option<(Group, Vec<Assigned>, f64)> = None;
    let mut of_runs = false;
    for group in [Group::Runs, Group::Parts, Group::Guesses, Group::Ratings] {
        let columns = assign(headers, group);
        if !suffices(&columns, group) {
            continue;
        }
        let total: f64 = columns.iter().map(|c| c.confidence).sum();
        let known = columns.iter().filter(|c| c.field.is_some()).count();
        // Many known columns are a header whatever stands behind them.
        if known < 2 || (known < 5 && known * 2 < headers.len()) {
            continue;
        }
        // Words that only one kind of table has settle a draw.
        let own = columns
            .iter()
            .filter(|c| match group {
                Group::Runs => matches!(c.field, Some(Field::Purpose | Field::Order | Field::Restraint)),
                Group::Parts => {
                    matches!(c.field, Some(Field::Of(_) | Field::Maker | Field::Price | Field::Arrived))
                }
                Group::Guesses => {
                    matches!(
                        c.field,
                        Some(Field::Who | Field::Guess | Field::Low | Field::High | Field::Written)
                    ) && c.confidence > 0.9
                }
                Group::Ratings => {
                    matches!(c.field, Some(Field::RatedAt | Field::AgainstFirst)) && c.confidence > 0.9
                }
            })
            .count() as f64;
        let total = total + 0.1 * own;
        if group == Group::Runs {
            of_runs = columns.iter().any(|c| c.field.is_some_and(only_of_runs));
        }
        // Items with a flow and a pressure each, and nothing of a session or a stack, are rated, not run.
        if group == Group::Ratings && !of_runs && best.as_ref().is_some_and(|b| b.0 == Group::Runs) {
            return Some((group, columns, total));
        }
        if best.as_ref().is_none_or(|b| total > b.2) {
            best = Some((group, columns, total));
        }
    }
    best.or_else(|| unnamed_ratings(headers))
}

/// A name, a flow and the pressure that it was rated at, and hardly more: rated flows, whatever the first column is called.
fn unnamed_ratings(headers: &[Header]) -> Option<(Group, Vec<Assigned>, f64)> {
    let mut columns = assign(headers, Group::Ratings);
    let sure = |field: Field| columns.iter().any(|c| c.field == Some(field) && c.confidence > 0.65);
    // A line of a page has its numbers in it.
    let numbers = headers.iter().any(|h| h.text.contains(|c: char| c.is_ascii_digit()));
    if numbers
        || headers.len() > 6
        || !sure(Field::Flow)
        || !(sure(Field::RatedAt) || sure(Field::AgainstFirst))
    {
        return None;
    }
    let open = columns.iter().position(|c| c.field.is_none() && c.header.unit.is_none())?;
    columns[open].field = Some(Field::Item);
    columns[open].confidence = 0.63;
    Some((Group::Ratings, columns, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(headers: &[&str], group: Group) -> Vec<String> {
        let headers: Vec<Header> =
            headers.iter().enumerate().map(|(at, text)| Header::of(at, text)).collect();
        let (found, columns, _) = best_group(&headers).expect("a header row");
        assert_eq!(found, group);
        columns.iter().map(|c| c.field.map_or("-".to_owned(), |f| f.name().into_owned())).collect()
    }

    #[test]
    fn the_unit_tells_how_it_was_held_from_the_pressure_it_was_held_at() {
        let found =
            fields(&["Run", "Held", "Held at, inH2O", "CFM", "Down, %", "Filter height (mm)"], Group::Runs);
        assert_eq!(
            found,
            ["order", "restraint", "actual_pressure", "flow", "stated_loss_percent", "filter_height"]
        );
    }

    #[test]
    fn other_shops_spell_their_headers_otherwise() {
        let found = fields(
            &[
                "Seq",
                "Test depression [mbar]",
                "Depression read [mbar]",
                "Flow rate [m³/h]",
                "Element",
                "Cover",
                "Pan",
                "Temp [°C]",
                "Barom. [hPa]",
                "R.H. [%]",
            ],
            Group::Runs,
        );
        assert_eq!(
            found,
            [
                "order",
                "set_pressure",
                "actual_pressure",
                "flow",
                "filter",
                "lid",
                "base",
                "air_temperature",
                "barometer",
                "humidity"
            ]
        );
    }

    #[test]
    fn a_lone_header_is_known_in_many_wordings() {
        use Group::{Guesses, Parts, Ratings, Runs};
        for (group, field, headers) in [
            (Runs, "order", "Go; Try; Row; Shot; Which run; Turn"),
            (Runs, "purpose", "What was done; Sort of test; Did what; Run or base; Role"),
            (Runs, "base", "Base tag; Which base; Bowl; Pan fitted"),
            (Runs, "lid", "Lid tag; Top; Lid on it; Which lid"),
            (Runs, "spacer", "Collar; Spacer tag; Packing; Gap ring"),
            (Runs, "assembly", "Bits on; Dressed with; As built; What went on; What sat on it"),
            (Runs, "restraint", "How kept on; Nut on?; Lid nut; How tight; Stayed on by; Closed with"),
            (Runs, "service", "As fitted; Cleaner was; Washed?; How dirty; Its state; Media condition"),
            (
                Runs,
                "set_pressure",
                "Dialed in (inH2O); Meant inH2O; Called for, kPa; Supposed to be (kPa); in. w.g. set",
            ),
            (
                Runs,
                "actual_pressure",
                "mm H2O read; On the gauge inH2O; Was (kPa); Settled at (inH2O); Reached, kPa",
            ),
            (Runs, "flow", "CFM shown; Output CFM; Drew, L/s; Metered L/s; As found CFM"),
            (Runs, "range", "Top of meter (CFM); FSD CFM; Up to (CFM); Tops out at, L/s"),
            (Runs, "barometer", "Glass inHg; Outside pressure hPa; Day pressure hPa; Bar. inHg"),
            (Runs, "air_temperature", "Barn F; °C in the shop; Garage °C; Outside C"),
            (
                Runs,
                "stated_loss",
                "Drawn against bare (CFM); Eaten CFM; Takes L/s; Short CFM; Choked off CFM",
            ),
            (Runs, "stated_baseline", "Base line CFM; Nothing on CFM; Before CFM; Datum L/s"),
            (Runs, "net_flow", "cfm less leak; True CFM; Leak gone L/s; Honest CFM"),
            (Runs, "flow_at_set_pressure", "Squared up CFM; Flow put right L/s; At full depression L/s"),
            (Runs, "place", "Came; Came in; Pecking order; How it came"),
            (Runs, "note", "Jotted; Thoughts; Oddities; By the way; What we saw"),
            (
                Parts,
                "filtration",
                "Filters how well; How well it stops dust; Fineness; Dust it stops; Micron rating",
            ),
            (Parts, "arrived", "Got on; Turned up; Brought home; Day it came; Home since"),
            (Parts, "price", "Paid $; Gave for it; $; Outlay"),
            (Parts, "name", "Called; What they call it; Named; Goes by"),
            (Parts, "neck_bore", "Fits over, in; Slips over mm; Neck in"),
            (Guesses, "guess", "Says, L/s lost; Guess (L/s lost); I say; Hunch L/s; Will cost CFM"),
            (Guesses, "low", "Not under; Least; Sure above; No less than"),
            (Guesses, "high", "Not over; Most; Ceiling; No more than"),
            (Guesses, "written", "Put in the jar; When said; Handed in; Timestamp; Written down"),
            (Ratings, "item", "Carby; Which body; Mixer; Carbs"),
            (Ratings, "rated_at", "inHg; With inHg; Drawn at (in. mercury); At a pull of, inHg"),
            (Ratings, "against_first", "Up on ours; Better by CFM; Lead over first; Behind by CFM"),
        ] {
            for header in headers.split("; ") {
                let own = &assign(&[Header::of(0, header)], group)[0];
                let found = own.field.map_or("-".to_owned(), |f| f.name().into_owned());
                assert_eq!(found, field, "{header}");
                assert!(own.confidence >= 0.65, "{header}: {}", own.confidence);
            }
        }
    }

    #[test]
    fn one_word_means_different_things_in_different_tables() {
        let found = fields(&["Tag", "Kind", "OD", "High", "Deep", "Stud", "Place"], Group::Parts);
        assert_eq!(found, ["tag", "kind", "OD", "height", "pleat_depth", "stud_length", "place"]);
        let found = fields(&["Who", "Filter", "Lid", "Guess, CFM", "Low", "High", "Written"], Group::Guesses);
        assert_eq!(found, ["who", "filter", "lid", "guess", "low", "high", "written"]);
        let found = fields(&["Carb", "Rated, CFM", "Rated at, inHg", "Place"], Group::Ratings);
        assert_eq!(found, ["item", "flow", "rated_at", "place"]);
    }
}
