//! How many repeats, and what they can show.

use super::Calculator;
use super::ask::{Answer, Asked, Kind, Need, Parameter};
use crate::code::{Code, Fault};
use airshelf_stats::plan;
use airshelf_units::Dimension;

const SCATTER: Parameter = Parameter {
    name: "scatter",
    about: "standard deviation of one refitted fitting, as a flow or in percent of flow",
    kind: Kind::FlowOrRatio,
    need: Need::Required,
};
const CONFIDENCE: Parameter = Parameter {
    name: "confidence",
    about: "how sure a verdict must be",
    kind: Kind::Ratio,
    need: Need::Default("95%"),
};

pub(super) const REPEATS: Calculator = Calculator {
    name: "repeats",
    about: "refitted repeats of each of two assemblies that resolve a difference",
    parameters: &[
        Parameter {
            name: "resolve",
            about: "the difference to be seen, as a flow or in percent of flow",
            ..SCATTER
        },
        SCATTER,
        CONFIDENCE,
        Parameter {
            name: "power",
            about: "chance of seeing it if it is real",
            need: Need::Default("80%"),
            ..CONFIDENCE
        },
    ],
    formula: "fewest n with P(|t'| > t_p(2n - 2)) >= power, t' noncentral, shift (difference/scatter) sqrt(n/2)",
    source: "two-sample t test, Cohen 1988 table 2.3.5 (from memory), checked against statsmodels TTestIndPower",
    range: "two assemblies on one evening; a scatter known only from these repeats",
    example: "airshelf calc repeats --resolve 2CFM --scatter 1CFM",
    compute: |asked| {
        same_kind(asked)?;
        let n = plan::repeats_to_resolve(
            asked.si("resolve"),
            asked.si("scatter"),
            asked.si("confidence"),
            asked.si("power"),
        )
        .map_err(refused)?;
        Ok(Answer::default()
            .plain("repeats", "refitted repeats of each", n)
            .caution("Readings without taking the assembly off are no repeats."))
    },
};

pub(super) const RESOLVABLE: Calculator = Calculator {
    name: "resolvable",
    about: "the least difference that so many refitted repeats can show",
    parameters: &[
        SCATTER,
        Parameter {
            name: "repeats",
            about: "refitted repeats of each of two assemblies",
            kind: Kind::Whole,
            need: Need::Required,
        },
        CONFIDENCE,
    ],
    formula: "t_p(2n - 2) s sqrt(2/n)",
    source: "least significant difference of two means, textbook",
    range: "two assemblies; more of them need a wider limit (Tukey-Kramer), which compare uses",
    example: "airshelf calc resolvable --scatter 1CFM --repeats 3",
    compute: |asked| {
        let difference = plan::resolvable_difference(
            asked.si("scatter"),
            asked.si("repeats") as usize,
            asked.si("confidence"),
        )
        .map_err(refused)?;
        Ok(match is_ratio(asked, "scatter") {
            true => Answer::default()
                .quantity("difference_ratio", "difference", Dimension::Ratio, difference)
                .plain("difference_m3_s", "as a flow", serde_json::Value::Null),
            false => Answer::default().quantity("difference_m3_s", "difference", Dimension::Flow, difference),
        })
    },
};

fn is_ratio(asked: &Asked, name: &str) -> bool {
    asked.quantity(name).is_some_and(|read| read.unit.dimension() == Dimension::Ratio)
}

fn same_kind(asked: &Asked) -> Result<(), Fault> {
    if is_ratio(asked, "resolve") == is_ratio(asked, "scatter") {
        return Ok(());
    }
    Err(Fault::new(Code::BadArgument, "resolve and scatter must both be flows, or both percent"))
}

fn refused(error: airshelf_stats::StatsError) -> Fault {
    Fault::new(Code::OutsideValidity, error.to_string())
}
