//! Real laboratory files from outside, and intensities computed from them by another program.
//!
//! The files are not in this repository. The variable WAYPROOF_OUTSIDE_DATA names a folder that holds the unpacked
//! source archive `photompy-0.3.1` (PyPI, MIT licence); without it these tests say that they were skipped.

// A test may fail loudly.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use wayproof::photometry::{Direction, Fault, Frame, Goniometer, Read, ReadError, Zero, read_eulumdat, read_lm63};
use wayproof::units::Degrees;

/// tests/reference/photometry/README.md says where the values come from.
const SAMPLES: &str = include_str!("reference/photometry/photometric_samples.csv");

fn folder() -> Option<PathBuf> {
    let Some(root) = std::env::var_os("WAYPROOF_OUTSIDE_DATA") else {
        // Straight to standard error: what a passing test prints with the macros is not shown.
        let _ = writeln!(
            std::io::stderr(),
            "SKIPPED: WAYPROOF_OUTSIDE_DATA is not set, so no real photometric files were read"
        );
        return None;
    };
    let folder = Path::new(&root).join("photompy-0.3.1/tests/data");
    assert!(folder.is_dir(), "WAYPROOF_OUTSIDE_DATA is set, but there is no {}", folder.display());
    Some(folder)
}

fn bytes(folder: &Path, name: &str) -> Vec<u8> {
    std::fs::read(folder.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

/// As a face-down lamp with C0 up, for data in C and gamma.
fn read(name: &str, bytes: &[u8]) -> Result<Read, ReadError> {
    let h_and_v = name.starts_with("type_");
    let (frame, zero) = if h_and_v { (None, None) } else { (Some(Frame::BeamAxis), Some(Zero::Up)) };
    if name.ends_with(".ldt") { read_eulumdat(bytes, frame, zero) } else { read_lm63(bytes, frame, zero) }
}

/// The file without the one line that says in which unit its values are.
fn without_unit_keyword(bytes: &[u8]) -> Vec<u8> {
    let lines = bytes.split_inclusive(|byte| *byte == b'\n');
    lines.filter(|line| !line.starts_with(b"[_INTENSITYUNITS]")).flatten().copied().collect()
}

#[test]
fn sampled_intensities_meet_those_of_another_program() {
    let Some(folder) = folder() else { return };
    let mut reads: BTreeMap<&str, Read> = BTreeMap::new();
    let mut compared = BTreeMap::new();
    for row in SAMPLES.lines().skip(1) {
        let cells: Vec<&str> = row.split(',').collect();
        let [file, c, gamma, wanted] = cells[..] else { panic!("{row}") };
        let [c, gamma, wanted] = [c, gamma, wanted].map(|cell| cell.parse::<f64>().unwrap());
        let read = reads.entry(file).or_insert_with(|| {
            let bytes = bytes(&folder, file);
            // Two of the files are in mW/sr, and refused (below); their numbers are compared all the same.
            read(file, &without_unit_keyword(&bytes)).unwrap_or_else(|error| panic!("{file}: {error}"))
        });
        let face_down = Goniometer::FaceDown { turned: Degrees::ZERO };
        let direction = face_down.direction(Degrees::new(c), Degrees::new(gamma));
        // The other program, at the pole, takes the plane that it was asked for; here that is plane 0.
        assert!(gamma > 0.0 || c == 0.0, "{row}");
        let found = read.distribution.at(direction).unwrap_or_else(|| panic!("no data: {row}")).value();
        // Six decimals are printed.
        assert!((found - wanted).abs() <= 6e-7, "{row}: {found}");
        *compared.entry(file).or_insert(0) += 1;
    }
    assert_eq!(compared.len(), 6);
    assert!(compared.values().all(|count| *count == 11), "{compared:?}");
}

#[test]
fn every_file_is_read_or_refused_for_its_reason() {
    let Some(folder) = folder() else { return };
    let mut names = Vec::new();
    for sub in ["", "photometric-viewer-ies", "photometric-viewer-ldt"] {
        for entry in std::fs::read_dir(folder.join(sub)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|extension| extension == "ies" || extension == "ldt") {
                names.push(path.strip_prefix(&folder).unwrap().to_str().unwrap().replace('\\', "/"));
            }
        }
    }
    names.sort();
    assert_eq!(names.len(), 53, "{names:?}");

    let refused = BTreeMap::from([
        // The keyword [_INTENSITYUNITS] says mW/sr.
        ("B1 module.ies", Fault::Unit),
        ("B1.5 module.ies", Fault::Unit),
        ("LLIA001477-002.ies", Fault::Unit),
        ("LLIA001477-003.ies", Fault::Unit),
        ("sample_A.ies", Fault::Unit),
        ("sample_B.ies", Fault::Unit),
        ("write_test_full.ies", Fault::Unit),
        ("write_test_original.ies", Fault::Unit),
        // Tilt factors other than 1.
        ("tilt_include_geometry2.ies", Fault::Tilt),
        ("tilt_include_geometry3.ies", Fault::Tilt),
        ("tilt_include_v19.ies", Fault::Tilt),
        // Without the ten direct ratios that the format has, so that every later line is another than it should be.
        ("sample_ldt.ldt", Fault::Count),
        ("sample_ldt_axial.ldt", Fault::Count),
    ]);
    let mut wrong = Vec::new();
    for name in &names {
        let result = read(name, &bytes(&folder, name));
        match (&result, refused.get(name.as_str())) {
            (Ok(read), None) => {
                // None of these speaks of radiometric units.
                if read.notes.iter().any(|note| note.message.contains("radiometric")) {
                    wrong.push(format!("{name}: {:?}", read.notes));
                }
            }
            (Err(error), Some(fault)) if error.fault == *fault => {}
            _ => wrong.push(format!("{name}: {:?}", result.map(|read| read.notes))),
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn mw_per_sr_in_free_text_alone_is_a_warning() {
    let Some(folder) = folder() else { return };
    // Each says it twice, in a keyword and in prose; here only the prose is left.
    for name in ["B1 module.ies", "B1.5 module.ies", "LLIA001477-002.ies", "sample_A.ies", "write_test_original.ies"] {
        let read =
            read(name, &without_unit_keyword(&bytes(&folder, name))).unwrap_or_else(|error| panic!("{name}: {error}"));
        let warnings = read.notes.iter().filter(|note| note.message.contains("radiometric")).count();
        assert_eq!(warnings, 1, "{name}: {:?}", read.notes);
    }
}

#[test]
fn types_a_and_b_are_read_in_their_own_frames() {
    let Some(folder) = folder() else { return };
    let h_v = |h, v| Direction::from_h_v(Degrees::new(h), Degrees::new(v));
    let a = read("type_a_symmetric.ies", &bytes(&folder, "type_a_symmetric.ies")).unwrap().distribution;
    // Second H (22.5), third V (45); the left mirrors the right; below 0 nothing was measured.
    let cd = |direction| a.at(direction).map(|candela| candela.value());
    assert_eq!((cd(h_v(22.5, 45.0)), cd(h_v(-22.5, 45.0))), (Some(7500.0), Some(7500.0)));
    assert_eq!(cd(h_v(0.0, -1.0)), None);

    let b = read("type_b_full.ies", &bytes(&folder, "type_b_full.ies")).unwrap().distribution;
    let at = |h, v| Goniometer::HorizontalAxis.direction(Degrees::new(h), Degrees::new(v));
    let cd = |direction| b.at(direction).map(|candela| candela.value());
    assert_eq!((cd(at(22.5, -45.0)), cd(at(-22.5, 45.0))), (Some(7500.0), Some(7500.0)));
    assert_eq!(cd(h_v(0.0, 0.0)), Some(25000.0));
}
