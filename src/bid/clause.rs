//! One clause: a rule's demand in our own words with all that a test of it needs. Its limits stand in one table.

use super::proof::{Heading, Proof, deviation, heading_of, paper, party, proof_of, stage};
use crate::diagnostic::Span;
use crate::measure::Method;
use crate::quantity::{self, DeviceTerms, ListenTerms, Quantity};
use crate::ruleset::{Basis, Citation, Demand, Limit, Require, Rule, Ruleset, Strength};
use crate::units::Unit;

/// One demand. What is left out may be a fault of the draft, so most of it may be missing.
#[derive(Clone, Debug, PartialEq)]
pub struct Clause {
    /// Its id: `ruleset:rule`, or what the author of the draft calls it.
    pub id: String,
    /// Under which heading it stands.
    pub heading: Heading,
    /// What is asked, in words.
    pub says: String,
    /// The name of what is measured, counted or seen, if the tool knows it.
    pub quantity: Option<&'static str>,
    /// The unit of its limits, as written.
    pub unit: Option<String>,
    /// How found and limit are compared.
    pub require: Option<Require>,
    /// Whether it decides.
    pub strength: Strength,
    /// By which zones and levels it goes.
    pub layout: Option<String>,
    /// From where one looks.
    pub method: Option<Method>,
    /// Of which lamps, and where on them one looks.
    pub device: Option<DeviceTerms>,
    /// Of which sounders, and where one listens.
    pub listen: Option<ListenTerms>,
    /// What kind of proof there is.
    pub proof: Option<Proof>,
    /// How it is tested.
    pub tested: Option<String>,
    /// Who shows it, and who looks.
    pub by: Option<String>,
    /// At which stage.
    pub when: Option<String>,
    /// What paper proves it.
    pub paper: Option<String>,
    /// What a deviation must state.
    pub deviation: Option<String>,
    /// Where its limits come from.
    pub source: Option<String>,
    /// How they are known.
    pub basis: Option<Basis>,
    /// Its limits.
    pub rows: Vec<Row>,
    /// Its place in the draft.
    pub place: Place,
}

/// One limit, and where it holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Row {
    /// For which purpose.
    pub purpose: Option<String>,
    /// Into which purpose a change has to lead.
    pub leads_to: Option<String>,
    /// On which level.
    pub level: Option<String>,
    /// In which zone.
    pub zone: Option<String>,
    /// For light or lamps of which colour.
    pub colour: Option<String>,
    /// For devices of which class.
    pub class: Option<String>,
    /// About which thing a person states something.
    pub item: Option<String>,
    /// What is asked, in the clause's unit; nothing where the draft does not say.
    pub demand: Option<Demand>,
    /// Where it comes from, if not from where the clause does.
    pub source: Option<String>,
    /// How it is known, if not as the clause says.
    pub basis: Option<Basis>,
    /// Its place in the draft.
    pub place: Place,
}

/// A place in a draft. Two clauses are the same wherever they stand.
#[derive(Clone, Debug, Default)]
pub struct Place(pub Option<Span>);

impl PartialEq for Place {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// What a purchaser wants of a ruleset.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wishes<'a> {
    /// Clauses for these purposes, and those for none; all without a list.
    pub purposes: &'a [String],
    /// Advice too.
    pub advice: bool,
    /// Cautions too.
    pub cautions: bool,
}

/// The clauses of a ruleset, in the order of its rules.
pub fn clauses(ruleset: &Ruleset, wishes: &Wishes<'_>) -> Vec<Clause> {
    let wanted = |rule: &&Rule| match rule.strength {
        Strength::Required => true,
        Strength::Advice => wishes.advice,
        Strength::Caution => wishes.cautions,
    };
    let asked = |purpose: &Option<String>| {
        wishes.purposes.is_empty() || purpose.as_ref().is_none_or(|purpose| wishes.purposes.contains(purpose))
    };
    let mut clauses = Vec::new();
    for rule in ruleset.rules.iter().filter(wanted) {
        let limits: Vec<&Limit> = rule.limits.iter().filter(|limit| asked(&limit.purpose)).collect();
        if !limits.is_empty() {
            clauses.push(clause(ruleset, rule, &limits));
        }
    }
    clauses
}

