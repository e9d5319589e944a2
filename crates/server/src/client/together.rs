//! One exchange over the network, and staying together with a hub.

use super::remote::Remote;
use airshelf_app::sync::wire::Ask;
use airshelf_app::sync::{Exchange, Local, PhotosAsked, SyncReport};
use airshelf_app::{Code, Fault, Shelf};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// Waits before a question that got no answer is asked again.
const AGAIN: [Duration; 3] = [Duration::from_millis(300), Duration::from_secs(1), Duration::from_secs(3)];
/// How often writes of other programs to this shelf are looked for.
const LOOK: Duration = Duration::from_millis(200);
/// How long after a lost line the hub is called again.
const CALL_AGAIN: Duration = Duration::from_secs(5);

/// What is told while an exchange runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Told {
    /// So many transactions were sent and received, and so many bytes of photos and originals.
    So {
        /// Sent.
        sent: usize,
        /// Received.
        received: usize,
        /// Bytes.
        photo_bytes: u64,
    },
}

/// Brings a shelf and a hub together. A question that gets no answer is asked again a few times; one that breaks off is
/// begun anew by calling this again, and nothing is sent twice that was committed.
///
/// # Errors
/// [`Fault`] if the hub does not answer or refuses; what was exchanged so far is kept.
pub fn exchange(
    shelf: &mut Shelf,
    remote: &Remote,
    local: &Local,
    photos: PhotosAsked,
    told: &mut dyn FnMut(Told),
) -> Result<SyncReport, Fault> {
    let mut exchange = Exchange::new(local.clone(), photos);
    let mut photo_bytes = 0;
    while let Some(ask) = exchange.next(shelf)? {
        let mut waits = AGAIN.iter();
        let answer = loop {
            match remote.ask(&ask) {
                Ok(answer) => break answer,
                Err(fault) if fault.code == Code::Unreachable => match waits.next() {
                    Some(wait) => std::thread::sleep(*wait),
                    None => return Err(fault),
                },
                Err(fault) => return Err(fault),
            }
        };
        photo_bytes += match (&ask, &answer) {
            (Ask::Put { bytes, .. }, _) => bytes.len() as u64,
            (_, airshelf_app::sync::wire::Answer::Piece(Some(piece))) => piece.bytes.len() as u64,
            _ => 0,
        };
        exchange.take(shelf, &ask, answer)?;
        let report = exchange.report();
        told(Told::So { sent: report.sent, received: report.received, photo_bytes });
    }
    Ok(exchange.report().clone())
}

/// Stays together with a hub: an exchange whenever either side has something new, until `each` says stop.
///
/// # Errors
/// [`Fault`] if the hub refuses; a line that is lost is called again.
pub fn stay(
    shelf: &mut Shelf,
    remote: &Remote,
    local: &Local,
    photos: PhotosAsked,
    each: &mut dyn FnMut(Result<SyncReport, &Fault>) -> bool,
) -> Result<(), Fault> {
    let (news, heard) = channel();
    let listener = remote.clone();
    // It ends with the program; it holds nothing that must be let go of.
    std::thread::spawn(move || {
        loop {
            let listened = listener.listen(|| news.send(Ok(())).is_ok());
            if let Err(fault) = listened
                && fault.code == Code::Unpaired
            {
                let _ = news.send(Err(fault));
                return;
            }
            if news.send(Ok(())).is_err() {
                return;
            }
            std::thread::sleep(CALL_AGAIN);
        }
    });
    let look = |shelf: &Shelf| shelf.store().data_version().unwrap_or(0);
    let mut seen = look(shelf);
    loop {
        let came = match exchange(shelf, remote, local, photos, &mut |_| {}) {
            Ok(report) => each(Ok(report)),
            Err(fault) if fault.code == Code::Unreachable => each(Err(&fault)),
            Err(fault) => return Err(fault),
        };
        if !came {
            return Ok(());
        }
        loop {
            match heard.recv_timeout(LOOK) {
                Ok(Ok(())) => break,
                Ok(Err(fault)) => return Err(fault),
                Err(RecvTimeoutError::Timeout) => {
                    let now = look(shelf);
                    if now != seen {
                        seen = now;
                        break;
                    }
                }
                Err(RecvTimeoutError::Disconnected) => return Ok(()),
            }
        }
        while let Ok(Ok(())) = heard.try_recv() {}
    }
}
