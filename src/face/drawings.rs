//! Fills the charts from a calibration: the one place where answers become pictures.

use crate::chart::{
    AxisKind, ChartError, ChartWords, Colour, CurvePoint, FirmnessChart, FirmnessSeries, ForceAxis,
    ForceBand, ForceChart, ForceLimit, ForceLine, ForcePoint, ForceZone, HistoryChart,
    HistoryPoint, HistoryStage, OutsidePoint, RateLinePoint, RatePoint, RatesChart, ReadingBand,
    ReadingPoint, ResidualAgainst, ResidualPoint, ResidualSeries, ResidualsChart, TimeSpan,
};
use crate::face::cautions;
use crate::fit::{
    BlendCalibration, Calibration, ErrorModel, ParameterName, Predictor, rates_by_temperature,
    t_quantile,
};
use crate::kinetics::SettingCourse;
use crate::plan::{NeedleUsed, PlanError, PushSetup, StatedThinning, force_curve};
use crate::reference::constants::ZERO_CELSIUS_KELVIN;
use crate::reference::{ReferenceError, hands, hub_colour};
use crate::thermal::{GelHistory, StageKind, TimedSchedule, WarmUp};
use crate::units::display;
use thiserror::Error;

/// Points along a curve.
const CURVE_POINTS: usize = 160;
/// Draws behind the band of a force line.
const BAND_DRAWS: usize = 2000;

/// Why there is no picture.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DrawingError {
    /// The answer behind it.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The calibration behind it.
    #[error(transparent)]
    Fit(#[from] crate::fit::FitError),
    /// The picture itself.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// The reference tables.
    #[error(transparent)]
    Reference(#[from] ReferenceError),
}

/// Words under every chart of a blend.
fn words(
    calibration: &Calibration,
    blend: &BlendCalibration,
    title: String,
    extra: &str,
) -> ChartWords {
    let files: Vec<String> = calibration
        .source
        .iter()
        .map(|s| {
            std::path::Path::new(&s.file)
                .file_name()
                .map_or_else(|| s.file.clone(), |n| n.to_string_lossy().into_owned())
        })
        .collect();
    let lots = match &blend.lots {
        None => String::new(),
        Some(_) => format!(", {}", crate::face::sentences::lots_words(blend)),
    };
    ChartWords {
        title,
        subtitle: format!(
            "{}, blend {}{lots}, {} readings{extra}",
            files.join(" + "),
            blend.blend,
            blend.fit.rows
        ),
        note: cautions::SHORT.replace("   heatset cautions", ""),
        invented: calibration.invented,
        extrapolated: false,
    }
}

fn quantity(blend: &BlendCalibration) -> &'static str {
    match blend.reading_unit.as_str() {
        "Pa.s" => "viscosity",
        "Pa" => "storage modulus",
        _ => "firmness",
    }
}

