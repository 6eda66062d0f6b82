//! Fields of the electrical side and of sounders that can be changed by themselves: nothing else is bound by them. All
//! else that is wired names other parts by their places, hangs together, and is taken over together.

use std::rc::Rc;

use super::changed::{Change, Difference};
use super::facts::Kind;
use crate::package::{Alternator, Circuit, Load, Package, Sounder};

/// The keys of a circuit that stand by themselves; those behind the first need a wire that is stated.
const OF_CIRCUIT: [&str; 7] = [
    "fuse",
    "wire",
    "length of the wire",
    "kind of wire",
    "insulation",
    "through an engine space",
    "ampacity that its maker states",
];
const OF_ALTERNATOR: [&str; 2] = ["nameplate", "hot at idle"];
const OF_LOAD: [&str; 5] = ["draws", "share of the time", "kind", "when", "evidence"];
const OF_SOUNDER: [&str; 6] =
    ["stands", "mounted", "amplifier", "wires crossed", "what stands before it takes", "the body between takes"];

/// Whether a line speaks of such a field alone, of things that both packages have.
pub(super) fn stands_alone(line: &Difference, one: &Package, other: &Package) -> bool {
    let Change::Says { key, .. } = &line.change else { return false };
    let is_listed = keys(line.kind).contains(&key.as_str());
    is_listed
        && line.ids.iter().all(|id| {
            // Both ways, since a field may be there in one of them alone.
            let mut made = Parts::of(one);
            made.take(&Parts::of(other), line.kind, id, key).is_some()
        })
}

/// Takes over such a field.
pub(super) fn take(made: &mut Package, other: &Package, line: &Difference) -> Option<()> {
    let Change::Says { key, .. } = &line.change else { return None };
    let (mut parts, others) = (Parts::of(made), Parts::of(other));
    for id in &line.ids {
        parts.take(&others, line.kind, id, key)?;
    }
    parts.put_into(made);
    Some(())
}

/// Puts back all such fields as `base` has them, where the rest was taken over from another package.
pub(super) fn put_back(made: &mut Package, base: &Package) {
    let (mut parts, base) = (Parts::of(made), Parts::of(base));
    for kind in [Kind::Circuit, Kind::Alternator, Kind::Load, Kind::Sounder] {
        for id in base.ids(kind) {
            for key in keys(kind) {
                // What one of them lacks cannot stand by itself, and has been taken over.
                let _ = parts.take(&base, kind, &id, key);
            }
        }
    }
    parts.put_into(made);
}

fn keys(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::Circuit => &OF_CIRCUIT,
        Kind::Alternator => &OF_ALTERNATOR,
        Kind::Load => &OF_LOAD,
        Kind::Sounder => &OF_SOUNDER,
        _ => &[],
    }
}

/// The parts of a package that have such fields.
struct Parts {
    circuits: Vec<Circuit>,
    alternators: Vec<Alternator>,
    loads: Vec<Load>,
    sounders: Vec<Sounder>,
}

impl Parts {
    fn of(package: &Package) -> Self {
        let supply = package.supply.as_deref();
        Self {
            circuits: supply.map(|supply| supply.circuits.clone()).unwrap_or_default(),
            alternators: supply.map(|supply| supply.alternators.clone()).unwrap_or_default(),
            loads: supply.map(|supply| supply.loads.clone()).unwrap_or_default(),
            sounders: package.sound.sounders.clone(),
        }
    }

    fn put_into(self, package: &mut Package) {
        if let Some(supply) = &mut package.supply {
            let supply = Rc::make_mut(supply);
            (supply.circuits, supply.alternators, supply.loads) = (self.circuits, self.alternators, self.loads);
        }
        package.sound.sounders = self.sounders;
    }

    fn ids(&self, kind: Kind) -> Vec<String> {
        match kind {
            Kind::Circuit => self.circuits.iter().map(|one| one.id.clone()).collect(),
            Kind::Alternator => self.alternators.iter().map(|one| one.id.clone()).collect(),
            Kind::Load => self.loads.iter().map(|one| one.id.clone()).collect(),
            Kind::Sounder => self.sounders.iter().map(|one| one.id.clone()).collect(),
            _ => Vec::new(),
        }
    }

    /// One field as the other has it; none where it cannot be taken over by itself.
    fn take(&mut self, other: &Self, kind: Kind, id: &str, key: &str) -> Option<()> {
        match kind {
            Kind::Circuit => {
                let new = other.circuits.iter().find(|one| one.id == id)?;
                circuit(self.circuits.iter_mut().find(|one| one.id == id)?, new, key)
            }
            Kind::Alternator => {
                let new = other.alternators.iter().find(|one| one.id == id)?;
                alternator(self.alternators.iter_mut().find(|one| one.id == id)?, new, key)
            }
            // What a sounder draws follows from its sheet and its soundings.
            Kind::Load if [&*self, other].iter().any(|parts| parts.sounders.iter().any(|one| one.id == id)) => None,
            Kind::Load => {
                let new = other.loads.iter().find(|one| one.id == id)?;
                load(self.loads.iter_mut().find(|one| one.id == id)?, new, key)
            }
            Kind::Sounder => {
                let new = other.sounders.iter().find(|one| one.id == id)?;
                sounder(self.sounders.iter_mut().find(|one| one.id == id)?, new, key)
            }
            _ => None,
        }
    }
}

fn circuit(made: &mut Circuit, new: &Circuit, key: &str) -> Option<()> {
    if key == "fuse" {
        made.fuse = new.fuse;
        return Some(());
    }
    let (cable, new) = (made.cable.as_mut()?, new.cable.as_ref()?);
    match key {
        "wire" => cable.wire.size = new.wire.size,
        "length of the wire" => cable.wire.length = new.wire.length,
        "kind of wire" => (cable.wire.strand, cable.wire.temperature) = (new.wire.strand, new.wire.temperature),
        "insulation" => cable.insulation = new.insulation,
        "through an engine space" => cable.engine_space = new.engine_space,
        "ampacity that its maker states" => cable.ampacity = new.ampacity,
        _ => return None,
    }
    Some(())
}

fn alternator(made: &mut Alternator, new: &Alternator, key: &str) -> Option<()> {
    match key {
        "nameplate" => made.rated = new.rated,
        "hot at idle" => made.hot_idle.clone_from(&new.hot_idle),
        _ => return None,
    }
    Some(())
}

fn load(made: &mut Load, new: &Load, key: &str) -> Option<()> {
    match key {
        "draws" => made.rating = new.rating,
        "share of the time" => made.share = new.share,
        "kind" => made.kind = new.kind,
        "when" => made.when.clone_from(&new.when),
        "evidence" => made.evidence.clone_from(&new.evidence),
        _ => return None,
    }
    Some(())
}

fn sounder(made: &mut Sounder, new: &Sounder, key: &str) -> Option<()> {
    match key {
        "stands" => made.pose.clone_from(&new.pose),
        "mounted" => made.mount = new.mount,
        "amplifier" => made.amplifier.clone_from(&new.amplifier),
        "wires crossed" => made.reversed = new.reversed,
        "what stands before it takes" => made.behind = new.behind,
        "the body between takes" => made.screened = new.screened,
        _ => return None,
    }
    Some(())
}
