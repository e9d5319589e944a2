//! The certificate that the hub shows, signed by its authority for the names it has now.

use super::{Authority, config};
use crate::trust::files;
use airshelf_app::{Code, Fault, Host};
use rcgen::{CertificateParams, ExtendedKeyUsagePurpose, IsCa, KeyUsagePurpose};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::sync::Arc;
use time::{Duration, OffsetDateTime};

const DAY_S: u64 = 24 * 3600;
/// How long a certificate is good for in all; browsers refuse longer ones.
const GOOD_FOR_S: u64 = 397 * DAY_S;
/// How long before its end it is renewed.
pub const RENEW_BEFORE_S: u64 = 30 * DAY_S;

/// A certificate with its key, as it is kept.
#[derive(Clone, Debug, Serialize, Deserialize, PartialEq, Eq)]
pub struct Leaf {
    names: Vec<String>,
    ends_s: u64,
    /// By which authority, as the SHA-256 of its certificate.
    #[serde(default)]
    by: String,
    certificate: String,
    key: String,
}

/// A time in seconds since 1970.
pub(super) fn at(seconds: u64) -> OffsetDateTime {
    OffsetDateTime::UNIX_EPOCH + Duration::seconds(i64::try_from(seconds).unwrap_or(i64::MAX / 2_000))
}

impl Leaf {
    pub(super) fn new(certificate: String, key: String, names: Vec<String>, ends_s: u64) -> Self {
        Leaf { names, ends_s, by: String::new(), certificate, key }
    }

    /// What stands in a certificate for these names, and when it ends.
    pub(super) fn params(names: &[String], now_s: u64) -> Result<(CertificateParams, u64), rcgen::Error> {
        let mut params = CertificateParams::new(names)?;
        // A device whose clock is behind takes it too. Both ends count, so a second less is 397 days.
        let begins_s = now_s.saturating_sub(DAY_S);
        let ends_s = begins_s + GOOD_FOR_S - 1;
        params.not_before = at(begins_s);
        params.not_after = at(ends_s);
        params.distinguished_name = rcgen::DistinguishedName::new();
        params.is_ca = IsCa::ExplicitNoCa;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        Ok((params, ends_s))
    }

    /// The certificate in the hub's folder if it is still good for these names, else a new one of the same authority.
    ///
    /// # Errors
    /// [`Fault`] if it cannot be made or kept.
    pub fn of(
        folder: &Path,
        authority: &Authority,
        names: &[String],
        host: &dyn Host,
    ) -> Result<Leaf, Fault> {
        let names = authority.may_name(names);
        let path = folder.join("certificate.json");
        let by = authority.sha256();
        let _lock = files::lock(folder)?;
        let now_s = host.now_ms() / 1000;
        if let Some(kept) = files::read::<Leaf>(&path)?
            && kept.names == names
            && kept.by == by
            && now_s + RENEW_BEFORE_S < kept.ends_s
            && now_s + GOOD_FOR_S > kept.ends_s
        {
            return Ok(kept);
        }
        let leaf = Leaf { by, ..authority.leaf(&names, host)? };
        files::write(&path, &leaf)?;
        tracing::info!(names = leaf.names.join(" "), "made a certificate");
        Ok(leaf)
    }

    /// The certificate itself.
    ///
    /// # Errors
    /// [`Fault`] if what is kept is damaged.
    pub fn certificate(&self) -> Result<CertificateDer<'static>, Fault> {
        CertificateDer::from_pem_slice(self.certificate.as_bytes()).map_err(|e| damaged(&e))
    }

    /// The names it is good for.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// When it ends, in seconds since 1970.
    pub fn ends_s(&self) -> u64 {
        self.ends_s
    }

    pub(crate) fn config(&self, authority: &Authority) -> Result<Arc<ServerConfig>, Fault> {
        let key = PrivateKeyDer::from_pem_slice(self.key.as_bytes()).map_err(|e| damaged(&e))?;
        config(vec![self.certificate()?, authority.certificate.clone()], key)
    }
}

fn damaged(error: &impl std::fmt::Display) -> Fault {
    Fault::new(Code::Damaged, format!("the hub's certificate is damaged: {error}"))
        .hint("Move the hub's certificate.json away; a new one is made.")
}
