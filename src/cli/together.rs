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
    /// What later packages ask to be judged by that the first does not, and what they do not ask for that it does.
    pub asked: Vec<String>,
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
                let file = InputFile { name, sha256: file.sha256 };
                if !files.contains(&file) {
                    files.push(file);
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
    let mut together = Together { all, remarks: Vec::new(), asked: Vec::new() };
    (together.remarks, together.asked) = remarks(&together, args);
    Some(together)
}

/// Which packages ask for other rulesets than those they are judged by, and how what they ask for differs.
fn remarks(together: &Together, args: &TogetherArgs) -> (Vec<String>, Vec<String>) {
    let named = |setup: &Setup| match args.rules.is_empty() {
        true => asked(&setup.rulesets),
        // Their own are not loaded then; their names stand in the packages.
        false => setup.asked.clone(),
    };
    let of_first = together.all.first().map(|(_, setup)| named(setup)).unwrap_or_default();
    let first = together.all.first().map_or("", |(label, _)| label.as_str());
    let (mut remarks, mut differ) = (Vec::new(), Vec::new());
    for (label, setup) in together.all.iter().skip(1) {
        let of_it = named(setup);
        let missing: Vec<&str> = of_it.iter().filter(|one| !of_first.contains(one)).map(String::as_str).collect();
        let extra: Vec<&str> = of_first.iter().filter(|one| !of_it.contains(one)).map(String::as_str).collect();
        let (missing, extra) = (missing.join(", "), extra.join(", "));
        let mut says = Vec::new();
        if !missing.is_empty() {
            says.push(format!("asks for {missing}, and `{first}` does not"));
        }
        if !extra.is_empty() {
            says.push(format!("does not ask for {extra}, and `{first}` does"));
        }
        if !says.is_empty() {
            let says = says.join("; it ");
            differ.push(format!(
                "what is asked for: `{label}` {says}. Both are judged by the same rulesets here, so this moves nothing."
            ));
        }
        if !args.rules.is_empty() {
            continue;
        }
        if !missing.is_empty() {
            remarks.push(format!(
                "`{label}` asks for {missing}, and `{first}` does not: not judged here; --rules names what is"
            ));
        }
        if !extra.is_empty() {
            remarks.push(format!("`{label}` does not ask for {extra}, and is judged by it as `{first}` is"));
        }
    }
    (remarks, differ)
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
