//! Heads on clocks of their own: the range of the flash count over every relative phase.

use wayproof::flash::{ClockId, Clocked, Exactness, Pulse, Timeline, UnionRate, union_rate};
use wayproof::units::{Micros, Rate, Share};

const TENTH: Share = Share::new(0.1);

fn ms(time: i64) -> Micros {
    Micros::new(time * 1000)
}

fn lamp(period: i64, on: &[(i64, i64)]) -> Timeline {
    let level = Share::new(1.0);
    let pulse = |&(start, end)| Pulse { start: Micros::new(start), end: Micros::new(end), level };
    Timeline::new(Micros::new(period), on.iter().map(pulse).collect()).unwrap()
}

fn once(period_ms: i64, lit_ms: i64) -> Timeline {
    lamp(period_ms * 1000, &[(0, lit_ms * 1000)])
}

fn free<'a>(lamps: impl IntoIterator<Item = &'a Timeline>) -> Vec<Clocked<'a>> {
    lamps.into_iter().map(|timeline| Clocked { timeline, clock: None }).collect()
}

fn ends(union: UnionRate) -> (f64, f64, Exactness) {
    (union.least.per_minute(), union.most.per_minute(), union.exactness)
}

/// Ranges computed apart from this program by a sweep of the phase; see `tests/reference/flash/README.md`.
#[test]
fn two_free_lamps_of_75_a_minute() {
    for (lit, least, most) in [(50, 75.0, 150.0), (200, 75.0, 150.0), (350, 0.0, 75.0), (400, 0.0, 75.0)] {
        let lamp = once(800, lit);
        assert_eq!(
            ends(union_rate(&free([&lamp, &lamp]), ms(160), TENTH)),
            (least, most, Exactness::Exact),
            "{lit} ms"
        );
    }
}

/// By hand: 240 ms of light in 800 ms leaves a gap of 560 ms. Another 240 ms within it leaves 320 ms in
/// two parts: both reach 160 ms only at 160 ms each, one phase in 800,000; otherwise one part does.
#[test]
fn an_end_that_one_single_microsecond_of_phase_gives_is_found() {
    let lamp = once(800, 240);
    let union = |dark| ends(union_rate(&free([&lamp, &lamp]), Micros::new(dark), TENTH));
    assert_eq!(union(160_000), (75.0, 150.0, Exactness::Exact));
    assert_eq!(union(159_999), (75.0, 150.0, Exactness::Exact));
    // One microsecond more: two parts never, and at one phase in the middle none.
    assert_eq!(union(160_001), (0.0, 75.0, Exactness::Exact));
}

/// The range holds the counts at one fixed phase each, of `drift_75_100`, `drift_75_120` and `three_unsync`
/// in `flash_count.toml`.
#[test]
fn different_periods_are_counted_over_their_common_period() {
    let lamps = [once(800, 100), lamp(600_000, &[(37_000, 137_000)]), lamp(500_000, &[(91_000, 191_000)])];
    for (dark, at_that_phase) in [(1, 210.0), (100, 135.0), (160, 85.0), (200, 80.0), (250, 60.0)] {
        let (least, most, exactness) = ends(union_rate(&free(&lamps), ms(dark), TENTH));
        assert!(least <= at_that_phase && at_that_phase <= most, "{least} {at_that_phase} {most}");
        assert_eq!(exactness, Exactness::Exact);
    }
    let (slow, fast, faster) = (once(800, 50), once(600, 50), once(500, 50));
    let (least, most, _) = ends(union_rate(&free([&slow, &fast]), ms(160), TENTH));
    assert!(least <= 100.0 && 100.0 <= most);
    let (least, most, _) = ends(union_rate(&free([&slow, &faster]), ms(160), TENTH));
    assert!(least <= 120.0 && 120.0 <= most);
}

