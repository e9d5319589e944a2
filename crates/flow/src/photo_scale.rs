//! Sizes from a photo: a flat reference in the picture gives the scale.
//!
//! The reference must lie in the plane that is measured; [`parallax_scale`]
//! says what it costs when it does not.

use nalgebra::{DMatrix, DVector, Matrix3, SMatrix, SVector, Vector3};

use crate::error::{positive, within};
use crate::{Caution, FlowError};

/// Least area of a triangle of reference points, as a share of the square of
/// their extent, for the three not to count as being on one line.
const FLAT_TRIANGLE: f64 = 1e-3;

/// A plane in a photo: how pixels and places on the plane belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoPlane {
    to_pixel: Matrix3<f64>,
    to_plane: Matrix3<f64>,
    /// Root mean square over the reference points of the distance between click
    /// and fit, px.
    pub rms_px: f64,
    /// Greatest such distance, px.
    pub greatest_px: f64,
    /// Told with exactly four points, which fit whatever the clicks are.
    pub caution: Option<Caution>,
}

impl PhotoPlane {
    /// Fits the plane to reference points by least reprojection error.
    ///
    /// Normalized direct linear transform as start, then Levenberg–Marquardt on
    /// `Σ |click − projected|²` in pixels. `plane_m` places on the reference
    /// (m), `pixel` the clicks on them (px).
    ///
    /// Needs four points or more, of which four have no three on a line, in both
    /// planes; four fit exactly and check nothing, so five or more are better.
    /// Errors otherwise. Source: Hartley & Zisserman, Multiple View Geometry, 2nd
    /// ed., algorithms 4.2 and 4.3, from memory. Lens distortion is not modeled.
    ///
    /// ```
    /// use airshelf_flow::photo_scale::PhotoPlane;
    /// let paper = [[0.0, 0.0], [0.2, 0.0], [0.2, 0.15], [0.0, 0.15]];
    /// let clicks = [[310.0, 220.0], [1620.0, 93.0], [1551.0, 885.0], [392.0, 1053.0]];
    /// let plane = PhotoPlane::fit(&paper, &clicks)?;
    /// let bore_m = plane.distance_m([536.0, 441.0], [1340.0, 761.0])?;
    /// assert!((bore_m - 0.151_592).abs() < 1e-6);
    /// # Ok::<(), airshelf_flow::FlowError>(())
    /// ```
    pub fn fit(plane_m: &[[f64; 2]], pixel: &[[f64; 2]]) -> Result<Self, FlowError> {
        let (scaled, normal) = Normalized::of(plane_m, pixel)?;
        let start = linear(&scaled)?;
        Self::from_normalized(&refine(start, &scaled), &normal, plane_m, pixel)
    }

    /// Fits the plane by the normalized direct linear transform alone (least
    /// algebraic error). Arguments, validity, errors and source as
    /// [`PhotoPlane::fit`], which is the better estimate.
    pub fn fit_linear(plane_m: &[[f64; 2]], pixel: &[[f64; 2]]) -> Result<Self, FlowError> {
        let (scaled, normal) = Normalized::of(plane_m, pixel)?;
        Self::from_normalized(&linear(&scaled)?, &normal, plane_m, pixel)
    }

    fn from_normalized(
        fitted: &Matrix3<f64>,
        normal: &Normalized,
        plane_m: &[[f64; 2]],
        pixel: &[[f64; 2]],
    ) -> Result<Self, FlowError> {
        let not_determined = FlowError::Degenerate { what: "the reference points do not fix the plane" };
        let pixel_back = normal.pixel.try_inverse().ok_or(not_determined.clone())?;
        let to_pixel = pixel_back * fitted * normal.plane;
        let to_plane = to_pixel.try_inverse().ok_or(not_determined)?;
        let mut squares = 0.0;
        let mut greatest = 0.0_f64;
        for (place, click) in plane_m.iter().zip(pixel) {
            let shown = project(&to_pixel, *place)?;
            let distance = libm::hypot(shown[0] - click[0], shown[1] - click[1]);
            squares += distance * distance;
            greatest = greatest.max(distance);
        }
        Ok(Self {
            to_pixel,
            to_plane,
            rms_px: (squares / plane_m.len() as f64).sqrt(),
            greatest_px: greatest,
            caution: (plane_m.len() == 4).then_some(Caution::FourPointsUnchecked),
        })
    }

