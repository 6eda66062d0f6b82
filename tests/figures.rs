//! The drawings of light: what is drawn is what the findings found, at the place where the scale puts it; nothing is
//! drawn where there are no data.
//!
//! Figures are read back from the drawings themselves, by a scale that is written out here.

mod common;

use std::collections::BTreeSet;

use common::case::{head, package, ruleset, same, show};
use common::close;
use common::figures::{DEMOS, RULES, at, case, demo, is_near, number, of_class, radius, texts};
use wayproof::judge::{Finding, Verdict};
use wayproof::measure::Sample;
use wayproof::report::Mark;
use wayproof::report::figures::{CENTRE, Polar, RADIUS};

#[test]
fn polar_plots_show_what_the_findings_found() {
    let (mut compared, mut least) = (0, 0);
    for name in DEMOS {
        demo(name, |report, drawings| {
            for polar in drawings.polars().iter().filter(|polar| polar.zones.iter().any(|zone| !zone.sums.is_empty())) {
                let here = |finding: &&Finding| {
                    let trace = finding.trace.as_ref().filter(|_| !finding.is_meeting());
                    let place = trace.map(|trace| (trace.ruleset, trace.mode, trace.state.as_ref()));
                    let level = polar.level.map(|at| report.rulesets[polar.ruleset].protocol.levels[at].name.as_str());
                    place == Some((polar.ruleset, Some(polar.mode), Some(&polar.state)))
                        && finding.scope.level.as_deref() == level
                };
                let mut of_it = 0;
                for finding in report.judged.findings.iter().filter(here) {
                    let zone = polar.zones.iter().find(|zone| finding.scope.zone.as_ref() == Some(&zone.name));
                    let sum = zone.and_then(|zone| zone.sums.iter().find(|sum| sum.quantity == finding.quantity));
                    let (Some(zone), Some(sum), Some(found)) = (zone, sum, number(finding)) else { continue };
                    if finding.scope.emitter.is_some() {
                        continue;
                    }
                    assert!(close(sum.found, found, 1e-9), "{name} {}: {} drawn, {found} found", finding.id, sum.found);
                    of_it += 1;
                    compared += 1;
                    if finding.quantity == "least-point-optical-power" && zone.points.iter().all(|point| point.complete)
                    {
                        let drawn = zone.points.iter().map(|point| point.at_least).fold(f64::INFINITY, f64::min);
                        assert!(close(drawn, found, 1e-9), "{name} {}: least point {drawn}, {found} found", finding.id);
                        least += 1;
                    }
                }
                assert!(of_it > 0, "{name}: {} is the state of no finding", polar.figure.title);
            }
        });
    }
    assert!(compared > 40 && least > 10, "{compared} compared, {least} least points");
}

#[test]
fn every_sum_that_fails_is_too_little_in_some_plot() {
    let (mut failing, mut plots) = (0, 0);
    for name in ["rescue-4-logic-faults", "brush-2-faults"] {
        demo(name, |report, drawings| {
            let polars = drawings.polars();
            plots += polars.len();
            let titles: BTreeSet<&str> = polars.iter().map(|polar| polar.figure.title.as_str()).collect();
            assert_eq!(titles.len(), polars.len(), "{name}: told apart by their titles");
            for finding in report.judged.findings.iter().filter(|one| one.verdict == Verdict::Fail && !one.is_meeting())
            {
                let Some(trace) = finding.trace.as_ref().filter(|_| finding.quantity.ends_with("optical-power")) else {
                    continue;
                };
                let level = finding.scope.level.as_deref();
                let shown = polars.iter().filter(|polar| {
                    let levels = &report.rulesets[polar.ruleset].protocol.levels;
                    (Some(polar.mode), polar.level.map(|at| levels[at].name.as_str())) == (trace.mode, level)
                });
                let mut sums = shown
                    .flat_map(|polar| &polar.zones)
                    .filter(|zone| Some(&zone.name) == finding.scope.zone.as_ref())
                    .flat_map(|zone| &zone.sums)
                    .filter(|sum| sum.quantity == finding.quantity);
                assert!(sums.any(|sum| sum.asked.is_some_and(|asked| sum.found < asked)), "{name}: {}", finding.id);
                failing += 1;
            }
        });
    }
    assert!(failing > 20 && plots < 15, "{failing} failing in {plots} plots");
}

/// Where the scale puts a figure, written out: straight up to 5 times the limit, root up to 60 times, else powers of ten.
fn expected_radius(polar: &Polar, value: f64) -> f64 {
    let limit = polar.zones.iter().filter_map(|zone| zone.asked_of_points).fold(0.0, f64::max);
    let ratio = if limit > 0.0 { polar.scale.most / limit } else { 10.0 };
    let share = value / polar.scale.most;
    let low = 10_f64.powf(limit.log10().floor() - 1.0);
    RADIUS
        * match ratio {
            ratio if ratio <= 5.0 => share,
            ratio if ratio <= 60.0 => share.sqrt(),
            _ if value <= low => 0.12 * value / low,
            _ => 0.12 + 0.88 * (value / low).ln() / (polar.scale.most / low).ln(),
        }
}

