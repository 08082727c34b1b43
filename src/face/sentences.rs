//! A calibration in sentences: what a lab lead reads.

use crate::fit::{BlendCalibration, Lots, ParameterName, Scale, Warning, YieldStress};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::units::display;
use std::fmt::Write as _;

/// One blend in words.
pub(crate) fn blend_in_words(blend: &BlendCalibration, invented: bool, several: bool) -> String {
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: nobody took these readings.\n");
    }
    if several {
        let _ = writeln!(text, "Blend {}", blend.blend);
    }
    let _ = writeln!(text, "{}\n", headline(blend));
    for line in parameter_lines(blend) {
        let _ = writeln!(text, "  {line}");
    }
    let _ = writeln!(text, "\n{}", law_line(blend));
    if let Some(line) = influence_line(blend) {
        let _ = writeln!(text, "{line}");
    }
    if let Some(line) = downweighted_line(blend) {
        let _ = writeln!(text, "{line}");
    }
    if let Some(lines) = super::standing_words::fitted_lines(blend) {
        text.push_str(&lines);
    }
    for Warning { message, .. } in &blend.warnings {
        let _ = writeln!(text, "Note: {message}");
    }
    text
}

/// How fast it sets, and what ten degrees do.
pub(crate) fn headline(blend: &BlendCalibration) -> String {
    let reference = blend.reference_temp_k;
    let falls = parameter(blend, ParameterName::Plateau) < parameter(blend, ParameterName::Initial);
    format!(
        "{} half-way in {} at {}; ten degrees more make it {} times as fast.",
        if falls { "Falls" } else { "Sets" },
        display::duration(half_time_s(blend, reference)),
        display::temperature(reference),
        display::significant(ten_degrees_ratio(blend), 2)
    )
}

/// How many lots, and whether they are told apart.
pub(crate) fn lots_words(blend: &BlendCalibration) -> String {
    match &blend.lots {
        None => "lot not named".to_owned(),
        Some(lots) if lots.count == 1 => "1 lot".to_owned(),
        Some(lots) if lots.are_separate() => format!("{} lots", lots.count),
        Some(lots) => format!("{} lots fitted as one", lots.count),
    }
}

/// Rate five degrees above the reference temperature over that five degrees below.
pub(crate) fn ten_degrees_ratio(blend: &BlendCalibration) -> f64 {
    let reference = blend.reference_temp_k;
    let energy = parameter(blend, ParameterName::ActivationEnergy);
    (energy / GAS_CONSTANT_J_PER_MOL_K * (1.0 / (reference - 5.0) - 1.0 / (reference + 5.0))).exp()
}

fn parameter(blend: &BlendCalibration, name: ParameterName) -> f64 {
    blend.parameter(name).map_or(f64::NAN, |p| p.estimate)
}

/// Time in which half sets at a temperature, for gel at that temperature.
fn half_time_s(blend: &BlendCalibration, kelvin: f64) -> f64 {
    blend.setting().map_or(f64::NAN, |setting| {
        crate::kinetics::rate_dose_for_conversion(setting.order, 0.5)
            / setting.rate.rate_per_s(kelvin)
    })
}

/// A value of a parameter as people write it, to the digits that its interval allows.
pub(crate) fn value_words(name: ParameterName, unit: &str, value: f64, digits: usize) -> String {
    match (name, unit) {
        (ParameterName::ActivationEnergy | ParameterName::FlowActivationEnergy, _) => {
            display::energy_to(value, digits)
        }
        (ParameterName::RateRef, _) => display::rate_to(value, digits),
        (_, "Pa.s") => display::viscosity_to(value, digits),
        (_, "Pa") => display::pressure_to(value, digits),
        (_, "s") => format!("{} s", display::significant(value, digits)),
        _ => display::significant(value, digits),
    }
}

