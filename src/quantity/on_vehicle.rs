//! What a person on the vehicle can do about a quantity: measure it, look, read the papers, or only make sure that the
//! heads are the ones whose light was reckoned with. One row a family of quantities, with the instrument and the
//! expanded uncertainty (k = 2) that the trade reckons with; these figures are from memory or computed, never read.

use super::Quantity;
use crate::units::Amount;

/// How something is shown on the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proof {
    /// An instrument shows it.
    Measure,
    /// A person looks, listens or counts.
    Look,
    /// It stands in papers or on a label.
    Papers,
    /// Nothing on the vehicle shows it: what can be shown is that these heads are fitted, aimed and switched as said.
    Heads,
}

impl Proof {
    /// As printed on a sheet.
    pub fn word(self) -> &'static str {
        match self {
            Self::Measure => "measure",
            Self::Look => "look",
            Self::Papers => "papers",
            Self::Heads => "heads",
        }
    }
}

/// How a quantity is shown on the vehicle.
#[derive(Clone, Copy, Debug)]
pub struct OnVehicle {
    /// In which way.
    pub proof: Proof,
    /// With what.
    pub instrument: &'static str,
    /// Absolute expanded uncertainty (k = 2) that the trade reckons with, place and handling included: `"0.5 in"`, or a
    /// share of the reading, `"3 %"`.
    pub reckon: Option<&'static str>,
    /// How that figure is known.
    pub basis: &'static str,
}

const fn row(proof: Proof, instrument: &'static str, reckon: Option<&'static str>, basis: &'static str) -> OnVehicle {
    OnVehicle { proof, instrument, reckon, basis }
}

const LOOK: OnVehicle = row(Proof::Look, "eye", None, "");
const PAPERS: OnVehicle = row(Proof::Papers, "papers", None, "");
const HEADS: OnVehicle = row(Proof::Heads, "eye", None, "");

