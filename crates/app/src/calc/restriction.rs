//! Restriction of a part, and sweeps.

use super::ask::{Answer, Asked, Kind, Need, Parameter};
use super::{Calculator, Refused};
use airshelf_flow::{air::Air, restriction, sweep};
use airshelf_units::Dimension;

const FLOW: Parameter = Parameter {
    name: "baseline",
    about: "flow without the part",
    kind: Kind::Quantity(Dimension::Flow),
    need: Need::Required,
};

pub(super) const RESTRICTION: Calculator = Calculator {
    name: "restriction",
    about: "pressure drop and k of a part from the flow without and with it",
    parameters: &[
        FLOW,
        Parameter { name: "with-part", about: "flow with the part", ..FLOW },
        Parameter {
            name: "at",
            about: "test pressure of both",
            kind: Kind::Quantity(Dimension::Pressure),
            need: Need::Required,
        },
    ],
    formula: "drop = P (1 - (Q/Q0)^2), k = P (1/Q^2 - 1/Q0^2), CdA = sqrt(rho/(2 k)) for k > 0",
    source: "Bernoulli's equation, resistances in series",
    range: "one test pressure; k carries to 0.8 to 1.25 times the tested flow; equivalent area in air of 1.2041 kg/m3",
    example: "airshelf calc restriction --baseline 574CFM --with-part 492CFM --at 5.5inH2O",
    compute: |asked| {
        let (q0, q, at) = (asked.si("baseline"), asked.si("with-part"), asked.si("at"));
        let drop = restriction::pressure_drop_pa(q0, q, at)?;
        let k = restriction::k_pa_s2_m6(q0, q, at)?;
        let area = restriction::equivalent_area_m2(k, Air::reference().density_kg_m3())?;
        let gain = q > q0;
        let answer = Answer::default()
            .quantity("pressure_drop_pa", "pressure drop", Dimension::Pressure, drop)
            .plain("k_pa_s2_m6", "k, Pa s²/m⁶", k)
            .maybe("equivalent_area_m2", "equivalent area", Dimension::Area, area)
            .plain("entry_gain", "flows more than the baseline", gain);
        Ok(if gain {
            answer.caution(
                "Two numbers cannot show that a gain is real: it needs refitted repeats and their scatter.",
            )
        } else {
            answer
        })
    },
};

pub(super) const SWEEP: Calculator = Calculator {
    name: "sweep",
    about: "pressure drop over flow from several pressures, and at another flow",
    parameters: &[
        Parameter {
            name: "points",
            about: "FLOW:DROP, such as 120CFM:2.1inH2O",
            kind: Kind::Point,
            need: Need::Repeated,
        },
        Parameter {
            name: "predict",
            about: "the flow to predict the drop at",
            kind: Kind::Quantity(Dimension::Flow),
            need: Need::Optional,
        },
    ],
    formula: "dP = a Q + b Q^2, least squares by QR; band t(n-2) sqrt(g' Cov g)",
    source: "Darcy-Forchheimer form; NIST/SEMATECH e-Handbook 4.1.4.1 for the fit and its intervals",
    range: "at least three different flows; refused beyond 1.25 times the highest swept flow",
    example: "airshelf calc sweep 100CFM:1.2inH2O 150CFM:2.4inH2O 200CFM:4.1inH2O 250CFM:6.1inH2O --predict 180CFM",
    compute: swept,
};

fn swept(asked: &Asked) -> Result<Answer, Refused> {
    let (flows, drops): (Vec<f64>, Vec<f64>) = asked.points().into_iter().unzip();
    let fit = sweep::fit(&flows, &drops)?;
    let answer = Answer::default()
        .plain("a_pa_s_m3", "a, Pa s/m³", fit.curve.a_pa_s_m3)
        .plain("b_pa_s2_m6", "b, Pa s²/m⁶", fit.curve.b_pa_s2_m6)
        .plain("a_standard_error", "standard error of a", fit.covariance.a_a.sqrt())
        .plain("b_standard_error", "standard error of b", fit.covariance.b_b.sqrt());
    let Some(flow) = asked.given("predict") else { return Ok(answer) };
    let predicted = fit.predict(flow, 0.95)?;
    Ok(answer
        .quantity("drop_pa", "pressure drop", Dimension::Pressure, predicted.drop_pa)
        .quantity("drop_low_pa", "95 % from", Dimension::Pressure, predicted.confidence_pa.0)
        .quantity("drop_high_pa", "to", Dimension::Pressure, predicted.confidence_pa.1)
        .cautions(predicted.cautions))
}
