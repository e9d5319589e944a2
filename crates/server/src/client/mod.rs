//! The asking side on this machine: another hub, its key, and how the app's questions become requests.
//!
//! Start reading at [`remote`]; [`address`] reads what a person pastes, [`known`] keeps the keys of hubs, [`authority`]
//! finds the certificate that a link names.

mod address;
mod authority;
mod known;
mod remote;
mod together;
mod unhurried;
mod why;

pub use address::Address;
pub use authority::given as given_authority;
pub use known::{Known, Knows};
pub use remote::{Pairing, Patience, Remote};
pub use together::{Told, Wanted, exchange, stay};
