//! Sets of states as settings: as few inputs as lead there, and how a person sets them.

use biodivine_lib_bdd::BddPartialValuation;

use super::{Region, Setting, Space};

impl Space {
    /// A minimal setting all of whose states that can occur lie in `target`: dropping any of its inputs lets one in
    /// that does not. It begins at `state`, which must lie in `target`; inputs are dropped from the last to the first.
    pub fn witness(&self, target: &Region, state: &[usize]) -> Setting {
        self.witness_within(self.allowed(), target, state)
    }

    /// The same where it is known that the state is one of `known`: what follows from that is not said.
    fn witness_within(&self, known: &Region, target: &Region, state: &[usize]) -> Setting {
        let outside = self.minus(known, target);
        let mut setting: Setting = state.iter().copied().enumerate().collect();
        let (mut code, mut seen) = (self.code(&setting), Vec::new());
        for (input, position) in state.iter().copied().enumerate().rev() {
            self.free_code(&mut code, input);
            if self.has(&outside, &code, &mut seen) {
                self.set_code(&mut code, input, position);
            } else {
                // All inputs before it are still there.
                setting.remove(input);
            }
        }
        setting
    }

    /// The states that can occur with a setting.
    pub fn holding(&self, setting: &[(usize, usize)]) -> Region {
        self.and(self.allowed(), &self.cube(setting))
    }

    /// Whether some state of a region has a code; `seen` is room to work in.
    fn has(&self, region: &Region, code: &BddPartialValuation, seen: &mut Vec<bool>) -> bool {
        let diagram = &*region.0;
        seen.clear();
        seen.resize(diagram.size(), false);
        let (mut open, mut steps) = (vec![diagram.root_pointer()], 0);
        let has = loop {
            let Some(node) = open.pop() else { break false };
            if node.is_one() {
                break true;
            }
            let seen = seen.get_mut(node.to_index());
            if node.is_zero() || seen.is_none_or(|seen| std::mem::replace(seen, true)) {
                continue;
            }
            steps += 1;
            let set = code.get_value(diagram.var_of(node));
            open.extend((set != Some(false)).then(|| diagram.high_link_of(node)));
            open.extend((set != Some(true)).then(|| diagram.low_link_of(node)));
        };
        self.worked(steps);
        has
    }

    /// Settings that together make up `target`, each minimal; at most `most` of them, and whether that is all.
    pub fn cover(&self, target: &Region, most: usize) -> (Vec<Setting>, bool) {
        self.cover_within(self.allowed(), target, most)
    }

    /// Settings that together make up `target` among the states of `known`, of which it is a part; each says no more
    /// than is needed to tell its states from the others that are known to be possible.
    pub fn cover_within(&self, known: &Region, target: &Region, most: usize) -> (Vec<Setting>, bool) {
        let mut settings = Vec::new();
        let mut rest = target.clone();
        while let Some(state) = self.first(&rest) {
            if settings.len() == most || self.is_tangled() {
                return (settings, false);
            }
            let setting = self.witness_within(known, target, &state);
            rest = self.minus(&rest, &self.cube(&setting));
            settings.push(setting);
        }
        (settings, true)
    }

    /// A setting in words that a person can set on the vehicle: `warning high, park in`.
    pub fn words(&self, setting: &[(usize, usize)]) -> String {
        let word = |(input, position): &(usize, usize)| {
            let position = self.inputs().list.get(*input)?.positions.get(*position)?;
            Some(position.words.as_str())
        };
        let words: Vec<&str> = setting.iter().filter_map(word).collect();
        if words.is_empty() { "any setting".to_owned() } else { words.join(", ") }
    }
}
