//! The drawings of the vehicle: times and heights lie where the printed ticks say; every mark of any drawing is a number
//! on the sheet, and no number hides another.

mod common;

use std::collections::BTreeSet;

use common::case::{head, package, ruleset, show};
use common::figures::{DEMOS, RULES, all, case, corners, demo, of_class, texts};
use common::root;
use wayproof::report::{Anchor, Figure, Mark};

#[test]
fn strips_show_the_heads_that_are_lit() {
    for name in DEMOS {
        demo(name, |report, drawings| {
            let conduct = report.conduct;
            for strip in drawings.strips() {
                let state = conduct.space().state(&strip.state);
                let lit: BTreeSet<usize> =
                    (0..conduct.heads.len()).filter(|head| conduct.shown_in(*head, &state).is_some()).collect();
                assert_eq!(strip.heads.iter().copied().collect::<BTreeSet<_>>(), lit, "{name}: {}", strip.figure.title);
                let of_mode = &conduct.modes[strip.mode];
                assert!(
                    conduct.space().meet(of_mode, &state),
                    "{name}: {} is no state of its mode",
                    strip.figure.title
                );
                // One row a head, lit for as long as its pattern is over the time shown.
                let rows = strip.figure.marks.iter().filter_map(|mark| match mark {
                    Mark::Path { d, class: "lit" | "free" } => Some(corners(d)),
                    _ => None,
                });
                let rows: Vec<Vec<(f64, f64)>> = rows.collect();
                assert_eq!(rows.len(), strip.heads.len(), "{name}");
                let axis = strip.figure.marks.iter().find_map(|mark| match mark {
                    Mark::Line { x1, x2, class: "edge", .. } => Some((*x1, *x2)),
                    _ => None,
                });
                let (from, to) = axis.expect("an axis of time");
                let micros = |time: i64| f64::from(u32::try_from(time).unwrap());
                let shown = micros(strip.shown.get());
                for (row, head) in rows.iter().zip(&strip.heads) {
                    let timeline = conduct.shown_in(*head, &state).unwrap().timeline(conduct.package);
                    let (mut start, mut wanted) = (0.0, Vec::new());
                    while start < shown {
                        let pulses =
                            timeline.pulses().iter().map(|one| (micros(one.start.get()), micros(one.end.get())));
                        wanted.extend(pulses.map(|(on, off)| (start + on, (start + off).min(shown))));
                        start += micros(timeline.period().get());
                    }
                    wanted.retain(|(on, _)| *on < shown);
                    let time = |x: f64| (x - from) / (to - from) * shown;
                    let drawn: Vec<(f64, f64)> = row.chunks(4).map(|bar| (time(bar[0].0), time(bar[2].0))).collect();
                    assert_eq!(drawn.len(), wanted.len(), "{name}: {drawn:?}, {wanted:?} wanted");
                    let near = |one: f64, other: f64| (one - other).abs() < 0.0001 * shown;
                    for (drawn, wanted) in drawn.iter().zip(&wanted) {
                        assert!(
                            near(drawn.0, wanted.0) && near(drawn.1, wanted.1),
                            "{name}: {drawn:?}, {wanted:?} wanted"
                        );
                    }
                }
                let free = strip.heads.iter().filter(|head| {
                    let steady = conduct.shown_in(**head, &state).unwrap().show.pattern.is_none();
                    !steady && conduct.package.heads[**head].clock.is_none()
                });
                assert_eq!(of_class(&strip.figure, "free").len(), free.count(), "{name}: {}", strip.figure.title);
            }
        });
    }
}

/// Boxes round texts, as wide as they come out at least.
fn boxes(figure: &Figure, class: &str) -> Vec<(f64, f64, f64, f64, String)> {
    let middle = texts(figure).into_iter().filter(|(.., known)| *known == class);
    middle
        .map(|(x, y, text, _)| {
            let half = 2.9 * f64::from(u32::try_from(text.chars().count()).unwrap());
            (x - half, y - 9.0, x + half, y, text.to_owned())
        })
        .collect()
}

/// `3, 5, 7-9` as single marks.
fn marks_of(text: &str) -> Vec<String> {
    let one = |part: &str| match part.split_once('-') {
        Some((from, to)) => (from.parse::<u32>().unwrap()..=to.parse().unwrap()).map(|at| at.to_string()).collect(),
        None => vec![part.to_owned()],
    };
    text.split(", ").flat_map(one).collect()
}

#[test]
fn every_position_has_its_number_in_the_plan_and_no_number_hides_another() {
    for name in DEMOS {
        demo(name, |report, drawings| {
            let layout = drawings.layout();
            let package = report.conduct.package;
            assert_eq!(layout.positions.len(), package.heads.len() + package.sound.sounders.len());
            let plan: Vec<String> = boxes(&layout.figures[0], "halo").iter().flat_map(|one| marks_of(&one.4)).collect();
            let mut sorted = plan.clone();
            sorted.sort();
            let mut marks: Vec<String> = layout.positions.iter().map(|one| one.mark.clone()).collect();
            marks.sort();
            assert_eq!(sorted, marks, "{name}: each once");
            for figure in &layout.figures {
                let boxes = boxes(figure, "halo");
                for (at, one) in boxes.iter().enumerate() {
                    for other in &boxes[at + 1..] {
                        let apart = one.2 <= other.0 || other.2 <= one.0 || one.3 <= other.1 || other.3 <= one.1;
                        assert!(apart, "{name}, {}: `{}` lies on `{}`", figure.title, one.4, other.4);
                    }
                }
            }
        });
    }
}

