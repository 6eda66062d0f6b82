//! Catalogues that lie in folders which the person names: models that a sheet's parts may be, so that none is made anew.

use std::collections::BTreeMap;

/// The models of catalogues, by their ids.
#[derive(Clone, Debug, Default)]
pub struct Library {
    models: BTreeMap<String, Vec<Known>>,
}

/// A model as its catalogue says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Known {
    /// The name of the catalogue's file.
    pub file: String,
    pub colours: Vec<String>,
}

impl Library {
    /// Takes the models of a file by its name; a file that is no catalogue has none.
    pub fn add(&mut self, file: &str, text: &str) {
        let Ok(table) = text.parse::<toml::Table>() else { return };
        let tables = |table: &toml::Table, key: &str| -> Vec<toml::Table> {
            let all = table.get(key).and_then(toml::Value::as_array).into_iter().flatten();
            all.filter_map(|one| one.as_table().cloned()).collect()
        };
        let text = |table: &toml::Table, key: &str| table.get(key).and_then(toml::Value::as_str).map(str::to_owned);
        for model in tables(&table, "model") {
            let Some(id) = text(&model, "id") else { continue };
            let colours = tables(&model, "emitter").iter().filter_map(|emitter| text(emitter, "colour")).collect();
            self.models.entry(id).or_default().push(Known { file: file.to_owned(), colours });
        }
    }

    /// Whether any catalogue has a model of this id.
    pub(super) fn has(&self, id: &str) -> bool {
        self.models.contains_key(id)
    }

    /// The model of this id, where one catalogue alone has it.
    pub(super) fn model(&self, id: &str) -> Option<&Known> {
        match self.models.get(id).map(Vec::as_slice) {
            Some([one]) => Some(one),
            _ => None,
        }
    }
}
