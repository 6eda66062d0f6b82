//! Where heads are mounted: heights, places along the vehicle, gaps between them, the vehicle's size class.

use super::{Ask, LevelScope, Measure, Measured, Quantity, Scope, Value, no_working};
use crate::geometry::bearing_of;
use crate::measure::{Boundary, Level, Survey, level_of};
use crate::package::{Head, Role};
use crate::units::{Degrees, Dimension, Length};

const EACH_HEAD: Scope = Scope { purpose: false, level: LevelScope::Always, zone: false };
const VEHICLE: Scope = Scope { purpose: false, level: LevelScope::Never, zone: false };
const TAPE: &str = "tape measure, vehicle on level ground, to the optical centre";

/// Height of each warning head's optical centre.
pub(super) static OPTICAL_CENTRE_HEIGHT: Quantity = Quantity {
    name: "optical-centre-height",
    says: "height of the optical centre of a warning head above level ground",
    dimension: Dimension::Length,
    scope: EACH_HEAD,
    each_head: true,
    looks: false,
    counts_permitted: false,
    by_hand: TAPE,
    measure: Measure::Mounting(heights),
    working: no_working,
};

/// Room below the height that the maker states.
pub(super) static BELOW_MAX_HEIGHT: Quantity = Quantity {
    name: "below-max-height",
    says: "how far the optical centre of a warning head stands below the greatest height that its maker states (`max-height` in the catalogue)",
    dimension: Dimension::Length,
    scope: EACH_HEAD,
    each_head: true,
    looks: false,
    counts_permitted: false,
    by_hand: "measure the height of the optical centre on level ground and compare it with the lamp's papers",
    measure: Measure::Mounting(|survey, ask| {
        let on_level = |head: &&Head| level_of(survey.protocol, head, &head.pose) == ask.level;
        warning_heads(survey).filter(on_level).map(|head| below_max_height(survey, head)).collect()
    }),
    working: no_working,
};

fn below_max_height(survey: &Survey<'_>, head: &Head) -> Measured {
    let model = survey.package.models.get(head.model);
    let mut found = match model.and_then(|model| model.max_height) {
        Some(most) => of_head(head, most - head.pose.height()),
        None => {
            let id = model.map_or("", |model| model.id.as_str());
            Measured::new(Value::Unknown(format!("no `max-height` is stated for the model `{id}`")))
        }
    };
    found.head = Some(head.id.clone());
    found
}

/// How far a front head stands ahead of the front axle.
pub(super) static AHEAD_OF_FRONT_AXLE: Quantity = Quantity {
    name: "distance-ahead-of-front-axle",
    says: "how far a warning head that faces the front zone stands ahead of the front wheel centreline",
    dimension: Dimension::Length,
    scope: EACH_HEAD,
    each_head: true,
    looks: false,
    counts_permitted: false,
    by_hand: TAPE,
    measure: Measure::Mounting(|survey, ask| {
        along(survey, ask, 0.0, "front-axle", survey.package.vehicle.front_axle, 1.0)
    }),
    working: no_working,
};

/// How far a rear head stands behind the rear axle.
pub(super) static BEHIND_REAR_AXLE: Quantity = Quantity {
    name: "distance-behind-rear-axle",
    says: "how far a warning head that faces the rear zone stands behind the rear wheel centreline",
    dimension: Dimension::Length,
    scope: EACH_HEAD,
    each_head: true,
    looks: false,
    counts_permitted: false,
    by_hand: TAPE,
    measure: Measure::Mounting(|survey, ask| {
        along(survey, ask, 180.0, "rear-axle", survey.package.vehicle.rear_axle, -1.0)
    }),
    working: no_working,
};

/// The largest gap between neighbouring heads along one vehicle side.
pub(super) static LARGEST_LOWER_GAP: Quantity = Quantity {
    name: "largest-gap-along-side",
    says: "largest distance along the vehicle between neighbouring warning heads of one level on one vehicle side",
    dimension: Dimension::Length,
    scope: EACH_HEAD,
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: "tape measure along each side, optical centre to optical centre",
    measure: Measure::Mounting(gaps),
    working: no_working,
};

/// Height of the lowest warning head at the front.
pub(super) static LOWEST_FRONT_HEIGHT: Quantity = Quantity {
    name: "lowest-front-height",
    says: "height of the lowest warning head that faces the front zone on or ahead of the front wheel centreline",
    dimension: Dimension::Length,
    scope: VEHICLE,
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: TAPE,
    measure: Measure::Mounting(|survey, _| vec![lowest_front(survey)]),
    working: no_working,
};

/// Bumper to bumper.
pub(super) static VEHICLE_LENGTH: Quantity = Quantity {
    name: "vehicle-length",
    says: "length of the vehicle, bumper to bumper",
    dimension: Dimension::Length,
    scope: VEHICLE,
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: "tape measure from the foremost to the rearmost point",
    measure: Measure::Mounting(|survey, _| vec![Measured::new(Value::exactly(survey.package.vehicle.length.value()))]),
    working: no_working,
};