    /// Gives the place on the plane under a pixel, m. Errors on the horizon.
    pub fn place_m(&self, pixel: [f64; 2]) -> Result<[f64; 2], FlowError> {
        project(&self.to_plane, pixel)
    }

    /// Gives the pixel that shows a place on the plane, px. Errors on the horizon.
    pub fn pixel(&self, place_m: [f64; 2]) -> Result<[f64; 2], FlowError> {
        project(&self.to_pixel, place_m)
    }

    /// Gives the distance on the plane between two pixels, m. Errors on the
    /// horizon.
    pub fn distance_m(&self, one: [f64; 2], other: [f64; 2]) -> Result<f64, FlowError> {
        let (one, other) = (self.place_m(one)?, self.place_m(other)?);
        Ok(libm::hypot(one[0] - other[0], one[1] - other[1]))
    }
}

fn project(map: &Matrix3<f64>, point: [f64; 2]) -> Result<[f64; 2], FlowError> {
    let image = map * Vector3::new(point[0], point[1], 1.0);
    let scale = map.row(2).iter().map(|x| x.abs()).fold(0.0, f64::max);
    if image[2].is_nan() || image[2].abs() <= 1e-12 * scale {
        return Err(FlowError::NoSolution { what: "the point lies on the horizon of the plane" });
    }
    Ok([image[0] / image[2], image[1] / image[2]])
}

/// Both point sets moved to their centroid and scaled to a mean distance of √2.
struct Normalized {
    plane: Matrix3<f64>,
    pixel: Matrix3<f64>,
}

type Pairs = Vec<([f64; 2], [f64; 2])>;

impl Normalized {
    fn of(plane_m: &[[f64; 2]], pixel: &[[f64; 2]]) -> Result<(Pairs, Self), FlowError> {
        if plane_m.len() != pixel.len() {
            return Err(FlowError::UnequalLists { left: plane_m.len(), right: pixel.len() });
        }
        if plane_m.len() < 4 {
            return Err(FlowError::TooFewPoints { have: plane_m.len(), need: 4 });
        }
        for value in plane_m.iter().chain(pixel).flatten() {
            within("coordinate", *value, f64::MIN, f64::MAX)?;
        }
        if !spread_in_both(plane_m, pixel) {
            return Err(FlowError::Degenerate { what: "three of four reference points lie on a line" });
        }
        let normal = Self { plane: normalizing(plane_m), pixel: normalizing(pixel) };
        let scaled = plane_m
            .iter()
            .zip(pixel)
            .map(|(place, click)| (shift(&normal.plane, *place), shift(&normal.pixel, *click)))
            .collect();
        Ok((scaled, normal))
    }
}

fn shift(normal: &Matrix3<f64>, point: [f64; 2]) -> [f64; 2] {
    let moved = normal * Vector3::new(point[0], point[1], 1.0);
    [moved[0], moved[1]]
}

fn normalizing(points: &[[f64; 2]]) -> Matrix3<f64> {
    let count = points.len() as f64;
    let x = points.iter().map(|p| p[0]).sum::<f64>() / count;
    let y = points.iter().map(|p| p[1]).sum::<f64>() / count;
    let mean = points.iter().map(|p| libm::hypot(p[0] - x, p[1] - y)).sum::<f64>() / count;
    let scale = std::f64::consts::SQRT_2 / mean;
    Matrix3::new(
        scale,
        0.0,
        -scale * x, //
        0.0,
        scale,
        -scale * y, //
        0.0,
        0.0,
        1.0,
    )
}