#[test]
fn heights_are_drawn_to_scale_with_the_bands() {
    demo("rescue-4", |report, drawings| {
        let layout = drawings.layout();
        let left = &layout.figures[1];
        let line = |label: &str| {
            let (_, y, ..) =
                texts(left).into_iter().find(|(.., text, _)| *text == label).unwrap_or_else(|| panic!("no {label}"));
            y - 4.0
        };
        let ground = line("ground");
        let (upper, lower) = (ground - line("62 in (1,575 mm)"), ground - line("18 in (457 mm)"));
        assert!((upper / lower - 62.0 / 18.0).abs() < 0.01, "{upper} {lower}");
        let scale = upper / (62.0 * 0.0254);
        // Every head that looks to the left has its point at its height.
        let points: Vec<f64> = left
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Circle { y, class: "point", .. } => Some((ground - y) / scale),
                _ => None,
            })
            .collect();
        let mut seen = 0;
        for head in report.conduct.package.heads.iter().filter(|head| head.pose.axis().y > 0.5) {
            let height = head.pose.height().value();
            assert!(points.iter().any(|point| (point - height).abs() < 0.005), "{}: {height} of {points:?}", head.id);
            seen += 1;
        }
        assert!(seen >= 6, "{seen}");
        let named = texts(left);
        assert!(
            named.iter().any(|(.., text, _)| *text == "upper level")
                && named.iter().any(|(.., text, _)| *text == "lower level")
        );
    });
    demo("amber-9", |_, drawings| {
        for figure in drawings.layout().figures {
            assert!(!figure.title.contains("judged apart"), "no ruleset judges levels apart: {}", figure.title);
            assert!(texts(&figure).iter().all(|(.., text, _)| !text.ends_with(" level")));
        }
    });
}

#[test]
fn every_mark_is_a_number_on_the_sheet_and_every_name_is_once() {
    let mut marks = 0;
    for name in DEMOS {
        demo(name, |_, drawings| {
            let figures = all(drawings);
            let ids: BTreeSet<&str> = figures.iter().map(|figure| figure.id.as_str()).collect();
            assert_eq!(ids.len(), figures.len(), "{name}: {ids:?}");
            for figure in &figures {
                assert!(
                    figure.id.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'),
                    "{}",
                    figure.id
                );
                assert!(!figure.title.is_empty() && !figure.description.is_empty(), "{}", figure.id);
                let on = |x: f64, y: f64| {
                    let fits =
                        (-0.01..=figure.width + 0.01).contains(&x) && (-0.01..=figure.height + 0.01).contains(&y);
                    assert!(x.is_finite() && y.is_finite() && fits, "{name} {}: {x} {y}", figure.id);
                };
                for mark in &figure.marks {
                    marks += 1;
                    match mark {
                        Mark::Line { x1, y1, x2, y2, .. } => {
                            on(*x1, *y1);
                            on(*x2, *y2);
                        }
                        Mark::Path { d, .. } => {
                            let letters = d.chars().all(|c| c.is_ascii_digit() || "MLHVZ.- ".contains(c));
                            assert!(letters, "{d}");
                            corners(d).into_iter().for_each(|(x, y)| on(x, y));
                        }
                        Mark::Circle { x, y, r, .. } => {
                            on(x - r, y - r);
                            on(x + r, y + r);
                        }
                        Mark::Rect { x, y, width, height, .. } => {
                            on(*x, *y);
                            on(x + width, y + height);
                        }
                        Mark::Text { x, y, anchor, text, .. } => {
                            // Letters are at least so wide on the mean.
                            let width = 4.8 * f64::from(u32::try_from(text.chars().count()).unwrap());
                            let left = match anchor {
                                Anchor::Start => *x,
                                Anchor::Middle => x - width / 2.0,
                                Anchor::End => x - width,
                            };
                            on(left, *y);
                            on(left + width, *y);
                        }
                    }
                }
            }
        });
    }
    assert!(marks > 3000, "{marks}");
}

#[test]
fn the_same_package_is_drawn_the_same() {
    for name in ["rescue-4", "brush-2-faults"] {
        let print = || {
            demo(name, |_, drawings| {
                format!("{:?} {:?} {:?}", all(drawings), drawings.bearing_tables(), drawings.layout().positions)
            })
        };
        assert!(print() == print(), "{name}");
    }
}

#[test]
fn hostile_names_stay_texts() {
    let name = "</text><script>alert(1)</script>";
    let text = package(&head("one", "lamp", "front", ""), &show("one"), "").replace("\"all\"", &format!("\"{name}\""));
    case(&text, &ruleset("both", RULES), |_, drawings| {
        let figures = all(drawings);
        let as_text = figures.iter().flat_map(texts).filter(|(.., text, _)| text.contains("</text>")).count();
        assert!(as_text > 0, "the name of the display is said");
        assert!(figures.iter().all(|figure| !figure.id.contains('<')));
        for figure in &figures {
            for mark in &figure.marks {
                if let Mark::Path { d, .. } = mark {
                    assert!(!d.contains('<'));
                }
            }
        }
    });
    // The template escapes every text: nothing in it is declared safe.
    let template = std::fs::read_to_string(root().join("src/report/paper/figure.html")).unwrap();
    assert!(!template.contains("safe"), "{template}");
}

#[test]
fn nothing_is_drawn_of_a_package_without_lamps_lit() {
    let text = package(&head("one", "lamp", "front", ""), "", "");
    case(&text, &ruleset("both", RULES), |_, drawings| {
        assert!(drawings.strips().is_empty());
        for polar in drawings.polars() {
            assert!(
                polar.zones.iter().flat_map(|zone| &zone.points).all(|point| point.at_least == 0.0 && point.complete)
            );
        }
        assert_eq!(drawings.layout().figures.len(), 5);
    });
}
