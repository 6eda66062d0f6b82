//! The rulesets that come with the tool, compiled in. Adding one is one file in `rulesets/` and one line here.

/// Id and text of each shipped ruleset.
pub const SHIPPED: &[(&str, &str)] = &[
    ("zones-two-level", include_str!("../../rulesets/zones-two-level.toml")),
    ("zones-one-level", include_str!("../../rulesets/zones-one-level.toml")),
    ("headlamp-flashing", include_str!("../../rulesets/headlamp-flashing.toml")),
    ("directional-arrow", include_str!("../../rulesets/directional-arrow.toml")),
];

/// The text of the shipped ruleset with this id.
pub fn find(id: &str) -> Option<&'static str> {
    SHIPPED.iter().find(|(known, _)| *known == id).map(|(_, text)| *text)
}

/// The purposes that shipped rulesets speak of.
pub const PURPOSES: &[&str] = &["calling", "blocking"];
