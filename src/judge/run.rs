//! Goes through the rules of the rulesets asked for and makes the findings.

use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::asked::ask_of;
use super::assemble::{assemble, bare};
use super::compare::{Compared, compare};
use super::conflict::{Place, meetings};
use super::except::except;
use super::light::{Answer, Asked, Scene};
use super::readings::{Rank, is_worse, join_readings};
use super::unheard::{NO_EXPOSURE, unheard};
use super::unspoken::{about, unspoken};
use super::{Finding, Summary, Trace, Verdict};
use crate::load::reader::Date;
use crate::logic::Region;
use crate::measure::{Boundary, Conduct, Looks, Method, Survey};
use crate::package::Decision;
use crate::quantity::{Ask, Measure, Measured, Quantity, Value, is_of_shift};
use crate::ruleset::{Basis, Demand, Limit, Permitted, Require, Rule, Ruleset, Strength};

/// What the command line adds to the files.
#[derive(Clone, Copy, Debug)]
pub struct Terms {
    /// The day of judgement.
    pub as_of: Date,
    /// Limits from memory give no verdict.
    pub without_memory: bool,
}

const TANGLED: &str = "the conditions are too tangled to look at all states";

/// What makes sets of states small again.
pub const LESS_TANGLED: &str = "inputs that are compared with each other named one after the other in [inputs], no inputs that switch no lamp, fewer doors before one lamp, or a package for each controller";

/// All findings about one package.
#[derive(Debug)]
pub struct Judged {
    /// In the order of the rulesets and their rules.
    pub findings: Vec<Finding>,
    /// What to take care of; never a verdict.
    pub cautions: Vec<Finding>,
    /// How many of each verdict.
    pub summary: Summary,
    /// Exceptions that match no finding, by their place in the package.
    pub idle_exceptions: Vec<usize>,
    /// On which terms.
    pub terms: Terms,
}

/// Judges a package by rulesets, over all states that can occur.
pub fn judge(conduct: &Conduct<'_>, rulesets: &[Ruleset], terms: Terms) -> Judged {
    let (mut findings, places) = all_findings(conduct, rulesets, terms, conduct.space().allowed());
    let met = meetings(rulesets, &mut findings, &places);
    findings.extend(met.into_iter().map(|finding| terms.remembered(finding)));
    let mut judged = Judged::of(findings, terms);
    let idle_exceptions = except(conduct.package, &mut judged.findings, terms.as_of);
    Judged { summary: Summary::of(&judged.findings), idle_exceptions, ..judged }
}

/// Judges what depends on the light in some of the states only; exceptions, and what rulesets ask together, are left
/// aside.
pub fn judge_within(conduct: &Conduct<'_>, rulesets: &[Ruleset], terms: Terms, within: &Region) -> Judged {
    Judged::of(all_findings(conduct, rulesets, terms, within).0, terms)
}

/// Every finding, cautions too, and the limit that each is on; none where the ruleset does not fit the vehicle, and for
/// findings on a ruleset as a whole.
fn all_findings(
    conduct: &Conduct<'_>,
    rulesets: &[Ruleset],
    terms: Terms,
    within: &Region,
) -> (Vec<Finding>, Vec<Option<Place>>) {
    // Findings are large, and a list that grows bit by bit is copied each time. A limit is one finding, or one for each
    // head or circuit; room that is not used costs nothing.
    let limits: usize = rulesets.iter().flat_map(|ruleset| &ruleset.rules).map(|rule| rule.limits.len()).sum();
    let (mut findings, mut places) = (Vec::with_capacity(4 * limits), Vec::with_capacity(4 * limits));
    for (at, ruleset) in rulesets.iter().enumerate() {
        let mut bench = Bench { conduct, ruleset, at, terms, within, scenes: Vec::new() };
        bench.run(&mut findings, &mut places);
    }
    (findings, places)
}

impl Judged {
    /// Findings, with the cautions among them that are to be said apart.
    fn of(mut findings: Vec<Finding>, terms: Terms) -> Self {
        let cautions = findings.extract_if(.., |finding| finding.strength == Strength::Caution);
        let cautions = cautions.filter(|finding| finding.verdict == Verdict::Fail).collect();
        Self { summary: Summary::of(&findings), findings, cautions, idle_exceptions: Vec::new(), terms }
    }
}

