//! The page: sections of numbers, each with its picture or table.

use super::calibration::{chi_square, ranks};
use super::chart::{self, Row, Rows};
use super::coverage::{Found, Share, coverage_from};
use super::demo::demo_left_out;
use super::shops::{Error, LeftOut, left_out, pooled};
use super::{apart, change, shops, times};
use crate::shop::kinds;
use crate::study::{self, Years};
use learn::{DIM, Param, mean_sd};
use std::fmt::Write as _;
use std::io;
use std::path::Path;

/// How many of everything.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    /// Dogs and bins of the calibration.
    pub calibration: (u64, usize),
    /// Dogs of the coverage.
    pub coverage: u64,
    /// Dogs of each kind in the study, and of those that the truth is known of.
    pub study: (u64, u64),
    /// Dogs for each set of kinds of reading.
    pub apart: u64,
    /// Dogs that change, and that do not.
    pub change: u64,
    /// Shops, dogs known, next dogs.
    pub shops: (u64, u64, u64),
    /// Dogs whose visits are left out: simulated, and of the demonstration shop at most.
    pub left_out: (u64, usize),
    /// Dogs timed.
    pub timed: u64,
}

impl Size {
    /// The report.
    pub const FULL: Size = Size {
        calibration: (400, 20),
        coverage: 1000,
        study: (500, 100),
        apart: 30,
        change: 100,
        shops: (12, 20, 10),
        left_out: (30, 60),
        timed: 20,
    };
    /// A few of everything, to see that it runs.
    pub const QUICK: Size = Size {
        calibration: (8, 4),
        coverage: 8,
        study: (1, 1),
        apart: 2,
        change: 2,
        shops: (1, 2, 1),
        left_out: (1, 1),
        timed: 1,
    };
}

/// The demonstration shop is looked at so many days after the first day of the simulated years.
const DEMO_D: i32 = 322;
/// One-sided 95 % point of a normal.
const Z95: f64 = 1.645;

fn percent(s: &Share) -> String {
    format!("{:.1} % of {} (standard error {:.1})", 100.0 * s.at, s.n, 100.0 * s.se())
}

fn share_row(name: &str, s: &Share) -> Row {
    let (at, two) = (100.0 * s.at, 200.0 * s.se());
    Row { name: name.to_owned(), at, from: at - two, until: at + two, other: None }
}

/// Writes the page into `folder` and its pictures into `folder/pictures`; years of the study that are in `keep`
/// are taken from there. `told` hears what is done.
///
/// # Errors
/// When a file cannot be written or a year of the study fails.
pub fn write(folder: &Path, size: &Size, keep: Option<&Path>, told: &mut dyn FnMut(&str)) -> io::Result<()> {
    let pictures = folder.join("pictures");
    std::fs::create_dir_all(&pictures)?;
    let mut page = format!(
        "{HEAD}\nThe study was run on {} dogs of each kind; {} were fixed.\n",
        size.study.0,
        Size::FULL.study.0
    );
    let mut add = |title: &str, text: String, picture: Option<(&str, String)>| -> io::Result<()> {
        told(title);
        let _ = write!(page, "\n## {title}\n\n{text}");
        if let Some((name, svg)) = picture {
            std::fs::write(pictures.join(name), svg)?;
            let _ = write!(page, "\n![{title}](pictures/{name})\n");
        }
        Ok(())
    };
    let (text, svg) = gain(&study::run(size.study.0, size.study.1, keep)?, size.study.0);
    add("What planning with it gains", text, Some(("learning-gain.svg", svg)))?;
    let (text, svg) = calibrated(size.calibration);
    add("Calibration on the model's own data", text, Some(("learning-ranks.svg", svg)))?;
    let (text, svg) = covered(&coverage_from(100_000, size.coverage));
    add("Coverage on dogs of single follicles", text, Some(("learning-coverage.svg", svg)))?;
    add("A visit left out", left(size.left_out), None)?;
    add("A coat that changes", changed(size.change), None)?;
    add("What readings can and cannot tell apart", told_apart(size.apart), None)?;
    add("The shop's own experience", pool(size.shops), None)?;
    add("Times", timed(size.timed), None)?;
    std::fs::write(folder.join("learning-report.md"), page)
}

