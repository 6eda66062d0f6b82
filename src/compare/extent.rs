//! In how many states a vehicle is judged. Whoever describes fewer of them (an input left out, a door that never opens,
//! a mode that takes something for granted) is asked less, and a better figure is then no better vehicle.

use std::collections::BTreeSet;

use super::Offer;
use super::facts::when;
use super::inputs::stand_alike;
use crate::logic::{Condition, Region};
use crate::package::Mode;
use crate::units::format_number;

/// One thing that decides in how many states the offers are judged, where they differ in it.
#[derive(Clone, Debug, PartialEq)]
pub struct Extent {
    /// What it is.
    pub what: String,
    /// What each offer says of it.
    pub of: Vec<String>,
}

/// Where the states in which offers are judged differ; none where all are asked alike.
pub fn extents(offers: &[Offer<'_>]) -> Vec<Extent> {
    let same_inputs = offers.windows(2).all(|pair| match pair {
        [one, other] => stand_alike(one.conduct.package, other.conduct.package),
        _ => true,
    });
    let mut found = Vec::new();
    let mut told = |what: String, of: Vec<String>, differ: bool| {
        if differ {
            found.push(Extent { what, of });
        }
    };
    let each = |of: &dyn Fn(&Offer<'_>) -> String| offers.iter().map(of).collect::<Vec<String>>();
    let differ = |of: &[String]| of.windows(2).any(|pair| pair.first() != pair.last());
    let inputs = each(&inputs);
    let many = offers.iter().map(|offer| {
        let mut many: Vec<usize> = offer.conduct.space().inputs().list.iter().map(|one| one.positions.len()).collect();
        many.sort_unstable();
        many
    });
    let many: Vec<Vec<usize>> = many.collect();
    // An input by another name is the same input.
    told("inputs of the controller".to_owned(), inputs, many.windows(2).any(|pair| pair.first() != pair.last()));
    let sizes = |of: &dyn Fn(&Offer<'_>) -> Region| -> (Vec<String>, bool) {
        let regions: Vec<Region> = offers.iter().map(of).collect();
        let count = |(offer, region): (&Offer<'_>, &Region)| format_number(offer.conduct.space().count(region), 0);
        let counts: Vec<String> = offers.iter().zip(&regions).map(count).collect();
        let others = same_inputs && regions.windows(2).any(|pair| pair.first() != pair.last());
        let differ = others || differ(&counts);
        (counts, differ)
    };
    let (counts, others) = sizes(&|offer| offer.conduct.space().allowed().clone());
    let never = |offer: &Offer<'_>| {
        let package = offer.conduct.package;
        let never = package.never.iter().map(|condition| when(condition, package.space.inputs()));
        let never: Vec<String> = never.collect();
        if never.is_empty() { String::new() } else { format!(" (cannot occur: {})", never.join("; ")) }
    };
    let counts = counts.into_iter().zip(offers).map(|(count, offer)| format!("{count}{}", never(offer)));
    told("states that can occur".to_owned(), counts.collect(), others);
    let modes = offers.iter().flat_map(|offer| &offer.conduct.package.modes);
    for purpose in modes.filter_map(|mode| mode.purpose.as_deref()).collect::<BTreeSet<&str>>() {
        let (counts, differ) = sizes(&|offer| offer.conduct.purpose(purpose));
        told(format!("states judged for {purpose}"), counts, differ);
    }
    let conditions = |offer: &Offer<'_>| {
        let of_mode = |mode: &Mode| mode.assume.clone().map(|assume| (mode.purpose.clone(), assume));
        offer.conduct.package.modes.iter().filter_map(of_mode).collect::<Vec<_>>()
    };
    let said = each(&assumed);
    let others = offers.windows(2).any(|pair| match pair {
        [one, other] => conditions(one) != conditions(other),
        _ => false,
    });
    // What a mode or an input is called is no matter, where conditions speak of inputs by the same places.
    let others = if same_inputs { others } else { differ(&said) };
    told("what modes take for granted (`assume`)".to_owned(), said, others);
    for (what, of) in [("bodies that come and go", each(&bodies)), ("heads that move", each(&poses))] {
        let others = differ(&of);
        told(what.to_owned(), of, others);
    }
    found
}

fn listed(said: Vec<String>) -> String {
    if said.is_empty() { "none".to_owned() } else { said.join("; ") }
}

fn inputs(offer: &Offer<'_>) -> String {
    let inputs = offer.conduct.space().inputs();
    if !inputs.described {
        return "none described".to_owned();
    }
    listed(inputs.list.iter().map(|input| format!("{} ({})", input.id, input.positions.len())).collect())
}

fn assumed(offer: &Offer<'_>) -> String {
    let package = offer.conduct.package;
    let assumed = package.modes.iter().filter_map(|mode| {
        let assume = mode.assume.as_ref()?;
        Some(format!("{}: {}", mode.id, when(assume, package.space.inputs())))
    });
    listed(assumed.collect())
}

fn bodies(offer: &Offer<'_>) -> String {
    let comes_and_goes = offer.conduct.package.bodies.iter().filter(|body| body.when != Condition::Always);
    comes_and_goes.count().to_string()
}

fn poses(offer: &Offer<'_>) -> String {
    offer.conduct.package.heads.iter().filter(|head| !head.poses.is_empty()).count().to_string()
}
