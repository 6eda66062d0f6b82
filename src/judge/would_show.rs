//! What would show a finding that is open: the lines of an overlay that give a missing limit, the key of the catalogue or
//! the package that gives a missing figure, each with an example that can be pasted.

use super::unheard::{NO_EXPOSURE, lacks_table};
use crate::ruleset::{Demand, Limit, Rule, Ruleset};
use crate::units::Dimension;

/// A file of light, as it stands at an emitter.
const LIGHT: &str = "at the emitter in the catalogue, for example intensity = { file = \"report.csv\", frame = \"vertical-axis\", at = \"12.8 V\", uncertainty = \"8 %\" }";

/// The `[[change]]` of an overlay that fills all missing limits of a rule, to be pasted; each `...` is for a figure.
pub(super) fn change_to_type(ruleset: &Ruleset, rule: &Rule) -> String {
    if lacks_table(rule) {
        return rule_to_type(rule);
    }
    let ranges = rule.require.asks_a_range();
    let protocol = &ruleset.protocol;
    // Rows as a table prints them: what is alike of several zones or colours stands once.
    let mut rows: Vec<(String, Vec<String>)> = Vec::new();
    for limit in rule.limits.iter().filter(|limit| matches!(limit.demand, Demand::Missing { .. })) {
        let level = limit.level.and_then(|at| protocol.levels.get(at)).map(|level| &level.name);
        let keys = [
            ("purpose", limit.purpose.as_ref()),
            ("leads-to", limit.leads_to.as_ref()),
            ("level", level),
            ("item", limit.item.as_ref()),
            ("class", limit.class.as_ref()),
            ("colour", limit.zone.and(limit.colour.as_ref())),
        ];
        let mut row: String =
            keys.iter().filter_map(|(key, name)| Some(format!("{key} = \"{}\", ", (*name)?))).collect();
        let zone = limit.zone.and_then(|at| protocol.zones.sectors.get(at)).map(|sector| ("zones", &sector.name));
        let (key, cell) = match zone.or(limit.colour.as_ref().map(|colour| ("colours", colour))) {
            Some((key, name)) if ranges => (key, format!("{name} = {{ from = ..., to = ... }}")),
            Some((key, name)) => (key, format!("{name} = ...")),
            None if ranges => ("", "from = ..., to = ...".to_owned()),
            None => ("", "value = ...".to_owned()),
        };
        row.push_str(key);
        match rows.iter_mut().find(|(known, cells)| *known == row && !cells.contains(&cell)) {
            Some((_, cells)) => cells.push(cell),
            None => rows.push((row, vec![cell])),
        }
    }
    let row = |(row, cells): &(String, Vec<String>)| {
        let cells = cells.join(", ");
        if row.ends_with("zones") || row.ends_with("colours") {
            format!("{{ {row} = {{ {cells} }} }}")
        } else {
            format!("{{ {row}{cells} }}")
        }
    };
    let rows: Vec<String> = rows.iter().map(row).collect();
    let limits = match rows.as_slice() {
        [one] => format!("limits = [{one}]"),
        more => format!("limits = [\n  {},\n]", more.join(",\n  ")),
    };
    let unit = match rule.unit.dimension() {
        Dimension::Words => String::new(),
        _ => format!("  # unit: {}", rule.unit),
    };
    format!("[[change]]\nrule = \"{}\"\n{OWN_COPY}\n{limits}{unit}", rule.id)
}

const OWN_COPY: &str = "cite = { own = \"edition and clause of your own copy, and who looked\" }";

/// A rule with a table of levels in the place of one whose table is missing: a change gives a limit, and no table.
fn rule_to_type(rule: &Rule) -> String {
    let terms = rule.listen.clone().unwrap_or_default();
    let list = |words: Vec<&str>| words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ");
    let mut keys = Vec::new();
    if !terms.of.is_empty() {
        keys.push(format!("of = [{}]", list(terms.of.iter().map(|kind| kind.word()).collect())));
    }
    if !terms.tones.is_empty() {
        keys.push(format!("tones = [{}]", list(terms.tones.iter().map(String::as_str).collect())));
    }
    keys.extend(terms.distance.map(|distance| format!("distance = \"{} m\"", distance.value())));
    keys.push("table = [[\"... deg\", \"... dB(A)\"], [\"... deg\", \"... dB(A)\"]]".to_owned());
    keys.extend(terms.low.map(|(points, by)| format!("low = {{ points = {points}, by = \"{} dB\" }}", by.value())));
    let classes = rule.limits.iter().map(|limit| limit.class.as_ref());
    let rows = classes.map(|class| match class {
        Some(class) => format!("{{ class = \"{class}\", value = 0 }}"),
        None => "{ value = 0 }".to_owned(),
    });
    format!(
        "[[remove]]\nrule = \"{id}\"\n{OWN_COPY}\n[[rule]]\nid = \"{id}-by-own-copy\"\n\
         says = \"At each angle of the table the level is as great as it asks.\"\nquantity = \"{}\"\nunit = \"{}\"\n\
         require = \"{}\"\nlisten = {{ {} }}  # a row a point of the table\n{OWN_COPY}\nlimits = [{}]",
        rule.quantity.name,
        rule.unit,
        rule.require.word(),
        keys.join(", "),
        rows.collect::<Vec<_>>().join(", "),
        id = rule.id,
    )
}

