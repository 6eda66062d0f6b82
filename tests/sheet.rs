//! The acceptance sheet: which lines stand on it, in which order, and that it can be filled in and read back.

mod common;

use std::collections::{BTreeMap, BTreeSet};

use assert_cmd::Command;
use common::{load_file, root, terms};
use wayproof::diagnostic::{Log, Sources, render};
use wayproof::judge::{Found, Judged, Verdict, judge};
use wayproof::measure::Conduct;
use wayproof::quantity::{Proof, on_vehicle};
use wayproof::readings::{Answer, COLUMNS, EXPLAINING, Line, Record, STOPS, judge_readings, lines, read};
use wayproof::ruleset::{Demand, Strength};

const DEMOS: [&str; 8] = [
    "rescue-4",
    "rescue-4-changed",
    "brush-2",
    "brush-2-complete",
    "medic-6",
    "amber-9",
    "brush-2-power-faults",
    "medic-6-sound-faults",
];

fn sheet(demo: &str) -> (Vec<Line>, Judged, String) {
    let (package, rulesets) = load_file(&root().join(format!("demo-data/{demo}/package.toml")), &[]);
    let conduct = Conduct::new(&package);
    let judged = judge(&conduct, &rulesets, terms());
    (lines(&conduct, &rulesets, &judged), judged, package.vehicle.name.clone())
}

/// Writes a document about a demo.
fn written(demo: &str, kind: &str, ending: &str) -> String {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join(format!("sheet.{ending}"));
    let package = format!("demo-data/{demo}/package.toml");
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(root()).args(["report", &package, "--as", kind, "--as-of", "2026-11-25", "-o"]).arg(&file);
    let output = command.output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let mut verify = Command::cargo_bin("wayproof").unwrap();
    let verify = verify.current_dir(root()).args(["report", &package, "--verify"]).arg(&file).output().unwrap();
    assert_eq!(verify.status.code(), Some(0), "{}", String::from_utf8_lossy(&verify.stdout));
    std::fs::read_to_string(file).unwrap()
}

#[test]
fn every_finding_that_can_be_shown_stands_on_one_line_and_light_on_none() {
    for demo in DEMOS {
        let (lines, judged, _) = sheet(demo);
        let mut on: BTreeMap<&str, usize> = BTreeMap::new();
        lines.iter().flat_map(|line| &line.findings).for_each(|id| *on.entry(id).or_default() += 1);
        let mut shown = 0;
        for finding in &judged.findings {
            let known = wayproof::quantity::find(finding.quantity).is_some();
            let asked = finding.verdict != Verdict::NotApplicable && known && !finding.is_meeting();
            let by_heads = on_vehicle(finding.quantity).proof == Proof::Heads;
            let lines = on.get(finding.id.as_str()).copied().unwrap_or(0);
            assert_eq!(lines, usize::from(asked && !by_heads), "{demo}: {}", finding.id);
            shown += lines;
        }
        assert!(shown > 20, "{demo}: {shown}");
        let ids: BTreeSet<&str> = lines.iter().map(|line| line.id.as_str()).collect();
        assert_eq!(ids.len(), lines.len(), "{demo}: each id once");
        let is_safe = |c: char| c.is_ascii_alphanumeric() || "._-:@/".contains(c);
        for line in &lines {
            assert!(line.id.chars().all(is_safe), "{demo}: {}", line.id);
            assert!(!line.says.is_empty() && !line.by_hand.is_empty(), "{demo}: {}", line.id);
        }
    }
}

#[test]
fn lines_stand_in_the_order_of_a_walk_and_each_head_is_looked_at_once() {
    for demo in ["rescue-4", "medic-6", "amber-9"] {
        let (lines, _, _) = sheet(demo);
        let stops: Vec<_> = lines.iter().map(|line| line.stop).collect();
        assert!(stops.is_sorted(), "{demo}");
        let identity: Vec<&Line> = lines.iter().filter(|line| line.id.starts_with("vehicle:heads@")).collect();
        let heads: Vec<&String> = identity.iter().flat_map(|line| &line.of).collect();
        assert_eq!(heads.iter().collect::<BTreeSet<_>>().len(), heads.len(), "{demo}");
        for (side, word) in [("front", "front"), ("right", "right side"), ("rear", "rear"), ("left", "left side")] {
            for line in identity.iter().filter(|line| line.id.contains(&format!("@{side}/"))) {
                assert_eq!(line.stop.word(), word, "{demo}: {}", line.id);
            }
        }
    }
    // Lamps of rescue-4 stand where their names say.
    let (lines, _, _) = sheet("rescue-4");
    for line in &lines {
        for head in line.of.iter().filter(|head| head.starts_with("rear-upper")) {
            assert!(["rear", "papers"].contains(&line.stop.word()), "{head} at {}", line.stop.word());
        }
        for head in line.of.iter().filter(|head| head.starts_with("side-upper") && head.contains("-left")) {
            assert!(["left side", "papers"].contains(&line.stop.word()), "{head} at {}", line.stop.word());
        }
    }
}

