//! What is left when one thing fails: a head, a circuit, an output of the controller, a clock.
//!
//! Each point hangs on one failing part, on several or on none, so the work grows with heads and points, not with
//! heads times heads.

use rustc_hash::{FxBuildHasher, FxHashMap};

use super::flash::{clocked, least_over_points};
use super::optical::{Point, h_plane, known_sum, measured_sum};
use super::ways::{by_flashes, by_reach, in_total};
use super::{
    Ask, LevelScope, Measure, Measured, OneMore, Quantity, Scope, Value, Witness, Working, bearing, counted, counting,
    counts_here, evidence_at, heads_without_data, lacks_data, points, reaching,
};
use crate::flash::{ClockId, Clocked, Exactness, UnionRate, can_fill, union_rate};
use crate::measure::{LitHead, Reach, Survey};
use crate::units::{Dimension, Rate, format_number};

/// What fails as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fails {
    Head,
    Circuit,
    Output,
}

/// What fails with a head, by name; where the package does not say, the head for itself.
type Part<'h> = Result<&'h str, &'h str>;

impl Fails {
    fn part<'h>(self, lit: &'h LitHead<'_>) -> Part<'h> {
        let id = lit.head.id.as_str();
        match self {
            Self::Head => Ok(id),
            Self::Circuit => lit.head.circuit.as_deref().ok_or(id),
            Self::Output => lit.head.output.as_deref().ok_or(id),
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Head => "head",
            Self::Circuit => "circuit",
            Self::Output => "output",
        }
    }

    fn named(self, part: Part<'_>) -> String {
        match part {
            Ok(name) => format!("{} `{name}`", self.word()),
            Err(head) => format!("what feeds head `{head}`"),
        }
    }

    /// What a reader must know where the package does not name what feeds a head.
    fn unnamed(self, heads: &[&LitHead<'_>]) -> Option<String> {
        let unnamed: Vec<&str> = heads.iter().filter_map(|lit| self.part(lit).err()).collect();
        (!unnamed.is_empty()).then(|| format!("no `{}` is named for {}", self.word(), unnamed.join(", ")))
    }
}

const SCOPE: Scope = Scope { purpose: true, level: LevelScope::Optional, zone: true };

/// What the quantities of one family have in common.
const fn of_light(
    name: &'static str,
    says: &'static str,
    by_hand: &'static str,
    dimension: Dimension,
    measure: Measure,
    working: fn(&Survey<'_>, &Ask<'_>, &Measured) -> Working,
) -> Quantity {
    let (scope, each_head, looks, counts_permitted) = (SCOPE, false, true, true);
    Quantity { name, says, dimension, scope, each_head, looks, counts_permitted, by_hand, measure, working }
}

const fn of_points(measure: fn(&Survey<'_>, &Ask<'_>) -> Vec<Measured>) -> Measure {
    Measure::Light { one_more: OneMore::Lowers, heeds: counts_here, compare: by_reach, measure }
}

const fn of_totals(measure: fn(&Survey<'_>, &Ask<'_>) -> Vec<Measured>) -> Measure {
    Measure::Light { one_more: OneMore::Raises, heeds: counts_here, compare: in_total, measure }
}

/// The most points that one dark head leaves without a signal.
pub(super) static ONE_HEAD_DARK: Quantity = of_light(
    "signal-with-one-head-dark",
    "points in the horizontal plane that the worst single dark head leaves without a signal",
    "cover or unplug one head at a time and walk the zone at the radius the requirement names",
    Dimension::Points,
    of_points(|survey, ask| vec![left_dark(survey, ask, Fails::Head)]),
    |survey, ask, _| points_in_words(survey, ask, Fails::Head),
);

/// The most points that one dark circuit leaves without a signal.
pub(super) static ONE_CIRCUIT_DARK: Quantity = of_light(
    "signal-with-one-circuit-dark",
    "points in the horizontal plane that the worst single dark circuit leaves without a signal",
    "pull one fuse at a time and walk the zone at the radius the requirement names",
    Dimension::Points,
    of_points(|survey, ask| vec![left_dark(survey, ask, Fails::Circuit)]),
    |survey, ask, _| points_in_words(survey, ask, Fails::Circuit),
);

/// The most points that one dark output leaves without a signal.
pub(super) static ONE_OUTPUT_DARK: Quantity = of_light(
    "signal-with-one-output-dark",
    "points in the horizontal plane that the worst single dark output of the controller leaves without a signal",
    "unplug one output of the controller at a time and walk the zone at the radius the requirement names",
    Dimension::Points,
    of_points(|survey, ask| vec![left_dark(survey, ask, Fails::Output)]),
    |survey, ask, _| points_in_words(survey, ask, Fails::Output),
);

const TOTAL_BY_HAND: &str =
    "a laboratory measures each head on a goniometer; take what the dark ones give from the total";

/// The zone total without its strongest head.
pub(super) static TOTAL_HEAD_DARK: Quantity = of_light(
    "zone-total-with-one-head-dark",
    "the zone total that the worst single dark head leaves",
    TOTAL_BY_HAND,
    Dimension::OpticalPower,
    of_totals(|survey, ask| vec![total_left(survey, ask, Fails::Head)]),
    |survey, ask, _| totals_in_words(survey, ask, Fails::Head),
);

/// The zone total without its strongest circuit.
pub(super) static TOTAL_CIRCUIT_DARK: Quantity = of_light(
    "zone-total-with-one-circuit-dark",
    "the zone total that the worst single dark circuit leaves",
    TOTAL_BY_HAND,
    Dimension::OpticalPower,
    of_totals(|survey, ask| vec![total_left(survey, ask, Fails::Circuit)]),
    |survey, ask, _| totals_in_words(survey, ask, Fails::Circuit),
);

/// The zone total without its strongest output.
pub(super) static TOTAL_OUTPUT_DARK: Quantity = of_light(
    "zone-total-with-one-output-dark",
    "the zone total that the worst single dark output of the controller leaves",
    TOTAL_BY_HAND,
    Dimension::OpticalPower,
    of_totals(|survey, ask| vec![total_left(survey, ask, Fails::Output)]),
    |survey, ask, _| totals_in_words(survey, ask, Fails::Output),
);

/// Flashes of the summed light once heads of one clock run free.
pub(super) static CLOCK_LOST: Quantity = Quantity {
    scope: Scope { purpose: true, level: LevelScope::Never, zone: true },
    ..of_light(
        "flash-count-with-a-clock-lost",
        "fewest flashes of the summed light at a point, over all phases, once the heads of the worst single clock run free or drift; least over the zone",
        "unplug the line that keeps the heads in step, let them drift, and film from the point at 240 frames a second",
        Dimension::Rate,
        Measure::Light { one_more: OneMore::Either, heeds: counts_here, compare: by_flashes, measure: clock_lost },
        super::flash::working_at_point,
    )
};

/// What has to fail for a point to be left without a signal.
#[derive(Clone, Copy)]
enum Hangs<'h> {
    /// Nothing: no signal reaches it anyway.
    OnNothing,
    /// This.
    On(Part<'h>),
    /// Two things at least.
    OnSeveral,
}

fn hangs<'h>(parts: impl Iterator<Item = Part<'h>>) -> Hangs<'h> {
    parts.fold(Hangs::OnNothing, |known, part| match known {
        Hangs::OnNothing => Hangs::On(part),
        Hangs::On(one) if one == part => known,
        Hangs::On(_) | Hangs::OnSeveral => Hangs::OnSeveral,
    })
}

