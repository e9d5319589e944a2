//! The plain pages, and the file names that the hub does not serve.

use crate::{Shed, ask, get};
use sha2::{Digest, Sha256};

#[test]
fn a_hub_without_screens_says_that_it_runs_and_how_to_sync() {
    let shed = Shed::empty();
    let hub = shed.hub();
    let page = get(hub.port(), "/");
    assert_eq!(page.status, 200);
    if airshelf_server::screens::SCREENS.is_empty() {
        let text = page.text();
        assert!(
            text.contains("airshelf pair") && text.contains(&format!("airshelf sync {}", hub.at().url)),
            "{text}"
        );
        assert!(text.contains("Quarry Loop Shed"));
        let once = text.split("nonce=\"").nth(1).unwrap().split('"').next().unwrap();
        assert!(page.header("content-security-policy").unwrap().contains(once));
        assert_ne!(
            get(hub.port(), "/").header("content-security-policy"),
            page.header("content-security-policy")
        );
    }
}

#[test]
fn the_page_about_trust_shows_the_fingerprint_the_certificate_and_the_way() {
    let shed = Shed::empty();
    let hub = shed.hub_with_tls();
    let port = hub.trust_port().unwrap();
    let page = get(port, "/");
    let text = page.text();
    assert_eq!(page.status, 200);
    let print = hub.at().authority_sha256.clone().unwrap();
    assert!(text.replace(' ', "").contains(&print));
    assert!(text.contains(&format!("https://localhost:{}/", hub.port())) && text.contains("<svg"), "{text}");
    assert!(!text.contains('{'.to_string().as_str()) || !text.contains("{name}"), "{text}");
    for system in ["Android", "iOS", "Windows", "macOS", "Linux"] {
        assert!(text.contains(system));
    }
    let certificate = get(port, "/authority.crt");
    assert_eq!(certificate.header("content-type"), Some("application/x-x509-ca-cert"));
    let hash: String = Sha256::digest(&certificate.body).iter().map(|b| format!("{b:02x}")).collect();
    assert_eq!(hash, print);
    assert!(get(port, "/authority.pem").text().starts_with("-----BEGIN CERTIFICATE-----"));
    assert!(!get(port, "/authority.pem").text().contains("PRIVATE KEY"));
    assert_eq!(get(port, "/api/devices").status, 404, "nothing of the shelf is told without encryption");
    assert_eq!(ask(port, "GET", "/", &[("host", "rebound.example")], b"").status, 421);
}
