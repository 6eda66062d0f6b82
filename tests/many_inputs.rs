//! Controllers with many inputs: the states are never gone through, and what is found is the worst of them all the same.
//!
//! A generated vehicle with 24 inputs that are on or off and 60 heads, 16.8 million states, takes `check` about a second
//! and 20 MB in a release build (it was a minute before heads were compared way by way, and less was shown). `cargo bench
//! --bench many_inputs` shows how it grows.

mod common;

use std::collections::BTreeSet;
use std::rc::Rc;

use common::every_state::{Worst, every_state, worst_of};
use common::many_inputs::{CATALOGUE, package};
use common::{close, finding, folder, load_file, measure, terms};
use wayproof::flash::{ClockId, Clocked, union_rate};
use wayproof::judge::{Found, Judged, Verdict, judge};
use wayproof::logic::Space;
use wayproof::measure::{Boundary, Conduct, LitHead, Looks, Method, Reach};
use wayproof::package::{Package, Role};
use wayproof::quantity::{Ask, Value};
use wayproof::ruleset::Ruleset;

fn loaded(package: &str) -> (Package, Vec<Ruleset>) {
    let (_dir, path) = folder(&[("package.toml", package), ("catalogue.toml", CATALOGUE)]);
    load_file(&path, &[])
}

fn number(judged: &Judged, id: &str) -> Worst {
    let finding = finding(judged, id);
    let Found::Number(number) = finding.found else { panic!("{id}: {:?}", finding.found) };
    Worst { verdict: finding.verdict, number }
}

fn same(one: Worst, other: Worst) -> bool {
    one.verdict == other.verdict && close(one.number, other.number, 1e-9)
}

/// Every limit on light with a number is looked at: 20 rules in 4 zones, and some of them on 2 levels.
#[test]
fn the_worst_light_is_the_worst_of_all_states_gone_through() {
    for (inputs, heads) in [(7, 32), (10, 12)] {
        let (package, rulesets) = loaded(&package(inputs, heads));
        let conduct = Conduct::new(&package);
        let judged = judge(&conduct, &rulesets, terms());
        let looks = Looks::new(&conduct, &rulesets[0].protocol, Method::Angular);
        let expected = worst_of(&looks, &rulesets[0], None, &every_state(conduct.space()));
        assert!(expected.len() > 100, "{}", expected.len());
        for (id, expected) in expected {
            let found = number(&judged, &id);
            assert!(same(found, expected), "{inputs} inputs, {id}: {found:?}, gone through: {expected:?}");
        }
    }
}

/// The states that differ from one in one input or in two.
fn around(space: &Space, state: &[usize]) -> Vec<Vec<usize>> {
    let flipped = |state: &[usize], at: usize| {
        let mut state = state.to_vec();
        state[at] = 1 - state[at];
        state
    };
    let inputs = space.inputs().list.len();
    let ones: Vec<Vec<usize>> = (0..inputs).map(|at| flipped(state, at)).collect();
    let twos = ones.iter().enumerate().flat_map(|(at, one)| (at + 1..inputs).map(move |other| flipped(one, other)));
    let mut states: Vec<Vec<usize>> = twos.collect();
    states.extend(ones);
    states.push(state.to_vec());
    states
}

/// States all over the space, always the same ones.
fn scattered(space: &Space, states: usize) -> Vec<Vec<usize>> {
    let mut random: u64 = 2026;
    let mut next = || {
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(random >> 63).unwrap()
    };
    (0..states).map(|_| space.inputs().list.iter().map(|_| next()).collect()).collect()
}

#[test]
fn of_24_inputs_and_60_heads_the_state_named_shows_what_is_found_and_no_other_is_worse() {
    let (package, rulesets) = loaded(&package(24, 60));
    let (conduct, ruleset) = (Conduct::new(&package), &rulesets[0]);
    let space = conduct.space();
    assert_eq!(space.count(space.allowed()), 2.0_f64.powi(24));
    let judged = judge(&conduct, &rulesets, terms());
    for finding in &judged.findings {
        assert!(!finding.note().contains("looked at"), "{}: {}", finding.id, finding.note());
    }
    let looks = Looks::new(&conduct, &ruleset.protocol, Method::Angular);
    let scattered = worst_of(&looks, ruleset, None, &scattered(space, 200));
    assert!(scattered.len() > 100, "{}", scattered.len());
    for (id, seen) in &scattered {
        let found = number(&judged, id);
        let state = state_of(&judged, id);
        let rule = finding(&judged, id).rule.as_str();
        let there = worst_of(&looks, ruleset, Some(rule), std::slice::from_ref(&state))[id];
        assert!(same(found, there), "{id}: {found:?}, in the state named {there:?}");
        assert!(is_no_better(&judged, id, *seen), "{id}: {found:?} and yet {seen:?}");
    }
    // Totals, in all states that differ in one input or in two as well.
    for id in scattered.keys().filter(|id| id.contains(":zone-total@")) {
        let found = number(&judged, id);
        let near = worst_of(&looks, ruleset, Some("zone-total"), &around(space, &state_of(&judged, id)))[id];
        assert!(same(found, near), "{id}: {found:?}, around it {near:?}");
    }
}

