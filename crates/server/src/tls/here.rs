//! What this machine is called on its network.

use std::collections::BTreeSet;
use std::net::{IpAddr, Ipv4Addr, UdpSocket};

/// This machine's name, lower case and without a domain; `hub` where it has none that fits a certificate.
pub fn host_name() -> String {
    let name = hostname::get().ok().and_then(|name| name.into_string().ok()).unwrap_or_default();
    let name = name.split('.').next().unwrap_or_default().to_ascii_lowercase();
    let fits = !name.is_empty()
        && name.len() <= 63
        && !name.starts_with('-')
        && !name.ends_with('-')
        && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    if fits && name != "localhost" { name } else { "hub".into() }
}

/// The names and addresses under which this machine can be reached now, sorted.
pub fn names_here() -> Vec<String> {
    let host = host_name();
    let mut names = BTreeSet::from([
        "localhost".to_owned(),
        "127.0.0.1".to_owned(),
        "::1".to_owned(),
        format!("{host}.local"),
        host,
    ]);
    names.extend(addresses().iter().map(ToString::to_string));
    names.into_iter().collect()
}

/// The addresses of this machine on its networks, without those that only it or only one link can reach.
pub(crate) fn addresses() -> Vec<IpAddr> {
    let mut found: Vec<IpAddr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .iter()
        .map(if_addrs::Interface::ip)
        .filter(|ip| !ip.is_loopback() && !is_link_local(ip))
        .collect();
    let usual = usual_address();
    // The one that other machines see comes first, then those that a person can type, home networks before others.
    found.sort_by_key(|ip| match ip {
        ip if usual.contains(ip) => (0, false, String::new()),
        IpAddr::V4(v4) => (1, !v4.is_private(), ip.to_string()),
        IpAddr::V6(_) => (2, false, ip.to_string()),
    });
    found.dedup();
    found
}

/// The address that this machine would speak from to others, if it is on a network. Nothing is sent to find it: a
/// datagram socket that is pointed somewhere only chooses its own end. The somewhere is reserved for documents
/// (RFC 5737).
pub(super) fn usual_address() -> Vec<IpAddr> {
    let chosen = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).and_then(|socket| {
        socket.connect((Ipv4Addr::new(198, 51, 100, 1), 9))?;
        socket.local_addr()
    });
    chosen.iter().map(|at| at.ip()).filter(|ip| !ip.is_loopback() && !ip.is_unspecified()).collect()
}

fn is_link_local(ip: &IpAddr) -> bool {
    match ip {
        IpAddr::V4(v4) => v4.is_link_local(),
        IpAddr::V6(v6) => v6.is_unicast_link_local(),
    }
}
