//! `wayproof bid`: every rule of every shipped ruleset becomes a clause with all that a test of it needs, and what is
//! written as a draft is read again as the same bid. Checked against the rulesets as loaded, and by laws.

mod common;

use assert_cmd::Command;
use common::root;
use proptest::prelude::*;
use wayproof::bid::{Acceptance, Bid, Clause, Free, Heading, Layout, Place, Proof, Row, Wishes, read_draft, to_toml};
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::load::files::InputFile;
use wayproof::load::reader::Date;
use wayproof::report::{BID_ENDINGS, BidPaper, bid_text, named_in};
use wayproof::ruleset::{Basis, Demand, Loader, Require, Ruleset, Strength, shipped::SHIPPED};
use wayproof::units::{Degrees, Dimension};

const ALL: Wishes<'static> = Wishes { purposes: &[], advice: true, cautions: true };
const DAY: Date = Date { year: 2026, month: 11, day: 25 };

fn loaded(name: &str) -> Vec<Ruleset> {
    let (sources, log) = (Sources::default(), Log::default());
    let mut loader = Loader::new(&sources, &log, Vec::new()).on(DAY);
    loader.add_anywhere(name);
    let rulesets = loader.rulesets;
    assert!(!log.has_errors(), "{name}: {}", render(&log.take(), &sources, false));
    rulesets
}

fn read(text: &str) -> Bid {
    let (sources, log) = (Sources::default(), Log::default());
    let bid = read_draft("draft.toml", text.as_bytes(), &sources, &log);
    assert!(!log.has_errors(), "{}\n{text}", render(&log.take(), &sources, false));
    bid.unwrap()
}

fn written(bid: &Bid, ending: &str) -> String {
    let inputs = [InputFile { name: "a, 'b' & c.toml".to_owned(), sha256: "0123456789abcdef".repeat(4) }];
    let paper = BidPaper { bid, rulesets: &[], inputs: &inputs, as_of: DAY, width: 100 };
    let write = BID_ENDINGS.iter().find(|(known, _)| *known == ending).unwrap().1;
    String::from_utf8(write(&paper).unwrap()).unwrap()
}

#[test]
fn every_rule_of_every_shipped_ruleset_makes_a_clause_that_can_be_tested() {
    let (mut clauses, mut rows) = (0, 0);
    for (name, _) in SHIPPED {
        let rulesets = loaded(name);
        let bid = Bid::of(&rulesets, None, &ALL);
        assert_eq!(bid.clauses.len(), rulesets[0].rules.len(), "{name}");
        for (clause, rule) in bid.clauses.iter().zip(&rulesets[0].rules) {
            let id = &clause.id;
            assert_eq!(*id, format!("{name}:{}", rule.id));
            assert_eq!((clause.says.as_str(), clause.strength), (rule.says.as_str(), rule.strength));
            assert_eq!(clause.known_quantity().unwrap().name, rule.quantity.name);
            assert_eq!(clause.known_unit().unwrap().dimension(), rule.quantity.dimension, "{id}");
            assert_eq!(clause.require, Some(rule.require));
            let said = [&clause.tested, &clause.by, &clause.when, &clause.paper, &clause.deviation, &clause.source];
            for text in said {
                assert!(text.as_ref().is_some_and(|text| !text.is_empty()), "{id}: {text:?}");
            }
            assert!(clause.proof.is_some() && clause.basis.is_some(), "{id}");
            assert_eq!(clause.rows.len(), rule.limits.len(), "{id}");
            for (row, limit) in clause.rows.iter().zip(&rule.limits) {
                assert_eq!(row.demand.as_ref(), Some(&limit.demand), "{id}");
                assert_eq!(clause.basis_of(row), Some(limit.source.basis), "{id}");
                assert_eq!(clause.source_of(row), Some(limit.source.in_words().as_str()), "{id}");
                let zone = limit.zone.map(|at| rulesets[0].protocol.zones.sectors[at].name.clone());
                let level = limit.level.map(|at| rulesets[0].protocol.levels[at].name.clone());
                assert_eq!((&row.zone, &row.level, &row.purpose), (&zone, &level, &limit.purpose), "{id}");
                rows += 1;
            }
            clauses += 1;
        }
    }
    assert!(clauses > 250 && rows > 600, "{clauses} clauses, {rows} limits");
}

