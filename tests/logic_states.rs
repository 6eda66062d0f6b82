//! What the demo packages do over all states of their inputs, against a program that tries every state.
//!
//! `tests/reference/logic_states.py` goes through the states one by one and shares no code with the tool, which never
//! does: its sets of states are decision diagrams. Everything that program prints is compared, and it prints nothing
//! that the tool does not know.

mod common;

use std::collections::{BTreeMap, BTreeSet};

use common::oracle::rows_of;
use common::{close, load_with_zones, terms};
use wayproof::judge::{Found, judge};
use wayproof::logic::Region;
use wayproof::measure::{Boundary, BoundaryPoints, Conduct, Protocol, Shown};
use wayproof::package::{Package, Role};
use wayproof::quantity::{Ask, Measure, Measured, Value, find};
use wayproof::ruleset::{Demand, Ruleset};

const PACKAGES: [&str; 8] = [
    "rescue-4",
    "rescue-4-changed",
    "rescue-4-logic-faults",
    "brush-2",
    "brush-2-complete",
    "brush-2-faults",
    "medic-6",
    "amber-9",
];

/// By what is said and its key: a number, or words.
type Said = BTreeMap<(String, String), String>;

/// The tool's own account.
struct Account<'a> {
    conduct: &'a Conduct<'a>,
    protocol: &'a Protocol,
    said: Said,
}