/// What would show it, for a note on what is missing.
pub(super) fn what_shows(note: &str, ruleset: &Ruleset, rule: &Rule, limit: &Limit) -> String {
    let found = |sign: &str| note.contains(sign);
    if note.starts_with("only bounds") {
        "the same `clock` for all heads that one controller keeps in step".to_owned()
    } else if found("no chromaticity") {
        "x and y from the lamp's report, at the emitter in the catalogue, for example chromaticity = [0.690, 0.305]"
            .to_owned()
    } else if found("inside `") || found("outside `") {
        "a chromaticity that is measured more closely, at the emitter in the catalogue, for example \
         chromaticity-uncertainty = 0.001"
            .to_owned()
    } else if found("states no uncertainty") {
        format!("the uncertainty of the report, {LIGHT}")
    } else if found("no data for") {
        format!("a laboratory's or maker's file that covers these directions, {LIGHT}")
    } else if found("no current is given") {
        "what the lamp draws while lit and while dark, at the emitter in the catalogue, for example \
         current = { lit = \"1.8 A\", standby = \"0.02 A\" }"
            .to_owned()
    } else if let Some(what) = of_supply(note).or_else(|| of_sound(note)) {
        what.to_owned()
    } else if note.starts_with("no `max-height`") {
        let model = note.rsplit('`').nth(1).unwrap_or_default();
        format!("what its maker states, at the model `{model}` in the catalogue, for example max-height = \"120 in\"")
    } else if note.starts_with("it is never dimmed") {
        "a display that dims it, in the package, for example dim-to = \"40 %\"".to_owned()
    } else if let Some(item) = note.strip_prefix("nobody has answered for ") {
        let item = item.trim_matches('`');
        let answer = match rule.unit.dimension() {
            Dimension::Words => "answer = \"...\"".to_owned(),
            _ => format!("value = \"... {}\"", rule.unit),
        };
        format!("in the package: [[statement]] item = \"{item}\", {answer}, by = \"who\", on = the day (a line each)")
    } else if note.starts_with("no class is claimed") {
        let class = match &limit.demand {
            Demand::Words(words) => words.first().map_or("1", String::as_str),
            _ => limit.class.as_deref().unwrap_or("1"),
        };
        let model = note.rsplit('`').nth(1).unwrap_or_default();
        let classes = format!("classes = {{ {} = \"{class}\" }}", ruleset.id);
        format!("the class on its mark, at the model `{model}` in the catalogue, for example {classes}")
    } else if let (true, Some(item)) = (rule.quantity.name.starts_with("stated-"), note.split('`').nth(1)) {
        format!("for `{item}` in the package: value = \"... {}\"", rule.unit)
    } else if note.starts_with("no head is in the group") {
        format!("{}: `groups` of the heads meant, in the package", note)
    } else if note.starts_with("no mode serves the purpose") {
        let purpose = note.split('`').nth(1).unwrap_or_default();
        format!("a mode with `purpose = \"{purpose}\"` in the package")
    } else if found("no [inputs]") {
        "[inputs] in the package, and `when` for its modes and displays".to_owned()
    } else if found("means = \"park\"") {
        "`means = \"park\"` for the input that reads the parking brake".to_owned()
    } else if note.starts_with("no `circuit`") || note.starts_with("no `output`") {
        format!("the `{}` of these heads in the package", note.split('`').nth(1).unwrap_or_default())
    } else {
        note.to_owned()
    }
}

