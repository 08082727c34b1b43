//! The layout of the file.

/// Marks the file as a log of batches: "hsbl" as a big-endian number, in SQLite's application id.
pub(super) const APPLICATION_ID: i64 = 0x6873_626c;

/// Layout that this version writes, in SQLite's user version.
pub(super) const LAYOUT: i64 = 1;

/// The one table. Rows are refused a change by the triggers; what goes round them breaks the chain.
pub(super) const CREATE: &str = "
CREATE TABLE entry (
    number INTEGER PRIMARY KEY,
    time TEXT NOT NULL,
    lot TEXT NOT NULL,
    operator TEXT,
    block TEXT,
    place TEXT,
    session TEXT,
    blend TEXT NOT NULL,
    ha_fraction REAL,
    heat_temp_K REAL NOT NULL,
    heat_time_s REAL NOT NULL,
    warm_up TEXT NOT NULL,
    reading_kind TEXT NOT NULL,
    plunger_force_N REAL,
    viscosity_Pa_s REAL,
    shear_rate_per_s REAL,
    bubble_held INTEGER,
    gel_temp_K REAL,
    needle_gauge INTEGER,
    needle_wall TEXT,
    needle_bore_m REAL,
    needle_length_m REAL,
    syringe TEXT,
    barrel_bore_m REAL,
    flow_m3_per_s REAL,
    friction_N REAL,
    predicted_median_SI REAL,
    predicted_low_SI REAL,
    predicted_high_SI REAL,
    draws INTEGER,
    z_sd REAL,
    ln_ratio REAL,
    inside INTEGER,
    calibration_sha256 TEXT NOT NULL,
    version TEXT NOT NULL,
    invented INTEGER NOT NULL,
    extrapolated INTEGER NOT NULL,
    accepted INTEGER NOT NULL,
    corrects INTEGER REFERENCES entry (number),
    hash BLOB NOT NULL
) STRICT;
CREATE UNIQUE INDEX one_correction ON entry (corrects) WHERE corrects IS NOT NULL;
CREATE TRIGGER no_replace BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE number = NEW.number)
BEGIN SELECT RAISE(ABORT, 'entries of a log are not replaced; add a correction'); END;
CREATE TRIGGER no_update BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'entries of a log are not changed; add a correction'); END;
CREATE TRIGGER no_delete BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'entries of a log are not deleted; add a correction'); END;
";

/// Columns that the hash covers, in the order of the table.
pub(super) const COLUMNS: [&str; 39] = [
    "number",
    "time",
    "lot",
    "operator",
    "block",
    "place",
    "session",
    "blend",
    "ha_fraction",
    "heat_temp_K",
    "heat_time_s",
    "warm_up",
    "reading_kind",
    "plunger_force_N",
    "viscosity_Pa_s",
    "shear_rate_per_s",
    "bubble_held",
    "gel_temp_K",
    "needle_gauge",
    "needle_wall",
    "needle_bore_m",
    "needle_length_m",
    "syringe",
    "barrel_bore_m",
    "flow_m3_per_s",
    "friction_N",
    "predicted_median_SI",
    "predicted_low_SI",
    "predicted_high_SI",
    "draws",
    "z_sd",
    "ln_ratio",
    "inside",
    "calibration_sha256",
    "version",
    "invented",
    "extrapolated",
    "accepted",
    "corrects",
];
