//! The server: on this machine's loopback unless it is told otherwise, and stopped without cutting off what was begun.
//!
//! Beyond the loopback it speaks HTTPS alone, and to those alone who sign in; or, where that is asked for in so many words, to all who hold
//! one pass: whoever opened the address with the pass in it.

use crate::{Reach, Site, app};
use axum_server::tls_rustls::RustlsConfig;
use desk::Surroundings;
use desk::rack::{Rack, Refused};
use desk::texts;
use register::private::hex;
use std::future::Future;
use std::net::{IpAddr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;

/// Where the rack is and where its pages are to be.
#[derive(Debug, Clone)]
pub struct Place {
    /// The store.
    pub store: String,
    /// Who writes; the owner where nobody is named.
    pub writer: Option<String>,
    /// The address of this machine that is listened on.
    pub listen: IpAddr,
    /// The port; 0 for any that is free.
    pub port: u16,
    /// Names under which the pages are asked for, besides that address.
    pub names: Vec<String>,
    /// Certificate and key, both files in PEM; plain HTTP without them.
    pub tls: Option<(String, String)>,
    /// Who is let in.
    pub door: Door,
}

/// Who is let in to the pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Door {
    /// Whoever reaches them: on the loopback alone.
    Open,
    /// Whoever signs in; each may do what their rights say.
    Accounts,
    /// Beyond the loopback whoever holds one pass; all of them write as one. It is made up where it is not told.
    SharedPass(Option<String>),
}

/// Why pages are not served.
#[derive(Debug)]
pub enum ServeError {
    /// The store cannot be opened.
    Refused(Refused),
    /// The port cannot be had, or the server broke off.
    Network(std::io::Error),
    /// A certificate or its key cannot be used.
    Certificate(std::io::Error),
    /// Beyond the loopback nothing is sent in the clear.
    InTheClear,
    /// Beyond the loopback nobody is let in without being asked for something.
    Open,
    /// Nobody has an account who could sign in.
    NoAccounts,
    /// A pass that can be guessed.
    ShortPass,
}

impl From<std::io::Error> for ServeError {
    fn from(why: std::io::Error) -> Self {
        Self::Network(why)
    }
}

/// The largest certificate or key, bytes.
const LARGEST_PEM: usize = 1_000_000;
/// The shortest pass, letters.
const SHORTEST_PASS: usize = 16;
/// How long what was begun may take once the server is to stop.
const LAST_WORDS: Duration = Duration::from_secs(20);

/// Serves until `until` comes about. `ready` is told the address once it can be opened.
///
/// # Errors
/// Where the store cannot be opened, the port cannot be had, the certificate cannot be used, or more would be open than may be.
pub async fn serve(
    place: &Place,
    outside: &'static dyn Surroundings,
    ready: impl FnOnce(&str),
    until: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let pass = pass(place, outside)?;
    let tls = match &place.tls {
        Some((certificate, key)) => Some(config(outside, certificate, key).await.map_err(ServeError::Certificate)?),
        None => None,
    };
    let listener = TcpListener::bind(SocketAddr::new(place.listen, place.port))?;
    listener.set_nonblocking(true)?;
    let port = listener.local_addr()?.port();
    let rack = Rack::open(&place.store, outside, place.writer.as_deref()).await.map_err(ServeError::Refused)?;
    let has_accounts = place.door == Door::Accounts;
    if has_accounts && !rack.has_accounts().await.map_err(ServeError::Refused)? {
        return Err(ServeError::NoAccounts);
    }
    let writer = place.writer.clone().unwrap_or_else(|| texts::rack("owner", &[]));
    let reach = Reach::new(&names(place), port, tls.is_some(), pass.clone());
    let site = Site::new(rack, outside, writer, reach);
    let site = Arc::new(if has_accounts { site.with_accounts() } else { site });
    ready(&address(place, port, pass.as_deref()));
    run(listener, tls, app(Arc::clone(&site)), until).await?;
    if let Some(site) = Arc::into_inner(site) {
        site.close().await;
    }
    Ok(())
}

fn pass(place: &Place, outside: &dyn Surroundings) -> Result<Option<String>, ServeError> {
    let is_beyond = !place.listen.is_loopback();
    match &place.door {
        _ if is_beyond && place.tls.is_none() => Err(ServeError::InTheClear),
        Door::Open if is_beyond => Err(ServeError::Open),
        _ if !is_beyond => Ok(None),
        Door::SharedPass(Some(pass)) if pass.len() < SHORTEST_PASS => Err(ServeError::ShortPass),
        Door::SharedPass(pass) => Ok(Some(pass.clone().unwrap_or_else(|| hex(&outside.random())))),
        Door::Open | Door::Accounts => Ok(None),
    }
}

fn names(place: &Place) -> Vec<String> {
    let own = match place.listen {
        listen if listen.is_loopback() => vec![host(listen), "localhost".to_owned()],
        listen if listen.is_unspecified() => Vec::new(),
        listen => vec![host(listen)],
    };
    place.names.iter().cloned().chain(own).collect()
}

fn host(address: IpAddr) -> String {
    match address {
        IpAddr::V4(address) => address.to_string(),
        IpAddr::V6(address) => format!("[{address}]"),
    }
}

fn address(place: &Place, port: u16, pass: Option<&str>) -> String {
    let scheme = if place.tls.is_some() { "https" } else { "http" };
    let name = names(place).into_iter().next().unwrap_or_else(|| host(place.listen));
    let asked = pass.map(|pass| format!("?pass={}", crate::layout::part(pass))).unwrap_or_default();
    format!("{scheme}://{name}:{port}/{asked}")
}

async fn config(outside: &dyn Surroundings, certificate: &str, key: &str) -> std::io::Result<RustlsConfig> {
    // Another provider can only have been installed by this very line.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let read = |path: &str| {
        let told = |why: std::io::Error| std::io::Error::new(why.kind(), format!("{path}: {why}"));
        outside.read_bytes(path, LARGEST_PEM).map_err(told)
    };
    let told = |why: std::io::Error| std::io::Error::new(why.kind(), format!("{certificate}, {key}: {why}"));
    RustlsConfig::from_pem(read(certificate)?, read(key)?).await.map_err(told)
}

async fn run(
    listener: TcpListener,
    tls: Option<RustlsConfig>,
    app: axum::Router,
    until: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let app = app.into_make_service_with_connect_info::<SocketAddr>();
    let Some(tls) = tls else {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        return axum::serve(listener, app).with_graceful_shutdown(until).await;
    };
    let handle = axum_server::Handle::new();
    let stop = handle.clone();
    tokio::spawn(async move {
        until.await;
        stop.graceful_shutdown(Some(LAST_WORDS));
    });
    axum_server::from_tcp_rustls(listener, tls)?.handle(handle).serve(app).await
}

/// Comes about when the program is interrupted or told to end.
pub async fn asked_to_stop() {
    let interrupted = async {
        // Where no such signal can be waited for, nothing ends the pages but the end of the program.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    tokio::select! {
        () = interrupted => {}
        () = ended() => {}
    }
}

#[cfg(unix)]
async fn ended() {
    match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
        Ok(mut signal) => drop(signal.recv().await),
        Err(_) => std::future::pending().await,
    }
}

#[cfg(not(unix))]
async fn ended() {
    std::future::pending().await
}
