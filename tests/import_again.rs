//! A sheet that is imported again: whatever would be written otherwise is told, nothing that was read is written over, and
//! nothing is written by halves. And the second way, onto the package that the first import made.

mod common;

use common::sheets::{path, run, small};

const HEAD: &str = "id,model,colour,behind front (in),right (in),height (in),faces,notes,current (A),price\n";
const OLD: &str = "L1,X,red,10,-20,40,front,flush,2,9\nL2,Y,amber,10,20,40,rear,,1,9\n";

/// Imports a sheet, then another with the same mapping; what is said then.
fn again(old: &str, new: &str) -> (tempfile::TempDir, String, i32) {
    let (dir, text, status) = small(old, &[], &[]);
    assert_eq!(status, 3, "{text}");
    std::fs::write(path(&dir, "sheet.csv"), new).unwrap();
    let (text, errors, status) = run(&["import", &path(&dir, "sheet.csv"), "-o", &path(&dir, "out")]);
    (dir, text + &errors, status)
}

fn changes(text: &str) -> Vec<&str> {
    text.lines()
        .filter(|line| ["  changed  ", "  new      ", "  gone     "].iter().any(|word| line.starts_with(word)))
        .collect()
}

#[test]
fn whatever_is_written_is_compared() {
    for (old, new, expected) in [
        ("L1,X,red", "L1,X,blue", "  changed  lamp L1: colour was red, is blue"),
        ("flush", "proud", "  changed  lamp L1: notes was current: 2; flush, is current: 2; proud"),
        ("flush,2", "flush,3", "  changed  lamp L1: notes was current: 2; flush, is current: 3; flush"),
        ("L2,Y,amber,10", "L2,Y,amber,11", "  changed  lamp L2: behind-front was 10 in, is 11 in"),
    ] {
        let (_dir, text, status) = again(&format!("{HEAD}{OLD}"), &format!("{HEAD}{}", OLD.replace(old, new)));
        assert_eq!((changes(&text), status), (vec![expected], 2), "{text}");
        assert!(text.contains("Nothing was written") && text.contains("give it with --onto"), "{text}");
    }
    let circuits = "circuit,from,fuse (A),fuse type,wire size (AWG),length (ft),feeds\nC1,battery,15,blade,14,12,bar\n";
    let (_dir, text, _) = again(circuits, &circuits.replace("bar", "siren"));
    assert_eq!(changes(&text), ["  changed  circuit C1: notes was feeds: bar, is feeds: siren"], "{text}");
}

#[test]
fn a_column_that_nobody_reads_changes_nothing() {
    let (dir, text, status) = again(&format!("{HEAD}{OLD}"), &format!("{HEAD}{}", OLD.replace(",9", ",10")));
    assert!(text.contains("Nothing changed") && text.contains("left as they are"), "{text}");
    assert_eq!(status, 3, "the vehicle is not named yet: {text}");
    // What was written by hand is seen.
    let models = path(&dir, "out/models.toml");
    std::fs::write(&models, std::fs::read_to_string(&models).unwrap() + "# by hand\n").unwrap();
    let (text, _, status) = run(&["import", &path(&dir, "sheet.csv"), "-o", &path(&dir, "out")]);
    assert!(text.contains("No lamp and no circuit changed") && text.contains("models.toml") && status == 2, "{text}");
}

#[test]
fn a_sheet_is_never_written_over() {
    let dir = tempfile::tempdir().unwrap();
    let (sheet, out) = (path(&dir, "heads.csv"), path(&dir, "."));
    std::fs::write(&sheet, format!("{HEAD}{OLD}")).unwrap();
    run(&["import", &sheet, "-o", &out]);
    let mapping = path(&dir, "mapping.toml");
    let text = std::fs::read_to_string(&mapping).unwrap();
    std::fs::write(&mapping, text.replace("confirmed = false", "confirmed = true")).unwrap();
    for more in [&[][..], &["--force"]] {
        let (_, errors, status) = run(&[&["import", &sheet, "-o", &out], more].concat());
        assert!(status == 2 && errors.contains("is what this is made from"), "{errors}");
        assert_eq!(std::fs::read_to_string(&sheet).unwrap(), format!("{HEAD}{OLD}"));
        assert!(!dir.path().join("package.toml").exists());
    }
}

#[test]
fn nothing_is_written_by_halves() {
    let (dir, _, _) = small(&format!("{HEAD}{OLD}"), &[], &[]);
    let out = dir.path().join("out");
    for name in ["package.toml", "heads.csv", "models.toml"] {
        std::fs::remove_file(out.join(name)).unwrap();
    }
    // The last of them cannot be written: a folder is in its place.
    std::fs::create_dir(out.join("models.toml")).unwrap();
    for more in [&[][..], &["--force"]] {
        let args = ["import", &path(&dir, "sheet.csv"), "-o", &path(&dir, "out")];
        let (text, errors, status) = run(&[&args[..], more].concat());
        assert_eq!(status, 2, "{text}{errors}");
        let mut left: Vec<_> = std::fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        left.sort();
        assert_eq!(left, ["mapping.toml", "models.toml"], "{text}{errors}");
    }
}

