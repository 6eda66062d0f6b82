//! Laws of the electrical side on random circuits and random currents over time.

mod common;

use common::close;
use common::electrical::delayed;
use proptest::prelude::*;
use wayproof::electrical::{Branch, CurrentTrain, Driver, Operating, Size, Strand, Together, Wire, levels, solve};
use wayproof::flash::{Pulse, Timeline};
use wayproof::units::{Ampere, Area, Celsius, Length, Micros, Ohm, Share, Volt};

/// A parent by chance, milliohms, loads as driver and amperes at 12.8 V.
type Drawn = (Option<prop::sample::Index>, f64, Vec<(Driver, f64)>);

fn driver() -> impl Strategy<Value = Driver> {
    prop_oneof![
        Just(Driver::ConstantPower),
        Just(Driver::ConstantCurrent),
        Just(Driver::Resistive),
        (-1.0..1.0_f64).prop_map(Driver::Exponent),
        Just(Driver::Most),
        Just(Driver::Least),
    ]
}

fn tree(driver: impl Strategy<Value = Driver> + 'static) -> impl Strategy<Value = Vec<Branch>> {
    let load = (driver, 0.0..6.0_f64);
    let branch = (prop::option::of(any::<prop::sample::Index>()), 0.0..40.0_f64, prop::collection::vec(load, 0..3));
    prop::collection::vec(branch, 1..8).prop_map(|drawn: Vec<Drawn>| {
        let branch = |(at, (parent, milliohms, loads)): (usize, Drawn)| Branch {
            parent: parent.filter(|_| at > 0).map(|parent| parent.index(at)),
            resistance: Ohm::new(milliohms / 1000.0),
            loads: loads.into_iter().map(|(driver, amperes)| (driver, Ampere::new(amperes), Volt::new(12.8))).collect(),
        };
        drawn.into_iter().enumerate().map(branch).collect()
    })
}

/// What the loads take and what the wires turn to heat, in watts.
fn watts(branches: &[Branch], found: &Operating) -> (f64, f64) {
    let (mut loads, mut wires) = (0.0, 0.0);
    for (at, branch) in branches.iter().enumerate() {
        let volts = found.voltages[at];
        let drawn = |(driver, current, at): &(Driver, Ampere, Volt)| driver.current(*current, *at, volts).value();
        loads += branch.loads.iter().map(drawn).sum::<f64>() * volts.value();
        wires += found.currents[at].value().powi(2) * branch.resistance.value();
    }
    (loads, wires)
}

