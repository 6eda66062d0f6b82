//! Whatever bytes come in, each reader gives an error or a value: no panic, no endless work, no memory for values
//! that a file only claims to hold.

// A test may fail loudly.

use proptest::prelude::*;
use wayproof::photometry::{
    Direction, Fault, Frame, Read, ReadError, Zero, read_eulumdat, read_grid, read_lm63, read_points,
};
use wayproof::units::{Candela, Degrees};

type Reader = fn(&[u8]) -> Result<Read, ReadError>;

const READERS: [Reader; 6] = [
    |bytes| read_lm63(bytes, None, None),
    |bytes| read_lm63(bytes, Some(Frame::BeamAxis), Some(Zero::Up)),
    |bytes| read_eulumdat(bytes, Some(Frame::BeamAxis), Some(Zero::Right)),
    |bytes| read_eulumdat(bytes, Some(Frame::VerticalAxis), Some(Zero::Forward)),
    |bytes| read_grid(bytes, Some(Frame::VerticalAxis)),
    |bytes| read_points(bytes, Some(Frame::HorizontalAxis)),
];

/// Files that are read as they stand, to be cut and changed.
const SEEDS: [&[u8]; 9] = [
    include_bytes!("defects/01-no-version-line.ies"),
    include_bytes!("defects/06-nadir-differs.ies"),
    include_bytes!("defects/10-field-12-is-a-code.ies"),
    include_bytes!("defects/13-latin-1-tabs-commas-trailing-text.ies"),
    include_bytes!("defects/15-step-90-but-list-by-15.ldt"),
    include_bytes!("defects/18-decimal-comma-negative-lamps.ldt"),
    b"V\\H,-10,0,10\n-5,1,2,3\n5,4,,6\n",
    b"\xef\xbb\xbfV\\H;-10;0\r\n-5;1,5;2\r\n",
    b"H,V,cd\n-10,-5,1\n0,-5,2\n-10,5,4\n0,5,6\n",
];

/// Reads with every reader. What is read can be asked in all directions, and what is answered is light.
fn read_all(bytes: &[u8]) -> Vec<Result<Read, ReadError>> {
    let results: Vec<_> = READERS.iter().map(|read| read(bytes)).collect();
    for read in results.iter().flatten() {
        let mut directions: Vec<_> = read.distribution.nodes().map(|(direction, _)| direction).take(50).collect();
        for h in [-180.0, -90.0, -17.3, 0.0, 5.0, 90.0, 180.0] {
            directions
                .extend([-90.0, -10.0, 0.0, 4.9, 90.0].map(|v| Direction::from_h_v(Degrees::new(h), Degrees::new(v))));
        }
        for direction in directions {
            let light = read.distribution.at(direction).map_or(0.0, Candela::value);
            assert!(light >= 0.0 && light.is_finite(), "{light} at {direction:?}");
        }
    }
    results
}

#[test]
fn the_seeds_are_read() {
    for seed in SEEDS {
        assert!(read_all(seed).iter().any(Result::is_ok), "{}", String::from_utf8_lossy(seed));
    }
}

/// A change to a file: bytes taken away, doubled, or replaced by something that numbers are made of.
fn change() -> impl Strategy<Value = (f64, f64, Vec<u8>)> {
    let words = [
        "", " ", "\n", ",", ";", "-1", "0", "1e9", "1e308", "99999999", "nan", "inf", "-", "TILT=", "\"", "\r",
        "\u{feff}",
    ];
    let word = prop::sample::select(words.map(str::as_bytes).map(<[u8]>::to_vec).to_vec());
    (0.0..1.0, prop_oneof![Just(0.0), 0.0..0.05, 0.0..1.0], prop_oneof![word, prop::collection::vec(any::<u8>(), 0..4)])
}

