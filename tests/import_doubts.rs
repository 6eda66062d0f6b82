//! Cells that say nothing for sure: each is `?` in the package and listed, none is guessed at. And texts that a spreadsheet
//! would run: they are kept from it in the tables that are written, and read back as they were.

mod common;

use common::sheets::{confirmed, path, small, xlsx};
use wayproof::import::{propose, read_book};

const HEAD: &str = "Lamp,Part No,Colour,Facing,Behind front (in),Right (in),Height (in),Circuit,Serial,Notes\n";

fn made(dir: &tempfile::TempDir, name: &str) -> String {
    std::fs::read_to_string(path(dir, &format!("out/{name}"))).unwrap()
}

/// A cell of the table of heads, as a spreadsheet sees it.
fn cell(heads: &str, id: &str, column: &str) -> String {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(heads.as_bytes());
    let at = reader.headers().unwrap().iter().position(|name| name == column).unwrap();
    let row = reader.records().map(Result::unwrap).find(|row| &row[0] == id).unwrap_or_else(|| panic!("no lamp {id}"));
    row[at].to_owned()
}

/// Whether a line of the list names the lamp, the cell and the reason.
fn is_told(text: &str, id: &str, what: &str, why: &str) -> bool {
    let words = |line: &str| line.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    text.lines().any(|line| {
        let words = words(line);
        words.iter().any(|word| word == id) && words.iter().any(|word| word == what) && line.contains(why)
    })
}

#[test]
fn what_says_nothing_is_never_taken_for_a_name() {
    for (written, why) in [
        ("TBD", "the cell says `TBD`"),
        ("n/a", "the cell says `n/a`"),
        ("N.A.", "the cell says `N.A.`"),
        ("?", "the cell says `?`"),
        ("\u{2014}", "the cell says"),
        ("ditto", "write out what it repeats"),
        ("\"\"\"\"", "write out what it repeats"),
        ("Same as above", "write out what it repeats"),
        ("#REF!", "the cell says `#REF!`"),
    ] {
        let sheet =
            format!("{HEAD}A,x-1,red,front,3,0,40,front,1,\nB,{written},red,front,3,5,40,{written},{written},\n");
        let (dir, text, status) = small(&sheet, &[], &[]);
        assert_eq!(status, 3, "{written}: {text}");
        let heads = made(&dir, "heads.csv");
        for what in ["model", "circuit", "serial"] {
            assert_eq!(cell(&heads, "B", what), "?", "{written}: {what}");
            assert!(is_told(&text, "B", what, why), "{written}: {what}: {text}");
        }
        assert!(!made(&dir, "models.toml").contains("ditto"), "{written}");
    }
}

#[test]
fn no_circuit_is_called_by_what_says_nothing() {
    let sheet = "Circuit,Fed from,Fuse (A),Wire (AWG),Length (ft)\nfront,chassis,20,14,9\nTBD,chassis,15,14,9\n?,chassis,10,14,9\n";
    let (dir, text, status) = small(sheet, &[], &[]);
    assert_eq!(status, 3, "{text}");
    let package: toml::Table = made(&dir, "package.toml").parse().unwrap();
    let ids: Vec<&str> = package["circuit"].as_array().unwrap().iter().map(|one| one["id"].as_str().unwrap()).collect();
    assert_eq!(ids, ["front"]);
    for row in ["A3", "A4"] {
        assert!(text.lines().any(|line| line.contains(row) && line.contains("which circuit is it?")), "{row}: {text}");
    }
}

#[test]
fn one_colour_or_another_is_not_both() {
    let sheet = format!("{HEAD}A,x-1,red or blue,front,3,0,40,front,1,\nB,x-2,red/blue,front,3,5,40,front,2,\n");
    let (dir, text, _) = small(&sheet, &[], &[]);
    assert!(is_told(&text, "A", "colour", "which of them?"), "{text}");
    let models = made(&dir, "models.toml");
    let (of_first, of_second) = models.split_once("of B").unwrap();
    assert!(of_first.contains("colour = \"?\"") && !of_first.contains("colour = \"red\""), "{models}");
    assert!(of_second.contains("colour = \"red\"") && of_second.contains("colour = \"blue\""), "{models}");
}

