//! The sounders of a vehicle, the level round it, what ears take in over a shift, and how to measure it.

use comfy_table::{CellAlignment, Table, presets};

use super::Report;
use super::text::{heading, paragraph};
use crate::judge::Finding;
use crate::logic::Region;
use crate::measure::Conduct;
use crate::measure::sound::{Span, Voice, dose, exposure, level_of, ring};
use crate::package::{Declared, Mount, Sheet, SoundSide, Sounder, Sounding};
use crate::quantity::{Measure, find};
use crate::sound::{Air, Criterion, NIOSH, OSHA};
use crate::units::{Degrees, Length, SoundLevel, format_number};

/// The ring on which the level is printed: 50 ft, at the height of an ear.
pub(super) const RADIUS: Length = Length::new(15.24);
pub(super) const EAR: Length = Length::new(1.2);
const STEP: u16 = 45;

/// Whether a finding is on what sounds.
pub(super) fn is_on_sound(finding: &Finding) -> bool {
    find(finding.quantity).is_some_and(|quantity| matches!(quantity.measure, Measure::Sound(_)))
}

/// What each sounder does in a state.
pub(super) fn sounding_in(conduct: &Conduct<'_>, state: &[usize]) -> Vec<String> {
    let side = &conduct.package.sound;
    let (sounds, here) = (conduct.sounds(), conduct.space().state(state));
    let does = |(sounder, parts): (&Sounder, &Vec<(Region, Voice)>)| {
        let voice = parts.iter().find(|(region, _)| conduct.space().meet(region, &here)).map(|(_, voice)| voice);
        let tone = voice.and_then(|voice| side.model_of(sounder)?.sheets.get(voice.sheet));
        let sounding = voice.and_then(|voice| side.soundings.get(voice.sounding));
        match tone.zip(sounding) {
            Some((sheet, sounding)) => format!("{}: {}, by \"{}\"", sounder.id, sheet.tone, sounding.id),
            None => format!("{}: silent", sounder.id),
        }
    };
    side.sounders.iter().zip(&sounds.voices).map(does).collect()
}

/// The section on sounders; nothing where none is fitted or no rule on them is asked for.
pub(super) fn sounders(report: &Report<'_>, out: &mut String) {
    let side = &report.package().sound;
    if side.sounders.is_empty() || !report.findings().any(is_on_sound) {
        return;
    }
    heading("Sounders, by their sheets: level on the axis, cycles or pulses a minute", report.width, out);
    by_sheets(side, out);
    around(report, side, out);
    ears(report, side, out);
    measuring(report, side, out);
}

/// Every sounder with every tone that its sheet names.
fn by_sheets(side: &SoundSide, out: &mut String) {
    let mut table = plain(&["sounder", "mounted", "tone", "dB(A)", "at m", "at V", "/min", "evidence"]);
    for sounder in &side.sounders {
        let Some(model) = side.model_of(sounder) else { continue };
        for (at, sheet) in model.sheets.iter().enumerate() {
            let first = |text: &str| if at == 0 { text.to_owned() } else { String::new() };
            let figure =
                |value: Option<f64>, digits| value.map_or("-".to_owned(), |value| format_number(value, digits));
            table.add_row([
                first(&sounder.id),
                first(sounder.mount.map_or("not said", Mount::word)),
                sheet.tone.clone(),
                figure(sheet.level_at(Degrees::ZERO).map(SoundLevel::value), 1),
                figure(sheet.distance.map(Length::value), 2),
                figure(sheet.at.map(crate::units::Volt::value), 1),
                figure(sheet.rate.map(crate::units::PerMinute::value), 0),
                sheet.evidence.grade.word().to_owned(),
            ]);
        }
    }
    push(table, &[3, 4, 5, 6], out);
}

/// The level on a ring, one row a sounding.
fn around(report: &Report<'_>, side: &SoundSide, out: &mut String) {
    if side.soundings.is_empty() {
        return;
    }
    let feet = format_number(RADIUS.value() / 0.3048, 0);
    let title = format!(
        "Level round the vehicle, dB(A), {} m ({feet} ft) from its middle, {} m high, by bearing",
        format_number(RADIUS.value(), 2),
        format_number(EAR.value(), 1)
    );
    heading(&title, report.width, out);
    let bearings: Vec<String> = ring(RADIUS, EAR, STEP).map(|(bearing, _)| format_number(bearing.value(), 0)).collect();
    let header: Vec<&str> = std::iter::once("sounding").chain(bearings.iter().map(String::as_str)).collect();
    let mut table = plain(&header);
    for (at, sounding) in side.soundings.iter().enumerate() {
        let voices = voices(sounding, at);
        let level = |place| level_of(report.conduct, &voices, place).map_or("-".to_owned(), span);
        let levels = ring(RADIUS, EAR, STEP).map(|(_, place)| level(place));
        table.add_row(std::iter::once(sounding.id.clone()).chain(levels));
    }
    push(table, &(1..header.len()).collect::<Vec<_>>(), out);
}

/// Everything that a sounding sounds; `at` is its place in the package.
pub(super) fn voices(sounding: &Sounding, at: usize) -> Vec<Voice> {
    sounding.rows.iter().map(|(sounder, sheet)| Voice { sounder: *sounder, sheet: *sheet, sounding: at }).collect()
}

/// `86`, `86-92`, `<92` where the lower end may be silence, `?` where nothing is known.
fn span(span: Span) -> String {
    let whole = |level: f64| format_number(level, 0);
    match (span.low.is_finite(), span.high.is_finite()) {
        (_, false) => "?".to_owned(),
        (false, true) => format!("<{}", whole(span.high)),
        (true, true) if whole(span.low) == whole(span.high) => whole(span.high),
        (true, true) => format!("{}-{}", whole(span.low), whole(span.high)),
    }
}

