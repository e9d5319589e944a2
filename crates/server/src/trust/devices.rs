//! Paired devices: who they are, their keys' hashes, and whether they were revoked.

use super::files::{self, Version};
use super::{Trust, key};
use airshelf_app::{Code, Fault};
use serde::{Deserialize, Serialize};
use std::path::Path;
use utoipa::ToSchema;
use uuid::Uuid;

/// A paired device as it is kept.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Device {
    pub(crate) id: Uuid,
    pub(crate) name: String,
    pub(crate) key_sha256: String,
    pub(crate) paired_at: String,
    pub(crate) seen_on: Option<String>,
    pub(crate) origin: Option<String>,
    pub(crate) revoked_at: Option<String>,
}

#[derive(Default, Serialize, Deserialize)]
pub(crate) struct Devices {
    pub(crate) devices: Vec<Device>,
}

/// A paired device as it is shown: without anything of its key.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct DeviceReport {
    /// The device, as its stamps name it.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// When it was paired, by the hub's clock with its offset.
    pub paired_at: String,
    /// The last day on which it came.
    pub seen_on: Option<String>,
    /// The address that its screens were loaded from, where it is a browser.
    pub origin: Option<String>,
    /// When it was revoked, if so.
    pub revoked_at: Option<String>,
}

impl From<&Device> for DeviceReport {
    fn from(device: &Device) -> Self {
        DeviceReport {
            id: device.id,
            name: device.name.clone(),
            paired_at: device.paired_at.clone(),
            seen_on: device.seen_on.clone(),
            origin: device.origin.clone(),
            revoked_at: device.revoked_at.clone(),
        }
    }
}

/// The paired device that asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paired {
    /// The device, as its stamps name it.
    pub device_id: Uuid,
    /// What people call it.
    pub name: String,
    pub(crate) key_sha256: String,
}

/// The longest name, in characters.
const NAME_LENGTH: usize = 80;

/// A name as people write it, on one line; blank where nothing is left of it.
pub(crate) fn name_of(text: &str) -> Option<String> {
    let name: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let name: String = name.trim().chars().take(NAME_LENGTH).collect();
    (!name.is_empty()).then_some(name)
}

fn file(folder: &Path) -> std::path::PathBuf {
    folder.join("devices.json")
}

impl Trust {
    /// The devices as they are now; the file is read only where it is another than the last time.
    fn now(&self) -> Result<Vec<Device>, Fault> {
        let path = file(&self.folder());
        let version: Option<Version> = files::version(&path);
        let mut held = self.held();
        if version.is_none() || held.version != version {
            let read: Devices = files::read(&path)?.unwrap_or_default();
            // What was read may be newer than `version`; then the next request reads it again.
            *held = super::Held { version, devices: read.devices };
        }
        Ok(held.devices.clone())
    }

    /// Changes the devices, one process at a time.
    pub(crate) fn change<T>(
        &self,
        change: impl FnOnce(&mut Vec<Device>) -> Result<T, Fault>,
    ) -> Result<T, Fault> {
        let folder = self.folder();
        let _lock = files::lock(&folder)?;
        self.change_locked(&folder, change)
    }

    /// As [`Trust::change`], where the lock is held already.
    pub(crate) fn change_locked<T>(
        &self,
        folder: &Path,
        change: impl FnOnce(&mut Vec<Device>) -> Result<T, Fault>,
    ) -> Result<T, Fault> {
        let path = file(folder);
        let mut devices: Devices = files::read(&path)?.unwrap_or_default();
        let done = change(&mut devices.devices)?;
        files::write(&path, &devices)?;
        Ok(done)
    }

    /// All devices ever paired, the revoked ones too.
    ///
    /// # Errors
    /// [`Fault`] if the file cannot be read.
    pub fn devices(&self) -> Result<Vec<DeviceReport>, Fault> {
        Ok(self.now()?.iter().map(DeviceReport::from).collect())
    }

