//! What the warning heads draw.

use std::cmp::Ordering;

use super::{Ask, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Value, Working, weakest};
use crate::measure::{LitHead, Survey};
use crate::package::Role;
use crate::units::Dimension;

/// Mean current of the warning heads that are lit.
pub(super) static AVERAGE_CURRENT: Quantity = Quantity {
    name: "average-warning-current",
    says: "mean current of the lit warning heads, from their sheets, as if all stood at the sheet's voltage",
    dimension: Dimension::Current,
    scope: Scope { purpose: true, level: LevelScope::Never, zone: false },
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: "DC clamp meter on the feed of the warning circuits, mean over at least 10 s, engine running",
    measure: Measure::Light {
        one_more: OneMore::Raises,
        heeds: |lit, _, _| lit.role == Role::Warning,
        compare: |one, other, _, _| match (mean_current(one), mean_current(other)) {
            (Some(one), Some(other)) => one.partial_cmp(&other),
            (None, None) => Some(Ordering::Equal),
            _ => None,
        },
        measure,
    },
    working: |survey, _, _| {
        let line = |lit: &LitHead<'_>| match mean_current(lit) {
            Some(current) => format!("{}: {current:.3} A", lit.head.id),
            None => format!("{}: no current given", lit.head.id),
        };
        Working { lines: warning(survey).map(line).collect(), ..Working::default() }
    },
};

fn measure(survey: &Survey<'_>, _: &Ask<'_>) -> Vec<Measured> {
    let drawn: Vec<Option<f64>> = warning(survey).map(mean_current).collect();
    let low = drawn.iter().flatten().sum();
    let unknown = drawn.iter().filter(|current| current.is_none()).count();
    let mut found =
        Measured::new(Value::Number { low, high: if unknown == 0 { low } else { f64::INFINITY }, occurs: false });
    found.evidence = weakest(warning(survey).map(|lit| lit.emitter.evidence.grade));
    if unknown > 0 {
        found.notes.push(format!("lower bound: no current is given for {unknown} of the lit heads"));
    }
    vec![found]
}

fn warning<'s>(survey: &'s Survey<'_>) -> impl Iterator<Item = &'s LitHead<'s>> {
    survey.lit.iter().map(|lit| &**lit).filter(|lit| lit.role == Role::Warning)
}

/// Lit current for the lit part of the period, standby for the rest.
fn mean_current(lit: &LitHead<'_>) -> Option<f64> {
    let current = lit.emitter.current?;
    // A dimmed head is taken to draw current for that share of the time it would be lit.
    let on = lit.on_fraction.value() * lit.dim.value();
    Some(current.lit.value() * on + current.standby.value() * (1.0 - on))
}
