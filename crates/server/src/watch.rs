//! What a hub notices by itself: writes of other programs to its shelf, devices revoked by a command, a certificate
//! that ends or lacks an address, a shelf that has joined another.

use crate::hub::Hub;
use crate::tls::Tls;
use crate::trust::Where;
use std::fs::File;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, TryLockError};
use std::time::Duration;

/// How often it looks, which costs next to nothing; a change reaches another device in less than 300 ms.
const LOOK: Duration = Duration::from_millis(25);
/// How often the certificate is looked at.
const CERTIFICATE_MS: u64 = 60_000;

/// The locks that say that a hub runs on this shelf.
pub(crate) type Claims = Arc<Mutex<Vec<File>>>;

pub(crate) fn held(claims: &Claims) -> MutexGuard<'_, Vec<File>> {
    claims.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Looks until the hub stops.
pub(crate) async fn watch(hub: Hub, tls: Option<Arc<Tls>>, claims: Claims, at: Where) {
    let mut end = hub.end();
    let mut seen = Some(Seen::now(&hub));
    loop {
        tokio::select! {
            _ = end.wait_for(|ended| *ended) => return,
            () = tokio::time::sleep(LOOK) => {}
        }
        let (hub, tls, claims, at) = (hub.clone(), tls.clone(), Arc::clone(&claims), at.clone());
        let Some(mut last) = seen.take() else { return };
        let looked = tokio::task::spawn_blocking(move || {
            last.look(&hub, tls.as_deref(), &claims, &at);
            last
        });
        match looked.await {
            Ok(last) => seen = Some(last),
            Err(error) => {
                tracing::error!(%error, "no longer watching for changes of other programs");
                return;
            }
        }
    }
}

struct Seen {
    shelf: i64,
    trust: Option<crate::trust::files::Version>,
    certificate_ms: u64,
}

impl Seen {
    fn now(hub: &Hub) -> Self {
        let shelf =
            hub.shelf.lock().unwrap_or_else(PoisonError::into_inner).store().data_version().unwrap_or(0);
        Seen { shelf, trust: hub.trust.version(), certificate_ms: hub.host.now_ms() }
    }

    fn look(&mut self, hub: &Hub, tls: Option<&Tls>, claims: &Claims, at: &Where) {
        self.look_at_shelf(hub, claims, at);
        let trust = hub.trust.version();
        if trust != self.trust {
            self.trust = trust;
            hub.trust_changed();
        }
        let now_ms = hub.host.now_ms();
        if let Some(tls) = tls
            && now_ms.abs_diff(self.certificate_ms) >= CERTIFICATE_MS
        {
            self.certificate_ms = now_ms;
            if let Err(fault) = tls.renew(&hub.trust.folder(), &*hub.host, &hub.names) {
                tracing::error!(message = %fault.message, "the certificate could not be renewed");
            }
        }
    }

    fn look_at_shelf(&mut self, hub: &Hub, claims: &Claims, at: &Where) {
        // Whoever holds the shelf writes to it, and tells of it.
        let mut shelf = match hub.shelf.try_lock() {
            Ok(shelf) => shelf,
            Err(TryLockError::Poisoned(poisoned)) => poisoned.into_inner(),
            Err(TryLockError::WouldBlock) => return,
        };
        match shelf.store().data_version() {
            Ok(version) if version != self.shelf => {
                self.shelf = version;
                if let Err(fault) = shelf.look_again() {
                    tracing::warn!(message = %fault.message, "the shelf could not be read again");
                }
                hub.changed();
            }
            Ok(_) => {}
            Err(error) => tracing::debug!(%error, "the shelf is busy"),
        }
        let id = shelf.store().shelf_id();
        drop(shelf);
        if id != hub.trust.shelf() {
            let followed = hub.trust.follow(id).and_then(|()| {
                held(claims).push(hub.trust.claim()?);
                hub.trust.announce(at)
            });
            if let Err(fault) = followed {
                tracing::error!(message = %fault.message, "paired devices could not be taken along");
            }
        }
    }
}
