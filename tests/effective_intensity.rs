//! Energy and effective intensity of flashes against values computed elsewhere and figures that documents print; see
//! `tests/reference/photometry/README.md`. Laws on random flashes.

use proptest::prelude::*;
use wayproof::flash::{EffectiveMethod, Pulse, Timeline, Train, VISUAL_TIME, Waveform};
use wayproof::units::{Amount, Candela, Micros, Share};

const PIECEWISE: &str = include_str!("reference/photometry/effective_intensity_piecewise.csv");
const GAUSSIAN: &str = include_str!("reference/photometry/effective_intensity_gaussian.csv");
const TRAINS: &str = include_str!("reference/flash/pulse_trains.csv");
const PUBLISHED: &str = include_str!("reference/photometry/effective_published.toml");

const TENTH: Share = Share::new(0.1);

/// Methods whose values are in the tables, by column.
const COLUMNS: [(&str, EffectiveMethod); 5] = [
    ("Ie_blondel_rey_opt_cd", EffectiveMethod::BlondelRey),
    ("Ie_form_factor_cd", EffectiveMethod::FormFactor),
    ("Ie_on_time_only_cd", EffectiveMethod::OnTime),
    ("Ie_allard_exp_cd", EffectiveMethod::Allard),
    ("Ie_mod_allard_hyperbolic_cd", EffectiveMethod::ModifiedAllard),
];

struct Row(csv::StringRecord, csv::StringRecord);

impl Row {
    fn all(text: &str) -> Vec<Self> {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().unwrap().clone();
        reader.records().map(|row| Self(header.clone(), row.unwrap())).collect()
    }

    fn text(&self, column: &str) -> &str {
        let at = self.0.iter().position(|known| known == column);
        &self.1[at.unwrap_or_else(|| panic!("no column {column}"))]
    }

    fn number(&self, column: &str) -> f64 {
        self.text(column).parse().unwrap()
    }
}

fn micros(seconds: f64) -> Micros {
    #[allow(clippy::cast_possible_truncation)]
    Micros::new((seconds * 1e6).round() as i64)
}

fn time(text: &toml::Value) -> Micros {
    Micros::try_from(Amount::parse(text.as_str().unwrap()).unwrap()).unwrap()
}

fn near(found: f64, known: f64, relative: f64, what: &str) {
    assert!((found - known).abs() <= relative * known.abs(), "{what}: {found}, known {known}");
}

fn rectangle(peak: f64, length: Micros) -> Waveform {
    Waveform::through(&[(Micros::ZERO, Candela::new(peak)), (length, Candela::new(peak))])
}

fn triangle(length: Micros, top: Micros) -> Waveform {
    let points = [(Micros::ZERO, 0.0), (top, 1000.0), (length, 0.0)];
    Waveform::through(&points.map(|(time, level)| (time, Candela::new(level))))
}

#[test]
fn flashes_of_straight_pieces_are_as_in_the_reference() {
    let rows = Row::all(PIECEWISE);
    assert_eq!(rows.len(), 37);
    for row in rows {
        let points: Vec<(Micros, Candela)> = row
            .text("waveform_t_s_I_cd")
            .split(';')
            .map(|point| {
                let (time, level) = point.split_once(',').unwrap();
                (micros(time.parse().unwrap()), Candela::new(level.parse().unwrap()))
            })
            .collect();
        let light = Waveform::through(&points);
        let id = row.text("id");
        near(light.peak().value(), row.number("peak_cd"), 0.0, id);
        near(light.energy().value(), row.number("energy_cd_s"), 1e-12, id);
        for (column, method) in COLUMNS {
            let found = light.effective(method, VISUAL_TIME).value();
            near(found, row.number(column), 1e-6, &format!("{id} {column}"));
        }
        // A train that comes once is not repeated, so nothing came before.
        let endless = light.effective(EffectiveMethod::ModifiedAllardEndless, VISUAL_TIME);
        assert_eq!(endless, light.effective(EffectiveMethod::ModifiedAllard, VISUAL_TIME), "{id}");
    }
}

