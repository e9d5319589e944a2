//! The state of an element: new, oiled, dirty or washed.

use super::{plain, says, term};
use airshelf_catalog::Service;

const SERVICES: &[(Service, &[&str])] = &[
    (
        Service::Dirty,
        &["not clean", "unwashed", "not washed", "needs a wash", "needs washing", "to be washed"],
    ),
    (
        Service::Washed,
        &[
            "washed",
            "cleaned",
            "clean",
            "rinsed",
            "wash",
            "after washing",
            "washed and dried",
            "blown out",
            "cleaned out",
            "laundered",
            "gewaschen",
            "gereinigt",
            "lavé",
            "lave",
            "nettoyé",
            "lavado",
            "limpio",
            "degreased",
            "hosed",
            "hosed out",
            "shampooed",
            "scrubbed",
            "soaped",
            "knocked out",
            "shaken out",
            "tapped out",
            "brushed out",
        ],
    ),
    (
        Service::Oiled,
        &[
            "oiled",
            "oil",
            "re oiled",
            "reoiled",
            "oil on",
            "freshly oiled",
            "wet",
            "wetted",
            "oil in",
            "oil wetted",
            "with oil",
            "o",
            "oily",
            "tacky",
            "sticky",
            "greased",
            "soaked",
            "geölt",
            "mit öl",
            "huilé",
            "huile",
            "aceitado",
        ],
    ),
    (
        Service::Dirty,
        &[
            "dirty",
            "used",
            "dusty",
            "worn",
            "loaded",
            "old",
            "as run",
            "clogged",
            "driven",
            "soiled",
            "d",
            "as found",
            "as removed",
            "grimy",
            "full of dust",
            "after a season",
            "one season",
            "muddy",
            "filthy",
            "grubby",
            "caked",
            "off the car",
            "off the truck",
            "as it came off",
            "off the engine",
            "schmutzig",
            "gebraucht",
            "alt",
            "sale",
            "usagé",
            "sucio",
            "usado",
        ],
    ),
    (
        Service::New,
        &[
            "new",
            "as new",
            "fresh",
            "unused",
            "as bought",
            "out of the box",
            "n",
            "mint",
            "brand new",
            "virgin",
            "out of box",
            "newly bought",
            "never used",
            "never run",
            "from the box",
            "just unwrapped",
            "unwrapped",
            "from the packet",
            "boxed",
            "first use",
            "unopened",
            "not used yet",
            "unworn",
            "neu",
            "neuf",
            "neuve",
            "nuevo",
            "dry new",
        ],
    ),
];

/// What parts come in from a shop.
const WRAPPING: &str =
    "box; packet; pack; package; packaging; wrapper; wrapping; bag; carton; plastic; shop; seal; sleeve; tin";

/// What was not yet done to something new.
const NOT_YET: &str = "packed; boxed; wrapped; opened; used; touched; worn; bagged; sealed; handled; soiled";

/// `Just unpacked`, `straight out of its wrapper`, `ex packet`, `never touched`: out of what it came in, or nothing done
/// to it yet.
fn untouched(text: &str) -> bool {
    let words = plain(text);
    let list: Vec<&str> = words.split(' ').collect();
    let one = |word: &str, of: &str| of.split("; ").any(|own| own == word);
    list.iter().enumerate().any(|(at, word)| {
        let undone = word.strip_prefix("un").is_some_and(|rest| one(rest, NOT_YET))
            || one(word, NOT_YET) && list[..at].iter().rev().take(2).any(|w| matches!(*w, "never" | "not"));
        let out = matches!(*word, "from" | "ex" | "of" | "in")
            && list[at + 1..].iter().take(2).any(|w| one(w, WRAPPING))
            && !list[..at].contains(&"not");
        undone || out
    })
}

/// Reads the state of an element.
pub(crate) fn service(text: &str) -> Option<Service> {
    let Some(found) = term(text, SERVICES) else {
        return untouched(text).then_some(Service::New);
    };
    if matches!(found, Service::Washed | Service::Oiled) {
        let words = plain(text);
        let dry =
            ["not oiled", "no oil", "without oil", "unoiled", "not re oiled", "oil off", "before oiling"];
        let dry = dry.iter().any(|w| says(&words, w));
        let oiled = ["oiled", "re oiled", "reoiled", "oil on"].iter().any(|w| says(&words, w));
        // `Clean and new` was not washed.
        if found == Service::Washed && !says(&words, "washed") && says(&words, "new") {
            return Some(Service::New);
        }
        // What was washed and then oiled is an oiled element.
        return match (found, oiled && !dry) {
            (Service::Washed, true) => Some(Service::Oiled),
            (Service::Oiled, _) if dry => None,
            _ => Some(found),
        };
    }
    Some(found)
}

/// Whether a text is a state of an element and nothing else.
pub(crate) fn only_service(text: &str) -> bool {
    let text = plain(text);
    untouched(&text) || SERVICES.iter().any(|s| s.1.contains(&text.as_str()))
}

/// Reads what a page says once of all its elements, such as `paper new, foam oiled`, for the element of that name.
///
/// ```
/// use airshelf_catalog::Service;
/// use airshelf_intake::stage::service_in;
/// assert_eq!(service_in("paper new, foam oiled", "M-foam 9.5x3.5"), Some(Service::Oiled));
/// assert_eq!(service_in("new", "PF-1"), Some(Service::New));
/// ```
pub fn service_in(note: &str, element: &str) -> Option<Service> {
    let element = plain(element);
    let pieces: Vec<&str> = note.split([',', ';']).map(str::trim).filter(|p| !p.is_empty()).collect();
    let of_it = pieces.iter().find(|piece| {
        let words = plain(piece);
        words.split(' ').any(|word| word.len() > 2 && service(word).is_none() && says(&element, word))
    });
    match (of_it, pieces.as_slice()) {
        (Some(piece), _) => service(piece),
        (None, [one]) => service(one),
        _ => None,
    }
}
