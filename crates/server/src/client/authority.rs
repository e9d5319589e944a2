//! Finds the authority's certificate that a pairing link names by its hash, among those that the hub shows.
//!
//! Nothing is trusted by this: the certificate whose hash the link carries is then the only one that the connection may
//! lead to.

use super::address::Address;
use airshelf_app::{Code, Fault};
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::crypto::ring;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use rustls::{ClientConfig, ClientConnection, DigitallySignedStruct, Error, SignatureScheme};
use sha2::{Digest, Sha256};
use std::net::{TcpStream, ToSocketAddrs};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

const PATIENCE: Duration = Duration::from_secs(10);

/// Looks at the certificates that a server shows, and lets none through.
#[derive(Debug, Default)]
struct Look {
    shown: Mutex<Vec<CertificateDer<'static>>>,
}

impl ServerCertVerifier for Look {
    fn verify_server_cert(
        &self,
        leaf: &CertificateDer<'_>,
        chain: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, Error> {
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        *shown = std::iter::once(leaf).chain(chain).map(|one| one.clone().into_owned()).collect();
        Err(Error::General("only looked at".into()))
    }

    fn verify_tls12_signature(
        &self,
        _: &[u8],
        _: &CertificateDer<'_>,
        _: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        Err(Error::General("only looked at".into()))
    }

    fn verify_tls13_signature(
        &self,
        _: &[u8],
        _: &CertificateDer<'_>,
        _: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, Error> {
        Err(Error::General("only looked at".into()))
    }

    fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
        ring::default_provider().signature_verification_algorithms.supported_schemes()
    }
}

/// Reads the certificate of an authority (PEM) that a person trusts to vouch for a hub.
///
/// # Errors
/// [`Fault`] if there is none in the file.
pub fn given(file: &Path) -> Result<Vec<u8>, Fault> {
    let read = CertificateDer::from_pem_file(file).map_err(|e| {
        Fault::new(Code::UnreadableFile, format!("{}: {e}", file.display()))
            .hint("It is a certificate as PEM: -----BEGIN CERTIFICATE-----.")
    })?;
    Ok(read.to_vec())
}

/// The certificate of that hash, if the hub shows it.
pub(super) fn shown(address: &Address, sha256: &str) -> Result<Vec<u8>, Fault> {
    let unreachable = |why: &dyn std::fmt::Display| {
        Fault::new(Code::Unreachable, format!("{} does not answer: {why}", address.url))
            .hint("Is the hub running, and is this device on the same network?")
    };
    let (name, port) = address.host_and_port();
    let bare = name.trim_start_matches('[').trim_end_matches(']').to_owned();
    let mut addresses = (bare.as_str(), port).to_socket_addrs().map_err(|e| unreachable(&e))?;
    let at = addresses.next().ok_or_else(|| unreachable(&"its name leads nowhere"))?;
    let mut stream = TcpStream::connect_timeout(&at, PATIENCE).map_err(|e| unreachable(&e))?;
    stream.set_read_timeout(Some(PATIENCE)).map_err(|e| unreachable(&e))?;
    let look = Arc::new(Look::default());
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .map_err(|e| unreachable(&e))?
        .dangerous()
        .with_custom_certificate_verifier(look.clone())
        .with_no_client_auth();
    let server = ServerName::try_from(bare).map_err(|e| unreachable(&e))?;
    let mut connection = ClientConnection::new(Arc::new(config), server).map_err(|e| unreachable(&e))?;
    while connection.is_handshaking() {
        if connection.complete_io(&mut stream).is_err() {
            break;
        }
    }
    let shown = look.shown.lock().unwrap_or_else(PoisonError::into_inner);
    let found = shown.iter().find(|one| crate::trust::hex(&Sha256::digest(one)) == sha256);
    found.map(|one| one.to_vec()).ok_or_else(|| {
        Fault::new(Code::Unreachable, "this is not the hub that the link is of: it shows another certificate")
            .hint("Make a new link on the hub: `airshelf pair`. If that does not help, somebody may stand between.")
    })
}
