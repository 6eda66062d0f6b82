//! Files are found where the user said, and nowhere else: each way out of a folder is its own clear error.

mod common;

use std::path::Path;

use common::root;

const PACKAGE: &str = "format = 1\nrules = [\"zones-one-level\"]\ncatalogues = [\"CATALOGUE\"]\n[vehicle]\nname = \"x\"\nlength = \"5 m\"\nwidth = \"2 m\"\nheight = \"2 m\"\n";

/// What is said of a package in `folder` whose catalogue has this name.
fn said(folder: &Path, catalogue: &str, more: &[&str]) -> (Option<i32>, String) {
    let path = folder.join("package.toml");
    std::fs::write(&path, PACKAGE.replace("CATALOGUE", &catalogue.replace('\\', "\\\\"))).unwrap();
    let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
    let output = command.arg("check").arg(&path).args(more).output().unwrap();
    (output.status.code(), String::from_utf8(output.stderr).unwrap())
}

fn lamps() -> String {
    std::fs::read_to_string(root().join("tests/bad-input/files/lamps.toml")).unwrap()
}

#[test]
fn each_way_out_has_its_own_error() {
    let dir = tempfile::tempdir().unwrap();
    let inside = dir.path().join("vehicle");
    std::fs::create_dir_all(inside.join("folder.toml")).unwrap();
    std::fs::write(dir.path().join("outside.toml"), lamps()).unwrap();
    std::fs::write(inside.join("large.toml"), vec![b'#'; 16 * 1024 * 1024 + 1]).unwrap();
    std::fs::write(inside.join("binary.toml"), [0xff, 0xfe, 0x00]).unwrap();
    let absolute = dir.path().join("outside.toml");
    for (name, code) in [
        ("../outside.toml", "path-leaves"),
        ("sub/../../outside.toml", "path-leaves"),
        (absolute.to_str().unwrap(), "path-leaves"),
        ("", "path-leaves"),
        ("nowhere.toml", "missing-file"),
        ("folder.toml", "is-a-folder"),
        ("large.toml", "too-large"),
        ("binary.toml", "not-text"),
    ] {
        let (status, said) = said(&inside, name, &[]);
        assert_eq!(status, Some(2), "{name}: {said}");
        assert!(said.contains(&format!("error[{code}]")), "{name}: {said}");
        assert!(said.contains("package.toml:3:15"), "{name} names the place: {said}");
    }
}

#[cfg(unix)]
#[test]
fn links_that_leave_and_things_that_are_no_files() {
    let dir = tempfile::tempdir().unwrap();
    let inside = dir.path().join("vehicle");
    std::fs::create_dir(&inside).unwrap();
    std::fs::write(dir.path().join("outside.toml"), lamps()).unwrap();
    std::os::unix::fs::symlink(dir.path().join("outside.toml"), inside.join("link.toml")).unwrap();
    std::os::unix::fs::symlink("/dev/zero", inside.join("endless.toml")).unwrap();
    let (status, text) = said(&inside, "link.toml", &[]);
    assert!(status == Some(2) && text.contains("error[link-leaves]"), "{text}");
    let (status, text) = said(&inside, "endless.toml", &[]);
    assert!(status == Some(2) && text.contains("error[link-leaves]"), "{text}");
    // A link that stays inside is as good as a file.
    std::fs::write(inside.join("lamps.toml"), lamps()).unwrap();
    std::os::unix::fs::symlink("lamps.toml", inside.join("alias.toml")).unwrap();
    assert_ne!(said(&inside, "alias.toml", &[]).0, Some(2));
    let fifo = inside.join("pipe.toml");
    let made = std::process::Command::new("mkfifo").arg(&fifo).status();
    if made.is_ok_and(|status| status.success()) {
        let (status, text) = said(&inside, "pipe.toml", &[]);
        assert!(status == Some(2) && text.contains("not a regular file"), "{text}");
    } else {
        println!("SKIPPED: there is no mkfifo here");
    }
}

