//! Levels over distance, and several of them at one place.

use crate::units::{Decibels, Length, SoundLevel};

/// What a level at one distance becomes at another in the free field: `20 lg (from / to)` (ISO 9613-2, divergence).
pub fn spread(from: Length, to: Length) -> Decibels {
    Decibels::new(20.0 * (from.value() / to.value()).log10())
}

/// Sources that know nothing of each other: `10 lg sum 10^(L / 10)`; none without a source.
pub fn add_incoherent(levels: impl IntoIterator<Item = SoundLevel>) -> Option<SoundLevel> {
    let sum: f64 = levels.into_iter().map(|level| 10_f64.powf(level.value() / 10.0)).sum();
    (sum > 0.0).then(|| SoundLevel::new(10.0 * sum.log10()))
}

/// Sources that one amplifier drives: between all against each other and all with each other, by where one stands. The
/// lower end is minus infinity where they can cancel.
pub fn add_coherent(levels: &[SoundLevel]) -> Option<(SoundLevel, SoundLevel)> {
    let pressures: Vec<f64> = levels.iter().map(|level| 10_f64.powf(level.value() / 20.0)).collect();
    let greatest = pressures.iter().copied().fold(0.0, f64::max);
    let sum: f64 = pressures.iter().sum();
    if sum <= 0.0 {
        return None;
    }
    // The strongest against all others; where these outweigh it, they can be turned so that nothing is left.
    let least = (2.0 * greatest - sum).max(0.0);
    Some((SoundLevel::new(20.0 * least.log10()), SoundLevel::new(20.0 * sum.log10())))
}

/// The greatest distance, up to `furthest`, at which a level that falls with distance is still at least `wanted`; none
/// where it is not even at `nearest`.
pub fn distance_of(
    wanted: SoundLevel,
    (nearest, furthest): (Length, Length),
    level_at: impl Fn(Length) -> SoundLevel,
) -> Option<Length> {
    if level_at(nearest) < wanted {
        return None;
    }
    if level_at(furthest) >= wanted {
        return Some(furthest);
    }
    let (mut near, mut far) = (nearest.value(), furthest.value());
    // Halved until no float lies between the two; far fewer times than this for any distance on earth.
    for _ in 0..200 {
        let middle = f64::midpoint(near, far);
        if middle <= near || middle >= far {
            break;
        }
        if level_at(Length::new(middle)) >= wanted {
            near = middle;
        } else {
            far = middle;
        }
    }
    Some(Length::new(near))
}