#[test]
fn onto_the_package_that_it_made_a_sheet_names_the_same_models() {
    let sheet = "id,model,colour,behind front (in),right (in),height (in),faces\nL1,AB 1,red,10,-20,40,front\nL2,AB 1,blue,10,20,40,front\nL3,CD/2,amber,10,30,40,front\nL4,CD 2,amber,10,35,40,front\n";
    let vehicle = [
        ("name = \"\"", "name = \"Case\""),
        ("length = \"\"", "length = \"300 in\""),
        ("width = \"\"", "width = \"90 in\""),
        ("height = \"\"", "height = \"100 in\""),
    ];
    let (dir, text, status) = small(sheet, &vehicle, &[]);
    assert_eq!(status, 0, "{text}");
    let at = |name: &str| path(&dir, name);
    let onto = |sheet: &str| {
        std::fs::write(at("sheet.csv"), sheet).unwrap();
        let (package, mapping) = (at("out/package.toml"), at("out/mapping.toml"));
        let args = ["import", &at("sheet.csv"), "-o", &at("two"), "--onto", &package, "--mapping", &mapping, "--force"];
        let (text, errors, status) = run(&args);
        (text + &errors, status)
    };
    let (text, status) = onto(sheet);
    assert!(status == 0 && text.contains("Nothing changed"), "{text}");
    let lamps = |folder: &str| {
        let text = std::fs::read_to_string(at(&format!("{folder}/heads.csv"))).unwrap();
        let rows = text
            .lines()
            .filter(|line| line.starts_with('L'))
            .map(|line| line.split(',').take(2).collect::<Vec<_>>().join(" "));
        rows.collect::<Vec<_>>()
    };
    assert_eq!(lamps("out"), ["L1 ab-1-red", "L2 ab-1-blue", "L3 cd-2-2", "L4 cd-2"]);
    assert_eq!(lamps("two"), lamps("out"));
    let (_, errors, status) =
        run(&["check", &at("two/package.toml"), "--library", &at("out"), "--rules", "zones-one-level"]);
    assert!(status != 2, "{errors}");
    // A part that no catalogue has is asked for.
    let (text, status) = onto(&sheet.replace("CD/2", "EF/3"));
    assert!(status == 3 && text.contains("no catalogue of the package has `EF/3`"), "{text}");
    // One whose colour was swapped too.
    let (text, status) = onto(&sheet.replace("CD/2,amber", "CD/2,red"));
    assert!(status == 3 && text.contains("L3  "), "{text}");
}

#[test]
fn a_part_that_a_catalogue_has_is_taken_from_it() {
    let sheet = "id,model,colour,behind front (in),right (in),height (in),faces\nL1,edge-lamp-red-amber,red,10,-20,40,front\nL2,edge-lamp-red-amber,amber,10,20,40,front\nL3,EL 5,red,10,30,40,front\nL4,edge-lamp red-blue,red,10,30,40,front\n";
    let vehicle = [
        ("name = \"\"", "name = \"Case\""),
        ("length = \"\"", "length = \"300 in\""),
        ("width = \"\"", "width = \"90 in\""),
        ("height = \"\"", "height = \"100 in\""),
    ];
    let library = ["--library", "demo-data/catalogue"];
    let (dir, text, status) = small(sheet, &vehicle, &library);
    assert_eq!(status, 0, "{text}");
    assert!(text.contains("`edge-lamp-red-amber` of the catalogue edge-lamps.toml"), "{text}");
    assert!(text.contains("package.toml --library demo-data/catalogue"), "{text}");
    let read = |name: &str| std::fs::read_to_string(path(&dir, &format!("out/{name}"))).unwrap();
    let heads = read("heads.csv");
    for row in ["L1,edge-lamp-red-amber,", "L2,edge-lamp-red-amber,", "L3,el-5,", "L4,edge-lamp-red-blue-2,"] {
        assert!(heads.contains(row), "{row}: {heads}");
    }
    assert!(text.contains("and `edge-lamp-red-blue` is another"), "{text}");
    let models: toml::Table = read("models.toml").parse().unwrap();
    let made: Vec<&str> = models["model"].as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap()).collect();
    assert_eq!(made, ["edge-lamp-red-blue-2", "el-5"]);
    let package = path(&dir, "out/package.toml");
    let (_, errors, status) = run(&[&["check", &package, "--rules", "zones-one-level"], &library[..]].concat());
    assert!(status != 2, "{errors}");
    // The same again is no change.
    let (again, _, _) = run(&[&["import", &path(&dir, "sheet.csv"), "-o", &path(&dir, "out")], &library[..]].concat());
    assert!(again.contains("Nothing changed against"), "{again}");
    // A colour that it does not show is asked for.
    let (_, text, status) = small(&sheet.replace("amber,amber", "amber,blue"), &vehicle, &library);
    assert!(
        status == 3 && text.contains("the sheet says blue, `edge-lamp-red-amber` of the catalogue shows red amber"),
        "{text}"
    );
}
