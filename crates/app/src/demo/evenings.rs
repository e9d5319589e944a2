//! The evenings at the bench: what was done in which order, and what the gauges showed.

use super::bench::{Path, REFIT_SCATTER, Setup, Weather, read};
use super::chance::Chance;
use super::shed::{CARBURETOR, CHECK_PLATE, EIGHT, STUD, Shed, revision_id, usual_service};
use super::shelf::{OWNER, assemble, bench, person_id, range_id};
use super::truth::TrueEvening;
use super::written::{quantity, rounded};
use airshelf_catalog::ids::{Derived, beside};
use airshelf_catalog::{
    BaselineKind, Direction, Purpose, Reading, Records, Refit, Restraint, Run, Service, Session, Uuid,
};
use airshelf_units::Unit;

/// What is done next at the bench.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// The fixture blanked off.
    Leakage,
    /// The item with its throttle closed.
    ClosedThrottle,
    /// The check plate in place of the item.
    Plate,
    /// The bare item.
    Baseline,
    /// An assembly, fitted anew.
    Test(Vec<&'static str>, Option<Service>),
    /// An assembly held otherwise than by its stud.
    Loose(Vec<&'static str>, Restraint, &'static str),
    /// One pressure of a sweep, in inH2O as written; the first one fits the assembly (none: the bare item).
    Sweep(Vec<&'static str>, &'static str, Refit),
}

