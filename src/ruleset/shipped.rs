//! The rulesets that come with the tool, compiled in. Adding one is one file in `rulesets/` and one line here.

/// Id and text of each shipped ruleset.
pub const SHIPPED: &[(&str, &str)] = &[
    ("zones-two-level", include_str!("../../rulesets/zones-two-level.toml")),
    ("zones-one-level", include_str!("../../rulesets/zones-one-level.toml")),
    ("headlamp-flashing", include_str!("../../rulesets/headlamp-flashing.toml")),
    ("directional-arrow", include_str!("../../rulesets/directional-arrow.toml")),
    ("ambulance-fixed-set", include_str!("../../rulesets/ambulance-fixed-set.toml")),
    ("all-round-lamp", include_str!("../../rulesets/all-round-lamp.toml")),
    ("device-classes", include_str!("../../rulesets/device-classes.toml")),
    ("steady-and-switched-lamp-table", include_str!("../../rulesets/steady-and-switched-lamp-table.toml")),
    ("front-signal-at-500-ft", include_str!("../../rulesets/front-signal-at-500-ft.toml")),
    ("road-service-amber", include_str!("../../rulesets/road-service-amber.toml")),
    ("snow-and-maintenance", include_str!("../../rulesets/snow-and-maintenance.toml")),
    ("arrow-boards", include_str!("../../rulesets/arrow-boards.toml")),
    ("conspicuity-striping", include_str!("../../rulesets/conspicuity-striping.toml")),
    ("conspicuity-striping-ambulance", include_str!("../../rulesets/conspicuity-striping-ambulance.toml")),
    ("supply-12v", include_str!("../../rulesets/supply-12v.toml")),
    ("supply-24v", include_str!("../../rulesets/supply-24v.toml")),
    ("load-analysis", include_str!("../../rulesets/load-analysis.toml")),
    ("load-analysis-24v", include_str!("../../rulesets/load-analysis-24v.toml")),
    ("sounders", include_str!("../../rulesets/sounders.toml")),
    ("road-horns", include_str!("../../rulesets/road-horns.toml")),
    ("back-up-alarms", include_str!("../../rulesets/back-up-alarms.toml")),
    ("travel-alarms", include_str!("../../rulesets/travel-alarms.toml")),
    ("siren-90-to-120-at-20-m", include_str!("../../rulesets/siren-90-to-120-at-20-m.toml")),
    ("siren-110-at-3.5-m", include_str!("../../rulesets/siren-110-at-3.5-m.toml")),
    ("siren-104-at-7-m", include_str!("../../rulesets/siren-104-at-7-m.toml")),
    ("siren-cap-90-at-50-ft", include_str!("../../rulesets/siren-cap-90-at-50-ft.toml")),
];

/// The text of the shipped ruleset with this id.
pub fn find(id: &str) -> Option<&'static str> {
    SHIPPED.iter().find(|(known, _)| *known == id).map(|(_, text)| *text)
}

/// The purposes that shipped rulesets speak of.
pub const PURPOSES: &[&str] = &["calling", "blocking"];
