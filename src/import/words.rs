//! Words for places, directions, colours and uses: what they say for sure, and what they leave open.

use crate::package::ROLES;

/// A side of the vehicle, its own left and right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

/// Which side the driver sits on and which side the kerb is on: they change with the country, so a person says so.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Country {
    /// The driver's side.
    pub driver: Option<Side>,
    /// The side of the kerb.
    pub kerb: Option<Side>,
}

/// What the words for a place say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Spot {
    pub left: bool,
    pub right: bool,
    pub both: bool,
    pub middle: bool,
    pub front: bool,
    pub rear: bool,
    pub lateral: bool,
    /// A word that is none of those known here may turn the meaning of the others: above the rear wheel nothing faces
    /// the rear.
    other_words: bool,
    /// Words for a side that cannot be read without knowing the country.
    pub unknown_side: Option<String>,
}

const DRIVER: &[&str] = &["ds", "driver", "drivers", "drv"];
const PASSENGER: &[&str] = &["ps", "passenger", "passengers", "pass", "codriver"];
const KERB: &[&str] = &["kerb", "curb", "kerbside", "curbside", "nearside", "ns"];
const ROAD: &[&str] = &["street", "road", "streetside", "roadside", "offside", "os", "trafficside"];
const LEFT: &[&str] = &["left", "lh", "lhs", "lefthand"];
const RIGHT: &[&str] = &["right", "rh", "rhs", "righthand"];
const FRONT: &[&str] = &["front", "grille", "nose"];
const REAR: &[&str] = &["rear", "tailgate"];
/// Directions, where a cell says nothing else.
const AHEAD: &[&str] = &["forward", "forwards", "fwd", "ahead"];
const BACK: &[&str] = &["back", "aft", "rearward", "rearwards", "backward", "backwards"];
/// Words that leave the others as they are.
const PLAIN: &[&str] = &[
    "upper",
    "lower",
    "outer",
    "inner",
    "outboard",
    "inboard",
    "top",
    "bottom",
    "high",
    "low",
    "bumper",
    "lamp",
    "lamps",
    "light",
    "lights",
    "lighthead",
    "head",
    "heads",
    "warning",
    "scene",
    "facing",
    "faces",
    "to",
    "the",
    "of",
    "vehicle",
    "row",
    "no",
    "a",
    "and",
];

/// The words of a text, in small letters.
pub(super) fn tokens(text: &str) -> Vec<String> {
    let small = text.to_lowercase().replace("driver's", "driver").replace("passenger's", "passenger");
    let small = small.replace("off-side", "offside").replace("near-side", "nearside");
    small.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

impl Spot {
    /// Reads the words for a place, and the cell that names its side, where there is one.
    pub fn read(text: &str, side: &str, country: Country) -> Self {
        let mut spot = Self::default();
        let words = tokens(text);
        words.iter().for_each(|word| spot.word(word, country));
        // `L/R` is both; one letter alone may be the right or the rear.
        let has = |letter: &str| words.iter().any(|word| word == letter);
        spot.both |= has("l") && has("r");
        let mut of_side = Self::default();
        for word in tokens(side) {
            match word.as_str() {
                "l" => of_side.left = true,
                "r" => of_side.right = true,
                "c" => of_side.middle = true,
                word => of_side.word(word, country),
            }
        }
        spot.left |= of_side.left;
        spot.right |= of_side.right;
        spot.both |= of_side.both || (spot.left && spot.right);
        spot.middle |= of_side.middle;
        spot.unknown_side = spot.unknown_side.or(of_side.unknown_side);
        spot
    }

    fn word(&mut self, word: &str, country: Country) {
        let is = |known: &[&str]| known.contains(&word);
        let mut named = |side: Option<Side>| match side {
            Some(Side::Left) => self.left = true,
            Some(Side::Right) => self.right = true,
            None => self.unknown_side = Some(word.to_owned()),
        };
        match word {
            _ if is(LEFT) => self.left = true,
            _ if is(RIGHT) => self.right = true,
            _ if is(DRIVER) => named(country.driver),
            _ if is(PASSENGER) => named(country.driver.map(Side::other)),
            _ if is(KERB) => named(country.kerb),
            _ if is(ROAD) => named(country.kerb.map(Side::other)),
            _ if is(FRONT) => self.front = true,
            _ if is(REAR) => self.rear = true,
            "both" | "each" | "pair" | "sides" => self.both = true,
            "center" | "centre" | "centerline" | "centreline" | "middle" => self.middle = true,
            "side" => self.lateral = true,
            _ if is(PLAIN) || word.chars().all(|c| c.is_ascii_digit()) => {}
            _ => self.other_words = true,
        }
    }

    /// The one side that the words name.
    pub fn side(&self) -> Option<Side> {
        match (self.left, self.right, self.both || self.middle) {
            (true, false, false) => Some(Side::Left),
            (false, true, false) => Some(Side::Right),
            _ => None,
        }
    }

    /// Whether the words say the middle of the vehicle, and nothing else about across.
    pub fn is_middle(&self) -> bool {
        self.middle && !self.left && !self.right && !self.both && !self.lateral && !self.other_words
    }

    /// Where a lamp there looks, where the words leave no choice.
    pub fn faces(&self) -> Option<&'static str> {
        if self.other_words {
            return None;
        }
        match (self.front, self.rear, self.lateral) {
            (true, false, false) => Some("front"),
            (false, true, false) => Some("rear"),
            (false, false, true) => self.side().map(Side::word),
            _ => None,
        }
    }
}

