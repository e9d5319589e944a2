//! What the demo's parts truly do, so that a test can hold the verdicts against it.

use super::bench::{LEAKAGE_EXPONENT, READING_SCATTER, REFIT_SCATTER, leakage_m3_s, set_pressure_pa};
use super::shed::{EIGHT, EQUAL, Shed, UNSEEN, assembly_id, usual_service};
use airshelf_catalog::{Service, Uuid};

/// The truth behind the demo's readings. Flows are free of leakage, drift and an evening's level: hold losses, `k` and
/// differences against it, and flows only to within the evening's own level and drift.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// The pressure at which all of it holds, Pa.
    pub set_pressure_pa: f64,
    /// Flow of the bare item, m³/s.
    pub baseline_flow_m3_s: f64,
    /// Pressure drop of the bare item over the square of its flow, Pa·s²/m⁶.
    pub item_square_pa_s2_m6: f64,
    /// Standard deviation between refitted repeats, ratio of flow.
    pub refit_scatter: f64,
    /// Standard deviation between readings of one fitting, ratio of flow.
    pub reading_scatter: f64,
    /// Fixture leakage at the set pressure, m³/s.
    pub leakage_m3_s: f64,
    /// Its exponent over pressure.
    pub leakage_exponent: f64,
    /// Every assembly in every state in which it was tested.
    pub flows: Vec<TrueFlow>,
    /// What each evening was like.
    pub evenings: Vec<TrueEvening>,
    /// The evening that compares the eight.
    pub main_session: Uuid,
    /// Two of the eight that flow the same.
    pub equal: (Uuid, Uuid),
    /// Two of the eight that differ by less than the bench can see.
    pub unseen: (Uuid, Uuid),
}

/// One assembly in one state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrueFlow {
    /// The assembly.
    pub assembly: Uuid,
    /// The state of its element.
    pub service: Option<Service>,
    /// Linear part of its pressure drop over flow, item left out, Pa·s/m³.
    pub linear_pa_s_m3: f64,
    /// Square part, Pa·s²/m⁶.
    pub square_pa_s2_m6: f64,
    /// Flow at the set pressure, m³/s.
    pub flow_m3_s: f64,
    /// Loss against the bare item, ratio of its flow.
    pub loss_ratio: f64,
    /// Pressure drop of the parts at that flow, Pa.
    pub drop_pa: f64,
    /// That drop over the square of that flow, Pa·s²/m⁶; negative for an entry gain.
    pub k_pa_s2_m6: f64,
}

/// One evening's own errors, as ratios of flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrueEvening {
    /// The session.
    pub session: Uuid,
    /// Its level against the bench's average.
    pub level: f64,
    /// Drift from its start to its end.
    pub drift: f64,
    /// Highest deviation of the drift from a straight line.
    pub drift_curve: f64,
}

impl Truth {
    /// What is true of that assembly in that state.
    pub fn of(&self, assembly: Uuid, service: Option<Service>) -> Option<&TrueFlow> {
        self.flows.iter().find(|f| f.assembly == assembly && f.service == service)
    }

    /// How much more the first truly flows than the second: `ln(Q_a/Q_b)`.
    pub fn log_difference(&self, a: (Uuid, Option<Service>), b: (Uuid, Option<Service>)) -> Option<f64> {
        Some(libm::log(self.of(a.0, a.1)?.flow_m3_s / self.of(b.0, b.1)?.flow_m3_s))
    }
}

/// Puts down the truth about the shed.
pub fn tell(shed: &Shed, evenings: Vec<TrueEvening>, main_session: Uuid) -> Truth {
    let baseline_flow_m3_s = shed.flow_m3_s(&[], None);
    let stack = ["BS-2", "FF-1", "LD-2"];
    let mut stacks: Vec<(Vec<&str>, Option<Service>)> =
        EIGHT.iter().map(|s| (s.to_vec(), usual_service(s))).collect();
    for more in [
        &["SP-1", "BS-2", "FF-1", "LD-2"][..],
        &["SP-2", "BS-2", "FF-1", "LD-2"],
        &["SP-2 B", "BS-2", "FF-1", "LD-2"],
        &["VS-1"],
    ] {
        stacks.push((more.to_vec(), usual_service(more)));
    }
    stacks.push((stack.to_vec(), Some(Service::Dirty)));
    let flows = stacks
        .iter()
        .map(|(stack, service)| {
            let parts = shed.parts(stack, *service);
            let flow_m3_s = shed.flow_m3_s(stack, *service);
            let drop_pa = set_pressure_pa() * (1.0 - (flow_m3_s / baseline_flow_m3_s).powi(2));
            TrueFlow {
                assembly: assembly_id(stack),
                service: *service,
                linear_pa_s_m3: parts.linear_pa_s_m3,
                square_pa_s2_m6: parts.square_pa_s2_m6,
                flow_m3_s,
                loss_ratio: 1.0 - flow_m3_s / baseline_flow_m3_s,
                drop_pa,
                k_pa_s2_m6: drop_pa / (flow_m3_s * flow_m3_s),
            }
        })
        .collect();
    let pair = |(a, b): (usize, usize)| (assembly_id(&EIGHT[a]), assembly_id(&EIGHT[b]));
    Truth {
        set_pressure_pa: set_pressure_pa(),
        baseline_flow_m3_s,
        item_square_pa_s2_m6: shed.path(&[], None).square_pa_s2_m6,
        refit_scatter: REFIT_SCATTER,
        reading_scatter: READING_SCATTER,
        leakage_m3_s: leakage_m3_s(),
        leakage_exponent: LEAKAGE_EXPONENT,
        flows,
        evenings,
        main_session,
        equal: pair(EQUAL),
        unseen: pair(UNSEEN),
    }
}
