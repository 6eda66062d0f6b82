//! Every way in which each head can be seen: what it shows, where it looks, what stands before it, with the states in
//! which that is so. The light of each way is computed once, whatever the number of states.

use std::cell::RefCell;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::beam::Beam;
use super::row::{Row, Shining};
use super::survey::{Counted, LitHead, Reach, Sample, Survey, counts_as_flashing, level_of};
use super::{Conduct, Method, Protocol, Shown};
use crate::flash::{ClockId, Timeline};
use crate::geometry::{Block, Pose};
use crate::logic::Region;
use crate::package::{Emitter, Head, Model, Show};

/// One way in which a head is lit, and when.
#[derive(Clone, Debug)]
pub struct Look<'a> {
    /// The states.
    pub region: Region,
    /// The head, lit so.
    pub lit: Rc<LitHead<'a>>,
}

/// All ways in which the heads of a vehicle are seen from the points of a protocol.
#[derive(Debug)]
pub struct Looks<'a> {
    /// The vehicle over all states.
    pub conduct: &'a Conduct<'a>,
    /// How it is looked at.
    pub protocol: &'a Protocol,
    /// From where.
    pub method: Method,
    /// For each head its looks; in the states of none of them it is dark.
    pub heads: Vec<Vec<Look<'a>>>,
    counted: Counted,
    rhythms: RefCell<Vec<(Option<&'a str>, Timeline)>>,
}

/// Bodies that come and go can take a head's light away in more ways than these; then not all states are looked at.
const MOST_SHADES: usize = 256;

/// One head, in one pose, before the bodies that come and go.
struct View<'a> {
    region: Region,
    pose: &'a Pose,
    /// Conditional bodies that hide some point, with the points that they hide.
    hiders: Vec<Hider<'a>>,
}

/// A part of the vehicle: its place in the package, its box, the states in which it stands there.
type Body<'a> = (usize, &'a Block, Region);

/// A body that comes and goes, as one head in one pose sees it.
struct Hider<'a> {
    block: &'a Block,
    when: Region,
    /// The points that it hides: a row an elevation, a value a bearing.
    points: Vec<Rc<[bool]>>,
}

impl Hider<'_> {
    fn hides(&self, row: usize, at: usize) -> bool {
        self.points.get(row).and_then(|row| row.get(at)) == Some(&true)
    }
}

impl<'a> Looks<'a> {
    /// Computes the light of all heads in all their ways.
    pub fn new(conduct: &'a Conduct<'a>, protocol: &'a Protocol, method: Method) -> Self {
        let (counted, rhythms) = (Counted::default(), RefCell::default());
        let mut looks = Self { conduct, protocol, method, heads: Vec::new(), counted, rhythms };
        let package = conduct.package;
        let elevations = Survey::dark(package, protocol, method).elevations().into_iter();
        let rows: Vec<Rc<Row>> =
            elevations.map(|elevation| conduct.rows.at(&protocol.zones.bearings, elevation, method)).collect();
        let (always, sometimes): (Vec<Body<'_>>, Vec<Body<'_>>) = package
            .bodies
            .iter()
            .zip(&conduct.bodies)
            .enumerate()
            .map(|(at, (body, when))| (at, &body.block, when.clone()))
            .filter(|(_, _, region)| !region.is_empty())
            .partition(|(_, _, region)| region == conduct.space().allowed());
        let always: Vec<&Block> = always.into_iter().map(|(_, block, _)| block).collect();
        for (at, head) in package.heads.iter().enumerate() {
            let model = package.models.get(head.model);
            let found = model.map(|model| looks.of_head(at, head, model, &rows, &always, &sometimes));
            looks.heads.push(found.unwrap_or_default());
        }
        let all = looks.heads.iter_mut().flatten();
        all.enumerate().for_each(|(number, look)| Rc::make_mut(&mut look.lit).number = number);
        looks
    }

