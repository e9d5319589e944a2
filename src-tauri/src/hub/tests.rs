//! The switch, and who comes in by it.

use super::*;
use crate::shed::Shed;
use std::net::TcpListener;

const HERE: HubLeft = HubLeft { demo: false, lan: false };

#[test]
fn a_hub_that_was_on_is_on_again_with_whom_it_let_in() {
    let (folder, shed) = Shed::begun();
    let hub = &shed.shell.hub;
    assert!(!hub.on(HERE).unwrap().on.unwrap().lan);
    let way_in = hub.invite().unwrap();
    assert!(way_in.picture.starts_with("<?xml") || way_in.picture.starts_with("<svg"), "{}", way_in.picture);
    let (_other, guest) = Shed::begun();
    guest.shell.staying.pair(&way_in.link, "", "tablet").unwrap();
    let names = |shown: HubShown| -> Vec<String> {
        shown.on.unwrap().devices.into_iter().map(|guest| guest.name).collect()
    };
    assert_eq!(names(hub.shown().unwrap()), ["tablet"]);
    shed.shell.end();
    assert!(hub.shown().unwrap().on.is_none());

    let next = Shed::at(folder.path(), 0);
    next.shell.hub.as_left();
    assert_eq!(next.last("hub").unwrap()["on"]["devices"][0]["name"], "tablet");
    let id = next.shell.hub.shown().unwrap().on.unwrap().devices[0].id;
    assert!(names(next.shell.hub.revoke(id).unwrap()).is_empty());
    guest.shell.end();
}

#[test]
fn a_hub_that_was_turned_off_stays_off() {
    let (folder, shed) = Shed::begun();
    shed.shell.hub.on(HERE).unwrap();
    assert!(shed.shell.hub.off().unwrap().on.is_none());
    assert_eq!(shed.shell.hub.invite().unwrap_err().code, Code::NotFound);
    let next = Shed::at(folder.path(), 0);
    next.shell.hub.as_left();
    assert!(next.shell.hub.shown().unwrap().on.is_none());
}

#[test]
fn a_hub_that_cannot_come_up_says_why_whenever_a_screen_asks() {
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port();
    let (folder, first) = Shed::begun();
    first.shell.hub.on(HERE).unwrap();
    first.shell.end();
    let shed = Shed::at(folder.path(), port);
    shed.shell.hub.as_left();
    for _ in 0..2 {
        let shown = shed.shell.hub.shown().unwrap();
        assert!(shown.on.is_none());
        assert!(shown.fault.unwrap().message.contains(&port.to_string()));
    }
    assert!(shed.shell.hub.off().unwrap().fault.is_none());
}
