//! Light that was reckoned for another vehicle: where a head is not the one of the package, or does not stand, aim, shine
//! or flash as there, its zones' totals are those of a vehicle that nobody has built, and what rests on them is open.

use super::beyond::Beyond;
use super::judge::ReadingsJudged;
use super::lines::Line;
use crate::judge::{Finding, Judged, Verdict};
use crate::package::{Head, Package};
use crate::quantity::{Proof, on_vehicle};
use crate::ruleset::{Ruleset, Strength};
use crate::units::Degrees;

/// Quantities on colours that speak of no single head.
const COLOURS: &[&str] = &["colours-shown", "colours-shown-in-any-mode", "warning-colours-lit"];

/// A lamp gives nothing behind its mounting plane.
const BEFORE_IT: f64 = 90.0;

/// Whose light is not as reckoned.
enum Whose<'p> {
    Heads(Vec<&'p Head>),
    Zone(String),
    All,
}

impl ReadingsJudged {
    /// Adds what by calculation is met, and rests on heads that were found otherwise, to what no reading decides: open. An
    /// exception for such a line accepts the heads, and says nothing of their light.
    pub fn open_light_of_another(&mut self, package: &Package, rulesets: &[Ruleset], judged: &Judged) {
        let mut differing: Vec<(String, Whose<'_>)> = Vec::new();
        for (line, result) in self.lines.iter().zip(&self.results) {
            for judgement in result.standing.iter().filter_map(|at| self.judgements.get(*at)) {
                let named = self.record.readings.get(judgement.reading).map(|reading| reading.line.text.as_str());
                if let Some(named) = named.filter(|_| judgement.disagrees())
                    && let Some(whose) = whose(package, judged, line, named)
                {
                    differing.push((named.to_owned(), whose));
                }
            }
        }
        let met = |finding: &&Finding| {
            let required = finding.strength == Strength::Required && finding.verdict == Verdict::Pass;
            let stands = self.beyond.iter().any(|known| known.id == finding.id);
            required && !stands && !finding.is_meeting() && on_vehicle(finding.quantity).proof == Proof::Heads
        };
        let mut open = Vec::new();
        for finding in judged.findings.iter().filter(met) {
            let rests = |(_, whose): &&(String, Whose<'_>)| rests_on(rulesets, finding, whose);
            let named: Vec<String> = differing.iter().filter(rests).map(|(named, _)| format!("`{named}`")).collect();
            if named.is_empty() {
                continue;
            }
            let note = format!(
                "met by the calculation, which is of another vehicle, for what was read is not what it starts from: {}; correct the package, or the vehicle",
                named.join(", ")
            );
            let notes = std::iter::once(note).chain(finding.notes.iter().cloned()).collect();
            open.push(Finding { verdict: Verdict::NotShown, notes, ..finding.clone() });
        }
        self.beyond.extend(open);
        self.tally.beyond = Beyond::of(&self.beyond);
    }
}

/// Whose light a reading that differs is about; none where it is about no light.
fn whose<'p>(package: &'p Package, judged: &Judged, line: &Line, named: &str) -> Option<Whose<'p>> {
    let of = |is: &dyn Fn(&Head) -> bool| Whose::Heads(package.heads.iter().filter(|head| is(head)).collect());
    if named.starts_with("vehicle:heads@") {
        // A serial number stands behind the id.
        let ids: Vec<&str> = line.of.iter().filter_map(|of| of.split(' ').next()).collect();
        return Some(of(&|head| ids.contains(&head.id.as_str())));
    }
    if let Some(model) = named.strip_prefix("vehicle:papers@") {
        return Some(of(&|head| package.models.get(head.model).is_some_and(|known| known.id == model)));
    }
    let scopes = judged.findings.iter().filter(|finding| match line.things().contains(&finding.id) {
        true => named == finding.id || named == line.id,
        false => line.findings.contains(&finding.id),
    });
    let scopes: Vec<_> = scopes.map(|finding| &finding.scope).collect();
    let heads: Vec<&str> = scopes.iter().filter_map(|scope| scope.head.as_deref()).collect();
    if !heads.is_empty() && line.proof != Proof::Papers {
        return Some(of(&|head| heads.contains(&head.id.as_str())));
    }
    COLOURS.contains(&line.quantity).then(|| {
        let zone = scopes.first().and_then(|scope| scope.zone.clone());
        zone.map_or(Whose::All, Whose::Zone)
    })
}

/// Whether a finding on light rests on them.
fn rests_on(rulesets: &[Ruleset], finding: &Finding, whose: &Whose<'_>) -> bool {
    let scope = &finding.scope;
    match whose {
        Whose::All => true,
        Whose::Zone(zone) => scope.zone.as_ref().is_none_or(|known| known == zone),
        Whose::Heads(heads) => match (&scope.head, &scope.zone) {
            (Some(id), _) => heads.iter().any(|head| head.id == *id),
            (None, Some(zone)) => heads.iter().any(|head| shines_into(rulesets, finding, zone, head)),
            (None, None) => true,
        },
    }
}

/// Whether any direction of a zone lies before a head's mounting plane, as it stands at rest.
fn shines_into(rulesets: &[Ruleset], finding: &Finding, zone: &str, head: &Head) -> bool {
    let ruleset = rulesets.iter().find(|ruleset| ruleset.id == finding.ruleset);
    let sector = ruleset.and_then(|ruleset| ruleset.protocol.zones.sectors.iter().find(|sector| sector.name == zone));
    // A zone of which nothing is known, or a head that moves, may be anywhere.
    let Some(sector) = sector.filter(|_| head.poses.is_empty()) else { return true };
    let turn = |angle: Degrees| angle.value().rem_euclid(360.0);
    let width = turn(sector.to - sector.from);
    let behind = turn(head.pose.axis_bearing() - sector.from);
    behind <= width || (behind - width).min(360.0 - behind) < BEFORE_IT
}
