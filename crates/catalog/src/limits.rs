//! What cannot be and what seldom is: the limits of every field in one table.
//!
//! Outside its impossible limits a value is wrong; outside its usual limits it is worth a second look. A shelf can
//! override the usual limits, never the impossible ones. Source of every number: common practice, no source.

use std::collections::BTreeMap;

const INCH_M: f64 = 0.0254;
const IN_H2O_PA: f64 = 249.088_91;
const IN_HG_PA: f64 = 3_386.388_640_341;

const fn fahrenheit_k(degrees: f64) -> f64 {
    (degrees + 459.67) / 1.8
}

/// A quantity that has limits; each is in the SI unit named.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Limited {
    /// Set or actual test pressure, Pa.
    TestPressure,
    /// Flow as a share of the range in use.
    FlowOfRange,
    /// Pressure drop of the part as a share of the test pressure.
    DropOfPressure,
    /// Station pressure, Pa.
    Barometer,
    /// Air temperature at the part or the meter, K.
    AirTemperature,
    /// Difference between part and meter, K.
    TemperatureGap,
    /// Relative humidity, ratio.
    Humidity,
    /// Fixture leakage as a share of flow.
    FixtureLeakage,
    /// Closed-throttle leakage as a share of open flow.
    ClosedThrottleLeakage,
    /// Outside diameter of an element, m.
    ElementDiameter,
    /// Height of an element, m.
    ElementHeight,
    /// Radial depth of a pleat, m; its impossible limit is the room between the diameters.
    PleatDepth,
    /// Number of pleats.
    PleatCount,
    /// Speed of the air at the face of the media, m/s.
    FaceSpeed,
    /// Bore of a neck, m.
    NeckBore,
    /// Neck less register, m.
    RegisterGap,
    /// Drop of a base, m.
    BaseDrop,
    /// Price as a multiple of the median of its kind.
    PriceOfMedian,
    /// Volumetric efficiency, ratio.
    VolumetricEfficiency,
}

/// Two limits of each sort; none where there is none. The limit itself is still inside unless `open_low` says otherwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Below this the value is impossible.
    pub lowest: Option<f64>,
    /// Above this the value is impossible.
    pub highest: Option<f64>,
    /// True where the lowest value itself is impossible too.
    pub open_low: bool,
    /// Below this the value is unusual.
    pub usual_low: Option<f64>,
    /// Above this the value is unusual.
    pub usual_high: Option<f64>,
}

/// How a value stands to its limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Standing {
    /// Inside both.
    Usual,
    /// Outside the usual ones, with the limit that it crosses.
    Unusual(f64),
    /// Outside the impossible ones, with the limit that it crosses.
    Impossible(f64),
}

/// Necks that carburetors are made for, m: 2-5/8, 3-1/16, 4-3/16, 5-1/8 and 7-5/16 in. Common practice, no source.
pub const USUAL_NECKS_M: [f64; 5] =
    [2.625 * INCH_M, 3.0625 * INCH_M, 4.1875 * INCH_M, 5.125 * INCH_M, 7.3125 * INCH_M];

/// How far a neck may be from a usual one before it is worth measuring again, m.
pub const NECK_ALLOWANCE_M: f64 = 0.06 * INCH_M;

/// Least room for one pleat at the inside diameter, m. Common practice, no source.
pub const LEAST_PITCH_M: f64 = 0.03 * INCH_M;

/// How much larger than its register a neck may be without an adapter, m. Common practice, no source.
pub const LOOSE_NECK_M: f64 = 0.25 * INCH_M;

impl Limited {
    /// Every limited quantity.
    pub const ALL: [Limited; 19] = [
        Limited::TestPressure,
        Limited::FlowOfRange,
        Limited::DropOfPressure,
        Limited::Barometer,
        Limited::AirTemperature,
        Limited::TemperatureGap,
        Limited::Humidity,
        Limited::FixtureLeakage,
        Limited::ClosedThrottleLeakage,
        Limited::ElementDiameter,
        Limited::ElementHeight,
        Limited::PleatDepth,
        Limited::PleatCount,
        Limited::FaceSpeed,
        Limited::NeckBore,
        Limited::RegisterGap,
        Limited::BaseDrop,
        Limited::PriceOfMedian,
        Limited::VolumetricEfficiency,
    ];

