//! What people do to a shelf: they write, strike, delete, undo, import, photograph, settle, and give up half-way.

use crate::device::Device;
use crate::facts::{FIELDS, Facts, Seen};
use crate::sheets;
use airshelf_catalog::model::{Decision, Listing, Part, Photo, Reading, Run};
use airshelf_catalog::{DecisionKind, Quantity, Uuid, Value};
use airshelf_store::{Pace, Store, StoreError};
use fastrand::Rng;

/// Texts that were never written before.
#[derive(Default)]
pub struct Pen {
    written: u32,
    /// Whether everybody is about the same few parts, which come and go.
    pub few: bool,
}

impl Pen {
    fn text(&mut self, what: &str) -> String {
        self.written += 1;
        format!("{what} {}", self.written)
    }
}

/// What a deed was, and what of it must be there once it is done.
#[derive(Default)]
struct Deed {
    told: String,
    readings: Vec<(Uuid, f64)>,
    photo: Option<([u8; 32], Vec<u8>)>,
    /// Whether it may replace more than what showed.
    may_settle: bool,
    /// A sheet that was imported, and under which label.
    import: Option<(u8, String)>,
    /// A text that must stand after it.
    text: Option<String>,
}

/// Does something at random on a device, whose power may go or whose disk may be full meanwhile. Says what.
pub fn something(device: &mut Device, facts: &mut Facts, pen: &mut Pen, dice: &mut Rng) -> String {
    let before = Seen::of(device.held());
    let were_back = sheets::taken_back(device.held());
    let mut deed = Deed::default();
    let done = act(device, &before, facts, pen, dice, &mut deed);
    let dark = device.recovers(dice);
    let after = Seen::of(device.held());
    facts.note(device, &before, &after, deed.may_settle);
    for sheet in sheets::taken_back(device.held()).difference(&were_back) {
        facts.taken_back(*sheet, sheets::imports(device.held(), *sheet));
    }
    // What adds nothing to a shelf leaves nothing to stand.
    let import = deed.import.take();
    let import = import.filter(|(sheet, label)| sheets::imports(device.held(), *sheet).contains(label));
    if let Some((sheet, label)) = import {
        facts.imported(sheet, label);
    }
    let holds = |device: &Device, id: Uuid| device.held().holds(id).unwrap();
    let outcome = match &done {
        Ok(()) => {
            let stands = |text: &String| after.standing.values().any(|texts| texts.contains(text));
            assert!(deed.text.as_ref().is_none_or(stands), "{}: done, and does not show", deed.told);
            deed.readings.iter().for_each(|(id, flow)| facts.reading(*id, *flow));
            "done".to_owned()
        }
        Err(error) if dark => {
            // It was done or it was not; half of it is neither.
            let held = deed.readings.iter().filter(|(id, _)| holds(device, *id)).count();
            assert!(held == 0 || held == deed.readings.len(), "{}: half done", deed.told);
            if held > 0 {
                deed.readings.iter().for_each(|(id, flow)| facts.reading(*id, *flow));
            }
            format!("the power went ({error}); {}", if before == after { "not done" } else { "done" })
        }
        Err(error) => {
            let expected = matches!(
                error,
                StoreError::DiskFull
                    | StoreError::Stopped
                    | StoreError::NoSuchRow { .. }
                    | StoreError::Io { .. }
            );
            assert!(expected, "{}: {error}", deed.told);
            assert_eq!(before, after, "{}: refused ({error}), and yet something changed", deed.told);
            format!("refused: {error}")
        }
    };
    if let (Ok(()), Some((hash, bytes))) = (done, deed.photo) {
        facts.blob(hash, bytes);
    }
    format!("{}: {}{}: {outcome}", device.name, deed.told, if dark { " (dark)" } else { "" })
}

fn any(dice: &mut Rng, of: &Seen, store: &Store) -> Option<Uuid> {
    let parts: Vec<Uuid> = store.load::<Part>().ok()?.iter().map(|part| part.id).collect();
    let parts: Vec<Uuid> = parts.into_iter().filter(|id| of.alive.contains(id)).collect();
    dice.choice(parts)
}

