//! The asking side, one question at a time.

use super::forks::{Found, Search};
use super::hub::Local;
use super::photos::{Carrier, PhotosAsked};
use super::wire::{self, Answer, Ask, Hello, Pull, Welcome};
use crate::code::{Code, Fault};
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::Uuid;
use airshelf_store::{Encoded, HeldUntil, Link, StoreError, VersionVector};
use serde::Serialize;

/// About how many bytes of transactions travel at once.
const BATCH: usize = 4 << 20;
/// A clock that differs by less is not spoken of.
const CLOCK_MS: i64 = 120_000;

/// What came of an exchange.
#[derive(Clone, Debug, Default, Serialize, ts_rs::TS)]
pub struct SyncReport {
    /// The other device.
    pub device: Option<Uuid>,
    /// What it calls itself.
    pub name: Option<String>,
    /// Whether this empty shelf became part of the other's.
    pub joined: bool,
    /// Transactions that were new to the other.
    pub sent: usize,
    /// Transactions that were new here.
    pub received: usize,
    /// Photos and originals sent.
    pub photos_sent: usize,
    /// Photos and originals received.
    pub photos_received: usize,
    /// Small pictures received.
    pub thumbnails_received: usize,
    /// Photos and originals that are on other devices only.
    pub photos_elsewhere: usize,
    /// Photos and originals whose bytes came out wrong.
    pub photos_wrong: usize,
    /// Transactions of copied devices that got another name.
    pub renamed: usize,
    /// Whether this device writes under a new identity from now on, since a copy of it writes as well.
    pub new_identity: bool,
    /// How far this device's clock is ahead of the other's; none where they agree within two minutes.
    pub clock_ahead_ms: Option<i64>,
    /// Values changed apart that wait to be settled.
    pub conflicts: usize,
    /// Rows that came back because somebody wrote about them.
    pub revived: usize,
    /// Imports of which not everything is here yet.
    pub incomplete_imports: usize,
    /// Transactions that no other device is known to hold.
    pub only_here: u64,
}

#[derive(Debug)]
enum State {
    /// Before greeting: what is new on either side, as far as that shows.
    Ahead,
    Greet,
    Forks {
        theirs: Vec<Uuid>,
        search: Option<Search>,
    },
    Rename {
        at: wire::ForkAt,
    },
    Send,
    Receive,
    Photos,
    Done,
}

/// One exchange with another shelf: ask [`Exchange::next`] what to ask, and hand the answer to [`Exchange::take`]. One
/// that breaks off is begun anew; nothing is sent twice that was committed.
#[derive(Debug)]
pub struct Exchange {
    local: Local,
    state: State,
    theirs: VersionVector,
    /// The vector last seen before a step that must move it.
    before: Option<VersionVector>,
    carrier: Carrier,
    report: SyncReport,
    /// Greetings without a fork settled since.
    greetings: u8,
    /// Whether the question asked last went ahead of the greeting.
    ahead: bool,
}

impl Exchange {
    /// Begins one.
    pub fn new(local: Local, photos: PhotosAsked) -> Self {
        Exchange {
            local,
            state: State::Greet,
            theirs: VersionVector::default(),
            before: None,
            carrier: Carrier::new(photos),
            report: SyncReport::default(),
            greetings: 0,
            ahead: false,
        }
    }

    /// Begins one with a shelf that was met a moment ago and held `theirs` then. What is new crosses with the first
    /// question, ahead of the greeting; whatever came of that, everything else follows as in any exchange.
    pub fn again(local: Local, photos: PhotosAsked, theirs: VersionVector) -> Self {
        Exchange { state: State::Ahead, theirs, ..Exchange::new(local, photos) }
    }

    /// What the other was last said to hold.
    pub fn theirs(&self) -> &VersionVector {
        &self.theirs
    }

    /// Whether all transactions that were new when it began have crossed, and photos are next.
    pub fn is_at_photos(&self) -> bool {
        matches!(self.state, State::Photos)
    }

    /// Lets what is new on either side by now go before the photos that are still to come.
    pub fn transactions_first(&mut self) {
        if self.is_at_photos() {
            self.before = None;
            self.state = State::Send;
        }
    }

    /// What has come of it so far.
    pub fn report(&self) -> &SyncReport {
        &self.report
    }

