//! How something was held down, in whatever words a notebook has for it.
//!
//! Common practice, no source. What happened comes first (the lid fell off, whatever held it before), then hands, then
//! tape, then what was missing, then what was done up: `by hand, no nut` is hand-held, `nut missing` is none.

use super::{plain, says};
use airshelf_catalog::Restraint;

/// What a thing does when nothing holds it any more, and where to.
const LEAVES: &str = "fell; flew; blew; blown; slid; slipped; popped; jumped; dropped; lifted; came; shook; \
    worked; rattled; vibrated; walked; tipped; tumbled; went; shot; pulled; got; sprang; took; \
    knocked; shaken; broke; wandered; bounced; sucked; tore";
const AWAY: &str = "off; away; loose; adrift; flying; free; apart; flight; overboard; down; out";

/// Other ways to say so.
const LOST: &str = "lost; let go; slipped; gave way; would not stay; wouldn t stay; did not stay; didn t stay; \
    won t stay; would not hold; did not hold; didn t hold; on the floor; hit the floor; escaped; \
    parted company; disappeared; abgeflogen; weggeflogen; flog weg; heruntergefallen; \
    abgefallen; envolé; tombé; tombée; salió volando; se cayó; cayó";

const HANDS: &str = "hand; hands; handheld; finger; fingers; fingertips; fingertip; thumb; thumbs; palm; palms; \
    fist; elbow; knuckles; h h; manually; pressed down; pushed down; leaned on; leant on; \
    leaning on; pressing on; daumen; händen; pouce; doigt; doigts; main; mains; mano; manos; \
    pulgar; dedo; dedos";

/// Hands that hold nothing.
const NO_HANDS: &str = "left hand; right hand; second hand; on the other hand; hands off";

/// A nut turned by hand is a nut.
const BY_HAND: &str = "thumb nut; thumb screw; thumbscrew; thumbscrews; hand tight; finger tight; hand tightened; \
    fingers tight; nut by hand; handfest";
const TURNED: &str = "tightened; tight; done up; turned; screwed; run down; spun; nipped up";

const TAPE: &str = "tape; taped; tapes; gaffer; taping; stuck down; stuck on; klebeband; geklebt; ruban; \
    adhésif; cinta";

/// What holds a lid by itself; a stud without its nut does not.
const FASTENERS: &str = "nut; nuts; wingnut; wingnuts; wing; mutter; flügelmutter; schraube; écrou; ecrou; tuerca; clamped; \
    bolted; screwed; strapped; wired; clipped; bolt; bolts; screw; screws; knob; clamp; clamps; fastener; fasteners; fastening; fixing; clip; strap; latch";
const STUDS: &str = "stud; rod; studs";

/// What says before or behind a thing that it was not there.
const NOT_BEFORE: &str = "no; not; without; minus; forgot; forgotten; lost; never; missing; lacking; wo; lacks; needs; \
    sans; ohne; kein; keine; sin";
const NOT_BEHIND: &str = "missing; gone; off; left; forgotten; lost; absent; undone; not; never; nowhere; loose; away; \
    out";

const NOTHING: &str = "none; nothing; loose; unrestrained; free; not held; unheld; no restraint; resting; rested; \
    not fastened; unfastened; set on top; without stud; no stud; not bolted; not screwed; not \
    clamped; not tightened; not tight; not secured; not nutted; not done up; not fixed; not \
    tied; undone; unsecured; untied; unbolted; unclamped; unfixed; nutless; just set on; just \
    sitting; sitting on; sat on; sits; just put; only put; put on top; laid on; laid down; lying \
    on; just lying; lay on; placed on; perched; balanced; dropped on; gravity; own weight; by \
    weight; its weight; self weight; weighted; weight on; suction only; suction alone; only \
    suction; aufgelegt; lose; nicht befestigt; eigengewicht; posé; posée; suelto; suelta";

const FASTENED: &str = "fastened; stud; bolted; nut; wing nut; wingnut; clamped; screwed; tight; tightened; bolt; \
    clamp; fixed; nutted; torqued; secured; f; screw; screws; bolts; nuts; knob; wing; strap; \
    strapped; latch; latched; clip; clips; clipped; toggle; done up; firm; firmly; wired; wire; \
    tied down; tied on; zip tie; zip ties; zip tied; ziptied; cable tie; cable ties; cable tied; bungee; locked; pinned; through bolt; rod; verschraubt; \
    geschraubt; schraube; schrauben; mutter; flügelmutter; befestigt; gespannt; vissé; vissée; \
    visse; écrou; ecrou; boulon; boulonné; serré; serrée; fixé; fixée; papillon; tuerca; \
    tornillo; mariposa; atornillado; atornillada; apretado; apretada; sujeto; sujeta";

