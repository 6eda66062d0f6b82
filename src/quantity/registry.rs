//! The registry of what can be computed, by name, and what is said of some of them together.

use super::device::DeviceKey;
use super::{
    Quantity, arrow, carried, chromaticity, colour, device, device_beam, device_light, device_time, distance,
    electrical, eye_height, failure, fitted, flash, hazard, mounting, optical, power, sound, stated, states,
    vehicle_lamps,
};

/// Everything rules may name.
pub static QUANTITIES: &[&Quantity] = &[
    &optical::ZONE_TOTAL,
    &optical::LEAST_POINT,
    &optical::LEAST_OFF_PLANE,
    &colour::COLOURS_SHOWN,
    &colour::COLOURS_IN_ANY_MODE,
    &flash::FLASH_RATE,
    &flash::FLASH_SUM,
    &flash::FLASH_COUNT,
    &flash::STEADY_HEADS,
    &failure::ONE_HEAD_DARK,
    &failure::ONE_CIRCUIT_DARK,
    &failure::ONE_OUTPUT_DARK,
    &failure::TOTAL_HEAD_DARK,
    &failure::TOTAL_CIRCUIT_DARK,
    &failure::TOTAL_OUTPUT_DARK,
    &failure::CLOCK_LOST,
    &mounting::OPTICAL_CENTRE_HEIGHT,
    &mounting::BELOW_MAX_HEIGHT,
    &eye_height::AT_EYE_HEIGHT,
    &mounting::AHEAD_OF_FRONT_AXLE,
    &mounting::BEHIND_REAR_AXLE,
    &mounting::LARGEST_LOWER_GAP,
    &mounting::LOWEST_FRONT_HEIGHT,
    &mounting::VEHICLE_LENGTH,
    &mounting::GREATEST_HEAD_HEIGHT,
    &electrical::AVERAGE_CURRENT,
    &states::IN_NO_MODE,
    &states::SERVING,
    &states::DARK,
    &states::NEVER_VISIBLE,
    &states::WITHOUT_MASTER,
    &states::PARK_IN,
    &states::PARK_OUT,
    &states::ROLES_LIT,
    &states::COLOURS_LIT,
    &carried::CARRIED_INTO,
    &vehicle_lamps::TROUBLES,
    &vehicle_lamps::FLASH_RATE,
    &vehicle_lamps::SIDES_TOGETHER,
    &vehicle_lamps::NOT_UPPER_BEAM,
    &vehicle_lamps::WITH_HIGH_BEAM_ON,
    &vehicle_lamps::WITHOUT_STEADY,
    &arrow::FLASH_RATE,
    &arrow::COLOURS,
    &arrow::ON_TIME,
    &arrow::STEP,
    &arrow::OUT_OF_ORDER,
    &arrow::MERGING,
    &arrow::TAKEN,
    &hazard::GREATEST_FLASH_SUM,
    &hazard::PULSE_FREQUENCY,
    &device::FLASH_RATE,
    &chromaticity::REGIONS,
    &stated::ATTESTED,
    &stated::SHARE,
    &stated::LENGTH,
    &stated::AREA,
    &stated::ANGLE,
    &stated::INTENSITY,
    &stated::COUNT,
    &stated::VOLTAGE,
    &stated::TIME,
    &stated::SOUND_LEVEL,
    &stated::LEVEL_DIFFERENCE,
    &device_light::EFFECTIVE_INTENSITY,
    &device_light::GREATEST_EFFECTIVE_INTENSITY,
    &device_light::FLASH_ENERGY,
    &device_light::OPTICAL_POWER,
    &device_light::LIT_INTENSITY,
    &device_light::LIT_INTENSITY_RATIO,
    &device_time::ON_TIME,
    &device_time::OFF_TIME,
    &device_time::ON_SHARE,
    &device_beam::SPREAD_ACROSS,
    &device_beam::SPREAD_UP_AND_DOWN,
    &device_beam::PEAK_ELEVATION,
    &distance::ILLUMINANCE,
    &fitted::ALWAYS_LIT,
    &fitted::EVER_LIT,
    &fitted::TURNED_FORWARD,
    &fitted::CLASS,
    &fitted::COLOUR,
    &stated::VEHICLE_CLASS,
    &power::circuit::SYSTEM,
    &power::circuit::FUSE_USE,
    &power::circuit::FUSE_OVERLOAD,
    &power::circuit::WIRE_OVER_FUSE,
    &power::circuit::FUSE_OVER_AMPACITY,
    &power::circuit::WIRE_USE,
    &power::circuit::DROP_OF_SOURCE,
    &power::circuit::DROP_OF_SYSTEM,
    &power::circuit::VOLTAGE_AT_LOAD,
    &power::source::HOT_IDLE_MARGIN,
    &power::source::HOT_IDLE_MARGIN_TOTAL,
    &power::source::ENGINE_OFF_TIME,
    &power::source::RESERVE_USED,
    &power::source::CONVERTER_USE,
    &power::source::INVERTER_USE,
    &power::source::SHORE_USE,
    &power::source::SHEET_VOLTAGES,
    &sound::bench::LEVEL,
    &sound::bench::GREATEST,
    &sound::bench::OVER_TABLE,
    &sound::bench::LOWEST_PART,
    &sound::bench::RATE,
    &sound::bench::FREQUENCY,
    &sound::bench::TONES,
    &sound::bench::CLASS,
    &sound::mounted::MOUNT,
    &sound::mounted::HEIGHT,
    &sound::mounted::BEHIND_FRONT,
    &sound::mounted::TURNED,
    &sound::mounted::KINDS,
    &sound::mounted::OPPOSED,
    &sound::around::LEVEL,
    &sound::around::GREATEST,
    &sound::around::OVER_AMBIENT,
    &sound::around::HEARD_AT,
    &sound::states::SILENT_IN_REVERSE,
    &sound::states::SOUNDING,
    &sound::states::EVER_SOUNDING,
    &sound::states::ALWAYS_SOUNDING,
    &sound::exposure::OSHA_DOSE,
    &sound::exposure::NIOSH_DOSE,
    &sound::exposure::GREATEST,
];