proptest! {
    /// The source gives what the loads take and what the wires lose; each wire loses what its current makes of it.
    #[test]
    fn power_is_kept(branches in tree(driver()), source in 11.0..29.0_f64) {
        let Ok(found) = solve(Volt::new(source), &branches) else { return Ok(()) };
        let (loads, wires) = watts(&branches, &found);
        let given = source * found.source_current.value();
        prop_assert!((given - loads - wires).abs() <= 1e-9 * given.max(1e-3), "{given} W and {loads} + {wires} W");
        for (at, branch) in branches.iter().enumerate() {
            let above = branch.parent.map_or(source, |parent| found.voltages[parent].value());
            let lost = found.currents[at].value() * branch.resistance.value();
            prop_assert!((above - lost - found.voltages[at].value()).abs() <= 1e-9 * source);
        }
    }

    /// With loads that draw no less at a lower voltage, one more never takes less from the source and never raises a
    /// voltage; where the wires could not carry the loads before, they cannot with one more.
    #[test]
    fn one_more_load_takes_more(
        branches in tree(prop_oneof![Just(Driver::ConstantPower), Just(Driver::ConstantCurrent)]),
        at in any::<prop::sample::Index>(),
        driver in prop_oneof![Just(Driver::ConstantPower), Just(Driver::ConstantCurrent)],
        amperes in 0.0..6.0_f64,
    ) {
        let source = Volt::new(13.8);
        let mut more = branches.clone();
        more[at.index(branches.len())].loads.push((driver, Ampere::new(amperes), Volt::new(12.8)));
        match (solve(source, &branches), solve(source, &more)) {
            (Ok(before), Ok(after)) => {
                prop_assert!(after.source_current.value() >= before.source_current.value() * (1.0 - 1e-11));
                for (before, after) in before.voltages.iter().zip(&after.voltages) {
                    prop_assert!(after.value() <= before.value() + 1e-10);
                }
            }
            (Err(_), after) => prop_assert!(after.is_err()),
            (Ok(_), Err(_)) => {}
        }
    }

    /// Twice the wire resists twice as much; half the copper too; and a warmer one more.
    #[test]
    fn resistance_goes_with_length(mm2 in 0.2..100.0_f64, metres in 0.01..50.0_f64, degrees in -40.0..120.0_f64) {
        let ohms = |mm2: f64, metres, degrees| {
            let size = Size::Metric(Area::new(mm2 * 1e-6));
            let (length, temperature) = (Length::new(metres), Celsius::new(degrees));
            Wire { size, length, strand: Strand::Stranded, temperature }.resistance().value()
        };
        let one = ohms(mm2, metres, degrees);
        prop_assert!(close(ohms(mm2, 2.0 * metres, degrees) / one, 2.0, 1e-12));
        prop_assert!(close(ohms(mm2 / 2.0, metres, degrees) / one, 2.0, 1e-12));
        prop_assert!(ohms(mm2, metres, degrees + 1.0) > one);
    }

    /// A constant-power load has an operating point up to `Vs^2 / (4 P)` and none beyond, and at it the greater of the
    /// two voltages that meet the circuit's equation.
    #[test]
    fn a_load_of_constant_power_has_a_last_resistance(
        source in 11.0..29.0_f64, watts in 1.0..500.0_f64, miss in 1e-5..0.9_f64,
    ) {
        let last = source * source / (4.0 * watts);
        let at = |ohms: f64| {
            let loads = vec![(Driver::ConstantPower, Ampere::new(watts), Volt::new(1.0))];
            solve(Volt::new(source), &[Branch { parent: None, resistance: Ohm::new(ohms), loads }])
        };
        prop_assert!(at(last * (1.0 + miss)).is_err());
        // Below 5 % of the source's voltage nothing is held to work, and the greater voltage is at least half of it.
        let ohms = last * (1.0 - miss);
        let found = at(ohms);
        prop_assert!(found.is_ok(), "{ohms} ohm of {last}");
        let expected = (source + (source * source - 4.0 * watts * ohms).sqrt()) / 2.0;
        prop_assert!(close(found.unwrap().voltages[0].value() / expected, 1.0, 1e-8));
    }
}

#[test]
fn near_misses_on_both_sides_of_the_last_operating_point() {
    for (source, watts) in [(13.8, 60.0), (12.0, 400.0), (28.4, 5.0)] {
        let last = source * source / (4.0 * watts);
        for miss in [1e-5, 1e-4, 1e-3, 1e-2] {
            for (share, works) in [(1.0 - miss, true), (1.0 + miss, false)] {
                let loads = vec![(Driver::ConstantPower, Ampere::new(watts), Volt::new(1.0))];
                let branch = Branch { parent: None, resistance: Ohm::new(last * share), loads };
                assert_eq!(solve(Volt::new(source), &[branch]).is_ok(), works, "{source} V, {watts} W, {share}");
            }
        }
    }
}

/// A train whose period divides a second, in steps of whole milliseconds.
fn train() -> impl Strategy<Value = CurrentTrain> {
    let period = prop::sample::select(vec![100_i64, 200, 250, 500, 1000]);
    (period, prop::collection::vec((1..50_i64, 0.0..8.0_f64), 1..6)).prop_map(|(period, drawn)| {
        let mut end = 0;
        let mut steps: Vec<(Micros, Ampere)> = Vec::new();
        for (lasts, amperes) in drawn {
            end += lasts;
            if end < period {
                steps.push((Micros::new(end * 1000), Ampere::new(amperes)));
            }
        }
        steps.push((Micros::new(period * 1000), Ampere::new(0.1)));
        CurrentTrain::stepping(steps)
    })
}

