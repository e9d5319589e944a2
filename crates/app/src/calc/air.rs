//! Moist air.

use super::ask::{Answer, Asked, Kind, Need, Parameter};
use super::{Calculator, Refused};
use airshelf_flow::air::Air;
use airshelf_units::Dimension;

pub(super) const PRESSURE: Parameter = Parameter {
    name: "pressure",
    about: "station pressure, not reduced to sea level",
    kind: Kind::Quantity(Dimension::Pressure),
    need: Need::Required,
};
pub(super) const TEMPERATURE: Parameter = Parameter {
    name: "temperature",
    about: "air temperature",
    kind: Kind::Quantity(Dimension::Temperature),
    need: Need::Required,
};
pub(super) const HUMIDITY: Parameter = Parameter {
    name: "humidity",
    about: "relative humidity",
    kind: Kind::Quantity(Dimension::Ratio),
    need: Need::Required,
};

pub(super) const AIR: Calculator = Calculator {
    name: "air",
    about: "density, viscosity and speed of sound of moist air",
    parameters: &[PRESSURE, TEMPERATURE, HUMIDITY],
    formula: "rho = p Ma/(Z R T) (1 - xv (1 - Mv/Ma)), xv = h f(p,t) psv(t)/p",
    source: "CIPM-2007 (Picard et al., Metrologia 45, 2008, 149); speed of sound Cramer 1993",
    range: "-50 to 60 °C, 30 to 120 kPa; the density formula is stated for 15 to 27 °C and 600 to 1100 hPa",
    example: "airshelf calc air --pressure 29.2inHg --temperature 78F --humidity 45%",
    compute,
};

fn compute(asked: &Asked) -> Result<Answer, Refused> {
    let air =
        Air::from_relative_humidity(asked.si("temperature"), asked.si("pressure"), asked.si("humidity"))?;
    Ok(Answer::default()
        .quantity("density_kg_m3", "density", Dimension::Density, air.density_kg_m3())
        .quantity("viscosity_pa_s", "viscosity", Dimension::Viscosity, air.viscosity_pa_s())
        .quantity("speed_of_sound_m_s", "speed of sound", Dimension::Speed, air.speed_of_sound_m_s())
        .cautions(air.caution()))
}
