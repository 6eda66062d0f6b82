//! Random patterns against a simulation that steps through time, and what no phase may change.

use proptest::prelude::*;
use wayproof::flash::{ClockId, Clocked, Exactness, Pulse, RateBy, Timeline, union_rate};
use wayproof::units::{Micros, Rate, Share};

const NONE: Share = Share::ZERO;

/// A pattern on a grid: one level for each step of the period, in tenths.
#[derive(Clone, Debug)]
struct Grid {
    levels: Vec<u8>,
}

impl Grid {
    /// As the user would write it: one pulse for each run of equal light; a step is `step` microseconds.
    fn timeline(&self, step: i64) -> Timeline {
        let mut pulses: Vec<Pulse> = Vec::new();
        for (at, level) in (0..).zip(&self.levels) {
            let (start, end) = (Micros::new(at * step), Micros::new((at + 1) * step));
            pulses.push(Pulse { start, end, level: Share::new(f64::from(*level) / 10.0) });
        }
        let period = Micros::new(i64::try_from(self.levels.len()).unwrap() * step);
        Timeline::new(period, pulses).unwrap()
    }

    /// Whether it is lit (not dark) at a step, when delayed.
    fn lit(&self, at: usize, delay: usize) -> bool {
        let period = self.levels.len();
        self.levels[(at + period - delay % period) % period] > 0
    }
}

/// Steps through one common period: how many dark runs, seen on a circle, reach `dark` steps, with light
/// before them. Two rounds, the first only to know how long it has been dark.
fn simulate(over: usize, dark: usize, lit: impl Fn(usize) -> bool) -> u64 {
    let mut flashes = 0;
    let mut run = None;
    for at in 0..2 * over {
        run = if lit(at % over) { Some(0) } else { run.map(|run| run + 1) };
        if at >= over && run == Some(dark) {
            flashes += 1;
        }
    }
    flashes
}

fn common(periods: &[usize]) -> usize {
    let lcm = |a: usize, b: usize| (a..).step_by(a).find(|over| over % b == 0).unwrap();
    periods.iter().copied().fold(1, lcm)
}

fn micros(steps: usize) -> i64 {
    i64::try_from(steps).unwrap()
}

