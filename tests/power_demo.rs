//! The faults planted in what feeds a demo pickup are found, all and only; what is left when they are mended is not shown.
//!
//! `expected.csv` beside the package is written by hand from the fault and the rule. Unlike that of other demos it lists
//! advice too.

mod common;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use common::{root, rows};
use serde_json::Value as Json;

const DEMO: &str = "brush-2-power-faults";

/// Each fault: the line as planted and as it is mended, in which file, and the rules whose findings it makes.
struct Fault {
    file: &'static str,
    planted: &'static str,
    mended: &'static str,
    shows: &'static [&'static str],
}

const FAULTS: [Fault; 7] = [
    Fault {
        file: "package.toml",
        planted: "rating = \"10 A\" }                                    # fault 1",
        mended: "rating = \"20 A\" }",
        shows: &["supply-12v:fuse-continuous@work", "supply-12v:fuse-pulses@work"],
    },
    Fault {
        file: "package.toml",
        planted: "size = \"16 AWG\", length = \"7 ft\"",
        mended: "size = \"12 AWG\", length = \"7 ft\"",
        shows: &["supply-12v:wire-over-fuse@rear"],
    },
    Fault {
        file: "package.toml",
        planted: "size = \"18 AWG\", length = \"30 ft\"",
        mended: "size = \"14 AWG\", length = \"14 ft\"",
        shows: &["supply-12v:voltage-drop@side"],
    },
    Fault {
        file: "package.toml",
        planted: "output = \"36 A\"",
        mended: "output = \"76 A\"",
        shows: &[
            "load-analysis:hot-idle@blocking/chassis",
            "load-analysis:hot-idle-total@blocking/chassis",
            "load-analysis:hot-idle-total@calling/chassis",
        ],
    },
    Fault {
        file: "package.toml",
        planted: "capacity = \"60 Ah\"",
        // A reserve capacity of 140 min belongs to 60 Ah; more only helps.
        mended: "capacity = \"120 Ah\"",
        shows: &["kestrow-contract:engine-off@blocking/house"],
    },
    Fault {
        file: "work-lamps.toml",
        planted: "standby = \"0.00 A\", at = \"14.2 V\"",
        mended: "standby = \"0.00 A\", at = \"12.8 V\"",
        shows: &["supply-12v:sheet-voltages@vehicle"],
    },
    Fault {
        file: "package.toml",
        planted: "rated = \"130 A\"\n",
        mended: "rated = \"130 A\"\nhot-idle = { output = \"72 A\", at = \"93 degC\", evidence = { grade = \"maker\" } }\n",
        shows: &[
            "load-analysis:hot-idle@blocking/house",
            "load-analysis:hot-idle-total@blocking/house",
            "load-analysis:hot-idle-total@calling/house",
        ],
    },
];

/// The package in a folder of its own beside the catalogue, with some faults mended.
fn mended(which: impl Fn(usize) -> bool) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let copy = |from: &Path, to: &Path| {
        std::fs::create_dir(to).unwrap();
        for entry in std::fs::read_dir(from).unwrap() {
            let entry = entry.unwrap();
            std::fs::copy(entry.path(), to.join(entry.file_name())).unwrap();
        }
    };
    copy(&root().join("demo-data/catalogue"), &dir.path().join("catalogue"));
    let folder = dir.path().join(DEMO);
    copy(&root().join("demo-data").join(DEMO), &folder);
    for (_, fault) in FAULTS.iter().enumerate().filter(|(at, _)| which(*at)) {
        let path = folder.join(fault.file);
        let text = std::fs::read_to_string(&path).unwrap();
        assert_eq!(text.matches(fault.planted).count(), 1, "{}", fault.planted);
        std::fs::write(&path, text.replace(fault.planted, fault.mended)).unwrap();
    }
    (dir, folder.join("package.toml"))
}

/// Exit status, what fails or is open for another reason than a missing limit, and the summary.
fn check(package: &Path) -> (i32, BTreeSet<(String, String)>, Json) {
    let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
    let command = command.current_dir(root()).arg("check").arg(package);
    let output = command.args(["--as-of", "2026-11-25", "--format", "json"]).output().unwrap();
    let report: Json = serde_json::from_slice(&output.stdout).unwrap();
    let open = report["findings"].as_array().unwrap().iter().filter(|finding| {
        let verdict = finding["verdict"].as_str().unwrap();
        matches!(verdict, "fail" | "too-close" | "not-shown") && (finding.get("limit").is_some() || verdict == "fail")
    });
    let text = |value: &Json| value.as_str().unwrap().to_owned();
    let open = open.map(|finding| (text(&finding["id"]), text(&finding["verdict"]))).collect();
    (output.status.code().unwrap(), open, report["summary"].clone())
}

fn expected() -> Vec<(String, String, String)> {
    let rows = rows(&root().join("demo-data").join(DEMO).join("expected.csv"));
    rows.into_iter().map(|row| (row["finding"].clone(), row["verdict"].clone(), row["why"].clone())).collect()
}

#[test]
fn planted_faults_are_found_all_and_only() {
    let wanted: BTreeSet<(String, String)> =
        expected().into_iter().map(|(finding, verdict, _)| (finding, verdict)).collect();
    let (status, found, summary) = check(&root().join("demo-data").join(DEMO).join("package.toml"));
    assert_eq!(found, wanted);
    assert_eq!(wanted.len(), 12);
    assert_eq!((status, &summary["on-estimate"]), (1, &Json::from(0)));
}

/// Each fault alone makes just the findings that are expected of it, and no other fault takes part in them.
#[test]
fn each_fault_alone_makes_its_findings_and_no_other() {
    for (at, fault) in FAULTS.iter().enumerate() {
        let (_dir, package) = mended(|other| other != at);
        let (_, found, _) = check(&package);
        let why = format!("fault {}", at + 1);
        let wanted: BTreeSet<(String, String)> = expected()
            .into_iter()
            .filter(|(_, _, reason)| reason.starts_with(&why))
            .map(|(finding, verdict, _)| (finding, verdict))
            .collect();
        assert_eq!(found, wanted, "{why}");
        assert_eq!(
            found.iter().map(|(id, _)| id.as_str()).collect::<BTreeSet<_>>(),
            fault.shows.iter().copied().collect()
        );
    }
}

/// A hot-idle figure that nobody stated is enough to leave the vehicle not shown; with it nothing is open.
#[test]
fn the_missing_hot_idle_figure_alone_leaves_it_open() {
    let (_dir, package) = mended(|at| at != 6);
    let (status, found, summary) = check(&package);
    assert_eq!((status, &summary["fail"], &summary["not-shown"]), (3, &Json::from(0), &Json::from(1)), "{found:?}");
    let (_dir, package) = mended(|_| true);
    let (status, found, _) = check(&package);
    assert_eq!((status, found), (0, BTreeSet::new()));
}
