//! The questions as HTTP requests, and the answers out of HTTP answers, for whatever sends them: a program or a page.

use super::wire::{Answer, Ask, PieceOf, hash_text};
use crate::code::{Code, Fault};
use airshelf_catalog::Uuid;
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// The media type of transactions.
pub const SEQUENCE: &str = "application/cbor-seq";
const JSON: &str = "application/json";
const BYTES: &str = "application/octet-stream";

/// A request, without the hub's address and the device's key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sending {
    /// `GET`, `POST` or `PUT`.
    pub method: &'static str,
    /// The path on the hub.
    pub path: String,
    /// Headers beside the key's.
    pub headers: Vec<(&'static str, String)>,
    /// The body; empty where there is none.
    pub body: Vec<u8>,
}

/// An answer as it came.
#[derive(Clone, Copy, Debug)]
pub struct Came<'a> {
    /// The status.
    pub status: u16,
    /// The header `Content-Range`.
    pub content_range: Option<&'a str>,
    /// The body.
    pub body: &'a [u8],
}

/// What a hub answers to a code that pairs.
#[derive(Clone, Debug, Deserialize)]
pub struct PairDone {
    /// The device's key there, told once.
    pub key: String,
    /// What people call the hub.
    pub hub: String,
    /// The shelf that the hub is on.
    pub shelf: Uuid,
}

#[derive(Deserialize)]
struct Refused {
    fault: RefusedBody,
}

#[derive(Deserialize)]
struct RefusedBody {
    code: String,
    message: String,
    hint: Option<String>,
}