/// Cut into chords a hundredth of the standard deviation long, out to six of it: within 2e-5 of the smooth flash.
#[test]
fn gaussian_flashes_are_as_in_the_reference() {
    let rows = Row::all(GAUSSIAN);
    assert_eq!(rows.len(), 14);
    for row in rows {
        let (peak, sigma) = (row.number("peak_cd"), row.number("fwhm_s") / (8.0 * 2f64.ln()).sqrt());
        let point = |at: i32| {
            let time = micros(f64::from(at) * sigma / 100.0);
            #[allow(clippy::cast_precision_loss)]
            let z = time.get() as f64 / 1e6 / sigma;
            (time, Candela::new(peak * (-0.5 * z * z).exp()))
        };
        let light = Waveform::through(&(-600..=600).map(point).collect::<Vec<_>>());
        let id = row.text("id");
        near(light.energy().value(), row.number("energy_cd_s"), 2e-5, id);
        for (column, method) in COLUMNS.into_iter().filter(|(column, _)| *column != "Ie_on_time_only_cd") {
            let found = light.effective(method, VISUAL_TIME).value();
            near(found, row.number(column), 2e-5, &format!("{id} {column}"));
        }
    }
}

fn train_of(row: &Row) -> Train {
    let pulses: Vec<(f64, f64, f64)> = row
        .text("pulses_t0_t1_I")
        .split(';')
        .map(|pulse| {
            let parts: Vec<f64> = pulse.split(',').map(|part| part.parse().unwrap()).collect();
            (parts[0], parts[1], parts[2])
        })
        .collect();
    let peak = pulses[0].2;
    let pulse = |(start, end, level): &(f64, f64, f64)| {
        assert_eq!(*level, peak);
        Pulse { start: micros(*start), end: micros(*end), level: Share::new(1.0) }
    };
    let period = micros(row.number("period_s"));
    Train::new(&Timeline::new(period, pulses.iter().map(pulse).collect()).unwrap(), Candela::new(peak))
}

#[test]
fn pulse_trains_have_the_energy_and_effective_intensity_of_the_reference() {
    let rows = Row::all(TRAINS);
    assert_eq!(rows.len(), 12);
    for row in rows {
        let (id, train) = (row.text("id"), train_of(&row));
        // 160 ms end a flash; where none is so long, as in the rows of carriers, any gap does.
        let ends = |dark: i64| train.flashes(Micros::new(dark), TENTH);
        let dark = if ends(160_000).is_empty() { 1 } else { 160_000 };
        let flashes = ends(dark);
        assert_eq!(flashes.len().to_string(), row.text("flashes_per_period"), "{id}");
        near(train.energy().value(), row.number("energy_per_period_cd_s"), 1e-9, id);
        near(flashes[0].light.energy().value(), row.number("flash_energy_cd_s"), 1e-9, id);
        assert_eq!(flashes[0].lit.get() + flashes[0].dark.get(), train.period().get(), "{id}");
        for (column, method) in [
            ("Ie_blondel_rey_opt_one_group_cd", EffectiveMethod::BlondelRey),
            ("Ie_mod_allard_one_group_cd", EffectiveMethod::ModifiedAllard),
            ("Ie_mod_allard_endless_cd", EffectiveMethod::ModifiedAllardEndless),
        ] {
            let found = train.effective(method, VISUAL_TIME, Micros::new(dark), TENTH);
            assert_eq!(found.len(), 1, "{id}");
            near(found[0].value(), row.number(column), 1e-6, &format!("{id} {column}"));
        }
    }
}

