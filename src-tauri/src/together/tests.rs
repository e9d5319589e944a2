//! Two desktops, one of which is the hub.

use super::*;
use crate::kept::HubLeft;
use crate::shed::{Shed, until};
use serde_json::json;

fn going(shed: &Shed) -> String {
    shed.last("together").unwrap()["going"].as_str().unwrap().to_owned()
}

#[test]
fn what_either_writes_reaches_the_other_by_itself_until_they_part() {
    let (_hub_folder, hub) = Shed::begun();
    hub.put_on_shelf("HB-1");
    hub.shell.hub.on(HubLeft { demo: false, lan: false }).unwrap();
    let (_folder, desk) = Shed::begun();
    assert_eq!(going(&desk), "alone");
    let link = hub.shell.hub.invite().unwrap().link;
    desk.shell.staying.pair(&link, "", "desk").unwrap();
    until("the desk has the part of the hub", || desk.holds("HB-1"));
    desk.put_on_shelf("DK-1");
    until("the hub has the part of the desk", || hub.holds("DK-1"));
    hub.put_on_shelf("HB-2");
    until("the desk has what came later", || desk.holds("HB-2"));
    until("they are together", || going(&desk) == "together");
    until("the screens were told of it", || desk.last("changed").is_some());

    let state = json!({ "place": "device", "ask": "state" });
    assert!(desk.ask(&state)["hub"]["url"].is_string());
    desk.ask(&json!({ "place": "device", "ask": "part" }));
    desk.shell.staying.turn();
    until("they have parted", || going(&desk) == "alone");
    assert!(desk.ask(&state)["hub"].is_null());
    assert!(desk.holds("HB-2"), "what came before stays");
    hub.shell.end();
}

#[test]
fn a_hub_that_is_gone_is_out_of_reach_and_found_again() {
    let (hub_folder, hub) = Shed::begun();
    let on = hub.shell.hub.on(HubLeft { demo: false, lan: false }).unwrap().on.unwrap();
    let url = serde_json::to_value(on).unwrap()["url"].as_str().unwrap().to_owned();
    let port = url.rsplit_once(':').unwrap().1.parse().unwrap();
    let (_folder, desk) = Shed::begun();
    desk.shell.staying.pair(&hub.shell.hub.invite().unwrap().link, "", "desk").unwrap();
    until("they are together", || going(&desk) == "together");
    hub.shell.end();
    until("it is gone", || going(&desk) == "out-of-reach");
    let again = Shed::at(hub_folder.path(), port);
    again.shell.hub.as_left();
    desk.shell.staying.exchange();
    until("it is found", || going(&desk) == "together");
    desk.shell.end();
    again.shell.end();
}

#[test]
fn a_wrong_code_changes_nothing() {
    let (_hub_folder, hub) = Shed::begun();
    hub.shell.hub.on(HubLeft { demo: false, lan: false }).unwrap();
    let way_in = hub.shell.hub.invite().unwrap();
    let url = way_in.link.split('#').next().unwrap();
    let digit = way_in.digits.chars().next().unwrap();
    let wrong = way_in.digits.replace(digit, if digit == '0' { "1" } else { "0" });
    let (_folder, desk) = Shed::begun();
    let refused = desk.shell.staying.pair(url, &wrong, "desk").unwrap_err();
    assert_eq!(refused.code, Code::Unpaired);
    assert!(desk.shell.kept.settings().together_with.is_none());
    assert!(desk.ask(&json!({ "place": "device", "ask": "state" }))["hub"].is_null());
    desk.shell.staying.pair(url, &way_in.digits, "desk").unwrap();
    hub.shell.end();
}
