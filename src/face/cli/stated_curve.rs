//! The curve that a push is asked with: a law or a measured table, in words and for programs.

use super::CliError;
use crate::flow::{FlowCurve, LeavesTable, MeasuredCurve, TubeCurve, WallState, read_curve};
use crate::units::display;
use crate::units::quantity::excerpt;
use serde_json::{Value, json};

/// The curve that was stated: a law, or what was measured.
pub(super) enum StatedCurve {
    /// A law.
    Law(FlowCurve),
    /// A table.
    Measured(MeasuredTable),
}

/// A measured curve and where it came from.
pub(super) struct MeasuredTable {
    curve: MeasuredCurve,
    file: String,
    sample: Option<String>,
    invented: bool,
}

impl StatedCurve {
    /// How a shear rate at the wall lies outside a measured curve.
    pub(super) fn leaves_table(&self, wall_shear_rate_per_s: f64) -> Option<LeavesTable> {
        match self {
            Self::Law(_) => None,
            Self::Measured(table) => table.curve.leaves_table(wall_shear_rate_per_s),
        }
    }

    /// Whether the file says of itself that its data are invented.
    pub(super) fn is_invented(&self) -> bool {
        matches!(self, Self::Measured(table) if table.invented)
    }
}

impl TubeCurve for StatedCurve {
    fn shear_stress_pa(&self, shear_rate_per_s: f64) -> f64 {
        match self {
            Self::Law(curve) => curve.shear_stress_pa(shear_rate_per_s),
            Self::Measured(table) => table.curve.shear_stress_pa(shear_rate_per_s),
        }
    }

    fn yield_stress_pa(&self) -> f64 {
        match self {
            Self::Law(curve) => curve.yield_stress_pa(),
            Self::Measured(table) => table.curve.yield_stress_pa(),
        }
    }

    fn wall_at(&self, reduced_flow_per_s: f64) -> WallState {
        match self {
            Self::Law(curve) => curve.wall_at(reduced_flow_per_s),
            Self::Measured(table) => table.curve.wall_at(reduced_flow_per_s),
        }
    }

    fn reduced_flow_per_s(&self, wall_shear_stress_pa: f64) -> f64 {
        match self {
            Self::Law(curve) => curve.reduced_flow_per_s(wall_shear_stress_pa),
            Self::Measured(table) => table.curve.reduced_flow_per_s(wall_shear_stress_pa),
        }
    }

    fn critical_reynolds(
        &self,
        radius_m: f64,
        density_kg_per_m3: f64,
        reduced_flow_per_s: f64,
        wall: WallState,
    ) -> f64 {
        match self {
            Self::Law(curve) => {
                curve.critical_reynolds(radius_m, density_kg_per_m3, reduced_flow_per_s, wall)
            }
            Self::Measured(table) => {
                table
                    .curve
                    .critical_reynolds(radius_m, density_kg_per_m3, reduced_flow_per_s, wall)
            }
        }
    }
}

/// The measured curve of a file.
pub(super) fn measured(
    path: &std::path::Path,
    sample: Option<&str>,
) -> Result<MeasuredTable, CliError> {
    let table = read_curve(path)?;
    let names: Vec<&str> = table
        .samples
        .iter()
        .map(|sample| sample.name.as_deref().unwrap_or("(no name)"))
        .collect();
    let chosen = match (sample, table.samples.as_slice()) {
        (None, [only]) => Some(only),
        (None, _) => None,
        (Some(wanted), samples) => samples
            .iter()
            .find(|sample| sample.name.as_deref() == Some(wanted)),
    };
    let Some(chosen) = chosen else {
        let what = match sample {
            Some(wanted) => format!("{} has no sample {}", table.file, excerpt(wanted)),
            None => format!(
                "{} holds {} samples, and one flows at a time",
                table.file,
                names.len()
            ),
        };
        return Err(CliError::question(format!(
            "{what}.\nWhat helps: --sample with one of {}",
            names.join(", ")
        )));
    };
    Ok(MeasuredTable {
        curve: chosen.measured_curve(&table.file)?,
        file: table.file.clone(),
        sample: chosen.name.clone(),
        invented: table.invented,
    })
}

