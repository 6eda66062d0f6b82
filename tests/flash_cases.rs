//! Flash counts, rates, energies and means against values computed elsewhere and against two agency
//! letters; see `tests/reference/flash/README.md` for where each figure comes from.

use wayproof::flash::{ClockId, Clocked, Exactness, PatternError, Pulse, RateBy, Timeline, union_rate};
use wayproof::units::{Amount, Micros, Rate, Share};

const FULL: Share = Share::new(1.0);
const TENTH: Share = Share::new(0.1);

fn ms(time: i64) -> Micros {
    Micros::new(time * 1000)
}

fn on_off(period_ms: i64, on_ms: &[(i64, i64)]) -> Timeline {
    let pulse = |&(start, end): &(i64, i64)| Pulse { start: ms(start), end: ms(end), level: FULL };
    Timeline::new(ms(period_ms), on_ms.iter().map(pulse).collect()).unwrap()
}

/// `flash_count.toml`: 15 cases of lamps on one clock by five dark times.
#[test]
fn flashes_of_lamps_on_one_clock_are_counted_as_in_the_reference() {
    let text = std::fs::read_to_string("tests/reference/flash/flash_count.toml").unwrap();
    let table: toml::Table = text.parse().unwrap();
    let mut checked = 0;
    for case in table["case"].as_array().unwrap() {
        let id = case["id"].as_str().unwrap();
        let integer = |key: &str| case[key].as_integer().unwrap();
        let pair = |on: &toml::Value| (on[0].as_integer().unwrap(), on[1].as_integer().unwrap());
        let lamp = |lamp: &toml::Value| {
            let on: Vec<_> = lamp["on_ms"].as_array().unwrap().iter().map(pair).collect();
            on_off(lamp["period_ms"].as_integer().unwrap(), &on)
        };
        let lamps: Vec<Timeline> = case["lamp"].as_array().unwrap().iter().map(lamp).collect();
        let heads: Vec<_> = lamps.iter().map(|timeline| Clocked { timeline, clock: Some(ClockId(7)) }).collect();
        for dark in [1, 100, 160, 200, 250] {
            let union = union_rate(&heads, ms(dark), TENTH);
            let flashes = u64::try_from(integer(&format!("flashes_dark{dark}"))).unwrap();
            assert_eq!(union.exactness, Exactness::Exact);
            assert_eq!(union.least, Rate::new(flashes, integer("repeat_ms") * 1000).unwrap(), "{id} at {dark} ms");
            assert_eq!(union.most, union.least);
            assert_eq!(union.least.per_minute(), case[format!("rate_dark{dark}")].as_float().unwrap(), "{id}");
            if let [lamp] = lamps.as_slice() {
                assert_eq!(lamp.flashes(ms(dark), TENTH), flashes, "{id} at {dark} ms");
                assert_eq!(lamp.is_flashing(ms(dark), TENTH), flashes > 0);
            }
            checked += 1;
        }
        if let [lamp] = lamps.as_slice() {
            let gaps: Vec<i64> = lamp.dark_gaps(TENTH).iter().map(|gap| gap.length.get() / 1000).collect();
            assert_eq!(gaps.iter().min().copied().unwrap_or(0), integer("shortest_dark_ms"), "{id}");
            assert_eq!(gaps.iter().max().copied().unwrap_or(0), integer("longest_dark_ms"), "{id}");
        }
    }
    assert_eq!(checked, 75);
}