/// Baseline, every stack once in an order of chance with a baseline after each four, and so on; a baseline ends it.
pub fn blocks(
    stacks: &[(Vec<&'static str>, Option<Service>)],
    repeats: usize,
    chance: &mut Chance,
) -> Vec<Step> {
    let mut steps = vec![Step::Baseline];
    for _ in 0..repeats {
        let mut block = stacks.to_vec();
        chance.shuffle(&mut block);
        for four in block.chunks(4) {
            steps.extend(four.iter().map(|(stack, service)| Step::Test(stack.clone(), *service)));
            steps.push(Step::Baseline);
        }
    }
    steps
}

struct Plan {
    name: &'static str,
    date: &'static str,
    weather: Weather,
    steps: Vec<Step>,
    note: Option<&'static str>,
}

/// Name of the evening that compares the eight.
pub const MAIN: &str = "QL-0517";

fn plans(chance: &mut Chance) -> Vec<Plan> {
    let usual = |stack: &[&'static str]| (stack.to_vec(), usual_service(stack));
    let opening = || vec![Step::Leakage, Step::ClosedThrottle, Step::Plate];
    let on = |stack: &[&'static str], service| (stack.to_vec(), Some(service));

    let first: Vec<_> = [0, 1, 4, 5].map(|i| usual(&EIGHT[i])).to_vec();
    let bases: Vec<_> = [0, 2, 4, 6].map(|i| usual(&EIGHT[i])).to_vec();
    let stack = ["BS-2", "FF-1", "LD-2"];
    let spaced = vec![
        usual(&stack),
        usual(&["SP-1", "BS-2", "FF-1", "LD-2"]),
        usual(&["SP-2", "BS-2", "FF-1", "LD-2"]),
    ];
    let clay = vec![usual(&stack), usual(&["SP-2 B", "BS-2", "FF-1", "LD-2"]), usual(&["VS-1"])];
    let eight: Vec<_> = EIGHT.iter().map(|s| usual(s)).collect();
    let dirty = vec![on(&stack, Service::Dirty), usual(&["BS-2", "PF-1", "LD-2"])];
    let clean = vec![on(&stack, Service::Oiled), usual(&["BS-2", "PF-1", "LD-2"])];

    let mut out = Vec::new();
    let mut add = |name, date, weather, steps: Vec<Step>, note| {
        let steps = opening().into_iter().chain(steps).collect();
        out.push(Plan { name, date, weather, steps, note });
    };
    let weather = Weather::ordinary(58.0, 29.41, 44.0, chance);
    add("QL-0308", "2025-03-08", weather, blocks(&first, 3, chance), None);
    let weather = Weather::ordinary(61.0, 29.18, 52.0, chance);
    add("QL-0322", "2025-03-22", weather, blocks(&bases, 3, chance), None);
    let weather = Weather::ordinary(66.0, 29.25, 55.0, chance);
    add("QL-0412", "2025-04-12", weather, blocks(&spaced, 4, chance), Some("spacers as they came"));

    let weather = Weather::ordinary(68.0, 29.33, 49.0, chance);
    let mut steps = blocks(&clay, 4, chance);
    let last = steps.len() - 1;
    steps.insert(
        last,
        Step::Loose(EIGHT[5].to_vec(), Restraint::HandHeld, "no nut at hand, held down by hand"),
    );
    steps.insert(
        last,
        Step::Loose(EIGHT[0].to_vec(), Restraint::Lost, "wing nut off and the lid up, found after"),
    );
    add("QL-0426", "2025-04-26", weather, steps, Some("spacer with the clay radius"));

    let drifting = Weather {
        air_change_f: -7.0,
        humidity_change_percent: 11.0,
        drift: 0.0045,
        drift_curve: 0.0012,
        ..Weather::ordinary(76.0, 29.29, 51.0, chance)
    };
    add(
        MAIN,
        "2025-05-17",
        drifting,
        blocks(&eight, 3, chance),
        Some("all eight; cooled off fast after sunset"),
    );

    let weather = Weather::ordinary(75.0, 29.22, 53.0, chance);
    let pressures = ["4", "6.5", "9", "12", "15", "18", "20"];
    let mut steps = vec![Step::Baseline];
    for stack in [&[][..], &EIGHT[0], &EIGHT[4]] {
        for (i, pressure) in pressures.iter().enumerate() {
            steps.push(Step::Sweep(stack.to_vec(), pressure, if i == 0 { Refit::Yes } else { Refit::No }));
        }
        steps.push(Step::Baseline);
    }
    add("QL-0531", "2025-05-31", weather, steps, Some("sweeps: bare, paper, foam"));

    let weather = Weather::ordinary(72.0, 29.36, 50.0, chance);
    add(
        "QL-0920",
        "2025-09-20",
        weather,
        blocks(&dirty, 4, chance),
        Some("foam as it came off after twelve nights"),
    );
    let weather = Weather::ordinary(69.0, 29.30, 54.0, chance);
    add("QL-0927", "2025-09-27", weather, blocks(&clean, 4, chance), Some("foam washed and oiled"));
    out
}

/// Adds every evening to the records and tells what each was truly like.
pub fn hold(records: &mut Records, shed: &Shed, chance: &mut Chance) -> Vec<TrueEvening> {
    plans(chance).into_iter().map(|plan| hold_one(records, shed, &plan, chance)).collect()
}

/// The session of that name and date.
pub fn session_id(name: &str, date: &str) -> Uuid {
    Derived::new("session").folded(name).text(date).finish()
}

fn hold_one(records: &mut Records, shed: &Shed, plan: &Plan, chance: &mut Chance) -> TrueEvening {
    let session = session_id(plan.name, plan.date);
    let mut minute = 18 * 60 + 30;
    let minutes: Vec<u32> = plan
        .steps
        .iter()
        .map(|_| {
            minute += 5 + chance.below(3) as u32;
            minute
        })
        .collect();
    let length = f64::from(minute - minutes[0]);
    let mut refit = 0.0;
    for (place, step) in plan.steps.iter().enumerate() {
        let order = place as i64 + 1;
        let share = f64::from(minutes[place] - minutes[0]) / length;
        let held = Held::of(step, shed, records);
        if held.fitted {
            refit = REFIT_SCATTER * chance.normal() * held.looseness;
        }
        let setup =
            Setup { path: held.path, set_pa: quantity(held.set, Unit::IN_H2O).si, held_pa: None, refit };
        let shown = read(&plan.weather, share, setup, chance);
        let run = held.run;
        let actual = rounded(shown.actual_pa, Unit::IN_H2O, 2);
        let flow = rounded(shown.flow_m3_s, Unit::CFM, held.decimals);
        let set = quantity(held.set, Unit::IN_H2O);
        let id = Derived::new("run")
            .id(Some(session))
            .int(Some(order))
            .text(run.purpose.map_or("", Purpose::name))
            .id(run.assembly)
            .text(run.restraint.map_or("", Restraint::name))
            .text(run.service.map_or("", Service::name))
            .real(Some(set.si))
            .real(Some(actual.si))
            .real(Some(flow.si))
            .int(Some(1))
            .finish();
        records.readings.push(Reading {
            id: beside("reading", id),
            run: Some(id),
            flow: Some(flow),
            actual_pressure: Some(actual),
            air_temperature: Some(quantity(
                &format!("{:.0}", plan.weather.air_f_at(share)),
                Unit::FAHRENHEIT,
            )),
            barometer: Some(quantity(&format!("{:.2}", plan.weather.barometer_at(share)), Unit::IN_HG)),
            humidity: Some(quantity(&format!("{:.0}", plan.weather.humidity_at(share)), Unit::PERCENT)),
            clock: Some(clock(minutes[place])),
            ..Reading::default()
        });
        records.runs.push(Run {
            id,
            session: Some(session),
            order_number: Some(order),
            set_pressure: Some(set),
            ..run
        });
    }
    records.sessions.push(Session {
        id: session,
        name: Some(plan.name.into()),
        date: Some(plan.date.into()),
        bench: Some(bench()),
        item: Some(revision_id(CARBURETOR)),
        person: Some(person_id(OWNER)),
        closed: Some(format!("{}T{}", plan.date, clock(minute + 15))),
        dont_care: Some(quantity("0.5", Unit::PERCENT)),
        note: plan.note.map(Into::into),
        ..Session::default()
    });
    TrueEvening {
        session,
        level: plan.weather.level,
        drift: plan.weather.drift,
        drift_curve: plan.weather.drift_curve,
    }
}

struct Held {
    path: Option<Path>,
    set: &'static str,
    decimals: usize,
    fitted: bool,
    looseness: f64,
    run: Run,
}

impl Held {
    fn of(step: &Step, shed: &Shed, records: &mut Records) -> Held {
        let item = Some(revision_id(CARBURETOR));
        let on_item =
            Run { item, range: Some(range_id("300")), direction: Some(Direction::Intake), ..Run::default() };
        let mut held =
            Held { path: None, set: "20", decimals: 1, fitted: true, looseness: 1.0, run: on_item.clone() };
        match step {
            Step::Leakage => {
                held.decimals = 2;
                held.run = Run {
                    purpose: Some(Purpose::FixtureLeakage),
                    range: Some(range_id("2")),
                    ..Run::default()
                };
            }
            Step::ClosedThrottle => {
                // 3.9 CFM past the closed plates at 20 inH2O.
                let flow_m3_s = Unit::CFM.to_si(3.9);
                let square_pa_s2_m6 = super::bench::set_pressure_pa() / (flow_m3_s * flow_m3_s);
                held.path = Some(Path { linear_pa_s_m3: 0.0, square_pa_s2_m6 });
                held.run = Run {
                    purpose: Some(Purpose::ClosedThrottleLeakage),
                    range: Some(range_id("10")),
                    ..on_item
                };
            }
            Step::Plate => {
                held.path = Some(shed.check_plate());
                held.run = Run {
                    purpose: Some(Purpose::CheckPlate),
                    item: Some(revision_id(CHECK_PLATE)),
                    ..on_item
                };
            }
            Step::Baseline => {
                held.path = Some(shed.path(&[], None));
                held.run = Run {
                    purpose: Some(Purpose::Baseline),
                    baseline_kind: Some(BaselineKind::Bare),
                    refit: Some(Refit::Yes),
                    ..on_item
                };
            }
            Step::Test(stack, service) => {
                held.path = Some(shed.path(stack, *service));
                held.run = Run {
                    purpose: Some(Purpose::Test),
                    refit: Some(Refit::Yes),
                    ..dressed(on_item, stack, *service, Restraint::Fastened, records)
                };
            }
            Step::Loose(stack, restraint, note) => {
                let service = usual_service(stack);
                // Without its lid the element is open on top; held by hand it never sits twice the same.
                let flowing =
                    if *restraint == Restraint::Lost { &stack[..stack.len() - 1] } else { &stack[..] };
                held.path = Some(shed.path(flowing, service));
                held.looseness = 4.0;
                held.run = Run {
                    purpose: Some(Purpose::Test),
                    refit: Some(Refit::Yes),
                    note: Some((*note).into()),
                    ..dressed(on_item, stack, service, *restraint, records)
                };
            }
            Step::Sweep(stack, pressure, refit) => {
                let service = usual_service(stack);
                held.path = Some(shed.path(stack, service));
                held.set = pressure;
                held.fitted = *refit == Refit::Yes;
                let run = match stack.is_empty() {
                    true => Run { baseline_kind: Some(BaselineKind::Bare), ..on_item },
                    false => dressed(on_item, stack, service, Restraint::Fastened, records),
                };
                held.run = Run { purpose: Some(Purpose::Sweep), refit: Some(*refit), ..run };
            }
        }
        held
    }
}

fn dressed(
    run: Run,
    stack: &[&str],
    service: Option<Service>,
    restraint: Restraint,
    records: &mut Records,
) -> Run {
    let by_stud = restraint == Restraint::Fastened && stack.iter().any(|name| name.starts_with("LD"));
    Run {
        assembly: Some(assemble(records, stack)),
        restraint: Some(restraint),
        service,
        stud: by_stud.then(|| revision_id(STUD)),
        ..run
    }
}

fn clock(minute: u32) -> String {
    format!("{:02}:{:02}", minute / 60, minute % 60)
}