/// What points hang on, taken at the worst: no data is no signal, and a head fails with any part if it is not known
/// with which.
fn hanging<'s>(survey: &Survey<'_>, ask: &Ask<'_>, heads: &[&'s LitHead<'_>], fails: Fails) -> Vec<(usize, Hangs<'s>)> {
    let one = |point: usize| {
        let sure = heads.iter().filter(|lit| lit.reach(point) == Reach::Surely);
        (point, hangs(sure.map(|lit| fails.part(lit)).filter(|part| part.is_ok())))
    };
    points(survey, ask).map(one).collect()
}

/// How many points hang on the worst part, on nothing included; the first of equals in the order of the file.
fn worst<'s>(points: &[(usize, Hangs<'s>)], heads: &[&'s LitHead<'_>], fails: Fails) -> (usize, Option<Part<'s>>) {
    let mut lost: FxHashMap<Part<'s>, usize> = FxHashMap::default();
    let mut anyway = 0;
    for (_, hangs) in points {
        match hangs {
            Hangs::OnNothing => anyway += 1,
            Hangs::On(part) => *lost.entry(*part).or_default() += 1,
            Hangs::OnSeveral => {}
        }
    }
    let most = heads.iter().map(|lit| fails.part(lit)).fold((0, None), |best, part| match lost.get(&part) {
        Some(lost) if *lost > best.0 => (*lost, Some(part)),
        _ => best,
    });
    (anyway + most.0, most.1)
}

