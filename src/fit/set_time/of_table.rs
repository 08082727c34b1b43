//! From a table of what was seen to a calibration of set times.

use super::anchors::anchors_of;
use super::document::{
    SET_TIME_SCHEMA, ScatterCandidate, SetTimeBlend, SetTimeCalibration, SetTimeLots, SetTimeRange,
    SetTimeSummary, SyringeSeen,
};
use super::error::SetTimeError;
use super::observation::SetTimeObservation;
use super::parts::{covariance_of, derived, lot_effects, parameters};
use super::refusals::{check, why_none};
use super::regression::{NoSetTime, SetTimeFit, SetTimeKnowledge, SetTimeRows, fit_set_time};
use super::scatter::ScatterForm;
use super::words;
use crate::fit::selection::{aicc, akaike_weights};
use crate::readings::{SeenSyringe, SeenTable};
use crate::reference::constants::ZERO_CELSIUS_KELVIN;

/// Criteria that lie closer together than this in AICc are taken for equals: 'substantial support' in
/// Burnham & Anderson 2002, section 2.6.
const TIE: f64 = 2.0;

/// What is asked of the fit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SetTimeOptions {
    /// Form of the scatter; the better by AICc where none.
    pub scatter: Option<ScatterForm>,
    /// Reference temperature, in K; the harmonic mean in whole °C where none.
    pub reference_kelvin: Option<f64>,
    /// Only this blend.
    pub blend: Option<String>,
    /// What is held or known beforehand.
    pub knowledge: SetTimeKnowledge,
    /// Seed.
    pub seed: u64,
}

