//! What flows where: the circuits of a vehicle as trees, each over all states and at each voltage that is judged.
//!
//! Circuits that begin at a battery or behind a converter are the roots of trees; within a tree wires are shared, so
//! its lamps and loads are solved together, and states in which they do the same are one case.

mod balance;
mod consumer;
mod flow;
mod free;
mod most;

use std::rc::Rc;

use self::consumer::{Consumer, consumers};
use super::{Conduct, Lights, MOST_LIGHTS};
use crate::logic::{Condition, Region};
use crate::package::{Converter, Feed, Grade, Load, LoadKind, Plug, SoundSide, Sounder, SounderKind, Supply};
use crate::units::{Ampere, Volt};

pub use balance::{Balance, EngineOff};
pub use flow::{Flow, Flows, Range};
pub use most::{LoadAnalysis, LoadRow, MOST_WAYS, Most, Worst};

/// What flows in a vehicle.
#[derive(Debug)]
pub struct Power {
    /// The electrical side.
    pub supply: Rc<Supply>,
    /// Trees of circuits.
    pub trees: Vec<Tree>,
    /// Heads that are lit in some state, and sounders that sound, on no circuit: what they draw is nowhere counted.
    pub unwired: Vec<String>,
}

/// Circuits that hang on one source through a common wire.
#[derive(Debug)]
pub struct Tree {
    /// What it hangs on: a battery or a converter.
    pub source: Feed,
    /// Its circuits, as places in the supply; the root first, each behind the one that feeds it.
    pub circuits: Vec<usize>,
    /// States in which its lamps and loads do the same.
    pub cases: Vec<Case>,
    /// Not all of them could be gone through.
    pub rest: bool,
}

/// States in which all that hangs on a tree does the same.
#[derive(Debug)]
pub struct Case {
    /// The states.
    pub region: Region,
    /// At each voltage of the source.
    pub flows: Vec<Flows>,
    /// What draws current.
    pub drawing: Vec<Drawing>,
}

/// A lamp or a load that draws current in some case.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// Its id.
    pub name: String,
    /// The circuit at whose end it hangs, as a place in the supply.
    pub circuit: usize,
    /// What a load analysis calls it.
    pub kind: LoadKind,
    /// Which of [`Package::heads`](crate::package::Package::heads) it is; none for what is no lamp.
    pub head: Option<usize>,
    /// It charges another battery.
    pub charges: bool,
    /// What its draw rests on; none where nothing is known of it.
    pub grade: Option<Grade>,
}

impl Power {
    /// Solves every tree in every case; none where the package has no `[supply]`.
    pub fn new(conduct: &Conduct<'_>) -> Option<Self> {
        let supply = conduct.package.supply.clone()?;
        let mut trees: Vec<Tree> = Vec::new();
        for (at, circuit) in supply.circuits.iter().enumerate() {
            match circuit.from {
                Feed::Circuit(from) => {
                    let above = trees.iter_mut().find(|tree| tree.circuits.contains(&from));
                    above.into_iter().for_each(|tree| tree.circuits.push(at));
                }
                source => trees.push(Tree { source, circuits: vec![at], cases: Vec::new(), rest: false }),
            }
        }
        for tree in &mut trees {
            let (cases, rest) = cases(conduct, &supply, tree);
            (tree.cases, tree.rest) = (cases, rest);
        }
        let lit: std::collections::BTreeSet<usize> = conduct.shown().map(|(_, head, _)| head).collect();
        let unwired = lit.into_iter().filter(|head| supply.of_heads.get(*head).copied().flatten().is_none());
        let unwired = unwired.filter_map(|head| Some(conduct.package.heads.get(head)?.id.clone()));
        let unwired = unwired.chain(sounders_without_circuit(&conduct.package.sound)).collect();
        Some(Self { supply, trees, unwired })
    }

    /// The tree of a circuit, and the circuit's place in it.
    pub fn of_circuit(&self, circuit: usize) -> Option<(&Tree, usize)> {
        self.trees.iter().find_map(|tree| {
            let place = tree.circuits.iter().position(|known| *known == circuit)?;
            Some((tree, place))
        })
    }

    /// The trees that hang on a battery.
    pub fn on_battery(&self, battery: usize) -> impl Iterator<Item = &Tree> {
        self.trees.iter().filter(move |tree| tree.source == Feed::Battery(battery))
    }
}

/// Sounders that draw current and hang on no circuit; air horns draw air.
fn sounders_without_circuit(side: &SoundSide) -> impl Iterator<Item = String> {
    let sounds = |at: usize| side.soundings.iter().any(|sounding| sounding.rows.iter().any(|(named, _)| *named == at));
    let electric = |sounder: &Sounder| side.model_of(sounder).is_none_or(|model| model.kind != SounderKind::AirHorn);
    let all = side.sounders.iter().enumerate();
    all.filter(move |(at, one)| one.circuit.is_none() && electric(one) && sounds(*at)).map(|(_, one)| one.id.clone())
}