#[test]
fn a_current_is_read_in_amperes_against_the_stricter_of_fuse_and_wire() {
    let (lines, judged, _) = sheet("rescue-4");
    let line = lines.iter().find(|line| line.id == "supply-12v:fuse-continuous@side-warning").unwrap();
    assert!(line.findings.contains(&"supply-12v:wire-load@side-warning".to_owned()), "{:?}", line.findings);
    // 80 % of the 20 A fuse; what the wire may carry is more.
    let Demand::Number(limit) = line.limit else { panic!("{:?}", line.limit) };
    assert!((limit - 16.0).abs() < 1e-9 && line.unit.symbol() == "A", "{limit} {}", line.unit);
    let share = judged.findings.iter().find(|finding| finding.id == line.id).unwrap();
    let (Found::Number(share), Found::Number(current)) = (&share.found, &line.expected) else { panic!() };
    assert!((share / 100.0 * 20.0 - current).abs() < 1e-9);
}

/// What would be written into a line by a person who finds just what was computed.
fn as_computed(line: &Line) -> Option<(String, &'static str)> {
    match (&line.expected, line.answer) {
        (Found::Number(number), Answer::Figure | Answer::Count) => Some((number.to_string(), line.unit.symbol())),
        (Found::Words(words), _) if words.is_empty() => Some(("none".to_owned(), "")),
        (Found::Words(words), _) => Some((words.join(" "), "")),
        _ => None,
    }
}

/// What a line then has to come to, by the findings that it decides; none where no verdict was computed.
fn computed(line: &Line, judged: &Judged) -> Option<Verdict> {
    if matches!(line.limit, Demand::Missing { .. }) {
        return Some(Verdict::NotShown);
    }
    let findings = judged.findings.iter().filter(|finding| line.findings.contains(&finding.id));
    let verdicts: Vec<Verdict> = findings.map(|finding| finding.verdict).collect();
    let all = |verdict: Verdict| verdicts.iter().all(|one| *one == verdict);
    if verdicts.contains(&Verdict::Fail) { Some(Verdict::Fail) } else { all(Verdict::Pass).then_some(Verdict::Pass) }
}

#[test]
fn what_no_reading_could_show_is_asked_as_a_question_and_its_figure_stands_beside_it() {
    let asked = |lines: &[Line], id: &str| {
        let line = lines.iter().find(|line| line.id == id).unwrap_or_else(|| panic!("no line {id}"));
        assert_eq!(line.answer, Answer::YesNo, "{id}");
        (line.expected.clone(), line.whole(), line.by_hand.clone(), line.stop.word())
    };
    let answers = |word: &str| Found::Words(vec![word.to_owned()]);
    let (lines, _, _) = sheet("rescue-4");
    // At most none at all: with any uncertainty a reading of none is too close.
    let (expected, _, hand, _) = asked(&lines, "headlamp-flashing:alternating@vehicle");
    assert!(expected == answers("yes") && hand.ends_with("write yes where it is as required, else no"), "{hand}");
    // The current of a battery is not what its alternator has left.
    let (expected, _, hand, _) = asked(&lines, "load-analysis:hot-idle@blocking/chassis");
    assert!(expected == answers("yes") && hand.contains("no current out of the battery"), "{hand}");
    let (faults, _, _) = sheet("brush-2-power-faults");
    assert_eq!(asked(&faults, "load-analysis:hot-idle@blocking/chassis").0, answers("no"));
    let (_, whole, _, _) = asked(&lines, "supply-12v:wire-over-fuse@cab-feed/all");
    assert!(whole.ends_with("(>= 125 %)"), "{whole}");
    let (_, whole, _, stop) = asked(&sheet("amber-9").0, "arrow-boards:legibility@C/arrow-read-from");
    assert!(whole.ends_with("(class C, >= 5,280 ft)") && stop == "papers", "{whole} at {stop}");
    let written = |id: &str| lines.iter().find(|line| line.id == id).unwrap().by_hand.clone();
    assert!(written("supply-12v:fuse-pulses@side-warning").contains("write the length of the longest pulse"));
    assert!(written("supply-12v:voltage-drop@rear-warning").ends_with("such as 1.3 V of 13.8 V"));
    assert!(written("zones-two-level:flash-rate@calling/front-upper-1-left/all").ends_with("such as 76 in 60 s"));
}