/// `pulse_trains.csv`: flash rate, energy a flash, optical power and mean, to the digits printed there.
#[test]
fn pulse_trains_have_the_printed_rate_energy_power_and_mean() {
    let mut rows = 0;
    let mut reader = csv::Reader::from_path("tests/reference/flash/pulse_trains.csv").unwrap();
    let headers = reader.headers().unwrap().clone();
    for record in reader.records() {
        let record = record.unwrap();
        let cell = |name: &str| &record[headers.iter().position(|header| header == name).unwrap()];
        let number = |name: &str| cell(name).parse::<f64>().unwrap();
        let micros = |seconds: &str| Micros::try_from(Amount::parse(&format!("{seconds} s")).unwrap()).unwrap();
        let mut peak = 0.0;
        let pulse = |text: &str| {
            let parts: Vec<&str> = text.split(',').collect();
            peak = parts[2].parse::<f64>().unwrap();
            Pulse { start: micros(parts[0]), end: micros(parts[1]), level: FULL }
        };
        let pulses = cell("pulses_t0_t1_I").split(';').map(pulse).collect();
        let timeline = Timeline::new(micros(cell("period_s")), pulses).unwrap();
        let id = cell("id");
        // Two rows have a carrier, whose pulses are told apart by any gap; in the others 160 ms ends a flash.
        let carrier = ["pwm_1khz_40pct", "steady_like_100hz", "alt_2hz"].contains(&id);
        let dark = if carrier { Micros::new(1) } else { ms(160) };
        let rate = timeline.rate(dark, TENTH, RateBy::CountOverTime).per_minute();
        let mean = peak * timeline.mean().value();
        // A period of 2/3 s is not whole microseconds: the row's own rounding, 0.5 us in 0.67 s.
        let rounding = if id == "quad_90fpm" { 1e-6 } else { 1e-12 };
        let near = |found: f64, name: &str, digits: f64| {
            let printed = number(name);
            assert!((found - printed).abs() <= digits + rounding * printed, "{id} {name}: {found} against {printed}");
        };
        assert_eq!(timeline.flashes(dark, TENTH).to_string(), cell("flashes_per_period"), "{id}");
        near(rate, "flash_rate_per_min", 0.5e-6);
        near(mean * 60.0, "optical_power_cd_s_per_min", 0.5e-9);
        near(mean, "mean_intensity_cd", 0.5e-9);
        near(timeline.mean().value(), "duty", 0.5e-6);
        near(mean * 60.0 / rate, "flash_energy_cd_s", 0.5e-9);
        rows += 1;
    }
    assert_eq!(rows, 12);
}

/// Agency letter of November 2002: the agency's reading and the applicant's differ.
#[test]
fn uneven_hazard_flasher_has_two_rates() {
    let flasher = on_off(1500, &[(0, 160), (360, 520), (720, 880)]);
    let by_count = flasher.rate(ms(160), TENTH, RateBy::CountOverTime);
    let by_cycles = flasher.rate(ms(160), TENTH, RateBy::MeanOfCycles);
    assert_eq!(by_count.per_minute(), 120.0);
    assert_eq!(format!("{:.1}", by_cycles.per_minute()), "136.8");
    assert!(by_cycles > Rate::new(120, 60_000_000).unwrap());
    // A phase that puts the long gap across the end of the period changes neither.
    let later = flasher.delayed(ms(700));
    assert_eq!(later.rate(ms(160), TENTH, RateBy::MeanOfCycles), by_cycles);
    assert_eq!(later.rate(ms(160), TENTH, RateBy::CountOverTime), by_count);
}

/// Agency letter of 29 March 1994: four pulses in 255 ms, then 745 ms dark, are one flash.
#[test]
fn four_close_pulses_are_one_flash() {
    let strobe = on_off(1000, &[(0, 30), (75, 105), (150, 180), (225, 255)]);
    assert_eq!(strobe.flashes(ms(160), TENTH), 1);
    assert_eq!(strobe.rate(ms(160), TENTH, RateBy::CountOverTime).per_minute(), 60.0);
    assert_eq!(strobe.rate(ms(160), TENTH, RateBy::MeanOfCycles).per_minute(), 60.0);
}