impl Account<'_> {
    fn say(&mut self, what: &str, key: impl Into<String>, value: impl ToString) {
        let twice = self.said.insert((what.to_owned(), key.into()), value.to_string());
        assert_eq!(twice, None, "{what} is said twice");
    }

    /// Counts add up where several parts have one key.
    fn count(&mut self, what: &str, key: String, states: f64) {
        let known = self.said.entry((what.to_owned(), key)).or_insert_with(|| "0".to_owned());
        *known = (known.parse::<f64>().unwrap() + states).to_string();
    }

    fn states(&self, region: &Region) -> f64 {
        self.conduct.space().count(region)
    }

    fn head(&self, at: usize) -> &str {
        &self.conduct.package.heads[at].id
    }

    fn quantity(&self, name: &str, purpose: Option<&str>) -> Measured {
        let Measure::States(measure) = find(name).unwrap().measure else { panic!("{name} looks at no states") };
        let ask = Ask {
            purpose,
            leads_to: None,
            level: None,
            zone: None,
            boundary: Boundary::Both,
            permitted: None,
            with_uncertainty: false,
            device: Default::default(),
            listen: None,
            item: None,
        };
        measure(self.conduct, self.protocol, &ask).remove(0)
    }

    fn number(&self, name: &str, purpose: Option<&str>) -> f64 {
        match self.quantity(name, purpose).value {
            Value::Number { low, high, .. } if low == high => low,
            other => panic!("{name}: {other:?}"),
        }
    }

    fn modes(&mut self) {
        let (conduct, space) = (self.conduct, self.conduct.space());
        self.say("states", "allowed", self.states(space.allowed()));
        for (mode, judged) in conduct.package.modes.iter().zip(&conduct.modes) {
            self.say("states", format!("mode/{}", mode.id), self.states(judged));
            if mode.purpose.is_some() {
                let warned = conduct.showing(|_, shown| shown.show.role == Role::Warning);
                self.say("dark", &mode.id, self.states(&space.minus(judged, &warned)));
            }
        }
        // Without inputs there is no state beside the modes.
        let in_no_mode = if space.inputs().described { self.number("states-in-no-mode", None) } else { 0.0 };
        self.say("states", "in-no-mode", in_no_mode);
    }

    /// Parts the states by what all heads show, and counts the parts.
    fn lights(&mut self) {
        let (conduct, space) = (self.conduct, self.conduct.space());
        let mut lights = vec![space.allowed().clone()];
        for parts in &conduct.heads {
            let mut looks: Vec<(Option<Shown<'_>>, Region)> = Vec::new();
            for (region, shown) in parts {
                let alike = |known: &Option<Shown<'_>>| match (known, shown) {
                    (Some(known), Some(shown)) => known.looks_like(shown),
                    (known, shown) => known.is_none() && shown.is_none(),
                };
                match looks.iter_mut().find(|(known, _)| alike(known)) {
                    Some((_, known)) => *known = space.or(known, region),
                    None => looks.push((*shown, region.clone())),
                }
            }
            let split = |light: &Region| looks.iter().map(|(_, look)| space.and(light, look)).collect::<Vec<_>>();
            lights = lights.iter().flat_map(split).filter(|light| !light.is_empty()).collect();
        }
        self.say("lights", "distinct", lights.len());
        for (mode, judged) in conduct.package.modes.iter().zip(&conduct.modes) {
            let here = lights.iter().filter(|light| space.meet(light, judged)).count();
            self.say("lights", format!("mode/{}", mode.id), here);
        }
    }

    fn displays(&mut self) {
        let conduct = self.conduct;
        for (region, head, shown) in conduct.shown() {
            let states = self.states(region);
            self.count("winner", format!("{}/{}", conduct.display(shown.display), self.head(head)), states);
            if let Some(dims) = shown.dimmed_by {
                self.count("dims", format!("{}/{}", conduct.display(dims), self.head(head)), states);
            }
        }
        // A head may be named twice in one display; that program keeps to those of two.
        for taken in conduct.overrides.iter().filter(|taken| taken.winner != taken.loser) {
            let (winner, loser) = (conduct.display(taken.winner), conduct.display(taken.loser));
            let key = format!("{winner}/{loser}/{}", self.head(taken.head));
            self.count("taken", key, self.states(&taken.region));
        }
        for display in &conduct.never_seen {
            self.say("never-visible", conduct.display(*display), 1);
        }
    }

    fn purposes(&mut self) {
        let (conduct, space) = (self.conduct, self.conduct.space());
        for purpose in purposes_of(conduct.package) {
            let states = conduct.purpose(purpose);
            let (mut colours, mut roles) = (Vec::new(), Vec::new());
            for (_, head, shown) in conduct.shown().filter(|(region, _, _)| space.meet(region, &states)) {
                let role = shown.show.role;
                roles.push(role.word().to_owned());
                if role == Role::Warning {
                    let model = &conduct.package.models[conduct.package.heads[head].model];
                    colours.push(model.emitters[shown.show.emitter].colour.clone());
                }
            }
            for (what, mut words) in [("lit-colours", colours), ("lit-roles", roles)] {
                words.sort_unstable();
                words.dedup();
                self.say(what, purpose, words.join("+"));
            }
            if space.inputs().described {
                self.say("park", format!("in/{purpose}"), self.number("states-not-ended-by-park-in", Some(purpose)));
                self.say("park", format!("out/{purpose}"), self.number("states-not-ended-by-park-out", Some(purpose)));
                for shown in self.quantity("carried-into", Some(purpose)).occurrences {
                    self.say("carried", format!("{purpose}/{}", shown.word), self.states(&shown.states));
                }
            }
        }
        if space.inputs().described {
            self.say("without-master", "least", self.number("heads-without-master", None));
        }
    }
}

/// The purposes that the modes of a package serve.
fn purposes_of(package: &Package) -> BTreeSet<&str> {
    package.modes.iter().filter_map(|mode| mode.purpose.as_deref()).collect()
}