/// Names of parameters as people say them.
pub(crate) fn name_words(blend: &BlendCalibration, name: ParameterName) -> String {
    let quantity = match blend.reading_unit.as_str() {
        "Pa.s" => "viscosity",
        "Pa" => "modulus",
        _ => "firmness",
    };
    match name {
        ParameterName::Initial => format!("initial {quantity}"),
        ParameterName::Plateau => "plateau".to_owned(),
        ParameterName::RateRef => {
            format!("rate at {}", display::temperature(blend.reference_temp_k))
        }
        ParameterName::ActivationEnergy => "activation energy".to_owned(),
        ParameterName::Order => "order".to_owned(),
        ParameterName::WarmUp => "warm-up lag".to_owned(),
        ParameterName::DoseLag => "dose before setting".to_owned(),
        ParameterName::GelConversion => "conversion at the gel point".to_owned(),
        ParameterName::GelExponent => "exponent of the gel point".to_owned(),
        ParameterName::FlowIndexPlateau => "flow index when set".to_owned(),
        ParameterName::FlowActivationEnergy => "activation energy of flow".to_owned(),
        ParameterName::YieldSharePlateau => "yield stress when set, share".to_owned(),
    }
}

/// Name, estimate and interval of each parameter, aligned; then the scatter.
fn parameter_lines(blend: &BlendCalibration) -> Vec<String> {
    let rows = parameter_rows(blend);
    let width = |column: usize| {
        rows.iter()
            .map(|r| r[column].chars().count())
            .max()
            .unwrap_or(0)
    };
    let (first, second) = (width(0), width(1));
    rows.iter()
        .map(|[a, b, c]| format!("{a:<first$}  {b:<second$}  {c}"))
        .collect()
}

/// Name, estimate and interval of each parameter; then the scatter.
pub(crate) fn parameter_rows(blend: &BlendCalibration) -> Vec<[String; 3]> {
    let mut rows: Vec<[String; 3]> = blend
        .parameters
        .iter()
        .filter(|p| !(p.held && p.name == ParameterName::Order))
        .map(|p| {
            let digits = p.ci95.map_or(3, |[low, high]| {
                display::digits_for_interval(low, high).max(2)
            });
            if let (ParameterName::YieldSharePlateau, Some(found)) =
                (p.name, blend.derived.yield_stress_plateau_pa)
            {
                return yield_stress_row(&found);
            }
            let words = |value| value_words(p.name, &p.unit, value, digits);
            let interval = match (p.ci95, p.held) {
                (Some([low, high]), _) => format!("{} to {}", words(low), words(high)),
                (None, true) => "held".to_owned(),
                (None, false) => "no interval".to_owned(),
            };
            [name_words(blend, p.name), words(p.estimate), interval]
        })
        .collect();
    rows.sort_by_key(|row| !row[0].starts_with("rate"));
    let sd = blend.fit.residual_sd;
    let scale = blend
        .parameter(ParameterName::Plateau)
        .map_or(Scale::Log, |p| p.scale);
    rows.push([
        "scatter".to_owned(),
        match (blend.error, scale) {
            (crate::fit::ErrorModel::Relative, _) => {
                format!(
                    "{} % of a reading",
                    display::significant(100.0 * sd.exp_m1(), 2)
                )
            }
            (crate::fit::ErrorModel::Absolute, _) => {
                format!("{} {}", display::significant(sd, 2), blend.reading_unit)
            }
            (crate::fit::ErrorModel::Given, _) => {
                format!("{} of the stated sd", display::significant(sd, 2))
            }
        },
        if blend.lots.as_ref().is_some_and(Lots::are_separate) {
            "one reading in three lies further off its lot's curve".to_owned()
        } else {
            "one reading in three lies further off".to_owned()
        },
    ]);
    rows
}

