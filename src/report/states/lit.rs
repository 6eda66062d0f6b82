//! Which heads are lit how, in few words: heads that show the same stand together, under the names of their groups
//! where whole groups do.

use std::collections::HashSet;

use crate::measure::Shown;
use crate::package::{Head, Package, Role, STEADY};
use crate::units::{Micros, Share, format_number};

/// Heads that show the same colour in the same way.
#[derive(Clone, Debug)]
pub(super) struct Lit<'a> {
    pub colour: &'a str,
    /// Its pattern; steady without one.
    pub pattern: Option<&'a str>,
    pub level: Share,
    pub role: Role,
    phases: Phases,
    /// Places in the package, each with its phase.
    pub heads: Vec<(usize, Micros)>,
    /// Groups, and heads that make up no group.
    pub names: Vec<String>,
}

/// How much later than the pattern, by the side of the vehicle on which a head is mounted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Phases {
    left: Option<Micros>,
    right: Option<Micros>,
    middle: Option<Micros>,
}

/// One or more heads under one name.
struct Named {
    name: String,
    heads: Vec<usize>,
    phases: Phases,
}

impl Lit<'_> {
    /// The colour and how it shows: `red two-pulse-800ms, left 0 ms, right 400 ms`.
    pub fn look(&self) -> String {
        let dimmed = if self.level.value() == 1.0 {
            String::new()
        } else {
            format!(" dimmed to {} %", format_number(self.level.value() * 100.0, 2))
        };
        let role = if self.role == Role::Warning { String::new() } else { format!(" ({})", self.role.word()) };
        let pattern = self.pattern.unwrap_or(STEADY);
        format!("{} {pattern}{dimmed}{role}{}", self.colour, self.phases.words())
    }

    /// The look of one head with this phase.
    pub fn of_one(&self, phase: Micros) -> String {
        let phases = Phases { middle: Some(phase), ..Phases::default() };
        Lit { phases, heads: Vec::new(), names: Vec::new(), ..*self }.look()
    }

    /// The look, and who shows it.
    pub fn line(&self) -> String {
        format!("{}: {}", self.look(), self.names.join(", "))
    }
}

impl Phases {
    fn of(head: &Head, phase: Micros) -> Self {
        let side = head.right.value();
        let (left, right) = (side < 0.0, side > 0.0);
        let here = |is_here: bool| is_here.then_some(phase);
        Self { left: here(left), right: here(right), middle: here(!left && !right) }
    }

    /// Both together, where they agree.
    fn with(self, other: Self) -> Option<Self> {
        let both = |one: Option<Micros>, other: Option<Micros>| match (one, other) {
            (Some(one), Some(other)) if one != other => None,
            (one, other) => Some(one.or(other)),
        };
        let (left, right) = (both(self.left, other.left)?, both(self.right, other.right)?);
        Some(Self { left, right, middle: both(self.middle, other.middle)? })
    }

    /// One phase for all sides is the same whatever sides there are.
    fn key(self) -> Self {
        let mut all = [self.left, self.right, self.middle].into_iter().flatten();
        let first = all.next();
        if all.all(|phase| Some(phase) == first) { Self { left: None, right: None, middle: first } } else { self }
    }

    fn words(self) -> String {
        let key = self.key();
        let sides = [("left", key.left), ("right", key.right), ("middle", key.middle)];
        let said = |phase: Micros| format!("{} ms", format_number(milliseconds(phase), 3));
        match key.middle {
            Some(phase) if key.left.is_none() && key.right.is_none() => {
                if phase == Micros::ZERO {
                    String::new()
                } else {
                    format!(", {} later", said(phase))
                }
            }
            _ => {
                let said = |(side, phase): (&str, Option<Micros>)| Some(format!(", {side} {}", said(phase?)));
                sides.into_iter().filter_map(said).collect()
            }
        }
    }
}

pub(super) fn milliseconds(phase: Micros) -> f64 {
    // A phase is no longer than a period, far below where whole numbers are lost.
    #[allow(clippy::cast_precision_loss)]
    let micros = phase.get() as f64;
    micros / 1000.0
}

