//! `demo`: an invented shop on a store that is thrown away.

use super::site::{MachineClock, answer, bind, log, runtime, site, unopened};
use crate::args::DemoArgs;
use crate::out::{End, Out};
use app::shop::{ShopFailure, demo};
use std::sync::Arc;
use web::{Clock, Entrance};

pub(crate) fn run(args: &DemoArgs, out: &mut Out) -> Result<(), End> {
    log();
    if !args.listen.ip().is_loopback() {
        return Err(End::Input {
            message: format!(
                "`{}` can be reached from other machines; the demonstration stays on this one",
                args.listen
            ),
            hint: "Leave --listen out, or give 127.0.0.1 and a port.".to_owned(),
        });
    }
    runtime()?.block_on(show(args, out))
}

async fn show(args: &DemoArgs, out: &mut Out) -> Result<(), End> {
    let folder = tempfile::Builder::new().prefix("coatwright-demo-").tempdir()?;
    let file = folder.path().join("shop.db");
    let db = Arc::new(store::open(&file.to_string_lossy()).await.map_err(|e| unopened(&e))?);
    let (listener, at) = bind(args.listen)?;
    let (state, desk) = site(db.clone(), Entrance::Loopback, None);
    let failed = |message: String| End::Input { hint: String::new(), message };
    // Letters that can be typed; nobody but who reads this terminal knows them.
    let password: String = uuid::Uuid::new_v4().simple().to_string().chars().take(16).collect();
    let hash = web::password_hash(&password).map_err(failed)?;
    let today = MachineClock.today(&MachineClock.own_zone());
    let founded = demo::found(&desk, MachineClock.now_ms(), today, hash).await.map_err(|e| broken(&e))?;
    let who =
        app::shop::Who { shop: founded.shop.clone(), person: founded.person.clone(), at_ms: MachineClock.now_ms() };
    let person = desk.person(&who, &founded.person).await.map_err(|e| broken(&e))?.body;
    out.line("An invented shop: every dog and every name in it is made up, and it is thrown away at the end.")?;
    match state.link_for(founded.shop, founded.person) {
        Some(link) => out.line(&format!("Open http://{at}{link} (signs in once),"))?,
        None => out.line(&format!("Open http://{at}/,"))?,
    }
    out.line(&format!("or sign in at http://{at}/ as {} with the password {password}", person.sign_in))?;
    out.line("Ctrl+C stops it.")?;
    out.flush()?;
    let ended = answer(state, listener, None).await;
    db.close().await;
    ended
}

fn broken(e: &ShopFailure) -> End {
    End::Input { message: e.to_string(), hint: e.hint() }
}
