//! A running hub: its ports, its pages, and how it stops.

use crate::api;
use crate::guard::{self, Gate, Headers, Own};
use crate::hub::Hub;
use crate::page::{self, TrustPage};
use crate::refusal::Refusal;
use crate::screens::{self, SCREENS, Shown};
use crate::tls::{Names, Tls, addresses, host_name};
use crate::trust::{Trust, Where};
use crate::watch;
use airshelf_app::{Code, Fault, Host, Shelf};
use axum::Router;
use axum::http::StatusCode;
use axum::middleware::from_fn_with_state;
use axum::response::IntoResponse;
use axum_server::accept::NoDelayAcceptor;
use axum_server::{Control, Handle};
use std::fs::File;
use std::io;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpListener};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::runtime::{Builder, Runtime};
use tokio::task::JoinHandle;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;

pub use crate::tls::Certificate;

/// The port unless another is said; the page about trust has the next one.
pub const PORT: u16 = 28028;

/// How long a connection may take to send its first request, and between two.
const FIRST_REQUEST: Duration = Duration::from_secs(15);
const NEXT_REQUEST: Duration = Duration::from_secs(75);
/// How long requests under way have to end when the hub stops.
const LAST_WORDS: Duration = Duration::from_secs(10);

/// How far a hub reaches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reach {
    /// This machine only, without encryption.
    Loopback,
    /// The machine's networks, encrypted.
    Lan(Certificate),
}

/// How a hub is to run.
pub struct Options {
    /// The shelf.
    pub shelf: Shelf,
    /// This machine's configuration folder; the hub keeps who is paired under it, and its certificates.
    pub config: PathBuf,
    /// Clock and randomness.
    pub host: Arc<dyn Host>,
    /// What people call the hub; without it, the machine's name.
    pub name: Option<String>,
    /// The port; 0 for any that is free, without it [`PORT`].
    pub port: Option<u16>,
    /// How far it reaches.
    pub reach: Reach,
    /// The addresses to listen on; without them, those that its reach means.
    pub listen: Option<Vec<IpAddr>>,
}

impl std::fmt::Debug for Options {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Options")
            .field("config", &self.config)
            .field("reach", &self.reach)
            .finish_non_exhaustive()
    }
}

impl Options {
    /// A hub on a shelf, for this machine only.
    pub fn new(shelf: Shelf, config: PathBuf, host: Arc<dyn Host>) -> Self {
        Options { shelf, config, host, name: None, port: None, reach: Reach::Loopback, listen: None }
    }
}

/// A hub that is running; it stops when this is dropped.
#[derive(Debug)]
pub struct Running {
    runtime: Option<Runtime>,
    hub: Hub,
    control: Control,
    servers: Vec<JoinHandle<io::Result<()>>>,
    port: u16,
    trust_port: Option<u16>,
    at: Where,
    claims: watch::Claims,
}