/// An uncertainty that decides nothing.
fn none_of(line: &Line) -> String {
    match line.unit.dimension() {
        wayproof::units::Dimension::SoundLevel | wayproof::units::Dimension::Decibels => "1e-9 dB".to_owned(),
        wayproof::units::Dimension::Heads | wayproof::units::Dimension::Words => "1 %".to_owned(),
        _ => format!("1e-9 {}", line.unit.symbol()),
    }
}

/// Reads a filled sheet back and compares each line with what was computed.
fn compare(demo: &str, ending: &str, fill: impl Fn(&str, &[Line]) -> String) {
    let (sheet, judged, vehicle) = sheet(demo);
    let filled = fill(&written(demo, "sheet", ending), &sheet);
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join(format!("filled.{ending}"));
    std::fs::write(&file, filled).unwrap();
    let (sources, log) = (Sources::default(), Log::default());
    // The figures alone decide: how far a reading may be off is not what is looked at here.
    let simple = dir.path().join("simple.toml");
    std::fs::write(&simple, "format = 1\n[decision]\nrule = \"simple\"\n").unwrap();
    let record = read(&file, &sources, &log).zip(read(&simple, &sources, &log)).map(|(record, simple)| {
        let mut all = Record { decision: None, ..record };
        all.join(simple, &log);
        all
    });
    let read = record.and_then(|record| judge_readings((sheet, Vec::new()), record, &vehicle, terms(), &log));
    let read = read.unwrap_or_else(|| panic!("{demo}: {}", render(&log.take(), &sources, false)));
    let (mut pass, mut fail) = (0, 0);
    for (at, line) in read.lines.iter().enumerate() {
        let result = &read.results[at];
        if as_computed(line).is_none() {
            assert_eq!(result.judgement, None, "{demo}: {}", line.id);
            continue;
        }
        let judgement = &read.judgements[result.judgement.unwrap_or_else(|| panic!("{demo}: {} was read", line.id))];
        assert!(judgement.faults.is_empty(), "{demo}: {}: {:?}", line.id, judgement.faults);
        if let Some(verdict) = computed(line, &judged) {
            assert_eq!(result.verdict, verdict, "{demo}: {}", line.id);
        }
        pass += usize::from(result.verdict == Verdict::Pass);
        // A bound of what is not known well may lie beyond its limit.
        let required = line.strength == Strength::Required && line.is_value;
        fail += usize::from(required && result.verdict == Verdict::Fail);
    }
    assert!(pass > 10, "{demo}: {pass} pass");
    assert_eq!(fail > 0, demo.contains("faults"), "{demo}: {fail} fail");
}

#[test]
fn the_sheet_in_toml_filled_with_what_was_computed_comes_to_what_was_computed() {
    for demo in DEMOS.iter().filter(|demo| **demo != "rescue-4-changed") {
        compare(demo, "toml", |blank, sheet| {
            let mut filled = String::new();
            let mut line = None;
            for row in blank.lines() {
                if let Some(id) = row.strip_prefix("line = ") {
                    line = sheet.iter().find(|line| id == format!("\"{}\"", line.id));
                    assert!(line.is_some(), "{id}");
                }
                let computed = line.and_then(|line| Some((line, as_computed(line)?)));
                match (row, computed) {
                    (row, Some((line, (value, unit)))) if row.starts_with("value = \"\"") => {
                        filled.push_str(&format!("value = \"{value} {unit}\"\nby = \"t\"\non = 2026-11-18\n"));
                        filled.push_str(&format!("uncertainty = \"{}\"\n", none_of(line)));
                    }
                    ("instrument = \"\"", _) => filled.push_str("instrument = \"meter\"\n"),
                    (row, _) => filled.push_str(&format!("{row}\n")),
                }
            }
            filled.push_str("[[instrument]]\nid = \"meter\"\ncalibrated = 2026-11-01\n");
            filled
        });
    }
}