/// Small words of a statement about how things were held.
const SMALL: &str = "the; a; with; by; on; down; and; held; lid; lids; each; every; time; all; tied; kept; \
    always; was; were; throughout; unless; noted; said; stated; otherwise; except; where; its; \
    of; everything; both; in; place";

fn any(words: &str, phrases: &str) -> bool {
    phrases.split("; ").any(|phrase| says(words, phrase))
}

fn one_of(word: &str, list: &str) -> bool {
    list.split("; ").any(|own| own == word)
}

/// Reads how something was held.
pub(crate) fn restraint(text: &str) -> Option<Restraint> {
    let words = plain(text);
    match words.as_str() {
        "" => return None,
        "free" | "loose" => return Some(Restraint::None),
        _ => {}
    }
    let missing = missing(text);
    match left(&words) {
        Some(true) => return Some(Restraint::Lost),
        // The nut left, not the lid.
        Some(false) => return Some(Restraint::None),
        None => {}
    }
    if any(&words, LOST) && !missing {
        return Some(Restraint::Lost);
    }
    let done_up = !missing && any(&words, TURNED) && any(&words, FASTENERS);
    if any(&words, BY_HAND) || done_up && any(&words, HANDS) {
        return Some(Restraint::Fastened);
    }
    if any(&words, HANDS) && !any(&words, NO_HANDS) {
        return Some(Restraint::HandHeld);
    }
    if any(&words, TAPE) {
        return Some(Restraint::Taped);
    }
    let held_by = any(&words, "held; holding; pressed; holds");
    if missing {
        let still = held_by && !any(&words, "not held; nothing held; held by nothing");
        return Some(if still { Restraint::HandHeld } else { Restraint::None });
    }
    if any(&words, NOTHING) {
        return Some(Restraint::None);
    }
    if any(&words, FASTENED) {
        return Some(Restraint::Fastened);
    }
    // `Held by Ann`, `I held it`: somebody did.
    let alone = one_of(&words, "held; held on; held down; held in place; held there; held tight");
    (alone || any(&words, "held by; held it; held on by; held down by; by me")).then_some(Restraint::HandHeld)
}

/// Whether something left its place: the lid, or only what fastened it.
fn left(words: &str) -> Option<bool> {
    let list: Vec<&str> = words.split(' ').collect();
    let mut found = None;
    for (at, word) in list.iter().enumerate() {
        let goes = one_of(word, LEAVES) && list[at + 1..].iter().take(2).any(|w| one_of(w, AWAY));
        // `Screwed down` and `pulled down` end where they should.
        let stays =
            list.get(at + 1) == Some(&"down") && !matches!(*word, "fell" | "came" | "slid" | "tumbled");
        if !goes || stays {
            continue;
        }
        let of_fastener = list[..at].iter().rev().take(2).any(|w| one_of(w, FASTENERS));
        found = Some(found.unwrap_or(false) || !of_fastener);
    }
    found
}

/// Whether the nut, or whatever else should have held, was not there, and nothing else stood in for it.
fn missing(text: &str) -> bool {
    let (mut lacks, mut holds) = (false, false);
    for clause in text.split([',', ';', '.', '(', ')', '+', '&']).flat_map(|part| part.split(" and ")) {
        let words = plain(clause).replace("w o ", "wo ");
        let list: Vec<&str> = words.split(' ').collect();
        for (at, word) in list.iter().enumerate() {
            let holder = one_of(word, FASTENERS);
            if !holder && !one_of(word, STUDS) {
                continue;
            }
            let before = list[..at].iter().rev().take(3).any(|w| one_of(w, NOT_BEFORE));
            let behind = list[at + 1..].iter().take(3).any(|w| one_of(w, NOT_BEHIND));
            lacks |= before || behind;
            holds |= holder && !before && !behind;
        }
    }
    lacks && !holds
}

/// Whether a text says how something was held and nothing else: `wing nut on`, `tied down with the nut`.
pub(crate) fn only_restraint(text: &str) -> bool {
    let words = plain(text);
    let own = |word: &str| {
        [LOST, HANDS, TAPE, NOTHING, FASTENED, FASTENERS, NOT_BEFORE].iter().any(|list| one_of(word, list))
    };
    restraint(text).is_some() && words.split(' ').all(|word| own(word) || one_of(word, SMALL))
}

