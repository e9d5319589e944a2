//! Sessions: found by name and date, opened with what their page says.

use crate::map::Field;
use crate::stage::Paper;
use crate::stage::complete::Completed;
use crate::stage::draft::{At, Draft};
use airshelf_catalog::ids::Derived;
use airshelf_catalog::{PartKind, Quantity, Session, Uuid};

pub(super) struct Evening {
    pub(super) id: Uuid,
    pub(super) date: Option<String>,
    pub(super) bench: Option<Uuid>,
    /// The baseline that its rows claim, and whether they claim different ones.
    pub(super) claimed: Option<Quantity>,
    pub(super) various: bool,
}

impl Evening {
    pub(super) fn of(id: Uuid, date: Option<String>, bench: Option<Uuid>) -> Self {
        Evening { id, date, bench, claimed: None, various: false }
    }

    pub(super) fn claims(&mut self, baseline: &Quantity) {
        match &self.claimed {
            None => self.claimed = Some(baseline.clone()),
            Some(held) => self.various |= held.si != baseline.si,
        }
    }
}

/// Gives a session the stated baseline that it lacks; gives whether it did.
pub(super) fn draft_session(draft: &mut Draft<'_, '_>, id: Uuid, told: &Session) -> bool {
    let own = draft.records.sessions.iter_mut().find(|s| s.id == id);
    let Some(held) = own.as_deref().or_else(|| draft.known.sessions.get(&id)) else { return false };
    if held.stated_baseline.is_some() {
        return false;
    }
    let mut held = held.clone();
    // What a baseline that is not there consists of says nothing.
    held.stated_baseline_kind = None;
    let completed = Completed::blanks(&held, told, &["stated_baseline", "stated_baseline_kind"]);
    match own {
        Some(own) => completed.put(own).expect("the fields are those of a session"),
        None => draft.complete(completed),
    }
    true
}

/// Puts down a session with what its page says, unless the shelf or this file already has it.
pub(super) fn open_session(
    draft: &mut Draft<'_, '_>,
    paper: &Paper<'_>,
    name: &str,
    date: Option<String>,
    bench: Option<Uuid>,
) -> Evening {
    let id = session_id(name, date.as_deref());
    if let Some(held) = draft.sessions.get(&id) {
        return Evening::of(id, date, held.or(bench));
    }
    if let Some(known) = draft.known.sessions.get(&id) {
        let evening = Evening::of(id, date, known.bench.or(bench));
        let person = paper.page.text(Field::Who).map(str::to_owned).map(|name| draft.person(&name));
        let told = Session { bench, person, ..Session::default() };
        draft.complete(Completed::blanks(known, &told, &["bench", "person"]));
        // What else this page says speaks of its own rows, not of those that others put into the session.
        let item = page_item(draft, paper).filter(|_| known.item.is_none());
        let range = paper.page.quantity(Field::Range).filter(|_| known.range.is_none()).cloned();
        let range = range.map(|q| draft.range(evening.bench, &q));
        draft.paged.insert(id, (item, range));
        draft.sessions.insert(id, evening.bench);
        return evening;
    }
    draft.sessions.insert(id, bench);
    let page = &paper.page;
    let own = |field: Field| page.quantity(field).cloned();
    let range = page.quantity(Field::Range).cloned().map(|q| draft.range(bench, &q));
    let item = page_item(draft, paper);
    let person = page.text(Field::Who).map(str::to_owned).map(|name| draft.person(&name));
    draft.records.sessions.push(Session {
        id,
        name: Some(name.to_owned()),
        date: date.clone(),
        bench,
        item,
        set_pressure: own(Field::SetPressure),
        range,
        air_temperature: own(Field::AirTemperature),
        barometer: own(Field::Barometer),
        humidity: own(Field::Humidity),
        stated_baseline: own(Field::StatedBaseline),
        stated_baseline_kind: page.baseline_kind,
        person,
        unordered: paper.unordered.then_some(true),
        table: Some(paper.table),
        service_note: page.service_note.as_ref().map(|s| s.0.clone()),
        restraint: page.restraint.as_ref().map(|r| r.0),
        readings_each: page.readings_each.as_ref().map(|r| r.0),
        ..Session::default()
    });
    Evening::of(id, date, bench)
}

/// The item that a page names for all its rows.
fn page_item(draft: &mut Draft<'_, '_>, paper: &Paper<'_>) -> Option<Uuid> {
    let at = At { table: paper.table, row: paper.page.get(Field::Item).and_then(|v| v.row).unwrap_or(1) };
    let text = paper.page.text(Field::Item)?.to_owned();
    Some(draft.revision(PartKind::Carburetor, &text, at))
}

/// The session of a table without a session column.
pub(crate) fn page_session(draft: &mut Draft<'_, '_>, paper: &Paper<'_>) -> Uuid {
    let bench = paper.page.text(Field::Bench).map(str::to_owned).map(|name| draft.bench(&name));
    let date = paper.page.text(Field::Date).map(str::to_owned);
    open_session(draft, paper, &paper.session, date, bench).id
}

pub(crate) fn session_id(name: &str, date: Option<&str>) -> Uuid {
    Derived::new("session").folded(name).text(date.unwrap_or("")).finish()
}
