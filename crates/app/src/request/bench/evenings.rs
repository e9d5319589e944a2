//! Evenings: which there are, how one begins, how it ends.

use super::equipment::{BenchCard, benches};
use super::measured::{Units, needed, typed};
use crate::code::{Code, Fault};
use crate::entry::Changed;
use crate::names::as_written;
use crate::shelf::Shelf;
use airshelf_catalog::ids::fold;
use airshelf_catalog::{
    BenchRange, Part, PartKind, PartStatus, Quantity, Revision, Session, Value, ids::first_revision,
};
use airshelf_units::{Dimension, barometer, usual};
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

/// An evening in a list.
#[derive(Clone, Debug, Serialize, TS)]
pub struct EveningCard {
    /// Its session.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its civil date.
    pub date: Option<String>,
    /// When it was closed; none while it is open.
    pub closed: Option<String>,
}

/// What an evening is made with; texts as typed, an empty one is a blank.
#[derive(Clone, Debug, Deserialize, TS)]
pub struct NewEvening {
    /// Its name.
    pub name: String,
    /// Its civil date.
    pub date: String,
    /// The bench.
    pub bench: Uuid,
    /// The range.
    pub range: Uuid,
    /// The carburetor on the bench: its revision.
    pub item: Option<Uuid>,
    /// The set pressure.
    pub set_pressure: String,
    /// Air temperature.
    pub air_temperature: String,
    /// Station pressure.
    pub barometer: String,
    /// Relative humidity.
    pub humidity: String,
}

/// The evening that was begun.
#[derive(Clone, Debug, Serialize, TS)]
pub struct OpenedEvening {
    /// Its session.
    pub session: Uuid,
    /// The number to undo it by.
    #[ts(type = "number | null")]
    pub change: Option<u64>,
}

/// What an evening may begin with.
#[derive(Clone, Debug, Serialize, TS)]
pub struct Offered {
    /// A name that is free.
    pub name: String,
    /// Today.
    pub date: String,
    /// The benches.
    pub benches: Vec<BenchCard>,
    /// What may stand on the bench: revisions of carburetors by name.
    pub items: Vec<OfferedItem>,
    /// The bench of the last evening.
    pub bench: Option<Uuid>,
    /// Its range.
    pub range: Option<Uuid>,
    /// What stood on it.
    pub item: Option<Uuid>,
    /// Its set pressure, as written.
    pub set_pressure: Option<String>,
    /// The unit of a pressure where none is written.
    pub pressure_unit: String,
    /// The unit of a temperature where none is written.
    pub temperature_unit: String,
    /// The unit of a barometer where none is written.
    pub barometer_unit: String,
}

/// A carburetor to choose.
#[derive(Clone, Debug, Serialize, TS)]
pub struct OfferedItem {
    /// Its revision.
    pub id: Uuid,
    /// Its tag, else its name.
    pub name: String,
}

/// Whether readings still come; an imported page was closed when it was written.
pub(super) fn is_open(session: &Session) -> bool {
    session.closed.is_none() && session.table.is_none()
}

pub(super) fn list(shelf: &Shelf) -> Result<Vec<EveningCard>, Fault> {
    let cards = newest_first(shelf)?.into_iter().map(|session| EveningCard {
        closed: (!is_open(&session))
            .then(|| session.closed.clone().or(session.date.clone()).unwrap_or_default()),
        id: session.id,
        name: session.name.unwrap_or_default(),
        date: session.date,
    });
    Ok(cards.collect())
}

/// Open ones first, then the latest; of one day the one begun last.
fn newest_first(shelf: &Shelf) -> Result<Vec<Session>, Fault> {
    let mut sessions: Vec<Session> = shelf.store().load()?;
    sessions.sort_by_cached_key(|s| (is_open(s), s.date.clone(), s.id));
    sessions.reverse();
    Ok(sessions)
}

pub(super) fn offered(shelf: &Shelf) -> Result<Offered, Fault> {
    let sessions = newest_first(shelf)?;
    let typed = sessions.iter().filter(|s| s.table.is_none());
    let last = typed.max_by_key(|s| (s.date.clone(), s.id));
    let date = shelf.store().wall().get(..10).unwrap_or_default().to_owned();
    let taken =
        |name: &str| sessions.iter().any(|s| s.name.as_deref().is_some_and(|n| fold(n) == fold(name)));
    let mut name = format!("Evening of {date}");
    for number in 2.. {
        if !taken(&name) {
            break;
        }
        name = format!("Evening of {date}, {number}");
    }
    let system = shelf.system();
    let pressure = last.and_then(|s| s.set_pressure.as_ref());
    let unit = pressure.and_then(Quantity::unit).unwrap_or(usual(Dimension::Pressure, system));
    Ok(Offered {
        name,
        date,
        benches: benches(shelf)?,
        items: items(shelf)?,
        bench: last.and_then(|s| s.bench),
        range: last.and_then(|s| s.range),
        item: last.and_then(|s| s.item),
        set_pressure: pressure.and_then(as_written),
        pressure_unit: unit.shown().into(),
        temperature_unit: usual(Dimension::Temperature, system).shown().into(),
        barometer_unit: barometer(system).shown().into(),
    })
}

fn items(shelf: &Shelf) -> Result<Vec<OfferedItem>, Fault> {
    let kind = Value::Int(PartKind::Carburetor.code());
    let parts: Vec<Part> = shelf.store().find_by("kind", &kind)?;
    let mut items = Vec::new();
    for part in parts.iter().filter(|p| !matches!(p.status, Some(PartStatus::Sold | PartStatus::Scrapped))) {
        let tag = part.tag.as_deref().or(part.name.as_deref()).unwrap_or("?");
        let mut revisions: Vec<Revision> = shelf.store().find_by("part", &Value::Id(part.id))?;
        revisions.sort_by_key(|r| (r.id != first_revision(part.id), r.label.clone()));
        items.extend(revisions.into_iter().map(|revision| OfferedItem {
            id: revision.id,
            name: revision.label.map_or_else(|| tag.to_owned(), |label| format!("{tag} {label}")),
        }));
    }
    items.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(items)
}