    /// The device with that key, unless it was revoked. Notes the day.
    ///
    /// # Errors
    /// [`Fault`] if the files cannot be read.
    pub fn device_with_key(&self, key: &str) -> Result<Option<Paired>, Fault> {
        let shown = key::hash(key);
        let devices = self.now()?;
        // Every hash is compared, so that the time does not tell which one came close.
        let found = devices.iter().fold(None, |found, device| {
            if key::same(&device.key_sha256, &shown) { found.or(Some(device)) } else { found }
        });
        // Copies of a device share its key: revoking one of them revokes it.
        let revoked = |key: &str| devices.iter().any(|d| d.key_sha256 == key && d.revoked_at.is_some());
        let Some(device) = found.filter(|device| !revoked(&device.key_sha256)) else { return Ok(None) };
        let today: String = self.host.wall().chars().take(10).collect();
        if device.seen_on.as_ref() != Some(&today) {
            let id = device.id;
            let noted = self.change(|devices| {
                if let Some(device) = devices.iter_mut().find(|device| device.id == id) {
                    device.seen_on = Some(today);
                }
                Ok(())
            });
            if let Err(fault) = noted {
                tracing::warn!(message = %fault.message, "the day was not noted");
            }
        }
        Ok(Some(Paired {
            device_id: device.id,
            name: device.name.clone(),
            key_sha256: device.key_sha256.clone(),
        }))
    }

    /// Whether a device is still paired with the key that it showed.
    pub fn is_still_paired(&self, paired: &Paired) -> bool {
        self.now().is_ok_and(|devices| {
            let mut with_key = devices.iter().filter(|device| device.key_sha256 == paired.key_sha256);
            let known = devices
                .iter()
                .any(|device| device.id == paired.device_id && device.key_sha256 == paired.key_sha256);
            known && with_key.all(|device| device.revoked_at.is_none())
        })
    }

    /// Lists a device that comes with the key of another: a copy of it, or the same one under a new identity. Says
    /// whether it is new.
    ///
    /// # Errors
    /// [`Fault`] if it cannot be kept.
    pub fn comes_as(&self, paired: &Paired, device: Uuid) -> Result<bool, Fault> {
        if device == paired.device_id || self.now()?.iter().any(|known| known.id == device) {
            return Ok(false);
        }
        let wall = self.host.wall();
        self.change(|devices| {
            let new = devices.iter().all(|known| known.id != device);
            if new {
                devices.push(Device {
                    id: device,
                    name: format!("{}, a copy with its key", paired.name),
                    key_sha256: paired.key_sha256.clone(),
                    seen_on: Some(wall.chars().take(10).collect()),
                    paired_at: wall,
                    origin: None,
                    revoked_at: None,
                });
            }
            Ok(new)
        })
    }

    /// Whether the screens of a paired device were loaded from that address.
    pub fn is_known_origin(&self, origin: &str) -> bool {
        self.now().is_ok_and(|devices| {
            devices
                .iter()
                .any(|device| device.revoked_at.is_none() && device.origin.as_deref() == Some(origin))
        })
    }

    /// Renames a device.
    ///
    /// # Errors
    /// [`Fault`] if no or more than one device fits, or the name is blank.
    pub fn rename(&self, which: &str, name: &str) -> Result<DeviceReport, Fault> {
        let name =
            name_of(name).ok_or_else(|| Fault::new(Code::BadArgument, "a device's name cannot be blank"))?;
        self.change(|devices| {
            let device = find(devices, which)?;
            device.name = name;
            Ok(DeviceReport::from(&*device))
        })
    }

    /// Revokes a device: its key is refused from now on. Revoking it again changes nothing.
    ///
    /// # Errors
    /// [`Fault`] if no or more than one device fits.
    pub fn revoke(&self, which: &str) -> Result<DeviceReport, Fault> {
        let now = self.host.wall();
        self.change(|devices| {
            let device = find(devices, which)?;
            if device.revoked_at.is_none() {
                device.revoked_at = Some(now);
                tracing::warn!(device = %device.id, name = device.name, "revoked");
            }
            Ok(DeviceReport::from(&*device))
        })
    }
}

/// The device that a text means: its id, the beginning of it, or its name.
fn find<'a>(devices: &'a mut [Device], which: &str) -> Result<&'a mut Device, Fault> {
    let asked = which.trim().to_lowercase();
    let fits = |device: &Device| {
        (asked.len() >= 4 && device.id.to_string().starts_with(&asked)) || device.name.to_lowercase() == asked
    };
    let count = devices.iter().filter(|device| fits(device)).count();
    match devices.iter_mut().find(|device| fits(device)) {
        Some(device) if count == 1 => Ok(device),
        Some(_) => Err(Fault::new(Code::Ambiguous, format!("{count} devices are called {which}"))
            .hint("Say which by its id: `airshelf devices list`.")),
        None => Err(Fault::new(Code::NotFound, format!("no device {which} is paired with this hub"))
            .hint("`airshelf devices list` names them.")),
    }
}
