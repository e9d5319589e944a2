//! What the machine tells the screens unasked.

use crate::hub::HubShown;
use airshelf_app::Fault;
use airshelf_app::sync::SyncReport;
use serde::Serialize;
use std::sync::{Mutex, PoisonError};
use tauri::ipc::Channel;
use ts_rs::TS;

/// One piece of news.
#[derive(Clone, Debug, Serialize, TS)]
#[serde(tag = "is", rename_all = "kebab-case")]
pub(crate) enum Heard {
    /// How far a request is.
    Progress {
        /// Its number.
        id: u32,
        /// What is being done.
        what: String,
        /// How much of it is.
        #[ts(type = "number")]
        done: u64,
        /// Of how much.
        #[ts(type = "number")]
        total: u64,
    },
    /// The open shelf holds something that no screen wrote.
    Changed,
    /// How the own shelf and its hub stand.
    Together(Together),
    /// The hub of this machine.
    Hub(HubShown),
    /// A place was chosen in the menu.
    Go {
        /// Its address within the screens.
        to: String,
    },
    /// Everything is to be saved to a file.
    SaveEverything,
    /// Files were dropped on the window.
    Dropped,
}

/// How the own shelf and its hub stand.
#[derive(Clone, Debug, Serialize, TS)]
pub(crate) struct Together {
    /// How.
    pub(crate) going: Going,
    /// What the last exchange brought.
    #[ts(type = "import('../types/SyncReport').SyncReport | null")]
    pub(crate) report: Option<SyncReport>,
    /// Why it broke off.
    #[ts(type = "import('../types/Fault').Fault | null")]
    pub(crate) fault: Option<Fault>,
}

/// How it goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, TS)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Going {
    /// There is no hub.
    Alone,
    /// Equal, as far as is known.
    Together,
    /// Something crosses.
    Exchanging,
    /// It does not answer.
    OutOfReach,
    /// It does not let this device in, or the shelves are not the same.
    Refused,
}

/// The line to the screens; a page that is loaded again takes it over.
pub(crate) struct News {
    line: Mutex<Option<Channel<Heard>>>,
    together: Mutex<Together>,
}

impl Default for News {
    fn default() -> Self {
        let together = Together { going: Going::Alone, report: None, fault: None };
        News { line: Mutex::default(), together: Mutex::new(together) }
    }
}

impl News {
    /// Begins to tell a page, with what stands.
    pub(crate) fn open(&self, line: Channel<Heard>) {
        // Held until it is told, so that nothing older comes after something newer.
        let together = self.together.lock().unwrap_or_else(PoisonError::into_inner);
        *self.line.lock().unwrap_or_else(PoisonError::into_inner) = Some(line);
        self.tell(Heard::Together(together.clone()));
    }

    /// Tells the page, if there is one.
    pub(crate) fn tell(&self, heard: Heard) {
        if let Some(line) = &*self.line.lock().unwrap_or_else(PoisonError::into_inner) {
            let _ = line.send(heard);
        }
    }

    /// Tells how own shelf and hub stand, where that is new.
    pub(crate) fn together(&self, now: Together) {
        let mut last = self.together.lock().unwrap_or_else(PoisonError::into_inner);
        let nothing_new = now.going == last.going && now.report.is_none() && now.fault.is_none();
        if nothing_new {
            return;
        }
        let report = now.report.or_else(|| last.report.take());
        *last = Together { going: now.going, report, fault: now.fault };
        self.tell(Heard::Together(last.clone()));
    }
}
