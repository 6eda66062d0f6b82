//! A ruleset on sound of one's own, for tests of sounders.

#![allow(dead_code)] // Each test file uses its own part of this.

use wayproof::judge::{Finding, Judged};

/// A rule; `listen` and `limits` hold what stands between their brackets.
pub fn rule(id: &str, quantity: &str, unit: &str, require: &str, listen: &str, limits: &str) -> String {
    format!(
        "[[rule]]\nid = \"{id}\"\nsays = \"As the yard wants it.\"\nquantity = \"{quantity}\"\nunit = \"{unit}\"\n\
         require = \"{require}\"\nlisten = {{ {listen} }}\ncite = {{ own = \"the yard\" }}\nlimits = [{limits}]\n"
    )
}

/// The ruleset `yard` with these rules.
pub fn yard(rules: &str) -> String {
    format!(
        "format = 1\n[ruleset]\nid = \"yard\"\ntitle = \"Yard\"\nedition = \"1\"\ndefers-to = \"the authority having \
         jurisdiction\"\n{rules}"
    )
}

/// A finding of the ruleset `yard`.
pub fn found<'j>(judged: &'j Judged, id: &str) -> &'j Finding {
    super::finding(judged, &format!("yard:{id}"))
}
