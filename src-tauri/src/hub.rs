//! This machine as a hub: a switch, and what another device needs to come in.

use crate::kept::{HubLeft, Kept};
use crate::news::{Heard, News};
use crate::place::Place;
use airshelf_app::request::Places;
use airshelf_app::{Code, Fault, Host, Shelf};
use airshelf_server::{Certificate, Options, Reach, Running, page};
use serde::Serialize;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use ts_rs::TS;
use uuid::Uuid;

/// The hub as a screen shows it.
#[derive(Clone, Debug, Serialize, TS)]
pub(crate) struct HubShown {
    /// Where it runs; nothing where it is off.
    pub(crate) on: Option<HubOn>,
    /// Why it did not come up when this program started.
    #[ts(type = "import('../types/Fault').Fault | null")]
    pub(crate) fault: Option<Fault>,
}

/// A running hub.
#[derive(Clone, Debug, Serialize, TS)]
pub(crate) struct HubOn {
    /// Its address.
    url: String,
    /// Whether it lets in devices of the machine's networks.
    lan: bool,
    /// Whether it is on the demo shelf.
    demo: bool,
    /// The page that walks a new device through trusting it.
    trust_page: Option<String>,
    /// What that page and this one show alike, in groups of four.
    fingerprint: Option<String>,
    /// Who may come.
    devices: Vec<Guest>,
}

/// A device that is paired with this hub.
#[derive(Clone, Debug, Serialize, TS)]
pub(crate) struct Guest {
    /// As its changes name it.
    #[ts(type = "string")]
    id: Uuid,
    /// What people call it.
    name: String,
    /// The last day on which it came.
    seen_on: Option<String>,
}

/// A way in for one device.
#[derive(Clone, Debug, Serialize, TS)]
pub(crate) struct WayIn {
    /// Eight digits in two groups.
    pub(crate) digits: String,
    /// What a device's camera reads, or a person pastes.
    pub(crate) link: String,
    /// The link as a drawing.
    pub(crate) picture: String,
    /// How many seconds they are good for.
    #[ts(type = "number")]
    pub(crate) good_for_s: u64,
}

/// Turns the hub on and off.
pub(crate) struct Switch {
    places: Places,
    config: PathBuf,
    host: Arc<dyn Host>,
    kept: Arc<Kept>,
    news: Arc<News>,
    port: Option<u16>,
    running: Mutex<Option<(Running, HubLeft)>>,
    /// Why it did not come up by itself, until somebody turns it on or off.
    fault: Mutex<Option<Fault>>,
}

impl Switch {
    /// A switch that is off.
    pub(crate) fn new(
        place: &Place,
        host: &Arc<dyn Host>,
        kept: &Arc<Kept>,
        news: &Arc<News>,
        port: Option<u16>,
    ) -> Switch {
        Switch {
            places: place.shelves(),
            config: place.config.clone(),
            host: Arc::clone(host),
            kept: Arc::clone(kept),
            news: Arc::clone(news),
            port,
            running: Mutex::default(),
            fault: Mutex::default(),
        }
    }

    /// Turns it on as it was left; where that fails, it is off, says why, and is tried again by the next program.
    pub(crate) fn as_left(&self) {
        let Some(left) = self.kept.settings().hub else { return };
        let came = self.on(left);
        *self.fault() = came.err();
        if let Ok(shown) = self.shown() {
            self.news.tell(Heard::Hub(shown));
        }
    }

    /// Turns it on, or on again with another reach.
    pub(crate) fn on(&self, wanted: HubLeft) -> Result<HubShown, Fault> {
        *self.fault() = None;
        let mut running = self.running();
        if let Some((hub, _)) = running.take() {
            hub.stop();
        }
        let dir = if wanted.demo { &self.places.demo } else { &self.places.own };
        let shelf = Shelf::open(dir, Arc::clone(&self.host))?;
        let mut options = Options::new(shelf, self.config.clone(), Arc::clone(&self.host));
        options.port = self.port;
        options.reach = if wanted.lan { Reach::Lan(Certificate::Own) } else { Reach::Loopback };
        let hub = airshelf_server::serve(options)?;
        *running = Some((hub, wanted));
        drop(running);
        self.leave(Some(wanted))?;
        self.shown()
    }

    /// Turns it off for good.
    pub(crate) fn off(&self) -> Result<HubShown, Fault> {
        self.end();
        *self.fault() = None;
        self.leave(None)?;
        self.shown()
    }

    /// Stops it; the next program turns it on again.
    pub(crate) fn end(&self) {
        let taken = self.running().take();
        if let Some((hub, _)) = taken {
            hub.stop();
        }
    }

    fn leave(&self, hub: Option<HubLeft>) -> Result<(), Fault> {
        self.kept
            .change(|settings| settings.hub = hub)
            .map_err(|e| Fault::new(Code::Store, format!("how the hub was left cannot be kept: {e}")))
    }

    /// How it stands.
    pub(crate) fn shown(&self) -> Result<HubShown, Fault> {
        let running = self.running();
        let Some((hub, how)) = &*running else {
            return Ok(HubShown { on: None, fault: self.fault().clone() });
        };
        let at = hub.at();
        let devices = hub.hub().trust.devices()?.into_iter().filter(|device| device.revoked_at.is_none());
        let devices =
            devices.map(|device| Guest { id: device.id, name: device.name, seen_on: device.seen_on });
        let on = HubOn {
            url: at.url.clone(),
            lan: how.lan,
            demo: how.demo,
            trust_page: at.trust_page.clone(),
            fingerprint: at.authority_sha256.as_deref().map(grouped),
            devices: devices.collect(),
        };
        Ok(HubShown { on: Some(on), fault: None })
    }

    /// A way in for one device.
    pub(crate) fn invite(&self) -> Result<WayIn, Fault> {
        let running = self.running();
        let (hub, _) = running.as_ref().ok_or_else(|| {
            Fault::new(Code::NotFound, "the hub is off").hint("Turn it on, then let a device in.")
        })?;
        let invitation = hub.hub().trust.invite()?;
        let link = hub.at().link(&invitation.code);
        Ok(WayIn {
            digits: invitation.grouped(),
            picture: page::qr_drawing(&link),
            link,
            good_for_s: invitation.good_for_s,
        })
    }

    /// Lets a device in no longer.
    pub(crate) fn revoke(&self, device: Uuid) -> Result<HubShown, Fault> {
        if let Some((hub, _)) = &*self.running() {
            hub.hub().trust.revoke(&device.to_string())?;
            hub.hub().trust_changed();
        }
        self.shown()
    }

    fn running(&self) -> MutexGuard<'_, Option<(Running, HubLeft)>> {
        self.running.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn fault(&self) -> MutexGuard<'_, Option<Fault>> {
        self.fault.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn grouped(print: &str) -> String {
    let groups: Vec<&str> =
        print.as_bytes().chunks(4).filter_map(|four| std::str::from_utf8(four).ok()).collect();
    groups.join(" ")
}

#[cfg(test)]
mod tests;
