//! `serve`: the shop in the browser.

use super::site::{answer, bind, log, runtime, site, unopened};
use crate::args::ServeArgs;
use crate::out::{End, Out};
use app::shop::Store;
use axum_server::tls_rustls::RustlsConfig;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use web::{Entrance, FoundingCode};

pub(crate) fn run(args: &ServeArgs, out: &mut Out) -> Result<(), End> {
    log();
    let entrance = entrance(args)?;
    let store = match &args.store {
        Some(store) => store.clone(),
        None => usual_store()?,
    };
    runtime()?.block_on(serve(args, entrance, &store, out))
}

async fn serve(args: &ServeArgs, entrance: Entrance, store: &str, out: &mut Out) -> Result<(), End> {
    let tls = certificate(args).await?;
    let db = Arc::new(store::open(store).await.map_err(|e| unopened(&e))?);
    let founded = !db.shops().await.map_err(|e| unopened(&e))?.is_empty();
    let (listener, at) = bind(args.listen)?;
    let code = if founded { None } else { FoundingCode::new() };
    let (founding, code) = code.map_or((None, None), |(founding, text)| (Some(founding), Some(text)));
    let (state, _) = site(db.clone(), entrance, founding);
    let address = if entrance == Entrance::Tls { format!("https://{at}/") } else { format!("http://{at}/") };
    match (entrance, code) {
        (Entrance::Loopback, _) => out.line(&format!("The shop is at {address}"))?,
        (_, None) => out.line(&format!("The shop is at {address}, or under the name that leads here."))?,
        (_, Some(code)) => out.line(&format!(
            "The shop is not founded yet. Open {address}begin?code={code}\nor the same under the name that leads here."
        ))?,
    }
    if let Some(server) = db.kept_at().in_the_clear() {
        out.line(&format!(
            "All that is kept goes to {server} and back without TLS: anybody on the way can read and change it."
        ))?;
    }
    out.line(&format!("It is kept in {}. Ctrl+C stops it.", db.kept_at()))?;
    out.flush()?;
    let ended = answer(state, listener, tls).await;
    db.close().await;
    ended
}

/// Plain HTTP stays on this machine, unless a proxy in front was switched on.
fn entrance(args: &ServeArgs) -> Result<Entrance, End> {
    if args.cert.is_some() {
        Ok(Entrance::Tls)
    } else if args.behind_proxy {
        Ok(Entrance::BehindProxy)
    } else if args.listen.ip().is_loopback() {
        Ok(Entrance::Loopback)
    } else {
        Err(refused(args.listen))
    }
}

fn refused(listen: SocketAddr) -> End {
    End::Input {
        message: format!(
            "`{listen}` can be reached from other machines, and without HTTPS anybody on the way could read along"
        ),
        hint: "Give --cert and --key, or --behind-proxy where a proxy in front speaks HTTPS; or listen on 127.0.0.1."
            .to_owned(),
    }
}

async fn certificate(args: &ServeArgs) -> Result<Option<RustlsConfig>, End> {
    let (Some(cert), Some(key)) = (&args.cert, &args.key) else { return Ok(None) };
    let read = RustlsConfig::from_pem_file(cert, key).await;
    read.map(Some).map_err(|e| End::Input {
        message: format!("cannot use the certificate `{}` with the key `{}`: {e}", cert.display(), key.display()),
        hint: "Both are PEM files: the certificate chain, its own first, and the private key that belongs to it."
            .to_owned(),
    })
}

/// `shop.db` in the folder where the system keeps such data (XDG Base Directory on Unix); made when it is missing.
fn usual_store() -> Result<String, End> {
    let no_home = || End::Input {
        message: "there is no home folder to keep the shop in".to_owned(),
        hint: "Say where with --store PATH.".to_owned(),
    };
    let folder = data_folder().ok_or_else(no_home)?.join("coatwright");
    make_private(&folder).map_err(|e| End::Input {
        message: format!("cannot make the folder `{}`: {e}", folder.display()),
        hint: "Say where to keep the shop with --store PATH.".to_owned(),
    })?;
    Ok(folder.join("shop.db").to_string_lossy().into_owned())
}

fn data_folder() -> Option<PathBuf> {
    let set = |name: &str| std::env::var_os(name).map(PathBuf::from).filter(|p| p.is_absolute());
    let home = || std::env::home_dir().filter(|h| !h.as_os_str().is_empty());
    if cfg!(windows) {
        set("APPDATA")
    } else if cfg!(target_os = "macos") {
        Some(home()?.join("Library/Application Support"))
    } else {
        set("XDG_DATA_HOME").or_else(|| Some(home()?.join(".local/share")))
    }
}

/// Makes a folder that only this account can read.
fn make_private(folder: &Path) -> std::io::Result<()> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}
