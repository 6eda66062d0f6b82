//! `wayproof import`: a spreadsheet becomes a package, after a person has confirmed what its columns mean.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use comfy_table::{Table, presets};

use super::output::{print, say, write_all_new, write_new};
use super::setup::{has_read, report};
use super::{BAD_INPUT, ImportArgs};
use crate::diagnostic::{Log, Sources};
use crate::import::{
    Before, Book, Change, Doubt, Files, Imported, Library, Mapping, Onto, Record, differ, imported, made, made_before,
    propose, read_book, read_mapping, read_onto, to_text,
};
use crate::load::files::{read_file, sha256};
use crate::package::PackageFile;

/// Something is left for a person to do.
const OPEN: u8 = 3;

const MAPPING: &str = "mapping.toml";

pub(super) fn run(args: &ImportArgs) -> ExitCode {
    let name = args.sheet_file.display().to_string();
    let (bytes, book) = match read_file(&args.sheet_file, &name) {
        Ok(bytes) => match read_book(&bytes, &name) {
            Ok(book) => (bytes, book),
            Err(why) => return refuse(&format!("{name}: {why}")),
        },
        Err(error) => return refuse(&error.to_string()),
    };
    let file = args.sheet_file.file_name().map_or(name.clone(), |file| file.to_string_lossy().into_owned());
    let path = args.mapping.clone().unwrap_or_else(|| args.output.join(MAPPING));
    if !path.exists() {
        return match args.mapping {
            Some(_) => refuse(&format!("there is no file `{}`", path.display())),
            None => first(args, &book, &file, &path),
        };
    }
    let sources = Sources::default();
    sources.remember(&args.sheet_file, &bytes);
    let log = Log::default();
    let Some(mut mapping) = mapping_in(&path, &sources, &log) else {
        report(&log, &sources);
        return ExitCode::from(BAD_INPUT);
    };
    report(&log, &sources);
    if let Some(name) = &args.sheet {
        let known: Vec<String> = mapping.sheets.iter().map(|sheet| format!("`{}`", sheet.name)).collect();
        mapping.sheets.retain(|sheet| sheet.name == *name);
        if mapping.sheets.is_empty() {
            return refuse(&format!(
                "{} does not speak of the sheet `{name}`, but of {}: take it out, and a mapping is proposed for that sheet",
                path.display(),
                known.join(", ")
            ));
        }
        let others = book.sheets.iter().map(|sheet| sheet.name.clone()).filter(|other| other != name);
        mapping.aside.get_or_insert_default().extend(others);
    }
    if !mapping.confirmed {
        let next = format!(
            "not confirmed yet: read {}, correct it, set `confirmed = true`, and run this again. Nothing was made.",
            path.display()
        );
        return print(&format!("{}\n{next}\n", proposal(&mapping, false)), OPEN);
    }
    let onto = match args.onto.as_ref().map(|path| onto_of(path, args, &sources)) {
        None => None,
        Some(Some(onto)) => Some(onto),
        Some(None) => return ExitCode::from(BAD_INPUT),
    };
    let library = match library_of(args, &sources) {
        Ok(library) => library,
        Err(why) => return refuse(&why),
    };
    let made_from = format!("Made by wayproof {} from {file}, SHA-256 {}", env!("CARGO_PKG_VERSION"), sha256(&bytes));
    let read = imported(&book, &mapping, onto.as_ref());
    let (all, files) = match read
        .and_then(|mut all| made(&mut all, &mapping, onto.as_ref(), &library, &made_from).map(|files| (all, files)))
    {
        Ok(done) => done,
        Err(why) => return refuse(&why),
    };
    if all.lamps.is_empty() && all.circuits.is_empty() {
        let why: Vec<String> = all.counts.iter().map(|count| format!("\n  {}: {}", count.place, count.why)).collect();
        let found = format!("{name}: no lamp and no circuit was found by the mapping {}", path.display());
        return refuse(&(found + &why.concat()));
    }
    write(args, &all, &files, onto.as_ref(), &sources)
}

fn refuse(why: &str) -> ExitCode {
    say(&format!("error: {why}\n"));
    ExitCode::from(BAD_INPUT)
}

