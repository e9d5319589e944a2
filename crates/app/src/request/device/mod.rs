//! This device: which shelf is open, what is not yet elsewhere, how it is kept sound.

mod together;

use super::desk::Desk;
use crate::code::{Code, Fault};
use crate::keep::{CheckReport, HistoryReport};
use crate::shelf::Shelf;
use airshelf_units::System;
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

pub use crate::conflicts::{ConflictCard, Standing};
pub(super) use together::UnderWay;
pub use together::{Fetch, Fetched, HubKnown, SyncStep};

/// A question about the device.
#[derive(Clone, Debug, Deserialize, TS)]
#[serde(tag = "ask", rename_all = "kebab-case")]
#[ts(rename = "DeviceAsked")]
pub enum Asked {
    /// Opens the own shelf, or the demo, where there is one.
    Start {
        /// The demo.
        demo: bool,
    },
    /// Makes an empty shelf, or the demo, and opens it.
    Begin {
        /// The demo.
        demo: bool,
    },
    /// How it stands now.
    State,
    /// Verifies everything.
    Check,
    /// The request that pairs this device with a hub; what came of it goes back by [`Asked::Paired`].
    Pair {
        /// The hub's address.
        url: String,
        /// The digits that the hub shows.
        code: String,
        /// What people call this device.
        name: String,
    },
    /// What the hub said to it.
    Paired {
        /// Its answer.
        fetched: Fetched,
    },
    /// Forgets the hub.
    Part,
    /// The hub is to be found at another address now.
    Moved {
        /// The address.
        url: String,
    },
    /// The stream of the hub's news.
    Live,
    /// Begins an exchange with the hub, or goes on with what came to the last step.
    Step {
        /// The hub's answer to the last step; none begins.
        fetched: Option<Fetched>,
        /// What people call this device.
        name: Option<String>,
    },
    /// Everything of the open shelf in one file, as bytes beside the answer.
    Export,
    /// Makes the own shelf of the attached export or backup, where there is none yet, and opens it.
    Restore,
    /// The last changes, newest first.
    History {
        /// How many.
        count: usize,
    },
    /// What was changed apart and waits for a person.
    Conflicts,
    /// Settles a conflict.
    Settle {
        /// Its number in the list.
        number: usize,
        /// Which of its values shall stand.
        value: usize,
    },
}

/// The answer to the question of the same name.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "ask", content = "is", rename_all = "kebab-case")]
#[ts(rename = "DeviceAnswer")]
pub enum Answer {
    /// The state after opening.
    Start(DeviceState),
    /// The state after making.
    Begin(DeviceState),
    /// The state.
    State(DeviceState),
    /// What was found.
    Check(CheckReport),
    /// To be fetched.
    Pair(Fetch),
    /// The state after it.
    Paired(DeviceState),
    /// The state after it.
    Part(DeviceState),
    /// The state after it.
    Moved(DeviceState),
    /// To be fetched and listened to.
    Live(Fetch),
    /// The next step.
    Step(SyncStep),
    /// A name for the file.
    Export(String),
    /// The state after it.
    Restore(DeviceState),
    /// Changes.
    History(Vec<HistoryReport>),
    /// Conflicts.
    Conflicts(Vec<ConflictCard>),
    /// The state after it.
    Settle(DeviceState),
}

/// How a device stands.
#[derive(Clone, Debug, Serialize, TS)]
pub struct DeviceState {
    /// The open shelf; none where there is none yet.
    pub shelf: Option<ShelfState>,
    /// Whether the demo is on this device.
    pub has_demo: bool,
    /// Whether the user's own shelf is on this device.
    pub has_own: bool,
    /// The hub that the open shelf is paired with.
    pub hub: Option<HubKnown>,
    /// The program and its version.
    pub program: String,
}

/// How the open shelf stands.
#[derive(Clone, Debug, Serialize, TS)]
pub struct ShelfState {
    /// Which, the same on all its devices.
    pub id: Uuid,
    /// This device, as changes name it.
    pub device: Uuid,
    /// Whether it is the demo.
    pub demo: bool,
    /// Whether nothing was ever written.
    pub empty: bool,
    /// Why it can only be read.
    pub read_only: Option<String>,
    /// Whether its people write US units.
    pub us_units: bool,
    /// Changes that no other device is known to hold.
    #[ts(type = "number")]
    pub only_here: u64,
    /// Values changed apart that wait to be settled.
    pub conflicts: usize,
}

