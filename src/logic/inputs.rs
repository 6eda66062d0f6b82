//! The signals that the controller reads: a switch with positions, or one that is on or off.

/// Everything that the controller reads, in the order of the file.
#[derive(Clone, Debug, Default)]
pub struct Inputs {
    /// One a signal.
    pub list: Vec<Input>,
    /// Whether the package describes them; without, one switch stands for the list of modes.
    pub described: bool,
}

/// One signal.
#[derive(Clone, Debug)]
pub struct Input {
    /// Its name in conditions.
    pub id: String,
    /// What it can be; two for a signal that is on or off, off first. The first is the position of rest.
    pub positions: Vec<Position>,
    /// On or off, rather than named positions.
    pub is_bool: bool,
    /// What rules call it.
    pub means: Option<Meaning>,
}

/// One thing that an input can be.
#[derive(Clone, Debug)]
pub struct Position {
    /// Its name in conditions.
    pub id: String,
    /// How a person sets it: `park in`, `warning high`.
    pub words: String,
}

/// What rules call an input: their makers cannot know its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// The parking brake is set, or the gearbox stands in park.
    Park,
    /// The driver's own high-beam switch.
    HighBeam,
    /// Reverse gear is in.
    Reverse,
}

/// The words for [`Meaning`].
pub const MEANINGS: &[(&str, Meaning)] =
    &[("park", Meaning::Park), ("high-beam", Meaning::HighBeam), ("reverse", Meaning::Reverse)];

impl Inputs {
    /// The place of the input called `id`.
    pub fn find(&self, id: &str) -> Option<usize> {
        self.list.iter().position(|input| input.id == id)
    }

    /// The place of the input that means something to rules.
    pub fn meaning(&self, means: Meaning) -> Option<usize> {
        self.list.iter().position(|input| input.means == Some(means))
    }
}

impl Input {
    /// The place of the position called `id`.
    pub fn find(&self, id: &str) -> Option<usize> {
        self.positions.iter().position(|position| position.id == id)
    }
}
