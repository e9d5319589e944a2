//! One reading, from what the gauge shows to a flow at reference air.
//!
//! The steps come back with the result, so that `explain` can print the whole
//! chain. Closed-throttle leakage has no step here.

mod chain;
mod reading;

pub use chain::Step;
pub use reading::{FixtureLeakage, Indicated, MeterKind, Reading, ReadingUncertainty};

use crate::air::{Air, flow_at_density_m3_s};
use crate::error::{positive, within};
use crate::orifice::{self, Upstream};
use crate::{Caution, FlowError, leakage, plate, scale};
use chain::{Chain, FLOW_UNIT};

/// A reduced reading.
#[derive(Debug, Clone, PartialEq)]
pub struct ReducedReading {
    /// Every step in order.
    pub steps: Vec<Step>,
    /// Flow on the bench's scale, less leakage, at the set pressure, m³/s: what
    /// assemblies of one evening are compared by.
    pub at_set_m3_s: f64,
    /// Volume flow of the air as it was at the part, m³/s; `None` where meter or
    /// air are not known.
    pub as_tested_m3_s: Option<f64>,
    /// Volume flow in reference air, m³/s; `None` where the meter is not known.
    pub at_reference_m3_s: Option<f64>,
    /// All shares combined at the last flow given, m³/s; `None` when no share
    /// is known. Type B only: scatter between fittings is not in it.
    pub standard_uncertainty_m3_s: Option<f64>,
    /// What to know.
    pub cautions: Vec<Caution>,
}

/// Reduces one reading.
///
/// `Q = [(Q_ind · F − L (P/P_L)^0.75)] (P_set/P)^½`, then by the meter: same air
/// `Q_t = Q (ρ_s/ρ)^½ (T/T_m)^½`, volumetric `Q_t = Q ρ_m/ρ`, mass `Q_t = Q ρ_s/ρ`;
/// at reference `Q_r = Q_t (ρ/ρ_r)^½`. `Q` m³/s, `F` bench factor, `L` leakage
/// read at `P_L`, `P` actual pressure (Pa, taken as set and marked when missing),
/// `ρ` density at the part, `ρ_s` of the scale, `ρ_m` at the meter, `ρ_r`
/// reference (kg/m³), `T`, `T_m` temperatures at part and meter (K). At a meter in
/// the same air the density of the day cancels in `Q_r`; correcting for it again
/// is the classic mistake.
///
/// Valid for square-law items (media follow viscosity instead) and an actual
/// pressure within 5 % of the set one. Errors when an input is outside its
/// range, leakage is not below the flow, the pressure is too far off, or a
/// computed orifice lacks its air. Source: DESIGN of this project, section 5,
/// steps 1 to 5; each step names its own.
///
/// ```
/// use airshelf_flow::{air::Air, reduce::*};
/// let reading = Reading {
///     indicated: Indicated::PercentOfRange { percent: 95.0, range_m3_s: 0.283 },
///     meter: MeterKind::SameAir,
///     scale_density_kg_m3: None,
///     bench_factor: 1.0,
///     leakage: Some(FixtureLeakage {
///         flow_m3_s: 0.001, at_pa: 1370.0, standard_uncertainty_m3_s: None,
///     }),
///     actual_pressure_pa: Some(1360.0),
///     set_pressure_pa: 1370.0,
///     part_air: Some(Air::from_relative_humidity(298.15, 99_000.0, 0.4)?),
///     meter_temperature_k: None,
///     meter_pressure_pa: None,
///     reference_density_kg_m3: Air::reference().density_kg_m3(),
///     uncertainty: ReadingUncertainty::default(),
/// };
/// let reduced = reduce(&reading)?;
/// assert_eq!(reduced.steps[0].name, "indicated flow");
/// // The scale's air is taken as the reference air, so nothing changes there.
/// assert!((reduced.at_reference_m3_s.unwrap() - reduced.at_set_m3_s).abs() < 1e-12);
/// assert!(reduced.as_tested_m3_s.unwrap() > reduced.at_set_m3_s); // thin air
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn reduce(reading: &Reading) -> Result<ReducedReading, FlowError> {
    positive("set pressure", reading.set_pressure_pa)?;
    positive("reference density", reading.reference_density_kg_m3)?;
    let mut chain = Chain {
        steps: Vec::new(),
        cautions: Vec::new(),
        flow: 0.0,
        variance: None,
        density_power: 0.0,
        density_relative: reading.uncertainty.density_relative,
    };
    chain.cautions.extend(reading.part_air.and_then(|air| air.caution()));
    let meter_density = indicated(reading, &mut chain)?;
    chain.multiply(
        "bench factor",
        "Q = Q_indicated F",
        "check-plate runs of this bench",
        within("bench factor", reading.bench_factor, 0.5, 2.0)?,
        reading.uncertainty.bench_factor_relative,
    );
    let actual_pa = match reading.actual_pressure_pa {
        Some(pa) => positive("actual pressure", pa)?,
        None => {
            chain.cautions.push(Caution::ActualPressureMissing { set_pa: reading.set_pressure_pa });
            reading.set_pressure_pa
        }
    };
    if let Some(leak) = &reading.leakage {
        subtract_leakage(leak, actual_pa, &mut chain)?;
    }
    to_set(reading, actual_pa, &mut chain)?;
    let at_set_m3_s = chain.flow;
    let as_tested_m3_s = as_tested(reading, meter_density, &mut chain)?;
    let at_reference_m3_s = at_reference(reading, at_set_m3_s, as_tested_m3_s, &mut chain)?;
    Ok(ReducedReading {
        standard_uncertainty_m3_s: chain.standard_uncertainty(),
        steps: chain.steps,
        at_set_m3_s,
        as_tested_m3_s,
        at_reference_m3_s,
        cautions: chain.cautions,
    })
}

