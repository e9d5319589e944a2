//! Starting and stopping.

use crate::{PHONE, Shed, ask, connect, get, paired};
use airshelf_app::sync::{Exchange, Local, PhotosAsked};
use airshelf_app::{EntityKind, Shelf};
use airshelf_server::{Trust, serve};
use std::io::{Read, Write};
use std::time::{Duration, Instant};

#[test]
fn health_is_told_to_everybody_and_tells_nothing_else() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let health = get(hub.port(), "/health");
    assert_eq!(health.status, 200);
    assert_eq!(health.json(), serde_json::json!({ "ok": true, "version": env!("CARGO_PKG_VERSION") }));
}

#[test]
fn what_was_begun_is_finished_when_the_hub_stops_and_nothing_new_is_let_in() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let port = hub.port();
    let code = hub.hub().trust.invite().unwrap().code;
    let body = format!(r#"{{"code":"{code}","name":"phone","device":"{PHONE}"}}"#);
    let mut stream = connect(port);
    let head = format!(
        "POST /api/pair HTTP/1.1\r\nhost: localhost:{port}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n",
        body.len()
    );
    stream.write_all(head.as_bytes()).unwrap();
    stream.write_all(&body.as_bytes()[..10]).unwrap();
    std::thread::sleep(Duration::from_millis(300));
    let stopping = std::thread::spawn(move || hub.stop());
    std::thread::sleep(Duration::from_millis(300));
    stream.write_all(&body.as_bytes()[10..]).unwrap();
    let mut bytes = Vec::new();
    stream.read_to_end(&mut bytes).unwrap();
    assert_eq!(crate::Answer::read(&bytes).status, 200);
    stopping.join().unwrap();
    assert!(std::net::TcpStream::connect(("127.0.0.1", port)).is_err());
}

#[test]
fn who_was_paired_stays_paired_over_a_restart() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let key = paired(&hub, PHONE);
    hub.stop();
    let hub = shed.hub();
    assert_eq!(ask(hub.port(), "GET", "/api/devices", &[("authorization", &key)], b"").status, 200);
}

#[test]
fn one_hub_runs_on_a_shelf_and_the_second_is_told_where() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let second = serve(shed.options()).unwrap_err();
    assert!(second.message.contains(&hub.at().url), "{second:?}");
    let trust = &hub.hub().trust;
    assert_eq!(trust.running().unwrap().as_ref(), Some(hub.at()));
    let link = hub.at().link("12345678");
    assert_eq!(link, format!("http://localhost:{}/#pair=12345678", hub.port()));
    hub.stop();
    assert!(serve(shed.options()).is_ok());
}

#[test]
fn a_port_that_is_taken_is_named() {
    let shed = Shed::empty();
    let taken = std::net::TcpListener::bind(("127.0.0.1", 0)).unwrap();
    let mut options = shed.options();
    options.port = Some(taken.local_addr().unwrap().port());
    let fault = serve(options).unwrap_err();
    assert!(fault.message.contains(&taken.local_addr().unwrap().port().to_string()), "{fault:?}");
    assert!(fault.hint.unwrap().contains("--port"));
}

#[test]
fn localhost_is_answered_on_both_kinds_of_address() {
    let shed = Shed::empty();
    let hub = shed.hub();
    if std::net::TcpListener::bind(("::1", 0)).is_ok() {
        assert!(std::net::TcpStream::connect(("::1", hub.port())).is_ok());
    }
    assert!(std::net::TcpStream::connect(("127.0.0.1", hub.port())).is_ok());
}

/// One exchange between two shelves without a network.
fn exchange(asking: &mut Shelf, other: &mut Shelf) {
    let mut exchange = Exchange::new(Local::default(), PhotosAsked::All);
    while let Some(ask) = exchange.next(asking).unwrap() {
        let answer = other.answer(ask.clone(), &Local::default()).unwrap();
        exchange.take(asking, &ask, answer).unwrap();
    }
}

#[test]
fn who_was_paired_with_an_empty_hub_stays_paired_when_it_joins_a_shelf_in_whatever_way() {
    for apart in [false, true] {
        let (shed, full) = (Shed::empty(), Shed::empty());
        let hub = shed.hub();
        let key = paired(&hub, PHONE);
        let mut theirs = full.shelf();
        theirs
            .add(EntityKind::Part, &[("kind".into(), "filter".into()), ("tag".into(), "PF-1".into())])
            .unwrap();
        let id = theirs.store().shelf_id();
        assert_ne!(hub.hub().trust.shelf(), id);
        if apart {
            // As `airshelf sync` does it in another process.
            exchange(&mut shed.shelf(), &mut theirs);
        } else {
            exchange(&mut theirs, &mut hub.hub().shelf.lock().unwrap());
        }
        let begin = Instant::now();
        while hub.hub().trust.shelf() != id {
            assert!(begin.elapsed() < Duration::from_secs(10), "not followed, apart: {apart}");
            std::thread::sleep(Duration::from_millis(50));
        }
        let asked = || ask(hub.port(), "GET", "/api/devices", &[("authorization", &key)], b"").status;
        assert_eq!(asked(), 200);
        let command = Trust::of(&shed.config(), id, shed.host.clone()).unwrap();
        assert_eq!(command.running().unwrap().as_ref(), Some(hub.at()));
        command.revoke(PHONE).unwrap();
        assert_eq!(asked(), 401);
    }
}

#[test]
fn who_was_paired_stays_paired_when_the_shelf_joins_another_while_its_hub_is_stopped() {
    let (shed, full) = (Shed::empty(), Shed::empty());
    let hub = shed.hub();
    let key = paired(&hub, PHONE);
    hub.stop();
    let mut theirs = full.shelf();
    theirs.add(EntityKind::Part, &[("kind".into(), "filter".into()), ("tag".into(), "PF-1".into())]).unwrap();
    let mut ours = shed.shelf();
    let (from, to) = (ours.store().shelf_id(), theirs.store().shelf_id());
    let folder = shed.folder.path().join("shelf");
    Trust::joins(&shed.config(), &folder, from, to).unwrap();
    // It has not joined yet, and may never; nor is the same shelf in another folder its business.
    assert_eq!(Trust::on(&shed.config(), &ours, shed.host.clone()).unwrap().devices().unwrap().len(), 1);
    assert_eq!(Trust::on(&shed.config(), &theirs, shed.host.clone()).unwrap().devices().unwrap().len(), 0);
    exchange(&mut ours, &mut theirs);
    drop(ours);
    let hub = shed.hub();
    assert_eq!(hub.hub().trust.shelf(), to);
    let asked = || ask(hub.port(), "GET", "/api/devices", &[("authorization", &key)], b"").status;
    assert_eq!(asked(), 200);
    Trust::on(&shed.config(), &shed.shelf(), shed.host.clone()).unwrap().revoke(PHONE).unwrap();
    assert_eq!(asked(), 401);
}

#[test]
fn every_route_is_documented_with_what_it_refuses() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let document = get(hub.port(), "/api/openapi.json").json();
    for path in ["/health", "/api/pair", "/api/devices", "/api/devices/{id}", "/api/live"] {
        assert!(document["paths"][path].is_object(), "{path}");
    }
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let responses = operation["responses"].as_object().unwrap();
            let has = |status: &str| responses.contains_key(status);
            assert!(has("200") && has("403") && has("421"), "{method} {path}");
            assert_eq!(operation.get("security").is_some(), has("401"), "{method} {path}");
            assert_eq!(operation.get("requestBody").is_some(), has("413"), "{method} {path}");
        }
    }
}