fn get(path: String, headers: Vec<(&'static str, String)>) -> Sending {
    Sending { method: "GET", path, headers, body: Vec::new() }
}

/// A JSON document as a `POST`.
pub fn post(path: &str, document: &impl serde::Serialize) -> Sending {
    let body = serde_json::to_vec(document).expect("what crosses can be written as JSON");
    Sending { method: "POST", path: path.to_owned(), headers: vec![("content-type", JSON.to_owned())], body }
}

/// The request that puts a question.
pub fn sending(ask: &Ask) -> Sending {
    match ask {
        Ask::Hello(hello) => post("/api/sync/hello", hello),
        Ask::Links(of) => post("/api/sync/links", of),
        Ask::Fork(at) => post("/api/sync/fork", at),
        Ask::Pull(pull) => post("/api/sync/pull", pull),
        Ask::Blobs(of) => post("/api/blobs", of),
        Ask::Push(sequence) => Sending {
            method: "POST",
            path: "/api/sync/push".into(),
            headers: vec![("content-type", SEQUENCE.to_owned())],
            body: sequence.clone(),
        },
        Ask::Get { hash, from, most } => {
            let last = from + (*most as u64).max(1) - 1;
            get(format!("/api/blobs/{}", hash_text(hash)), vec![("range", format!("bytes={from}-{last}"))])
        }
        Ask::Thumbnail { hash } => get(format!("/api/blobs/{}/thumbnail", hash_text(hash)), Vec::new()),
        Ask::Put { hash, from, total, bytes } => {
            let mut headers = vec![("content-type", BYTES.to_owned())];
            if !bytes.is_empty() {
                let last = from + bytes.len() as u64 - 1;
                headers.push(("content-range", format!("bytes {from}-{last}/{total}")));
            }
            let path = format!("/api/blobs/{}", hash_text(hash));
            Sending { method: "PUT", path, headers, body: bytes.clone() }
        }
    }
}

/// The answer to a question.
///
/// # Errors
/// [`Fault`]: [`Code::Unreachable`] where trying again may help, else what the hub refuses.
pub fn answer(ask: &Ask, came: Came<'_>) -> Result<Answer, Fault> {
    read(ask, came).map_err(|fault| match fault.code {
        // No person said what the hub cannot read: it was damaged on the way, or is of another program.
        Code::BadArgument => Fault {
            code: Code::Unreachable,
            hint: fault
                .hint
                .or_else(|| Some("Try again. If it stays, see that both programs are the newest.".into())),
            ..fault
        },
        _ => fault,
    })
}

fn read(ask: &Ask, came: Came<'_>) -> Result<Answer, Fault> {
    match ask {
        Ask::Get { .. } => return Ok(Answer::Piece(piece(came)?)),
        Ask::Thumbnail { .. } if came.status == 404 => return Ok(Answer::Thumbnail(None)),
        _ => {}
    }
    Ok(match ask {
        Ask::Hello(_) => Answer::Welcome(document(came)?),
        Ask::Links(_) => Answer::Links(document(came)?),
        Ask::Fork(_) => Answer::Forked(document(came)?),
        Ask::Push(_) => Answer::Pushed(document(came)?),
        Ask::Pull(_) => Answer::Batch(granted(came)?.to_vec()),
        Ask::Blobs(_) => Answer::Blobs(document(came)?),
        Ask::Thumbnail { .. } | Ask::Get { .. } => Answer::Thumbnail(Some(granted(came)?.to_vec())),
        Ask::Put { .. } => Answer::Taken(document(came)?),
    })
}

/// The document in an answer.
///
/// # Errors
/// What the hub refuses, or [`Code::Unreachable`] where it is no such document.
pub fn document<T: DeserializeOwned>(came: Came<'_>) -> Result<T, Fault> {
    serde_json::from_slice(granted(came)?)
        .map_err(|e| unreachable(&format!("its answer cannot be read ({e})")))
}

fn piece(came: Came<'_>) -> Result<Option<PieceOf>, Fault> {
    let total = came.content_range.and_then(|text| text.rsplit_once('/'));
    let total: Option<u64> = total.and_then(|(_, total)| total.parse().ok());
    match came.status {
        404 => Ok(None),
        416 => Ok(total.map(|total| PieceOf { total, bytes: Vec::new() })),
        _ => {
            let bytes = granted(came)?.to_vec();
            Ok(Some(PieceOf { total: total.unwrap_or(bytes.len() as u64), bytes }))
        }
    }
}

/// Lets only a success through.
fn granted(came: Came<'_>) -> Result<&[u8], Fault> {
    if (200..300).contains(&came.status) {
        return Ok(came.body);
    }
    let Ok(Refused { fault: refused }) = serde_json::from_slice::<Refused>(came.body) else {
        return Err(unreachable(&format!("it answers {}; is that a hub?", came.status)));
    };
    let code = match refused.code.as_str() {
        "other-shelf" => Code::OtherShelf,
        "unpaired" | "pairing-refused" | "too-many-tries" => Code::Unpaired,
        "read-only" => Code::ReadOnly,
        "disk-full" => Code::DiskFull,
        "bad-argument" | "too-big" => Code::BadArgument,
        _ => Code::Unreachable,
    };
    let mut fault = Fault::new(code, format!("the hub says: {}", refused.message));
    fault.hint = refused.hint;
    Err(fault)
}

fn unreachable(why: &str) -> Fault {
    Fault::new(Code::Unreachable, format!("the hub does not answer as it should: {why}"))
        .hint("Is it running, and is this device on the same network? What was exchanged so far is kept.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_is_asked_for_by_its_range_and_its_whole_is_told_by_the_answer() {
        let ask = Ask::Get { hash: [7; 32], from: 100, most: 50 };
        let sending = sending(&ask);
        assert_eq!(sending.headers, [("range", "bytes=100-149".to_owned())]);
        let came = Came { status: 206, content_range: Some("bytes 100-149/900"), body: &[1; 50] };
        let Answer::Piece(Some(piece)) = answer(&ask, came).unwrap() else { panic!() };
        assert_eq!((piece.total, piece.bytes.len()), (900, 50));
        let gone = Came { status: 404, content_range: None, body: b"" };
        assert_eq!(answer(&ask, gone).unwrap(), Answer::Piece(None));
    }

    #[test]
    fn a_refusal_is_told_by_its_code_and_anything_else_is_no_hub() {
        let ask = Ask::Thumbnail { hash: [7; 32] };
        let body = br#"{"fault":{"code":"unpaired","message":"not paired","hint":"pair"}}"#;
        let fault = answer(&ask, Came { status: 401, content_range: None, body }).unwrap_err();
        assert_eq!((fault.code, fault.hint.as_deref()), (Code::Unpaired, Some("pair")));
        let body =
            br#"{"fault":{"code":"bad-argument","message":"these bytes are no transaction","hint":null}}"#;
        let fault = answer(&ask, Came { status: 400, content_range: None, body }).unwrap_err();
        assert_eq!(
            (fault.code, fault.hint.is_some()),
            (Code::Unreachable, true),
            "no argument of a person's"
        );
        let page = Came { status: 502, content_range: None, body: b"<html>" };
        assert_eq!(answer(&ask, page).unwrap_err().code, Code::Unreachable);
    }
}
