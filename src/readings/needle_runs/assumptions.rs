//! What a conversion assumes, in sentences.

use super::CommonParts;
use crate::reference::Wall;
use crate::units::display;

/// Something that a conversion of pushes assumes, or tells of itself.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum ForceAssumption {
    /// The bore is the usual chart's, within its tolerance.
    NominalBore {
        /// Gauge.
        gauge: u8,
        /// Bore.
        bore_m: f64,
        /// Half width of its tolerance.
        bore_tolerance_m: Option<f64>,
        /// Rows read through it.
        rows: usize,
    },
    /// The bore is the least that the standard allows: the true one is wider.
    MinimumBore {
        /// Gauge.
        gauge: u8,
        /// Wall.
        wall: Wall,
        /// Bore.
        bore_m: f64,
        /// Rows read through it.
        rows: usize,
    },
    /// The bore is as the rows state it.
    MeasuredBore {
        /// Bore.
        bore_m: f64,
        /// Its standard deviation; 0 where none is stated.
        sd_m: f64,
        /// Rows read through it.
        rows: usize,
    },
    /// The bore is as a liquid of known viscosity shows it.
    BoreOfKnownLiquid {
        /// The needle.
        needle: String,
        /// Bore.
        bore_m: f64,
        /// Its standard deviation.
        sd_m: f64,
        /// Bore of the table.
        tabled_m: f64,
        /// Half width of the table's tolerance.
        tolerance_m: Option<f64>,
        /// Pushes behind it.
        runs: usize,
        /// Rows read through it.
        rows: usize,
    },
    /// Pushes of a known liquid are less sure of the bore than the table.
    KnownLiquidNoBetter {
        /// The needle.
        needle: String,
    },
    /// Pushes without gel show the friction.
    FrictionOfRuns {
        /// Friction.
        friction_n: f64,
        /// Standard deviation from push to push, where several showed it.
        run_sd_n: Option<f64>,
        /// Pushes behind it.
        runs: usize,
        /// Whether they were of water.
        water: bool,
        /// Bore of the barrel.
        barrel_bore_m: f64,
        /// Session, where it is that of the rows.
        session: Option<String>,
        /// Rows that it is taken off.
        rows: usize,
    },
    /// No friction was measured, and the usual one of the barrel was taken off.
    DefaultFriction {
        /// The least taken off.
        lowest_n: f64,
        /// The most taken off.
        highest_n: f64,
        /// Rows without a friction of their own.
        rows: usize,
    },
    /// The jet's own pressure matters, and was taken off.
    JetTakenOff {
        /// Rows.
        rows: usize,
        /// The greatest share of the pressure.
        highest_ratio: f64,
    },
    /// The flow may not have been laminar.
    NotLaminar {
        /// Lines of the rows.
        lines: Vec<usize>,
        /// The greatest Reynolds number.
        highest_reynolds: f64,
    },
    /// The barrel's pressure was over what a luer joint is tested to.
    OverJointPressure {
        /// Rows.
        rows: usize,
        /// The highest.
        highest_pa: f64,
    },
    /// Several rates gave the true rate at the wall.
    TrueRate {
        /// Rows.
        rows: usize,
        /// Least and greatest local slope.
        slopes: (f64, f64),
    },
    /// One rate: viscosity and rate are the apparent ones.
    ApparentViscosity {
        /// Rows.
        rows: usize,
    },
    /// Two lengths gave the end correction.
    EndsTakenOff {
        /// Rows.
        rows: usize,
        /// Least and greatest end correction, in radii.
        radii: (f64, f64),
    },
    /// End losses stay in.
    EndsLeftIn {
        /// Rows.
        rows: usize,
        /// Least and greatest share of creeping flow.
        creeping_ratio: (f64, f64),
    },
    /// What readings have in common.
    CommonUncertainty {
        /// The parts, each the greatest of any row.
        parts: CommonParts,
    },
}

