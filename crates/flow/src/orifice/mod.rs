//! Orifice plates in a pipe, ISO 5167-2:2003.
//!
//! The pipe must run straight before and after the plate (ISO 5167-2, clause
//! 6); that cannot be seen from numbers and is the builder's to see to. A plate
//! in a wall has no upstream pipe: see [`crate::plate`].

mod coefficient;
mod limits;

pub use coefficient::{
    coefficient_expanded_percent, discharge_coefficient, expansibility, expansibility_expanded_percent,
    permanent_loss_pa, reader_harris_gallagher,
};
pub use limits::{check_flow, check_shape, lowest_pressure_ratio, lowest_reynolds};

use crate::FlowError;
use crate::error::positive;

/// Where the pressure is tapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Taps {
    /// In the corners between plate and pipe.
    Corner,
    /// 25.4 mm from each face of the plate.
    Flange,
    /// One pipe diameter upstream, half a diameter downstream.
    Radius,
}

/// An orifice plate in its pipe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orifice {
    /// Bore of the plate `d`, m.
    pub bore_m: f64,
    /// Inner diameter of the pipe `D`, m.
    pub pipe_m: f64,
    /// Where the pressure is tapped.
    pub taps: Taps,
}

impl Orifice {
    /// Diameter ratio `β = d/D`.
    #[must_use]
    pub fn beta(&self) -> f64 {
        self.bore_m / self.pipe_m
    }
}

/// Air on its way into an orifice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Upstream {
    /// Absolute pressure `p₁`, Pa.
    pub pressure_pa: f64,
    /// Density `ρ₁`, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity `µ`, Pa s.
    pub viscosity_pa_s: f64,
    /// Isentropic exponent `κ`.
    pub isentropic_exponent: f64,
}

impl From<&crate::air::Air> for Upstream {
    fn from(air: &crate::air::Air) -> Self {
        Self {
            pressure_pa: air.pressure_pa(),
            density_kg_m3: air.density_kg_m3(),
            viscosity_pa_s: air.viscosity_pa_s(),
            isentropic_exponent: crate::air::ISENTROPIC_EXPONENT,
        }
    }
}

/// Flow through an orifice plate, with what it was computed from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrificeFlow {
    /// Mass flow, kg/s.
    pub flow_kg_s: f64,
    /// Volume flow at upstream density, m³/s.
    pub flow_m3_s: f64,
    /// Discharge coefficient `C`.
    pub discharge_coefficient: f64,
    /// Expansibility factor `ε`.
    pub expansibility: f64,
    /// Reynolds number in the pipe.
    pub reynolds: f64,
    /// Pressure lost for good, Pa.
    pub permanent_loss_pa: f64,
    /// Relative standard uncertainty from `C` and `ε` alone.
    pub relative_standard_uncertainty: f64,
}

/// Gives the flow through an orifice plate from its pressure drop.
///
/// `q_m = C/(1−β⁴)^½ · ε · π/4 d² (2 Δp ρ₁)^½`, `C` iterated with
/// `Re_D = 4 q_m/(π µ D)`; `d`, `D` m, `Δp` Pa, `ρ₁` kg/m³, `µ` Pa s. The
/// relative standard uncertainty is half the expanded ones of `C` and `ε`
/// combined (see [`relative_standard_uncertainty`] for the others).
///
/// Valid inside the limits of use; errors name the limit passed, its value and
/// its clause. Source: ISO 5167-2:2003, 5.3 (clause numbers from memory) and
/// ISO 5167-1:2003, 5.
///
/// ```
/// use airshelf_flow::orifice::{flow, Orifice, Taps, Upstream};
/// let orifice = Orifice { bore_m: 0.05, pipe_m: 0.1, taps: Taps::Corner };
/// let air = Upstream {
///     pressure_pa: 101_325.0,
///     density_kg_m3: 1.199_313_895,
///     viscosity_pa_s: 1.813_405_88e-5,
///     isentropic_exponent: 1.4,
/// };
/// assert!((flow(&orifice, 1000.0, &air)?.flow_kg_s - 0.060_369_3).abs() < 1e-6);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn flow(orifice: &Orifice, drop_pa: f64, upstream: &Upstream) -> Result<OrificeFlow, FlowError> {
    check_shape(orifice)?;
    positive("orifice pressure drop", drop_pa)?;
    positive("upstream density", upstream.density_kg_m3)?;
    positive("viscosity", upstream.viscosity_pa_s)?;
    let beta = orifice.beta();
    let epsilon = expansibility(beta, drop_pa, upstream.pressure_pa, upstream.isentropic_exponent)?;
    let per_coefficient = epsilon / (1.0 - beta.powi(4)).sqrt()
        * std::f64::consts::FRAC_PI_4
        * orifice.bore_m.powi(2)
        * (2.0 * drop_pa * upstream.density_kg_m3).sqrt();
    let reynolds_of = |c: f64| {
        4.0 * c * per_coefficient / (std::f64::consts::PI * upstream.viscosity_pa_s * orifice.pipe_m)
    };
    // C changes by far less than Re does, so the plain iteration contracts at
    // every Re inside the limits; a Re outside is refused below.
    let mut coefficient = 0.6;
    for _ in 0..100 {
        let next =
            reader_harris_gallagher(beta, orifice.pipe_m, reynolds_of(coefficient).max(1.0), orifice.taps);
        let done = (next - coefficient).abs() < 1e-14;
        coefficient = next;
        if done {
            break;
        }
    }
    let reynolds = reynolds_of(coefficient);
    check_flow(orifice, reynolds, 1.0 - drop_pa / upstream.pressure_pa)?;
    let flow_kg_s = coefficient * per_coefficient;
    let u_coefficient = coefficient_expanded_percent(beta, orifice.pipe_m, reynolds) / 200.0;
    let u_expansibility =
        expansibility_expanded_percent(drop_pa, upstream.pressure_pa, upstream.isentropic_exponent) / 200.0;
    Ok(OrificeFlow {
        flow_kg_s,
        flow_m3_s: flow_kg_s / upstream.density_kg_m3,
        discharge_coefficient: coefficient,
        expansibility: epsilon,
        reynolds,
        permanent_loss_pa: permanent_loss_pa(beta, coefficient, drop_pa),
        relative_standard_uncertainty: libm::hypot(u_coefficient, u_expansibility),
    })
}

/// Gives the relative standard uncertainty of an orifice's mass flow.
///
/// `u² = u²(C, ε) + [2β⁴/(1−β⁴)]² u²(D) + [2/(1−β⁴)]² u²(d) + ¼u²(Δp) +
/// ¼u²(ρ₁)`, all relative and standard. Valid for uncorrelated terms; errors
/// never. Source: ISO 5167-1:2003, 8.2.2.1, from memory.
#[must_use]
pub fn relative_standard_uncertainty(
    beta: f64,
    coefficient_and_expansibility: f64,
    pipe: f64,
    bore: f64,
    drop: f64,
    density: f64,
) -> f64 {
    let fourth = beta.powi(4);
    [
        coefficient_and_expansibility,
        2.0 * fourth / (1.0 - fourth) * pipe,
        2.0 / (1.0 - fourth) * bore,
        0.5 * drop,
        0.5 * density,
    ]
    .iter()
    .map(|share| share * share)
    .sum::<f64>()
    .sqrt()
}
