//! How long the flashes of one emitter last, and how long it is dark between them, in the rule's terms of what is lit,
//! else the ruleset's, and the ruleset's of what ends a flash.

use super::device::{Shining, each_emitter_of, of_devices};
use super::device_light::does_not_flash;
use super::{Ask, DeviceKey, Measured, Quantity, Value};
use crate::flash::{Flash, Train};
use crate::measure::{Conduct, OnBench, Protocol};
use crate::units::{Candela, Dimension, Micros, Share, format_number};

const BY_HAND: &str = "film the lamp at 240 frames a second and count the frames in which it is lit, and those between";

/// What a rule has to say in `device` for each quantity here, and what it may say.
pub(super) static KEYS: &[(&Quantity, &[DeviceKey], &[DeviceKey])] =
    &[(&ON_TIME, &[], LIT), (&OFF_TIME, &[], LIT), (&ON_SHARE, &[], LIT)];

/// Documents count the start and the end of a flash from other shares of its peak than they count flashes.
const LIT: &[DeviceKey] = &[DeviceKey::LitAbove, DeviceKey::DarkBelow];

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
    let dark_at_least = protocol.flash.dark_at_least;
    each_emitter_of(conduct, ask, |one| {
        // Steady light has no flashes, and other rules speak of it.
        one.shown.show.pattern?;
        let timeline = one.shown.timeline(conduct.package);
        let train = Train::new(&timeline, Candela::new(1.0));
        let flashes = |lit_above: Share| train.flashes(dark_at_least, lit_above);
        let value = |flashes: &[Flash]| flashes.iter().map(&of).reduce(pick);
        let (low, high) = lit_above(conduct, protocol, ask, one);
        let (most, least) = (flashes(low), flashes(high));
        let (Some(one), Some(other)) = (value(&most), value(&least)) else {
            let mut found = Measured::new(Value::Absent(does_not_flash(dark_at_least)));
            if most.is_empty() != least.is_empty() {
                found.value = Value::Unknown(UNKNOWN_PEAK.to_owned());
            }
            return Some(found);
        };
        let mut found = Measured::new(Value::Number { low: one.min(other), high: one.max(other), occurs: false });
        found.notes.extend((one != other).then(|| UNKNOWN_PEAK.to_owned()));
        let line = |flash: &Flash| format!("a flash of {}, then dark for {}", flash.lit, flash.dark);
        found.steps = most.iter().map(line).collect();
        let percent = |share: Share| format_number(share.value() * 100.0, 4);
        let asked = ask.device.terms.is_some_and(|terms| terms.lit_above.is_some() || terms.dark_below.is_some());
        let lit = if low == high { percent(low) } else { format!("{} to {}", percent(low), percent(high)) };
        found.steps.extend(asked.then(|| format!("lit is what exceeds {lit} % of its peak")));
        Some(found)
    })
}

const UNKNOWN_PEAK: &str = "no data for its greatest intensity, so it is not known what counts as dark";

/// Which share of its peak an emitter has to exceed to count as lit, at least and at most.
///
/// Where an intensity is enough, that is the smaller share the stronger the lamp is, so its strongest direction decides.
fn lit_above(conduct: &Conduct<'_>, protocol: &Protocol, ask: &Ask<'_>, one: &Shining<'_, '_>) -> (Share, Share) {
    let terms = ask.device.terms;
    let share = terms.and_then(|terms| terms.lit_above).unwrap_or(protocol.flash.lit_above);
    let Some(dark_below) = terms.and_then(|terms| terms.dark_below) else { return (share, share) };
    let bench = OnBench::new(conduct.package, one.head, one.model, one.emitter, one.shown);
    let strongest = bench.strongest().first().and_then(|lamp| bench.intensity(*lamp));
    let level = one.shown.level.value() * one.shown.timeline(conduct.package).peak().value();
    match strongest.map(|strongest| strongest.value() * level).filter(|peak| *peak > 0.0) {
        Some(peak) => {
            let share = Share::new(share.value().min(dark_below.value() / peak));
            (share, share)
        }
        None => (Share::ZERO, share),
    }
}

fn seconds(time: Micros) -> f64 {
    #[allow(clippy::cast_precision_loss)] // Below 2^53 by the limit on a period.
    let micros = time.get() as f64;
    micros / 1e6
}