#[test]
fn catalogues_lie_beside_in_a_library_or_in_catalogue_beside_the_folder() {
    let dir = tempfile::tempdir().unwrap();
    let inside = dir.path().join("vehicle");
    let library = dir.path().join("library");
    std::fs::create_dir(&inside).unwrap();
    std::fs::create_dir(&library).unwrap();
    std::fs::write(library.join("lamps.toml"), lamps()).unwrap();
    assert_eq!(said(&inside, "lamps.toml", &[]).0, Some(2), "not found without the library");
    assert_ne!(said(&inside, "lamps.toml", &["--library", library.to_str().unwrap()]).0, Some(2));
    std::fs::create_dir(dir.path().join("catalogue")).unwrap();
    std::fs::write(dir.path().join("catalogue/lamps.toml"), lamps()).unwrap();
    assert_ne!(said(&inside, "lamps.toml", &[]).0, Some(2));
    std::fs::write(inside.join("lamps.toml"), "format = 1\nbroken").unwrap();
    let (status, text) = said(&inside, "lamps.toml", &[]);
    assert!(status == Some(2) && text.contains("vehicle/lamps.toml:2"), "the one beside comes first: {text}");
}

#[test]
fn a_package_can_come_from_standard_input() {
    let package = std::fs::read(root().join("demo-data/rescue-4/package.toml")).unwrap();
    let run = |args: &[&str], bytes: Vec<u8>| {
        let mut command = assert_cmd::Command::cargo_bin("wayproof").unwrap();
        command.current_dir(root()).args(args).write_stdin(bytes).output().unwrap()
    };
    let output = run(&["check", "-", "--library", "demo-data/catalogue", "--format", "csv"], package);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let output = run(&["check", "-"], vec![0xff, 0x00, 0xfe]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("error[not-text]"));
}

#[test]
fn bad_use_is_status_2_with_nothing_on_standard_output() {
    for args in [
        &["check"][..],
        &["check", "nowhere.toml"],
        &["check", "demo-data"],
        &["check", "demo-data/rescue-4/package.toml", "--only", "good"],
        &["check", "demo-data/rescue-4/package.toml", "--as-of", "yesterday"],
        &["check", "demo-data/rescue-4/package.toml", "--rules", "nothing-like-it"],
        &["check", "demo-data/rescue-4/package.toml", "--rules", "Cargo.toml"],
        &["explain", "demo-data/rescue-4/package.toml", "zones-two-level:zone-totl@calling/upper/A"],
        &["judge"],
    ] {
        let output =
            assert_cmd::Command::cargo_bin("wayproof").unwrap().current_dir(root()).args(args).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(output.stdout.is_empty(), "{args:?}");
        assert!(!output.stderr.is_empty(), "{args:?}");
    }
}

/// A result is never written over what it was made from, however its name is spelt.
#[test]
fn nothing_is_written_over_its_own_package() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("package.toml");
    for file in std::fs::read_dir(root().join("demo-data/brush-2-power-faults")).unwrap() {
        let file = file.unwrap();
        std::fs::copy(file.path(), dir.path().join(file.file_name())).unwrap();
    }
    let text = std::fs::read_to_string(&path).unwrap();
    let other = dir.path().join("./package.toml");
    for command in ["check", "power"] {
        let output = assert_cmd::Command::cargo_bin("wayproof")
            .unwrap()
            .arg(command)
            .arg(&path)
            .arg("-o")
            .arg(&other)
            .arg("--library")
            .arg(root().join("demo-data/catalogue"))
            .output()
            .unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{command}: {said}");
        assert!(said.contains("package.toml is what this is made from"), "{command}: {said}");
        assert_eq!(std::fs::read_to_string(&path).unwrap(), text, "{command}");
    }
}

/// What is said of a package in `folder` that asks for these rulesets.
fn judged_by(folder: &Path, rules: &str) -> (Option<i32>, String) {
    std::fs::write(folder.join("lamps.toml"), lamps()).unwrap();
    let text = PACKAGE.replace("CATALOGUE", "lamps.toml").replace("zones-one-level", rules);
    let path = folder.join("package.toml");
    std::fs::write(&path, text).unwrap();
    let output = assert_cmd::Command::cargo_bin("wayproof").unwrap().arg("check").arg(&path).output().unwrap();
    (output.status.code(), String::from_utf8(output.stderr).unwrap())
}