const HEAD: &str = "# How good learning is: the report

Written by `./learning-report`, which computes every number and picture of this page anew; nothing here is typed \
by hand. The model is in [learning.md](learning.md); the study of the gain was fixed beforehand in \
[learning-study.md](learning-study.md). All dogs are simulated: whether dogs at large differ as assumed has not \
been measured.
";

fn gain(years: &Years, dogs: u64) -> (String, String) {
    let mut text = String::from(
        "Six kinds of dog, each dog's year worked by two groomers with the same luck: one plans with the defaults, \
         one with what was learned so far. The truth is single follicles. Loss is (learned - defaults) / defaults \
         of the year's cost; below 0 is a gain. The third groomer, on the first dogs of each kind, plans with the \
         true values: so much there was to gain.\n\n\
         | kind | dogs | cost, defaults | cost, learned | mean loss | upper 95 % bound | dogs better off | \
         loss with the truth |\n|---|---|---|---|---|---|---|---|\n",
    );
    let mut rows = Vec::new();
    for (k, kind) in kinds().iter().enumerate() {
        let cost = |i: u64, g: usize| years.get(&(k, i, g)).map(study::Cost::sum);
        let loss = |g: usize| -> Vec<f64> {
            (0..dogs).filter_map(|i| Some((cost(i, g)? - cost(i, 0)?) / cost(i, 0)?)).collect()
        };
        let mean = |g: usize| mean_sd(&(0..dogs).filter_map(|i| cost(i, g)).collect::<Vec<f64>>()).0;
        let (own, truth) = (loss(1), loss(2));
        let (m, s) = mean_sd(&own);
        let se = s / (own.len() as f64).sqrt();
        let better = Share::of(own.iter().map(|l| *l < 0.0));
        let truth = if truth.is_empty() { f64::NAN } else { 100.0 * mean_sd(&truth).0 };
        let _ = writeln!(
            text,
            "| {} | {} | {:.4} | {:.4} | {:+.2} % | {:+.2} % | {:.0} % | {truth:+.2} % |",
            kind.0,
            own.len(),
            mean(0),
            mean(1),
            100.0 * m,
            100.0 * (m + Z95 * se),
            100.0 * better.at,
        );
        let (at, off) = (100.0 * m, 100.0 * Z95 * se);
        let other = truth.is_finite().then_some(truth);
        rows.push(Row { name: kind.0.to_owned(), at, from: at - off, until: at + off, other });
    }
    let low = rows.iter().map(|r| r.from.min(r.other.unwrap_or(0.0))).fold(0.0, f64::min);
    let chart = Rows {
        title: "What planning with the learned values costs against the defaults",
        axis: "mean loss over a year, % of the cost with the defaults (bar: 5 to 95 %)",
        other: "; ring: with the true values",
        scale: ((low / 2.0).floor() * 2.0, 4.0, 2.0),
        band: (f64::NEG_INFINITY, 1.0),
        rows: &rows,
    };
    (text, chart.drawn())
}

fn calibrated((dogs, bins): (u64, usize)) -> (String, String) {
    let counts = ranks(dogs, bins);
    let each = dogs as f64 / bins as f64;
    let mut text = format!(
        "{dogs} dogs drawn from the prior, six visits, every kind of reading drawn from the likelihood (Talts, \
         Betancourt, Simpson, Vehtari & Gelman 2018): the rank of the true value among the draws falls into each of \
         {bins} bins equally often. Chi-square has {} degrees of freedom; its mean is that number.\n\n| value | \
         chi-square |\n|---|---|\n",
        bins - 1
    );
    for (p, c) in Param::ALL.iter().zip(&counts) {
        let _ = writeln!(text, "| {} | {:.1} |", p.word(), chi_square(c));
    }
    let half = 2.576 * (each * (1.0 - 1.0 / bins as f64)).sqrt();
    let panels: Vec<(&str, Vec<u32>)> = Param::ALL.iter().map(|p| p.word()).zip(counts).collect();
    (
        text,
        chart::ranks(
            "Ranks of true values: even when calibrated",
            &panels,
            ((each - half).max(0.0), each + half),
            each,
        ),
    )
}

