//! Words with which a clause cannot be tested, each with the reason why and what to write instead.

/// A word, or several in a row, that says nothing a test could show.
#[derive(Clone, Copy, Debug)]
pub struct Unclear {
    /// In small letters, as it stands in a text.
    pub words: &'static str,
    /// Why nothing can be tested by it.
    pub why: &'static str,
    /// What to write instead.
    pub instead: &'static str,
}

impl Unclear {
    /// Whether it lets something else stand in for what is asked.
    pub fn of_equals(&self) -> bool {
        self.words.ends_with("equal") || self.words.ends_with("equivalent")
    }
}

const fn unclear(words: &'static str, why: &'static str, instead: &'static str) -> Unclear {
    Unclear { words, why, instead }
}

const FIGURE: &str = "write the figure with its unit, and where and how it is measured";
const EDITION: &str = "name the document with its number and edition";
const EQUAL: &str = "say in `equals` which figures and papers show that something else is as good";

/// Every one of them; whole words are looked for.
pub const UNCLEAR: &[Unclear] = &[
    unclear("adequate", "nobody can tell how much is enough", FIGURE),
    unclear("adequately", "nobody can tell how much is enough", FIGURE),
    unclear("sufficient", "nobody can tell how much is enough", FIGURE),
    unclear("sufficiently", "nobody can tell how much is enough", FIGURE),
    unclear("ample", "nobody can tell how much is enough", FIGURE),
    unclear("as required", "it does not say by whom, or where that is written", "name the document and its clause"),
    unclear("as needed", "it does not say who decides the need", FIGURE),
    unclear("as necessary", "it does not say who decides the need", FIGURE),
    unclear("appropriate", "it leaves the choice to the bidder and the dispute to the purchaser", FIGURE),
    unclear("suitable", "it does not say for what, or how that is shown", FIGURE),
    unclear("approximately", "it does not say within which limits", "write the figure with its tolerance"),
    unclear("approx", "it does not say within which limits", "write the figure with its tolerance"),
    unclear("roughly", "it does not say within which limits", "write the figure with its tolerance"),
    unclear("or so", "it does not say within which limits", "write the figure with its tolerance"),
    unclear("more or less", "it does not say within which limits", "write the figure with its tolerance"),
    unclear(
        "minimal glare",
        "a least that nobody states is met by anything",
        "name the most candela, in which directions, and when",
    ),
    unclear("low glare", "how much dazzles nobody states", "name the most candela, in which directions, and when"),
    unclear("minimal", "a least that nobody states is met by anything", FIGURE),
    unclear("optimal", "it does not say by which measure", FIGURE),
    unclear("optimum", "it does not say by which measure", FIGURE),
    unclear("fast flashing", "how fast is not said", "write the rate in flashes a minute, and how it is counted"),
    unclear("flash fast", "how fast is not said", "write the rate in flashes a minute, and how it is counted"),
    unclear("flashes fast", "how fast is not said", "write the rate in flashes a minute, and how it is counted"),
    unclear("rapid", "how fast is not said", FIGURE),
    unclear("rapidly", "how fast is not said", FIGURE),
    unclear("quick", "how fast is not said", FIGURE),
    unclear("quickly", "how fast is not said", FIGURE),
    unclear("promptly", "it names no time", "write the time"),
    unclear("as soon as possible", "it names no time", "write the time"),
    unclear("reasonable", "two people draw the line at two places", FIGURE),
    unclear("high quality", "quality has no unit", "name the property, its figure and its test"),
    unclear("best quality", "quality has no unit", "name the property, its figure and its test"),
    unclear(
        "best available",
        "it changes while the tender runs, and nobody says by which measure",
        "name the property and its figure",
    ),
    unclear("modern", "it changes while the tender runs", "name the property and its figure"),
    unclear("up to date", "it changes while the tender runs", "name the property and its figure"),
    unclear("heavy duty", "it is a word of advertisements", "name the load, the times and the temperature"),
    unclear("state of the art", "it changes while the tender runs", "name the property and its figure"),
    unclear("highly visible", "it does not say from where, by whom, in which light", FIGURE),
    unclear("good visibility", "it does not say from where, by whom, in which light", FIGURE),
    unclear("easily visible", "it does not say from where, by whom, in which light", FIGURE),
    unclear("easily seen", "it does not say from where, by whom, in which light", FIGURE),
    unclear("clearly visible", "it does not say from where, by whom, in which light", FIGURE),
    unclear("very bright", "brightness without a figure is an opinion", FIGURE),
    unclear("bright enough", "brightness without a figure is an opinion", FIGURE),
    unclear("loud enough", "loudness without a distance and a level is an opinion", FIGURE),
    unclear("maximum visibility", "a greatest that nobody states is met by anything", FIGURE),
    unclear("as bright as possible", "a greatest that nobody states is met by anything", FIGURE),
    unclear("as low as possible", "a least that nobody states is met by anything", FIGURE),
    unclear("latest edition", "the limits may change while the tender runs", EDITION),
    unclear("latest revision", "the limits may change while the tender runs", EDITION),
    unclear("current edition", "nobody can tell later which edition was meant", EDITION),
    unclear("most recent edition", "the limits may change while the tender runs", EDITION),
    unclear("meets the intent", "an intent has no limit, so nothing shows that it is met", "write the limit"),
    unclear("meet the intent", "an intent has no limit, so nothing shows that it is met", "write the limit"),
    unclear("in the spirit of", "a spirit has no limit, so nothing shows that it is met", "write the limit"),
    unclear(
        "approved",
        "it does not say by whom, and many authorities approve no device",
        "name the document, the test and who reports it",
    ),
    unclear("certified", "it does not say by whom and to what", "name the document, the test and who reports it"),
    unclear("industry standard", "there are many, and they differ", EDITION),
    unclear("best practice", "it is written nowhere", EDITION),
    unclear("all applicable", "it does not say which apply", "name each document with its edition"),
    unclear("to the satisfaction of", "a taste cannot be tested, and binds nobody before the award", FIGURE),
    unclear("workmanlike", "it is an opinion", "name what is looked at, and what is a fault"),
    unclear("professional workmanship", "it is an opinion", "name what is looked at, and what is a fault"),
    unclear("good workmanship", "it is an opinion", "name what is looked at, and what is a fault"),
    unclear("professional", "it is an opinion", "name what is looked at, and what is a fault"),
    unclear("user friendly", "it is an opinion", "name the task, who does it and in which time"),
    unclear("etc", "a list that does not end cannot be gone through", "list every thing"),
    unclear("and so on", "a list that does not end cannot be gone through", "list every thing"),
    unclear("if possible", "it asks for nothing", "make it a required clause, or advice"),
    unclear("where practical", "it asks for nothing", "make it a required clause, or advice"),
    unclear("where practicable", "it asks for nothing", "make it a required clause, or advice"),
    unclear("if practical", "it asks for nothing", "make it a required clause, or advice"),
    unclear("if practicable", "it asks for nothing", "make it a required clause, or advice"),
    unclear("as practical", "it asks for nothing", "make it a required clause, or advice"),
    unclear("as far as can be", "it asks for nothing", "make it a required clause, or advice"),
    unclear("as far as possible", "it asks for nothing", "make it a required clause, or advice"),
    unclear("as far as practicable", "it asks for nothing", "make it a required clause, or advice"),
    unclear("whenever possible", "it asks for nothing", "make it a required clause, or advice"),
    unclear("where possible", "it asks for nothing", "make it a required clause, or advice"),
    unclear("or equal", "without a way to show it, every substitute is a dispute", EQUAL),
    unclear("or equivalent", "without a way to show it, every substitute is a dispute", EQUAL),
    unclear("or approved equal", "without a way to show it, every substitute is a dispute", EQUAL),
];

/// Words by which a clause asks for somebody's product rather than for what it does.
pub(super) const OF_A_MAKER: &[&str] = &[
    "brand",
    "brand name",
    "part number",
    "part no",
    "model number",
    "model no",
    "catalog number",
    "catalogue number",
    "made by",
    "manufactured by",
    "trademark",
];

/// Whether some words stand in a text as whole words, letters of either size, hyphens or none.
pub(super) fn stands_in(text: &str, words: &str) -> bool {
    let plain = text.to_lowercase().replace('-', " ");
    is_whole(&plain.split_whitespace().collect::<Vec<_>>().join(" "), words)
}

/// Whether a product or its maker is named in a text, as it is written, letters of either size.
pub(super) fn is_named(text: &str, name: &str) -> bool {
    !name.is_empty() && is_whole(&text.to_lowercase(), &name.to_lowercase())
}

fn is_whole(text: &str, words: &str) -> bool {
    let is_part = |letter: Option<char>| letter.is_some_and(char::is_alphanumeric);
    text.match_indices(words).any(|(at, _)| {
        let before = text.get(..at).and_then(|lead| lead.chars().next_back());
        let after = text.get(at + words.len()..).and_then(|rest| rest.chars().next());
        !is_part(before) && !is_part(after)
    })
}
