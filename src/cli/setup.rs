//! From the options to a loaded package and its rulesets, or the diagnostics that say why not.

use std::io::{IsTerminal, Read};
use std::path::{Path, PathBuf};

use super::JudgeArgs;
use super::output::say;
use crate::diagnostic::{Diagnostic, Log, Sources, render};
use crate::judge::{Judged, Terms};
use crate::load::files::{InputFile, LARGEST_FILE, read_file, sha256};
use crate::load::reader::Date;
use crate::package::{Package, PackageFile, load};
use crate::ruleset::{Loader, Ruleset, warn_of_misfits};

/// Everything a judging command needs.
pub(super) struct Setup {
    pub package: Package,
    pub rulesets: Vec<Ruleset>,
    /// The rulesets that the package names, whichever it is judged by.
    pub asked: Vec<String>,
    pub terms: Terms,
    pub sources: Sources,
    /// The folder of the package.
    pub folder: PathBuf,
}

impl Setup {
    /// Exceptions that match no finding are told on standard error.
    pub fn warn_of_idle_exceptions(&self, judged: &Judged) {
        let idle = judged.idle_exceptions.iter().filter_map(|at| self.package.exceptions.get(*at));
        let idle: Vec<Diagnostic> = idle
            .map(|exception| {
                let message = format!("no finding is called `{}`, so this exception does nothing", exception.finding);
                let known = judged.findings.iter().map(|finding| finding.id.as_str());
                let warning = Diagnostic::warning("idle-exception", message).at(&exception.span, "");
                warning.nearest(&exception.finding, known)
            })
            .collect();
        if !idle.is_empty() {
            say(&format!("{}\n", render(&idle, &self.sources, true)));
        }
    }

    /// Every file that was read, named from the package's folder on; shipped rulesets by their name.
    pub fn inputs(&self) -> Vec<InputFile> {
        let files = self.sources.files();
        let named = files.iter().map(|(path, bytes)| match path.to_str().filter(|name| name.ends_with(" (shipped)")) {
            Some(shipped) => InputFile { name: shipped.to_owned(), sha256: sha256(bytes) },
            None => InputFile::new(path, bytes, &self.folder),
        });
        named.collect()
    }
}

impl Setup {
    /// Whether a path leads to one of the files that were read: a result must never replace what it was made from.
    pub fn has_read(&self, path: &Path) -> bool {
        is_read(&self.sources, path)
    }
}

/// Whether a path leads to one of the files that were read.
pub(super) fn is_read(sources: &Sources, path: &Path) -> bool {
    let Ok(path) = std::fs::canonicalize(path) else { return false };
    sources.files().iter().any(|(file, _)| std::fs::canonicalize(file).is_ok_and(|file| file == path))
}

/// Loads what the options name. Diagnostics go to standard error; `None` means there were errors.
pub(super) fn set_up(args: &JudgeArgs) -> Option<Setup> {
    let sources = Sources::default();
    let log = Log::default();
    let terms = Terms { as_of: args.as_of.unwrap_or_else(today), without_memory: args.without_memory };
    let loaded = load_all(args, terms.as_of, &sources, &log);
    let failed = log.has_errors();
    report(&log, &sources);
    let (package, rulesets, asked) = loaded.filter(|_| !failed)?;
    let folder = args.package.parent().map_or_else(PathBuf::new, Path::to_path_buf);
    Some(Setup { package, rulesets, asked, terms, sources, folder })
}

