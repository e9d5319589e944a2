//! What lies in the shed and what it truly does: tags, dimensions and flow paths of every part.

use super::bench::{Path, leakage_m3_s, set_pressure_pa};
use PartDimension::*;
use airshelf_catalog::ids::{Derived, Layer, assembly, first_revision, named_part};
use airshelf_catalog::{PartDimension, PartKind, PartStatus, Service, Uuid};
use airshelf_units::Unit;

/// A part as the shelf lists it.
pub struct Thing {
    pub tag: &'static str,
    pub kind: PartKind,
    pub name: &'static str,
    pub maker: &'static str,
    pub price: Option<&'static str>,
    pub arrived: Option<&'static str>,
    pub status: PartStatus,
    pub place: &'static str,
    pub filtration: Option<&'static str>,
    pub service: Option<Service>,
    pub note: Option<&'static str>,
    /// As written, in inches or as a bare count.
    pub sizes: &'static [(PartDimension, &'static str)],
}

const PLAIN: Thing = Thing {
    tag: "",
    kind: PartKind::Other,
    name: "",
    maker: "",
    price: None,
    arrived: None,
    status: PartStatus::Owned,
    place: "",
    filtration: None,
    service: None,
    note: None,
    sizes: &[],
};

/// The item on the bench.
pub const CARBURETOR: &str = "C2-1";
/// The plate that is flowed every evening.
pub const CHECK_PLATE: &str = "CP-1";
/// The stud that holds every stack.
pub const STUD: &str = "ST-1";
/// The spacer that was given a clay radius.
pub const SPACER: &str = "SP-2";
/// The spacer's second revision.
pub const REVISION: &str = "B";
/// When the clay went on.
pub const REVISED: &str = "2025-04-19";

