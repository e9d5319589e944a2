//! Geometry of parts: areas of media and openings, and what fits on what.

mod fit;
mod media;
mod opening;

pub use fit::{
    Register, RegisterFit, StackTolerance, StudPath, hood_clearance_m, register_fit, stack_tolerance_m,
    stack_up_height_m, stud_length_m,
};
pub use media::{media_area_m2, zigzag_media_area_m2};
pub use opening::{
    Curtain, bore_ratio, circle_area_m2, cone_area_m2, curtain, face_area_m2, full_curtain_gap_m,
    oval_perimeter_m,
};
