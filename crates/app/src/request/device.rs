//! This device: which shelf is open, what is not yet elsewhere, how it is kept sound.

use super::desk::Desk;
use crate::code::{Code, Fault};
use crate::keep::{CheckReport, ConflictReport, HistoryReport};
use crate::shelf::Shelf;
use airshelf_units::System;
use serde::{Deserialize, Serialize};
use ts_rs::TS;
use uuid::Uuid;

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
    /// Changes.
    History(Vec<HistoryReport>),
    /// Conflicts.
    Conflicts(Vec<ConflictReport>),
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
    _attached: Vec<Vec<u8>>,
    progress: crate::Progress<'_>,
    _bytes: &mut Option<Vec<u8>>,
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
        Asked::History { count } => Answer::History(desk.shelf()?.history(count)?),
        Asked::Conflicts => Answer::Conflicts(desk.shelf()?.conflicts()?),
        Asked::Settle { number, value } => {
            desk.shelf()?.settle(number, value)?;
            Answer::Settle(state(desk)?)
        }
    })
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
    Ok(DeviceState { shelf, has_demo: there(true), has_own: there(false), program: desk.host.program() })
}