/// The highest warning head.
pub(super) static GREATEST_HEAD_HEIGHT: Quantity = Quantity {
    name: "greatest-head-height",
    says: "height of the highest warning head's optical centre above level ground",
    dimension: Dimension::Length,
    scope: VEHICLE,
    each_head: false,
    looks: false,
    counts_permitted: false,
    by_hand: TAPE,
    measure: Measure::Mounting(|survey, _| {
        let highest = warning_heads(survey).max_by(|a, b| a.pose.height().value().total_cmp(&b.pose.height().value()));
        vec![match highest {
            Some(head) => of_head(head, head.pose.height()),
            None => Measured::new(Value::Absent("there is no warning head".to_owned())),
        }]
    }),
    working: no_working,
};

fn warning_heads<'s>(survey: &'s Survey<'_>) -> impl Iterator<Item = &'s Head> {
    survey.package.heads.iter().filter(|head| head.role == Role::Warning)
}

fn of_head(head: &Head, value: Length) -> Measured {
    let mut found = Measured::new(Value::exactly(value.value()));
    found.witness.head = Some(head.id.clone());
    found
}

/// Whether a head's axis points into the sector that holds `towards`.
fn faces(survey: &Survey<'_>, head: &Head, towards: f64) -> bool {
    let axis = bearing_of(head.pose.axis());
    let mut sectors = survey.protocol.zones.sectors.iter();
    let sector = sectors.find(|sector| sector.holds(Degrees::new(towards), Boundary::Both));
    sector.is_some_and(|sector| sector.holds(axis, Boundary::Both))
}

fn heights(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let levels = &survey.protocol.levels;
    let floor = |level: &Level| level.from.or(level.above).map_or(f64::NEG_INFINITY, |height| height.value());
    let lowest = (0..).zip(levels).min_by(|(_, a), (_, b)| floor(a).total_cmp(&floor(b))).map(|(at, _)| at);
    let mut found = Vec::new();
    for head in warning_heads(survey) {
        let level = level_of(survey.protocol, head, &head.pose);
        // A head outside every band is counted on no level; the lowest band is the one it missed.
        if level == ask.level || (level.is_none() && ask.level == lowest) {
            let mut one = of_head(head, head.pose.height());
            one.head = Some(head.id.clone());
            one.outside_levels = level.is_none();
            if let (None, Some(name)) = (level, &head.level) {
                one.value = Value::Absent(format!("it names a level `{name}` that the ruleset does not have"));
            } else if level.is_none() {
                one.notes.push("on no level, so its light is counted nowhere".to_owned());
            }
            found.push(one);
        }
    }
    found
}

fn along(
    survey: &Survey<'_>,
    ask: &Ask<'_>,
    towards: f64,
    key: &str,
    axle: Option<Length>,
    sign: f64,
) -> Vec<Measured> {
    let on_level = |head: &&Head| level_of(survey.protocol, head, &head.pose) == ask.level;
    let heads = warning_heads(survey).filter(on_level).filter(|head| faces(survey, head, towards));
    let one = |head: &Head| {
        let mut found = match axle {
            Some(axle) => of_head(head, Length::new(sign * (head.pose.at().x - axle.value()))),
            None => Measured::new(Value::Unknown(format!("`{key}` is missing in [vehicle]"))),
        };
        found.head = Some(head.id.clone());
        found
    };
    heads.map(one).collect()
}

fn gaps(survey: &Survey<'_>, ask: &Ask<'_>) -> Vec<Measured> {
    let side = |sign: f64, towards: f64| {
        let on_side = |head: &&Head| head.right.value() * sign >= 0.0;
        let on_level = |head: &&Head| level_of(survey.protocol, head, &head.pose) == ask.level;
        let mut heads: Vec<&Head> = warning_heads(survey).filter(on_level).filter(on_side).collect();
        heads.sort_by(|a, b| b.pose.at().x.total_cmp(&a.pose.at().x));
        let pairs = heads.windows(2).filter_map(|pair| match pair {
            [front, rear] => Some((front.pose.at().x - rear.pose.at().x, *front, *rear)),
            _ => None,
        });
        let mut found = match pairs.max_by(|(a, _, _), (b, _, _)| a.total_cmp(b)) {
            Some((gap, front, rear)) => {
                let mut found = of_head(front, Length::new(gap));
                found.notes.push(format!("from {} back to {}", front.id, rear.id));
                found
            }
            None => Measured::new(Value::Absent("fewer than two heads on this side".to_owned())),
        };
        let sectors = (0..).zip(&survey.protocol.zones.sectors);
        let mut here = sectors.filter(|(_, sector)| sector.holds(Degrees::new(towards), Boundary::Both));
        found.zone = here.next().map(|(at, _)| at);
        found
    };
    vec![side(1.0, 90.0), side(-1.0, 270.0)]
}

fn lowest_front(survey: &Survey<'_>) -> Measured {
    let Some(axle) = survey.package.vehicle.front_axle else {
        return Measured::new(Value::Unknown("`front-axle` is missing in [vehicle]".to_owned()));
    };
    let ahead = |head: &&Head| head.pose.at().x >= axle.value() && faces(survey, head, 0.0);
    let lowest = warning_heads(survey).filter(ahead).min_by(|a, b| a.pose.at().z.total_cmp(&b.pose.at().z));
    match lowest {
        Some(head) => of_head(head, head.pose.height()),
        None => Measured::new(Value::Absent("no warning head faces front on or ahead of the front axle".to_owned())),
    }
}
