//! Photos and originals: which are asked for, sent and fetched, piece by piece.

use super::hub::MOST_NAMES;
use super::wire::{Ask, BlobName, BlobsHeld, BlobsOf, PieceOf, Taken};
use crate::code::Fault;
use crate::shelf::{Shelf, store_fault};
use airshelf_catalog::Uuid;
use airshelf_store::blobs::{Hash, hex, parse};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Bytes of a piece.
const PIECE: usize = 1 << 20;
/// A photo whose bytes come out wrong is tried so often in all.
const TRIES: u8 = 2;

/// Which photos and originals are fetched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PhotosAsked {
    /// All that are not here, small pictures first.
    #[default]
    All,
    /// Small pictures only.
    Thumbnails,
    /// None; they stay elsewhere until asked for. What is only here is sent all the same.
    None,
}

/// Blobs that a row names and that are not here.
pub(super) fn lacking(shelf: &Shelf) -> Result<Vec<Hash>, Fault> {
    let mut wanted = shelf.store().wanted_blobs().map_err(store_fault)?;
    wanted.retain(|hash| !shelf.store().blobs().is_here(hash));
    wanted.sort_unstable();
    Ok(wanted)
}

/// What came of the photos and originals.
#[derive(Clone, Debug, Default)]
pub(super) struct Carried {
    pub sent: usize,
    pub received: usize,
    pub thumbnails: usize,
    /// Those that came out wrong every time.
    pub wrong: BTreeSet<Hash>,
}

/// The exchange of photos and originals.
#[derive(Clone, Debug, Default)]
pub(super) struct Carrier {
    asked: PhotosAsked,
    thumbnails: VecDeque<Hash>,
    sending: VecDeque<(Hash, u64)>,
    fetching: VecDeque<Hash>,
    tries: BTreeMap<Hash, u8>,
    /// What was offered or asked for in this exchange already.
    seen: BTreeSet<Hash>,
    /// Whether the other was asked what it lacks, and after which it has more to say.
    asked_once: bool,
    after: Option<String>,
    pub carried: Carried,
}

impl Carrier {
    pub(super) fn new(asked: PhotosAsked) -> Self {
        Carrier { asked, ..Carrier::default() }
    }

    /// The next question; none when there is nothing more to carry.
    pub(super) fn next(&mut self, shelf: &Shelf) -> Result<Option<Ask>, Fault> {
        if let Some(hash) = self.thumbnails.front().copied() {
            return Ok(Some(Ask::Thumbnail { hash }));
        }
        while let Some((hash, from)) = self.sending.front().copied() {
            if let Some((total, bytes)) =
                shelf.store().blobs().piece(&hash, from, PIECE).map_err(store_fault)?
            {
                return Ok(Some(Ask::Put { hash, from, total, bytes }));
            }
            self.sending.pop_front();
        }
        if let Some(hash) = self.fetching.front().copied() {
            let from = shelf.store().blobs().bytes_arrived(&hash);
            return Ok(Some(Ask::Get { hash, from, most: PIECE }));
        }
        let blobs = shelf.store().blobs();
        let mut of = BlobsOf::default();
        for hash in shelf.store().unconfirmed_blobs().map_err(store_fault)? {
            if of.have.len() < MOST_NAMES && blobs.is_here(&hash) && self.seen.insert(hash) {
                let bytes = blobs.size_bytes(&hash).unwrap_or(0);
                of.have.push(BlobName { sha256: hex(&hash), bytes });
            }
        }
        for hash in lacking(shelf)? {
            if of.want.len() < MOST_NAMES && self.seen.insert(hash) {
                of.want.push(hex(&hash));
            }
        }
        of.after = self.after.take();
        let any = !self.asked_once || of.after.is_some() || !of.have.is_empty() || !of.want.is_empty();
        self.asked_once = true;
        Ok(any.then_some(Ask::Blobs(of)))
    }

