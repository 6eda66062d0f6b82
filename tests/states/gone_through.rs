//! The table of a generated package against every state of it, gone through one by one.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use proptest::prelude::*;
use serde_json::Value as Json;

use super::common::{folder, load_file};
use super::generated::{CATALOGUE, Case, HEADS, Look, State, Tree, look};
use super::{list, table, written};

/// A row's heads as the generated packages say it.
fn light_of(row: &Json) -> Vec<Look> {
    let lit: HashMap<&str, String> = list(row, "lit")
        .iter()
        .map(|lit| {
            let pattern = lit["pattern"].as_str().unwrap_or("steady");
            let (phase, level) = (lit["phase_ms"].as_f64().unwrap(), lit["level"].as_f64().unwrap() * 100.0);
            let words = look(
                lit["colour"].as_str().unwrap(),
                pattern,
                format!("{phase:.0}").parse().unwrap(),
                format!("{level:.0}").parse().unwrap(),
                lit["role"].as_str().unwrap(),
            );
            (lit["head"].as_str().unwrap(), words)
        })
        .collect();
    HEADS.iter().map(|(id, ..)| lit.get(id).cloned()).collect()
}

/// Whether a state is as a printed setting says.
fn is_set(case: &Case, state: &State, setting: &Json) -> bool {
    setting.as_object().unwrap().iter().all(|(input, position)| {
        let input: usize = input[1..].parse().unwrap();
        case.positions(input)[state[input]] == position.as_str().unwrap()
    })
}

/// All rows, or those that meet a condition.
pub fn check_rows(case: &Case, asked: Option<&Tree>) -> Result<(), TestCaseError> {
    let (_dir, path) = folder(&[("package.toml", &case.package()), ("catalogue.toml", CATALOGUE)]);
    let (package, _) = load_file(&path, &[]);
    let table = table(&package, true, asked.map(|asked| asked.text(case)).as_deref());
    let rows = list(&table, "rows");
    let all = case.states();
    let known: Vec<State> = all.iter().filter(|state| asked.is_none_or(|asked| asked.holds(state))).cloned().collect();
    // Row by row in the order in which states are gone through: the first state of each is new.
    let mut order: Vec<Vec<Look>> = Vec::new();
    let mut row_of: BTreeMap<State, usize> = BTreeMap::new();
    for state in &all {
        let light = case.light(state);
        let known = order.iter().position(|known| *known == light);
        row_of.insert(state.clone(), known.unwrap_or(order.len()));
        if known.is_none() {
            order.push(light);
        }
    }
    let met: BTreeSet<usize> = known.iter().map(|state| row_of[state]).collect();
    let numbers: Vec<u64> = rows.iter().map(|row| row["row"].as_u64().unwrap()).collect();
    prop_assert_eq!(numbers, met.iter().map(|at| u64::try_from(at + 1).unwrap()).collect::<Vec<_>>());
    if asked.is_some() {
        prop_assert_eq!(table["states_asked"].as_f64().unwrap() as usize, known.len());
    }
    for (at, row) in met.into_iter().zip(rows) {
        prop_assert_eq!(&light_of(row), &order[at]);
        let own: BTreeSet<&State> = known.iter().filter(|state| row_of[*state] == at).collect();
        prop_assert_eq!(row["states"].as_f64().unwrap() as usize, own.len());
        let shown = row_of.values().filter(|row| **row == at).count();
        prop_assert_eq!(row["all_states"].as_f64().unwrap() as usize, shown);
        check_settings(case, row, &known, &own)?;
        let held = own.iter().filter(|state| case.mode.holds(state)).count();
        let used: f64 = list(row, "modes").iter().map(|used| used["states"].as_f64().unwrap()).sum();
        prop_assert_eq!(used as usize, held);
        prop_assert_eq!(row["in_no_mode"].as_f64().unwrap() as usize, own.len() - held);
        check_changes(case, row, &own, &row_of)?;
    }
    Ok(())
}

/// Of the states asked for the settings lead to the row, all of it, and nowhere else; and none says more than it must.
fn check_settings(case: &Case, row: &Json, known: &[State], own: &BTreeSet<&State>) -> Result<(), TestCaseError> {
    prop_assert_eq!(&row["all_settings"], true);
    let settings = list(row, "settings");
    let set = |state: &&State| settings.iter().any(|setting| is_set(case, state, setting));
    prop_assert_eq!(&known.iter().filter(set).collect::<BTreeSet<_>>(), own);
    for setting in settings {
        for input in setting.as_object().unwrap().keys() {
            let mut without = setting.clone();
            without.as_object_mut().unwrap().remove(input);
            let strays = known.iter().any(|state| is_set(case, state, &without) && !own.contains(state));
            prop_assert!(strays, "{setting} need not name {input}");
        }
    }
    Ok(())
}