/// Names of quantities, and what is true of them all.
const TABLE: &[(&[&str], OnVehicle)] = &[
    (
        &["optical-centre-height", "lowest-front-height", "greatest-head-height", "sounder-height", "stated-length"],
        row(Proof::Measure, "tape measure", Some("0.5 in"), "memory"),
    ),
    (
        &[
            "distance-ahead-of-front-axle",
            "distance-behind-rear-axle",
            "largest-gap-along-side",
            "vehicle-length",
            "sounder-behind-front",
        ],
        row(Proof::Measure, "tape measure", Some("1 in"), "memory"),
    ),
    (&["stated-area", "stated-share", "distance-heard"], row(Proof::Measure, "tape measure", None, "")),
    (&["turned-forward", "sounder-turned"], row(Proof::Measure, "protractor", Some("3 deg"), "memory")),
    (&["stated-angle"], row(Proof::Measure, "angle gauge", Some("1 deg"), "memory")),
    (
        // Over 60 s one flash more or less.
        &["flash-rate", "headlamp-flash-rate", "arrow-flash-rate", "device-flash-rate", "tone-rate"],
        row(Proof::Measure, "stopwatch, over 60 s", Some("1 /min"), "computed"),
    ),
    (
        // Patterns are known exactly; clocks are not, and each head is counted by itself.
        &["flash-sum-at-point", "flash-count-at-point", "greatest-flash-sum-at-point"],
        row(Proof::Measure, "camera, 240 frames a second", Some("2 %"), "practice"),
    ),
    (
        // One frame.
        &["flash-on-time", "flash-off-time"],
        row(Proof::Measure, "camera, 240 frames a second", Some("4 ms"), "computed"),
    ),
    (
        // A frame at either end, and lamps that come and go slowly.
        &["flash-on-share", "arrow-on-time", "arrow-step", "headlamp-sides-lit-together"],
        row(Proof::Measure, "camera, 240 frames a second", Some("5 %"), "practice"),
    ),
    (
        &["average-warning-current", "fuse-use", "wire-use", "converter-use", "inverter-use", "shore-use"],
        row(Proof::Measure, "clamp meter", Some("3 %"), "memory"),
    ),
    (&["hot-idle-margin", "hot-idle-margin-total"], row(Proof::Measure, "clamp meter", None, "")),
    (&["voltage-at-load", "stated-voltage"], row(Proof::Measure, "voltmeter", Some("0.1 V"), "memory")),
    (&["voltage-drop-of-source", "voltage-drop-of-system"], row(Proof::Measure, "voltmeter", None, "")),
    (&["stated-time"], row(Proof::Measure, "stopwatch", Some("1 s"), "memory")),
    (&["engine-off-time"], row(Proof::Measure, "stopwatch and voltmeter", Some("10 %"), "memory")),
    (
        &["sound-level-at-place", "greatest-sound-level-at-place", "stated-sound-level", "sound-level-over-ambient"],
        row(Proof::Measure, "sound level meter", Some("3 dB"), "memory"),
    ),
    (
        &["stated-level-difference", "greatest-exposure-level"],
        row(Proof::Measure, "sound level meter", Some("2 dB"), "memory"),
    ),
    (&["noise-dose-29-cfr-1910-95", "noise-dose-niosh"], row(Proof::Measure, "noise dosimeter", None, "")),
    (
        &[
            "below-max-height",
            "stated-intensity",
            "sheet-voltage-spread",
            "sound-level",
            "greatest-sound-level",
            "sound-level-over-table",
            "lowest-part-of-cycle",
            "tone-frequency",
            "sounder-class",
            "claimed-class",
            "system-voltage",
        ],
        PAPERS,
    ),
    (&["wire-over-fuse", "fuse-over-ampacity"], row(Proof::Papers, "labels of fuse and wire", None, "")),
    (&["fuse-overload-time"], row(Proof::Measure, "oscilloscope with a DC clamp", None, "")),
    // Ten minutes of load, engine off: what that takes of a reserve is measured as a charge, or the test is made.
    (&["reserve-used-in-10-min"], row(Proof::Measure, "shunt and clock, over 10 min", None, "")),
    // What a person sees, hears, counts or switches.
    (
        &[
            "attested",
            "stated-count",
            "vehicle-class",
            "arrow-colours",
            "arrow-elements-out-of-order",
            "merge-arrow-states",
            "carried-into",
            "colours-shown",
            "colours-shown-in-any-mode",
            "heads-always-lit",
            "heads-ever-lit",
            "emitter-colour",
            "steady-warning-heads",
            "sounder-tones",
            "sounder-mount",
            "sounder-kinds-fitted",
            "opposed-speakers",
            "silent-states-in-reverse",
            "sounder-kinds-sounding",
            "sounder-kinds-ever-sounding",
            "sounder-kinds-always-sounding",
            "states-in-no-mode",
            "modes-serving-purpose",
            "dark-states",
            "displays-never-visible",
            "heads-without-master",
            "states-not-ended-by-park-in",
            "states-not-ended-by-park-out",
            "roles-lit",
            "warning-colours-lit",
            "vehicle-lamp-troubles",
            "flashers-not-upper-beam",
            "flashers-without-steady-display",
            "flasher-states-with-high-beam-on",
        ],
        LOOK,
    ),
    (
        &[
            "zone-total-optical-power",
            "zone-total-taken-by-arrow",
            "illuminance-at-distance",
            "least-point-optical-power",
            "least-off-plane-optical-power",
            "signal-with-one-head-dark",
            "signal-with-one-circuit-dark",
            "signal-with-one-output-dark",
            "zone-total-with-one-head-dark",
            "zone-total-with-one-circuit-dark",
            "zone-total-with-one-output-dark",
            "flash-count-with-a-clock-lost",
            "light-at-eye-height",
            "pulse-frequency",
            "chromaticity-regions",
            "effective-intensity",
            "greatest-effective-intensity",
            "flash-energy",
            "device-optical-power",
            "lit-intensity",
            "lit-intensity-ratio",
            "beam-spread-across",
            "beam-spread-up-and-down",
            "peak-elevation",
        ],
        HEADS,
    ),
];

/// How a quantity is shown on the vehicle. All stand in the table; for one that did not, no look would do, so papers.
pub fn on_vehicle(quantity: &str) -> OnVehicle {
    TABLE.iter().find(|(names, _)| names.contains(&quantity)).map_or(PAPERS, |(_, row)| *row)
}