#[test]
fn the_sheet_as_a_table_filled_with_what_was_computed_comes_to_what_was_computed() {
    for demo in ["rescue-4", "medic-6", "brush-2-power-faults"] {
        compare(demo, "csv", |blank, sheet| {
            let text = blank.strip_prefix('\u{feff}').expect("a byte order mark");
            let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
            let header = reader.headers().unwrap().clone();
            let place = |name: &str| header.iter().position(|title| title == name).unwrap();
            // Saved with semicolons, as where the comma stands before decimals.
            let mut writer = csv::WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
            writer.write_record(&header).unwrap();
            for row in reader.records().map(Result::unwrap) {
                let line = sheet.iter().find(|line| line.id == row[place("line")]).unwrap();
                let mut cells: Vec<String> = row.iter().map(str::to_owned).collect();
                if let Some((value, unit)) = as_computed(line) {
                    assert_eq!(row[place("unit")], *unit, "{}", line.id);
                    let decimals = value.split_once('.').map_or(0, |(_, rest)| rest.len());
                    // Three decimals may be thousands; a fourth says that they are none.
                    let value = if decimals == 3 { value + "0" } else { value };
                    cells[place("value")] = value.replace('.', ",");
                    let none = none_of(line);
                    let more = [
                        ("uncertainty", none.as_str()),
                        ("instrument", "meter"),
                        ("by", "t"),
                        ("on", "2026-11-18"),
                        ("calibrated", "2026-11-01"),
                    ];
                    for (name, cell) in more {
                        cells[place(name)] = cell.to_owned();
                    }
                }
                writer.write_record(&cells).unwrap();
            }
            String::from_utf8(writer.into_inner().unwrap()).unwrap()
        });
    }
}

#[test]
fn a_blank_sheet_is_read_as_nothing_read() {
    for ending in ["toml", "csv"] {
        let (sheet, _, vehicle) = sheet("rescue-4");
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join(format!("blank.{ending}"));
        std::fs::write(&file, written("rescue-4", "sheet", ending)).unwrap();
        let (sources, log) = (Sources::default(), Log::default());
        let record = read(&file, &sources, &log).unwrap();
        assert_eq!((record.blank, record.readings.len()), (sheet.len(), 0), "{ending}");
        let judged = judge_readings((sheet, Vec::new()), record, &vehicle, terms(), &log).unwrap();
        assert_eq!((judged.tally.pass, judged.tally.status().code()), (0, 3), "{ending}");
        assert!(log.take().is_empty());
    }
}

#[test]
fn the_columns_of_the_table_are_those_that_are_read() {
    let text = written("rescue-4", "sheet", "csv");
    let header = text.trim_start_matches('\u{feff}').lines().find(|line| !line.starts_with('#')).unwrap();
    let known: BTreeSet<&str> = COLUMNS.iter().chain(EXPLAINING).copied().collect();
    let written: BTreeSet<&str> = header.split(',').collect();
    assert!(written.is_subset(&known), "{:?}", written.difference(&known));
    assert_eq!(written, known, "all can be filled in");
}

#[test]
fn the_printed_sheet_has_every_line_and_tells_a_screen_reader_what_its_tables_are() {
    let (lines, _, _) = sheet("rescue-4");
    let text = written("rescue-4", "sheet", "html");
    for line in &lines {
        // The rule stands once over its lines, each of which says where.
        let (rule, place) = line.id.split_once('@').unwrap();
        let (_, behind) = text.split_once(&format!("<code>{rule}</code>")).unwrap_or_else(|| panic!("{}", line.id));
        assert!(behind.contains(&format!("<code>@{}</code>", place.replace('/', "&#x2f;"))), "{}", line.id);
    }
    let tables = text.matches("<table").count();
    assert_eq!(text.matches("<caption>").count(), tables);
    assert_eq!(text.matches("<thead>").count(), tables - 1, "all but the first, whose rows have heads");
    assert_eq!(text.matches("<th scope=").count(), text.matches("<th").count() - text.matches("<thead>").count());
    let boxes = text.matches("<td class=\"box\">").count();
    assert_eq!(boxes, 7 * lines.len(), "as found, U, instrument, photo, initials, responsible, due");
    for tag in ["table", "tr", "td", "th", "section", "small", "code"] {
        let open = text.matches(&format!("<{tag}>")).count() + text.matches(&format!("<{tag} ")).count();
        assert_eq!(open, text.matches(&format!("</{tag}>")).count(), "{tag}");
    }
    let stops = STOPS.iter().filter(|(_, stop)| lines.iter().any(|line| line.stop == *stop)).count();
    assert_eq!(text.matches("<h2 id=\"stop-").count(), stops);
    for word in ["certified", "approved", "<script"] {
        assert!(!text.to_lowercase().contains(word), "{word}");
    }
    assert!(text.contains("AHJ") && text.contains("@page sheet"));
}