/// Step 1: the indicated flow. Gives the density at a computed orifice.
fn indicated(reading: &Reading, chain: &mut Chain) -> Result<Option<f64>, FlowError> {
    let known = reading.uncertainty.indicated_m3_s;
    let name = "indicated flow";
    match reading.indicated {
        Indicated::Direct { flow_m3_s } => {
            positive("indicated flow", flow_m3_s)?;
            chain.step(name, "Q_indicated", "as shown", flow_m3_s, known);
            Ok(None)
        }
        Indicated::PercentOfRange { percent, range_m3_s } => {
            positive("percent of range", percent)?;
            within("percent of range", percent, 0.0, 110.0)?;
            positive("range", range_m3_s)?;
            chain.step(
                name,
                "Q_indicated = percent/100 Q_range",
                "the range's full flow",
                percent / 100.0 * range_m3_s,
                known,
            );
            Ok(None)
        }
        Indicated::Orifice { orifice, drop_pa, upstream_pa } => {
            let air = meter_air(reading, Some(upstream_pa))?;
            let flow = orifice::flow(&orifice, drop_pa, &Upstream::from(&air))?;
            for (name, formula, value) in [
                ("discharge coefficient", "Reader-Harris/Gallagher", flow.discharge_coefficient),
                (
                    "expansibility",
                    "1 - (0.351 + 0.256 b^4 + 0.93 b^8)(1 - (p2/p1)^(1/k))",
                    flow.expansibility,
                ),
            ] {
                chain.quantity(Step {
                    name,
                    formula,
                    source: "ISO 5167-2:2003, 5.3.2",
                    value,
                    unit: "1",
                    standard_uncertainty: None,
                });
            }
            let own = flow.relative_standard_uncertainty * flow.flow_m3_s;
            chain.step(
                name,
                "q_m/rho = C/(1 - b^4)^0.5 e pi/4 d^2 (2 dp/rho)^0.5",
                "ISO 5167-1:2003, 5; ISO 5167-2:2003, 5.3",
                flow.flow_m3_s,
                Some(libm::hypot(own, known.unwrap_or(0.0))),
            );
            Ok(Some(air.density_kg_m3()))
        }
        Indicated::Plate { diameter_m, coefficient, drop_pa, upstream_pa } => {
            let air = meter_air(reading, Some(upstream_pa))?;
            let density = air.density_kg_m3();
            let flow = plate::flow(diameter_m, drop_pa, upstream_pa, density, coefficient)?;
            chain.cautions.push(flow.caution);
            let own = flow.relative_standard_uncertainty * flow.flow_m3_s;
            chain.step(
                name,
                "Q = Cd e pi/4 d^2 (2 dp/rho)^0.5",
                "Bernoulli; Cd assumed, e of ISO 5167-2:2003, 5.3.2.2 at b = 0",
                flow.flow_m3_s,
                Some(libm::hypot(own, known.unwrap_or(0.0))),
            );
            Ok(Some(density))
        }
    }
}

