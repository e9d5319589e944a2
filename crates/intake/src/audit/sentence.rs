//! The words for faults: why it is wrong, and what would mend it. Nothing else in the audit makes sentences.

use super::fault::{Amount, Detail, Fault, Repair, Side};
use super::rule::Rule;

/// Says why the fault is one, in a sentence without its place.
pub fn why(fault: &Fault) -> String {
    match &fault.detail {
        Detail::Absent { fields, whole_page } => absent(fault.rule, fields, *whole_page),
        Detail::OtherPressure { pressure, session } => {
            format!(
                "read at {pressure} while the session is at {session}; compared with it, the loss is false"
            )
        }
        Detail::OtherUnit { value, read_as, fits } => {
            format!(
                "{value} does not fit; the same number read as {read_as} is {}, and the session or its flow fits {fits}",
                in_unit(read_as, fits)
            )
        }
        Detail::Range { flow, range } if fault.rule == Rule::NearRange => {
            format!("{flow} is above 95 % of the {range} range in use")
        }
        Detail::Range { flow, range } => format!("{flow} is above the {range} range in use"),
        Detail::OffSet { actual, set, off } => {
            let side = if *off < 0.0 { "below" } else { "above" };
            format!("{actual} is {} % {side} the set pressure of {set}", percent(off.abs()))
        }
        Detail::NoBaseline { side } => match side {
            Side::Before => "no baseline before this run in its session".into(),
            Side::After => "no baseline after this run in its session".into(),
            Side::Both => "the session has no baseline".into(),
        },
        Detail::Spread { smallest, largest, spread, allowed } => format!(
            "baselines run from {smallest} to {largest}, {} %, where {} % is the limit",
            percent(*spread),
            percent(*allowed)
        ),
        Detail::Undefined { baseline: Some(b) } => {
            format!("the baseline of {b} does not say bare or with which base")
        }
        Detail::Undefined { baseline: None } => "the baseline does not say bare or with which base".into(),
        Detail::Sum { flow, loss, baseline, .. } => {
            format!("{flow} and a loss of {loss} do not make the baseline of {baseline}")
        }
        Detail::PercentSum { flow, percent, baseline, right_percent } => {
            format!("{flow} is {right_percent:.2} % below {baseline}, not {percent:.2} %")
        }
        Detail::Sign { loss, flow_below_baseline: Some(true) } => {
            format!(
                "the flow is below the baseline, yet the loss is written {loss}, against the sign of the others"
            )
        }
        Detail::Sign { loss, flow_below_baseline: Some(false) } => {
            format!(
                "the flow is above the baseline, yet the gain is written {loss}, against the sign of the others"
            )
        }
        Detail::Sign { loss, flow_below_baseline: None } => {
            format!("{loss} has another sign than its neighbors, which it fits with theirs")
        }
        Detail::Percent { number, loss, baseline } => {
            format!("{number} is the loss in percent of {baseline}; the loss is {loss}")
        }
        Detail::ThrottleLeak { leakage, throttle, .. } => format!(
            "{leakage} was taken off; {throttle} is the closed-throttle leakage of the carburetor, which is no fixture leakage"
        ),
        Detail::Leak { leakage, at: None, .. } => format!("the fixture leakage of {leakage} has no pressure"),
        Detail::Leak { leakage, at: Some(at), runs, .. } => {
            let runs = runs.map_or_else(|| "another pressure".into(), |r| r.to_string());
            format!("the fixture leakage of {leakage} was read at {at}, the runs at {runs}")
        }
        Detail::OneSided { off_tests, .. } => {
            let (on, not) = if *off_tests { ("tests", "baselines") } else { ("baselines", "tests") };
            format!("leakage is taken off the {on} and not off the {not}")
        }
        Detail::Twice { stated, once, factor } => {
            format!("corrected once by {factor:.4} it is {once}; {stated} is corrected twice")
        }
        Detail::Ratings { flow, rated_at, others_at, at_others } => {
            format!("{flow} at {rated_at} is {at_others} at {others_at}, at which the others are rated")
        }
        Detail::Fraction { written, candidates, beside } => {
            let names: Vec<&str> = candidates.iter().map(|(n, _)| n.as_str()).collect();
            let beside = beside.as_ref().map_or_else(String::new, |b| format!("; the note says “{b}”"));
            format!("{written} may be a fraction typed as digits: {}{beside}", names.join(" or "))
        }
        Detail::Length { value, read_as, part } => {
            format!("{value} fits nothing like {part}; {} is {}", read_as, other_length(read_as))
        }
        Detail::SameAs { file, sheet, row, order, clock } => {
            same_as(fault.rule, file, sheet, *row, *order, *clock)
        }
        Detail::Corrected { row, earlier, later } => {
            let row = row.map(|row| format!("row {row} of ")).unwrap_or_default();
            let differs = match (earlier, later) {
                (Some(earlier), Some(later)) if earlier != later => {
                    format!(" with {earlier}; here it is {later}")
                }
                _ => ", otherwise written".to_owned(),
            };
            format!("{row}an earlier version of this file has this run{differs}; the later version counts")
        }
        Detail::Neck { part, neck, register } if neck.si < register.si => {
            format!("the neck of {part}, {neck}, is smaller than the {register} register")
        }
        Detail::Neck { part, neck, register } => {
            format!("the neck of {part}, {neck}, does not register on {register} without an adapter")
        }
        Detail::Cover { part, diameter, element, element_diameter } => {
            format!("{part}, {diameter} across, does not cover {element}, {element_diameter} across")
        }
        Detail::Stud { stands, stud, length } => {
            format!("the stack stands {stands} high; {stud} is {length} long")
        }
        Detail::Held { restraint, place } => {
            let held = match restraint.as_str() {
                "lost" => "something came off during the run".to_owned(),
                "none" => "nothing held it".to_owned(),
                other => format!("it was {other}"),
            };
            match place {
                Some(place) => format!("{held}, yet it has place {place}"),
                None => format!("{held}, yet a comparison is claimed"),
            }
        }
        Detail::HeldSomehow { text } => {
            format!("it was held in a way that is not understood, “{text}”: no place can rest on it")
        }
        Detail::TwoSizes { part, dimension, row, one, other } => {
            let at = row.map(|row| format!(" in row {row}")).unwrap_or_default();
            format!(
                "{part} stands in two rows, with {dimension} {other} here and {one}{at}: two parts need two tags"
            )
        }
        Detail::Claimed { text, readings } => {
            let n = if *readings == 1 { "one reading".to_owned() } else { format!("{readings} readings") };
            format!("“{text}” rests on {n}; the bench cannot see such a difference without repeats")
        }
        Detail::PleatDepth { depth, room } => {
            format!("half the difference of the diameters leaves {room} for a pleat, not {depth}")
        }
        Detail::Pitch { count, pitch } => {
            format!("{count:.0} pleats leave {pitch} each at the inside; no medium is that thin")
        }
        Detail::Area { stated, possible } => {
            format!("{stated} is more than pleats of that count, depth and free height have, {possible}")
        }
        Detail::Older { part, run, arrived, revision: false } => {
            format!("{part} arrived on {arrived}; the run is of {run}")
        }
        Detail::Older { part, run, arrived, revision: true } => {
            format!("this revision of {part} was made on {arrived}; the run is of {run}")
        }
        Detail::LessFlow { larger, smaller, larger_flow, smaller_flow, less, path } => {
            let what = if *path { "adds a path for the air" } else { "has more area" };
            format!(
                "{larger} {what} and yet flows {} % less than {smaller}, {larger_flow} against {smaller_flow}, all else the same",
                percent(*less)
            )
        }
        Detail::Trend { score, pairs, p, runs } => {
            let way = if *score > 0 { "climbs" } else { "falls" };
            format!(
                "flow {way} with the order of the {runs} runs (score {score} of {pairs}, p = {p:.1e}) while the baselines do not"
            )
        }
        Detail::Exhaust => "run in exhaust direction, used for an intake part".into(),
        Detail::Late { written, first_reading } => {
            format!("written {written}, after the first reading of {first_reading}")
        }
        Detail::Text { text } => format!("“{text}” names no test"),
        Detail::Zero { others: Some(o) } => format!("zero between values near {o}; it was not read"),
        Detail::Zero { others: None } => "zero cannot be; it was not measured".into(),
        Detail::Across { this, others } => {
            format!("{this} is compared with {others}, and nothing joins them")
        }
        Detail::Foreign { baseline, session, own } => {
            let own = own.map_or_else(String::new, |o| format!("; its own session read {o}"));
            format!("the loss is against {baseline} of {session}{own}")
        }
        Detail::EitherDate { written, first, second } => {
            format!("{written} can be {first} or {second}, and nothing else in the file decides")
        }
        Detail::Names { name, nearest } => names(fault.rule, name, nearest),
        Detail::Limit { value, limit, what } => {
            let side = if value.si < limit.si { "below" } else { "above" };
            match fault.rule {
                Rule::Unusual if *what == "neck bore" => {
                    format!("{value} is no usual neck; the nearest is {limit}")
                }
                Rule::OutOfRange if value.si == limit.si => format!("{what} of {value} cannot be"),
                Rule::Unusual => format!("{what} of {value} is unusual, {side} {limit}"),
                _ => format!("{what} of {value} cannot be, {side} {limit}"),
            }
        }
        Detail::Share { value, what: "price", .. } => format!("a price of {value:.2} is below zero"),
        Detail::Share { value, limit, what } if limit.abs() >= 1.5 => {
            format!("{what}: {value:.1}, usually up to {limit:.1}")
        }
        Detail::Share { value, limit, what } => {
            format!("{what}: {} %, with {} % as the limit", percent(*value), percent(*limit))
        }
    }
}

