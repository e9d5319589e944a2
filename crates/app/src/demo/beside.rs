//! What people did away from the bench: guesses before the reading, nights of service, decisions.

use super::chance::Chance;
use super::shed::{EIGHT, SPACER, Shed, assembly_id, part_id, revision_id, usual_service};
use super::shelf::{FRIEND, OWNER, person_id, vehicle_id};
use super::written::rounded;
use airshelf_catalog::ids::Derived;
use airshelf_catalog::{Decision, DecisionKind, Prediction, Records, ServiceEvent, ServiceKind, Uuid};
use airshelf_units::Unit;

/// How somebody guesses: by how much too high, how scattered, how sure of it, and whether in flow or in loss.
struct Habit {
    who: &'static str,
    bias: f64,
    scatter: f64,
    half_width: f64,
    in_loss: bool,
    written: &'static str,
}

/// The owner guesses losses and knows the parts; the friend guesses flows, too high, and is too sure.
const HABITS: [Habit; 2] = [
    Habit {
        who: OWNER,
        bias: 0.002,
        scatter: 0.007,
        half_width: 0.014,
        in_loss: true,
        written: "2025-05-16T21:10",
    },
    Habit {
        who: FRIEND,
        bias: 0.011,
        scatter: 0.012,
        half_width: 0.009,
        in_loss: false,
        written: "2025-05-17T17:40",
    },
];
const SEALED: &str = "2025-05-17T18:20";

/// Adds two people's guesses of the eight, sealed before the evening's first reading.
pub fn guess(records: &mut Records, shed: &Shed, session: Uuid, chance: &mut Chance) {
    let bare = shed.flow_m3_s(&[], None);
    for habit in &HABITS {
        let mut guessed: Vec<(usize, f64)> = EIGHT
            .iter()
            .map(|stack| shed.flow_m3_s(stack, usual_service(stack)))
            .map(|flow| flow * (1.0 + habit.bias + habit.scatter * chance.normal_within(2.0)))
            .enumerate()
            .collect();
        guessed.sort_by(|a, b| b.1.total_cmp(&a.1));
        for (place, &(stack, flow)) in guessed.iter().enumerate() {
            let assembly = assembly_id(&EIGHT[stack]);
            let cfm = |m3_s: f64| Some(rounded(m3_s, Unit::CFM, 0));
            let (low, high) = (flow - habit.half_width * bare, flow + habit.half_width * bare);
            let in_terms = match habit.in_loss {
                true => Prediction {
                    loss: cfm(bare - flow),
                    low: cfm(bare - high),
                    high: cfm(bare - low),
                    ..Prediction::default()
                },
                false => {
                    Prediction { flow: cfm(flow), low: cfm(low), high: cfm(high), ..Prediction::default() }
                }
            };
            records.predictions.push(Prediction {
                id: Derived::new("prediction")
                    .folded(habit.who)
                    .id(Some(session))
                    .id(Some(assembly))
                    .finish(),
                person: Some(person_id(habit.who)),
                assembly: Some(assembly),
                session: Some(session),
                place: Some(place as i64 + 1),
                written: Some(habit.written.into()),
                sealed: Some(SEALED.into()),
                ..in_terms
            });
        }
    }
}

/// Adds the foam's season: fitted, twelve nights, off, washed, oiled.
pub fn serve(records: &mut Records) {
    let nights = |n| Some(n);
    let events: [(ServiceKind, &str, Option<i64>, &str); 9] = [
        (ServiceKind::Fitted, "2025-06-06", None, "with the vented lid on the dropped base"),
        (ServiceKind::Run, "2025-06-14", nights(2), "wet track"),
        (ServiceKind::Run, "2025-07-05", nights(3), "dry"),
        (ServiceKind::Run, "2025-07-26", nights(3), "very dry, dust under the hood"),
        (ServiceKind::Run, "2025-08-16", nights(2), ""),
        (ServiceKind::Run, "2025-09-13", nights(2), "last night of the season"),
        (ServiceKind::Removed, "2025-09-14", None, "bagged as it was for the bench"),
        (ServiceKind::Washed, "2025-09-21", None, "warm water and soap, dried two days"),
        (ServiceKind::Oiled, "2025-09-24", None, "weighed out, wrung once"),
    ];
    let revision = revision_id("FF-1");
    for (kind, date, nights, note) in events {
        records.service_events.push(ServiceEvent {
            id: Derived::new("service_event").id(Some(revision)).int(Some(kind.code())).text(date).finish(),
            revision: Some(revision),
            kind: Some(kind),
            date: Some(date.into()),
            nights,
            vehicle: (!matches!(kind, ServiceKind::Washed | ServiceKind::Oiled)).then(vehicle_id),
            note: Some(note.to_owned()).filter(|n| !n.is_empty()),
        });
    }
}

/// Adds what was decided in the end.
pub fn decide(records: &mut Records) {
    let decisions: [(Uuid, DecisionKind, &str, &str); 4] = [
        (
            revision_id(&format!("{SPACER} B")),
            DecisionKind::Keep,
            "2025-04-27",
            "the radius gives back more than the spacer takes",
        ),
        (part_id("SP-1"), DecisionKind::Bin, "2025-04-27", "takes height and flow and gives nothing"),
        (
            assembly_id(&["BS-2", "FF-1", "LD-2"]),
            DecisionKind::Fit,
            "2025-06-06",
            "least loss that clears the hood",
        ),
        (
            part_id("PF-1"),
            DecisionKind::Keep,
            "2025-09-28",
            "with the better lid and base it does what bare foam did",
        ),
    ];
    for (subject, kind, date, reason) in decisions {
        records.decisions.push(Decision {
            id: Derived::new("decision").id(Some(subject)).int(Some(kind.code())).text(date).finish(),
            subject: Some(subject),
            kind: Some(kind),
            reason: Some(reason.into()),
            date: Some(date.into()),
            person: Some(person_id(OWNER)),
            ..Decision::default()
        });
    }
}
