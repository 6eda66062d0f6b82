//! A small package with inputs to work by hand: lamps without any figure that matters, in four sectors.

use wayproof::judge::{Found, Judged};

use super::case::ruleset;
use super::{finding, judge_files};

/// A lamp of three colours; its light is a guess, for nothing here hangs on how much it is.
const CATALOGUE: &str = r#"
format = 1
[[model]]
id = "lamp"
[[model.emitter]]
colour = "red"
declared = { axis = "100 cd", half-angle = "60 deg" }
[[model.emitter]]
colour = "amber"
declared = { axis = "100 cd", half-angle = "60 deg" }
[[model.emitter]]
colour = "white"
declared = { axis = "100 cd", half-angle = "60 deg" }
"#;

const VEHICLE: &str = r#"
[vehicle]
name = "case"
length = "6 m"
width = "2 m"
height = "2 m"
front-axle = { ahead = "2 m" }
rear-axle = { ahead = "-2 m" }
[[pattern]]
id = "half"
period = "800 ms"
pulses = [["0 ms", "400 ms"]]
"#;

/// A package of these tables: `top` is what stands before the first of them.
pub fn package(top: &str, tables: &str) -> String {
    format!("format = 1\nrules = [\"case.toml\"]\ncatalogues = [\"catalogue.toml\"]\n{top}\n{VEHICLE}\n{tables}")
}

/// A head that many metres to the right (left where negative), 1 m high, facing front.
pub fn head(id: &str, right: f64, more: &str) -> String {
    format!(
        "[[head]]\nid = \"{id}\"\nmodel = \"lamp\"\nfaces = \"front\"\n\
         at = {{ ahead = \"2 m\", right = \"{right} m\", height = \"1 m\" }}\n{more}\n"
    )
}

/// A display that shows one head in a colour and pattern.
pub fn display(id: &str, when: &str, show: &str) -> String {
    format!("[[display]]\nid = \"{id}\"\nwhen = \"{when}\"\nshow = [{{ {show} }}]\n")
}

pub fn mode(id: &str, when: &str, more: &str) -> String {
    format!("[[mode]]\nid = \"{id}\"\nwhen = \"{when}\"\n{more}\n")
}

/// A rule, named after its quantity.
pub fn rule(quantity: &str, unit: &str, require: &str, limits: &str) -> String {
    format!(
        "[[rule]]\nid = \"{quantity}\"\nsays = \"a case\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n\
         require = \"{require}\"\ncite = {{ own = \"a case\" }}\nlimits = [{limits}]\n"
    )
}

pub fn judged(package: &str, rules: &str) -> Judged {
    judge_files(&[("package.toml", package), ("case.toml", &ruleset("both", rules)), ("catalogue.toml", CATALOGUE)])
}

/// The number found, if any.
pub fn number(judged: &Judged, place: &str) -> Option<f64> {
    match finding(judged, &format!("case:{place}")).found {
        Found::Number(number) => Some(number),
        _ => None,
    }
}

/// The words found.
pub fn words(judged: &Judged, place: &str) -> Vec<String> {
    match &finding(judged, &format!("case:{place}")).found {
        Found::Words(words) => words.clone(),
        other => panic!("{place}: {other:?}"),
    }
}

/// The state to set, in words.
pub fn state(judged: &Judged, place: &str) -> String {
    finding(judged, &format!("case:{place}")).witness.state.clone().unwrap_or_default()
}

/// All that is said beside it.
pub fn note(judged: &Judged, place: &str) -> String {
    finding(judged, &format!("case:{place}")).note()
}
