//! One exchange over the network, and staying together with a hub.

use super::remote::Remote;
use airshelf_app::sync::wire::{Answer, Ask};
use airshelf_app::sync::{Exchange, Local, PhotosAsked, SyncReport};
use airshelf_app::{Code, Fault, Shelf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};
use uuid::Uuid;

/// Waits before a question that got no answer is asked again.
const AGAIN: [Duration; 3] = [Duration::from_millis(300), Duration::from_secs(1), Duration::from_secs(3)];
/// How often writes of other programs to this shelf are looked for, which costs next to nothing.
const LOOK: Duration = Duration::from_millis(25);
/// How long after a lost line, or an exchange that broke off, the hub is called again.
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
    /// This empty shelf is about to become part of another; who refuses to hear it keeps it from that.
    Joins {
        /// What it is now.
        from: Uuid,
        /// What it will be part of.
        to: Uuid,
    },
}

/// What whoever stays together wants while nothing is new.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// To go on waiting.
    Nothing,
    /// An exchange now.
    Exchange,
    /// To part.
    Parting,
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
    told: &mut dyn FnMut(Told) -> Result<(), Fault>,
) -> Result<SyncReport, Fault> {
    let mut exchange = Exchange::new(local.clone(), photos);
    carry(&mut exchange, shelf, remote, told, &mut |_| Ok(false))?;
    Ok(exchange.report().clone())
}

/// Carries an exchange to its end. News that come while photos cross go before the rest of them.
fn carry(
    exchange: &mut Exchange,
    shelf: &mut Shelf,
    remote: &Remote,
    told: &mut dyn FnMut(Told) -> Result<(), Fault>,
    news: &mut dyn FnMut(&Shelf) -> Result<bool, Fault>,
) -> Result<(), Fault> {
    let mut photo_bytes = 0;
    while let Some(ask) = exchange.next(shelf)? {
        let Some(answer) = answered(exchange, remote, &ask)? else { continue };
        photo_bytes += match (&ask, &answer) {
            (Ask::Put { bytes, .. }, _) => bytes.len() as u64,
            (_, Answer::Piece(Some(piece))) => piece.bytes.len() as u64,
            _ => 0,
        };
        let from = shelf.store().shelf_id();
        if let Answer::Welcome(welcome) = &answer
            && welcome.vector.shelf != from
            && shelf.is_empty()?
        {
            told(Told::Joins { from, to: welcome.vector.shelf })?;
        }
        if let Err(fault) = exchange.take(shelf, &ask, answer) {
            // It came out damaged; the way may do better the second time.
            if fault.code != Code::Unreachable {
                return Err(fault);
            }
            let Some(again) = answered(exchange, remote, &ask)? else { continue };
            exchange.take(shelf, &ask, again)?;
        }
        let report = exchange.report();
        told(Told::So { sent: report.sent, received: report.received, photo_bytes })?;
        if exchange.is_at_photos() && news(shelf)? {
            exchange.transactions_first();
        }
    }
    Ok(())
}

/// Asks until there is an answer, a few times; none where the exchange goes on without one.
fn answered(exchange: &mut Exchange, remote: &Remote, ask: &Ask) -> Result<Option<Answer>, Fault> {
    let mut waits = AGAIN.iter();
    loop {
        let Err(fault) = (match remote.ask(ask) {
            Ok(answer) => return Ok(Some(answer)),
            Err(fault) => exchange.refused(fault),
        }) else {
            return Ok(None);
        };
        match waits.next() {
            Some(wait) if fault.code == Code::Unreachable => std::thread::sleep(*wait),
            _ => return Err(fault),
        }
    }
}

/// Stays together with a hub: an exchange whenever either side has something new or `wanted` says so, until `each` says
/// stop or `wanted` says to part.
///
/// # Errors
/// [`Fault`] if the hub refuses; a line that is lost is called again.
pub fn stay(
    shelf: &mut Shelf,
    remote: &Remote,
    local: &Local,
    photos: PhotosAsked,
    told: &mut dyn FnMut(Told) -> Result<(), Fault>,
    each: &mut dyn FnMut(Result<SyncReport, &Fault>) -> bool,
    wanted: &mut dyn FnMut() -> Wanted,
) -> Result<(), Fault> {
    let mut news = News::of(remote, shelf);
    let mut exchange = Exchange::new(local.clone(), photos);
    loop {
        let carried = carry(&mut exchange, shelf, remote, told, &mut |shelf| news.any(shelf, Duration::ZERO));
        let whole = carried.is_ok();
        let came = match carried {
            Ok(()) => each(Ok(exchange.report().clone())),
            Err(fault) if fault.code == Code::Unreachable => each(Err(&fault)),
            Err(fault) => return Err(fault),
        };
        if !came {
            return Ok(());
        }
        let ended = Instant::now();
        while !news.any(shelf, LOOK)? && (whole || ended.elapsed() < CALL_AGAIN) {
            match wanted() {
                Wanted::Nothing => {}
                Wanted::Exchange => break,
                Wanted::Parting => return Ok(()),
            }
        }
        exchange = Exchange::again(local.clone(), photos, exchange.theirs().clone());
    }
}

/// What is new since it was last asked for: on the hub, as its live stream says, and on this shelf by other programs.
struct News {
    heard: Receiver<Result<(), Fault>>,
    seen: Option<i64>,
}

impl News {
    fn of(remote: &Remote, shelf: &Shelf) -> News {
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
        News { heard, seen: shelf.store().data_version().ok() }
    }

    /// Whether there is any, waiting for it so long at most.
    fn any(&mut self, shelf: &Shelf, wait: Duration) -> Result<bool, Fault> {
        let mut any = false;
        match self.heard.recv_timeout(wait) {
            Ok(heard) => {
                heard?;
                any = true;
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => std::thread::sleep(wait),
        }
        while let Ok(heard) = self.heard.try_recv() {
            heard?;
        }
        if let Ok(now) = shelf.store().data_version() {
            any |= self.seen.replace(now) != Some(now);
        }
        Ok(any)
    }
}
