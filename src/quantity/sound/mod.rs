//! What sounders come to: single sounders on the bench and as mounted, what arrives round the vehicle, when they sound,
//! what ears take in over a shift.

pub(super) mod around;
pub(super) mod bench;
pub(super) mod exposure;
pub(super) mod mounted;
pub(super) mod states;

use glam::DVec3;

use super::states::from_nowhere;
use super::{Ask, LevelScope, Measure, Measured, Quantity, Scope, Value};
use crate::geometry::direction;
use crate::measure::Conduct;
use crate::measure::sound::{Place, Voice};
use crate::package::{Sheet, Sounder, SounderKind, SounderModel};
use crate::units::{Decibels, Degrees, Dimension, Length, SoundLevel, format_number};

/// What a rule on sounders says beside its limits.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ListenTerms {
    /// Of which kinds of sounder it speaks; of all without one.
    pub of: Vec<SounderKind>,
    /// Of which tones; of all without one.
    pub tones: Vec<String>,
    /// How far away one listens.
    pub distance: Option<Length>,
    /// At which angles off the axis; on it without one.
    pub angles: Vec<Degrees>,
    /// Levels that are asked at angles off the axis.
    pub table: Vec<(Degrees, SoundLevel)>,
    /// So many of the points may be so much low.
    pub low: Option<(u32, Decibels)>,
    /// From the middle of which side of the vehicle the distance is measured, straight away from it.
    pub from: Option<Side>,
    /// How high above the ground one listens.
    pub height: Option<Length>,
    /// By how much a sound has to exceed what is around it.
    pub over: Option<Decibels>,
    /// One listens in a closed car.
    pub in_closed_car: bool,
}

/// A side of the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Its front.
    Front,
    /// Its right.
    Right,
    /// Its rear.
    Rear,
    /// Its left.
    Left,
}

impl Side {
    /// The words in files.
    pub const WORDS: [(&'static str, Self); 4] =
        [("front", Self::Front), ("right", Self::Right), ("rear", Self::Rear), ("left", Self::Left)];

    /// The word in files and print.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, side)| *side == self).map_or("", |(word, _)| word)
    }

    /// The bearing it looks at.
    fn bearing(self) -> Degrees {
        Degrees::new(match self {
            Self::Front => 0.0,
            Self::Right => 90.0,
            Self::Rear => 180.0,
            Self::Left => 270.0,
        })
    }
}

/// What a rule can say in `listen`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ListenKey {
    /// Kinds of sounder.
    Of,
    /// Tones.
    Tones,
    /// A distance.
    Distance,
    /// Angles.
    Angles,
    /// Angles with their levels.
    Table,
    /// A number of points and what they may be low.
    Low,
    /// A side of the vehicle.
    From,
    /// A height.
    Height,
    /// A margin over what is around.
    Over,
    /// A closed car.
    InClosedCar,
}

impl ListenKey {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Of,
        Self::Tones,
        Self::Distance,
        Self::Angles,
        Self::Table,
        Self::Low,
        Self::From,
        Self::Height,
        Self::Over,
        Self::InClosedCar,
    ];

    /// As written in a ruleset, with an example.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Of => ("of", "of = [\"siren-speaker\"]"),
            Self::Tones => ("tones", "tones = [\"wail\"]"),
            Self::Distance => ("distance", "distance = \"3 m\""),
            Self::Angles => ("angles", "angles = [\"-20 deg\", \"0 deg\", \"20 deg\"]"),
            Self::Table => ("table", "table = [[\"0 deg\", \"120 dB(A)\"], [\"50 deg\", \"109 dB(A)\"]]"),
            Self::Low => ("low", "low = { points = 3, by = \"1 dB\" }"),
            Self::From => ("from", "from = \"front\""),
            Self::Height => ("height", "height = \"1.2 m\""),
            Self::Over => ("over", "over = \"15 dB\""),
            Self::InClosedCar => ("in-closed-car", "in-closed-car = true"),
        }
    }
}

impl ListenTerms {
    /// Whether a key is there.
    pub fn has(&self, key: ListenKey) -> bool {
        match key {
            ListenKey::Of => !self.of.is_empty(),
            ListenKey::Tones => !self.tones.is_empty(),
            ListenKey::Distance => self.distance.is_some(),
            ListenKey::Angles => !self.angles.is_empty(),
            ListenKey::Table => !self.table.is_empty(),
            ListenKey::Low => self.low.is_some(),
            ListenKey::From => self.from.is_some(),
            ListenKey::Height => self.height.is_some(),
            ListenKey::Over => self.over.is_some(),
            ListenKey::InClosedCar => self.in_closed_car,
        }
    }