/// Firmness against heat time: points, curve and band, one series a temperature.
///
/// # Errors
/// A document without one of the main parameters.
pub fn firmness(
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<FirmnessChart, DrawingError> {
    let predictor = Predictor::new(blend)?;
    let longest = blend.range.heat_time_s[1];
    let relative = blend.error == ErrorModel::Relative;
    let positive = relative && blend.readings.iter().all(|r| r.reading > 0.0);
    let mut temperatures: Vec<f64> = blend.readings.iter().map(|r| r.heat_temp_k).collect();
    temperatures.sort_by(f64::total_cmp);
    temperatures.dedup();
    let several_rates = blend.flow_index_plateau().is_some();
    let [shortest, _] = blend.range.heat_time_s;
    let logarithmic_time = shortest > 0.0 && longest / shortest > 50.0;
    let series = temperatures
        .iter()
        .map(|&kelvin| {
            let here: Vec<_> = blend
                .readings
                .iter()
                .filter(|r| r.heat_temp_k == kelvin)
                .collect();
            let used = here.iter().filter(|r| r.used);
            let last = used.clone().map(|r| r.heat_time_s).fold(0.0_f64, f64::max);
            let first = used.map(|r| r.heat_time_s).fold(f64::INFINITY, f64::min);
            let times: Vec<f64> = (0..=CURVE_POINTS)
                .map(|i| {
                    let share = i as f64 / CURVE_POINTS as f64;
                    if logarithmic_time {
                        first * (last / first).powf(share)
                    } else {
                        last * share
                    }
                })
                .collect();
            let bands = predictor.prediction_band(kelvin, &times);
            let points = here
                .iter()
                .map(|r| ReadingPoint {
                    time_s: r.heat_time_s,
                    reading_in_unit: carried(r.reading, r.residual, several_rates, || {
                        predictor
                            .confidence_band(kelvin, &[r.heat_time_s])
                            .first()
                            .map_or(r.reading, |b| b.estimate)
                    }),
                    used: r.used,
                })
                .collect();
            FirmnessSeries {
                label: display::temperature(kelvin),
                points,
                curve: times
                    .iter()
                    .zip(&bands)
                    .map(|(t, b)| CurvePoint {
                        time_s: *t,
                        reading_in_unit: b.estimate,
                    })
                    .collect(),
                band: times
                    .iter()
                    .zip(&bands)
                    .map(|(t, b)| ReadingBand {
                        time_s: *t,
                        low_in_unit: b.lower,
                        high_in_unit: b.upper,
                    })
                    .collect(),
            }
        })
        .collect();
    let extra = match (several_rates, blend.reference_shear_rate_per_s) {
        (true, Some(rate)) => {
            format!(", all carried to {} 1/s", display::at_most(rate, 3))
        }
        _ => String::new(),
    };
    Ok(FirmnessChart {
        words: words(
            calibration,
            blend,
            crate::face::sentences::headline(blend),
            &extra,
        ),
        reading_name: quantity(blend).to_owned(),
        reading_unit: blend.reading_unit.clone(),
        reading_axis: if positive {
            AxisKind::Log
        } else {
            AxisKind::Linear
        },
        time_axis: if logarithmic_time {
            AxisKind::Log
        } else {
            AxisKind::Linear
        },
        series,
        ..FirmnessChart::default()
    })
}

/// A reading carried to the reference shear rate: the curve there, times its own residual.
fn carried(reading: f64, residual: Option<f64>, several: bool, curve: impl Fn() -> f64) -> f64 {
    match residual {
        Some(residual) if several => curve() * residual.exp(),
        _ => reading,
    }
}

/// What a force chart is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceDrawing {
    /// Set temperature, in K.
    pub set_kelvin: f64,
    /// Push; its needle is not used.
    pub setup: PushSetup,
    /// Needles, the widest first.
    pub needles: Vec<NeedleUsed>,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<WarmUp>,
    /// Seed of the bands.
    pub seed: u64,
    /// Whether the set temperature lies outside the measured ones, and was asked for all the same.
    pub extrapolated: bool,
}