fn covered(found: &[Found]) -> (String, String) {
    let window = |is: &dyn Fn(&&Found) -> bool| Share::of(found.iter().filter(is).filter_map(|f| f.window));
    let mut list = vec![
        ("next layer's window".to_owned(), window(&|_| true)),
        ("dogs that do not change".to_owned(), window(&|f| !f.changing)),
        ("dogs that changed".to_owned(), window(&|f| f.changing)),
    ];
    for (k, p) in Param::ALL.iter().enumerate() {
        list.push((format!("interval of {}", p.word()), Share::of(found.iter().map(|f| f.values[k]))));
    }
    let mut text = String::from(
        "The back, ten visits three weeks apart; missed visits and readings, whole millimetres or the five comb \
         depths, 2 % wrong entries, one dog in twenty whose coat changes half-way. The truth is single follicles, \
         not the engine. Eight in ten should hold; between 76 and 84 % is aimed at.\n\n| 80 % of | hold |\n|---|---|\n",
    );
    for (name, s) in &list {
        let _ = writeln!(text, "| {name} | {} |", percent(s));
    }
    let rows: Vec<Row> = list.iter().map(|(name, s)| share_row(name, s)).collect();
    let chart = Rows {
        title: "How often the 80 % windows and intervals hold",
        axis: "share that holds, % (bar: two standard errors; band: 76 to 84)",
        other: "",
        scale: (40.0, 100.0, 10.0),
        band: (76.0, 84.0),
        rows: &rows,
    };
    (text, chart.drawn())
}

fn left((dogs, demo): (u64, usize)) -> String {
    let mut text = format!(
        "{dogs} dogs of the simulated shop, each visit left out in turn and its readings foretold from the others. \
         Of what was read, so much lies within the middle 80 % of what was foretold.\n\n"
    );
    text += &left_table(&left_out(dogs));
    let today = study::first_day() + DEMO_D;
    let (dogs, found) = demo_left_out(today, demo);
    let _ = write!(
        text,
        "\nThe same on the demonstration shop as it stands on {today}: {dogs} dogs with six visits or more, each of \
         the six newest left out in turn. Its readings are played by simple rules and spread less than hands do, \
         so that more than 80 % should lie within; it shows that nothing of this shop is foretold badly, not that \
         the widths are right.\n\n"
    );
    text + &left_table(&found)
}

