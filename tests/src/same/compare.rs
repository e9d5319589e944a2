//! Where another build answered something else than the native one.

use super::script::Line;
use super::steady::Steady;
use airshelf_app::Shelf;
use airshelf_store::VersionVector;
use serde::Deserialize;
use std::fs;
use std::path::Path;
use std::sync::Arc;

/// What the other build answered.
#[derive(Clone, Debug, Deserialize)]
struct Answered {
    json: String,
    bytes: Option<String>,
}

/// Compares what stands in a folder as `native.json` and `module.json`; gives the differences, each with its request, and
/// how many answers there were.
///
/// # Errors
/// What cannot be read.
pub fn compare(folder: &Path) -> Result<(usize, Vec<String>), String> {
    let read = |name: &str| {
        let path = folder.join(name);
        fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))
    };
    let lines: Vec<Line> = serde_json::from_str(&read("native.json")?).map_err(|e| e.to_string())?;
    let others: Vec<Answered> = serde_json::from_str(&read("module.json")?).map_err(|e| e.to_string())?;
    let mut differ = Vec::new();
    if lines.len() != others.len() {
        differ.push(format!("{} requests and {} answers", lines.len(), others.len()));
    }
    for (at, (line, other)) in lines.iter().zip(&others).enumerate() {
        let asked: String = line.request.chars().take(300).collect();
        let mut tell = |what: String| differ.push(format!("request {at}: {asked}\n    {what}"));
        if line.json != other.json {
            tell(apart(&line.json, &other.json));
        }
        match (&line.bytes, &other.bytes) {
            (one, two) if one == two => {}
            (Some(one), Some(two)) if line.request.contains("\"export\"") => {
                let file = |name: &str| fs::read(folder.join("bytes").join(name)).map_err(|e| e.to_string());
                if let Err(why) = same_shelf(&file(one)?, &file(two)?) {
                    tell(why);
                }
            }
            (one, two) => tell(format!("the bytes beside differ: {one:?}, {two:?}")),
        }
    }
    Ok((lines.len(), differ))
}

/// The surroundings of the first place where two texts differ.
fn apart(one: &str, two: &str) -> String {
    let same = one.bytes().zip(two.bytes()).take_while(|(a, b)| a == b).count();
    let around = |text: &str| {
        let text = String::from_utf8_lossy(text.as_bytes()).into_owned();
        let from = (same.saturating_sub(90)..=same).find(|at| text.is_char_boundary(*at)).unwrap_or(0);
        text[from..].chars().take(150).collect::<String>()
    };
    format!("native: …{}\n    module: …{}", around(one), around(two))
}

/// Whether two packed shelves are the same, transaction by transaction and photo by photo. The database's own pages may lie
/// otherwise: each SQLite writes its version and its count of writes into them.
fn same_shelf(one: &[u8], two: &[u8]) -> Result<(), String> {
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    let open = |name: &str, bytes: &[u8]| {
        Shelf::unpack(bytes, &folder.path().join(name), Arc::new(Steady::default()))
            .map_err(|e| e.to_string())
    };
    let (one, two) = (open("one", one)?, open("two", two)?);
    let log = |shelf: &Shelf| {
        let nothing = VersionVector { shelf: shelf.store().shelf_id(), ..VersionVector::default() };
        shelf.store().transactions_since(&nothing, usize::MAX).map_err(|e| e.to_string())
    };
    let (first, second) = (log(&one)?, log(&two)?);
    let same = first.iter().zip(&second).take_while(|(a, b)| a.0 == b.0).count();
    if (same, same) != (first.len(), second.len()) {
        let label = |shelf: &Shelf| {
            let history = shelf.store().history(usize::MAX).unwrap_or_default();
            let told = history.into_iter().rev().nth(same);
            told.map_or("nothing".into(), |e| {
                format!("“{}” of {} changes, {}", e.head.label, e.changes, e.head.wall)
            })
        };
        return Err(format!(
            "the logs differ from transaction {same} of {} and {}: {} and {}",
            first.len(),
            second.len(),
            label(&one),
            label(&two)
        ));
    }
    let blobs = |shelf: &Shelf| shelf.store().blobs().list().map_err(|e| e.to_string());
    if blobs(&one)? != blobs(&two)? {
        return Err("the photos and originals differ".into());
    }
    for shelf in [&one, &two] {
        let said = shelf.store().check().map_err(|e| e.to_string())?;
        if !said.is_sound() {
            return Err("the log does not add up to the tables".into());
        }
    }
    Ok(())
}