pub(super) fn answer(
    desk: &mut Desk,
    asked: Asked,
    attached: Vec<Vec<u8>>,
    progress: crate::Progress<'_>,
    bytes: &mut Option<Vec<u8>>,
) -> Result<Answer, Fault> {
    Ok(match asked {
        Asked::Start { demo } => {
            desk.open = None;
            match Shelf::open(place(desk, demo), desk.host.clone()) {
                Ok(shelf) => desk.open = Some(shelf),
                Err(fault) if fault.code == Code::NoShelf => {}
                Err(fault) => return Err(fault),
            }
            Answer::Start(state(desk)?)
        }
        Asked::Begin { demo } => {
            desk.open = None;
            let host = desk.host.clone();
            if demo {
                Shelf::make_demo(place(desk, true), host.clone(), progress)?;
                desk.open = Some(Shelf::open(place(desk, true), host)?);
            } else {
                desk.open = Some(Shelf::create(place(desk, false), host)?);
            }
            Answer::Begin(state(desk)?)
        }
        Asked::State => Answer::State(state(desk)?),
        Asked::Check => Answer::Check(desk.shelf()?.check()?),
        Asked::Pair { url, code, name } => {
            let (fetch, body) = together::pair(desk, &url, &code, &name)?;
            *bytes = Some(body);
            Answer::Pair(fetch)
        }
        Asked::Paired { fetched } => {
            together::paired(desk, &fetched, first(&attached))?;
            Answer::Paired(state(desk)?)
        }
        Asked::Part => {
            together::part(desk)?;
            Answer::Part(state(desk)?)
        }
        Asked::Moved { url } => {
            together::moved(desk, &url)?;
            Answer::Moved(state(desk)?)
        }
        Asked::Live => Answer::Live(together::live(desk)?),
        Asked::Step { fetched, name } => {
            let (step, body) = together::step(desk, fetched.as_ref(), first(&attached), name)?;
            *bytes = Some(body).filter(|body| !body.is_empty());
            Answer::Step(step)
        }
        Asked::Export => {
            let (name, file) = desk.shelf()?.export_everything()?;
            *bytes = Some(file);
            Answer::Export(name)
        }
        Asked::Restore => {
            desk.open = None;
            let host = desk.host.clone();
            desk.open = Some(Shelf::unpack(first(&attached), place(desk, false), host)?);
            Answer::Restore(state(desk)?)
        }
        Asked::History { count } => Answer::History(desk.shelf()?.history(count)?),
        Asked::Conflicts => Answer::Conflicts(crate::conflicts::all(desk.shelf()?)?),
        Asked::Settle { number, value } => {
            desk.shelf()?.settle(number, value)?;
            Answer::Settle(state(desk)?)
        }
    })
}

fn first(attached: &[Vec<u8>]) -> &[u8] {
    attached.first().map_or(&[], Vec::as_slice)
}

fn place(desk: &Desk, demo: bool) -> &std::path::Path {
    if demo { &desk.places.demo } else { &desk.places.own }
}

fn state(desk: &Desk) -> Result<DeviceState, Fault> {
    let there = |demo: bool| Shelf::is_there(place(desk, demo));
    let shelf = match &desk.open {
        None => None,
        Some(shelf) => Some(ShelfState {
            id: shelf.store().shelf_id(),
            device: shelf.store().device(),
            demo: shelf.store().is_demo(),
            empty: shelf.store().is_empty()?,
            read_only: shelf.read_only(),
            us_units: shelf.system() == System::Us,
            only_here: shelf.store().nowhere_else()?,
            conflicts: shelf.store().conflicts()?.len(),
        }),
    };
    Ok(DeviceState {
        shelf,
        has_demo: there(true),
        has_own: there(false),
        hub: together::hub(desk)?,
        program: desk.host.program(),
    })
}