    /// Takes in what the other device has and lacks of what it was asked for.
    pub(super) fn held(
        &mut self,
        shelf: &mut Shelf,
        asked: &BlobsOf,
        other: Option<Uuid>,
        answer: &BlobsHeld,
    ) -> Result<(), Fault> {
        let held: BTreeSet<&str> = answer.held.iter().map(|name| name.sha256.as_str()).collect();
        for name in asked.want.iter().filter(|name| !held.contains(name.as_str())) {
            if let (Some(hash), Some(other)) = (parse(name), other) {
                shelf.store.blob_is_lacked_by(&hash, other).map_err(store_fault)?;
            }
        }
        let photos: BTreeSet<Hash> = shelf.store().photo_hashes().map_err(store_fault)?.into_iter().collect();
        for name in &answer.held {
            let Some(hash) = parse(&name.sha256) else { continue };
            shelf.store.blob_is_elsewhere(&hash, name.bytes).map_err(store_fault)?;
            let blobs = shelf.store().blobs();
            if self.asked != PhotosAsked::None
                && photos.contains(&hash)
                && !blobs.is_here(&hash)
                && blobs.thumbnail(&hash).is_none()
            {
                self.thumbnails.push_back(hash);
            }
            if self.asked == PhotosAsked::All && !shelf.store().blobs().is_here(&hash) {
                self.fetching.push_back(hash);
            }
        }
        if answer.lacking.len() >= MOST_NAMES {
            self.after = answer.lacking.last().map(|name| name.sha256.clone());
        }
        for name in &answer.lacking {
            let Some(hash) = parse(&name.sha256) else { continue };
            let waits = self.sending.iter().any(|(other, _)| *other == hash);
            if shelf.store().blobs().is_here(&hash) && !waits && !self.carried.wrong.contains(&hash) {
                self.sending.push_back((hash, name.bytes));
            }
        }
        Ok(())
    }

    /// Takes a small picture in.
    pub(super) fn thumbnail(
        &mut self,
        shelf: &Shelf,
        hash: Hash,
        small: Option<Vec<u8>>,
    ) -> Result<(), Fault> {
        if self.thumbnails.front() == Some(&hash) {
            self.thumbnails.pop_front();
        }
        if let Some(small) = small {
            shelf.store().blobs().keep_thumbnail(&hash, &small).map_err(store_fault)?;
            self.carried.thumbnails += 1;
        }
        Ok(())
    }

    /// Whether a photo that came out wrong is tried again.
    fn again(&mut self, hash: Hash) -> bool {
        let tries = self.tries.entry(hash).or_insert(0);
        *tries += 1;
        let again = *tries < TRIES;
        if !again {
            self.carried.wrong.insert(hash);
        }
        again
    }

    /// Takes in what the other made of a piece.
    pub(super) fn taken(&mut self, shelf: &mut Shelf, hash: Hash, taken: Taken) -> Result<(), Fault> {
        let Some((front, from)) = self.sending.front_mut().filter(|(front, _)| *front == hash) else {
            return Ok(());
        };
        let front = *front;
        match taken {
            Taken::Held(bytes) if bytes != *from => *from = bytes,
            // It says to send the same again: that is no progress.
            Taken::Held(_) if self.again(front) => {}
            Taken::Wrong if self.again(front) => self.sending[0].1 = 0,
            Taken::Held(_) | Taken::Wrong => drop(self.sending.pop_front()),
            Taken::Whole => {
                self.sending.pop_front();
                self.carried.sent += 1;
                let bytes = shelf.store().blobs().size_bytes(&hash).unwrap_or(0);
                shelf.store.blob_is_elsewhere(&hash, bytes).map_err(store_fault)?;
            }
        }
        Ok(())
    }

    /// Takes a piece in.
    pub(super) fn piece(
        &mut self,
        shelf: &Shelf,
        hash: Hash,
        from: u64,
        piece: Option<PieceOf>,
    ) -> Result<(), Fault> {
        if self.fetching.front() != Some(&hash) {
            return Ok(());
        }
        let Some(piece) = piece else {
            self.fetching.pop_front();
            return Ok(());
        };
        let taken =
            shelf.store().blobs().take_piece(&hash, from, piece.total, &piece.bytes).map_err(store_fault)?;
        match taken.into() {
            Taken::Held(bytes) if bytes > from => {}
            Taken::Held(_) | Taken::Wrong if self.again(hash) => {}
            Taken::Held(_) | Taken::Wrong => drop(self.fetching.pop_front()),
            Taken::Whole => {
                self.fetching.pop_front();
                self.carried.received += 1;
            }
        }
        Ok(())
    }
}
