//! What the columns of a schedule can mean, and the words that people head them with: one table for all of it.

use crate::units::Dimension;

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measures {
    /// Words.
    Words,
    /// A number of things.
    Count,
    /// A figure with a unit.
    Figure(Dimension),
    /// A size of wire.
    WireSize,
}

/// A meaning.
#[derive(Debug, PartialEq, Eq)]
pub struct Field {
    /// Its name in the mapping, and where there is one the column of `heads.csv`.
    pub name: &'static str,
    /// What it says.
    pub says: &'static str,
    /// It is about a circuit, not about a lamp. A lamp's `circuit` is both.
    pub of_circuit: bool,
    /// What its cells hold.
    pub measures: Measures,
    /// Heads of columns that mean it: small letters, words parted by one blank, no units.
    pub heads: &'static [&'static str],
}

const LENGTH: Measures = Measures::Figure(Dimension::Length);
const ANGLE: Measures = Measures::Figure(Dimension::Angle);
const CURRENT: Measures = Measures::Figure(Dimension::Current);
const TEMPERATURE: Measures = Measures::Figure(Dimension::Temperature);
const WORDS: Measures = Measures::Words;

macro_rules! fields {
    ($($name:literal $of_circuit:ident $measures:expr, $says:literal: $($head:literal)*;)*) => {
        &[$(Field {
            name: $name,
            says: $says,
            of_circuit: fields!(@ $of_circuit),
            measures: $measures,
            heads: &[$($head),*],
        }),*]
    };
    (@ lamp) => { false };
    (@ wire) => { true };
}

