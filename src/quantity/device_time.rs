//! How long the flashes of one emitter last, and how long it is dark between them, in the ruleset's terms of what is lit
//! and what ends a flash.

use super::device::{each_emitter_of, of_devices};
use super::device_light::does_not_flash;
use super::{Ask, DeviceKey, Measured, Quantity, Value};
use crate::flash::{Flash, Train};
use crate::measure::{Conduct, Protocol};
use crate::units::{Candela, Dimension, Micros};

const BY_HAND: &str = "film the lamp at 240 frames a second and count the frames in which it is lit, and those between";

/// What a rule has to say in `device` for each quantity here, and what it may say.
pub(super) static KEYS: &[(&Quantity, &[DeviceKey], &[DeviceKey])] =
    &[(&ON_TIME, &[], &[]), (&OFF_TIME, &[], &[]), (&ON_SHARE, &[], &[])];

/// From the start of a flash to its end.
pub(super) static ON_TIME: Quantity = of_devices(
    "flash-on-time",
    "how long a flash of one emitter lasts, from its first pulse to the end of its last; longest of its flashes",
    Dimension::Time,
    BY_HAND,
    |conduct, protocol, ask| each_flash(conduct, protocol, ask, |flash| seconds(flash.lit), f64::max),
);

/// From the end of a flash to the start of the next.
pub(super) static OFF_TIME: Quantity = of_devices(
    "flash-off-time",
    "how long one emitter is dark between two flashes; shortest of these times",
    Dimension::Time,
    BY_HAND,
    |conduct, protocol, ask| each_flash(conduct, protocol, ask, |flash| seconds(flash.dark), f64::min),
);

/// Time lit over the time from one flash to the next.
pub(super) static ON_SHARE: Quantity = of_devices(
    "flash-on-share",
    "how long a flash of one emitter lasts, as a share of the time from its start to the start of the next; greatest of its flashes",
    Dimension::Share,
    BY_HAND,
    |conduct, protocol, ask| {
        let share = |flash: &Flash| seconds(flash.lit) / (seconds(flash.lit) + seconds(flash.dark));
        each_flash(conduct, protocol, ask, share, f64::max)
    },
);

fn each_flash(
    conduct: &Conduct<'_>,
    protocol: &Protocol,
    ask: &Ask<'_>,
    of: impl Fn(&Flash) -> f64,
    pick: fn(f64, f64) -> f64,
) -> Vec<Measured> {
    let terms = &protocol.flash;
    each_emitter_of(conduct, ask, |one| {
        // Steady light has no flashes, and other rules speak of it.
        one.shown.show.pattern?;
        let timeline = one.shown.timeline(conduct.package);
        let flashes = Train::new(&timeline, Candela::new(1.0)).flashes(terms.dark_at_least, terms.lit_above);
        let Some(value) = flashes.iter().map(&of).reduce(pick) else {
            return Some(Measured::new(Value::Absent(does_not_flash(terms.dark_at_least))));
        };
        let mut found = Measured::new(Value::exactly(value));
        let line = |flash: &Flash| format!("a flash of {}, then dark for {}", flash.lit, flash.dark);
        found.steps = flashes.iter().map(line).collect();
        Some(found)
    })
}

fn seconds(time: Micros) -> f64 {
    #[allow(clippy::cast_precision_loss)] // Below 2^53 by the limit on a period.
    let micros = time.get() as f64;
    micros / 1e6
}
