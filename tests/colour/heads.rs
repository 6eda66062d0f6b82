//! What is found of the heads of a vehicle: in which regions the light of each lies, on what evidence, with how much room.

use wayproof::judge::{Finding, Found, Verdict};
use wayproof::package::Grade;
use wayproof::ruleset::Basis;

use super::common::{close, finding, judge_files};
use super::light::gaussian;

const RULES: &str = r#"
format = 1
[ruleset]
id = "lamp-colours"
title = "Colours of lamps"
edition = "1"
defers-to = "the authority having jurisdiction"
[[document]]
id = "bid"
title = "A bid"
edition = "3"
[[region]]
id = "deep-red"
title = "red beyond 620 nm"
cite = { document = "bid", clause = "4", basis = "read" }
edges = [
  { name = "yellow", line = "y = 0.308", from = [0.692, 0.308] },
  { name = "purple", line = "y = 0.98 - x", from = [0.672, 0.308] },
  { along = "spectral-locus", from = [0.721, 0.259] },
]
[[rule]]
id = "colour"
says = "Each lamp shows a colour that the documents mean by its name."
quantity = "chromaticity-regions"
unit = "words"
require = "some-of"
cite = { document = "bid", clause = "4", basis = "read" }
limits = [{ colours = { red = ["red-3-digit", "red-widened"], amber = ["amber"], blue = ["blue-r65"] } }]
[[rule]]
id = "deep"
says = "Red lamps are deep red."
quantity = "chromaticity-regions"
unit = "words"
require = "some-of"
strength = "advice"
cite = { document = "bid", clause = "4", basis = "read" }
limits = [{ colours = { red = ["deep-red"] } }]
"#;

const VEHICLE: &str = r#"
format = 1
rules = ["colours.toml"]
catalogues = ["lamps.toml"]
[vehicle]
name = "Sample"
length = "230 in"
width = "80 in"
height = "77 in"
[[head]]
id = "front"
model = "lamp"
at = { behind-front = "2 in", right = "0 in", height = "40 in" }
faces = "front"
[[display]]
id = "all"
show = [{ head = "front", colour = "COLOUR", pattern = "steady" }]
[[mode]]
id = "responding"
purpose = "calling"
displays = ["all"]
"#;

const LAMP: &str = r#"
format = 1
[[model]]
id = "lamp"
[[model.emitter]]
colour = "COLOUR"
declared = { axis = "900 cd", half-angle = "20 deg" }
evidence = { grade = "estimate" }
"#;

