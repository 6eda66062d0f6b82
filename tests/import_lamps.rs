//! Rows of which one lamp, two or none may be meant, and names that two things share: what is made of them, what is `?`, and
//! what is told. Each case is a small sheet.

mod common;

use common::sheets::{as_proposed, cells, confirmed};
use wayproof::import::Imported;

const HEAD: &str = "id,model,colour,behind front (in),right (in),height (in),faces\n";

fn made(sheet: &str) -> Imported {
    as_proposed(sheet.as_bytes(), "sheet.csv")
}

/// Whether something is said of a cell, among what is doubtful or read from words.
fn is_told(all: &Imported, id: &str, what: &str, why: &str) -> bool {
    all.doubts.iter().chain(&all.derived).any(|one| one.id == id && one.what == what && one.why.contains(why))
}

/// The model of each lamp and the colour of each model, as they are written.
fn models(sheet: &str) -> (Vec<String>, Vec<(String, String)>, String) {
    let (dir, text, _) = confirmed("sheet.csv", sheet.as_bytes(), &[], &[]);
    let read = |name: &str| std::fs::read_to_string(dir.path().join("out").join(name)).unwrap();
    let heads = read("heads.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(heads.as_bytes());
    let lamps = reader.records().map(|row| row.unwrap()[1].to_owned()).collect();
    let table: toml::Table = read("models.toml").parse().unwrap();
    let word = |value: &toml::Value| value.as_str().unwrap().to_owned();
    let of = |model: &toml::Value| (word(&model["id"]), word(&model["emitter"][0]["colour"]));
    (lamps, table["model"].as_array().unwrap().iter().map(of).collect(), text)
}

#[test]
fn two_parts_never_share_one_model() {
    for (rows, lamps, expected) in [
        (
            "A,AB 1,red,1,0,40,front\nB,AB/1,blue,1,0,40,front\n",
            ["ab-1", "ab-1-2"],
            [("ab-1", "red"), ("ab-1-2", "blue")],
        ),
        // A part's own name is its id, whatever stands first.
        ("A,x 1,red,1,0,40,front\nB,x-1,blue,1,0,40,front\n", ["x-1-2", "x-1"], [("x-1", "blue"), ("x-1-2", "red")]),
        ("A,X,red,1,0,40,front\nB,X,blue,1,0,40,front\n", ["X-red", "X-blue"], [("X-blue", "blue"), ("X-red", "red")]),
        // Its name says the colour already.
        (
            "A,X-red,red,1,0,40,front\nB,X-red,blue,1,0,40,front\n",
            ["X-red", "X-red-blue"],
            [("X-red", "red"), ("X-red-blue", "blue")],
        ),
    ] {
        let (of_lamps, of_models, text) = models(&format!("{HEAD}{rows}"));
        let of_models: Vec<(&str, &str)> =
            of_models.iter().map(|(id, colour)| (id.as_str(), colour.as_str())).collect();
        assert_eq!((of_lamps, of_models), (lamps.map(str::to_owned).to_vec(), expected.to_vec()), "{rows}: {text}");
        let other = if lamps.iter().any(|lamp| lamp.ends_with("-2")) { "-2`, from `" } else { "several colours" };
        assert!(text.contains(other), "{text}");
    }
    let three = format!("{HEAD}A,X,red,1,0,40,front\nB,X,blue,1,0,40,front\nC,X-red,amber,1,0,40,front\n");
    assert_eq!(models(&three).0, ["X-red-2", "X-blue", "X-red"]);
}

#[test]
fn two_names_in_the_sheet_are_never_one_circuit() {
    let head = "circuit,from,fuse,fuse type,wire size,length\n";
    let rest = "battery,15 A,blade,14 AWG,12 ft\n";
    let all = made(&format!("{head}Front 1,{rest}Front/1,{rest}front 1,{rest}"));
    assert_eq!(all.circuits.len(), 2);
    assert_eq!(cells(&all.circuits, "from"), ["battery", "?"]);
    assert!(all.doubts[0].why.contains("`Front/1` and `Front 1` are both `front-1`"), "{:?}", all.doubts);
    let all = made("id,model,height (in),faces,circuit,output\nA,m,40,front,C/1,A 1\nB,m,40,front,C 1,A/1\n");
    assert_eq!(
        (cells(&all.lamps, "circuit"), cells(&all.lamps, "output")),
        (vec!["c-1".into(), "?".into()], vec!["a-1".to_owned(), "?".to_owned()])
    );
}

#[test]
fn the_left_one_of_a_pair_looks_as_the_left_one_does() {
    let pair = |across: &str, figure: &str, faces: &str, roll: &str| {
        let head = format!("id,model,qty,location,behind front (in),{across} (in),height (in),faces,roll (deg)\n");
        let all = made(&format!("{head}L1,X,2,\"Front corner, both sides\",10,{figure},40,{faces},{roll}\n"));
        assert_eq!((all.lamps.len(), all.lamps[0].cells["mirror"].as_str()), (1, "yes"));
        ["right", "faces", "roll"].map(|name| all.lamps[0].cells.get(name).cloned().unwrap_or_default())
    };
    for (across, figure, faces, roll, expected) in [
        // The row is of the right one: all of it is turned.
        ("right", "30", "45 deg", "2", ["-30 in", "315 deg", "-2 deg"]),
        ("right", "30", "right", "", ["-30 in", "left", ""]),
        ("right", "30", "front", "", ["-30 in", "front", ""]),
        ("right", "30", "315 deg", "", ["-30 in", "?", ""]),
        // It is of the left one.
        ("right", "-30", "315 deg", "-2", ["-30 in", "315 deg", "-2 deg"]),
        ("right", "-30", "45 deg", "", ["-30 in", "?", ""]),
        // It does not say of which.
        ("from centre", "30", "45 deg", "2", ["-30 in", "?", "?"]),
        ("from centre", "30", "180 deg", "0", ["-30 in", "180 deg", "0 deg"]),
        ("from centre", "30", "left", "", ["-30 in", "left", ""]),
    ] {
        assert_eq!(pair(across, figure, faces, roll), expected, "{across} {figure} {faces}");
    }
}

#[test]
fn a_row_of_both_sides_that_says_no_number_is_asked_for() {
    let head = "id,model,location,behind front (in),right (in),height (in),faces\n";
    let all = made(&format!(
        "{head}L1,X,Grille L/R,10,15,40,front\nL2,X,Rear pair,300,15,40,rear\nL3,X,Rear left,300,-15,40,rear\n"
    ));
    assert_eq!(cells(&all.lamps, "right"), ["?", "?", "-15 in"]);
    assert!(is_told(&all, "L1", "right", "is it one of two?"));
}

#[test]
fn a_side_beside_a_figure_is_read() {
    let head = "id,model,location,behind front (in),from centreline (in),height (in),faces\n";
    let rows = "A,X,Bar,1,15 L,40,front\nB,X,Bar,1,43RH,40,front\nC,X,Bar,1,30 L/R,40,front\nD,X,Bar left,1,12 R,40,front\nE,X,Bar left,1,12,40,front\n";
    let all = made(&format!("{head}{rows}"));
    assert_eq!(cells(&all.lamps, "right"), ["-15 in", "43 in", "?", "?", "-12 in"]);
    assert!(is_told(&all, "D", "right", "the words say left"));
    // A side that stands in words alone is read from them, and listed so.
    assert!(is_told(&all, "E", "right", "`-12 in`, from `12` and the place `Bar left`"));
    let right = "id,model,behind front (in),right (in),height (in),faces\nA,X,1,15 L,40,front\nB,X,1,15 R,40,front\nC,X,1,-15 L,40,front\n";
    assert_eq!(cells(&made(right).lamps, "right"), ["-15 in", "15 in", "?"]);
}

#[test]
fn what_remarks_say_of_a_lamp_is_listed_and_asked_for() {
    let head = "id,model,behind front (in),right (in),height (in),faces,notes,wedge (deg)\n";
    for (note, wedge, what) in [
        ("DELETED per change order 2", "", "model"),
        ("spare", "", "model"),
        ("removed 3/12", "", "model"),
        ("VOID", "", "model"),
        ("wedge 4 deg", "", "wedge"),
        ("wedge 4 deg", "4", ""),
        ("beside the spare wheel", "", ""),
        ("see drawing", "", ""),
    ] {
        let sheet = format!("{head}L1,X,10,-20,40,front,{note},{wedge}\n");
        let all = made(&sheet);
        let open: Vec<&str> =
            all.lamps[0].cells.iter().filter(|(_, text)| *text == "?").map(|(name, _)| *name).collect();
        assert_eq!(open.join(" "), what, "{note}");
        let (_, text, _) = confirmed("sheet.csv", sheet.as_bytes(), &[], &[]);
        let (_, below) = text.split_once("Remarks, kept beside them").unwrap_or_else(|| panic!("{note}: {text}"));
        assert!(below.lines().any(|line| line.contains("L1") && line.contains(note)), "{note}: {text}");
    }
    assert_eq!(cells(&made(&format!("{HEAD}L1,SPARE,red,1,0,40,front\n")).lamps, "model"), ["?"]);
}

#[test]
fn what_stands_on_a_side_does_not_light_with_the_front() {
    let head = "id,model,location,behind front (in),right (in),height (in),faces\n";
    for (place, group) in [
        ("LH side front", "side-front"),
        ("Right side rear", "side-rear"),
        ("Front left", "front"),
        ("Left side upper", "upper"),
        ("Rear, both sides", "rear"),
    ] {
        let all = made(&format!("{head}L1,X,\"{place}\",10,-40,40,left\n"));
        assert_eq!(cells(&all.lamps, "groups"), [group], "{place}");
        assert!(is_told(&all, "L1", "groups", place), "{place}");
    }
}

/// Each further row of an id takes the next number that is free.
#[test]
fn many_rows_of_one_id_are_numbered_on() {
    let head = "id,model,behind front (in),right (in),height (in),faces\n";
    let many = 600;
    let all = made(&format!("{head}L1-3,X,10,5,40,front\n{}", "L1,X,10,5,40,front\n".repeat(many)));
    let ids: Vec<&str> = all.lamps.iter().map(|lamp| lamp.id.as_str()).collect();
    assert_eq!(ids[..5], ["L1-3", "L1", "L1-2", "L1-4", "L1-5"]);
    assert_eq!(*ids.last().unwrap(), format!("L1-{}", many + 1));
}
