//! Published tables of wire, ampacity, fuses and idling engines (`tests/reference/electrical`, whose README says where each
//! is from) against what the tool computes or holds.

mod common;

use common::close;
use common::electrical::{FOOT, GALLON, Row, figure, per_km, table, to_decimals, wire};
use wayproof::electrical::{FuseKind, IDLE_RATES, Insulation, Overload, Size, Strand};
use wayproof::units::{Ampere, Area, Celsius, Micros, Share};

fn gauge(row: &Row) -> Size {
    let text = &row[if row.contains_key("awg") { "awg" } else { "gauge" }];
    // 00 is written 2/0 elsewhere.
    let noughts = text.chars().all(|c| c == '0');
    let text = if noughts { format!("{}/0", text.len()) } else { text.clone() };
    Size::parse(&format!("{text} AWG")).unwrap_or_else(|| panic!("{text}"))
}

fn sae(size: Size) -> Option<Size> {
    let Size::Awg(number) = size else { return None };
    let known = Size::parse(&Size::Sae(number).to_string());
    assert!(known.is_none_or(|known| known == Size::Sae(number)));
    known
}

const CMIL: f64 = 5.067_075e-4;

#[test]
fn numbered_wire_is_as_wide_and_resists_as_the_table_says() {
    let rows = table("wire_awg.csv");
    assert_eq!(rows.len(), 24);
    let mut areas = 0;
    for row in &rows {
        let size = gauge(row);
        let name = &row["awg"];
        let mm2 = size.area().value() * 1e6;
        let mm = (4.0 * mm2 / std::f64::consts::PI).sqrt();
        assert!(to_decimals(mm, &row["diameter_mm"], 4), "{name}: {mm} mm");
        assert!(to_decimals(mm2, &row["area_mm2"], 4), "{name}: {mm2} mm2");
        assert!(to_decimals(mm2 / CMIL, &row["area_cmil"], 1), "{name}: {} cmil", mm2 / CMIL);
        let r20 = per_km(size, Strand::Solid, 20.0);
        assert!(to_decimals(r20, &row["r20_ohm_per_km"], 4), "{name}: {r20} ohm/km");
        assert!(to_decimals(r20 * FOOT, &row["r20_ohm_per_kft"], 5), "{name}: {} ohm/kft", r20 * FOOT);
        let r75 = per_km(size, Strand::Solid, 75.0);
        assert!(to_decimals(r75, &row["r75_formula_ohm_per_km"], 4), "{name}: {r75} ohm/km");
        // A handbook's values, which are no formula: 0.04 %.
        let handbook = figure(row, "nbs_ohm_per_kft").unwrap();
        assert!((r20 * FOOT / handbook - 1.0).abs() < 4e-4, "{name}: {handbook}");
        // A code's stranded conductors at 75 degC: our lay of 2 % is theirs to 0.6 %.
        if let Some(stranded) = figure(row, "nec_t8_stranded_75C_ohm_per_kft") {
            let ours = per_km(size, Strand::Stranded, 75.0) * FOOT;
            assert!((ours / stranded - 1.0).abs() < 6e-3, "{name}: {ours} and {stranded}");
        }
        let area = figure(row, "sae_area_cmil");
        assert_eq!(sae(size).is_some(), area.is_some(), "{name} SAE");
        if let (Some(size), Some(cmil)) = (sae(size), area) {
            let mm2 = size.area().value() * 1e6;
            assert!(close(mm2 / CMIL, cmil, 1e-12), "{size}: {} cmil", mm2 / CMIL);
            assert!(to_decimals(mm2, &row["sae_area_mm2"], 4), "{size}: {mm2} mm2");
            let r20 = per_km(size, Strand::Solid, 20.0);
            assert!(to_decimals(r20, &row["r20_from_sae_area_ohm_per_km"], 4), "{size}: {r20} ohm/km");
            areas += 1;
        }
    }
    assert_eq!(areas, 14);
}

/// Without any data a metric wire resists no less than any published greatest value lets it.
#[test]
fn metric_wire_resists_at_least_as_much_as_every_published_maximum() {
    let rows = table("metric_wire.csv");
    assert_eq!(rows.len(), 20);
    let published = [
        "iec60228_class2_plain(second)",
        "iec60228_class2_coated(second)",
        "iec60228_class5_plain(second)",
        "iec60228_class5_coated(second)",
        "iso6722_max_ohm_per_km(memory)",
    ];
    let (mut compared, mut below) = (0, Vec::new());
    for row in &rows {
        let mm2 = figure(row, "area_mm2").unwrap();
        let size = Size::Metric(Area::new(mm2 * 1e-6));
        let solid = per_km(size, Strand::Solid, 20.0);
        assert!(close(solid, 17.241 / mm2, 1e-12), "{size}: {solid}");
        assert!(to_decimals(solid, &row["formula_17.241/A_ohm_per_km_20C"], 3), "{size}: {solid}");
        let ours = per_km(size, Strand::Stranded, 20.0);
        for column in published {
            let Some(maximum) = figure(row, column) else { continue };
            compared += 1;
            if ours < maximum {
                below.push(format!("{size}, {column}: {ours} < {maximum}"));
            }
        }
    }
    assert_eq!(compared, 71);
    assert!(below.is_empty(), "{}", below.join("\n"));
}