impl Terms {
    /// Whether a limit decides anything: it is known, and not left out as one from memory.
    pub fn heeds(self, limit: &Limit) -> bool {
        let left_out = self.without_memory && limit.source.basis == Basis::Memory;
        !left_out && !matches!(limit.demand, Demand::Missing { .. })
    }

    /// A finding as it stands where limits from memory decide nothing.
    fn remembered(self, mut finding: Finding) -> Finding {
        if self.without_memory && finding.on_memory() {
            finding.verdict = Verdict::NotShown;
            finding.notes.push("its limit is known from memory only".to_owned());
            finding.would_show = Some("compare the limit with your own copy of the document".to_owned());
        }
        finding
    }
}

/// One ruleset at work on one package; light is computed once.
pub(super) struct Bench<'a> {
    pub conduct: &'a Conduct<'a>,
    pub ruleset: &'a Ruleset,
    pub at: usize,
    pub terms: Terms,
    within: &'a Region,
    scenes: Vec<(Method, Rc<Scene<'a>>)>,
}

/// One limit of one rule, with what is the same for every light.
struct Case<'a> {
    rule: &'a Rule,
    limit: &'a Limit,
    /// Of the rule in the ruleset, of the limit in the rule.
    place: (usize, usize),
    permitted: Permitted,
    /// Which colours are permitted, and so count, is missing.
    open: bool,
    readings: &'static [Boundary],
}

impl<'a> Bench<'a> {
    fn run(&mut self, findings: &mut Vec<Finding>, places: &mut Vec<Option<Place>>) {
        let applies = self.applies(findings);
        self.edition(findings);
        places.resize(findings.len(), None);
        let mut unspoken = if applies { unspoken(self.conduct, self.ruleset) } else { FxHashMap::default() };
        for (rule_at, rule) in self.ruleset.rules.iter().enumerate() {
            let began = findings.len();
            for (limit_at, limit) in rule.limits.iter().enumerate() {
                if applies {
                    findings.extend(self.judge_limit(rule, limit, (rule_at, limit_at)));
                    places.resize(findings.len(), Some((self.at, rule_at, limit_at)));
                } else {
                    let note = "the ruleset does not fit this vehicle";
                    findings.push(bare(self.ruleset, rule, limit, Verdict::NotApplicable, note));
                    places.push(None);
                }
            }
            // Rows of colours and classes that nothing here has are not worth a word each.
            let nobody = || about(self.ruleset, rule, Verdict::NotApplicable, nobody(rule.quantity));
            let nobody = if findings.len() == began { nobody() } else { None };
            findings.extend(unspoken.remove(&rule_at).or(nobody));
            places.resize(findings.len(), None);
        }
    }

    /// The findings for one limit; what rests on sets of states is not shown once these are given up.
    fn judge_limit(&mut self, rule: &'a Rule, limit: &'a Limit, place: (usize, usize)) -> Vec<Finding> {
        let findings = self.judge_in_all_states(rule, limit, place);
        if matches!(rule.quantity.measure, Measure::Mounting(_) | Measure::Stated(_))
            || !self.conduct.space().is_tangled()
        {
            return findings;
        }
        let mut finding = bare(self.ruleset, rule, limit, Verdict::NotShown, TANGLED);
        finding.would_show = Some(LESS_TANGLED.to_owned());
        vec![finding]
    }