fn clause(ruleset: &Ruleset, rule: &Rule, limits: &[&Limit]) -> Clause {
    let quantity = rule.quantity;
    let (heading, proof) = (heading_of(quantity), proof_of(quantity));
    let first: Option<&Citation> = limits.first().map(|limit| &limit.source);
    let (source, basis) = (first.map(Citation::in_words), first.map(|cite| cite.basis));
    let protocol = &ruleset.protocol;
    let row = |limit: &&Limit| {
        let own = Some(limit.source.in_words());
        let level = limit.level.and_then(|at| protocol.levels.get(at)).map(|level| level.name.clone());
        let zone = limit.zone.and_then(|at| protocol.zones.sectors.get(at)).map(|sector| sector.name.clone());
        Row {
            purpose: limit.purpose.clone(),
            leads_to: limit.leads_to.clone(),
            level,
            zone,
            colour: limit.colour.clone(),
            class: limit.class.clone(),
            item: limit.item.clone(),
            demand: Some(limit.demand.clone()),
            source: own.filter(|own| Some(own) != source.as_ref()),
            basis: Some(limit.source.basis).filter(|own| Some(*own) != basis),
            place: Place::default(),
        }
    };
    Clause {
        id: format!("{}:{}", ruleset.id, rule.id),
        heading,
        says: rule.says.clone(),
        quantity: Some(quantity.name),
        unit: Some(rule.unit.symbol().to_owned()),
        require: Some(rule.require),
        strength: rule.strength,
        layout: Some(ruleset.id.clone()).filter(|_| super::Layout::of(ruleset).is_some()),
        method: quantity.looks.then_some(rule.method),
        device: rule.device.clone(),
        listen: rule.listen.clone(),
        proof: Some(proof),
        tested: Some(quantity.by_hand.to_owned()),
        by: Some(party(proof).to_owned()),
        when: Some(stage(proof).to_owned()),
        paper: Some(paper(heading, proof).to_owned()),
        deviation: Some(deviation(rule.unit)),
        source: source.clone(),
        basis,
        rows: limits.iter().map(row).collect(),
        place: Place::default(),
    }
}

impl Clause {
    /// The quantity, as the registry has it.
    pub fn known_quantity(&self) -> Option<&'static Quantity> {
        self.quantity.and_then(quantity::find)
    }

    /// The unit, where it is one that is read.
    pub fn known_unit(&self) -> Option<Unit> {
        self.unit.as_deref().and_then(Unit::parse)
    }

    /// How one of its limits is known.
    pub fn basis_of(&self, row: &Row) -> Option<Basis> {
        row.basis.or(self.basis)
    }

    /// Where one of its limits comes from.
    pub fn source_of<'a>(&'a self, row: &'a Row) -> Option<&'a str> {
        row.source.as_deref().or(self.source.as_deref())
    }

    /// Of which lamps or sounders it speaks, and from where one looks or listens, in words.
    pub fn looks(&self) -> Vec<String> {
        let of = self.device.as_ref().map(|device| device.of.in_words().to_owned());
        let device = self.device.iter().flat_map(DeviceTerms::describe);
        let table = self.device.iter().flat_map(|device| &device.table).map(quantity::TablePoint::describe);
        let listen = self.listen.iter().flat_map(ListenTerms::describe);
        let heard = self
            .listen
            .iter()
            .flat_map(|listen| &listen.table)
            .map(|(angle, least)| format!("{} deg off its axis: at least {} dB(A)", angle.value(), least.value()));
        let looks = of.into_iter().chain(self.method.map(Method::describe));
        looks.chain(device).chain(table).chain(listen).chain(heard).collect()
    }
}

impl Row {
    /// Whether the figure is one that nobody here knows.
    pub fn is_missing(&self) -> bool {
        matches!(self.demand, Some(Demand::Missing { .. }))
    }

    /// Where it holds, part by part, in words that can stand in an id.
    pub fn scope(&self) -> Vec<&str> {
        let parts = [&self.purpose, &self.leads_to, &self.level, &self.zone, &self.colour, &self.class, &self.item];
        parts.into_iter().flatten().map(String::as_str).collect()
    }
}
