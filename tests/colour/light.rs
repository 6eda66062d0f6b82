//! Spectra, pure light and mixtures against values computed elsewhere.

use wayproof::colour::{Chromaticity, Locus, Spectrum, mixture};
use wayproof::units::{Candela, Wavelength};

use super::{at, number, table};

fn apart(one: Chromaticity, other: Chromaticity) -> f64 {
    (one.x - other.x).abs().max((one.y - other.y).abs())
}

fn chromaticity(samples: Vec<(f64, f64)>) -> Chromaticity {
    Spectrum::new(samples).unwrap().chromaticity().unwrap()
}

pub fn gaussian(peak: f64, width: f64) -> impl Fn(f64) -> f64 {
    move |nm| (-4.0 * std::f64::consts::LN_2 * ((nm - peak) / width).powi(2)).exp()
}

fn sampled(step: f64, value: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let steps = (0..).map(|at| 380.0 + f64::from(at) * step);
    steps.take_while(|nm| *nm <= 780.0 + 1e-9).map(|nm| (nm, value(nm))).collect()
}

#[test]
fn lamps_of_one_colour_have_the_chromaticity_computed_elsewhere() {
    let rows = table("led_gaussian_xy.csv");
    assert_eq!(rows.len(), 185);
    for row in rows {
        let light = gaussian(number(&row, "peak_nm"), number(&row, "fwhm_nm"));
        let known = at(number(&row, "x"), number(&row, "y"));
        let fine = apart(chromaticity(sampled(1.0, &light)), known);
        assert!(fine <= 1e-6, "at 1 nm {fine:e}: {row:?}");
        let coarse = apart(chromaticity(sampled(5.0, &light)), known);
        assert!(coarse <= 1e-4, "at 5 nm {coarse:e}: {row:?}");
        // As an array of sensors gives it: between whole nm the matching functions are taken as straight.
        let odd = apart(chromaticity(sampled(0.37, &light)), known);
        assert!(odd <= 1e-4, "at 0.37 nm {odd:e}: {row:?}");
    }
}

/// The dominant wavelength lies where the ray from the white of equal energy through the colour meets the locus.
#[test]
fn pure_light_of_the_dominant_wavelength_lies_behind_the_colour() {
    let locus = Locus::cie_1931();
    for row in table("led_gaussian_xy.csv") {
        let nm = number(&row, "dominant_nm_whiteE");
        let whole = |nm: f64| locus.at(Wavelength::new(nm)).unwrap();
        // There x and y are straight between whole nm, here the matching functions are: the same chord, and two hundredths
        // of a nm along it.
        let theirs = whole(nm.floor()).towards(whole(nm.floor() + 1.0), nm - nm.floor());
        let found = Chromaticity::EQUAL_ENERGY.towards(theirs, number(&row, "excitation_purity_whiteE"));
        let off = apart(found, at(number(&row, "x"), number(&row, "y")));
        assert!(off < 2e-6, "{off:e}: {row:?}");
        let apart = whole(nm).distance(theirs).value() / whole(nm - 0.5).distance(whole(nm + 0.5)).value();
        assert!(apart < 0.02, "{apart} nm: {row:?}");
    }
    for row in table("locus.csv") {
        let off =
            apart(locus.at(Wavelength::new(number(&row, "nm"))).unwrap(), at(number(&row, "x"), number(&row, "y")));
        assert!(off <= 0.5e-4 + 1e-9, "{off:e}: {row:?}");
    }
    assert_eq!(locus.at(Wavelength::new(379.9)), None);
    assert_eq!(locus.at(Wavelength::new(699.5)), None);
    assert!(locus.at(Wavelength::new(699.0)).is_some());
}

