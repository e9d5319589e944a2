//! A small evening as a canonical sheet, to be spoiled one cell at a time.

use airshelf_catalog::Records;
use airshelf_intake::audit::{Fault, Rule, Scope, audit};
use airshelf_intake::reader::{Limits, read};
use airshelf_intake::stage::{Known, complete, stage};

/// Parts of an invented shed; every one fits the others.
pub const PARTS: &str = "\
tag,kind,name,maker,price,arrived,OD (in),ID (in),height (in),pleat count,pleat depth (in),pleat free height (in),neck bore (in),drop (in),stud length (in),filtration,service,note
CA-1,carburetor,two-barrel,,,2023-01-10,3.04,,,,,,,,,,,
QF-1,filter,paper low,Quillet,20.00,2023-01-10,11,8.6,2.25,204,0.95,1.85,,,,unknown,new,
QF-2,filter,paper tall,Quillet,22.00,2023-01-10,11,8.6,3,204,0.95,2.6,,,,unknown,new,
QF-3,filter,paper small,Quillet,24.00,2023-01-10,10,7.6,2.25,180,0.95,1.85,,,,unknown,new,
QL-1,lid,solid lid,Ostrel,18.00,2023-01-10,11.5,,0.3,,,,,,,,,
QL-2,lid,vented lid,Ostrel,26.00,2023-01-10,11.5,,0.3,,,,,,,,,
QB-1,base,flat base,Ostrel,17.00,2023-01-10,11.5,,0.1,,,,3.0625,,,,,
QS-1,stud,long stud,,3.50,2023-01-10,,,,,,,,,6.5,,,
";

const COLUMNS: [&str; 30] = [
    "session",
    "date",
    "bench",
    "range (CFM)",
    "item",
    "purpose",
    "order",
    "base",
    "spacer",
    "filter",
    "lid",
    "restraint",
    "service",
    "set pressure (inH2O)",
    "actual pressure (inH2O)",
    "flow (CFM)",
    "air temperature (F)",
    "barometer (inHg)",
    "humidity (%)",
    "note",
    "clock",
    "stud",
    "direction",
    "stated baseline (CFM)",
    "stated loss (CFM)",
    "leakage (CFM)",
    "net flow (CFM)",
    "flow at set pressure (CFM)",
    "place",
    "refit",
];

/// A sheet of runs.
#[derive(Clone)]
pub struct Sheet(Vec<Vec<String>>);

fn at(column: &str) -> usize {
    COLUMNS.iter().position(|c| c.split(" (").next() == Some(column)).expect("a canonical column")
}

impl Sheet {
    /// Leakage, three baselines and two assemblies of three fittings each; nothing is wrong with it. Data start in row 2.
    pub fn clean() -> Sheet {
        let runs = [
            ("fixture leakage", "", 20.01, 1.2),
            ("baseline", "", 20.00, 278.4),
            ("test", "QF-1", 20.03, 260.4),
            ("test", "QF-2", 19.98, 266.1),
            ("test", "QF-1", 19.97, 260.1),
            ("test", "QF-2", 20.02, 266.5),
            ("baseline", "", 20.02, 278.6),
            ("test", "QF-1", 20.00, 260.2),
            ("test", "QF-2", 20.01, 266.4),
            ("baseline", "", 19.99, 278.3),
        ];
        let mut sheet = Sheet(Vec::new());
        for (i, (purpose, filter, actual, flow)) in runs.into_iter().enumerate() {
            let mut row = vec![String::new(); COLUMNS.len()];
            let mut put = |column: &str, text: String| row[at(column)] = text;
            put("session", "QS-0601".into());
            put("date", "2024-06-01".into());
            put("bench", "shed bench".into());
            put("range", if i == 0 { "2".into() } else { "300".into() });
            put("item", if i == 0 { "blanked".into() } else { "CA-1".into() });
            put("purpose", purpose.into());
            put("order", (i + 1).to_string());
            put("set pressure", "20".into());
            put("actual pressure", format!("{actual:.2}"));
            put("flow", format!("{flow:.1}"));
            put("air temperature", "72".into());
            put("barometer", "29.30".into());
            put("humidity", "50".into());
            put("clock", format!("18:{:02}", 40 + i));
            if !filter.is_empty() {
                put("base", "QB-1".into());
                put("filter", filter.into());
                put("lid", "QL-1".into());
                put("restraint", "fastened".into());
                put("service", "new".into());
                put("stud", "QS-1".into());
                put("direction", "intake".into());
            }
            sheet.0.push(row);
        }
        sheet
    }

    /// Writes another text into a cell; rows count as in the file.
    pub fn put(mut self, row: usize, column: &str, text: &str) -> Sheet {
        self.0[row - 2][at(column)] = text.to_owned();
        self
    }

    /// Writes a text into a column of every test.
    pub fn tests(mut self, column: &str, text: &str) -> Sheet {
        for row in self.0.iter_mut().filter(|r| r[at("purpose")] == "test") {
            row[at(column)] = text.to_owned();
        }
        self
    }

    /// Writes a text into a column of every row.
    pub fn all(mut self, column: &str, text: &str) -> Sheet {
        for row in &mut self.0 {
            row[at(column)] = text.to_owned();
        }
        self
    }

    /// Copies a row to the end of the sheet.
    pub fn again(mut self, row: usize) -> Sheet {
        self.0.push(self.0[row - 2].clone());
        self
    }

    /// Leaves a row out.
    pub fn without(mut self, row: usize) -> Sheet {
        self.0.remove(row - 2);
        self
    }

    pub fn csv(&self) -> String {
        let mut out = COLUMNS.join(",");
        for row in &self.0 {
            out += "\n";
            out += &row.join(",");
        }
        out + "\n"
    }
}

/// The records of some files, imported one after the other.
pub fn records(files: &[(&str, &str)]) -> Records {
    let mut all = Records::default();
    for (name, text) in files {
        let book = read(name, text.as_bytes(), &Limits::default()).expect("the sheet reads");
        let staged = stage(name, &book, &Known::of(&all), None, &mut |_| {});
        all.append(staged.records);
        complete(&mut all, &staged.completed).unwrap();
    }
    all
}

/// Faults of a sheet of runs beside the shed's parts.
pub fn faults(runs: &Sheet) -> Vec<Fault> {
    audit(&records(&[("parts.csv", PARTS), ("runs.csv", &runs.csv())]), &Scope::default())
}

/// Faults of a sheet of parts with one row more.
pub fn part_faults(row: &str) -> Vec<Fault> {
    audit(&records(&[("parts.csv", &format!("{PARTS}{row}\n"))]), &Scope::default())
}

/// Rules and rows.
pub fn told(faults: &[Fault]) -> Vec<(&'static str, Option<i64>)> {
    faults.iter().filter(|f| f.rule != Rule::PartBare).map(|f| (f.rule.code(), f.place.row)).collect()
}

/// Expects exactly this fault, and none other.
pub fn only(runs: &Sheet, rule: Rule, row: i64) -> Fault {
    let found = faults(runs);
    assert_eq!(told(&found), [(rule.code(), Some(row))]);
    found.into_iter().find(|f| f.rule == rule).expect("just seen")
}

/// Expects no fault of this rule.
pub fn not(runs: &Sheet, rule: Rule) {
    let found = faults(runs);
    assert!(found.iter().all(|f| f.rule != rule), "{:?}", told(&found));
}
