//! A PostgreSQL server of its own for a test that is no Rust.
//!
//! Prints the address of an empty database. A line of input lets the server fall, and it says `again` when it is back.
//! With the end of the input the server ends.

#![expect(clippy::print_stdout, reason = "whoever started it reads the address")]

#[cfg(unix)]
fn main() -> std::io::Result<()> {
    let server = testkit::postgres::OwnPostgres::start();
    println!("{}", server.database("shop"));
    for line in std::io::stdin().lines() {
        line?;
        server.crash_and_start_again();
        println!("again");
    }
    Ok(())
}

#[cfg(not(unix))]
fn main() {}
