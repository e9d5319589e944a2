//! Codes and keys: how long they are good, how often they may be tried, and what the hub keeps of them.

use crate::{JSON, PHONE, Shed, TABLET, ask, get, pair, paired};
use airshelf_server::trust::Joins;

#[test]
fn a_code_is_good_once() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let code = hub.hub().trust.invite().unwrap().code;
    assert_eq!(code.len(), 8);
    let spoken = format!("{} {}", &code[..4], &code[4..]);
    let first = pair(hub.port(), &spoken, PHONE, &[]);
    assert_eq!(first.status, 200);
    let told = first.json();
    assert_eq!((told["hub"].as_str(), told["device"].as_str()), (Some("Quarry Loop Shed"), Some(PHONE)));
    assert_eq!(told["shelf"].as_str().unwrap(), shed.shelf().store().shelf_id().to_string());
    let again = pair(hub.port(), &code, TABLET, &[]);
    assert_eq!((again.status, again.code().as_str()), (403, "pairing-refused"));
}

#[test]
fn a_code_ends_after_five_minutes() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let code = hub.hub().trust.invite().unwrap().code;
    shed.host.forward(299);
    assert!(hub.hub().trust.is_inviting());
    shed.host.forward(2);
    assert!(!hub.hub().trust.is_inviting());
    assert_eq!(pair(hub.port(), &code, PHONE, &[]).code(), "pairing-refused");
    let later = hub.hub().trust.invite().unwrap().code;
    shed.host.forward(298);
    assert_eq!(pair(hub.port(), &later, PHONE, &[]).status, 200);
}

#[test]
fn a_code_ends_after_five_tries_and_the_refusal_does_not_tell_why() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let code = hub.hub().trust.invite().unwrap().code;
    let wrong = if code == "00000000" { "00000001" } else { "00000000" };
    let mut refusals = Vec::new();
    for _ in 0..5 {
        refusals.push(pair(hub.port(), wrong, PHONE, &[]).text());
    }
    let right = pair(hub.port(), &code, PHONE, &[]);
    assert_eq!(right.status, 403);
    refusals.push(right.text());
    refusals.dedup();
    assert_eq!(refusals.len(), 1, "{refusals:?}");
    let fresh = hub.hub().trust.invite().unwrap().code;
    for _ in 0..4 {
        pair(hub.port(), wrong, PHONE, &[]);
    }
    assert_eq!(pair(hub.port(), &fresh, PHONE, &[]).status, 200, "the fifth try counts");
}

#[test]
fn a_thousand_wrong_codes_are_refused_and_the_hub_stays_up() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let key = paired(&hub, PHONE);
    let code = hub.hub().trust.invite().unwrap().code;
    let mut too_many = 0;
    for number in 0..1000 {
        let wrong = format!("{number:08}");
        if wrong == code {
            continue;
        }
        let answer = pair(hub.port(), &wrong, TABLET, &[]);
        match answer.status {
            403 => assert_eq!(answer.code(), "pairing-refused"),
            429 => {
                assert!(answer.header("retry-after").is_some());
                too_many += 1;
            }
            other => panic!("{other}: {answer:?}"),
        }
    }
    assert!(too_many > 900, "{too_many}");
    assert_eq!(get(hub.port(), "/health").status, 200);
    assert_eq!(ask(hub.port(), "GET", "/api/devices", &[("authorization", &key)], b"").status, 200);
    shed.host.forward(60);
    let fresh = hub.hub().trust.invite().unwrap().code;
    assert_eq!(pair(hub.port(), &fresh, TABLET, &[]).status, 200, "a while later it pairs again");
}

#[test]
fn a_revoked_key_is_refused_at_once_whoever_revokes_it() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let port = hub.port();
    let (phone, tablet) = (paired(&hub, PHONE), paired(&hub, TABLET));
    let list = |key: &str| ask(port, "GET", "/api/devices", &[("authorization", key)], b"").status;
    assert_eq!((list(&phone), list(&tablet)), (200, 200));
    // As `airshelf devices revoke` does it, from another process.
    let command =
        airshelf_server::Trust::of(&shed.config(), shed.shelf().store().shelf_id(), shed.host.clone())
            .unwrap();
    command.revoke("0191f3a0-0000-7000-8000-000000000001").unwrap();
    assert_eq!((list(&phone), list(&tablet)), (401, 200));
    let path = format!("/api/devices/{TABLET}");
    let renamed = ask(port, "PATCH", &path, &[("authorization", &tablet), JSON], br#"{"name":"old tablet"}"#);
    assert_eq!((renamed.status, renamed.json()["name"].as_str()), (200, Some("old tablet")));
    assert_eq!(ask(port, "DELETE", &path, &[("authorization", &tablet)], b"").status, 200);
    assert_eq!(list(&tablet), 401);
    let names: Vec<bool> =
        command.devices().unwrap().iter().map(|device| device.revoked_at.is_some()).collect();
    assert_eq!(names, [true, true]);
}

