//! Two devices meet, as programs do: an exchange on one side, a hub that answers on the other, and a network between
//! them that loses, doubles, delays and cuts messages.

use crate::device::Device;
use airshelf_app::sync::wire::{Answer, Ask};
use airshelf_app::sync::{Exchange, Local, PhotosAsked};
use airshelf_store::{Encoded, VersionVector};
use fastrand::Rng;
use std::collections::BTreeMap;

/// How bad a network is: one message in so many has an accident; none on a clear day.
#[derive(Clone, Copy, Debug)]
pub enum Weather {
    Clear,
    Accidents(u32),
}

/// More questions than any exchange of a simulation takes.
const MANY: usize = 2_000;

#[derive(Default)]
pub struct Network {
    /// Messages that are still under way, to the hub with that number; they arrive when nobody waits for them any more.
    late: Vec<(usize, Ask)>,
    /// What a client last heard that a hub holds, however long ago and whatever became of either since.
    known: BTreeMap<(String, String), VersionVector>,
}

/// What came of a meeting.
#[derive(Debug, PartialEq, Eq)]
pub enum Met {
    /// All was exchanged; whether anything was new.
    Whole { moved: bool },
    /// It broke off.
    Broken(String),
}

/// The start of a sequence of transactions, up to one of their ends.
fn fewer(sequence: &[u8], dice: &mut Rng) -> Vec<u8> {
    let parts = Encoded::part(sequence).unwrap();
    let count = dice.usize(1..=parts.len().max(1)).min(parts.len());
    parts[..count].iter().flat_map(|encoded| encoded.0.iter().copied()).collect()
}

impl Network {
    /// One device calls another, the hub.
    pub fn exchange(
        &mut self,
        client: &mut Device,
        hub: &mut Device,
        at: usize,
        dice: &mut Rng,
        weather: Weather,
    ) -> Met {
        let (mut ours, mut theirs) = (client.takes_shelf(), hub.takes_shelf());
        let photos = match weather {
            Weather::Accidents(_) if dice.u8(0..4) == 0 => PhotosAsked::None,
            _ => PhotosAsked::All,
        };
        let ours_is = Local { name: Some(client.name.clone()) };
        let both = (client.name.clone(), hub.name.clone());
        let mut exchange = match self.known.get(&both).filter(|_| dice.bool()) {
            Some(known) => Exchange::again(ours_is, photos, known.clone()),
            None => Exchange::new(ours_is, photos),
        };
        let local = Local { name: Some(hub.name.clone()) };
        let mut met = Met::Broken("it goes on and on".into());
        for _ in 0..MANY {
            let mut ask = match exchange.next(&mut ours) {
                Ok(Some(ask)) => ask,
                Ok(None) => {
                    let report = exchange.report();
                    let counts = [
                        report.sent,
                        report.received,
                        report.photos_sent,
                        report.photos_received,
                        report.renamed,
                    ];
                    let moved = counts.iter().any(|count| *count > 0) || report.joined || report.new_identity;
                    met = Met::Whole { moved };
                    break;
                }
                Err(fault) => {
                    met = Met::Broken(fault.to_string());
                    break;
                }
            };
            let accident = match weather {
                Weather::Clear => u8::MAX,
                // Photos are few, so theirs come out wrong more often.
                Weather::Accidents(_) if matches!(ask, Ask::Put { .. }) && dice.u8(..4) == 0 => 3,
                Weather::Accidents(_) if matches!(ask, Ask::Get { .. }) && dice.u8(..4) == 0 => 5,
                Weather::Accidents(one_in) if dice.u32(..one_in) == 0 => dice.u8(..7),
                Weather::Accidents(_) => u8::MAX,
            };
            // A batch may end at any transaction's end, and a piece at any byte.
            if matches!(weather, Weather::Accidents(_)) && dice.bool() {
                ask = match ask {
                    Ask::Push(sequence) => Ask::Push(fewer(&sequence, dice)),
                    Ask::Pull(mut pull) => {
                        pull.budget_bytes = dice.usize(1..2_000);
                        Ask::Pull(pull)
                    }
                    Ask::Get { hash, from, .. } => Ask::Get { hash, from, most: dice.usize(1..3_000) },
                    Ask::Put { hash, from, total, mut bytes } => {
                        bytes.truncate(dice.usize(1..=bytes.len().max(1)));
                        Ask::Put { hash, from, total, bytes }
                    }
                    ask => ask,
                };
            }
            let asked = ask.clone();
            match accident {
                0 => {
                    self.late.push((at, ask));
                    met = Met::Broken("the question is late".into());
                    break;
                }
                1 => {
                    let _ = theirs.answer(ask, &local);
                    met = Met::Broken("the answer is lost".into());
                    break;
                }
                2 => drop(theirs.answer(ask.clone(), &local)),
                3 => ask = cut(ask, dice),
                4 => {
                    for (_, late) in self.late.extract_if(.., |(to, _)| *to == at) {
                        drop(theirs.answer(late, &local));
                    }
                }
                _ => {}
            }
            let answered = theirs.answer(ask, &local);
            let answer = match answered {
                Ok(Answer::Batch(mut sequence)) if accident == 5 => {
                    sequence.truncate(dice.usize(..=sequence.len()));
                    Answer::Batch(sequence)
                }
                Ok(Answer::Piece(Some(mut piece))) if accident == 5 => {
                    let bit = dice.usize(..piece.bytes.len().max(1));
                    piece.bytes.get_mut(bit).into_iter().for_each(|byte| *byte ^= 1);
                    Answer::Piece(Some(piece))
                }
                Ok(answer) => answer,
                Err(fault) => match exchange.refused(fault) {
                    Ok(()) => continue,
                    Err(fault) => {
                        met = Met::Broken(fault.to_string());
                        break;
                    }
                },
            };
            if let Err(fault) = exchange.take(&mut ours, &asked, answer) {
                met = Met::Broken(fault.to_string());
                break;
            }
            if exchange.is_at_photos() && dice.u8(..8) == 0 {
                exchange.transactions_first();
            }
        }
        self.known.insert(both, exchange.theirs().clone());
        client.has_shelf(ours);
        hub.has_shelf(theirs);
        met
    }
}

/// Cuts a message off, or spoils it.
fn cut(ask: Ask, dice: &mut Rng) -> Ask {
    match ask {
        Ask::Push(mut sequence) => {
            sequence.truncate(dice.usize(..=sequence.len()));
            Ask::Push(sequence)
        }
        Ask::Put { hash, from, total, mut bytes } => {
            let bit = dice.usize(..bytes.len().max(1));
            bytes.get_mut(bit).into_iter().for_each(|byte| *byte ^= 1);
            Ask::Put { hash, from, total, bytes }
        }
        ask => ask,
    }
}
