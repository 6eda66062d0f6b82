//! Goes through the rules of the rulesets asked for and makes the findings.

use super::assemble::assemble;
use super::compare::compare;
use super::except::except;
use super::readings::{is_worse, join_readings};
use super::{APPLIES, Finding, FindingScope, FindingWitness, Found, Summary, Trace, Verdict};
use crate::load::reader::Date;
use crate::measure::{Boundary, Method, Override, Survey, shown};
use crate::package::{Decision, Package};
use crate::quantity::{Ask, Measured, Working};
use crate::ruleset::{Basis, Citation, Demand, Limit, Origin, Permitted, Require, Rule, Ruleset, Strength};
use crate::units::{Degrees, Unit};

/// What the command line adds to the files.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    /// The day of judgement.
    pub as_of: Date,
    /// Limits from memory give no verdict.
    pub without_memory: bool,
}

/// All findings about one package.
#[derive(Debug)]
pub struct Judged {
    /// In the order of the rulesets and their rules.
    pub findings: Vec<Finding>,
    /// How many of each verdict.
    pub summary: Summary,
    /// Displays that took heads from earlier ones, by mode.
    pub overrides: Vec<(String, Override)>,
    /// Exceptions that match no finding, by their place in the package.
    pub idle_exceptions: Vec<usize>,
}

/// Judges a package by rulesets.
pub fn judge(package: &Package, rulesets: &[Ruleset], terms: Terms) -> Judged {
    let mut findings = Vec::new();
    for (at, ruleset) in rulesets.iter().enumerate() {
        let mut bench = Bench { package, ruleset, at, terms, surveys: Vec::new() };
        bench.run(&mut findings);
    }
    let idle_exceptions = except(package, &mut findings, terms.as_of);
    let mut overrides = Vec::new();
    for mode in &package.modes {
        let (_, lost) = shown(package, mode);
        overrides.extend(lost.into_iter().map(|one| (mode.id.clone(), one)));
    }
    Judged { summary: Summary::of(&findings), findings, overrides, idle_exceptions }
}

/// What a ruleset asks of a vehicle before anything else.
const FITS: &str = "fits";

/// One ruleset at work on one package; surveys are made once.
struct Bench<'a> {
    package: &'a Package,
    ruleset: &'a Ruleset,
    at: usize,
    terms: Terms,
    surveys: Vec<((Option<usize>, Method), Survey<'a>)>,
}

impl<'a> Bench<'a> {
    fn run(&mut self, findings: &mut Vec<Finding>) {
        let applies = self.applies(findings);
        self.edition(findings);
        for (rule_at, rule) in self.ruleset.rules.iter().enumerate() {
            for (limit_at, limit) in rule.limits.iter().enumerate() {
                let place = (rule_at, limit_at);
                if !applies {
                    findings.push(self.bare(
                        rule,
                        limit,
                        Verdict::NotApplicable,
                        "the ruleset does not fit this vehicle",
                    ));
                } else {
                    findings.extend(self.judge_limit(rule, limit, place));
                }
            }
        }
    }

    /// Whether the ruleset fits the vehicle; says so as a finding.
    fn applies(&self, findings: &mut Vec<Finding>) -> bool {
        let Some(applies) = &self.ruleset.applies else { return true };
        let holds = applies.when.holds(self.package);
        let mut finding = self.about_ruleset(APPLIES, Strength::Required, applies.source.clone());
        finding.says = format!("This ruleset is for vehicles of which this holds: {}.", applies.text);
        finding.verdict = if holds { Verdict::Pass } else { Verdict::Fail };
        finding.limit = Demand::Words(vec![FITS.to_owned()]);
        finding.found = Found::Words(vec![if holds { FITS } else { "does not fit" }.to_owned()]);
        if !holds {
            finding
                .notes
                .push(format!("`{}` does not hold for this vehicle: choose the ruleset of its size", applies.text));
            finding.notes.push(self.size());
        }
        findings.push(self.remembered(finding));
        holds
    }

    /// The figures that conditions ask about.
    fn size(&self) -> String {
        let inches = |metres: f64| Unit::parse("in").map_or(metres, |inch| inch.from_base(metres));
        let shown = |metres: f64| crate::units::format_number(inches(metres), 1);
        let warning = self.package.heads.iter().filter(|head| head.role == crate::package::Role::Warning);
        let highest = warning.max_by(|a, b| a.pose.at().z.total_cmp(&b.pose.at().z));
        let head = highest
            .map(|head| format!("; the highest warning head, {}, stands at {} in", head.id, shown(head.pose.at().z)));
        format!("the vehicle is {} in long{}", shown(self.package.vehicle.length.value()), head.unwrap_or_default())
    }