/// The voltages of a tree's source: those that are judged, or what a converter gives.
pub fn voltages(supply: &Supply, source: Feed) -> Vec<(&'static str, Volt)> {
    match source {
        Feed::Converter(at) => {
            supply.converters.get(at).map(|converter| ("converter", converter.voltage)).into_iter().collect()
        }
        Feed::Battery(_) | Feed::Circuit(_) => supply.voltages.all().to_vec(),
    }
}

/// The cases of a tree, and whether there are states that were not gone through.
fn cases(conduct: &Conduct<'_>, supply: &Supply, tree: &Tree) -> (Vec<Case>, bool) {
    let space = conduct.space();
    let on_it = |head: usize| {
        supply.of_heads.get(head).copied().flatten().is_some_and(|circuit| tree.circuits.contains(&circuit))
    };
    let lights = Lights::among(conduct, on_it, MOST_LIGHTS);
    let mut rest = !lights.rest.is_empty() || space.is_tangled();
    // Loads that come and go part the states further.
    let mut parts: Vec<(Region, usize, Rc<Vec<bool>>)> = (0..lights.list.len())
        .filter_map(|at| Some((lights.list.get(at)?.region.clone(), at, Rc::default())))
        .collect();
    for when in switched(supply, tree) {
        let on = space.holds(when);
        let mut next = Vec::with_capacity(parts.len());
        for (region, light, switched) in parts {
            for (met, is_on) in [(space.and(&region, &on), true), (space.minus(&region, &on), false)] {
                if !met.is_empty() {
                    let switched: Vec<bool> = switched.iter().copied().chain([is_on]).collect();
                    next.push((met, light, Rc::new(switched)));
                }
            }
        }
        rest |= next.len() > MOST_LIGHTS;
        next.truncate(MOST_LIGHTS);
        parts = next;
    }
    let (wires, voltages) = (flow::wires(supply, tree), voltages(supply, tree.source));
    let case = |(region, light, on): (Region, usize, Rc<Vec<bool>>)| {
        let shown = &lights.list.get(light)?.shown;
        let all: Vec<Consumer> = consumers(conduct.package, supply, tree, shown, &on);
        let flows = flow::solve(supply, &wires, &all, &voltages);
        let drawing = all.iter().map(|one| Drawing {
            name: one.name.clone(),
            circuit: tree.circuits.get(one.branch).copied().unwrap_or(usize::MAX),
            kind: one.kind,
            head: one.head,
            charges: one.charges,
            grade: one.grade(),
        });
        let drawing = drawing.collect();
        Some(Case { region, flows, drawing })
    };
    (parts.into_iter().filter_map(case).collect(), rest)
}

/// Loads of a tree, and converters and inverters on it, in the order in which they are switched.
pub(super) enum Switched<'s> {
    Load(&'s Load),
    Converter(&'s Converter),
    Inverter(usize),
}

/// What hangs on a tree and is no lamp, with the branch at whose end it hangs.
pub(super) fn hanging<'s>(supply: &'s Supply, tree: &Tree) -> Vec<(usize, Switched<'s>)> {
    let branch = |circuit: usize| tree.circuits.iter().position(|known| *known == circuit);
    let mut found = Vec::new();
    for load in &supply.loads {
        match load.at {
            Plug::Circuit(circuit) => found.extend(branch(circuit).map(|at| (at, Switched::Load(load)))),
            Plug::Inverter(inverter) => {
                let circuit = supply.inverters.get(inverter).map(|inverter| inverter.circuit);
                found.extend(circuit.and_then(branch).map(|at| (at, Switched::Load(load))));
            }
            Plug::Inlet(_) => {}
        }
    }
    for converter in &supply.converters {
        if let Feed::Circuit(circuit) = converter.from {
            found.extend(branch(circuit).map(|at| (at, Switched::Converter(converter))));
        }
    }
    for (at, inverter) in supply.inverters.iter().enumerate() {
        found.extend(branch(inverter.circuit).map(|branch| (branch, Switched::Inverter(at))));
    }
    found
}

fn switched<'s>(supply: &'s Supply, tree: &Tree) -> Vec<&'s Condition> {
    let when = |one: &Switched<'s>| match one {
        Switched::Load(load) => Some(&load.when),
        Switched::Converter(converter) => Some(&converter.when),
        Switched::Inverter(at) => supply.inverters.get(*at).map(|inverter| &inverter.when),
    };
    hanging(supply, tree).iter().filter_map(|(_, one)| when(one)).collect()
}

impl Case {
    /// The weakest evidence of what draws current here.
    pub fn evidence(&self) -> Option<Grade> {
        self.drawing.iter().filter_map(|one| one.grade).max()
    }

    /// Of which nothing is known what they draw.
    pub fn unknown(&self) -> Vec<&str> {
        self.drawing.iter().filter(|one| one.grade.is_none()).map(|one| one.name.as_str()).collect()
    }
}

/// What a converter draws to give all it can.
pub fn converter_input(converter: &Converter, at: Volt) -> Option<Ampere> {
    let output = crate::units::Watt::new(converter.voltage.value() * converter.output.value());
    Some(crate::electrical::input_current(output, converter.efficiency?, at) + converter.idle)
}
