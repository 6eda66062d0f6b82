//! A sounder's model in a catalogue: what its sheet says of each tone.

use super::{Sheet, SounderKind, SounderModel};
use crate::diagnostic::{Diagnostic, Log};
use crate::load::distinct::Distinct;
use crate::load::reader::{Node, Table, Text, transpose};
use crate::package::catalogue::{evidence_or_estimate, read_classes, read_driver};
use crate::sound::{OCTAVES, Spectrum};
use crate::units::{Ampere, Decibels, Degrees, Length, PerMinute, SoundLevel, Volt};

/// Many times what any sheet lists.
const MOST_ANGLES: usize = 1000;
const MOST_TONES: usize = 64;

/// Louder than anything on a vehicle, and softer than anybody states.
const LOUDEST: SoundLevel = SoundLevel::new(180.0);
const SOFTEST: SoundLevel = SoundLevel::new(0.0);

/// Whether a `[[model]]` describes a sounder rather than a lamp.
pub(in crate::package) fn is_sounder(table: &Table<'_>) -> bool {
    table.has("sounder") || table.has("sound")
}

/// The id where it can be read, the model where all of it can.
pub(in crate::package) fn read_sounder_model(mut table: Table<'_>, log: &Log) -> (Option<Text>, Option<SounderModel>) {
    let id = table.require("id").and_then(|node| node.id());
    if let Some(id) = &id {
        table = table.named(format!("model `{}`", id.text));
    }
    let kind =
        table.require_like("sounder", "sounder = \"siren-speaker\"").and_then(|node| node.word(&SounderKind::WORDS));
    let maker = table.get("maker").and_then(|node| node.text()).map(|text| text.text);
    let driver = table.get("driver").and_then(|node| read_driver(&node));
    let classes = table.get("classes").and_then(|node| node.table()).map(read_classes).unwrap_or_default();
    let tables = table.tables("sound");
    if tables.is_empty() || tables.len() > MOST_TONES {
        let message = format!("this sounder has {} tones; a model has 1 to {MOST_TONES}", tables.len());
        let error = Diagnostic::error("no-tone", message).at(&table.span(), "");
        log.push(error.help("add a table `[[model.sound]]` with a `tone`, its `level` and its `distance`"));
    }
    table.finish();
    let mut tones = Distinct::new("tones of one model", log);
    let sheets: Option<Vec<Sheet>> = tables.into_iter().take(MOST_TONES).map(read_sheet).collect();
    let sheets = sheets
        .map(|sheets| sheets.into_iter().filter(|sheet| tones.is_new(&sheet.tone, &sheet.span)).collect::<Vec<_>>());
    let known = id.clone().zip(kind).zip(sheets.filter(|sheets| !sheets.is_empty()));
    let model = known.map(|((id, kind), sheets)| SounderModel {
        id: id.text,
        kind,
        maker,
        driver,
        classes,
        sheets,
        span: id.span,
    });
    (id, model)
}

fn read_sheet(mut table: Table<'_>) -> Option<Sheet> {
    let log = table.log();
    let tone = table.require("tone").and_then(|node| node.id());
    if let Some(tone) = &tone {
        table = table.named(format!("the tone `{}`", tone.text));
    }
    let distance = table.get("distance").map(|node| node.positive::<Length>());
    let level =
        table.get("level").map(|node| (node.span(), read_level(&node).map(|on_axis| vec![(Degrees::ZERO, on_axis)])));
    let levels = table.get("levels").map(|node| (node.span(), read_levels(&node)));
    let symmetric = table.get("symmetric").map(|node| node.boolean());
    let at = table.get("at").map(|node| node.positive::<Volt>());
    let rate = table.get("rate").map(|node| node.positive::<PerMinute>());
    let none = Decibels::ZERO;
    let lowest_part = table.get("lowest-part").map(|node| node.within(none, Decibels::new(60.0), "0 to 60 dB"));
    let frequency = table.get("frequency").map(|node| node.positive::<PerMinute>());
    let spectrum = table.get("octaves").map(|node| read_octaves(&node));
    let uncertainty = table.get("uncertainty").map(|node| node.positive::<Decibels>());
    let current = table.get("current").map(|node| node.positive::<Ampere>());
    let evidence = evidence_or_estimate(&mut table);
    let span = table.span();
    table.finish();
    let levels = match (level, levels) {
        (Some((span, _)), Some((other, _))) => {
            let error = Diagnostic::error("two-levels", "`level` and `levels` both stand here");
            log.push(
                error
                    .at(&other, "")
                    .at(&span, "and here")
                    .help("keep one of them; `levels` holds the one at 0 deg too"),
            );
            return None;
        }
        (Some((_, levels)), None) | (None, Some((_, levels))) => levels?,
        // Rates, currents and frequencies may be known where no level is.
        (None, None) => Vec::new(),
    };
    let symmetric = transpose(symmetric)?.unwrap_or(false);
    let levels = if symmetric { both_sides(levels, &span, log)? } else { levels };
    if !levels.is_empty() && levels.iter().all(|(angle, _)| *angle != Degrees::ZERO) {
        let error = Diagnostic::error("no-axis", "the level on the axis is not listed, and all others stand beside it");
        log.push(error.at(&span, "in this sheet").help("list [\"0 deg\", \"... dB(A)\"] among them"));
        return None;
    }
    Some(Sheet {
        tone: tone?.text,
        distance: transpose(distance)?,
        levels,
        at: transpose(at)?,
        rate: transpose(rate)?,
        lowest_part: transpose(lowest_part)?,
        frequency: transpose(frequency)?,
        spectrum: transpose(spectrum)?,
        uncertainty: transpose(uncertainty)?,
        current: transpose(current)?,
        evidence,
        span,
    })
}

