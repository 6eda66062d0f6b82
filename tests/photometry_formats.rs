//! Each format, each symmetry, and what is refused: with invented files written in place.

// A test may fail loudly.

use wayproof::photometry::{
    Direction, Distribution, Fault, Frame, Goniometer, Read, ReadError, Zero, read_eulumdat, read_grid, read_lm63,
    read_points,
};
use wayproof::units::{Candela, Degrees, OpticalPower};

const FACE_DOWN: Goniometer = Goniometer::FaceDown { turned: Degrees::ZERO };

fn direction(goniometer: Goniometer, first: f64, second: f64) -> Direction {
    goniometer.direction(Degrees::new(first), Degrees::new(second))
}

fn h_v(h: f64, v: f64) -> Direction {
    direction(Goniometer::VerticalAxis, h, v)
}

fn cd(distribution: &Distribution, direction: Direction) -> Option<f64> {
    distribution.at(direction).map(Candela::value)
}

fn close(found: Option<f64>, wanted: f64) -> bool {
    found.is_some_and(|found| (found - wanted).abs() <= 1e-9 * wanted.abs())
}

/// An LM-63 file of 2002 with these V and H angles; value = 1000 + 10 x plane + row.
fn lm63(code: u8, v: &[f64], h: &[f64]) -> String {
    let words = |numbers: &[f64]| numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
    let mut text = format!("IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 {} {} {code} 2 0 0 0\n1 1 1\n", v.len(), h.len());
    text += &format!("{}\n{}\n", words(v), words(h));
    for (plane, _) in (0u32..).zip(h) {
        let row: Vec<f64> = (0u32..).zip(v).map(|(row, _)| f64::from(1000 + 10 * plane + row)).collect();
        text += &format!("{}\n", words(&row));
    }
    text
}

/// An EULUMDAT file of 1000 lm, so that values are candela.
fn ldt(symmetry: u8, planes: &[f64], gammas: &[f64], values: &[f64]) -> String {
    let mut lines: Vec<String> = [
        "Example Lamps (invented)",
        "3",
        &symmetry.to_string(),
        &planes.len().to_string(),
        "0",
        &gammas.len().to_string(),
        "0",
    ]
    .map(String::from)
    .to_vec();
    lines.extend(["report", "side lamp", "1", "side.ldt", "2025"].map(String::from));
    lines.extend(["0"; 11].map(String::from));
    lines.extend(["1", "0", "1", "1", "LED", "1000", "red", "", "20"].map(String::from));
    lines.extend(["0.5"; 10].map(String::from));
    lines.extend(planes.iter().chain(gammas).chain(values).map(f64::to_string));
    lines.join("\n")
}

fn lm63_c(text: &str) -> Result<Read, ReadError> {
    read_lm63(text.as_bytes(), Some(Frame::BeamAxis), Some(Zero::Up))
}

fn eulumdat(text: &str) -> Result<Read, ReadError> {
    read_eulumdat(text.as_bytes(), Some(Frame::BeamAxis), Some(Zero::Up))
}

#[test]
fn type_c_symmetry_is_told_by_the_range_of_h() {
    // Planes at equal light: C, and the plane of the file that holds it.
    for (h, same) in [
        (&[0.0][..], &[(0.0, 0), (77.0, 0), (359.0, 0)][..]),
        (&[0.0, 45.0, 90.0], &[(45.0, 1), (135.0, 1), (225.0, 1), (315.0, 1), (180.0, 0), (270.0, 2)]),
        (&[0.0, 60.0, 180.0], &[(60.0, 1), (300.0, 1), (180.0, 2)]),
        (&[90.0, 150.0, 270.0], &[(90.0, 0), (150.0, 1), (30.0, 1), (270.0, 2)]),
        (&[0.0, 60.0, 180.0, 240.0, 360.0], &[(60.0, 1), (240.0, 3)]),
    ] {
        let read = lm63_c(&lm63(1, &[0.0, 45.0, 90.0], h)).unwrap();
        for (c, plane) in same {
            let found = cd(&read.distribution, direction(FACE_DOWN, *c, 45.0));
            assert_eq!(found, Some(f64::from(1001 + 10 * plane)), "{h:?} {c}");
        }
    }
}

