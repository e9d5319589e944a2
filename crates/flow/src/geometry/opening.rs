//! Areas that air passes: faces, bores, the curtain under a lid.

use std::f64::consts::{FRAC_PI_4, PI};

use crate::FlowError;
use crate::error::{positive, within};

/// Gives the area of a circle, m²: `π D²/4`, `D` m. Errors when not above zero.
pub fn circle_area_m2(diameter_m: f64) -> Result<f64, FlowError> {
    positive("diameter", diameter_m)?;
    Ok(FRAC_PI_4 * diameter_m * diameter_m)
}

/// Gives the open face of a round element, m²: `π D H`.
///
/// `D` outer (or inner) diameter, `H` exposed height (m). The end seals are not
/// part of `H`. Errors when a size is not above zero. Source: geometry.
pub fn face_area_m2(diameter_m: f64, exposed_height_m: f64) -> Result<f64, FlowError> {
    positive("diameter", diameter_m)?;
    positive("exposed height", exposed_height_m)?;
    Ok(PI * diameter_m * exposed_height_m)
}

/// Gives the perimeter of an oval (two half circles and two straights), m:
/// `2 (L − W) + π W`.
///
/// `L` length, `W` width over all (m), `L ≥ W`; times exposed height it is the
/// open face. Errors when a size is not above zero or `L < W`. Source: geometry.
pub fn oval_perimeter_m(length_m: f64, width_m: f64) -> Result<f64, FlowError> {
    positive("oval length", length_m)?;
    positive("oval width", width_m)?;
    within("oval width in meters", width_m, 0.0, length_m)?;
    Ok(2.0 * (length_m - width_m) + PI * width_m)
}

/// Gives the side area of a truncated cone (tapered element or base), m²:
/// `π (R + r) [(R − r)² + h²]^½`.
///
/// `R`, `r` end radii, `h` height (m). Errors when one is not above zero.
/// Source: geometry.
pub fn cone_area_m2(large_radius_m: f64, small_radius_m: f64, height_m: f64) -> Result<f64, FlowError> {
    positive("large radius", large_radius_m)?;
    positive("small radius", small_radius_m)?;
    positive("cone height", height_m)?;
    Ok(PI * (large_radius_m + small_radius_m) * libm::hypot(large_radius_m - small_radius_m, height_m))
}

/// The curtain of air between a rim and the lid above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curtain {
    /// Curtain area `π D gap`, m².
    pub curtain_area_m2: f64,
    /// Area of the bore under the lid `π D²/4`, m².
    pub bore_area_m2: f64,
    /// Curtain over bore; below 1 the lid is the tighter place.
    pub ratio: f64,
}

/// Gives the curtain area under a lid beside the bore's.
///
/// `π D g`, `π D²/4`, ratio `4 g/D`; `D` rim diameter of the air horn (m), `g`
/// gap from rim to lid (m), zero allowed. Sharp rim, no contraction. Errors when
/// the diameter is not above zero or the gap is negative. Source: geometry.
///
/// ```
/// let under = airshelf_flow::geometry::curtain(5.125, 1.0)?;
/// assert!((under.ratio - 0.7805).abs() < 1e-4);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn curtain(rim_diameter_m: f64, gap_m: f64) -> Result<Curtain, FlowError> {
    within("gap under the lid in meters", gap_m, 0.0, f64::MAX)?;
    let bore_area_m2 = circle_area_m2(rim_diameter_m)?;
    Ok(Curtain {
        curtain_area_m2: PI * rim_diameter_m * gap_m,
        bore_area_m2,
        ratio: 4.0 * gap_m / rim_diameter_m,
    })
}

/// Gives the gap at which the curtain equals the bore, m: `D/4`. Errors when the
/// diameter is not above zero. Source: geometry.
pub fn full_curtain_gap_m(rim_diameter_m: f64) -> Result<f64, FlowError> {
    Ok(0.25 * positive("rim diameter", rim_diameter_m)?)
}

/// Gives the area ratio of a velocity stack's outlet to the bore it feeds:
/// `(D_stack/D_bore)²`.
///
/// Diameters in m; below 1 the stack chokes the bore, above 1 a step is left.
/// Errors when one is not above zero. Source: geometry.
pub fn bore_ratio(stack_diameter_m: f64, bore_diameter_m: f64) -> Result<f64, FlowError> {
    positive("stack bore", stack_diameter_m)?;
    positive("carburetor bore", bore_diameter_m)?;
    Ok((stack_diameter_m / bore_diameter_m).powi(2))
}
