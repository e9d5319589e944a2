//! Media area of pleated elements.

use crate::FlowError;
use crate::error::{positive, within};

/// Gives the media area of a pleated element, m²: `A = 2 N d H`.
///
/// `N` pleats, `d` pleat depth (m), `H` free (exposed) height of the media (m).
/// Neglects the slant of the folds: 0.5 % low at 200 pleats of 1 in on a 14 in
/// element, far low for shallow pleats. Errors on zero pleats or a size not
/// above zero. Source: geometry; see [`zigzag_media_area_m2`].
///
/// ```
/// use airshelf_flow::geometry::media_area_m2;
/// let one = media_area_m2(200, 0.0254, 0.07)?;
/// let deeper = media_area_m2(200, 1.125 * 0.0254, 0.07)?;
/// assert!((deeper / one - 1.125).abs() < 1e-12);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn media_area_m2(pleats: u32, depth_m: f64, free_height_m: f64) -> Result<f64, FlowError> {
    check_pleats(pleats)?;
    positive("pleat depth", depth_m)?;
    positive("free height of the media", free_height_m)?;
    Ok(2.0 * f64::from(pleats) * depth_m * free_height_m)
}

/// Gives the media area of a round pleated element from its circles, m².
///
/// `A = 2 N H [R_o² + R_i² − 2 R_o R_i cos(π/N)]^½`, `R_o` and `R_i` radii of
/// the outer and inner folds (m), `H` free height (m), `N` pleats: straight
/// flanks from circle to circle. Equal diameters give the polygon of a cylinder.
/// Errors on fewer than three pleats, a size not above zero, or an inner circle
/// larger than the outer. Source: geometry (law of cosines).
///
/// ```
/// let a = airshelf_flow::geometry::zigzag_media_area_m2(200, 14.0, 12.0, 2.75)?;
/// assert!((a - 1105.685).abs() < 1e-3); // inches in, square inches out
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn zigzag_media_area_m2(
    pleats: u32,
    outer_diameter_m: f64,
    inner_diameter_m: f64,
    free_height_m: f64,
) -> Result<f64, FlowError> {
    check_pleats(pleats)?;
    positive("outer diameter", outer_diameter_m)?;
    positive("inner diameter", inner_diameter_m)?;
    within("inner diameter in meters", inner_diameter_m, 0.0, outer_diameter_m)?;
    positive("free height of the media", free_height_m)?;
    let (outer, inner) = (0.5 * outer_diameter_m, 0.5 * inner_diameter_m);
    // (Ro − Ri)² + 4 Ro Ri sin²(π/2N) keeps its digits for shallow pleats.
    let half_angle = std::f64::consts::PI / (2.0 * f64::from(pleats));
    let flank = libm::hypot(outer - inner, 2.0 * (outer * inner).sqrt() * libm::sin(half_angle));
    Ok(2.0 * f64::from(pleats) * free_height_m * flank)
}

fn check_pleats(pleats: u32) -> Result<(), FlowError> {
    within("number of pleats", f64::from(pleats), 3.0, 10_000.0).map(|_| ())
}
