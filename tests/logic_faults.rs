//! The faults planted in the logic of a demo package are found, all and only, and the state that each finding tells a
//! person to set is the shortest that shows it.
//!
//! Minimal means: every state with these inputs set shows the finding, and without any one of them some state does
//! not. Both halves are tried state by state, once here with conditions asked one by one and once by
//! `tests/reference/logic_states.py`.

mod common;

use std::collections::{BTreeSet, HashMap};

use common::oracle::rows_of;
use common::{load_file, root, rows, terms};
use wayproof::judge::{Finding, Verdict, judge};
use wayproof::logic::{Condition, Setting};
use wayproof::measure::{Boundary, Conduct, Looks, Survey};
use wayproof::package::{Package, Role};
use wayproof::quantity::{Ask, Measure, Measured, Value, find};
use wayproof::ruleset::{Demand, Require, Ruleset, Strength};

/// What cannot occur, as both packages say it.
const NEVER: &str = "reverse and parked";

fn file(package: &str) -> String {
    format!("demo-data/{package}/package.toml")
}

/// Findings that fail or are open, missing limits aside.
fn found(package: &str) -> (Package, Vec<Ruleset>, Vec<Finding>) {
    let (package, rulesets) = load_file(&root().join(file(package)), &[]);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    let open = |finding: &Finding| {
        let missing = matches!(finding.limit, Demand::Missing { .. });
        let open = matches!(finding.verdict, Verdict::Fail | Verdict::TooClose | Verdict::NotShown);
        finding.strength == Strength::Required && open && !missing
    };
    let findings = judged.findings.into_iter().filter(open).collect();
    (package, rulesets, findings)
}

#[test]
fn planted_faults_are_found_all_and_only() {
    let (_, _, findings) = found("rescue-4-logic-faults");
    let expected = rows(&root().join("demo-data/rescue-4-logic-faults/expected.csv"));
    let reasons: Vec<&String> = expected.iter().map(|row| &row["why"]).collect();
    assert!(reasons.iter().all(|why| why.contains("fault")), "each says which fault shows: {reasons:?}");
    for fault in 1..=7 {
        assert!(reasons.iter().any(|why| why.contains(&fault.to_string())), "fault {fault} shows");
    }
    let expected: BTreeSet<(String, String)> =
        expected.into_iter().map(|row| (row["finding"].clone(), row["verdict"].clone())).collect();
    let found: BTreeSet<(String, String)> =
        findings.iter().map(|finding| (finding.id.clone(), finding.verdict.word().to_owned())).collect();
    assert_eq!(found, expected);
}

/// Every allowed state of a package, each a position for every input.
struct States<'a> {
    package: &'a Package,
    all: Vec<Vec<usize>>,
}

impl<'a> States<'a> {
    fn new(package: &'a Package) -> Self {
        let inputs = package.space.inputs();
        let never = Condition::parse(NEVER, inputs).unwrap();
        let mut all: Vec<Vec<usize>> = vec![Vec::new()];
        for input in &inputs.list {
            let longer = |state: &Vec<usize>| -> Vec<Vec<usize>> {
                (0..input.positions.len()).map(|at| [state.as_slice(), &[at]].concat()).collect()
            };
            all = all.iter().flat_map(longer).collect();
        }
        all.retain(|state| !never.holds(state));
        Self { package, all }
    }

    fn condition(&self, text: &str) -> Condition {
        Condition::parse(text, self.package.space.inputs()).unwrap()
    }

    fn serves(&self, state: &[usize], purpose: &str) -> bool {
        let modes = self.package.modes.iter().filter(|mode| mode.purpose.as_deref() == Some(purpose));
        modes
            .into_iter()
            .any(|mode| mode.when.holds(state) && mode.assume.as_ref().is_none_or(|assume| assume.holds(state)))
    }

    /// Words of a state back to inputs and positions.
    fn setting(&self, words: &str) -> Setting {
        let inputs = &self.package.space.inputs().list;
        let named = |word: &str| {
            let places = inputs.iter().enumerate().flat_map(|(at, input)| {
                input.positions.iter().enumerate().map(move |(position, known)| (at, position, known.words.as_str()))
            });
            let met: Vec<(usize, usize)> =
                places.filter(|(_, _, known)| *known == word).map(|(at, position, _)| (at, position)).collect();
            assert_eq!(met.len(), 1, "`{word}` names one position");
            met[0]
        };
        words.split(", ").map(named).collect()
    }