/// The yield stress itself: its share of the stress is for the document.
fn yield_stress_row(found: &YieldStress) -> [String; 3] {
    let digits = found.ci95.map_or(3, |[low, high]| {
        display::digits_for_interval(low, high).max(2)
    });
    let words = |pressure_pa| display::pressure_to(pressure_pa, digits);
    [
        "yield stress when set".to_owned(),
        words(found.estimate),
        found.ci95.map_or_else(
            || "held".to_owned(),
            |[low, high]| format!("{} to {}", words(low), words(high)),
        ),
    ]
}

/// The law, why it was chosen, and whether the readings agree with it.
pub(crate) fn law_line(blend: &BlendCalibration) -> String {
    let others = blend.candidates.len().saturating_sub(1);
    let yields = blend.yield_share_plateau().is_some();
    // Candidates of one law differ in order, lag and yield stress.
    let chosen = blend.candidates.iter().find(|c| {
        c.law == blend.law
            && (c.order - blend.order).abs() < 1e-9
            && c.yield_stress == yields
            && c.aicc == blend.fit.aicc
    });
    let mut text = format!(
        "Law {}, order {}{}",
        blend.law.name(),
        display::plain(blend.order),
        if yields { ", with a yield stress" } else { "" }
    );
    match (others, chosen.and_then(|c| c.weight)) {
        (0, _) | (_, None) => {}
        (n, Some(weight)) => {
            let _ = write!(
                text,
                ", chosen over {n} other{} (weight {})",
                if n == 1 { "" } else { "s" },
                if weight > 0.995 {
                    "over 0.99".to_owned()
                } else {
                    display::significant(weight, 2)
                }
            );
        }
    }
    let rows = blend.fit.rows;
    match blend.diagnostics.lack_of_fit {
        None if blend
            .lots
            .as_ref()
            .is_some_and(|l| l.count > 1 && !l.are_separate()) =>
        {
            let _ = write!(
                text,
                ". {rows} readings; with several lots fitted as one, replicates cannot test the law."
            );
        }
        None => {
            let _ = write!(
                text,
                ". {rows} readings; nothing was read twice, so a wrong law cannot be told from scatter."
            );
        }
        Some(test) => {
            let p = if test.p < 0.001 {
                "under 0.001".to_owned()
            } else {
                format!("{:.2}", test.p).replace("0.00", "under 0.01")
            };
            if test.p < 0.05 {
                let how = if test.p < 0.001 {
                    "do not agree"
                } else {
                    "do not quite agree"
                };
                let _ = write!(
                    text,
                    ". The {rows} readings {how} with it (lack of fit p {p}): look at the residuals."
                );
            } else {
                let _ = write!(
                    text,
                    ". The {rows} readings agree with it (lack of fit p {p})."
                );
            }
        }
    }
    text
}

/// Rows that a robust loss lets count less than half.
pub(crate) fn downweighted_line(blend: &BlendCalibration) -> Option<String> {
    let rows = &blend.diagnostics.downweighted;
    if blend.fit.robust == crate::fit::RobustLoss::None {
        return None;
    }
    if rows.is_empty() {
        return Some("No reading lies so far off that it counts less than half.".to_owned());
    }
    let named: Vec<String> = rows
        .iter()
        .take(12)
        .map(|row| match blend.readings.iter().find(|r| r.row == *row) {
            Some(r) => format!(
                "{row} ({}, {})",
                display::temperature(r.heat_temp_k),
                display::duration(r.heat_time_s)
            ),
            None => row.to_string(),
        })
        .collect();
    let more = match rows.len().saturating_sub(named.len()) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    Some(format!(
        "Counted less than half, because they lie far off: data rows {}{more}. Look at them before you believe either.",
        named.join(", ")
    ))
}

/// The row that pulls hardest.
pub(crate) fn influence_line(blend: &BlendCalibration) -> Option<String> {
    let row = *blend.diagnostics.influential.first()?;
    let reading = blend.readings.iter().find(|r| r.row == row)?;
    Some(format!(
        "Look at: data row {row} ({}, {}) pulls hardest on the fit.",
        display::temperature(reading.heat_temp_k),
        display::duration(reading.heat_time_s)
    ))
}
