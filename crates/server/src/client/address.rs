//! The address of a hub as a person pastes it: a bare one, or the whole pairing link.

use airshelf_app::{Code, Fault};
use axum::http::Uri;
use axum::http::uri::Authority;

/// Where a hub is, and what its pairing link says beside that.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Address {
    /// Scheme, name and port, without anything behind them.
    pub url: String,
    /// The pairing code.
    pub code: Option<String>,
    /// SHA-256 of the authority's certificate, hexadecimal digits.
    pub authority_sha256: Option<String>,
}

impl Address {
    /// Reads an address. Without a scheme, a name of this machine is reached by HTTP, any other by HTTPS; without a port,
    /// the hub's usual one is meant.
    ///
    /// # Errors
    /// [`Fault`] if it is none.
    pub fn read(text: &str) -> Result<Address, Fault> {
        let no = |why: &str| {
            Fault::new(
                Code::BadArgument,
                format!("{} is not the address of a hub: {why}", text.escape_debug()),
            )
            .hint("It looks like https://shed.local:7654, or like the link that `airshelf pair` shows.")
        };
        let (base, fragment) = text.trim().split_once('#').unwrap_or((text.trim(), ""));
        let base = base.trim_end_matches('/');
        let with_scheme = match base.split_once("://") {
            Some(("http" | "https", _)) => base.to_owned(),
            Some(_) => return Err(no("it is neither http nor https")),
            None => {
                let here = base.parse::<Authority>().is_ok_and(|at| crate::tls::is_loopback(at.host()));
                let scheme = if here { "http" } else { "https" };
                format!("{scheme}://{base}")
            }
        };
        let uri: Uri = with_scheme.parse().map_err(|_| no("it cannot be read"))?;
        let authority = uri.authority().ok_or_else(|| no("it names no machine"))?;
        if authority.as_str().contains('@') {
            return Err(no("it holds a user's name"));
        }
        let scheme = uri.scheme_str().unwrap_or("https");
        if scheme == "http" && !crate::tls::is_loopback(authority.host()) {
            return Err(no("a hub on another machine is reached by https").hint(
                "Keys and readings would cross the network for anybody to read. Start that hub with --lan.",
            ));
        }
        let port = if authority.port().is_some() { String::new() } else { format!(":{}", crate::PORT) };
        let mut address =
            Address { url: format!("{scheme}://{authority}{port}"), code: None, authority_sha256: None };
        for (name, value) in fragment.split('&').filter_map(|pair| pair.split_once('=')) {
            match name {
                "pair" => address.code = Some(value.to_owned()),
                "authority" => address.authority_sha256 = Some(value.to_lowercase()),
                _ => {}
            }
        }
        Ok(address)
    }

    /// Whether TLS is spoken there.
    pub(super) fn is_https(&self) -> bool {
        self.url.starts_with("https://")
    }

    /// Name and port.
    pub(super) fn host_and_port(&self) -> (String, u16) {
        let uri: Option<Uri> = self.url.parse().ok();
        let at = uri.as_ref().and_then(Uri::authority);
        let name = at.map_or("", Authority::host).to_owned();
        (name, at.and_then(Authority::port_u16).unwrap_or(crate::PORT))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_is_an_address_with_a_code_behind_it() {
        let read = Address::read("https://shed.local:7654/#pair=12345678&authority=AB12").unwrap();
        assert_eq!(read.url, "https://shed.local:7654");
        assert_eq!(
            (read.code.as_deref(), read.authority_sha256.as_deref()),
            (Some("12345678"), Some("ab12"))
        );
        assert_eq!(read.host_and_port(), ("shed.local".into(), 7654));
    }

    #[test]
    fn without_a_scheme_only_this_machine_is_reached_in_the_clear() {
        assert_eq!(Address::read("localhost:7654").unwrap().url, "http://localhost:7654");
        assert_eq!(Address::read("shed.local").unwrap().host_and_port(), ("shed.local".into(), crate::PORT));
        assert_eq!(Address::read("192.168.4.7:7654/").unwrap().url, "https://192.168.4.7:7654");
        assert_eq!(Address::read("[::1]:7654").unwrap().host_and_port(), ("[::1]".into(), 7654));
    }

    #[test]
    fn what_is_no_hub_is_refused() {
        for wrong in ["", "ftp://shed", "http://shed.local:7654", "https://me@shed.local", "https://a b"] {
            assert!(Address::read(wrong).is_err(), "{wrong}");
        }
    }
}
