//! Why a hub could not be asked, in words.

use super::remote::Patience;
use airshelf_app::{Code, Fault};
use rustls::{CertificateError, Error as Tls};
use ureq::{Error, Timeout};

/// What to tell of an error on the way to a hub.
pub(super) fn fault(url: &str, error: &Error, patience: Patience) -> Fault {
    if let Some(tls) = tls_error(error) {
        return certificate(url, tls);
    }
    let why = match error {
        Error::Timeout(Timeout::PerRead | Timeout::RecvBody) => {
            let message = format!(
                "the hub at {url} began to answer, and nothing more came for {} s",
                patience.answer.as_secs()
            );
            return Fault::new(Code::Unreachable, message)
                .hint("What was exchanged so far is kept; go on by running it again.");
        }
        Error::Timeout(Timeout::PerWrite) => {
            format!("it took nothing in for {} s", patience.answer.as_secs())
        }
        other => other.to_string(),
    };
    Fault::new(Code::Unreachable, format!("the hub at {url} does not answer: {why}"))
        .hint("Is it running, and is this device on the same network? What was exchanged so far is kept.")
}

fn tls_error(error: &Error) -> Option<&Tls> {
    match error {
        Error::Rustls(tls) => Some(tls),
        Error::Io(io) => io.get_ref()?.downcast_ref(),
        _ => None,
    }
}

/// It answers, but not so that it is known to be the one that was meant.
fn certificate(url: &str, error: &Tls) -> Fault {
    let Tls::InvalidCertificate(wrong) = error else {
        return Fault::new(
            Code::Unreachable,
            format!("the hub at {url} answers, but not in TLS that fits: {error}"),
        )
        .hint("Is the address right, with https and the hub's port?");
    };
    let why = match wrong {
        CertificateError::UnknownIssuer => "no authority that this device trusts vouches for it".into(),
        CertificateError::NotValidForName | CertificateError::NotValidForNameContext { .. } => {
            "it is for another name".into()
        }
        CertificateError::Expired | CertificateError::ExpiredContext { .. } => "it has expired".into(),
        CertificateError::NotValidYet | CertificateError::NotValidYetContext { .. } => {
            "it is not valid yet by this device's clock".into()
        }
        other => Tls::InvalidCertificate(other.clone()).to_string(),
    };
    Fault::new(Code::Unreachable, format!("the hub at {url} answers, but its certificate is not trusted: {why}"))
        .hint(
            "Paste the whole link that `airshelf pair` shows there. If the hub has a certificate of your own, give the one \
             of its authority with --authority FILE.",
        )
}