/// Starts a hub.
///
/// # Errors
/// [`Fault`] if a port is taken, a certificate does not fit, or another hub runs on this shelf.
pub fn serve(options: Options) -> Result<Running, Fault> {
    let Options { shelf, config, host, name, port, reach, listen } = options;
    let trust = Arc::new(Trust::on(&config, &shelf, Arc::clone(&host))?);
    let claims: watch::Claims = Arc::new(Mutex::new(vec![trust.claim()?]));
    let names = Arc::new(Names::default());
    let tls = match &reach {
        Reach::Loopback => None,
        Reach::Lan(certificate) => Some(Arc::new(Tls::of(certificate, &trust.folder(), &*host, &names)?)),
    };
    let usual: &[IpAddr] = match &tls {
        None => &[IpAddr::V4(Ipv4Addr::LOCALHOST), IpAddr::V6(Ipv6Addr::LOCALHOST)],
        Some(_) => &[IpAddr::V6(Ipv6Addr::UNSPECIFIED), IpAddr::V4(Ipv4Addr::UNSPECIFIED)],
    };
    let listen = listen.as_deref().unwrap_or(usual);
    let asked = port.unwrap_or(PORT);
    let (listeners, port) = open(listen, asked)?;
    let name = name.unwrap_or_else(host_name);
    let hub = Hub::new(shelf, trust, host, &name, names);
    let authority = tls.as_ref().and_then(|tls| tls.authority());
    let mut trust_page = None;
    if let Some(authority) = &authority {
        let (doors, trust_port) = open(listen, if asked == 0 { 0 } else { asked.saturating_add(1) })?;
        let shown = TrustPage { hub: hub.clone(), authority: Arc::clone(authority), port };
        trust_page = Some((doors, trust_port, shown));
    }
    let host_url = match &tls {
        None => "localhost".to_owned(),
        Some(tls) => tls.first_name().unwrap_or_else(|| reachable(listen, &hub.names)),
    };
    let scheme = if tls.is_some() { "https" } else { "http" };
    let at = Where {
        url: format!("{scheme}://{host_url}:{port}"),
        trust_page: trust_page.as_ref().map(|(_, port, _)| format!("http://{host_url}:{port}")),
        authority_sha256: authority.as_ref().map(|authority| authority.sha256()),
    };
    hub.trust.announce(&at)?;

    let runtime = Builder::new_multi_thread()
        .worker_threads(2)
        .thread_name("hub")
        .enable_all()
        .build()
        .map_err(|e| Fault::new(Code::Stopped, format!("no threads could be started: {e}")))?;
    let control = Control::new();
    let mut servers = Vec::new();
    let _inside = runtime.enter();
    let gate = Gate {
        hub: hub.clone(),
        own: Own { scheme, port },
        headers: Headers { only_https: tls.is_some() && authority.is_none() },
        to_localhost: tls.is_none(),
    };
    let app = router(&hub, &at.url, gate);
    for listener in listeners {
        servers.push(answer(listener, app.clone(), tls.as_deref(), &control)?);
    }
    let mut trust_port = None;
    if let Some((doors, port, shown)) = trust_page {
        trust_port = Some(port);
        let gate = Gate {
            hub: hub.clone(),
            own: Own { scheme: "http", port },
            headers: Headers { only_https: false },
            to_localhost: false,
        };
        let pages = page::trust_routes(shown).layer(from_fn_with_state(gate, guard::pass));
        for door in doors {
            servers.push(answer(door, pages.clone(), None, &control)?);
        }
    }
    runtime.spawn(watch::watch(hub.clone(), tls, Arc::clone(&claims), at.clone()));
    tracing::info!(url = at.url, name, shelf = %hub.trust.shelf(), "the hub is running");
    drop(_inside);
    Ok(Running { runtime: Some(runtime), hub, control, servers, port, trust_port, at, claims })
}

/// Everything that the hub answers, behind its guard.
fn router(hub: &Hub, url: &str, gate: Gate) -> Router {
    let shown = Shown { hub: hub.clone(), url: url.to_owned(), screens: SCREENS };
    let no_method = || async {
        Refusal::new(StatusCode::METHOD_NOT_ALLOWED, "bad-method", "this cannot be asked in that way")
    };
    let broken = |_: Box<dyn std::any::Any + Send>| {
        Refusal::broken("the hub broke while answering; nothing was changed").into_response()
    };
    api::routes()
        .method_not_allowed_fallback(no_method)
        .with_state(hub.clone())
        .merge(Router::new().fallback(screens::show).with_state(shown))
        .layer(CompressionLayer::new().compress_when(api::worth_packing()))
        .layer(CatchPanicLayer::custom(broken))
        .layer(from_fn_with_state(gate, guard::pass))
}

fn answer(
    listener: TcpListener,
    app: Router,
    tls: Option<&Tls>,
    control: &Control,
) -> Result<JoinHandle<io::Result<()>>, Fault> {
    let handle: Handle<SocketAddr> = Handle::with_control(control.clone());
    let mut server = axum_server::from_tcp(listener)
        .map_err(|e| Fault::new(Code::Stopped, format!("the port cannot be listened on: {e}")))?
        .handle(handle)
        .first_request_timeout(FIRST_REQUEST)
        .acceptor(NoDelayAcceptor::new());
    server.http_builder().http1().header_read_timeout(NEXT_REQUEST);
    server.http_builder().http2().keep_alive_interval(Some(Duration::from_secs(20)));
    let service = app.into_make_service();
    Ok(match tls {
        None => tokio::spawn(server.serve(service)),
        Some(tls) => tokio::spawn(server.acceptor(tls.acceptor()).serve(service)),
    })
}

