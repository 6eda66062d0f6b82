//! Finding and reading the files that a package names, without ever leaving the folders the user gave.

use std::fs;
use std::path::{Component, Path, PathBuf};

use sha2::{Digest, Sha256};

use crate::diagnostic::{Diagnostic, Span};

/// Larger files are refused: no schedule, catalogue or laboratory file comes near it.
pub const LARGEST_FILE: u64 = 16 * 1024 * 1024;

/// A file that was read.
#[derive(Debug)]
pub struct FileBytes {
    /// The path for messages.
    pub path: PathBuf,
    /// The folder that its own references must stay inside.
    pub root: PathBuf,
    /// What it holds.
    pub bytes: Vec<u8>,
}

/// Why a file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// An absolute path, or one with `..` that climbs out.
    #[error("`{0}` leads out of the folder it is looked for in")]
    Leaves(String),
    /// A symbolic link whose target lies elsewhere.
    #[error("`{0}` is a link that leads out of the folder it is looked for in")]
    LinkLeaves(String),
    /// Not there.
    #[error("there is no file `{name}`{places}", places = places(.folders))]
    Missing {
        /// As written.
        name: String,
        /// Where it was looked for; empty for a path that the user gave.
        folders: Vec<String>,
    },
    /// A folder where a file is needed.
    #[error("`{0}` is a folder, not a file")]
    Directory(String),
    /// Beyond [`LARGEST_FILE`].
    #[error("`{0}` is larger than 16 MiB")]
    TooLarge(String),
    /// The system refused.
    #[error("`{name}` cannot be read: {why}")]
    Unreadable {
        /// As written.
        name: String,
        /// The system's reason.
        why: String,
    },
}

impl FileError {
    /// As a diagnostic at the place that names the file.
    pub fn diagnostic(&self, span: Option<&Span>) -> Diagnostic {
        let (code, help) = match self {
            Self::Leaves(_) | Self::LinkLeaves(_) => {
                let code = if matches!(self, Self::Leaves(_)) { "path-leaves" } else { "link-leaves" };
                (code, "keep the file inside the folder of the file that names it")
            }
            Self::Missing { .. } => ("missing-file", "check the spelling and the folder"),
            Self::Directory(_) => ("is-a-folder", "name a file in it"),
            Self::TooLarge(_) => ("too-large", "files of up to 16 MiB are read"),
            Self::Unreadable { .. } => ("unreadable", "check that the file is there and that you may read it"),
        };
        let diagnostic = Diagnostic::error(code, self.to_string()).help(help);
        match span {
            Some(span) => diagnostic.at(span, "named here"),
            None => diagnostic,
        }
    }

    /// The same for a file that is looked for in the libraries too.
    pub fn with_libraries(&self, span: &Span) -> Diagnostic {
        let diagnostic = self.diagnostic(Some(span));
        match self {
            Self::Leaves(_) | Self::LinkLeaves(_) | Self::Missing { .. } => {
                diagnostic.help("a folder given with --library is looked in too")
            }
            Self::Directory(_) | Self::TooLarge(_) | Self::Unreadable { .. } => diagnostic,
        }
    }
}

fn places(folders: &[String]) -> String {
    if folders.is_empty() { String::new() } else { format!(" in {}", folders.join(" or ")) }
}

/// Reads `name` from the first of `folders` that has it.
pub fn read_inside(name: &str, folders: &[PathBuf]) -> Result<FileBytes, FileError> {
    let relative = Path::new(name);
    if name.is_empty() || !stays_inside(relative) {
        return Err(FileError::Leaves(name.to_owned()));
    }
    for root in folders {
        let path = root.join(relative);
        if fs::symlink_metadata(&path).is_err() {
            continue;
        }
        let unreadable =
            |error: std::io::Error| FileError::Unreadable { name: name.to_owned(), why: error.to_string() };
        let real_root = fs::canonicalize(if root.as_os_str().is_empty() { Path::new(".") } else { root });
        let real = fs::canonicalize(&path).map_err(unreadable)?;
        if !real.starts_with(real_root.map_err(unreadable)?) {
            return Err(FileError::LinkLeaves(name.to_owned()));
        }
        return Ok(FileBytes { bytes: read_file(&path, name)?, root: root.clone(), path });
    }
    let shown = |folder: &PathBuf| {
        if folder.as_os_str().is_empty() { "this folder".to_owned() } else { format!("`{}`", folder.display()) }
    };
    Err(FileError::Missing { name: name.to_owned(), folders: folders.iter().map(shown).collect() })
}