#[test]
fn a_device_that_pairs_again_gets_a_new_key_and_its_old_one_ends() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let first = paired(&hub, PHONE);
    let second = paired(&hub, PHONE);
    let list = |key: &str| ask(hub.port(), "GET", "/api/devices", &[("authorization", key)], b"");
    assert_eq!(list(&first).status, 401);
    assert_eq!(list(&second).json()["devices"].as_array().unwrap().len(), 1);
}

fn phone() -> Joins<'static> {
    Joins { name: "phone", device: PHONE.parse().unwrap(), origin: None, other_shelf: false }
}

#[test]
fn neither_keys_nor_codes_are_kept_readable_and_only_the_owner_reads_the_files() {
    let shed = Shed::empty();
    let hub = shed.hub_with_tls();
    let trust = &hub.hub().trust;
    let code = trust.invite().unwrap().code;
    let key = trust.join(&code, phone()).unwrap().key;
    let open = trust.invite().unwrap().code;
    let mut files = 0;
    for entry in std::fs::read_dir(trust.folder()).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(!text.contains(&key) && !text.contains(&open), "{}", path.display());
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(
                std::fs::metadata(&path).unwrap().permissions().mode() & 0o777,
                0o600,
                "{}",
                path.display()
            );
        }
        files += 1;
    }
    assert!(files >= 5, "{files}");
    let inside = shed.folder.path().join("shelf");
    assert!(!trust.folder().starts_with(inside), "nothing of it is in the shelf's folder");
}

#[test]
fn a_device_of_another_shelf_does_not_use_the_code_up() {
    let shed = Shed::empty();
    let set = [("kind".into(), "filter".into()), ("tag".into(), "PF-1".into())];
    shed.shelf().add(airshelf_app::EntityKind::Part, &set).unwrap();
    let hub = shed.hub();
    let code = hub.hub().trust.invite().unwrap().code;
    let try_with = |code: &str, shelf: &str| {
        let body =
            serde_json::json!({ "code": code, "name": "bench phone", "device": PHONE, "shelf": shelf });
        ask(hub.port(), "POST", "/api/pair", &[JSON], body.to_string().as_bytes())
    };
    let other = "0191f3a0-0000-7000-8000-0000000000ff";
    assert_eq!(try_with("00000000", other).code(), "pairing-refused", "told only to who has the code");
    let refused = try_with(&code, other);
    assert_eq!((refused.status, refused.code().as_str()), (409, "other-shelf"));
    assert!(hub.hub().trust.devices().unwrap().is_empty() && hub.hub().trust.is_inviting());
    assert_eq!(try_with(&code, &hub.hub().trust.shelf().to_string()).status, 200);
}

#[test]
fn a_code_on_which_five_wrong_ones_were_tried_is_told_of_with_the_next() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let trust = &hub.hub().trust;
    assert!(!trust.invite().unwrap().tried_away);
    for _ in 0..6 {
        assert_eq!(pair(hub.port(), "00000000", PHONE, &[]).code(), "pairing-refused");
    }
    assert!(!trust.is_inviting());
    assert!(trust.invite().unwrap().tried_away);
    assert!(!trust.invite().unwrap().tried_away);
}

#[test]
fn a_copy_that_comes_with_its_originals_key_is_listed_and_revoked_with_it() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let key = paired(&hub, PHONE);
    let hello = |device: &str| {
        let vector = serde_json::json!({ "shelf": hub.hub().trust.shelf(), "demo": false, "devices": {} });
        let body = serde_json::json!({
            "device": device, "name": "bench phone", "program": "airshelf", "now_ms": 0, "vector": vector,
        });
        let headers = [("authorization", key.as_str()), JSON];
        ask(hub.port(), "POST", "/api/sync/hello", &headers, body.to_string().as_bytes()).status
    };
    let trust = &hub.hub().trust;
    assert_eq!((hello(PHONE), trust.devices().unwrap().len()), (200, 1));
    assert_eq!((hello(TABLET), hello(TABLET), trust.devices().unwrap().len()), (200, 200, 2));
    let copy = &trust.devices().unwrap()[1];
    assert_eq!(
        (copy.id.to_string().as_str(), copy.name.as_str()),
        (TABLET, "bench phone, a copy with its key")
    );
    trust.revoke(TABLET).unwrap();
    assert_eq!((hello(PHONE), hello(TABLET)), (401, 401));
    let again = paired(&hub, PHONE);
    assert_eq!(ask(hub.port(), "GET", "/api/devices", &[("authorization", &again)], b"").status, 200);
}