    /// How one listens, in words.
    pub fn describe(&self) -> Vec<String> {
        let metres = |length: Length| format!("{} m", format_number(length.value(), 2));
        let mut said = Vec::new();
        if !self.of.is_empty() {
            said.push(format!("of: {}", self.of.iter().map(|kind| kind.word()).collect::<Vec<_>>().join(", ")));
        }
        if !self.tones.is_empty() {
            said.push(format!("tones: {}", self.tones.join(", ")));
        }
        match (self.from, self.distance) {
            (Some(side), Some(distance)) => {
                said.push(format!("{} from the middle of the vehicle's {}", metres(distance), side.word()));
            }
            (Some(side), None) => said.push(format!("to the {}", side.word())),
            (None, Some(distance)) => said.push(format!("{} from the sounder", metres(distance))),
            (None, None) => {}
        }
        said.extend(self.height.map(|height| format!("{} above the ground", metres(height))));
        if !self.angles.is_empty() {
            let angles: Vec<String> = self.angles.iter().map(|angle| format_number(angle.value(), 1)).collect();
            said.push(format!("{} deg off its axis", angles.join(", ")));
        }
        said.extend(self.low.map(|(points, by)| format!("{points} of the points may be {} dB low", by.value())));
        said.extend(self.over.map(|over| format!("{} dB over what is around", over.value())));
        said.extend(self.in_closed_car.then(|| "in a closed car".to_owned()));
        said
    }

    /// As another rule may say the same: with the height at which one listens where none is said.
    #[must_use]
    pub fn spelt_out(self) -> Self {
        Self { height: self.height.or(Some(EAR_HEIGHT)), ..self }
    }

    /// Where one listens, whatever of the sounders and their tones, and at which angles.
    #[must_use]
    pub fn place(self) -> Self {
        Self { of: Vec::new(), tones: Vec::new(), angles: Vec::new(), low: None, ..self.spelt_out() }
    }

    /// Whether it speaks of all of which another one speaks.
    pub fn covers(&self, other: &Self) -> bool {
        let of = self.of.is_empty() || !other.of.is_empty() && other.of.iter().all(|kind| self.is_of(*kind));
        let tones = self.tones.is_empty() || !other.tones.is_empty() && other.tones.iter().all(|tone| self.is_on(tone));
        of && tones
    }

    /// Whether so many points may be low that the least of them, lifted, may lie over the greatest.
    pub fn lifts_all(&self) -> bool {
        let points = self.angles.len().max(1);
        self.low.is_some_and(|(low, _)| usize::try_from(low).is_ok_and(|low| low >= points))
    }

    /// Whether it speaks of sounders of this kind.
    fn is_of(&self, kind: SounderKind) -> bool {
        self.of.is_empty() || self.of.contains(&kind)
    }

    /// Whether it speaks of this tone.
    fn is_on(&self, tone: &str) -> bool {
        self.tones.is_empty() || self.tones.iter().any(|asked| asked == tone)
    }
}

/// A quantity, what a rule on it has to say in `listen`, and what more it may say there.
pub(super) type ListenKeys = (&'static Quantity, &'static [ListenKey], &'static [ListenKey]);

/// What rules on sounders have to say, family by family, and by what they choose the sounders: by kind, by tone.
static KEYS: &[(&[ListenKeys], &[ListenKey])] = &[
    (bench::KEYS, &[ListenKey::Of, ListenKey::Tones]),
    (mounted::KEYS, &[ListenKey::Of]),
    (around::KEYS, &[ListenKey::Of, ListenKey::Tones]),
    (states::KEYS, &[ListenKey::Of, ListenKey::Tones]),
    (exposure::KEYS, &[]),
];

/// What a rule on a quantity has to say in `listen`, and what more it may say there.
pub struct Listens {
    /// What it has to say.
    pub needed: &'static [ListenKey],
    /// What more it may say.
    pub more: Vec<ListenKey>,
}

/// What a rule on a quantity says in `listen`; `None` for a quantity that takes no `listen`.
pub fn listen_keys(quantity: &Quantity) -> Option<Listens> {
    KEYS.iter().find_map(|(family, chosen)| {
        let (_, needed, more) = family.iter().find(|(known, _, _)| known.name == quantity.name)?;
        // Of these a sounder is looked at as a whole, whatever its tones.
        let whole = [bench::TONES.name, bench::CLASS.name].contains(&quantity.name);
        let chosen = chosen.iter().filter(|key| !whole || **key == ListenKey::Of);
        Some(Listens { needed, more: more.iter().chain(chosen).copied().collect() })
    })
}

/// Whether a quantity is of what ears take in over a shift: of no single sounder, so of no kind, tone or class.
pub fn is_of_shift(quantity: &Quantity) -> bool {
    exposure::KEYS.iter().any(|(known, _, _)| known.name == quantity.name)
}

/// Whether the vehicle has a sounder of the kinds, and of the class, of which a rule speaks.
pub fn has_asked(conduct: &Conduct<'_>, ask: &Ask<'_>) -> bool {
    !asked(conduct, ask).is_empty()
}

/// The tones on the sheets of the sounders of which a rule speaks, where none of them is one of which it speaks.
pub fn other_tones(conduct: &Conduct<'_>, ask: &Ask<'_>) -> Option<Vec<String>> {
    let mut tones: Vec<String> = Vec::new();
    for sheet in asked(conduct, ask).into_iter().flat_map(|(_, _, model)| &model.sheets) {
        if terms(ask).is_on(&sheet.tone) {
            return None;
        }
        if !tones.contains(&sheet.tone) {
            tones.push(sheet.tone.clone());
        }
    }
    (!tones.is_empty()).then_some(tones)
}

type Ways = fn(&Conduct<'_>, &Ask<'_>) -> Vec<Measured>;

/// A quantity of sound.
const fn of_sound(
    name: &'static str,
    says: &'static str,
    dimension: Dimension,
    purpose: bool,
    by_hand: &'static str,
    measure: Ways,
) -> Quantity {
    let scope = Scope { purpose, level: LevelScope::Never, zone: false };
    from_nowhere(name, says, dimension, scope, by_hand, Measure::Sound(measure))
}

/// Terms of a rule that says none.
static NO_TERMS: ListenTerms = ListenTerms {
    of: Vec::new(),
    tones: Vec::new(),
    distance: None,
    angles: Vec::new(),
    table: Vec::new(),
    low: None,
    from: None,
    height: None,
    over: None,
    in_closed_car: false,
};

fn terms<'a>(ask: &Ask<'a>) -> &'a ListenTerms {
    ask.listen.unwrap_or(&NO_TERMS)
}

