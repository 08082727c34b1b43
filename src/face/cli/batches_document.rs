//! The log of batches as JSON.

use crate::batches::{
    Basis, ControlSettings, Entry, FoundBy, Judged, NeedlePush, Prediction, Reading, RuleSaid,
    Verdict,
};
use crate::reference::Wall;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct EntryDocument<'a> {
    entry: u64,
    time: &'a str,
    lot: &'a str,
    operator: Option<&'a str>,
    block: Option<&'a str>,
    place: Option<&'a str>,
    session: Option<&'a str>,
    blend: &'a str,
    ha_fraction: Option<f64>,
    #[serde(rename = "heat_temp_K")]
    heat_temp_k: f64,
    heat_time_s: f64,
    warm_up: &'a str,
    reading: &'static str,
    #[serde(rename = "plunger_force_N")]
    plunger_force_n: Option<f64>,
    #[serde(rename = "viscosity_Pa_s")]
    viscosity_pa_s: Option<f64>,
    shear_rate_per_s: Option<f64>,
    bubble_held: Option<bool>,
    #[serde(rename = "gel_temp_K")]
    gel_temp_k: Option<f64>,
    push: Option<PushDocument<'a>>,
    #[serde(rename = "predicted_plunger_force_N")]
    predicted_force_n: Option<PredictedDocument>,
    #[serde(rename = "predicted_viscosity_Pa_s")]
    predicted_viscosity_pa_s: Option<PredictedDocument>,
    draws: Option<u64>,
    z_sd: Option<f64>,
    ln_ratio: Option<f64>,
    inside: Option<bool>,
    calibration_sha256: &'a str,
    version: &'a str,
    invented: bool,
    extrapolated: bool,
    accepted: bool,
    corrects: Option<u64>,
    corrected_by: Option<u64>,
    hash: String,
}

#[derive(Serialize)]
struct PushDocument<'a> {
    gauge: Option<u8>,
    wall: Option<Wall>,
    bore_m: f64,
    length_m: f64,
    syringe: Option<&'a str>,
    barrel_bore_m: f64,
    flow_rate_m3_per_s: f64,
    #[serde(rename = "friction_N")]
    friction_n: f64,
}

#[derive(Serialize)]
struct PredictedDocument {
    median: f64,
    interval95: [f64; 2],
}

impl<'a> EntryDocument<'a> {
    pub(super) fn of(entry: &'a Entry) -> Self {
        let entered = &entry.entered;
        let codes = &entered.codes;
        let prediction = entered.prediction.as_ref();
        let (mut force, mut viscosity, mut shear_rate, mut held, mut push) =
            (None, None, None, None, None);
        let (mut predicted_force_n, mut predicted_viscosity_pa_s) = (None, None);
        let predicted = |p: &Prediction| PredictedDocument {
            median: p.median_in_unit,
            interval95: p.interval95_in_unit,
        };
        match &entered.reading {
            Reading::PlungerForce {
                force_n,
                push: through,
            } => {
                force = Some(*force_n);
                push = Some(PushDocument::of(through));
                predicted_force_n = prediction.map(predicted);
            }
            Reading::Viscosity {
                viscosity_pa_s,
                shear_rate_per_s,
            } => {
                viscosity = Some(*viscosity_pa_s);
                shear_rate = *shear_rate_per_s;
                predicted_viscosity_pa_s = prediction.map(predicted);
            }
            Reading::Bubble { held: yes } => held = Some(*yes),
        }
        Self {
            entry: entry.number,
            time: &entered.time,
            lot: &codes.lot,
            operator: codes.operator.as_deref(),
            block: codes.block.as_deref(),
            place: codes.place.as_deref(),
            session: codes.session.as_deref(),
            blend: &entered.blend,
            ha_fraction: entered.ha_fraction,
            heat_temp_k: entered.heated.set_kelvin,
            heat_time_s: entered.heated.heat_time_s,
            warm_up: &entered.heated.warm_up,
            reading: entered.reading.kind(),
            plunger_force_n: force,
            viscosity_pa_s: viscosity,
            shear_rate_per_s: shear_rate,
            bubble_held: held,
            gel_temp_k: entered.gel_kelvin,
            push,
            predicted_force_n,
            predicted_viscosity_pa_s,
            draws: prediction.map(|p| p.draws),
            z_sd: prediction.map(|p| p.z_sd),
            ln_ratio: prediction.map(|p| p.ln_ratio),
            inside: prediction.map(|p| p.inside),
            calibration_sha256: &entered.calibration_sha256,
            version: &entered.version,
            invented: entered.invented,
            extrapolated: entered.extrapolated,
            accepted: entered.accepted,
            corrects: entered.corrects,
            corrected_by: entry.corrected_by,
            hash: crate::readings::table::hexadecimal(&entry.hash),
        }
    }
}

