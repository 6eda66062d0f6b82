//! Lamps that every vehicle must have: flashed, taken for something else, hidden by what comes and goes.

use super::*;

fn troubles() -> String {
    let words = "{ value = [\"dimmed\", \"flashed\", \"hidden\", \"taken-over\", \"turned-away\"] }";
    rule("vehicle-lamp-troubles", "troubles", "none-of", words)
}

/// What is found, and the state to set.
fn trouble(tables: &str) -> (Vec<String>, String) {
    let judged = judged(&with_inputs(tables), &troubles());
    let place = "vehicle-lamp-troubles@vehicle";
    (words(&judged, place), state(&judged, place))
}

pub fn lit(when: &str, pattern: &str, role: &str) -> String {
    display(
        &format!("{role} {when}"),
        when,
        &format!("head = \"a\", colour = \"red\", pattern = \"{pattern}\", role = \"{role}\""),
    )
}

/// A turn signal flashes by its nature; no other lamp that the law asks of every vehicle may.
#[test]
fn a_vehicle_lamp_that_flashes_is_found() {
    for role in ["stop", "tail", "reverse"] {
        let lamp = head("a", 0.0, &format!("role = \"{role}\""));
        assert_eq!(trouble(&[&lamp, &*lit("door", "steady", role)].concat()), (vec![], String::new()), "{role}");
        let flashed = trouble(&[&lamp, &*lit("door and warning", "half", role)].concat());
        assert_eq!(flashed, (vec!["flashed".to_owned()], "warning on, door open".to_owned()), "{role}");
    }
    let turn = [head("a", 0.0, "role = \"turn\""), lit("door", "half", "turn")].concat();
    assert_eq!(trouble(&turn).0, [""; 0]);
    // An upper beam made to flash is the business of the rules on flashers.
    let beam = [head("a", 0.0, "role = \"upper-beam\""), lit("warning", "half", "headlamp-flasher")].concat();
    assert_eq!(trouble(&beam).0, [""; 0]);
}

#[test]
fn a_vehicle_lamp_that_is_taken_for_something_else_is_found() {
    let taken = |state: &str| (vec!["taken-over".to_owned()], state.to_owned());
    // The lamp itself used as a warning head.
    let stop = head("a", 0.0, "role = \"stop\"");
    assert_eq!(trouble(&[&stop, &*lit("warning", "half", "warning")].concat()), taken("warning on"));
    let lower_beam = head("a", 0.0, "role = \"headlamp\"");
    let flashed = trouble(&[&lower_beam, &*lit("warning", "half", "headlamp-flasher")].concat());
    assert_eq!(flashed, (vec!["flashed".to_owned(), "taken-over".to_owned()], "warning on".to_owned()));
    // A combination lamp: braking may come before warning, and not the other way round.
    let both = head("a", 0.0, "");
    let (brakes, warns) = (lit("door", "steady", "stop"), lit("warning", "half", "warning"));
    assert_eq!(trouble(&[&*both, &*warns, &*brakes].concat()).0, [""; 0]);
    assert_eq!(trouble(&[&*both, &*brakes, &*warns].concat()), taken("warning on, door open"));
    // What a later display gives back was not taken.
    let again = lit("door and warning", "steady", "tail");
    assert_eq!(trouble(&[&*both, &*brakes, &*warns, &*again].concat()).0, [""; 0]);
    let with_door = lit("door and parked", "steady", "tail");
    assert_eq!(trouble(&[&*both, &*brakes, &*warns, &*with_door].concat()), taken("warning on, park out, door open"));
    // One vehicle lamp over another takes nothing over.
    assert_eq!(trouble(&[&*both, &*brakes, &*lit("parked", "half", "turn")].concat()).0, [""; 0]);
}