    /// For each head the word of what it shows: the colour of a warning head, the role of another. Layers as the
    /// package's own text has them: a later display wins.
    fn shows(&self, state: &[usize]) -> Vec<Option<String>> {
        let mut shown = vec![None; self.package.heads.len()];
        for display in self.package.displays.iter().filter(|display| display.when.holds(state)) {
            for show in &display.shows {
                let model = &self.package.models[self.package.heads[show.head].model];
                let colour = &model.emitters[show.emitter].colour;
                let word = if show.role == Role::Warning { colour } else { show.role.word() };
                shown[show.head] = Some(word.to_owned());
            }
        }
        shown
    }

    /// States that one input's change leads into from outside the purpose while a head goes on showing one of these.
    fn carried(&self, purpose: &str, words: &[String]) -> Vec<bool> {
        let places: HashMap<&[usize], usize> = self.all.iter().enumerate().map(|(at, state)| (&**state, at)).collect();
        let shows: Vec<Vec<Option<String>>> = self.all.iter().map(|state| self.shows(state)).collect();
        let serves: Vec<bool> = self.all.iter().map(|state| self.serves(state, purpose)).collect();
        let inputs = &self.package.space.inputs().list;
        let into = |(at, state): (usize, &Vec<usize>)| {
            let mut before = state.clone();
            for (input, described) in inputs.iter().enumerate() {
                for position in 0..described.positions.len() {
                    before[input] = position;
                    let Some(from) = places.get(before.as_slice()).filter(|from| !serves[**from]) else { continue };
                    let mut pairs = shows[*from].iter().zip(&shows[at]);
                    if pairs.any(|(was, is)| was == is && is.as_ref().is_some_and(|is| words.contains(is))) {
                        return true;
                    }
                }
                before[input] = state[input];
            }
            false
        };
        self.all.iter().enumerate().map(|(at, state)| serves[at] && into((at, state))).collect()
    }
}

/// The light of every state of the modes that serve a purpose; states whose conditions are alike share it.
struct Light<'a> {
    surveys: Vec<Survey<'a>>,
    /// For each state the place of its light.
    of: Vec<Option<usize>>,
}

impl<'a> Light<'a> {
    fn new(states: &States<'a>, looks: &Looks<'a>) -> Self {
        let package = states.package;
        let displays = package.displays.iter().map(|display| &display.when);
        let bodies = package.bodies.iter().map(|body| &body.when);
        let poses = package.heads.iter().flat_map(|head| head.poses.iter().map(|(when, _)| when));
        let conditions: Vec<&Condition> = displays.chain(bodies).chain(poses).collect();
        let (mut surveys, mut of, mut by_light) = (Vec::new(), Vec::new(), HashMap::new());
        let mut by_conditions: HashMap<Vec<bool>, usize> = HashMap::new();
        for state in &states.all {
            if !states.serves(state, "calling") && !states.serves(state, "blocking") {
                of.push(None);
                continue;
            }
            let key: Vec<bool> = conditions.iter().map(|condition| condition.holds(state)).collect();
            let light = by_conditions.entry(key).or_insert_with(|| {
                let survey = looks.survey_in(&package.space.state(state));
                let lit: Vec<usize> = survey.lit.iter().map(|lit| lit.number).collect();
                *by_light.entry(lit).or_insert_with(|| {
                    surveys.push(survey);
                    surveys.len() - 1
                })
            });
            of.push(Some(*light));
        }
        Self { surveys, of }
    }

