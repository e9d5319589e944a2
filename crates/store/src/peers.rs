//! Other stores, as they last said what they hold. Each store keeps its own list; it is never exchanged.

use crate::error::StoreError;
use crate::local::uuid_of;
use crate::shelf::Store;
use crate::sync::VersionVector;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Another store.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Peer {
    /// Its device.
    pub device: Uuid,
    /// What it calls itself.
    pub name: Option<String>,
    /// What it held.
    pub held: VersionVector,
    /// When it said so, on this device's wall clock.
    pub met: String,
}

impl Store {
    /// Notes what another store said to hold, once it has committed that.
    ///
    /// # Errors
    /// A damaged, busy or read-only file.
    pub fn note_peer(
        &mut self,
        device: Uuid,
        name: Option<&str>,
        held: &VersionVector,
    ) -> Result<(), StoreError> {
        self.must_write()?;
        let held = serde_json::to_string(held).map_err(|e| StoreError::damaged(e.to_string()))?;
        let mut note = self.conn.prepare_cached(
            "INSERT INTO peer (device, name, held, met) VALUES (?1, ?2, ?3, ?4)
             ON CONFLICT (device) DO UPDATE SET name = coalesce(excluded.name, name), held = excluded.held, met = excluded.met",
        )?;
        note.execute((device.as_bytes(), name, held, self.host.wall()))?;
        Ok(())
    }

    /// Lists the stores that this one has exchanged with.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn peers(&self) -> Result<Vec<Peer>, StoreError> {
        let mut read =
            self.conn.prepare_cached("SELECT device, name, held, met FROM peer ORDER BY met DESC")?;
        let mut rows = read.query([])?;
        let mut peers = Vec::new();
        while let Some(row) = rows.next()? {
            let held: String = row.get(2)?;
            let held =
                serde_json::from_str(&held).map_err(|e| StoreError::damaged(format!("a peer: {e}")))?;
            peers.push(Peer { device: uuid_of(row.get_ref(0)?)?, name: row.get(1)?, held, met: row.get(3)? });
        }
        Ok(peers)
    }

    /// How many transactions here are not known to be held by any other store.
    ///
    /// # Errors
    /// A damaged or busy file.
    pub fn nowhere_else(&self) -> Result<u64, StoreError> {
        let mut elsewhere: BTreeMap<Uuid, u64> = BTreeMap::new();
        for peer in self.peers()?.iter().filter(|peer| peer.held.shelf == self.shelf_id()) {
            for (device, held) in &peer.held.devices {
                let links = self.links(*device, &[held.number])?;
                // More than is held here covers all of it; another branch covers none.
                let covered = match links.get(&held.number) {
                    Some(link) if link.chain != held.chain => 0,
                    _ => held.number,
                };
                let most = elsewhere.entry(*device).or_insert(0);
                *most = (*most).max(covered);
            }
        }
        let mut only_here = 0;
        for (device, held) in self.version_vector()?.devices {
            only_here += held.number.saturating_sub(elsewhere.get(&device).copied().unwrap_or(0));
        }
        Ok(only_here)
    }
}
