//! Files written: all of a set or none, and nothing replaced unasked.

use crate::out::End;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// A file to write.
pub(crate) struct File {
    pub(crate) path: PathBuf,
    pub(crate) bytes: Vec<u8>,
}

fn exists(path: &Path) -> End {
    End::Input {
        message: format!("`{}` is there already and was kept", path.display()),
        hint: "Name another file, or give `--force` to replace it.".to_owned(),
    }
}

pub(crate) fn unwritable(path: &Path, e: &io::Error) -> End {
    End::Input {
        message: format!("cannot write `{}`: {e}", path.display()),
        hint: "Name a place that exists, can be written and has room; nothing half-written was kept.".to_owned(),
    }
}

/// Where a file will really stand, if it may be written there: nowhere yet, or in place of a file that may be replaced.
fn target(path: &Path, force: bool) -> Result<PathBuf, End> {
    if path.file_name().is_none() {
        return Err(End::Input {
            message: format!("`{}` names no file", path.display()),
            hint: "Name a file, for instance `sheet.pdf`.".to_owned(),
        });
    }
    match fs::metadata(path) {
        // A link is followed, so that it stays a link.
        Ok(there) if there.is_file() && force => fs::canonicalize(path).map_err(|e| unwritable(path, &e)),
        Ok(there) if there.is_file() => Err(exists(path)),
        Ok(there) => Err(End::Input {
            message: format!(
                "cannot write `{}`: it is {}",
                path.display(),
                if there.is_dir() { "a folder" } else { "no ordinary file" }
            ),
            hint: "Name another file; nothing was written.".to_owned(),
        }),
        Err(_) if path.is_symlink() => Err(End::Input {
            message: format!("cannot write `{}`: it is a link to nothing", path.display()),
            hint: "Remove the link or name another file; nothing was written.".to_owned(),
        }),
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
            match fs::metadata(folder) {
                Ok(f) if f.is_dir() => Ok(path.to_owned()),
                Ok(_) => Err(unwritable(path, &io::Error::other(format!("`{}` is no folder", folder.display())))),
                Err(e) => Err(unwritable(path, &e)),
            }
        }
        Err(e) => Err(unwritable(path, &e)),
    }
}

/// Fails if one of the files could not be written, without writing any.
pub(crate) fn check<'a>(paths: impl IntoIterator<Item = &'a Path>, force: bool) -> Result<(), End> {
    paths.into_iter().try_for_each(|p| target(p, force).map(|_| ()))
}

/// Makes a folder for what `write` puts into it; takes it away again when that fails.
pub(crate) fn in_folder(dir: &Path, write: impl FnOnce() -> Result<(), End>) -> Result<(), End> {
    let made: Vec<&Path> = dir.ancestors().take_while(|p| !p.as_os_str().is_empty() && !p.exists()).collect();
    let done = fs::create_dir_all(dir).map_err(|e| unwritable(dir, &e)).and_then(|()| write());
    if done.is_err() {
        for folder in made {
            let _ = fs::remove_dir(folder);
        }
    }
    done
}

/// Writes all of the files or none.
///
/// Each target is looked at first, then each file is written whole to a neighbour, and only when all are down
/// they take their places. If one cannot, those that did give theirs back.
pub(crate) fn write_all(files: &[File], force: bool) -> Result<(), End> {
    write_with(files, force, &mut |from, to| fs::rename(from, to))
}

type Rename<'a> = &'a mut dyn FnMut(&Path, &Path) -> io::Result<()>;

/// One file on its way.
struct Step {
    target: PathBuf,
    /// The new file beside it.
    new: PathBuf,
    /// What stood there before, beside it; none when nothing did.
    old: Option<PathBuf>,
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.{ending}", std::process::id()));
    path.with_file_name(name)
}

fn write_with(files: &[File], force: bool, rename: Rename<'_>) -> Result<(), End> {
    let mut steps = Vec::new();
    for f in files {
        let target = target(&f.path, force)?;
        let old = target.exists().then(|| beside(&target, "old"));
        steps.push(Step { new: beside(&target, "part"), old, target });
    }
    let written = steps.iter().zip(files).try_for_each(|(step, f)| {
        fs::File::create(&step.new)
            .and_then(|mut out| out.write_all(&f.bytes).and_then(|()| out.sync_all()))
            .map_err(|e| unwritable(&f.path, &e))
    });
    let moved = written.and_then(|()| move_all(&steps, files, rename));
    for step in &steps {
        let _ = fs::remove_file(&step.new);
    }
    moved
}