impl ForceAssumption {
    /// The assumption in a sentence.
    pub fn message(&self) -> String {
        match self {
            ForceAssumption::NominalBore {
                gauge,
                bore_m,
                bore_tolerance_m,
                rows,
            } => {
                let tolerance = bore_tolerance_m.map_or_else(String::new, |tolerance| {
                    format!(" within {}", display::length_mm(tolerance))
                });
                format!(
                    "{} through {gauge}G: bore {} (nominal){tolerance}; the viscosity goes with its fourth power",
                    readings(*rows),
                    display::length_mm(*bore_m)
                )
            }
            ForceAssumption::MinimumBore {
                gauge,
                wall,
                bore_m,
                rows,
            } => format!(
                "{} through {gauge}G {wall} wall: bore {} is the least that the standard allows; the true one is wider and the viscosity higher",
                readings(*rows),
                display::length_mm(*bore_m)
            ),
            ForceAssumption::MeasuredBore { bore_m, sd_m, rows } => format!(
                "{} through a bore of {} as measured, {}",
                readings(*rows),
                display::length_mm(*bore_m),
                if *sd_m > 0.0 {
                    format!("standard deviation {}", length_sd(*sd_m))
                } else {
                    "taken as exact: needle_bore_sd_mm is not given".to_string()
                }
            ),
            ForceAssumption::BoreOfKnownLiquid {
                needle,
                bore_m,
                sd_m,
                tabled_m,
                tolerance_m,
                runs,
                rows,
            } => {
                let outside = match tolerance_m {
                    Some(tolerance_m) if (bore_m - tabled_m).abs() > tolerance_m + 2.0 * sd_m => {
                        "; that is outside the chart's tolerance: was it this needle, and without air?"
                    }
                    _ => "",
                };
                format!(
                    "{} through {needle}: bore {} (standard deviation {}) from {} of a liquid of known viscosity, in place of the table's {}{outside}",
                    readings(*rows),
                    display::length_mm(*bore_m),
                    length_sd(*sd_m),
                    pushes(*runs),
                    display::length_mm(*tabled_m)
                )
            }
            ForceAssumption::KnownLiquidNoBetter { needle } => format!(
                "the pushes of a liquid of known viscosity through {needle} tell its bore no better than it was known, and are not used: a thicker liquid tells more"
            ),
            ForceAssumption::FrictionOfRuns {
                friction_n,
                run_sd_n,
                runs,
                water,
                barrel_bore_m,
                session,
                rows,
            } => {
                let what = if *water {
                    "with water, the water's own pressure taken off first"
                } else {
                    "with the barrel empty"
                };
                let scatter = match run_sd_n {
                    Some(sd_n) => format!(", {} from push to push", display::force_to(*sd_n, 2)),
                    None => "; one push tells no scatter, and it counts as unsure as the usual one"
                        .to_string(),
                };
                let day = session
                    .as_ref()
                    .map_or_else(String::new, |session| format!(", session {session}"));
                format!(
                    "{}: friction {} taken off, of {} {what} ({} barrel{day}){scatter}",
                    readings(*rows),
                    display::force(*friction_n),
                    pushes(*runs),
                    display::length_mm(*barrel_bore_m)
                )
            }
            ForceAssumption::DefaultFriction {
                lowest_n,
                highest_n,
                rows,
            } => {
                let taken = if lowest_n == highest_n {
                    display::force(*lowest_n)
                } else {
                    format!(
                        "{} to {}",
                        display::force(*lowest_n),
                        display::force(*highest_n)
                    )
                };
                format!(
                    "{} without a friction: {taken} taken off for the stopper; measure it on an empty syringe",
                    readings(*rows)
                )
            }
            ForceAssumption::JetTakenOff {
                rows,
                highest_ratio,
            } => format!(
                "{}: the jet's own pressure is taken off (up to {} of what was left)",
                readings(*rows),
                percent(*highest_ratio)
            ),
            ForceAssumption::NotLaminar {
                lines,
                highest_reynolds,
            } => format!(
                "{} too fast for laminar flow (Reynolds number up to {}): the viscosity there is no more than an upper limit. Read it slower, or leave it out with use = no",
                at_lines(lines),
                display::at_most(*highest_reynolds, 2)
            ),
            ForceAssumption::OverJointPressure { rows, highest_pa } => format!(
                "{} with more than 300 kPa in the barrel (up to {}), what a luer joint is tested to: a locking joint and eye protection, and a wider needle or less weight next time",
                readings(*rows),
                display::pressure_to(*highest_pa, 2)
            ),
            ForceAssumption::TrueRate { rows, slopes } => format!(
                "{} at the true rate of the needle's wall, from the slope of stress on rate over several rates (n' {}): Weissenberg-Rabinowitsch",
                readings(*rows),
                range(slopes.0, slopes.1, 2)
            ),
            ForceAssumption::ApparentViscosity { rows } => format!(
                "{}: viscosity is the apparent one at the needle's wall (one rate cannot tell how far the gel thins; of a gel that follows a power law it reads at most 15 % high)",
                readings(*rows)
            ),
            ForceAssumption::EndsTakenOff { rows, radii } => format!(
                "{}: end losses taken off by Bagley's line over two lengths or more ({} radii of the bore)",
                readings(*rows),
                range(radii.0, radii.1, 2)
            ),
            ForceAssumption::EndsLeftIn {
                rows,
                creeping_ratio,
            } => format!(
                "{}: end losses are not taken off; a creeping liquid's would be {}, a gel's can be more",
                readings(*rows),
                if percent(creeping_ratio.0) == percent(creeping_ratio.1) {
                    percent(creeping_ratio.1)
                } else {
                    format!(
                        "{} to {}",
                        percent(creeping_ratio.0),
                        percent(creeping_ratio.1)
                    )
                }
            ),
            ForceAssumption::CommonUncertainty { parts } => {
                let named = [
                    ("bore", parts.bore_ratio),
                    ("friction", parts.friction_ratio),
                    ("needle length", parts.length_ratio),
                    ("graduation of the barrel", parts.volume_ratio),
                ];
                let told: Vec<String> = named
                    .iter()
                    .filter(|(_, ratio)| *ratio >= 0.0005)
                    .map(|(name, ratio)| format!("{name} up to {}", percent(*ratio)))
                    .collect();
                format!(
                    "common to the readings, as standard deviations: {}. They shift readings together, so they are no scatter: they stay out of reading_sd, and the fit's intervals do not hold them",
                    told.join(", ")
                )
            }
        }
    }
}