/// Every input put into every other position, from every state of a row.
fn check_changes(
    case: &Case,
    row: &Json,
    own: &BTreeSet<&State>,
    row_of: &BTreeMap<State, usize>,
) -> Result<(), TestCaseError> {
    type Told = (BTreeSet<u64>, State, u64);
    let mut expected: BTreeMap<(String, String), Told> = BTreeMap::new();
    for state in own {
        for input in 0..state.len() {
            for (at, position) in case.positions(input).iter().enumerate().filter(|(at, _)| *at != state[input]) {
                let mut after = (*state).clone();
                after[input] = at;
                // A change into what cannot occur is none.
                if let Some(row) = row_of.get(&after) {
                    let change = (format!("i{input}"), (*position).to_owned());
                    let row = u64::try_from(row + 1).unwrap();
                    // The states are gone through rest positions first.
                    let told = expected.entry(change).or_insert_with(|| (BTreeSet::new(), (*state).clone(), row));
                    told.0.insert(row);
                }
            }
        }
    }
    let state = |named: &Json| -> State {
        let place = |input: usize| {
            let word = named[format!("i{input}")].as_str().unwrap();
            case.positions(input).iter().position(|position| *position == word).unwrap()
        };
        (0..case.inputs.len()).map(place).collect()
    };
    let found: BTreeMap<(String, String), Told> = list(row, "changes")
        .iter()
        .map(|change| {
            let word = |key: &str| change[key].as_str().unwrap().to_owned();
            let rows = list(change, "rows").iter().map(|row| row.as_u64().unwrap()).collect();
            let told = (rows, state(&change["from"]), change["first"].as_u64().unwrap());
            ((word("input"), word("position")), told)
        })
        .collect();
    prop_assert_eq!(found, expected);
    Ok(())
}

/// How often a row is told for the row's first setting with the rest at rest, each tried.
pub fn first_told(case: &Case, asked: Option<&Tree>) -> Result<usize, TestCaseError> {
    let (_dir, path) = folder(&[("package.toml", &case.package()), ("catalogue.toml", CATALOGUE)]);
    let (package, _) = load_file(&path, &[]);
    let asked_text = asked.map(|asked| asked.text(case));
    let table = table(&package, false, asked_text.as_deref());
    let all = case.states();
    let mut order: Vec<Vec<Look>> = Vec::new();
    for light in all.iter().map(|state| case.light(state)) {
        if !order.contains(&light) {
            order.push(light);
        }
    }
    let place = |words: &str| {
        let (input, position) = words.split_once(' ').unwrap();
        let input: usize = input[1..].parse().unwrap();
        (input, case.positions(input).iter().position(|known| *known == position).unwrap())
    };
    let text = written(&package, "csv", true, asked_text.as_deref());
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let column = reader.headers().unwrap().iter().position(|title| title == "changes").unwrap();
    let mut tried = 0;
    for (line, row) in reader.records().map(Result::unwrap).zip(list(&table, "rows")) {
        for told in line[column].split(" | ") {
            let Some((before, _)) = told.split_once("the rest at rest") else { continue };
            let (change, target) = before.split_once(" -> ").unwrap();
            let (target, moved) = target.split_once(" with ").unwrap();
            // What is named is set, the rest is at rest.
            let mut state: State = vec![0; case.inputs.len()];
            for (input, position) in row["settings"][0].as_object().unwrap() {
                let (input, position) = place(&format!("{input} {}", position.as_str().unwrap()));
                state[input] = position;
            }
            for words in moved.split(", ").filter(|words| !words.is_empty()) {
                let (input, position) = place(words);
                state[input] = position;
            }
            let (input, position) = place(change);
            // What must follow from the rest (`never`, or the condition) is not at rest then.
            let is_own = all.contains(&state)
                && asked.is_none_or(|asked| asked.holds(&state))
                && case.light(&state) == light_of(row);
            if !is_own || state[input] == position {
                continue;
            }
            state[input] = position;
            let light = order.iter().position(|known| *known == case.light(&state)).unwrap();
            let own = usize::try_from(row["row"].as_u64().unwrap()).unwrap();
            let number = target.strip_prefix("row ").map_or(own, |number| number.parse().unwrap());
            prop_assert_eq!(light + 1, number, "row {}: {}", own, told);
            tried += 1;
        }
    }
    Ok(tried)
}