    /// The limits that hold unless a shelf says otherwise.
    pub const fn limit(self) -> Limit {
        match self {
            Limited::TestPressure => {
                limit(Some(0.0), Some(150.0 * IN_H2O_PA), Some(3.0 * IN_H2O_PA), Some(48.0 * IN_H2O_PA))
                    .open()
            }
            Limited::FlowOfRange => limit(Some(0.0), Some(1.0), Some(0.1), None),
            Limited::DropOfPressure => limit(None, Some(1.0), Some(0.0), Some(0.4)),
            Limited::Barometer => limit(
                Some(14.0 * IN_HG_PA),
                Some(32.5 * IN_HG_PA),
                Some(24.0 * IN_HG_PA),
                Some(31.0 * IN_HG_PA),
            ),
            Limited::AirTemperature => limit(
                Some(fahrenheit_k(-60.0)),
                Some(fahrenheit_k(160.0)),
                Some(fahrenheit_k(40.0)),
                Some(fahrenheit_k(105.0)),
            ),
            Limited::TemperatureGap => limit(None, None, None, Some(9.0 / 1.8)),
            Limited::Humidity => limit(Some(0.0), Some(1.0), Some(0.1), Some(0.9)),
            Limited::FixtureLeakage => limit(Some(0.0), Some(1.0), None, Some(0.02)),
            Limited::ClosedThrottleLeakage => limit(Some(0.0), Some(1.0), None, Some(0.03)),
            Limited::ElementDiameter => {
                limit(Some(0.0), Some(36.0 * INCH_M), Some(5.0 * INCH_M), Some(17.0 * INCH_M)).open()
            }
            Limited::ElementHeight => {
                limit(Some(0.0), Some(24.0 * INCH_M), Some(1.5 * INCH_M), Some(6.0 * INCH_M)).open()
            }
            Limited::PleatDepth => limit(Some(0.0), None, Some(0.4 * INCH_M), Some(2.0 * INCH_M)).open(),
            Limited::PleatCount => limit(Some(3.0), None, Some(60.0), Some(400.0)),
            Limited::FaceSpeed => limit(Some(0.0), Some(5.0), Some(0.05), Some(0.8)),
            Limited::NeckBore => limit(Some(0.0), Some(12.0 * INCH_M), None, None).open(),
            Limited::RegisterGap => limit(Some(0.0), None, None, Some(0.06 * INCH_M)),
            Limited::BaseDrop => limit(None, None, None, Some(2.0 * INCH_M)),
            Limited::PriceOfMedian => limit(Some(0.0), None, None, Some(5.0)),
            Limited::VolumetricEfficiency => limit(Some(0.0), Some(1.6), Some(0.6), Some(1.15)).open(),
        }
    }
}

const fn limit(
    lowest: Option<f64>,
    highest: Option<f64>,
    usual_low: Option<f64>,
    usual_high: Option<f64>,
) -> Limit {
    Limit { lowest, highest, open_low: false, usual_low, usual_high }
}

impl Limit {
    const fn open(mut self) -> Limit {
        self.open_low = true;
        self
    }

    /// Judges a value. A thousandth of a percent over a limit is rounding, not a crossing.
    pub fn judge(&self, value: f64) -> Standing {
        let slack = |bound: f64| 1e-5 * bound.abs();
        if let Some(low) = self.lowest
            && (value < low - slack(low) || (self.open_low && value <= low))
        {
            return Standing::Impossible(low);
        }
        if let Some(high) = self.highest
            && value > high + slack(high)
        {
            return Standing::Impossible(high);
        }
        match (self.usual_low, self.usual_high) {
            (Some(low), _) if value < low - slack(low) => Standing::Unusual(low),
            (_, Some(high)) if value > high + slack(high) => Standing::Unusual(high),
            _ => Standing::Usual,
        }
    }
}

/// The limits of one shelf: the table above with the usual limits that the shelf overrides.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Limits {
    usual: BTreeMap<Limited, (Option<f64>, Option<f64>)>,
}

impl Limits {
    /// Replaces the usual limits of one quantity; the impossible ones stay.
    pub fn set_usual(&mut self, of: Limited, low: Option<f64>, high: Option<f64>) {
        self.usual.insert(of, (low, high));
    }

    /// The limits in force.
    pub fn of(&self, what: Limited) -> Limit {
        let mut limit = what.limit();
        if let Some(&(low, high)) = self.usual.get(&what) {
            (limit.usual_low, limit.usual_high) = (low, high);
        }
        limit
    }

    /// Judges a value against the limits in force.
    pub fn judge(&self, what: Limited, value: f64) -> Standing {
        self.of(what).judge(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_limits_lie_inside_the_impossible_ones() {
        for what in Limited::ALL {
            let l = what.limit();
            assert!(l.lowest.zip(l.usual_low).is_none_or(|(a, b)| a <= b), "{what:?}");
            assert!(l.highest.zip(l.usual_high).is_none_or(|(a, b)| a >= b), "{what:?}");
        }
    }

    #[test]
    fn a_shelf_overrides_the_usual_limits_and_never_the_impossible_ones() {
        let mut limits = Limits::default();
        assert!(matches!(limits.judge(Limited::Humidity, 0.95), Standing::Unusual(_)));
        limits.set_usual(Limited::Humidity, Some(0.2), Some(2.0));
        assert_eq!(limits.judge(Limited::Humidity, 0.95), Standing::Usual);
        assert_eq!(limits.judge(Limited::Humidity, 1.48), Standing::Impossible(1.0));
    }

    #[test]
    fn the_limit_itself_is_inside_but_zero_pressure_is_none() {
        let limits = Limits::default();
        assert_eq!(limits.judge(Limited::Humidity, 0.9), Standing::Usual);
        assert_eq!(limits.judge(Limited::TestPressure, 0.0), Standing::Impossible(0.0));
        assert_eq!(limits.judge(Limited::FixtureLeakage, 0.0), Standing::Usual);
    }
}
