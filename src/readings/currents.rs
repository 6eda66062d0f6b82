//! The current of a circuit: limits are shares of what fuse and wire may carry, and a clamp meter shows amperes. One line
//! stands for both, held against the stricter.

use super::lines::{Beside, Calculated, Line};
use crate::judge::{Finding, Found};
use crate::measure::Conduct;
use crate::quantity::{current_by_voltage, whole_current};
use crate::ruleset::{Demand, Require};
use crate::units::{Dimension, Unit, format_number};

/// What is a share of what a fuse or a wire may carry, in amperes: a clamp meter shows no share.
pub(super) fn in_amperes(conduct: &Conduct<'_>, finding: &Finding, line: Line) -> Line {
    let circuit = finding.scope.circuit.as_deref();
    let Some(whole) = circuit.and_then(|circuit| whole_current(conduct, finding.quantity, circuit)) else {
        return line;
    };
    let amperes = |share: f64| finding.unit.to_base(share) * whole.value();
    let limit = match &line.limit {
        Demand::Number(limit) => Demand::Number(amperes(*limit)),
        Demand::Range { from, to } => Demand::Range { from: amperes(*from), to: amperes(*to) },
        other => other.clone(),
    };
    let expected = match &line.expected {
        Found::Number(share) => Found::Number(amperes(*share)),
        other => other.clone(),
    };
    let (mut calculated, mut beside) = (line.calculated, None);
    if let Some(((least, most), at, varies)) = circuit.and_then(|circuit| current_by_voltage(conduct, circuit)) {
        calculated = Calculated::Between(least, most);
        if at.len() > 1 {
            let (from, to) = (format_number(least, 2), format_number(most, 2));
            let computed = match (from == to, varies) {
                (true, _) => format!("{to} A at each voltage"),
                (_, false) => format!("{from} to {to} A by voltage"),
                // How long it is on, or how its pulses fall together, is not known.
                (_, true) => format!("{from} to {to} A, at one voltage too"),
            };
            let what = format!("the voltage: the limit is for the worst of {}", at.join(", "));
            beside = Some(Beside { what, computed });
        }
    }
    let limits = line.findings.iter().map(|id| (id.clone(), limit.clone())).collect();
    Line { limit, limits, expected, calculated, beside, unit: Unit::base(Dimension::Current), ..line }
}

/// Whether two lines ask for the current of one circuit, each by a greatest one.
pub(super) fn is_one_current(one: &Line, other: &Line) -> bool {
    let capped = |line: &Line| match (&line.limit, &line.expected) {
        (Demand::Number(_), Found::Number(found)) if line.require == Require::AtMost => Some(*found),
        _ => None,
    };
    let Some((this, that)) = capped(one).zip(capped(other)) else { return false };
    let of_current = [one, other].iter().all(|line| line.unit.dimension() == Dimension::Current);
    let alike = one.stop == other.stop && one.strength == other.strength && one.state == other.state;
    let excepted = one.excepted.is_some() || other.excepted.is_some();
    of_current
        && alike
        && !excepted
        && !one.of.is_empty()
        && one.of == other.of
        && (this - that).abs() <= 1e-9 * this.abs()
}

/// One reading decides both limits where it is held against the lower one.
pub(super) fn take_stricter(known: &mut Line, line: Line) {
    known.findings.extend(line.findings);
    known.limits.extend(line.limits);
    known.met = match (known.met, line.met) {
        (Some(one), Some(other)) => Some(one && other),
        (Some(false), None) | (None, Some(false)) => Some(false),
        _ => None,
    };
    if let (Demand::Number(old), Demand::Number(new)) = (&known.limit, &line.limit)
        && new < old
    {
        (known.limit, known.says, known.source) = (line.limit, line.says, line.source);
    }
}
