//! What stands before the first line of a sheet: what to take care of, and how it is filled in.

/// Before the first line: nobody is behind a truck in reverse because a sheet sent him there.
pub(super) const BEFORE: &[&str] = &[
    "Before line 1: wheels blocked, parking brake set, somebody at the brake all the time, keys with one person; engine off unless a line says otherwise, then outdoors or with the exhaust led away.",
    "What a line does not name stays at rest: parking brake set, reverse gear out, sirens and horns off, doors shut. Back to rest after each line.",
    "A line that says PARKING BRAKE OUT, REVERSE GEAR IN or IT SOUNDS is read only when nobody stands where the vehicle could roll, or close before the sounder.",
    "Ears protected before anything sounds. Do not look into lit lamps from near; lamps get hot. Cables carry the whole battery: no rings, no bare tools.",
];

/// How a sheet is filled in, whatever it is written as.
pub(super) const FILL_IN: &[&str] = &[
    "Where several heads stand on one line, write the reading that is farthest off: the line's id ends in /all. A reading of one of them alone has that head's id there instead, and the line passes when each was read.",
    "Light totals of zones, least points and the like are not proved by this sheet: no instrument on the vehicle shows them.",
    "Figures are decimals with their unit: 25.5 in and 148 in, not 25 1/2 or 12 ft 4 in. Questions take yes or no, lists take the words that are printed or none. Days are year-month-day: 2026-11-18.",
];

/// The same of a table.
pub(super) const FILL_IN_TABLE: &[&str] = &[
    "Write into: value, unit, uncertainty (of this reading, k = 2), instrument (its id), by, on (a day such as 2026-11-18), photos (names of files, parted by ;), responsible, due, note. Format the columns value, uncertainty, on and due as text, so that the spreadsheet keeps what is typed.",
    "Leave `mark` as it is: it tells whether the line still asks the same after the package was changed.",
    "An instrument is described once, in any row that names it: instrument-kind, instrument-serial, instrument-class, instrument-uncertainty (k = 2) or instrument-limits-of-error (such as 2 % + 5 digits), digit (what the last digit is worth, such as 0.01 A), calibrated, calibration-due, or no-calibration (why it needs none).",
    "A second reading is a second row of the same line. What was accepted in writing, and another decision rule, stand in a TOML file beside this one: `wayproof rules schema readings`.",
];

/// The same of a file in TOML.
pub(super) const FILL_IN_FILE: &[&str] = &[
    "Leave `mark` as it is: it tells whether the line still asks the same after the package was changed.",
    "Keys of a reading: line, value, uncertainty (of this reading) with k, instrument (its id), by, on, note,",
    "photos = [\"rear.jpg\", \"left.jpg\"], responsible, due.",
    "Keys of an instrument: id, kind, serial, class, uncertainty (with k) or limits-of-error, digit (what the last digit is",
    "worth), calibrated, due, or no-calibration = \"why it needs none\".",
    "What was accepted in writing: [[exception]] with line, accepted-by, reason, reference, on, until.",
];
