//! Sounders as they are mounted and wired: where, how high, how far turned, in step or against each other.

use super::{ListenKey, ListenKeys, Side, asked, of_sound, terms};
use crate::geometry::direction;
use crate::measure::Conduct;
use crate::package::{Sounder, SounderModel};
use crate::quantity::{Ask, Measured, Quantity, Value, counted};
use crate::units::{Degrees, Dimension};

/// Where a sounder is mounted.
pub(in crate::quantity) static MOUNT: Quantity = of_sound(
    "sounder-mount",
    "where on the vehicle a sounder is mounted (`mounted` in the package)",
    Dimension::Words,
    false,
    "look where its opening is; nobody works before it while it can sound",
    |conduct, ask| {
        each(conduct, ask, |sounder, _| match sounder.mount {
            Some(mount) => {
                Value::Words { shown: vec![(mount.word().to_owned(), vec![sounder.id.clone()])], perhaps: Vec::new() }
            }
            None => Value::Unknown(format!("where `{}` is mounted is not said", sounder.id)),
        })
    },
);

/// How high it stands.
pub(in crate::quantity) static HEIGHT: Quantity = of_sound(
    "sounder-height",
    "height of a sounder's opening above level ground",
    Dimension::Length,
    false,
    "tape measure, vehicle on level ground, to the middle of the opening",
    |conduct, ask| each(conduct, ask, |sounder, _| Value::exactly(sounder.pose.height().value())),
);

/// How far behind the foremost point it stands.
pub(in crate::quantity) static BEHIND_FRONT: Quantity = of_sound(
    "sounder-behind-front",
    "how far a sounder's opening stands behind the foremost point of the vehicle",
    Dimension::Length,
    false,
    "tape measure along the vehicle",
    |conduct, ask| {
        let front = conduct.package.vehicle.length.value() * 0.5;
        each(conduct, ask, |sounder, _| Value::exactly(front - sounder.pose.at().x))
    },
);

/// How far it is turned away.
pub(in crate::quantity) static TURNED: Quantity = of_sound(
    "sounder-turned",
    "how far a sounder's axis is turned from straight away from the side that the rule names",
    Dimension::Angle,
    false,
    "lay a straightedge across the opening and measure its angle to the vehicle's length",
    |conduct, ask| {
        let away = direction(terms(ask).from.unwrap_or(Side::Front).bearing(), Degrees::ZERO);
        let turned = |sounder: &Sounder| sounder.pose.axis().dot(away).clamp(-1.0, 1.0).acos().to_degrees();
        each(conduct, ask, |sounder, _| Value::exactly(tidy(turned(sounder))))
    },
);

/// What the arc cosine leaves of nothing is nothing.
fn tidy(degrees: f64) -> f64 {
    (degrees * 1e6).round() / 1e6
}

/// The kinds that the vehicle has.
pub(in crate::quantity) static KINDS: Quantity = of_sound(
    "sounder-kinds-fitted",
    "kinds of sounder that the vehicle has",
    Dimension::Words,
    false,
    "look for each, and have each sounded, ears protected",
    |conduct, ask| {
        let mut shown: Vec<(String, Vec<String>)> = Vec::new();
        for (_, sounder, model) in asked(conduct, ask) {
            crate::quantity::add_word(&mut shown, model.kind.word(), &sounder.id);
        }
        vec![Measured::new(Value::Words { shown, perhaps: Vec::new() })]
    },
);

/// Speakers that sound against each other.
pub(in crate::quantity) static OPPOSED: Quantity = of_sound(
    "opposed-speakers",
    "speakers on one amplifier whose wires are crossed against those of most others on it: they cancel each other ahead",
    Dimension::Sounders,
    false,
    "a small battery at the speakers' wires: all cones on one amplifier move the same way",
    |conduct, ask| {
        let mut amplifiers: Vec<(&str, Vec<&Sounder>)> = Vec::new();
        let fitted = asked(conduct, ask);
        let speakers: Vec<&Sounder> =
            fitted.iter().filter(|(_, _, model)| model.kind.is_speaker()).map(|(_, sounder, _)| *sounder).collect();
        for sounder in &speakers {
            let Some(amplifier) = sounder.amplifier.as_deref() else { continue };
            match amplifiers.iter_mut().find(|(known, _)| *known == amplifier) {
                Some((_, speakers)) => speakers.push(sounder),
                None => amplifiers.push((amplifier, vec![sounder])),
            }
        }
        let mut opposed = 0;
        let mut notes = Vec::new();
        for (amplifier, speakers) in &amplifiers {
            let wired = |way: bool| speakers.iter().filter(move |one| one.reversed == Some(way));
            let crossed: Vec<&str> = wired(true).map(|one| one.id.as_str()).collect();
            let few = crossed.len().min(wired(false).count());
            opposed += few;
            if few > 0 {
                notes.push(format!("on `{amplifier}` with crossed wires: {}", crossed.join(", ")));
            }
        }
        let low = counted(opposed);
        let high = match doubtful(&speakers, &amplifiers) {
            Some(why) => {
                notes.insert(0, why);
                counted(speakers.len() / 2).max(low)
            }
            None => low,
        };
        vec![Measured { notes, ..Measured::new(Value::Number { low, high, occurs: low == high }) }]
    },
);

/// What is not said of speakers that may work against each other: what drives one, or how its wires lie. Alone on an
/// amplifier, or all wired alike, they cannot.
fn doubtful(speakers: &[&Sounder], amplifiers: &[(&str, Vec<&Sounder>)]) -> Option<String> {
    let alike = |them: &[&Sounder]| {
        them.iter().all(|one| one.reversed.is_some() && one.reversed == them.first().and_then(|first| first.reversed))
    };
    if speakers.len() < 2 || alike(speakers) {
        return None;
    }
    if let Some(one) = speakers.iter().find(|one| one.amplifier.is_none()) {
        return Some(format!("which `amplifier` drives `{}` is not said", one.id));
    }
    let shared = amplifiers.iter().filter(|(_, them)| them.len() > 1).flat_map(|(_, them)| them);
    let unsaid = shared.into_iter().find(|one| one.reversed.is_none());
    unsaid.map(|one| format!("the `polarity` of `{}` is not said", one.id))
}

/// A value of each sounder asked for.
fn each(conduct: &Conduct<'_>, ask: &Ask<'_>, value: impl Fn(&Sounder, &SounderModel) -> Value) -> Vec<Measured> {
    let one = |(_, sounder, model): (usize, &Sounder, &SounderModel)| Measured {
        sounder: Some(sounder.id.clone()),
        ..Measured::new(value(sounder, model))
    };
    asked(conduct, ask).into_iter().map(one).collect()
}

/// What rules on these say in `listen`.
pub(super) static KEYS: &[ListenKeys] = &[
    (&MOUNT, &[], &[]),
    (&HEIGHT, &[], &[]),
    (&BEHIND_FRONT, &[], &[]),
    (&TURNED, &[ListenKey::From], &[]),
    (&KINDS, &[], &[]),
    (&OPPOSED, &[], &[]),
];