    /// Advice where the vehicle was contracted for after the ruleset's editions.
    fn edition(&self, findings: &mut Vec<Finding>) {
        let (Some(contracted), Some(until)) = (self.package.vehicle.contracted, self.ruleset.until) else { return };
        let own = Origin::Own("the edition in force on the day of the contract counts".to_owned());
        let source = Citation { origin: own, basis: Basis::Practice, authority: None };
        let mut finding = self.about_ruleset("edition", Strength::Advice, source);
        let key = |date: Date| (date.year, date.month, date.day);
        finding.says = "The vehicle was contracted for while the ruleset's editions were in force.".to_owned();
        finding.verdict = if key(contracted) <= key(until) { Verdict::Pass } else { Verdict::Fail };
        if finding.verdict == Verdict::Fail {
            finding.notes.push(format!("contracted {contracted}, the ruleset speaks of contracts until {until}"));
        }
        findings.push(finding);
    }

    fn about_ruleset(&self, rule: &str, strength: Strength, source: Citation) -> Finding {
        Finding {
            id: format!("{}:{rule}@vehicle", self.ruleset.id),
            rule: rule.to_owned(),
            ruleset: self.ruleset.id.clone(),
            says: String::new(),
            strength,
            quantity: "vehicle-size-class",
            unit: Unit::base(crate::units::Dimension::Words),
            scope: FindingScope::default(),
            require: Require::Exactly,
            limit: Demand::Words(Vec::new()),
            found: Found::Nothing,
            margin: None,
            verdict: Verdict::NotApplicable,
            evidence: None,
            witness: FindingWitness::default(),
            source,
            notes: Vec::new(),
            would_show: None,
            method: None,
            trace: None,
        }
    }

    /// A finding for a limit before anything is measured.
    fn bare(&self, rule: &Rule, limit: &Limit, verdict: Verdict, note: &str) -> Finding {
        let protocol = &self.ruleset.protocol;
        let level = limit.level.and_then(|at| protocol.levels.get(at)).map(|level| level.name.clone());
        let zone = limit.zone.and_then(|at| protocol.zones.sectors.get(at)).map(|sector| sector.name.clone());
        let scope = FindingScope { purpose: limit.purpose.clone(), mode: None, level, zone, head: None };
        let notes = if note.is_empty() { Vec::new() } else { vec![note.to_owned()] };
        Finding {
            id: format!("{}:{}@{}", self.ruleset.id, rule.id, Finding::place(&scope)),
            rule: rule.id.clone(),
            ruleset: self.ruleset.id.clone(),
            says: rule.says.clone(),
            strength: rule.strength,
            quantity: rule.quantity.name,
            unit: rule.unit,
            scope,
            require: rule.require,
            limit: limit.demand.clone(),
            found: Found::Nothing,
            margin: None,
            verdict,
            evidence: None,
            witness: FindingWitness::default(),
            source: limit.source.clone(),
            notes,
            would_show: None,
            method: rule.quantity.looks.then(|| rule.method.describe()),
            trace: None,
        }
    }

    fn judge_limit(&mut self, rule: &'a Rule, limit: &'a Limit, place: (usize, usize)) -> Vec<Finding> {
        let modes: Vec<Option<usize>> = match &limit.purpose {
            None => vec![None],
            Some(purpose) => {
                let serves = |mode: &crate::package::Mode| mode.purpose.as_deref() == Some(purpose);
                let modes = self.package.modes.iter().enumerate().filter(|(_, mode)| serves(mode));
                modes.map(|(at, _)| Some(at)).collect()
            }
        };
        if modes.is_empty() {
            let purpose = limit.purpose.as_deref().unwrap_or_default();
            let mut finding =
                self.bare(rule, limit, Verdict::NotShown, &format!("no mode serves the purpose `{purpose}`"));
            finding.would_show = Some(format!("a mode with `purpose = \"{purpose}\"` in the package"));
            return vec![finding];
        }
        let mut worst: Vec<Finding> = Vec::new();
        for mode in modes {
            for finding in self.judge_in_mode(rule, limit, mode, place) {
                match worst.iter_mut().find(|known| known.id == finding.id) {
                    Some(known) if is_worse(&finding, known) => *known = finding,
                    Some(_) => {}
                    None => worst.push(finding),
                }
            }
        }
        if worst.is_empty() {
            worst.push(self.bare(rule, limit, Verdict::NotApplicable, "no head here to judge"));
        }
        worst
    }

