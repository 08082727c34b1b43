//! The listener: connections, time limits, end.
//!
//! A client that sends its header slowly, sends a body slowly, or never reads holds one connection
//! for a stated time and nobody else: each connection is a task of its own, reckoning happens elsewhere
//! (`work`), and the number of connections has an end.

use super::routes::router;
use super::state::PageState;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use std::net::TcpListener;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Semaphore;

/// Connections at once.
const CONNECTIONS: usize = 1024;
/// Time in which a header must have come.
const HEADER_WITHIN: Duration = Duration::from_secs(10);
/// Life of a connection: the longest fit and a slow upload fit in.
const CONNECTION_LASTS: Duration = Duration::from_secs(600);
/// Time that is left to what still runs when the page ends.
const END_WITHIN: Duration = Duration::from_secs(1);
/// Pause after the system would give no connection.
const PAUSE: Duration = Duration::from_millis(50);

/// Serves the page until the program is told to stop (Ctrl-C).
///
/// # Errors
/// The system gives no threads, or the listener cannot be used.
pub fn serve(listener: TcpListener, state: PageState) -> std::io::Result<()> {
    listener.set_nonblocking(true)?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    let ended = runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        let service = TowerToHyperService::new(router(state));
        let places = Arc::new(Semaphore::new(CONNECTIONS));
        let mut stop = std::pin::pin!(tokio::signal::ctrl_c());
        loop {
            let place = tokio::select! {
                _ = &mut stop => return Ok(()),
                place = Arc::clone(&places).acquire_owned() => match place {
                    Ok(place) => place,
                    Err(_) => return Ok(()),
                },
            };
            let stream = tokio::select! {
                _ = &mut stop => return Ok(()),
                accepted = listener.accept() => match accepted {
                    Ok((stream, _)) => stream,
                    Err(_) => {
                        tokio::time::sleep(PAUSE).await;
                        continue;
                    }
                },
            };
            // Answers are small and wanted at once.
            let _ = stream.set_nodelay(true);
            let connection = http1::Builder::new()
                .timer(TokioTimer::new())
                .header_read_timeout(HEADER_WITHIN)
                .serve_connection(TokioIo::new(stream), service.clone());
            tokio::spawn(async move {
                let _place = place;
                // A broken connection is its client's affair.
                let _ = tokio::time::timeout(CONNECTION_LASTS, connection).await;
            });
        }
    });
    // A fit that runs is not waited for: nothing of it is kept anywhere but here.
    runtime.shutdown_timeout(END_WITHIN);
    ended
}
