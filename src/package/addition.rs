//! One more lamp on a package that is whole: it stands where another head stands, and is lit whenever that one is.

use std::rc::Rc;

use super::{Head, Package, STEADY};
use crate::diagnostic::nearest;

/// What is said of a lamp that is to be added.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Addition {
    /// The head beside which it stands, and with which it is lit.
    pub like: String,
    /// Its model.
    pub model: String,
    /// What feeds it; what feeds that head, without.
    pub circuit: Option<String>,
    /// Its pattern; that head's, without.
    pub pattern: Option<String>,
    /// Its colour; that head's where the model has it, without.
    pub colour: Option<String>,
}

/// The id of the lamp.
const ID: &str = "added-lamp";

impl Addition {
    /// Reads `model=..,like=..,circuit=..,pattern=..,colour=..`.
    ///
    /// # Errors
    /// Says which key is missing, not known, or stands twice.
    pub fn parse(text: &str) -> Result<Self, String> {
        const KEYS: [&str; 5] = ["model", "like", "circuit", "pattern", "colour"];
        let mut said: [Option<String>; 5] = Default::default();
        for part in text.split(',') {
            let (key, value) = part.split_once('=').ok_or_else(|| format!("`{part}` is not KEY=VALUE"))?;
            let at = KEYS.iter().position(|known| *known == key.trim());
            let slot = at.and_then(|at| said.get_mut(at));
            let slot = slot.ok_or_else(|| format!("`{}` is not known here: {}", key.trim(), KEYS.join(", ")))?;
            if slot.replace(value.trim().to_owned()).is_some() {
                return Err(format!("`{}` stands twice", key.trim()));
            }
        }
        let [model, like, circuit, pattern, colour] = said;
        let needed = |value: Option<String>, key: &str| value.ok_or_else(|| format!("`{key}=` is missing: {EXAMPLE}"));
        Ok(Self { model: needed(model, "model")?, like: needed(like, "like")?, circuit, pattern, colour })
    }
}

const EXAMPLE: &str = "model=edge-lamp-red-amber,like=rear-upper-1-left,circuit=rear-warning";

impl Package {
    /// Adds a lamp; the package is then that of the vehicle with it. The answer is its id.
    ///
    /// # Errors
    /// Says which name is not known, with one that is near.
    pub fn add(&mut self, addition: &Addition) -> Result<&'static str, String> {
        let at = place("head", &addition.like, self.heads.iter().map(|head| head.id.as_str()))?;
        let model = place("model", &addition.model, self.models.iter().map(|model| model.id.as_str()))?;
        let pattern = match addition.pattern.as_deref() {
            None => None,
            Some(STEADY) => Some(None),
            Some(name) => Some(Some(place("pattern", name, self.patterns.iter().map(|pattern| pattern.id.as_str()))?)),
        };
        let like = self.heads.get(at).cloned().ok_or("the head is not there")?;
        let colours: Vec<String> = match (self.models.get(model), self.models.get(like.model)) {
            (Some(new), Some(old)) => {
                let colour = |show: usize| old.emitters.get(show).map_or("", |emitter| emitter.colour.as_str());
                let wanted = |show: usize| addition.colour.as_deref().unwrap_or_else(|| colour(show));
                let found = |show: usize| new.emitters.iter().position(|emitter| emitter.colour == wanted(show));
                let shows = self.displays.iter_mut().flat_map(|display| &mut display.shows);
                // Every colour is found before anything is changed.
                let of_head: Vec<usize> = shows.filter(|show| show.head == at).map(|show| show.emitter).collect();
                if let Some(show) = of_head.iter().find(|show| found(**show).is_none()) {
                    let known: Vec<&str> = new.emitters.iter().map(|emitter| emitter.colour.as_str()).collect();
                    let wanted = wanted(*show);
                    return Err(format!("`{}` has no {wanted}: say colour={}", new.id, known.join(" or colour=")));
                }
                old.emitters.iter().enumerate().map(|(show, _)| wanted(show).to_owned()).collect()
            }
            _ => Vec::new(),
        };
        let circuit = addition.circuit.clone().or(like.circuit.clone());
        if let Some(supply) = self.supply.as_mut().and_then(Rc::get_mut) {
            let names = || supply.circuits.iter().map(|circuit| circuit.id.as_str());
            let of_it = circuit.as_deref().map(|name| place("circuit", name, names())).transpose()?;
            supply.of_heads.push(of_it);
        }
        let new = self.heads.len();
        self.heads.push(Head { id: ID.to_owned(), model, circuit, output: None, serial: None, ..like });
        let emitters = self.models.get(model).map_or(&[][..], |model| model.emitters.as_slice());
        for display in &mut self.displays {
            let mut added = Vec::new();
            for show in display.shows.iter().filter(|show| show.head == at) {
                let colour = colours.get(show.emitter).map_or("", String::as_str);
                let Some(emitter) = emitters.iter().position(|emitter| emitter.colour == colour) else { continue };
                added.push(super::Show {
                    head: new,
                    emitter,
                    pattern: pattern.unwrap_or(show.pattern),
                    ..show.clone()
                });
            }
            display.shows.extend(added);
            if let Some(dims) = display.dims.as_mut().filter(|dims| dims.heads.contains(&at)) {
                dims.heads.push(new);
            }
        }
        Ok(ID)
    }
}

fn place<'n>(kind: &str, name: &str, known: impl Iterator<Item = &'n str>) -> Result<usize, String> {
    let known: Vec<&str> = known.collect();
    known.iter().position(|one| *one == name).ok_or_else(|| {
        let near = nearest(name, &known).map(|near| format!("; did you mean `{near}`?")).unwrap_or_default();
        format!("there is no {kind} `{name}`{near}")
    })
}
