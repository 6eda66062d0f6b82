//! What changes no verdict by itself and is surely not meant: states that `never` leaves, inputs that nothing reads,
//! modes that never hold or that exclude each other and do not, heads that are never lit. Causes are told first.

use std::collections::HashSet;

use super::fold::at_heads;
use super::inputs::Signals;
use super::resolve::PackageFile;
use super::{Body, Display, Head, Mode, Sounding};
use crate::diagnostic::{Diagnostic, Log, Span};
use crate::logic::{Condition, Region, Space};

/// Places that a warning marks of one kind, and names that it lists; the rest are left out or counted.
const MOST_NAMED: usize = 6;

/// Rulesets know a few purposes. With more than this, those after are not compared.
const MOST_PURPOSES: usize = 16;

/// Pairs of modes that are told; who reads more mends the first.
const MOST_TOLD: usize = 20;

/// What the doubts are about.
pub(super) struct Bound<'p> {
    pub heads: &'p [Head],
    pub bodies: &'p [Body],
    pub displays: &'p [Display],
    pub soundings: &'p [Sounding],
    pub modes: &'p [Mode],
    /// Where each mode says when it holds; empty where modes list displays.
    pub whens: &'p [Span],
    pub signals: &'p Signals<'p>,
    pub space: &'p Space,
}

/// Takes out of the states what cannot occur, and says where that is nothing, all that was left, or all but one
/// position of an input.
pub(super) fn rule_out(never: &[(Condition, Span)], signals: &Signals<'_>, space: &mut Space, log: &Log) {
    for (condition, span) in never {
        let states = space.holds(condition);
        space.rule_out(&states);
        if space.is_tangled() {
            return warn_tangled(span, log);
        }
        if states.is_empty() {
            let message = "no state is left in which this holds, so `never` says nothing by it";
            let warning = Diagnostic::warning("idle-never", message).at(span, "");
            log.push(warning.help("check the condition, or take it out"));
        }
        if space.allowed().is_empty() {
            let error = Diagnostic::error("no-state", "this leaves no state of the inputs that can occur");
            log.push(error.at(span, "").help("say only what cannot occur"));
            return;
        }
    }
    if let Some((_, span)) = never.first() {
        warn_stuck(never, signals, space, log);
        if space.is_tangled() {
            warn_tangled(span, log);
        }
    }
}

/// Inputs that `never` leaves one position: `reverse`, where `reverse and parked` is meant.
fn warn_stuck(never: &[(Condition, Span)], signals: &Signals<'_>, space: &Space, log: &Log) {
    for (at, (input, place)) in space.inputs().list.iter().zip(&signals.places).enumerate() {
        let mut left = (0..input.positions.len()).filter(|position| space.occurs(at, *position));
        let (Some(only), None) = (left.next(), left.next()) else { continue };
        let words = space.words(&[(at, only)]);
        let message = format!("`never` leaves the input `{}` one position only: {words}", input.id);
        let mut warning = Diagnostic::warning("stuck-input", message);
        let naming = never.iter().filter(|(condition, _)| condition.inputs().contains(&at));
        for (_, span) in naming.take(MOST_NAMED) {
            warning = warning.at(span, "");
        }
        let warning = warning.at(place, "this input");
        log.push(warning.help(
            "`never` rules out every state in which it holds; join with `and` what cannot occur together, \
             or take out the input",
        ));
    }
}

/// All doubts about a package without mistakes.
pub(super) fn warn(bound: &Bound<'_>, file: &PackageFile, log: &Log) {
    let missing = [bound.heads.is_empty().then_some("head"), bound.modes.is_empty().then_some("mode")];
    for what in missing.into_iter().flatten() {
        let warning = Diagnostic::warning("empty-package", format!("this package has no {what}"));
        log.push(warning.in_file(&file.name).help(format!("add a table `[[{what}]]`")));
    }
    if bound.modes.is_empty() {
        return;
    }
    warn_unread(bound, log);
    // What is too tangled in `never` has been said there.
    if !bound.space.is_tangled() {
        warn_of_modes(bound, log);
    }
    if !bound.space.is_tangled() {
        warn_of_dark_heads(bound, log);
    }
}

/// Inputs that no condition names, `never` left aside: it lights nothing.
fn warn_unread(bound: &Bound<'_>, log: &Log) {
    let Bound { heads, bodies, displays, soundings, modes, signals, .. } = bound;
    let shown = displays.iter().map(|display| &display.when).chain(bodies.iter().map(|body| &body.when));
    let used = modes.iter().flat_map(|mode| [Some(&mode.when), mode.assume.as_ref()]).flatten();
    let sounds = soundings.iter().map(|sounding| &sounding.when);
    let posed = heads.iter().flat_map(|head| &head.poses).map(|(when, _)| when);
    let read: HashSet<usize> = shown.chain(used).chain(sounds).chain(posed).flat_map(Condition::inputs).collect();
    let inputs = signals.inputs.list.iter().zip(&signals.places).enumerate();
    let unread: Vec<(&str, &Span)> =
        inputs.filter(|(at, _)| !read.contains(at)).map(|(_, (input, place))| (input.id.as_str(), place)).collect();
    let named: Vec<String> = unread.iter().take(MOST_NAMED).map(|(name, _)| format!("`{name}`")).collect();
    let message = match (named.as_slice(), unread.len()) {
        ([], _) => return,
        ([only], _) => format!("the input {only} is read by no condition"),
        (names, all) if all > names.len() => {
            format!("the inputs {} and {} more are read by no condition", names.join(", "), all - names.len())
        }
        (names, _) => format!("the inputs {} are read by no condition", names.join(", ")),
    };
    let warning = Diagnostic::warning("unread-input", message);
    let warning = unread.iter().take(MOST_NAMED).fold(warning, |warning, (_, place)| warning.at(place, ""));
    log.push(warning.help(
        "say in the `when` of a display, a sounding, a mode, a body or a pose what it does, or take it out; \
         what stands in `never` alone switches nothing",
    ));
}

