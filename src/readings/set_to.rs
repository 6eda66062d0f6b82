//! What the vehicle is set to for a line. Many settings show the same value; the person who reads it walks round the
//! vehicle, so of these the one is taken that leaves reverse gear out, sounders silent and the parking brake set where
//! that can be, and as much else at rest. What is left of it is told as something to take care of.

use crate::judge::{Finding, Found, Verdict};
use crate::logic::{Meaning, Region};
use crate::measure::Conduct;
use crate::quantity::{Measure, Proof, as_loaded, find, on_vehicle_of};
use crate::ruleset::Require;
use crate::units::Dimension;

/// What is said of a setting with reverse gear in.
const REVERSE: &str = "REVERSE GEAR IN: wheels blocked, somebody at the brake, nobody behind the vehicle";
/// Of one that sounds.
const SOUNDING: &str = "IT SOUNDS: nobody before it, ears protected";
/// Of one with the parking brake out.
const PARK_OUT: &str = "PARKING BRAKE OUT: wheels blocked, somebody at the brake";

/// A setting, and what to take care of in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct SetTo {
    /// No more inputs than decide; none where any setting will do.
    pub words: Option<String>,
    /// The most dangerous first.
    pub care: Vec<&'static str>,
}

/// Chooses settings.
pub(super) struct Setter<'a> {
    conduct: &'a Conduct<'a>,
    /// States without a danger, and what is said of those with it; the worst danger first.
    without: Vec<(Region, &'static str)>,
    /// Each input at rest.
    rest: Vec<Region>,
}

impl<'a> Setter<'a> {
    pub fn new(conduct: &'a Conduct<'a>) -> Self {
        let space = conduct.space();
        let inputs = space.inputs();
        let mut without = Vec::new();
        if let Some(reverse) = inputs.meaning(Meaning::Reverse) {
            without.push((space.with(reverse, 0), REVERSE));
        }
        if !conduct.package.sound.sounders.is_empty() {
            without.push((space.minus(space.allowed(), &conduct.sounds().sounding(space, |_| true)), SOUNDING));
        }
        let park = inputs.meaning(Meaning::Park);
        if let Some(park) = park {
            without.push((space.with(park, 1), PARK_OUT));
        }
        // A vehicle at rest is parked.
        let rest = (0..inputs.list.len()).map(|at| space.with(at, usize::from(Some(at) == park))).collect();
        Self { conduct, without, rest }
    }

    /// The setting for a finding.
    pub fn of(&self, finding: &Finding) -> SetTo {
        let space = self.conduct.space();
        let known = || SetTo {
            words: finding.witness.state.clone().or_else(|| finding.scope.mode.clone()),
            ..SetTo::default()
        };
        if !space.inputs().described {
            return known();
        }
        let began = space.work();
        let chosen = self.in_each_mode(finding).or_else(|| Some(self.among(&self.states(finding)?)));
        // It was looked at once in judging; what more is done here says nothing of the conditions.
        space.forget_work(began);
        let mut chosen = chosen.filter(|_| !space.is_tangled()).unwrap_or_else(known);
        // What is measured of a sound is heard, whatever is set.
        let of_sound = matches!(finding.unit.dimension(), Dimension::SoundLevel | Dimension::Decibels);
        let is_measured = on_vehicle_of(finding.quantity, finding.scope.item.as_deref()).proof == Proof::Measure;
        if of_sound && is_measured && !chosen.care.contains(&SOUNDING) {
            chosen.care.push(SOUNDING);
        }
        chosen
    }

    /// The states that show what was found; of a circuit those in which as much flows.
    fn states(&self, finding: &Finding) -> Option<Region> {
        let trace = finding.trace.as_ref()?;
        let loaded = finding.scope.circuit.as_deref().and_then(|circuit| {
            let at = trace.state.as_ref().map(|state| self.conduct.space().state(state));
            as_loaded(self.conduct, finding.quantity, circuit, at.as_ref())
        });
        loaded.or_else(|| trace.states.clone())
    }

    /// What none of several modes may show is looked at in each: in one that lights nothing it could not fail.
    fn in_each_mode(&self, finding: &Finding) -> Option<SetTo> {
        let of_light = matches!(find(finding.quantity)?.measure, Measure::Light { .. });
        let nothing = match (&finding.found, finding.require) {
            (Found::Words(words), Require::NoneOf) => words.is_empty(),
            (Found::Number(number), Require::AtMost) => *number == 0.0,
            _ => false,
        };
        let modes = self.conduct.modes_for(finding.scope.purpose.as_deref());
        let modes = modes.into_iter().filter_map(|at| {
            let region = self.conduct.modes.get(at).filter(|region| !region.is_empty())?;
            Some((self.conduct.package.modes.get(at)?.id.as_str(), region))
        });
        let modes: Vec<_> = modes.collect();
        if !(of_light && nothing && finding.verdict == Verdict::Pass && modes.len() > 1) {
            return None;
        }
        let mut all = SetTo::default();
        let mut said = Vec::new();
        for (id, region) in modes {
            let one = self.among(region);
            said.push(format!("{id} ({})", one.words.unwrap_or_else(|| "any setting".to_owned())));
            all.care.extend(one.care);
        }
        all.care = self.without.iter().map(|(_, care)| *care).filter(|care| all.care.contains(care)).collect();
        all.words = Some(format!("each mode in turn: {}", said.join("; ")));
        Some(all)
    }

    /// The safest of some states, then the one with the most inputs at rest; as few of its inputs are said as show that
    /// it is one of them.
    fn among(&self, states: &Region) -> SetTo {
        let space = self.conduct.space();
        let mut left = states.clone();
        for wish in self.without.iter().map(|(region, _)| region).chain(&self.rest) {
            let met = space.and(&left, wish);
            if !met.is_empty() {
                left = met;
            }
        }
        let Some(state) = space.first(&left) else { return SetTo::default() };
        let mut setting = space.witness(states, &state);
        // What is not said stays at rest; so what cannot stay there is said too, such as the parking brake in reverse.
        let park = space.inputs().meaning(Meaning::Park);
        let is_at_rest = |input: usize, position: usize| position == usize::from(Some(input) == park);
        for (input, position) in state.iter().copied().enumerate() {
            if !is_at_rest(input, position) && setting.iter().all(|(said, _)| *said != input) {
                setting.push((input, position));
            }
        }
        setting.sort_unstable();
        let set = space.holding(&setting);
        let care = self.without.iter().filter(|(region, _)| !space.meet(&set, region)).map(|(_, care)| *care);
        SetTo { words: (!setting.is_empty()).then(|| space.words(&setting)), care: care.collect() }
    }
}