/// Plunger force against heat time, one line a needle.
///
/// # Errors
/// As for the answers about force.
pub fn force(
    calibration: &Calibration,
    blend: &BlendCalibration,
    asked: &ForceDrawing,
) -> Result<ForceChart, DrawingError> {
    let [shortest, longest] = blend.range.heat_time_s;
    let limit = asked.setup.force_limit_n;
    let hands = hands()?;
    let top = 1.6 * limit.max(hands.target_n);
    let longest = time_of_interest_s(blend, asked, shortest, longest, top)?;
    let times: Vec<f64> = (0..=CURVE_POINTS)
        .map(|i| shortest + (longest - shortest) * i as f64 / CURVE_POINTS as f64)
        .collect();
    let few = asked.needles.len() <= 3;
    let mut lines = Vec::with_capacity(asked.needles.len());
    let mut latest: Option<(f64, String)> = None;
    for needle in &asked.needles {
        let curve = force_curve(
            blend,
            &asked.setup.through(needle.clone()),
            asked.thinning,
            asked.warm_up,
            asked.set_kelvin,
            &times,
            if few { BAND_DRAWS } else { 0 },
            asked.seed,
        )?;
        let hub = needle
            .gauge
            .and_then(hub_colour)
            .map_or((90, 90, 90), |h| h.rgb);
        if let Some(time_s) = crossing_s(&curve, limit) {
            // The finest needle comes last, so this ends as the one that stops first.
            // Kept together where the title is wrapped.
            latest = Some((time_s, needle.label().replace(' ', "\u{a0}")));
        }
        lines.push(ForceLine {
            label: needle.label(),
            end_label: needle
                .gauge
                .map_or_else(|| display::length_mm(needle.bore_m), |g| format!("{g}G")),
            hub_colour: Colour::new(hub.0, hub.1, hub.2),
            points: curve
                .iter()
                .map(|p| ForcePoint {
                    time_s: p.heat_time_s,
                    plunger_force_n: p.plunger_force_n,
                })
                .collect(),
            band: curve
                .iter()
                .filter_map(|p| {
                    p.interval95_n.map(|[low_n, high_n]| ForceBand {
                        time_s: p.heat_time_s,
                        low_n,
                        high_n,
                    })
                })
                .collect(),
        });
    }
    let place = display::temperature(asked.set_kelvin);
    let title = match latest {
        Some((time_s, needle)) if lines.len() > 1 => format!(
            "At {place} the finest needle ({needle}) reaches {} after {}",
            display::force(limit),
            display::duration_rounded(time_s, 10.0, display::Rounding::Down)
        ),
        Some((time_s, needle)) => format!(
            "At {place} the push through {needle} reaches {} after {}",
            display::force(limit),
            display::duration_rounded(time_s, 10.0, display::Rounding::Down)
        ),
        None => format!(
            "At {place} the push stays under {} at every measured heat time",
            display::force(limit)
        ),
    };
    let mut words = words(
        calibration,
        blend,
        title,
        &format!(
            ", {}, {}, {}",
            asked.setup.barrel.label(),
            display::flow_rate(asked.setup.flow_rate_m3_per_s),
            match asked.warm_up.unwrap_or_else(|| blend.warm_up()) {
                WarmUp::Lag {
                    time_constant_s, ..
                } => format!("warm-up lag {}", display::duration(time_constant_s)),
                WarmUp::None => "warm-up not counted".to_owned(),
            }
        ),
    );
    words.extrapolated = asked.extrapolated;
    Ok(ForceChart {
        words,
        time_name: format!("heat time at {place}"),
        time_axis: AxisKind::Linear,
        force_axis: ForceAxis::Linear { up_to_n: Some(top) },
        zones: vec![ForceZone {
            from_n: 0.0,
            to_n: hands.easy_below_n,
            words: format!(
                "easy push (under {}, Robinson 2020)",
                display::force(hands.easy_below_n)
            ),
            colour: Colour::new(0, 158, 115),
        }],
        limit: Some(ForceLimit {
            plunger_force_n: limit,
            label: format!("limit {}", display::force(limit)),
        }),
        measured_time: Some(TimeSpan {
            from_s: shortest,
            to_s: blend.range.heat_time_s[1],
        }),
        lines,
        ..ForceChart::default()
    })
}

/// Heat time at which a drawn line crosses the limit, by a straight line between its points.
fn crossing_s(curve: &[crate::plan::ForcePoint], limit_n: f64) -> Option<f64> {
    let after = curve.iter().position(|p| p.plunger_force_n > limit_n)?;
    let Some(before) = after.checked_sub(1).and_then(|i| curve.get(i)) else {
        return curve.first().map(|p| p.heat_time_s);
    };
    let point = curve.get(after)?;
    let share =
        (limit_n - before.plunger_force_n) / (point.plunger_force_n - before.plunger_force_n);
    Some(before.heat_time_s + share * (point.heat_time_s - before.heat_time_s))
}