#[test]
fn the_longest_runs_are_those_of_the_table() {
    let rows = table("max_length.csv");
    assert_eq!(rows.len(), 28);
    for row in &rows {
        let (size, strand) = match row["area_basis"].as_str() {
            "SAE" => (sae(gauge(row)).unwrap(), Strand::Solid),
            "AWGx1.02" => (gauge(row), Strand::Stranded),
            other => panic!("{other}"),
        };
        let current = figure(row, "load_A").unwrap();
        let degrees = figure(row, "copper_C").unwrap();
        for (percent, column) in [(3.0, "max_one_way_m_at_3pct_of_12.8V"), (10.0, "max_one_way_m_at_10pct_of_12.8V")] {
            let metre = current * wire(size, 1.0, strand, degrees).resistance().value();
            let longest = percent / 100.0 * 12.8 / metre;
            assert!(to_decimals(longest, &row[column], 2), "{size}, {current} A, {percent} %: {longest} m");
        }
    }
}

#[test]
fn ampacities_are_those_of_the_law() {
    let rows = table("ampacity_33cfr183_425.csv");
    assert_eq!(rows.len(), 15);
    for row in &rows {
        let size = gauge(row);
        for degrees in [60, 75, 80, 90, 105, 125, 200] {
            let insulation = Insulation::parse(Celsius::new(f64::from(degrees))).unwrap();
            let printed = figure(row, &format!("A_{degrees}C")).unwrap();
            assert_eq!(size.ampacity(insulation), Some(Ampere::new(printed)), "{size} at {degrees} degC");
            // An SAE size stands for the gauge of its number.
            assert!(sae(size).is_none_or(|size| size.ampacity(insulation) == Some(Ampere::new(printed))));
        }
        let open = size.ampacity(Insulation::C105).unwrap().value();
        let engine_space = open * Insulation::C105.in_engine_space().unwrap().value();
        assert!(close(engine_space, figure(row, "A_105C_engine_space_x0.85(second)").unwrap(), 1e-12), "{size}");
        for (amperes, column) in
            [(open, "max_fuse_A_105C_125pct_rule"), (engine_space, "max_fuse_A_105C_engine_space_125pct_rule")]
        {
            assert!(close(amperes / 1.25, figure(row, column).unwrap(), 1e-12), "{size}: {column}");
        }
    }
    assert_eq!(Size::Metric(Area::new(2.5e-6)).ampacity(Insulation::C105), None);
    assert_eq!(Insulation::C200.in_engine_space(), None);
}

/// Each published point is the bound up to its overload, and none beyond it.
#[test]
fn fuses_hold_as_long_as_published() {
    let rows = table("fuse_time_current.csv");
    assert_eq!(rows.len(), 12);
    let (mut bounds, mut unknown) = (0, 0);
    for row in &rows {
        let kinds: &[FuseKind] = match row["fuse_family"].as_str() {
            family if family.starts_with("medium blade") => &[FuseKind::Blade],
            "large blade 40 A" => &[FuseKind::LargeBlade],
            "all blade types" => &[FuseKind::Blade, FuseKind::LargeBlade],
            other => panic!("{other}"),
        };
        let percent = figure(row, "percent_of_rating").unwrap();
        let rating = Ampere::new(20.0);
        for kind in kinds {
            let overload = |percent: f64, seconds: f64| {
                #[allow(clippy::cast_possible_truncation)]
                let lasts = Micros::new((seconds * 1e6).round() as i64);
                kind.overload(rating, rating * (percent / 100.0), Some(lasts))
            };
            match figure(row, "min_s") {
                // For 100 hours it holds: it is no overload.
                Some(360_000.0) => {
                    assert_eq!(overload(percent, 60.0), Overload::None, "{kind:?} at {percent} %");
                }
                Some(seconds) => {
                    for percent in [percent, percent - 5.0] {
                        let Overload::Lasting(share) = overload(percent, seconds) else {
                            panic!("{kind:?}, {percent} %")
                        };
                        assert!(close(share, 1.0, 1e-12), "{kind:?} at {percent} %: {share}");
                    }
                    bounds += 1;
                }
                None => {
                    assert_eq!(overload(percent, 0.001), Overload::Unknown, "{kind:?} at {percent} %");
                    unknown += 1;
                }
            }
            assert_eq!(overload(601.0, 0.001), Overload::Unknown);
        }
    }
    assert_eq!((bounds, unknown), (8, 1));
    for kind in [FuseKind::Breaker, FuseKind::Other] {
        assert_eq!(kind.overload(Ampere::new(10.0), Ampere::new(12.0), None), Overload::Unknown);
        assert_eq!(kind.left_at(Celsius::new(20.0)), None);
    }
}

