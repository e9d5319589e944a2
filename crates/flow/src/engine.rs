//! What a restriction costs a four-stroke engine, in air.
//!
//! Steady flow through carburetor and assembly in series, with volumetric
//! efficiency referred to the density below them. Pulsation, signal and road
//! turbulence are not modeled; loss is in air, not in power.

use crate::air::Air;
use crate::error::{positive, within};
use crate::restriction::Restriction;
use crate::{Caution, FlowError};

/// Depression over inlet pressure from which the fixed inlet density is rough.
const DEEP: f64 = 0.10;

/// A four-stroke engine at one speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Engine {
    /// Displacement, m³.
    pub displacement_m3: f64,
    /// Crankshaft speed, revolutions per second.
    pub speed_rev_s: f64,
    /// Volumetric efficiency, referred to the density below the carburetor.
    pub volumetric_efficiency: f64,
}

/// Air as it reaches the engine's intake.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InletAir {
    /// Absolute pressure, Pa.
    pub pressure_pa: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Temperature, K.
    pub temperature_k: f64,
}

impl From<&Air> for InletAir {
    fn from(air: &Air) -> Self {
        Self {
            pressure_pa: air.pressure_pa(),
            density_kg_m3: air.density_kg_m3(),
            temperature_k: air.temperature_k(),
        }
    }
}

/// What a part costs an engine at one speed.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineEffect {
    /// Volume that the engine would take without any restriction, m³/s.
    pub demand_m3_s: f64,
    /// Air taken with everything on, kg/s.
    pub air_kg_s: f64,
    /// Air taken without the part, kg/s.
    pub air_without_part_kg_s: f64,
    /// Pressure below the carburetor, Pa.
    pub pressure_below_pa: f64,
    /// Depression below the carburetor, Pa.
    pub depression_pa: f64,
    /// Pressure drop of the part, Pa.
    pub part_drop_pa: f64,
    /// Share of the air that the part costs; negative for a gain.
    pub air_loss: f64,
    /// Lower bound of that share, apart from `air_loss` only outside 0.8 to
    /// 1.25 times the part's tested flow.
    pub air_loss_low: f64,
    /// Upper bound of that share.
    pub air_loss_high: f64,
    /// Rise of intake air temperature that costs as much, density alone, K.
    pub same_as_warmer_low_k: f64,
    /// The same with the usual square-root correction, K.
    pub same_as_warmer_high_k: f64,
    /// What to know.
    pub cautions: Vec<Caution>,
}

/// Gives the volume demand of a four-stroke engine, m³/s.
///
/// `Q = V n VE/2`, `V` displacement (m³), `n` speed (rev/s), `VE` volumetric
/// efficiency (1). Errors on a negative displacement, a speed not above zero, or
/// a `VE` outside 0 to 2. Source: definition of the four-stroke cycle (in³, rpm
/// and CFM: `V·rpm·VE/3456`).
///
/// ```
/// use airshelf_flow::engine::{demand_m3_s, Engine};
/// let engine = Engine {
///     displacement_m3: 350.0 * 0.0254_f64.powi(3),
///     speed_rev_s: 6500.0 / 60.0,
///     volumetric_efficiency: 1.0,
/// };
/// let cfm = demand_m3_s(&engine)? * 60.0 / 0.3048_f64.powi(3);
/// assert!((cfm - 658.2755).abs() < 1e-4);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn demand_m3_s(engine: &Engine) -> Result<f64, FlowError> {
    within("displacement in m3", engine.displacement_m3, 0.0, 1.0)?;
    positive("engine speed", engine.speed_rev_s)?;
    within("volumetric efficiency", engine.volumetric_efficiency, 0.0, 2.0)?;
    Ok(engine.displacement_m3 * engine.speed_rev_s * engine.volumetric_efficiency / 2.0)
}