/// What is found of a lamp whose catalogue states its colour so, and its grade.
fn found_as(rule: &str, colour: &str, grade: &str, stated: &str) -> Finding {
    let lamp =
        LAMP.replace("COLOUR", colour).replace("declared = { axis = \"900 cd\", half-angle = \"20 deg\" }\n", "");
    let lamp = format!("{}{stated}\n", lamp.replace("\"estimate\"", &format!("\"{grade}\"")));
    let spectrum: String =
        (380..=780).map(|nm| format!("{nm},{:.6}\n", gaussian(630.0, 20.0)(f64::from(nm)))).collect();
    let files = [
        ("package.toml", VEHICLE.replace("COLOUR", colour)),
        ("colours.toml", RULES.to_owned()),
        ("lamps.toml", lamp),
        ("lamp.csv", format!("nm,value\n{spectrum}")),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
    finding(&judge_files(&files), &format!("lamp-colours:{rule}@front/{colour}")).clone()
}

fn found(colour: &str, stated: &str) -> Finding {
    found_as("colour", colour, "laboratory", stated)
}

fn words(finding: &Finding) -> Vec<&str> {
    match &finding.found {
        Found::Words(words) => words.iter().map(String::as_str).collect(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_red_lamp_lies_in_both_reds_with_the_room_to_the_nearest_limit() {
    let red = found("red", "chromaticity = [0.690, 0.305]");
    assert_eq!((red.verdict, red.evidence), (Verdict::Pass, Some(Grade::Laboratory)));
    assert_eq!(words(&red), ["red-3-digit", "red-widened"]);
    // To the purple edge; the locus, which is nearer, is no limit that a lamp could cross.
    assert!(close(red.margin.unwrap(), (0.690 + 0.305 - 0.98) / 2_f64.sqrt(), 1e-9), "{:?}", red.margin);
    let said = "x 0.6900, y 0.3050, as the catalogue states it, lies 0.0106 inside `red-3-digit`, nearest edge: purple";
    assert_eq!(red.notes, [said]);
    assert_eq!(red.source.basis, Basis::SecondHand, "the rule was read, the regions were not");
}

#[test]
fn a_lamp_outside_fails_by_how_far_it_lies_outside() {
    let orange = found("red", "chromaticity = [0.630, 0.360]");
    assert_eq!(orange.verdict, Verdict::Fail);
    assert!(words(&orange).is_empty());
    assert!(close(orange.margin.unwrap(), 0.34 - 0.36, 1e-9), "{:?}", orange.margin);
    assert!(orange.notes[0].contains("lies 0.0200 outside `red-widened`, nearest edge: yellow"), "{:?}", orange.notes);
    let blue = found("blue", "chromaticity = [0.155, 0.260]");
    assert_eq!(blue.verdict, Verdict::Fail, "signal blue is no restricted blue");
    assert_eq!(blue.source.basis, Basis::Memory);
}

#[test]
fn within_the_uncertainty_nothing_is_shown() {
    let near = found("amber", "chromaticity = [0.575, 0.403]");
    assert_eq!(near.verdict, Verdict::NotShown);
    assert!(close(near.margin.unwrap(), (0.79 - 0.67 * 0.575 - 0.403) / -1.0_f64.hypot(0.67), 1e-9));
    let far = found("amber", "chromaticity = [0.600, 0.392]");
    assert_eq!((far.verdict, words(&far).len()), (Verdict::NotShown, 0));
    assert!(close(far.margin.unwrap(), 0.002, 1e-9), "{:?}", far.margin);
    assert!(far.notes[1].contains("within the usual (practice) uncertainty of 0.003"), "{:?}", far.notes);
    assert!(far.would_show.unwrap().contains("chromaticity-uncertainty"));
    let sure = found("amber", "chromaticity = [0.600, 0.392]\nchromaticity-uncertainty = 0.0015");
    assert_eq!((sure.verdict, words(&sure)), (Verdict::Pass, vec!["amber"]));
    let unsure = found("amber", "chromaticity = [0.575, 0.420]\nchromaticity-uncertainty = 0.02");
    assert_eq!(unsure.verdict, Verdict::NotShown);
    assert!(unsure.notes[1].contains("within the stated uncertainty of 0.02"), "{:?}", unsure.notes);
    // In a wider region that is asked for too there is no doubt.
    assert_eq!(found("red", "chromaticity = [0.665, 0.334]").verdict, Verdict::Pass);
}

#[test]
fn evidence_has_four_strengths() {
    let spectrum = found("red", "spectrum = \"lamp.csv\"");
    assert_eq!((spectrum.verdict, spectrum.evidence), (Verdict::Pass, Some(Grade::Laboratory)));
    assert!(spectrum.notes[0].starts_with("x 0.7026, y 0.2973, computed from the spectrum `lamp.csv`, lies"));
    let wavelength = found("red", "dominant-wavelength = \"626 nm\"");
    assert_eq!((wavelength.verdict, wavelength.evidence), (Verdict::Pass, Some(Grade::Estimate)));
    assert!(wavelength.notes[0].contains("from the dominant wavelength 626 nm alone,"), "{:?}", wavelength.notes);
    assert!(wavelength.notes[1].contains("taken as pure light"), "{:?}", wavelength.notes);
    let pure = found("red", "dominant-wavelength = { at = \"626 nm\", purity = \"99 %\" }");
    assert_eq!((pure.verdict, pure.evidence), (Verdict::Pass, Some(Grade::Laboratory)));
    assert!(pure.notes[0].contains("626 nm and a purity of 99 %,") && pure.notes.len() == 1, "{:?}", pure.notes);
    let pale = found("red", "dominant-wavelength = { at = \"626 nm\", purity = \"80 %\" }");
    assert_eq!(pale.verdict, Verdict::Fail, "a pale red is pink: {:?}", pale.notes);
    for (stated, known) in [("claims-colour = \"red of J578\"", "claims `red of J578`"), ("", "states no chromaticity")]
    {
        let claimed = found("red", stated);
        assert_eq!((claimed.verdict, claimed.margin, claimed.evidence), (Verdict::NotShown, None, None));
        assert!(claimed.notes[0].contains(known), "{:?}", claimed.notes);
        assert!(claimed.would_show.unwrap().contains("for example chromaticity = [0.690, 0.305]"));
    }
}

/// A figure to three digits may lie a hair beyond the locus; it is taken as the nearest that a light can have.
#[test]
fn rounding_out_of_the_locus_is_said_and_judged() {
    let rounded = found("red", "chromaticity = [0.703, 0.297]");
    assert_eq!(rounded.verdict, Verdict::Pass);
    assert!(rounded.notes[1].contains("outside the spectral locus, where no light lies"), "{:?}", rounded.notes);
}

#[test]
fn a_region_of_ones_own_is_asked_for_by_its_name() {
    let deep = found_as("deep", "red", "maker", "chromaticity = [0.703, 0.2965]");
    assert_eq!((deep.verdict, deep.evidence), (Verdict::Pass, Some(Grade::Maker)));
    assert_eq!(deep.source.basis, Basis::Read);
    assert_eq!(found_as("deep", "red", "maker", "chromaticity = [0.680, 0.318]").verdict, Verdict::Fail);
}

/// A colour that no row speaks of is asked nothing.
#[test]
fn colours_without_a_row_have_no_finding() {
    let files = [
        ("package.toml", VEHICLE.replace("COLOUR", "green")),
        ("colours.toml", RULES.to_owned()),
        ("lamps.toml", LAMP.replace("COLOUR", "green")),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let judged = judge_files(&files);
    let of_heads: Vec<&str> =
        judged.findings.iter().filter(|finding| finding.scope.head.is_some()).map(|one| one.id.as_str()).collect();
    assert!(of_heads.is_empty(), "{of_heads:?}");
}

/// An overlay may change the regions that are asked for, and bring a region and a rule of its own.
#[test]
fn an_overlay_asks_for_other_regions() {
    let overlay = r#"
format = 1
[overlay]
id = "yard"
title = "The yard's colours"
edition = "1"
extends = "colours.toml"
authority = "the yard"
reference = "letter 2"
[[region]]
id = "yard-red"
title = "red of the yard"
cite = { own = "our lamps are redder" }
edges = [
  { name = "yellow", line = "y = 0.31", from = [0.690, 0.310] },
  { name = "purple", line = "y = 0.98 - x", from = [0.670, 0.310] },
  { along = "spectral-locus", from = [0.721, 0.259] },
]
[[change]]
rule = "colour"
cite = { own = "our lamps are older" }
limits = [{ colours = { red = ["red-2-digit"] } }]
[[rule]]
id = "yard-colour"
says = "Red lamps are as red as the yard's."
quantity = "chromaticity-regions"
unit = "words"
require = "some-of"
cite = { own = "our lamps are redder" }
limits = [{ colours = { red = ["yard-red"] } }]
"#;
    let files = [
        ("package.toml", VEHICLE.replace("COLOUR", "red").replace("colours.toml", "yard.toml")),
        ("colours.toml", RULES.to_owned()),
        ("yard.toml", overlay.to_owned()),
        ("lamps.toml", format!("{}chromaticity = [0.660, 0.332]\n", LAMP.replace("COLOUR", "red"))),
    ];
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let judged = judge_files(&files);
    let red = finding(&judged, "lamp-colours:colour@front/red");
    assert_eq!((red.verdict, red.margin.map(|margin| (margin * 1e4).round())), (Verdict::NotShown, Some(-20.0)));
    let yard = finding(&judged, "lamp-colours:yard-colour@front/red");
    assert_eq!((yard.verdict, yard.source.basis), (Verdict::Fail, Basis::Practice));
}