#[test]
fn type_c_ranges_that_tell_no_symmetry_are_refused() {
    for h in [&[0.0, 45.0][..], &[0.0, 90.0, 120.0], &[30.0], &[10.0, 90.0]] {
        let error = lm63_c(&lm63(1, &[0.0, 90.0], h)).unwrap_err();
        assert_eq!(error.fault, Fault::Symmetry, "{h:?}");
        assert_eq!(error.line, Some(6));
    }
    // Planes over more than half but less than all of the circle: no data in the rest, and it is said.
    let read = lm63_c(&lm63(1, &[0.0, 90.0], &[0.0, 60.0, 120.0, 190.0])).unwrap();
    assert_eq!(cd(&read.distribution, direction(FACE_DOWN, 270.0, 45.0)), None);
    assert!(read.notes.iter().any(|note| note.message.contains("no data in the rest")), "{:?}", read.notes);
}

#[test]
fn types_a_and_b_mirror_left_and_right_where_h_runs_from_0_to_90() {
    for (code, goniometer) in [(3, Goniometer::VerticalAxis), (2, Goniometer::HorizontalAxis)] {
        let half =
            read_lm63(lm63(code, &[-10.0, 10.0], &[0.0, 30.0, 90.0]).as_bytes(), None, None).unwrap().distribution;
        assert_eq!(half.goniometer(), Some(goniometer));
        for h in [-30.0, 30.0] {
            assert_eq!(cd(&half, direction(goniometer, h, 10.0)), Some(1011.0));
        }
        let full =
            read_lm63(lm63(code, &[-10.0, 10.0], &[-90.0, 0.0, 30.0]).as_bytes(), None, None).unwrap().distribution;
        assert_eq!(cd(&full, direction(goniometer, 30.0, 10.0)), Some(1021.0));
        assert!(close(cd(&full, direction(goniometer, -30.0, 10.0)), 1001.0 + 10.0 * 2.0 / 3.0));
        assert_eq!(cd(&full, direction(goniometer, 30.1, 10.0)), None);
        // Only the range 0 to 90 stands for a mirror: a quarter that stops earlier is taken as it is.
        let part = read_lm63(lm63(code, &[-10.0, 10.0], &[0.0, 30.0]).as_bytes(), None, None).unwrap().distribution;
        assert_eq!(cd(&part, direction(goniometer, -30.0, 10.0)), None);
    }
}

#[test]
fn frame_and_c0_must_be_said_for_c_and_gamma() {
    let planes = lm63(1, &[0.0, 90.0], &[0.0, 90.0]);
    let all_round = lm63(1, &[0.0, 90.0], &[0.0]);
    let read = |text: &str, frame, zero| read_lm63(text.as_bytes(), frame, zero);
    let refused = Err((Fault::Orientation, true));
    assert_eq!(fault(read(&planes, None, Some(Zero::Up))), refused);
    assert_eq!(fault(read(&planes, Some(Frame::BeamAxis), None)), refused);
    assert_eq!(fault(read(&planes, Some(Frame::BeamAxis), Some(Zero::Forward))), refused);
    assert_eq!(fault(read(&planes, Some(Frame::VerticalAxis), Some(Zero::Up))), refused);
    assert_eq!(fault(read(&planes, Some(Frame::HorizontalAxis), Some(Zero::Up))), refused);
    assert_eq!(fault(read(&planes, Some(Frame::VerticalAxis), Some(Zero::Forward))), Ok(()));
    assert_eq!(fault(read(&all_round, None, None)), refused);
    assert_eq!(fault(read(&all_round, Some(Frame::BeamAxis), None)), Ok(()));
    let type_a = lm63(3, &[0.0, 10.0], &[0.0, 90.0]);
    assert_eq!(fault(read(&type_a, Some(Frame::BeamAxis), None)), refused);
    assert_eq!(fault(read(&type_a, None, Some(Zero::Up))), refused);
    let ldt = ldt(1, &[0.0], &[0.0, 90.0], &[5.0, 1.0]);
    assert_eq!(fault(read_eulumdat(ldt.as_bytes(), None, None)), refused);
    assert_eq!(fault(read_grid::<Candela>(b"V\\H,0\n0,5", None)), refused);
    assert_eq!(fault(read_points::<Candela>(b"H,V,cd\n0,0,5", None)), refused);
    assert_eq!(fault(read_points::<Candela>(b"H,V,cd\n0,0,5", Some(Frame::BeamAxis))), refused);
}