/// Every meaning, in the order in which mappings are shown. A head may stand with one meaning only (a test says so).
#[rustfmt::skip]
pub static FIELDS: &[Field] = fields! {
    "id" lamp WORDS, "the lamp's own name":
        "id" "lamp id" "lamp" "lamp no" "lamp number" "lamp name" "item" "item no" "no" "nr" "number" "pos" "pos no" "position no" "ref" "tag" "name" "head";
    "model" lamp WORDS, "which device it is":
        "model" "part" "part no" "part number" "p n" "pn" "device" "lamp type" "lamp model" "type" "device type" "article" "article no" "stock no";
    "quantity" lamp Measures::Count, "how many of it":
        "qty" "quantity" "count" "pcs" "pieces" "no of lamps" "amount" "each" "number of lamps";
    "colour" lamp WORDS, "the colours of its light":
        "colour" "color" "colours" "colors" "lens" "lens colour" "lens color" "light colour" "light color" "colour of light" "led colour" "led color";
    "location" lamp WORDS, "where it is, in words":
        "location" "place" "position" "mounting location" "mounting position" "mounted" "mounted at" "where" "fitted at" "fitted" "installed at" "mount";
    "groups" lamp WORDS, "names under which displays call it":
        "groups" "group" "lamp group" "display group";
    "behind-front" lamp LENGTH, "distance behind the foremost point of the vehicle":
        "behind front" "distance behind front" "from front" "dist from front" "distance from front" "from front bumper" "behind bumper" "behind front bumper" "from bumper" "from the front" "behind the front";
    "ahead" lamp LENGTH, "distance ahead of the middle of the vehicle":
        "ahead" "ahead of middle" "ahead of centre" "ahead of center";
    "right" lamp LENGTH, "distance right of the middle; left is negative":
        "right" "right of centre" "right of center" "right of middle" "right of centreline" "right of centerline" "left right";
    "left" lamp LENGTH, "distance left of the middle; right is negative":
        "left of centre" "left of center" "left of middle" "left of centreline" "left of centerline" "left of cl";
    "from-middle" lamp LENGTH, "distance from the middle, to the side that words name":
        "from middle" "from centre" "from center" "from centreline" "from centerline" "off centre" "off center" "off centreline" "off centerline" "offset" "from cl" "off cl" "side offset" "lateral";
    "side" lamp WORDS, "which side of the vehicle":
        "side" "l r" "left or right" "vehicle side" "hand";
    "height" lamp LENGTH, "height of the middle of its lens above the ground":
        "height" "height above ground" "mounting height" "mounted height" "ht" "centre height" "center height" "lens height" "height of centre" "height of center" "above ground" "height agl";
    "faces" lamp ANGLE, "where it looks: front, right, rear, left, or degrees clockwise":
        "faces" "facing" "aim" "aimed" "direction" "looks" "looks to" "bearing" "shines" "faces to" "aim direction" "facing direction";
    "tilt" lamp ANGLE, "nose up, of the surface that it is mounted on":
        "tilt" "pitch" "surface tilt" "surface angle";
    "wedge" lamp ANGLE, "nose up, what the wedge gives back":
        "wedge" "shim" "wedge angle";
    "roll" lamp ANGLE, "right side down":
        "roll" "roll angle";
    "level" lamp WORDS, "upper or lower":
        "level" "upper lower" "height level" "lighting level";
    "role" lamp WORDS, "what it is there for":
        "role" "function" "purpose" "use" "duty";
    "circuit" lamp WORDS, "the circuit that feeds it":
        "circuit" "ckt" "cct" "circuit no" "circuit id" "circuit name" "circuit number" "fed by" "fed from circuit";
    "output" lamp WORDS, "the output of the controller that switches it":
        "output" "channel" "controller output" "output no" "controller channel" "switch" "switched by" "switch output" "relay" "out" "ch";
    "clock" lamp WORDS, "lamps of one clock keep step":
        "clock" "sync" "sync group" "clock group" "phase group" "in step with";
    "serial" lamp WORDS, "its serial number":
        "serial" "serial no" "serial number" "s n" "sn" "ser no";
    "mirror" lamp WORDS, "it has a twin on the other side":
        "mirror" "mirrored" "both sides" "pair" "twin";
    "mirrored-beam" lamp WORDS, "its beam is turned left for right":
        "mirrored beam";
    "current" lamp CURRENT, "what it draws":
        "current" "amps" "current draw" "draw" "load amps" "amp draw" "lamp current";
    "pattern" lamp WORDS, "the flash pattern":
        "pattern" "flash pattern" "flash" "flash code" "pattern no" "pattern index";
    "from" wire WORDS, "what feeds the circuit":
        "from" "fed from" "source" "supply" "feed" "fed by circuit" "supplied from" "supplied by" "bus" "power source";
    "fuse-kind" wire WORDS, "the kind of fuse":
        "fuse kind" "fuse type" "kind of fuse" "protection type" "type of fuse";
    "fuse-rating" wire CURRENT, "the rating of the fuse":
        "fuse" "fuse rating" "fuse size" "fuse amps" "protection" "breaker" "fuse value" "fused at" "fused";
    "fuse-ambient" wire TEMPERATURE, "how warm it is round the fuse":
        "fuse ambient" "ambient" "ambient at fuse";
    "wire-size" wire Measures::WireSize, "the size of the wire":
        "wire size" "gauge" "wire gauge" "awg" "wire awg" "wire" "cross section" "cross sectional area" "conductor size" "cable size" "wire section" "cable section" "conductor" "section";
    "wire-length" wire LENGTH, "how long the wire is, one way":
        "wire length" "length" "run" "run length" "cable length" "length of run" "length one way" "one way length" "cable run" "wire run";
    "strand" wire WORDS, "solid or stranded":
        "strand" "strands" "stranding" "solid or stranded";
    "insulation" wire TEMPERATURE, "the rating of the insulation":
        "insulation" "insulation rating" "insulation temperature" "insulation temp" "insulation class";
    "copper" wire TEMPERATURE, "how warm the copper is":
        "copper" "copper temperature" "conductor temperature";
    "engine-space" wire WORDS, "it passes through an engine space":
        "engine space" "engine bay" "engine compartment" "in engine bay" "through engine space";
    "ampacity" wire CURRENT, "what the maker of the wire lets it carry":
        "ampacity" "current rating" "wire rating" "rated current";
    "wire-colour" wire WORDS, "the colour of the insulation; a package has no place for it":
        "wire colour" "wire color" "cable colour" "cable color" "core colour" "core color" "insulation colour" "insulation color";
    "feeds" wire WORDS, "what hangs on the circuit, in words":
        "feeds" "load" "loads" "serves" "what it feeds" "consumer" "consumers" "load served";
    "notes" lamp WORDS, "remarks; kept as comments":
        "notes" "note" "remark" "remarks" "comment" "comments" "description" "details";
};

/// The meaning of this name.
pub(super) fn field(name: &str) -> Option<&'static Field> {
    FIELDS.iter().find(|field| field.name == name)
}

/// What is said of a column that is left aside.
pub(super) const NOTHING: &str = "nothing";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_head_of_a_column_means_two_things() {
        let mut heads: Vec<&str> = FIELDS.iter().flat_map(|field| field.heads).copied().collect();
        let all = heads.len();
        heads.sort_unstable();
        heads.dedup();
        assert_eq!(heads.len(), all);
        for head in heads {
            assert!(head.chars().all(|c| c.is_ascii_lowercase() || c == ' '), "{head}");
            assert_eq!(head.split(' ').filter(|word| word.is_empty()).count(), 0, "{head}");
        }
    }
}
