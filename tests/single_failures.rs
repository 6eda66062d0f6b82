//! What is left when a head, a circuit, an output or a clock fails: by hand, and against taking the heads out.

mod common;

use std::collections::BTreeSet;

use common::case::{beams, files, head, package, ruleset};
use common::{folder, load_file, measure, root};
use proptest::collection::vec;
use proptest::prelude::*;
use wayproof::flash::{ClockId, Clocked, Pulse, Timeline, can_fill, union_rate};
use wayproof::measure::{Boundary, Conduct, LitHead, Looks, Method, Protocol, Survey};
use wayproof::quantity::{Ask, Measured, Value};
use wayproof::units::{Micros, Share};

/// The wiring of a head as a package writes it.
fn lamp(id: &str, wiring: &str) -> String {
    head(id, "lamp", "front", wiring)
}

/// What a quantity is in zone A of a package with these heads: range and notes.
fn found(name: &str, heads: &[(&str, &str)], pattern: &str) -> ((f64, f64), Measured) {
    let lamps: String = heads.iter().map(|(id, wiring)| lamp(id, wiring)).collect();
    let shows: String = heads
        .iter()
        .map(|(id, _)| format!("{{ head = \"{id}\", colour = \"red\", pattern = \"{pattern}\" }},"))
        .collect();
    let pulse = "[[pattern]]\nid = \"short\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"50 ms\"]]\n\
                 [[pattern]]\nid = \"longer\"\nperiod = \"800 ms\"\npulses = [[\"0 ms\", \"110 ms\"]]";
    let (package, rules) = (package(&lamps, &shows, pulse), ruleset("both", ""));
    let (_dir, path) = folder(&files(&package, &rules, &beams()));
    let (package, rulesets) = load_file(&path, &[]);
    let conduct = Conduct::new(&package);
    let survey = common::survey(&conduct, &rulesets[0].protocol);
    let measured = measure(name, &survey, &ask(None, 0, Boundary::Both)).remove(0);
    (range(&measured), measured)
}

fn ask(level: Option<usize>, zone: usize, boundary: Boundary) -> Ask<'static> {
    Ask {
        purpose: Some("calling"),
        leads_to: None,
        level,
        zone: Some(zone),
        boundary,
        permitted: None,
        with_uncertainty: false,
        device: Default::default(),
        listen: None,
        item: None,
    }
}

fn range(measured: &Measured) -> (f64, f64) {
    match measured.value {
        Value::Number { low, high, .. } => (low, high),
        ref other => panic!("{other:?}"),
    }
}

/// By hand: 100 cd lit half the time give 60 * 50 = 3,000 cd.s/min at each of the 19 points of zone A, 57,000 a head.
#[test]
fn totals_lose_the_strongest_part() {
    let heads = [
        ("one", "circuit = \"x\"\noutput = \"A1\""),
        ("two", "circuit = \"x\"\noutput = \"A2\""),
        ("three", "circuit = \"y\"\noutput = \"A3\""),
    ];
    for (name, left, note) in [
        ("zone-total-with-one-head-dark", 114_000.0, None),
        ("zone-total-with-one-output-dark", 114_000.0, Some("worst without output `A1`")),
        ("zone-total-with-one-circuit-dark", 57_000.0, Some("worst without circuit `x`")),
    ] {
        let (range, measured) = found(name, &heads, "half");
        assert_eq!(range, (left, left), "{name}");
        let said = measured.notes.iter().any(|known| note.is_some_and(|note| known == note));
        assert_eq!(said, note.is_some(), "{name}: {:?}", measured.notes);
    }
    let (_, measured) = found("zone-total-with-one-head-dark", &heads, "half");
    assert_eq!(measured.witness.head.as_deref(), Some("one"), "the first of equals");
}