#[test]
fn warm_fuses_have_less_left_by_the_next_published_point() {
    let rows = table("fuse_ambient_derating.csv");
    assert_eq!(rows.len(), 5);
    let mut last = f64::NEG_INFINITY;
    for row in &rows {
        let (ambient, left) = (figure(row, "ambient_C").unwrap(), figure(row, "fraction").unwrap());
        assert!(close(40.0 * left, figure(row, "usable_A_of_40_A_large_blade").unwrap(), 1e-12));
        for degrees in [ambient, ambient - 1.0, last + 0.01] {
            for kind in [FuseKind::Blade, FuseKind::LargeBlade] {
                let found = kind.left_at(Celsius::new(degrees.max(-60.0)));
                assert_eq!(found, Some(Share::new(left)), "{kind:?} at {degrees} degC");
            }
        }
        last = ambient;
    }
    assert_eq!(FuseKind::LargeBlade.left_at(Celsius::new(125.1)), None);
}

#[test]
fn idling_engines_burn_what_the_fact_sheet_says() {
    let rows = table("idle_fuel.csv");
    let known = [
        ("large-sedan-gasoline", "large sedan 4.6 L", "gasoline"),
        ("medium-heavy-truck-gasoline", "medium heavy truck 5-7 L", "gasoline"),
        ("medium-heavy-truck-diesel", "medium heavy truck 6-10 L", "diesel"),
        ("delivery-truck-diesel", "delivery truck", "diesel"),
        ("tow-truck-diesel", "tow truck", "diesel"),
        ("bucket-truck-diesel", "bucket truck", "diesel"),
        ("combination-truck-diesel", "combination truck", "diesel"),
    ];
    assert_eq!(known.len(), IDLE_RATES.len());
    for rate in IDLE_RATES {
        let (_, vehicle, fuel) = known.iter().find(|(word, _, _)| *word == rate.vehicle).unwrap();
        let mut fitting = rows.iter().filter(|row| row["vehicle"].starts_with(vehicle) && row["fuel"] == *fuel);
        let row = fitting.next().unwrap();
        assert!(fitting.next().is_none(), "{vehicle} is one row");
        let gallons = figure(row, "gal_per_h_no_load").unwrap();
        assert!(close(rate.rate.value() / GALLON, gallons, 1e-12), "{vehicle}");
        assert!(to_decimals(rate.rate.value(), &row["L_per_h"], 3), "{vehicle}: {}", rate.rate.value());
    }
}

/// Cells of a published table in which nobody's areas fit, one size off.
const KNOWN_MISSES: [(f64, f64); 2] = [(5.0, 170.0), (15.0, 60.0)];

/// `cmil = 10.75 I L / E`: the wire that the tool would find too thin is the one that the published table leaves out.
#[test]
fn a_published_table_of_sizes_is_met_with_the_areas_of_the_vehicle_standard() {
    // The factor is our copper at 29.3 degC, in ohm and circular mils per foot.
    let size = Size::Sae(10);
    let cmil = |size: Size| size.area().value() * 1e6 / CMIL;
    let factor = wire(size, FOOT / 2.0, Strand::Solid, 29.3).resistance().value() * cmil(size);
    assert!((factor - 10.75).abs() < 0.005, "{factor}");
    let rows = table("abyc_3pct_samples.csv");
    assert_eq!(rows.len(), 12);
    let numbers = [18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3];
    let mut misses = Vec::new();
    for row in &rows {
        let of = |column| figure(row, column).unwrap();
        let (current, feet) = (of("current_A"), of("round_trip_ft"));
        let volts = of("system_V") * of("drop_pct") / 100.0;
        let needed = 10.75 * current * feet / volts;
        assert!(to_decimals(needed, &row["needed_cmil_K10.75"], 0), "{current} A, {feet} ft: {needed} cmil");
        // The thinnest that loses no more than that.
        let thinnest = |size: fn(i32) -> Size| {
            let fits = |number: &&i32| {
                let lost = current * wire(size(**number), feet * FOOT / 2.0, Strand::Solid, 29.3).resistance().value();
                lost * 10.75 / factor <= volts
            };
            f64::from(*numbers.iter().find(fits).unwrap())
        };
        assert_eq!(thinnest(Size::Sae), of("gauge_from_sae_areas"), "{current} A, {feet} ft");
        assert_eq!(thinnest(Size::Awg), of("gauge_from_awg_areas"), "{current} A, {feet} ft");
        if thinnest(Size::Sae) != of("published_gauge") {
            misses.push((current, feet));
        }
    }
    misses.sort_by(|one, other| one.0.total_cmp(&other.0));
    assert_eq!(misses, KNOWN_MISSES);
}
