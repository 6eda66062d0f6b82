//! Rows that no rule tells apart: they differ in heads that none of the rules asked for heeds. They are judged once.
//!
//! What a rule finds hangs on the heads that it heeds, and on what may stand before them. Within a row that is decided
//! by the inputs of bodies and poses alone, so rows with the same heeded looks and the same positions of those inputs
//! have the same findings, at rest and otherwise.

use std::collections::{HashMap, HashSet};

use crate::judge::ask_of;
use crate::logic::Region;
use crate::measure::{Boundary, Conduct, LitHead, Looks, Method, come_and_go};

use crate::quantity::Measure;
use crate::ruleset::{Limit, Rule, Ruleset};

/// What the rules see of a row: for each mode in which it is judged, the positions of the inputs of bodies and poses,
/// and the heeded looks.
pub(super) type Seen = Vec<(usize, Region, Vec<usize>)>;

/// What the rules heed.
pub(super) struct Alike<'a> {
    conduct: &'a Conduct<'a>,
    /// The inputs of bodies and poses.
    doors: Vec<usize>,
    /// For each purpose of a mode, and for none, the states of each look that some rule heeds.
    heeded: HashMap<Option<&'a str>, Vec<Region>>,
}

impl<'a> Alike<'a> {
    pub fn new(conduct: &'a Conduct<'a>, rulesets: &'a [Ruleset]) -> Self {
        let mut heeded: HashMap<Option<&'a str>, Vec<Region>> = HashMap::new();
        for ruleset in rulesets {
            let mut methods: Vec<Method> = Vec::new();
            for rule in ruleset.rules.iter().filter(|rule| matches!(rule.quantity.measure, Measure::Light { .. })) {
                if !methods.contains(&rule.method) {
                    methods.push(rule.method);
                }
            }
            for method in methods {
                let looks = Looks::new(conduct, &ruleset.protocol, method);
                for purpose in purposes(conduct, ruleset) {
                    heeded.entry(purpose).or_default().extend(states_of_heeded(ruleset, &looks, purpose));
                }
            }
        }
        for regions in heeded.values_mut() {
            // Looks that show in the same states are seen together or not at all.
            let mut met: HashSet<Region> = HashSet::new();
            regions.retain(|region| met.insert(region.clone()));
        }
        Self { conduct, doors: come_and_go(conduct.package), heeded }
    }

    /// The states of a row with bodies and poses at rest, as far as what is judged of it lets them; none where it is
    /// judged at rest alone.
    pub fn at_rest(&self, row: &Region) -> Option<Region> {
        let space = self.conduct.space();
        if !space.inputs().described {
            return None;
        }
        let modes = self.conduct.package.modes.iter().zip(&self.conduct.modes);
        let asked = modes.filter(|(mode, _)| self.heeded.contains_key(&mode.purpose.as_deref()));
        let judged = asked.fold(space.none(), |judged, (_, states)| space.or(&judged, &space.and(states, row)));
        let positions = space.first(&space.only(&judged, &self.doors))?;
        let doors = self.doors.iter().filter_map(|door| Some((*door, *positions.get(*door)?)));
        let at_rest = doors.fold(row.clone(), |states, (door, at)| space.and(&states, &space.with(door, at)));
        (!space.minus(&judged, &at_rest).is_empty()).then_some(at_rest)
    }

    /// What the rules see of the states of a row.
    pub fn seen(&self, row: &Region) -> Seen {
        let space = self.conduct.space();
        let mut seen = Vec::new();
        for (at, (mode, states)) in self.conduct.package.modes.iter().zip(&self.conduct.modes).enumerate() {
            let heeded = self.heeded.get(&mode.purpose.as_deref());
            let here = space.and(states, row);
            if let (Some(heeded), false) = (heeded, here.is_empty()) {
                let looks = heeded.iter().enumerate().filter(|(_, region)| space.meet(region, &here));
                seen.push((at, space.only(&here, &self.doors), looks.map(|(look, _)| look).collect()));
            }
        }
        seen
    }
}

/// The purposes of modes in which a ruleset judges light; none where it judges that of every mode.
fn purposes<'a>(conduct: &'a Conduct<'a>, ruleset: &'a Ruleset) -> Vec<Option<&'a str>> {
    let mut purposes: Vec<Option<&str>> = ruleset.purposes().into_iter().map(Some).collect();
    if ruleset.judges_every_mode() {
        for mode in &conduct.package.modes {
            let purpose = mode.purpose.as_deref();
            if !purposes.contains(&purpose) {
                purposes.push(purpose);
            }
        }
    }
    purposes
}

/// The states of the looks that any rule heeds for a purpose.
fn states_of_heeded(ruleset: &Ruleset, looks: &Looks<'_>, purpose: Option<&str>) -> Vec<Region> {
    let rules: Vec<&Rule> = ruleset.rules.iter().filter(|rule| rule.method == looks.method).collect();
    let is_heeded = |lit: &LitHead<'_>| rules.iter().any(|rule| heeds(ruleset, rule, purpose, looks, lit));
    let all = looks.heads.iter().flatten().filter(|look| is_heeded(&look.lit));
    all.map(|look| look.region.clone()).collect()
}

/// Whether one of a rule's limits for a purpose heeds a head that is lit so.
fn heeds(ruleset: &Ruleset, rule: &Rule, purpose: Option<&str>, looks: &Looks<'_>, lit: &LitHead<'_>) -> bool {
    let Measure::Light { heeds, .. } = rule.quantity.measure else { return false };
    let asked = |limit: &&Limit| limit.purpose.is_none() || limit.purpose.as_deref() == purpose;
    rule.limits.iter().filter(asked).any(|limit| {
        let permitted = ruleset.permitted_by(limit);
        let decision = looks.conduct.package.decision;
        let ask = ask_of(ruleset, rule, limit, Boundary::Both, permitted.list(), decision);
        heeds(lit, &ask, &ruleset.protocol)
    })
}
