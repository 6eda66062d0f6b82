//! Findings about a ruleset as a whole: whether it fits the vehicle, and whether its editions were in force.

use super::run::Bench;
use super::{APPLIES, Finding, FindingScope, FindingWitness, Found, Verdict};
use crate::load::reader::Date;
use crate::ruleset::{Basis, Citation, Demand, Require, Strength};
use crate::units::Unit;

/// What a ruleset asks of a vehicle before anything else.
const FITS: &str = "fits";

impl Bench<'_> {
    /// Whether the ruleset fits the vehicle; says so as a finding.
    pub(super) fn applies(&self, findings: &mut Vec<Finding>) -> bool {
        let Some(applies) = &self.ruleset.applies else { return true };
        let holds = applies.when.holds(self.conduct.package);
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
        let warning = self.conduct.package.heads.iter().filter(|head| head.role == crate::package::Role::Warning);
        let highest = warning.max_by(|a, b| a.pose.at().z.total_cmp(&b.pose.at().z));
        let head = highest
            .map(|head| format!("; the highest warning head, {}, stands at {} in", head.id, shown(head.pose.at().z)));
        format!(
            "the vehicle is {} in long{}",
            shown(self.conduct.package.vehicle.length.value()),
            head.unwrap_or_default()
        )
    }

    /// Advice where the vehicle was contracted for after the ruleset's editions.
    pub(super) fn edition(&self, findings: &mut Vec<Finding>) {
        let (Some(contracted), Some(until)) = (self.conduct.package.vehicle.contracted, self.ruleset.until) else {
            return;
        };
        let source = Citation::own("the edition in force on the day of the contract counts", Basis::Practice);
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
            was: None,
            evidence: None,
            witness: FindingWitness::default(),
            source,
            together: Vec::new(),
            notes: Vec::new(),
            would_show: None,
            method: None,
            trace: None,
        }
    }
}