/// Opens one port on all the addresses; those of a kind that this machine does not have are passed over.
fn open(addresses: &[IpAddr], port: u16) -> Result<(Vec<TcpListener>, u16), Fault> {
    let taken = |at: SocketAddr, error: &io::Error| {
        Fault::new(Code::BadArgument, format!("port {} cannot be opened on {}: {error}", at.port(), at.ip()))
            .hint("Stop the program that has it, or say another port with --port.")
    };
    // A free port of one address may be taken on another; then another one is tried.
    'again: for left in (0..20).rev() {
        let mut open: Vec<TcpListener> = Vec::new();
        let mut number = port;
        for address in addresses {
            let at = SocketAddr::new(*address, number);
            match TcpListener::bind(at) {
                Ok(listener) => {
                    number = listener.local_addr().map_err(|e| taken(at, &e))?.port();
                    open.push(listener);
                }
                // Where one listener hears both kinds of address, the second has nothing left to do.
                Err(e)
                    if e.kind() == io::ErrorKind::AddrInUse
                        && address.is_unspecified()
                        && !open.is_empty() => {}
                Err(e) if e.kind() == io::ErrorKind::AddrInUse && port == 0 && left > 0 => continue 'again,
                Err(e) if is_missing_kind(&e) && address.is_ipv6() => {}
                Err(e) => return Err(taken(at, &e)),
            }
        }
        if !open.is_empty() {
            return Ok((open, number));
        }
    }
    Err(Fault::new(Code::BadArgument, "no port can be opened on this machine"))
}

/// Whether the machine has no such addresses at all.
fn is_missing_kind(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::AddrNotAvailable | io::ErrorKind::Unsupported)
        || error.raw_os_error() == Some(97)
}

/// The address to give to others: one that it listens on and that its certificate is good for, else its name.
fn reachable(listen: &[IpAddr], names: &Names) -> String {
    let named = |ip: &IpAddr| if ip.is_ipv6() { format!("[{ip}]") } else { ip.to_string() };
    if let Some(only) = listen.iter().find(|ip| !ip.is_unspecified()) {
        return named(only);
    }
    let good = addresses().iter().map(named).find(|name| names.serve(name));
    good.unwrap_or_else(|| format!("{}.local", host_name()))
}

impl Running {
    /// Where the hub is reached.
    pub fn at(&self) -> &Where {
        &self.at
    }

    /// The port that it listens on.
    pub fn port(&self) -> u16 {
        self.port
    }

    /// The port of the page about trust, where there is one.
    pub fn trust_port(&self) -> Option<u16> {
        self.trust_port
    }

    /// The hub itself.
    pub fn hub(&self) -> &Hub {
        &self.hub
    }

    /// Runs until the program is told to end (SIGINT or SIGTERM), then stops the hub.
    pub fn until_told(mut self) {
        if let Some(runtime) = &self.runtime {
            runtime.block_on(told());
            tracing::info!("told to stop");
        }
        self.end();
    }

    /// Stops the hub: no new requests, those under way are finished, live streams end.
    pub fn stop(mut self) {
        self.end();
    }

    fn end(&mut self) {
        let Some(runtime) = self.runtime.take() else { return };
        self.hub.stop();
        self.control.graceful_shutdown(Some(LAST_WORDS));
        for server in self.servers.drain(..) {
            if let Err(error) = runtime.block_on(server) {
                tracing::error!(%error, "a port did not close well");
            }
        }
        runtime.shutdown_timeout(LAST_WORDS);
        let held: Vec<File> = std::mem::take(&mut *watch::held(&self.claims));
        drop(held);
        tracing::info!("the hub has stopped");
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.end();
    }
}

#[cfg(unix)]
async fn told() {
    use tokio::signal::unix::{SignalKind, signal};
    let Ok(mut terminate) = signal(SignalKind::terminate()) else { return };
    tokio::select! {
        _ = tokio::signal::ctrl_c() => {}
        _ = terminate.recv() => {}
    }
}

#[cfg(not(unix))]
async fn told() {
    let _ = tokio::signal::ctrl_c().await;
}