/// Reads how something was held from a cell and its header: `Nut?` answers with yes or no, `By hand?` too.
pub(crate) fn restraint_under(header: &str, text: &str) -> Option<Restraint> {
    let asked = restraint(header).unwrap_or(Restraint::Fastened);
    let answer = plain(text);
    let absent =
        ["not there", "missing", "gone", "forgot", "forgotten", "forgot it", "absent", "left off", "not on"];
    match answer.as_str() {
        "yes" | "y" | "on" | "x" | "true" | "ja" | "oui" | "sí" | "si" | "ok" | "fitted" | "in place"
        | "there" => Some(asked),
        // No to anything but the nut leaves open how it was held.
        "no" | "n" | "off" | "false" | "nein" | "non" => {
            (asked == Restraint::Fastened).then_some(Restraint::None)
        }
        // A nut that is lost, where the column asks for the nut, held nothing; the lid stayed.
        _ if absent.contains(&answer.as_str()) && asked == Restraint::Fastened => Some(Restraint::None),
        _ => restraint(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn restraints_have_many_names() {
        for (restraint_of, texts) in [
            (
                Restraint::Fastened,
                &[
                    "wing nut",
                    "screw",
                    "thumb nut",
                    "finger tight",
                    "Flügelmutter",
                    "nut done up with two fingers",
                    "stud and nut, not torqued",
                    "no nut, clamped",
                    "tied down with wire",
                    "W-nut on the stud",
                    "hand-tight wing nut",
                    "screwed down",
                    "the usual wingnut",
                    "bolted through",
                    "écrou papillon",
                ][..],
            ),
            (
                Restraint::HandHeld,
                &[
                    "held by hand",
                    "by hand, no nut",
                    "von Hand",
                    "mit dem Daumen",
                    "a thumb on top",
                    "held down with two fingers",
                    "palm of the hand",
                    "Ida leaned on it",
                    "nut gone, held",
                    "pressed down",
                    "held by Moss",
                    "à la main",
                    "I held it",
                ],
            ),
            (Restraint::Taped, &["adhesive tape", "gaffer", "bit of tape", "taped round the rim, no nut"]),
            (
                Restraint::None,
                &[
                    "not fastened",
                    "no nut",
                    "just sitting there",
                    "nut missing",
                    "forgot the nut",
                    "nut left off",
                    "stud, but no nut",
                    "the nut not on",
                    "own weight",
                    "w/o nut",
                    "nut lost",
                    "resting on the element",
                    "nut came loose",
                    "nothing",
                    "not done up",
                    "lid only laid on",
                    "sans écrou",
                    "ohne Mutter",
                    "sin tuerca",
                ],
            ),
            (
                Restraint::Lost,
                &[
                    "lid went flying",
                    "came off halfway",
                    "fell off",
                    "came loose",
                    "shook itself loose",
                    "worked loose",
                    "nut came off and the lid flew away",
                    "would not stay on",
                    "tape let go",
                    "lost",
                    "popped off",
                    "on the floor",
                    "slid off",
                    "came adrift",
                    "lid lost",
                    "blown off",
                ],
            ),
        ] {
            for text in texts {
                assert_eq!(restraint(text), Some(restraint_of), "{text}");
            }
        }
        assert_eq!(restraint("banana"), None);
    }

    #[test]
    fn a_question_in_a_header_is_answered() {
        for (header, text, held) in [
            ("Nut?", "yes", Some(Restraint::Fastened)),
            ("Nut?", "no", Some(Restraint::None)),
            ("Nut?", "missing", Some(Restraint::None)),
            ("Nut on?", "not there", Some(Restraint::None)),
            ("fastened?", "n", Some(Restraint::None)),
            ("Hand held?", "y", Some(Restraint::HandHeld)),
            ("Hand held?", "no", None),
            ("Held", "thumb", Some(Restraint::HandHeld)),
        ] {
            assert_eq!(restraint_under(header, text), held, "{header} {text}");
        }
    }

    #[test]
    fn a_clause_may_say_nothing_else() {
        for text in ["wing nut on", "tied down with the nut", "lids taped down", "wing nut every time"] {
            assert!(only_restraint(text), "{text}");
        }
        for text in ["evening of the nut", "loss in CFM", "new wing nuts bought", "lids", ""] {
            assert!(!only_restraint(text), "{text}");
        }
    }
}
