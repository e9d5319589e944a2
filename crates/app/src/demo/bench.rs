//! The shed's bench as it really is: what it would show of a flow path, with every small fault a bench has.
//!
//! A path drops `ΔP = a·Q + b·Q²`, parts and item in series. The bench shows
//! `Q·(1 + level + drift(t) + refit + reading) + L`, with `L = L₀·(P/P₀)ⁿ` the leakage of the fixture. Its meter is an
//! orifice in the same air, so that the air cancels but for the linear (viscous) part of the media. Flows here are as
//! such a meter shows them in reference air.

use super::chance::Chance;
use airshelf_flow::air::Air;
use airshelf_units::Unit;

/// Pressure drop over flow: `a·Q + b·Q²`.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Path {
    /// `a`, Pa·s/m³.
    pub linear_pa_s_m3: f64,
    /// `b`, Pa·s²/m⁶; negative for an entry gain.
    pub square_pa_s2_m6: f64,
}

impl std::ops::Add for Path {
    type Output = Path;
    fn add(self, other: Path) -> Path {
        Path {
            linear_pa_s_m3: self.linear_pa_s_m3 + other.linear_pa_s_m3,
            square_pa_s2_m6: self.square_pa_s2_m6 + other.square_pa_s2_m6,
        }
    }
}

impl Path {
    /// The flow in m³/s at which the path drops `drop_pa`: the positive root of `b·Q² + a·Q = ΔP`.
    pub fn flow_m3_s(self, drop_pa: f64) -> f64 {
        let (a, b) = (self.linear_pa_s_m3, self.square_pa_s2_m6);
        // Written so that it holds for a path without a square part too.
        2.0 * drop_pa / (a + (a * a + 4.0 * b * drop_pa).sqrt())
    }

    /// The path in other air: the viscous part follows viscosity over the square root of density.
    fn in_air(self, air: &Air) -> Path {
        let reference = reference_air();
        let ratio = air.viscosity_pa_s() / reference.viscosity_pa_s()
            * (reference.density_kg_m3() / air.density_kg_m3()).sqrt();
        Path { linear_pa_s_m3: self.linear_pa_s_m3 * ratio, ..self }
    }
}

/// Air of the shed on an average evening; the air in which the truth holds.
fn reference_air() -> Air {
    Air::from_relative_humidity(Unit::FAHRENHEIT.to_si(68.0), Unit::IN_HG.to_si(29.3), 0.5)
        .expect("the air of a shed is within the range of the formula")
}

/// Standard deviation of refitting an assembly, as a ratio of flow.
pub const REFIT_SCATTER: f64 = 0.0015;
/// Standard deviation of one reading without refitting, as a ratio of flow.
pub const READING_SCATTER: f64 = 0.0003;
/// Standard deviation of the pressure held, as a ratio; settings further off than 0.8 % are set again.
pub const SETTING_SCATTER: f64 = 0.0022;
/// Standard deviation of an evening's level, as a ratio of flow.
pub const LEVEL_SCATTER: f64 = 0.001;
/// Exponent of the fixture's leakage.
pub const LEAKAGE_EXPONENT: f64 = 0.6;

/// Leakage of the fixture at 20 inH2O, m³/s.
pub fn leakage_m3_s() -> f64 {
    Unit::CFM.to_si(1.2)
}

/// The pressure at which the leakage is stated, and which most evenings hold, Pa.
pub fn set_pressure_pa() -> f64 {
    Unit::IN_H2O.to_si(20.0)
}

/// What one evening is like.
#[derive(Clone, Copy, Debug)]
pub struct Weather {
    /// Air temperature at the start, °F.
    pub air_f: f64,
    /// Its change through the evening, °F.
    pub air_change_f: f64,
    /// Station pressure at the start, inHg.
    pub barometer_in_hg: f64,
    /// Relative humidity at the start, %.
    pub humidity_percent: f64,
    /// Its change through the evening, %.
    pub humidity_change_percent: f64,
    /// Level of the bench against its average, ratio of flow.
    pub level: f64,
    /// Drift from the evening's start to its end, ratio of flow.
    pub drift: f64,
    /// Highest deviation of the drift from a straight line, ratio of flow.
    pub drift_curve: f64,
}

impl Weather {
    /// An ordinary evening with that air: a little drift, by chance.
    pub fn ordinary(air_f: f64, barometer_in_hg: f64, humidity_percent: f64, chance: &mut Chance) -> Self {
        Weather {
            air_f,
            air_change_f: -3.0,
            barometer_in_hg,
            humidity_percent,
            humidity_change_percent: 4.0,
            level: LEVEL_SCATTER * chance.normal_within(2.0),
            drift: 0.0012 * chance.normal_within(1.5),
            drift_curve: 0.0004 * chance.normal_within(1.5),
        }
    }

