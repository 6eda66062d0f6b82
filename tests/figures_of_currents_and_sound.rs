//! The drawings of currents and of sound: bars, curves and rings lie where the printed ticks say, and are what the findings,
//! the load analysis and the levels round the vehicle come to.

mod common;

use std::collections::BTreeMap;

use common::figures::{at, demo, number, of_class, texts};
use wayproof::measure::sound::{Voice, level_of, ring};
use wayproof::report::Mark;
use wayproof::units::Length;

#[test]
fn bars_of_circuits_are_what_the_findings_found() {
    let mut compared = 0;
    for name in ["rescue-4", "brush-2-power-faults", "medic-6", "amber-9"] {
        demo(name, |report, drawings| {
            let figure = drawings.circuit_use().expect("rules ask for it");
            let bars: Vec<f64> = figure
                .marks
                .iter()
                .filter_map(|mark| match mark {
                    Mark::Rect { width, class: "lit", .. } => Some(*width),
                    _ => None,
                })
                .collect();
            let mut ordered: Vec<f64> = Vec::new();
            for circuit in &report.conduct.power().unwrap().supply.circuits {
                for quantity in ["fuse-use", "wire-use"] {
                    let of_it = report.judged.findings.iter().filter(|finding| {
                        finding.quantity == quantity && finding.scope.circuit.as_ref() == Some(&circuit.id)
                    });
                    ordered.extend(of_it.filter_map(number));
                }
            }
            assert_eq!(bars.len(), ordered.len(), "{name}");
            // 100 % by the ticks.
            let tick =
                |label: &str| texts(&figure).into_iter().find(|(.., text, _)| *text == label).map(|(x, ..)| x).unwrap();
            let whole = tick("100 %") - tick("0 %");
            for (bar, found) in bars.iter().zip(&ordered) {
                assert!((bar / whole - found.min(3.0)).abs() < 0.001, "{name}: {bar} for {found}");
                compared += 1;
            }
        });
    }
    assert!(compared > 30, "{compared}");
}

#[test]
fn currents_reach_their_peak() {
    let mut seen = 0;
    demo("rescue-4", |report, drawings| {
        let power = report.conduct.power().unwrap();
        let circuits: BTreeMap<String, usize> =
            power.supply.circuits.iter().enumerate().map(|(at, one)| (one.id.clone(), at)).collect();
        for figure in drawings.currents() {
            let name = figure.title.split(' ').nth(3).unwrap();
            let (tree, place) = power.of_circuit(circuits[name]).unwrap();
            let peaks: Vec<f64> = tree
                .cases
                .iter()
                .flat_map(|case| &case.flows)
                .filter_map(|flows| Some(flows.flows.as_ref()?[place].train.as_ref()?.peak().value()))
                .collect();
            let ticks: Vec<(f64, f64)> = texts(&figure)
                .iter()
                .filter_map(|(_, y, text, class)| {
                    let amperes = text.strip_suffix(" A").filter(|_| *class == "soft")?.parse().ok()?;
                    Some((y - 4.0, amperes))
                })
                .collect();
            let (zero, top) = (ticks[0], ticks[2]);
            let current = |y: f64| (zero.0 - y) / (zero.0 - top.0) * top.1;
            let Some(curve) = of_class(&figure, "curve").first().cloned() else { continue };
            let drawn = curve.iter().map(|(_, y)| current(*y)).fold(0.0, f64::max);
            assert!(peaks.iter().any(|peak| (peak - drawn).abs() < 0.002 * top.1), "{name}: {drawn} of {peaks:?}");
            seen += 1;
        }
    });
    assert!(seen >= 3, "{seen}");
}

#[test]
fn bars_of_batteries_are_the_means_of_the_load_analysis() {
    let mut compared = 0;
    for name in ["rescue-4", "brush-2-power-faults", "amber-9"] {
        demo(name, |report, drawings| {
            let power = report.conduct.power().unwrap();
            let figure = drawings.batteries().expect("there is a battery");
            let tick = |label: usize| {
                let soft: Vec<_> = texts(&figure).into_iter().filter(|one| one.3 == "soft").collect();
                (soft[label].0, soft[label].2.strip_suffix(" A").unwrap().replace(',', "").parse::<f64>().unwrap())
            };
            let (zero, most) = (tick(0), tick(4));
            let amperes = |width: f64| width / (most.0 - zero.0) * most.1;
            let bars = figure.marks.iter().filter_map(|mark| match mark {
                Mark::Rect { width, class: "lit", .. } => Some(amperes(*width)),
                _ => None,
            });
            let mut wanted = Vec::new();
            let voltages: Vec<&str> = power.supply.voltages.all().iter().map(|(name, _)| *name).collect();
            for at in 0..power.supply.batteries.len() {
                for states in report.conduct.modes.iter().filter(|states| !states.is_empty()) {
                    let most = power.most(report.conduct, at, states, &voltages, |_| true);
                    let most = most.ok().flatten().filter(|most| most.current.high.is_finite());
                    wanted.extend(most.map(|most| most.current.low));
                }
            }
            let bars: Vec<f64> = bars.collect();
            assert_eq!(bars.len(), wanted.len(), "{name}");
            for (bar, wanted) in bars.iter().zip(&wanted) {
                assert!((bar - wanted).abs() < 0.001 * most.1, "{name}: {bar}, {wanted} wanted");
                compared += 1;
            }
        });
    }
    assert!(compared > 5, "{compared}");
}

#[test]
fn levels_lie_where_the_rings_say() {
    let mut compared = 0;
    for name in ["rescue-4", "medic-6-sound-faults", "amber-9"] {
        demo(name, |report, drawings| {
            let side = &report.conduct.package.sound;
            for figure in drawings.sound() {
                let rings: Vec<f64> = figure
                    .marks
                    .iter()
                    .filter_map(|mark| match mark {
                        Mark::Circle { r, class: "axis", .. } => Some(*r),
                        _ => None,
                    })
                    .collect();
                let levels: Vec<f64> = texts(&figure)
                    .iter()
                    .filter(|one| one.3 == "halo soft")
                    .map(|one| one.2.parse().unwrap())
                    .collect();
                assert_eq!(rings.len(), levels.len());
                let per_db = (rings[0] - rings[1]) / (levels[0] - levels[1]);
                let named = figure.title.split(": ").nth(1).unwrap();
                let (at_sounding, sounding) =
                    side.soundings.iter().enumerate().find(|(_, one)| named.starts_with(&one.id)).unwrap();
                let voices: Vec<Voice> = sounding
                    .rows
                    .iter()
                    .map(|(sounder, sheet)| Voice { sounder: *sounder, sheet: *sheet, sounding: at_sounding })
                    .collect();
                let curve = of_class(&figure, "curve").concat();
                for (bearing, place) in ring(Length::new(15.24), Length::new(1.2), 45) {
                    let Some(level) =
                        level_of(report.conduct, &voices, place).map(|span| span.high).filter(|high| high.is_finite())
                    else {
                        continue;
                    };
                    let there = at(bearing.value(), rings[0] + (level - levels[0]) * per_db);
                    assert!(
                        curve.iter().any(|point| (point.0 - there.0).hypot(point.1 - there.1) < 0.05),
                        "{name} {named}: {level} at {bearing:?}"
                    );
                    compared += 1;
                }
            }
        });
    }
    assert!(compared > 40, "{compared}");
}
