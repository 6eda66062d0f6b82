//! JSON Schemas (draft 2020-12) of the files that people write and of the record that `check` writes, so that an
//! editor completes and checks them. They are texts, compiled in; the readers do not use them and say more.

/// The schema of one kind of file.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// Its name on the command line, and that of its file in `rulesets/schemas`.
    pub name: &'static str,
    /// What such a file is.
    pub says: &'static str,
    /// The schema.
    pub text: &'static str,
}

/// Every kind.
pub const KINDS: &[Kind] = &[
    Kind {
        name: "package",
        says: "one vehicle: its lamps, how they are mounted and switched",
        text: include_str!("../../rulesets/schemas/package.json"),
    },
    Kind {
        name: "catalogue",
        says: "device models: what a laboratory or a maker says of them",
        text: include_str!("../../rulesets/schemas/catalogue.json"),
    },
    Kind {
        name: "ruleset",
        says: "requirements, each figure with its source",
        text: include_str!("../../rulesets/schemas/ruleset.json"),
    },
    Kind {
        name: "overlay",
        says: "what a state, a county or a contract changes in a ruleset",
        text: include_str!("../../rulesets/schemas/overlay.json"),
    },
    Kind {
        name: "readings",
        says: "what was read on a vehicle, line by line of its acceptance sheet",
        text: include_str!("../../rulesets/schemas/readings.json"),
    },
    Kind {
        name: "mapping",
        says: "what the columns of a spreadsheet mean, for `wayproof import`",
        text: include_str!("../../rulesets/schemas/mapping.json"),
    },
    Kind {
        name: "record",
        says: "what `wayproof check --format json` writes",
        text: include_str!("../../rulesets/schemas/record.json"),
    },
    Kind {
        name: "bid",
        says: "a draft of the requirements of a bid",
        text: include_str!("../../rulesets/schemas/bid.json"),
    },
];

/// The kind called `name`.
pub fn find(name: &str) -> Option<&'static Kind> {
    KINDS.iter().find(|kind| kind.name == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_kind_is_found_by_its_name_and_is_the_schema_of_it() {
        for kind in KINDS {
            let schema: serde_json::Value = serde_json::from_str(kind.text).unwrap();
            assert_eq!(schema["title"], format!("wayproof {}", kind.name));
            assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
            assert_eq!(find(kind.name).map(|found| found.text), Some(kind.text));
        }
        assert!(find("packages").is_none());
    }
}
