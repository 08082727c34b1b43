//! Residuals against heat time.

use super::error::DrawingError;
use super::words::{quantity, words};
use crate::chart::{AxisKind, ResidualAgainst, ResidualPoint, ResidualSeries, ResidualsChart};
use crate::fit::{BlendCalibration, Calibration, ErrorModel, heat_temperatures_kelvin};
use crate::units::display;

/// Residuals against heat time.
///
/// # Errors
/// None today; kept alike with the others.
pub fn residuals(
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<ResidualsChart, DrawingError> {
    let used = blend.readings.iter().filter(|r| r.used);
    let series = heat_temperatures_kelvin(used)
        .into_iter()
        .map(|kelvin| ResidualSeries {
            label: display::temperature(kelvin),
            points: blend
                .readings
                .iter()
                .filter(|r| r.heat_temp_k == kelvin)
                .filter_map(|r| {
                    r.residual.map(|residual| ResidualPoint {
                        place_in_unit: r.heat_time_s,
                        residual_in_unit: residual,
                        row: r.row,
                        influential: blend.diagnostics.influential.contains(&r.row),
                        used: r.used,
                    })
                })
                .collect(),
        })
        .collect();
    let sd = blend.fit.residual_sd;
    let (name, title) = match blend.error {
        ErrorModel::Relative => (
            format!("residual of ln {}", quantity(blend)),
            format!(
                "Readings scatter by {} % about the fitted curves",
                display::significant(100.0 * sd.exp_m1(), 2)
            ),
        ),
        ErrorModel::Absolute => (
            format!("residual of {} ({})", quantity(blend), blend.reading_unit),
            format!(
                "Readings scatter by {} {} about the fitted curves",
                display::significant(sd, 2),
                blend.reading_unit
            ),
        ),
        ErrorModel::Given => (
            "residual over the stated sd".to_owned(),
            format!(
                "Readings scatter by {} of their stated sd",
                display::significant(sd, 2)
            ),
        ),
    };
    let [shortest, longest] = blend.range.heat_time_s;
    Ok(ResidualsChart {
        words: words(calibration, blend, title, ""),
        residual_name: name,
        against: ResidualAgainst::HeatTime {
            axis: if shortest > 0.0 && longest / shortest > 20.0 {
                AxisKind::Log
            } else {
                AxisKind::Linear
            },
        },
        residual_sd_in_unit: Some(sd),
        series,
        ..ResidualsChart::default()
    })
}