/// Which heading and which proof a demand gets, by a list typed apart.
#[test]
fn demands_stand_under_their_heading_and_are_proved_as_the_trade_proves_them() {
    for (id, heading, proof) in [
        ("zones-two-level:zone-total", Heading::Zones, Proof::Document),
        ("zones-two-level:one-head-dark", Heading::Zones, Proof::Visual),
        ("zones-two-level:flash-rate", Heading::Zones, Proof::Measurement),
        ("zones-two-level:chromaticity", Heading::Lamps, Proof::Document),
        ("zones-two-level:master", Heading::Modes, Proof::Visual),
        ("zones-two-level:park-to-blocking", Heading::Modes, Proof::Visual),
        ("zones-two-level:vehicle-lamps", Heading::Headlamps, Proof::Visual),
        ("zones-two-level:lower-height", Heading::Mounting, Proof::Measurement),
        ("zones-two-level:current", Heading::Power, Proof::Measurement),
        ("zones-two-level:no-light-into-cab", Heading::Papers, Proof::Visual),
        ("headlamp-flashing:flash-rate", Heading::Headlamps, Proof::Measurement),
        ("back-up-alarms:alarm-level", Heading::Sound, Proof::Document),
        ("siren-104-at-7-m:siren-at-least-104", Heading::Sound, Proof::Measurement),
    ] {
        let (ruleset, rule) = id.split_once(':').unwrap();
        let bid = Bid::of(&loaded(ruleset), None, &ALL);
        let Some(clause) = bid.clauses.iter().find(|clause| clause.id == id) else {
            let known: Vec<&str> = bid.clauses.iter().map(|clause| clause.id.as_str()).collect();
            panic!("no {rule}: {known:?}");
        };
        assert_eq!((clause.heading, clause.proof), (heading, Some(proof)), "{id}");
    }
}

#[test]
fn a_draft_is_read_again_as_it_was_written() {
    for (name, _) in SHIPPED {
        let bid = Bid::of(&loaded(name), Some("Kestrow"), &ALL);
        assert_eq!(read(&to_toml(&bid, "")), bid, "{name}");
    }
    let overlay = root().join("demo-data/overlays/kestrow-limits.toml");
    let bid = Bid::of(&loaded(overlay.to_str().unwrap()), None, &ALL);
    assert!(bid.rests_on[0].contains("changed by"), "{:?}", bid.rests_on);
    assert_eq!(read(&to_toml(&bid, "")), bid);
}

#[test]
fn an_overlay_that_is_not_in_force_is_not_told_as_a_change() {
    let overlay = root().join("demo-data/overlays/kestrow-expired.toml");
    let bid = Bid::of(&loaded(overlay.to_str().unwrap()), None, &ALL);
    let [rests_on] = bid.rests_on.as_slice() else { panic!("{:?}", bid.rests_on) };
    assert!(rests_on.contains("is not in force (") && !rests_on.contains("changed by"), "{rests_on}");
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![any::<String>(), "[ -~\n\t]{0,40}", Just("\"\"\"\\u{0}'#".to_owned())]
}

fn maybe<T: std::fmt::Debug + Clone>(of: impl Strategy<Value = T>) -> impl Strategy<Value = Option<T>> {
    prop::option::of(of)
}

fn demand() -> impl Strategy<Value = Demand> {
    let number = prop_oneof![-1e9..1e9_f64, Just(0.0), Just(1e300), Just(1e-300), Just(0.1)];
    prop_oneof![
        number.prop_map(Demand::Number),
        (-1e6..0.0_f64, 0.0..1e6_f64).prop_map(|(from, to)| Demand::Range { from, to }),
        prop::collection::vec(text(), 0..3).prop_map(Demand::Words),
        (text(), maybe(text())).prop_map(|(why, see)| Demand::Missing { why, see }),
    ]
}

fn basis() -> impl Strategy<Value = Option<Basis>> {
    maybe(prop::sample::select(vec![Basis::Read, Basis::SecondHand, Basis::Memory, Basis::Practice, Basis::Confirmed]))
}

