//! The table of a generated package against every state of it, gone through one by one.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use proptest::prelude::*;
use serde_json::Value as Json;

use super::common::{folder, load_file};
use super::generated::{CATALOGUE, Case, HEADS, Look, State, look};
use super::{list, table};

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

pub fn check_rows(case: &Case) -> Result<(), TestCaseError> {
    let (_dir, path) = folder(&[("package.toml", &case.package()), ("catalogue.toml", CATALOGUE)]);
    let (package, _) = load_file(&path, &[]);
    let table = table(&package, true);
    let rows = list(&table, "rows");
    let all = case.states();
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
    prop_assert_eq!(rows.iter().map(light_of).collect::<Vec<_>>(), order);
    for (at, row) in rows.iter().enumerate() {
        let own: BTreeSet<&State> = row_of.iter().filter(|(_, row)| **row == at).map(|(state, _)| state).collect();
        prop_assert_eq!(row["row"].as_u64(), u64::try_from(at + 1).ok());
        prop_assert_eq!(row["states"].as_f64().unwrap() as usize, own.len());
        // The settings lead to the row, all of it, and nowhere else.
        prop_assert_eq!(&row["all_settings"], true);
        let set = |state: &&State| list(row, "settings").iter().any(|setting| is_set(case, state, setting));
        prop_assert_eq!(&all.iter().filter(set).collect::<BTreeSet<_>>(), &own);
        let held = own.iter().filter(|state| case.mode.holds(state)).count();
        let used: f64 = list(row, "modes").iter().map(|used| used["states"].as_f64().unwrap()).sum();
        prop_assert_eq!(used as usize, held);
        prop_assert_eq!(row["in_no_mode"].as_f64().unwrap() as usize, own.len() - held);
        check_changes(case, row, &own, &row_of)?;
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
    let mut expected: BTreeMap<(String, String), BTreeSet<u64>> = BTreeMap::new();
    for state in own {
        for input in 0..state.len() {
            for (at, position) in case.positions(input).iter().enumerate().filter(|(at, _)| *at != state[input]) {
                let mut after = (*state).clone();
                after[input] = at;
                // A change into what cannot occur is none.
                if let Some(row) = row_of.get(&after) {
                    let change = (format!("i{input}"), (*position).to_owned());
                    expected.entry(change).or_default().insert(u64::try_from(row + 1).unwrap());
                }
            }
        }
    }
    let found: BTreeMap<(String, String), BTreeSet<u64>> = list(row, "changes")
        .iter()
        .map(|change| {
            let word = |key: &str| change[key].as_str().unwrap().to_owned();
            let rows = list(change, "rows").iter().map(|row| row.as_u64().unwrap()).collect();
            ((word("input"), word("position")), rows)
        })
        .collect();
    prop_assert_eq!(found, expected);
    Ok(())
}
