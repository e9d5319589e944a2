//! What is turned away at the door: other names, other pages, climbing paths, devices without a key.

use crate::{PHONE, Shed, ask, get, pair, paired, raw};

#[test]
fn a_name_that_the_hub_does_not_answer_to_is_refused() {
    let (shed, port);
    shed = Shed::empty();
    let hub = shed.hub();
    port = hub.port();
    for host in ["rebound.example", "localhost.rebound.example", "192.0.2.7", "shed.local", "", "a b"] {
        let answer = ask(port, "GET", "/health", &[("host", host)], b"");
        assert!(answer.status == 421 || answer.status == 400, "{host}: {answer:?}");
    }
    let two = format!(
        "GET http://rebound.example/health HTTP/1.1\r\nhost: localhost:{port}\r\nconnection: close\r\n\r\n"
    );
    assert_eq!(raw(port, two.as_bytes()).status, 421);
    let none = raw(port, b"GET /health HTTP/1.0\r\n\r\n");
    assert_eq!((none.status, none.code().as_str()), (421, "foreign-host"));
    assert_eq!(ask(port, "GET", "/health", &[("host", &format!("LOCALHOST:{port}"))], b"").status, 200);
}

#[test]
fn a_page_from_elsewhere_may_not_ask_and_a_page_of_the_hub_may() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let (port, key) = (hub.port(), paired(&hub, PHONE));
    let asked =
        |origin: &str| ask(port, "GET", "/api/devices", &[("origin", origin), ("authorization", &key)], b"");
    for origin in [
        "http://elsewhere.example",
        "null",
        "http://localhost",
        &format!("https://localhost:{port}"),
        &format!("http://localhost.elsewhere.example:{port}"),
        "file://",
    ] {
        let answer = asked(origin);
        assert_eq!((answer.status, answer.code().as_str()), (403, "foreign-origin"), "{origin}");
        assert_eq!(answer.header("access-control-allow-origin"), None);
    }
    for origin in [format!("http://localhost:{port}"), format!("http://127.0.0.1:{port}")] {
        let answer = asked(&origin);
        assert_eq!(answer.status, 200, "{origin}");
        assert_eq!(answer.header("access-control-allow-origin"), None, "the hub's own page needs no leave");
    }
}

#[test]
fn a_paired_app_may_ask_from_where_it_was_loaded_and_pairing_may_come_from_anywhere_while_invited() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let port = hub.port();
    let from = ("origin", "https://other-hub.example:28028");
    let preflight = |path: &str| {
        let asked = [
            from,
            ("access-control-request-method", "POST"),
            ("access-control-request-headers", "content-type"),
        ];
        ask(port, "OPTIONS", path, &asked, b"")
    };
    assert_eq!(preflight("/api/pair").status, 403, "nobody is invited");
    let code = hub.hub().trust.invite().unwrap().code;
    let allowed = preflight("/api/pair");
    assert_eq!(allowed.status, 204);
    assert_eq!(allowed.header("access-control-allow-origin"), Some(from.1));
    assert_eq!(preflight("/api/devices").status, 403, "only pairing is open");
    let joined = pair(port, &code, PHONE, &[from]);
    assert_eq!(joined.status, 200);
    assert_eq!(joined.header("access-control-allow-origin"), Some(from.1));
    let key = format!("Bearer {}", joined.json()["key"].as_str().unwrap());
    assert_eq!(preflight("/api/devices").status, 204);
    let listed = ask(port, "GET", "/api/devices", &[from, ("authorization", &key)], b"");
    assert_eq!((listed.status, listed.header("access-control-allow-origin")), (200, Some(from.1)));
    hub.hub().trust.revoke(PHONE).unwrap();
    assert_eq!(preflight("/api/devices").status, 403, "its origin goes with the device");
}

