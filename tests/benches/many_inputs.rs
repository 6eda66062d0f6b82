//! How the time of judging grows with the inputs of the controller: 60 heads, 8 to 24 inputs that are on or off, and a
//! peer in the same run. Only `cargo bench` runs this.
//!
//! The peer goes through every state one after the other, and asks the rules on light with a number of each. It is
//! another way to the same answer, not another program: at 8 inputs both are compared before anything is timed. It
//! doubles with each input, so that it is timed up to 10 only.

#[path = "../common/mod.rs"]
mod common;

use common::every_state::{every_state, worst_of};
use common::many_inputs::{CATALOGUE, package};
use common::{folder, load_file, terms};
use divan::{Bencher, black_box};
use wayproof::judge::{Found, judge};
use wayproof::measure::{Conduct, Looks, Method};
use wayproof::package::Package;
use wayproof::ruleset::Ruleset;

const HEADS: usize = 60;

fn main() {
    let (package, rulesets) = generated(8);
    let conduct = Conduct::new(&package);
    let judged = judge(&conduct, &rulesets, terms());
    let peer = by_state(&conduct, &rulesets[0]);
    let mut compared = 0;
    for finding in &judged.findings {
        if let (Some(worst), Found::Number(found)) = (peer.get(&finding.id), &finding.found) {
            assert!(common::close(worst.number, *found, 1e-9), "{}: {} is not {found}", finding.id, worst.number);
            compared += 1;
        }
    }
    assert!(compared > 50, "{compared} compared");
    divan::main();
}

fn generated(inputs: usize) -> (Package, Vec<Ruleset>) {
    let text = package(inputs, HEADS);
    let (_dir, path) = folder(&[("package.toml", &text), ("catalogue.toml", CATALOGUE)]);
    load_file(&path, &[])
}

/// The worst of each limit over every state, gone through one by one.
fn by_state(
    conduct: &Conduct<'_>,
    ruleset: &Ruleset,
) -> std::collections::BTreeMap<String, common::every_state::Worst> {
    let looks = Looks::new(conduct, &ruleset.protocol, Method::Angular);
    worst_of(&looks, ruleset, None, &every_state(conduct.space()))
}

/// From the package to all findings.
#[divan::bench(args = [8, 12, 16, 20, 24], sample_count = 5)]
fn judged(bencher: Bencher, inputs: usize) {
    let (package, rulesets) = generated(inputs);
    bencher.bench_local(|| judge(&Conduct::new(black_box(&package)), &rulesets, terms()));
}

#[divan::bench(name = "judged_peer_state_by_state", args = [8, 10], sample_count = 1)]
fn state_by_state(bencher: Bencher, inputs: usize) {
    let (package, rulesets) = generated(inputs);
    bencher.bench_local(|| by_state(&Conduct::new(black_box(&package)), &rulesets[0]));
}
