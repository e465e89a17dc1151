//! Writes the programme of `benches/plan.rs` (minutes binding) as free MPS text, for other solvers.
//!
//! Usage: `cargo run --release -p plan --example programme -- FILE.mps`

use coat::{CoatType, Day, Dog, Event};
use plan::{Highs, Planner, Request, Table, Weights};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).ok_or("the path to write is missing")?;
    let today = Day::from_days(20_000);
    let mut dog = Dog::new(today - 1500, 8000.0, CoatType::Wire);
    dog.history.push((today - 100, Event::LeftAlone));
    let coat = dog.coat_on(today)?;
    let request = Request {
        today,
        until: today + 182,
        visits: (0..9).map(|i| today + 21 * i).collect(),
        matter: vec![],
        table: Table { dense_dm2: dog.skin_dm2() * dog.density, pace: 1.0, max_min: Some(60.0) },
        weights: Weights::default(),
    };
    let planner = Planner::new(&dog, &coat, &request)?;
    let mut programme = planner.programme(&Highs)?;
    // Readers take coefficients this small for nothing, and warn.
    for row in &mut programme.rows {
        row.terms.retain(|t| t.1.abs() > 1e-9);
    }
    std::fs::write(path, programme.to_mps())?;
    Ok(())
}