/// `upper` or `lower`, where a level is named in full words.
pub(super) fn level(text: &str) -> Option<&'static str> {
    let words = tokens(text);
    let has = |word: &str| words.iter().any(|known| known == word);
    match (has("upper"), has("lower")) {
        (true, false) => Some("upper"),
        (false, true) => Some("lower"),
        _ => None,
    }
}

/// A direction in words: one of `front`, `right`, `rear`, `left`.
pub(super) fn facing(text: &str, country: Country) -> Result<&'static str, String> {
    let words: Vec<String> = tokens(text);
    let turned = words.iter().map(|word| match word.as_str() {
        word if AHEAD.contains(&word) => "front",
        word if BACK.contains(&word) => "rear",
        word => word,
    });
    let spot = Spot::read(&turned.collect::<Vec<_>>().join(" "), "", country);
    let ends = [(spot.front, "front"), (spot.rear, "rear"), (spot.left, "left"), (spot.right, "right")];
    let mut said = ends.into_iter().filter(|(said, _)| *said).map(|(_, word)| word);
    match (said.next(), said.next(), &spot.unknown_side) {
        (Some(word), None, None) if !spot.other_words => Ok(word),
        (None, _, Some(word)) => Err(format!("`{word}` changes with the country: say in [sides] which side it is")),
        _ => Err(format!("`{text}` is not one of front, right, rear, left, nor degrees")),
    }
}

const COLOURS: &[(&str, &[&str])] = &[
    ("red", &["red", "r"]),
    ("blue", &["blue", "b"]),
    ("amber", &["amber", "a"]),
    ("white", &["white", "w"]),
    ("green", &["green", "g"]),
    ("yellow", &["yellow", "y"]),
];

/// The colours of a lamp: `red`, `Red/White`, `R/A`; one or another is not both.
pub(super) fn colours(text: &str) -> Result<Vec<&'static str>, String> {
    let words = tokens(text);
    if text.contains('?') || words.iter().any(|word| word == "or") {
        return Err(format!("`{text}`: which of them?"));
    }
    let mut found = Vec::new();
    for word in words.iter().filter(|word| !matches!(word.as_str(), "and" | "led" | "split" | "dual" | "duo")) {
        match COLOURS.iter().find(|(_, words)| words.contains(&word.as_str())) {
            Some((colour, _)) if !found.contains(colour) => found.push(*colour),
            Some(_) => {}
            None => return Err(format!("`{text}`: `{word}` is not a colour of light that is known here")),
        }
    }
    if found.is_empty() { Err(format!("`{text}` names no colour")) } else { Ok(found) }
}

/// Whether a cell names colours in full.
pub(super) fn is_colours(text: &str) -> bool {
    text.len() > 2 && colours(text).is_ok()
}

/// Whether a cell names a side of the vehicle and nothing else.
pub(super) fn is_side(text: &str) -> bool {
    let small = text.trim().to_lowercase();
    matches!(small.as_str(), "l" | "r" | "c" | "l/r" | "left" | "right" | "both" | "lh" | "rh" | "centre" | "center")
}