    fn of_head(
        &self,
        at: usize,
        head: &'a Head,
        model: &'a Model,
        rows: &[Rc<Row>],
        always: &[&'a Block],
        sometimes: &[Body<'a>],
    ) -> Vec<Look<'a>> {
        let parts = self.conduct.heads.get(at).map_or(&[][..], Vec::as_slice);
        let views = self.views((at, head), rows, sometimes);
        let mut looks = Vec::new();
        for (region, shown) in parts.iter().filter_map(|(region, shown)| Some((region, shown.as_ref()?))) {
            let Some(emitter) = model.emitters.get(shown.show.emitter) else { continue };
            let lit = self.lit(at, head, model, emitter, shown);
            for (pose_at, view) in views.iter().enumerate() {
                let seen = self.conduct.space().and(region, &view.region);
                if seen.is_empty() {
                    continue;
                }
                let lit = LitHead { pose: view.pose, level: level_of(self.protocol, head, view.pose), ..lit.clone() };
                // The vehicle without the arrow: the same head as the display that lost it would show it.
                let instead = shown.instead_of.and_then(|(show, level)| {
                    let emitter = model.emitters.get(show.emitter)?;
                    let shown = Shown { show, level, dimmed_by: None, instead_of: None, ..*shown };
                    let lost = self.lit(at, head, model, emitter, &shown);
                    Some((LitHead { pose: view.pose, level: lit.level, ..lost }, show))
                });
                let beam_of = |lit: &LitHead<'a>, show: &Show| {
                    // What is known of an emitter may hold for one pattern alone.
                    let pattern = show.pattern.filter(|_| lit.emitter.hangs_on_pattern());
                    let shining: Shining = (at, pose_at, show.emitter, pattern);
                    Beam { rows: rows.iter().map(|row| row.casts(shining, lit, always)).collect() }
                };
                let beam = beam_of(&lit, shown.show);
                let lost = instead.map(|(lost, show)| (beam_of(&lost, show), lost));
                for (region, standing) in self.standing(seen, view, &beam) {
                    let hidden = |row: usize, at: usize| standing.iter().any(|hider| hider.hides(row, at));
                    let hidden_by = always.iter().copied().chain(standing.iter().map(|hider| hider.block)).collect();
                    let seen = |beam: &Beam, lit: &LitHead<'a>| {
                        let field = beam.field(lit, hidden);
                        let of = |sample: &Sample| Reach::of(*sample, self.protocol);
                        let reach: Vec<Reach> = field.first().into_iter().flatten().map(of).collect();
                        let lacks_data = reach.contains(&Reach::Perhaps);
                        LitHead { field, reach, lacks_data, ..lit.clone() }
                    };
                    let instead_of = lost.as_ref().map(|(beam, lost)| Rc::new(seen(beam, lost)));
                    let lit = Rc::new(LitHead { hidden_by, instead_of, ..seen(&beam, &lit) });
                    looks.push(Look { region, lit });
                }
            }
        }
        looks
    }

    /// The poses of a head, each with what may hide points from it.
    fn views(&self, (head_at, head): (usize, &'a Head), rows: &[Rc<Row>], sometimes: &[Body<'a>]) -> Vec<View<'a>> {
        let view = |(pose_at, (region, pose)): (usize, (Region, &'a Pose))| {
            let hider = |(body, block, when): &Body<'a>| {
                let hidden = |row: &Rc<Row>| row.hidden((head_at, pose_at), pose, (*body, block));
                let points: Vec<Rc<[bool]>> = rows.iter().map(hidden).collect();
                let any = points.iter().any(|row| row.contains(&true));
                any.then(|| Hider { block, when: when.clone(), points })
            };
            View { region, pose, hiders: sometimes.iter().filter_map(hider).collect() }
        };
        self.conduct.poses(head).into_iter().enumerate().map(view).collect()
    }

    /// Parts the states by what the bodies that stand there hide of a beam. Bodies that take the same away together make
    /// one part, whichever of them stand there; more parts than [`MOST_SHADES`] are given up.
    fn standing<'v>(&self, region: Region, view: &'v View<'a>, beam: &Beam) -> Vec<(Region, Vec<&'v Hider<'a>>)> {
        let space = self.conduct.space();
        let mut parts: Vec<(Region, Vec<&Hider<'a>>, Vec<bool>)> = vec![(region, Vec::new(), Vec::new())];
        for hider in &view.hiders {
            let takes: Vec<bool> = beam.lit_points().map(|(row, at)| hider.hides(row, at)).collect();
            let mut next: Vec<(Region, Vec<&Hider<'a>>, Vec<bool>)> = Vec::new();
            let mut places: FxHashMap<Vec<bool>, usize> = FxHashMap::default();
            for (region, standing, taken) in parts {
                let (with, without) = (space.and(&region, &hider.when), space.minus(&region, &hider.when));
                let all = takes.iter().enumerate().map(|(at, takes)| *takes || taken.get(at) == Some(&true)).collect();
                for (region, taken, stands) in [(with, all, true), (without, taken, false)] {
                    if region.is_empty() {
                        continue;
                    }
                    match places.get(&taken).and_then(|at| next.get_mut(*at)) {
                        Some((known, ..)) => *known = space.or(known, &region),
                        None => {
                            places.insert(taken.clone(), next.len());
                            let standing = [&standing[..], if stands { std::slice::from_ref(&hider) } else { &[] }];
                            next.push((region, standing.concat(), taken));
                        }
                    }
                }
            }
            parts = next;
            if parts.len() > MOST_SHADES {
                space.give_up();
                break;
            }
        }
        parts.into_iter().map(|(region, standing, _)| (region, standing)).collect()
    }

    fn lit(&self, at: usize, head: &'a Head, model: &Model, emitter: &'a Emitter, shown: &Shown<'a>) -> LitHead<'a> {
        let pattern = shown.show.pattern.and_then(|at| self.conduct.package.patterns.get(at));
        let timeline = shown.timeline(self.conduct.package);
        let terms = &self.protocol.flash;
        LitHead {
            index: at,
            number: 0,
            head,
            emitter,
            pattern,
            on_fraction: timeline.mean(),
            flashing: counts_as_flashing(&timeline, terms),
            rate: timeline.rate(terms.dark_at_least, terms.lit_above, terms.rate),
            clock: self.clock(head),
            rhythm: self.rhythm(head, &timeline),
            timeline,
            role: shown.show.role,
            dim: shown.level,
            display: shown.display,
            level: None,
            pose: &head.pose,
            all_round: model.all_round,
            hidden_by: Vec::new(),
            instead_of: None,
            field: Vec::new(),
            reach: Vec::new(),
            lacks_data: true,
        }
    }

    /// Numbered by the first head on it.
    fn clock(&self, head: &Head) -> Option<ClockId> {
        let same = |other: &Head| other.clock == head.clock;
        head.clock.as_ref().and_then(|_| self.conduct.package.heads.iter().position(same)).map(ClockId)
    }

    fn rhythm(&self, head: &'a Head, timeline: &Timeline) -> usize {
        let mut rhythms = self.rhythms.borrow_mut();
        let clock = head.clock.as_deref();
        let known = rhythms.iter().position(|(known, same)| *known == clock && same == timeline);
        known.unwrap_or_else(|| {
            rhythms.push((clock, timeline.clone()));
            rhythms.len() - 1
        })
    }

    /// The vehicle in one state: all its lit heads.
    pub fn survey_in(&self, state: &Region) -> Survey<'a> {
        let space = self.conduct.space();
        let lit = self.heads.iter().filter_map(|looks| looks.iter().find(|look| space.meet(&look.region, state)));
        self.survey(lit.map(|look| look.lit.clone()).collect())
    }

    /// The vehicle with these heads lit and no others.
    pub fn survey(&self, lit: Vec<Rc<LitHead<'a>>>) -> Survey<'a> {
        let counted = self.counted.clone();
        Survey { lit, counted, ..Survey::dark(self.conduct.package, self.protocol, self.method) }
    }
}