/// The session that is meant, with what does not fit named.
fn session_of(shelf: &Shelf, new: &NewEvening, held: Session) -> Result<Session, Fault> {
    let name = new.name.trim();
    if name.is_empty() {
        return Err(Fault::new(Code::BadArgument, "the evening has no name: say what it shall be called"));
    }
    let same = shelf.store().sessions_named(name)?;
    if same.iter().any(|session| session.id != held.id) {
        return Err(Fault::new(Code::BadArgument, format!("there is an evening {name} already")));
    }
    let date = chrono::NaiveDate::parse_from_str(new.date.trim(), "%Y-%m-%d").map_err(|_| {
        Fault::new(Code::BadQuantity, format!("`{}` is not a date such as 2024-05-18", new.date))
    })?;
    let range = shelf
        .store()
        .get::<BenchRange>(new.range)?
        .filter(|range| range.bench == Some(new.bench))
        .ok_or_else(|| Fault::new(Code::NotFound, "this range does not belong to this bench"))?;
    let system = shelf.system();
    let units = Units::of(Some(&held), Some(&range), system);
    let temperature = usual(Dimension::Temperature, system);
    let humidity = airshelf_units::Unit::PERCENT;
    let read = |what, text, dimension, unit, old: &Option<Quantity>| -> Result<Option<Quantity>, Fault> {
        let new = typed(what, text, dimension, unit)?;
        Ok(match (&new, old) {
            // What is typed as it stands is not written over.
            (Some(a), Some(b)) if as_written(a) == as_written(b) => old.clone(),
            _ => new,
        })
    };
    needed("set pressure", &new.set_pressure, Dimension::Pressure, units.pressure)?;
    let wet = read("humidity", &new.humidity, Dimension::Ratio, humidity, &held.humidity)?
        .filter(|h| h.si.is_finite());
    if wet.as_ref().is_some_and(|h| h.si > 1.0) {
        return Err(Fault::new(Code::BadQuantity, "humidity: it cannot be above 100 %"));
    }
    Ok(Session {
        name: Some(name.into()),
        date: Some(date.format("%Y-%m-%d").to_string()),
        bench: Some(new.bench),
        range: Some(new.range),
        item: new.item,
        set_pressure: read(
            "set pressure",
            &new.set_pressure,
            Dimension::Pressure,
            units.pressure,
            &held.set_pressure,
        )?,
        air_temperature: read(
            "air temperature",
            &new.air_temperature,
            Dimension::Temperature,
            temperature,
            &held.air_temperature,
        )?,
        barometer: read(
            "barometer",
            &new.barometer,
            Dimension::Pressure,
            barometer(system),
            &held.barometer,
        )?,
        humidity: wet,
        ..held
    })
}

pub(super) fn open(shelf: &mut Shelf, new: &NewEvening) -> Result<OpenedEvening, Fault> {
    let session = session_of(shelf, new, Session::default())?;
    let label = format!("begin {}", new.name.trim());
    let outcome = shelf.store.write(&label, |w| Ok::<Uuid, Fault>(w.create(&session)?))?;
    Ok(OpenedEvening { session: outcome.value, change: outcome.transaction.map(|t| t.number) })
}

/// The session with that id, as long as readings may be added to it.
pub(super) fn open_session(shelf: &Shelf, session: Uuid) -> Result<Session, Fault> {
    let session = held(shelf, session)?;
    if !is_open(&session) {
        return Err(Fault::new(Code::BadArgument, "this evening is closed; nothing was written")
            .hint("Open it again to add readings; that is recorded."));
    }
    Ok(session)
}

fn held(shelf: &Shelf, session: Uuid) -> Result<Session, Fault> {
    shelf
        .store()
        .get::<Session>(session)?
        .ok_or_else(|| Fault::new(Code::NotFound, "this evening is not on the shelf"))
}

pub(super) fn change(shelf: &mut Shelf, session: Uuid, to: &NewEvening) -> Result<Changed, Fault> {
    let session = session_of(shelf, to, open_session(shelf, session)?)?;
    let outcome = shelf.store.write("change the evening", |w| {
        w.update(&session)?;
        Ok::<Uuid, Fault>(session.id)
    })?;
    Ok(Changed::of(outcome))
}

pub(super) fn close(shelf: &mut Shelf, session: Uuid) -> Result<Changed, Fault> {
    let session = open_session(shelf, session)?;
    let wall = shelf.store().wall().get(..19).unwrap_or_default().to_owned();
    set_closed(shelf, &session, "close", Value::Text(wall))
}

pub(super) fn reopen(shelf: &mut Shelf, session: Uuid) -> Result<Changed, Fault> {
    let session = held(shelf, session)?;
    if session.table.is_some() {
        return Err(Fault::new(
            Code::BadArgument,
            "an imported page is as it was written; nothing was opened",
        ));
    }
    set_closed(shelf, &session, "open again", Value::Null)
}

fn set_closed(shelf: &mut Shelf, session: &Session, what: &str, to: Value) -> Result<Changed, Fault> {
    let label = format!("{what} {}", session.name.as_deref().unwrap_or("the evening"));
    let outcome = shelf.store.write(&label, |w| {
        w.edit::<Session>(session.id, "closed", to)?;
        Ok::<Uuid, Fault>(session.id)
    })?;
    Ok(Changed::of(outcome))
}
