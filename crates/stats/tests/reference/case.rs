//! Reads reference cases and holds answers against them.

use std::path::Path;

use serde_json::Value;

/// One reference case.
pub struct Case {
    pub id: String,
    pub area: String,
    pub quantity: String,
    inputs: Value,
    expected: Value,
    rel_tol: f64,
    abs_tol: f64,
}

/// What a function gave.
#[derive(Debug, Clone, Copy)]
pub enum Found {
    Number(f64),
    Refused,
}

/// Turns numbers into an answer.
pub fn numbers(values: impl IntoIterator<Item = f64>) -> Option<Vec<Found>> {
    Some(values.into_iter().map(Found::Number).collect())
}

/// Reads every case of a file under `fixtures/reference`.
pub fn read(file: &str) -> Vec<Case> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/reference").join(file);
    let rows: Vec<Value> = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    rows.into_iter()
        .map(|row| {
            assert!(!row["source"].as_str().unwrap().is_empty());
            Case {
                id: row["id"].as_str().unwrap().into(),
                area: row["area"].as_str().unwrap().into(),
                quantity: row["quantity"].as_str().unwrap().into(),
                inputs: row["inputs"].clone(),
                expected: row["expected"].clone(),
                rel_tol: row["rel_tol"].as_f64().unwrap_or(0.0),
                abs_tol: row["abs_tol"].as_f64().unwrap_or(0.0),
            }
        })
        .collect()
}

impl Case {
    pub fn value(&self, name: &str) -> &Value {
        let value = &self.inputs[name]["value"];
        assert!(!value.is_null(), "{} has no input {name}", self.id);
        value
    }

    pub fn number(&self, name: &str) -> f64 {
        self.value(name).as_f64().unwrap_or_else(|| panic!("{} {name}", self.id))
    }

    pub fn count(&self, name: &str) -> usize {
        usize::try_from(self.value(name).as_u64().unwrap()).unwrap()
    }

    /// A list; a null is infinite, which is what cases mean by unstated
    /// degrees of freedom.
    pub fn list(&self, name: &str) -> Vec<f64> {
        list(self.value(name))
    }

    pub fn table(&self, name: &str) -> Vec<Vec<f64>> {
        self.value(name).as_array().unwrap().iter().map(list).collect()
    }

    /// A list of numbers written as text.
    pub fn texts(&self, name: &str) -> Vec<&str> {
        self.value(name).as_array().unwrap().iter().map(|v| v.as_str().unwrap()).collect()
    }

    /// Says where an answer is off.
    pub fn judge(&self, found: &[Found]) -> Result<(), String> {
        let one = std::slice::from_ref(&self.expected);
        let expected = self.expected.as_array().map_or(one, Vec::as_slice);
        if expected.len() != found.len() {
            return Err(format!("{} values, expected {}", found.len(), expected.len()));
        }
        for (i, (want, got)) in expected.iter().zip(found).enumerate() {
            let want = match (want.as_str(), want.as_f64()) {
                (Some("inf"), _) => f64::INFINITY,
                (_, Some(number)) => number,
                _ => match got {
                    Found::Refused => continue,
                    Found::Number(got) => return Err(format!("[{i}] {got}, expected a refusal")),
                },
            };
            let Found::Number(got) = *got else { return Err(format!("[{i}] refused, expected {want}")) };
            let near = got == want || (got - want).abs() <= self.rel_tol * want.abs() + self.abs_tol;
            if !near {
                return Err(format!("[{i}] {got}, expected {want}"));
            }
        }
        Ok(())
    }
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap_or(f64::INFINITY)).collect()
}
