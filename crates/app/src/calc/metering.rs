//! Orifices and plates.

use super::air::{HUMIDITY, TEMPERATURE};
use super::ask::{Answer, Asked, Kind, Need, Parameter};
use super::{Calculator, Refused};
use airshelf_flow::air::{Air, ISENTROPIC_EXPONENT};
use airshelf_flow::orifice::{self, Orifice, Taps, Upstream};
use airshelf_flow::plate;
use airshelf_units::Dimension;

const DIAMETER: Parameter = Parameter {
    name: "diameter",
    about: "bore of the plate",
    kind: Kind::Quantity(Dimension::Length),
    need: Need::Required,
};
const DROP: Parameter = Parameter {
    name: "drop",
    about: "pressure drop across the plate",
    kind: Kind::Quantity(Dimension::Pressure),
    need: Need::Required,
};
const UPSTREAM: Parameter = Parameter {
    name: "upstream",
    about: "absolute pressure before the plate",
    kind: Kind::Quantity(Dimension::Pressure),
    need: Need::Required,
};

pub(super) const ORIFICE: Calculator = Calculator {
    name: "orifice",
    about: "flow through an orifice plate in a pipe",
    parameters: &[
        DIAMETER,
        Parameter {
            name: "pipe",
            about: "inside diameter of the pipe",
            kind: Kind::Quantity(Dimension::Length),
            need: Need::Required,
        },
        DROP,
        UPSTREAM,
        TEMPERATURE,
        Parameter { need: Need::Default("0%"), ..HUMIDITY },
        Parameter {
            name: "taps",
            about: "where the pressures are taken",
            kind: Kind::Choice(&["corner", "flange", "radius"]),
            need: Need::Default("corner"),
        },
    ],
    formula: "qm = C/sqrt(1 - beta^4) eps pi/4 d^2 sqrt(2 dp rho1), C by Reader-Harris/Gallagher, iterated with Re",
    source: "ISO 5167-2:2003, 5.1, 5.3.2.1, 5.3.2.2 (as restated in public library documentation)",
    range: "d at least 12.5 mm, 50 mm to 1 m pipe, beta 0.1 to 0.75, Re above the clause's limit, p2/p1 at least 0.75",
    example: "airshelf calc orifice --diameter 40mm --pipe 80mm --drop 28inH2O --upstream 29.2inHg --temperature 78F",
    compute: by_orifice,
};

fn by_orifice(asked: &Asked) -> Result<Answer, Refused> {
    let air =
        Air::from_relative_humidity(asked.si("temperature"), asked.si("upstream"), asked.si("humidity"))?;
    let shape = Orifice {
        bore_m: asked.si("diameter"),
        pipe_m: asked.si("pipe"),
        taps: match asked.word("taps") {
            Some("flange") => Taps::Flange,
            Some("radius") => Taps::Radius,
            _ => Taps::Corner,
        },
    };
    let upstream = Upstream {
        pressure_pa: air.pressure_pa(),
        density_kg_m3: air.density_kg_m3(),
        viscosity_pa_s: air.viscosity_pa_s(),
        isentropic_exponent: ISENTROPIC_EXPONENT,
    };
    let flow = orifice::flow(&shape, asked.si("drop"), &upstream)?;
    Ok(Answer::default()
        .quantity("flow_kg_s", "mass flow", Dimension::MassFlow, flow.flow_kg_s)
        .quantity("flow_m3_s", "flow", Dimension::Flow, flow.flow_m3_s)
        .plain("discharge_coefficient", "discharge coefficient", flow.discharge_coefficient)
        .plain("expansibility", "expansibility", flow.expansibility)
        .plain("reynolds", "Reynolds number", flow.reynolds)
        .quantity("permanent_loss_pa", "permanent loss", Dimension::Pressure, flow.permanent_loss_pa)
        .plain(
            "relative_standard_uncertainty",
            "relative standard uncertainty",
            flow.relative_standard_uncertainty,
        )
        .cautions(air.caution()))
}

pub(super) const PLATE: Calculator = Calculator {
    name: "plate",
    about: "flow through a sharp-edged plate that draws from the room",
    parameters: &[
        DIAMETER,
        DROP,
        Parameter {
            name: "coefficient",
            about: "discharge coefficient, 0.60 to 0.62 where none is known",
            kind: Kind::Number,
            need: Need::Optional,
        },
        Parameter { need: Need::Default("101.325 kPa"), ..UPSTREAM },
        Parameter { need: Need::Default("20 °C"), ..TEMPERATURE },
        Parameter { need: Need::Default("0%"), ..HUMIDITY },
    ],
    formula: "Q = Cd eps pi/4 d^2 sqrt(2 dp/rho), eps at beta = 0",
    source: "Bernoulli; expansibility ISO 5167-2:2003, 5.3.2.2, used outside its range of beta; Cd: common practice",
    range: "p2/p1 at least 0.75; no pipe before the plate, which puts it outside ISO 5167",
    example: "airshelf calc plate --diameter 2in --drop 28inH2O --coefficient 0.60",
    compute: by_plate,
};

fn by_plate(asked: &Asked) -> Result<Answer, Refused> {
    let air =
        Air::from_relative_humidity(asked.si("temperature"), asked.si("upstream"), asked.si("humidity"))?;
    let flow = plate::flow(
        asked.si("diameter"),
        asked.si("drop"),
        air.pressure_pa(),
        air.density_kg_m3(),
        asked.given("coefficient"),
    )?;
    Ok(Answer::default()
        .quantity("flow_m3_s", "flow", Dimension::Flow, flow.flow_m3_s)
        .quantity("flow_kg_s", "mass flow", Dimension::MassFlow, flow.flow_kg_s)
        .plain("discharge_coefficient", "discharge coefficient", flow.coefficient)
        .plain("expansibility", "expansibility", flow.expansibility)
        .caution(flow.caution))
}