#[test]
fn a_head_that_names_both_sides_is_a_guess() {
    for (cells, means) in [(["-15", "15"], "right"), (["L", "R"], "side")] {
        let sheet = format!("Lamp,Part No,Height (in),Left/right\nA,x-1,40,{}\nB,x-1,40,{}\n", cells[0], cells[1]);
        let mapping = propose(&read_book(sheet.as_bytes(), "sheet.csv").unwrap(), None).unwrap();
        let column = &mapping.sheets[0].columns[3];
        assert_eq!((column.means.map(|means| means.name), column.sure), (Some(means), "guess"), "{}", column.why);
    }
}

/// A formula of which the file holds no value is not an empty cell.
#[test]
fn a_formula_that_was_never_calculated_is_told() {
    let heads = ["Lamp", "Part No", "Facing", "Behind front (in)", "Right (in)", "Height (in)", "Tilt (deg)"];
    let texts = [&heads[..], &["A", "x-1", "front"]].concat();
    let shared = |at: usize| format!("<c t=\"s\"><v>{at}</v></c>");
    let head: String = (0..7).map(shared).collect();
    let first: String = (7..10).map(shared).collect();
    let rest = "<c><v>3</v></c><c><f>1+1</f><v>2</v></c><c><v>40</v></c>";
    for tilt in ["<c><f>2+2</f></c>", "<c><f>2+2</f><v></v></c>", "<c><f>2+2</f><v/></c>"] {
        let file = xlsx(&format!("<row>{head}</row><row>{first}{rest}{tilt}</row>"), "", &texts);
        let (dir, text, status) = confirmed("sheet.xlsx", &file, &[], &[]);
        assert_eq!(status, 3, "{text}");
        let made = made(&dir, "heads.csv");
        assert_eq!(
            (cell(&made, "A", "tilt"), cell(&made, "A", "right")),
            ("?".to_owned(), "2 in".to_owned()),
            "{tilt}"
        );
        assert!(is_told(&text, "A", "tilt", "a formula, and the file holds no value of it"), "{text}");
    }
}

#[test]
fn what_a_spreadsheet_would_run_stays_a_text_and_reads_back_the_same() {
    let formula = "=HYPERLINK(\"\"nowhere\"\",\"\"A\"\")";
    let sheet = format!(
        "{HEAD}A,x-1,red,front,3,-15,40,,\"{formula}\",\"see note,=1+1; \"\"x\"\n-B,x-1,red,front,3,5,40,,@SUM(1),\"a, +2\"\nC,x-1,red,front,3,5,40,,'=1,\n"
    );
    let vehicle = [
        ("name = \"\"", "name = \"Case\""),
        ("length = \"\"", "length = \"230 in\""),
        ("width = \"\"", "width = \"80 in\""),
        ("height = \"\"", "height = \"70 in\""),
    ];
    let (dir, text, status) = small(&sheet, &vehicle, &[]);
    assert_eq!(status, 0, "{text}");
    let heads = made(&dir, "heads.csv");
    // Every cell of every line, remarks too, as a spreadsheet parts them.
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(heads.as_bytes());
    let mut seen = 0;
    for cell in reader.records().map(Result::unwrap).flat_map(|row| row.iter().map(str::to_owned).collect::<Vec<_>>()) {
        let runs = cell.trim_start().starts_with(['=', '+', '@']);
        let is_length = cell.trim_end_matches(" in").parse::<f64>().is_ok();
        assert!(!runs && (is_length || !cell.trim_start().starts_with('-')), "{cell}");
        seen += 1;
    }
    assert!(seen > 25, "{seen}");
    assert_eq!(cell(&heads, "A", "serial"), "'=HYPERLINK(\"nowhere\",\"A\")");
    assert!(heads.contains("see note /=1+1 / \"x"), "{heads}");
    // Read again: by the package's reader, and by another import as what is there already.
    let file = std::path::PathBuf::from(path(&dir, "out/package.toml"));
    let (package, _) = common::load_file(&file, &[]);
    let serials: Vec<(&str, Option<&str>)> =
        package.heads.iter().map(|head| (head.id.as_str(), head.serial.as_deref())).collect();
    assert_eq!(serials, [("A", Some("=HYPERLINK(\"nowhere\",\"A\")")), ("-B", Some("@SUM(1)")), ("C", Some("=1"))]);
    let (sheet, out) = (path(&dir, "sheet.csv"), path(&dir, "out"));
    let (text, _, status) = common::sheets::run(&["import", &sheet, "-o", &out]);
    assert!(status == 0 && text.contains("Nothing changed against"), "{text}");
}