/// The same for what a person vouches for: that something was tested, or from how far it can be read, stands in a report.
pub fn on_vehicle_of(quantity: &str, item: Option<&str>) -> OnVehicle {
    let in_papers = item.is_some_and(|item| item.split('-').any(|word| matches!(word, "tested" | "read")));
    if in_papers { PAPERS } else { on_vehicle(quantity) }
}

/// Quantities of which the figure that is written down is not plainly what the method shows, and what it is.
const WRITTEN: &[(&[&str], &str)] = &[
    (
        &["hot-idle-margin", "hot-idle-margin-total"],
        "write what is left: what the alternator's maker states for this speed and heat, less what a clamp meter on its output cable shows; plus is left over, minus comes out of the battery, and a current into the battery is no spare output",
    ),
    (
        &["fuse-overload-time"],
        "write the length of the longest pulse above 110 % of the fuse's rating, as a share of the shortest published time in which such a fuse opens at the height of that pulse; 0 % where there is none",
    ),
    (
        &["voltage-drop-of-source"],
        "write the drop as a share of the voltage at the source, with its own uncertainty in points, or the drop and the source voltage, such as 1.3 V of 13.8 V",
    ),
    (
        &["converter-use", "inverter-use", "shore-use"],
        "write what is drawn as a share of what it may give, with its own uncertainty in points of it",
    ),
    (
        &["noise-dose-29-cfr-1910-95", "noise-dose-niosh"],
        "write the dose in %, with its own uncertainty in points of it: decibels of a meter are none",
    ),
    (
        &[
            "flash-rate",
            "headlamp-flash-rate",
            "arrow-flash-rate",
            "device-flash-rate",
            "flash-sum-at-point",
            "greatest-flash-sum-at-point",
        ],
        "write what was counted in how many seconds, such as 76 in 60 s",
    ),
    (&["tone-rate"], "or write what was counted, such as 12 in 10 s"),
];

/// What is written into the line of a quantity, where that is not plain.
pub fn what_is_written(quantity: &str) -> Option<&'static str> {
    WRITTEN.iter().find(|(names, _)| names.contains(&quantity)).map(|(_, text)| *text)
}

/// Quantities that meet a limit of zero where a person sees that there is none of it, or that it is not below: no reading
/// with an uncertainty could show that.
pub fn is_seen_at_zero(quantity: &str, at_most: bool) -> bool {
    if at_most { !may_be_negative(quantity) } else { quantity.starts_with("hot-idle-margin") }
}

/// Quantities whose value may lie below zero: a place along the vehicle from a line across it, a turn to either side, a
/// level or a difference of levels, and what is left of a supply.
const SIGNED: &[&str] = &[
    "distance-ahead-of-front-axle",
    "distance-behind-rear-axle",
    "sounder-behind-front",
    "turned-forward",
    "sounder-turned",
    "stated-angle",
    "sound-level-at-place",
    "greatest-sound-level-at-place",
    "stated-sound-level",
    "sound-level-over-ambient",
    "stated-level-difference",
    "greatest-exposure-level",
    "hot-idle-margin",
    "hot-idle-margin-total",
];

/// Quantities of which no instrument shows the figure: it is worked out from several readings.
const WORKED_OUT: &[&str] = &[
    "stated-area",
    "stated-share",
    "flash-on-share",
    "arrow-on-time",
    "arrow-step",
    "headlamp-sides-lit-together",
    "hot-idle-margin",
    "hot-idle-margin-total",
    "voltage-drop-of-source",
    "voltage-drop-of-system",
    "fuse-overload-time",
    "reserve-used-in-10-min",
];

/// Whether a figure of the quantity is worked out from several readings, so that the uncertainty of an instrument is not
/// that of the figure.
pub fn is_worked_out(quantity: &str) -> bool {
    WORKED_OUT.contains(&quantity)
}

/// Whether the quantity is what is lost of the voltage of a source.
pub fn is_drop_of_source(quantity: &str) -> bool {
    quantity == "voltage-drop-of-source"
}

