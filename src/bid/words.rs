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
        self.instead == EQUAL
    }
}

/// Rows: why nothing can be tested by some words, what to write instead, and the words.
type Reason = (&'static str, &'static str, &'static [&'static str]);

const FIGURE: &str = "write the figure with its unit, and where and how it is measured";
const EDITION: &str = "name the document with its number and edition";
const EQUAL: &str = "say in `equals` which figures and papers show that something else is as good";

/// Every one of them; whole words are looked for.
const REASONS: &[Reason] = &[
    (
        "nobody can tell how much is enough",
        FIGURE,
        &["adequate", "adequately", "sufficient", "sufficiently", "ample", "proper", "properly", "great distance"],
    ),
    ("it does not say by whom, or where that is written", "name the document and its clause", &["as required"]),
    ("it does not say who decides the need", FIGURE, &["as needed", "as necessary"]),
    ("it leaves the choice to the bidder and the dispute to the purchaser", FIGURE, &["appropriate"]),
    ("it does not say for what, or how that is shown", FIGURE, &["suitable"]),
    (
        "it does not say within which limits",
        "write the figure with its tolerance",
        &["approximately", "approx", "roughly", "or so", "more or less"],
    ),
    (
        "a least that nobody states is met by anything",
        "name the most candela, in which directions, and when",
        &["minimal glare"],
    ),
    ("how much dazzles nobody states", "name the most candela, in which directions, and when", &["low glare"]),
    ("a least that nobody states is met by anything", FIGURE, &["minimal", "as low as possible", "minimum glare"]),
    ("it does not say by which measure", FIGURE, &["optimal", "optimum"]),
    (
        "how fast is not said",
        "write the rate in flashes a minute, and how it is counted",
        &["fast flashing", "flash fast", "flashes fast", "high rate", "high rates", "high flash rate"],
    ),
    ("how fast is not said", FIGURE, &["rapid", "rapidly", "quick", "quickly"]),
    ("it names no time", "write the time", &["promptly", "as soon as possible", "asap"]),
    ("two people draw the line at two places", FIGURE, &["reasonable"]),
    ("quality has no unit", "name the property, its figure and its test", &["high quality", "best quality"]),
    (
        "it changes while the tender runs, and nobody says by which measure",
        "name the property and its figure",
        &["best available"],
    ),
    (
        "it changes while the tender runs",
        "name the property and its figure",
        &["modern", "up to date", "state of the art"],
    ),
    ("it is a word of advertisements", "name the load, the times and the temperature", &["heavy duty"]),
    (
        "it does not say from where, by whom, in which light",
        FIGURE,
        &["highly visible", "good visibility", "easily visible", "easily seen", "clearly visible"],
    ),
    (
        "brightness without a figure is an opinion",
        FIGURE,
        &[
            "very bright",
            "bright enough",
            "is bright",
            "are bright",
            "be bright",
            "bright lamps",
            "bright lights",
            "good brightness",
            "sufficient brightness",
        ],
    ),
    (
        "loudness without a distance and a level is an opinion",
        FIGURE,
        &["loud enough", "is loud", "are loud", "be loud", "loud siren", "very loud"],
    ),
    ("a greatest that nobody states is met by anything", FIGURE, &["maximum visibility", "as bright as possible"]),
    (
        "the limits may change while the tender runs",
        EDITION,
        &["latest edition", "latest revision", "most recent edition", "latest version", "as amended"],
    ),
    (
        "nobody can tell later which edition was meant",
        EDITION,
        &["current edition", "current revision", "current version"],
    ),
    (
        "an intent has no limit, so nothing shows that it is met",
        "write the limit",
        &["meets the intent", "meet the intent"],
    ),
    ("a spirit has no limit, so nothing shows that it is met", "write the limit", &["in the spirit of"]),
    (
        "it does not say by whom, and many authorities approve no device",
        "name the document, the test and who reports it",
        &["approved"],
    ),
    ("it does not say by whom and to what", "name the document, the test and who reports it", &["certified"]),
    ("there are many, and they differ", EDITION, &["industry standard"]),
    ("it is written nowhere", EDITION, &["best practice"]),
    ("it does not say which apply", "name each document with its edition", &["all applicable"]),
    (
        "a taste cannot be tested, and binds nobody before the award",
        FIGURE,
        &["to the satisfaction of", "acceptable to", "satisfactory", "satisfactorily"],
    ),
    (
        "it is an opinion",
        "name what is looked at, and what is a fault",
        &["workmanlike", "professional workmanship", "professional", "good workmanship"],
    ),
    ("it is an opinion", "name the task, who does it and in which time", &["user friendly"]),
    ("a list that does not end cannot be gone through", "list every thing", &["etc", "and so on"]),
    (
        "it asks for nothing",
        "make it a required clause, or advice",
        &[
            "if possible",
            "where practical",
            "where practicable",
            "if practical",
            "if practicable",
            "as practical",
            "as far as can be",
            "as far as possible",
            "as far as practicable",
            "whenever possible",
            "where possible",
        ],
    ),
    (
        "without a way to show it, every substitute is a dispute",
        EQUAL,
        &["or equal", "or equivalent", "or approved equal"],
    ),
    (
        "it does not say which figure has to be met, nor how that is shown",
        "write the figure with its unit; what is over a least needs no word",
        &["meet or exceed", "meets or exceeds", "meeting or exceeding"],
    ),
    (
        "whoever reads it has to go and look, and nobody says which property is meant",
        "write the properties and their figures",
        &["similar to", "same type as", "same as on", "to match existing"],
    ),
    (
        "it does not say what is normal, by whom or when",
        "write the conditions: temperature, light, voltage, distance",
        &["in normal conditions", "normal use"],
    ),
    (
        "what is better nobody says, and without a way to show it every substitute is a dispute",
        EQUAL,
        &["or better", "or superior"],
    ),
];

/// Every one of them, with its reason.
pub fn unclear() -> impl Iterator<Item = Unclear> {
    let of = |(why, instead, all): &'static Reason| all.iter().map(|words| Unclear { words, why, instead });
    REASONS.iter().flat_map(of)
}

/// Terms of the trade that hold such a word and say something.
const OF_THE_TRADE: &[&str] = &[
    "quick release",
    "quick acting",
    "quick connect",
    "quick disconnect",
    "professional engineer",
    "not similar to",
    "not be similar to",
    "same type as listed in",
];

/// Words behind which the conditions may be written: then they are no fault.
const WITH_CONDITIONS: [&str; 2] = ["normal use at ", "normal conditions at "];

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
    let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = OF_THE_TRADE.iter().fold(plain, |plain, term| plain.replace(term, "..."));
    is_whole(&WITH_CONDITIONS.iter().fold(plain, |plain, lead| without_stated(&plain, lead)), words)
}

/// A text without such a lead, wherever a figure stands behind it.
fn without_stated(text: &str, lead: &str) -> String {
    let mut parts = text.split(lead);
    let mut made = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        made.push_str(if part.starts_with(|letter: char| letter.is_ascii_digit()) { "... " } else { lead });
        made.push_str(part);
    }
    made
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
