//! Arrows are judged as they are seen: whenever their period begins, in whatever order their rows stand, and without the
//! elements that another display takes.

use proptest::prelude::*;

use super::*;

const STEP: &str = "arrow-step@vehicle";
const ORDER: &str = "arrow-elements-out-of-order@vehicle";
const ON_TIME: &str = "arrow-on-time@vehicle";

fn rules() -> String {
    [
        rule("arrow-step", "%", "exactly", "{ value = 25 }"),
        rule("arrow-elements-out-of-order", "heads", "at-most", "{ value = 0 }"),
        rule("arrow-on-time", "%", "at-least", "{ value = 50 }"),
    ]
    .concat()
}

/// An element: its name, where it stands, and the row that lights it, without the head.
type Element<'e> = (&'e str, f64, String);

fn lit_from(start: u32, end: u32) -> String {
    format!("pattern = \"p-{start}-{end}\"")
}

/// An arrow of these elements, on one clock with a period of 2 s; `more` are further tables. A pattern is called by its
/// start and end, `once` and `twice` are the same light in periods of 2 s and 1 s.
fn arrow(way: &str, elements: &[Element<'_>], order: &[usize], more: &str) -> Judged {
    let ends = [(0, 500), (0, 1500), (500, 1500), (1000, 1500)];
    let patterns =
        ends.map(|(start, end)| pattern(&format!("p-{start}-{end}"), 2000, &format!("[\"{start} ms\", \"{end} ms\"]")));
    let repeated = [
        pattern("once", 2000, "[\"0 ms\", \"500 ms\"], [\"1000 ms\", \"1500 ms\"]"),
        pattern("twice", 1000, "[\"0 ms\", \"500 ms\"]"),
    ];
    let heads = elements.iter().map(|(id, right, _)| head(id, *right, "role = \"arrow\"\nclock = \"arrow\""));
    let rows = order.iter().map(|at| &elements[*at]);
    let rows: Vec<String> =
        rows.map(|(id, _, row)| format!("{{ head = \"{id}\", colour = \"amber\", {row} }}")).collect();
    let shown =
        format!("[[display]]\nid = \"shown\"\nwhen = \"warning\"\narrow = \"{way}\"\nshow = [{}]\n", rows.join(", "));
    let tables: String = heads.chain(patterns).chain(repeated).chain([shown, more.to_owned()]).collect();
    judged(&with_inputs(&tables), &rules())
}

/// A lamp each from left to right, each with its row.
fn row_of(rows: &[String]) -> Vec<Element<'static>> {
    let places = [("one", -0.9), ("two", -0.3), ("three", 0.3), ("four", 0.9)];
    places.iter().zip(rows).map(|((id, right), row)| (*id, *right, row.clone())).collect()
}

/// Four lamps, each lit for a quarter of the period after the one before it: the arrow is never dark.
fn chase(delay: u32) -> Vec<Element<'static>> {
    let row = |at: u32| format!("{}, phase = \"{} ms\"", lit_from(0, 500), (delay + 500 * at) % 2000);
    row_of(&[0, 1, 2, 3].map(row))
}

/// The lamps light from left to right, so the arrow points right. Pointing left it begins at four, the rearmost.
#[test]
fn an_arrow_that_is_never_dark_begins_at_its_rear() {
    for delay in [0, 250, 500, 1000, 1999] {
        let right = arrow("right", &chase(delay), &[0, 1, 2, 3], "");
        assert_eq!((number(&right, ORDER), number(&right, STEP)), (Some(0.0), Some(25.0)), "{delay}");
        let left = arrow("left", &chase(delay), &[0, 1, 2, 3], "");
        // Begun at four (0 ms) one stands at 500, two at 1000, three at 1500 ms: two and one light before three.
        assert_eq!(number(&left, ORDER), Some(2.0), "{delay}");
        assert!(note(&left, ORDER).contains("too early: two, one"), "{}", note(&left, ORDER));
    }
}

