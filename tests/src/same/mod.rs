//! Whether two builds of the app say the same: everything that a screen can ask, asked of one, written down with what
//! it answered, and asked again of the other.
//!
//! [`record`] asks the native app; `ui/scripts/replay.js` asks the browser's module the same; [`compare`] tells where
//! the two first differ. Clock and chance are [`Steady`] on both sides, so nothing may differ, down to the last digit.

mod compare;
mod demo;
mod everything;
mod hub;
mod own;
mod script;
mod steady;

pub use compare::compare;
pub use script::{Line, Recording};
pub use steady::Steady;

use script::Script;
use std::collections::BTreeSet;
use std::path::Path;

/// Asks the native app everything, on shelves that it makes in `folder`; of rows of a kind `every` so manieth is looked at.
///
/// # Panics
/// Where the app does something else than the requests were written for.
pub fn record(folder: &Path, every: usize) -> Recording {
    let mut recording = Recording::default();
    let packed = demo::made_and_changed(&mut Script::begin(&folder.join("demo"), &mut recording, every));
    demo::brought_back(&mut Script::begin(&folder.join("packed"), &mut recording, every), &packed);
    own::from_nothing(&mut Script::begin(&folder.join("own"), &mut recording, every), &folder.join("hub"));
    recording
}

/// Every request that there is, as `place/ask`, read from the types of the screens, which are those of the app.
///
/// # Panics
/// Where the types are not where they are kept.
pub fn every_request() -> BTreeSet<String> {
    let types = Path::new(env!("CARGO_MANIFEST_DIR")).join("../ui/src/lib/backend/types");
    let read = |name: &str| {
        std::fs::read_to_string(types.join(name)).unwrap_or_else(|e| panic!("the types of the screens: {e}"))
    };
    let mut every = BTreeSet::new();
    for place in quoted(&read("Request.ts"), "\"place\": \"") {
        let (first, rest) = place.split_at(1);
        let file = format!("{}{rest}Asked.ts", first.to_uppercase());
        every.extend(quoted(&read(&file), "\"ask\": \"").map(|ask| format!("{place}/{ask}")));
    }
    every
}

fn quoted<'a>(text: &'a str, before: &'a str) -> impl Iterator<Item = &'a str> {
    text.split(before).skip(1).filter_map(|rest| rest.split('"').next())
}
