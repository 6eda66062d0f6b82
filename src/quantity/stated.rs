//! What no file can show: a person looks, or measures, and says so in a `[[statement]]`. Unanswered is never a pass.

use super::{Ask, LevelScope, Measure, Measured, Quantity, Scope, Value, no_working};
use crate::package::{Grade, Package, Said, Statement};
use crate::units::Dimension;

const fn stated(
    name: &'static str,
    says: &'static str,
    dimension: Dimension,
    by_hand: &'static str,
    measure: fn(&Package, &Ask<'_>, Dimension) -> Vec<Measured>,
) -> Quantity {
    Quantity {
        name,
        says,
        dimension,
        scope: Scope { purpose: false, level: LevelScope::Never, zone: false },
        each_head: false,
        looks: false,
        counts_permitted: false,
        by_hand,
        measure: Measure::Stated(measure),
        working: no_working,
    }
}

/// What a person vouches for.
pub(super) static ATTESTED: Quantity = stated(
    "attested",
    "what a person who looked vouches for",
    Dimension::Words,
    "look, and write the answer down with name and day",
    |package, ask, _| {
        of_item(package, ask, |said, statement| match said {
            Said::Answer(answer) => {
                Value::Words { shown: vec![(answer.clone(), vec![statement.by.clone()])], perhaps: Vec::new() }
            }
            Said::Figure(_) => {
                Value::Unknown(format!("`{}` is answered with a figure, not with a word", statement.item))
            }
        })
    },
);

/// A share that a person measured.
pub(super) static SHARE: Quantity = stated(
    "stated-share",
    "a share that a person measured on the vehicle",
    Dimension::Share,
    "measure the part and the whole with a tape, along the surface, and divide",
    figure,
);

/// A length that a person measured.
pub(super) static LENGTH: Quantity = stated(
    "stated-length",
    "a length that a person measured on the vehicle",
    Dimension::Length,
    "measure with a tape where it is least",
    figure,
);

/// An area that a person measured.
pub(super) static AREA: Quantity = stated(
    "stated-area",
    "an area that a person measured on the vehicle",
    Dimension::Area,
    "measure width and height with a tape and multiply",
    figure,
);

/// An angle that a person measured.
pub(super) static ANGLE: Quantity = stated(
    "stated-angle",
    "an angle that a person measured on the vehicle",
    Dimension::Angle,
    "measure with an inclinometer or a protractor, the vehicle on level ground",
    figure,
);

/// A luminous intensity of a lamp that is no warning lamp, as its papers state it.
pub(super) static INTENSITY: Quantity = stated(
    "stated-intensity",
    "a luminous intensity that a person measured, or read in the lamp's papers",
    Dimension::Intensity,
    "read the lamp's test report, or have it measured",
    figure,
);

/// A voltage that a person measured or set.
pub(super) static VOLTAGE: Quantity = stated(
    "stated-voltage",
    "a voltage that a person measured, or at which something is set",
    Dimension::Voltage,
    "read it off a voltmeter at the batteries",
    figure,
);

/// A time that a person measured.
pub(super) static TIME: Quantity =
    stated("stated-time", "a time that a person measured", Dimension::Time, "measure it with a watch", figure);

/// A level that a person measured.
pub(super) static SOUND_LEVEL: Quantity = stated(
    "stated-sound-level",
    "a sound level that a person measured on the vehicle",
    Dimension::SoundLevel,
    "class 1 meter, A-weighted, fast, at the distance and height that the rule names, wind under 5 m/s, ears protected",
    figure,
);

/// The difference of two levels that a person measured at one place.
pub(super) static LEVEL_DIFFERENCE: Quantity = stated(
    "stated-level-difference",
    "the difference of two sound levels that a person measured at one place",
    Dimension::Decibels,
    "class 1 meter at one place, first without the sounder and then with it, ears protected; the second less the first",
    figure,
);

/// A number of things that a person counted.
pub(super) static COUNT: Quantity =
    stated("stated-count", "a number of heads that a person counted", Dimension::Heads, "count them", figure);

/// The class that the vehicle, or what it carries, claims.
pub(super) static VEHICLE_CLASS: Quantity = stated(
    "vehicle-class",
    "class that the package states for the vehicle, or for what it carries, under this ruleset (`classes` in [vehicle])",
    Dimension::Words,
    "read the plate and the papers",
    |package, ask, _| {
        vec![Measured::new(match package.vehicle.class(ask.device.ruleset) {
            Some(class) => Value::Words { shown: vec![(class.to_owned(), Vec::new())], perhaps: Vec::new() },
            None => {
                let example = format!("[vehicle] classes = {{ {} = \"...\" }}", ask.device.ruleset);
                Value::Unknown(format!("no class is stated: {example}"))
            }
        })]
    },
);

fn figure(package: &Package, ask: &Ask<'_>, wanted: Dimension) -> Vec<Measured> {
    let mut measured = of_item(package, ask, |said, statement| match said {
        Said::Figure(amount) => match amount.in_dimension(wanted) {
            // A difference may go either way.
            Ok(value)
                if (value < 0.0 && wanted != Dimension::Decibels) || (wanted == Dimension::Share && value > 1.0) =>
            {
                Value::Unknown(format!("`{}` is said to be {amount}, which cannot be", statement.item))
            }
            Ok(value) => Value::exactly(value),
            Err(error) => Value::Unknown(format!("`{}`: {error}", statement.item)),
        },
        Said::Answer(_) => Value::Unknown(format!("`{}` is answered with a word, not with a figure", statement.item)),
    });
    let known = |one: &Measured| matches!(one.value, Value::Number { .. });
    measured.iter_mut().for_each(|one| one.evidence = Some(Grade::Measured).filter(|_| known(one)));
    measured
}

/// Nothing where the limit speaks of another class of vehicle.
fn of_item(package: &Package, ask: &Ask<'_>, value: impl Fn(&Said, &Statement) -> Value) -> Vec<Measured> {
    let item = ask.item.unwrap_or_default();
    if ask.device.class.is_some_and(|(ruleset, class)| package.vehicle.class(ruleset) != Some(class)) {
        return Vec::new();
    }
    let Some(statement) = package.statements.iter().find(|statement| statement.item == item) else {
        return vec![Measured::new(Value::Unknown(format!("nobody has answered for `{item}`")))];
    };
    let mut measured = Measured::new(value(&statement.said, statement));
    let reference = statement.reference.as_ref().map(|reference| format!(", {reference}")).unwrap_or_default();
    // What is wrong with a statement is said before who made it.
    if matches!(measured.value, Value::Unknown(_)) {
        return vec![measured];
    }
    measured.notes.push(format!("said by {} on {}{reference}", statement.by, statement.on));
    vec![measured]
}