/// Tells whether some four points have no three on a line, in both planes.
fn spread_in_both(plane: &[[f64; 2]], pixel: &[[f64; 2]]) -> bool {
    let (flat_plane, flat_pixel) = (flat_test(plane), flat_test(pixel));
    let flat = |i, j, k| flat_plane(i, j, k) || flat_pixel(i, j, k);
    let count = plane.len();
    for a in 0..count {
        for b in a + 1..count {
            for c in b + 1..count {
                if flat(a, b, c) {
                    continue;
                }
                for d in c + 1..count {
                    if !flat(a, b, d) && !flat(a, c, d) && !flat(b, c, d) {
                        return true;
                    }
                }
            }
        }
    }
    false
}

fn flat_test(points: &[[f64; 2]]) -> impl Fn(usize, usize, usize) -> bool {
    let mut extent = 0.0_f64;
    for p in points {
        for q in points {
            extent = extent.max(libm::hypot(p[0] - q[0], p[1] - q[1]));
        }
    }
    move |i, j, k| {
        let (p, q, r) = (points[i], points[j], points[k]);
        let twice = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
        // A NaN or an extent of zero is never greater, and so counts as flat.
        (0.5 * twice.abs()).partial_cmp(&(FLAT_TRIANGLE * extent * extent))
            != Some(std::cmp::Ordering::Greater)
    }
}

/// The direct linear transform on normalized points.
fn linear(pairs: &[([f64; 2], [f64; 2])]) -> Result<Matrix3<f64>, FlowError> {
    // At least nine rows, so that the decomposition holds the null vector of
    // four points.
    let mut rows = DMatrix::<f64>::zeros((2 * pairs.len()).max(9), 9);
    for (index, ([x, y], [u, v])) in pairs.iter().enumerate() {
        let first = [-x, -y, -1.0, 0.0, 0.0, 0.0, u * x, u * y, *u];
        let second = [0.0, 0.0, 0.0, -x, -y, -1.0, v * x, v * y, *v];
        for column in 0..9 {
            rows[(2 * index, column)] = first[column];
            rows[(2 * index + 1, column)] = second[column];
        }
    }
    let decomposed = rows.svd(false, true);
    let (least, _) = decomposed.singular_values.argmin();
    let v_t =
        decomposed.v_t.ok_or(FlowError::Degenerate { what: "the reference points do not fix the plane" })?;
    let h: DVector<f64> = v_t.row(least).transpose();
    Ok(Matrix3::from_row_slice(h.as_slice()))
}

/// Levenberg–Marquardt on the reprojection error, in normalized pixels.
fn refine(start: Matrix3<f64>, pairs: &[([f64; 2], [f64; 2])]) -> Matrix3<f64> {
    // The centroid of the reference is in the picture, so its weight h33 is not
    // zero and can be held at one.
    let mut h: SVector<f64, 8> = SVector::from_fn(|i, _| start[(i / 3, i % 3)] / start[(2, 2)]);
    let mut damping = 1e-3;
    let mut error = reprojection(&h, pairs);
    for _ in 0..200 {
        let mut normal = SMatrix::<f64, 8, 8>::zeros();
        let mut gradient = SVector::<f64, 8>::zeros();
        for ([x, y], [u, v]) in pairs {
            let w = h[6] * x + h[7] * y + 1.0;
            let (shown_u, shown_v) = ((h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w);
            let by_u = SVector::<f64, 8>::from([
                x / w,
                y / w,
                1.0 / w,
                0.0,
                0.0,
                0.0,
                -shown_u * x / w,
                -shown_u * y / w,
            ]);
            let by_v = SVector::<f64, 8>::from([
                0.0,
                0.0,
                0.0,
                x / w,
                y / w,
                1.0 / w,
                -shown_v * x / w,
                -shown_v * y / w,
            ]);
            normal += by_u * by_u.transpose() + by_v * by_v.transpose();
            gradient += by_u * (u - shown_u) + by_v * (v - shown_v);
        }
        let mut damped = normal;
        for i in 0..8 {
            damped[(i, i)] *= 1.0 + damping;
        }
        let Some(step) = damped.lu().solve(&gradient) else {
            break;
        };
        let next = h + step;
        let next_error = reprojection(&next, pairs);
        if next_error <= error {
            let small = step.norm() < 1e-14 * h.norm();
            (h, error) = (next, next_error);
            damping *= 0.1;
            if small {
                break;
            }
        } else {
            damping *= 10.0;
            if damping > 1e12 {
                break;
            }
        }
    }
    Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0)
}