/// The first time: proposes what the columns mean, and writes it down to be confirmed.
fn first(args: &ImportArgs, book: &Book, file: &str, path: &Path) -> ExitCode {
    let mapping = match propose(book, args.sheet.as_deref()) {
        Ok(mapping) => mapping,
        Err(why) => return refuse(&format!("{file}: {why}")),
    };
    if let Err(error) = std::fs::create_dir_all(&args.output) {
        return refuse(&format!("{} cannot be made: {error}", args.output.display()));
    }
    let text = to_text(&mapping, file);
    if write_new(text.as_bytes(), path, false) != ExitCode::SUCCESS {
        return ExitCode::from(BAD_INPUT);
    }
    let mut out = proposal(&mapping, true);
    for sheet in &book.sheets {
        sheet.notes.iter().for_each(|note| out.push_str(&format!("{}: {note}\n", sheet.name)));
        sheet.doubts.iter().for_each(|(row, why)| out.push_str(&format!("{} row {row}: {why}\n", sheet.name)));
        if mapping.sheets.iter().all(|known| known.name != sheet.name) {
            let why = if sheet.is_hidden { "this sheet is hidden" } else { "no schedule was seen on this sheet" };
            let name = &sheet.name;
            out.push_str(&format!("{name}: {why}, so it is left aside; --sheet names one to be read all the same\n"));
        }
    }
    out.push_str(&format!(
        "\nNothing was made of it yet. Read {}, correct what is wrong, set `confirmed = true`, and run this again.\n",
        path.display()
    ));
    print(&out, OPEN)
}

/// What each column means, as a table; with reasons only where they are known.
fn proposal(mapping: &Mapping, with_why: bool) -> String {
    let mut out = String::new();
    for sheet in &mapping.sheets {
        let decimals = if sheet.comma { "comma" } else { "point" };
        out.push_str(&format!("Sheet {}, heads in row {}, decimals with a {decimals}\n", sheet.name, sheet.head_row));
        let mut table = Table::new();
        table.load_style(presets::NOTHING);
        let why: &[&str] = if with_why { &["how sure", "why", "for example"] } else { &[] };
        table.set_header(["column", "head", "means", "unit"].iter().chain(why));
        for column in &sheet.columns {
            let means = column.means.map_or("nothing", |means| means.name);
            let mut row = vec![
                crate::import::book::letters(column.at),
                column.head.clone(),
                means.to_owned(),
                column.unit.clone().unwrap_or_default(),
            ];
            if with_why {
                row.extend([column.sure.to_owned(), column.why.clone(), column.examples.join(" | ")]);
            }
            table.add_row(row);
        }
        table.column_iter_mut().for_each(|column| {
            column.set_padding((0, 2));
        });
        table.lines().for_each(|line| out.push_str(&format!("{}\n", line.trim_end())));
        out.push('\n');
    }
    out
}

fn mapping_in(path: &Path, sources: &Sources, log: &Log) -> Option<Mapping> {
    let name = path.display().to_string();
    let bytes = match read_file(path, &name) {
        Ok(bytes) => bytes,
        Err(error) => {
            log.push(error.diagnostic(None));
            return None;
        }
    };
    let text = match crate::load::text::decode(&bytes, &name) {
        Ok(text) => text,
        Err(error) => {
            log.push(error.in_file(&name));
            return None;
        }
    };
    read_mapping(text, sources.add(&name, text), log)
}

fn onto_of(path: &Path, args: &ImportArgs, sources: &Sources) -> Option<Onto> {
    let log = Log::default();
    let name = path.display().to_string();
    let onto = match read_file(path, &name) {
        Ok(bytes) => {
            let folder = path.parent().map_or_else(PathBuf::new, Path::to_path_buf);
            sources.remember(path, &bytes);
            read_onto(&PackageFile { name, bytes, folder, libraries: args.library.clone() }, sources, &log)
        }
        Err(error) => {
            log.push(error.diagnostic(None));
            None
        }
    };
    report(&log, sources);
    onto
}