/// Fits every blend of a table.
///
/// # Errors
/// What [`SetTimeError`] names; nothing is fitted by halves.
///
/// # Example
/// ```
/// # #[cfg(feature = "tables")] {
/// use heatset::fit::set_time::{SetTimeOptions, calibrate_set_time};
/// use heatset::readings::read_seen_text;
/// let text = "heat_temp_C,heat_time_min,seen\n80,4,not-set\n80,6,set\n";
/// let table = read_seen_text("seen.csv", text.as_bytes()).unwrap();
/// let refused = calibrate_set_time(&table, &SetTimeOptions::default()).unwrap_err().to_string();
/// assert!(refused.starts_with("The activation energy cannot be found: all 2 syringes"));
/// # }
/// ```
pub fn calibrate_set_time(
    table: &SeenTable,
    options: &SetTimeOptions,
) -> Result<SetTimeCalibration, SetTimeError> {
    check_knowledge(&options.knowledge)?;
    let mut blends = table.blends();
    if let Some(asked) = &options.blend {
        if !blends.contains(asked) {
            return Err(SetTimeError::UnknownBlend {
                asked: asked.clone(),
                blends,
            });
        }
        blends = vec![asked.clone()];
    }
    let mut fitted = Vec::new();
    for blend in &blends {
        let syringes: Vec<SeenSyringe> = table.syringes(blend);
        // A blend that was only pushed has nothing to fit.
        if !syringes.is_empty() {
            fitted.push(calibrate_blend(table, blend, &syringes, options)?);
        }
    }
    if fitted.is_empty() {
        return Err(SetTimeError::NoRows);
    }
    Ok(SetTimeCalibration {
        schema: SET_TIME_SCHEMA.to_owned(),
        created: crate::fit::created::created_now(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: options.seed,
        invented: table.invented,
        source: table.sources.clone(),
        blends: fitted,
    })
}

fn check_knowledge(knowledge: &SetTimeKnowledge) -> Result<(), SetTimeError> {
    let fault = |parameter, value, why| {
        Err(SetTimeError::HeldValue {
            parameter,
            value,
            why,
        })
    };
    if let Some(scatter) = knowledge.held_scatter
        && !(scatter > 0.0 && scatter < 5.0)
    {
        return fault(
            "scatter",
            scatter,
            "it is a share of the time, such as 0.15",
        );
    }
    if let Some(energy) = knowledge.held_energy_j_per_mol
        && !(energy > 0.0 && energy < 3e6)
    {
        return fault(
            "activation_energy",
            energy,
            "heat sets this gel faster, so it is above 0",
        );
    }
    if let Some((value, sd)) = knowledge.prior_energy_j_per_mol
        && !(sd > 0.0 && value.is_finite())
    {
        return fault(
            "activation_energy",
            value,
            "its standard deviation must be above 0",
        );
    }
    Ok(())
}

/// Codes of lots that are told apart: two or more, named by every syringe.
fn lots_told_apart(syringes: &[SeenSyringe]) -> (usize, Vec<String>) {
    let mut named: Vec<String> = syringes.iter().filter_map(|s| s.lot.clone()).collect();
    let all_named = named.len() == syringes.len();
    named.sort_unstable();
    named.dedup();
    let count = named.len();
    if count < 2 || !all_named {
        named.clear();
    }
    (count, named)
}

fn rows_of(syringes: &[SeenSyringe], criteria: &[String], lots: &[String]) -> SetTimeRows {
    let place = |names: &[String], name: &str| names.iter().position(|n| n == name).unwrap_or(0);
    SetTimeRows {
        observations: syringes
            .iter()
            .map(|s| SetTimeObservation::between(s.after_s, s.by_s))
            .collect(),
        heat_temp_kelvin: syringes.iter().map(|s| s.heat_temp_kelvin).collect(),
        criterion: syringes
            .iter()
            .map(|s| place(criteria, &s.criterion))
            .collect(),
        lot: if lots.is_empty() {
            Vec::new()
        } else {
            syringes
                .iter()
                .map(|s| place(lots, s.lot.as_deref().unwrap_or_default()))
                .collect()
        },
    }
}

/// Harmonic mean of the temperatures, in whole °C: there ln of the time and the energy are least
/// correlated.
fn reference_kelvin(syringes: &[SeenSyringe]) -> f64 {
    let inverse: f64 = syringes.iter().map(|s| 1.0 / s.heat_temp_kelvin).sum();
    let mean = syringes.len() as f64 / inverse;
    (mean - ZERO_CELSIUS_KELVIN).round() + ZERO_CELSIUS_KELVIN
}

/// A form and its fit.
struct Tried {
    form: ScatterForm,
    fit: Result<SetTimeFit, NoSetTime>,
    aicc: Option<f64>,
}

fn calibrate_blend(
    table: &SeenTable,
    blend: &str,
    syringes: &[SeenSyringe],
    options: &SetTimeOptions,
) -> Result<SetTimeBlend, SetTimeError> {
    let criteria = table.criteria(blend);
    let (lot_count, lots) = lots_told_apart(syringes);
    check(blend, syringes, &criteria, lots.len(), &options.knowledge)?;
    let rows = rows_of(syringes, &criteria, &lots);
    let reference = options
        .reference_kelvin
        .unwrap_or_else(|| reference_kelvin(syringes));
    let tried: Vec<Tried> = ScatterForm::ALL
        .into_iter()
        .filter(|form| options.scatter.is_none_or(|asked| asked == *form))
        .map(|form| {
            let fit = fit_set_time(&rows, form, reference, &options.knowledge);
            // The criterion counts a residual deviation that is a parameter of its own here.
            let aicc = fit.as_ref().ok().and_then(|fit| {
                aicc(
                    fit.log_likelihood,
                    fit.free_parameters.saturating_sub(1),
                    syringes.len(),
                )
            });
            Tried { form, fit, aicc }
        })
        .collect();
    let Some(best) = better(&tried) else {
        let why = tried.first().and_then(|t| t.fit.as_ref().err());
        return Err(why_none(blend, syringes, why.copied()));
    };
    let Some(Ok(fit)) = tried.get(best).map(|t| t.fit.as_ref()) else {
        return Err(SetTimeError::NoRows);
    };
    let found = lot_effects(fit, &lots);
    let lot_summary = (lot_count > 0).then_some(SetTimeLots {
        count: lot_count,
        told_apart: !lots.is_empty(),
        effects: found,
    });
    let between = |s: &SeenSyringe| (s.after_s > 0.0, s.by_s.is_finite());
    let count = |wanted: (bool, bool)| syringes.iter().filter(|s| between(s) == wanted).count();
    let times: Vec<f64> = syringes
        .iter()
        .flat_map(|s| [s.after_s, s.by_s])
        .filter(|t| t.is_finite() && *t > 0.0)
        .collect();
    let kelvins = || syringes.iter().map(|s| s.heat_temp_kelvin);
    let span = |values: &mut dyn Iterator<Item = f64>| {
        values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| {
            [low.min(v), high.max(v)]
        })
    };
    let mut document = SetTimeBlend {
        blend: blend.to_owned(),
        scatter: fit.form,
        reference_temp_k: reference,
        parameters: parameters(fit, &criteria, lots.len()),
        covariance: covariance_of(fit),
        fit: SetTimeSummary {
            rows: syringes.iter().map(|s| s.rows.len()).sum(),
            syringes: syringes.len(),
            left_censored: count((false, true)),
            right_censored: count((true, false)) + count((false, false)),
            interval_censored: count((true, true)),
            free_parameters: fit.free_parameters,
            log_likelihood: fit.log_likelihood,
            aicc: tried.get(best).and_then(|t| t.aicc),
            iterations: fit.iterations,
            converged: true,
        },
        candidates: candidates(&tried, reference),
        lots: lot_summary,
        range: SetTimeRange {
            heat_temp_k: span(&mut kelvins()),
            heat_time_s: span(&mut times.into_iter()),
        },
        derived: derived(fit, &criteria, lots.len(), syringes),
        anchors: anchors_of(table, blend, |kelvin| fit.ln_time(kelvin, 0, 0.5).exp())?,
        syringes: syringes.iter().map(seen_of).collect(),
        criteria,
        warnings: Vec::new(),
    };
    document.warnings = words::warnings(&document);
    Ok(document)
}

