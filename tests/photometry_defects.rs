//! Defects that real photometric files have: each is read rightly, or refused with the reason.
//! The files under tests/defects/ are invented; each name begins with the number of its defect.

// A test may fail loudly.

use wayproof::photometry::{
    Direction, Edition, Fault, Format, Frame, Goniometer, Letter, Read, ReadError, Zero, read_eulumdat, read_lm63,
};
use wayproof::units::Degrees;

macro_rules! file {
    ($name:literal) => {
        include_bytes!(concat!("defects/", $name))
    };
}

fn h_v(h: f64, v: f64) -> Direction {
    Direction::from_h_v(Degrees::new(h), Degrees::new(v))
}

/// C and gamma of a face-down lamp with C0 up.
fn c_gamma(c: f64, gamma: f64) -> Direction {
    Goniometer::FaceDown { turned: Degrees::ZERO }.direction(Degrees::new(c), Degrees::new(gamma))
}

fn cd(read: &Read, direction: Direction) -> Option<f64> {
    read.distribution.at(direction).map(|candela| candela.value())
}

fn a_or_b(bytes: &[u8]) -> Read {
    read_lm63(bytes, None, None).unwrap()
}

type Reader = fn(&[u8], Option<Frame>, Option<Zero>) -> Result<Read, ReadError>;

/// Type C or EULUMDAT of a lamp that was measured face down.
fn face_down(read: Reader, bytes: &[u8]) -> Read {
    read(bytes, Some(Frame::BeamAxis), Some(Zero::Up)).unwrap()
}

fn notes(read: &Read) -> String {
    read.notes.iter().map(|note| format!("{note}\n")).collect()
}

/// The grid that most of the type A files here hold.
fn assert_small_grid(read: &Read, factor: f64) {
    let mut value = 0.0;
    for h in [-20.0, 0.0, 20.0] {
        for v in [-10.0, 0.0, 10.0] {
            value += 10.0;
            assert_eq!(cd(read, h_v(h, v)), Some(value * factor), "H {h} V {v}");
        }
    }
}

#[test]
fn defect_01_no_version_line_is_edition_1986_whose_field_12_multiplies() {
    let read = read_lm63(file!("01-no-version-line.ies"), Some(Frame::BeamAxis), None).unwrap();
    assert_eq!(read.header.format, Format::Lm63(Edition::Y1986));
    // Ballast factor 0.5, field 12 is 2.
    assert_eq!(read.header.factor, 1.0);
    assert_eq!(cd(&read, c_gamma(123.0, 45.0)), Some(50.0));
    assert_eq!(read.header.labels[0], (String::new(), "Warning lamp, red, bench 7".to_owned()));
}

#[test]
fn defect_02_invented_version_and_keywords_are_read_as_far_as_all_editions_agree() {
    let read = a_or_b(file!("02-invented-version.ies"));
    assert_eq!(read.header.format, Format::Lm63(Edition::Unknown));
    assert_small_grid(&read, 1.0);
    assert!(notes(&read).starts_with("line 1: `IESNA95` is no version line"), "{}", notes(&read));
    assert!(read.header.labels.contains(&("FIXT".to_owned(), "surface lamp".to_owned())));

    // Field 12 is a factor in old editions and none in later ones: then the edition must be known.
    let error = read_lm63(file!("02-invented-version-with-factor.ies"), None, None).unwrap_err();
    assert_eq!((error.fault, error.line, error.column), (Fault::Format, Some(5), Some(3)));
}

#[test]
fn defect_03_radiometric_values_are_refused_by_keyword_and_noted_by_free_text() {
    let error = read_lm63(file!("03-not-candela-by-keyword.ies"), None, None).unwrap_err();
    assert_eq!((error.fault, error.line), (Fault::Unit, Some(5)));
    assert!(error.message.contains("mW/sr"), "{error}");

    let read = a_or_b(file!("03-not-candela-by-text.ies"));
    assert_small_grid(&read, 1.0);
    let warnings = read.notes.iter().filter(|note| note.message.contains("radiometric")).collect::<Vec<_>>();
    assert_eq!(warnings.len(), 1, "{warnings:?}");
    assert_eq!(warnings[0].line, Some(2));
}

