//! Reads reference cases: inputs in SI, tolerances, and what to hold against them.

use std::collections::BTreeMap;
use std::path::Path;

use airshelf_flow::FlowError;
use serde_json::Value;

/// NIST SP 811 (2008), appendix B.8.
pub const INCH: f64 = 0.0254;
pub const SQUARE_INCH: f64 = INCH * INCH;
pub const CFM: f64 = 0.3048 * 0.3048 * 0.3048 / 60.0;
pub const INH2O: f64 = 249.088_91;
pub const INHG: f64 = 3_386.388_640_341;

/// What an adapter found.
pub enum Outcome {
    /// Values in the case's own units, at its own tolerance.
    Values(Vec<f64>),
    /// Values of our model held against another one, at this relative spread.
    Spread(Vec<f64>, f64),
    /// Yes or no.
    Truth(bool),
    /// The input was refused.
    Refused(FlowError),
    /// Deliberately not computed; the test lists the reason.
    NotCovered,
}

/// One reference case.
pub struct Case {
    pub id: String,
    pub area: String,
    pub quantity: String,
    inputs: BTreeMap<String, Value>,
    expected: Value,
    rel_tol: f64,
    abs_tol: f64,
}

/// Reads every case of a file under `fixtures/reference`.
pub fn read(file: &str) -> Vec<Case> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/reference").join(file);
    let text = std::fs::read_to_string(&path).unwrap();
    let rows: Vec<Value> = serde_json::from_str(&text).unwrap();
    rows.iter()
        .map(|row| {
            assert!(!row["source"].as_str().unwrap().is_empty());
            Case {
                id: row["id"].as_str().unwrap().into(),
                area: row["area"].as_str().unwrap().into(),
                quantity: row["quantity"].as_str().unwrap().into(),
                inputs: serde_json::from_value(row["inputs"].clone()).unwrap(),
                expected: row["expected"].clone(),
                rel_tol: row["rel_tol"].as_f64().unwrap_or(0.0),
                abs_tol: row["abs_tol"].as_f64().unwrap_or(0.0),
            }
        })
        .collect()
}

/// Turns a value in a case's unit into SI; what follows a comma is a remark.
fn to_si(value: f64, unit: &str) -> f64 {
    let plain = unit.split(',').next().unwrap().trim();
    let factor = match plain {
        "degC" => return value + 273.15,
        "1/min" => 1.0 / 60.0,
        "%" | "% (as r320)" => 0.01,
        "in" => INCH,
        "in2" => SQUARE_INCH,
        "in3" => INCH.powi(3),
        "mm" => 1e-3,
        "CFM" | "CFM at rho_cal" | "CFM each alone on the baseline" => CFM,
        "inH2O" | "inH2O (conventional)" => INH2O,
        // Water of 999.001 kg/m3; NIST SP 811 prints 248.84.
        "inH2O (60 degF)" => 0.0254 * 999.001 * 9.806_65,
        "inHg (conventional)" => INHG,
        "inH2O/CFM" => INH2O / CFM,
        "inH2O/CFM^2" => INH2O / (CFM * CFM),
        "1" | "" | "Pa" | "K" | "m" | "kg/m3" | "kg/s" | "Pa s" | "J/(kg K)" => 1.0,
        other => panic!("unknown unit {other:?}"),
    };
    value * factor
}

impl Case {
    fn input(&self, name: &str) -> &Value {
        self.inputs.get(name).unwrap_or_else(|| panic!("{} has no input {name}", self.id))
    }

    fn unit(&self, name: &str) -> &str {
        self.input(name)["unit"].as_str().unwrap()
    }

    /// An input in SI, if the case has it.
    pub fn try_si(&self, name: &str) -> Option<f64> {
        self.inputs.contains_key(name).then(|| self.si(name))
    }

    pub fn si(&self, name: &str) -> f64 {
        to_si(self.raw(name), self.unit(name))
    }

    pub fn si_list(&self, name: &str) -> Vec<f64> {
        self.raw_list(name).into_iter().map(|x| to_si(x, self.unit(name))).collect()
    }

    /// An input in its own unit.
    pub fn raw(&self, name: &str) -> f64 {
        self.input(name)["value"].as_f64().unwrap_or_else(|| panic!("{} {name}", self.id))
    }

    pub fn raw_list(&self, name: &str) -> Vec<f64> {
        numbers(&self.input(name)["value"])
    }

    pub fn text(&self, name: &str) -> &str {
        self.input(name)["value"].as_str().unwrap()
    }

    pub fn has_value(&self, name: &str) -> bool {
        !self.input(name)["value"].is_null()
    }

    pub fn point(&self, name: &str) -> [f64; 2] {
        pair(&self.input(name)["value"])
    }

    pub fn points(&self, name: &str) -> Vec<[f64; 2]> {
        self.input(name)["value"].as_array().unwrap().iter().map(pair).collect()
    }

    pub fn expected_list(&self) -> Vec<f64> {
        numbers(&self.expected)
    }

    /// Says why an outcome does not meet the case.
    pub fn judge(&self, outcome: &Outcome) -> Result<(), String> {
        match outcome {
            Outcome::Values(values) => self.near(values, self.rel_tol, self.abs_tol),
            Outcome::Spread(values, spread) => self.near(values, *spread, 0.0),
            Outcome::Truth(truth) if self.expected == Value::Bool(*truth) => Ok(()),
            Outcome::Truth(truth) => Err(format!("{truth} against {}", self.expected)),
            Outcome::Refused(_) if self.expected.is_null() => Ok(()),
            Outcome::Refused(error) => Err(format!("refused: {error}")),
            Outcome::NotCovered => Err("not covered".into()),
        }
    }

    fn near(&self, values: &[f64], relative: f64, absolute: f64) -> Result<(), String> {
        let expected = match &self.expected {
            Value::Null => return Err(format!("{values:?} should be refused")),
            expected => numbers(expected),
        };
        if values.len() != expected.len() {
            return Err(format!("{values:?} against {expected:?}"));
        }
        for (value, want) in values.iter().zip(&expected) {
            let allowed = relative * want.abs() + absolute;
            if (value - want).abs().is_nan() || (value - want).abs() > allowed {
                return Err(format!("{value} against {want}, allowed {allowed:.3e}"));
            }
        }
        Ok(())
    }
}

fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(list) => list.iter().map(|x| x.as_f64().unwrap()).collect(),
        one => vec![one.as_f64().unwrap()],
    }
}

fn pair(value: &Value) -> [f64; 2] {
    let list = numbers(value);
    [list[0], list[1]]
}