/// Totals, least points and points left dark, each under both readings of the boundary points. No limit is asked, so
/// that the worst of a purpose is the least (or most) over all its states.
fn light(package: &Package, mut rulesets: Vec<Ruleset>, said: &mut Said) {
    rulesets.truncate(1);
    let quantities = ["zone-total", "least-point", "off-plane-point", "one-head-dark"];
    rulesets[0].rules.retain(|rule| quantities.contains(&rule.id.as_str()) || rule.id == "colours");
    let limits = rulesets[0].rules.iter_mut().filter(|rule| rule.id != "colours").flat_map(|rule| &mut rule.limits);
    limits.for_each(|limit| limit.demand = Demand::Missing { why: "none is asked".to_owned(), see: None });
    for (boundary, reading) in [("both", BoundaryPoints::Both), ("first", BoundaryPoints::First)] {
        rulesets[0].protocol.zones.boundary_points = reading;
        let judged = judge(&Conduct::new(package), &rulesets, terms());
        let served = |purpose: &Option<String>| purposes_of(package).contains(purpose.as_deref().unwrap_or_default());
        let of_light = judged.findings.iter().filter(|finding| quantities.contains(&finding.rule.as_str()));
        for finding in of_light.filter(|finding| served(&finding.scope.purpose)) {
            let Found::Number(number) = finding.found else { panic!("{}: {:?}", finding.id, finding.found) };
            let part = |part: &Option<String>| part.clone().unwrap_or_else(|| "-".to_owned());
            let (scope, rule) = (&finding.scope, finding.rule.as_str());
            let place = format!("{}/{}/{}/{boundary}", part(&scope.purpose), part(&scope.level), part(&scope.zone));
            let key = match rule {
                "one-head-dark" => ("one-dark".to_owned(), place),
                sum => ("worst".to_owned(), format!("{place}/{sum}")),
            };
            assert_eq!(said.insert(key, number.to_string()), None, "{} twice", finding.id);
        }
    }
}

fn account(file: &str) -> Said {
    let (package, rulesets) = load_with_zones(file);
    let conduct = Conduct::new(&package);
    let mut account = Account { conduct: &conduct, protocol: &rulesets[0].protocol, said: Said::new() };
    account.modes();
    account.lights();
    account.displays();
    account.purposes();
    let mut said = account.said;
    light(&package, rulesets, &mut said);
    said
}

#[test]
fn every_state_of_the_demo_packages_is_accounted_for() {
    let files = PACKAGES.map(|package| format!("demo-data/{package}/package.toml"));
    let Some(rows) = rows_of("logic_states.py", &files.each_ref().map(String::as_str)) else { return };
    for file in &files {
        let expected: Said = rows
            .iter()
            .filter(|row| row["package"] == *file)
            .map(|row| ((row["what"].clone(), row["key"].clone()), row["value"].clone()))
            .collect();
        let own = account(file);
        assert_eq!(own.keys().collect::<Vec<_>>(), expected.keys().collect::<Vec<_>>(), "{file}");
        for (key, expected) in &expected {
            let own = &own[key];
            let same = match (own.parse::<f64>(), expected.parse::<f64>()) {
                (Ok(own), Ok(expected)) if key.0 == "worst" => close(own, expected, 1e-9),
                (Ok(own), Ok(expected)) => own == expected,
                _ => own == expected,
            };
            assert!(same, "{file} {key:?}: {own}, expected {expected}");
        }
        // States, lights and winners beside the purposes, four zones and two readings for each level and quantity.
        let purposes = if file.contains("amber-9") { 1 } else { 2 };
        assert!(expected.len() > purposes * 4 * 2 * 4 + 30, "{file}: {}", expected.len());
    }
}

/// 221,184 states of rescue-4: 3 x 4 x 4 x 3 positions and eleven that are on or off make 294,912; in half of them park
/// is in, in half of these reverse is too, and that never occurs. 13,824 of brush-2: 3 x 4 x 3 and nine on or off make
/// 18,432, less a quarter.
#[test]
fn the_states_of_the_demo_packages_are_as_many_as_their_inputs_say() {
    for (package, states) in [("rescue-4", 221_184), ("rescue-4-logic-faults", 221_184), ("brush-2", 13_824)] {
        let own = account(&format!("demo-data/{package}/package.toml"));
        assert_eq!(own[&("states".to_owned(), "allowed".to_owned())], states.to_string(), "{package}");
    }
    let listed = account("demo-data/brush-2-faults/package.toml");
    assert_eq!(listed[&("states".to_owned(), "allowed".to_owned())], "2", "a state a mode");
}
