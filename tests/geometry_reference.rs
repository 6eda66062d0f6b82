//! Poses against tests/reference/geometry/mount_pose.csv, computed independently in NumPy: 99 rows to 1e-9 degrees.

mod common;

use common::{root, rows};
use glam::DVec3;
use wayproof::geometry::{Pose, direction, lamp_angles};
use wayproof::photometry::{Direction, Goniometer};
use wayproof::units::Degrees;

#[test]
fn every_pose_is_met() {
    let (mut checked, mut met) = (0, 0);
    for row in rows(&root().join("tests/reference/geometry/mount_pose.csv")) {
        let degrees = |key: &str| Degrees::new(row[key].parse().unwrap());
        let pose = Pose::new(
            DVec3::ZERO,
            degrees("mount_yaw_cw_deg"),
            degrees("mount_pitch_up_deg"),
            degrees("mount_roll_right_down_deg"),
        );
        let lamp = pose.to_lamp(direction(degrees("vehicle_azimuth_cw_deg"), degrees("vehicle_elevation_deg")));
        let (h, v) = lamp_angles(lamp);
        let across = Goniometer::HorizontalAxis.angles(Direction::new(lamp).unwrap());
        let hung = Goniometer::Hung { turned: Degrees::ZERO }.angles(Direction::new(lamp).unwrap());
        for (found, column) in [
            (h, "lamp_A_H_deg"),
            (v, "lamp_A_V_deg"),
            (across.0, "lamp_B_H_deg"),
            (across.1, "lamp_B_V_deg"),
            (hung.0, "lamp_C_deg"),
            (hung.1, "lamp_gamma_deg"),
        ] {
            // At a pole the angle about it has no meaning.
            let at_pole = match column {
                "lamp_B_V_deg" => (degrees("lamp_B_H_deg").value().abs() - 90.0).abs() < 1e-6,
                "lamp_A_H_deg" | "lamp_C_deg" => (degrees("lamp_A_V_deg").value().abs() - 90.0).abs() < 1e-6,
                _ => false,
            };
            if at_pole {
                continue;
            }
            met += 1;
            let turn = (found.value() - degrees(column).value()).rem_euclid(360.0);
            assert!(turn.min(360.0 - turn) < 1e-9, "{column} of {row:?}: {found:?}");
        }
        checked += 1;
    }
    assert_eq!(checked, 99);
    assert!(met > 560, "angles compared: {met} of 594");
}