fn reprojection(h: &SVector<f64, 8>, pairs: &[([f64; 2], [f64; 2])]) -> f64 {
    pairs
        .iter()
        .map(|([x, y], [u, v])| {
            let w = h[6] * x + h[7] * y + 1.0;
            let du = (h[0] * x + h[1] * y + h[2]) / w - u;
            let dv = (h[3] * x + h[4] * y + h[5]) / w - v;
            du * du + dv * dv
        })
        .sum()
}

/// Gives how much larger something above the reference plane looks: `Z/(Z − h)`.
///
/// `h` height above the plane toward the camera, `Z` distance of the camera from
/// the plane (m). Errors unless `h` is below `Z`. Source: pinhole camera.
///
/// ```
/// let factor = airshelf_flow::photo_scale::parallax_scale(0.025, 0.5)?;
/// assert!((factor - 1.052_632).abs() < 1e-6);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn parallax_scale(height_m: f64, camera_distance_m: f64) -> Result<f64, FlowError> {
    positive("distance of the camera", camera_distance_m)?;
    within("height above the reference in meters", height_m, -camera_distance_m, 0.99 * camera_distance_m)?;
    Ok(camera_distance_m / (camera_distance_m - height_m))
}

/// Gives the length that one scale shows for a flat length tilted away, m:
/// `L cos(tilt)`.
///
/// `L` m, tilt in radians, below a right angle. Errors outside. Source: parallel
/// projection.
pub fn foreshortened_m(length_m: f64, tilt_rad: f64) -> Result<f64, FlowError> {
    positive("length", length_m)?;
    within("tilt in radians", tilt_rad, -std::f64::consts::FRAC_PI_2, std::f64::consts::FRAC_PI_2)?;
    Ok(length_m * libm::cos(tilt_rad))
}

/// A circle on a plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    /// Center, in the unit of the points.
    pub center: [f64; 2],
    /// Radius, in the unit of the points.
    pub radius: f64,
}

/// Gives the circle through three points, such as three clicks on a bore's edge
/// after [`PhotoPlane::place_m`].
///
/// Errors when the three are on a line (triangle below 0.001 of the extent
/// squared). Source: geometry (circumcircle).
///
/// ```
/// use airshelf_flow::photo_scale::circle_through;
/// let bore = circle_through([3.0, 4.0], [11.0, 4.0], [7.0, 8.0])?;
/// assert_eq!((bore.center, bore.radius), ([7.0, 4.0], 4.0));
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn circle_through(first: [f64; 2], second: [f64; 2], third: [f64; 2]) -> Result<Circle, FlowError> {
    if flat_test(&[first, second, third])(0, 1, 2) {
        return Err(FlowError::Degenerate { what: "the three points lie on a line" });
    }
    let (bx, by) = (second[0] - first[0], second[1] - first[1]);
    let (cx, cy) = (third[0] - first[0], third[1] - first[1]);
    let twice = 2.0 * (bx * cy - by * cx);
    let (b2, c2) = (bx * bx + by * by, cx * cx + cy * cy);
    let (x, y) = ((cy * b2 - by * c2) / twice, (bx * c2 - cx * b2) / twice);
    Ok(Circle { center: [first[0] + x, first[1] + y], radius: libm::hypot(x, y) })
}