    fn judge_in_all_states(&mut self, rule: &'a Rule, limit: &'a Limit, place: (usize, usize)) -> Vec<Finding> {
        let purpose = limit.purpose.as_deref();
        // What is asked of the controller is asked of a purpose that nothing serves too.
        let unserved = |purpose: &&str| self.conduct.serving(purpose).next().is_none();
        if let (Some(purpose), Measure::Light { .. }) = (purpose.filter(unserved), rule.quantity.measure) {
            let note = format!("no mode serves the purpose `{purpose}`");
            let mut finding = bare(self.ruleset, rule, limit, Verdict::NotShown, &note);
            finding.would_show = Some(format!("a mode with `purpose = \"{purpose}\"` in the package"));
            return vec![finding];
        }
        let case = self.case(rule, limit, place);
        let mut worst: Vec<Finding> = match rule.quantity.measure {
            Measure::Light { one_more, heeds, compare, measure } => {
                let mut worst: Vec<Finding> = Vec::new();
                let scene = self.scene(rule.method);
                let protocol = &self.ruleset.protocol;
                let asks = self.asks(&case);
                let answer = |survey: &Survey<'a>| self.answer(&case, &asks, |ask| measure(survey, ask));
                for mode in self.conduct.modes_for(purpose) {
                    let find = |answer: &Answer| self.findings(&case, Some(mode), answer);
                    let asked = Asked {
                        rule,
                        one_more,
                        heeds,
                        compare,
                        asks: &asks,
                        protocol,
                        mode,
                        within: self.within,
                        guarded: self.guarded(),
                        floor: self.floor(&case),
                        answer: &answer,
                        find: &find,
                    };
                    for finding in scene.ask(&asked) {
                        match worst.iter_mut().find(|known| known.id == finding.id) {
                            Some(known) if is_worse(&finding, known) => *known = finding,
                            Some(_) => {}
                            None => worst.push(finding),
                        }
                    }
                }
                worst
            }
            Measure::Mounting(measure) => {
                let survey = Survey::dark(self.conduct.package, &self.ruleset.protocol, rule.method);
                self.findings(&case, None, &self.answer(&case, &self.asks(&case), |ask| measure(&survey, ask)))
            }
            Measure::Stated(measure) => {
                let measure = |ask: &Ask<'_>| measure(self.conduct.package, ask, rule.quantity.dimension);
                self.findings(&case, None, &self.answer(&case, &self.asks(&case), measure))
            }
            Measure::Power(measure) => {
                let measure = |ask: &Ask<'_>| measure(self.conduct, ask);
                self.findings(&case, None, &self.answer(&case, &self.asks(&case), measure))
            }
            Measure::Sound(measure) => match unheard(self.conduct, self.ruleset, rule, limit) {
                Some(findings) => findings,
                None => {
                    let measure = |ask: &Ask<'_>| measure(self.conduct, ask);
                    self.findings(&case, None, &self.answer(&case, &self.asks(&case), measure))
                }
            },
            Measure::States(measure) | Measure::Device(measure) => {
                let measure = |ask: &Ask<'_>| measure(self.conduct, &self.ruleset.protocol, ask);
                let mut answer = self.answer(&case, &self.asks(&case), measure);
                if let (Demand::Missing { .. }, Measure::Device(_)) = (&limit.demand, rule.quantity.measure) {
                    answer.readings.iter_mut().for_each(|(_, measured)| unnamed(measured));
                }
                self.findings(&case, None, &answer)
            }
        };
        let of_light = rule.quantity.counts_permitted;
        let narrowed = limit.colour.is_some() && !of_light || limit.class.is_some();
        if worst.is_empty() && !narrowed {
            let nobody = nobody(rule.quantity);
            worst.push(bare(self.ruleset, rule, limit, Verdict::NotApplicable, nobody));
        }
        worst.into_iter().map(|finding| self.remembered(finding)).collect()
    }

