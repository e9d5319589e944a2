//! Every unit: symbol, printed form, factor, offset, other spellings, and where the factor comes from.
//!
//! Within a dimension the order is the order in which units are offered to a person. Spellings are compared after the
//! reduction in `named.rs` (case, spaces, full stops, long words), so only the distinct short forms stand here.

use crate::{Dimension, Unit};

pub(crate) struct Row {
    pub symbol: &'static str,
    pub shown: &'static str,
    pub dimension: Dimension,
    pub factor: f64,
    pub offset: f64,
    pub spellings: &'static [&'static str],
    pub source: &'static str,
}

const INCH_M: f64 = 0.0254;
const FOOT_M: f64 = 0.3048;
const POUND_KG: f64 = 0.453_592_37;
const OUNCE_KG: f64 = POUND_KG / 16.0;
const GRAVITY_M_S2: f64 = 9.806_65;
const CUBIC_FOOT_M3: f64 = FOOT_M * FOOT_M * FOOT_M;
const CUBIC_INCH_M3: f64 = INCH_M * INCH_M * INCH_M;
/// Conventional density of water and of mercury (0 °C) behind the conventional manometer units.
const WATER_KG_M3: f64 = 1000.0;
const MERCURY_KG_M3: f64 = 13_595.1;

const SI: &str = "SI Brochure, 9th ed.";
const EXACT: &str =
    "exact: in = 25.4 mm, lb = 0.453 592 37 kg, g_n = 9.806 65 m/s2 (NIST SP 811, 2008, App. B.8)";
const NIST: &str = "NIST SP 811, 2008, App. B.8";
const DEFINED: &str = "exact, by definition of the unit";