/// Gives what a part costs an engine in air, with the carburetor in series.
///
/// Solves `m = V̇ ρ₀ p/p₀`, `p = p₀ − K m² − L m` in closed form: `m = 2V̇ρ₀ /
/// [(1 + cL) + √((1 + cL)² + 4cK V̇ρ₀)]`, `c = V̇ρ₀/p₀`, `K = Σ kᵢ/(ρᵢ ρ₀)`, `L`
/// a laminar part (only for the bounds); `V̇` demand (m³/s), `p₀` inlet pressure
/// (Pa), `ρ₀` inlet density (kg/m³), `kᵢ` (Pa s²/m⁶) at density `ρᵢ`. Loss
/// `1 − m/m_without`. Warmer air: `ΔT = T₀[1/(1−loss) − 1]` by density alone,
/// `T₀[1/(1−loss)² − 1]` where the engine's air falls with `T^½` only.
///
/// Valid for steady flow and a depression below a tenth of `p₀` (density taken
/// inlet by inlet moves the air by 0.03 %, an isentropic jet by 0.2 %). Outside
/// 0.8 to 1.25 times the part's tested flow the bounds use exponents 0.5 and 1.
/// Errors when an input is not above zero, or gains exceed all resistance.
/// Source: Bernoulli's equation, gas at constant temperature; the square-root
/// correction is the usual one for intake temperature (common practice).
///
/// ```
/// use airshelf_flow::{air::Air, engine::{part_effect, Engine}, restriction::Restriction};
/// let engine = Engine {
///     displacement_m3: 5.735e-3,
///     speed_rev_s: 108.333,
///     volumetric_efficiency: 1.0,
/// };
/// let carburetor = Restriction::of_item(0.354, 5079.6, 1.2)?;
/// let lid = Restriction::of_part(0.4248, 0.3761, 6974.5, 1.2)?;
/// let effect = part_effect(
///     &engine,
///     &(&Air::engine_reference()).into(),
///     Some(&carburetor),
///     Some(&lid),
/// )?;
/// assert!((effect.air_loss - 0.0088).abs() < 1e-4);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn part_effect(
    engine: &Engine,
    air: &InletAir,
    carburetor: Option<&Restriction>,
    part: Option<&Restriction>,
) -> Result<EngineEffect, FlowError> {
    let demand_m3_s = demand_m3_s(engine)?;
    positive("inlet pressure", air.pressure_pa)?;
    positive("inlet density", air.density_kg_m3)?;
    positive("inlet temperature", air.temperature_k)?;
    let square = |item: Option<&Restriction>| {
        item.map_or(0.0, |item| item.k_pa_s2_m6 / (item.reference_density_kg_m3 * air.density_kg_m3))
    };
    let (own, added) = (square(carburetor), square(part));
    let without = air_kg_s(demand_m3_s, air, own, 0.0)?;
    let with = air_kg_s(demand_m3_s, air, own + added, 0.0)?;
    let loss_of = |with: f64| {
        if without > 0.0 { (without - with) / without } else { 0.0 }
    };
    let air_loss = loss_of(with);
    let mut cautions = vec![Caution::SteadyFlow { factor: pulsation_factor(0.5)? }];
    let mut other_loss = air_loss;
    if let Some(part) = part
        && with > 0.0
        && let Some(caution) = part.caution_at(with / air.density_kg_m3)
    {
        cautions.push(caution);
        // The laminar line through the tested point, in the engine's air.
        let tested_kg_s = part.tested_flow_m3_s * air.density_kg_m3;
        other_loss = loss_of(air_kg_s(demand_m3_s, air, own, added * tested_kg_s)?);
    }
    let depression_pa = (own + added) * with * with;
    if depression_pa > DEEP * air.pressure_pa {
        cautions.push(Caution::DeepDepression { fraction: depression_pa / air.pressure_pa });
    }
    let (same_as_warmer_low_k, same_as_warmer_high_k) = same_as_warmer_k(air_loss, air.temperature_k)?;
    Ok(EngineEffect {
        demand_m3_s,
        air_kg_s: with,
        air_without_part_kg_s: without,
        pressure_below_pa: air.pressure_pa - depression_pa,
        depression_pa,
        part_drop_pa: added * with * with,
        air_loss,
        air_loss_low: air_loss.min(other_loss),
        air_loss_high: air_loss.max(other_loss),
        same_as_warmer_low_k,
        same_as_warmer_high_k,
        cautions,
    })
}

/// Air that an engine takes through a square and a laminar resistance.
fn air_kg_s(demand_m3_s: f64, air: &InletAir, square: f64, laminar: f64) -> Result<f64, FlowError> {
    let full = demand_m3_s * air.density_kg_m3;
    let per_pressure = full / air.pressure_pa;
    let linear = 1.0 + per_pressure * laminar;
    let root = linear * linear + 4.0 * per_pressure * square * full;
    let below = linear + root.sqrt();
    if below.is_nan() || below <= 0.0 {
        return Err(FlowError::NoSolution {
            what: "the gains of the parts exceed all resistance at this speed",
        });
    }
    Ok(2.0 * full / below)
}

/// Gives the rise of intake temperature that costs as much air: by density
/// alone, and with the usual square-root correction, K.
///
/// `T₀[1/(1−x) − 1]` and `T₀[1/(1−x)² − 1]`, `x` the share of air lost, `T₀`
/// intake temperature (K); negative for a gain. Errors when `x` is not below 1.
/// Source: gas law; square-root correction common practice, no source.
///
/// ```
/// let (low, high) = airshelf_flow::engine::same_as_warmer_k(0.008_827, 298.15)?;
/// assert!((low - 2.655).abs() < 1e-3 && (high - 5.334).abs() < 1e-3);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn same_as_warmer_k(air_loss: f64, temperature_k: f64) -> Result<(f64, f64), FlowError> {
    within("share of air lost", air_loss, -1.0, 0.99)?;
    positive("intake temperature", temperature_k)?;
    let density = air_loss / (1.0 - air_loss);
    Ok((temperature_k * density, temperature_k * density * (2.0 + density)))
}

/// Gives how much larger the flow-weighted square-law drop of half-sine pulses
/// is than that of steady flow: `mean(Q²)/mean(Q)² = π²/(8d)`.
///
/// `d` the share of the cycle that pulses fill, above 0 to 1. It is a caution
/// beside a steady result and never multiplies it. Errors outside. Source: mean
/// of a half sine, analytic.
///
/// ```
/// let factor = airshelf_flow::engine::pulsation_factor(0.25)?;
/// assert!((factor - 4.9348).abs() < 1e-4);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn pulsation_factor(filled_share: f64) -> Result<f64, FlowError> {
    positive("filled share of the cycle", filled_share)?;
    within("filled share of the cycle", filled_share, 0.0, 1.0)?;
    Ok(std::f64::consts::PI.powi(2) / (8.0 * filled_share))
}
