//! The dog's file: TOML that a groomer writes by hand, read and checked.
//!
//! Every fault is found in one pass where it can be, and says its line. The
//! keys are listed once, in [`KEYS`]; `docs/dog-file.md` is compared with that
//! list. Reads no clock: whether a date lies in the future is for the caller.

mod dog;
mod fault;
mod history;
mod keys;
mod load;
mod reader;
mod sheet;
#[cfg(test)]
mod tests;

pub use dog::*;
pub use fault::{Fault, Source, check_fault_display};
pub use keys::{KEYS, Key, Kind, RHYTHM_D};
pub use load::{LoadError, MOST_BYTES, load};

/// Reads a dog's file from bytes; `path_label` is how faults name the file.
///
/// An absent history means a puppy's coat that was left alone since birth.
///
/// # Errors
/// Every fault found, in the order of the file, at most a thousand.
///
/// # Example
/// ```
/// let text = r#"
/// schema = "coatwright.dog/1"
/// name = "Bramble"
/// born = 2022-04-03
/// sex = "bitch"
/// mass_kg = 8.2
/// coat = "wire"
/// "#;
/// let dog = app::dog_file::read("bramble.toml", text.as_bytes()).map_err(|f| app::dog_file::check_fault_display(&f))?;
/// assert_eq!(dog.density, 1.0);
/// # Ok::<(), String>(())
/// ```
pub fn read(path_label: &str, bytes: &[u8]) -> Result<DogFile, Vec<Fault>> {
    if bytes.len() as u64 > MOST_BYTES {
        let fault = Source::new(path_label, "").fault_at(
            1,
            format!("the file has `{} bytes`, more than `{MOST_BYTES} bytes`", bytes.len()),
            load::TOO_LARGE,
        );
        return Err(vec![fault]);
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => reader::read_text(path_label, text),
        Err(e) => {
            let source = Source::new(path_label, &String::from_utf8_lossy(bytes));
            let (line, column) = source.place(e.valid_up_to());
            let message = format!("not UTF-8 at byte `{}`", e.valid_up_to());
            Err(vec![Fault { column, ..source.fault_at(line, message, load::NOT_UTF8) }])
        }
    }
}