fn grid(period: std::ops::Range<usize>) -> impl Strategy<Value = Grid> {
    // Mostly dark, in runs, as patterns are.
    let runs = prop::collection::vec((1..7_usize, prop::sample::select(vec![0_u8, 0, 0, 5, 10])), 1..12);
    (period, runs).prop_map(|(period, runs)| {
        let steps = runs.into_iter().flat_map(|(length, level)| std::iter::repeat_n(level, length));
        let mut levels: Vec<u8> = steps.chain(std::iter::repeat(0)).take(period).collect();
        if levels.iter().all(|level| *level == 0) {
            levels[0] = 10;
        }
        Grid { levels }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_phase_changes_neither_mean_nor_flashes(grid in grid(1..60), phase in -100_000_i64..100_000, dark in 0_i64..20_000, above in 0.0..1.2) {
        let (timeline, dark, above) = (grid.timeline(1000), Micros::new(dark), Share::new(above));
        let later = timeline.delayed(Micros::new(phase));
        prop_assert_eq!(later.mean(), timeline.mean());
        prop_assert_eq!(later.flashes(dark, above), timeline.flashes(dark, above));
        for by in [RateBy::CountOverTime, RateBy::MeanOfCycles] {
            prop_assert_eq!(later.rate(dark, above, by), timeline.rate(dark, above, by));
        }
        prop_assert_eq!(later.delayed(Micros::new(-phase)), timeline.clone());
        prop_assert_eq!(timeline.delayed(timeline.period()), timeline);
    }

    #[test]
    fn flashes_mean_and_cycle_rates_agree_with_a_simulation(grid in grid(1..60), dark in 1..12_usize) {
        let timeline = grid.timeline(1000);
        let period = grid.levels.len();
        let flashes = simulate(period, dark, |at| grid.lit(at, 0));
        prop_assert_eq!(timeline.flashes(Micros::new(micros(dark) * 1000), NONE), flashes);
        let tenths: f64 = grid.levels.iter().map(|level| f64::from(*level)).sum();
        let mean = tenths / 10.0 / f64::from(u32::try_from(period).unwrap());
        prop_assert!((timeline.mean().value() - mean).abs() < 1e-12);
        // A flash starts where light follows at least `dark` dark steps.
        let back = |at: usize, by: usize| (at + 2 * period * 12 - by) % period;
        let starts: Vec<usize> = (0..period)
            .filter(|&at| flashes > 0 && grid.lit(at, 0) && (1..=dark).all(|by| !grid.lit(back(at, by), 0)))
            .collect();
        let cycles: Vec<f64> = (0..starts.len())
            .map(|n| if n + 1 < starts.len() { starts[n + 1] - starts[n] } else { starts[0] + period - starts[n] })
            .map(|cycle| 60_000.0 / f64::from(u32::try_from(cycle).unwrap()))
            .collect();
        let by_cycles = timeline.rate(Micros::new(micros(dark) * 1000), NONE, RateBy::MeanOfCycles).per_minute();
        let expected = if cycles.is_empty() { 0.0 } else { cycles.iter().sum::<f64>() / f64::from(u32::try_from(cycles.len()).unwrap()) };
        prop_assert!((by_cycles - expected).abs() <= 1e-9 * expected, "{} {}", by_cycles, expected);
    }

    #[test]
    fn union_with_itself_is_itself(grid in grid(1..60), dark in 1_i64..20_000, above in 0.0..1.0) {
        let (timeline, dark, above) = (grid.timeline(1000), Micros::new(dark), Share::new(above));
        let head = Clocked { timeline: &timeline, clock: Some(ClockId(3)) };
        let union = union_rate(&[head; 5], dark, above);
        prop_assert_eq!(union.least, timeline.rate(dark, above, RateBy::CountOverTime));
        prop_assert_eq!((union.most, union.exactness), (union.least, Exactness::Exact));
    }

    #[test]
    fn union_on_one_clock_agrees_with_a_simulation(grids in prop::collection::vec((grid(1..30), 0..30_usize), 1..5), dark in 1..12_usize) {
        let over = common(&grids.iter().map(|(grid, _)| grid.levels.len()).collect::<Vec<_>>());
        prop_assume!(over <= 60_000);
        let lamps: Vec<_> = grids.iter().map(|(grid, phase)| grid.timeline(1000).delayed(Micros::new(micros(*phase) * 1000))).collect();
        let heads: Vec<_> = lamps.iter().map(|timeline| Clocked { timeline, clock: Some(ClockId(0)) }).collect();
        let union = union_rate(&heads, Micros::new(micros(dark) * 1000), NONE);
        let flashes = simulate(over, dark, |at| grids.iter().any(|(grid, phase)| grid.lit(at, *phase)));
        prop_assert_eq!(union.least, Rate::new(flashes, micros(over) * 1000).unwrap());
        prop_assert_eq!((union.most, union.exactness), (union.least, Exactness::Exact));
    }

    /// Every phase there is: one microsecond a step.
    #[test]
    fn two_free_clocks_have_the_range_of_all_phases(one in grid(2..30), other in grid(2..30), dark in 1..12_usize) {
        let (a, b) = (one.timeline(1), other.timeline(1));
        let over = common(&[one.levels.len(), other.levels.len()]);
        let counts: Vec<u64> = (0..other.levels.len())
            .map(|phase| simulate(over, dark, |at| one.lit(at, 0) || other.lit(at, phase)))
            .collect();
        let rate = |count: Option<&u64>| Rate::new(*count.unwrap(), micros(over)).unwrap();
        let heads = [Clocked { timeline: &a, clock: None }, Clocked { timeline: &b, clock: None }];
        let union = union_rate(&heads, Micros::new(micros(dark)), NONE);
        prop_assert_eq!((union.least, union.most), (rate(counts.iter().min()), rate(counts.iter().max())));
        prop_assert_eq!(union.exactness, Exactness::Exact);
        let turned = [heads[1], heads[0]];
        prop_assert_eq!(union_rate(&turned, Micros::new(micros(dark)), NONE), union);
    }

    /// Whole milliseconds: all edges on even ones, phases on each. An end may lie between two phases at
    /// which edges meet, so phases at which they do not meet are tried too.
    #[test]
    fn two_free_clocks_in_milliseconds_reach_both_ends(one in grid(2..30), other in grid(2..30), dark in 1..12_usize) {
        let (a, b) = (one.timeline(2000), other.timeline(2000));
        let over = 2 * common(&[one.levels.len(), other.levels.len()]);
        let period = 2 * other.levels.len();
        let counts: Vec<u64> = (0..period)
            .map(|phase| simulate(over, 2 * dark, |at| one.lit(at / 2, 0) || other.lit((at + period - phase) % period / 2, 0)))
            .collect();
        let rate = |count: Option<&u64>| Rate::new(*count.unwrap(), micros(over) * 1000).unwrap();
        let heads = [Clocked { timeline: &a, clock: Some(ClockId(1)) }, Clocked { timeline: &b, clock: None }];
        let union = union_rate(&heads, Micros::new(micros(dark) * 2000), NONE);
        prop_assert_eq!((union.least, union.most), (rate(counts.iter().min()), rate(counts.iter().max())));
        prop_assert_eq!(union.exactness, Exactness::Exact);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 150, ..ProptestConfig::default() })]

    #[test]
    fn three_free_clocks_have_the_range_of_all_phases(
        grids in prop::array::uniform3(grid(2..20)),
        equal in any::<bool>(),
        dark in 1..8_usize,
    ) {
        let mut grids = grids;
        if equal {
            let period = grids[0].levels.len();
            for grid in &mut grids {
                grid.levels.resize(period, 0);
                grid.levels[0] = 10;
            }
        }
        let lamps = grids.each_ref().map(|grid| grid.timeline(1));
        let periods = grids.each_ref().map(|grid| grid.levels.len());
        let over = common(&periods);
        let mut counts = Vec::new();
        for second in 0..periods[1] {
            for third in 0..periods[2] {
                let phases = [0, second, third];
                let lit = |at| grids.iter().zip(phases).any(|(grid, phase)| grid.lit(at, phase));
                counts.push(simulate(over, dark, lit));
            }
        }
        let rate = |count: Option<&u64>| Rate::new(*count.unwrap(), micros(over)).unwrap();
        let heads = lamps.each_ref().map(|timeline| Clocked { timeline, clock: None });
        let union = union_rate(&heads, Micros::new(micros(dark)), NONE);
        prop_assert_eq!((union.least, union.most), (rate(counts.iter().min()), rate(counts.iter().max())));
        prop_assert_eq!(union.exactness, Exactness::Exact);
    }

    /// More clocks than three: no phases tried at random leave the bounds.
    #[test]
    fn bounds_hold_for_four_free_clocks(grids in prop::array::uniform4((grid(2..14), 0..14_usize)), dark in 1..6_usize) {
        let over = common(&grids.each_ref().map(|(grid, _)| grid.levels.len()));
        let lamps = grids.each_ref().map(|(grid, _)| grid.timeline(1));
        let heads = lamps.each_ref().map(|timeline| Clocked { timeline, clock: None });
        let union = union_rate(&heads, Micros::new(micros(dark)), NONE);
        let flashes = simulate(over, dark, |at| grids.iter().any(|(grid, phase)| grid.lit(at, *phase)));
        let rate = Rate::new(flashes, micros(over)).unwrap();
        prop_assert!(union.least <= rate && rate <= union.most, "{:?} {}", union, rate);
    }

    #[test]
    fn any_numbers_make_a_pattern_or_an_error(
        period in prop_oneof![any::<i64>(), -5_i64..70_000_000],
        pulses in prop::collection::vec((any::<i64>(), any::<i64>(), any::<f64>()), 0..5),
        phase in any::<i64>(),
        dark in any::<i64>(),
        above in any::<f64>(),
    ) {
        let pulse = |&(start, end, level): &(i64, i64, f64)| {
            Pulse { start: Micros::new(start), end: Micros::new(end), level: Share::new(level) }
        };
        let given: Vec<Pulse> = pulses.iter().map(pulse).collect();
        let mistakes = Timeline::mistakes(Micros::new(period), &given);
        prop_assert!(mistakes.iter().flat_map(|mistake| mistake.pulses()).all(|pulse| pulse < given.len()));
        prop_assert_eq!(Timeline::new(Micros::new(period), given).is_err(), !mistakes.is_empty());
        // The same numbers brought into range must be taken, at any phase, dark time and threshold.
        let period = period.rem_euclid(60_000_000) + 1;
        let tamed: Vec<Pulse> = pulses
            .first()
            .map(|(start, _, _)| start.rem_euclid(period))
            .map(|start| Pulse { start: Micros::new(start), end: Micros::new(period), level: Share::new(0.5) })
            .into_iter()
            .collect();
        prop_assume!(!tamed.is_empty());
        let timeline = Timeline::new(Micros::new(period), tamed).unwrap().delayed(Micros::new(phase));
        let head = Clocked { timeline: &timeline, clock: None };
        for count in 1..5 {
            let union = union_rate(&[head; 4][..count], Micros::new(dark), Share::new(above));
            prop_assert!(union.least <= union.most);
        }
    }
}