#[test]
fn figures_that_documents_print_are_met() {
    let table: toml::Table = PUBLISHED.parse().unwrap();
    let number = |table: &toml::Value, key: &str| table[key].as_float().unwrap();
    let window = |light: &Waveform, a: Micros| light.effective(EffectiveMethod::BlondelRey, a).value();

    let doubling = &table["doubling"];
    let [once, twice] = [0, 1].map(|at| rectangle(700.0, time(&doubling["lengths"][at])));
    let a = time(&doubling["a"]);
    near(window(&twice, a) / window(&once, a), number(doubling, "ratio"), 1e-9, "doubling");

    let definition = &table["definition"];
    let light = rectangle(number(definition, "peak"), time(&definition["length"]));
    near(window(&light, VISUAL_TIME), number(definition, "effective"), 1e-12, "definition");

    // The limit of no length at all; one of 10 microseconds comes within 5e-5 of it.
    let short = &table["short-flash"];
    let light = rectangle(number(short, "energy") / 1e-5, Micros::new(10));
    near(window(&light, VISUAL_TIME), number(short, "effective"), 1e-4, "short flash");

    let allard = &table["allard-on-rectangles"];
    let over = |length: i64| {
        let light = rectangle(1000.0, Micros::new(length));
        light.effective(EffectiveMethod::Allard, VISUAL_TIME).value() / window(&light, VISUAL_TIME)
    };
    let most =
        (1..400).map(|step| (over(step * 5_000), step * 5_000)).fold((0.0, 0), |a, b| if b.0 > a.0 { b } else { a });
    near(over(micros(0.2 * number(allard, "at-length-over-a")).get()), number(allard, "computed"), 1e-8, "Allard");
    assert!(most.0 <= number(allard, "computed") && most.0 > number(allard, "computed") - 1e-4, "{most:?}");
    near(most.0 - 1.0, number(allard, "says"), 0.01, "Allard as printed");

    let triangles = &table["form-factor-on-triangles"];
    for case in triangles["ratios"].as_array().unwrap() {
        let length = time(&case[0]);
        let light = triangle(length, Micros::new(length.get() / 2));
        let form = light.effective(EffectiveMethod::FormFactor, VISUAL_TIME).value();
        let above = form / window(&light, VISUAL_TIME) - 1.0;
        assert!((above - case[1].as_float().unwrap()).abs() < 5e-4, "{above}");
        // "About 30 %": the computed ratios lie between 24 and 33 %.
        assert!((above - number(triangles, "says")).abs() < 0.06, "{above}");
    }
    // The three shapes of a triangle are one to both of these methods, and not to a kernel.
    let shapes = [0, 200, 400].map(|top| triangle(Micros::new(400_000), Micros::new(top * 1000)));
    let all = |method| shapes.each_ref().map(|shape| shape.effective(method, VISUAL_TIME).value());
    for method in [EffectiveMethod::FormFactor, EffectiveMethod::BlondelRey] {
        let [first, second, third] = all(method);
        near(second, first, 1e-12, method.word());
        near(third, first, 1e-12, method.word());
    }
    let [falling, even, rising] = all(EffectiveMethod::ModifiedAllard);
    assert!(falling * 1.1 < even && even * 1.1 < rising);
}

/// A second pulse helps by Blondel-Rey only after less than `a` of dark.
#[test]
fn a_window_spans_a_gap_only_where_that_helps() {
    let pair = |gap: i64| {
        let level = Candela::new(1000.0);
        let [lit, again] = [50_000, 50_000 + gap];
        let dark = [(Micros::new(lit), Candela::ZERO), (Micros::new(again), Candela::ZERO)];
        let ends = [(Micros::new(again), level), (Micros::new(again + 50_000), level)];
        let points = [(Micros::ZERO, level), (Micros::new(lit), level), dark[0], dark[1], ends[0], ends[1]];
        Waveform::through(&points).effective(EffectiveMethod::BlondelRey, VISUAL_TIME).value()
    };
    near(pair(200_000), 200.0, 1e-12, "as long as a");
    near(pair(300_000), 200.0, 1e-12, "longer");
    near(pair(199_999), 100.0 / (0.2 + 0.299_999), 1e-12, "shorter");
}