    /// In which states of its mode a finding on light comes out as it does.
    fn showing(&self, states: &States<'_>, ruleset: &Ruleset, finding: &Finding) -> Vec<bool> {
        let zones = &ruleset.protocol.zones;
        let zone =
            finding.scope.zone.as_ref().map(|name| zones.sectors.iter().position(|zone| zone.name == *name).unwrap());
        let level = finding.scope.level.as_ref();
        let level = level.map(|name| ruleset.protocol.levels.iter().position(|level| level.name == *name).unwrap());
        let purpose = finding.scope.purpose.as_deref();
        let permitted = ruleset.permitted(purpose.unwrap(), zone);
        let Measure::Light { measure, .. } = find(finding.quantity).unwrap().measure else { panic!("{}", finding.id) };
        let readings: &[Boundary] = if zone.is_some() { zones.boundary_points.readings() } else { &[Boundary::Both] };
        let mut known: HashMap<usize, bool> = HashMap::new();
        let mode = states.package.modes.iter().find(|mode| Some(&mode.id) == finding.scope.mode.as_ref()).unwrap();
        let shows = |(state, light): (&Vec<usize>, &Option<usize>)| {
            let judged = mode.when.holds(state) && mode.assume.as_ref().is_none_or(|assume| assume.holds(state));
            judged
                && *known.entry(light.unwrap()).or_insert_with(|| {
                    let broken = |boundary: &Boundary| {
                        let ask = Ask {
                            purpose,
                            leads_to: None,
                            level,
                            zone,
                            boundary: *boundary,
                            permitted: permitted.list(),
                            with_uncertainty: false,
                            device: Default::default(),
                            listen: None,
                            item: None,
                        };
                        breaks(&measure(&self.surveys[light.unwrap()], &ask)[0], finding)
                    };
                    // A failure is one in every reading, a doubt one in any.
                    match finding.verdict {
                        Verdict::Fail => readings.iter().all(broken),
                        _ => readings.iter().any(broken),
                    }
                })
        };
        states.all.iter().zip(&self.of).map(shows).collect()
    }
}

/// Whether a value is not what is asked, for certain; where the finding is open, whether it may not be.
fn breaks(measured: &Measured, finding: &Finding) -> bool {
    let certain = finding.verdict == Verdict::Fail;
    match (&measured.value, &finding.limit, finding.require) {
        (Value::Number { low, high, .. }, Demand::Number(limit), Require::AtLeast) => {
            if certain {
                high < limit
            } else {
                low < limit
            }
        }
        (Value::Number { low, high, .. }, Demand::Number(limit), Require::AtMost) => {
            if certain {
                low > limit
            } else {
                high > limit
            }
        }
        (Value::Words { shown, .. }, Demand::Words(words), Require::NoneOf) => {
            shown.iter().any(|(word, _)| words.contains(word))
        }
        (Value::Words { shown, .. }, Demand::Words(words), Require::Only) => {
            shown.iter().any(|(word, _)| !words.contains(word))
        }
        other => panic!("{}: {other:?}", finding.id),
    }
}

/// In which states a finding over all states shows, by the fault that was planted.
fn over_states(states: &States<'_>, finding: &Finding) -> Vec<bool> {
    let holds = |text: &str| -> Vec<bool> {
        let condition = states.condition(text);
        states.all.iter().map(|state| condition.holds(state)).collect()
    };
    match finding.id.as_str() {
        "zones-two-level:states-in-no-mode@vehicle" => {
            let none = |state: &Vec<usize>| states.package.modes.iter().all(|mode| !mode.when.holds(state));
            states.all.iter().map(none).collect()
        }
        // Fault 4: the tail lamps are always lit, and the tailboard hangs before them with the door open.
        "zones-two-level:vehicle-lamps@vehicle" => holds("rear-door"),
        "zones-two-level:carried-into@blocking" => match &finding.limit {
            Demand::Words(words) => states.carried("blocking", words),
            other => panic!("{other:?}"),
        },
        // Fault 5: wherever the left arrow is seen.
        "directional-arrow:in-order@vehicle" | "directional-arrow:equal-steps@vehicle" => {
            holds("arrow == left and warning == high and parked")
        }
        other => panic!("what shows {other} is not said here"),
    }
}

/// Both halves of minimal.
fn is_minimal(states: &States<'_>, setting: &Setting, shows: &[bool], id: &str) {
    let met = |setting: &[(usize, usize)]| {
        let is_in = |state: &&Vec<usize>| setting.iter().all(|(input, position)| state[*input] == *position);
        let met = states.all.iter().zip(shows).filter(|(state, _)| is_in(state));
        met.fold((0, 0), |(all, showing), (_, shows)| (all + 1, showing + usize::from(*shows)))
    };
    let (all, showing) = met(setting);
    assert!(all > 0 && showing == all, "{id}: {showing} of {all} states with all set show it");
    for left_out in 0..setting.len() {
        let fewer: Setting =
            setting.iter().enumerate().filter(|(at, _)| *at != left_out).map(|(_, set)| *set).collect();
        let (all, showing) = met(&fewer);
        assert!(showing < all, "{id}: input {} need not be set", setting[left_out].0);
    }
}