#[test]
fn climbing_paths_lead_nowhere() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let (port, key) = (hub.port(), paired(&hub, PHONE));
    for path in [
        "/../../etc/passwd",
        "/assets/../../Cargo.toml",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/%2e%2e%2fetc%2fpasswd",
        "/..%5c..%5cx",
        "/%252e%252e%252fetc",
        "/a%00.html",
        "/api/../health",
        "/api/devices/..",
        "/api/devices/%2e%2e%2fpair",
        "/api/openapi.json/..",
        "/health/..",
    ] {
        let answer = ask(port, "GET", path, &[("authorization", &key)], b"");
        assert_eq!((answer.status, answer.code().as_str()), (400, "bad-path"), "{path}");
    }
    // What has no ending is a place of the screens, where they are built in.
    assert!(!get(port, "/etc/passwd").body.windows(5).any(|five| five == b"root:"));
    for path in ["/Cargo.toml", "/src/lib.rs", "/.git/config", "/devices.json"] {
        assert_eq!(get(port, path).status, 404, "{path}");
    }
}

#[test]
fn without_a_key_or_with_a_wrong_one_nothing_is_told() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let (port, key) = (hub.port(), paired(&hub, PHONE));
    let long = format!("Bearer {}", "0".repeat(64));
    let basic = key.replace("Bearer", "Basic");
    for headers in [
        &[][..],
        &[("authorization", "Bearer ")],
        &[("authorization", "Bearer x")],
        &[("authorization", &long)],
        &[("authorization", &basic)],
        &[("cookie", &key)],
    ] {
        for (method, path) in [
            ("GET", "/api/devices"),
            ("GET", "/api/live"),
            ("DELETE", &*format!("/api/devices/{PHONE}")),
            ("PATCH", &format!("/api/devices/{PHONE}")),
        ] {
            let answer = ask(port, method, path, headers, b"");
            assert_eq!(
                (answer.status, answer.code().as_str()),
                (401, "unpaired"),
                "{method} {path} {headers:?}"
            );
            assert_eq!(answer.header("www-authenticate"), Some("Bearer"));
        }
    }
    let known = ask(port, "GET", "/api/devices", &[("authorization", &key)], b"").json();
    assert_eq!((known["you"].as_str(), known["devices"].as_array().unwrap().len()), (Some(PHONE), 1));
    assert!(known["devices"][0].get("key_sha256").is_none());
}

#[test]
fn every_answer_tells_the_browser_to_keep_to_itself_and_sets_no_cookie() {
    let shed = Shed::empty();
    let hub = shed.hub();
    for (path, headers) in
        [("/", &[][..]), ("/health", &[]), ("/api/devices", &[]), ("/health", &[("host", "rebound.example")])]
    {
        let answer = ask(hub.port(), "GET", path, headers, b"");
        for (name, value) in [
            ("x-content-type-options", "nosniff"),
            ("referrer-policy", "no-referrer"),
            ("cross-origin-opener-policy", "same-origin"),
            ("cross-origin-resource-policy", "same-origin"),
        ] {
            assert_eq!(answer.header(name), Some(value), "{path}");
        }
        let policy = answer.header("content-security-policy").unwrap();
        assert!(policy.contains("frame-ancestors 'none'") && !policy.contains("unsafe-inline"), "{policy}");
        assert_eq!(answer.header("set-cookie"), None);
        assert_eq!(answer.header("strict-transport-security"), None);
    }
}

#[test]
fn screens_asked_for_under_an_address_are_sent_to_localhost() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let port = hub.port();
    for host in [format!("127.0.0.1:{port}"), format!("[::1]:{port}")] {
        let answer = ask(port, "GET", "/shelf/parts?tag=PF-1", &[("host", &host)], b"");
        assert_eq!(answer.status, 308);
        assert_eq!(
            answer.header("location"),
            Some(&*format!("http://localhost:{port}/shelf/parts?tag=PF-1"))
        );
        assert_eq!(ask(port, "GET", "/health", &[("host", &host)], b"").status, 200);
    }
}