    fn judge_in_mode(
        &mut self,
        rule: &'a Rule,
        limit: &'a Limit,
        mode: Option<usize>,
        (rule_at, limit_at): (usize, usize),
    ) -> Vec<Finding> {
        let ruleset = self.ruleset;
        let readings: &[Boundary] = if rule.quantity.scope.zone {
            ruleset.protocol.zones.boundary_points.readings()
        } else {
            &[Boundary::Both]
        };
        let permitted =
            limit.purpose.as_deref().map_or(Permitted::All, |purpose| ruleset.permitted(purpose, limit.zone));
        let open = permitted == Permitted::Unknown && rule.quantity.counts_permitted;
        let (package, at) = (self.package, self.at);
        let decision = package.decision;
        let survey = self.survey(mode, rule.method);
        let mut findings: Vec<Finding> = Vec::new();
        for boundary in readings {
            let ask = ask_of(limit, *boundary, permitted.list(), decision);
            for measured in (rule.quantity.measure)(survey, &ask) {
                let compared =
                    compare(&measured.value, measured.uncertainty, &limit.demand, rule.require, rule.unit, decision);
                let trace = Trace { ruleset: at, rule: rule_at, limit: limit_at, mode, boundary: *boundary };
                let mut finding = assemble(package, ruleset, rule, limit, measured, compared, trace);
                if open {
                    finding.verdict = Verdict::NotShown;
                    finding.notes.push("which colours are permitted here, and so count, is missing".to_owned());
                    finding.would_show.get_or_insert_with(|| "the limit of the rule on colours shown".to_owned());
                }
                // Several values for one place: the worst stands for it.
                let same = |known: &&mut Finding| known.id == finding.id && known.trace == finding.trace;
                match findings.iter_mut().find(same) {
                    Some(known) if is_worse(&finding, known) => *known = finding,
                    Some(_) => {}
                    None => findings.push(finding),
                }
            }
        }
        let without_memory = self.terms.without_memory;
        let findings = join_readings(findings, readings);
        findings.into_iter().map(|finding| finish(finding, without_memory)).collect()
    }

    fn remembered(&self, finding: Finding) -> Finding {
        finish(finding, self.terms.without_memory)
    }

    fn survey(&mut self, mode: Option<usize>, method: Method) -> &Survey<'a> {
        let key = (mode, method);
        let at = match self.surveys.iter().position(|(known, _)| *known == key) {
            Some(at) => at,
            None => {
                let found = mode.and_then(|at| self.package.modes.get(at));
                self.surveys.push((key, Survey::new(self.package, found, &self.ruleset.protocol, method)));
                self.surveys.len() - 1
            }
        };
        // The place was found or made two lines above.
        #[allow(clippy::indexing_slicing)]
        &self.surveys[at].1
    }
}

/// What is asked of a quantity for one limit.
pub(crate) fn ask_of<'l>(
    limit: &Limit,
    boundary: Boundary,
    permitted: Option<&'l [String]>,
    decision: Decision,
) -> Ask<'l> {
    let with_uncertainty = decision == Decision::Guarded;
    Ask { level: limit.level, zone: limit.zone, boundary, permitted, with_uncertainty }
}

fn finish(mut finding: Finding, without_memory: bool) -> Finding {
    if without_memory && finding.on_memory() {
        finding.verdict = Verdict::NotShown;
        finding.notes.push("its limit is known from memory only".to_owned());
        finding.would_show = Some("compare the limit with your own copy of the document".to_owned());
    }
    finding
}

/// What a finding's value is made of, measured once more.
pub fn working(package: &Package, rulesets: &[Ruleset], finding: &Finding) -> Working {
    let made = || {
        let trace = finding.trace?;
        let ruleset = rulesets.get(trace.ruleset)?;
        let rule = ruleset.rules.get(trace.rule)?;
        let limit = rule.limits.get(trace.limit)?;
        let mode = trace.mode.and_then(|at| package.modes.get(at));
        let survey = Survey::new(package, mode, &ruleset.protocol, rule.method);
        let permitted =
            limit.purpose.as_deref().map_or(Permitted::All, |purpose| ruleset.permitted(purpose, limit.zone));
        let ask = ask_of(limit, trace.boundary, permitted.list(), package.decision);
        let measured = (rule.quantity.measure)(&survey, &ask);
        let same = |one: &&Measured| one.head == finding.scope.head;
        let mut measured = measured.iter().find(same).or(measured.first())?.clone();
        // The place that decided, whichever end of the value it belongs to.
        measured.witness.bearing = finding.witness.bearing.map(Degrees::new);
        measured.witness.elevation = finding.witness.elevation.map(Degrees::new);
        Some((rule.quantity.working)(&survey, &ask, &measured))
    };
    made().unwrap_or_default()
}