#[test]
fn overlays_lie_beside_the_package_and_extend_what_lies_beside_them() {
    let dir = tempfile::tempdir().unwrap();
    let inside = dir.path().join("vehicle");
    std::fs::create_dir(&inside).unwrap();
    let overlay = std::fs::read_to_string(root().join("demo-data/overlays/kestrow-limits.toml")).unwrap();
    let ruleset = std::fs::read_to_string(root().join("rulesets/zones-one-level.toml")).unwrap();
    let own = ruleset.replace("id = \"zones-one-level\"", "id = \"own-zones\"");
    std::fs::write(inside.join("limits.toml"), &overlay).unwrap();
    assert_ne!(judged_by(&inside, "limits.toml").0, Some(2), "extends a shipped one");

    let extends = |name: &str| overlay.replace("extends = \"zones-one-level\"", &format!("extends = \"{name}\""));
    std::fs::write(inside.join("own.toml"), &own).unwrap();
    std::fs::write(inside.join("limits.toml"), extends("own.toml")).unwrap();
    let (status, said) = judged_by(&inside, "limits.toml");
    assert_ne!(status, Some(2), "{said}");
    // Asked for by its file and extended by its file: one ruleset, and the overlay is applied to it.
    let (status, said) = judged_by(&inside, "own.toml\", \"limits.toml");
    assert!(status != Some(2) && !said.contains("double-ruleset"), "{said}");

    std::fs::write(dir.path().join("own.toml"), &own).unwrap();
    let absolute = dir.path().join("own.toml");
    for name in ["../own.toml", absolute.to_str().unwrap()] {
        std::fs::write(inside.join("limits.toml"), extends(name)).unwrap();
        let (status, said) = judged_by(&inside, "limits.toml");
        assert!(status == Some(2) && said.contains("error[path-leaves]"), "{name}: {said}");
        assert!(said.contains("limits.toml:9"), "{name} names the place: {said}");
    }
    let (status, said) = judged_by(&inside, "../own.toml");
    assert!(status == Some(2) && said.contains("error[path-leaves]"), "{said}");
}

#[test]
fn two_different_rulesets_of_one_name_are_not_judged() {
    let dir = tempfile::tempdir().unwrap();
    let ruleset = std::fs::read_to_string(root().join("rulesets/zones-one-level.toml")).unwrap();
    std::fs::write(dir.path().join("copy.toml"), ruleset.replace("value = 75", "value = 60")).unwrap();
    let (status, said) = judged_by(dir.path(), "zones-one-level\", \"copy.toml");
    assert!(status == Some(2) && said.contains("error[double-ruleset]"), "{said}");
    std::fs::write(dir.path().join("copy.toml"), ruleset).unwrap();
    let (status, said) = judged_by(dir.path(), "zones-one-level\", \"copy.toml");
    assert!(status != Some(2) && said.contains("warning[double-ruleset]"), "{said}");
}

#[test]
fn intensity_files_lie_beside_their_catalogue_and_not_beside_the_package() {
    let dir = tempfile::tempdir().unwrap();
    let (inside, shared) = (dir.path().join("vehicle"), dir.path().join("catalogue"));
    std::fs::create_dir(&inside).unwrap();
    std::fs::create_dir(&shared).unwrap();
    let light = "intensity = { file = \"lamp.csv\", frame = \"vertical-axis\" }";
    let lamps = format!("format = 1\n[[model]]\nid = \"lamp\"\n[[model.emitter]]\ncolour = \"red\"\n{light}\n");
    std::fs::write(shared.join("lamps.toml"), &lamps).unwrap();
    let grid = std::fs::read(root().join("demo-data/catalogue/bumper-lamp-red.csv")).unwrap();
    std::fs::write(inside.join("lamp.csv"), &grid).unwrap();
    let (status, text) = said(&inside, "lamps.toml", &[]);
    assert!(status == Some(2) && text.contains("error[missing-file]") && text.contains("lamps.toml:6"), "{text}");
    std::fs::write(shared.join("lamp.csv"), &grid).unwrap();
    let (status, text) = said(&inside, "lamps.toml", &[]);
    assert_ne!(status, Some(2), "{text}");
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_is_told() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("closed.toml");
    std::fs::write(&path, lamps()).unwrap();
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o000)).unwrap();
    if std::fs::File::open(&path).is_ok() {
        println!("SKIPPED: this user may read everything");
        return;
    }
    let (status, text) = said(dir.path(), "closed.toml", &[]);
    assert!(status == Some(2) && text.contains("error[unreadable]"), "{text}");
}

#[cfg(unix)]
#[test]
fn a_loop_of_links_and_a_link_to_nowhere_are_told() {
    let dir = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink("b.toml", dir.path().join("a.toml")).unwrap();
    std::os::unix::fs::symlink("a.toml", dir.path().join("b.toml")).unwrap();
    std::os::unix::fs::symlink("nowhere", dir.path().join("c.toml")).unwrap();
    for name in ["a.toml", "c.toml"] {
        let (status, text) = said(dir.path(), name, &[]);
        assert!(status == Some(2) && text.contains("error[unreadable]"), "{name}: {text}");
    }
}
