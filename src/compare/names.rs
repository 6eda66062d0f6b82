//! Lists of ids as a person writes them: mirrored pairs as one.

/// The id of the mirrored twin, where the id says its side.
pub(super) fn twin(id: &str) -> Option<String> {
    let left = id.strip_suffix("-left").map(|stem| format!("{stem}-right"));
    left.or_else(|| id.strip_suffix("-right").map(|stem| format!("{stem}-left")))
}

/// `rear-lower-left and -right, roof-beacon`: in the order given, a pair where its first stands.
pub fn folded(ids: &[String]) -> String {
    let mut said: Vec<String> = Vec::new();
    for (at, id) in ids.iter().enumerate() {
        let other = twin(id).and_then(|other| ids.iter().position(|known| *known == other));
        match other {
            // Its pair has been said.
            Some(other) if other < at => {}
            Some(_) if id.ends_with("-left") => said.push(format!("{id} and -right")),
            Some(_) => said.push(format!("{id} and -left")),
            None => said.push(id.clone()),
        }
    }
    said.join(", ")
}
