//! What `serve` and `demo` share: the clock, ids, the listener, the end.

use crate::out::End;
use ::coat::Day;
use app::shop::{Desk, Fresh, Store, StoreError};
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::time::Duration;
use web::{Clock, Entrance, FoundingCode, Parts, State};

/// Requests under way when the program is stopped get so long to end.
const GRACE: Duration = Duration::from_secs(10);

/// The machine's clock.
pub(super) struct MachineClock;

impl Clock for MachineClock {
    fn now_ms(&self) -> i64 {
        jiff::Timestamp::now().as_millisecond()
    }

    fn today(&self, time_zone: &str) -> Day {
        let zone = jiff::tz::TimeZone::get(time_zone).unwrap_or(jiff::tz::TimeZone::UTC);
        let date = zone.to_datetime(jiff::Timestamp::now()).date();
        Day::from_ymd(date.year(), date.month(), date.day()).unwrap_or(Day::from_days(0))
    }

    fn knows(&self, time_zone: &str) -> bool {
        jiff::tz::TimeZone::get(time_zone).is_ok()
    }

    fn own_zone(&self) -> String {
        jiff::tz::TimeZone::system().iana_name().unwrap_or("UTC").to_owned()
    }
}

/// Ids that nobody has used: UUID version 7 (RFC 9562).
pub(super) struct Uuids;

impl Fresh for Uuids {
    fn text(&self) -> String {
        uuid::Uuid::now_v7().to_string()
    }
}

/// A site over a store.
pub(super) fn site(store: Arc<dyn Store>, entrance: Entrance, founding: Option<FoundingCode>) -> (State, Arc<Desk>) {
    let fresh: Arc<dyn Fresh> = Arc::new(Uuids);
    let desk = Arc::new(Desk::new(store.clone(), fresh.clone(), Arc::new(plan::Highs)));
    let clock = Arc::new(MachineClock);
    (State::new(Parts { store, desk: desk.clone(), clock, fresh, entrance, founding }), desk)
}

/// Warnings and faults go to standard error, one line each; no colour, no personal data.
pub(super) fn log() {
    let to = tracing_subscriber::fmt().with_writer(std::io::stderr).with_ansi(false).with_target(false);
    // A second call, in tests, changes nothing.
    let _ = to.with_max_level(tracing::Level::WARN).try_init();
}

pub(super) fn runtime() -> Result<tokio::runtime::Runtime, End> {
    Ok(tokio::runtime::Builder::new_multi_thread().enable_all().build()?)
}

/// Takes the address.
pub(super) fn bind(listen: SocketAddr) -> Result<(TcpListener, SocketAddr), End> {
    let cannot = |e: std::io::Error| End::Input {
        message: format!("cannot listen on `{listen}`: {e}"),
        hint: "Another program may have this port: choose one with --listen, for instance 127.0.0.1:8411.".to_owned(),
    };
    let listener = TcpListener::bind(listen).map_err(cannot)?;
    let at = listener.local_addr().map_err(cannot)?;
    Ok((listener, at))
}

/// What a store did not do, for the terminal.
pub(super) fn unopened(e: &StoreError) -> End {
    let hint = match e {
        StoreError::Newer { .. } => "Use a newer build, or restore the copy made before the upgrade.",
        StoreError::Unusable { hint, .. } => hint.as_str(),
        _ => "Look at the path or the address, and whether this account may read and write there.",
    };
    End::Input { message: e.to_string(), hint: hint.to_owned() }
}

/// Answers until the program is told to stop, then lets requests under way end.
pub(super) async fn answer(state: State, listener: TcpListener, tls: Option<RustlsConfig>) -> Result<(), End> {
    let handle = Handle::new();
    tokio::spawn({
        let handle = handle.clone();
        async move {
            stopped().await;
            handle.graceful_shutdown(Some(GRACE));
        }
    });
    let reckoning = tokio::spawn(web::keep_reckoned(state.clone()));
    let pages = web::app(state).into_make_service_with_connect_info::<SocketAddr>();
    let served = match tls {
        Some(tls) => axum_server::from_tcp_rustls(listener, tls)?.handle(handle).serve(pages).await,
        None => axum_server::from_tcp(listener)?.handle(handle).serve(pages).await,
    };
    reckoning.abort();
    Ok(served?)
}

/// Ctrl+C, or the system's request to end.
async fn stopped() {
    let interrupt = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        match tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate()) {
            Ok(mut terminate) => tokio::select! { _ = interrupt => {}, _ = terminate.recv() => {} },
            Err(_) => drop(interrupt.await),
        }
    }
    #[cfg(not(unix))]
    drop(interrupt.await);
}