/// Modes that never hold, then those that hold together.
fn warn_of_modes(bound: &Bound<'_>, log: &Log) {
    let space = bound.space;
    let mut all_held = Vec::new();
    for mode in bound.modes {
        let held = space.holds(&mode.when);
        let judged = mode.assume.as_ref().map_or(held.clone(), |assume| space.and(&held, &space.holds(assume)));
        if space.is_tangled() {
            return warn_tangled(&mode.span, log);
        }
        let (what, help) = if held.is_empty() {
            ("never holds", "compare its `when` with `never`")
        } else if judged.is_empty() {
            ("never holds together with what it assumes", "compare its `assume` with its `when` and with `never`")
        } else {
            all_held.push(held);
            continue;
        };
        all_held.push(held);
        let message = format!("the mode `{}` {what}, so nothing is judged in it", mode.id);
        log.push(Diagnostic::warning("mode-never-holds", message).at(&mode.span, "").help(help));
    }
    if let Some(mode) = warn_of_two_purposes(bound, &all_held, log) {
        warn_tangled(&mode.span, log);
    }
}

/// Modes of different purposes that hold in one state: each is compared with the first mode of each other purpose that
/// holds with it. The mode at which the conditions got too tangled, if they did.
fn warn_of_two_purposes<'p>(bound: &Bound<'p>, held: &[Region], log: &Log) -> Option<&'p Mode> {
    let space = bound.space;
    let mut purposes: Vec<(Option<&str>, Region)> = Vec::new();
    let mut told = 0;
    for (at, ((mode, region), when)) in bound.modes.iter().zip(held).zip(bound.whens).enumerate() {
        let purpose = mode.purpose.as_deref();
        for (other, served) in purposes.iter().filter(|(other, _)| *other != purpose) {
            if !space.meet(region, served) {
                continue;
            }
            let earlier = bound.modes.iter().zip(held).zip(bound.whens).take(at);
            let mut serving = earlier.filter(|((earlier, _), _)| earlier.purpose.as_deref() == *other);
            let Some(((first, held), when_of)) = serving.find(|((_, held), _)| space.meet(region, held)) else {
                continue;
            };
            log.push(two_purposes(space, (first, when_of), (mode, when), &space.and(region, held)));
            told += 1;
            if told == MOST_TOLD {
                return None;
            }
        }
        let has_room = purposes.len() < MOST_PURPOSES;
        match purposes.iter_mut().find(|(known, _)| *known == purpose) {
            Some((_, served)) => *served = space.or(served, region),
            None if has_room => purposes.push((purpose, region.clone())),
            None => {}
        }
        if space.is_tangled() {
            return Some(mode);
        }
    }
    None
}

fn two_purposes(space: &Space, first: (&Mode, &Span), second: (&Mode, &Span), both: &Region) -> Diagnostic {
    let state = space.first(both).unwrap_or_default();
    let words = space.words(&space.witness(both, &state));
    let serves = |mode: &Mode| match &mode.purpose {
        Some(purpose) => format!("`{}` ({purpose})", mode.id),
        None => format!("`{}` (no purpose)", mode.id),
    };
    let message = format!("the modes {} and {} both hold with: {words}", serves(first.0), serves(second.0));
    let warning = Diagnostic::warning("two-purposes", message);
    let warning = warning.at(second.1, "this mode holds then").at(first.1, "and this one too");
    warning.help("a vehicle is used in one way at a time; let one of them exclude the other, as `... and not parked`")
}

/// Heads that no display lights, with the displays that would and are never on.
fn warn_of_dark_heads(bound: &Bound<'_>, log: &Log) {
    let space = bound.space;
    let mut lit: HashSet<usize> = HashSet::new();
    let mut off = Vec::new();
    for display in bound.displays {
        if space.holds(&display.when).is_empty() {
            off.push(display);
        } else {
            lit.extend(display.shows.iter().map(|show| show.head));
        }
        if space.is_tangled() {
            return warn_tangled(&display.span, log);
        }
    }
    let dark = bound.heads.iter().enumerate().filter(|(at, _)| !lit.contains(at));
    let dark: Vec<&Head> = dark.map(|(_, head)| head).collect();
    if dark.is_empty() {
        return;
    }
    let (what, help, label) = if bound.signals.inputs.described {
        let help = "a head is lit by a display that is on in some state; show it in one, or take it out";
        ("no state", help, "this display is never on")
    } else {
        (
            "no mode",
            "a head is lit by a display that a mode lists; show it in one, or take it out",
            "no mode lists this",
        )
    };
    let message = |names: &str, several: bool| {
        let (heads, are) = if several { ("heads", "are") } else { ("head", "is") };
        format!("the {heads} {names} {are} lit in {what}")
    };
    let shows_dark = |display: &&&Display| display.shows.iter().any(|show| !lit.contains(&show.head));
    let causes = off.iter().filter(shows_dark).take(MOST_NAMED);
    let warning = at_heads("head-in-no-mode", &dark, message, "");
    log.push(causes.fold(warning, |warning, display| warning.at(&display.span, label)).help(help));
}

/// Sets of states that are too large to be held leave everything open that hangs on them.
fn warn_tangled(span: &Span, log: &Log) {
    let message = "the conditions up to here are too tangled to look at all states, so little can be judged";
    let help = "name fewer inputs in one condition, or put those that it names next to each other under [inputs]";
    log.push(Diagnostic::warning("tangled-conditions", message).at(span, "").help(help));
}