impl<'a> PushDocument<'a> {
    fn of(push: &'a NeedlePush) -> Self {
        Self {
            gauge: push.gauge,
            wall: push.wall,
            bore_m: push.bore_m,
            length_m: push.length_m,
            syringe: push.syringe.as_deref(),
            barrel_bore_m: push.barrel_bore_m,
            flow_rate_m3_per_s: push.flow_rate_m3_per_s,
            friction_n: push.friction_n,
        }
    }
}

/// The charts at the newest entry, and every signal.
#[derive(Serialize)]
pub(super) struct ControlDocument<'a> {
    of: Basis,
    calibration_sha256: Option<&'a str>,
    batches: usize,
    centre: f64,
    sigma: Option<f64>,
    sigma_from: FoundBy,
    shewhart: Option<LimitsDocument>,
    two_of_three: bool,
    cusum: Option<SumsDocument>,
    ewma: Option<AverageDocument>,
    signals: &'a [RuleSaid],
}

#[derive(Serialize)]
struct LimitsDocument {
    width_sigmas: f64,
    lower: f64,
    upper: f64,
}

#[derive(Serialize)]
struct SumsDocument {
    allowance_sigmas: f64,
    decision_sigmas: f64,
    upper_sum: f64,
    lower_sum: f64,
    decision: f64,
}

#[derive(Serialize)]
struct AverageDocument {
    weight_ratio: f64,
    width_sigmas: f64,
    average: f64,
    lower: f64,
    upper: f64,
}

/// The verdict, and the signals that it stands on.
#[derive(Serialize)]
pub(super) struct VerdictDocument<'a> {
    verdict: Option<Verdict>,
    because: &'a [RuleSaid],
}

impl<'a> ControlDocument<'a> {
    pub(super) fn of(judged: &'a Judged, settings: &ControlSettings) -> Self {
        Self {
            of: settings.basis,
            calibration_sha256: judged.calibration_sha256.as_deref(),
            batches: judged.charted.len(),
            centre: 0.0,
            sigma: judged.shewhart.map(|limits| limits.sigma_in_unit),
            sigma_from: judged.sigma_found_by,
            shewhart: judged.shewhart.map(|limits| LimitsDocument {
                width_sigmas: limits.width_sigmas,
                lower: limits.lower_in_unit(),
                upper: limits.upper_in_unit(),
            }),
            two_of_three: settings.two_of_three,
            cusum: judged.cusum.last().map(|point| SumsDocument {
                allowance_sigmas: settings.cusum_allowance_sigmas,
                decision_sigmas: settings.cusum_decision_sigmas,
                upper_sum: point.upper_in_unit,
                lower_sum: point.lower_in_unit,
                decision: judged.cusum_decision_in_unit,
            }),
            ewma: judged.ewma.last().map(|point| AverageDocument {
                weight_ratio: settings.ewma_weight_ratio,
                width_sigmas: settings.ewma_width_sigmas,
                average: point.average_in_unit,
                lower: point.lower_in_unit,
                upper: point.upper_in_unit,
            }),
            signals: &judged.signals,
        }
    }
}

impl<'a> VerdictDocument<'a> {
    pub(super) fn of(judged: &'a Judged) -> Self {
        Self {
            verdict: judged.verdict,
            because: &judged.because,
        }
    }
}
