//! What a restriction costs an engine.

use super::air::{HUMIDITY, PRESSURE, TEMPERATURE};
use super::ask::{Answer, Asked, Kind, Need, Parameter};
use super::{Calculator, Refused};
use crate::code::{Code, Fault};
use airshelf_flow::air::Air;
use airshelf_flow::engine::{Engine, InletAir, part_effect};
use airshelf_flow::restriction::Restriction;
use airshelf_units::Dimension;

/// What the effect on an engine leaves out.
pub(crate) const RANGE: &str =
    "steady flow: pulsation, signal and road turbulence are not modeled; loss is in air, not in power";

pub(super) const ENGINE: Calculator = Calculator {
    name: "engine",
    about: "air demand of a four-stroke engine, and what an item and a part cost it",
    parameters: &[
        Parameter {
            name: "displacement",
            about: "displacement",
            kind: Kind::Quantity(Dimension::Volume),
            need: Need::Required,
        },
        Parameter { name: "rpm", about: "engine speed", kind: Kind::Speed, need: Need::Required },
        Parameter {
            name: "ve",
            about: "volumetric efficiency, referred to the air below the carburetor",
            kind: Kind::Ratio,
            need: Need::Required,
        },
        Parameter {
            name: "item-flow",
            about: "flow of the carburetor on the bench",
            kind: Kind::Quantity(Dimension::Flow),
            need: Need::Optional,
        },
        Parameter {
            name: "item-at",
            about: "at this test pressure",
            kind: Kind::Quantity(Dimension::Pressure),
            need: Need::Optional,
        },
        Parameter {
            name: "part-drop",
            about: "pressure drop of the part on the bench",
            kind: Kind::Quantity(Dimension::Pressure),
            need: Need::Optional,
        },
        Parameter {
            name: "part-at",
            about: "at this flow, or at this test pressure on that carburetor",
            kind: Kind::AnyQuantity,
            need: Need::Optional,
        },
        Parameter { need: Need::Default("101.325 kPa"), ..PRESSURE },
        Parameter { need: Need::Default("20 °C"), ..TEMPERATURE },
        Parameter { need: Need::Default("0%"), ..HUMIDITY },
    ],
    formula: "Q = V n VE/2; m = V' rho0 p/p0 with p = p0 - K m^2 solved in closed form; loss = 1 - m/m_without",
    source: "four-stroke cycle by definition; Bernoulli's equation at inlet density",
    range: RANGE,
    example: "airshelf calc engine --displacement 250in3 --rpm 4500 --ve 85% --item-flow 278CFM --item-at 20inH2O --part-drop 1.6inH2O --part-at 266CFM",
    compute,
};

fn compute(asked: &Asked) -> Result<Answer, Refused> {
    let air =
        Air::from_relative_humidity(asked.si("temperature"), asked.si("pressure"), asked.si("humidity"))?;
    let engine = Engine {
        displacement_m3: asked.si("displacement"),
        speed_rev_s: asked.si("rpm") / std::f64::consts::TAU,
        volumetric_efficiency: asked.si("ve"),
    };
    let density = air.density_kg_m3();
    let item = match (asked.given("item-flow"), asked.given("item-at")) {
        (Some(flow), Some(at)) => Some(Restriction::of_item(flow, at, density)?),
        (None, None) => None,
        _ => return Err(Fault::new(Code::BadArgument, "item-flow and item-at go together").into()),
    };
    let part = part(asked, item.as_ref(), density)?;
    let effect = part_effect(&engine, &InletAir::from(&air), item.as_ref(), part.as_ref())?;
    let mut answer =
        Answer::default().quantity("demand_m3_s", "demand", Dimension::Flow, effect.demand_m3_s).maybe(
            "depression_pa",
            "depression below the carburetor",
            Dimension::Pressure,
            (item.is_some() || part.is_some()).then_some(effect.depression_pa),
        );
    if part.is_some() {
        answer = answer
            .plain("air_loss_percent", "air lost to the part, %", 100.0 * effect.air_loss)
            .plain("air_loss_low_percent", "at least, %", 100.0 * effect.air_loss_low)
            .plain("air_loss_high_percent", "at most, %", 100.0 * effect.air_loss_high)
            .quantity("part_drop_pa", "drop of the part", Dimension::Pressure, effect.part_drop_pa)
            .quantity(
                "same_as_warmer_low_k",
                "as much as warmer intake air, from",
                Dimension::TemperatureDifference,
                effect.same_as_warmer_low_k,
            )
            .quantity(
                "same_as_warmer_high_k",
                "to",
                Dimension::TemperatureDifference,
                effect.same_as_warmer_high_k,
            );
    }
    Ok(answer.cautions(effect.cautions))
}

/// The part's restriction from its drop at a flow, or at a test pressure on the item.
fn part(asked: &Asked, item: Option<&Restriction>, density: f64) -> Result<Option<Restriction>, Fault> {
    let (drop, at) = match (asked.given("part-drop"), asked.quantity("part-at")) {
        (Some(drop), Some(at)) => (drop, at),
        (None, None) => return Ok(None),
        _ => return Err(Fault::new(Code::BadArgument, "part-drop and part-at go together")),
    };
    let flow = match (at.unit.dimension(), item) {
        (Dimension::Flow, _) => at.si,
        (Dimension::Pressure, Some(item)) if at.si > drop => ((at.si - drop) / item.k_pa_s2_m6).sqrt(),
        (Dimension::Pressure, Some(_)) => {
            return Err(Fault::new(
                Code::BadArgument,
                "part-drop must be below the test pressure in part-at",
            ));
        }
        (Dimension::Pressure, None) => {
            return Err(Fault::new(
                Code::BadArgument,
                "part-at as a test pressure needs item-flow and item-at",
            ));
        }
        _ => return Err(Fault::new(Code::BadQuantity, "part-at is a flow or a test pressure")),
    };
    if flow <= 0.0 {
        return Err(Fault::new(Code::BadArgument, "part-at must be above zero"));
    }
    Ok(Some(Restriction {
        k_pa_s2_m6: drop / (flow * flow),
        reference_density_kg_m3: density,
        tested_flow_m3_s: flow,
    }))
}
