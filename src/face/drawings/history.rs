//! Temperature and conversion in a syringe.

use crate::chart::{ChartWords, HistoryChart, HistoryPoint, HistoryStage, OutsidePoint, TimeSpan};
use crate::face::cautions;
use crate::kinetics::SettingCourse;
use crate::reference::constants::ZERO_CELSIUS_KELVIN;
use crate::thermal::{GelHistory, StageKind, TimedSchedule};
use crate::units::display;

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