#[test]
fn defect_04_multiplier_and_ballast_factor_are_applied() {
    let read = a_or_b(file!("04-multiplier.ies"));
    assert_eq!(read.header.factor, 0.66);
    assert_small_grid(&read, 0.66);
}

#[test]
fn defect_05_line_length_and_line_ends_do_not_matter() {
    let long = a_or_b(file!("05-long-lines-crlf.ies"));
    let wrapped = a_or_b(file!("05-wrapped-lf.ies"));
    assert_eq!(long.distribution, wrapped.distribution);
    assert_eq!(cd(&long, h_v(20.0, -7.0)), Some(1000.0 - 49.0 - 60.0));
}

#[test]
fn defect_06_planes_that_disagree_straight_down_are_noted_and_plane_0_counts() {
    let read = face_down(read_lm63, file!("06-nadir-differs.ies"));
    assert_eq!(cd(&read, c_gamma(77.0, 0.0)), Some(12.447));
    // Beside the pole each plane has its own value.
    assert_eq!(cd(&read, c_gamma(180.0, 45.0)), Some(8.0));
    let below = cd(&read, c_gamma(180.0, 9.0)).unwrap();
    assert!((below - (12.597 * 0.8 + 8.0 * 0.2)).abs() < 1e-9, "{below}");
    assert!(notes(&read).contains("give 12.447 to 12.597"), "{}", notes(&read));
}

#[test]
fn defect_07_tabulated_angles_count_not_the_symmetry_that_a_keyword_claims() {
    let read = face_down(read_lm63, file!("07-says-quadrants-tabulates-all.ies"));
    let edge: Vec<_> = [0.0, 90.0, 180.0, 270.0].into_iter().map(|c| cd(&read, c_gamma(c, 90.0)).unwrap()).collect();
    assert_eq!(edge, [10.0, 20.0, 30.0, 40.0]);
}

#[test]
fn defect_08_the_half_that_was_not_measured_has_no_data() {
    let hung = read_lm63(file!("08-upper-half-missing.ies"), Some(Frame::VerticalAxis), None).unwrap();
    assert_eq!(cd(&hung, h_v(30.0, 0.0)), Some(10.0));
    assert_eq!(cd(&hung, h_v(30.0, 1e-6)), None);
    assert_eq!(cd(&hung, h_v(0.0, 90.0)), None);
}

#[test]
fn defect_09_the_version_line_of_2019_is_known() {
    let read = a_or_b(file!("09-tag-of-2019.ies"));
    assert_eq!(read.header.format, Format::Lm63(Edition::Y2019));
    assert_eq!(read.header.letter, Some(Letter::A));
    assert_small_grid(&read, 1.0);
}

#[test]
fn defect_10_field_12_of_2019_is_kept_as_text_and_never_multiplied() {
    let read = a_or_b(file!("10-field-12-is-a-code.ies"));
    assert_eq!(read.header.factor, 1.0);
    assert_small_grid(&read, 1.0);
    assert!(notes(&read).contains("field 12 is `1.10000`: a code"), "{}", notes(&read));
}

#[test]
fn defect_11_no_watts_and_no_size_do_not_matter() {
    assert_small_grid(&a_or_b(file!("11-zero-watts-zero-size.ies")), 1.0);
}

#[test]
fn defect_12_the_type_letter_is_a_default_that_the_users_word_overrides() {
    // Code 1 of 1986 is C or A; negative angles are only possible in A.
    let read = a_or_b(file!("12-code-1-is-type-a.ies"));
    assert_eq!(read.header.letter, Some(Letter::A));
    assert_small_grid(&read, 1.0);
    assert!(notes(&read).contains("taken as A, since some angles are negative"), "{}", notes(&read));

    let bytes = file!("12-letter-b-but-vertical-axis.ies");
    let as_lettered = a_or_b(bytes);
    assert_eq!(as_lettered.distribution.goniometer(), Some(Goniometer::HorizontalAxis));
    assert!(as_lettered.notes.is_empty(), "{as_lettered:?}");
    let as_said = read_lm63(bytes, Some(Frame::VerticalAxis), None).unwrap();
    assert_eq!(as_said.distribution.goniometer(), Some(Goniometer::VerticalAxis));
    assert!(notes(&as_said).contains("type B (horizontal-axis); taken as vertical-axis"), "{}", notes(&as_said));
    // The corner of the table lies elsewhere in the two frames.
    assert_eq!(cd(&as_said, h_v(45.0, 40.0)), Some(90.0));
    let corner = Goniometer::HorizontalAxis.direction(Degrees::new(45.0), Degrees::new(40.0));
    assert_eq!(cd(&as_lettered, corner), Some(90.0));
    assert_ne!(cd(&as_said, corner), Some(90.0));
}