    /// The next question; none when all is done.
    ///
    /// # Errors
    /// [`Fault`] if the shelf cannot be read, or nothing is gained any more.
    pub fn next(&mut self, shelf: &mut Shelf) -> Result<Option<Ask>, Fault> {
        self.ahead = false;
        loop {
            match &mut self.state {
                State::Ahead => {
                    self.state = State::Greet;
                    let vector = shelf.store().version_vector().map_err(store_fault)?;
                    // One that holds something is of its shelf for good; any other may have joined another meanwhile.
                    if self.theirs.shelf != vector.shelf || self.theirs.devices.is_empty() {
                        continue;
                    }
                    self.ahead = true;
                    let batch = shelf.store().transactions_since(&self.theirs, BATCH).map_err(store_fault)?;
                    return Ok(Some(match batch.is_empty() {
                        true => Ask::Pull(Pull { vector, budget_bytes: BATCH }),
                        false => Ask::Push(wire::join(&batch)),
                    }));
                }
                State::Greet => {
                    return Ok(Some(Ask::Hello(Hello {
                        device: shelf.store().device(),
                        name: self.local.name.clone(),
                        program: shelf.store().program(),
                        now_ms: shelf.store().now_ms(),
                        vector: shelf.store().version_vector().map_err(store_fault)?,
                    })));
                }
                State::Forks { theirs, search } => {
                    if let Some(search) = search {
                        return Ok(Some(Ask::Links(search.asking())));
                    }
                    let Some(device) = theirs.pop() else {
                        self.state = State::Send;
                        continue;
                    };
                    let ours = shelf.store().version_vector().map_err(store_fault)?;
                    let count =
                        |vector: &VersionVector| vector.devices.get(&device).map_or(0, |held| held.number);
                    let shortest = count(&ours).min(count(&self.theirs));
                    if shortest > 0 {
                        *search = Some(Search::of(device, shortest));
                    }
                }
                State::Rename { at } => return Ok(Some(Ask::Fork(at.clone()))),
                State::Send => {
                    let batch = shelf.store().transactions_since(&self.theirs, BATCH).map_err(store_fault)?;
                    if !batch.is_empty() {
                        if self.before.replace(self.theirs.clone()).as_ref() == Some(&self.theirs) {
                            return Err(no_progress("the other device does not keep what is sent to it"));
                        }
                        return Ok(Some(Ask::Push(wire::join(&batch))));
                    }
                    self.before = None;
                    self.state = State::Receive;
                }
                State::Receive => {
                    let vector = shelf.store().version_vector().map_err(store_fault)?;
                    if self.before.replace(vector.clone()).as_ref() == Some(&vector) {
                        return Err(no_progress("the other device sends the same again and again"));
                    }
                    return Ok(Some(Ask::Pull(Pull { vector, budget_bytes: BATCH })));
                }
                State::Photos => {
                    let ask = self.carrier.next(shelf)?;
                    if ask.is_none() {
                        self.finish(shelf)?;
                    }
                    return Ok(ask);
                }
                State::Done => return Ok(None),
            }
        }
    }

    /// Takes it that the question asked last was refused, or got no answer.
    ///
    /// # Errors
    /// The fault, unless the exchange goes on without that answer.
    pub fn refused(&mut self, fault: Fault) -> Result<(), Fault> {
        if self.ahead { Ok(()) } else { Err(fault) }
    }

    /// Takes the answer to the question asked last.
    ///
    /// # Errors
    /// [`Fault`]: another shelf, an answer to another question, or what a write may say.
    pub fn take(&mut self, shelf: &mut Shelf, asked: &Ask, answer: Answer) -> Result<(), Fault> {
        match (asked, answer) {
            (Ask::Hello(hello), Answer::Welcome(welcome)) => self.welcomed(shelf, hello, welcome),
            (Ask::Links(_), Answer::Links(links)) => {
                let State::Forks { search, .. } = &mut self.state else { return Ok(()) };
                let Some(searching) = search else { return Ok(()) };
                match searching.narrow(shelf, &links.links)? {
                    Found::Nothing => *search = None,
                    Found::Between => {}
                    Found::Here(at, theirs) => self.part(shelf, at, &theirs)?,
                }
                Ok(())
            }
            (Ask::Fork(_), Answer::Forked(forked)) => {
                let Some(renamed) = forked.renamed else {
                    // Somebody settled it meanwhile.
                    return self.greet_again();
                };
                self.report.renamed += renamed;
                self.greetings = 0;
                self.greet_again()
            }
            (Ask::Push(_), Answer::Pushed(pushed)) => {
                self.report.sent += pushed.new;
                self.theirs = pushed.vector;
                Ok(())
            }
            (Ask::Pull(_), Answer::Batch(sequence)) => self.received(shelf, &sequence),
            (Ask::Blobs(of), Answer::Blobs(held)) => self.carrier.held(shelf, of, self.report.device, &held),
            (Ask::Thumbnail { hash }, Answer::Thumbnail(small)) => {
                self.carrier.thumbnail(shelf, *hash, small)
            }
            (Ask::Get { hash, from, .. }, Answer::Piece(piece)) => {
                self.carrier.piece(shelf, *hash, *from, piece)
            }
            (Ask::Put { hash, .. }, Answer::Taken(taken)) => self.carrier.taken(shelf, *hash, taken),
            (asked, _) => {
                let what = format!("the other device answered another question than {asked:.40?}");
                Err(Fault::new(Code::Unreachable, what))
            }
        }
    }

