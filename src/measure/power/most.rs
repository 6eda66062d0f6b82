//! The most that a battery gives in some states, and the load analysis of that moment.

use super::balance::no_efficiency;
use super::{Drawing, Power, Range, Tree, converter_input};
use crate::logic::Region;
use crate::measure::Conduct;
use crate::package::{Converter, Feed, Grade, LoadKind, Plug, Rating};
use crate::units::Volt;

/// More ways in which several trees of circuits can be on together are not gone through.
pub const MOST_WAYS: usize = 4096;

/// The most that a battery gives.
#[derive(Clone, Debug)]
pub struct Most {
    /// The mean current, in amperes.
    pub current: Range,
    /// The states in which it does.
    pub region: Region,
    /// At which voltage.
    pub volts: Volt,
    /// The weakest evidence of what draws it.
    pub evidence: Option<Grade>,
    /// Of which nothing is known what they draw.
    pub unknown: Vec<String>,
}

/// A part of the states with the current in it, what that rests on, and of which nothing is known.
#[derive(Clone)]
struct Way {
    region: Region,
    current: Range,
    evidence: Option<Grade>,
    unknown: Vec<String>,
}

impl Power {
    /// The greatest mean current of a battery in some states, of what `counts`; none where nothing hangs on it.
    ///
    /// # Errors
    /// Says why it cannot be known: too many ways of being on together, or wires that cannot carry the load.
    pub fn most(
        &self,
        conduct: &Conduct<'_>,
        battery: usize,
        states: &Region,
        voltages: &[&str],
        counts: impl Fn(&Drawing) -> bool + Copy,
    ) -> Result<Option<Most>, String> {
        self.all_wired()?;
        self.most_of(conduct, &[battery], states, voltages, counts)
    }

    /// Whether every lamp that is lit hangs on a circuit.
    ///
    /// # Errors
    /// Says which do not: what they draw is counted nowhere.
    pub fn all_wired(&self) -> Result<(), String> {
        let named: Vec<&str> = self.unwired.iter().take(3).map(String::as_str).collect();
        let more = self.unwired.len() - named.len();
        match (named.is_empty(), more) {
            (true, _) => Ok(()),
            (false, 0) => Err(format!("no `circuit` is named for {}", named.join(", "))),
            (false, _) => Err(format!("no `circuit` is named for {} (and {more} more)", named.join(", "))),
        }
    }

    /// The same of several batteries together, and whether or not all lamps hang on circuits.
    pub(super) fn most_of(
        &self,
        conduct: &Conduct<'_>,
        batteries: &[usize],
        states: &Region,
        voltages: &[&str],
        counts: impl Fn(&Drawing) -> bool + Copy,
    ) -> Result<Option<Most>, String> {
        let on_them = |feed: Feed| batteries.iter().any(|battery| feed == Feed::Battery(*battery));
        let feeding = self.supply.converters.iter().any(|converter| on_them(converter.from));
        if !feeding && !self.trees.iter().any(|tree| on_them(tree.source)) {
            return Ok(None);
        }
        let mut worst: Option<Most> = None;
        for (name, volts) in self.supply.voltages.all().into_iter().filter(|(name, _)| voltages.contains(name)) {
            let nothing =
                Way { region: states.clone(), current: Range::exactly(0.0), evidence: None, unknown: Vec::new() };
            let mut behind = Range::exactly(0.0);
            for battery in batteries {
                let of_it = self.behind_converters(*battery, volts)?;
                behind = of_it.into_iter().fold(behind, |sum, (_, input)| sum + input);
            }
            let mut ways = vec![Way { current: behind, ..nothing }];
            for tree in self.trees.iter().filter(|tree| on_them(tree.source)) {
                let of_tree = self.of_tree(conduct, tree, states, name, counts)?;
                ways = together(conduct, &ways, &of_tree);
                if tree.rest || ways.len() > MOST_WAYS {
                    return Err("the lamps are on together in too many ways to go through".to_owned());
                }
            }
            for Way { region, current, evidence, unknown } in ways {
                let high = worst.as_ref().map_or(current.high, |most| most.current.high.max(current.high));
                let is_more = |most: &Most| (most.current.low, most.current.high) < (current.low, current.high);
                if worst.as_ref().is_none_or(is_more) {
                    worst = Some(Most { current, region, volts, evidence, unknown });
                }
                worst.iter_mut().for_each(|most| most.current.high = most.current.high.max(high));
            }
        }
        Ok(worst)
    }