/// What a rule on a quantity has to say in `device`, and what more it may say there. `None` for a quantity that takes no
/// more than the kind of device and directions, if it takes `device` at all.
pub fn device_keys(quantity: &Quantity) -> Option<(&'static [DeviceKey], &'static [DeviceKey])> {
    let all = [device_light::KEYS, device_time::KEYS, device_beam::KEYS, distance::KEYS, fitted::KEYS];
    let mut known = all.into_iter().flatten();
    known.find(|(known, _, _)| known.name == quantity.name).map(|(_, needed, more)| (*needed, *more))
}

/// The quantity called `name`.
pub fn find(name: &str) -> Option<&'static Quantity> {
    QUANTITIES.iter().copied().find(|quantity| quantity.name == name)
}

/// Quantities that are one thing of the same heads, asked for in two ways: limits on both meet.
const ONE_THING: &[(&str, &str)] = &[("device-flash-rate", "flash-rate")];

/// Quantities of which one is the least and the other the greatest of the same levels: no range is narrowed where limits
/// on both meet, but a least that is asked above the greatest that is allowed is met by nothing.
const LEAST_AND_GREATEST: &[(&str, &str)] =
    &[("sound-level", "greatest-sound-level"), ("sound-level-at-place", "greatest-sound-level-at-place")];

/// For a quantity that is the least, or the greatest, of levels: the name of the least of them, and whether it is that.
pub fn least_of(quantity: &Quantity) -> Option<(&'static str, bool)> {
    let (least, _) =
        LEAST_AND_GREATEST.iter().find(|(least, greatest)| [*least, *greatest].contains(&quantity.name))?;
    Some((least, *least == quantity.name))
}

/// The name under which limits on a quantity meet those on another that is the same thing.
pub fn one_thing(quantity: &Quantity) -> &'static str {
    let same = ONE_THING.iter().find(|(name, _)| *name == quantity.name);
    same.map_or(quantity.name, |(_, same)| same)
}
