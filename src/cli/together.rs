//! Several packages judged alike: on one day, by the rulesets of the first unless others are named.

use std::path::{Path, PathBuf};

use super::report::refuse;
use super::setup::{Setup, set_up, today};
use super::{JudgeArgs, TogetherArgs};
use crate::load::files::InputFile;
use crate::ruleset::Ruleset;

/// Packages with the rulesets that all are judged by.
pub(super) struct Together {
    /// One a package, each with a label.
    pub all: Vec<(String, Setup)>,
    /// What a reader must know of the rulesets.
    pub remarks: Vec<String>,
}

impl Together {
    /// The rulesets that all are judged by: those of the first.
    pub fn rulesets(&self) -> &[Ruleset] {
        self.all.first().map(|(_, setup)| setup.rulesets.as_slice()).unwrap_or_default()
    }

    /// The files of all, each behind the label of its package; what comes with the tool is named once.
    pub fn inputs(&self) -> Vec<InputFile> {
        let mut files: Vec<InputFile> = Vec::new();
        for (label, setup) in &self.all {
            for file in setup.inputs() {
                let shipped = file.name.ends_with(" (shipped)");
                let name = if shipped { file.name } else { format!("{label}: {}", file.name) };
                if files.iter().all(|known| known.name != name) {
                    files.push(InputFile { name, sha256: file.sha256 });
                }
            }
        }
        files
    }
}

/// Loads every package. Diagnostics go to standard error; `None` means there were errors.
pub(super) fn set_up_together(packages: &[(String, &PathBuf)], args: &TogetherArgs) -> Option<Together> {
    if packages.iter().filter(|(_, path)| path.as_os_str() == "-").count() > 1 {
        refuse("standard input can be one of the packages only");
        return None;
    }
    // Taken once, so that midnight parts no two packages.
    let as_of = Some(args.as_of.unwrap_or_else(today));
    let judge_args = |path: &Path| JudgeArgs {
        package: path.to_path_buf(),
        rules: args.rules.clone(),
        library: args.library.clone(),
        as_of,
        without_memory: args.without_memory,
    };
    // All are read, so that the mistakes of all are told in one run.
    let all: Vec<Option<(String, Setup)>> =
        packages.iter().map(|(label, path)| set_up(&judge_args(path)).map(|setup| (label.clone(), setup))).collect();
    let all = all.into_iter().collect::<Option<Vec<_>>>()?;
    let mut together = Together { all, remarks: Vec::new() };
    together.remarks = remarks(&together);
    Some(together)
}

/// Which packages ask for other rulesets than those they are judged by.
fn remarks(together: &Together) -> Vec<String> {
    let of_first = asked(together.rulesets());
    let mut remarks = Vec::new();
    for (label, setup) in together.all.iter().skip(1) {
        let of_it = asked(&setup.rulesets);
        let missing: Vec<&str> = of_it.iter().filter(|one| !of_first.contains(one)).map(String::as_str).collect();
        let extra: Vec<&str> = of_first.iter().filter(|one| !of_it.contains(one)).map(String::as_str).collect();
        let first = together.all.first().map_or("", |(label, _)| label.as_str());
        if !missing.is_empty() {
            let missing = missing.join(", ");
            remarks.push(format!(
                "`{label}` asks for {missing}, and `{first}` does not: not judged here; --rules names what is"
            ));
        }
        if !extra.is_empty() {
            let extra = extra.join(", ");
            remarks.push(format!("`{label}` does not ask for {extra}, and is judged by it as `{first}` is"));
        }
    }
    remarks
}

/// Rulesets and their overlays by id and edition, with the beginning of the sum of a ruleset's file.
fn asked(rulesets: &[Ruleset]) -> Vec<String> {
    let mut all = Vec::new();
    for ruleset in rulesets {
        let sum: String = ruleset.sha256.chars().take(8).collect();
        all.push(format!("{} (edition {}, {sum})", ruleset.id, ruleset.edition));
        let overlays = ruleset.overlays.iter();
        all.extend(overlays.map(|one| format!("{} over {} (edition {})", one.id, ruleset.id, one.edition)));
    }
    all
}