/// The catalogues in the folders that the person names.
fn library_of(args: &ImportArgs, sources: &Sources) -> Result<Library, String> {
    let mut library = Library::default();
    // Onto a package its own catalogues count.
    for folder in args.library.iter().filter(|_| args.onto.is_none()) {
        let entries = std::fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        let mut files: Vec<PathBuf> = entries.filter_map(|entry| Some(entry.ok()?.path())).collect();
        files.retain(|file| file.extension().is_some_and(|ending| ending == "toml"));
        files.sort();
        for file in files {
            // What cannot be read is no catalogue.
            let Ok(bytes) = read_file(&file, &file.display().to_string()) else { continue };
            let (Ok(text), Some(name)) = (std::str::from_utf8(&bytes), file.file_name()) else { continue };
            sources.remember(&file, &bytes);
            library.add(&name.to_string_lossy(), text);
        }
    }
    Ok(library)
}

/// Compares, writes and tells.
fn write(args: &ImportArgs, all: &Imported, files: &Files, onto: Option<&Onto>, sources: &Sources) -> ExitCode {
    let folder = &args.output;
    let targets: Vec<(PathBuf, &str)> =
        files.files.iter().map(|(name, text)| (folder.join(name), text.as_str())).collect();
    if let Some((path, _)) = targets.iter().find(|(path, _)| has_read(sources, path)) {
        return refuse(&format!("{} is what this is made from: give another folder with -o", path.display()));
    }
    let there: Vec<&PathBuf> = targets.iter().map(|(path, _)| path).filter(|path| path.exists()).collect();
    let old = |name: &str| std::fs::read(folder.join(name)).ok();
    let before = match onto {
        Some(onto) => Some((format!("against {}", onto.name), onto.before())),
        None if !there.is_empty() => {
            let (heads, models, package) = (old("heads.csv"), old("models.toml"), old("package.toml"));
            let before = made_before(heads.as_deref(), models.as_deref(), package.as_deref());
            Some((format!("against what is in {}", folder.display()), before))
        }
        None => None,
    };
    let mut out = told(all);
    // What it was made from may have changed where nobody reads.
    let is_as_written =
        |path: &Path, text: &str| std::fs::read_to_string(path).is_ok_and(|old| but_origin(&old).eq(but_origin(text)));
    let differ: Vec<String> = targets
        .iter()
        .filter(|(path, text)| path.exists() && !is_as_written(path, text))
        .map(|(path, _)| path.display().to_string())
        .collect();
    let same = differ.is_empty() && there.len() == targets.len();
    if let Some((whom, before)) = &before {
        out.push_str(&changes(whom, before, all, &differ));
    }
    if !there.is_empty() && !args.force && !same {
        out.push_str("\nNothing was written: these files are there already, and --force writes over them, what was put right in them by hand too:\n");
        there.iter().for_each(|path| out.push_str(&format!("  {}\n", path.display())));
        out.push_str("What is to stay right belongs into the mapping, as [[reads]], or into the sheet. To keep what was written in the package by hand and take only lamps and circuits from the sheet, give it with --onto, and another folder with -o.\n");
        return print(&out, BAD_INPUT);
    }
    if let Err(error) = std::fs::create_dir_all(folder) {
        return refuse(&format!("{} cannot be made: {error}", folder.display()));
    }
    let all_files: Vec<(&Path, &[u8])> = targets.iter().map(|(path, text)| (path.as_path(), text.as_bytes())).collect();
    let is_written = !same || args.force;
    if is_written && write_all_new(&all_files, args.force) != ExitCode::SUCCESS {
        return ExitCode::from(BAD_INPUT);
    }
    out.push_str(if is_written { "\nWritten:\n" } else { "\nThere already, and left as they are:\n" });
    targets.iter().for_each(|(path, _)| out.push_str(&format!("  {}\n", path.display())));
    if !files.still.is_empty() {
        out.push_str("\nNo schedule says this; it is still to be written:\n");
        files.still.iter().for_each(|one| out.push_str(&format!("  {one}\n")));
    }
    let package = folder.join("package.toml");
    let libraries: Vec<String> =
        onto_folders(args).iter().map(|folder| format!(" --library {}", folder.display())).collect();
    out.push_str(&format!("\nNext: wayproof check {}{}\n", package.display(), libraries.concat()));
    let is_open = |text: &str| text.lines().any(|line| !line.starts_with('#') && line.contains("\"?\""));
    let asked = [&all.doubts, &all.asked, &all.counts];
    let open = asked.iter().any(|list| !list.is_empty()) || files.files.iter().any(|(_, text)| is_open(text));
    print(&out, if open { OPEN } else { 0 })
}

