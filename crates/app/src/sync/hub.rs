//! The answering side.

use super::wire::{
    Answer, Ask, BlobName, BlobsHeld, BlobsOf, Forked, Hello, Links, PieceOf, Pushed, Welcome,
};
use super::{photos, wire};
use crate::code::{Code, Fault};
use crate::shelf::{Shelf, store_fault};
use airshelf_store::StoreError;
use airshelf_store::blobs::{hex, parse};

/// The most links asked for at once.
pub(crate) const MOST_LINKS: usize = 256;
/// The most names of photos and originals in one message.
pub(crate) const MOST_NAMES: usize = 1_000;
/// The most bytes given at once, whatever is asked for.
const MOST_BYTES: usize = 16 << 20;
/// No photo and no original is bigger.
pub(crate) const BIGGEST_BLOB: u64 = 1 << 30;

/// What this side calls itself.
#[derive(Clone, Debug, Default)]
pub struct Local {
    /// A name for people.
    pub name: Option<String>,
}

impl Shelf {
    /// Answers another shelf's question.
    ///
    /// # Errors
    /// [`Fault`]: another shelf, a question that is none, or what a write may say. Nothing of it was taken then.
    pub fn answer(&mut self, ask: Ask, local: &Local) -> Result<Answer, Fault> {
        Ok(match ask {
            Ask::Hello(hello) => Answer::Welcome(self.welcome(&hello, local)?),
            Ask::Links(of) => {
                at_most(of.numbers.len(), MOST_LINKS)?;
                Answer::Links(Links { links: self.store.links(of.device, &of.numbers).map_err(store_fault)? })
            }
            Ask::Fork(at) => {
                let renamed = self.store.settle_fork(at.device, at.from, &at.link).map_err(store_fault)?;
                Answer::Forked(Forked { renamed })
            }
            Ask::Push(sequence) => {
                let transactions = wire::part(&sequence).map_err(store_fault)?;
                let applied = self.store.apply(&transactions).map_err(store_fault)?;
                Answer::Pushed(Pushed {
                    vector: self.store.version_vector().map_err(store_fault)?,
                    new: applied.new,
                    revived: applied.revived.len(),
                })
            }
            Ask::Pull(pull) => {
                let (ours, theirs) = (self.store.shelf_id(), pull.vector.shelf);
                if ours != theirs {
                    return Err(store_fault(StoreError::OtherShelf { ours, theirs }));
                }
                let budget = pull.budget_bytes.min(MOST_BYTES);
                let batch = self.store.transactions_since(&pull.vector, budget).map_err(store_fault)?;
                Answer::Batch(wire::join(&batch))
            }
            Ask::Blobs(of) => Answer::Blobs(self.blobs_held(&of)?),
            Ask::Get { hash, from, most } => {
                let piece =
                    self.store.blobs().piece(&hash, from, most.min(MOST_BYTES)).map_err(store_fault)?;
                Answer::Piece(piece.map(|(total, bytes)| PieceOf { total, bytes }))
            }
            Ask::Thumbnail { hash } => Answer::Thumbnail(self.thumbnail(&hash)?),
            Ask::Put { hash, from, total, bytes } => {
                if total > BIGGEST_BLOB {
                    let what = format!("{total} bytes are more than a photo or a sheet has");
                    return Err(Fault::new(Code::BadArgument, what));
                }
                // Nobody fills the disk with what no row names.
                if !self.store.wants(&hash).map_err(store_fault)? {
                    return Err(Fault::new(Code::NotFound, format!("no row here names {}", hex(&hash))));
                }
                let taken = self.store.blobs().take_piece(&hash, from, total, &bytes).map_err(store_fault)?;
                Answer::Taken(taken.into())
            }
        })
    }

    fn welcome(&mut self, hello: &Hello, local: &Local) -> Result<Welcome, Fault> {
        self.store.meet(&hello.vector).map_err(store_fault)?;
        let vector = self.store.version_vector().map_err(store_fault)?;
        let same = hello.vector.shelf == vector.shelf;
        let forked = if same { self.store.forked_from(&hello.vector).map_err(store_fault)? } else { vec![] };
        if same && !self.is_read_only() {
            let name = hello.name.as_deref();
            self.store.note_peer(hello.device, name, &hello.vector).map_err(store_fault)?;
        }
        Ok(Welcome {
            device: self.store.device(),
            name: local.name.clone(),
            program: self.store.program(),
            now_ms: self.store.now_ms(),
            vector,
            forked,
        })
    }

    fn blobs_held(&mut self, of: &BlobsOf) -> Result<BlobsHeld, Fault> {
        at_most(of.have.len(), MOST_NAMES)?;
        at_most(of.want.len(), MOST_NAMES)?;
        let mut answer = BlobsHeld::default();
        let named = |name: &str| {
            parse(name).ok_or_else(|| Fault::new(Code::BadArgument, format!("{name} is no SHA-256")))
        };
        for name in &of.have {
            let hash = named(&name.sha256)?;
            if !self.is_read_only() {
                self.store.blob_is_elsewhere(&hash, name.bytes).map_err(store_fault)?;
            }
            answer.held.extend(self.blob_here(&hash));
        }
        for name in &of.want {
            let hash = named(name)?;
            answer.held.extend(self.blob_here(&hash));
        }
        let after = of.after.as_deref().map(named).transpose()?;
        let lacking = photos::lacking(self)?;
        let on = lacking.into_iter().filter(|hash| after.is_none_or(|after| *hash > after));
        for hash in on.take(MOST_NAMES) {
            let bytes = self.store.blobs().bytes_arrived(&hash);
            answer.lacking.push(BlobName { sha256: hex(&hash), bytes });
        }
        Ok(answer)
    }

    fn blob_here(&self, hash: &[u8; 32]) -> Option<BlobName> {
        let bytes = self.store.blobs().size_bytes(hash)?;
        Some(BlobName { sha256: hex(hash), bytes })
    }

    pub(crate) fn is_read_only(&self) -> bool {
        self.store.read_only().is_some()
    }
}

fn at_most(count: usize, most: usize) -> Result<(), Fault> {
    if count <= most {
        return Ok(());
    }
    Err(Fault::new(Code::BadArgument, format!("{count} at once are more than the {most} that are answered")))
}