fn load_all(
    args: &JudgeArgs,
    as_of: Date,
    sources: &Sources,
    log: &Log,
) -> Option<(Package, Vec<Ruleset>, Vec<String>)> {
    let inputs = read_package(&args.package, &args.library, log)?;
    sources.remember(Path::new(&inputs.name), &inputs.bytes);
    let mut folders = vec![inputs.folder.clone()];
    folders.extend(args.library.iter().cloned());
    let (package, own_rules) = load(&inputs, sources, log);
    let mut loader = Loader::new(sources, log, folders).on(as_of);
    if args.rules.is_empty() {
        for name in &own_rules {
            loader.add_named(name);
        }
    } else {
        for name in &args.rules {
            loader.add_anywhere(name);
        }
    }
    let rulesets = loader.rulesets;
    let mut package = package?;
    package.statements.retain(|statement| {
        let late = statement.on > as_of;
        if late {
            let message = format!("`{}` is stated for {}, after the day of judgement", statement.item, statement.on);
            let warning = Diagnostic::warning("later-statement", message).at(&statement.span, "it does not count yet");
            log.push(warning.help(format!("judged as of {as_of}; `--as-of DATE` names another day")));
        }
        !late
    });
    warn_of_misfits(&package, &rulesets, log);
    for (at, exception) in package.exceptions.iter().enumerate() {
        let twice = package.exceptions.iter().take(at).find(|earlier| earlier.finding == exception.finding);
        if let Some(first) = twice {
            let warning = Diagnostic::warning("double-exception", "this finding is excepted twice");
            log.push(warning.at(&exception.span, "").at(&first.span, "first here"));
        }
    }
    if rulesets.is_empty() && !log.has_errors() {
        let warning = Diagnostic::warning("no-rules", "no ruleset is asked for, so nothing is judged");
        log.push(
            warning.in_file(&inputs.name).help("write `rules = [\"zones-two-level\"]` in the package, or give --rules"),
        );
    }
    Some((package, rulesets, own_rules.into_iter().map(|name| name.text).collect()))
}

fn read_package(path: &Path, libraries: &[PathBuf], log: &Log) -> Option<PackageFile> {
    let libraries = libraries.to_vec();
    if path.as_os_str() == "-" {
        let mut bytes = Vec::new();
        let read = std::io::stdin().lock().take(LARGEST_FILE + 1).read_to_end(&mut bytes);
        if let Err(error) = read {
            log.push(Diagnostic::error("unreadable", format!("standard input cannot be read: {error}")));
            return None;
        }
        if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > LARGEST_FILE {
            log.push(Diagnostic::error("too-large", "standard input is larger than 16 MiB"));
            return None;
        }
        return Some(PackageFile { name: "<standard input>".to_owned(), bytes, folder: PathBuf::new(), libraries });
    }
    let name = path.display().to_string();
    match read_file(path, &name) {
        Ok(bytes) => {
            let folder = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
            Some(PackageFile { name, bytes, folder, libraries })
        }
        Err(error) => {
            log.push(error.diagnostic(None));
            None
        }
    }
}

/// Prints diagnostics to standard error.
pub(super) fn report(log: &Log, sources: &Sources) {
    let errors = log.errors();
    let diagnostics = log.take();
    if diagnostics.is_empty() {
        return;
    }
    // anstream takes the colours away again where they are not wanted.
    say(&format!("{}\n", render(&diagnostics, sources, true)));
    if errors > 0 {
        say(&format!("\nnothing was judged: {errors} {}\n", if errors == 1 { "mistake" } else { "mistakes" }));
    }
}

/// Today, in UTC; taken once.
pub(super) fn today() -> Date {
    let now = jiff::tz::TimeZone::UTC.to_datetime(jiff::Timestamp::now()).date();
    let part = |number: i8| u8::try_from(number).unwrap_or(1);
    Date { year: u16::try_from(now.year()).unwrap_or(1970), month: part(now.month()), day: part(now.day()) }
}

/// Columns of the terminal, between 60 and 200; 100 where the output is no terminal.
pub(super) fn width() -> u16 {
    // A person's own wish comes first; scripts and tests use it too.
    let asked = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    let stdout = std::io::stdout();
    let terminal =
        || if stdout.is_terminal() { terminal_size::terminal_size().map(|(width, _)| width.0) } else { None };
    asked.or_else(terminal).unwrap_or(100).clamp(60, 200)
}