#[test]
fn what_a_ruleset_says_runs_in_no_spreadsheet_and_in_no_browser() {
    let dir = tempfile::tempdir().unwrap();
    let demo = root().join("demo-data/brush-2-complete");
    let package = std::fs::read_to_string(demo.join("package.toml")).unwrap();
    let rules = package.lines().find(|line| line.starts_with("rules = ")).expect("one line of rules").to_owned();
    let package = package.replace(&rules, "rules = [\"own.toml\"]");
    std::fs::write(dir.path().join("package.toml"), package).unwrap();
    for file in std::fs::read_dir(&demo).unwrap().map(|entry| entry.unwrap().path()) {
        if file.file_name().is_some_and(|name| name != "package.toml") {
            std::fs::copy(&file, dir.path().join(file.file_name().unwrap())).unwrap();
        }
    }
    let own = "format = 1\n[ruleset]\nid = \"own\"\ntitle = \"Own\"\nedition = \"1\"\ndefers-to = \"the AHJ\"\n\
               [[rule]]\nid = \"length\"\nsays = \"=1+1 <script>alert(1)</script>\"\nquantity = \"vehicle-length\"\nunit = \"in\"\n\
               require = \"at-most\"\ncite = { own = \"@here\" }\nlimits = [{ value = 400 }]\n";
    std::fs::write(dir.path().join("own.toml"), own).unwrap();
    let run = |ending: &str| {
        let file = dir.path().join(format!("sheet.{ending}"));
        let mut command = Command::cargo_bin("wayproof").unwrap();
        command.current_dir(root()).arg("report").arg(dir.path().join("package.toml"));
        command.args(["--as", "sheet", "--library", "demo-data/catalogue", "-o"]).arg(&file);
        let output = command.output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        std::fs::read_to_string(file).unwrap()
    };
    let table = run("csv");
    assert!(table.contains("'=1+1"), "{table}");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(table.as_bytes());
    for row in reader.records().map(Result::unwrap) {
        for cell in row.iter() {
            assert!(!cell.starts_with(['=', '+', '-', '@']) || cell == "-", "{cell}");
        }
    }
    let page = run("html");
    assert!(!page.contains("<script") && page.contains("=1+1 &lt;script&gt;"), "escaped");
}

#[test]
fn what_the_sheet_prints_as_computed_is_no_disagreement_when_it_is_typed_back() {
    for demo in ["rescue-4", "medic-6", "amber-9", "brush-2-power-faults"] {
        let (sheet, _, vehicle) = sheet(demo);
        let blank = written(demo, "sheet", "csv");
        let mut reader =
            csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(blank.trim_start_matches('\u{feff}').as_bytes());
        let header = reader.headers().unwrap().clone();
        let place = |name: &str| header.iter().position(|title| title == name).unwrap();
        let mut filled = "line,value,uncertainty,instrument,instrument-kind,no-calibration,by,on\n".to_owned();
        let mut typed = 0;
        for row in reader.records().map(Result::unwrap) {
            let line = sheet.iter().find(|line| line.id == row[place("line")]).unwrap();
            let expected = &row[place("expected")];
            assert_ne!(expected, "'-");
            if expected.is_empty() || expected.starts_with("not known well") {
                continue;
            }
            typed += 1;
            filled.push_str(&format!("{},{expected},{},m,meter,compared,t,2026-11-18\n", line.id, none_of(line)));
        }
        assert!(typed > 15, "{demo}: {typed}");
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("filled.csv");
        std::fs::write(&file, filled).unwrap();
        let (sources, log) = (Sources::default(), Log::default());
        let record = read(&file, &sources, &log);
        let read = record.and_then(|record| judge_readings((sheet, Vec::new()), record, &vehicle, terms(), &log));
        let read = read.unwrap_or_else(|| panic!("{demo}: {}", render(&log.take(), &sources, false)));
        for judgement in &read.judgements {
            assert!(!judgement.disagrees(), "{demo}: {}: {:?}", read.lines[judgement.line].id, judgement.faults);
        }
    }
}