#[test]
fn points_and_limits_lie_where_the_scale_puts_them() {
    let (mut points, mut limits) = (0, 0);
    for name in DEMOS {
        demo(name, |_, drawings| {
            for polar in drawings.polars() {
                let curve: Vec<(f64, f64)> = of_class(&polar.figure, "curve").concat();
                for zone in &polar.zones {
                    for point in zone.points.iter().filter(|point| point.complete) {
                        let there = at(point.bearing.value(), expected_radius(&polar, point.at_least));
                        assert!(
                            curve.iter().any(|drawn| is_near(*drawn, there)),
                            "{name}: {point:?} is not at {there:?}"
                        );
                        points += 1;
                    }
                }
                let asked: Vec<f64> = polar.zones.iter().filter_map(|zone| zone.asked_of_points).collect();
                let arcs = of_class(&polar.figure, "limit");
                // The short line of the key is no path.
                assert_eq!(arcs.len(), asked.len(), "{name}: {}", polar.figure.title);
                for (arc, asked) in arcs.iter().zip(&asked) {
                    for corner in arc {
                        let wanted = expected_radius(&polar, *asked);
                        assert!((radius(*corner) - wanted).abs() < 0.02, "{name}: limit {asked} at {corner:?}");
                        limits += 1;
                    }
                }
            }
        });
    }
    assert!(points > 500 && limits > 500, "{points} points, {limits} corners of limits");
}

#[test]
fn short_points_are_ringed_and_no_others() {
    demo("brush-2-faults", |_, drawings| {
        let mut ringed = 0;
        for polar in drawings.polars() {
            let mut wanted = BTreeSet::new();
            for zone in &polar.zones {
                for point in
                    zone.points.iter().filter(|point| zone.asked_of_points.is_some_and(|asked| point.at_least < asked))
                {
                    let there = at(point.bearing.value(), expected_radius(&polar, point.at_least));
                    wanted.insert(format!("{:.1} {:.1}", there.0, there.1));
                }
            }
            let key = CENTRE.1 + RADIUS + 20.0;
            let rings = polar.figure.marks.iter().filter_map(|mark| match mark {
                Mark::Circle { x, y, class: "short", .. } if *y < key => Some(format!("{x:.1} {y:.1}")),
                _ => None,
            });
            let rings: BTreeSet<String> = rings.collect();
            assert_eq!(rings, wanted, "{}", polar.figure.title);
            ringed += rings.len();
        }
        assert!(ringed > 5, "{ringed}");
    });
}

#[test]
fn one_lamp_by_hand() {
    // 100 cd everywhere in front, lit half of the time: 60 x 100 x 0.5 = 3,000 cd.s/min at each of 19 points.
    let text = package(&head("one", "lamp", "front", ""), &show("one"), "");
    case(&text, &ruleset("both", RULES), |report, drawings| {
        let polars = drawings.polars();
        let [polar] = &polars[..] else { panic!("{} plots", polars.len()) };
        let [zone] = &polar.zones[..] else { panic!("{:?}", polar.zones) };
        assert_eq!((zone.name.as_str(), zone.points.len()), ("A", 19));
        zone.points.iter().for_each(|point| same(point.at_least, 3000.0));
        assert_eq!(polar.scale.most, 3000.0);
        assert_eq!(zone.asked_of_points, Some(1000.0));
        // The limit is a third of the most, so the scale is straight: the lamp at the rim, the limit at a third of it.
        let (curve, limit) = (of_class(&polar.figure, "curve").concat(), of_class(&polar.figure, "limit").concat());
        assert_eq!(curve.len(), 19);
        assert!(curve.iter().all(|point| (radius(*point) - RADIUS).abs() < 0.01), "{curve:?}");
        assert!(limit.iter().all(|point| (radius(*point) - RADIUS / 3.0).abs() < 0.01), "{limit:?}");
        assert!(curve.iter().any(|point| is_near(*point, (CENTRE.0, CENTRE.1 - RADIUS))), "front is up");
        let sums: Vec<(f64, Option<f64>)> = zone.sums.iter().map(|sum| (sum.found, sum.asked)).collect();
        assert_eq!(sums, [(57_000.0, Some(57_000.0)), (3_000.0, Some(1_000.0))]);
        // Its only strip: lit from 0 to 400 of each 800 ms, and again from 800 ms on; no clock, so it is outlined.
        let strips = drawings.strips();
        let [strip] = &strips[..] else { panic!("{} strips", strips.len()) };
        assert!(of_class(&strip.figure, "lit").is_empty());
        let bars = of_class(&strip.figure, "free").concat();
        let (from, to) = (bars[0].0, bars[4].0 + (bars[4].0 - bars[0].0) / 4.0);
        let ends: Vec<f64> = bars.chunks(4).flat_map(|bar| [bar[0].0, bar[2].0]).collect();
        let milliseconds: Vec<f64> = ends.iter().map(|x| (x - from) / (to - from) * 1000.0).collect();
        let wanted = [0.0, 400.0, 800.0, 1000.0];
        assert!(
            milliseconds.iter().zip(wanted).all(|(found, wanted)| (found - wanted).abs() < 0.1),
            "{milliseconds:?}"
        );
        assert!(strip.figure.description.contains("runs free, period 800 ms"), "{}", strip.figure.description);
        assert_eq!(strip.heads, [0]);
        // Nothing but lamps: no current, no circuit, no sound, and nothing about them.
        assert!(report.conduct.power().is_none() && report.conduct.package.sound.sounders.is_empty());
        assert!(drawings.currents().is_empty() && drawings.circuit_use().is_none() && drawings.sound().is_empty());
        assert!(drawings.batteries().is_none());
        assert!(drawings.bearing_tables().is_empty(), "all is met");
        let layout = drawings.layout();
        assert_eq!(layout.positions.len(), 1);
        assert_eq!(layout.positions[0].height, "39.4 in (1,000 mm)");
        assert_eq!((layout.positions[0].level.as_str(), layout.positions[0].faces.as_str()), ("lower", "0"));
        assert_eq!(layout.positions[0].behind_front, "118.1 in (3,000 mm)");
    });
}