/// Says what would mend the fault; nothing where only a person can tell.
pub fn repair(fault: &Fault) -> Option<String> {
    if let Some(repair) = &fault.repair {
        return Some(offered(fault, repair));
    }
    let text = match fault.rule {
        Rule::PressureMissing => "find the pressure; until then only percent loss inside this page is shown",
        Rule::OverRange => "read again, or check which range was in use",
        Rule::NearRange => "repeat at a lower test pressure or on a larger range",
        Rule::OffPressure => {
            "corrected by the square root of the pressures; the error goes into the uncertainty"
        }
        Rule::Unbracketed => "marked as unbracketed and widened",
        Rule::BaselineDrift => "drift is taken out between the baselines; check what changed",
        Rule::BaselineUndefined => "say bare or with which base; look at the photo",
        Rule::LeakPressure => match &fault.detail {
            Detail::Leak { carried: Some((low, high)), .. } => {
                return Some(format!(
                    "carried to the runs' pressure it is {low} to {high}, by an exponent between 1 and 1/2"
                ));
            }
            _ => "ask; until then the exponent is bounded between 1/2 and 1",
        },
        Rule::LeakOneSided => "treat leakage alike on both sides",
        Rule::CannotAssemble | Rule::AreaImpossible => "measure again",
        Rule::StudShort => "find the stud that was used, or say that it was held by hand",
        Rule::SingleReading => "to be read as not resolved; repeat with a refit",
        Rule::BiggerFlowsLess => "swap back; look at seal, gap and pleats",
        Rule::OrderTrend => "look for what changed with each run (oil, dust, damp); repeat in another order",
        Rule::ServiceStateMissing => "say new, oiled, dirty or washed",
        Rule::AmbientMissing => "the neighbors' value serves, widened; without any, no flow at reference air",
        Rule::RangeMixed => "run the same check plate on both ranges",
        Rule::BaselineForeign => "take the loss against this session's own baseline",
        Rule::DateAmbiguous => "say which one",
        Rule::PartUnknown => "add the part",
        Rule::PartBare => "photograph it, measure it, or test it",
        Rule::Unusual => "confirm",
        Rule::OutOfRange => "read or measure again",
        Rule::RatingMixed => "bring both to one pressure",
        _ => return None,
    };
    Some(text.to_owned())
}