macro_rules! rows {
    ($($name:ident $symbol:literal $shown:literal $dimension:ident $factor:expr, $offset:expr, $spellings:expr, $source:expr;)*) => {
        #[allow(non_camel_case_types, clippy::upper_case_acronyms)]
        enum Place { $($name),* }

        impl Unit {
            $(#[doc = concat!("The unit `", $symbol, "`.")] pub const $name: Unit = Unit(Place::$name as u8);)*
        }

        pub(crate) static ROWS: &[Row] = &[$(Row {
            symbol: $symbol, shown: $shown, dimension: Dimension::$dimension,
            factor: $factor, offset: $offset, spellings: &$spellings, source: $source,
        }),*];
    };
}

rows! {
    INCH "in" "in" Length INCH_M, 0.0, ["ins"], EXACT;
    MM "mm" "mm" Length 1e-3, 0.0, [], SI;
    CM "cm" "cm" Length 1e-2, 0.0, [], SI;
    M "m" "m" Length 1.0, 0.0, [], SI;
    FOOT "ft" "ft" Length FOOT_M, 0.0, [], EXACT;
    THOU "thou" "thou" Length INCH_M / 1000.0, 0.0, ["mil", "mils"], EXACT;
    MICROMETER "um" "µm" Length 1e-6, 0.0, ["micron", "microns", "micrometer", "micrometre"], SI;

    SQ_IN "in2" "in²" Area INCH_M * INCH_M, 0.0, ["sqin", "in sq", "sqi"], EXACT;
    SQ_CM "cm2" "cm²" Area 1e-4, 0.0, ["sqcm", "cm sq"], SI;
    SQ_MM "mm2" "mm²" Area 1e-6, 0.0, ["sqmm", "mm sq"], SI;
    M2 "m2" "m²" Area 1.0, 0.0, ["sqm", "m sq"], SI;
    SQ_FT "ft2" "ft²" Area FOOT_M * FOOT_M, 0.0, ["sqft", "ft sq"], EXACT;

    CUBIC_INCH "in3" "in³" Volume CUBIC_INCH_M3, 0.0, ["cuin", "ci", "cid", "in cu", "cui"], EXACT;
    CC "cm3" "cm³" Volume 1e-6, 0.0, ["cc", "ccm", "ml", "cucm", "milliliter", "millilitre"], SI;
    LITER "L" "L" Volume 1e-3, 0.0, ["ltr", "dm3"], SI;
    M3 "m3" "m³" Volume 1.0, 0.0, ["cum"], SI;
    CUBIC_FOOT "ft3" "ft³" Volume CUBIC_FOOT_M3, 0.0, ["cuft"], EXACT;

    IN_H2O "inH2O" "inH2O" Pressure INCH_M * WATER_KG_M3 * GRAVITY_M_S2, 0.0,
        ["inwc", "inwg", "inaq", "inH2Owc", "inh20", "iwc", "iwg", "in aq"], "conventional, 0.0254 x 1000 x 9.80665 (NIST SP 811, 2008, App. B.8)";
    IN_HG "inHg" "inHg" Pressure INCH_M * MERCURY_KG_M3 * GRAVITY_M_S2, 0.0,
        ["inHg 0C", "inHg 32F", "inHg 0degC", "inHg 32degF"], "conventional, 0.0254 x 13595.1 x 9.80665 (NIST SP 811, 2008, App. B.8)";
    KPA "kPa" "kPa" Pressure 1e3, 0.0, ["kilopascal", "kilopascals"], SI;
    HPA "hPa" "hPa" Pressure 1e2, 0.0, ["hectopascal", "hectopascals"], SI;
    PASCAL "Pa" "Pa" Pressure 1.0, 0.0, ["pascal", "pascals"], SI;
    MBAR "mbar" "mbar" Pressure 1e2, 0.0, ["mb", "millibar", "millibars"], NIST;
    MM_H2O "mmH2O" "mmH2O" Pressure 1e-3 * WATER_KG_M3 * GRAVITY_M_S2, 0.0,
        ["mmwc", "mmwg", "mmaq", "mmh20", "mmws"], "conventional (NIST SP 811, 2008, App. B.8)";
    CM_H2O "cmH2O" "cmH2O" Pressure 1e-2 * WATER_KG_M3 * GRAVITY_M_S2, 0.0,
        ["cmwc", "cmwg", "cmaq", "cmh20"], "conventional (NIST SP 811, 2008, App. B.8)";
    MM_HG "mmHg" "mmHg" Pressure 1e-3 * MERCURY_KG_M3 * GRAVITY_M_S2, 0.0,
        [], "conventional (NIST SP 811, 2008, App. B.8)";
    PSI "psi" "psi" Pressure POUND_KG * GRAVITY_M_S2 / (INCH_M * INCH_M), 0.0,
        ["lb/in2", "lb/sqin", "lbf/in2", "psid", "psia", "psig"], EXACT;
    OZ_IN2 "oz/in2" "oz/in²" Pressure OUNCE_KG * GRAVITY_M_S2 / (INCH_M * INCH_M), 0.0,
        ["osi", "oz/sqin", "ozf/in2"], EXACT;
    BAR "bar" "bar" Pressure 1e5, 0.0, ["bars"], NIST;
    ATM "atm" "atm" Pressure 101_325.0, 0.0, ["standard atmosphere", "atmosphere", "atmospheres"], NIST;
    TORR "Torr" "Torr" Pressure 101_325.0 / 760.0, 0.0, [], NIST;
    MPA "MPa" "MPa" Pressure 1e6, 0.0, ["megapascal"], SI;
    IN_H2O_4C "inH2O@4C" "inH2O (4 °C)" Pressure 249.082, 0.0,
        ["inH2O 4degC", "inH2O 39.2degF", "inH2O 39.2F", "inH2O 39F", "inH2O 39degF"], NIST;
    IN_H2O_60F "inH2O@60F" "inH2O (60 °F)" Pressure 248.84, 0.0,
        ["inH2O 60degF", "inH2O 15.6degC", "inH2O 15.6C"], NIST;
    IN_HG_60F "inHg@60F" "inHg (60 °F)" Pressure 3376.85, 0.0,
        ["inHg 60degF", "inHg 15.6degC", "inHg 15.6C"], NIST;

    CFM "CFM" "CFM" Flow CUBIC_FOOT_M3 / 60.0, 0.0, ["ft3/min", "cuft/min", "acfm"], EXACT;
    L_S "L/s" "L/s" Flow 1e-3, 0.0, ["lps", "dm3/s"], SI;
    M3_H "m3/h" "m³/h" Flow 1.0 / 3600.0, 0.0, ["cum/h", "cmh"], SI;
    M3_MIN "m3/min" "m³/min" Flow 1.0 / 60.0, 0.0, ["cum/min", "cmm"], SI;
    L_MIN "L/min" "L/min" Flow 1e-3 / 60.0, 0.0, ["lpm"], SI;
    M3_S "m3/s" "m³/s" Flow 1.0, 0.0, ["cum/s"], SI;
    CFS "ft3/s" "ft³/s" Flow CUBIC_FOOT_M3, 0.0, ["cfs", "cuft/s"], EXACT;
    CFH "ft3/h" "ft³/h" Flow CUBIC_FOOT_M3 / 3600.0, 0.0, ["cfh", "cuft/h"], EXACT;

    LB_MIN "lb/min" "lb/min" MassFlow POUND_KG / 60.0, 0.0, [], EXACT;
    KG_H "kg/h" "kg/h" MassFlow 1.0 / 3600.0, 0.0, [], SI;
    G_S "g/s" "g/s" MassFlow 1e-3, 0.0, [], SI;
    KG_S "kg/s" "kg/s" MassFlow 1.0, 0.0, [], SI;
    KG_MIN "kg/min" "kg/min" MassFlow 1.0 / 60.0, 0.0, [], SI;
    LB_H "lb/h" "lb/h" MassFlow POUND_KG / 3600.0, 0.0, ["pph"], EXACT;
    LB_S "lb/s" "lb/s" MassFlow POUND_KG, 0.0, [], EXACT;

    FAHRENHEIT "degF" "°F" Temperature 1.0 / 1.8, 459.67, ["F", "F°"], "T/K = (t/degF + 459.67)/1.8 (NIST SP 811, 2008, App. B.8)";
    CELSIUS "degC" "°C" Temperature 1.0, 273.15, ["C", "C°", "centigrade", "deg centigrade"], SI;
    KELVIN "K" "K" Temperature 1.0, 0.0, ["degK"], SI;
    RANKINE "degR" "°R" Temperature 1.0 / 1.8, 0.0, ["R", "rankine", "deg rankine"], NIST;

    DELTA_F "deltaF" "°F" TemperatureDifference 1.0 / 1.8, 0.0, ["F", "degF", "F°", "delta degF", "F diff", "degF diff", "degR"], NIST;
    DELTA_K "deltaK" "K" TemperatureDifference 1.0, 0.0, ["K", "delta degK", "K diff"], SI;
    DELTA_C "deltaC" "°C" TemperatureDifference 1.0, 0.0, ["C", "degC", "C°", "delta degC", "C diff", "degC diff"], SI;

    PERCENT "%" "%" Ratio 1e-2, 0.0, ["%RH", "RH", "RH %", "%rel", "rel %", "pct", "% relative humidity", "% rel humidity", "% humidity"], DEFINED;
    RATIO "1" "" Ratio 1.0, 0.0, ["ratio", "fraction"], DEFINED;
    PER_MILLE "‰" "‰" Ratio 1e-3, 0.0, ["per mille", "promille"], DEFINED;
    PARTS_PER_MILLION "ppm" "ppm" Ratio 1e-6, 0.0, ["ppmv"], DEFINED;

    LB_FT3 "lb/ft3" "lb/ft³" Density POUND_KG / CUBIC_FOOT_M3, 0.0, ["lb/cuft", "pcf"], EXACT;
    KG_M3 "kg/m3" "kg/m³" Density 1.0, 0.0, ["kg/cum", "g/L"], SI;
    G_CM3 "g/cm3" "g/cm³" Density 1e3, 0.0, ["g/cc", "g/ml"], SI;

    PA_S "Pa.s" "Pa·s" Viscosity 1.0, 0.0, ["kg/ms"], SI;
    MICRO_PA_S "uPa.s" "µPa·s" Viscosity 1e-6, 0.0, [], SI;
    CENTIPOISE "cP" "cP" Viscosity 1e-3, 0.0, ["centipoise"], NIST;

    FT_S "ft/s" "ft/s" Speed FOOT_M, 0.0, ["fps"], EXACT;
    M_S "m/s" "m/s" Speed 1.0, 0.0, ["mps"], SI;
    FT_MIN "ft/min" "ft/min" Speed FOOT_M / 60.0, 0.0, ["fpm"], EXACT;
    KM_H "km/h" "km/h" Speed 1.0 / 3.6, 0.0, ["kph", "kmh"], SI;
    MPH "mph" "mph" Speed FOOT_M * 5280.0 / 3600.0, 0.0, ["mi/h", "miles/h", "mile/h"], EXACT;

    OUNCE "oz" "oz" Mass OUNCE_KG, 0.0, [], EXACT;
    GRAM "g" "g" Mass 1e-3, 0.0, ["gm", "gms"], SI;
    POUND "lb" "lb" Mass POUND_KG, 0.0, [], EXACT;
    KG "kg" "kg" Mass 1.0, 0.0, ["kgs", "kilo", "kilos"], SI;
    MILLIGRAM "mg" "mg" Mass 1e-6, 0.0, ["milligram", "milligrams"], SI;

    RPM "rpm" "rpm" RotationalSpeed std::f64::consts::TAU / 60.0, 0.0, ["r/min", "rev/min", "revs/min", "revs", "1/min", "min-1", "revolutions/min"], DEFINED;
    REV_S "rev/s" "rev/s" RotationalSpeed std::f64::consts::TAU, 0.0, ["rps", "r/s", "revs/s"], DEFINED;
    RAD_S "rad/s" "rad/s" RotationalSpeed 1.0, 0.0, [], SI;

    HP "hp" "hp" Power 550.0 * FOOT_M * POUND_KG * GRAVITY_M_S2, 0.0, ["bhp", "whp", "horsepower"], "550 ft lbf/s (NIST SP 811, 2008, App. B.8)";
    KW "kW" "kW" Power 1e3, 0.0, ["kilowatt", "kilowatts"], SI;
    HP_METRIC "hp(M)" "hp (metric)" Power 75.0 * GRAVITY_M_S2, 0.0, ["PS", "cv", "metric hp", "metric horsepower", "horsepower metric"], "75 kgf m/s (NIST SP 811, 2008, App. B.8)";
    WATT "W" "W" Power 1.0, 0.0, ["watt", "watts"], SI;

    SECOND "s" "s" Time 1.0, 0.0, [], SI;
    MINUTE "min" "min" Time 60.0, 0.0, ["mins"], SI;
    HOUR "h" "h" Time 3600.0, 0.0, [], SI;
    DAY "d" "d" Time 86_400.0, 0.0, ["day", "days"], SI;
    MILLISECOND "ms" "ms" Time 1e-3, 0.0, ["msec"], SI;

    DEGREE "deg" "°" Angle std::f64::consts::PI / 180.0, 0.0, [], SI;
    RADIAN "rad" "rad" Angle 1.0, 0.0, ["radian", "radians"], SI;

    COUNT "count" "" Count 1.0, 0.0, ["pcs", "pc", "pieces", "piece", "ea", "each", "off", "pleats", "pleat", "x"], DEFINED;
}
