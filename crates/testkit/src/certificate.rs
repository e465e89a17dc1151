//! Certificates of a test's own, made by the `openssl` program.

use std::path::{Path, PathBuf};
use std::process::Command;

/// A certificate that vouches for itself, and its key.
#[derive(Clone, Debug)]
pub struct Certificate {
    /// The certificate, PEM.
    pub chain: PathBuf,
    /// The private key, PEM.
    pub key: PathBuf,
}

impl Certificate {
    /// Makes one for a host, in a folder where everybody may read the certificate. Two for the same host differ in
    /// their keys alone.
    ///
    /// # Panics
    /// When `openssl` is not on the machine or refuses; the text says so.
    pub fn make(folder: &Path, name: &str, host: &str) -> Certificate {
        let file = |end: &str| folder.join(format!("{name}.{end}"));
        let (chain, key, wanted) = (file("crt"), file("key"), file("cnf"));
        let text = format!(
            "[req]\nprompt = no\ndistinguished_name = who\nx509_extensions = more\n[who]\nCN = {host}\n\
             [more]\nbasicConstraints = critical, CA:FALSE\nsubjectAltName = DNS:{host}\n"
        );
        std::fs::write(&wanted, text).expect("the folder can be written to");
        let made = Command::new("openssl")
            .args(["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2"])
            .args(["-config".as_ref(), wanted.as_os_str(), "-keyout".as_ref(), key.as_os_str()])
            .args(["-out".as_ref(), chain.as_os_str()])
            .output()
            .unwrap_or_else(|e| panic!("this test makes a certificate with `openssl`, and it cannot be run: {e}"));
        assert!(made.status.success(), "`openssl req` said: {}", String::from_utf8_lossy(&made.stderr));
        Certificate { chain, key }
    }
}