fn offered(fault: &Fault, repair: &Repair) -> String {
    match repair {
        Repair::Set { to, .. } => {
            let values: Vec<String> = to.iter().map(Amount::to_string).collect();
            let values = values.join(" or ");
            match (&fault.detail, fault.rule) {
                (Detail::Length { read_as, .. }, _) => format!("{read_as} = {}", other_length(read_as)),
                (Detail::OtherUnit { read_as, fits, .. }, _) => {
                    format!("{read_as} = {}", in_unit(read_as, fits))
                }
                (_, Rule::OverRange) => format!("{values}: one digit read wrong; else check the range"),
                (_, Rule::PressureMissing) => {
                    format!("{values} as in the rest of the session, if the page confirms it")
                }
                (Detail::Ratings { others_at, .. }, _) => format!("{values} at {others_at}"),
                _ => values,
            }
        }
        Repair::SetText { to, .. } => to.clone(),
        Repair::Blank { .. } => "blank".into(),
        Repair::Exclude => match fault.rule {
            Rule::BeforeArrival => "find the part that was really tested, or mend its date".into(),
            Rule::LatePrediction => "keep it, but out of the score".into(),
            Rule::BaselineDrift => "keep the session out of comparisons; run it again".into(),
            Rule::Unrestrained => "keep it out of the places".into(),
            Rule::PressureMixed => "keep it out; too far to bring to the set pressure without a sweep".into(),
            _ => "keep it out of comparisons".into(),
        },
        Repair::Merge { .. } if fault.rule == Rule::CopiedReading => "count both as one reading".into(),
        Repair::Merge { .. } if matches!(fault.detail, Detail::Corrected { .. }) => {
            "count the later version only, and keep both sources".into()
        }
        Repair::Merge { .. } => "keep one record and both sources".into(),
        Repair::SamePart { with } if with.len() == 1 => "same part".into(),
        Repair::SamePart { .. } => "same part as one of these".into(),
        Repair::UsePart { tag, .. } => format!("{tag}, which is long enough"),
        Repair::Swap { field, with } => format!("exchange {field} and {with}, or measure again"),
    }
}

