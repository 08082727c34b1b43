//! Charts to draw.

use heatset::chart::{
    BatchPoint, BatchesChart, Chart, ChartSize, ChartWords, Colour, ContourRank, ContributionBar,
    ContributionsChart, CurvePoint, EffortBand, FirmnessChart, FirmnessSeries, ForceBand,
    ForceChart, ForceLimit, ForceLine, ForcePoint, ForceZone, HistoryChart, HistoryPoint,
    HistoryStage, IsoForceChart, IsoForceContour, IsoForcePoint, MeasuredRange, OutsidePoint,
    ProbabilityPoint, RateLinePoint, RatePoint, RatesChart, ReadingBand, ReadingPoint,
    ResidualPoint, ResidualSeries, ResidualsChart, StandingChart, StandingLine, SyringeLevel,
    SyringeLine, SyringePoint, SyringesChart, TemperatureSpan, TimeSpan, WindowChart, WindowMark,
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

pub(crate) fn standing() -> StandingChart {
    let times_s = || (0..=100).map(|step| f64::from(step) * 1800.0);
    let line = |label: &str, rate_per_s: f64| {
        let force_n = move |time_s: f64| 6.0 + 8.0 * (1.0 - (-rate_per_s * time_s).exp());
        let place = |time_s: f64| ForcePoint {
            time_s,
            plunger_force_n: force_n(time_s),
        };
        StandingLine {
            label: label.to_string(),
            points: [3600.0, 86_400.0, 172_800.0].map(place).to_vec(),
            curve: times_s().map(place).collect(),
            band: times_s()
                .map(|time_s| ForceBand {
                    time_s,
                    low_n: 0.7 * force_n(time_s),
                    high_n: 1.4 * force_n(time_s),
                })
                .collect(),
        }
    };
    StandingChart {
        words: words(),
        zones: vec![ForceZone {
            from_n: 0.0,
            to_n: 12.0,
            words: "easy push".to_string(),
            colour: Colour::new(0, 158, 115),
        }],
        limit: Some(ForceLimit {
            plunger_force_n: 15.0,
            label: "limit 15 N".to_string(),
        }),
        lines: vec![line("4 °C", 1e-5), line("22 °C", 6e-5)],
        ..StandingChart::default()
    }
}

/// Passing falls and firmness rises along straight lines between 200 s and 400 s.
pub(crate) fn window() -> WindowChart {
    let rising = |time_s: f64| ((time_s - 200.0) / 200.0).clamp(0.0, 1.0);
    let curve = |probability: &dyn Fn(f64) -> f64| -> Vec<ProbabilityPoint> {
        (0..=60)
            .map(|step| f64::from(step) * 10.0)
            .map(|time_s| ProbabilityPoint {
                time_s,
                probability: probability(time_s),
            })
            .collect()
    };
    WindowChart {
        words: words(),
        time_name: "heat time at 86 °C".to_string(),
        passing: curve(&|time_s| 1.0 - rising(time_s)),
        passing_words: "passes under 20 N".to_string(),
        firmness: curve(&|time_s| rising(time_s + 150.0)),
        firmness_words: "firm enough: reads 0.5 Pa.s or more".to_string(),
        window: Some(TimeSpan {
            from_s: 150.0,
            to_s: 240.0,
        }),
        aim: Some(WindowMark {
            time_s: 180.0,
            words: "aim 3 min".to_string(),
        }),
        ends: vec![
            WindowMark {
                time_s: 150.0,
                words: "not before 2 min 30 s".to_string(),
            },
            WindowMark {
                time_s: 240.0,
                words: "not beyond 4 min".to_string(),
            },
        ],
        measured_time: Some(TimeSpan {
            from_s: 0.0,
            to_s: 600.0,
        }),
        ..WindowChart::default()
    }
}

pub(crate) fn contributions() -> ContributionsChart {
    let bar = |label: &str, helps: &str, share: Option<f64>, share_words: &str| ContributionBar {
        label: label.to_string(),
        helps: helps.to_string(),
        share,
        share_words: share_words.to_string(),
    };
    ContributionsChart {
        words: words(),
        bars: vec![
            bar("the needle's bore", "measure the bore", Some(0.6), "60 %"),
            bar(
                "the block's temperature",
                "check its places",
                Some(0.3),
                "30 %",
            ),
            bar("the stopper's friction", "", Some(0.1), "10 %"),
            bar("the lot", "another lot", None, "not known"),
        ],
        ..ContributionsChart::default()
    }
}

/// A force of 10 N after 600 s at 80 °C and a tenth of that ten degrees hotter; of 20 N after twice
/// the time.
pub(crate) fn iso_force() -> IsoForceChart {
    let points = |at_80_s: f64| -> Vec<IsoForcePoint> {
        (0..=40)
            .map(|step| 70.0 + 0.5 * f64::from(step))
            .map(|temperature_celsius| IsoForcePoint {
                temperature_celsius,
                time_s: at_80_s * 10_f64.powf((80.0 - temperature_celsius) / 10.0),
            })
            .collect()
    };
    let contour = |label: &str, words: &str, rank: ContourRank, at_80_s: f64| IsoForceContour {
        label: label.to_string(),
        words: words.to_string(),
        rank,
        points: points(at_80_s),
    };
    let band = |words: &str, colour: Colour, from: Vec<IsoForcePoint>, to: Vec<IsoForcePoint>| {
        EffortBand {
            words: words.to_string(),
            colour,
            from,
            to,
        }
    };
    IsoForceChart {
        words: words(),
        temperatures: TemperatureSpan {
            from_celsius: 70.0,
            to_celsius: 90.0,
        },
        times: TimeSpan {
            from_s: 30.0,
            to_s: 7200.0,
        },
        bands: vec![
            band("easy", Colour::new(0, 158, 115), Vec::new(), points(720.0)),
            band(
                "effort",
                Colour::new(230, 159, 0),
                points(720.0),
                Vec::new(),
            ),
        ],
        contours: vec![
            contour(
                "limit 20 N",
                "limit 20 N, by the estimates",
                ContourRank::Limit,
                1200.0,
            ),
            contour(
                "1 in 20",
                "1 syringe in 20 over 20 N",
                ContourRank::OneInTwenty,
                900.0,
            ),
            contour("10 N", "", ContourRank::Round, 600.0),
        ],
        measured: Some(MeasuredRange {
            temperatures: TemperatureSpan {
                from_celsius: 72.0,
                to_celsius: 88.0,
            },
            times: TimeSpan {
                from_s: 60.0,
                to_s: 3600.0,
            },
        }),
        ..IsoForceChart::default()
    }
}

pub(crate) fn svg(chart: &dyn Chart) -> String {
    chart.draw_svg(ChartSize::default()).unwrap()
}

/// One of each kind with one panel; those of two panels have tests of their own.
pub(crate) fn all_kinds(change: impl Fn(&mut ChartWords)) -> Vec<(&'static str, Box<dyn Chart>)> {
    let (mut firmness, mut force, mut rates, mut residuals) =
        (firmness(), force(), rates(), residuals());
    let mut standing = standing();
    change(&mut standing.words);
    let (mut window, mut contributions, mut iso_force) = (window(), contributions(), iso_force());
    change(&mut window.words);
    change(&mut contributions.words);
    change(&mut iso_force.words);
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
        ("standing", Box::new(standing)),
        ("window", Box::new(window)),
        ("contributions", Box::new(contributions)),
        ("iso-force", Box::new(iso_force)),
    ]
}
