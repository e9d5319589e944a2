//! Geometry of parts.

use super::Calculator;
use super::ask::{Answer, Kind, Need, Parameter};
use airshelf_flow::geometry::{media_area_m2, zigzag_media_area_m2};
use airshelf_units::Dimension;

const LENGTH: Parameter = Parameter {
    name: "depth",
    about: "radial depth of a pleat",
    kind: Kind::Quantity(Dimension::Length),
    need: Need::Required,
};

pub(super) const MEDIA: Calculator = Calculator {
    name: "media",
    about: "media area of a pleated element",
    parameters: &[
        Parameter { name: "pleats", about: "number of pleats", kind: Kind::Whole, need: Need::Required },
        LENGTH,
        Parameter { name: "free-height", about: "height of the pleats between the end seals", ..LENGTH },
        Parameter {
            name: "outside-diameter",
            about: "outside diameter of a round element, for the exact zigzag",
            need: Need::Optional,
            ..LENGTH
        },
        Parameter {
            name: "inside-diameter",
            about: "inside diameter of a round element",
            need: Need::Optional,
            ..LENGTH
        },
    ],
    formula: "2 N depth H; with both diameters also the zigzag 2 N H sqrt(Ro^2 + Ri^2 - 2 Ro Ri cos(pi/N))",
    source: "geometry",
    range: "straight pleats; 2 N depth H is 0.5 % low at 200 pleats of a round element; area says nothing of filtration",
    example: "airshelf calc media --pleats 210 --depth 0.95in --free-height 1.85in",
    compute: |asked| {
        let pleats = asked.si("pleats") as u32;
        let area = media_area_m2(pleats, asked.si("depth"), asked.si("free-height"))?;
        let answer = Answer::default().quantity("media_area_m2", "media area", Dimension::Area, area);
        match (asked.given("outside-diameter"), asked.given("inside-diameter")) {
            (Some(outer), Some(inner)) => {
                let exact = zigzag_media_area_m2(pleats, outer, inner, asked.si("free-height"))?;
                Ok(answer.quantity("zigzag_area_m2", "exact, as a zigzag", Dimension::Area, exact))
            }
            _ => Ok(answer),
        }
    },
};
