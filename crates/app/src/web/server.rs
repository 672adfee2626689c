//! Listens, and gives every connection its time: a head within seconds, no more connections than can be served.

use super::patience::Patient;
use super::visitor::Ends;
use axum::Router;
use axum::extract::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::io;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

/// A request's head must be there within this.
const HEAD: Duration = Duration::from_secs(10);
/// What is answered must be taken up, some of it, within this.
const TAKEN: Duration = Duration::from_secs(30);
/// Connections at a time of each listener, so that the network cannot shut out the PC; browsers keep a few each. Two listeners
/// stay below the 1024 files that a process may usually have open.
const CONNECTIONS: usize = 384;

/// Serves until the program ends.
pub async fn serve(listeners: Vec<TcpListener>, router: Router) -> io::Result<()> {
    let mut all = tokio::task::JoinSet::new();
    for listener in listeners {
        all.spawn(listen(listener, router.clone()));
    }
    match all.join_next().await {
        Some(Ok(ended)) => ended,
        _ => Ok(()),
    }
}

async fn listen(listener: TcpListener, router: Router) -> io::Result<()> {
    let places = Arc::new(Semaphore::new(CONNECTIONS));
    loop {
        let Ok(place) = Arc::clone(&places).acquire_owned().await else { return Ok(()) };
        // A connection that failed before it was there, or too many open files: the next may do better.
        let Ok((stream, _)) = listener.accept().await else {
            tokio::time::sleep(Duration::from_millis(50)).await;
            continue;
        };
        let router = router.clone();
        tokio::spawn(async move {
            connection(stream, router).await;
            drop(place);
        });
    }
}

/// One connection; how it ends is the other side's affair.
async fn connection(stream: TcpStream, router: Router) {
    let (Ok(remote), Ok(local)) = (stream.peer_addr(), stream.local_addr()) else { return };
    let ends = Ends { remote, local };
    let _ = stream.set_nodelay(true);
    let inner = TowerToHyperService::new(router);
    let service = service_fn(move |mut request: hyper::Request<Incoming>| {
        request.extensions_mut().insert(ends);
        hyper::service::Service::call(&inner, request.map(axum::body::Body::new) as Request)
    });
    let mut server = http1::Builder::new();
    server.timer(TokioTimer::new()).header_read_timeout(HEAD).max_buf_size(64 << 10);
    let _ = server.serve_connection(TokioIo::new(Patient::new(stream, TAKEN)), service).await;
}
