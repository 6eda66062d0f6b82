//! Writing results: whole or not at all, colour only where it is wanted, and a closed pipe is no error.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use super::BAD_INPUT;
use crate::report::colour;

/// To standard error; colour codes are dropped where it is no terminal.
pub(super) fn say(text: &str) {
    let _ = anstream::stderr().lock().write_all(text.as_bytes());
}

/// To standard output for a person: in colour where it is wanted.
pub(super) fn print_for_people(text: &str, status: u8) -> ExitCode {
    if anstream::stdout().current_choice() == anstream::ColorChoice::Never {
        return print(text, status);
    }
    print(&colour(text), status)
}

/// To standard output. A reader that has seen enough is no error.
pub(super) fn print(text: &str, status: u8) -> ExitCode {
    let is_plain = |byte: &u8| *byte == b'\n' || !byte.is_ascii_control();
    let written = if text.as_bytes().iter().all(is_plain) {
        // Nothing that could be a colour code: no need to look for them letter by letter.
        let mut out = std::io::stdout().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush())
    } else {
        let mut out = anstream::stdout().lock();
        out.write_all(text.as_bytes()).and_then(|()| out.flush())
    };
    match written {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            say(&format!("error: the result cannot be written: {error}\n"));
            ExitCode::from(BAD_INPUT)
        }
        _ => ExitCode::from(status),
    }
}

/// Writes a document to a file, see [`write_all_new`].
pub(super) fn write_new(bytes: &[u8], path: &Path, force: bool) -> ExitCode {
    write_all_new(&[(path, bytes)], force)
}

/// Writes documents to files: all beside them first, and then renamed, so that no half file is ever seen, nothing is left
/// behind, and none is written where another cannot be. A file that is there already stays as it is, unless the person says
/// `force`.
pub(super) fn write_all_new(files: &[(&Path, &[u8])], force: bool) -> ExitCode {
    let mut parts = Vec::new();
    for (path, bytes) in files {
        match part_of(bytes, path, force) {
            Ok(part) => parts.push(part),
            Err(why) => {
                say(&format!("error: {why}\n"));
                return ExitCode::from(BAD_INPUT);
            }
        }
    }
    for (part, path) in parts {
        let kept = if force { part.persist(&path) } else { part.persist_noclobber(&path) };
        if let Err(error) = kept {
            say(&format!("error: {}\n", not_written(&path, &error.error, force)));
            return ExitCode::from(BAD_INPUT);
        }
    }
    ExitCode::SUCCESS
}

fn not_written(path: &Path, error: &std::io::Error, force: bool) -> String {
    if error.kind() == std::io::ErrorKind::AlreadyExists && !force {
        return format!("{} is there already; --force writes over it", path.display());
    }
    format!("{} cannot be written: {error}", path.display())
}

/// The bytes beside the file, and where they are to go.
fn part_of(bytes: &[u8], path: &Path, force: bool) -> Result<(tempfile::NamedTempFile, PathBuf), String> {
    // A link is written through, not replaced; one that leads nowhere has no place to write to.
    let real = std::fs::canonicalize(path);
    if real.is_err() && path.is_symlink() {
        return Err(format!("{} is a link that leads nowhere", path.display()));
    }
    let real = real.unwrap_or_else(|_| path.to_path_buf());
    if real.is_dir() {
        return Err(format!("{} is a folder", path.display()));
    }
    if real.exists() && !force {
        return Err(not_written(path, &std::io::ErrorKind::AlreadyExists.into(), force));
    }
    let folder = real.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let write = || -> std::io::Result<tempfile::NamedTempFile> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".wayproof-").suffix(".part");
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let mut part = builder.tempfile_in(folder)?;
        part.write_all(bytes)?;
        Ok(part)
    };
    write().map(|part| (part, real)).map_err(|error| not_written(path, &error, force))
}

/// To a file: written beside it and renamed, so that no half file is ever seen.
pub(super) fn save(text: &str, path: &Path, status: u8) -> ExitCode {
    // A link is written through, not replaced.
    let real = std::fs::canonicalize(path);
    let path = real.as_deref().unwrap_or(path);
    let mut beside = path.as_os_str().to_owned();
    beside.push(format!(".{}.part", std::process::id()));
    let part = Path::new(&beside);
    let written = std::fs::write(part, text).and_then(|()| std::fs::rename(part, path));
    match written {
        Ok(()) => ExitCode::from(status),
        Err(error) => {
            let _ = std::fs::remove_file(part);
            say(&format!("error: {} cannot be written: {error}\n", path.display()));
            ExitCode::from(BAD_INPUT)
        }
    }
}