    /// What converters on a battery that feed circuits draw: somewhere from nothing but their own need to all they can
    /// give. Those that charge another battery are another matter: whoever asks of a running engine adds them.
    fn behind_converters(&self, battery: usize, volts: Volt) -> Result<Vec<(&Converter, Range)>, String> {
        let of_it = |one: &&Converter| one.from == Feed::Battery(battery) && one.charges.is_none();
        let drawn = |converter| {
            let most = converter_input(converter, volts).ok_or_else(|| no_efficiency(converter))?;
            Ok((converter, Range { low: converter.idle.value(), high: most.value() }))
        };
        self.supply.converters.iter().filter(of_it).map(drawn).collect()
    }

    /// The converter on a circuit that something that draws is, with its place in the supply.
    pub(super) fn converter(&self, one: &Drawing) -> Option<(usize, &Converter)> {
        let is_it = |(_, converter): &(usize, &Converter)| {
            one.head.is_none() && converter.id == one.name && converter.from == Feed::Circuit(one.circuit)
        };
        self.supply.converters.iter().enumerate().find(is_it)
    }

    /// Whether it is part of the minimum continuous load; a converter is where such a load hangs behind it.
    pub fn is_minimum(&self, one: &Drawing) -> bool {
        one.kind == LoadKind::Minimum || self.converter(one).is_some_and(|(at, _)| self.feeds_minimum(at))
    }

    fn feeds_minimum(&self, converter: usize) -> bool {
        let mut behind = self.trees.iter().filter(|tree| tree.source == Feed::Converter(converter));
        behind.any(|tree| tree.cases.iter().flat_map(|case| &case.drawing).any(|one| self.is_minimum(one)))
    }

    /// What it draws: one that feeds circuits, somewhere from its own need to what full output takes.
    fn drawn(&self, one: &Drawing, draw: Range) -> Range {
        match self.converter(one) {
            Some((_, converter)) if converter.charges.is_none() => {
                Range { low: converter.idle.value().min(draw.low), high: draw.high }
            }
            _ => draw,
        }
    }

    /// The ways of one tree in some states, those with one current joined.
    fn of_tree(
        &self,
        conduct: &Conduct<'_>,
        tree: &Tree,
        states: &Region,
        voltage: &str,
        counts: impl Fn(&Drawing) -> bool,
    ) -> Result<Vec<Way>, String> {
        let space = conduct.space();
        let mut ways: Vec<Way> = Vec::new();
        for case in &tree.cases {
            let region = space.and(&case.region, states);
            let Some(flows) = case.flows.iter().find(|flows| flows.source.0 == voltage && !region.is_empty()) else {
                continue;
            };
            if flows.flows.is_none() {
                return Err(format!(
                    "no operating point at {} V: see the voltage of its circuits",
                    flows.source.1.value()
                ));
            }
            let counted = || case.drawing.iter().zip(&flows.draws).filter(|(one, _)| counts(one));
            let current = counted().fold(Range::exactly(0.0), |sum, (one, draw)| sum + self.drawn(one, *draw));
            let evidence = counted().filter_map(|(one, _)| one.grade).max();
            let unknown: Vec<String> =
                counted().filter(|(one, _)| one.grade.is_none()).map(|(one, _)| one.name.clone()).collect();
            let same = |way: &&mut Way| way.current == current && way.evidence == evidence && way.unknown == unknown;
            match ways.iter_mut().find(same) {
                Some(known) => known.region = space.or(&known.region, &region),
                None => ways.push(Way { region, current, evidence, unknown }),
            }
        }
        Ok(ways)
    }
}

fn together(conduct: &Conduct<'_>, ways: &[Way], more: &[Way]) -> Vec<Way> {
    let mut next = Vec::with_capacity(ways.len());
    for one in ways {
        for other in more {
            let region = conduct.space().and(&one.region, &other.region);
            if !region.is_empty() && next.len() <= MOST_WAYS {
                next.push(Way {
                    region,
                    current: one.current + other.current,
                    evidence: one.evidence.max(other.evidence),
                    unknown: one.unknown.iter().chain(&other.unknown).cloned().collect(),
                });
            }
        }
    }
    next
}

