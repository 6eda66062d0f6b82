//! What is written over a drawing is the state that is drawn: the state is read back from the caption, and the light, the
//! flashes and the figures of the table are computed in it once more.

mod common;

use common::figures::{DEMOS, demo};
use common::{close, measure};
use wayproof::judge::ask_of;
use wayproof::measure::{Boundary, Looks, Method};
use wayproof::package::Decision;
use wayproof::quantity::Value;
use wayproof::report::Report;
use wayproof::ruleset::Limit;

/// The state that a caption tells: what it does not name is at rest.
fn told(report: &Report<'_>, caption: &str) -> Vec<usize> {
    let inputs = report.conduct.space().inputs();
    let mut state = vec![0; inputs.list.len()];
    if !inputs.described {
        return vec![report.conduct.package.modes.iter().position(|mode| caption.contains(&mode.id)).unwrap()];
    }
    let said = caption.rsplit_once("; ").unwrap_or_else(|| panic!("{caption}")).1;
    let Some(set) = said.strip_prefix("with ") else {
        assert_eq!(said, "all inputs at rest", "{caption}");
        return state;
    };
    for word in set.trim_end_matches(", all else at rest").split(", ") {
        let find = |input: &wayproof::logic::Input| input.positions.iter().position(|one| one.words == word);
        let (at, position) =
            inputs.list.iter().enumerate().find_map(|(at, input)| Some((at, find(input)?))).expect(caption);
        state[at] = position;
    }
    state
}

#[test]
fn sums_are_those_of_the_state_in_the_caption() {
    let (mut sums, mut plots, mut strips) = (0, 0, 0);
    for name in DEMOS.iter().copied().chain(["rescue-4-changed", "brush-2-complete"]) {
        demo(name, |report, drawings| {
            for polar in drawings.polars() {
                let state = told(report, &polar.figure.title);
                let ruleset = &report.rulesets[polar.ruleset];
                plots += 1;
                for zone in &polar.zones {
                    for sum in zone.sums.iter().filter(|sum| sum.quantity == "zone-total-optical-power") {
                        let sector = ruleset.protocol.zones.sectors.iter().position(|one| one.name == zone.name);
                        let purpose = report.conduct.package.modes[polar.mode].purpose.as_ref();
                        let of_it = |limit: &&Limit| {
                            (limit.zone, limit.level, limit.purpose.as_ref(), limit.colour.is_none())
                                == (sector, polar.level, purpose, true)
                        };
                        let rules = ruleset.rules.iter().filter(|rule| rule.quantity.name == sum.quantity);
                        let (rule, limit) = rules
                            .filter_map(|rule| Some((rule, rule.limits.iter().find(of_it)?)))
                            .next()
                            .unwrap_or_else(|| panic!("{name}: {} {}", polar.figure.title, zone.name));
                        let looks = Looks::new(report.conduct, &ruleset.protocol, Method::Angular);
                        let survey = looks.survey_in(&report.conduct.space().state(&state));
                        let permitted = ruleset.permitted_by(limit);
                        let least = [Boundary::First, Boundary::Both].map(|boundary| {
                            let decision: Decision = report.conduct.package.decision;
                            let ask = ask_of(ruleset, rule, limit, boundary, permitted.list(), decision);
                            match measure(sum.quantity, &survey, &ask)[0].value {
                                Value::Number { low, .. } => low,
                                ref other => panic!("{other:?}"),
                            }
                        });
                        assert!(
                            least.iter().any(|found| close(*found, sum.found, 1e-9)),
                            "{name} zone {}: {} drawn, {least:?} in the state of {}",
                            zone.name,
                            sum.found,
                            polar.figure.title
                        );
                        sums += 1;
                    }
                }
                assert_eq!(state, polar.state, "{name}: {}", polar.figure.title);
            }
            for strip in drawings.strips() {
                let state = told(report, &strip.figure.title);
                let region = report.conduct.space().state(&state);
                let shown = |head: &usize| report.conduct.shown_in(*head, &region).is_some();
                assert!(strip.heads.iter().all(shown), "{name}: {}", strip.figure.title);
                assert_eq!(state, strip.state, "{name}: {}", strip.figure.title);
                strips += 1;
            }
        });
    }
    assert!(sums > 70 && plots > 20 && strips > 20, "{sums} sums in {plots} plots, {strips} strips");
}

/// Heads that light up in the state of the caption are those of the table, each with its sum.
#[test]
fn tables_by_bearing_are_of_the_state_in_their_caption() {
    let mut tables = 0;
    for name in DEMOS.iter().copied().chain(["rescue-4-changed"]) {
        demo(name, |report, drawings| {
            for table in drawings.bearing_tables() {
                let state = told(report, &table.caption);
                let region = report.conduct.space().state(&state);
                for row in &table.heads {
                    let shown = report.conduct.shown_in(row.number - 1, &region);
                    assert!(shown.is_some(), "{name} {}: {} is dark", table.caption, row.head);
                    assert_eq!(
                        shown.unwrap().colour(report.conduct.package, row.number - 1),
                        row.colour,
                        "{}",
                        row.head
                    );
                }
                let findings = report.judged.findings.iter();
                let first = findings.filter(|one| one.id == table.findings[0]).find_map(|one| one.trace.as_ref());
                assert_eq!(Some(&state), first.unwrap().state.as_ref(), "{name}: {}", table.caption);
                tables += 1;
            }
        });
    }
    assert!(tables > 20, "{tables}");
}
