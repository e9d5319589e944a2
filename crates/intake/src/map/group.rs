//! Which kind of table a header row speaks of.

use super::columns::{Assigned, assign};
use super::field::Field;
use super::header::Header;
use super::vocabulary::spellings;
use airshelf_catalog::{PartDimension, PartKind, TableKind};

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

/// The fields that a column of such a table can be said to hold, the plain ones first.
pub fn fields_of(kind: TableKind) -> Vec<Field> {
    let group = match kind {
        TableKind::Parts => Group::Parts,
        TableKind::Predictions => Group::Guesses,
        TableKind::Ratings => Group::Ratings,
        TableKind::Runs | TableKind::Winners | TableKind::Matrix => Group::Runs,
    };
    let mut fields: Vec<Field> = spellings(group).iter().map(|(field, _)| *field).collect();
    if group == Group::Runs {
        fields.extend(OF_PARTS.iter().map(|(kind, dimension)| Field::PartOf(*kind, *dimension)));
    }
    let mut met = Vec::new();
    fields.retain(|field| {
        !met.contains(field) && {
            met.push(*field);
            true
        }
    });
    fields
}

/// Dimensions of parts that rows of runs tell.
const OF_PARTS: &[(PartKind, PartDimension)] = &[
    (PartKind::Filter, PartDimension::OutsideDiameter),
    (PartKind::Filter, PartDimension::InsideDiameter),
    (PartKind::Filter, PartDimension::Height),
    (PartKind::Lid, PartDimension::OutsideDiameter),
    (PartKind::Base, PartDimension::OutsideDiameter),
    (PartKind::Base, PartDimension::Drop),
    (PartKind::Base, PartDimension::NeckBore),
    (PartKind::Spacer, PartDimension::Height),
    (PartKind::VelocityStack, PartDimension::Height),
    (PartKind::Stud, PartDimension::StudLength),
];

/// Whether the assigned columns can be such a table at all.
pub(crate) fn suffices(columns: &[Assigned], group: Group) -> bool {
    let has = |field: Field| columns.iter().any(|c| c.field == Some(field));
    let any = |fields: &[Field]| fields.iter().any(|f| has(*f));
    match group {
        Group::Runs => {
            any(&[
                Field::Flow,
                Field::StatedLoss,
                Field::StatedLossPercent,
                Field::NetFlow,
                Field::FlowPercent,
            ]) && any(&[
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
        // A line of a page has its numbers in it: `Carb K-2 | Full scale 300 CFM | Pull 10 in. WC`.
        let numbered = headers.iter().filter(|h| h.text.contains(|c: char| c.is_ascii_digit())).count();
        if matches!(group, Group::Guesses | Group::Ratings) && numbered * 2 > headers.len() {
            continue;
        }
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