/// One load of a load analysis.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadRow {
    /// The load's id, or a model with the number of its lamps.
    pub name: String,
    /// The circuit's id.
    pub circuit: String,
    /// What a load analysis calls it.
    pub kind: LoadKind,
    /// Its mean current, in amperes.
    pub current: Range,
    /// How well that is known.
    pub grade: Option<Grade>,
}

/// What a battery and its alternators carry at the moment of the greatest continuous load.
#[derive(Clone, Debug)]
pub struct LoadAnalysis {
    /// The states of that moment.
    pub region: Region,
    /// The voltage.
    pub volts: Volt,
    /// Lamps by model and circuit, then loads; intermittent ones as if they were on.
    pub rows: Vec<LoadRow>,
}

impl LoadAnalysis {
    /// Mean current of the loads of a kind, in amperes.
    pub fn sum(&self, kind: LoadKind) -> Range {
        let of_it = self.rows.iter().filter(|row| row.kind == kind);
        of_it.fold(Range::exactly(0.0), |sum, row| sum + row.current)
    }

    /// Mean current of all continuous loads, in amperes.
    pub fn total(&self) -> Range {
        self.sum(LoadKind::Minimum) + self.sum(LoadKind::Continuous)
    }

    /// The analysis of a battery in some states, at one of the voltages; none where nothing hangs on it. Lamps that hang
    /// on no circuit are not in it.
    ///
    /// # Errors
    /// As [`Power::most`].
    pub fn of(
        conduct: &Conduct<'_>,
        power: &Power,
        battery: usize,
        states: &Region,
        voltage: &str,
    ) -> Result<Option<Self>, String> {
        let continuous = |one: &Drawing| one.kind != LoadKind::Intermittent;
        let Some(most) = power.most_of(conduct, &[battery], states, &[voltage], continuous)? else {
            return Ok(None);
        };
        let mut rows: Vec<LoadRow> = Vec::new();
        for tree in power.on_battery(battery) {
            let here = tree.cases.iter().find(|case| conduct.space().meet(&case.region, &most.region));
            let Some(case) = here else { continue };
            let Some(flows) = case.flows.iter().find(|flows| flows.source.0 == voltage) else { continue };
            for (one, draw) in case.drawing.iter().zip(&flows.draws) {
                if one.kind != LoadKind::Intermittent {
                    add(conduct, power, &mut rows, one, *draw);
                }
            }
            rows.extend(intermittent(power, tree, most.volts));
        }
        let straight = |name: &str, kind, current| {
            let (name, circuit, grade) = (name.to_owned(), "-".to_owned(), Some(Grade::Maker));
            LoadRow { name, circuit, kind, current, grade }
        };
        for (converter, current) in power.behind_converters(battery, most.volts)? {
            let at = power.supply.converters.iter().position(|known| known.id == converter.id);
            let minimum = at.is_some_and(|at| power.feeds_minimum(at));
            let kind = if minimum { LoadKind::Minimum } else { LoadKind::Continuous };
            rows.push(straight(&converter.id, kind, current));
        }
        for (name, current) in power.direct_chargers(battery, most.volts)? {
            rows.push(straight(&name, LoadKind::Continuous, current));
        }
        Ok(Some(Self { region: most.region, volts: most.volts, rows }))
    }
}

/// Lamps of one model on one circuit are one row.
fn add(conduct: &Conduct<'_>, power: &Power, rows: &mut Vec<LoadRow>, one: &Drawing, draw: Range) {
    let draw = power.drawn(one, draw);
    let kind = if power.is_minimum(one) { LoadKind::Minimum } else { one.kind };
    let circuit = power.supply.circuits.get(one.circuit).map_or_else(String::new, |circuit| circuit.id.clone());
    let package = conduct.package;
    let head = one.head.and_then(|at| package.heads.get(at));
    let model = head.and_then(|head| package.models.get(head.model)).map(|model| model.id.clone());
    let name = model.unwrap_or_else(|| one.name.clone());
    let same = |row: &&mut LoadRow| head.is_some() && row.name == name && row.circuit == circuit && row.kind == kind;
    match rows.iter_mut().find(same) {
        Some(row) => {
            row.current = row.current + draw;
            row.grade = row.grade.zip(one.grade).map(|(known, new)| known.max(new));
        }
        None => rows.push(LoadRow { name, circuit, kind, current: draw, grade: one.grade }),
    }
}

