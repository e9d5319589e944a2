//! Flow at another pressure, the highest pressure of a range, leakage at another pressure.

use super::Calculator;
use super::ask::{Answer, Kind, Need, Parameter};
use airshelf_flow::{leakage, scale};
use airshelf_units::Dimension;

const FLOW: Parameter =
    Parameter { name: "flow", about: "flow", kind: Kind::Quantity(Dimension::Flow), need: Need::Required };
const AT: Parameter = Parameter {
    name: "at",
    about: "test pressure it was read at",
    kind: Kind::Quantity(Dimension::Pressure),
    need: Need::Required,
};
const TO: Parameter = Parameter {
    name: "to",
    about: "test pressure wanted",
    kind: Kind::Quantity(Dimension::Pressure),
    need: Need::Required,
};
const EXPONENT: Parameter = Parameter {
    name: "exponent",
    about: "0.5 for edges and free paths, 1 for laminar media",
    kind: Kind::Number,
    need: Need::Default("0.5"),
};

pub(super) const SCALE: Calculator = Calculator {
    name: "scale",
    about: "a flow at another test pressure",
    parameters: &[FLOW, Parameter { name: "from", ..AT }, TO, EXPONENT],
    formula: "Q2 = Q1 (P2/P1)^n",
    source: "Bernoulli's equation for n = 0.5; other exponents common practice, no source",
    range: "n 0.5 to 1; a correction of a reading is trusted within 5 %, further needs a sweep",
    example: "airshelf calc scale --flow 574CFM --from 5.5inH2O --to 1.5inHg",
    compute: |asked| {
        let scaled =
            scale::to_pressure(asked.si("flow"), asked.si("from"), asked.si("to"), asked.si("exponent"))?;
        Ok(Answer::default()
            .quantity("flow_m3_s", "flow", Dimension::Flow, scaled.flow_m3_s)
            .cautions(scaled.cautions))
    },
};

pub(super) const PRESSURE: Calculator = Calculator {
    name: "pressure",
    about: "the highest test pressure that a range holds",
    parameters: &[
        FLOW,
        AT,
        Parameter { name: "range", about: "full scale of the bench", ..FLOW },
        Parameter {
            name: "margin",
            about: "share of the range to stay below it",
            kind: Kind::Quantity(Dimension::Ratio),
            need: Need::Default("5%"),
        },
    ],
    formula: "P_max = P (range/Q)^2; suggested: P (range (1 - margin)/Q)^2",
    source: "square-root law; common practice, no source",
    range: "where the square-root law holds",
    example: "airshelf calc pressure --flow 574CFM --at 5.5inH2O --range 600CFM",
    compute: |asked| {
        let held =
            scale::highest_pressure(asked.si("flow"), asked.si("at"), asked.si("range"), asked.si("margin"))?;
        Ok(Answer::default()
            .quantity(
                "highest_pressure_pa",
                "highest pressure",
                Dimension::Pressure,
                held.highest_pressure_pa,
            )
            .quantity(
                "suggested_pressure_pa",
                "suggested pressure",
                Dimension::Pressure,
                held.suggested_pressure_pa,
            )
            .quantity("range_used_ratio", "range in use", Dimension::Ratio, held.fraction_of_range)
            .cautions(held.cautions))
    },
};

pub(super) const LEAKAGE: Calculator = Calculator {
    name: "leakage",
    about: "fixture leakage at another test pressure",
    parameters: &[FLOW, AT, TO, Parameter { need: Need::Optional, about: "0.75 unless stated", ..EXPONENT }],
    formula: "L2 = L1 (P2/P1)^n, n = 0.75, bounds at n = 0.5 and 1",
    source: "power law of slots and seepage; common practice, no source",
    range: "fixture leakage only; what passes a closed throttle is a condition of the carburetor and is never subtracted",
    example: "airshelf calc leakage --flow 3CFM --at 5inH2O --to 20inH2O",
    compute: |asked| {
        let carried =
            leakage::carry(asked.si("flow"), asked.si("at"), asked.si("to"), asked.given("exponent"))?;
        Ok(Answer::default()
            .quantity("flow_m3_s", "leakage", Dimension::Flow, carried.flow_m3_s)
            .quantity("low_m3_s", "at least", Dimension::Flow, carried.low_m3_s)
            .quantity("high_m3_s", "at most", Dimension::Flow, carried.high_m3_s))
    },
};