/// Reads a file that the user named on the command line, wherever it is.
pub fn read_file(path: &Path, name: &str) -> Result<Vec<u8>, FileError> {
    use std::io::Read;
    let unreadable = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => FileError::Missing { name: name.to_owned(), folders: Vec::new() },
        _ => FileError::Unreadable { name: name.to_owned(), why: error.to_string() },
    };
    let metadata = fs::metadata(path).map_err(unreadable)?;
    if metadata.is_dir() {
        return Err(FileError::Directory(name.to_owned()));
    }
    if !metadata.is_file() {
        // A pipe or a device could hold the tool for ever.
        return Err(FileError::Unreadable { name: name.to_owned(), why: "it is not a regular file".to_owned() });
    }
    // Room for all of it and the byte that shows its end: without it a file is read in dozens of small pieces.
    let mut bytes = Vec::with_capacity(usize::try_from(metadata.len().min(LARGEST_FILE)).unwrap_or(0) + 1);
    let file = fs::File::open(path).map_err(unreadable)?;
    file.take(LARGEST_FILE + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > LARGEST_FILE {
        return Err(FileError::TooLarge(name.to_owned()));
    }
    Ok(bytes)
}

/// A file that something was made from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct InputFile {
    /// Its path from the folder of the package on, or, where it lies elsewhere altogether, as it was given.
    pub name: String,
    /// SHA-256 of what it held.
    pub sha256: String,
}

impl InputFile {
    /// A file that was read, named from a folder on.
    pub fn new(path: &Path, bytes: &[u8], folder: &Path) -> Self {
        // Documents name a file on one line, and in a cell: what would end either is not part of the name there.
        let plain = |letter: char| if letter.is_control() || letter == '"' { '_' } else { letter };
        Self { name: from_folder(path, folder).chars().map(plain).collect(), sha256: sha256(bytes) }
    }
}

/// A path from a folder on, so that it is the same wherever both stand. Nothing is looked up: both are taken as written.
fn from_folder(path: &Path, folder: &Path) -> String {
    let plain = |path: &Path| -> Vec<String> {
        let parts = path.components().filter(|part| *part != Component::CurDir);
        parts.map(|part| part.as_os_str().to_string_lossy().into_owned()).collect()
    };
    let (parts, folders) = (plain(path), plain(folder));
    // What climbs, or begins elsewhere, cannot be told from the folder on without asking the disk.
    let climbs = folders.iter().any(|part| part == "..");
    if climbs || path.is_absolute() != folder.is_absolute() {
        return path.strip_prefix(folder).unwrap_or(path).display().to_string().replace('\\', "/");
    }
    let shared = parts.iter().zip(&folders).take_while(|(one, other)| one == other).count();
    let up = folders.iter().skip(shared).map(|_| "..".to_owned());
    up.chain(parts.into_iter().skip(shared)).collect::<Vec<_>>().join("/")
}

/// SHA-256 of what a file holds, in hex.
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A relative path none of whose beginnings lies above the folder it starts in.
fn stays_inside(path: &Path) -> bool {
    let mut depth = 0_i32;
    for component in path.components() {
        match component {
            Component::Normal(_) => depth += 1,
            Component::CurDir => {}
            Component::ParentDir => depth -= 1,
            Component::RootDir | Component::Prefix(_) => return false,
        }
        if depth < 0 {
            return false;
        }
    }
    true
}
