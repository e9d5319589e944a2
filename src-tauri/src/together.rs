//! Together with a hub elsewhere: the own shelf exchanges with it whenever either side has something new, on a thread and
//! a connection of its own, and stands in nobody's way.

use crate::kept::Kept;
use crate::lanes::Lanes;
use crate::news::{Going, Heard, News, Together};
use crate::place::Place;
use airshelf_app::sync::{Local, PhotosAsked, SyncReport};
use airshelf_app::{Code, Fault, Host, Shelf};
use airshelf_server::Trust;
use airshelf_server::client::{Address, Knows, Pairing, Remote, Told, Wanted, stay};
use std::io;
use std::path::PathBuf;
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How long until a hub that refused is asked again.
const ASK_AGAIN: Duration = Duration::from_secs(60);

#[derive(Default)]
struct Orders {
    /// Grows when another hub is to be stayed with, or none.
    turn: u64,
    /// An exchange is wanted now.
    now: bool,
    end: bool,
}

/// The thread that stays together, and how it is told what to do.
pub(crate) struct Staying {
    orders: Mutex<Orders>,
    told: Condvar,
    own: PathBuf,
    config: PathBuf,
    host: Arc<dyn Host>,
    kept: Arc<Kept>,
    news: Arc<News>,
    lanes: Arc<Lanes>,
}

impl Staying {
    /// Starts the thread, which stays together with the hub that is known, if there is one.
    pub(crate) fn start(
        place: &Place,
        host: &Arc<dyn Host>,
        kept: &Arc<Kept>,
        news: &Arc<News>,
        lanes: &Arc<Lanes>,
    ) -> io::Result<Arc<Staying>> {
        let staying = Arc::new(Staying {
            orders: Mutex::default(),
            told: Condvar::new(),
            own: place.shelves().own,
            config: place.config.clone(),
            host: Arc::clone(host),
            kept: Arc::clone(kept),
            news: Arc::clone(news),
            lanes: Arc::clone(lanes),
        });
        let thread = Arc::clone(&staying);
        std::thread::Builder::new().name("together".into()).spawn(move || thread.run())?;
        Ok(staying)
    }

    /// Pairs the own shelf with the hub of a link or an address, and stays together with it from now on. A whole link
    /// holds the code; what is said beside it counts more.
    pub(crate) fn pair(&self, link: &str, code: &str, name: &str) -> Result<(), Fault> {
        let address = Address::read(link)?;
        let code = Some(code).filter(|code| !code.is_empty()).or(address.code.as_deref()).unwrap_or_default();
        let shelf = Shelf::open(&self.own, Arc::clone(&self.host))?;
        let pairing = Pairing {
            code,
            name,
            device: shelf.store().device(),
            shelf: (!shelf.is_empty()?).then(|| shelf.store().shelf_id()),
            authority: None,
        };
        let known = Remote::pair(&address, &pairing)?;
        let url = known.url.clone();
        Knows::of(&self.config)?.keep(known)?;
        self.kept
            .change(|settings| {
                settings.together_with = Some(url);
                settings.name = Some(name.to_owned());
            })
            .map_err(|e| Fault::new(Code::Store, format!("which hub it is cannot be kept: {e}")))?;
        self.turn();
        Ok(())
    }

    /// Looks again which hub to stay with.
    pub(crate) fn turn(&self) {
        self.orders().turn += 1;
        self.told.notify_all();
    }

    /// Exchanges now.
    pub(crate) fn exchange(&self) {
        self.orders().now = true;
        self.told.notify_all();
    }

    /// Parts from the hub until the next program.
    pub(crate) fn end(&self) {
        self.orders().end = true;
        self.told.notify_all();
    }

    fn orders(&self) -> MutexGuard<'_, Orders> {
        self.orders.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn run(&self) {
        loop {
            let (turn, end) = {
                let orders = self.orders();
                (orders.turn, orders.end)
            };
            if end {
                return;
            }
            match self.stay(turn) {
                Ok(()) => {}
                Err(fault) => {
                    let going =
                        if fault.code == Code::Unreachable { Going::OutOfReach } else { Going::Refused };
                    self.news.together(Together { going, report: None, fault: Some(fault) });
                }
            }
            self.wait(turn);
        }
    }

    /// Waits for another turn, a wish, or a while.
    fn wait(&self, turn: u64) {
        let idle = |orders: &mut Orders| orders.turn == turn && !orders.now && !orders.end;
        let waited = self.told.wait_timeout_while(self.orders(), ASK_AGAIN, idle);
        waited.unwrap_or_else(PoisonError::into_inner).0.now = false;
    }

    fn stay(&self, turn: u64) -> Result<(), Fault> {
        let settings = self.kept.settings();
        let known = match settings.together_with {
            Some(url) => Knows::of(&self.config)?.at(&url)?,
            None => None,
        };
        let Some(known) = known else {
            self.news.together(Together { going: Going::Alone, report: None, fault: None });
            return Ok(());
        };
        let remote = Remote::of(&known)?;
        let mut shelf = Shelf::open(&self.own, Arc::clone(&self.host))?;
        let local = Local { name: settings.name.or_else(|| Some(airshelf_server::tls::host_name())) };
        let mut told = |told: Told| {
            if let Told::Joins { from, to } = told {
                Trust::joins(&self.config, &self.own, from, to)?;
            }
            let going = Going::Exchanging;
            self.news.together(Together { going, report: None, fault: None });
            Ok(())
        };
        let mut each = |came: Result<SyncReport, &Fault>| {
            if let Ok(report) = &came
                && (report.joined || report.new_identity)
            {
                self.lanes.open_anew();
                self.news.tell(Heard::Changed);
            }
            self.news.together(match came {
                Ok(report) => Together { going: Going::Together, report: Some(report), fault: None },
                Err(fault) => Together { going: Going::OutOfReach, report: None, fault: Some(fault.clone()) },
            });
            true
        };
        let mut wanted = || {
            let mut orders = self.orders();
            match (orders.end || orders.turn != turn, std::mem::take(&mut orders.now)) {
                (true, _) => Wanted::Parting,
                (false, true) => Wanted::Exchange,
                (false, false) => Wanted::Nothing,
            }
        };
        stay(&mut shelf, &remote, &local, PhotosAsked::All, &mut told, &mut each, &mut wanted)
    }
}

#[cfg(test)]
mod tests;