/// The sounders a rule speaks of, each with its place and its model; those of another class are left out.
fn asked<'c>(conduct: &'c Conduct<'_>, ask: &Ask<'_>) -> Vec<(usize, &'c Sounder, &'c SounderModel)> {
    let side = &conduct.package.sound;
    let all = side.sounders.iter().enumerate().filter_map(|(at, one)| Some((at, one, side.model_of(one)?)));
    all.filter(|(_, _, model)| is_asked(model, ask)).collect()
}

/// Whether a rule speaks of a model: of its kind, and of its class where its row names one.
fn is_asked(model: &SounderModel, ask: &Ask<'_>) -> bool {
    let of_class = ask.device.class.is_none_or(|(rules, class)| model.class(rules) == Some(class));
    terms(ask).is_of(model.kind) && of_class
}

/// The sheets of a model of which a rule speaks.
fn sheets<'m>(model: &'m SounderModel, ask: &Ask<'_>) -> impl Iterator<Item = &'m Sheet> {
    let terms = terms(ask);
    model.sheets.iter().filter(move |sheet| terms.is_on(&sheet.tone))
}

/// A value of one sounder's tone.
fn of_tone(sounder: &Sounder, sheet: &Sheet, value: Value) -> Measured {
    Measured {
        sounder: Some(sounder.id.clone()),
        tone: Some(sheet.tone.clone()),
        evidence: Some(sheet.evidence.grade),
        ..Measured::new(value)
    }
}

/// A figure of each tone of each sounder asked for; `key` is what the sheet lacks where it has none.
fn each_tone(conduct: &Conduct<'_>, ask: &Ask<'_>, key: &str, figure: impl Fn(&Sheet) -> Option<f64>) -> Vec<Measured> {
    let mut found = Vec::new();
    for (_, sounder, model) in asked(conduct, ask) {
        for sheet in sheets(model, ask) {
            let missing =
                || Value::Unknown(format!("no `{key}` of the tone `{}` is stated (model `{}`)", sheet.tone, model.id));
            found.push(of_tone(sounder, sheet, figure(sheet).map_or_else(missing, Value::exactly)));
        }
    }
    found
}

/// Where a rule listens: straight away from the middle of a side of the vehicle.
fn place(conduct: &Conduct<'_>, terms: &ListenTerms, distance: Length) -> Place {
    let vehicle = &conduct.package.vehicle;
    let side = terms.from.unwrap_or(Side::Front);
    let half = match side {
        Side::Front | Side::Rear => vehicle.length,
        Side::Right | Side::Left => vehicle.width,
    };
    let away = half.value() * 0.5 + distance.value();
    let height = terms.height.unwrap_or(EAR_HEIGHT);
    Place { at: direction(side.bearing(), Degrees::ZERO) * away + DVec3::Z * height.value(), over_ground: true }
}

/// Where a rule does not say how high one listens.
const EAR_HEIGHT: Length = Length::new(1.2);

/// Those of some voices of which a rule speaks.
fn spoken_of(conduct: &Conduct<'_>, ask: &Ask<'_>, voices: &[Voice]) -> Vec<Voice> {
    let side = &conduct.package.sound;
    let terms = terms(ask);
    let speaks = |voice: &&Voice| {
        let model = side.sounders.get(voice.sounder).and_then(|sounder| side.model_of(sounder));
        model.is_some_and(|model| {
            is_asked(model, ask) && model.sheets.get(voice.sheet).is_some_and(|sheet| terms.is_on(&sheet.tone))
        })
    };
    voices.iter().filter(speaks).copied().collect()
}