/// Everything with a tag.
pub const THINGS: &[Thing] = &[
    Thing {
        tag: CARBURETOR,
        kind: PartKind::Carburetor,
        name: "two-barrel carburetor",
        arrived: Some("2024-01-20"),
        place: "bench",
        sizes: &[(Register, "3.040")],
        ..PLAIN
    },
    Thing {
        tag: CHECK_PLATE,
        name: "check plate, 2 in hole",
        maker: "shop made",
        arrived: Some("2024-01-20"),
        place: "bench",
        ..PLAIN
    },
    Thing {
        tag: "PF-1",
        kind: PartKind::Filter,
        name: "paper 11 x 2.25",
        maker: "Marlstone Paper",
        price: Some("24.50"),
        arrived: Some("2024-02-10"),
        place: "top shelf",
        filtration: Some("unknown"),
        service: Some(Service::New),
        sizes: &[
            (OutsideDiameter, "11"),
            (InsideDiameter, "8.6"),
            (Height, "2-1/4"),
            (PleatCount, "210"),
            (PleatDepth, "0.95"),
            (PleatFreeHeight, "1.85"),
        ],
        ..PLAIN
    },
    Thing {
        tag: "PF-2",
        kind: PartKind::Filter,
        name: "paper 11 x 3",
        maker: "Marlstone Paper",
        price: Some("29.00"),
        arrived: Some("2024-02-10"),
        place: "top shelf",
        filtration: Some("unknown"),
        service: Some(Service::New),
        sizes: &[
            (OutsideDiameter, "11"),
            (InsideDiameter, "8.6"),
            (Height, "3"),
            (PleatCount, "210"),
            (PleatDepth, "0.95"),
            (PleatFreeHeight, "2.6"),
        ],
        ..PLAIN
    },
    Thing {
        tag: "FF-1",
        kind: PartKind::Filter,
        name: "foam 9.5 x 3.5",
        maker: "Hobbin Foam",
        price: Some("33.00"),
        arrived: Some("2024-03-02"),
        place: "top shelf, in a bag",
        filtration: Some("unknown"),
        service: Some(Service::Oiled),
        sizes: &[(OutsideDiameter, "9-1/2"), (InsideDiameter, "7-1/2"), (Height, "3-1/2")],
        ..PLAIN
    },
    Thing {
        tag: "LD-1",
        kind: PartKind::Lid,
        name: "solid lid",
        maker: "Dunmarrow Pressings",
        price: Some("18.00"),
        arrived: Some("2024-02-10"),
        place: "nail 1",
        sizes: &[(OutsideDiameter, "11-1/2"), (Height, "0.3")],
        ..PLAIN
    },
    Thing {
        tag: "LD-2",
        kind: PartKind::Lid,
        name: "vented lid",
        maker: "Dunmarrow Pressings",
        price: Some("26.00"),
        arrived: Some("2024-02-10"),
        place: "nail 2",
        sizes: &[(OutsideDiameter, "11-1/2"), (Height, "0.3")],
        ..PLAIN
    },
    Thing {
        tag: "LD-3",
        kind: PartKind::Lid,
        name: "domed lid",
        maker: "Ostrel",
        price: Some("31.00"),
        arrived: Some("2024-12-07"),
        place: "nail 3",
        sizes: &[(OutsideDiameter, "11-1/2"), (Height, "0.9")],
        ..PLAIN
    },
    Thing {
        tag: "BS-1",
        kind: PartKind::Base,
        name: "flat base",
        maker: "Dunmarrow Pressings",
        price: Some("17.00"),
        arrived: Some("2024-02-10"),
        place: "nail 4",
        sizes: &[(OutsideDiameter, "11-1/2"), (Height, "0.1"), (NeckBore, "3-1/16")],
        ..PLAIN
    },
    Thing {
        tag: "BS-2",
        kind: PartKind::Base,
        name: "dropped base",
        maker: "Ostrel",
        price: Some("28.00"),
        arrived: Some("2024-02-24"),
        place: "nail 5",
        sizes: &[(OutsideDiameter, "11-1/2"), (Height, "0.1"), (NeckBore, "3-1/16"), (Drop, "7/8")],
        ..PLAIN
    },
    Thing {
        tag: "SP-1",
        kind: PartKind::Spacer,
        name: "spacer 0.75",
        maker: "Ostrel",
        price: Some("14.00"),
        arrived: Some("2024-03-02"),
        status: PartStatus::Scrapped,
        sizes: &[(OutsideDiameter, "4"), (Height, "3/4"), (NeckBore, "3-1/16")],
        ..PLAIN
    },
    Thing {
        tag: SPACER,
        kind: PartKind::Spacer,
        name: "spacer 0.5",
        maker: "shop made",
        arrived: Some("2025-04-05"),
        place: "drawer",
        note: Some("revision B has a clay radius at the top edge"),
        sizes: &[(OutsideDiameter, "4"), (Height, "1/2"), (NeckBore, "3-1/16")],
        ..PLAIN
    },
    Thing {
        tag: "VS-1",
        kind: PartKind::VelocityStack,
        name: "velocity stack 2.5 high",
        maker: "Ostrel",
        price: Some("22.00"),
        arrived: Some("2025-04-19"),
        place: "drawer",
        sizes: &[(Height, "2-1/2"), (NeckBore, "3-1/16")],
        ..PLAIN
    },
    Thing {
        tag: STUD,
        kind: PartKind::Stud,
        name: "long stud",
        price: Some("3.50"),
        arrived: Some("2024-02-10"),
        place: "drawer",
        sizes: &[(StudLength, "6-1/2")],
        ..PLAIN
    },
    Thing {
        tag: "ST-2",
        kind: PartKind::Stud,
        name: "short stud",
        price: Some("2.50"),
        arrived: Some("2024-02-10"),
        place: "drawer",
        sizes: &[(StudLength, "2-3/4")],
        ..PLAIN
    },
    Thing {
        tag: "PF-4",
        kind: PartKind::Filter,
        name: "paper 14 x 3",
        maker: "Marlstone Paper",
        status: PartStatus::Wanted,
        filtration: Some("claimed"),
        service: Some(Service::New),
        note: Some("sizes from the seller's page"),
        sizes: &[(OutsideDiameter, "14"), (InsideDiameter, "11-1/2"), (Height, "3")],
        ..PLAIN
    },
];

/// The thing with that tag.
pub fn thing(tag: &str) -> &'static Thing {
    THINGS.iter().find(|t| t.tag == tag).expect("every tag of the demo is in its list")
}

/// The part of that tag.
pub fn part_id(tag: &str) -> Uuid {
    named_part(thing(tag).kind, tag)
}

/// The revision that `SP-2 B` or a plain tag names.
pub fn revision_id(name: &str) -> Uuid {
    match name.split_once(' ') {
        Some((tag, label)) => Derived::new("revision").id(Some(part_id(tag))).folded(label).finish(),
        None => first_revision(part_id(name)),
    }
}

/// The layers that those names stack up to, from the item up.
pub fn layers(stack: &[&str]) -> Vec<Layer> {
    stack.iter().map(|name| Layer::of(revision_id(name))).collect()
}

/// The assembly that those names stack up to.
pub fn assembly_id(stack: &[&str]) -> Uuid {
    assembly(&layers(stack))
}

/// What everything truly does to the air.
pub struct Shed {
    item: Path,
    foam: Path,
}

