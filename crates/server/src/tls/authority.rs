//! The hub's own authority: a certificate of ten years that devices trust once, which may vouch for local names only.

use super::leaf::{Leaf, at};
use crate::trust::files;
use airshelf_app::{Code, Fault, Host};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DistinguishedName, DnType, ExtendedKeyUsagePurpose,
    GeneralSubtree, IsCa, Issuer, KeyPair, KeyUsagePurpose, NameConstraints,
};
use rustls::pki_types::CertificateDer;
use rustls::pki_types::pem::PemObject;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::net::IpAddr;
use std::path::Path;

const DAY_S: u64 = 24 * 3600;
const AUTHORITY_S: u64 = 3652 * DAY_S;

/// Networks that no public address belongs to: RFC 1918, 3927, 6598, 4193, 4291, and this machine itself.
const LOCAL_V4: &[([u8; 4], u8)] = &[
    ([10, 0, 0, 0], 8),
    ([172, 16, 0, 0], 12),
    ([192, 168, 0, 0], 16),
    ([169, 254, 0, 0], 16),
    ([100, 64, 0, 0], 10),
    ([127, 0, 0, 0], 8),
];
const LOCAL_V6: &[(u16, u8)] = &[(0xfc00, 7), (0xfe80, 10)];

/// The authority as it is kept: everything in one file, so that a part of it is never missing.
#[derive(Serialize, Deserialize)]
struct Kept {
    name: String,
    host: String,
    addresses: Vec<IpAddr>,
    certificate: String,
    key: String,
}

/// The hub's own authority.
#[derive(Debug)]
pub struct Authority {
    /// What it calls itself where devices list whom they trust.
    pub name: String,
    /// The machine's name when it was made; with `localhost` and `.local`, the only names it can vouch for.
    host: String,
    /// The public addresses that the machine had then; with those of local networks, the only ones.
    addresses: Vec<IpAddr>,
    /// Its certificate.
    pub certificate: CertificateDer<'static>,
    /// The same as text.
    pub pem: String,
    key: KeyPair,
}

fn fault(error: &impl std::fmt::Display) -> Fault {
    Fault::new(Code::Damaged, format!("the hub's certificates cannot be made or read: {error}"))
        .hint("Move the hub's authority.json away to make a new authority; devices have to trust it again.")
}

impl Authority {
    /// The authority in the hub's folder, made where there is none, for a machine of that name and those addresses.
    ///
    /// # Errors
    /// [`Fault`] if it cannot be read or kept.
    pub fn of(
        folder: &Path,
        host_name: &str,
        addresses: &[IpAddr],
        host: &dyn Host,
    ) -> Result<Authority, Fault> {
        let path = folder.join("authority.json");
        let _lock = files::lock(folder)?;
        let kept = match files::read::<Kept>(&path)? {
            Some(kept) => kept,
            None => {
                let made = make(host_name, addresses, host).map_err(|e| fault(&e))?;
                files::write(&path, &made)?;
                tracing::info!(name = made.name, "made an authority");
                made
            }
        };
        Ok(Authority {
            certificate: CertificateDer::from_pem_slice(kept.certificate.as_bytes())
                .map_err(|e| fault(&e))?,
            key: KeyPair::from_pem(&kept.key).map_err(|e| fault(&e))?,
            name: kept.name,
            host: kept.host,
            addresses: kept.addresses,
            pem: kept.certificate,
        })
    }

    /// The SHA-256 of its certificate, as hexadecimal digits.
    pub fn sha256(&self) -> String {
        crate::trust::hex(&Sha256::digest(&self.certificate))
    }

    /// Those of the names that it can vouch for.
    pub(crate) fn may_name(&self, names: &[String]) -> Vec<String> {
        let may = |name: &String| match name.parse::<IpAddr>() {
            Ok(ip) => is_local(&ip) || self.addresses.contains(&ip),
            Err(_) => {
                name == "localhost"
                    || *name == self.host
                    || name.ends_with(&format!(".{}", self.host))
                    || name.ends_with(".local")
            }
        };
        names.iter().filter(|name| may(name)).cloned().collect()
    }

