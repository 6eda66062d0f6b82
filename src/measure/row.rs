//! Points in a row, and what arrives there from each emitter in each pose. Nothing here hangs on what a ruleset asks
//! of the light, so rulesets that look from the same points share it.

use std::cell::RefCell;
use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::Method;
use super::beam::{Cast, Target, cast, screens};
use super::survey::LitHead;
use crate::geometry::{Block, Pose};
use crate::units::Degrees;

/// A head's place in the package, the place of its pose among those it has, of the emitter in its model, and of the
/// pattern where what is known of the emitter holds for one pattern alone.
pub(super) type Shining = (usize, usize, usize, Option<usize>);

/// A head, the place of its pose, and the body before it.
type Hiding = (usize, usize, usize);

/// One elevation, or a ring: a point a bearing.
#[derive(Debug)]
pub(super) struct Row {
    bearings: Vec<Degrees>,
    elevation: Degrees,
    method: Method,
    targets: Vec<Target>,
    casts: RefCell<FxHashMap<Shining, Rc<[Cast]>>>,
    hidden: RefCell<FxHashMap<Hiding, Rc<[bool]>>>,
}

/// All rows from which a vehicle was looked at; copies share them.
#[derive(Clone, Debug, Default)]
pub(super) struct Rows(Rc<RefCell<Vec<Rc<Row>>>>);

impl Rows {
    /// The points at these bearings.
    pub fn at(&self, bearings: &[Degrees], elevation: Degrees, method: Method) -> Rc<Row> {
        let mut rows = self.0.borrow_mut();
        let same = |row: &&Rc<Row>| row.elevation == elevation && row.method == method && row.bearings == bearings;
        if let Some(known) = rows.iter().find(same) {
            return known.clone();
        }
        let targets = bearings.iter().map(|bearing| Target::at(*bearing, elevation, method)).collect();
        let (casts, hidden) = (RefCell::default(), RefCell::default());
        let row = Rc::new(Row { bearings: bearings.to_vec(), elevation, method, targets, casts, hidden });
        rows.push(row.clone());
        row
    }
}

impl Row {
    /// The points.
    pub fn targets(&self) -> &[Target] {
        &self.targets
    }

    /// What arrives past the bodies that always stand there.
    pub fn casts(&self, shining: Shining, lit: &LitHead<'_>, always: &[&Block]) -> Rc<[Cast]> {
        let points = || {
            let screens = screens(always.iter().copied(), lit.pose);
            self.targets.iter().map(|target| cast(lit, target, &screens, self.method).1).collect()
        };
        self.casts.borrow_mut().entry(shining).or_insert_with(points).clone()
    }

    /// The points that a body hides from a head in a pose.
    pub fn hidden(&self, (head, pose_at): (usize, usize), pose: &Pose, body: (usize, &Block)) -> Rc<[bool]> {
        let points = || {
            let screen = body.1.seen_from(pose.at());
            let hides = |target: &Target| screen.is_some_and(|screen| target.hidden_by(&screen, pose));
            self.targets.iter().map(hides).collect()
        };
        self.hidden.borrow_mut().entry((head, pose_at, body.0)).or_insert_with(points).clone()
    }
}
