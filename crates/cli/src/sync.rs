//! `airshelf sync`: this shelf and a hub elsewhere become equal.

use crate::arguments::{Photos, Sync};
use crate::output::Output;
use crate::run::Place;
use airshelf_app::sync::{Local, PhotosAsked, SyncReport};
use airshelf_app::{Code, Fault, Shelf};
use airshelf_server::Trust;
use airshelf_server::client::{
    Address, Known, Knows, Pairing, Remote, Told, Wanted, exchange, given_authority, stay,
};
use std::path::Path;

/// What is asked for, where the digits may stand in two words before the address.
struct Asked<'a> {
    hub: Option<&'a str>,
    code: Option<String>,
    name: Option<&'a str>,
    authority: Option<&'a Path>,
    photos: PhotosAsked,
    stay: bool,
}

impl<'a> Asked<'a> {
    fn of(asked: &'a Sync) -> Result<Self, Fault> {
        let is_digits = |text: &&String| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        let (mut hub, mut code) = (asked.hub.as_deref(), asked.code.join(""));
        if let [first, second] = &asked.code[..]
            && hub.is_none()
            && !is_digits(&second)
        {
            (hub, code) = (Some(second.as_str()), first.clone());
        }
        if hub.is_none() && !code.is_empty() {
            return Err(Fault::new(Code::BadArgument, "a code without the address of its hub")
                .hint("Say both: `airshelf sync ADDRESS --code DIGITS`."));
        }
        Ok(Asked {
            hub,
            code: (!code.is_empty()).then_some(code),
            name: asked.name.as_deref(),
            authority: asked.authority.as_deref(),
            photos: match asked.photos {
                Photos::All => PhotosAsked::All,
                Photos::Thumbnails => PhotosAsked::Thumbnails,
                Photos::None => PhotosAsked::None,
            },
            stay: asked.stay,
        })
    }
}

/// Pairs where asked to, then syncs once, or stays.
pub(crate) fn sync(place: &Place, asked: &Sync, out: &mut Output) -> Result<u8, Fault> {
    let asked = &Asked::of(asked)?;
    let mut shelf = match place.open(out) {
        // A new device begins with an empty shelf, which joins the hub's.
        Err(fault) if fault.code == Code::NoShelf && asked.hub.is_some() => {
            Shelf::create(&place.dir, place.host.clone())?
        }
        opened => opened?,
    };
    let knows = Knows::of(&place.config)?;
    let name = asked.name.map(str::to_owned);
    let local = Local { name: Some(name.unwrap_or_else(airshelf_server::tls::host_name)) };
    let known = match asked.hub {
        Some(text) => hub(&Address::read(text)?, asked, &knows, &shelf, &local, out)?,
        None => usual(&knows)?,
    };
    let remote = Remote::of(&known)?;
    let photos = asked.photos;
    let (config, dir) = (place.config.clone(), place.dir.clone());
    let joins = |told: Told| match told {
        Told::Joins { from, to } => Trust::joins(&config, &dir, from, to),
        Told::So { .. } => Ok(()),
    };
    if asked.stay {
        out.talk(&format!("Staying together with {}. Ctrl-C ends it.", known.name));
        let mut each = |came: Result<SyncReport, &Fault>| {
            match came {
                Ok(report) if out.json || moved(&report) => {
                    out.answer(&report, |out| told(&report, &known, out));
                }
                Ok(_) => {}
                Err(fault) => out.talk(&fault.message),
            }
            true
        };
        stay(&mut shelf, &remote, &local, photos, &mut { joins }, &mut each, &mut || Wanted::Nothing)?;
        return Ok(0);
    }
    let mut progress = out.progress("syncing");
    let report = exchange(&mut shelf, &remote, &local, photos, &mut |told| {
        if let Told::So { sent, received, photo_bytes } = told {
            progress.at((sent + received) as u64 + (photo_bytes >> 20), 0);
        }
        joins(told)
    })?;
    drop(progress);
    out.answer(&report, |out| told(&report, &known, out));
    Ok(0)
}