/// Two flashes in one period, one weaker: each is found for itself.
#[test]
fn each_flash_of_a_period_has_its_own_figure() {
    let pulse = |start: i64, end: i64, level: f64| Pulse {
        start: Micros::new(start * 1000),
        end: Micros::new(end * 1000),
        level: Share::new(level),
    };
    // The first of these goes on over the end of the period.
    let pulses = vec![pulse(0, 20, 1.0), pulse(500, 550, 0.4), pulse(970, 1000, 1.0)];
    let train = Train::new(&Timeline::new(Micros::new(1_000_000), pulses).unwrap(), Candela::new(1000.0));
    let flashes = train.flashes(Micros::new(160_000), TENTH);
    let energies: Vec<f64> = flashes.iter().map(|flash| flash.light.energy().value()).collect();
    assert_eq!(energies.len(), 2);
    near(energies[0], 20.0, 1e-12, "the weaker");
    near(energies[1], 50.0, 1e-12, "the stronger");
    let found = train.effective(EffectiveMethod::FormFactor, VISUAL_TIME, Micros::new(160_000), TENTH);
    near(found[0].value(), 80.0, 1e-12, "the weaker");
    near(found[1].value(), 200.0, 1e-12, "the stronger");
    assert_eq!((flashes[0].lit, flashes[0].dark), (Micros::new(50_000), Micros::new(420_000)));
    assert_eq!((flashes[1].lit, flashes[1].dark), (Micros::new(50_000), Micros::new(480_000)));
    // Steady light does not flash.
    let steady = Train::new(&Timeline::steady(), Candela::new(1000.0));
    assert!(steady.effective(EffectiveMethod::BlondelRey, VISUAL_TIME, Micros::new(1), TENTH).is_empty());
}

#[test]
fn light_in_step_is_added_up_over_the_common_period() {
    let train = |period: i64, start: i64, end: i64, peak: f64| {
        let pulse = Pulse { start: Micros::new(start), end: Micros::new(end), level: Share::new(1.0) };
        Train::new(&Timeline::new(Micros::new(period), vec![pulse]).unwrap(), Candela::new(peak))
    };
    let sum = Train::sum(&[train(200_000, 0, 50_000, 100.0), train(300_000, 25_000, 75_000, 30.0)]).unwrap();
    assert_eq!(sum.period(), Micros::new(600_000));
    near(sum.energy().value(), 3.0 * 5.0 + 2.0 * 1.5, 1e-12, "energy");
    assert_eq!(sum.peak(), Candela::new(130.0));
    // Lit from 0 to 75, 200 to 250, 325 to 375 and 400 to 450 ms: gaps of 125, 75, 25 and 150 ms.
    let lit: Vec<i64> = sum.flashes(Micros::new(100_000), TENTH).iter().map(|flash| flash.lit.get()).collect();
    assert_eq!(lit, [75_000, 250_000]);
    assert_eq!(sum.lit(Share::new(0.5)).spans().count(), 3, "30 cd is not lit beside 130 cd");
    assert!(Train::sum(&[train(59_999_999, 0, 5, 1.0), train(60_000_000, 0, 5, 1.0)]).is_none());
}

/// A flash of straight pieces: a level at each of some times.
fn flashes() -> impl Strategy<Value = Vec<(i64, u16)>> {
    prop::collection::vec((1..200_i64, 0..1000_u16), 2..8)
}

fn light(points: &[(i64, u16)], more: impl Fn(usize, f64) -> f64) -> Waveform {
    let mut now = 0;
    let point = |(at, (wait, level)): (usize, &(i64, u16))| {
        now += wait * 1000;
        (Micros::new(now), Candela::new(more(at, f64::from(*level))))
    };
    Waveform::through(&points.iter().enumerate().map(point).collect::<Vec<_>>())
}

