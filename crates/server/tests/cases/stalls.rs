//! A hub that stops in the middle of what it says: nobody waits for it for ever.

use airshelf_app::Code;
use airshelf_app::sync::wire::{Answer, Ask};
use airshelf_server::client::{Known, Patience, Remote};
use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::thread::{sleep, spawn};
use std::time::{Duration, Instant};

const ASK: Ask = Ask::Thumbnail { hash: [7; 32] };

/// Something that takes connections, reads a request and then does as it is told with the connection.
fn hub(answer: fn(&mut TcpStream)) -> Remote {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let url = format!("http://{}", listener.local_addr().unwrap());
    spawn(move || {
        for stream in listener.incoming() {
            let mut stream = stream.unwrap();
            spawn(move || {
                let mut head = [0; 4096];
                let _ = stream.read(&mut head);
                answer(&mut stream);
                // The connection stays, and nothing more comes.
                sleep(Duration::from_secs(60));
            });
        }
    });
    let known = Known {
        url,
        name: "Quarry Loop Shed".into(),
        shelf: "0191f3a0-0000-7000-8000-00000000000a".parse().unwrap(),
        key: "key".into(),
        authority: None,
    };
    let patience = Patience { answer: Duration::from_millis(300), news: Duration::from_millis(300) };
    Remote::patient(&known, patience).unwrap()
}

#[test]
fn an_answer_that_stops_half_way_is_told() {
    let remote = hub(|stream| {
        stream.write_all(b"HTTP/1.1 200 OK\r\ncontent-length: 1000\r\n\r\nhalf").unwrap();
    });
    let begin = Instant::now();
    let fault = remote.ask(&ASK).unwrap_err();
    assert!(begin.elapsed() < Duration::from_secs(20), "{:?}", begin.elapsed());
    assert_eq!(fault.code, Code::Unreachable);
    assert!(fault.message.contains("began to answer, and nothing more came"), "{}", fault.message);
}

#[test]
fn a_hub_that_is_at_work_before_it_answers_is_waited_for() {
    let remote = hub(|stream| {
        sleep(Duration::from_millis(1_200));
        stream.write_all(b"HTTP/1.1 200 OK\r\ncontent-length: 5\r\n\r\nwhole").unwrap();
    });
    assert_eq!(remote.ask(&ASK).unwrap(), Answer::Thumbnail(Some(b"whole".to_vec())));
}

#[test]
fn news_of_which_nothing_is_heard_any_more_end() {
    let remote = hub(|stream| {
        let news = b"HTTP/1.1 200 OK\r\ncontent-type: text/event-stream\r\n\r\nevent: changed\ndata: 1\n\n";
        stream.write_all(news).unwrap();
    });
    let begin = Instant::now();
    let mut heard = 0;
    remote
        .listen(|| {
            heard += 1;
            true
        })
        .unwrap();
    assert_eq!(heard, 1);
    assert!(begin.elapsed() < Duration::from_secs(20), "{:?}", begin.elapsed());
}
