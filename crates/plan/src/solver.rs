//! Linear programmes and the one small door to a solver.

use highs::{HighsModelStatus, Model, RowProblem, Sense};

/// A column: cost and bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// Cost per unit.
    pub cost: f64,
    /// Lowest value.
    pub low: f64,
    /// Highest value (may be infinite).
    pub high: f64,
}

/// A row: bounds and coefficients by column index.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Lowest value (may be minus infinity).
    pub low: f64,
    /// Highest value (may be infinite).
    pub high: f64,
    /// Coefficients.
    pub terms: Vec<(usize, f64)>,
}

impl Row {
    /// The value of the row for these column values.
    pub fn value(&self, x: &[f64]) -> f64 {
        self.terms.iter().map(|(c, a)| a * x[*c]).sum()
    }
}

/// A linear programme to be minimised.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Programme {
    /// Added to the value of the columns.
    pub constant: f64,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows.
    pub rows: Vec<Row>,
}

impl Programme {
    /// Adds a column, giving its index.
    pub fn column(&mut self, cost: f64, low: f64, high: f64) -> usize {
        self.columns.push(Column { cost, low, high });
        self.columns.len() - 1
    }

    /// Adds a row, giving its index.
    pub fn row(&mut self, low: f64, high: f64, terms: Vec<(usize, f64)>) -> usize {
        self.rows.push(Row { low, high, terms });
        self.rows.len() - 1
    }

    /// The programme as free MPS text, the constant on the right of the objective row (negated).
    pub fn to_mps(&self) -> String {
        use std::fmt::Write as _;
        let mut rows = String::from("NAME coatwright\nROWS\n N cost\n");
        let mut rhs = String::from("RHS\n");
        let mut ranges = String::new();
        let mut bounds = String::from("BOUNDS\n");
        let mut by_col: Vec<Vec<(usize, f64)>> = vec![Vec::new(); self.columns.len()];
        let _ = writeln!(rhs, " RHS cost {:?}", -self.constant);
        for (i, r) in self.rows.iter().enumerate() {
            let kind = match (r.low.is_finite(), r.high.is_finite()) {
                (true, true) if r.low == r.high => "E",
                (true, true) => {
                    let _ = writeln!(ranges, " RNG r{i} {:?}", r.high - r.low);
                    "G"
                }
                (true, false) => "G",
                (false, true) => "L",
                (false, false) => "N",
            };
            let _ = writeln!(rows, " {kind} r{i}");
            let right = if kind == "L" { r.high } else { r.low };
            if kind != "N" && right != 0.0 {
                let _ = writeln!(rhs, " RHS r{i} {right:?}");
            }
            // Solvers drop what is smaller, some with a complaint.
            for (c, a) in r.terms.iter().filter(|t| t.1.abs() > 1e-9) {
                by_col[*c].push((i, *a));
            }
        }
        let mut cols = String::from("COLUMNS\n");
        for (c, col) in self.columns.iter().enumerate() {
            let _ = writeln!(cols, " x{c} cost {:?}", col.cost);
            by_col[c].sort_by_key(|e| e.0);
            for (r, a) in &by_col[c] {
                let _ = writeln!(cols, " x{c} r{r} {a:?}");
            }
            if col.low != 0.0 {
                let _ = writeln!(bounds, " LO BND x{c} {:?}", col.low);
            }
            if col.high.is_finite() {
                let _ = writeln!(bounds, " UP BND x{c} {:?}", col.high);
            }
        }
        if !ranges.is_empty() {
            ranges.insert_str(0, "RANGES\n");
        }
        format!("{rows}{cols}{rhs}{ranges}{bounds}ENDATA\n")
    }
}

/// An optimal solution.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Optimum {
    /// Value with the programme's constant.
    pub value: f64,
    /// A proven lower bound of the value.
    pub bound: f64,
    /// Column values.
    pub x: Vec<f64>,
    /// Shadow price of each row: change of the value per unit of its right side.
    pub price: Vec<f64>,
}

/// Why a programme has no optimum to show.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum SolverError {
    /// No point meets all rows.
    #[error("no point meets every limit")]
    Infeasible,
    /// The solver stopped for another reason.
    #[error("the solver stopped: {0}")]
    Stopped(String),
}

/// A solver of linear programmes.
pub trait Solver: Sync {
    /// Opens a programme, to be solved, changed and solved again.
    ///
    /// # Errors
    /// [`SolverError::Stopped`] when the solver does not take the programme.
    fn open(&self, programme: Programme) -> Result<Box<dyn Session>, SolverError>;
}

/// A programme that stands open in a solver; each solve starts from the last.
pub trait Session {
    /// The programme as it stands.
    fn programme(&self) -> &Programme;

    /// Changes the cost of a column.
    fn set_cost(&mut self, column: usize, cost: f64);

    /// Adds a column that is in no row yet.
    ///
    /// # Errors
    /// [`SolverError::Stopped`] when the solver refuses it.
    fn add_column(&mut self, column: Column) -> Result<(), SolverError>;

    /// Adds a row.
    ///
    /// # Errors
    /// [`SolverError::Stopped`] when the solver refuses it.
    fn add_row(&mut self, row: Row) -> Result<(), SolverError>;

    /// Minimises.
    ///
    /// # Errors
    /// [`SolverError`] when there is no optimum.
    fn minimise(&mut self) -> Result<Optimum, SolverError>;
}

/// HiGHS, in process, on one thread.
#[derive(Clone, Copy, Debug, Default)]
pub struct Highs;

struct HighsSession {
    programme: Programme,
    columns: Vec<highs::Col>,
    /// Taken out only while it is solving.
    model: Option<Model>,
}

fn stopped(e: highs::HighsStatus) -> SolverError {
    SolverError::Stopped(format!("{e:?}"))
}