#[test]
fn scales_by_hand() {
    // 3,000 at the rim; the limit 30 and 300 times below it: by the root, and by powers of ten from a tenth of it on.
    let text = package(&head("one", "lamp", "front", ""), &show("one"), "");
    let by_tens = 0.12 + 0.88 / 3000_f64.log10();
    for (limit, wanted) in [("100", (1.0 / 30_f64).sqrt()), ("10", by_tens)] {
        let rules = RULES.replace("A = 1000", &format!("A = {limit}"));
        case(&text, &ruleset("both", &rules), |_, drawings| {
            let polar = drawings.polars().remove(0);
            let arc = of_class(&polar.figure, "limit").concat();
            assert!(!arc.is_empty());
            assert!(arc.iter().all(|point| (radius(*point) - RADIUS * wanted).abs() < 0.01), "{limit}: {arc:?}");
            // Each ring stands beside its figure.
            let rings = polar.figure.marks.iter().filter(|mark| matches!(mark, Mark::Circle { class: "axis", .. }));
            let ticks: Vec<f64> = texts(&polar.figure)
                .iter()
                .filter(|one| one.3 == "halo soft")
                .map(|one| one.2.replace(',', "").parse().unwrap())
                .collect();
            assert!(ticks.len() > 2 && ticks[0] == 3000.0, "{ticks:?}");
            for (ring, tick) in rings.zip(&ticks) {
                let Mark::Circle { r, .. } = ring else { continue };
                assert!((r - expected_radius(&polar, *tick)).abs() < 0.02, "{tick} at {r}");
            }
        });
    }
}

#[test]
fn missing_data_are_a_gap_or_a_bound_and_never_nothing() {
    // `narrow` has data from -20 to 20 deg of V; tilted up 30 deg it has none towards the horizontal plane in front.
    let alone = package(&head("one", "narrow", "front", "tilt = \"30 deg\""), &show("one"), "");
    case(&alone, &ruleset("both", RULES), |_, drawings| {
        let polars = drawings.polars();
        let zone = &polars[0].zones[0];
        let unknown: Vec<f64> =
            zone.points.iter().filter(|point| !point.complete).map(|point| point.bearing.value()).collect();
        assert!(unknown.contains(&0.0) && unknown.len() > 3, "{unknown:?}");
        let drawn: Vec<(f64, f64)> =
            [of_class(&polars[0].figure, "curve"), of_class(&polars[0].figure, "bound")].concat().concat();
        assert!(drawn.iter().all(|point| !is_near(*point, CENTRE)), "nothing is drawn as zero: {drawn:?}");
        let texts = texts(&polars[0].figure);
        assert!(texts.iter().any(|(.., text, _)| text.contains("no data")), "{texts:?}");
        let hatched = polars[0].figure.marks.iter().filter(|mark| matches!(mark, Mark::Line { class: "hatch", .. }));
        assert!(hatched.count() >= 3 * unknown.len());
        assert!(polars[0].figure.description.contains(&format!("data are missing at {} points", unknown.len())));
        let tables = drawings.bearing_tables();
        let cells = &tables[0].heads[0].cells;
        assert!(cells.iter().any(|cell| cell == "no data"), "{cells:?}");
        assert!(tables[0].sum.starts_with("at least"), "{}", tables[0].sum);
    });
    // Beside a lamp that is known the sum is a lower bound: dotted, at what is known.
    let heads = format!("{}{}", head("one", "narrow", "front", "tilt = \"30 deg\""), head("two", "lamp", "front", ""));
    let both = package(&heads, &format!("{}{}", show("one"), show("two")), "");
    case(&both, &ruleset("both", RULES), |_, drawings| {
        let polars = drawings.polars();
        let front = at(0.0, RADIUS * polars[0].scale.radius(3000.0));
        let dotted = of_class(&polars[0].figure, "bound").concat();
        assert!(dotted.iter().any(|point| is_near(*point, front)), "{dotted:?}");
        assert!(of_class(&polars[0].figure, "curve").concat().iter().all(|point| !is_near(*point, front)));
    });
}

