//! Sounders on circuits: each is an intermittent load while it sounds, of the greatest current of the tones in which it
//! does.

use super::bind::find;
use super::{Load, LoadKind, Plug, Rating};
use crate::diagnostic::{Diagnostic, Log};
use crate::load::reader::Text;
use crate::logic::Condition;
use crate::package::sound::{Sheet, SoundSide, Sounder, SounderModel};
use crate::units::{Ampere, Share, Volt};

/// The loads that the sounders are; what a circuit carries is not judged without the current of all that hangs on it.
pub(super) fn loads_of(side: &SoundSide, circuits: &[Text], log: &Log) -> Vec<Load> {
    let all = side.sounders.iter().enumerate();
    all.filter_map(|(at, sounder)| load_of(side, at, sounder, side.model_of(sounder)?, circuits, log)).collect()
}

fn load_of(
    side: &SoundSide,
    at: usize,
    sounder: &Sounder,
    model: &SounderModel,
    circuits: &[Text],
    log: &Log,
) -> Option<Load> {
    let circuit = sounder.circuit.as_ref()?;
    let found = find(circuit, circuits, "circuit", log)?;
    let (mut whens, mut most): (Vec<Condition>, Option<(Ampere, Volt, &Sheet)>) = (Vec::new(), None);
    for sounding in &side.soundings {
        let Some((_, sheet)) = sounding.rows.iter().find(|(named, _)| *named == at) else { continue };
        let sheet = model.sheets.get(*sheet)?;
        let Some((current, volts)) = sheet.current.zip(sheet.at) else {
            let message = format!(
                "`{}` hangs on the circuit `{}`, and what it draws in the tone `{}` is not stated",
                sounder.id, circuit.text, sheet.tone
            );
            let error = Diagnostic::error("no-current", message).at(&sounder.span, "").at(&sheet.span, "its sheet");
            log.push(error.help("state `current` and the voltage, `at`, in the sheet, for example current = \"8 A\""));
            return None;
        };
        whens.push(sounding.when.clone());
        if most.is_none_or(|(known, _, _)| current > known) {
            most = Some((current, volts, sheet));
        }
    }
    let (current, volts, sheet) = most?;
    Some(Load {
        id: sounder.id.clone(),
        at: Plug::Circuit(found),
        rating: Rating::Current(current, volts, model.driver),
        share: Share::new(1.0),
        kind: LoadKind::Intermittent,
        when: if whens.len() == 1 { whens.swap_remove(0) } else { Condition::Or(whens) },
        evidence: sheet.evidence.clone(),
    })
}