/// What would show a figure of sound.
fn of_sound(note: &str) -> Option<&'static str> {
    const SIGNS: [(&str, &str); 20] = [
        (
            NO_EXPOSURE,
            "who hears what over a shift, in the package, for example [[exposure]] id = \"driver\", stretches = [{ level = \"84 dB(A)\", lasts = \"25 min\" }]",
        ),
        (
            "no sheet has the tone",
            "the tone by the same name in the rule's `tones` and at the model in the catalogue, or a [[model.sound]] of this tone",
        ),
        (
            "no state with reverse gear in can occur",
            "the input that reads reverse gear left free in `never`, so that it can be in",
        ),
        (
            "is stated without its distance",
            "how far away it was measured, at the tone in the catalogue, for example distance = \"3 m\"; a level says nothing without it",
        ),
        (
            "no level of the tone",
            "a laboratory's or maker's levels that cover this angle, at the tone in the catalogue, for example levels = [[\"0 deg\", \"120 dB(A)\"], [\"50 deg\", \"109 dB(A)\"]], symmetric = true",
        ),
        (
            "no `lowest-part` of",
            "from the siren's report, at the tone in the catalogue, for example lowest-part = \"6 dB\"",
        ),
        ("no `rate` of", "counted or from the sheet, at the tone in the catalogue, for example rate = \"12 /min\""),
        ("no `frequency` of", "from the sheet, at the tone in the catalogue, for example frequency = \"1250 Hz\""),
        ("is mounted is not said", "at the [[sounder]] in the package, for example mounted = \"bumper\""),
        (
            "no `ambient` level",
            "how loud it is where the vehicle works, in the package, for example [listening] ambient = \"75 dB(A)\"",
        ),
        (
            "what a closed car keeps out",
            "an assumption in the package, for example [listening] closed-car = \"25 dB\"; figures from 20 to 30 dB are published",
        ),
        (
            "what shut windows keep out",
            "measured at the seat, windows open against shut, in the package, for example [listening] windows-shut = \"20 dB\"",
        ),
        (
            "what the body takes is not declared",
            "a declared figure at the [[sounder]] in the package, for example screened = \"10 dB\", or a measurement there",
        ),
        (
            "what the ground adds is not stated",
            "what the ground adds where it is measured, in the package, for example [listening] reflection = \"3 dB\"",
        ),
        (
            "octaves not stated",
            "the octave bands of the sheet, at the tone in the catalogue, for example octaves = { 1000 = \"118 dB\", 2000 = \"117 dB\" }",
        ),
        (
            "speakers in step and against each other",
            "a measurement at this place; or the `amplifier` and the `polarity` of each speaker, where they are not said",
        ),
        (
            "is not said",
            "at the [[sounder]] in the package: `amplifier` names what drives it, polarity = \"normal\" or \"reversed\" how its wires lie",
        ),
        (
            "stands in between comes and goes",
            "a measurement with it there and away, or a place for the sounder that is free",
        ),
        ("means = \"reverse\"", "`means = \"reverse\"` for the input that reads reverse gear"),
        (
            "between bounds of the level at the ear",
            "a level measured at the ear, in the [[exposure]], for example { level = \"84 dB(A)\", lasts = \"25 min\" }",
        ),
    ];
    SIGNS.iter().find(|(sign, _)| note.contains(sign)).map(|(_, what)| *what)
}

/// What would show a figure of the electrical side.
fn of_supply(note: &str) -> Option<&'static str> {
    // The sign in the note, and what to type.
    const SIGNS: [(&str, &str); 16] = [
        (
            "no [supply]",
            "what feeds the vehicle, in the package, for example [supply] system = \"12 V\", then [[battery]], [[alternator]], [[circuit]] and [[load]]",
        ),
        (
            "no `hot-idle` output",
            "the curve of its maker or a measurement, at the [[alternator]], for example hot-idle = { output = \"128 A\", at = \"93 degC\", evidence = { grade = \"maker\" } }",
        ),
        (
            "no `wire` is described",
            "its wire, at the [[circuit]], for example wire = { size = \"12 AWG\", length = \"22 ft\", insulation = \"105 degC\" }",
        ),
        ("`insulation`", "the rating on the wire's jacket, in its `wire`, for example insulation = \"105 degC\""),
        ("`ampacity` is not stated", "what its maker lets it carry, in its `wire`, for example ampacity = \"25 A\""),
        (
            "no current is stated for",
            "what it draws, at its emitter in the catalogue, for example current = { lit = \"1.8 A\", standby = \"0.02 A\", at = \"12.8 V\" }",
        ),
        (
            "no `reserve` capacity",
            "the minutes on the battery's label, at the [[battery]], for example reserve = \"180 min\"",
        ),
        (
            "`exponent` of the battery",
            "the battery's two capacities, at the [[battery]], for example capacity = \"100 Ah\", at-rate = \"20 h\", reserve = \"180 min\", usable = \"50 %\"",
        ),
        (
            "no [[circuit]] is described",
            "the wires from each battery, in the package, for example [[circuit]] id = \"rear\", from = \"chassis\", fuse = { kind = \"blade\", rating = \"15 A\" }, wire = { ... }, and `circuit` at each head",
        ),
        ("no `circuit` is named for", "`circuit = \"...\"` at these heads in the package"),
        (
            "no `fuse` is described",
            "its fuse, at the [[circuit]] or at one that feeds it, for example fuse = { kind = \"blade\", rating = \"15 A\" }",
        ),
        (
            "more ways than are gone through",
            "fewer loads with a `when` of their own on one feed, or a package for each feed",
        ),
        (
            "hot-idle` output of",
            "a figure taken hot, at the [[alternator]], for example hot-idle = { output = \"128 A\", at = \"93 degC\" }",
        ),
        ("no `efficiency`", "what its maker states, for example efficiency = \"90 %\""),
        (
            "no published opening time",
            "a fuse of another rating or kind, or its maker's own times, which the tool does not read",
        ),
        ("no operating point", "a thicker or a shorter wire: see the voltage of this circuit"),
    ];
    SIGNS.iter().find(|(sign, _)| note.contains(sign)).map(|(_, what)| *what)
}