    fn case(&self, rule: &'a Rule, limit: &'a Limit, place: (usize, usize)) -> Case<'a> {
        let readings: &[Boundary] = if rule.quantity.scope.zone {
            self.ruleset.protocol.zones.boundary_points.readings()
        } else {
            &[Boundary::Both]
        };
        let permitted = self.ruleset.permitted_by(limit);
        let open = permitted == Permitted::Unknown && rule.quantity.counts_permitted;
        Case { rule, limit, place, permitted, open, readings }
    }

    /// What is asked under each reading.
    fn asks<'c>(&'c self, case: &'c Case<'a>) -> Vec<Ask<'c>> {
        let decision = self.conduct.package.decision;
        let ask = |boundary: &Boundary| {
            ask_of(self.ruleset, case.rule, case.limit, *boundary, case.permitted.list(), decision)
        };
        case.readings.iter().map(ask).collect()
    }

    fn compared(&self, case: &Case<'_>, measured: &Measured) -> Compared {
        let Case { rule, limit, .. } = case;
        let decision = self.conduct.package.decision;
        let compared = compare(&measured.value, measured.uncertainty, &limit.demand, rule.require, rule.unit, decision);
        Compared { margin: compared.margin.or(measured.margin), ..compared }
    }

    /// Where more is asked for nothing is worse than nothing: no quantity of light is below zero.
    fn floor(&self, case: &Case<'_>) -> Option<Rank> {
        let nothing = Measured::new(Value::exactly(0.0));
        (case.rule.require == Require::AtLeast).then(|| self.ranked(case, &nothing))
    }

    fn ranked(&self, case: &Case<'_>, measured: &Measured) -> Rank {
        let compared = self.compared(case, measured);
        let verdict = if case.open { Verdict::NotShown } else { compared.verdict };
        Rank::new(verdict, compared.margin, &compared.found, case.rule.require)
    }

    fn answer(&self, case: &Case<'_>, asks: &[Ask<'_>], measure: impl Fn(&Ask<'_>) -> Vec<Measured>) -> Answer {
        let readings: Vec<(Boundary, Vec<Measured>)> = asks.iter().map(|ask| (ask.boundary, measure(ask))).collect();
        let of_reading = |(_, measured): &(Boundary, Vec<Measured>)| {
            measured.iter().map(|one| self.ranked(case, one)).reduce(Rank::worse)
        };
        let rank = readings.iter().filter_map(of_reading).reduce(Rank::joined);
        Answer { rank, readings }
    }

    /// The findings for one limit under each reading of the boundary points, put together.
    fn findings(&self, case: &Case<'a>, mode: Option<usize>, answer: &Answer) -> Vec<Finding> {
        let (rule_at, limit_at) = case.place;
        let mut findings: Vec<Finding> = Vec::new();
        for (boundary, measured) in &answer.readings {
            for measured in measured {
                let compared = self.compared(case, measured).tidied();
                let boundary = *boundary;
                let trace = Trace {
                    ruleset: self.at,
                    rule: rule_at,
                    limit: limit_at,
                    mode,
                    boundary,
                    state: None,
                    states: None,
                };
                let mut finding =
                    assemble(self.conduct, self.ruleset, case.rule, case.limit, measured.clone(), compared, trace);
                if case.open {
                    finding.verdict = Verdict::NotShown;
                    finding.notes.push("which colours are permitted here, and so count, is missing".to_owned());
                    finding.would_show.get_or_insert_with(|| "the limit of the rule on colours shown".to_owned());
                }
                // Several values for one place: the worst stands for it.
                let reading = |finding: &Finding| finding.trace.as_ref().map(|trace| trace.boundary);
                let same = |known: &&mut Finding| known.id == finding.id && reading(known) == reading(&finding);
                match findings.iter_mut().find(same) {
                    Some(known) if is_worse(&finding, known) => *known = finding,
                    Some(_) => {}
                    None => findings.push(finding),
                }
            }
        }
        join_readings(findings, case.readings)
    }

    fn guarded(&self) -> bool {
        self.conduct.package.decision == Decision::Guarded
    }

    pub fn remembered(&self, finding: Finding) -> Finding {
        self.terms.remembered(finding)
    }

    fn scene(&mut self, method: Method) -> Rc<Scene<'a>> {
        if let Some((_, scene)) = self.scenes.iter().find(|(known, _)| *known == method) {
            return scene.clone();
        }
        let scene = Rc::new(Scene::new(Looks::new(self.conduct, &self.ruleset.protocol, method)));
        self.scenes.push((method, scene.clone()));
        scene
    }
}

/// What is said where nothing of the vehicle is what a rule speaks of.
fn nobody(quantity: &Quantity) -> &'static str {
    match quantity.measure {
        Measure::Sound(_) if is_of_shift(quantity) => NO_EXPOSURE,
        Measure::Sound(_) => "no sounder here to judge",
        _ => "no head here to judge",
    }
}

/// Without a limit every device would be told the same: it is said once, of the first.
fn unnamed(measured: &mut Vec<Measured>) {
    let heads = measured.len();
    measured.truncate(1);
    for one in measured {
        (one.head, one.emitter, one.states) = (None, None, None);
        if heads > 1 {
            one.notes.push(format!("so it stands with {heads} heads; found is that of the first"));
        }
    }
}
