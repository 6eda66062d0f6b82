//! When a head is lit, what counts as one flash, and what the light of several heads does together.
//!
//! Everything here is whole microseconds and exact fractions: a pattern of 75 flashes a minute meets
//! a limit of 75, and a dark gap of 160 ms ends a flash where the ruleset asks for 160 ms. What ends a
//! flash and which light counts as lit are the ruleset's figures; none has a default here.
//!
//! - [`Timeline`]: one head's light over its period, as the package describes it.
//! - [`LitIntervals`]: when it counts as lit; gaps, flashes and rates follow from that.
//! - [`Train`]: light in candela over time, of one head or of several in step; cut into flashes.
//! - [`Waveform`]: one flash, with its energy and its effective intensity by an [`EffectiveMethod`].
//! - [`union_rate`]: flashes of the summed light of several heads, which may run on clocks of their own.

mod effective;
mod free;
mod kernel;
mod lit;
mod timeline;
mod train;
mod union;
mod waveform;

pub use effective::{EffectiveMethod, VISUAL_TIME};
pub use free::common_period;
pub use lit::{DarkGap, LitIntervals, RateBy};
pub use timeline::{LONGEST_PERIOD, PatternError, Pulse, Timeline};
pub use train::{Flash, Train};
pub use union::{ClockId, Clocked, Exactness, UnionRate, can_fill, lit_together, union_rate};
pub use waveform::Waveform;