fn row() -> impl Strategy<Value = Row> {
    let texts =
        (maybe(text()), maybe(text()), maybe(text()), maybe(text()), maybe(text()), maybe(text()), maybe(text()));
    (texts, maybe(demand()), maybe(text()), basis()).prop_map(|(texts, demand, source, basis)| {
        let (purpose, leads_to, level, zone, colour, class, item) = texts;
        Row { purpose, leads_to, level, zone, colour, class, item, demand, source, basis, place: Place::default() }
    })
}

fn clause() -> impl Strategy<Value = Clause> {
    let words = (text(), maybe(text()), maybe(text()), maybe(text()), maybe(text()), maybe(text()), maybe(text()));
    let quantity = maybe(prop::sample::select(vec!["flash-rate", "zone-total-optical-power", "attested"]));
    let strength = prop::sample::select(vec![Strength::Required, Strength::Advice, Strength::Caution]);
    let require =
        maybe(prop::sample::select(vec![Require::AtLeast, Require::Between, Require::Only, Require::Exactly]));
    let proof = maybe(prop::sample::select(vec![Proof::Document, Proof::Visual, Proof::Measurement]));
    let heading = prop::sample::select(Heading::WORDS.map(|(_, heading, _)| heading).to_vec());
    let chosen = (quantity, strength, require, proof, heading, basis());
    (words, chosen, maybe(text()), maybe(text()), prop::collection::vec(row(), 0..4)).prop_map(
        |(words, chosen, source, layout, rows)| {
            let (says, unit, tested, by, when, paper, deviation) = words;
            let (quantity, strength, require, proof, heading, basis) = chosen;
            let id = String::new();
            Clause {
                id,
                heading,
                says,
                quantity,
                unit,
                require,
                strength,
                layout,
                method: None,
                device: None,
                listen: None,
                proof,
                tested,
                by,
                when,
                paper,
                deviation,
                source,
                basis,
                rows,
                place: Place::default(),
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Printing a draft and reading it again gives the same clauses, whatever anybody wrote into them.
    #[test]
    fn whatever_a_draft_holds_it_is_read_again(
        clauses in prop::collection::vec(clause(), 1..4),
        title in maybe(text()),
        precedence in prop::collection::vec(text(), 0..3),
        place in maybe(text()),
        free in prop::collection::vec((text(), maybe(text()), basis()), 0..2),
        most_heads in maybe(1..1000_u32),
        (from, width) in (-360.0..0.0_f64, 0.1..360.0_f64),
        zone in text(),
        terms in prop::collection::vec((text(), maybe(text()), basis()), 0..3),
    ) {
        let mut bid = Bid { title, precedence, most_heads, ..Bid::default() };
        bid.acceptance = Acceptance { place, ..Acceptance::default() };
        bid.clauses = clauses;
        for (at, clause) in bid.clauses.iter_mut().enumerate() {
            clause.id = format!("set:clause-{at}");
        }
        bid.free = free.into_iter().map(|(says, source, basis)| Free { says, source, basis }).collect();
        let terms = terms.into_iter().map(|(says, source, basis)| Free { says, source, basis }).collect();
        let zones = vec![(zone, Degrees::new(from), Degrees::new(from + width))];
        bid.layouts = vec![Layout { id: "one".to_owned(), zones, step: None, levels: Vec::new(), dark_at_least: None, lit_above: None, voltage: None, terms }];
        prop_assert_eq!(read(&to_toml(&bid, "")), bid);
    }
}

#[test]
fn every_document_names_what_it_was_made_from() {
    let bid = Bid::of(&loaded("headlamp-flashing"), None, &ALL);
    for (ending, _) in BID_ENDINGS.iter().filter(|(ending, _)| *ending != "csv") {
        let named = named_in(&written(&bid, ending));
        assert_eq!(named.len(), 1, "{ending}");
        assert_eq!((named[0].name.as_str(), named[0].sha256.len()), ("a, 'b' & c.toml", 64), "{ending}");
    }
    // In a cell of a CSV quotes are doubled, and a plain name is a plain name.
    assert!(written(&bid, "csv").contains(&"0123456789abcdef".repeat(4)));
    let out =
        Command::cargo_bin("wayproof").unwrap().args(["bid", "headlamp-flashing", "--as-of", "2026-11-25"]).output();
    let text = String::from_utf8(out.unwrap().stdout).unwrap();
    assert_eq!(named_in(&text)[0].name, "headlamp-flashing (shipped)");
}

#[test]
fn the_matrix_has_a_row_for_each_limit_and_room_for_the_answer() {
    for name in ["zones-two-level", "ambulance-fixed-set", "sounders"] {
        let bid = Bid::of(&loaded(name), None, &ALL);
        let csv = written(&bid, "csv");
        let mut reader = csv::Reader::from_reader(csv.as_bytes());
        let head = reader.headers().unwrap().clone();
        assert_eq!(
            head.iter().skip(12).collect::<Vec<_>>(),
            ["complies", "figure_offered", "paper_offered", "deviation"]
        );
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        let of_clauses = rows.iter().filter(|row| bid.clauses.iter().any(|clause| clause.id == row[0]));
        let limits: usize = bid.clauses.iter().map(|clause| clause.rows.len()).sum();
        assert_eq!(of_clauses.clone().count(), limits, "{name}");
        for row in of_clauses {
            assert!(row.iter().skip(12).all(str::is_empty), "{row:?}");
            assert!(!row[6].is_empty() && !row[8].is_empty() && !row[9].is_empty() && !row[11].is_empty(), "{row:?}");
        }
    }
}

#[test]
fn the_page_stands_alone_escapes_what_it_is_given_and_says_what_is_from_memory() {
    let hostile = "<script>alert(1)</script> & \"Kestrow\"";
    let mut bid = Bid::of(&loaded("zones-two-level"), Some(hostile), &Wishes::default());
    bid.clauses[0].says = hostile.to_owned();
    bid.clauses[0].rows[0].zone = Some(hostile.to_owned());
    let page = written(&bid, "html");
    assert!(!page.contains("<script"), "a text was not escaped");
    for outside in ["http://", "https://", "src=", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
    for clause in &bid.clauses {
        let id = clause.id.replace('/', "&#x2f;");
        assert_eq!(page.matches(&format!(">{id}<")).count(), 1, "{id} in the matrix");
    }
    let known = bid.known();
    assert!(known.memory > 50 && known.memory < known.all);
    let top =
        format!("{} of {} limits and terms of zones, levels and flashes are from memory", known.memory, known.all);
    assert!(page.find(&top).unwrap() < page.find("zones-two-level:zone-total").unwrap());
    for text in [page, bid_text(&BidPaper { bid: &bid, rulesets: &[], inputs: &[], as_of: DAY, width: 100 })] {
        assert!(!text.to_lowercase().contains("certified") && !text.to_lowercase().contains("approved"));
        assert!(text.contains("authority having jurisdiction"));
    }
}

#[test]
fn a_purpose_leaves_out_what_is_asked_in_other_uses() {
    let rulesets = loaded("zones-two-level");
    let all = Bid::of(&rulesets, None, &ALL);
    let purposes = ["blocking".to_owned()];
    let some = Bid::of(&rulesets, None, &Wishes { purposes: &purposes, ..ALL });
    let count = |bid: &Bid, of: fn(&Row) -> bool| {
        bid.clauses.iter().flat_map(|clause| &clause.rows).filter(|row| of(row)).count()
    };
    assert_eq!(count(&some, |row| row.purpose.as_deref() == Some("calling")), 0);
    for of in [(|row| row.purpose.as_deref() == Some("blocking")) as fn(&Row) -> bool, |row| row.purpose.is_none()] {
        assert_eq!(count(&some, of), count(&all, of));
        assert!(count(&some, of) > 5);
    }
    let required = Bid::of(&rulesets, None, &Wishes::default());
    assert!(required.clauses.iter().all(|clause| clause.strength == Strength::Required));
    assert!(required.clauses.len() < all.clauses.len());
}

#[test]
fn units_stand_beside_every_figure() {
    let bid = Bid::of(&loaded("zones-two-level"), None, &ALL);
    let text = bid_text(&BidPaper { bid: &bid, rulesets: &[], inputs: &[], as_of: DAY, width: 120 });
    for clause in &bid.clauses {
        let unit = clause.known_unit().unwrap();
        let shown = text.split(&format!("{} (", clause.id)).nth(1).unwrap().split("\n\n").next().unwrap();
        let found = clause.rows.iter().all(Row::is_missing) || shown.contains(unit.symbol());
        assert!(found || unit.dimension() == Dimension::Words, "{}: {shown}", clause.id);
        for basis in clause.rows.iter().filter_map(|row| clause.basis_of(row)) {
            assert!(shown.contains(&format!("[{}]", basis.word())), "{}: {shown}", clause.id);
        }
    }
}

fn run(args: &[&str]) -> (i32, String, String) {
    let output =
        Command::cargo_bin("wayproof").unwrap().current_dir(root()).env("COLUMNS", "100").args(args).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn a_file_is_written_whole_and_never_over_another() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name).display().to_string();
    for ending in ["html", "csv", "toml"] {
        let file = path(&format!("bid.{ending}"));
        let args = ["bid", "road-horns", "--as-of", "2026-11-25", "-o", &file];
        assert_eq!(run(&args).0, 0);
        let first = std::fs::read(&file).unwrap();
        let (status, _, said) = run(&args);
        assert_eq!((status, std::fs::read(&file).unwrap() == first), (2, true));
        assert!(said.contains("is there already"), "{said}");
        assert_eq!(run(&[&args[..], &["--force"]].concat()).0, 0);
        assert_eq!(std::fs::read(&file).unwrap(), first, "the same files and day give the same bytes");
    }
    assert_eq!(run(&["bid", "check", &path("bid.toml")]).0, 0);
    for (args, says) in [
        (vec!["bid", "road-horn"], "did you mean `road-horns`?"),
        (vec!["bid"], "<RULESET>"),
        (vec!["bid", "colour-regions"], "holds regions of colours and no rules"),
        (vec!["bid", "road-horns", "-o", "bid.docx"], "ends in .html or .csv or .toml"),
        (vec!["bid", "zones-two-level", "--purpose", "parking"], "no limit is for the purpose `parking`"),
        (vec!["bid", "check"], "<FILE>"),
        (vec!["bid", "check", "nowhere.toml"], "there is no file"),
        (vec!["bid", "check", "demo-data/rescue-4/package.toml"], "`bid` is missing"),
        (vec!["bid", "check", "demo-data/bid-rescue/draft.toml", "--catalogue", "nowhere.toml"], "there is no file"),
    ] {
        let (status, out, said) = run(&args);
        assert_eq!(status, 2, "{args:?}: {out}");
        assert!(said.contains(says), "{args:?}: {said}");
    }
}

#[test]
fn a_document_tells_whether_its_rulesets_changed() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name).display().to_string();
    let rules = path("own.toml");
    let text = std::fs::read_to_string(root().join("rulesets/road-horns.toml")).unwrap();
    std::fs::write(&rules, &text).unwrap();
    for ending in ["html", "csv", "toml"] {
        let file = path(&format!("bid.{ending}"));
        std::fs::write(&rules, &text).unwrap();
        assert_eq!(run(&["bid", &rules, "-o", &file]).0, 0);
        let (status, out, _) = run(&["bid", &rules, "--verify", &file]);
        assert_eq!(status, 0, "{ending}: {out}");
        std::fs::write(&rules, format!("{text}# changed\n")).unwrap();
        let (status, out, _) = run(&["bid", &rules, "--verify", &file]);
        assert!(status == 1 && out.contains("CHANGED"), "{ending}: {out}");
    }
    assert_eq!(run(&["bid", &rules, "--verify", "Cargo.toml"]).0, 2);
}

#[test]
fn what_a_purchaser_reads() {
    let (status, text, _) = run(&["bid", "headlamp-flashing", "siren-104-at-7-m", "--as-of", "2026-11-25"]);
    assert_eq!(status, 0);
    insta::assert_snapshot!("bid_text", text);
    let bid = Bid::of(&loaded("headlamp-flashing"), Some("Kestrow: headlamps that flash"), &ALL);
    insta::assert_snapshot!("bid_toml", written(&bid, "toml"));
    insta::assert_snapshot!("bid_csv", written(&bid, "csv"));
    let page = written(&bid, "html");
    let body = page.split("<main>").nth(1).unwrap().split("<section aria-labelledby=\"made-from\">").next().unwrap();
    insta::assert_snapshot!("bid_html", body);
}