    fn welcomed(&mut self, shelf: &mut Shelf, hello: &Hello, welcome: Welcome) -> Result<(), Fault> {
        let empty = shelf.store().is_empty().map_err(store_fault)?;
        if empty && welcome.vector.shelf != shelf.store().shelf_id() {
            shelf.store.join_empty(&welcome.vector).map_err(store_fault)?;
            self.report.joined = true;
        }
        shelf.store.meet(&welcome.vector).map_err(store_fault)?;
        if welcome.device == hello.device {
            // Both write as one device: a whole machine was copied.
            shelf.store.take_new_identity().map_err(store_fault)?;
            self.report.new_identity = true;
            return self.greet_again();
        }
        let ahead =
            i64::try_from(hello.now_ms).unwrap_or(i64::MAX) - i64::try_from(welcome.now_ms).unwrap_or(0);
        self.report.clock_ahead_ms = (ahead.abs() >= CLOCK_MS).then_some(ahead);
        self.report.device = Some(welcome.device);
        self.report.name = welcome.name;
        let mut forked = shelf.store().forked_from(&welcome.vector).map_err(store_fault)?;
        forked.extend(welcome.forked);
        forked.sort_unstable();
        forked.dedup();
        self.theirs = welcome.vector;
        self.before = None;
        self.state = State::Forks { theirs: forked, search: None };
        Ok(())
    }

    /// Settles a fork here, or has the other settle it.
    fn part(&mut self, shelf: &mut Shelf, at: wire::ForkAt, theirs: &Link) -> Result<(), Fault> {
        let device = shelf.store().device();
        match shelf.store.settle_fork(at.device, at.from, theirs).map_err(store_fault)? {
            Some(renamed) => {
                self.report.renamed += renamed;
                self.report.new_identity |= shelf.store().device() != device;
                self.greetings = 0;
                self.greet_again()
            }
            None => {
                self.state = State::Rename { at };
                Ok(())
            }
        }
    }

    fn greet_again(&mut self) -> Result<(), Fault> {
        self.greetings += 1;
        if self.greetings > 3 {
            return Err(no_progress("copies of a device do not come to agree"));
        }
        self.state = State::Greet;
        Ok(())
    }

    fn received(&mut self, shelf: &mut Shelf, sequence: &[u8]) -> Result<(), Fault> {
        let transactions = wire::part(sequence).map_err(came_damaged)?;
        if transactions.is_empty() {
            if !self.ahead {
                self.state = State::Photos;
            }
            return Ok(());
        }
        match shelf.store.apply(&transactions) {
            Ok(applied) => {
                self.they_hold(shelf, &transactions)?;
                self.report.received += applied.new;
                self.report.revived += applied.revived.len();
                self.report.new_identity |= applied.new_identity;
                Ok(())
            }
            Err(StoreError::Forked { .. }) => self.greet_again(),
            Err(StoreError::Gap { .. }) if self.ahead => Ok(()),
            Err(error) => Err(came_damaged(error)),
        }
    }

    /// What they gave, they hold.
    fn they_hold(&mut self, shelf: &Shelf, given: &[Encoded]) -> Result<(), Fault> {
        for (device, number) in Encoded::last_of_each(given).map_err(store_fault)? {
            let links = shelf.store().links(device, &[number]).map_err(store_fault)?;
            for (number, link) in links {
                let held = HeldUntil { number, chain: link.chain };
                let known = self.theirs.devices.entry(device).or_insert_with(|| held.clone());
                if known.number < number {
                    *known = held;
                }
            }
        }
        Ok(())
    }

    fn finish(&mut self, shelf: &mut Shelf) -> Result<(), Fault> {
        if let Some(device) = self.report.device {
            let name = self.report.name.clone();
            shelf.store.note_peer(device, name.as_deref(), &self.theirs).map_err(store_fault)?;
        }
        self.report.photos_sent = self.carrier.carried.sent;
        self.report.photos_received = self.carrier.carried.received;
        self.report.thumbnails_received = self.carrier.carried.thumbnails;
        self.report.photos_wrong = self.carrier.carried.wrong.len();
        self.report.photos_elsewhere = super::photos::lacking(shelf)?.len();
        self.report.conflicts = shelf.store().conflicts().map_err(store_fault)?.len();
        self.report.incomplete_imports = shelf.store().incomplete_imports().map_err(store_fault)?.len();
        self.report.only_here = shelf.store().nowhere_else().map_err(store_fault)?;
        self.state = State::Done;
        Ok(())
    }
}

fn no_progress(why: &str) -> Fault {
    Fault::new(Code::Unreachable, format!("the exchange gains nothing any more: {why}"))
        .hint("What was exchanged so far is kept. Sync again; if it stops here again, run `airshelf check` on both.")
}

/// What came is no transaction: damaged on the way, where asking again may help, or what only a newer program reads.
fn came_damaged(error: StoreError) -> Fault {
    let StoreError::Malformed(why) = error else { return store_fault(error) };
    Fault::new(Code::Unreachable, format!("what the other device sent came out damaged, and none of it was kept: {why}"))
        .hint("Try again. If it stays, check both shelves (`airshelf check`), and see that both programs are the newest.")
}