/// Stacks of the evening that compares two filters, two lids and two bases.
pub const EIGHT: [[&str; 3]; 8] = [
    ["BS-1", "PF-1", "LD-1"],
    ["BS-1", "PF-1", "LD-2"],
    ["BS-2", "PF-1", "LD-1"],
    ["BS-2", "PF-1", "LD-2"],
    ["BS-1", "FF-1", "LD-1"],
    ["BS-1", "FF-1", "LD-2"],
    ["BS-2", "FF-1", "LD-1"],
    ["BS-2", "FF-1", "LD-2"],
];
/// Two of the eight that truly flow the same: paper with the better lid and base, foam with neither.
pub const EQUAL: (usize, usize) = (3, 4);
/// Two of the eight that truly differ by less than such a bench can see: the lid or the base under the same paper.
pub const UNSEEN: (usize, usize) = (1, 2);

impl Shed {
    /// The shed; the foam is such that [`EQUAL`] flow the same to the last digit.
    pub fn new() -> Self {
        // 278.2 CFM shown at 20 inH2O, leakage included.
        let bare_m3_s = Unit::CFM.to_si(278.2) - leakage_m3_s();
        let item = Path { linear_pa_s_m3: 0.0, square_pa_s2_m6: set_pressure_pa() / (bare_m3_s * bare_m3_s) };
        let mut shed = Shed { item, foam: Path::default() };
        let foam_linear = shed.drop(0.006, 0.0).linear_pa_s_m3;
        let flow = shed.flow_m3_s(&EIGHT[EQUAL.0], Some(Service::New));
        let without = shed.path(&EIGHT[EQUAL.1], Some(Service::Oiled));
        let left = set_pressure_pa() - without.linear_pa_s_m3 * flow - without.square_pa_s2_m6 * flow * flow;
        shed.foam = Path {
            linear_pa_s_m3: foam_linear,
            square_pa_s2_m6: (left - foam_linear * flow) / (flow * flow),
        };
        shed
    }

    /// A path from the shares of the item's own drop that its linear and square part have at the bare item's flow.
    fn drop(&self, linear: f64, square: f64) -> Path {
        let b = self.item.square_pa_s2_m6;
        let bare_m3_s = self.item.flow_m3_s(set_pressure_pa());
        Path { linear_pa_s_m3: linear * b * bare_m3_s, square_pa_s2_m6: square * b }
    }

    fn part(&self, name: &str, service: Option<Service>) -> Path {
        match (name, service) {
            ("PF-1", _) => self.drop(0.042, 0.026),
            ("PF-2", _) => self.drop(0.029, 0.019),
            ("FF-1", Some(Service::Dirty)) => self.foam + self.drop(0.026, 0.002),
            ("FF-1", Some(Service::Washed)) => self.foam + self.drop(-0.001, 0.0),
            ("FF-1", _) => self.foam,
            ("LD-1", _) => self.drop(0.0, 0.040),
            ("LD-2", _) => self.drop(0.0, 0.013_5),
            ("LD-3", _) => self.drop(0.0, 0.033),
            ("BS-1", _) => self.drop(0.0, 0.034),
            ("BS-2", _) => self.drop(0.0, 0.005_5),
            ("SP-1", _) => self.drop(0.0, 0.009),
            ("SP-2", _) => self.drop(0.0, 0.007),
            ("SP-2 B", _) => self.drop(0.0, -0.015),
            ("VS-1", _) => self.drop(0.0, -0.026),
            (other, _) => unreachable!("{other} has no flow path"),
        }
    }

    /// Item and parts in series; the bare item for an empty stack.
    pub fn path(&self, stack: &[&str], service: Option<Service>) -> Path {
        stack.iter().fold(self.item, |path, name| path + self.part(name, service))
    }

    /// Only the parts.
    pub fn parts(&self, stack: &[&str], service: Option<Service>) -> Path {
        stack.iter().fold(Path::default(), |path, name| path + self.part(name, service))
    }

    /// True flow at 20 inH2O without leakage, m³/s.
    pub fn flow_m3_s(&self, stack: &[&str], service: Option<Service>) -> f64 {
        self.path(stack, service).flow_m3_s(set_pressure_pa())
    }

    /// The check plate alone: a 2 in hole, by `ΔP = ρ/2·(Q/(0.6·A))²` at 1.2 kg/m³.
    pub fn check_plate(&self) -> Path {
        let area_m2 = std::f64::consts::FRAC_PI_4 * 0.0508 * 0.0508;
        Path { linear_pa_s_m3: 0.0, square_pa_s2_m6: 0.6 / (0.6 * area_m2).powi(2) }
    }
}

/// The state in which the demo's elements are used when nothing else is said.
pub fn usual_service(stack: &[&str]) -> Option<Service> {
    stack.iter().find_map(|name| match name.get(..2) {
        Some("PF") => Some(Service::New),
        Some("FF") => Some(Service::Oiled),
        _ => None,
    })
}
