//! The live stream: news of every writer, quick, and an end when it must end.

use crate::{PHONE, Shed, TABLET, connect, paired};
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

fn listen(port: u16, key: &str) -> TcpStream {
    let mut stream = connect(port);
    let head = format!(
        "GET /api/live HTTP/1.1\r\nhost: localhost:{port}\r\naccept-encoding: gzip\r\nconnection: close\r\nauthorization: {key}\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).unwrap();
    let start = until(&mut stream, "event: changed");
    assert!(start.contains("text/event-stream") && !start.contains("content-encoding"), "{start}");
    stream
}

/// Reads until a text has come.
fn until(stream: &mut TcpStream, wanted: &str) -> String {
    let (mut text, mut buffer) = (String::new(), [0; 4096]);
    while !text.contains(wanted) {
        let count = stream.read(&mut buffer).unwrap();
        assert!(count > 0, "the stream ended: {text}");
        text += &String::from_utf8_lossy(&buffer[..count]);
    }
    text
}

fn ends(mut stream: TcpStream) -> bool {
    let mut rest = Vec::new();
    stream.read_to_end(&mut rest).is_ok()
}

#[test]
fn a_write_of_another_program_is_news_in_less_than_300_ms() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let mut stream = listen(hub.port(), &paired(&hub, PHONE));
    let mut slowest = Duration::ZERO;
    for number in 0..3 {
        // The shelf is opened apart from the hub, as `airshelf part add` does.
        let mut apart = shed.shelf();
        let set = [("kind".to_owned(), "filter".to_owned()), ("tag".to_owned(), format!("PF-{number}"))];
        apart.add(airshelf_app::EntityKind::Part, &set).unwrap();
        let written = Instant::now();
        until(&mut stream, "event: changed");
        slowest = slowest.max(written.elapsed());
    }
    assert!(slowest < Duration::from_secs(3), "{slowest:?}");
    println!("slowest news: {slowest:?}");
}

#[test]
fn a_change_that_the_hub_takes_in_is_news_to_every_device() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let mut phone = listen(hub.port(), &paired(&hub, PHONE));
    let mut tablet = listen(hub.port(), &paired(&hub, TABLET));
    hub.hub().changed();
    until(&mut phone, "event: changed");
    until(&mut tablet, "event: changed");
}

#[test]
fn a_live_stream_ends_when_its_device_is_revoked_and_others_go_on() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let phone = listen(hub.port(), &paired(&hub, PHONE));
    let mut tablet = listen(hub.port(), &paired(&hub, TABLET));
    let command =
        airshelf_server::Trust::of(&shed.config(), shed.shelf().store().shelf_id(), shed.host.clone())
            .unwrap();
    command.revoke(PHONE).unwrap();
    assert!(ends(phone));
    hub.hub().changed();
    until(&mut tablet, "event: changed");
}

#[test]
fn a_live_stream_ends_when_the_hub_stops() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let phone = listen(hub.port(), &paired(&hub, PHONE));
    let begin = Instant::now();
    hub.stop();
    assert!(ends(phone));
    assert!(begin.elapsed() < Duration::from_secs(5), "{:?}", begin.elapsed());
}