/// What is wrong, and whether it is said what would be right.
fn fault<T>(result: Result<T, ReadError>) -> Result<(), (Fault, bool)> {
    result.map(drop).map_err(|error| (error.fault, error.help.is_some()))
}

#[test]
fn c0_turns_the_planes() {
    // Plane C0 alone is bright; where is it?
    let text = lm63(1, &[0.0, 90.0], &[0.0, 90.0, 180.0, 270.0, 360.0]).replace("1000 1001\n1010", "1000 9\n1010");
    let bright = |frame, zero, toward: Direction| {
        let read = read_lm63(text.as_bytes(), Some(frame), Some(zero)).unwrap();
        cd(&read.distribution, toward) == Some(9.0)
    };
    let toward = |x, y, z| Direction::new(glam::DVec3::new(x, y, z)).unwrap();
    assert!(bright(Frame::VerticalAxis, Zero::Forward, toward(1.0, 0.0, 0.0)));
    assert!(bright(Frame::VerticalAxis, Zero::Left, toward(0.0, 1.0, 0.0)));
    assert!(bright(Frame::VerticalAxis, Zero::Back, toward(-1.0, 0.0, 0.0)));
    assert!(bright(Frame::VerticalAxis, Zero::Right, toward(0.0, -1.0, 0.0)));
    assert!(bright(Frame::BeamAxis, Zero::Up, toward(0.0, 0.0, 1.0)));
    assert!(bright(Frame::BeamAxis, Zero::Left, toward(0.0, 1.0, 0.0)));
    assert!(bright(Frame::BeamAxis, Zero::Down, toward(0.0, 0.0, -1.0)));
    assert!(bright(Frame::BeamAxis, Zero::Right, toward(0.0, -1.0, 0.0)));
    assert!(!bright(Frame::BeamAxis, Zero::Up, toward(0.0, 0.0, -1.0)));
    // The plane at 360 was left as it is, so the file gives one plane twice, and differently.
    let read = read_lm63(text.as_bytes(), Some(Frame::BeamAxis), Some(Zero::Up)).unwrap();
    assert!(read.notes.iter().any(|note| note.message.contains("give one plane twice")), "{:?}", read.notes);
}

#[test]
fn eulumdat_symmetries_store_their_planes_in_their_own_order() {
    let circle = [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0];
    // Each plane: 500 at gamma 0 and at 90 its number among the stored ones.
    for (symmetry, stored, at_90) in [
        (0, 8, [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]),
        (1, 1, [0.0; 8]),
        (2, 5, [0.0, 1.0, 2.0, 3.0, 4.0, 3.0, 2.0, 1.0]),
        // C270, C315, C0, C45, C90; mirrored in C90-C270.
        (3, 5, [2.0, 3.0, 4.0, 3.0, 2.0, 1.0, 0.0, 1.0]),
        (4, 3, [0.0, 1.0, 2.0, 1.0, 0.0, 1.0, 2.0, 1.0]),
    ] {
        let values: Vec<f64> = (0..stored).flat_map(|plane| [500.0, f64::from(plane)]).collect();
        let read = eulumdat(&ldt(symmetry, &circle, &[0.0, 90.0], &values)).unwrap();
        let found: Vec<_> =
            circle.iter().map(|c| cd(&read.distribution, direction(FACE_DOWN, *c, 90.0)).unwrap()).collect();
        assert_eq!(found, at_90, "symmetry {symmetry}");
        // Between the last plane and the first.
        let between = cd(&read.distribution, direction(FACE_DOWN, 337.5, 90.0)).unwrap();
        assert!((between - f64::midpoint(at_90[7], at_90[0])).abs() < 1e-9, "symmetry {symmetry}: {between}");
    }
}