/// All 22 spectra of the table, each drawn by straight lines through its samples of 5 nm and summed by our own sum.
#[test]
fn illuminants_have_the_chromaticity_computed_elsewhere() {
    let spectra = table("illuminant_spectra.csv");
    let rows = table("illuminants_xy.csv");
    assert_eq!((spectra.len(), rows.len()), (81, 22));
    for row in &rows {
        let name = row["illuminant"].as_str();
        let samples: Vec<(f64, f64)> = spectra.iter().map(|at| (number(at, "nm"), number(at, name))).collect();
        let straight = |nm: f64| {
            let pair = samples.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&nm)).unwrap();
            let share = (nm - pair[0].0) / (pair[1].0 - pair[0].0);
            pair[0].1 * (1.0 - share) + pair[1].1 * share
        };
        let known = at(number(row, "x_1nm_380_780"), number(row, "y_1nm_380_780"));
        let printed = at(number(row, "x_table"), number(row, "y_table"));
        let (fine, coarse) = (chromaticity(sampled(1.0, straight)), chromaticity(samples.clone()));
        assert!(apart(fine, known) <= 1e-6, "{name} at 1 nm: {fine:?}");
        assert!(apart(coarse, printed) <= 1e-4, "{name} as the CIE prints it: {coarse:?}");
        // Spectra without lines may be sampled as far apart.
        let smooth = ["A", "B", "C", "D50", "D55", "D65", "D75", "E"].contains(&name);
        assert!(!smooth || apart(coarse, known) <= 1e-4, "{name} at 5 nm: {coarse:?}");
    }
}

#[test]
fn mixtures_are_weighted_by_luminous_intensity() {
    for row in table("colour_mixtures.csv") {
        let light = |x: &str, y: &str, cd: &str| (at(number(&row, x), number(&row, y)), Candela::new(number(&row, cd)));
        let mixed = mixture(&[light("x1", "y1", "cd1"), light("x2", "y2", "cd2")]).unwrap();
        let off = apart(mixed, at(number(&row, "x_mix"), number(&row, "y_mix")));
        assert!(off < 1e-9, "{off:e}: {row:?}");
    }
    assert_eq!(mixture(&[]), None);
    assert_eq!(mixture(&[(at(0.3, 0.3), Candela::ZERO)]), None);
    assert_eq!(mixture(&[(at(0.7, 0.0), Candela::new(1.0))]), None, "no light is luminous at y = 0");
}

#[test]
fn tables_of_spectra_are_read_as_instruments_write_them() {
    let light = gaussian(630.0, 20.0);
    let known = chromaticity(sampled(1.0, &light));
    let rows = sampled(1.0, &light);
    let written = |line: &dyn Fn(&(f64, f64)) -> String| rows.iter().map(line).collect::<String>();
    let plain = written(&|(nm, value)| format!("{nm},{value:.9}\n"));
    let comma = written(&|(nm, value)| format!("{nm};{value:.9}\r\n").replace('.', ","));
    let tabs = written(&|(nm, value)| format!("{nm}\t{value:.9}\n"));
    for text in [plain.clone(), format!("nm,value\n{plain}"), format!("# lamp 4\nnm;W\n{comma}"), tabs] {
        let found = Spectrum::read(&text).unwrap().chromaticity().unwrap();
        assert!(apart(found, known) < 1e-6, "{found:?}");
    }
}

#[test]
fn what_is_no_spectrum_of_a_lamp_says_why() {
    let error = |text: &str| match Spectrum::read(text) {
        Err(error) => (error.code, error.line),
        Ok(spectrum) => spectrum.chromaticity().map_err(|error| (error.code, error.line)).unwrap_err(),
    };
    assert_eq!(error("nm,value\n"), ("bad-spectrum", None));
    assert_eq!(error("380,0\n385,0\n390,0\n"), ("bad-spectrum", None));
    assert_eq!(error("nm,value\n600,1\n601\n"), ("bad-spectrum", Some(3)));
    assert_eq!(error("600,1\n601,x\n"), ("bad-spectrum", Some(2)));
    assert_eq!(error("600,1\n600,1\n"), ("bad-spectrum", Some(2)));
    assert_eq!(error("600,1\n605,2\n612,1\n"), ("coarse-spectrum", None));
    assert_eq!(error("600,0\n605,1\n610,-0.2\n"), ("bad-spectrum", None));
    let tail = (600..=640).map(|nm| format!("{nm},{}\n", gaussian(630.0, 20.0)(f64::from(nm)))).collect::<String>();
    assert_eq!(error(&tail), ("cut-spectrum", None));
    let whole = (590..=680).map(|nm| format!("{nm},{}\n", gaussian(630.0, 20.0)(f64::from(nm)))).collect::<String>();
    assert!(Spectrum::read(&whole).unwrap().chromaticity().is_ok());
}
