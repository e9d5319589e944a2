//! The rules: code, severity, and what a fault keeps a record out of.

/// How much a fault matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Only tells.
    Inform,
    /// Widens or marks.
    Warn,
    /// Keeps the record out of comparisons until it is repaired or let stand.
    Block,
}

/// What a blocking fault keeps a record out of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize)]
pub struct Reach {
    /// Out of every comparison.
    pub comparison: bool,
    /// Out of losses against a baseline, in flow and in percent.
    pub loss: bool,
    /// Out of pressure drop, `k`, the engine and other pressures; percent loss inside one page stays, marked.
    pub pressure: bool,
}

impl Reach {
    /// Both together.
    #[must_use]
    pub fn and(self, other: Reach) -> Reach {
        Reach {
            comparison: self.comparison | other.comparison,
            loss: self.loss | other.loss,
            pressure: self.pressure | other.pressure,
        }
    }

    /// Whether anything is kept out.
    pub fn any(self) -> bool {
        self.comparison | self.loss | self.pressure
    }
}

macro_rules! rules {
    ($( $(#[$meta:meta])* $rule:ident $code:literal $severity:ident, )+) => {
        /// A rule of the audit.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        pub enum Rule { $( $(#[$meta])* #[serde(rename = $code)] $rule, )+ }

        impl Rule {
            /// Every rule.
            pub const ALL: &'static [Rule] = &[ $( Rule::$rule, )+ ];
            /// The code that stands for the rule in files, decisions and JSON.
            pub fn code(self) -> &'static str { match self { $( Rule::$rule => $code, )+ } }
            /// The rule of a code, if this program knows it.
            pub fn from_code(code: &str) -> Option<Rule> { match code { $( $code => Some(Rule::$rule), )+ _ => None } }
            /// How much a fault of the rule matters, unless the fault says otherwise.
            pub const fn severity(self) -> Severity { match self { $( Rule::$rule => Severity::$severity, )+ } }
        }
    };
}

rules! {
    /// A run has no test pressure, nor has its page.
    PressureMissing "pressure-missing" Block,
    /// A run is compared with runs at another test pressure.
    PressureMixed "pressure-mixed" Block,
    /// A pressure fits another unit.
    PressureUnit "pressure-unit" Block,
    /// A flow is above the bench range in use.
    OverRange "over-range" Block,
    /// A flow is above 95 % of the range.
    NearRange "near-range" Warn,
    /// The actual pressure is off the set pressure.
    OffPressure "off-pressure" Warn,
    /// A run has no baseline before it or none after it.
    Unbracketed "unbracketed" Warn,
    /// Baselines of a session differ; blocks when they differ much.
    BaselineDrift "baseline-drift" Warn,
    /// A baseline does not say bare or with which base.
    BaselineUndefined "baseline-undefined" Block,
    /// Flow and stated loss do not add up to the stated baseline.
    LossArithmetic "loss-arithmetic" Block,
    /// Gains and losses have mixed or reversed signs.
    SignMixed "sign-mixed" Block,
    /// A loss in percent is entered as a flow.
    PercentAsFlow "percent-as-flow" Block,
    /// Closed-throttle leakage is subtracted as fixture leakage.
    ThrottleLeakSubtracted "throttle-leak-subtracted" Block,
    /// Fixture leakage has no pressure, or another than the runs'.
    LeakPressure "leak-pressure" Warn,
    /// Leakage is taken off one side of the comparison only.
    LeakOneSided "leak-one-sided" Block,
    /// A correction is applied twice.
    DoubleCorrection "double-correction" Block,
    /// Ratings at different pressures are placed against each other.
    RatingMixed "rating-mixed" Block,
    /// A fraction is typed as digits.
    FractionMisread "fraction-misread" Warn,
    /// A length fits only after × or ÷ 25.4.
    InchMm "inch-mm" Block,
    /// The same run is recorded twice.
    DuplicateRow "duplicate-row" Warn,
    /// Identical digits or clock pose as a repeat.
    CopiedReading "copied-reading" Warn,
    /// Bore, register or height do not fit.
    CannotAssemble "cannot-assemble" Block,
    /// The stud is shorter than the assembly stands.
    StudShort "stud-short" Block,
    /// A part that was not fastened is ranked.
    Unrestrained "unrestrained" Block,
    /// A difference is claimed from one reading each.
    SingleReading "single-reading" Warn,
    /// Pleat depth, count or area exceeds the geometry.
    AreaImpossible "area-impossible" Block,
    /// A run is older than its part's arrival or revision.
    BeforeArrival "before-arrival" Block,
    /// More area, or an added parallel path, flows less.
    BiggerFlowsLess "bigger-flows-less" Inform,
    /// Flow follows the order of the runs through a session.
    OrderTrend "order-trend" Warn,
    /// An exhaust-direction run is used for an intake part.
    WrongDirection "wrong-direction" Block,
    /// The state of a filter is not stated.
    ServiceStateMissing "service-state-missing" Warn,
    /// A prediction was written after the first reading.
    LatePrediction "late-prediction" Block,
    /// A filtration claim or figure has no test named.
    FiltrationUnproven "filtration-unproven" Warn,
    /// Barometer, air temperature or humidity is missing.
    AmbientMissing "ambient-missing" Warn,
    /// A blank is stored as zero.
    BlankAsZero "blank-as-zero" Block,
    /// Runs are compared across bench ranges.
    RangeMixed "range-mixed" Warn,
    /// Runs are compared across carburetors or items.
    ItemMixed "item-mixed" Block,
    /// A loss is taken against another session's baseline.
    BaselineForeign "baseline-foreign" Block,
    /// Month and day of a date can be either.
    DateAmbiguous "date-ambiguous" Warn,
    /// A run names a part that the shelf does not have.
    PartUnknown "part-unknown" Inform,
    /// Two spellings look like one part.
    PartAlias "part-alias" Inform,
    /// Two parts look like one.
    PartDuplicate "part-duplicate" Inform,
    /// A part was never photographed, measured or tested.
    PartBare "part-bare" Inform,
    /// A value is outside its impossible limits.
    OutOfRange "out-of-range" Block,
    /// A value is outside its usual limits.
    Unusual "unusual" Inform,
}

impl Rule {
    /// What a blocking fault of the rule keeps a run out of.
    pub fn reach(self) -> Reach {
        match self {
            Rule::PressureMissing => Reach { pressure: true, ..Reach::default() },
            Rule::BaselineUndefined | Rule::BaselineForeign => Reach { loss: true, ..Reach::default() },
            _ => Reach { comparison: true, loss: true, pressure: true },
        }
    }

    pub(crate) fn bit(self) -> u64 {
        1 << (self as u8)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_read_back_and_fit_one_set_of_marks() {
        assert!(Rule::ALL.len() <= 64);
        for &rule in Rule::ALL {
            assert_eq!(Rule::from_code(rule.code()), Some(rule));
        }
    }
}
