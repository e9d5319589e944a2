//! The hub's commands: serve, pair, devices.

use crate::arguments::{Devices, Serve};
use crate::output::Output;
use crate::run::Place;
use airshelf_app::{Fault, Shelf};
use airshelf_server::tls::Given;
use airshelf_server::trust::Where;
use airshelf_server::{Certificate, DeviceReport, Invitation, Options, Reach, Trust, page};
use serde_json::json;
use std::io::IsTerminal;

/// Runs the hub until the program is told to end.
pub(crate) fn serve(place: &Place, asked: &Serve, out: &mut Output) -> Result<u8, Fault> {
    let shelf = place.open(out)?;
    let certificate = match (&asked.cert, &asked.key) {
        (Some(certificate), Some(key)) => {
            Certificate::Given(Given { certificate: certificate.clone(), key: key.clone() })
        }
        _ => Certificate::Own,
    };
    airshelf_server::log::to_stderr();
    let mut options = Options::new(shelf, place.config.clone(), place.host.clone());
    options.name = asked.name.clone();
    options.port = asked.port;
    options.reach = if asked.lan { Reach::Lan(certificate) } else { Reach::Loopback };
    let running = airshelf_server::serve(options)?;
    let hub = running.hub().clone();
    let at = running.at().clone();
    // Nobody is paired yet, so the first thing a person needs is a code.
    let nobody = hub.trust.devices()?.iter().all(|device| device.revoked_at.is_some());
    let invitation = if nobody { Some(hub.trust.invite()?) } else { None };
    let document = json!({
        "url": at.url, "trust_page": at.trust_page, "authority_sha256": at.authority_sha256,
        "invitation": invitation.as_ref().map(|invitation| invited(invitation, Some(&at))),
    });
    out.answer(&document, |out| {
        out.line(&format!("{} is running at {}", hub.name, at.url));
        if let (Some(page), Some(print)) = (&at.trust_page, &at.authority_sha256) {
            out.line(&format!("A device that comes for the first time opens {page} and compares there:"));
            out.wrapped("  ", &grouped(print));
        }
        match &invitation {
            Some(invitation) => show(invitation, Some(&at), out),
            None => out.line("Pair another device with `airshelf pair`. Ctrl-C stops the hub."),
        }
    });
    running.until_told();
    Ok(0)
}

/// Makes a code for one device.
pub(crate) fn pair(place: &Place, out: &mut Output) -> Result<u8, Fault> {
    let trust = trust(place, out)?;
    let at = trust.running()?;
    let invitation = trust.invite()?;
    out.answer(&invited(&invitation, at.as_ref()), |out| show(&invitation, at.as_ref(), out));
    if at.is_none() {
        out.talk("No hub is running on this shelf; start one with `airshelf serve`.");
    }
    Ok(0)
}

/// Lists, renames, revokes devices.
pub(crate) fn devices(place: &Place, asked: &Devices, out: &mut Output) -> Result<u8, Fault> {
    let trust = trust(place, out)?;
    match asked {
        Devices::List => {
            let list = trust.devices()?;
            out.answer(&json!({ "devices": list }), |out| table(&list, out));
        }
        Devices::Rename { which, name } => {
            let device = trust.rename(which, name)?;
            out.answer(&device, |out| out.line(&format!("It is called {} now.", device.name)));
        }
        Devices::Revoke { which } => {
            let device = trust.revoke(which)?;
            out.answer(&device, |out| {
                out.line(&format!("{} is no longer let in. What it synced stays.", device.name));
            });
        }
    }
    Ok(0)
}

fn trust(place: &Place, out: &mut Output) -> Result<Trust, Fault> {
    let shelf: Shelf = place.open(out)?;
    Trust::on(&place.config, &shelf, place.host.clone())
}

fn invited(invitation: &Invitation, at: Option<&Where>) -> serde_json::Value {
    json!({
        "code": invitation.code, "good_for_s": invitation.good_for_s, "link": at.map(|at| at.link(&invitation.code)),
    })
}

fn show(invitation: &Invitation, at: Option<&Where>, out: &mut Output) {
    out.line("");
    out.line(&format!("  {}", invitation.grouped()));
    out.line("");
    if invitation.tried_away {
        out.line("The code before this one is not good any more: five wrong ones were tried on it.");
    }
    out.line("Type these digits on the new device. They are good once, for five minutes and five tries.");
    let Some(at) = at else { return };
    let link = at.link(&invitation.code);
    out.line("Or open this on it:");
    out.line(&format!("  {link}"));
    if std::io::stdout().is_terminal() {
        let plain = std::env::var_os("NO_COLOR").is_some();
        let drawn = if plain { page::qr_for_plain_terminal(&link) } else { page::qr_for_terminal(&link) };
        out.line("");
        // Drawn with the terminal's own colors, which a line of words may not steer.
        out.bytes(drawn.unwrap_or_default().as_bytes());
    }
}

fn table(list: &[DeviceReport], out: &mut Output) {
    if list.is_empty() {
        out.line("No device is paired with this hub. `airshelf pair` makes a code for one.");
        return;
    }
    let rows: Vec<Vec<String>> = list
        .iter()
        .map(|device| {
            let state = device.revoked_at.as_ref().map_or_else(
                || "paired".to_owned(),
                |at| format!("revoked {}", at.chars().take(10).collect::<String>()),
            );
            vec![
                device.name.clone(),
                state,
                device.paired_at.chars().take(10).collect(),
                device.seen_on.clone().unwrap_or_default(),
                device.id.to_string().chars().take(13).collect(),
            ]
        })
        .collect();
    out.table(&["name", "state", "since", "last seen", "id"], &rows);
}

fn grouped(print: &str) -> String {
    let groups: Vec<&str> =
        print.as_bytes().chunks(4).filter_map(|four| std::str::from_utf8(four).ok()).collect();
    groups.join(" ")
}