#[test]
fn eulumdat_mistakes_name_their_line() {
    let good = ldt(4, &[0.0, 90.0, 180.0, 270.0], &[0.0, 90.0], &[500.0, 10.0, 500.0, 20.0]);
    eulumdat(&good).unwrap();
    let lines: Vec<&str> = good.lines().collect();
    let with = |line: usize, text: &str| {
        let mut lines = lines.clone();
        lines[line - 1] = text;
        let error = eulumdat(&lines.join("\n")).unwrap_err();
        (error.fault, error.line)
    };
    assert_eq!(with(3, "5"), (Fault::Symmetry, Some(3)));
    assert_eq!(with(4, "6"), (Fault::Count, Some(4)));
    assert_eq!(with(4, "1e9"), (Fault::Count, Some(4)));
    assert_eq!(with(6, "two"), (Fault::Number, Some(6)));
    assert_eq!(with(24, "0"), (Fault::Value, Some(24)));
    assert_eq!(with(29, "-1000"), (Fault::Value, Some(29)));
    assert_eq!(with(44, "0"), (Fault::Angles, Some(44)));
    assert_eq!(with(48, "200"), (Fault::Angles, Some(48)));
    assert_eq!(with(50, "nan"), (Fault::Number, Some(50)));
    assert_eq!(with(50, "-1"), (Fault::Value, Some(50)));
    assert_eq!(with(52, ""), (Fault::Count, Some(51)));
    // Symmetry 4 needs plane 90 where the quarter ends.
    assert_eq!(with(44, "91"), (Fault::Symmetry, Some(3)));
    let more = eulumdat(&format!("{good}\n7")).unwrap_err();
    assert_eq!((more.fault, more.line), (Fault::Count, Some(53)));
    let text = eulumdat(&format!("{good}\nend of report\n")).unwrap();
    assert_eq!(text.notes.last().map(|note| note.line), Some(Some(53)));
}

#[test]
fn lm63_mistakes_name_their_line_and_column() {
    let good = "IESNA:LM-63-2002\nTILT=NONE\n1 -1 1 2 2 3 2 0 0 0\n1 1 1\n-10 10\n-20 20\n1 2\n3 4\n";
    read_lm63(good.as_bytes(), None, None).unwrap();
    for (from, to, fault, line, column) in [
        ("1 2\n3", "1 inf\n3", Fault::Number, 7, 3),
        ("1 2\n3", "1 nan\n3", Fault::Number, 7, 3),
        ("1 2\n3", "1 1e999\n3", Fault::Number, 7, 3),
        ("1 2\n3", "1 0x2\n3", Fault::Number, 7, 3),
        ("1 2\n3", "1 -2\n3", Fault::Value, 7, 3),
        ("1 2\n3", "1 cd\n3", Fault::Number, 7, 3),
        ("-20 20", "-20 -20", Fault::Angles, 6, 5),
        ("-20 20", "20 -20", Fault::Angles, 6, 4),
        ("-10 10", "-10 91", Fault::Angles, 5, 5),
        ("-20 20", "-181 20", Fault::Angles, 6, 1),
        ("1 -1 1 2", "1 -1 0 2", Fault::Value, 3, 6),
        ("1 -1 1 2", "1 -1 -2 2", Fault::Value, 3, 6),
        ("1 -1 1 2", "1 -1 1 2.5", Fault::Count, 3, 8),
        ("1 -1 1 2", "1 -1 1 0", Fault::Count, 3, 8),
        ("1 -1 1 2 2 3", "1 -1 1 2 2 4", Fault::Format, 3, 12),
        ("1 1 1\n", "0 1 1\n", Fault::Value, 4, 1),
        ("TILT=NONE", "TILT=lamp.tlt", Fault::Tilt, 2, 1),
        ("TILT=NONE", "TILT=INCLUDE\n1 2\n0 90\n1 0.9", Fault::Tilt, 5, 3),
    ] {
        assert!(good.contains(from));
        let error = read_lm63(good.replacen(from, to, 1).as_bytes(), None, None).unwrap_err();
        assert_eq!((error.fault, error.line, error.column), (fault, Some(line), Some(column)), "{to}: {error}");
    }
    let included = good.replace("TILT=NONE", "TILT=INCLUDE\n1 2\n0 90\n1 1.0");
    assert!(read_lm63(included.as_bytes(), None, None).is_ok());
    let no_tilt = read_lm63(b"H,V,cd\n0,0,5\n", None, None).unwrap_err();
    assert_eq!((no_tilt.fault, no_tilt.line), (Fault::Format, None));
}

#[test]
fn field_12_multiplies_by_edition() {
    for (version, wanted) in [
        ("a title of 1986\n", Some(1.5)),
        ("IESNA91\n", Some(1.5)),
        ("IESNA:LM-63-1995\n", Some(1.0)),
        ("IESNA:LM-63-2002\n", Some(1.0)),
        ("IES:LM-63-2019\n", Some(1.0)),
        ("IES:LM-63-2030\n", None),
    ] {
        let text = format!("{version}TILT=NONE\n1 -1 1 2 2 3 2 0 0 0\n1 1.5 1\n-10 10\n-20 20\n1 2\n3 4\n");
        let read = read_lm63(text.as_bytes(), Some(Frame::VerticalAxis), None);
        assert_eq!(read.ok().map(|read| read.header.factor), wanted, "{version}");
    }
}