/// '1 reading', '12 readings'.
pub(super) fn readings(rows: usize) -> String {
    format!("{rows} reading{}", if rows == 1 { "" } else { "s" })
}

fn pushes(runs: usize) -> String {
    format!("{runs} push{}", if runs == 1 { "" } else { "es" })
}

/// 'line 5 is', 'lines 5, 6 and 9 are', 'lines 1, 2, 3 and 40 more are'.
pub(super) fn at_lines(lines: &[usize]) -> String {
    const SHOWN: usize = 6;
    let shown: Vec<String> = lines.iter().take(SHOWN).map(ToString::to_string).collect();
    match (shown.as_slice(), lines.len().saturating_sub(SHOWN)) {
        ([one], 0) => format!("line {one} is"),
        (some, 0) => match some.split_last() {
            Some((last, before)) => format!("lines {} and {last} are", before.join(", ")),
            None => "no line is".to_string(),
        },
        (some, more) => format!("lines {} and {more} more are", some.join(", ")),
    }
}

pub(super) fn percent(ratio: f64) -> String {
    format!("{} %", display::at_most(ratio * 100.0, 2))
}

/// A small length to two digits, never in powers of ten: `0.0031 mm`.
fn length_sd(metre: f64) -> String {
    let decimals = (1.0 - (metre * 1e3).log10().floor()).clamp(0.0, 9.0) as usize;
    format!("{:.decimals$} mm", metre * 1e3)
}

pub(super) fn range(low: f64, high: f64, digits: usize) -> String {
    let (low, high) = (
        display::at_most(low, digits),
        display::at_most(high, digits),
    );
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

/// Least and greatest of some numbers.
pub(super) fn extremes(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |found, value| match found {
        None => Some((value, value)),
        Some((low, high)) => Some((f64::min(low, value), f64::max(high, value))),
    })
}