/// Step 3: fixture leakage at the actual pressure.
fn subtract_leakage(leak: &FixtureLeakage, actual_pa: f64, chain: &mut Chain) -> Result<(), FlowError> {
    let carried = leakage::carry(leak.flow_m3_s, leak.at_pa, actual_pa, None)?;
    let share = leak
        .standard_uncertainty_m3_s
        .map_or(carried.standard_uncertainty_m3_s, |u| libm::hypot(carried.standard_uncertainty_m3_s, u));
    chain.quantity(Step {
        name: "fixture leakage at the actual pressure",
        formula: "L = L_read (P/P_read)^0.75",
        source: "power law, exponent 0.75, between 0.5 (slots) and 1 (seepage); common practice",
        value: carried.flow_m3_s,
        unit: FLOW_UNIT,
        standard_uncertainty: Some(share),
    });
    if carried.flow_m3_s >= chain.flow {
        return Err(FlowError::LeakageExceedsFlow { leakage_m3_s: carried.flow_m3_s, flow_m3_s: chain.flow });
    }
    let less = chain.flow - carried.flow_m3_s;
    chain.step("less fixture leakage", "Q - L", "conservation of mass", less, Some(share));
    Ok(())
}

/// Step 4: to the set pressure, only from nearby.
fn to_set(reading: &Reading, actual_pa: f64, chain: &mut Chain) -> Result<(), FlowError> {
    let set_pa = reading.set_pressure_pa;
    let factor = scale::to_set_pressure(1.0, actual_pa, set_pa, scale::SQUARE_ROOT)?;
    let setting = reading.uncertainty.actual_pressure_pa.unwrap_or(0.0) / actual_pa;
    let relative = scale::relative_standard_uncertainty(0.0, setting, 0.0, 0.5, 0.5, set_pa / actual_pa)?;
    // Neither a pressure error nor a correction: nothing is known, not zero.
    let known = reading.uncertainty.actual_pressure_pa.is_some() || actual_pa != set_pa;
    chain.multiply(
        "flow at the set pressure",
        "Q (P_set/P)^0.5",
        "Bernoulli; exponent up to 1 in the uncertainty",
        factor,
        known.then_some(relative),
    );
    Ok(())
}