/// What a lamp is there for; the words of packages, and some that people use.
pub(super) fn role(text: &str) -> Result<&'static str, String> {
    let small = text.trim().to_lowercase().replace([' ', '_'], "-");
    let same = match small.as_str() {
        "warn" | "warning-lamp" | "warning-light" | "emergency" => "warning",
        "brake" | "stop-lamp" | "brake-lamp" => "stop",
        "turn-signal" | "indicator" => "turn",
        "backup" | "back-up" | "reversing" | "reverse-lamp" => "reverse",
        "flood" | "work" | "work-light" | "scene-light" | "scene-lamp" => "scene",
        "high-beam" => "upper-beam",
        other => other,
    };
    let known = ROLES.iter().find(|(word, _)| *word == same).map(|(word, _)| *word);
    known.ok_or_else(|| {
        let words: Vec<&str> = ROLES.iter().map(|(word, _)| *word).collect();
        format!("`{text}` is not one of {}", words.join(", "))
    })
}

/// A text as a name: letters, digits, `.`, `_`, `-`.
pub(super) fn slug(text: &str) -> String {
    let keep = |c: char| if c.is_ascii_alphanumeric() || matches!(c, '.' | '_') { c.to_ascii_lowercase() } else { '-' };
    let dashed: String = text.chars().map(keep).collect();
    dashed.split('-').filter(|part| !part.is_empty()).collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_says_only_what_it_says() {
        let none = Country::default();
        let left = Country { driver: Some(Side::Left), kerb: Some(Side::Right) };
        for (text, side_cell, country, side, faces) in [
            ("Rear upper left", "", none, Some(Side::Left), Some("rear")),
            ("DS grille", "", none, None, Some("front")),
            ("DS grille", "", left, Some(Side::Left), Some("front")),
            ("Passenger side, lower", "", left, Some(Side::Right), Some("right")),
            ("Left fender", "", none, Some(Side::Left), None),
            ("Left rear corner", "", none, Some(Side::Left), None),
            ("Rear left side", "", none, Some(Side::Left), None),
            ("Above rear wheel, left", "", none, Some(Side::Left), None),
            ("Rear of cab", "", none, None, None),
            ("Ahead of axle", "", none, None, None),
            ("Front and rear", "", none, None, None),
            ("Kerb side", "", left, Some(Side::Right), Some("right")),
            ("Nearside", "", none, None, None),
            ("Both sides, upper", "", none, None, None),
            ("Roof", "", none, None, None),
            // A letter alone may be the right or the rear; in a column of sides it is a side.
            ("R upper", "", none, None, None),
            ("Grille", "R", none, Some(Side::Right), Some("front")),
            ("Grille", "L/R", none, None, Some("front")),
        ] {
            let spot = Spot::read(text, side_cell, country);
            assert_eq!((spot.side(), spot.faces()), (side, faces), "{text}");
        }
        assert_eq!(Spot::read("DS grille", "", none).unknown_side.as_deref(), Some("ds"));
        assert!(Spot::read("L/R grille", "", none).both);
        assert!(Spot::read("Rear centre", "", none).is_middle());
        assert!(!Spot::read("Centre of left side", "", none).is_middle());
        for (text, expected) in [("Forward", "front"), ("to the rear", "rear"), ("LH side", "left")] {
            assert_eq!(facing(text, none), Ok(expected), "{text}");
        }
        for text in ["side", "all round", "front and rear", "R", "down", "DS", "rear corner"] {
            assert!(facing(text, none).is_err(), "{text}");
        }
        assert_eq!((level("Upper level"), level("mid")), (Some("upper"), None));
    }

    #[test]
    fn colours_and_uses() {
        assert_eq!(colours("Red / White").unwrap(), ["red", "white"]);
        assert_eq!(colours("R/A").unwrap(), ["red", "amber"]);
        assert!(colours("red or blue").is_err() && colours("Red?").is_err());
        assert!(colours("clear").is_err() && colours("").is_err() && colours("tri").is_err());
        assert_eq!(role("Scene light"), Ok("scene"));
        assert!(role("siren").is_err());
        assert_eq!(slug("L #3 (new)"), "l-3-new");
    }
}