#[test]
fn one_clock_keeps_the_phase_and_two_do_not() {
    let lamp = once(800, 200);
    let opposite = lamp.delayed(ms(400));
    let on = |clock, timeline| Clocked { timeline, clock };
    let together = [on(Some(ClockId(1)), &lamp), on(Some(ClockId(1)), &opposite)];
    assert_eq!(ends(union_rate(&together, ms(160), TENTH)), (150.0, 150.0, Exactness::Exact));
    let apart = [on(Some(ClockId(1)), &lamp), on(Some(ClockId(2)), &opposite)];
    assert_eq!(ends(union_rate(&apart, ms(160), TENTH)), (75.0, 150.0, Exactness::Exact));
    // Many heads on two clocks are still two.
    let many: Vec<_> = (0..40).map(|head| on(Some(ClockId(head % 2)), &lamp)).collect();
    assert_eq!(ends(union_rate(&many, ms(160), TENTH)), (75.0, 150.0, Exactness::Exact));
}

#[test]
fn a_head_that_never_goes_dark_keeps_all_from_flashing_and_a_dark_one_adds_nothing() {
    let (steady, flashing) = (Timeline::steady(), once(800, 50));
    let never = Timeline::new(ms(800), vec![Pulse { start: ms(0), end: ms(5), level: Share::ZERO }]).unwrap();
    let union = |lamps: &[&Timeline]| ends(union_rate(&free(lamps.iter().copied()), ms(160), TENTH));
    assert_eq!(union(&[]), (0.0, 0.0, Exactness::Exact));
    assert_eq!(union(&[&never]), (0.0, 0.0, Exactness::Exact));
    assert_eq!(union(&[&never, &flashing]), (75.0, 75.0, Exactness::Exact));
    assert_eq!(union(&[&flashing, &steady]), (0.0, 0.0, Exactness::Exact));
    assert_eq!(union(&[&flashing; 40].into_iter().chain([&steady]).collect::<Vec<_>>()), (0.0, 0.0, Exactness::Exact));
}

/// 800 and 801 ms repeat after 640.8 s. The long-run count is simulated here, one millisecond at a
/// time, and the stretches in step and out of step are known: 75 and 150 a minute.
#[test]
fn without_a_common_period_within_a_minute_there_are_bounds() {
    let (one, other) = (once(800, 50), once(801, 50));
    let union = union_rate(&free([&one, &other]), ms(160), TENTH);
    assert_eq!(union.exactness, Exactness::Bounds);
    let repeat = 800 * 801;
    let lit = |t: i64| t.rem_euclid(800) < 50 || t.rem_euclid(801) < 50;
    let mut flashes = 0;
    let mut dark = 0;
    for t in 0..repeat {
        if lit(t) {
            dark = 0;
        } else {
            dark += 1;
            flashes += u64::from(dark == 160);
        }
    }
    let long_run = Rate::new(flashes, repeat * 1000).unwrap();
    assert!(union.least < long_run && long_run < union.most, "{union:?} {long_run}");
    // 75 periods of 800 ms are the minute. From a start in step, 49 of 75 pulses still touch; from 160 ms
    // apart none does.
    assert_eq!((union.least.per_minute(), union.most.per_minute()), (75.0, 150.0));
    // 75 and 90 a minute nearly repeat after 4 s, so one stretch sees few phases. By a sweep of the phase
    // apart from this program: 7 or 8 flashes in 4 s, 105 or 120 a minute; the stretch may cut one off.
    let ninety = lamp(666_667, &[(0, 50_000)]);
    let union = union_rate(&free([&ninety, &one]), ms(160), TENTH);
    let (least, most, exactness) = ends(union);
    assert_eq!(exactness, Exactness::Bounds);
    assert!((104.0..=105.0).contains(&least) && (120.0..121.0).contains(&most), "{least} {most}");
    // On one clock they have no common period either, and count as free.
    let locked = [&ninety, &one].map(|timeline| Clocked { timeline, clock: Some(ClockId(0)) });
    assert_eq!(union_rate(&locked, ms(160), TENTH), union);
}

