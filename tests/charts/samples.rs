//! Charts to draw.

use heatset::chart::{
    BatchPoint, BatchesChart, Chart, ChartSize, ChartWords, Colour, CurvePoint, FirmnessChart,
    FirmnessSeries, ForceBand, ForceChart, ForceLimit, ForceLine, ForcePoint, ForceZone,
    HistoryChart, HistoryPoint, HistoryStage, OutsidePoint, RateLinePoint, RatePoint, RatesChart,
    ReadingBand, ReadingPoint, ResidualPoint, ResidualSeries, ResidualsChart, SyringeLevel,
    SyringeLine, SyringePoint, SyringesChart, TimeSpan,
};

fn words() -> ChartWords {
    ChartWords {
        title: "Sets half-way in 5 min 12 s at 80 °C".to_string(),
        subtitle: "bench-a.json: 2 lots, 24 readings".to_string(),
        note: "Bench and teaching aid, not a medical device.\nLocal codes rule.".to_string(),
        ..ChartWords::default()
    }
}

pub(crate) fn firmness() -> FirmnessChart {
    let series = |label: &str, factor: f64| FirmnessSeries {
        label: label.to_string(),
        points: [60.0, 240.0, 600.0, 1200.0]
            .map(|time_s| ReadingPoint {
                time_s,
                reading_in_unit: factor * time_s,
                used: true,
            })
            .to_vec(),
        curve: (0..=50)
            .map(|step| f64::from(step) * 24.0)
            .map(|time_s| CurvePoint {
                time_s,
                reading_in_unit: factor * (time_s + 1.0),
            })
            .collect(),
        band: (0..=50)
            .map(|step| f64::from(step) * 24.0)
            .map(|time_s| ReadingBand {
                time_s,
                low_in_unit: 0.8 * factor * (time_s + 1.0),
                high_in_unit: 1.25 * factor * (time_s + 1.0),
            })
            .collect(),
    };
    FirmnessChart {
        words: words(),
        series: vec![series("80 °C", 1e-4), series("86 °C", 1e-3)],
        ..FirmnessChart::default()
    }
}

pub(crate) fn line(end_label: &str, hub_colour: Colour, newton_per_s: f64) -> ForceLine {
    let times_s = (0..=100).map(|step| f64::from(step) * 12.0);
    let force_n = |time_s: f64| 2.0 + newton_per_s * time_s;
    ForceLine {
        label: format!("{end_label} x 13 mm"),
        end_label: end_label.to_string(),
        hub_colour,
        points: times_s
            .clone()
            .map(|time_s| ForcePoint {
                time_s,
                plunger_force_n: force_n(time_s),
            })
            .collect(),
        band: times_s
            .map(|time_s| ForceBand {
                time_s,
                low_n: 0.8 * force_n(time_s),
                high_n: 1.3 * force_n(time_s),
            })
            .collect(),
    }
}

pub(crate) const YELLOW: Colour = Colour::new(0xF5, 0xD0, 0x00);
pub(crate) const WHITE_HUB: Colour = Colour::new(0xF4, 0xF4, 0xF0);
pub(crate) const RED: Colour = Colour::new(0xD2, 0x20, 0x2F);

pub(crate) fn force() -> ForceChart {
    ForceChart {
        words: words(),
        time_name: "heat time at 86 °C".to_string(),
        zones: vec![ForceZone {
            from_n: 0.0,
            to_n: 12.0,
            words: "easy, under 12 N".to_string(),
            colour: Colour::new(0, 158, 115),
        }],
        limit: Some(ForceLimit {
            plunger_force_n: 20.0,
            label: "limit asked 20 N".to_string(),
        }),
        lines: vec![
            line("27G", RED, 0.005),
            line("30G", YELLOW, 0.02),
            line("31G", WHITE_HUB, 0.2),
        ],
        ..ForceChart::default()
    }
}

pub(crate) fn rates() -> RatesChart {
    let rate = |kelvin: f64| (-20.0 - 30_000.0 * (1.0 / kelvin - 1.0 / 353.15) + 14.0_f64).exp();
    RatesChart {
        words: words(),
        activation_energy_words: "activation energy 249 kJ/mol\n(240 to 258)".to_string(),
        points: [70.0, 75.0, 80.0, 86.0, 90.0]
            .map(|celsius: f64| RatePoint {
                label: format!("{celsius} °C"),
                temperature_kelvin: celsius + 273.15,
                rate_per_s: rate(celsius + 273.15),
                low_per_s: Some(0.9 * rate(celsius + 273.15)),
                high_per_s: Some(1.1 * rate(celsius + 273.15)),
                used: true,
            })
            .to_vec(),
        line: (0..=20)
            .map(|step| 343.15 + f64::from(step))
            .map(|kelvin| RateLinePoint {
                temperature_kelvin: kelvin,
                rate_per_s: rate(kelvin),
                low_per_s: Some(0.95 * rate(kelvin)),
                high_per_s: Some(1.05 * rate(kelvin)),
            })
            .collect(),
        ..RatesChart::default()
    }
}

pub(crate) fn residuals() -> ResidualsChart {
    let residual_in_unit = [0.05, -0.12, 0.08, -0.03];
    ResidualsChart {
        words: words(),
        residual_name: "residual of ln viscosity".to_string(),
        residual_sd_in_unit: Some(0.1),
        series: vec![ResidualSeries {
            label: "80 °C".to_string(),
            points: [30.0, 120.0, 600.0, 1200.0]
                .into_iter()
                .zip(residual_in_unit)
                .enumerate()
                .map(|(index, (place_in_unit, residual_in_unit))| ResidualPoint {
                    place_in_unit,
                    residual_in_unit,
                    row: index + 16,
                    influential: index == 1,
                    used: true,
                })
                .collect(),
        }],
        ..ResidualsChart::default()
    }
}

