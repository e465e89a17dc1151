//! Faults of a dog's file, with the place they came from. Prints nothing.

use std::fmt;

/// Longest piece of a line or a value that is shown, characters.
const SHOWN: usize = 120;

/// One thing wrong with a dog's file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// The file as the caller names it.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The text of the line, safe to print.
    pub text: String,
    /// What is wrong, lower case, without a final stop.
    pub message: String,
    /// What to do, in whole sentences.
    pub hint: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: {}", self.file, self.line, self.column, self.message)
    }
}

/// The text a dog was read from, kept so that later faults can show their line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    file: String,
    text: String,
    /// Byte offset of the start of each line.
    starts: Vec<usize>,
}

impl Source {
    pub(super) fn new(file: &str, text: &str) -> Self {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(i, _)| i + 1)).collect();
        Source { file: shown(file), text: text.to_owned(), starts }
    }

    /// The file as the caller named it.
    pub fn file(&self) -> &str {
        &self.file
    }

    /// The text of a line (from 1), safe to print; empty when there is no such line.
    pub fn line(&self, line: usize) -> String {
        let range = line.checked_sub(1).and_then(|i| {
            let start = *self.starts.get(i)?;
            let end = self.starts.get(i + 1).copied().unwrap_or(self.text.len());
            self.text.get(start..end)
        });
        shown(range.unwrap_or("").trim_start_matches('\u{feff}').trim_end())
    }

    /// A fault at a line of this text, for what only the model can find.
    pub fn fault_at(&self, line: usize, message: impl Into<String>, hint: impl Into<String>) -> Fault {
        Fault {
            file: self.file.clone(),
            line,
            column: 1,
            text: self.line(line),
            message: message.into(),
            hint: hint.into(),
        }
    }

    /// Line and column, both from 1, of a byte offset.
    pub(super) fn place(&self, at: usize) -> (usize, usize) {
        let line = self.line_of(at);
        let start = self.starts.get(line - 1).copied().unwrap_or(0);
        let before = self.text.get(start..at.min(self.text.len())).unwrap_or("");
        (line, before.trim_start_matches('\u{feff}').chars().count() + 1)
    }

    /// Line, from 1, of a byte offset.
    pub(super) fn line_of(&self, at: usize) -> usize {
        self.starts.partition_point(|s| *s <= at).max(1)
    }

    pub(super) fn slice(&self, range: std::ops::Range<usize>) -> &str {
        self.text.get(range).unwrap_or("")
    }
}

/// A piece of foreign text made safe to print: no control or direction marks, not endless.
pub(super) fn shown(text: &str) -> String {
    let mut out = String::new();
    for (n, c) in text.chars().enumerate() {
        if n == SHOWN {
            out.push_str("...");
            break;
        }
        match c {
            '\t' => out.push(' '),
            c if unprintable(c) => out.extend(c.escape_unicode()),
            c => out.push(c),
        }
    }
    out
}

/// Control characters and the marks that turn the direction of writing.
pub(super) fn unprintable(c: char) -> bool {
    c.is_control() || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Faults as a compiler shows them: place and message, the line, what to do. Plain text.
///
/// # Example
/// ```
/// let faults = app::dog_file::read("bramble.toml", b"schema = \"coatwright.dog/9\"").unwrap_err();
/// let text = app::dog_file::check_fault_display(&faults);
/// assert!(text.contains("bramble.toml:1:10: schema `coatwright.dog/9` is not `coatwright.dog/1`"));
/// ```
pub fn check_fault_display(faults: &[Fault]) -> String {
    let mut out = String::new();
    for (i, fault) in faults.iter().enumerate() {
        if i > 0 {
            out.push('\n');
        }
        out.push_str(&format!("{fault}\n"));
        if !fault.text.is_empty() {
            out.push_str(&format!("{:>5} | {}\n", fault.line, fault.text));
        }
        if !fault.hint.is_empty() {
            out.push_str(&format!("      = {}\n", fault.hint));
        }
    }
    out
}
