//! `wayproof power`: the load analysis sums, says what is left, and answers what one more lamp changes.

use assert_cmd::Command;

const DEMOS: [&str; 5] = ["rescue-4", "brush-2", "brush-2-complete", "medic-6", "amber-9"];

/// Standard output, standard error, exit status.
fn power(package: &str, more: &[&str]) -> (String, String, i32) {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).env("COLUMNS", "100").env("NO_COLOR", "1");
    command.args(["power", &format!("demo-data/{package}/package.toml"), "--as-of", "2026-11-25"]);
    let output = command.args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code().unwrap())
}

/// `2.21 to 2.32` or `0.15`, as two ends.
fn range(text: &str) -> (f64, f64) {
    let ends: Vec<f64> = text.split(" to ").map(|end| end.parse().unwrap()).collect();
    (ends[0], *ends.last().unwrap())
}

/// The columns of a row, which two blanks or more part.
fn columns(row: &str) -> Vec<&str> {
    row.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect()
}

/// The rows of a part and its sum.
type Part = (Vec<(f64, f64)>, (f64, f64));

/// The parts 2 and 3 of each battery.
fn parts(text: &str) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut rows = Vec::new();
    let mut inside = false;
    for line in text.lines() {
        if line.starts_with("2. ") || line.starts_with("3. ") {
            (inside, rows) = (true, Vec::new());
        } else if inside && line.trim().is_empty() {
            inside = false;
        } else if inside && line.trim_start().starts_with("sum") {
            parts.push((std::mem::take(&mut rows), range(columns(line)[1])));
        } else if inside && !line.contains("mean A") && line.trim() != "none" {
            rows.push(range(columns(line)[2]));
        }
    }
    parts
}

#[test]
fn the_figures_of_each_part_sum() {
    for package in DEMOS {
        let (text, _, status) = power(package, &[]);
        assert_eq!(status, 0, "{package}");
        for title in ["1. Alternators", "2. Minimum", "3. Loads that make", "4. Intermittent", "5. Test results"] {
            assert!(text.contains(title), "{package}: {title}");
        }
        let parts = parts(&text);
        assert!(!parts.is_empty(), "{package}");
        for (rows, (low, high)) in parts {
            assert!(!rows.is_empty());
            // Each printed figure is off by half a hundredth at the most.
            let off = 0.005 * f64::from(u32::try_from(rows.len() + 1).unwrap()) + 1e-9;
            let sum = |of: fn(&(f64, f64)) -> f64| rows.iter().map(of).sum::<f64>();
            assert!((sum(|row| row.0) - low).abs() <= off, "{package}: {rows:?} {low}");
            assert!((sum(|row| row.1) - high).abs() <= off, "{package}: {rows:?} {high}");
        }
    }
}

#[test]
fn what_is_left_is_what_the_alternators_give_less_all_that_is_drawn() {
    let (text, _, _) = power("brush-2-complete", &[]);
    let figure = |sign: &str| {
        let line = text.lines().find(|line| line.contains(sign)).unwrap_or_else(|| panic!("{sign}"));
        let after = line.split_once(sign).unwrap().1;
        after.trim_start_matches(':').trim().split(' ').next().unwrap().parse::<f64>().unwrap()
    };
    let total = figure("total continuous load (2 and 3)");
    let left = figure("left over the total continuous load");
    let charging = figure("beside the loads charging");
    let line = text.lines().skip_while(|line| *line != "Balance hot at idle").nth(1).unwrap();
    let output: f64 = line.trim().split(' ').next().unwrap().parse().unwrap();
    assert!((output - total - charging - left).abs() < 0.02, "{output} {total} {charging} {left}");
}

/// A rule judges the worst of a running engine's voltages, the page that of the regulator: the charger of the house bank
/// draws a few amperes more at the lower one, and nothing else sets the two apart.
#[test]
fn the_page_and_the_rule_tell_one_balance() {
    let (text, _, _) = power("rescue-4", &[]);
    let sign = "left over the minimum continuous load, converters at full output: ";
    let line = text.lines().find_map(|line| line.trim().strip_prefix(sign)).unwrap();
    let page = range(line.trim_end_matches(" A")).0;
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command.args(["check", "demo-data/rescue-4/package.toml", "--as-of", "2026-11-25", "--format", "json"]);
    let report: serde_json::Value = serde_json::from_slice(&command.output().unwrap().stdout).unwrap();
    let found = |id: &str| {
        let findings = report["findings"].as_array().unwrap();
        let one = findings.iter().find(|one| one["id"] == id).unwrap_or_else(|| panic!("{id}"));
        one["found"].as_f64().unwrap()
    };
    let rule = found("load-analysis:hot-idle@blocking/chassis");
    assert!(rule < page && page - rule < 3.0, "{rule} {page}");
    // The house bank's charger gives 40 A against the 3.3 A of the terminal.
    assert!((found("load-analysis:hot-idle@blocking/house") - (40.0 - 45.0 / 13.8)).abs() < 0.1);
}