/// Two lamps above each other at the rear stand at one place: neither is behind the other. A split arrow of two lamps
/// has one in each half.
#[test]
fn elements_at_one_place_and_halves_are_not_compared() {
    let stacked =
        [("up", 0.9, lit_from(0, 1500)), ("low", 0.9, lit_from(500, 1500)), ("tip", -0.9, lit_from(1000, 1500))];
    for order in [[0, 1, 2], [1, 0, 2], [2, 1, 0]] {
        assert_eq!(number(&arrow("left", &stacked, &order, ""), ORDER), Some(0.0), "{order:?}");
    }
    let halves = [("left", -0.9, lit_from(0, 1500)), ("right", 0.9, lit_from(500, 1500))];
    for order in [[0, 1], [1, 0]] {
        assert_eq!(number(&arrow("split", &halves, &order, ""), ORDER), Some(0.0), "{order:?}");
    }
    // One half that runs inward is found, whatever the other does: one lights before two.
    let inward = row_of(&[lit_from(0, 1500), lit_from(500, 1500), lit_from(0, 1500), lit_from(500, 1500)]);
    let split = arrow("split", &inward, &[0, 1, 2, 3], "");
    assert_eq!(number(&split, ORDER), Some(1.0));
    assert!(note(&split, ORDER).contains("too early: one"), "{}", note(&split, ORDER));
}

fn in_order() -> Vec<Element<'static>> {
    row_of(&[lit_from(1000, 1500), lit_from(1000, 1500), lit_from(500, 1500), lit_from(0, 1500)])
}

/// The later row of a head is the one that is seen.
#[test]
fn a_head_that_stands_in_two_rows_shows_the_later() {
    let mut elements = in_order();
    elements.push(("four", 0.9, lit_from(1000, 1500)));
    let heads = &elements[..4];
    let twice = |rows: [usize; 5]| {
        let rows = rows.map(|at| {
            let (id, _, row) = &elements[at];
            format!("{{ head = \"{id}\", colour = \"amber\", {row} }}")
        });
        // The first display lights nothing that is seen; the rows asked about stand in the second.
        let again = format!(
            "[[display]]\nid = \"again\"\nwhen = \"warning\"\narrow = \"left\"\nshow = [{}]\n",
            rows.join(", ")
        );
        arrow("left", heads, &[0, 1, 2, 3], &again)
    };
    // With `four` lit from 0 ms last all is in order; from 1000 ms, `three` lights before it.
    assert_eq!(number(&twice([4, 0, 1, 2, 3]), ORDER), Some(0.0));
    let early = twice([0, 1, 2, 3, 4]);
    assert_eq!(number(&early, ORDER), Some(1.0));
    assert!(note(&early, ORDER).contains("too early: three"), "{}", note(&early, ORDER));
}

/// What another display takes is missing from the arrow in the states in which it does, and only there.
#[test]
fn an_element_that_another_display_takes_is_missing() {
    let over =
        |when: &str| display("over", when, "head = \"four\", colour = \"red\", pattern = \"half\", role = \"warning\"");
    let taken = arrow("left", &in_order(), &[0, 1, 2, 3], &over("warning and door"));
    assert_eq!((number(&taken, ORDER), &*state(&taken, ORDER)), (Some(1.0), "warning on, door open"));
    assert!(note(&taken, ORDER).contains("another display shows there: four"), "{}", note(&taken, ORDER));
    // Without `four` the steps are of 500 ms, 500 ms and the dark 1000 ms: half the period.
    assert_eq!((number(&taken, STEP), &*state(&taken, STEP)), (Some(50.0), "warning on, door open"));
    // Under the arrow it takes nothing, and where all of the arrow is taken none is seen.
    let under = arrow("left", &in_order(), &[0, 1, 2, 3], &over("not warning"));
    assert_eq!(number(&under, ORDER), Some(0.0));
    let rows = ["one", "two", "three", "four"]
        .map(|id| format!("{{ head = \"{id}\", colour = \"red\", pattern = \"half\", role = \"warning\" }}"));
    let all = format!("[[display]]\nid = \"all\"\nwhen = \"door\"\nshow = [{}]\n", rows.join(", "));
    assert_eq!(number(&arrow("left", &in_order(), &[0, 1, 2, 3], &all), ORDER), Some(0.0));
    // An arrow that flashes as one has no order, and lacks a lamp all the same.
    let as_one = row_of(&[0; 4].map(|_| lit_from(0, 500)));
    let flashing = arrow("left", &as_one, &[0, 1, 2, 3], &over("warning and door"));
    assert_eq!((number(&flashing, ORDER), number(&flashing, ON_TIME)), (Some(1.0), Some(25.0)));
}