/// What each ear hears, and how long that is permitted by two rules.
fn ears(report: &Report<'_>, side: &SoundSide, out: &mut String) {
    if side.exposures.is_empty() {
        return;
    }
    heading("What ears take in over a shift, and the minutes permitted (never a medical statement)", report.width, out);
    let mut table = plain(&["who", "what", "dB(A)", "min", "by 29 CFR", "by NIOSH"]);
    for one in &side.exposures {
        let parts = exposure(report.conduct, one);
        for (at, part) in parts.iter().enumerate() {
            let level = SoundLevel::new(part.level.high);
            let permitted = |criterion: &Criterion| match (level.value().is_finite(), criterion.counts(level)) {
                (true, true) => format_number(criterion.permits(level).value() / 60.0, 1),
                (true, false) => "not counted".to_owned(),
                (false, _) => "?".to_owned(),
            };
            table.add_row([
                if at == 0 { one.id.clone() } else { String::new() },
                part.what.clone(),
                span(part.level),
                format_number(part.lasts.value() / 60.0, 1),
                permitted(&OSHA),
                permitted(&NIOSH),
            ]);
        }
        let at_most = |criterion: &Criterion| {
            let dose = dose(&parts, criterion).1.value() * 100.0;
            if dose.is_finite() { format!("dose {} %", format_number(dose, 1)) } else { "dose ?".to_owned() }
        };
        let empty = String::new;
        table.add_row([empty(), "together, at most".to_owned(), empty(), empty(), at_most(&OSHA), at_most(&NIOSH)]);
    }
    push(table, &[2, 3, 4, 5], out);
}

/// What was assumed, and what to do with a meter.
fn measuring(report: &Report<'_>, side: &SoundSide, out: &mut String) {
    heading("Sound: what is assumed, and how to measure it on the vehicle", report.width, out);
    let listening = &side.listening;
    let air = listening.air.unwrap_or(Air::MILD);
    let stated = if listening.air.is_some() { "stated" } else { "not stated" };
    let ground = match listening.reflection {
        Some(adds) => format!("the ground adds {} dB, as [listening] states", adds.value()),
        None => "what the ground adds is not stated, so from 4.8 dB less (soft) to 6 dB more (hard)".to_owned(),
    };
    let declared = |what: &str, figure: &Option<Declared>| {
        let source = |one: &Declared| one.source.as_ref().map(|source| format!(": {source}")).unwrap_or_default();
        figure.as_ref().map(|one| format!("{what} {} dB (declared{})", one.takes.value(), source(one)))
    };
    let assumed: Vec<String> = [
        Some("free field round each sounder".to_owned()),
        report.package().bodies.is_empty().then(|| "no [[body]] is described, so nothing stands in the way".to_owned()),
        Some(ground),
        Some(format!(
            "air at {} degC, {} %, {} kPa ({stated})",
            air.temperature.value(),
            format_number(air.humidity.value() * 100.0, 0),
            air.pressure.value()
        )),
        declared("a closed car keeps out", &listening.closed_car),
        declared("shut windows keep out", &listening.windows_shut),
        listening.ambient.map(|ambient| format!("around it {} dB(A) (stated)", ambient.value())),
        (!side.exposures.is_empty()).then(|| "each part of a shift is heard by itself".to_owned()),
        Some("speakers on one amplifier from against each other to with each other, by where one stands".to_owned()),
    ]
    .into_iter()
    .flatten()
    .collect();
    let mut line = |text: &str| paragraph(&format!("- {text}"), "  ", report.width, out);
    line(&format!("assumed: {}", assumed.join("; ")));
    let volts: Vec<String> = distinct(side, |sheet| sheet.at.map(|volts| format_number(volts.value(), 1)));
    let volts =
        if volts.is_empty() { "the voltage of the sheet".to_owned() } else { format!("{} V", volts.join(" or ")) };
    line(&format!(
        "measure with a class 1 meter, A-weighted, fast, calibrated before and after; at the distance, height and angle of the finding; {volts} at the sounder, engine running; wind under 5 m/s, no wall or vehicle within 30 m, background at least 10 dB lower"
    ));
    let behind = side.sounders.iter().filter(|sounder| sounder.behind.value() > 0.0).collect::<Vec<&Sounder>>();
    let behind = behind.iter().map(|one| format!("{} dB less at `{}`", one.behind.value(), one.id)).collect::<Vec<_>>();
    let behind = if behind.is_empty() { String::new() } else { format!(", as declared {}", behind.join(", ")) };
    line(&format!(
        "against the laboratory's figure expect on the vehicle up to 6 dB more or, where ground and direct sound meet out of step, several dB less{behind}; a class 2 meter is 1 to 3 dB wide by itself, and a reading within that of a limit is no clear pass"
    ));
    line(
        "ears protected, nobody before a sounder while it can sound; a level computed or measured outside is no promise that a driver in a closed car hears it",
    );
}

/// What the sheets of the fitted sounders say, each once.
fn distinct(side: &SoundSide, of: impl Fn(&Sheet) -> Option<String>) -> Vec<String> {
    let models = side.sounders.iter().filter_map(|sounder| side.model_of(sounder));
    let mut known: Vec<String> = models.flat_map(|model| &model.sheets).filter_map(of).collect();
    known.sort();
    known.dedup();
    known
}

fn plain(header: &[&str]) -> Table {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header(header.to_vec());
    table
}

fn push(mut table: Table, right: &[usize], out: &mut String) {
    for (at, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        if right.contains(&at) {
            column.set_cell_alignment(CellAlignment::Right);
        }
    }
    for line in table.lines() {
        out.push_str(line.trim_end());
        out.push('\n');
    }
}