#[test]
fn grids_may_have_holes_semicolons_and_any_order() {
    let plain = "V\\H,-10,0,10\n-5,1,2,3\n5,4,,6\n";
    let turned = "\u{feff}V\\H;10;0;-10\r\n5,0;6;;4\r\n-5,0;3;2;1\r\n;;;\r\n";
    for text in [plain, turned] {
        let read = read_grid::<Candela>(text.as_bytes(), Some(Frame::VerticalAxis)).unwrap();
        let cd = |h, v| cd(&read.distribution, h_v(h, v));
        assert_eq!((cd(-10.0, -5.0), cd(10.0, 5.0), cd(-10.0, 5.0)), (Some(1.0), Some(6.0), Some(4.0)));
        // Two corners, the edge between them, the hole itself, a cell that lacks a corner.
        assert_eq!(cd(-5.0, -5.0), Some(1.5));
        assert_eq!(cd(0.0, 5.0), None);
        assert_eq!(cd(-5.0, 0.0), None);
        // A direction right on a side of the cell needs the ends of that side only.
        assert_eq!(cd(-10.0, 0.0), Some(2.5));
        assert_eq!(cd(10.0, 0.0), Some(4.5));
        assert!(read.notes.iter().any(|note| note.message.contains("1 of 6 cells are empty")), "{:?}", read.notes);
    }
}

#[test]
fn grid_mistakes_name_their_cell() {
    let read = |text: &str| read_grid::<Candela>(text.as_bytes(), Some(Frame::VerticalAxis));
    for (text, fault, place) in [
        ("H\\V,0,10\n0,1,2\n", Fault::Format, (1, 1)),
        ("V\\H,0,10\n0,1,2,3\n", Fault::Count, (2, 1)),
        ("V\\H,0,10\n0,1\n", Fault::Count, (2, 1)),
        ("V\\H,0,10\n\n0,1, x\n", Fault::Number, (3, 6)),
        ("V\\H,0,10\n0,1,-2\n", Fault::Value, (2, 5)),
        ("V\\H,0,10\n0,1,\"1,5\"\n", Fault::Count, (2, 1)),
        ("V\\H,0,10\n0,1,5 cd\n", Fault::Number, (2, 5)),
        ("V\\H,0,10,5\n0,1,2,3\n", Fault::Angles, (1, 10)),
        ("V\\H,0,10\n0,1,2\n5,1,2\n5,1,2\n", Fault::Angles, (4, 1)),
        ("V\\H,0,10\n95,1,2\n", Fault::Angles, (2, 1)),
        ("V\\H,-10,355\n5,1,2\n", Fault::Angles, (1, 9)),
    ] {
        let error = read(text).unwrap_err();
        assert_eq!((error.fault, error.line, error.column), (fault, Some(place.0), Some(place.1)), "{text}: {error}");
    }
    assert_eq!(read("").unwrap_err().fault, Fault::Format);
    assert_eq!(read("V\\H\n").unwrap_err().fault, Fault::Format);
    assert_eq!(read("V\\H,0,1\n").unwrap_err().fault, Fault::Format);
}

#[test]
fn turning_angles_may_be_counted_past_180() {
    let read = read_grid::<Candela>(b"V\\H,0,90,180,270,360\n0,1,2,3,4,1\n", Some(Frame::VerticalAxis)).unwrap();
    assert_eq!(cd(&read.distribution, h_v(-90.0, 0.0)), Some(4.0));
    assert_eq!(cd(&read.distribution, h_v(-135.0, 0.0)), Some(3.5));
    let nodding = read_grid::<Candela>(b"V\\H,0\n-180,3\n-90,2\n0,1\n", Some(Frame::HorizontalAxis)).unwrap();
    assert_eq!(cd(&nodding.distribution, direction(Goniometer::HorizontalAxis, 0.0, 180.0)), Some(3.0));
    assert_eq!(cd(&nodding.distribution, direction(Goniometer::HorizontalAxis, 0.0, 90.0)), None);
}