fn all_methods() -> impl Iterator<Item = EffectiveMethod> {
    EffectiveMethod::WORDS.iter().map(|(_, method)| *method)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn light_in_proportion_is_seen_in_proportion_and_never_above_its_peak(points in flashes(), factor in 0.01..50.0_f64) {
        let (one, other) = (light(&points, |_, level| level), light(&points, |_, level| level * factor));
        for method in all_methods() {
            let (one, other) = (one.effective(method, VISUAL_TIME).value(), other.effective(method, VISUAL_TIME).value());
            prop_assert!((one * factor - other).abs() <= 1e-9 * other, "{method:?} {one} {other}");
        }
        let (peak, energy) = (one.peak().value(), one.energy().value());
        for method in all_methods() {
            let found = one.effective(method, VISUAL_TIME).value();
            prop_assert!(found <= peak && found <= energy / 0.2 * (1.0 + 1e-9), "{method:?} {found}");
            prop_assert!((found > 0.0) == (energy > 0.0));
        }
    }

    /// Not so for `on-time`: weak light that lasts adds more to the time than to the energy.
    #[test]
    fn more_light_is_never_seen_as_less(points in flashes(), at in 0..8_usize, by in 1..500_u16) {
        let less = light(&points, |_, level| level);
        let more = light(&points, |place, level| if place == at { level + f64::from(by) } else { level });
        for method in all_methods().filter(|method| *method != EffectiveMethod::OnTime) {
            let (less, more) = (less.effective(method, VISUAL_TIME).value(), more.effective(method, VISUAL_TIME).value());
            prop_assert!(more >= less * (1.0 - 1e-9), "{method:?} {less} {more}");
        }
    }

    #[test]
    fn rectangles_are_one_to_all_methods_but_the_exponential(length in 1..3000_i64, peak in 1.0..1e5_f64) {
        let light = rectangle(peak, Micros::new(length * 1000));
        #[allow(clippy::cast_precision_loss)]
        let seconds = length as f64 / 1000.0;
        for method in all_methods() {
            let found = light.effective(method, VISUAL_TIME).value();
            let known = match method {
                EffectiveMethod::Allard => peak * (1.0 - (-seconds / 0.2).exp()),
                _ => peak * seconds / (0.2 + seconds),
            };
            prop_assert!((found - known).abs() <= 1e-9 * known, "{method:?} {found} {known}");
        }
    }

    /// The best window against every window between points 5 ms apart, and the kernels against a search as fine.
    #[test]
    fn the_optimum_is_one(points in flashes()) {
        let light = light(&points, |_, level| level);
        let end: i64 = points.iter().map(|(wait, _)| wait).sum();
        let first = points[0].0;
        let level = |t: f64| {
            let mut now = 0.0;
            let mut before = None;
            for (wait, level) in &points {
                #[allow(clippy::cast_precision_loss)]
                let next = now + *wait as f64 / 1000.0;
                if let Some(last) = before.filter(|_| t <= next) {
                    return last + (f64::from(*level) - last) * (t - now) / (next - now);
                }
                (now, before) = (next, Some(f64::from(*level)));
            }
            0.0
        };
        // The midpoints of steps of 1 ms hold the energy of a straight piece exactly.
        #[allow(clippy::cast_precision_loss)]
        let steps: Vec<f64> = (first..end).map(|ms| level((ms as f64 + 0.5) / 1000.0) / 1000.0).collect();
        let mut sums = vec![0.0];
        steps.iter().for_each(|step| sums.push(sums[sums.len() - 1] + step));
        let mut best: f64 = 0.0;
        for from in (0..sums.len()).step_by(5) {
            for to in (from..sums.len()).step_by(5) {
                #[allow(clippy::cast_precision_loss)]
                let length = (to - from) as f64 / 1000.0;
                best = best.max((sums[to] - sums[from]) / (0.2 + length));
            }
        }
        let window = light.effective(EffectiveMethod::BlondelRey, VISUAL_TIME).value();
        prop_assert!(window >= best * (1.0 - 1e-9), "{window} {best}");
        // A window of whole 5 ms is off by less than 5 ms at either end, at no more than the peak.
        prop_assert!(window <= best + 0.01 * light.peak().value() / 0.2, "{window} {best}");

        let mut answer: f64 = 0.0;
        for now in (1..=steps.len()).step_by(3) {
            #[allow(clippy::cast_precision_loss)]
            let sum: f64 = steps[..now].iter().enumerate().map(|(at, step)| {
                let age = ((now - at) as f64 - 0.5) / 1000.0;
                step * 0.2 / (0.2 + age).powi(2)
            }).sum();
            answer = answer.max(sum);
        }
        let kernel = light.effective(EffectiveMethod::ModifiedAllard, VISUAL_TIME).value();
        // The sums stand for straight light by steps of 1 ms, and look every 3 ms.
        let slack = 0.003 * light.peak().value() / 0.2 + 1e-9;
        prop_assert!((kernel - answer).abs() <= slack, "{kernel} {answer}");
    }
}
