//! A generated vehicle of any size: heads round a body, doors that hide them, displays laid over each other, dimming.
//! The first three inputs are the warning switch, park and night; each further one acts on one side of the vehicle.

use std::fmt::Write as _;

/// Lamps whose light is known in every direction ahead of them, so that no sum is a mere bound.
pub const CATALOGUE: &str = r#"
format = 1
[[model]]
id = "lamp"
[[model.emitter]]
colour = "red"
declared = { axis = "900 cd", half-angle = "50 deg" }
current = { lit = "0.9 A", standby = "0.01 A" }
[[model.emitter]]
colour = "amber"
declared = { axis = "700 cd", half-angle = "50 deg" }
current = { lit = "0.8 A", standby = "0.01 A" }
"#;

const TOP: &str = r#"format = 1
rules = ["zones-two-level"]
catalogues = ["catalogue.toml"]
[vehicle]
name = "Generated"
length = "8.4 m"
width = "2.5 m"
height = "3.1 m"
front-axle = { ahead = "3 m" }
rear-axle = { ahead = "-2 m" }
[[body]]
id = "box"
from = { ahead = "-4.1 m", right = "-1.2 m", height = "0.4 m" }
to = { ahead = "4.1 m", right = "1.2 m", height = "2.6 m" }
[[pattern]]
id = "double"
period = "800 ms"
pulses = [["0 ms", "50 ms"], ["100 ms", "150 ms"]]
[[pattern]]
id = "single"
period = "800 ms"
pulses = [["0 ms", "200 ms"]]
"#;

const SIDES: [&str; 4] = ["front", "right", "rear", "left"];

/// A package of so many inputs that are on or off (three at least) and so many heads.
pub fn package(inputs: usize, heads: usize) -> String {
    let mut text = TOP.to_owned();
    let mut shows = vec!["warning", "parked", "night"].into_iter().map(str::to_owned).collect::<Vec<_>>();
    shows.extend((3..inputs).map(|at| format!("signal-{at}")));
    text.push_str("[inputs]\n");
    for (at, input) in shows.iter().enumerate() {
        let kind = if at == 1 { "{ means = \"park\" }" } else { "\"bool\"" };
        writeln!(text, "{input} = {kind}").unwrap();
    }
    (0..heads).for_each(|at| add_head(&mut text, at, heads));
    add_display(&mut text, "sides", "warning", &[row("group", "all", "red", "double", "")]);
    add_display(&mut text, "amber", "warning and parked", &[row("group", "lower", "amber", "double", "")]);
    for (at, signal) in shows.iter().enumerate().skip(3) {
        act(&mut text, at, signal);
    }
    text.push_str("[[display]]\nid = \"by night\"\nwhen = \"night and parked\"\ndim-to = \"70 %\"\n");
    text.push_str("[[mode]]\nid = \"off\"\nwhen = \"not warning\"\n");
    text.push_str("[[mode]]\nid = \"driving\"\nwhen = \"warning and not parked\"\npurpose = \"calling\"\n");
    text.push_str("[[mode]]\nid = \"standing\"\nwhen = \"warning and parked\"\npurpose = \"blocking\"\n");
    text
}

/// Heads go round the vehicle, upper and lower in turn; those of one side share groups.
fn add_head(text: &mut String, at: usize, heads: usize) {
    let (side, row) = (at % 4, at / 4);
    // Never in the middle, where there is no left and no right.
    let along = (row as f64 + 0.43) / (heads as f64 / 4.0).ceil() - 0.5;
    let (ahead, right) = match side {
        0 => (4.15, 2.3 * along),
        1 => (7.6 * along, 1.25),
        2 => (-4.15, 2.3 * along),
        _ => (7.6 * along, -1.25),
    };
    let (level, height) = if row % 2 == 0 { ("upper", 2.4) } else { ("lower", 1.1) };
    let facing = SIDES[side];
    // One head runs free of all others.
    let clock = if at == 1 { "" } else { "clock = \"main\"\n" };
    writeln!(
        text,
        "[[head]]\nid = \"{facing}-{row}\"\nmodel = \"lamp\"\nfaces = \"{facing}\"\n{clock}\
         groups = [\"all\", \"{level}\", \"{facing}-{level}\", \"{facing}-{level}-{third}\"]\n\
         circuit = \"{facing}\"\noutput = \"{facing}-{level}\"\n\
         at = {{ ahead = \"{ahead:.3} m\", right = \"{right:.3} m\", height = \"{height} m\" }}",
        third = row / 2 % 3,
    )
    .unwrap();
}

/// What an input does: a door that opens before the heads of a side, or a display over some of them.
fn act(text: &mut String, at: usize, input: &str) {
    let (facing, turn) = (SIDES[at % 4], at / 4);
    let level = if turn % 2 == 0 { "upper" } else { "lower" };
    let third = format!("{facing}-{level}-{}", turn / 2 % 3);
    match turn % 5 {
        0 => add_door(text, input, at % 4, turn),
        1 => add_display(text, input, &format!("warning and {input}"), &[row("group", &third, "amber", "single", "")]),
        // Lamps that brake or signal a turn warn nobody meanwhile.
        2 => {
            let taken = row("group", &third, "red", "steady", ", role = \"stop\"");
            add_display(text, input, &format!("warning and {input} and not parked"), &[taken]);
        }
        3 => {
            let when = format!("warning and {input}");
            writeln!(text, "[[display]]\nid = \"{input}\"\nwhen = \"{when}\"\ndim-to = \"60 %\"").unwrap();
            writeln!(text, "show = [{{ group = \"{facing}-{level}\" }}]").unwrap();
        }
        _ => {
            let later = row("group", &third, "red", "double", ", phase = \"400 ms\"");
            add_display(text, input, &format!("warning and {input} and parked"), &[later]);
        }
    }
}

/// A door stands out from its side and hides what is seen past it.
fn add_door(text: &mut String, input: &str, side: usize, turn: usize) {
    let place = [-2.7, 1.9, 0.4, -1.1][turn / 5 % 4];
    let (from, to) = match side {
        0 => ((4.2, place / 3.0), (4.9, place / 3.0 + 0.05)),
        1 => ((place, 1.3), (place + 0.05, 2.1)),
        2 => ((-4.9, place / 3.0), (-4.2, place / 3.0 + 0.05)),
        _ => ((place, -2.1), (place + 0.05, -1.3)),
    };
    writeln!(
        text,
        "[[body]]\nid = \"{input}\"\nwhen = \"{input}\"\n\
         from = {{ ahead = \"{:.3} m\", right = \"{:.3} m\", height = \"0.5 m\" }}\n\
         to = {{ ahead = \"{:.3} m\", right = \"{:.3} m\", height = \"2.5 m\" }}",
        from.0, from.1, to.0, to.1
    )
    .unwrap();
}

fn add_display(text: &mut String, id: &str, when: &str, rows: &[String]) {
    writeln!(text, "[[display]]\nid = \"{id}\"\nwhen = \"{when}\"\nshow = [{}]", rows.join(", ")).unwrap();
}

fn row(who: &str, name: &str, colour: &str, pattern: &str, more: &str) -> String {
    format!("{{ {who} = \"{name}\", colour = \"{colour}\", pattern = \"{pattern}\"{more} }}")
}
