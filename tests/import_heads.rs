//! Heads of two lines are one head, told where they are joined; where none of the rows below can be read, the refusal says
//! why. Each case is a small sheet.

mod common;

use common::sheets::{as_proposed, cells, confirmed, small};
use wayproof::import::{propose, read_book};

const ROWS: &str = "1,WL-100,Red,Grille left,4,-15,42,Front\n2,WL-100,Red,Grille right,4,15,43,Front\n";

/// The title, meaning and unit of each column, as it is proposed.
fn proposed(sheet: &str) -> Vec<String> {
    let book = read_book(sheet.as_bytes(), "sheet.csv").unwrap();
    let mapping = propose(&book, None).unwrap();
    let columns = mapping.sheets[0].columns.iter();
    columns
        .map(|one| {
            let means = one.means.map_or("nothing", |means| means.name);
            format!("{}: {means} {}", one.head, one.unit.as_deref().unwrap_or_default()).trim_end().to_owned()
        })
        .collect()
}

#[test]
fn a_second_line_of_heads_joins_the_first() {
    for (first, second) in [
        ("Item,Part No,Color,Location,Position,,,Facing", ",,,,From Front (in),Right (in),Height (in),"),
        ("Item,Part No,Color,Location,From Front,Right,Height,Facing", ",,,,(in),(in),(in),"),
        (
            "Lamp,Part No,Color,Location,From Front (in),Right (in),Height (in),Facing",
            ",Type,,Place,,,Mounting height,",
        ),
        (
            "Lamp,Part No,Color,Location,From Front (in),Right (in),Height (in),Facing",
            "Number,Type,Lens,Where,Distance,Offset,AGL,Aim",
        ),
        ("Item,Part No,,,Position,,,", ",,Color,Location,From Front (in),Right (in),Height (in),Facing"),
    ] {
        let sheet = format!("{first}\n{second}\n{ROWS}");
        let all = as_proposed(sheet.as_bytes(), "sheet.csv");
        let read = |name| cells(&all.lamps, name).join(" ");
        assert_eq!(all.lamps.iter().map(|lamp| lamp.id.as_str()).collect::<Vec<_>>(), ["1", "2"], "{second}");
        for (name, expected) in [
            ("model", "WL-100 WL-100"),
            ("colour", "red red"),
            ("behind-front", "4 in 4 in"),
            ("right", "-15 in 15 in"),
            ("height", "42 in 43 in"),
            ("faces", "front front"),
        ] {
            assert_eq!(read(name), expected, "{name} of {second}: {:?}", proposed(&sheet));
        }
        assert_eq!(all.counts, [], "{second}");
        assert!(
            all.notes.iter().any(|note| note.contains("rows 1 and 2 are two lines of one head")),
            "{:?}",
            all.notes
        );
    }
    let titles = proposed(&format!(
        "Item,Part No,Color,Location,Position,,,Facing\n,,,,From Front (in),Right (in),Height (in),\n{ROWS}"
    ));
    let three = ["Position | From Front (in): behind-front in", "Right (in): right in", "Height (in): height in"];
    assert_eq!(titles[4..7], three);
}

#[test]
fn heads_of_two_lines_may_stand_on_every_page() {
    let head = "Item,Part No,Color,Position,,,Facing\n,,,From Front (in),Right (in),Height (in),\n";
    let sheet = format!("{head}1,X,red,4,-15,42,front\n{head}2,X,red,4,15,42,front\n");
    let all = as_proposed(sheet.as_bytes(), "sheet.csv");
    assert_eq!((cells(&all.lamps, "right"), all.counts), (vec!["-15 in".to_owned(), "15 in".to_owned()], vec![]));
}

#[test]
fn a_line_of_groups_above_the_heads_stays_above() {
    let sheet = format!(
        "Lamp,,,,Position,,,Aim\nItem,Part No,Color,Location,From Front (in),Right (in),Height (in),Facing\n{ROWS}"
    );
    let (_, text, _) = small(&sheet, &[], &[]);
    assert!(text.starts_with("2 lamps,") && !text.contains("two lines"), "{text}");
    assert_eq!(proposed(&sheet)[4], "From Front (in): behind-front in");
}

#[test]
fn a_sheet_of_which_nothing_is_read_says_why() {
    // A row between: this may be the head of another table as well.
    let sheet =
        format!("Item,Part No,Color,Location,Position,,,Facing\n\n,,,,From Front (in),Right (in),Height (in),\n{ROWS}");
    let (_, text, status) = confirmed("sheet.csv", sheet.as_bytes(), &[], &[]);
    assert_eq!(status, 2, "{text}");
    for said in
        ["no lamp and no circuit was found", "sheet row 3", "another table begins here", "put both lines into one row"]
    {
        assert!(text.contains(said), "{said}: {text}");
    }
}
