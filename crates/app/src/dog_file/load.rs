//! From a path to a dog: what can go wrong before the text is read.

use super::{DogFile, Fault, check_fault_display, read};
use std::fmt;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

/// The largest dog's file that is read, bytes.
pub const MOST_BYTES: u64 = 1024 * 1024;

pub(super) const TOO_LARGE: &str = "Check that this is a dog's file; a history of twenty years takes a tenth of that.";
pub(super) const NOT_UTF8: &str = "Save the file as UTF-8 in the text editor.";

/// Why a dog's file could not be loaded.
#[derive(Debug, PartialEq)]
pub enum LoadError {
    /// There is no such file.
    Missing {
        /// The path asked for.
        path: PathBuf,
    },
    /// The path is a directory, or something else that is no file.
    NotAFile {
        /// The path asked for.
        path: PathBuf,
    },
    /// The system does not let it be read.
    Unreadable {
        /// The path asked for.
        path: PathBuf,
        /// What the system says.
        cause: ErrorKind,
    },
    /// It is larger than [`MOST_BYTES`]; nothing of it was read.
    TooLarge {
        /// The path asked for.
        path: PathBuf,
        /// Its size, bytes.
        size_bytes: u64,
    },
    /// It is not UTF-8.
    NotUtf8 {
        /// The path asked for.
        path: PathBuf,
        /// The first byte that is not.
        offset: usize,
        /// Its line, from 1.
        line: usize,
    },
    /// It was read and has faults.
    Faults(Vec<Fault>),
}

impl LoadError {
    /// What to do, in whole sentences; empty where each fault has its own.
    pub fn hint(&self) -> &'static str {
        match self {
            LoadError::Missing { .. } => "Check the name; examples/ has files to start from.",
            LoadError::NotAFile { .. } => "Name the dog's file itself, for instance `dogs/bramble.toml`.",
            LoadError::Unreadable { .. } => "Check who may read the file.",
            LoadError::TooLarge { .. } => TOO_LARGE,
            LoadError::NotUtf8 { .. } => NOT_UTF8,
            LoadError::Faults(_) => "",
        }
    }
}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = |p: &Path| super::fault::shown(&p.display().to_string());
        match self {
            LoadError::Missing { path } => write!(f, "cannot open `{}`: there is no such file", name(path)),
            LoadError::NotAFile { path } => write!(f, "cannot read `{}`: it is not a file", name(path)),
            LoadError::Unreadable { path, cause } => write!(f, "cannot read `{}`: {cause}", name(path)),
            LoadError::TooLarge { path, size_bytes } => {
                write!(f, "cannot read `{}`: it has `{size_bytes} bytes`, more than `{MOST_BYTES} bytes`", name(path))
            }
            LoadError::NotUtf8 { path, offset, line } => {
                write!(f, "cannot read `{}`: it is not UTF-8 at byte `{offset}`, line {line}", name(path))
            }
            LoadError::Faults(faults) => f.write_str(check_fault_display(faults).trim_end()),
        }
    }
}

impl std::error::Error for LoadError {}

/// Reads and checks a dog's file.
///
/// # Errors
/// [`LoadError`]; a file larger than [`MOST_BYTES`] is refused before it is read.
pub fn load(path: &Path) -> Result<DogFile, LoadError> {
    let unreadable = |e: std::io::Error| match e.kind() {
        ErrorKind::NotFound => LoadError::Missing { path: path.to_owned() },
        ErrorKind::IsADirectory => LoadError::NotAFile { path: path.to_owned() },
        cause => LoadError::Unreadable { path: path.to_owned(), cause },
    };
    let meta = std::fs::metadata(path).map_err(unreadable)?;
    if !meta.is_file() {
        return Err(LoadError::NotAFile { path: path.to_owned() });
    }
    if meta.len() > MOST_BYTES {
        return Err(LoadError::TooLarge { path: path.to_owned(), size_bytes: meta.len() });
    }
    let mut bytes = Vec::new();
    // One byte more than allowed shows a file that grew meanwhile.
    std::fs::File::open(path).and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes)).map_err(unreadable)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(LoadError::TooLarge { path: path.to_owned(), size_bytes: bytes.len() as u64 });
    }
    if let Err(e) = std::str::from_utf8(&bytes) {
        let offset = e.valid_up_to();
        let line = 1 + bytes[..offset].iter().filter(|b| **b == b'\n').count();
        return Err(LoadError::NotUtf8 { path: path.to_owned(), offset, line });
    }
    read(&path.display().to_string(), &bytes).map_err(LoadError::Faults)
}