#[test]
fn some_states_draw_no_more_than_all() {
    let all = power("rescue-4", &["--when", "warning in [off, low, high]"]).0;
    let off = power("rescue-4", &["--when", "warning == off and not high-beam"]).0;
    let rms = |text: &str, circuit: &str| {
        let row = text.lines().find(|line| line.starts_with(circuit)).map(columns);
        // Where nothing flows there is no figure.
        row.map_or(0.0, |row| row[3].split(" to ").last().unwrap().parse::<f64>().unwrap_or(0.0))
    };
    for circuit in ["front-warning", "side-warning", "rear-warning"] {
        assert!(rms(&off, circuit) < rms(&all, circuit), "{circuit}");
    }
}

#[test]
fn one_more_lamp_draws_more_and_says_so() {
    let lamp = "model=edge-lamp-red-amber,like=rear-upper-1-left,circuit=rear-warning";
    let (text, _, status) = power("rescue-4", &["--with", lamp]);
    assert_eq!(status, 0, "{text}");
    let sign = "- supply-12v:fuse-continuous@rear-warning: ";
    let row = text.lines().find_map(|line| line.strip_prefix(sign)).unwrap();
    let (before, now) = row.split_once(" to ").unwrap();
    let now = now.split(' ').next().unwrap();
    assert!(now.parse::<f64>().unwrap() > before.parse::<f64>().unwrap(), "{row}");
    insta::assert_snapshot!("one_more_lamp", text);
}

#[test]
fn too_many_lamps_on_one_wire_fail() {
    // The thin wire of the faulty vehicle carries one more lamp even worse.
    let lamp = "model=midship-lamp,like=fender-left";
    let (text, _, status) = power("brush-2-power-faults", &["--with", lamp]);
    assert_eq!(status, 1, "{text}");
    let row = text.lines().find(|line| line.starts_with("X supply-12v:voltage-drop@side: 19.9 to ")).unwrap();
    assert!(row.ends_with("fail"), "{row}");
}

#[test]
fn what_is_not_known_is_told() {
    for (with, told) in [
        ("model=edge-lamp-red-ambr,like=rear-upper-1-left", "did you mean `edge-lamp-red-amber`?"),
        ("model=edge-lamp-red-amber,like=rear-uper-1-left", "did you mean `rear-upper-1-left`?"),
        ("model=edge-lamp-red-amber,like=rear-upper-1-left,circuit=rear", "there is no circuit `rear`"),
        ("model=edge-lamp-red-amber,like=rear-upper-1-left,pattern=none", "there is no pattern `none`"),
        ("model=scene-lamp,like=rear-upper-1-left", "say colour=white"),
        ("model=scene-lamp", "`like=` is missing"),
        ("model", "`model` is not KEY=VALUE"),
        ("lamp=scene-lamp", "`lamp` is not known here"),
        ("model=a,model=b", "`model` stands twice"),
    ] {
        let (out, error, status) = power("rescue-4", &["--with", with]);
        assert_eq!((out.as_str(), status), ("", 2), "{with}");
        assert!(error.contains(told), "{with}: {error}");
    }
    let (_, error, status) = power("rescue-4", &["--purpose", "parking"]);
    assert_eq!(status, 2);
    assert!(error.contains("no mode serves the purpose `parking`"), "{error}");
}

#[test]
fn the_page_reads_at_80_columns() {
    let mut command = Command::cargo_bin("wayproof").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR")).env("COLUMNS", "80").env("NO_COLOR", "1");
    let output = command.args(["power", "demo-data/rescue-4/package.toml", "--as-of", "2026-11-25"]).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    insta::assert_snapshot!("rescue_4_80", text);
}
