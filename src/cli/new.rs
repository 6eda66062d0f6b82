//! `wayproof new`: a first package to edit, with its catalogue.

use std::fs;
use std::path::Path;
use std::process::ExitCode;

use super::BAD_INPUT;
use super::output::{print, say};

const FILES: &[(&str, &str)] = &[
    ("package.toml", include_str!("new/package.toml")),
    ("catalogue.toml", include_str!("new/catalogue.toml")),
    ("round-lamp-red.csv", include_str!("new/round-lamp-red.csv")),
];

pub(super) fn run(folder: &Path) -> ExitCode {
    let written = fs::create_dir(folder)
        .and_then(|()| FILES.iter().try_for_each(|(name, text)| fs::write(folder.join(name), text)));
    let shown = folder.display();
    match written {
        Ok(()) => print(
            &format!(
                "{shown}: a first package to edit. Judge it with: wayproof check {}\n",
                folder.join("package.toml").display()
            ),
            0,
        ),
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            say(&format!("error: {shown} is there already; nothing was written, and it stays as it was\n"));
            say("help: name a folder that does not exist yet, or go on with what is there: wayproof check ");
            say(&format!("{}\n", folder.join("package.toml").display()));
            ExitCode::from(BAD_INPUT)
        }
        Err(error) => {
            say(&format!("error: {shown} cannot be made: {error}\n"));
            ExitCode::from(BAD_INPUT)
        }
    }
}