#[test]
fn dim_light_between_flashes_is_dark_only_below_the_threshold() {
    let level = |start, end, level| Pulse { start: ms(start), end: ms(end), level: Share::new(level) };
    // Half the peak of the pattern is 0.4: the tail at 0.4 is not above it.
    let tail = Timeline::new(ms(800), vec![level(0, 50, 0.8), level(50, 800, 0.4)]).unwrap();
    assert!(!tail.is_flashing(ms(160), TENTH));
    assert!(tail.is_flashing(ms(160), Share::new(0.5)));
    assert_eq!(tail.mean().value(), (50.0 * 0.8 + 750.0 * 0.4) / 800.0);
    assert_eq!(tail.dark_gaps(Share::new(0.5)).len(), 1);
    assert_eq!(tail.dark_gaps(Share::new(0.5))[0].length, ms(750));
}

#[test]
fn steady_and_never_lit_do_not_flash() {
    let never = Timeline::new(ms(800), vec![Pulse { start: ms(0), end: ms(50), level: Share::ZERO }]).unwrap();
    for light in [Timeline::steady(), never.clone(), Timeline::steady().delayed(ms(1234))] {
        assert_eq!(light.flashes(Micros::ZERO, TENTH), 0);
        assert_eq!(light.rate(ms(160), TENTH, RateBy::MeanOfCycles), Rate::ZERO);
        assert_eq!(light.rate(ms(160), TENTH, RateBy::CountOverTime), Rate::ZERO);
        assert_eq!(light.dark_gaps(TENTH), []);
    }
    assert_eq!(Timeline::steady().delayed(ms(1234)), Timeline::steady());
    assert_eq!((Timeline::steady().mean(), never.mean()), (FULL, Share::ZERO));
    assert_eq!(Timeline::steady().flashes(ms(160), FULL), 0);
}

#[test]
fn each_mistake_in_a_pattern_names_its_pulses() {
    let pulse = |start, end, level| Pulse { start: ms(start), end: ms(end), level: Share::new(level) };
    let of = |period, pulses: &[Pulse]| -> Vec<(String, Vec<usize>)> {
        Timeline::mistakes(period, pulses).iter().map(|error| (error.to_string(), error.pulses())).collect()
    };
    let named = |text: &str, pulses: &[usize]| (text.to_owned(), pulses.to_vec());
    assert_eq!(of(ms(800), &[pulse(100, 150, 1.0), pulse(0, 100, 0.5)]), []);
    assert_eq!(
        of(ms(800), &[pulse(100, 150, 1.0), pulse(300, 300, 1.0), pulse(0, 101, 1.0), pulse(790, 801, 1.5)]),
        [
            named("pulse 2 does not end after it starts", &[1]),
            named("pulse 4 has level 1.5, which is not between 0 and 1", &[3]),
            named("pulse 4 ends at 801 ms, past the period of 800 ms", &[3]),
            named("pulses 3 and 1 overlap", &[2, 0]),
        ]
    );
    // A long pulse overlaps each of those inside it, not only the next.
    let long = of(ms(800), &[pulse(0, 500, 1.0), pulse(10, 20, 1.0), pulse(30, 40, 1.0)]);
    assert_eq!(long.iter().map(|mistake| mistake.1.clone()).collect::<Vec<_>>(), [[0, 1], [0, 2]]);
    assert_eq!(of(ms(0), &[]).len(), 2);
    assert_eq!(of(ms(-5), &[pulse(-10, 5, f64::NAN)]).len(), 3);
    assert_eq!(of(ms(60_001), &[pulse(0, 5, 1.0)]), [named("a period of 60001 ms is longer than 60000 ms", &[])]);
    assert_eq!(Timeline::new(ms(60_000), Vec::new()), Err(PatternError::NoPulses));
    assert!(Timeline::new(Micros::new(i64::MIN), vec![]).is_err());
    let far = Pulse { start: Micros::new(i64::MIN), end: Micros::new(i64::MAX), level: FULL };
    assert_eq!(Timeline::new(ms(800), vec![far]).unwrap_err().pulses(), [0]);
}