/// Periods of 1 s and 2 s have 2 s in common; a steady lamp has no rhythm and needs no clock.
#[test]
fn elements_of_two_periods_and_steady_ones_keep_step() {
    let mixed = row_of(&[lit_from(1000, 1500), "pattern = \"twice\"".to_owned(), lit_from(0, 1500)]);
    let two = arrow("left", &mixed, &[0, 1, 2], "");
    assert_eq!((number(&two, STEP), number(&two, ORDER)), (Some(25.0), Some(0.0)));
    assert!(!note(&two, STEP).contains("clock"), "{}", note(&two, STEP));
    // 1 s twice is 2 s: they flash as one, for half the time.
    let alike = row_of(&["pattern = \"twice\"".to_owned(), "pattern = \"once\"".to_owned()]);
    let one = arrow("left", &alike, &[0, 1], "");
    assert_eq!((number(&one, ON_TIME), verdict(&one, "case:arrow-step@vehicle")), (Some(50.0), Verdict::NotApplicable));
    // The steady lamp lights before none. Changes at 500, 1000 and 1500 ms: the last step is half the period.
    let steady = row_of(&[lit_from(1000, 1500), lit_from(500, 1500), "pattern = \"steady\"".to_owned()]);
    let steady = arrow("left", &steady, &[0, 1, 2], "");
    assert_eq!((number(&steady, STEP), number(&steady, ORDER)), (Some(50.0), Some(0.0)));
    assert!(!note(&steady, STEP).contains("clock"), "{}", note(&steady, STEP));
}

/// Starts and lengths in steps of 50 ms, so that elements often light at one time and often stand at one place.
fn any_elements() -> impl Strategy<Value = Vec<(i32, u32, u32)>> {
    proptest::collection::vec((-3..=3_i32, 0..40_u32, 1..40_u32), 2..6)
}

/// What is found of elements, each at its place in tenths of a metre and lit from a start for a length, in this order of
/// rows and this much later.
fn found(way: &str, elements: &[(i32, u32, u32)], order: &[usize], later: u32) -> [(Option<f64>, String); 3] {
    let ids: Vec<String> = (0..elements.len()).map(|at| format!("e{at}")).collect();
    let heads = ids
        .iter()
        .zip(elements)
        .map(|(id, (right, ..))| head(id, f64::from(*right) / 10.0, "role = \"arrow\"\nclock = \"arrow\""));
    let patterns = ids
        .iter()
        .zip(elements)
        .map(|(id, (_, _, length))| pattern(id, 2000, &format!("[\"0 ms\", \"{} ms\"]", length * 50)));
    let rows = order.iter().map(|at| {
        let phase = (elements[*at].1 * 50 + later) % 2000;
        format!("{{ head = \"e{at}\", colour = \"amber\", pattern = \"e{at}\", phase = \"{phase} ms\" }}")
    });
    let rows: Vec<String> = rows.collect();
    let shown =
        format!("[[display]]\nid = \"shown\"\nwhen = \"warning\"\narrow = \"{way}\"\nshow = [{}]\n", rows.join(", "));
    let tables: String = heads.chain(patterns).chain([shown]).collect();
    let judged = judged(&with_inputs(&tables), &rules());
    [STEP, ORDER, ON_TIME].map(|place| (number(&judged, place), note(&judged, place)))
}

/// Three alike dark gaps, and from two of the beginnings one element is early, each time another: which is named does
/// not hang on when the period begins.
#[test]
fn of_beginnings_that_are_as_good_the_same_is_told_after_a_delay() {
    let elements = [(-3, 0, 1), (3, 13, 1), (0, 26, 2)];
    let [now, later] = [0, 1000].map(|later| found("right", &elements, &[0, 1, 2], later));
    assert_eq!(now[1].0, Some(1.0));
    assert_eq!(now, later);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// The same light later is the same arrow.
    #[test]
    fn a_common_delay_changes_nothing(
        elements in any_elements(),
        way in proptest::sample::select(vec!["left", "right", "split"]),
        later in 0..2000_u32,
    ) {
        let order: Vec<usize> = (0..elements.len()).collect();
        prop_assert_eq!(found(way, &elements, &order, 0), found(way, &elements, &order, later));
    }

    /// Rows of one display, each of another head, may stand in any order.
    #[test]
    fn the_order_of_the_rows_changes_nothing(
        (elements, order) in any_elements().prop_flat_map(|elements| {
            let order: Vec<usize> = (0..elements.len()).collect();
            (Just(elements), Just(order).prop_shuffle())
        }),
        way in proptest::sample::select(vec!["left", "right", "split"]),
    ) {
        let as_written: Vec<usize> = (0..elements.len()).collect();
        prop_assert_eq!(found(way, &elements, &as_written, 0), found(way, &elements, &order, 0));
    }
}
