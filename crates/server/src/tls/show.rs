//! What the hub shows in a handshake, exchanged while it runs.

use super::here::usual_address;
use super::{Authority, Given, Leaf, Names, host_name, names_here};
use airshelf_app::{Fault, Host};
use axum_server::accept::NoDelayAcceptor;
use axum_server::tls_rustls::{RustlsAcceptor, RustlsConfig};
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

/// Where the certificate comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Certificate {
    /// The hub's own authority.
    Own,
    /// The user.
    Given(Given),
}

/// The certificate that is shown now.
#[derive(Debug)]
pub(crate) struct Tls {
    config: RustlsConfig,
    kind: Kind,
}

#[derive(Debug)]
enum Kind {
    Own { authority: Arc<Authority>, leaf: Mutex<Leaf> },
    Given { given: Given, changed: Mutex<[Option<SystemTime>; 2]>, name: Option<String> },
}

impl Tls {
    /// Reads or makes the certificate.
    pub(crate) fn of(
        certificate: &Certificate,
        folder: &Path,
        host: &dyn Host,
        names: &Names,
    ) -> Result<Tls, Fault> {
        match certificate {
            Certificate::Own => {
                let authority = Arc::new(Authority::of(folder, &host_name(), &usual_address(), host)?);
                let leaf = Leaf::of(folder, &authority, &names_here(), host)?;
                names.follow(&leaf.certificate()?);
                let config = RustlsConfig::from_config(leaf.config(&authority)?);
                Ok(Tls { config, kind: Kind::Own { authority, leaf: Mutex::new(leaf) } })
            }
            Certificate::Given(given) => {
                let changed = Mutex::new(given.changed());
                let (first, config) = given.read()?;
                names.follow(&first);
                let name = super::given::first_name(&first);
                let kind = Kind::Given { given: given.clone(), changed, name };
                Ok(Tls { config: RustlsConfig::from_config(config), kind })
            }
        }
    }

    /// The hub's own authority, where the certificate is of it.
    pub(crate) fn authority(&self) -> Option<Arc<Authority>> {
        match &self.kind {
            Kind::Own { authority, .. } => Some(Arc::clone(authority)),
            Kind::Given { .. } => None,
        }
    }

    /// The name that the user's own certificate is for.
    pub(crate) fn first_name(&self) -> Option<String> {
        match &self.kind {
            Kind::Own { .. } => None,
            Kind::Given { name, .. } => name.clone(),
        }
    }

    pub(crate) fn acceptor(&self) -> RustlsAcceptor<NoDelayAcceptor> {
        RustlsAcceptor::new(self.config.clone()).acceptor(NoDelayAcceptor::new())
    }

    /// Shows another certificate from now on, where the one shown ends soon, lacks a name or was exchanged.
    pub(crate) fn renew(&self, folder: &Path, host: &dyn Host, names: &Names) -> Result<(), Fault> {
        match &self.kind {
            Kind::Own { authority, leaf } => {
                let mut shown = leaf.lock().unwrap_or_else(PoisonError::into_inner);
                let now = Leaf::of(folder, authority, &names_here(), host)?;
                if now != *shown {
                    self.config.reload_from_config(now.config(authority)?);
                    names.follow(&now.certificate()?);
                    *shown = now;
                }
            }
            Kind::Given { given, changed, .. } => {
                let mut read = changed.lock().unwrap_or_else(PoisonError::into_inner);
                let now = given.changed();
                if now != *read {
                    let (first, config) = given.read()?;
                    self.config.reload_from_config(config);
                    names.follow(&first);
                    *read = now;
                }
            }
        }
        Ok(())
    }
}