/// The hub at an address: known already, or paired with now.
fn hub(
    address: &Address,
    asked: &Asked<'_>,
    knows: &Knows,
    shelf: &Shelf,
    local: &Local,
    out: &Output,
) -> Result<Known, Fault> {
    let code = asked.code.as_deref().or(address.code.as_deref());
    let Some(code) = code else {
        return knows.at(&address.url)?.ok_or_else(|| {
            Fault::new(Code::Unpaired, format!("this device is not paired with the hub at {}", address.url))
                .hint("Run `airshelf pair` there, and paste its whole link here in place of the address.")
        });
    };
    let authority = asked.authority.map(given_authority).transpose()?;
    let pairing = Pairing {
        code,
        name: local.name.as_deref().unwrap_or_default(),
        device: shelf.store().device(),
        shelf: (!shelf.is_empty()?).then(|| shelf.store().shelf_id()),
        authority: authority.as_deref(),
    };
    let known = Remote::pair(address, &pairing)?;
    knows.keep(known.clone())?;
    out.talk(&format!("Paired with {}.", known.name));
    Ok(known)
}

/// The only hub that is known.
fn usual(knows: &Knows) -> Result<Known, Fault> {
    let mut all = knows.all()?;
    match all.len() {
        0 => Err(Fault::new(Code::Unpaired, "this device is not paired with any hub")
            .hint("Run `airshelf pair` on the hub, and `airshelf sync LINK` here.")),
        1 => Ok(all.remove(0)),
        _ => {
            let urls: Vec<&str> = all.iter().map(|known| known.url.as_str()).collect();
            Err(Fault::new(Code::Ambiguous, "this device is paired with several hubs")
                .hint(format!("Say which: {}", urls.join(", "))))
        }
    }
}

fn moved(report: &SyncReport) -> bool {
    report.sent + report.received + report.photos_sent + report.photos_received > 0
}

fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

fn told(report: &SyncReport, known: &Known, out: &mut Output) {
    if report.joined {
        out.line("This empty shelf is part of the hub's shelf now.");
    }
    out.line(&format!(
        "With {}: {} sent, {} received.",
        known.name,
        count(report.sent, "change", "changes"),
        count(report.received, "change", "changes"),
    ));
    if report.photos_sent + report.photos_received > 0 {
        out.line(&format!(
            "{} sent, {} received.",
            count(report.photos_sent, "photo or sheet", "photos and sheets"),
            report.photos_received
        ));
    }
    if report.photos_elsewhere > 0 {
        out.line(&format!(
            "{} not on this device.",
            count(report.photos_elsewhere, "photo or sheet is", "photos and sheets are")
        ));
    }
    if report.photos_wrong > 0 {
        let what = count(report.photos_wrong, "photo or sheet", "photos and sheets");
        out.line(&format!("{what} came out damaged and were not kept; they are tried again the next time."));
    }
    if report.conflicts > 0 {
        let what = count(report.conflicts, "value was", "values were");
        out.line(&format!("{what} changed apart: `airshelf conflicts list` shows them side by side."));
    }
    if report.revived > 0 {
        let what = count(report.revived, "deleted row came", "deleted rows came");
        out.line(&format!("{what} back, since somebody wrote about them meanwhile."));
    }
    if report.incomplete_imports > 0 {
        let what = count(report.incomplete_imports, "import has", "imports have");
        out.line(&format!("{what} not arrived whole yet."));
    }
    if report.new_identity {
        out.line("A copy of this shelf wrote under this device's name; this device has a new one now. Nothing is lost.");
    }
    if let Some(ahead) = report.clock_ahead_ms {
        let way = if ahead > 0 { "ahead of" } else { "behind" };
        let minutes = ahead.unsigned_abs() / 60_000;
        out.line(&format!(
            "This device's clock is {} {way} the hub's. Nothing is lost by that, but times are shown wrong: set it.",
            if minutes < 120 { format!("{minutes} minutes") } else { format!("{} hours", minutes / 60) }
        ));
    }
    match report.only_here {
        0 => out.line("Nothing is only on this device."),
        n => out.line(&format!("{} only on this device.", count(n as usize, "change is", "changes are"))),
    }
}