/// Puts every new file into its place; gives all places back when one fails.
fn move_all(steps: &[Step], files: &[File], rename: Rename<'_>) -> Result<(), End> {
    for (k, (step, f)) in steps.iter().zip(files).enumerate() {
        let moved = match &step.old {
            Some(old) => rename(&step.target, old).and_then(|()| rename(&step.new, &step.target)),
            None => rename(&step.new, &step.target),
        };
        if let Err(e) = moved {
            let lost = give_back(&steps[..=k]);
            return Err(match lost {
                None => unwritable(&f.path, &e),
                Some(kept) => End::Input {
                    message: format!("cannot write `{}`: {e}", f.path.display()),
                    hint: format!("What stood there before is kept as `{}`; move it back by hand.", kept.display()),
                },
            });
        }
    }
    for old in steps.iter().filter_map(|s| s.old.as_ref()) {
        let _ = fs::remove_file(old);
    }
    Ok(())
}

/// Undoes moves, the last first; names what could not be moved back.
fn give_back(steps: &[Step]) -> Option<&Path> {
    let mut lost = None;
    for step in steps.iter().rev() {
        match &step.old {
            // The very last may have failed before its old file was moved away.
            Some(old) if old.exists() => {
                if fs::rename(old, &step.target).is_err() {
                    lost = Some(old.as_path());
                }
            }
            Some(_) => {}
            None => {
                let _ = fs::remove_file(&step.target);
            }
        }
    }
    lost
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    fn stand(dir: &Path) -> BTreeMap<String, String> {
        let entries = fs::read_dir(dir).unwrap().map(|e| e.unwrap());
        entries
            .map(|e| (e.file_name().into_string().unwrap(), fs::read_to_string(e.path()).unwrap_or_default()))
            .collect()
    }

    fn set(dir: &Path) -> Vec<File> {
        ["a.svg", "b.svg", "c.svg", "d.svg"]
            .map(|n| File { path: dir.join(n), bytes: format!("new {n}").into_bytes() })
            .into()
    }

    /// Whichever of the moves fails, all stands as it stood.
    #[test]
    fn a_move_that_fails_half_way_leaves_all_as_it_was() {
        let mut failed = 0;
        for nth in 0..8 {
            let dir = tempfile::tempdir().unwrap();
            fs::write(dir.path().join("b.svg"), "old b").unwrap();
            fs::write(dir.path().join("d.svg"), "old d").unwrap();
            fs::write(dir.path().join("other.txt"), "untouched").unwrap();
            let before = stand(dir.path());
            let mut moves = 0;
            let end = write_with(&set(dir.path()), true, &mut |from, to| {
                moves += 1;
                if moves == nth + 1 { Err(io::Error::other("no")) } else { fs::rename(from, to) }
            });
            if end.is_err() {
                failed += 1;
                assert_eq!(stand(dir.path()), before, "move {nth}");
            } else {
                let after = stand(dir.path());
                assert_eq!(after.len(), 5);
                for n in ["a.svg", "b.svg", "c.svg", "d.svg"] {
                    assert_eq!(after[n], format!("new {n}"));
                }
            }
        }
        assert_eq!(failed, 6, "four moves into place and two out of the way");
    }

    /// Every target is looked at before anything is written.
    #[test]
    fn a_target_that_cannot_be_replaced_stops_all() {
        let dir = tempfile::tempdir().unwrap();
        fs::create_dir(dir.path().join("c.svg")).unwrap();
        fs::write(dir.path().join("a.svg"), "old a").unwrap();
        let before = stand(dir.path());
        let mut moves = 0;
        let end = write_with(&set(dir.path()), true, &mut |from, to| {
            moves += 1;
            fs::rename(from, to)
        });
        assert!(
            matches!(end, Err(End::Input { message, .. }) if message.contains("c.svg") && message.contains("folder"))
        );
        assert_eq!((moves, stand(dir.path())), (0, before));
        fs::remove_dir(dir.path().join("c.svg")).unwrap();
        let end = write_all(&set(dir.path()), false);
        assert!(matches!(end, Err(End::Input { message, .. }) if message.contains("a.svg` is there already")));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_a_device_is_no_file() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("real.svg"), "old").unwrap();
        std::os::unix::fs::symlink("real.svg", dir.path().join("link.svg")).unwrap();
        let file = |p: PathBuf| [File { path: p, bytes: b"new".to_vec() }];
        write_all(&file(dir.path().join("link.svg")), true).unwrap();
        assert!(fs::symlink_metadata(dir.path().join("link.svg")).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(dir.path().join("real.svg")).unwrap(), "new");
        let end = write_all(&file("/dev/null".into()), true);
        assert!(matches!(end, Err(End::Input { message, .. }) if message.contains("no ordinary file")));
    }
}
