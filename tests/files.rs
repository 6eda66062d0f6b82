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