    /// Makes a certificate for these names, good from a day ago for at most 397 days.
    ///
    /// # Errors
    /// [`Fault`] if a name does not fit.
    pub(crate) fn leaf(&self, names: &[String], host: &dyn Host) -> Result<Leaf, Fault> {
        let make = || -> Result<Leaf, rcgen::Error> {
            let key = KeyPair::generate()?;
            let (mut params, ends_s) = Leaf::params(names, host.now_ms() / 1000)?;
            params.distinguished_name.push(DnType::CommonName, format!("airshelf on {}", self.host));
            let issuer = Issuer::new(subject(&self.name), &self.key);
            let certificate = params.signed_by(&key, &issuer)?;
            Ok(Leaf::new(certificate.pem(), key.serialize_pem(), names.to_vec(), ends_s))
        };
        make().map_err(|e| fault(&e))
    }
}

/// Whether an address belongs to no public network.
fn is_local(ip: &IpAddr) -> bool {
    match ip {
        IpAddr::V4(v4) => LOCAL_V4.iter().any(|(net, bits)| {
            let shift = 32 - u32::from(*bits);
            u32::from(*v4) >> shift == u32::from_be_bytes(*net) >> shift
        }),
        IpAddr::V6(v6) => {
            let first = v6.segments()[0];
            v6.is_loopback() || LOCAL_V6.iter().any(|(net, bits)| first >> (16 - bits) == net >> (16 - bits))
        }
    }
}

/// What the authority says of itself in every certificate that it signs.
fn subject(name: &str) -> CertificateParams {
    let mut params = CertificateParams::default();
    params.distinguished_name = DistinguishedName::new();
    params.distinguished_name.push(DnType::CommonName, name);
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    params
}

fn make(host_name: &str, addresses: &[IpAddr], host: &dyn Host) -> Result<Kept, rcgen::Error> {
    let now_s = host.now_ms() / 1000;
    let day: String = host.wall().chars().take(10).collect();
    let mut random = [0; 2];
    host.random(&mut random);
    // Two hubs of one machine, made on one day, are told apart in a device's list.
    let name = format!("airshelf hub {host_name}, made {day} ({})", crate::trust::hex(&random));
    let addresses: Vec<IpAddr> = addresses.iter().filter(|ip| !is_local(ip)).copied().collect();
    let mut params = subject(&name);
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    params.not_before = at(now_s.saturating_sub(DAY_S));
    params.not_after = at(now_s + AUTHORITY_S);
    let mut permitted: Vec<GeneralSubtree> = ["localhost", "local", host_name]
        .iter()
        .map(|name| GeneralSubtree::DnsName((*name).into()))
        .collect();
    permitted.extend(
        LOCAL_V4.iter().map(|(net, bits)| GeneralSubtree::IpAddress(CidrSubnet::from_v4_prefix(*net, *bits))),
    );
    permitted.extend(LOCAL_V6.iter().map(|(first, bits)| {
        let mut net = [0; 16];
        net[..2].copy_from_slice(&first.to_be_bytes());
        GeneralSubtree::IpAddress(CidrSubnet::from_v6_prefix(net, *bits))
    }));
    let mut this = [0; 16];
    this[15] = 1;
    permitted.push(GeneralSubtree::IpAddress(CidrSubnet::from_v6_prefix(this, 128)));
    permitted.extend(addresses.iter().map(|ip| {
        let whole = if ip.is_ipv4() { 32 } else { 128 };
        GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(*ip, whole))
    }));
    params.name_constraints =
        Some(NameConstraints { permitted_subtrees: permitted, excluded_subtrees: Vec::new() });
    let key = KeyPair::generate()?;
    let certificate = params.self_signed(&key)?;
    Ok(Kept {
        name,
        host: host_name.into(),
        addresses,
        certificate: certificate.pem(),
        key: key.serialize_pem(),
    })
}
