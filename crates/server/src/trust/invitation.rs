//! Pairing: an invitation is one code, good for five minutes and five tries, and for one device.

use super::devices::{Device, name_of};
use super::{Trust, files, key};
use airshelf_app::Fault;
use serde::{Deserialize, Serialize};
use std::path::Path;
use uuid::Uuid;

/// How long a code is good for.
const GOOD_FOR_MS: u64 = 5 * 60 * 1000;
/// How many codes may be tried.
const TRIES: u32 = 5;

/// An invitation as its maker sees it; the code is nowhere else.
#[derive(Clone, Debug)]
pub struct Invitation {
    /// The eight digits.
    pub code: String,
    /// How many seconds they are good for.
    pub good_for_s: u64,
    /// Whether the one before it ended because wrong codes were tried.
    pub tried_away: bool,
}

impl Invitation {
    /// The digits in two groups, as people read them out.
    pub fn grouped(&self) -> String {
        let (first, second) = self.code.split_at(self.code.len() / 2);
        format!("{first} {second}")
    }
}

/// An invitation as it is kept.
#[derive(Serialize, Deserialize)]
struct Open {
    code_sha256: String,
    made_ms: u64,
    tries_left: u32,
}

impl Open {
    /// Whether it is within its five minutes; a clock that went back ends it too.
    fn is_good(&self, now_ms: u64) -> bool {
        self.tries_left > 0 && now_ms.checked_sub(self.made_ms).is_some_and(|age| age < GOOD_FOR_MS)
    }
}

/// A device that wants to be taken in.
#[derive(Clone, Copy, Debug)]
pub struct Joins<'a> {
    /// What people call it.
    pub name: &'a str,
    /// The device, as its stamps name it.
    pub device: Uuid,
    /// The address that its screens were loaded from, where it is a browser.
    pub origin: Option<&'a str>,
    /// Whether it holds another shelf than the hub.
    pub other_shelf: bool,
}

/// A device that was taken in.
#[derive(Clone, Debug)]
pub struct Joined {
    /// Its key; the hub keeps only the hash.
    pub key: String,
}

/// Why a device was not taken in.
#[derive(Debug)]
pub enum NotJoined {
    /// There is no invitation with that code; which of the reasons it is stays untold.
    Refused,
    /// The code is right, and the device holds another shelf; the invitation stays open.
    OtherShelf,
    /// Too many codes were tried lately.
    TooMany,
    /// The files could not be read or written.
    Fault(Fault),
}

impl From<Fault> for NotJoined {
    fn from(fault: Fault) -> Self {
        NotJoined::Fault(fault)
    }
}

fn file(folder: &Path) -> std::path::PathBuf {
    folder.join("invitation.json")
}

impl Trust {
    /// Makes an invitation; an earlier one ends.
    ///
    /// # Errors
    /// [`Fault`] if it cannot be kept.
    pub fn invite(&self) -> Result<Invitation, Fault> {
        let code = key::fresh_code(&*self.host);
        let folder = self.folder();
        let _lock = files::lock(&folder)?;
        let before: Option<Open> = files::read(&file(&folder)).ok().flatten();
        let tried_away = before.is_some_and(|open| open.tries_left == 0);
        let open = Open { code_sha256: key::hash(&code), made_ms: self.host.now_ms(), tries_left: TRIES };
        files::write(&file(&folder), &open)?;
        Ok(Invitation { code, good_for_s: GOOD_FOR_MS / 1000, tried_away })
    }

    /// Whether an invitation is open.
    pub fn is_inviting(&self) -> bool {
        let open: Result<Option<Open>, Fault> = files::read(&file(&self.folder()));
        open.ok().flatten().is_some_and(|open| open.is_good(self.host.now_ms()))
    }

    /// Takes a device in that shows the code, and ends the invitation. A device that was paired before gets a new key.
    ///
    /// # Errors
    /// [`NotJoined`].
    pub fn join(&self, code: &str, who: Joins<'_>) -> Result<Joined, NotJoined> {
        let Joins { name, device, origin, other_shelf } = who;
        if !self.tries.take(self.host.now_ms()) {
            return Err(NotJoined::TooMany);
        }
        let shown = key::hash(&code.chars().filter(char::is_ascii_digit).collect::<String>());
        let folder = self.folder();
        let path = file(&folder);
        let _lock = files::lock(&folder)?;
        let Some(mut open) = files::read::<Open>(&path)? else { return Err(NotJoined::Refused) };
        if !open.is_good(self.host.now_ms()) {
            // One that was tried away stays, to be told of when the next is made.
            if open.tries_left > 0 {
                files::remove(&path)?;
            }
            return Err(NotJoined::Refused);
        }
        if !key::same(&open.code_sha256, &shown) {
            open.tries_left -= 1;
            files::write(&path, &open)?;
            if open.tries_left == 0 {
                tracing::warn!(
                    "{TRIES} wrong codes were tried: the open code is not good any more; `airshelf pair` makes a new one"
                );
            }
            return Err(NotJoined::Refused);
        }
        if other_shelf {
            return Err(NotJoined::OtherShelf);
        }
        files::remove(&path)?;
        let key = key::fresh(&*self.host);
        let wall = self.host.wall();
        let taken = Device {
            id: device,
            name: name_of(name).unwrap_or_else(|| "a device without a name".into()),
            key_sha256: key::hash(&key),
            seen_on: Some(wall.chars().take(10).collect()),
            paired_at: wall,
            origin: origin.map(str::to_owned),
            revoked_at: None,
        };
        self.change_locked(&folder, |devices| {
            devices.retain(|known| known.id != device);
            devices.push(taken);
            Ok(())
        })?;
        Ok(Joined { key })
    }
}
