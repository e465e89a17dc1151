//! Where text goes: a terminal with colour, or a pipe without. A closed pipe ends quietly.

use paper::Units;
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

/// How a command ended without success.
#[derive(Debug)]
pub(crate) enum End {
    /// Bad input: message and hint, exit code 2.
    Input {
        /// What is wrong.
        message: String,
        /// What would be right.
        hint: String,
    },
    /// Output could not be written.
    Write(io::Error),
}

impl From<io::Error> for End {
    fn from(e: io::Error) -> Self {
        End::Write(e)
    }
}

impl End {
    pub(crate) fn report(self) -> ExitCode {
        let mut err = io::stderr().lock();
        match self {
            End::Write(e) if e.kind() == io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
            End::Write(e) => {
                let _ = writeln!(err, "coatwright: cannot write the output: {e}");
                ExitCode::from(1)
            }
            End::Input { message, hint } => {
                let _ = writeln!(err, "coatwright: {}", message.trim_end());
                if !hint.is_empty() {
                    let _ = writeln!(err, "{hint}");
                }
                ExitCode::from(2)
            }
        }
    }
}

/// After this long without an answer a person wants to know that there will be one.
const PATIENCE: Duration = Duration::from_secs(2);

/// Does what may take long, saying so at a terminal once it does; what was said is gone when the answer is there.
pub(crate) fn patiently<T>(work: impl FnOnce() -> T) -> T {
    if !io::stderr().is_terminal() {
        return work();
    }
    let (done, wait) = mpsc::channel::<()>();
    thread::scope(|scope| {
        scope.spawn(move || {
            if wait.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                let _ = write!(io::stderr(), "still at work: many visits with little table time can take a minute");
                let _ = wait.recv();
                let _ = write!(io::stderr(), "\r\x1b[K");
            }
        });
        let answer = work();
        drop(done);
        answer
    })
}

/// Text in columns.
pub(crate) struct Out {
    to: Box<dyn Write>,
    colour: bool,
    units: Units,
}

/// Width of the terminal that everything fits in.
pub(crate) const WIDTH: usize = 80;

impl Out {
    pub(crate) fn stdout() -> Self {
        let colour = io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
        Out { to: Box::new(io::BufWriter::new(io::stdout())), colour, units: Units::Mm }
    }

    /// Lengths in inches from here on, or in millimetres.
    pub(crate) fn inches(&mut self, inches: bool) {
        self.units = if inches { Units::Inch } else { Units::Mm };
    }

    pub(crate) fn units(&self) -> Units {
        self.units
    }

    pub(crate) fn line(&mut self, text: &str) -> io::Result<()> {
        writeln!(self.to, "{text}")
    }

    /// A heading.
    pub(crate) fn head(&mut self, text: &str) -> io::Result<()> {
        let text = self.paint(text, "1;36");
        writeln!(self.to, "\n{text}")
    }

    /// A paragraph wrapped at the width, later lines indented, its lengths in the unit that was asked for.
    pub(crate) fn wrap(&mut self, first: &str, rest: &str, text: &str) -> io::Result<()> {
        let mut line = first.to_owned();
        let mut empty = true;
        let text = self.units.sentence(text);
        for word in text.split_whitespace() {
            if !empty && width(&line) + 1 + width(word) > WIDTH {
                writeln!(self.to, "{line}")?;
                line = rest.to_owned();
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        writeln!(self.to, "{line}")
    }

    /// The same in bold.
    pub(crate) fn wrap_bold(&mut self, first: &str, rest: &str, text: &str) -> io::Result<()> {
        let (on, off) = if self.colour { ("\x1b[1m", "\x1b[0m") } else { ("", "") };
        write!(self.to, "{on}")?;
        self.wrap(first, rest, text)?;
        write!(self.to, "{off}")
    }

    /// The same in a quiet colour.
    pub(crate) fn quiet(&mut self, first: &str, text: &str) -> io::Result<()> {
        let (on, off) = if self.colour { ("\x1b[2m", "\x1b[0m") } else { ("", "") };
        write!(self.to, "{on}")?;
        self.wrap(first, first, text)?;
        write!(self.to, "{off}")
    }

    pub(crate) fn paint(&self, text: &str, code: &str) -> String {
        if self.colour { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }

    pub(crate) fn flush(&mut self) -> io::Result<()> {
        self.to.flush()
    }
}

/// A word beside the output, to the person who runs the program.
pub(crate) fn note(text: &str) {
    let _ = writeln!(io::stderr().lock(), "{text}");
}

/// Columns of a text, one a character.
fn width(text: &str) -> usize {
    text.chars().count()
}

/// `0.72` as ` 72 %`, or a dash.
pub(crate) fn percent(x: Option<f64>) -> String {
    x.map_or_else(|| "    -".to_owned(), |v| format!("{:3.0} %", 100.0 * v))
}