fn write(
    store: &mut Store,
    label: &str,
    work: impl FnOnce(&mut airshelf_store::Writer<'_>) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    store.write(label, work).map(drop)
}

fn act(
    device: &mut Device,
    before: &Seen,
    facts: &mut Facts,
    pen: &mut Pen,
    dice: &mut Rng,
    deed: &mut Deed,
) -> Result<(), StoreError> {
    let old = device.machine.is_old();
    let store = device.store();
    let part = any(dice, before, store);
    let doing = match dice.u8(0..32) {
        // Edits and deletes instead of what would crowd the shelf.
        0..=1 | 25..=27 if pen.few => dice.u8(2..15),
        doing => doing,
    };
    match (doing, part) {
        (0..=1, _) | (_, None) => {
            let part = Part { tag: Some(pen.text("tag")), note: Some(pen.text("note")), ..Part::default() };
            deed.told = format!("new part {:?}", part.tag);
            deed.text.clone_from(&part.note);
            write(store, "new part", |w| w.create(&part).map(drop))
        }
        (2..=11, Some(id)) => {
            let field = FIELDS[dice.usize(..if old { 3 } else { 4 })];
            let text = pen.text(field);
            deed.told = format!("{field} of {id} becomes \"{text}\"");
            deed.text = Some(text.clone());
            write(store, "edit", |w| w.edit::<Part>(id, field, Value::Text(text)))
        }
        (12, Some(id)) => {
            let field = FIELDS[dice.usize(..if old { 3 } else { 4 })];
            deed.told = format!("{field} of {id} is left blank");
            write(store, "clear", |w| w.edit::<Part>(id, field, Value::Null))
        }
        (13..=14, Some(id)) => {
            deed.told = format!("delete {id}");
            write(store, "delete", |w| w.delete::<Part>(id))
        }
        (15, Some(id)) => {
            deed.told = format!("a listing of {id}");
            let listing = Listing { part: Some(id), seller: Some(pen.text("seller")), ..Listing::default() };
            write(store, "listing", |w| w.create(&listing).map(drop))
        }
        (16, Some(id)) if !old => {
            deed.told = format!("a decision on {id}");
            let decision =
                Decision { subject: Some(id), kind: Some(DecisionKind::Keep), ..Decision::default() };
            write(store, "decision", |w| w.create(&decision).map(drop))
        }
        (16..=20, _) => {
            let count = dice.usize(1..4);
            deed.told = format!("{count} readings");
            deed.readings = (0..count).map(|_| (store.fresh_id(), dice.f64())).collect();
            let readings = deed.readings.clone();
            write(store, "readings", |w| {
                let run = w.create(&Run::default())?;
                for (id, flow) in readings {
                    let flow = Some(Quantity::of_si(flow));
                    w.create(&Reading { id, run: Some(run), flow, ..Reading::default() })?;
                }
                Ok(())
            })
        }
        (21..=22, _) => {
            let Some(reading) = dice.choice(store.load::<Reading>()?) else { return Ok(()) };
            let why = pen.text("struck");
            deed.told = format!("strike {} as \"{why}\"", reading.id);
            deed.text = Some(why.clone());
            write(store, "strike", |w| w.strike(reading.id, &why))
        }
        (23..=24, _) => {
            let Some(entry) = dice.choice(store.history(8)?) else { return Ok(()) };
            deed.told = format!("undo {} {}: {}", entry.id.device, entry.id.number, entry.head.label);
            if old {
                facts.undone_blindly();
            }
            deed.may_settle = true;
            write(store, "undo", |w| w.undo(entry.id).map(drop))
        }
        (25..=27, _) => {
            let sheet = dice.u8(..sheets::COUNT);
            let records = sheets::sheet(sheet);
            deed.told = format!("import sheet {sheet}");
            // Whether its rows are in sight is up to whoever took the sheet back, or deleted what they need.
            deed.readings = records.readings.iter().map(|r| (r.id, r.flow.as_ref().unwrap().si)).collect();
            let stop = dice.u8(0..10) == 0;
            let pace = if stop { Pace::Stop } else { Pace::GoOn };
            let label = pen.text("sheet");
            store.import(&records, &label, &mut |_, _| pace)?;
            deed.import = Some((sheet, label));
            Ok(())
        }
        (28..=29, Some(id)) => {
            let mut bytes = vec![0; dice.usize(1..6_000)];
            dice.fill(&mut bytes);
            deed.told = format!("a photo of {} bytes", bytes.len());
            let hash = store.blobs().put(&bytes)?;
            let photo = Photo {
                sha256: Some(hash.to_vec()),
                subject: Some(id),
                size_bytes: Some(bytes.len() as i64),
                ..Photo::default()
            };
            deed.photo = Some((hash, bytes));
            write(store, "photo", |w| w.create(&photo).map(drop))
        }
        (30, _) => {
            let Some(conflict) = dice.choice(store.conflicts()?) else { return Ok(()) };
            let other = conflict.others[dice.usize(..conflict.others.len())].value.clone();
            deed.told = format!("settle {} of {} as {other:?}", conflict.field.name, conflict.id);
            deed.may_settle = true;
            store.settle(&conflict, other).map(drop)
        }
        (_, Some(id)) => {
            deed.told = "a write that is given up".into();
            write(store, "given up", |w| {
                w.edit::<Part>(id, "note", Value::Text(pen.text("never")))?;
                w.create(&Reading::default())?;
                Err(StoreError::Stopped)
            })
        }
    }
}