/// The stated curve in words.
pub(super) fn stated_words(curve: &StatedCurve) -> String {
    match curve {
        StatedCurve::Law(curve) => curve_words(curve),
        StatedCurve::Measured(table) => {
            let (lowest, highest) = table.curve.shear_rate_range_per_s();
            let sample = table
                .sample
                .as_ref()
                .map_or_else(String::new, |name| format!(", sample {name}"));
            format!(
                "measured, {}{sample}: {} shear rates from {} to {} /s",
                table.file,
                table.curve.points().len(),
                display::at_most(lowest, 3),
                display::at_most(highest, 3)
            )
        }
    }
}

/// The stated curve for programs.
pub(super) fn stated_document(curve: &StatedCurve) -> Value {
    match curve {
        StatedCurve::Law(curve) => curve_document(curve),
        StatedCurve::Measured(table) => json!({
            "curve": "measured", "file": table.file, "sample": table.sample,
            "invented": table.invented, "points": table.curve.points().len(),
            "shear_rate_per_s": table.curve.shear_rate_range_per_s()
        }),
    }
}

/// A law as the option of `heatset flow` that states it, with as many digits as need be.
pub(super) fn curve_option(curve: &FlowCurve, digits: usize) -> String {
    let number = |value: f64| display::at_most(value, digits);
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => {
            format!("--newtonian {}Pa.s", number(viscosity_pa_s))
        }
        FlowCurve::PowerLaw {
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "--power K={}Pa.s^n,n={}",
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::Bingham {
            yield_stress_pa,
            plastic_viscosity_pa_s,
        } => format!(
            "--bingham tau_y={}Pa,mu={}Pa.s",
            number(yield_stress_pa),
            number(plastic_viscosity_pa_s)
        ),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "--herschel-bulkley tau_y={}Pa,K={}Pa.s^n,n={}",
            number(yield_stress_pa),
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::CarreauYasuda(shape) => format!(
            "--carreau eta0={}Pa.s,eta_inf={}Pa.s,lambda={}s,n={},a={}",
            number(shape.zero_shear_viscosity_pa_s),
            number(shape.infinite_shear_viscosity_pa_s),
            number(shape.time_constant_s),
            number(shape.flow_index),
            number(shape.transition_index)
        ),
    }
}

/// The curve in words.
fn curve_words(curve: &FlowCurve) -> String {
    let number = |value: f64| display::at_most(value, 4);
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => {
            format!(
                "Newtonian, {} at every shear rate",
                display::viscosity(viscosity_pa_s)
            )
        }
        FlowCurve::PowerLaw {
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "power law, K {} Pa.s^n, n {}",
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::Bingham {
            yield_stress_pa,
            plastic_viscosity_pa_s,
        } => format!(
            "Bingham, yield stress {}, viscosity beyond it {}",
            display::pressure(yield_stress_pa),
            display::viscosity(plastic_viscosity_pa_s)
        ),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "Herschel-Bulkley, yield stress {}, K {} Pa.s^n, n {}",
            display::pressure(yield_stress_pa),
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::CarreauYasuda(shape) => format!(
            "Carreau-Yasuda, {} at rest, {} at great shear rates, lambda {} s, n {}, a {}",
            display::viscosity(shape.zero_shear_viscosity_pa_s),
            display::viscosity(shape.infinite_shear_viscosity_pa_s),
            number(shape.time_constant_s),
            number(shape.flow_index),
            number(shape.transition_index)
        ),
    }
}

/// The curve for programs.
pub(super) fn curve_document(curve: &FlowCurve) -> Value {
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => {
            json!({ "curve": "newtonian", "viscosity_Pa_s": viscosity_pa_s })
        }
        FlowCurve::PowerLaw {
            consistency_pa_s_n,
            flow_index,
        } => json!({
            "curve": "power", "K_Pa_s_n": consistency_pa_s_n, "n": flow_index
        }),
        FlowCurve::Bingham {
            yield_stress_pa,
            plastic_viscosity_pa_s,
        } => json!({
            "curve": "bingham", "tau_y_Pa": yield_stress_pa, "mu_Pa_s": plastic_viscosity_pa_s
        }),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            consistency_pa_s_n,
            flow_index,
        } => json!({
            "curve": "herschel-bulkley", "tau_y_Pa": yield_stress_pa,
            "K_Pa_s_n": consistency_pa_s_n, "n": flow_index
        }),
        FlowCurve::CarreauYasuda(shape) => json!({
            "curve": "carreau", "eta0_Pa_s": shape.zero_shear_viscosity_pa_s,
            "eta_inf_Pa_s": shape.infinite_shear_viscosity_pa_s,
            "lambda_s": shape.time_constant_s, "n": shape.flow_index, "a": shape.transition_index
        }),
    }
}
