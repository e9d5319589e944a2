//! Bodies that are too big, unpack to too much, come too slowly or make no sense.

use crate::{Answer, JSON, PHONE, Shed, ask, connect, get, paired};
use std::io::{Read, Write};

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

#[test]
fn a_packed_body_is_taken_and_one_that_unpacks_to_too_much_is_refused() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let gzip = ("content-encoding", "gzip");
    let small = packed(br#"{"code":"12345678","name":"p","device":"0191f3a0-0000-7000-8000-000000000001"}"#);
    assert_eq!(ask(hub.port(), "POST", "/api/pair", &[JSON, gzip], &small).code(), "pairing-refused");
    let bomb = packed(&vec![b' '; 64 << 20]);
    assert!(bomb.len() < 70_000, "{}", bomb.len());
    let answer = ask(hub.port(), "POST", "/api/pair", &[JSON, gzip], &bomb);
    assert_eq!((answer.status, answer.code().as_str()), (413, "too-big"));
    assert_eq!(get(hub.port(), "/health").status, 200);
}

#[test]
fn a_body_packed_in_another_way_is_refused_with_the_ways_that_are_taken() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let plain = br#"{"code":"12345678","name":"p","device":"0191f3a0-0000-7000-8000-000000000001"}"#;
    let ask = |coding: &str, body: &[u8]| {
        ask(hub.port(), "POST", "/api/pair", &[JSON, ("content-encoding", coding)], body)
    };
    for other in ["br", "zstd", "deflate", "gzip, gzip", "gzip, br", "no such coding", "é"] {
        let answer = ask(other, plain);
        assert_eq!((answer.status, answer.code().as_str()), (415, "bad-type"), "{other}");
        assert_eq!(answer.header("accept-encoding"), Some("gzip"));
        assert_eq!(answer.header("content-type"), Some("application/json"));
    }
    for same in ["identity", "Identity"] {
        assert_eq!(ask(same, plain).code(), "pairing-refused", "{same}");
    }
    for gzip in ["GZIP", "x-gzip", "identity, gzip"] {
        assert_eq!(ask(gzip, &packed(plain)).code(), "pairing-refused", "{gzip}");
    }
    let document = get(hub.port(), "/api/openapi.json").json();
    for item in document["paths"].as_object().unwrap().values() {
        for operation in item.as_object().unwrap().values() {
            assert!(operation["responses"]["415"].is_object(), "{operation}");
        }
    }
}

#[test]
fn a_body_of_two_gigabytes_is_refused_long_before_it_is_read() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let port = hub.port();
    for length in ["content-length: 2147483648", "transfer-encoding: chunked"] {
        let mut stream = connect(port);
        let head = format!(
            "POST /api/pair HTTP/1.1\r\nhost: localhost:{port}\r\ncontent-type: application/json\r\n{length}\r\n\r\n"
        );
        stream.write_all(head.as_bytes()).unwrap();
        let chunked = length.starts_with("transfer");
        let block = vec![b' '; 1 << 20];
        let mut sent = 0usize;
        while sent < 2 << 30 {
            let lead = if chunked { format!("{:x}\r\n", block.len()) } else { String::new() };
            let tail = if chunked { "\r\n" } else { "" };
            if stream.write_all(lead.as_bytes()).is_err()
                || stream.write_all(&block).is_err()
                || stream.write_all(tail.as_bytes()).is_err()
            {
                break;
            }
            sent += block.len();
        }
        assert!(sent < 64 << 20, "{sent} bytes were taken");
    }
    // What is told to a client that waits for the answer before it goes on.
    let mut stream = connect(port);
    let head = format!(
        "POST /api/pair HTTP/1.1\r\nhost: localhost:{port}\r\ncontent-type: application/json\r\ncontent-length: 2147483648\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).unwrap();
    stream.write_all(&vec![b' '; 128 * 1024]).unwrap();
    let mut bytes = Vec::new();
    let _ = stream.read_to_end(&mut bytes);
    let answer = Answer::read(&bytes);
    assert_eq!((answer.status, answer.code().as_str()), (413, "too-big"));
    assert_eq!(get(port, "/health").status, 200);
}

#[test]
fn what_makes_no_sense_is_refused_in_the_words_of_the_program() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let port = hub.port();
    for (body, headers, status) in [
        (&b"{"[..], &[JSON][..], 400),
        (b"[]", &[JSON], 400),
        (br#"{"code":1}"#, &[JSON], 400),
        (b"\xff\xfe", &[JSON], 400),
        (b"{}", &[], 415),
        (b"{}", &[("content-type", "text/plain")], 415),
        (b"not gzip", &[JSON, ("content-encoding", "gzip")], 400),
    ] {
        let answer = ask(port, "POST", "/api/pair", headers, body);
        assert_eq!(answer.status, status, "{answer:?}");
        assert!(!answer.code().is_empty());
    }
    assert_eq!(ask(port, "PUT", "/api/pair", &[], b"").status, 405);
    assert_eq!(ask(port, "GET", "/api/nothing", &[], b"").code(), "not-found");
    assert_eq!(ask(port, "POST", "/", &[], b"").status, 405);
}

#[test]
fn a_big_answer_is_packed_for_who_asks_for_it() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let plain = get(hub.port(), "/api/openapi.json");
    assert_eq!(plain.header("content-encoding"), None);
    let small = ask(hub.port(), "GET", "/api/openapi.json", &[("accept-encoding", "gzip")], b"");
    assert_eq!(small.header("content-encoding"), Some("gzip"));
    let mut unpacked = Vec::new();
    flate2::read::GzDecoder::new(&small.body[..]).read_to_end(&mut unpacked).unwrap();
    assert_eq!(unpacked, plain.body);
}

/// RFC 9110, sections 13.1.2 and 14.1.2: a last byte behind the end is the end; a first byte behind it cannot be met.
#[test]
fn ranges_end_where_the_bytes_do_and_what_is_held_is_not_sent_again() {
    let shed = Shed::empty();
    let hash = shed.shelf().store().blobs().put(b"a picture").unwrap();
    let hub = shed.hub();
    let key = paired(&hub, PHONE);
    let path = format!("/api/blobs/{}", airshelf_app::sync::wire::hash_text(&hash));
    let get = |name: &str, value: &str| {
        ask(hub.port(), "GET", &path, &[("authorization", &key), (name, value)], b"")
    };
    for last in ["18446744073709551615", "99999999999999999999", "8"] {
        let whole = get("range", &format!("bytes=0-{last}"));
        assert_eq!((whole.status, whole.body.as_slice()), (206, &b"a picture"[..]), "{last}");
        assert_eq!(whole.header("content-range"), Some("bytes 0-8/9"));
    }
    for first in ["9", "18446744073709551615", "99999999999999999999"] {
        let unmet = get("range", &format!("bytes={first}-"));
        assert_eq!((unmet.status, unmet.header("content-range")), (416, Some("bytes */9")), "{first}");
    }
    let etag = get("accept", "*/*").header("etag").unwrap().to_owned();
    for named in [etag.clone(), format!("\"other\", W/{etag}"), "*".into()] {
        let known = get("if-none-match", &named);
        assert_eq!((known.status, known.body.len(), known.header("etag")), (304, 0, Some(etag.as_str())));
    }
    assert_eq!(get("if-none-match", "\"other\"").status, 200);
}