#[test]
fn defect_13_latin_1_tabs_commas_trailing_text_and_an_open_circle_are_read() {
    let read = face_down(read_lm63, file!("13-latin-1-tabs-commas-trailing-text.ies"));
    assert_eq!(read.header.labels[0].1, "bench 7, 25 \u{b0}C");
    assert!(notes(&read).contains("line 13: text after the last value"), "{}", notes(&read));
    // Half way between plane 270 (40) and the first plane (10), which closes the circle.
    assert_eq!(cd(&read, c_gamma(315.0, 90.0)), Some(25.0));

    let read = face_down(read_lm63, file!("13-planes-end-at-337.5.ies"));
    assert!(notes(&read).contains("the first plane closes the circle"), "{}", notes(&read));
    assert_eq!(cd(&read, c_gamma(337.5, 90.0)), Some(250.0));
    assert_eq!(cd(&read, c_gamma(348.75, 90.0)), Some(175.0));
}

#[test]
fn defect_14_a_count_that_does_not_match_is_refused_never_padded() {
    let error = read_lm63(file!("14-values-missing.ies"), None, None).unwrap_err();
    assert_eq!((error.fault, error.line), (Fault::Count, Some(12)));
    assert_eq!(error.message, "the values end after 8 of 9 (3 V angles by 3 H angles)");
    let error = read_lm63(file!("14-values-too-many.ies"), None, None).unwrap_err();
    assert_eq!((error.fault, error.line, error.column), (Fault::Count, Some(13), Some(1)));
}

#[test]
fn defect_15_the_list_of_planes_counts_not_the_step_in_the_header() {
    let read = face_down(read_eulumdat, file!("15-step-90-but-list-by-15.ldt"));
    // Plane n of 24 has (100 + n) cd/klm at gamma 90, and the lamps 2000 lm.
    assert_eq!(cd(&read, c_gamma(45.0, 90.0)), Some(206.0));
    assert_eq!(cd(&read, c_gamma(345.0, 90.0)), Some(246.0));
    assert!(notes(&read).contains("do not step by 90"), "{}", notes(&read));
}

#[test]
fn defect_16_a_shortened_list_of_planes_is_refused_with_the_reason() {
    let bytes = file!("16-shortened-list-of-planes.ldt");
    let error = read_eulumdat(bytes, Some(Frame::BeamAxis), Some(Zero::Up)).unwrap_err();
    assert_eq!(error.fault, Fault::Count);
    let help = error.help.unwrap();
    assert!(help.contains("only the 7 planes that are stored; it must hold all 12"), "{help}");
}

#[test]
fn defect_17_the_symmetry_indicator_counts_not_the_type_indicator() {
    let read = face_down(read_eulumdat, file!("17-says-rotational-but-mirrored.ldt"));
    let edge: Vec<_> = [0.0, 90.0, 180.0, 270.0].into_iter().map(|c| cd(&read, c_gamma(c, 90.0)).unwrap()).collect();
    assert_eq!(edge, [20.0, 40.0, 60.0, 40.0]);
    assert!(notes(&read).contains("the symmetry counts"), "{}", notes(&read));
}

#[test]
fn defect_18_decimal_commas_and_negative_lamp_counts_are_read() {
    let read = face_down(read_eulumdat, file!("18-decimal-comma-negative-lamps.ldt"));
    // Conversion 1.25, lamps of 1000.5 and 999.5 lm: 2000 lm together.
    assert_eq!(read.header.factor, 2.5);
    assert_eq!(cd(&read, c_gamma(180.0, 45.0)), Some(100.25 * 2.5));
    assert_eq!(cd(&read, c_gamma(270.0, 45.0)), Some(80.25 * 2.5));
}