/// A programme as the solver's own model. `exacting` asks for the tightest tolerances that it has.
fn model(programme: &Programme, exacting: bool) -> Result<(Vec<highs::Col>, Model), SolverError> {
    let mut pb = RowProblem::default();
    let columns: Vec<_> = programme.columns.iter().map(|c| pb.add_column(c.cost, c.low..=c.high)).collect();
    for r in &programme.rows {
        let terms: Vec<_> = r.terms.iter().map(|(c, a)| (columns[*c], *a)).collect();
        pb.add_row(r.low..=r.high, &terms);
    }
    let mut model = pb.try_optimise(Sense::Minimise).map_err(stopped)?;
    model.make_quiet();
    model.set_option("threads", 1);
    model.set_option("random_seed", 7);
    model.set_option("time_limit", 30.0);
    // Coefficients here are shares: there is nothing to scale. Solved again after a change of cost, the solver
    // chooses the simplex that its last basis suits, with edge weights that are not worked out from the start or with
    // none.
    model.set_option("simplex_scale_strategy", 0);
    model.set_option("simplex_strategy", 0);
    model.set_option("simplex_dual_edge_weight_strategy", 1);
    model.set_option("simplex_primal_edge_weight_strategy", 0);
    if exacting {
        model.set_option("presolve", "off");
        model.set_option("primal_feasibility_tolerance", 1e-9);
        model.set_option("dual_feasibility_tolerance", 1e-9);
        // Bounds and costs moved by a little, and moved back in the end, cost a second solve, and so does a test of
        // the basis each time that it may be the last. Where a solve needs them, it is made anew without these.
        model.set_option("primal_simplex_bound_perturbation_multiplier", 0.0);
        model.set_option("dual_simplex_cost_perturbation_multiplier", 0.0);
        model.set_option("rebuild_refactor_solution_error_tolerance", 0.0);
    }
    Ok((columns, model))
}

impl Solver for Highs {
    fn open(&self, programme: Programme) -> Result<Box<dyn Session>, SolverError> {
        let (columns, model) = model(&programme, true)?;
        Ok(Box::new(HighsSession { programme, columns, model: Some(model) }))
    }
}

impl Session for HighsSession {
    fn programme(&self) -> &Programme {
        &self.programme
    }

    fn set_cost(&mut self, column: usize, cost: f64) {
        self.programme.columns[column].cost = cost;
        if let Some(m) = &mut self.model {
            m.change_column_cost(self.columns[column], cost);
        }
    }

    fn add_column(&mut self, column: Column) -> Result<(), SolverError> {
        if let Some(m) = &mut self.model {
            let none: [(highs::Row, f64); 0] = [];
            self.columns.push(m.try_add_column(column.cost, column.low..=column.high, none).map_err(stopped)?);
        }
        self.programme.columns.push(column);
        Ok(())
    }

    fn add_row(&mut self, row: Row) -> Result<(), SolverError> {
        if let Some(m) = &mut self.model {
            let terms: Vec<_> = row.terms.iter().map(|(c, a)| (self.columns[*c], *a)).collect();
            m.try_add_row(row.low..=row.high, terms).map_err(stopped)?;
        }
        self.programme.rows.push(row);
        Ok(())
    }

    fn minimise(&mut self) -> Result<Optimum, SolverError> {
        let lost = || SolverError::Stopped("the programme was lost by an earlier fault".to_owned());
        let mut solved = self.model.take().ok_or_else(lost)?.try_solve().map_err(stopped)?;
        if !is_answer(solved.status()) {
            // It lost its way at the tightest tolerances and without perturbing: anew, in its usual ways. The bound
            // below is proven from the prices whatever they are.
            let (columns, model) = model(&self.programme, false)?;
            self.columns = columns;
            solved = model.try_solve().map_err(stopped)?;
        }
        let status = solved.status();
        let solution = solved.get_solution();
        let value = solved.objective_value() + self.programme.constant;
        self.model = Some(solved.into());
        match status {
            HighsModelStatus::Optimal | HighsModelStatus::ModelEmpty => {}
            HighsModelStatus::Infeasible | HighsModelStatus::UnboundedOrInfeasible => {
                return Err(SolverError::Infeasible);
            }
            other => return Err(SolverError::Stopped(format!("{other:?}"))),
        }
        let price = solution.dual_rows().to_vec();
        let bound = dual_bound(&self.programme, &price) + self.programme.constant;
        Ok(Optimum { value, bound: bound.min(value), x: solution.columns().to_vec(), price })
    }
}

/// Whether the solver has come to an end of its own.
fn is_answer(status: HighsModelStatus) -> bool {
    use HighsModelStatus::{Infeasible, ModelEmpty, Optimal, Unbounded, UnboundedOrInfeasible};
    matches!(status, Optimal | ModelEmpty | Infeasible | Unbounded | UnboundedOrInfeasible)
}

/// The Lagrangian bound of row prices: proven by weak duality, whatever the solver says.
///
/// Columns whose reduced cost is negative by rounding only are taken at 1, the
/// largest value that any share in these programmes can have.
fn dual_bound(p: &Programme, price: &[f64]) -> f64 {
    let mut reduced: Vec<f64> = p.columns.iter().map(|c| c.cost).collect();
    let mut bound = 0.0;
    for (r, &y) in p.rows.iter().zip(price) {
        if y == 0.0 {
            continue;
        }
        let right = if y > 0.0 { r.low } else { r.high };
        if !right.is_finite() {
            continue;
        }
        bound += y * right;
        for (c, a) in &r.terms {
            reduced[*c] -= y * a;
        }
    }
    for (c, d) in p.columns.iter().zip(&reduced) {
        bound += d * if *d > 0.0 { c.low } else { c.high.min(1.0) };
    }
    bound
}