fn absent(rule: Rule, fields: &[&str], whole_page: bool) -> String {
    match (rule, whole_page) {
        (Rule::PressureMissing, true) => "no test pressure anywhere on the page".into(),
        (Rule::PressureMissing, false) => "no test pressure on this row and none above it".into(),
        (Rule::ServiceStateMissing, true) => "no row says new, oiled, dirty or washed".into(),
        (Rule::ServiceStateMissing, false) => {
            "new, oiled, dirty or washed is not stated for this element".into()
        }
        (Rule::PartBare, _) => format!("no {}", join(fields, "or")),
        (_, true) => format!("no {} anywhere on the page", join(fields, "or")),
        (_, false) => format!("no {} here", join(fields, "or")),
    }
}

fn names(rule: Rule, name: &str, nearest: &[String]) -> String {
    let list = nearest.join(", ");
    match rule {
        Rule::PartAlias => format!("{name} looks like another spelling of {list}"),
        Rule::PartDuplicate => format!("{name} has the kind, maker and dimensions of {list}"),
        _ if nearest.is_empty() => format!("the shelf has no part {name}"),
        _ => format!("the shelf has no part {name}; nearest: {list}"),
    }
}

fn same_as(
    rule: Rule,
    file: &Option<String>,
    sheet: &Option<String>,
    row: Option<i64>,
    order: Option<i64>,
    clock: bool,
) -> String {
    let mut at = String::new();
    if let Some(row) = row {
        at = format!("row {row}");
        if let Some(sheet) = sheet {
            at += &format!(" of sheet {sheet}");
        }
        if let Some(file) = file {
            at += &format!(" of {file}");
        }
    } else if let Some(order) = order {
        at = format!("run {order}");
    }
    match (rule, clock) {
        (Rule::CopiedReading, true) => format!("same assembly and same clock as {at}"),
        (Rule::CopiedReading, false) => {
            format!("same digits in flow and pressure as {at}, of the same assembly")
        }
        _ => format!("the same run as {at}"),
    }
}

fn join(words: &[&str], last: &str) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., end] => format!("{} {last} {end}", first.join(", ")),
    }
}

/// Up to two significant decimals, without trailing zeros.
fn percent(ratio: f64) -> String {
    let text = format!("{:.2}", 100.0 * ratio);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn in_unit(value: &Amount, like: &Amount) -> Amount {
    Amount::new(value.si, like.unit)
}

fn other_length(length: &Amount) -> Amount {
    use airshelf_units::Unit;
    Amount::new(length.si, if length.unit == Unit::INCH { Unit::MM } else { Unit::INCH })
}
