//! The user's own certificate, read again when its file changes.

use super::config;
use airshelf_app::{Code, Fault};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

/// The files of a certificate and its key, PEM.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    /// The certificate with its chain.
    pub certificate: PathBuf,
    /// Its key, not encrypted.
    pub key: PathBuf,
}

fn unread(path: &Path, error: &impl std::fmt::Display) -> Fault {
    Fault::new(Code::UnreadableFile, format!("{}: {error}", path.display()))
}

impl Given {
    /// When the files were last changed.
    pub(crate) fn changed(&self) -> [Option<SystemTime>; 2] {
        [&self.certificate, &self.key].map(|path| std::fs::metadata(path).and_then(|m| m.modified()).ok())
    }

    /// Reads both.
    pub(crate) fn read(&self) -> Result<(CertificateDer<'static>, Arc<ServerConfig>), Fault> {
        let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_file_iter(&self.certificate)
            .and_then(Iterator::collect)
            .map_err(|e| unread(&self.certificate, &e))?;
        let first =
            chain.first().cloned().ok_or_else(|| unread(&self.certificate, &"holds no certificate"))?;
        let key = PrivateKeyDer::from_pem_file(&self.key).map_err(|e| unread(&self.key, &e))?;
        Ok((first, config(chain, key)?))
    }
}

/// The first name that a certificate is for and that stands for one machine.
pub(super) fn first_name(certificate: &CertificateDer<'_>) -> Option<String> {
    let parsed = webpki::EndEntityCert::try_from(certificate).ok()?;
    parsed.valid_dns_names().find(|name| !name.starts_with('*')).map(str::to_owned)
}