/// Step 5a: the volume of air as it was at the part.
fn as_tested(
    reading: &Reading,
    computed_density: Option<f64>,
    chain: &mut Chain,
) -> Result<Option<f64>, FlowError> {
    let name = "flow as tested";
    let computed = computed_density.is_some();
    if !computed && reading.meter == MeterKind::Unknown {
        chain.cautions.push(Caution::MeterUnknown);
        return Ok(None);
    }
    let Some(part) = reading.part_air else {
        chain.cautions.push(Caution::AirMissing);
        return Ok(None);
    };
    let density = part.density_kg_m3();
    chain.quantity(Step {
        name: "density at the part",
        formula: "rho(t, p, humidity)",
        source: "CIPM-2007",
        value: density,
        unit: "kg/m3",
        standard_uncertainty: reading.uncertainty.density_relative.map(|u| u * density),
    });
    let by_temperature = (reading.uncertainty.part_to_meter_k).map(|u| u / part.temperature_k());
    match (computed_density, reading.meter) {
        (None, MeterKind::SameAir) => {
            let scale = scale_density(reading, chain)?;
            let warmth = meter_warmth(reading, &part)?;
            chain.multiply(
                name,
                "Q (rho_scale/rho)^0.5 (T_part/T_meter)^0.5",
                "Bernoulli at meter and part",
                (scale / density * warmth).sqrt(),
                by_temperature.map(|u| 0.5 * u),
            );
            chain.by_density(-0.5);
        }
        (None, MeterKind::Mass) => {
            let scale = scale_density(reading, chain)?;
            chain.multiply(name, "Q rho_scale/rho", "conservation of mass", scale / density, None);
            chain.by_density(-1.0);
        }
        (metered, _) => {
            let metered = match metered {
                Some(metered) => metered,
                None => meter_air(reading, reading.meter_pressure_pa)?.density_kg_m3(),
            };
            chain.multiply(
                name,
                "Q rho_meter/rho",
                "conservation of mass",
                metered / density,
                by_temperature,
            );
        }
    }
    Ok(Some(chain.flow))
}

/// Step 5b: the flow in reference air.
fn at_reference(
    reading: &Reading,
    at_set_m3_s: f64,
    as_tested_m3_s: Option<f64>,
    chain: &mut Chain,
) -> Result<Option<f64>, FlowError> {
    let name = "flow at reference air";
    if let (Some(tested), Some(part)) = (as_tested_m3_s, reading.part_air) {
        let density = part.density_kg_m3();
        let flow = flow_at_density_m3_s(tested, density, reading.reference_density_kg_m3)?;
        chain.multiply(
            name,
            "Q (rho/rho_reference)^0.5",
            "Bernoulli; equal pressure drop",
            flow / tested,
            None,
        );
        chain.by_density(0.5);
        return Ok(Some(flow));
    }
    let read_on_scale =
        matches!(reading.indicated, Indicated::Direct { .. } | Indicated::PercentOfRange { .. });
    if read_on_scale && reading.meter == MeterKind::SameAir {
        // The day's density cancels between meter and part, so no air is needed.
        let scale = scale_density(reading, chain)?;
        let flow = flow_at_density_m3_s(at_set_m3_s, scale, reading.reference_density_kg_m3)?;
        chain.multiply(
            name,
            "Q (rho_scale/rho_reference)^0.5",
            "Bernoulli at meter and part in the same air",
            flow / at_set_m3_s,
            None,
        );
        return Ok(Some(flow));
    }
    Ok(None)
}

fn scale_density(reading: &Reading, chain: &mut Chain) -> Result<f64, FlowError> {
    match reading.scale_density_kg_m3 {
        Some(density) => positive("density of the flow scale", density),
        None => {
            let density_kg_m3 = reading.reference_density_kg_m3;
            chain.cautions.push(Caution::ScaleDensityAssumed { density_kg_m3 });
            Ok(density_kg_m3)
        }
    }
}

/// `T_part/T_meter`.
fn meter_warmth(reading: &Reading, part: &Air) -> Result<f64, FlowError> {
    let Some(meter_k) = reading.meter_temperature_k else {
        return Ok(1.0);
    };
    positive("temperature at the meter", meter_k)?;
    Ok(part.temperature_k() / meter_k)
}

/// The part's air, moved to the meter.
fn meter_air(reading: &Reading, pressure_pa: Option<f64>) -> Result<Air, FlowError> {
    let part = reading.part_air.ok_or(FlowError::Missing { quantity: "air at the part" })?;
    part.moved_to(
        reading.meter_temperature_k.unwrap_or(part.temperature_k()),
        pressure_pa.unwrap_or(part.pressure_pa()),
    )
}