/// The lamp stands 2 m ahead of the middle, 1 m high, and looks to the front. Boxes begin 0.2 m before it.
#[test]
fn a_vehicle_lamp_behind_something_that_comes_and_goes_is_found() {
    let body = |right: (f64, f64), height: (f64, f64), when: &str| {
        format!(
            "[[body]]\nid = \"gate\"\nfrom = {{ ahead = \"2.2 m\", right = \"{} m\", height = \"{} m\" }}\n\
             to = {{ ahead = \"2.4 m\", right = \"{} m\", height = \"{} m\" }}\n{when}\n",
            right.0, height.0, right.1, height.1
        )
    };
    let found = |body: &str, lit: &str| trouble(&[&head("a", 0.0, "role = \"tail\""), lit, body].concat());
    let always = lit("always", "steady", "tail");
    let (across, level, door) = ((-0.5, 0.5), (0.5, 1.5), "when = \"door\"");
    let hidden = |state: &str| (vec!["hidden".to_owned()], state.to_owned());
    assert_eq!(found(&body(across, level, door), &always), hidden("door open"));
    assert_eq!(found(&body(across, level, door), &lit("warning", "steady", "tail")), hidden("warning on, door open"));
    // Below the axis, beside it, never there while the lamp is lit.
    assert_eq!(found(&body(across, (0.5, 0.99), door), &always).0, [""; 0]);
    assert_eq!(found(&body((0.01, 0.5), level, door), &always).0, [""; 0]);
    assert_eq!(found(&body(across, level, door), &lit("not door", "steady", "tail")).0, [""; 0]);
    // What always stands there is where the builder chose to put the lamp.
    assert_eq!(found(&body(across, level, ""), &always).0, [""; 0]);
    // A warning head behind the door is for the rules on its light.
    let warning = [&*head("a", 0.0, ""), &*lit("always", "half", "warning"), &*body(across, level, door)].concat();
    assert_eq!(trouble(&warning).0, [""; 0]);
    // On the door the lamp moves out of the way with it.
    let pose = "role = \"tail\"\nposes = [{ when = \"door\", \
                at = { ahead = \"2 m\", right = \"0.8 m\", height = \"1 m\" }, faces = \"front\" }]";
    assert_eq!(trouble(&[&*head("a", 0.0, pose), &*always, &*body(across, level, door)].concat()).0, [""; 0]);
}

/// A display that dims without naming heads dims all of them, stop lamps too. A level of the row's own is how tail and
/// stop lamps share one head.
#[test]
fn a_vehicle_lamp_that_a_display_dims_is_found() {
    let dims = |show: &str| format!("[[display]]\nid = \"night\"\nwhen = \"warning\"\ndim-to = \"5 %\"\n{show}\n");
    let heads = [head("a", 0.0, "role = \"stop\""), head("b", 0.5, "")].concat();
    let (brakes, warns) =
        (lit("door", "steady", "stop"), display("b", "always", "head = \"b\", colour = \"red\", pattern = \"half\""));
    let found = |dims: &str| trouble(&[&*heads, &*brakes, &*warns, dims].concat());
    assert_eq!(found(&dims("")), (vec!["dimmed".to_owned()], "warning on, door open".to_owned()));
    assert_eq!(found(&dims("show = [{ head = \"b\" }]")).0, [""; 0]);
    let level = brakes.replace("role = \"stop\"", "role = \"stop\", dim-to = \"20 %\"");
    assert_eq!(trouble(&[&*heads, &*level, &*warns].concat()).0, [""; 0]);
}

/// On a gate that is let down a tail lamp looks elsewhere. 45 degrees are the bound (practice): 44 are not too much.
#[test]
fn a_vehicle_lamp_that_is_turned_away_is_found() {
    let found = |faces: &str, lit: &str| {
        let pose = format!(
            "role = \"tail\"\nposes = [{{ when = \"door\", \
             at = {{ ahead = \"2 m\", right = \"0 m\", height = \"0.6 m\" }}, faces = \"{faces}\" }}]"
        );
        trouble(&[&*head("a", 0.0, &pose), lit].concat())
    };
    let (always, turned) = (lit("always", "steady", "tail"), vec!["turned-away".to_owned()]);
    assert_eq!(found("rear", &always), (turned.clone(), "door open".to_owned()));
    assert_eq!(found("46 deg", &lit("warning", "steady", "tail")), (turned, "warning on, door open".to_owned()));
    assert_eq!(found("44 deg", &always).0, [""; 0]);
    assert_eq!(found("rear", &lit("not door", "steady", "tail")).0, [""; 0], "dark while it is turned away");
}
