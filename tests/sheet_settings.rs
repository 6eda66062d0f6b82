//! What a sheet sends a person to do: the safest of the settings that show the same, one in which a line can fail, what to
//! take care of before the first line, and sheets with some lines left out.

mod common;

use std::path::Path;

use assert_cmd::Command;
use common::{load_file, root, terms};
use wayproof::judge::{Found, judge};
use wayproof::logic::{Region, Space};
use wayproof::measure::Conduct;
use wayproof::quantity::Proof;
use wayproof::readings::{Line, lines};

const DEMOS: [&str; 4] = ["rescue-4", "brush-2", "medic-6", "amber-9"];

fn sheet<T>(demo: &str, with: impl Fn(&Conduct<'_>, &[Line]) -> T) -> T {
    let (package, rulesets) = load_file(&root().join(format!("demo-data/{demo}/package.toml")), &[]);
    let conduct = Conduct::new(&package);
    let judged = judge(&conduct, &rulesets, terms());
    with(&conduct, &lines(&conduct, &rulesets, &judged))
}

/// The states that a setting in words leaves, read back from the words of the package's inputs.
fn states(space: &Space, words: &str) -> Region {
    words.split(", ").fold(space.allowed().clone(), |states, word| {
        let inputs = space.inputs().list.iter().enumerate();
        let known = inputs
            .flat_map(|(at, input)| input.positions.iter().enumerate().map(move |(place, one)| (at, place, &one.words)))
            .find(|(_, _, known)| *known == word);
        let (input, place, _) = known.unwrap_or_else(|| panic!("no input is set by `{word}`"));
        space.and(&states, &space.with(input, place))
    })
}

/// Lines with a setting of their own, and its states.
fn set(conduct: &Conduct<'_>, lines: &[Line]) -> Vec<(Line, Region)> {
    let own = lines.iter().filter(|line| line.state.as_ref().is_some_and(|state| !state.starts_with("each mode")));
    own.map(|line| (line.clone(), states(conduct.space(), line.state.as_deref().unwrap_or_default()))).collect()
}

#[test]
fn every_setting_can_occur_and_says_what_is_dangerous_in_it() {
    for demo in DEMOS {
        sheet(demo, |conduct, lines| {
            let space = conduct.space();
            let place =
                |id: &str| space.inputs().list.iter().position(|input| input.means.is_some() && input.id.contains(id));
            let (park, reverse) = (place("park"), place("reverse"));
            let sounds = conduct.sounds().sounding(space, |_| true);
            let mut dangers = 0;
            for (line, states) in set(conduct, lines) {
                assert!(!states.is_empty(), "{demo}: {}: {:?} cannot occur", line.id, line.state);
                let says = |word: &str| line.care.iter().any(|care| care.starts_with(word));
                let within = |region: &Region| space.minus(&states, region).is_empty();
                if let Some(reverse) = reverse {
                    assert_eq!(says("REVERSE GEAR IN"), within(&space.with(reverse, 1)), "{demo}: {}", line.id);
                }
                if let Some(park) = park {
                    assert_eq!(says("PARKING BRAKE OUT"), within(&space.with(park, 0)), "{demo}: {}", line.id);
                }
                let is_level = line.unit.symbol().starts_with("dB");
                assert!(says("IT SOUNDS") || !within(&sounds), "{demo}: {}", line.id);
                assert!(!says("IT SOUNDS") || within(&sounds) || is_level, "{demo}: {}", line.id);
                dangers += usize::from(!line.care.is_empty());
            }
            assert!(dangers > 2, "{demo}: {dangers}");
            for line in lines.iter().filter(|line| line.unit.symbol().starts_with("dB") && line.proof == Proof::Measure)
            {
                assert!(line.care.iter().any(|care| care.contains("ears protected")), "{demo}: {}", line.id);
            }
        });
    }
}

/// A person leaves at rest what a line does not name: then the vehicle is in a state that can occur.
#[test]
fn what_a_setting_does_not_name_can_stay_at_rest() {
    for demo in DEMOS {
        sheet(demo, |conduct, lines| {
            let space = conduct.space();
            let inputs = &space.inputs().list;
            let park = |at: usize| inputs[at].means.is_some() && inputs[at].id.contains("park");
            for (line, states) in set(conduct, lines) {
                let rest = (0..inputs.len()).fold(states.clone(), |left, at| {
                    let named = (0..inputs[at].positions.len()).any(|place| {
                        line.state.as_deref().unwrap().split(", ").any(|word| word == inputs[at].positions[place].words)
                    });
                    if named { left } else { space.and(&left, &space.with(at, usize::from(park(at)))) }
                });
                assert!(!rest.is_empty(), "{demo}: {}: {:?} and all else at rest cannot occur", line.id, line.state);
            }
        });
    }
}

/// Reverse and sirens only where the circuit itself, or what is measured on it, hangs on them.
#[test]
fn nobody_is_sent_behind_a_truck_in_reverse_for_what_reverse_does_not_change() {
    sheet("rescue-4", |_, lines| {
        for line in lines {
            let state = line.state.as_deref().unwrap_or_default();
            let of = line.of.first().map(String::as_str).unwrap_or_default();
            if state.contains("reverse gear in") {
                assert!(of == "back-up-alarm" || line.id.starts_with("back-up-alarms:"), "{}: {state}", line.id);
            }
            if state.contains("siren selector wail") || state.contains("horn pressed") {
                let hangs = ["siren", "horn", "cab-feed", "controller", "front-warning", "chassis"].contains(&of);
                assert!(hangs || line.id.contains("siren") || line.id.contains("exposure"), "{}: {state}", line.id);
            }
        }
        let side = lines.iter().find(|line| line.id == "supply-12v:fuse-continuous@side-warning").unwrap();
        assert!(side.care.is_empty(), "{:?}", side.state);
    });
    // What always draws the same is read with everything at rest.
    sheet("medic-6", |_, lines| {
        let medical = lines.iter().find(|line| line.id == "supply-12v:fuse-continuous@medical").unwrap();
        assert!(medical.care.is_empty() && medical.state.is_none(), "{:?}", medical.state);
    });
}

/// The greatest RMS current of a circuit over the voltages, in each case that some states leave.
fn drawn(conduct: &Conduct<'_>, circuit: &str, states: &Region) -> Vec<f64> {
    let power = conduct.power().unwrap();
    let at = power.supply.circuits.iter().position(|known| known.id == circuit).unwrap();
    let (tree, place) = power.of_circuit(at).unwrap();
    let cases = tree.cases.iter().filter(|case| conduct.space().meet(&case.region, states));
    let most = cases.map(|case| {
        let flows = case.flows.iter().filter_map(|flows| Some(flows.flows.as_ref()?.get(place)?.rms.high));
        flows.fold(0.0, f64::max)
    });
    most.collect()
}

/// What the chosen setting draws, found from the solved circuits, is what stands on the line.
#[test]
fn the_chosen_setting_shows_the_value_that_is_printed_beside_it() {
    for demo in DEMOS {
        sheet(demo, |conduct, lines| {
            let mut compared = 0;
            for (line, states) in set(conduct, lines) {
                let Found::Number(amperes) = line.expected else { continue };
                if line.unit.symbol() != "A" || line.of.len() != 1 || !line.id.contains(":fuse-continuous@") {
                    continue;
                }
                for most in drawn(conduct, &line.of[0], &states) {
                    assert!((most - amperes).abs() <= 0.01 * amperes, "{demo}: {}: {most} A, not {amperes} A", line.id);
                }
                compared += 1;
            }
            assert!(compared >= 5, "{demo}: {compared}");
        });
    }
}

#[test]
fn nobody_is_sent_where_a_line_cannot_fail() {
    for demo in DEMOS {
        sheet(demo, |conduct, lines| {
            let mut pulses = 0;
            for (line, states) in set(conduct, lines).iter().filter(|(line, _)| line.id.contains(":fuse-pulses@")) {
                // Where nothing flows no fuse is overloaded.
                let most = drawn(conduct, &line.of[0], conduct.space().allowed()).into_iter().fold(0.0, f64::max);
                let here = drawn(conduct, &line.of[0], states).into_iter().fold(f64::INFINITY, f64::min);
                assert!(here >= 0.99 * most, "{demo}: {}: {here} A in {:?}, of {most} A", line.id, line.state);
                pulses += 1;
            }
            assert!(pulses > 3, "{demo}: {pulses}");
        });
    }
    sheet("amber-9", |_, lines| {
        let line = lines.iter().find(|line| line.id == "road-service-amber:colours-of-others@front").unwrap();
        let state = line.state.as_deref().unwrap();
        for mode in ["each mode in turn", "on-the-move (warning on, park out)", "at-scene (warning on, park in)"] {
            assert!(state.contains(mode), "{state}");
        }
    });
}

fn report(demo: &str, file: &Path, more: &[&str]) -> (Option<i32>, String) {
    let package = format!("demo-data/{demo}/package.toml");
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command
        .current_dir(root())
        .args(["report", &package, "--as-of", "2026-11-25", "--force", "-o"])
        .arg(file)
        .args(more);
    let output = command.output().unwrap();
    (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
}

#[test]
fn what_to_take_care_of_stands_before_the_first_line() {
    let dir = tempfile::tempdir().unwrap();
    for (ending, first) in
        [("html", "<code>zones-two-level:colours</code>"), ("csv", "\nzones-two-level:"), ("toml", "[[reading]]")]
    {
        let file = dir.path().join(format!("sheet.{ending}"));
        assert_eq!(report("rescue-4", &file, &["--as", "sheet"]), (Some(0), String::new()));
        let text = std::fs::read_to_string(&file).unwrap();
        let (before, _) = text.split_once(first).unwrap_or_else(|| panic!("{ending}: no line"));
        for word in [
            "wheels blocked",
            "somebody at the brake",
            "Ears protected",
            "lit lamps",
            "sirens and horns damage hearing",
        ] {
            assert!(before.contains(word), "{ending}: {word}");
        }
    }
}

#[test]
fn lines_that_are_left_out_are_told_and_stay_unread() {
    let dir = tempfile::tempdir().unwrap();
    let [whole, short] = ["whole.toml", "short.toml"].map(|name| dir.path().join(name));
    report("rescue-4", &whole, &["--as", "sheet"]);
    let (status, said) = report("rescue-4", &short, &["--as", "sheet", "--leave-out", "advice,papers"]);
    assert_eq!(status, Some(0), "{said}");
    let [whole, text] = [&whole, &short].map(|file| std::fs::read_to_string(file).unwrap());
    let count = |text: &str| text.matches("[[reading]]").count();
    let told = text.lines().find(|line| line.contains("Left out of this sheet")).unwrap();
    let left: usize = told.split_whitespace().filter_map(|word| word.parse::<usize>().ok()).sum();
    assert!(left > 50 && count(&whole) - count(&text) == left, "{told}");
    assert!(!text.contains("vehicle:papers@") && whole.contains("vehicle:papers@"));
    // It is read back; what it leaves out was not read.
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(root()).args(["readings", "demo-data/rescue-4/package.toml"]).arg(&short);
    let output = command.args(["--as-of", "2026-11-25"]).output().unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", String::from_utf8_lossy(&output.stderr));
    let read = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(read.contains("not read"), "{read}");
    let (status, said) = report("rescue-4", &dir.path().join("r.html"), &["--as", "page", "--leave-out", "advice"]);
    assert_eq!(status, Some(2));
    assert!(said.contains("--leave-out is for a sheet"), "{said}");
}