/// Where the other files of the package lie that gave the rest.
fn onto_folders(args: &ImportArgs) -> Vec<PathBuf> {
    let Some(onto) = &args.onto else { return args.library.clone() };
    let folder = onto.parent().map_or_else(PathBuf::new, Path::to_path_buf);
    let shown = |folder: PathBuf| if folder.as_os_str().is_empty() { PathBuf::from(".") } else { folder };
    let beside = folder.parent().map(|above| above.join("catalogue")).filter(|folder| folder.is_dir());
    [Some(shown(folder)), beside].into_iter().flatten().chain(args.library.iter().cloned()).collect()
}

fn told(all: &Imported) -> String {
    let many = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
    let mut out = format!("{}, {}\n", many(all.lamps.len(), "lamp"), many(all.circuits.len(), "circuit"));
    let mut list = |title: &str, doubts: &[Doubt]| {
        if doubts.is_empty() {
            return;
        }
        out.push_str(&format!("\n{title}\n"));
        let mut table = Table::new();
        table.load_style(presets::NOTHING);
        table.set_header(["  where", "of", "what", "why"]);
        for doubt in doubts {
            table.add_row([format!("  {}", doubt.place), doubt.id.clone(), doubt.what.to_owned(), doubt.why.clone()]);
        }
        table.column_iter_mut().for_each(|column| {
            column.set_padding((0, 2));
        });
        table.lines().for_each(|line| out.push_str(&format!("{}\n", line.trim_end())));
    };
    list("Not sure, and `?` in the package:", &all.doubts);
    list("Not sure, though nothing is `?` for it:", &all.asked);
    list("Does not add up or is not read, so look what is missing or stands twice:", &all.counts);
    list("Read from words, so look whether it is meant so:", &all.derived);
    let remarks: Vec<Doubt> = all.lamps.iter().chain(&all.circuits).filter_map(remarks).collect();
    list("Remarks, kept beside them as comments; nothing is judged by them:", &remarks);
    if !all.notes.is_empty() {
        out.push_str("\nTo know:\n");
        all.notes.iter().for_each(|note| out.push_str(&format!("  {note}\n")));
    }
    out
}

/// What stands beside a lamp or circuit.
fn remarks(record: &Record) -> Option<Doubt> {
    let (place, id) = (record.place.clone(), record.id.clone());
    (!record.remarks.is_empty()).then(|| Doubt { place, id, what: "notes", why: record.remarks.join("; ") })
}

/// The lines of a file that was made, without that which names the sheet it was made from.
fn but_origin(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter(|line| !line.starts_with("# Made by wayproof "))
}

/// What changed; `files` are those that would read otherwise.
fn changes(whom: &str, before: &Before, all: &Imported, files: &[String]) -> String {
    let found = differ(before, &all.lamps, &all.circuits);
    if found.is_empty() && before.is_whole && !files.is_empty() {
        return format!(
            "\nNo lamp and no circuit changed {whom}, but these files would read otherwise (rows that moved, other doubts, or what was written in them by hand): {}\n",
            files.join(", ")
        );
    }
    if found.is_empty() {
        return format!("\nNothing changed {whom}.\n");
    }
    let mut out = format!("\nWhat changed {whom}:\n");
    for change in found {
        let said = |text: &str| if text.is_empty() { "nothing".to_owned() } else { text.to_owned() };
        out.push_str(&match change {
            Change::Added { kind, id } => format!("  new      {kind} {id}\n"),
            Change::Gone { kind, id } => format!("  gone     {kind} {id}\n"),
            Change::Changed { kind, id, what, was, is } => {
                format!("  changed  {kind} {id}: {what} was {}, is {}\n", said(&was), said(&is))
            }
        });
    }
    out
}