/// The current at a time, looked up step by step.
fn at(train: &CurrentTrain, time: i64) -> f64 {
    let time = time.rem_euclid(train.period().get());
    train.steps().find(|(end, _)| time < end.get()).map_or(f64::NAN, |(_, current)| current.value())
}

/// Average, RMS and greatest of a current sampled in the middle of each millisecond of a second.
fn sampled(current: impl Fn(i64) -> f64) -> (f64, f64, f64) {
    let all: Vec<f64> = (0..1000).map(|ms| current(ms * 1000 + 500)).collect();
    let mean = all.iter().sum::<f64>() / 1000.0;
    let square = all.iter().map(|one| one * one).sum::<f64>() / 1000.0;
    (mean, square.sqrt(), all.iter().copied().fold(0.0, f64::max))
}

proptest! {
    /// A sum is what a sample of it shows, averages add, and the RMS of a sum is no more than the sum of the RMS
    /// (Minkowski) and no less than the average of it.
    #[test]
    fn sums_of_trains(trains in prop::collection::vec((train(), 0..1000_i64), 1..5)) {
        let trains: Vec<CurrentTrain> =
            trains.into_iter().map(|(train, ms)| delayed(&train, Micros::new(ms * 1000))).collect();
        let sum = CurrentTrain::sum(&trains.iter().collect::<Vec<_>>()).unwrap();
        let (mean, rms, peak) = sampled(|time| trains.iter().map(|train| at(train, time)).sum());
        prop_assert!(close(sum.average().value(), mean, 1e-9), "{} A, {mean} A", sum.average().value());
        prop_assert!(close(sum.rms().value(), rms, 1e-9), "{} A, {rms} A", sum.rms().value());
        prop_assert!(close(sum.peak().value(), peak, 1e-9), "{} A, {peak} A", sum.peak().value());
        prop_assert!(close(sum.ripple().value().powi(2), rms * rms - mean * mean, 1e-9));
        let all = |of: fn(&CurrentTrain) -> Ampere| trains.iter().map(|train| of(train).value()).sum::<f64>();
        prop_assert!(close(mean, all(CurrentTrain::average), 1e-9));
        prop_assert!(sum.rms().value() <= all(CurrentTrain::rms) + 1e-9);
        prop_assert!(sum.rms().value() >= sum.average().value() - 1e-9);
        prop_assert!(sum.peak().value() <= all(CurrentTrain::peak) + 1e-9);
        // Whatever the phases, a sum lies between the bounds that know none.
        let free = Together::of(&trains);
        prop_assert!(close(free.average.value(), sum.average().value(), 1e-9));
        prop_assert!(sum.rms().value() <= free.rms_bound.value() + 1e-9);
        prop_assert!(sum.peak().value() <= free.peak_bound.value() + 1e-9);
        prop_assert!(sum.peak().value() >= free.peak.value() - 1e-9);
        prop_assert!(free.rms.value() <= free.rms_bound.value() + 1e-9);
    }

    /// Later is the same.
    #[test]
    fn a_delay_changes_nothing_but_when(train in train(), us in -3_000_000..3_000_000_i64) {
        let later = delayed(&train, Micros::new(us));
        prop_assert!(close(later.average().value(), train.average().value(), 1e-12));
        prop_assert!(close(later.rms().value(), train.rms().value(), 1e-12));
        prop_assert_eq!(later.peak(), train.peak());
        prop_assert_eq!(later.period(), train.period());
        for time in (0..1_000_000).step_by(7919) {
            prop_assert_eq!(at(&later, time + us), at(&train, time), "at {} us", time);
        }
    }

    /// What flows above a threshold: the times and their greatest currents, counted in samples of one period.
    #[test]
    fn times_above_a_threshold(train in train(), threshold in 0.0..8.0_f64) {
        let found = train.above(Ampere::new(threshold));
        let period = train.period().get() / 1000;
        let over: i64 = (0..period).filter(|ms| at(&train, ms * 1000 + 500) > threshold).count().try_into().unwrap();
        if over == period {
            prop_assert_eq!(found, vec![(None, train.peak())]);
        } else {
            let lasts: i64 = found.iter().map(|(lasts, _)| lasts.unwrap().get()).sum();
            prop_assert_eq!(lasts, over * 1000);
            let rises = |ms: &i64| at(&train, ms * 1000 + 500) > threshold && at(&train, ms * 1000 - 500) <= threshold;
            prop_assert_eq!(found.len(), (0..period).filter(rises).count());
            let peak = found.iter().map(|(_, peak)| peak.value()).fold(0.0, f64::max);
            prop_assert_eq!(peak, if over == 0 { 0.0 } else { train.peak().value() });
        }
    }

    /// The steps of several lights hold their levels, sampled.
    #[test]
    fn levels_are_those_of_each_light(
        lights in prop::collection::vec(
            (prop::sample::select(vec![200_i64, 250, 500]), 1..90_i64, 1..100_i64, 0.1..1.0_f64), 1..4),
    ) {
        let lights: Vec<Timeline> = lights
            .into_iter()
            .map(|(period, start, lasts, level)| {
                let (start, end) = (Micros::new(start * 1000), Micros::new((start + lasts) * 1000));
                Timeline::new(Micros::new(period * 1000), vec![Pulse { start, end, level: Share::new(level) }]).unwrap()
            })
            .collect();
        let steps = levels(&lights.iter().collect::<Vec<_>>()).unwrap();
        let lasts = steps.last().unwrap().0.get();
        prop_assert_eq!(1_000_000 % lasts, 0);
        for ms in 0..1000 {
            let time = ms * 1000 + 500;
            let (_, found) = steps.iter().find(|(end, _)| time % lasts < end.get()).unwrap();
            for (light, found) in lights.iter().zip(found) {
                let at = time % light.period().get();
                let lit = light.pulses().iter().find(|pulse| pulse.start.get() <= at && at < pulse.end.get());
                prop_assert_eq!(*found, lit.map_or(0.0, |pulse| pulse.level.value()), "at {} ms", ms);
            }
        }
    }
}