/// Heads by what they show, in the order of the package.
pub(super) fn lit<'a>(package: &'a Package, shown: &[(usize, Shown<'a>)]) -> Vec<Lit<'a>> {
    let mut buckets: Vec<Vec<(usize, Shown<'a>)>> = Vec::new();
    for one in shown {
        let alike = |bucket: &&mut Vec<(usize, Shown<'a>)>| {
            bucket.first().is_some_and(|(head, first)| {
                let (show, known) = (one.1.show, first.show);
                first.colour(package, *head) == one.1.colour(package, one.0)
                    && (show.pattern, show.role) == (known.pattern, known.role)
                    && one.1.level == first.level
            })
        };
        match buckets.iter_mut().find(alike) {
            Some(bucket) => bucket.push(*one),
            None => buckets.push(vec![*one]),
        }
    }
    buckets.iter().flat_map(|bucket| lines(package, bucket)).collect()
}

/// One line for each way in which phases go by sides.
fn lines<'a>(package: &'a Package, bucket: &[(usize, Shown<'a>)]) -> Vec<Lit<'a>> {
    let Some((first, shown)) = bucket.first() else { return Vec::new() };
    let phases: Vec<(usize, Phases)> = bucket
        .iter()
        .filter_map(|(at, shown)| Some((*at, Phases::of(package.heads.get(*at)?, phase(shown)))))
        .collect();
    let mut lines: Vec<Lit<'a>> = Vec::new();
    for named in named(package, &phases) {
        let of_it = bucket.iter().filter(|(head, _)| named.heads.contains(head));
        let heads = of_it.map(|(head, shown)| (*head, phase(shown)));
        match lines.iter_mut().find(|line| line.phases.key() == named.phases.key()) {
            Some(line) => {
                line.heads.extend(heads);
                line.names.push(named.name);
            }
            None => lines.push(Lit {
                colour: shown.colour(package, *first),
                pattern: shown.show.pattern.and_then(|at| package.patterns.get(at)).map(|pattern| pattern.id.as_str()),
                level: shown.level,
                role: shown.show.role,
                phases: named.phases,
                heads: heads.collect(),
                names: vec![named.name],
            }),
        }
    }
    lines.iter_mut().for_each(|line| line.heads.sort_unstable());
    lines
}

/// Steady light has none.
fn phase(shown: &Shown<'_>) -> Micros {
    if shown.show.pattern.is_some() { shown.show.phase } else { Micros::ZERO }
}

/// Whole groups first, the largest first; then pairs; then heads by themselves. Each head is in one of them, and they
/// stand in the order of their first heads.
fn named(package: &Package, heads: &[(usize, Phases)]) -> Vec<Named> {
    let together = |members: &[usize]| -> Option<Phases> {
        let phase = |member: &usize| heads.iter().find(|(head, _)| head == member).map(|(_, phases)| *phases);
        members.iter().try_fold(Phases::default(), |all, member| all.with(phase(member)?))
    };
    let mut groups: Vec<(&str, Vec<usize>)> = Vec::new();
    let mut asked: HashSet<&str> = HashSet::new();
    let in_order = heads.iter().filter_map(|(at, _)| package.heads.get(*at)).flat_map(|head| &head.groups);
    for group in in_order.filter(|group| asked.insert(group.as_str())) {
        let all = package.heads.iter().enumerate().filter(|(_, head)| head.groups.contains(group));
        let members: Vec<usize> = all.map(|(at, _)| at).collect();
        if members.len() > 1 {
            groups.push((group, members));
        }
    }
    groups.sort_by_key(|(_, members)| std::cmp::Reverse(members.len()));
    let mut all: Vec<Named> = Vec::new();
    let mut taken: HashSet<usize> = HashSet::new();
    for (group, members) in groups {
        if members.iter().any(|head| taken.contains(head)) {
            continue;
        }
        if let Some(phases) = together(&members) {
            taken.extend(&members);
            all.push(Named { name: group.to_owned(), heads: members, phases });
        }
    }
    for (head, phases) in heads {
        if !taken.insert(*head) {
            continue;
        }
        let Some(id) = package.heads.get(*head).map(|head| head.id.as_str()) else { continue };
        let twin = twin(id).and_then(|twin| {
            let twin = heads.iter().find(|(at, _)| package.heads.get(*at).is_some_and(|head| head.id == twin));
            twin.filter(|(at, _)| !taken.contains(at)).and_then(|(at, other)| Some((*at, phases.with(*other)?)))
        });
        match twin {
            Some((other, phases)) => {
                taken.insert(other);
                let name = id.rsplit_once('-').map_or(id, |(stem, _)| stem);
                all.push(Named { name: format!("{name}-left/right"), heads: vec![*head, other], phases });
            }
            None => all.push(Named { name: id.to_owned(), heads: vec![*head], phases: *phases }),
        }
    }
    all.sort_by_key(|named| named.heads.iter().min().copied());
    all
}

/// The id of the head on the other side, as `mirror` makes it.
fn twin(id: &str) -> Option<String> {
    match id.rsplit_once('-')? {
        (stem, "left") => Some(format!("{stem}-right")),
        (stem, "right") => Some(format!("{stem}-left")),
        _ => None,
    }
}

/// Names for heads, whatever they show.
pub(super) fn names(package: &Package, heads: &[usize]) -> Vec<String> {
    let heads: Vec<(usize, Phases)> = heads.iter().map(|head| (*head, Phases::default())).collect();
    named(package, &heads).into_iter().map(|named| named.name).collect()
}
