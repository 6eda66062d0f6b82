//! What is surely not meant of sounders: one that no sounding names or that never sounds, one that stands off the
//! vehicle.

use super::{Mount, SoundSide, Sounder};
use crate::diagnostic::{Diagnostic, Log};
use crate::logic::Space;
use crate::package::Vehicle;

/// Warnings; a mistake of these changes no verdict by itself.
pub(in crate::package) fn warn_of_sounders(side: &SoundSide, vehicle: &Vehicle, space: &Space, log: &Log) {
    for (at, sounder) in side.sounders.iter().enumerate() {
        let mut named =
            side.soundings.iter().filter(|sounding| sounding.rows.iter().any(|(one, _)| *one == at)).peekable();
        if named.peek().is_none() {
            let message = format!("no sounding names the sounder `{}`, so it never sounds", sounder.id);
            let warning = Diagnostic::warning("silent-sounder", message).at(&sounder.span, "");
            log.push(warning.help("say in a [[sounding]] when it sounds, or take it out"));
        } else if named.all(|sounding| space.holds(&sounding.when).is_empty()) {
            let message = format!("the sounder `{}` sounds in no state", sounder.id);
            let warning = Diagnostic::warning("silent-sounder", message).at(&sounder.span, "");
            log.push(warning.help("compare the `when` of its soundings with `never`"));
        }
        let high = sounder.pose.height().value() > vehicle.height.value() - 0.3;
        if let (Some(mount), true) = (sounder.mount.filter(|mount| *mount != Mount::Roof), high) {
            let message = format!(
                "the sounder `{}` stands as high as the roof, and is said to be mounted: {}",
                sounder.id,
                mount.word()
            );
            let warning = Diagnostic::warning("mount-in-doubt", message).at(&sounder.span, "");
            log.push(warning.help("compare its `height` with where it is `mounted`"));
        }
        if is_off(sounder, vehicle) {
            let message = format!("the sounder `{}` stands off the vehicle", sounder.id);
            let warning = Diagnostic::warning("sounder-off-the-vehicle", message).at(&sounder.span, "");
            log.push(warning.help("compare the place and its units with the vehicle's length, width and height"));
        }
    }
}

/// Bumpers and racks stand out less than this many metres.
const REACH: f64 = 0.45;

fn is_off(sounder: &Sounder, vehicle: &Vehicle) -> bool {
    let at = sounder.pose.at();
    let beyond = |place: f64, whole: f64| place.abs() > whole * 0.5 + REACH;
    beyond(at.x, vehicle.length.value()) || beyond(at.y, vehicle.width.value()) || at.z > vehicle.height.value() + REACH
}