fn left_dark(survey: &Survey<'_>, ask: &Ask<'_>, fails: Fails) -> Measured {
    let heads = counting(survey, ask);
    let at_worst = hanging(survey, ask, &heads, fails);
    let (high, dark) = worst(&at_worst, &heads, fails);
    let mut without: Vec<&str> =
        heads.iter().filter(|lit| lacks_data(survey, ask, lit)).map(|lit| lit.head.id.as_str()).collect();
    without.dedup();
    // At best all that may reach a point does, and what is not known to fail with others fails alone.
    let low = if without.is_empty() && heads.iter().all(|lit| fails.part(lit).is_ok()) {
        high
    } else {
        let may_reach = |point: usize| heads.iter().filter(move |lit| lit.reach(point) != Reach::No);
        let at_best = |point: usize| (point, hangs(may_reach(point).map(|lit| fails.part(lit))));
        worst(&points(survey, ask).map(at_best).collect::<Vec<_>>(), &heads, fails).0
    };
    let mut found = Measured::new(Value::Number { low: counted(low), high: counted(high), occurs: false });
    let lost = at_worst.iter().find(|(_, hangs)| is_lost(*hangs, dark));
    found.witness.bearing = lost.map(|(point, _)| bearing(survey, *point));
    found.evidence = evidence_at(&heads, points(survey, ask));
    if high > 0 {
        if !without.is_empty() {
            found.notes.push(format!("no data counts as no signal: {}", heads_without_data(&without)));
        }
        if low < high {
            found.notes.extend(fails.unnamed(&heads));
        }
    }
    match (fails, dark) {
        (Fails::Head, Some(Ok(head))) => found.witness.head = Some(head.to_owned()),
        (_, Some(part)) => found.notes.push(format!("worst without {}", fails.named(part))),
        (_, None) if heads.is_empty() => found.notes.push("no head counts here at all".to_owned()),
        (_, None) => {}
    }
    found
}

fn is_lost(hangs: Hangs<'_>, dark: Option<Part<'_>>) -> bool {
    match hangs {
        Hangs::OnNothing => true,
        Hangs::On(part) => Some(part) == dark,
        Hangs::OnSeveral => false,
    }
}

fn points_in_words(survey: &Survey<'_>, ask: &Ask<'_>, fails: Fails) -> Working {
    let heads = counting(survey, ask);
    let points = hanging(survey, ask, &heads, fails);
    let (_, dark) = worst(&points, &heads, fails);
    let names = |point: usize| {
        let (sure, _) = reaching(&heads, point);
        sure.iter().map(|lit| lit.head.id.as_str()).collect::<Vec<_>>()
    };
    let mut lines = Vec::new();
    for (point, _) in points.iter().filter(|(_, hangs)| is_lost(*hangs, dark)) {
        let names = names(*point);
        let reached =
            if names.is_empty() { "no signal at all".to_owned() } else { format!("lit by {} alone", names.join(", ")) };
        lines.push(format!("at {:.1} deg: {reached}", bearing(survey, *point).value()));
    }
    if lines.is_empty() {
        let all = points.iter().map(|(point, _)| (*point, names(*point)));
        if let Some((point, names)) = all.min_by_key(|(_, names)| names.len()) {
            let at = bearing(survey, point).value();
            lines.push(format!("fewest at {at:.1} deg: {} heads: {}", names.len(), names.join(", ")));
        }
    }
    Working { lines, ..Working::default() }
}