#[test]
fn point_lists_fill_a_grid() {
    let text = "H,V,cd\n10,5,6\n-10,-5,1\n0,-5,2\n10,-5,3\n-10,5,4\n";
    let read = read_points::<Candela>(text.as_bytes(), Some(Frame::VerticalAxis)).unwrap();
    assert_eq!(cd(&read.distribution, h_v(10.0, 5.0)), Some(6.0));
    assert_eq!(cd(&read.distribution, h_v(5.0, -5.0)), Some(2.5));
    assert_eq!(cd(&read.distribution, h_v(5.0, 0.0)), None);
    assert!(read.notes.iter().any(|note| note.message.contains("1 of 6 grid points are missing")), "{:?}", read.notes);

    let power = read_points::<OpticalPower>(b"H,V,cd.s/min\n0,0,7000\n", Some(Frame::VerticalAxis)).unwrap();
    assert_eq!(power.distribution.at(h_v(0.0, 0.0)), Some(OpticalPower::new(7000.0)));
    assert_eq!(power.distribution.at(h_v(0.0, 0.1)), None);
}

#[test]
fn point_list_mistakes_name_their_place() {
    let read = |text: &str| read_points::<Candela>(text.as_bytes(), Some(Frame::VerticalAxis));
    for (text, fault, place) in [
        ("V,H,cd\n0,0,5\n", Fault::Format, (1, 1)),
        ("H,V,cd.s/min\n0,0,5\n", Fault::Format, (1, 1)),
        ("H,V,cd\n0,0\n", Fault::Count, (2, 1)),
        ("H,V,cd\n0,0,5,6\n", Fault::Count, (2, 7)),
        ("H,V,cd\n0,0,\n", Fault::Number, (2, 5)),
        ("H,V,cd\n0,0,-5\n", Fault::Value, (2, 5)),
        ("H,V,cd\n0,95,5\n", Fault::Angles, (2, 3)),
        ("H,V,cd\n0,0,5\n1,0,5\n-0,0.0,6\n", Fault::Angles, (4, 1)),
    ] {
        let error = read(text).unwrap_err();
        assert_eq!((error.fault, error.line, error.column), (fault, Some(place.0), Some(place.1)), "{text}: {error}");
    }
    assert!(read("H,V,cd\n0,0,5\n1,0,5\n0,0,6\n").unwrap_err().message.contains("line 2"));
    // Points that share neither H nor V with another would make a grid of nothing but holes.
    let scattered: String =
        (0..3000).map(|at| format!("{},{},1\n", f64::from(at) / 100.0, f64::from(at) / 50.0)).collect();
    assert_eq!(read(&format!("H,V,cd\n{scattered}")).unwrap_err().fault, Fault::Count);
}

#[test]
fn declared_figures_fall_to_half_at_the_half_angle() {
    let declared = |axis, half| Distribution::declared(Candela::new(axis), Degrees::new(half));
    let narrow = declared(900.0, 20.0).unwrap();
    assert_eq!(cd(&narrow, h_v(0.0, 0.0)), Some(900.0));
    for off in [direction(FACE_DOWN, 0.0, 20.0), direction(FACE_DOWN, 137.0, 20.0), h_v(-20.0, 0.0)] {
        assert!(close(cd(&narrow, off), 450.0), "{:?}", narrow.at(off));
    }
    // Computed apart: m = 11.143405279, (cos 30 deg)^m = 0.201316101400.
    assert!(close(cd(&narrow, h_v(30.0, 0.0)), 900.0 * 0.201_316_101_400_229_37), "{:?}", narrow.at(h_v(30.0, 0.0)));
    assert!(cd(&narrow, h_v(0.0, 40.0)).is_some());
    assert_eq!(cd(&narrow, h_v(0.0, 40.001)), None);
    assert_eq!(cd(&narrow, h_v(180.0, 0.0)), None);
    // A half-angle of 60 degrees is Lambert's cosine; behind the lamp there is never data.
    let wide = declared(100.0, 60.0).unwrap();
    assert!(close(cd(&wide, h_v(45.0, 0.0)), 100.0 * 45f64.to_radians().cos()));
    assert_eq!(cd(&wide, h_v(100.0, 0.0)), None);
    for (axis, half) in
        [(0.0, 20.0), (-5.0, 20.0), (f64::NAN, 20.0), (9.0, 0.0), (9.0, 90.0), (9.0, f64::NAN), (9.0, 1e-9)]
    {
        assert!(declared(axis, half).is_err(), "{axis} {half}");
    }
}
