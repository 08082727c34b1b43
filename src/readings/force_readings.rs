//! Plunger forces to viscosities: a needle of known bore and length is a viscometer.

use std::collections::BTreeMap;

use super::error::{Counted, FaultList, Problem, ReadingsError};
use super::kind::ReadingKind;
use super::row::{NeedleDetails, RowDetails};
use super::table::BenchTable;
use crate::flow::{CapillaryReading, PushConditions, PushInputs, viscosity_from_force};
use crate::reference::{BoreBasis, Needle, Wall, default_friction_for_bore_n, find_needle, plasma};
use crate::units::display;

/// Viscosities from forces, and what had to be assumed to have them.
#[derive(Debug, Clone, PartialEq)]
pub struct ViscosityReadings {
    /// The table, its readings in Pa.s.
    pub table: BenchTable,
    /// What was assumed; empty for a table without forces.
    pub assumptions: Vec<ForceAssumption>,
}

/// Something that a conversion of forces assumes.
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
    /// No friction was measured, and the usual one of the barrel was taken off.
    DefaultFriction {
        /// The least taken off.
        lowest_n: f64,
        /// The most taken off.
        highest_n: f64,
        /// Rows without a friction of their own.
        rows: usize,
    },
    /// The viscosity is the apparent one; end losses are not taken off.
    ApparentViscosity,
}

impl ForceAssumption {
    /// The assumption in a sentence.
    pub fn message(&self) -> String {
        match self {
            ForceAssumption::NominalBore { gauge, bore_m, bore_tolerance_m, rows } => {
                let tolerance = bore_tolerance_m.map_or_else(String::new, |tolerance| {
                    format!(" within {}", display::length_mm(tolerance))
                });
                format!(
                    "{} through {gauge}G: bore {} (nominal){tolerance}; the viscosity goes with its fourth power",
                    readings(*rows),
                    display::length_mm(*bore_m)
                )
            }
            ForceAssumption::MinimumBore { gauge, wall, bore_m, rows } => format!(
                "{} through {gauge}G {wall} wall: bore {} is the least that the standard allows; the true one is wider and the viscosity higher",
                readings(*rows),
                display::length_mm(*bore_m)
            ),
            ForceAssumption::DefaultFriction { lowest_n, highest_n, rows } => {
                let taken = if lowest_n == highest_n {
                    display::force(*lowest_n)
                } else {
                    format!("{} to {}", display::force(*lowest_n), display::force(*highest_n))
                };
                format!("{} without a friction: {taken} taken off for the stopper; measure it on an empty syringe", readings(*rows))
            }
            ForceAssumption::ApparentViscosity => {
                "viscosity is the apparent one at the needle's wall (one rate cannot tell how far the gel thins); end losses are not taken off".to_string()
            }
        }
    }
}

impl BenchTable {
    /// Turns plunger forces into viscosities, through every row's own needle, flow and friction,
    /// and says what was assumed; a table of another kind stays as it is.
    ///
    /// # Equation
    /// eta = (F - F_f)/(pi D_b^2/4) pi D^4/(128 L Q), at the apparent wall shear rate
    /// 32 Q/(pi D^3); its standard deviation is eta sd(F)/(F - F_f).
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | eta | `reading` of the result | Pa s |
    /// | F | `reading` | N |
    /// | F_f | `friction_n`, else the default of the barrel | N |
    /// | D_b | `barrel_bore_m` | m |
    /// | D | bore of `gauge` and `wall` | m |
    /// | L | `length_m` | m |
    /// | Q | `flow_rate_m3_per_s` | m³/s |
    ///
    /// # Valid for
    /// Laminar flow; true viscosity for a Newtonian liquid, the apparent one for a gel that thins.
    ///
    /// # Errors
    /// A row without its needle and push; a gauge that no table has; a force at or under the
    /// friction. All rows at once, by line.
    ///
    /// # Source
    /// Hagen-Poiseuille turned round: R. B. Bird, W. E. Stewart, E. N. Lightfoot, *Transport
    /// Phenomena*, 2nd ed., 2002, equation 2.3-21.
    pub fn viscosity_readings(&self) -> Result<ViscosityReadings, ReadingsError> {
        if self.kind != ReadingKind::Force {
            return Ok(ViscosityReadings {
                table: self.clone(),
                assumptions: Vec::new(),
            });
        }
        let mut converter = Converter::default();
        let mut faults: Vec<FaultList> =
            self.sources.iter().map(|_| FaultList::default()).collect();
        let mut table = BenchTable {
            kind: ReadingKind::Viscosity,
            ..self.clone()
        };
        for (force_n, (reading, row)) in self
            .reading
            .iter()
            .zip(table.reading.iter_mut().zip(&mut table.rows))
        {
            match converter.row(*force_n, row) {
                Ok(converted) => {
                    row.reading_sd = row.reading_sd.map(|deviation| {
                        deviation * converted.viscosity_pa_s / converted.gel_force_n
                    });
                    row.shear_rate_per_s = Some(converted.wall_shear_rate_per_s);
                    *reading = converted.viscosity_pa_s;
                }
                Err(message) => {
                    if let Some(list) = faults.get_mut(row.source) {
                        list.push(Problem {
                            line: Some(row.line),
                            counted: counted_in(self, row.source),
                            column: None,
                            found: Some(display::force(*force_n)),
                            message,
                            remedy: None,
                        });
                    }
                }
            }
        }
        let mut errors: Vec<ReadingsError> = self
            .sources
            .iter()
            .zip(faults)
            .filter(|(_, faults)| !faults.is_empty())
            .map(|(source, faults)| ReadingsError::NotConverted {
                file: source.file.clone(),
                faults,
            })
            .collect();
        match errors.len() {
            0 => Ok(ViscosityReadings {
                table,
                assumptions: converter.assumptions(),
            }),
            1 => Err(errors.swap_remove(0)),
            _ => Err(ReadingsError::SeveralFiles { errors }),
        }
    }
}