    /// The ratio by which the bench shows too much at `share` (0 to 1) of the evening.
    pub fn error(&self, share: f64) -> f64 {
        self.level + self.drift * share + 4.0 * self.drift_curve * share * (1.0 - share)
    }

    /// Air temperature in °F, to the degree.
    pub fn air_f_at(&self, share: f64) -> f64 {
        (self.air_f + self.air_change_f * share).round()
    }

    /// Relative humidity in %, to the percent.
    pub fn humidity_at(&self, share: f64) -> f64 {
        (self.humidity_percent + self.humidity_change_percent * share).round()
    }

    /// Station pressure in inHg, to the hundredth.
    pub fn barometer_at(&self, share: f64) -> f64 {
        ((self.barometer_in_hg + 0.02 * share) * 100.0).round() / 100.0
    }

    fn air_at(&self, share: f64) -> Air {
        Air::from_relative_humidity(
            Unit::FAHRENHEIT.to_si(self.air_f + self.air_change_f * share),
            Unit::IN_HG.to_si(self.barometer_in_hg + 0.02 * share),
            (self.humidity_percent + self.humidity_change_percent * share) / 100.0,
        )
        .expect("the air of a shed is within the range of the formula")
    }
}

/// What stands on the bench and how it was set.
#[derive(Clone, Copy, Debug)]
pub struct Setup {
    /// Item and parts in series; none for the blanked fixture.
    pub path: Option<Path>,
    /// The pressure aimed at, Pa.
    pub set_pa: f64,
    /// The pressure held instead of a chance one near the set pressure, Pa.
    pub held_pa: Option<f64>,
    /// How much this fitting flows more than the assembly's average one, ratio.
    pub refit: f64,
}

/// What the gauges show, before anybody rounds it.
#[derive(Clone, Copy, Debug)]
pub struct Shown {
    /// Flow, m³/s.
    pub flow_m3_s: f64,
    /// Pressure held, Pa.
    pub actual_pa: f64,
}

/// Reads the bench once, `share` (0 to 1) into the evening.
pub fn read(weather: &Weather, share: f64, setup: Setup, chance: &mut Chance) -> Shown {
    let setting = 1.0 + SETTING_SCATTER * chance.normal_within(0.008 / SETTING_SCATTER);
    let scatter = READING_SCATTER * chance.normal();
    let actual_pa = setup.held_pa.unwrap_or(setup.set_pa * setting);
    let leak = leakage_m3_s() * libm::pow(actual_pa / set_pressure_pa(), LEAKAGE_EXPONENT);
    let through = setup.path.map_or(0.0, |path| {
        path.in_air(&weather.air_at(share)).flow_m3_s(actual_pa)
            * (1.0 + weather.error(share) + setup.refit + scatter)
    });
    Shown { flow_m3_s: through + leak, actual_pa }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_drops_what_it_was_given() {
        let path = Path { linear_pa_s_m3: 900.0, square_pa_s2_m6: 290_000.0 };
        let q = path.flow_m3_s(4981.78);
        assert!((900.0 * q + 290_000.0 * q * q - 4981.78).abs() < 1e-6);
        let straight = Path { linear_pa_s_m3: 900.0, square_pa_s2_m6: 0.0 };
        assert!((straight.flow_m3_s(90.0) - 0.1).abs() < 1e-12);
    }

    #[test]
    fn a_sharp_edged_path_reads_the_same_in_any_air_and_media_does_not() {
        let mut chance = Chance::apart(1, 0);
        let mut cold = Weather::ordinary(45.0, 29.3, 50.0, &mut chance);
        (cold.level, cold.drift, cold.drift_curve) = (0.0, 0.0, 0.0);
        let warm = Weather { air_f: 95.0, ..cold };
        let shown = |weather: &Weather, linear_pa_s_m3| {
            let path = Path { linear_pa_s_m3, square_pa_s2_m6: 290_000.0 };
            let setup = Setup { path: Some(path), set_pa: 4981.78, held_pa: Some(4981.78), refit: 0.0 };
            read(weather, 0.0, setup, &mut Chance::apart(9, 0)).flow_m3_s
        };
        assert!((shown(&cold, 0.0) / shown(&warm, 0.0) - 1.0).abs() < 1e-12);
        assert!(shown(&cold, 900.0) > shown(&warm, 900.0));
    }
}