pub(super) fn read_level(node: &Node<'_>) -> Option<SoundLevel> {
    node.within(SOFTEST, LOUDEST, "0 to 180 dB(A)")
}

/// `[["-20 deg", "112 dB(A)"], ["0 deg", "118 dB(A)"], ...]`, angles ascending.
fn read_levels(node: &Node<'_>) -> Option<Vec<(Degrees, SoundLevel)>> {
    let rows = node.list();
    const EXAMPLE: &str = "for example [[\"0 deg\", \"120 dB(A)\"], [\"50 deg\", \"109 dB(A)\"]]";
    if rows.is_empty() || rows.len() > MOST_ANGLES {
        node.error("no-level", format!("{} angles are listed; a sheet has 1 to {MOST_ANGLES}", rows.len()), EXAMPLE);
        return None;
    }
    let mut levels: Vec<(Degrees, SoundLevel)> = Vec::with_capacity(rows.len());
    for row in &rows {
        let parts = row.list();
        let [angle, level] = parts.as_slice() else {
            row.error("no-level", "an angle and its level stand in each row", EXAMPLE);
            return None;
        };
        let angle = angle.within(Degrees::new(-180.0), Degrees::new(180.0), "-180 to 180 deg")?;
        let level = read_level(level)?;
        if levels.last().is_some_and(|(last, _)| *last >= angle) {
            row.error("bad-order", "angles ascend from left to right, each once", "sort the rows by angle");
            return None;
        }
        levels.push((angle, level));
    }
    Some(levels)
}

/// The left side like the right one, where the sheet says that they are alike.
fn both_sides(
    levels: Vec<(Degrees, SoundLevel)>,
    span: &crate::diagnostic::Span,
    log: &Log,
) -> Option<Vec<(Degrees, SoundLevel)>> {
    if levels.iter().any(|(angle, _)| *angle < Degrees::ZERO) {
        let error =
            Diagnostic::error("two-sides", "`symmetric` says both sides are alike, and the left one is listed too");
        log.push(error.at(span, "").help("list angles from 0 deg up, or take `symmetric` out"));
        return None;
    }
    let left = levels.iter().rev().filter(|(angle, _)| *angle > Degrees::ZERO).map(|(angle, level)| (-*angle, *level));
    Some(left.chain(levels.iter().copied()).collect())
}

/// `{ 500 = "104 dB", 1000 = "112 dB", ... }`: unweighted levels of octave bands; what is not listed adds nothing.
fn read_octaves(node: &Node<'_>) -> Option<Spectrum> {
    let table = node.table()?;
    let mut levels = [f64::NEG_INFINITY; OCTAVES.len()];
    for (name, node) in table.entries() {
        let band = OCTAVES.iter().position(|octave| octave.nominal.to_string() == name.text);
        let Some(level) = band.and_then(|band| levels.get_mut(band)) else {
            let known: Vec<String> = OCTAVES.iter().map(|octave| octave.nominal.to_string()).collect();
            let error =
                Diagnostic::error("unknown-octave", format!("`{}` is no octave band that is read here", name.text));
            table
                .log()
                .push(error.at(&name.span, "").help(format!("bands by their midband in Hz: {}", known.join(", "))));
            return None;
        };
        *level = node.within(Decibels::ZERO, Decibels::new(180.0), "0 to 180 dB")?.value();
    }
    if levels.iter().all(|level| level.is_infinite()) {
        node.error("no-level", "no octave is listed", "for example { 500 = \"104 dB\", 1000 = \"112 dB\" }");
        return None;
    }
    Some(Spectrum::of_bands(levels))
}