/// '1 reading', '12 readings'.
fn readings(rows: usize) -> String {
    format!("{rows} reading{}", if rows == 1 { "" } else { "s" })
}

/// Parquet has no lines: its rows are counted.
fn counted_in(table: &BenchTable, source: usize) -> Counted {
    match table.sources.get(source) {
        Some(source) if !source.file.to_lowercase().ends_with(".parquet") => Counted::Line,
        _ => Counted::Row,
    }
}

/// A row's viscosity with what belongs to it.
struct Converted {
    viscosity_pa_s: f64,
    wall_shear_rate_per_s: f64,
    gel_force_n: f64,
}

/// Converts row by row and keeps count of what it assumes.
#[derive(Default)]
struct Converter {
    needles: BTreeMap<(u8, Wall), (Needle, usize)>,
    default_frictions_n: Vec<f64>,
}

impl Converter {
    fn row(&mut self, force_n: f64, row: &RowDetails) -> Result<Converted, String> {
        let missing = |what: &str| format!("a force reading needs {what}");
        let needle = row
            .needle
            .as_ref()
            .ok_or_else(|| missing("its needle and push"))?;
        let NeedleDetails {
            gauge,
            wall,
            length_m,
            barrel_bore_m,
            flow_rate_m3_per_s,
            friction_n,
        } = needle;
        let gauge = gauge.ok_or_else(|| missing("needle_gauge"))?;
        let wall: Wall = wall
            .as_deref()
            .ok_or_else(|| missing("needle_wall"))?
            .parse()
            .map_err(|error: crate::reference::ReferenceError| error.to_string())?;
        let length_m = length_m.ok_or_else(|| missing("needle_length_mm"))?;
        let barrel_bore_m = barrel_bore_m.ok_or_else(|| missing("barrel_bore_mm"))?;
        let flow_rate_m3_per_s = flow_rate_m3_per_s.ok_or_else(|| missing("flow_mL_per_min"))?;
        // Only regular walls have a nominal bore; of the others the standard gives the least.
        let basis = if wall == Wall::Regular {
            BoreBasis::Nominal
        } else {
            BoreBasis::Minimum
        };
        let needle = find_needle(gauge, wall, basis).map_err(|error| error.to_string())?;
        let taken_n = match friction_n {
            Some(friction_n) => *friction_n,
            None => {
                default_friction_for_bore_n(barrel_bore_m)
                    .map_err(|error| error.to_string())?
                    .friction_n
            }
        };
        let density_kg_per_m3 = plasma()
            .map_err(|error| error.to_string())?
            .density_kg_per_m3;
        let conditions = PushConditions::new(PushInputs {
            bore_m: needle.bore_m,
            length_m,
            barrel_bore_m,
            flow_rate_m3_per_s,
            friction_n: taken_n,
            tissue_pressure_pa: 0.0,
            density_kg_per_m3,
            include_end_losses: false,
        })
        .map_err(|error| error.to_string())?;
        let CapillaryReading {
            viscosity_pa_s,
            wall_shear_rate_per_s,
            ..
        } = viscosity_from_force(&conditions, force_n).map_err(|error| error.to_string())?;
        self.needles.entry((gauge, wall)).or_insert((needle, 0)).1 += 1;
        if friction_n.is_none() {
            self.default_frictions_n.push(taken_n);
        }
        Ok(Converted {
            viscosity_pa_s,
            wall_shear_rate_per_s,
            gel_force_n: force_n - taken_n,
        })
    }

    fn assumptions(self) -> Vec<ForceAssumption> {
        let mut assumptions: Vec<ForceAssumption> = self
            .needles
            .into_values()
            .map(|(needle, rows)| match needle.bore_basis {
                BoreBasis::Nominal => ForceAssumption::NominalBore {
                    gauge: needle.gauge,
                    bore_m: needle.bore_m,
                    bore_tolerance_m: needle.bore_tolerance_m,
                    rows,
                },
                BoreBasis::Minimum => ForceAssumption::MinimumBore {
                    gauge: needle.gauge,
                    wall: needle.wall,
                    bore_m: needle.bore_m,
                    rows,
                },
            })
            .collect();
        if !self.default_frictions_n.is_empty() {
            assumptions.push(ForceAssumption::DefaultFriction {
                lowest_n: self
                    .default_frictions_n
                    .iter()
                    .copied()
                    .fold(f64::INFINITY, f64::min),
                highest_n: self.default_frictions_n.iter().copied().fold(0.0, f64::max),
                rows: self.default_frictions_n.len(),
            });
        }
        assumptions.push(ForceAssumption::ApparentViscosity);
        assumptions
    }
}
