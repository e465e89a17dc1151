//! `check`: reads files and explains every fault.

use super::{input, read, today};
use crate::args::CheckArgs;
use crate::out::{End, Out};
use app::{model, planning};

pub(crate) fn run(args: &CheckArgs, out: &mut Out) -> Result<(), End> {
    let mut faults = Vec::new();
    for path in &args.dogs {
        let checked = read(path).and_then(|file| {
            let day = file.history.last().map_or(file.born, |e| e.date).max(today());
            let dog = model::dog(&file, 21);
            planning::coat_on(&file, &dog, day).map_err(input)?;
            Ok(file)
        });
        match checked {
            Ok(file) => out.line(&format!(
                "{}: {}, {} entries in the history, no fault",
                path.display(),
                file.name,
                file.history.len()
            ))?,
            Err(End::Input { message, hint }) => {
                faults.push(format!("{}\n{hint}", message.trim_end()).trim_end().to_owned());
            }
            Err(other) => return Err(other),
        }
    }
    out.flush()?;
    if faults.is_empty() { Ok(()) } else { Err(End::Input { message: faults.join("\n\n"), hint: String::new() }) }
}
