//! Will it fit: stack-up, stud, hood, register.

use crate::FlowError;
use crate::error::{positive, within};

/// Gives the stack-up height of an assembly, m: `Σ hᵢ − Σ sᵢ`.
///
/// Pairs of (own height, depth by which the layer sinks into the one below; 0
/// where it sits flat, negative sizes for a base that drops below its seat), m.
/// Errors on an empty list or a value that is not finite. Source: geometry.
///
/// ```
/// use airshelf_flow::geometry::stack_up_height_m;
/// let height = stack_up_height_m(&[(0.020, 0.0), (0.076, 0.004), (0.002, 0.0)])?;
/// assert!((height - 0.094).abs() < 1e-12);
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn stack_up_height_m(layers: &[(f64, f64)]) -> Result<f64, FlowError> {
    if layers.is_empty() {
        return Err(FlowError::TooFewPoints { have: 0, need: 1 });
    }
    layers.iter().try_fold(0.0, |sum, &(height_m, sink_m)| {
        within("layer height in meters", height_m, -1.0, 1.0)?;
        within("depth of seating in meters", sink_m, -1.0, 1.0)?;
        Ok(sum + height_m - sink_m)
    })
}

/// What a stud passes on its way, m each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StudPath {
    /// Thread in the carburetor.
    pub engagement_m: f64,
    /// Air-cleaner seat to the underside of the lid.
    pub seat_to_lid_m: f64,
    /// Thickness of the lid, washer and seal.
    pub lid_m: f64,
    /// Height of the nut.
    pub nut_m: f64,
    /// Thread left over the nut.
    pub spare_m: f64,
}

/// Gives the length of stud that an assembly needs, m: the sum of the path.
///
/// Errors when a length is negative or not finite. A stud with too little
/// thread in the carburetor can strip or let the assembly loose over a running
/// engine; an engagement of at least the thread's diameter is the usual rule
/// (common practice, no source). Source: geometry.
///
/// ```
/// use airshelf_flow::geometry::{stud_length_m, StudPath};
/// let path = StudPath {
///     engagement_m: 0.5, seat_to_lid_m: 2.375, lid_m: 0.0625, nut_m: 0.4375, spare_m: 0.125,
/// };
/// assert_eq!(stud_length_m(&path)?, 3.5); // inches in, inches out
/// # Ok::<(), airshelf_flow::FlowError>(())
/// ```
pub fn stud_length_m(path: &StudPath) -> Result<f64, FlowError> {
    [
        ("thread engagement", path.engagement_m),
        ("seat to lid", path.seat_to_lid_m),
        ("lid thickness", path.lid_m),
        ("nut height", path.nut_m),
        ("spare thread", path.spare_m),
    ]
    .into_iter()
    .try_fold(0.0, |sum, (what, length)| Ok(sum + within(what, length, 0.0, 10.0)?))
}

/// Gives the clearance under the hood, m: available less stack; negative means
/// it hits.
///
/// Both from the air-cleaner seat (m). Engines rock on their mounts: leave room
/// beside this figure, or the lid marks the hood or a linkage binds. Errors when
/// a value is not finite. Source: geometry.
pub fn hood_clearance_m(available_m: f64, stack_m: f64) -> Result<f64, FlowError> {
    within("room under the hood", available_m, -10.0, 10.0)?;
    within("stack-up height", stack_m, -10.0, 10.0)?;
    Ok(available_m - stack_m)
}

/// Tolerance of a stack, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StackTolerance {
    /// Every part at its limit at once: `Σ tᵢ`.
    pub worst_case_m: f64,
    /// Independent parts: `(Σ tᵢ²)^½`.
    pub root_sum_square_m: f64,
}

/// Gives the tolerance of a stack from those of its layers.
///
/// `Σ tᵢ` and `(Σ tᵢ²)^½`, `tᵢ` half-widths (m). The second assumes independent,
/// centered layers. Errors when one is negative. Source: tolerance stacking,
/// JCGM 100:2008 (GUM), 5.1.2 for the root sum of squares.
pub fn stack_tolerance_m(tolerances_m: &[f64]) -> Result<StackTolerance, FlowError> {
    let (mut sum, mut squares) = (0.0, 0.0);
    for &tolerance in tolerances_m {
        within("tolerance in meters", tolerance, 0.0, 1.0)?;
        sum += tolerance;
        squares += tolerance * tolerance;
    }
    Ok(StackTolerance { worst_case_m: sum, root_sum_square_m: squares.sqrt() })
}

/// A hole (neck of a base) and the register (rim) it sits on, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Register {
    /// Diameter of the hole.
    pub hole_m: f64,
    /// Half-width of what is known about it.
    pub hole_tolerance_m: f64,
    /// Diameter of the register.
    pub rim_m: f64,
    /// Half-width of what is known about it.
    pub rim_tolerance_m: f64,
}

/// How a hole sits on its register.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RegisterFit {
    /// It goes on at every size within tolerance.
    Clears {
        /// Least clearance on the diameter, m.
        least_m: f64,
        /// Greatest clearance on the diameter, m.
        greatest_m: f64,
    },
    /// It depends on the sizes: measure closer.
    Unsure {
        /// Greatest interference on the diameter, m.
        interference_m: f64,
        /// Greatest clearance on the diameter, m.
        clearance_m: f64,
    },
    /// It does not go on at any size within tolerance.
    Interferes {
        /// Least interference on the diameter, m.
        least_m: f64,
    },
}

/// Says how a hole sits on its register.
///
/// Clearance `D_hole − D_rim ± (t_hole + t_rim)`, diameters and half-widths in
/// m, worst case. Errors when a diameter is not above zero or a tolerance is
/// negative. Source: geometry; fits as in ISO 286-1 (clearance, transition,
/// interference), from memory.
pub fn register_fit(register: &Register) -> Result<RegisterFit, FlowError> {
    positive("hole diameter", register.hole_m)?;
    positive("rim diameter", register.rim_m)?;
    within("hole tolerance", register.hole_tolerance_m, 0.0, 1.0)?;
    within("rim tolerance", register.rim_tolerance_m, 0.0, 1.0)?;
    let middle = register.hole_m - register.rim_m;
    let spread = register.hole_tolerance_m + register.rim_tolerance_m;
    let (least, greatest) = (middle - spread, middle + spread);
    Ok(if least >= 0.0 {
        RegisterFit::Clears { least_m: least, greatest_m: greatest }
    } else if greatest < 0.0 {
        RegisterFit::Interferes { least_m: -greatest }
    } else {
        RegisterFit::Unsure { interference_m: -least, clearance_m: greatest }
    })
}