/// What each head is known to give at the points of the zone.
fn giving(heads: &[&LitHead<'_>], points: &[Point]) -> Vec<f64> {
    heads.iter().map(|lit| known_sum(lit, points)).collect()
}

/// The parts with what each is known to give in the zone, in the order of the file; and what heads of unknown parts
/// give.
fn shares<'s>(heads: &[&'s LitHead<'_>], giving: &[f64], fails: Fails) -> (Vec<(Part<'s>, f64)>, f64) {
    let mut shares: Vec<(Part<'s>, f64)> = Vec::new();
    let mut places: FxHashMap<Part<'s>, usize> = FxHashMap::with_capacity_and_hasher(heads.len(), FxBuildHasher);
    let mut unnamed = 0.0;
    for (lit, gives) in heads.iter().zip(giving) {
        let part = fails.part(lit);
        unnamed += if part.is_err() { *gives } else { 0.0 };
        let next = shares.len();
        match shares.get_mut(*places.entry(part).or_insert(next)) {
            Some((_, share)) => *share += gives,
            None => shares.push((part, *gives)),
        }
    }
    (shares, unnamed)
}

fn total_left(survey: &Survey<'_>, ask: &Ask<'_>, fails: Fails) -> Measured {
    let heads = counting(survey, ask);
    let points = h_plane(survey, ask);
    let giving = giving(&heads, &points);
    let (shares, unnamed) = shares(&heads, &giving, fails);
    let most = |parts: &mut dyn Iterator<Item = &(Part<'_>, f64)>| parts.map(|(_, share)| *share).fold(0.0, f64::max);
    let dark = shares.iter().reduce(|best, next| if next.1 > best.1 { next } else { best }).map(|(part, _)| *part);
    let left = heads.iter().zip(&giving).filter(|(lit, _)| Some(fails.part(lit)) != dark);
    let (left, gives): (Vec<&LitHead<'_>>, Vec<f64>) = left.map(|(lit, gives)| (*lit, *gives)).unzip();
    let mut found = measured_sum(survey, ask, &left, &points, gives.iter().sum(), Witness::default());
    // Data that lack for the dark part may hide that another one is worse, yet what is left stays a lower bound.
    if heads.iter().any(|lit| lacks_data(survey, ask, lit)) {
        found.notes = measured_sum(survey, ask, &heads, &points, 0.0, Witness::default()).notes;
        if let Value::Number { high, .. } = &mut found.value {
            *high = f64::INFINITY;
        }
    }
    if unnamed > 0.0 {
        // At worst all heads of which it is not known fail with the strongest part that is.
        let named = most(&mut shares.iter().filter(|(part, _)| part.is_ok()));
        let low = (giving.iter().sum::<f64>() - unnamed - named).max(0.0);
        if let Value::Number { low: known, .. } = &mut found.value {
            *known = known.min(low);
        }
        found.notes.extend(fails.unnamed(&heads));
    }
    match (fails, dark) {
        (Fails::Head, Some(Ok(head))) => found.witness.head = Some(head.to_owned()),
        (_, Some(part)) => found.notes.push(format!("worst without {}", fails.named(part))),
        (_, None) => found.notes.push("no head counts here at all".to_owned()),
    }
    found
}

fn totals_in_words(survey: &Survey<'_>, ask: &Ask<'_>, fails: Fails) -> Working {
    let heads = counting(survey, ask);
    let (mut shares, _) = shares(&heads, &giving(&heads, &h_plane(survey, ask)), fails);
    let all: f64 = shares.iter().map(|(_, share)| share).sum();
    shares.sort_by(|(_, a), (_, b)| b.total_cmp(a));
    let line = |(part, share): &(Part<'_>, f64)| {
        let (left, share) = (format_number(all - share, 0), format_number(*share, 0));
        format!("without {}: {left} cd.s/min left, {share} lost", fails.named(*part))
    };
    let lines = shares.iter().filter(|(_, share)| *share > 0.0).map(line).collect();
    Working { lines, ..Working::default() }
}

fn clock_lost(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let mut clocks: Vec<ClockId> = Vec::new();
    for clock in survey.lit.iter().filter_map(|lit| lit.clock) {
        if !clocks.contains(&clock) {
            clocks.push(clock);
        }
    }
    clocks.sort_unstable();
    let mut worst: Option<(f64, Option<ClockId>)> = None;
    let mut found = least_over_points(survey, ask, |sure, unsure| {
        let set: Vec<usize> = sure.iter().map(|lit| lit.rhythm).collect();
        let rate = |lost: Option<ClockId>| {
            let mut counted = survey.counted.borrow_mut();
            let rate = *counted.entry((set.clone(), lost)).or_insert_with(|| flashes_without(survey, sure, lost));
            let least = rate.least.per_minute();
            (least, if rate.exactness == Exactness::Exact { least } else { rate.most.per_minute() })
        };
        let shared = |clock: &&ClockId| sure.iter().filter(|lit| lit.clock == Some(**clock)).nth(1).is_some();
        let (mut low, mut high) = rate(None);
        let mut without = None;
        for clock in clocks.iter().filter(shared) {
            let (least, most) = rate(Some(*clock));
            without = if least < low { Some(*clock) } else { without };
            (low, high) = (low.min(least), high.min(most));
        }
        // A head without data may merge with the others or add flashes.
        let (low, high) = if unsure.is_empty() { (low, high) } else { (0.0, f64::INFINITY) };
        if worst.is_none_or(|(known, _)| low < known) {
            worst = Some((low, without));
        }
        (low, high, low >= high)
    });
    let without = worst.and_then(|(_, clock)| clock);
    let name = without.and_then(|clock| survey.package.heads.get(clock.0)?.clock.as_deref());
    let note = name.map(|clock| format!("worst without clock `{clock}`"));
    found.iter_mut().for_each(|found| found.notes.extend(note.clone()));
    found
}

/// Flashes of the light of some heads together once those of one clock run free of each other.
fn flashes_without(survey: &Survey<'_>, heads: &[&LitHead<'_>], lost: Option<ClockId>) -> UnionRate {
    let terms = &survey.protocol.flash;
    let is_free = |lit: &LitHead<'_>| lost.is_some() && lit.clock == lost;
    let free: Vec<_> = heads.iter().filter(|lit| is_free(lit)).map(|lit| &lit.timeline).collect();
    if can_fill(&free, terms.dark_at_least, terms.lit_above) {
        return UnionRate::only(Rate::ZERO);
    }
    let clocked = heads.iter().map(|lit| match clocked(lit) {
        kept if !is_free(lit) => kept,
        kept => Clocked { clock: None, ..kept },
    });
    union_rate(&clocked.collect::<Vec<_>>(), terms.dark_at_least, terms.lit_above)
}