/// Over many phases drawn by chance (a fixed seed) the mean square of the sum is what is computed from each alone.
#[test]
fn free_running_trains_come_to_the_mean_over_their_phases() {
    let step = |ms: i64, amperes: f64| (Micros::new(ms * 1000), Ampere::new(amperes));
    let quad: Vec<(Micros, Ampere)> =
        (0..4).flat_map(|at| [step(80 * at + 40, 3.0), step(80 * at + 80, 0.05)]).chain([step(800, 0.05)]).collect();
    let mut trains = vec![CurrentTrain::stepping(quad)];
    trains.extend((0..4).map(|_| CurrentTrain::stepping(vec![step(300, 2.5), step(1000, 0.0)])));
    trains.push(CurrentTrain::stepping(vec![step(125, 6.0), step(500, 1.0)]));
    // Lehmer's generator with the multiplier 48271.
    let mut seed: u64 = 20_261_127;
    let mut drawn = |below: i64| {
        seed = seed * 48_271 % 2_147_483_647;
        i64::try_from(seed).unwrap() % below
    };
    let (draws, mut squares, mut means) = (4000, 0.0, 0.0);
    for _ in 0..draws {
        let later: Vec<CurrentTrain> =
            trains.iter().map(|train| delayed(train, Micros::new(drawn(train.period().get())))).collect();
        let sum = CurrentTrain::sum(&later.iter().collect::<Vec<_>>()).unwrap();
        squares += sum.rms().value().powi(2);
        means += sum.average().value();
    }
    let found = Together::of(&trains);
    let rms = (squares / f64::from(draws)).sqrt();
    // The standard error of the mean over 4000 draws is about 0.2 %.
    assert!((found.rms.value() / rms - 1.0).abs() < 0.006, "{} A, {rms} A", found.rms.value());
    assert!(close(found.average.value(), means / f64::from(draws), 1e-9));
    assert!(found.rms.value() > found.average.value() && found.rms.value() < found.rms_bound.value());
}