fn seen_of(seen: &SeenSyringe) -> SyringeSeen {
    SyringeSeen {
        rows: seen.rows.iter().map(|row| row + 1).collect(),
        lot: seen.lot.clone(),
        criterion: seen.criterion.clone(),
        heat_temp_k: seen.heat_temp_kelvin,
        not_set_until_s: (seen.after_s > 0.0).then_some(seen.after_s),
        set_by_s: seen.by_s.is_finite().then_some(seen.by_s),
    }
}

/// The better form; of equals the first.
fn better(tried: &[Tried]) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (place, one) in tried.iter().enumerate() {
        let Ok(fit) = &one.fit else { continue };
        // Both forms have as many parameters: without room for AICc the likelihood decides.
        let value = one.aicc.unwrap_or(-2.0 * fit.log_likelihood);
        if best.is_none_or(|(_, kept)| value < kept - TIE) {
            best = Some((place, value));
        }
    }
    best.map(|(place, _)| place)
}

fn candidates(tried: &[Tried], reference: f64) -> Vec<ScatterCandidate> {
    let criteria: Vec<Option<f64>> = tried.iter().map(|t| t.aicc).collect();
    tried
        .iter()
        .zip(akaike_weights(&criteria))
        .map(|(one, weight)| {
            let fit = one.fit.as_ref().ok();
            ScatterCandidate {
                scatter: one.form,
                log_likelihood: fit.map(|f| f.log_likelihood),
                aicc: one.aicc,
                weight,
                median_ref_s: fit.map(|f| f.ln_time(reference, 0, 0.5).exp()),
                by_95_percent_ref_s: fit.map(|f| f.ln_time(reference, 0, 0.95).exp()),
            }
        })
        .collect()
}