/// How far into a file a share of it lies.
fn offset(length: usize, share: f64) -> usize {
    (0..length)
        .take_while(|at| f64::from(u32::try_from(*at).unwrap()) < share * f64::from(u32::try_from(length).unwrap()))
        .count()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn arbitrary_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        read_all(&bytes);
    }

    #[test]
    fn arbitrary_words(words in prop::collection::vec(prop_oneof![
        "[-+0-9.eE,; \\n]{0,6}", Just("TILT=NONE\n".to_owned()), Just("TILT=INCLUDE\n".to_owned()), Just("IES:LM-63-2019\n".to_owned()),
        Just("V\\H".to_owned()), Just("H,V,cd\n".to_owned()), "[0-9]{1,2}[ ,\\n]",
    ], 0..80)) {
        read_all(words.concat().as_bytes());
    }

    #[test]
    fn changed_files(seed in prop::sample::select(SEEDS.to_vec()), changes in prop::collection::vec(change(), 1..4)) {
        let mut bytes = seed.to_vec();
        for (from, share, with) in changes {
            let from = offset(bytes.len(), from);
            let to = from + offset(bytes.len() - from, share);
            bytes.splice(from..to, with);
        }
        read_all(&bytes);
    }
}

#[test]
fn files_cut_short_anywhere() {
    for seed in SEEDS {
        for end in 0..seed.len() {
            read_all(&seed[..end]);
        }
    }
}

#[test]
fn an_lm63_file_without_its_last_value_is_refused_wherever_it_is_cut() {
    let text = include_bytes!("defects/06-nadir-differs.ies");
    let last = text.trim_ascii_end().len() - 1;
    for end in 0..last {
        assert!(read_lm63(&text[..end], Some(Frame::BeamAxis), Some(Zero::Up)).is_err(), "{end}");
    }
}

/// Numbers for which no machine has the memory: refused because the file has no room for them.
#[test]
fn declared_counts_are_not_believed() {
    for (v, h) in [
        ("1000000000", "1000000000"),
        ("4000000000", "1"),
        ("1", "999999999"),
        ("18446744073709551615", "2"),
        ("65536", "65536"),
    ] {
        let text = format!("IES:LM-63-2019\nTILT=NONE\n1 -1 1 {v} {h} 3 2 0 0 0\n1 1 1\n0 10\n0 10\n1 2 3 4\n");
        let error = read_lm63(text.as_bytes(), None, None).unwrap_err();
        assert_eq!(error.fault, Fault::Count, "{error}");
        let most = if v.len() > h.len() { v } else { h };
        let text =
            format!("IES:LM-63-2019\nTILT=INCLUDE\n1\n{most}\n0 90\n1 1\n1 -1 1 1 1 3 2 0 0 0\n1 1 1\n0\n0\n1\n");
        assert_eq!(read_lm63(text.as_bytes(), None, None).map(drop).unwrap_err().fault, Fault::Count, "{most}");
    }
    // Within what is read at all, but more than the bytes that are left can hold: said before a value is read.
    let text = "IES:LM-63-2019\nTILT=NONE\n1 -1 1 1000 1000 3 2 0 0 0\n1 1 1\n0 10\n0 10\n1 2 3 4\n";
    let error = read_lm63(text.as_bytes(), None, None).unwrap_err();
    assert!(error.message.ends_with("what is left of it holds 10 numbers at most"), "{error}");
    let ldt = include_str!("defects/15-step-90-but-list-by-15.ldt");
    for (from, to) in [
        ("\n24\n90\n2\n", "\n1000000\n90\n1000000\n"),
        ("\n24\n90\n2\n", "\n999996\n0\n2\n"),
        ("\n0\n1\n1\nLED", "\n0\n99999999\n1\nLED"),
    ] {
        assert!(ldt.contains(from));
        let error =
            read_eulumdat(ldt.replacen(from, to, 1).as_bytes(), Some(Frame::BeamAxis), Some(Zero::Up)).unwrap_err();
        assert_eq!(error.fault, Fault::Count, "{error}");
    }
}