/// The state that a finding names.
fn state_of(judged: &Judged, id: &str) -> Vec<usize> {
    finding(judged, id).trace.as_ref().and_then(|trace| trace.state.clone()).expect("a state")
}

/// Whether a finding is no better than what some state shows.
fn is_no_better(judged: &Judged, id: &str, seen: Worst) -> bool {
    let found = number(judged, id);
    let at_least = finding(judged, id).require == wayproof::ruleset::Require::AtLeast;
    let (least, most) = if at_least { (found.number, seen.number) } else { (seen.number, found.number) };
    found.verdict > seen.verdict || found.verdict == seen.verdict && least <= most + 1e-9 * most.abs()
}

/// Heads in step are one to the count; here none is left out.
#[test]
fn flashes_are_counted_as_if_every_head_were_looked_at() {
    let (package, rulesets) = loaded(&package(16, 40));
    let (conduct, protocol) = (Conduct::new(&package), &rulesets[0].protocol);
    let looks = Looks::new(&conduct, protocol, Method::Angular);
    let mut rates = BTreeSet::new();
    for state in scattered(conduct.space(), 60) {
        let survey = looks.survey_in(&conduct.space().state(&state));
        for (zone, sector) in protocol.zones.sectors.iter().enumerate() {
            let (level, zone, boundary) = (None, Some(zone), Boundary::Both);
            let ask = Ask {
                purpose: None,
                level,
                zone,
                boundary,
                permitted: None,
                with_uncertainty: false,
                device: Default::default(),
                listen: None,
                item: None,
                leads_to: None,
            };
            let Value::Number { low, .. } = measure("flash-count-at-point", &survey, &ask)[0].value else { panic!() };
            let at = |point: &usize| {
                let counts = |lit: &&Rc<LitHead<'_>>| lit.role == Role::Warning && lit.flashing;
                let reaching = survey.lit.iter().filter(counts).filter(|lit| lit.reach(*point) == Reach::Surely);
                let clock = |lit: &LitHead<'_>| lit.head.clock.is_some().then_some(ClockId(0));
                let clocked = reaching.map(|lit| Clocked { timeline: &lit.timeline, clock: clock(lit) });
                let heads: Vec<Clocked<'_>> = clocked.collect();
                union_rate(&heads, protocol.flash.dark_at_least, protocol.flash.lit_above).least.per_minute()
            };
            let least = sector.points(boundary).iter().map(at).fold(f64::INFINITY, f64::min);
            assert_eq!(low, least, "{state:?}, {}", sector.name);
            rates.insert(least.to_bits());
        }
    }
    assert!(rates.len() > 1, "heads in and out of step");
}

/// Each of 40 inputs delays its own head a little: of 2^40 different lights nobody can say that he counted them all.
#[test]
fn what_is_more_than_is_looked_at_is_told_and_never_passes() {
    let mut text = package(43, 40);
    for at in 3..43 {
        let (side, row) = (["front", "right", "rear", "left"][(at - 3) % 4], (at - 3) / 4);
        let phase = 5 * (at - 2);
        text.push_str(&format!(
            "[[display]]\nid = \"own-{at}\"\nwhen = \"warning and signal-{at}\"\nshow = [{{ head = \"{side}-{row}\", \
             colour = \"red\", pattern = \"double\", phase = \"{phase} ms\" }}]\n"
        ));
    }
    let (package, rulesets) = loaded(&text);
    let judged = judge(&Conduct::new(&package), &rulesets, terms());
    let flashes = finding(&judged, "zones-two-level:flash-merge@blocking/D");
    assert_eq!((flashes.verdict, &flashes.found), (Verdict::NotShown, &Found::Nothing));
    assert_eq!(flashes.notes, ["the inputs lead to more different lights here than are looked at"]);
    assert_eq!(flashes.would_show.as_deref(), Some("`assume` in the mode, or fewer inputs that act on these heads"));
    // A sum only grows with a head, so the least of all those lights is known even so.
    let total = finding(&judged, "zones-two-level:zone-total@blocking/upper/D");
    assert_eq!(total.verdict, Verdict::Fail);
    assert!(!total.note().contains("looked at"), "{}", total.note());
}
