//! PostgreSQL over TLS: reached where the certificate is the right one, and nothing is sent where it is not.

use crate::kit;
use app::shop::{Store, StoreError};
use testkit::certificate::Certificate;
use testkit::postgres::OwnPostgres;

/// What opening it is refused with: message and hint, without a password.
async fn refused(address: &str) -> (String, String) {
    match store::open(address).await {
        Err(StoreError::Unusable { message, hint }) => {
            let all = format!("{message} {hint}");
            assert!(!all.contains("terrier"), "{all}");
            (message, hint)
        }
        other => panic!("`{address}` should be refused for its TLS, not {other:?}"),
    }
}

#[test]
fn a_server_with_tls() {
    let folder = tempfile::tempdir().expect("a folder");
    everybody_may_look_into(folder.path());
    let own = Certificate::make(folder.path(), "own", "localhost");
    let other = Certificate::make(folder.path(), "other", "localhost");
    let server = OwnPostgres::on_a_port(Some(own.clone()));
    server.database("shop");
    let (named, numbered) = (server.address_at("localhost", "shop"), server.address_at("127.0.0.1", "shop"));
    let (root, wrong) = (own.chain.display(), other.chain.display());
    kit::run(async {
        let verified = format!("{named}?sslmode=verify-full&sslrootcert={root}");
        for (address, encrypted) in [
            (verified.clone(), true),
            // Who names a certificate wants it looked at.
            (format!("{named}?sslrootcert={root}"), true),
            (format!("{numbered}?sslmode=require"), true),
            (format!("{numbered}?sslmode=disable"), false),
        ] {
            let db = store::open(&address).await.unwrap_or_else(|e| panic!("`{address}`: {e}"));
            assert!(db.shops().await.expect("it answers").is_empty());
            // The server's own word, asked over a socket: how the connections of the program came in.
            assert_eq!(with_tls(&server).await, encrypted, "{address}");
            db.close().await;
        }
        let db = store::open(&verified).await.expect("it opens");
        kit::shop(&db, "tls").await;
        db.close().await;

        for unvouched in [
            format!("{named}?sslmode=verify-full&sslrootcert={wrong}"),
            format!("{named}?sslmode=verify-full"),
            format!("{named}?sslrootcert={wrong}"),
        ] {
            let (message, hint) = refused(&unvouched).await;
            assert!(message.contains("is vouched for neither by a public authority nor by"), "{message}");
            assert!(message.contains("no password was sent"), "{message}");
            assert!(hint.contains("`sslrootcert=FILE`") && hint.contains("somebody else may be answering"), "{hint}");
        }
        let (message, hint) = refused(&format!("{numbered}?sslmode=verify-full&sslrootcert={root}")).await;
        assert!(message.contains("is for another name than the host"), "{message}");
        assert!(hint.contains("as the certificate has it"), "{hint}");
        let (message, _) = refused(&format!("{named}?sslmode=verify-full&sslrootcert={root}.lost")).await;
        assert!(message.contains("as `sslrootcert`"), "{message}");
    });
}

#[test]
fn a_server_without_tls() {
    let server = OwnPostgres::on_a_port(None);
    server.database("shop");
    let address = server.address_at("127.0.0.1", "shop");
    kit::run(async {
        for mode in ["require", "verify-full"] {
            let (message, hint) = refused(&format!("{address}?sslmode={mode}")).await;
            assert!(message.contains("the server speaks no TLS, and no password was sent to it"), "{message}");
            assert!(hint.contains("`sslmode=verify-full`") && hint.contains("loopback or socket address"), "{hint}");
        }
        store::open(&address).await.expect("on this machine it goes without").close().await;
    });
}

async fn with_tls(server: &OwnPostgres) -> bool {
    let one = sqlx::PgPool::connect(&server.address("shop", testkit::postgres::PASSWORD)).await.expect("a socket");
    let how: Vec<bool> = sqlx::query_scalar(
        "SELECT s.ssl FROM pg_stat_ssl s JOIN pg_stat_activity a USING (pid) WHERE a.application_name = 'coatwright'",
    )
    .fetch_all(&one)
    .await
    .expect("the server's word");
    one.close().await;
    assert!(!how.is_empty() && how.iter().all(|ssl| *ssl == how[0]), "{how:?}");
    how[0]
}

/// The server may run as somebody else, who reads the certificate here.
fn everybody_may_look_into(folder: &std::path::Path) {
    use std::os::unix::fs::PermissionsExt;
    std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o755)).expect("a folder of one's own");
}