/// Heat time until which a force chart is worth drawing: the widest needle's passing of the top,
/// or twice the time at which the gel has set, whichever comes first.
fn time_of_interest_s(
    blend: &BlendCalibration,
    asked: &ForceDrawing,
    shortest: f64,
    longest: f64,
    top_n: f64,
) -> Result<f64, DrawingError> {
    let mut setting = blend.setting()?;
    if let Some(warm_up) = asked.warm_up {
        setting.warm_up = warm_up;
    }
    let set = setting.clock_time_for_conversion_s(asked.set_kelvin, 0.98);
    let mut end = set.clamp(shortest * 2.0, longest);
    if let Some(widest) = asked.needles.first() {
        let times: Vec<f64> = (1..=200)
            .map(|i| shortest + (end - shortest) * f64::from(i) / 200.0)
            .collect();
        let curve = force_curve(
            blend,
            &asked.setup.through(widest.clone()),
            asked.thinning,
            asked.warm_up,
            asked.set_kelvin,
            &times,
            0,
            asked.seed,
        )?;
        if let Some(point) = curve.iter().find(|p| p.plunger_force_n > top_n) {
            end = point.heat_time_s;
        }
    }
    Ok(end)
}

/// ln k against 1/T: the rate of each temperature alone, and the line fitted to all.
///
/// # Errors
/// A document without one of the main parameters.
pub fn rates(
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<RatesChart, DrawingError> {
    let setting = blend.setting()?;
    let alone = rates_by_temperature(blend)?;
    let [low, high] = blend.range.heat_temp_k;
    let margin = 0.04 * (high - low).max(1.0);
    let free = blend.free_parameters();
    let place = |name| free.iter().position(|f| *f == name);
    let covariance = |a: Option<usize>, b: Option<usize>| match (a, b) {
        (Some(a), Some(b)) => blend.covariance[a][b],
        _ => 0.0,
    };
    let (rate, energy) = (
        place(ParameterName::RateRef),
        place(ParameterName::ActivationEnergy),
    );
    let t = t_quantile(0.975, blend.interval_freedom()).unwrap_or(0.0);
    let line = (0..=60)
        .map(|i| {
            let kelvin = low - margin + (high - low + 2.0 * margin) * f64::from(i) / 60.0;
            // d ln k / d E = -(1/T - 1/T_ref)/R
            let by_energy = -(1.0 / kelvin - 1.0 / blend.reference_temp_k)
                / crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
            let variance = covariance(rate, rate)
                + 2.0 * by_energy * covariance(rate, energy)
                + by_energy * by_energy * covariance(energy, energy);
            let half = t * variance.max(0.0).sqrt();
            let rate_per_s = setting.rate.rate_per_s(kelvin);
            RateLinePoint {
                temperature_kelvin: kelvin,
                rate_per_s,
                low_per_s: Some(rate_per_s * (-half).exp()),
                high_per_s: Some(rate_per_s * half.exp()),
            }
        })
        .collect();
    let energy = blend.parameter(ParameterName::ActivationEnergy);
    let alone_at: Vec<f64> = alone.iter().map(|r| r.temp_kelvin).collect();
    let without: Vec<String> = blend
        .derived
        .half_time_s
        .iter()
        .filter(|half| !alone_at.contains(&half.temp_k))
        .map(|half| display::temperature(half.temp_k))
        .collect();
    let extra = if without.is_empty() {
        String::new()
    } else {
        format!("; {} gives no rate alone", without.join(", "))
    };
    let (title, label) = match energy {
        Some(p) => {
            let digits = p
                .ci95
                .map_or(3, |[l, h]| display::digits_for_interval(l, h).max(2));
            let value = display::energy_to(p.estimate, digits);
            let interval = p.ci95.map_or_else(
                || "held".to_owned(),
                |[l, h]| {
                    format!(
                        "{} to {} kJ/mol",
                        display::significant(l / 1e3, digits),
                        display::significant(h / 1e3, digits)
                    )
                },
            );
            (
                format!(
                    "Activation energy {value}: {} times as fast for ten degrees more",
                    display::significant(crate::face::sentences::ten_degrees_ratio(blend), 2)
                ),
                format!("activation energy {value}\n95 %: {interval}"),
            )
        }
        None => ("Rate of setting".to_owned(), String::new()),
    };
    Ok(RatesChart {
        words: words(calibration, blend, title, &extra),
        activation_energy_words: label,
        points: alone
            .iter()
            .map(|r| RatePoint {
                label: display::temperature(r.temp_kelvin),
                temperature_kelvin: r.temp_kelvin,
                rate_per_s: r.rate_per_s,
                low_per_s: r.ci95_per_s.map(|c| c[0]),
                high_per_s: r.ci95_per_s.map(|c| c[1]),
                used: true,
            })
            .collect(),
        line,
        ..RatesChart::default()
    })
}

/// Residuals against heat time.
///
/// # Errors
/// None today; kept alike with the others.
pub fn residuals(
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<ResidualsChart, DrawingError> {
    let mut temperatures: Vec<f64> = blend
        .readings
        .iter()
        .filter(|r| r.used)
        .map(|r| r.heat_temp_k)
        .collect();
    temperatures.sort_by(f64::total_cmp);
    temperatures.dedup();
    let series = temperatures
        .iter()
        .map(|&kelvin| ResidualSeries {
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

/// Most points of a course in a chart of a history.
const HISTORY_POINTS: usize = 1200;

/// Temperature in a syringe through a schedule, and conversion where it is known; without words.
#[must_use]
pub fn history(
    history: &GelHistory,
    schedule: &TimedSchedule,
    setting: Option<&SettingCourse>,
) -> HistoryChart {
    let times_s = history.times_s();
    let every = times_s.len().div_ceil(HISTORY_POINTS).max(1);
    let last = times_s.len().saturating_sub(1);
    let thinned = |values: [&[f64]; 3], scale: fn(f64) -> f64| -> Vec<HistoryPoint> {
        let [core, mean, edge] = values;
        times_s
            .iter()
            .zip(core.iter().zip(mean).zip(edge))
            .enumerate()
            .filter(|(place, _)| place % every == 0 || *place == last)
            .map(|(_, (time_s, ((core, mean), edge)))| HistoryPoint {
                time_s: *time_s,
                core_in_unit: scale(*core),
                mean_in_unit: scale(*mean),
                edge_in_unit: scale(*edge),
            })
            .collect()
    };
    let celsius = |kelvin: f64| kelvin - ZERO_CELSIUS_KELVIN;
    let stages: Vec<_> = schedule
        .stages
        .iter()
        .filter(|stage| stage.duration_s > 0.0)
        .collect();
    HistoryChart {
        temperatures: thinned(
            [
                history.core_kelvin(),
                history.mean_kelvin(),
                history.edge_kelvin(),
            ],
            celsius,
        ),
        outside: stages
            .iter()
            .flat_map(|stage| {
                let at = |time_s: f64, kelvin: f64| OutsidePoint {
                    time_s: stage.start_s + time_s,
                    temperature_in_unit: celsius(kelvin),
                };
                let bend_s = Some(stage.ramp_s).filter(|s| *s > 0.0 && *s < stage.duration_s);
                [
                    Some(at(0.0, stage.outside_start_kelvin)),
                    bend_s.map(|ramp_s| at(ramp_s, stage.set_kelvin)),
                    Some(at(stage.duration_s, stage.outside_end_kelvin)),
                ]
                .into_iter()
                .flatten()
            })
            .collect(),
        stages: stages
            .iter()
            .map(|stage| HistoryStage {
                span: TimeSpan {
                    from_s: stage.start_s,
                    to_s: stage.end_s(),
                },
                label: match stage.kind {
                    StageKind::Heat => format!("block {}", display::temperature(stage.set_kelvin)),
                    StageKind::Hold => format!("held {}", display::temperature(stage.set_kelvin)),
                    StageKind::Cool => format!("air {}", display::temperature(stage.set_kelvin)),
                },
                in_air: !stage.kind.in_block(),
            })
            .collect(),
        conversions: setting.map_or_else(Vec::new, |course| {
            thinned(
                [
                    &course.core_fractions,
                    &course.mean_fractions,
                    &course.edge_fractions,
                ],
                |fraction| 100.0 * fraction,
            )
        }),
        ..HistoryChart::default()
    }
}

/// Words around the chart of a history.
#[must_use]
pub fn history_words(
    title: String,
    stands_on: &str,
    invented: bool,
    extrapolated: bool,
) -> ChartWords {
    ChartWords {
        title,
        subtitle: stands_on.to_owned(),
        note: cautions::SHORT.replace("   heatset cautions", ""),
        invented,
        extrapolated,
    }
}