pub(crate) fn history() -> HistoryChart {
    let outside = [(0.0, 90.0), (360.0, 90.0), (360.0, 22.0), (600.0, 22.0)];
    HistoryChart {
        words: words(),
        temperatures: (0..=20)
            .map(|step| f64::from(step) * 30.0)
            .map(|time_s| HistoryPoint {
                time_s,
                core_in_unit: 22.0 + 0.05 * time_s,
                mean_in_unit: 22.0 + 0.07 * time_s,
                edge_in_unit: 22.0 + 0.1 * time_s,
            })
            .collect(),
        outside: outside
            .map(|(time_s, temperature_in_unit)| OutsidePoint {
                time_s,
                temperature_in_unit,
            })
            .to_vec(),
        stages: [
            (0.0, 360.0, "block 90 °C", false),
            (360.0, 600.0, "air 22 °C", true),
        ]
        .map(|(from_s, to_s, label, in_air)| HistoryStage {
            span: TimeSpan { from_s, to_s },
            label: label.to_string(),
            in_air,
        })
        .to_vec(),
        ..HistoryChart::default()
    }
}

/// With the conversion below.
pub(crate) fn history_of_setting() -> HistoryChart {
    HistoryChart {
        conversions: (0..=20)
            .map(|step| f64::from(step) * 30.0)
            .map(|time_s| HistoryPoint {
                time_s,
                core_in_unit: 0.1 * time_s,
                mean_in_unit: 0.12 * time_s,
                edge_in_unit: 0.15 * time_s,
            })
            .collect(),
        ..history()
    }
}

fn syringe_points(pascal_second_per_s: f64) -> Vec<SyringePoint> {
    (1..=60)
        .map(|step| f64::from(step) * 20.0)
        .map(|time_s| SyringePoint {
            time_s,
            value_in_unit: pascal_second_per_s * time_s,
        })
        .collect()
}

/// Three syringes of which the third does not reach the level of 0.12 Pa.s within the picture.
pub(crate) fn syringes() -> SyringesChart {
    let line = |name: &str, pascal_second_per_s: f64, reached: Option<(f64, &str)>| SyringeLine {
        label: format!("{name}: 5 min to 21 min"),
        name: name.to_string(),
        points: syringe_points(pascal_second_per_s),
        at_once: Vec::new(),
        reached_s: reached.map(|(time_s, _)| time_s),
        reached_words: reached.map_or_else(String::new, |(_, words)| words.to_string()),
    };
    SyringesChart {
        words: words(),
        time_name: "heat time at 90 °C".to_string(),
        at_once: syringe_points(1e-3),
        level: Some(SyringeLevel {
            value_in_unit: 0.12,
            label: "0.12 Pa.s: 1 mL after 6 min".to_string(),
        }),
        lines: vec![
            line("1 mL", 0.12 / 360.0, Some((360.0, "6 min"))),
            line("5 mL", 0.12 / 730.0, Some((730.0, "12 min 10 s"))),
            line("20 mL", 0.12 / 4000.0, None),
        ],
        ..SyringesChart::default()
    }
}

/// Twelve batches, the last four too firm.
pub(crate) fn batches() -> BatchesChart {
    let points = (1..=12_u32).map(|entry| {
        let away = f64::from(entry);
        BatchPoint {
            entry: u64::from(entry),
            deviation_in_unit: if entry > 8 { 2.0 } else { (2.1 * away).sin() },
            inside: entry != 3,
            average_in_unit: 0.1 * away,
            average_limits_in_unit: [-0.95, 0.95],
            upper_sum_in_unit: if entry > 8 { 1.5 * (away - 8.0) } else { 0.0 },
            lower_sum_in_unit: if entry == 4 { 0.5 } else { 0.0 },
            signal: match entry {
                10 => "EWMA".to_string(),
                12 => "limit, CUSUM".to_string(),
                _ => String::new(),
            },
        }
    });
    BatchesChart {
        words: words(),
        deviation_name: "deviation z (sd)".to_string(),
        sum_name: "sum of z (sd)".to_string(),
        limits_in_unit: [3.0, -3.0],
        limit_labels: ["+3 sd".to_string(), "−3 sd".to_string()],
        decision_in_unit: 5.0,
        points: points.collect(),
    }
}

pub(crate) fn svg(chart: &dyn Chart) -> String {
    chart.draw_svg(ChartSize::default()).unwrap()
}

/// One of each kind with one panel; those of two panels have tests of their own.
pub(crate) fn all_kinds(change: impl Fn(&mut ChartWords)) -> Vec<(&'static str, Box<dyn Chart>)> {
    let (mut firmness, mut force, mut rates, mut residuals) =
        (firmness(), force(), rates(), residuals());
    let (mut history, mut syringes) = (history(), syringes());
    change(&mut history.words);
    change(&mut firmness.words);
    change(&mut force.words);
    change(&mut rates.words);
    change(&mut residuals.words);
    change(&mut syringes.words);
    vec![
        ("firmness", Box::new(firmness)),
        ("force", Box::new(force)),
        ("rates", Box::new(rates)),
        ("residuals", Box::new(residuals)),
        ("history", Box::new(history)),
        ("syringes", Box::new(syringes)),
    ]
}