/// What a source stands at while it is charged, at most, of the system's voltage; practice.
const CHARGED: f64 = 1.2;

/// The voltage of which a drop is a share, at most, where the system has so many volts; none where it is no drop.
pub fn volts_of_drop(quantity: &str, system: f64) -> Option<f64> {
    match quantity {
        "voltage-drop-of-source" => Some(CHARGED * system),
        "voltage-drop-of-system" => Some(system),
        _ => None,
    }
}

/// Whether a reading of the quantity may be negative.
pub fn may_be_negative(quantity: &str) -> bool {
    SIGNED.contains(&quantity)
}

/// How a person would show it, in words.
pub fn by_hand(quantity: &str) -> &'static str {
    super::find(quantity).map_or("", |quantity: &Quantity| quantity.by_hand)
}

impl OnVehicle {
    /// The uncertainty that the trade reckons with.
    pub fn reckoned(&self) -> Option<Amount> {
        self.reckon.and_then(|text| Amount::parse(text).ok())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Dimension;

    #[test]
    fn every_name_is_a_quantity_stands_once_and_its_uncertainty_fits() {
        let mut met = Vec::new();
        for (names, row) in TABLE {
            for name in *names {
                let quantity = super::super::find(name).unwrap_or_else(|| panic!("no quantity `{name}`"));
                assert!(!met.contains(name), "{name} stands twice");
                met.push(*name);
                let Some(text) = row.reckon else { continue };
                let is = row.reckoned().unwrap_or_else(|| panic!("{name}: `{text}`")).unit().dimension();
                let level = quantity.dimension == Dimension::SoundLevel && is == Dimension::Decibels;
                assert!(is == quantity.dimension || is == Dimension::Share || level, "{name}: {text}");
                assert!(!row.basis.is_empty(), "{name}: how is {text} known?");
            }
        }
        for quantity in super::super::QUANTITIES {
            assert!(met.contains(&quantity.name), "`{}` stands in no row", quantity.name);
        }
    }

    #[test]
    fn only_what_is_measured_can_be_negative_and_no_amount_can() {
        for name in SIGNED {
            assert_eq!(on_vehicle(name).proof, Proof::Measure, "{name}");
        }
        for quantity in super::super::QUANTITIES.iter().filter(|known| on_vehicle(known.name).proof == Proof::Measure) {
            let amount = matches!(
                quantity.dimension,
                Dimension::Current | Dimension::Voltage | Dimension::Rate | Dimension::Time | Dimension::Share
            );
            let margin = quantity.name.contains("margin");
            assert!(!amount || margin || !may_be_negative(quantity.name), "{}", quantity.name);
        }
    }

    #[test]
    fn what_is_written_is_of_something_measured() {
        for name in WRITTEN.iter().flat_map(|(names, _)| *names) {
            assert!(super::super::find(name).is_some(), "no quantity `{name}`");
            assert_eq!(on_vehicle(name).proof, Proof::Measure, "{name}");
        }
    }

    #[test]
    fn what_is_worked_out_is_measured_and_no_time_or_length() {
        for name in WORKED_OUT {
            let quantity = super::super::find(name).unwrap_or_else(|| panic!("no quantity `{name}`"));
            assert_eq!(on_vehicle(name).proof, Proof::Measure, "{name}");
            assert!(!matches!(quantity.dimension, Dimension::Time | Dimension::Length), "{name}");
            let reckon = on_vehicle(name).reckon;
            assert!(
                reckon.is_none_or(|text| text.ends_with('%')),
                "{name}: a share of the figure, not of what a meter shows"
            );
        }
    }

    #[test]
    fn what_no_meter_on_the_vehicle_shows_asks_for_its_heads() {
        for quantity in super::super::QUANTITIES {
            let light = matches!(
                quantity.dimension,
                Dimension::OpticalPower | Dimension::Intensity | Dimension::FlashEnergy | Dimension::Illuminance
            );
            let proof = on_vehicle(quantity.name).proof;
            assert!(!light || matches!(proof, Proof::Heads | Proof::Papers), "{}", quantity.name);
        }
    }
}