fn left_table(found: &[LeftOut]) -> String {
    let mut text = String::from("| reading | readings | within the middle 80 % |\n|---|---|---|\n");
    let mut kinds: Vec<&str> = found.iter().map(|f| f.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    for kind in kinds {
        let within: Vec<f64> = found.iter().filter(|f| f.kind == kind).map(|f| f.within).collect();
        let _ = writeln!(text, "| {kind} | {} | {:.1} % |", within.len(), 100.0 * mean_sd(&within).0);
    }
    let all: Vec<f64> = found.iter().map(|f| f.within).collect();
    let _ = writeln!(text, "| all | {} | {:.1} % |", all.len(), 100.0 * mean_sd(&all).0);
    text
}

fn changed(dogs: u64) -> String {
    let told = |after: i32, change: bool| {
        Share::of(change::changes(dogs, after, change).iter().map(|c| c.is_some_and(|c| c.is_told())))
    };
    let mut text = format!(
        "Lag and grow of new hair become 1.3 times as long at the ninth visit. The change is told when the readings \
         go better with two dogs than with one (logarithm of the ratio of evidences above {:.1}). Values are not \
         followed: a changed dog's windows hold less often, as the table above says.\n\n| visits after the change | \
         told of dogs that changed | told of dogs that did not |\n|---|---|---|\n",
        learn::Change::TOLD
    );
    for after in [4, 6, 8] {
        let (yes, no) = (told(after, true), told(after, false));
        let _ = writeln!(text, "| {after} | {} | {} |", percent(&yes), percent(&no));
    }
    text
}

fn told_apart(dogs: u64) -> String {
    let mut text = format!(
        "Ten visits three weeks apart on which only some kinds of reading are made, {dogs} dogs drawn from the model \
         for each row. What is left of the prior's spread: 100 % is *not told at all*. The last column is the pair \
         of values that the readings leave most tied together, with its mean correlation: near -1 only the sum (or \
         the product) is told, not the two apart.\n\n| read at each visit | {} | most tied |\n|---|{}---|\n",
        Param::ALL.map(|p| p.word()).join(" | "),
        "---|".repeat(DIM)
    );
    for (name, wanted) in apart::SETS {
        let t = apart::told(wanted, dogs);
        let mut most = (0, 1);
        for j in 0..DIM {
            for k in j + 1..DIM {
                if t.correlation[j][k].abs() > t.correlation[most.0][most.1].abs() {
                    most = (j, k);
                }
            }
        }
        let cells: Vec<String> = t.left.iter().map(|l| format!("{:.0} %", 100.0 * l)).collect();
        let (a, b) = (Param::ALL[most.0].word(), Param::ALL[most.1].word());
        let _ =
            writeln!(text, "| {name} | {} | {a} and {b}, {:+.2} |", cells.join(" | "), t.correlation[most.0][most.1]);
    }
    text
}

fn pool((n, known, next): (u64, u64, u64)) -> String {
    let found = pooled(n, known, next);
    let mut text = format!(
        "{n} simulated shops, each with its own centre; {known} dogs of each were learned over ten visits, then {next} \
         new dogs after {} visits: with the coat type's prior, and with the shop's. Error is the root mean square of \
         the posterior mean's logarithm against the truth, in spreads of the prior.\n\n| value | error, type's prior | \
         error, shop's prior | 80 % intervals hold, type's | shop's |\n|---|---|---|---|---|\n",
        shops::NEXT_VISITS
    );
    for (k, p) in Param::ALL.iter().enumerate() {
        let rms = |of: &dyn Fn(&(Error, Error)) -> f64| mean_sd(&found.iter().map(of).collect::<Vec<f64>>()).0.sqrt();
        let (a, b) = (rms(&|f| f.0.square[k]), rms(&|f| f.1.square[k]));
        let (c, d) = (Share::of(found.iter().map(|f| f.0.held[k])), Share::of(found.iter().map(|f| f.1.held[k])));
        let _ = writeln!(text, "| {} | {a:.2} | {b:.2} | {:.0} % | {:.0} % |", p.word(), 100.0 * c.at, 100.0 * d.at);
    }
    text
}

fn timed(dogs: u64) -> String {
    let mut text = String::from(
        "Ten visits read in the zones named, learned anew after the last. The clock is that of the machine that wrote \
         this page, which may have been busy with other work; processor time is of all its cores together and does \
         not depend on that. 10,000 dogs on two cores: half the processor time of one dog, 10,000 times.\n\n\
         | zones read | dogs | by the clock, median, ms | nine in ten under, ms | processor time of a dog, ms | \
         10,000 dogs on two cores, h |\n|---|---|---|---|---|---|\n",
    );
    for zones in [1, 3] {
        let t = times::times(zones, dogs);
        let (own, night) = match t.processor_ms {
            Some(ms) => (format!("{ms:.0}"), format!("{:.2}", ms * 1e4 / 3.6e6 / 2.0)),
            None => ("not told by this system".to_owned(), "not told by this system".to_owned()),
        };
        let _ = writeln!(
            text,
            "| {zones} | {dogs} | {:.0} | {:.0} | {own} | {night} |",
            learn::quantile(&t.clock_ms, 0.5),
            learn::quantile(&t.clock_ms, 0.9),
        );
    }
    text
}
