//! Lamps that a ruleset does not speak of: of a colour for which no row asks anything, or without the class by which the
//! rows go. Nothing of them was judged, and that is said once, so that nobody takes silence for a pass.

use rustc_hash::{FxHashMap, FxHashSet};

use super::asked::ask_of;
use super::assemble::bare;
use super::would_show::what_shows;
use super::{Finding, Verdict};
use crate::measure::{Boundary, Conduct};
use crate::quantity::{DeviceAsk, Lamp, Measure, lamps};
use crate::ruleset::{Limit, Rule, Ruleset, Strength};

/// The quantity by which a ruleset asks for the class itself.
const CLAIMED_CLASS: &str = "claimed-class";

/// What is known of a lamp of which the rules on one quantity could speak.
struct Asked<'a> {
    lamp: Lamp<'a>,
    /// The place of the first rule that is on lamps like it.
    first: usize,
    /// A row holds for it.
    spoken: bool,
    /// A row would hold for it if it had the right class.
    for_a_class: bool,
}

/// For each rule that is the first on lamps of which neither it nor another rule on the same quantity speaks: what is
/// said of them.
pub(super) fn unspoken(conduct: &Conduct<'_>, ruleset: &Ruleset) -> FxHashMap<usize, Finding> {
    let mut of_quantity: Vec<(&str, Vec<usize>)> = Vec::new();
    for (at, rule) in ruleset.rules.iter().enumerate() {
        let of_devices = matches!(rule.quantity.measure, Measure::Device(_)) && rule.strength != Strength::Caution;
        match of_quantity.iter_mut().find(|(known, _)| *known == rule.quantity.name) {
            _ if !of_devices => {}
            Some((_, rules)) => rules.push(at),
            None => of_quantity.push((rule.quantity.name, vec![at])),
        }
    }
    let mut found = FxHashMap::default();
    for (_, rules) in of_quantity {
        let mut left: FxHashMap<usize, Vec<Asked<'_>>> = FxHashMap::default();
        for asked in asked(conduct, ruleset, &rules).into_iter().filter(|asked| !asked.spoken) {
            left.entry(asked.first).or_default().push(asked);
        }
        for (at, asked) in left {
            let finding = ruleset.rules.get(at).and_then(|rule| told(conduct, ruleset, rule, asked));
            found.extend(finding.map(|finding| (at, finding)));
        }
    }
    found
}

/// The lamps on which these rules are, in the order of the package.
fn asked<'a>(conduct: &Conduct<'a>, ruleset: &Ruleset, rules: &[usize]) -> Vec<Asked<'a>> {
    let mut all: Vec<Asked<'a>> = Vec::new();
    let mut places: FxHashMap<(&'a str, &'a str), usize> = FxHashMap::default();
    for (at, rule) in rules.iter().filter_map(|at| Some((*at, ruleset.rules.get(*at)?))) {
        let of_all = rule.limits.iter().any(|limit| limit.colour.is_none() && limit.class.is_none());
        for lamp in lamps(conduct, rule.device.as_ref()) {
            let place = *places.entry((lamp.head, lamp.colour)).or_insert(all.len());
            if place == all.len() {
                all.push(Asked { lamp, first: at, spoken: false, for_a_class: false });
            }
            let Some(known) = all.get_mut(place).filter(|known| !known.spoken) else { continue };
            let class = lamp.model.class(&ruleset.id);
            let of_colour = |limit: &&Limit| limit.colour.as_deref().is_none_or(|colour| colour == lamp.colour);
            let mut of_colour = rule.limits.iter().filter(of_colour).map(|limit| limit.class.as_deref()).peekable();
            known.for_a_class |= class.is_none() && of_colour.peek().is_some();
            known.spoken = of_all || of_colour.any(|asked| asked.is_none() || asked == class);
        }
    }
    all
}

/// The finding on these lamps, as far as the quantity has anything to say of them.
fn told(conduct: &Conduct<'_>, ruleset: &Ruleset, rule: &Rule, mut asked: Vec<Asked<'_>>) -> Option<Finding> {
    let Measure::Device(measure) = rule.quantity.measure else { return None };
    let limit = rule.limits.first()?;
    let ask = ask_of(ruleset, rule, limit, Boundary::Both, None, conduct.package.decision);
    let ask = crate::quantity::Ask { device: DeviceAsk { colour: None, class: None, ..ask.device }, ..ask };
    let measured = measure(conduct, &ruleset.protocol, &ask);
    let found: FxHashSet<(&str, &str)> =
        measured.iter().filter_map(|one| Some((one.head.as_deref()?, one.emitter.as_deref()?))).collect();
    asked.retain(|one| found.contains(&(one.lamp.head, one.lamp.colour)));
    // A ruleset that asks for the class itself says there that it is missing.
    let decides = |rule: &&Rule| rule.quantity.name == CLAIMED_CLASS && rule.strength == Strength::Required;
    let its_classes = ruleset.rules.iter().filter(decides).flat_map(|rule| lamps(conduct, rule.device.as_ref()));
    let its_classes: FxHashSet<(&str, &str)> = its_classes.map(|lamp| (lamp.head, lamp.colour)).collect();
    let mut open = false;
    let mut notes: Vec<(String, Vec<&str>)> = Vec::new();
    for Asked { lamp, for_a_class, .. } in &asked {
        open |= *for_a_class && !its_classes.contains(&(lamp.head, lamp.colour));
        let note = match lamp.model.class(&ruleset.id) {
            None if *for_a_class => {
                format!("no class is claimed for the model `{}`, and the limits go by it", lamp.model.id)
            }
            Some(class) => format!("no limit here speaks of {} in class {class}", lamp.colour),
            None => format!("no limit here speaks of {}", lamp.colour),
        };
        match notes.iter_mut().find(|(known, _)| *known == note) {
            Some((_, heads)) => heads.push(lamp.head),
            None => notes.push((note, vec![lamp.head])),
        }
    }
    // What would show it is read off the first note.
    notes.sort_by_key(|(note, _)| !note.starts_with("no class is claimed"));
    let mut finding = about(ruleset, rule, if open { Verdict::NotShown } else { Verdict::NotApplicable }, "")?;
    finding.notes = notes.iter().map(|(note, heads)| format!("{note}: not judged: {}", heads.join(", "))).collect();
    finding.would_show = finding.notes.first().filter(|_| open).map(|note| what_shows(note, ruleset, rule, limit));
    (!asked.is_empty()).then_some(finding)
}

/// A finding on a rule as a whole, whatever its rows narrow themselves to.
pub(super) fn about(ruleset: &Ruleset, rule: &Rule, verdict: Verdict, note: &str) -> Option<Finding> {
    let mut finding = bare(ruleset, rule, rule.limits.first()?, verdict, note);
    let scope = &mut finding.scope;
    (scope.class, scope.emitter, scope.item) = (None, None, None);
    finding.id = format!("{}:{}@{}", ruleset.id, rule.id, Finding::place(scope));
    Some(finding)
}
