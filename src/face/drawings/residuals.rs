//! Residuals against heat time.

use super::error::DrawingError;
use super::words::{quantity, words};
use crate::chart::{AxisKind, ResidualAgainst, ResidualPoint, ResidualSeries, ResidualsChart};
use crate::fit::{
    BlendCalibration, Calibration, ErrorModel, FittedReading, heat_temperatures_kelvin,
};
use crate::kinetics::SettingModel;
use crate::units::display;
use std::collections::BTreeMap;

/// Residuals against heat time.
///
/// # Errors
/// None today; kept alike with the others.
pub fn residuals(
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<ResidualsChart, DrawingError> {
    let of_lots = own_lots(blend);
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
                        residual_in_unit: residual - lot_shift(&of_lots, blend.error, r),
                        row: r.row,
                        influential: blend.diagnostics.influential.contains(&r.row),
                        used: r.used,
                    })
                })
                .collect(),
        })
        .collect();
    let sd = blend.fit.residual_sd;
    let about = if of_lots.is_some() {
        "their lots' curves"
    } else {
        "the fitted curves"
    };
    let (name, title) = match blend.error {
        ErrorModel::Relative => (
            format!("residual of ln {}", quantity(blend)),
            format!(
                "Readings scatter by {} % about {about}",
                display::significant(100.0 * sd.exp_m1(), 2)
            ),
        ),
        ErrorModel::Absolute => (
            format!("residual of {} ({})", quantity(blend), blend.reading_unit),
            format!(
                "Readings scatter by {} {} about {about}",
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

/// The setting of the usual lot, and that of each lot; nothing where lots were fitted as one.
struct OfLots {
    usual: SettingModel,
    own: BTreeMap<String, SettingModel>,
}

fn own_lots(blend: &BlendCalibration) -> Option<OfLots> {
    // Over stated standard deviations a lot's share differs from reading to reading.
    let lots = blend
        .lots
        .as_ref()
        .filter(|lots| lots.are_separate() && blend.error != ErrorModel::Given)?;
    let own = lots
        .effects
        .iter()
        .filter_map(|effect| {
            let setting = blend.for_lot(&effect.lot).ok()?.setting().ok()?;
            Some((effect.lot.clone(), setting))
        })
        .collect();
    Some(OfLots {
        usual: blend.setting().ok()?,
        own,
    })
}

/// How far the curve of a reading's own lot lies from the usual one: the residual sd is that within a lot.
fn lot_shift(of_lots: &Option<OfLots>, error: ErrorModel, reading: &FittedReading) -> f64 {
    let (Some(of_lots), Some(lot)) = (of_lots, &reading.lot) else {
        return 0.0;
    };
    let Some(own) = of_lots.own.get(lot) else {
        return 0.0;
    };
    let [own, usual] = [own, &of_lots.usual]
        .map(|setting| setting.reading(reading.heat_temp_k, reading.heat_time_s));
    let shift = match error {
        ErrorModel::Relative => (own / usual).ln(),
        ErrorModel::Absolute | ErrorModel::Given => own - usual,
    };
    if shift.is_finite() { shift } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::{FitOptions, calibrate};
    use crate::readings::read_bench_text;

    /// Of a normal scatter 95.4 of 100 lie within twice its standard deviation: a chart that drew lots' own
    /// differences as scatter would show far more outside.
    #[test]
    fn about_nineteen_readings_of_twenty_lie_within_twice_the_residual_sd() -> Result<(), String> {
        let bench = include_bytes!("../../../data/demo_bench.csv");
        let table = read_bench_text("demo.csv", bench).map_err(|e| e.to_string())?;
        let calibration = calibrate(&table, &FitOptions::default()).map_err(|e| e.to_string())?;
        for blend in &calibration.blends {
            let chart = residuals(&calibration, blend).map_err(|e| e.to_string())?;
            let points: Vec<f64> = chart
                .series
                .iter()
                .flat_map(|series| &series.points)
                .filter(|point| point.used)
                .map(|point| point.residual_in_unit.abs())
                .collect();
            let inside = points
                .iter()
                .filter(|r| **r < 2.0 * blend.fit.residual_sd)
                .count();
            let share = inside as f64 / points.len() as f64;
            assert!((0.9..=0.99).contains(&share), "{}: {share}", blend.blend);
        }
        Ok(())
    }
}