/// A head of which the circuit is not named may hang on any of them, or on one of its own: both ends are told.
#[test]
fn a_head_without_a_circuit_widens_the_range() {
    let heads = [("one", "circuit = \"x\""), ("two", ""), ("three", "")];
    // At worst all three hang together; at best each on its own.
    let (total, measured) = found("zone-total-with-one-circuit-dark", &heads, "half");
    assert_eq!(total, (0.0, 114_000.0));
    assert!(measured.notes.contains(&"no `circuit` is named for two, three".to_owned()), "{:?}", measured.notes);
    let (points, measured) = found("signal-with-one-circuit-dark", &heads, "half");
    assert_eq!(points, (0.0, 19.0));
    assert!(measured.notes.contains(&"no `circuit` is named for two, three".to_owned()), "{:?}", measured.notes);
}

#[test]
fn points_hang_on_one_circuit_or_on_several() {
    // All three heads reach all 19 points of zone A.
    let one_circuit = [("one", "circuit = \"x\""), ("two", "circuit = \"x\"")];
    let (points, measured) = found("signal-with-one-circuit-dark", &one_circuit, "half");
    assert_eq!(points, (19.0, 19.0));
    assert!(measured.notes.contains(&"worst without circuit `x`".to_owned()), "{:?}", measured.notes);
    let two_circuits = [("one", "circuit = \"x\""), ("two", "circuit = \"y\"")];
    assert_eq!(found("signal-with-one-circuit-dark", &two_circuits, "half").0, (0.0, 0.0));
    assert_eq!(found("signal-with-one-head-dark", &one_circuit, "half").0, (0.0, 0.0));
}

/// By hand, dark times of 160 ms: two flashes of 50 ms in step give 75 a minute, and still 75 at the worst phase once
/// they drift. Three of 110 ms, laid end to end with gaps just short of 160 ms, are 3 * 269.999 ms long, which fills
/// the 800 ms: they may glow without a break. Three of 50 ms cannot: 3 * 209.999 ms.
#[test]
fn a_lost_clock_can_merge_heads_into_a_glow() {
    let in_step = |count: usize| {
        [("one", "clock = \"c\""), ("two", "clock = \"c\""), ("three", "clock = \"c\"")][..count].to_vec()
    };
    let lost = |count, pattern| found("flash-count-with-a-clock-lost", &in_step(count), pattern);
    assert_eq!(lost(2, "short").0, (75.0, 75.0));
    assert_eq!(lost(3, "short").0, (75.0, 75.0));
    let (range, measured) = lost(3, "longer");
    assert_eq!(range, (0.0, 0.0));
    assert!(measured.notes.contains(&"worst without clock `c`".to_owned()), "{:?}", measured.notes);
    // In step they flash.
    assert_eq!(found("flash-count-at-point", &in_step(3), "longer").0, (75.0, 75.0));
    // Heads that run free anyway have no clock to lose: the count is the one they have.
    let free = [("one", ""), ("two", ""), ("three", "")];
    let (range, measured) = found("flash-count-with-a-clock-lost", &free, "short");
    assert_eq!((range, measured.notes.len()), ((75.0, 75.0), 0));
}

