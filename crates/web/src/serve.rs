//! The server: on this machine's loopback alone, and stopped without cutting off what was begun.

use crate::{Site, app};
use desk::Surroundings;
use desk::rack::{Rack, Refused};
use desk::texts;
use std::future::Future;
use std::net::Ipv4Addr;
use std::sync::Arc;
use tokio::net::TcpListener;

/// Where the rack is and where its pages are to be.
#[derive(Debug, Clone)]
pub struct Place {
    /// The store.
    pub store: String,
    /// Who writes; the owner where nobody is named.
    pub writer: Option<String>,
    /// The port; 0 for any that is free.
    pub port: u16,
}

/// Why pages are not served.
#[derive(Debug)]
pub enum ServeError {
    /// The store cannot be opened.
    Refused(Refused),
    /// The port cannot be had, or the server broke off.
    Network(std::io::Error),
}

impl From<std::io::Error> for ServeError {
    fn from(why: std::io::Error) -> Self {
        Self::Network(why)
    }
}

/// Serves until `until` comes about. `ready` is told the address once it can be opened.
///
/// # Errors
/// Where the store cannot be opened or the port cannot be had.
pub async fn serve(
    place: &Place,
    outside: &'static dyn Surroundings,
    ready: impl FnOnce(&str),
    until: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let rack = Rack::open(&place.store, outside, place.writer.as_deref()).await.map_err(ServeError::Refused)?;
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, place.port)).await?;
    let port = listener.local_addr()?.port();
    let hosts = ["127.0.0.1", "localhost"].map(|name| format!("{name}:{port}")).to_vec();
    let writer = place.writer.clone().unwrap_or_else(|| texts::rack("owner", &[]));
    let site = Arc::new(Site::new(rack, outside, writer, hosts));
    ready(&format!("http://127.0.0.1:{port}/"));
    axum::serve(listener, app(Arc::clone(&site))).with_graceful_shutdown(until).await?;
    if let Some(site) = Arc::into_inner(site) {
        site.close().await;
    }
    Ok(())
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
