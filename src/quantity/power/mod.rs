//! What the electrical side comes to, circuit by circuit and source by source.

pub(super) mod circuit;
mod how;
pub(super) mod source;

pub use how::how;

use super::states::from_nowhere;
use super::{Ask, LevelScope, Measure, Measured, Quantity, Scope, Value};
use crate::measure::{Case, Conduct, Flow, Flows, Power, Range, Tree};
use crate::package::{Circuit, Fuse};
use crate::units::Dimension;

type Ways = fn(&Conduct<'_>, &Ask<'_>) -> Vec<Measured>;

/// A quantity of the electrical side; asked of a purpose or of all states.
const fn of_power(
    name: &'static str,
    says: &'static str,
    dimension: Dimension,
    purpose: bool,
    by_hand: &'static str,
    measure: Ways,
) -> Quantity {
    let scope = Scope { purpose, level: LevelScope::Never, zone: false };
    from_nowhere(name, says, dimension, scope, by_hand, Measure::Power(measure))
}

/// What stands in for all of it where the package describes no supply.
fn no_supply() -> Vec<Measured> {
    vec![Measured::new(Value::Unknown("the package has no [supply]".to_owned()))]
}

/// Which of several figures is the worst, and what stands in where the wires cannot carry the load at all.
#[derive(Clone, Copy, PartialEq)]
enum Worst {
    /// The greatest; nothing stands in.
    Greatest,
    /// The greatest, or this.
    GreatestOr(f64),
    /// The least, or this.
    LeastOr(f64),
}

impl Worst {
    fn is_greatest(self) -> bool {
        matches!(self, Self::Greatest | Self::GreatestOr(_))
    }
}

/// Of lamps on no circuit nothing is judged; the same where there is no circuit at all.
fn beside_circuits(power: &Power) -> Option<Measured> {
    let wired = match power.supply.circuits.is_empty() {
        true => Err("no [[circuit]] is described".to_owned()),
        false => power.all_wired(),
    };
    wired.err().map(|why| Measured::new(Value::Unknown(why)))
}

/// One circuit of a solved vehicle.
struct OneCircuit<'p> {
    circuit: &'p Circuit,
    /// Its place in the supply.
    at: usize,
    tree: &'p Tree,
    /// Its place in the tree.
    place: usize,
}

impl OneCircuit<'_> {
    /// The fuse that protects it: its own, or the next one towards the source.
    fn fuse<'p>(&self, power: &'p Power) -> Result<&'p Fuse, String> {
        let fuse = power.supply.towards_source(self.at).find_map(|circuit| circuit.fuse.as_ref());
        fuse.ok_or_else(no_fuse)
    }
}

fn no_fuse() -> String {
    "no `fuse` is described between it and its source".to_owned()
}

/// A figure of a circuit in one case at one voltage; an error says what is missing.
type Figure = Result<Range, String>;