/// Intermittent loads of a tree, each as if it were on, at the source's voltage.
fn intermittent(power: &Power, tree: &Tree, volts: Volt) -> Vec<LoadRow> {
    let supply = &power.supply;
    let of_it = |load: &&crate::package::Load| match load.at {
        Plug::Circuit(circuit) => load.kind == LoadKind::Intermittent && tree.circuits.contains(&circuit),
        Plug::Inverter(_) | Plug::Inlet(_) => false,
    };
    let row = |load: &crate::package::Load| {
        let current = match load.rating {
            Rating::Power(power) => Range::exactly(power.value() / volts.value()),
            Rating::Current(current, at, Some(driver)) => Range::exactly(driver.current(current, at, volts).value()),
            Rating::Current(current, at, None) => {
                let share = volts.value() / at.value();
                let (one, other) = (current.value() * share, current.value() / share);
                Range { low: one.min(other), high: one.max(other) }
            }
        };
        let circuit = match load.at {
            Plug::Circuit(at) => supply.circuits.get(at).map_or_else(String::new, |circuit| circuit.id.clone()),
            Plug::Inverter(_) | Plug::Inlet(_) => String::new(),
        };
        LoadRow { name: load.id.clone(), circuit, kind: load.kind, current, grade: Some(load.evidence.grade) }
    };
    supply.loads.iter().filter(of_it).map(row).collect()
}

/// What flows through a circuit at the most, whatever the state and the voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// The greatest mean, in amperes.
    pub average: Range,
    /// The greatest RMS, in amperes.
    pub rms: Range,
    /// The greatest peak, in amperes.
    pub peak: Range,
    /// The least voltage at its far end; none where the wires cannot carry the load.
    pub voltage: Option<Range>,
}

impl Power {
    /// RMS and peak, in amperes, that a battery gives at most in some states, whatever its trees do at once.
    ///
    /// # Errors
    /// Says what is not known.
    pub fn bounds(&self, conduct: &Conduct<'_>, battery: usize, states: &Region) -> Result<(f64, f64), String> {
        self.all_wired()?;
        let volts = self.supply.voltages.battery;
        let behind = self.behind_converters(battery, volts)?.into_iter().map(|(_, input)| input.high);
        let charging = self.direct_chargers(battery, volts)?.into_iter().map(|(_, input)| input.high);
        let straight: f64 = behind.chain(charging).sum();
        let mut sum = (straight, straight);
        for root in self.on_battery(battery).filter_map(|tree| tree.circuits.first()) {
            let Some(worst) = self.worst(conduct, *root, states) else { continue };
            if worst.voltage.is_none() {
                return Err("no operating point: see the voltage of its circuits".to_owned());
            }
            sum = (sum.0 + worst.rms.high, sum.1 + worst.peak.high);
        }
        Ok(sum)
    }

    /// The worst of a circuit in some states; none where nothing flows through it there.
    pub fn worst(&self, conduct: &Conduct<'_>, circuit: usize, states: &Region) -> Option<Worst> {
        let (tree, place) = self.of_circuit(circuit)?;
        let more = |one: Range, other: Range| Range { low: one.low.max(other.low), high: one.high.max(other.high) };
        let less = |one: Range, other: Range| Range { low: one.low.min(other.low), high: one.high.min(other.high) };
        let mut worst: Option<Worst> = None;
        let cases = tree.cases.iter().filter(|case| conduct.space().meet(&case.region, states));
        for flows in cases.flat_map(|case| &case.flows) {
            let flow = flows.flows.as_ref().and_then(|all| all.get(place));
            let none = Range::exactly(0.0);
            let here = flow.map_or(Worst { average: none, rms: none, peak: none, voltage: None }, |flow| Worst {
                average: flow.average,
                rms: flow.rms,
                peak: flow.peak,
                voltage: Some(flow.voltage),
            });
            worst = Some(worst.map_or(here, |known| Worst {
                average: more(known.average, here.average),
                rms: more(known.rms, here.rms),
                peak: more(known.peak, here.peak),
                voltage: known.voltage.zip(here.voltage).map(|(one, other)| less(one, other)),
            }));
        }
        worst
    }
}
