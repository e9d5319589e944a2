//! Requests and who answers them: two threads, each with its own connection to the shelf, so that a sheet of a hundred
//! thousand rows or a check of everything keeps nobody from typing a reading.

use crate::news::{Heard, News};
use airshelf_app::request::{Answered, Desk, Places};
use airshelf_app::{Code, Fault, Host};
use serde::Deserialize;
use std::collections::HashMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::oneshot;

/// How often is looked whether something else has written to the shelf, which costs next to nothing.
const LOOK: Duration = Duration::from_millis(100);

/// A request on its way.
struct Job {
    id: u32,
    request: String,
    attached: Vec<Vec<u8>>,
    reply: oneshot::Sender<Answered>,
}

/// What the lanes know of each other.
#[derive(Default)]
struct Common {
    /// Whether the demo is open, or the own shelf; nothing where none is.
    open: Option<bool>,
    /// Grows when every connection has to be opened anew.
    anew: u64,
    /// Requests under way, and whether somebody wants them stopped.
    under_way: HashMap<u32, bool>,
}

/// The way to both threads.
pub(crate) struct Lanes {
    quick: Sender<Job>,
    long: Sender<Job>,
    common: Arc<Mutex<Common>>,
}

/// As much of a request as says where it goes.
#[derive(Deserialize)]
struct Gist<'a> {
    place: &'a str,
    ask: &'a str,
}

impl Gist<'_> {
    /// Whether it may take long without changing which shelf is open.
    fn is_long(&self) -> bool {
        matches!(
            (self.place, self.ask),
            ("records", "dry-run" | "sheet-rows" | "import" | "take-again" | "audit")
                | ("device", "check" | "export")
        )
    }
}

impl Lanes {
    /// Starts both threads.
    pub(crate) fn start(places: &Places, host: &Arc<dyn Host>, news: &Arc<News>) -> std::io::Result<Lanes> {
        let common = Arc::new(Mutex::new(Common::default()));
        let lane = |name: &str, is_first: bool| {
            let (jobs, waiting) = channel();
            let lane = Lane {
                desk: Desk::new(places.clone(), Arc::clone(host)),
                places: places.clone(),
                host: Arc::clone(host),
                news: Arc::clone(news),
                common: Arc::clone(&common),
                is_first,
                open: None,
                anew: 0,
                seen: None,
            };
            std::thread::Builder::new().name(name.into()).spawn(move || lane.run(&waiting))?;
            Ok::<_, std::io::Error>(jobs)
        };
        Ok(Lanes { quick: lane("quick", true)?, long: lane("long", false)?, common })
    }

    /// Answers a request; `id` is by what it is stopped.
    pub(crate) async fn ask(&self, id: u32, request: String, attached: Vec<Vec<u8>>) -> Answered {
        let is_long = serde_json::from_str::<Gist>(&request).is_ok_and(|gist| gist.is_long());
        let (reply, answered) = oneshot::channel();
        common(&self.common).under_way.insert(id, false);
        let lane = if is_long { &self.long } else { &self.quick };
        let sent = lane.send(Job { id, request, attached, reply });
        match (sent, answered.await) {
            (Ok(()), Ok(answered)) => answered,
            _ => broken("the program is ending"),
        }
    }

    /// Stops a request that is under way where it next says how far it is.
    pub(crate) fn stop(&self, id: u32) {
        if let Some(stopped) = common(&self.common).under_way.get_mut(&id) {
            *stopped = true;
        }
    }

    /// Opens the shelf anew before the next request: it has become part of another, or writes under another name.
    pub(crate) fn open_anew(&self) {
        common(&self.common).anew += 1;
    }

    /// Whether the demo is open.
    pub(crate) fn demo_is_open(&self) -> Option<bool> {
        common(&self.common).open
    }
}

fn common(common: &Mutex<Common>) -> MutexGuard<'_, Common> {
    common.lock().unwrap_or_else(PoisonError::into_inner)
}

/// One thread's side.
struct Lane {
    desk: Desk,
    places: Places,
    host: Arc<dyn Host>,
    news: Arc<News>,
    common: Arc<Mutex<Common>>,
    /// The one that says which shelf is open, and hears of what others write.
    is_first: bool,
    open: Option<bool>,
    anew: u64,
    seen: Option<i64>,
}

impl Lane {
    fn run(mut self, waiting: &Receiver<Job>) {
        loop {
            match waiting.recv_timeout(LOOK) {
                Ok(job) => {
                    self.follow();
                    let answered = self.answer(job.id, &job.request, job.attached);
                    common(&self.common).under_way.remove(&job.id);
                    let _ = job.reply.send(answered);
                }
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => return,
            }
            if self.is_first {
                self.look();
            }
        }
    }

    /// Opens what the screens have open.
    fn follow(&mut self) {
        let (open, anew) = {
            let common = common(&self.common);
            (common.open, common.anew)
        };
        if (open, anew) == (self.open, self.anew) {
            return;
        }
        (self.open, self.anew) = (open, anew);
        if let Some(demo) = open {
            let start = serde_json::json!({ "place": "device", "ask": "start", "demo": demo }).to_string();
            let _ = self.desk.answer(&start, Vec::new(), &mut |_, _, _| true);
        }
    }

    fn answer(&mut self, id: u32, request: &str, attached: Vec<Vec<u8>>) -> Answered {
        let (news, held) = (Arc::clone(&self.news), Arc::clone(&self.common));
        let mut progress = move |what: &str, done: u64, total: u64| {
            news.tell(Heard::Progress { id, what: what.to_owned(), done, total });
            !common(&held).under_way.get(&id).is_some_and(|stopped| *stopped)
        };
        let desk = &mut self.desk;
        // What was committed before stays, and SQLite rolls the rest back.
        let answered = catch_unwind(AssertUnwindSafe(|| desk.answer(request, attached, &mut progress)));
        let answered = answered.unwrap_or_else(|_| {
            self.desk = Desk::new(self.places.clone(), Arc::clone(&self.host));
            self.anew = u64::MAX;
            broken("the program broke off while doing this")
        });
        if self.is_first && self.anew != u64::MAX {
            let open = self.desk.shelf().ok().map(|shelf| shelf.store().is_demo());
            common(&self.common).open = open;
            self.open = open;
        }
        answered
    }

    /// Says so when a sync, an import or another program has written.
    fn look(&mut self) {
        let Ok(shelf) = self.desk.shelf() else {
            self.seen = None;
            return;
        };
        let Ok(now) = shelf.store().data_version() else { return };
        let before = self.seen.replace(now);
        if before.is_some_and(|before| before != now) {
            let _ = shelf.look_again();
            self.news.tell(Heard::Changed);
        }
    }
}

fn broken(why: &str) -> Answered {
    let fault =
        Fault::new(Code::Store, why).hint("Everything that was kept before is still there. Try again.");
    Answered { json: serde_json::json!({ "fault": fault }).to_string(), bytes: None }
}

#[cfg(test)]
mod tests;