/// Goes through all circuits; `figure` is `None` where there is nothing to ask of one.
fn each_circuit(
    conduct: &Conduct<'_>,
    worst: Worst,
    asks: impl Fn(&Power, &OneCircuit<'_>) -> bool,
    figure: impl Fn(&Power, &OneCircuit<'_>, &Flows, &Flow) -> Figure,
) -> Vec<Measured> {
    let Some(power) = conduct.power() else { return no_supply() };
    let mut found = Vec::new();
    for (at, circuit) in power.supply.circuits.iter().enumerate() {
        let Some((tree, place)) = power.of_circuit(at) else { continue };
        let one = OneCircuit { circuit, at, tree, place };
        if asks(power, &one) {
            let mut measured = worst_of(conduct, power, &one, worst, &figure);
            measured.circuit = Some(circuit.id.clone());
            found.push(measured);
        }
    }
    found.extend(beside_circuits(power));
    found
}

/// Goes through all circuits, for what hangs on no state.
fn each_fixed(
    conduct: &Conduct<'_>,
    asks: impl Fn(&Power, &OneCircuit<'_>) -> bool,
    figure: impl Fn(&Power, &OneCircuit<'_>) -> Figure,
) -> Vec<Measured> {
    let Some(power) = conduct.power() else { return no_supply() };
    let of_circuit = |(at, circuit): (usize, &Circuit)| {
        let (tree, place) = power.of_circuit(at)?;
        let one = OneCircuit { circuit, at, tree, place };
        let value = |one: &OneCircuit<'_>| match figure(power, one) {
            Ok(range) => Value::Number { low: range.low, high: range.high, occurs: false },
            Err(why) => Value::Unknown(why),
        };
        asks(power, &one).then(|| Measured { circuit: Some(circuit.id.clone()), ..Measured::new(value(&one)) })
    };
    power.supply.circuits.iter().enumerate().filter_map(of_circuit).chain(beside_circuits(power)).collect()
}

/// The worst case of a circuit.
fn worst_of(
    conduct: &Conduct<'_>,
    power: &Power,
    one: &OneCircuit<'_>,
    worst: Worst,
    figure: &impl Fn(&Power, &OneCircuit<'_>, &Flows, &Flow) -> Figure,
) -> Measured {
    let mut known: Option<(Range, &Case, &Flows)> = None;
    // Of which nothing is known what they draw, in any case that this leaves open.
    let mut unknown: Vec<&str> = Vec::new();
    let mut fallen: Option<(String, &Case)> = None;
    for case in &one.tree.cases {
        for flows in &case.flows {
            let Some(flow) = flows.flows.as_ref().and_then(|all| all.get(one.place)) else {
                let volts = flows.source.1.value();
                let why = format!("no operating point: at {volts:.1} V the wires cannot carry what hangs on them");
                let (Worst::GreatestOr(value) | Worst::LeastOr(value)) = worst else {
                    // What is drawn at the other voltages may be too much all the same.
                    fallen = Some((why, case));
                    continue;
                };
                let mut measured = Measured::new(Value::exactly(value));
                measured.notes.push(why);
                return told(measured, conduct, case);
            };
            match figure(power, one, flows, flow) {
                Err(why) => return told(Measured::new(Value::Unknown(why)), conduct, case),
                Ok(range) => {
                    let new = case.unknown().into_iter().filter(|name| !unknown.contains(name)).collect::<Vec<_>>();
                    unknown.extend(new);
                    let greatest = worst.is_greatest();
                    let worse = |old: Range| match greatest {
                        true => (range.low, range.high) > (old.low, old.high),
                        false => (range.high, range.low) < (old.high, old.low),
                    };
                    let joined = known.map_or(range, |(old, _, _)| match greatest {
                        true => Range { low: old.low.max(range.low), high: old.high.max(range.high) },
                        false => Range { low: old.low.min(range.low), high: old.high.min(range.high) },
                    });
                    known = Some(match known {
                        Some((old, case, flows)) if !worse(old) => (joined, case, flows),
                        _ => (joined, case, flows),
                    });
                }
            }
        }
    }
    let Some((range, case, flows)) = known else {
        if let Some((why, case)) = fallen {
            return told(Measured::new(Value::Unknown(why)), conduct, case);
        }
        return Measured::new(Value::Absent("nothing on this circuit is ever lit".to_owned()));
    };
    let open = one.tree.rest || fallen.is_some();
    let high = if open && worst.is_greatest() { f64::INFINITY } else { range.high };
    let low = if one.tree.rest && !worst.is_greatest() { f64::NEG_INFINITY } else { range.low };
    let mut measured = Measured::new(Value::Number { low, high, occurs: false });
    measured.steps.push(format!("at {} of the {}", volts(flows.source.1.value()), at_source(flows.source.0)));
    if one.tree.rest {
        measured.notes.insert(0, TOO_MANY.to_owned());
    } else if let Some((why, _)) = fallen {
        measured.notes.insert(0, why);
    } else if !unknown.is_empty() {
        measured.notes.insert(0, format!("no current is stated for {}", unknown.join(", ")));
    } else if range.low != range.high {
        measured.notes.push(BOUNDS.to_owned());
    }
    measured.evidence = case.evidence();
    told(measured, conduct, case)
}

const TOO_MANY: &str = "what hangs on this feed can be on together in more ways than are gone through";

const BOUNDS: &str = "only bounds: the phases, or how a current follows the voltage, are not stated";

fn at_source(name: &str) -> &str {
    match name {
        "battery" => "battery, engine off",
        "running" => "battery, engine running",
        "regulated" => "battery, at the regulator's voltage",
        other => other,
    }
}

fn volts(value: f64) -> String {
    format!("{} V", (value * 100.0).round() / 100.0)
}

/// With the states of the case, where not all of them are alike.
fn told(mut measured: Measured, conduct: &Conduct<'_>, case: &Case) -> Measured {
    if case.region != *conduct.space().allowed() {
        measured.states = Some(case.region.clone());
    }
    measured
}