/// Quantities of a survey without some of its heads.
fn without<'a>(survey: &Survey<'a>, dark: impl Fn(&LitHead<'a>) -> bool) -> Survey<'a> {
    let lit = survey.lit.iter().filter(|lit| !dark(lit)).cloned().collect();
    Survey { lit, counted: survey.counted.clone(), ..Survey::dark(survey.package, survey.protocol, survey.method) }
}

/// Points of a zone that no counting head's signal reaches.
fn left_dark(survey: &Survey<'_>, ask: &Ask<'_>) -> f64 {
    // With no part left to fail the quantity would be this; here it is counted apart.
    let protocol: &Protocol = survey.protocol;
    let points = protocol.zones.sectors[ask.zone.unwrap()].points(ask.boundary);
    let counts = |lit: &&std::rc::Rc<LitHead<'_>>| {
        let level = ask.level.is_none() || lit.level == ask.level;
        level && lit.flashing && lit.role == wayproof::package::Role::Warning
    };
    let reached = |point: &&usize| {
        let power = |lit: &std::rc::Rc<LitHead<'_>>| lit.at(0, **point).at_least().value();
        survey.lit.iter().filter(counts).any(|lit| power(lit) >= protocol.signal.at_least.value())
    };
    let dark = points.iter().filter(|point| !reached(point)).count();
    f64::from(u32::try_from(dark).unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// On the demo truck, wired anew at random, in random states: as many surveys as there are circuits, each without
    /// its heads, give the same worst total and the same most points.
    #[test]
    fn the_worst_circuit_agrees_with_taking_each_out(
        wiring in vec(0..5_usize, 64),
        positions in vec(any::<prop::sample::Index>(), 15),
    ) {
        let (mut package, rulesets) = load_file(&root().join("demo-data/rescue-4/package.toml"), &["zones-two-level"]);
        for (head, circuit) in package.heads.iter_mut().zip(wiring.iter().cycle()) {
            head.circuit = Some(format!("c{circuit}"));
        }
        let conduct = Conduct::new(&package);
        let space = conduct.space();
        let inputs = &space.inputs().list;
        let state: Vec<usize> =
            inputs.iter().zip(&positions).map(|(input, index)| index.index(input.positions.len())).collect();
        let survey = Looks::new(&conduct, &rulesets[0].protocol, Method::Angular).survey_in(&space.state(&state));
        let circuits: BTreeSet<&str> = survey.lit.iter().filter_map(|lit| lit.head.circuit.as_deref()).collect();
        let rest: Vec<Survey<'_>> =
            circuits.iter().map(|dark| without(&survey, |lit| lit.head.circuit.as_deref() == Some(dark))).collect();
        for (level, zone) in [None, Some(0), Some(1)].into_iter().flat_map(|level| (0..4).map(move |zone| (level, zone))) {
            let ask = ask(level, zone, Boundary::Both);
            let value = |name, survey: &Survey<'_>| range(&measure(name, survey, &ask)[0]).0;
            let totals = rest.iter().map(|rest| value("zone-total-optical-power", rest));
            let least = totals.fold(value("zone-total-optical-power", &survey), f64::min);
            let left = value("zone-total-with-one-circuit-dark", &survey);
            prop_assert!(common::close(left, least, 1e-9), "{level:?} {zone}: {left}, taken out {least}");
            let most = rest.iter().chain([&survey]).map(|rest| left_dark(rest, &ask)).fold(0.0, f64::max);
            prop_assert_eq!(value("signal-with-one-circuit-dark", &survey), most, "{:?} {}", level, zone);
        }
    }

    /// Where lights are said to fill the time, some phases do: laid end to end, on one clock, they never go dark.
    #[test]
    fn lights_that_can_fill_the_time_do(lengths in vec(20..400_i64, 1..6), dark in 50..300_i64) {
        let (period, dark) = (1_000_000, dark * 1000);
        let lights: Vec<Timeline> = lengths
            .iter()
            .map(|ms| Pulse { start: Micros::new(0), end: Micros::new(ms * 1000), level: Share::new(1.0) })
            .map(|pulse| Timeline::new(Micros::new(period), vec![pulse]).unwrap())
            .collect();
        let all: Vec<&Timeline> = lights.iter().collect();
        let fills = can_fill(&all, Micros::new(dark), Share::new(0.1));
        let length: i64 = lengths.iter().map(|ms| ms * 1000 + dark - 1).sum();
        prop_assert_eq!(fills, length >= period);
        if fills {
            let mut start = 0;
            let mut laid = Vec::new();
            for (light, ms) in lights.iter().zip(&lengths) {
                laid.push(light.delayed(Micros::new(start % period)));
                start += ms * 1000 + dark - 1;
            }
            let clocked: Vec<Clocked<'_>> =
                laid.iter().map(|timeline| Clocked { timeline, clock: Some(ClockId(0)) }).collect();
            let rate = union_rate(&clocked, Micros::new(dark), Share::new(0.1));
            prop_assert_eq!(rate.most.per_minute(), 0.0);
        }
    }
}