#[test]
fn each_mode_of_a_purpose_is_drawn_with_its_limits_and_others_without() {
    let more = r#"
[inputs]
use = ["one", "two", "three"]
[[mode]]
id = "first"
purpose = "calling"
when = "use == one"
[[mode]]
id = "second"
purpose = "calling"
when = "use == two"
[[mode]]
id = "third"
when = "use == three"
"#;
    let text = package(&head("one", "lamp", "front", ""), &show("one"), more)
        .replace("id = \"all\"", "id = \"all\"\nwhen = \"always\"");
    case(&text, &ruleset("both", RULES), |_, drawings| {
        let polars = drawings.polars();
        let said: Vec<(usize, bool)> = polars
            .iter()
            .map(|polar| (polar.mode, polar.zones.iter().any(|zone| zone.asked_of_points.is_some())))
            .collect();
        assert_eq!(said, [(0, true), (1, true), (2, false)]);
        assert!(polars.iter().all(|polar| polar.state == [polar.mode]), "{polars:?}");
        assert_eq!(polars[2].zones.len(), 4, "all round");
        let strips: Vec<usize> = drawings.strips().iter().map(|strip| strip.mode).collect();
        assert_eq!(strips, [0, 1, 2]);
    });
}

#[test]
fn bearing_tables_add_up_to_what_was_found() {
    let (mut tables_seen, mut sums, mut least) = (0, 0, 0);
    for name in ["brush-2-faults", "rescue-4-logic-faults"] {
        demo(name, |report, drawings| {
            for table in drawings.bearing_tables() {
                tables_seen += 1;
                let known = |sample: &Sample| sample.at_least().value();
                let of_point = |at: usize| table.heads.iter().map(|head| known(&head.samples[at])).sum::<f64>();
                let together: Vec<f64> = (0..table.bearings.len()).map(of_point).collect();
                assert_eq!(table.together.len(), together.len());
                for id in &table.findings {
                    let finding = report.judged.findings.iter().find(|finding| finding.id == *id).unwrap();
                    assert!(finding.verdict != Verdict::Pass, "{id}");
                    let (Some(found), None) = (number(finding), &finding.scope.emitter) else { continue };
                    match finding.quantity {
                        "zone-total-optical-power" => {
                            assert!(close(together.iter().sum(), found, 1e-9), "{id}: {together:?}");
                            sums += 1;
                        }
                        "least-point-optical-power" | "least-off-plane-optical-power" => {
                            let lowest = together.iter().copied().fold(f64::INFINITY, f64::min);
                            assert!(close(lowest, found, 1e-9), "{id}: {lowest}, {found} found");
                            least += 1;
                        }
                        _ => {}
                    }
                }
                for head in &table.heads {
                    assert_eq!(head.cells.len(), table.bearings.len());
                    assert_eq!(report.conduct.package.heads[head.number - 1].id, head.head);
                    for (cell, sample) in head.cells.iter().zip(&head.samples) {
                        let word = match sample {
                            Sample::Hidden => "hidden",
                            Sample::Behind => "behind",
                            Sample::NoData => "no data",
                            Sample::Power(_) => continue,
                        };
                        assert_eq!(cell, word);
                    }
                }
            }
            let failing = report.judged.findings.iter().filter(|finding| {
                finding.verdict == Verdict::Fail
                    && finding.quantity.ends_with("optical-power")
                    && finding.scope.zone.is_some()
            });
            let told: Vec<String> = drawings.bearing_tables().into_iter().flat_map(|table| table.findings).collect();
            for finding in failing {
                assert!(told.contains(&finding.id), "{} has no table", finding.id);
            }
        });
    }
    assert!(tables_seen > 10 && sums > 3 && least > 3, "{tables_seen} {sums} {least}");
}