#[test]
fn each_finding_tells_no_more_inputs_than_it_must() {
    for (name, looked_at) in [("rescue-4-logic-faults", 34), ("rescue-4-changed", 11)] {
        let (package, rulesets, findings) = found(name);
        let conduct = Conduct::new(&package);
        let states = States::new(&package);
        #[allow(clippy::cast_precision_loss)] // Some tens of thousands.
        let all = states.all.len() as f64;
        assert_eq!(conduct.space().count(conduct.space().allowed()), all);
        let looks = Looks::new(&conduct, &rulesets[0].protocol, wayproof::measure::Method::Angular);
        let light = Light::new(&states, &looks);
        let mut checked = 0;
        for finding in &findings {
            let Some(words) = &finding.witness.state else {
                // Never seen is never seen in any state.
                assert_eq!(finding.quantity, "displays-never-visible", "{}", finding.id);
                continue;
            };
            let of_light = matches!(find(finding.quantity).unwrap().measure, Measure::Light { .. });
            let shows = match of_light {
                true => light.showing(&states, &rulesets[0], finding),
                false => over_states(&states, finding),
            };
            assert!(shows.contains(&false), "{}: not in every state", finding.id);
            is_minimal(&states, &states.setting(words), &shows, &finding.id);
            checked += 1;
        }
        assert_eq!(checked, looked_at, "{name}");
    }
}

/// The names under which the other program knows rules on light.
const RULES: [(&str, &str); 6] = [
    ("zone-total", "zone-total"),
    ("least-point", "least-point"),
    ("off-plane-point", "off-plane-point"),
    ("one-head-dark", "one-dark"),
    ("warning-colours", "lit-colours"),
    ("roles", "lit-roles"),
];

#[test]
fn another_program_finds_the_same_states_minimal() {
    let (mut lines, mut ids) = (Vec::new(), Vec::new());
    for name in ["rescue-4-logic-faults", "rescue-4-changed"] {
        let (package, _, findings) = found(name);
        let states = States::new(&package);
        for finding in &findings {
            let Some((_, rule)) = RULES.iter().find(|(own, _)| *own == finding.rule) else { continue };
            let setting = states.setting(finding.witness.state.as_ref().unwrap());
            let set = |(input, position): &(usize, usize)| {
                let input = &package.space.inputs().list[*input];
                (input.id.clone(), input.positions[*position].id.clone())
            };
            let assignment: HashMap<String, String> = setting.iter().map(set).collect();
            let mut line = serde_json::json!({
                "package": file(name), "mode": finding.scope.mode, "purpose": finding.scope.purpose,
                "assignment": assignment, "rule": rule,
            });
            match &finding.limit {
                Demand::Number(limit) => line["limit"] = serde_json::json!(limit),
                Demand::Words(words) => {
                    line["words"] = serde_json::json!(words);
                    line["require"] = serde_json::json!(finding.require.word());
                }
                other => panic!("{other:?}"),
            }
            line["level"] = serde_json::json!(finding.scope.level);
            line["zone"] = serde_json::json!(finding.scope.zone);
            if finding.verdict != Verdict::Fail {
                line["verdict"] = serde_json::json!("not-pass");
            }
            lines.push(line.to_string());
            ids.push(finding.id.clone());
        }
    }
    assert_eq!(lines.len(), 28 + 11, "all rules on light but the one on colours in a zone");
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("witnesses.jsonl");
    std::fs::write(&path, lines.join("\n")).unwrap();
    let Some(answers) = rows_of("logic_states.py", &["--witness", path.to_str().unwrap()]) else { return };
    assert_eq!(answers.len(), ids.len());
    for (answer, (id, line)) in answers.iter().zip(ids.iter().zip(&lines)) {
        assert_eq!((answer["all-show"].as_str(), answer["minimal"].as_str()), ("yes", "yes"), "{id}: {line}");
    }
}
