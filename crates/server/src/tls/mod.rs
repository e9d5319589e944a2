//! The hub's certificate: its own authority's, or the user's own; and the names that it is good for.
//!
//! The authority is made once and kept; what devices trust stays the same over restarts, renewals and new addresses.

mod authority;
mod given;
mod here;
mod leaf;
mod show;

pub use authority::Authority;
pub use given::Given;
pub(crate) use here::addresses;
pub use here::{host_name, names_here};
pub use leaf::{Leaf, RENEW_BEFORE_S};
pub use show::Certificate;
pub(crate) use show::Tls;

use airshelf_app::{Code, Fault};
use rustls::ServerConfig;
use rustls::client::verify_server_name;
use rustls::crypto::ring;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, ServerName};
use rustls::server::ParsedCertificate;
use std::sync::{Arc, PoisonError, RwLock};

/// The names that a hub answers to: those of the machine itself, and those that its certificate is good for.
///
/// A page of another site whose name was pointed at this address (DNS rebinding) comes under that site's name, and is
/// refused.
#[derive(Debug, Default)]
pub struct Names {
    certificate: RwLock<Option<CertificateDer<'static>>>,
}

impl Names {
    /// Whether the hub answers to that name or address, written without its port.
    pub fn serve(&self, name: &str) -> bool {
        is_loopback(name) || self.certificate_names(name)
    }

    fn certificate_names(&self, name: &str) -> bool {
        let held = self.certificate.read().unwrap_or_else(PoisonError::into_inner);
        let Some(certificate) = &*held else { return false };
        let bare = name.trim_start_matches('[').trim_end_matches(']');
        let (Ok(parsed), Ok(name)) = (ParsedCertificate::try_from(certificate), ServerName::try_from(bare))
        else {
            return false;
        };
        verify_server_name(&parsed, &name).is_ok()
    }

    pub(crate) fn follow(&self, certificate: &CertificateDer<'static>) {
        *self.certificate.write().unwrap_or_else(PoisonError::into_inner) = Some(certificate.clone());
    }
}

/// Whether a name, written without its port, is this machine's own for itself.
pub fn is_loopback(name: &str) -> bool {
    ["localhost", "127.0.0.1", "[::1]"].iter().any(|own| name.eq_ignore_ascii_case(own))
}

/// The server's side of TLS with a chain and its key.
///
/// # Errors
/// [`Fault`] if they do not belong together.
pub(crate) fn config(
    chain: Vec<CertificateDer<'static>>,
    key: PrivateKeyDer<'static>,
) -> Result<Arc<ServerConfig>, Fault> {
    let made = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .and_then(|builder| builder.with_no_client_auth().with_single_cert(chain, key));
    let mut config = made.map_err(|e| {
        Fault::new(Code::BadArgument, format!("the certificate and the key do not fit: {e}"))
            .hint("The certificate's file holds its whole chain, its own certificate first; the key is not encrypted.")
    })?;
    config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
    Ok(Arc::new(config))
}