/// By hand: 40 lamps alone flash 3,000 times a minute, but 50 ms of light and 160 ms of dark fit 285.71 times.
#[test]
fn many_free_heads_have_stated_bounds() {
    let lamp = once(800, 50);
    let forty = union_rate(&free([&lamp; 40]), ms(160), TENTH);
    assert_eq!(forty.exactness, Exactness::Bounds);
    assert_eq!((forty.least, forty.most), (Rate::ZERO, Rate::new(1, 210_000).unwrap()));
    // Four slow ones: 4 x 20 a minute.
    let slow = once(3000, 50);
    let four = union_rate(&free([&slow; 4]), ms(160), TENTH);
    assert_eq!((four.least, four.most), (Rate::ZERO, Rate::new(80, 60_000_000).unwrap()));
}

/// Ranges that few relative phases of three give; counted apart from this program, stepping through every
/// phase. In the first the least stands at 3 of 484 phases.
#[test]
fn rare_phases_of_three_free_lamps_are_found() {
    let lamps = [lamp(22, &[(0, 1), (5, 10)]), lamp(22, &[(0, 1), (5, 6)]), lamp(22, &[(0, 3)])];
    let union = union_rate(&free(&lamps), Micros::new(4), TENTH);
    assert_eq!((union.least, union.most), (Rate::ZERO, Rate::new(3, 22).unwrap()));
    // Periods with a common measure for two of them only.
    let lamps = [lamp(16, &[(15, 16)]), lamp(17, &[(0, 1)]), lamp(16, &[(1, 6), (8, 9)])];
    let union = union_rate(&free(&lamps), Micros::new(4), TENTH);
    assert_eq!((union.least, union.most), (Rate::new(13, 272).unwrap(), Rate::new(17, 272).unwrap()));
    assert_eq!(union.exactness, Exactness::Exact);
}

/// Whatever is asked, the work is bounded: patterns of a thousand pulses, periods without a common
/// measure, a microsecond as the dark time.
#[test]
fn hard_cases_end_soon() {
    let started = std::time::Instant::now();
    let busy = |period: i64| lamp(period, &(0..1000).map(|n| (n * 50, n * 50 + 20)).collect::<Vec<_>>());
    let (a, b, c) = (busy(59_999_999), busy(50_021), busy(50_023));
    let one_clock = [&a, &b, &c].map(|timeline| Clocked { timeline, clock: Some(ClockId(0)) });
    let quads = [666_667, 800_000, 666_667].map(|period| lamp(period, &[(0, 25), (75, 100), (150, 175), (225, 250)]));
    let quick = lamp(2, &[(0, 1)]);
    let long = lamp(60_000_000, &[(0, 1)]);
    let mixed = [&quick, &long].map(|timeline| Clocked { timeline, clock: Some(ClockId(0)) });
    for heads in [
        free([&a, &b, &c]),
        free([&a, &b]),
        free([&b, &b]),
        free([&b, &b, &b]),
        one_clock.to_vec(),
        free(&quads),
        mixed.to_vec(),
    ] {
        let union = union_rate(&heads, Micros::new(1), TENTH);
        assert!(union.least <= union.most);
    }
    // Equal periods in microseconds: exact for three. By hand: 25 on, 50 off can be filled up by the two
    // others, so that all is one flash; or all twelve pulses stand alone.
    let alike = lamp(666_667, &[(0, 25_000), (75_000, 100_000), (150_000, 175_000), (225_000, 250_000)]);
    let three = union_rate(&free([&alike; 3]), Micros::new(1), TENTH);
    assert_eq!(three.exactness, Exactness::Exact);
    assert_eq!((three.least, three.most), (Rate::new(1, 666_667).unwrap(), Rate::new(12, 666_667).unwrap()));
    assert!(started.elapsed().as_secs() < 20, "{:?}", started.elapsed());
}
