//! What an answer takes for granted, in numbers and in words.

use super::gel::{FlowIndexSource, Gel, StatedThinning, TemperatureFactor};
use super::setup::{PushDoubts, PushSetup};
use crate::fit::{BlendCalibration, Warning};
use crate::flow::{FlowWarning, Push};
use crate::kinetics::FlowIndexCourse;
use crate::thermal::{HistorySource, WarmUp};
use crate::units::display;
use serde::Serialize;

/// Numbers behind an answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assumptions {
    /// Blend.
    pub blend: String,
    /// Needle.
    pub needle: String,
    /// Bore, in m.
    pub bore_m: f64,
    /// Half-width of its rectangular tolerance, in m.
    pub bore_tolerance_m: Option<f64>,
    /// Nominal, minimum or given.
    pub bore_basis: String,
    /// Length, in m.
    pub length_m: f64,
    /// Bore of the barrel, in m.
    pub barrel_bore_m: f64,
    /// Syringe.
    pub syringe: Option<String>,
    /// Flow rate, in m³/s.
    pub flow_rate_m3_per_s: f64,
    /// How far friction, flow rate and block may be off: half-widths of rectangular distributions.
    #[serde(flatten)]
    pub doubts: PushDoubts,
    /// Friction, in N.
    #[serde(rename = "friction_N")]
    pub friction_n: f64,
    /// Whether friction is the default.
    pub friction_is_default: bool,
    /// Tissue pressure, in Pa.
    #[serde(rename = "tissue_pressure_Pa")]
    pub tissue_pressure_pa: f64,
    /// Whether end losses count.
    pub end_losses: bool,
    /// Force limit, in N.
    #[serde(rename = "force_limit_N")]
    pub force_limit_n: f64,
    /// Flow index of the set gel.
    pub flow_index: f64,
    /// Where it comes from.
    pub flow_index_source: FlowIndexSource,
    /// How it runs with setting.
    pub flow_index_course: FlowIndexCourse,
    /// Yield stress of the set gel, in Pa, at the push; 0 where none was fitted.
    #[serde(rename = "yield_stress_plateau_Pa")]
    pub yield_stress_plateau_pa: f64,
    /// Shear rate of the readings, in 1/s.
    pub reference_shear_rate_per_s: Option<f64>,
    /// Gel temperature at the push, in K; that of the readings where null.
    #[serde(rename = "gel_temp_K")]
    pub gel_temp_k: Option<f64>,
    /// Viscosity there over that at the readings' temperature, and where it comes from.
    pub gel_temp_factor: TemperatureFactor,
    /// Source of the temperature history: `none` or `lag`.
    pub warm_up: String,
    /// Time constant of the lag, in s.
    pub warm_up_s: Option<f64>,
    /// Temperature of the gel when it goes into the block, in K, where a warm-up is counted.
    #[serde(rename = "start_temp_K")]
    pub start_temp_k: Option<f64>,
    /// The syringe that the gel is heated in, where its warm-up is computed by conduction.
    pub heated_syringe: Option<String>,
    /// Coefficient between block and barrel, in W/m2/K, there.
    #[serde(rename = "contact_W_per_m2_K")]
    pub contact_w_per_m2_kelvin: Option<f64>,
    /// Whether cooling counts after every heat time.
    pub cooling_counted: bool,
    /// Cooling that counts after every heat time, in s, where it is the same after each.
    pub cool_time_s: Option<f64>,
    /// Whether readings scatter from syringe to syringe in the answer.
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Whether the readings behind it are invented.
    pub invented: bool,
    /// Whether it is extrapolated.
    pub extrapolated: bool,
}

impl Assumptions {
    /// Collects them.
    #[must_use]
    #[allow(clippy::too_many_arguments)]
    pub fn new(
        blend: &BlendCalibration,
        setup: &PushSetup,
        gel: &Gel,
        stated: StatedThinning,
        warm_up: &WarmUp,
        draws: usize,
        seed: u64,
        invented: bool,
        extrapolated: bool,
    ) -> Self {
        let declared = warm_up.as_sampled().map(|history| history.declared());
        let heated = declared.and_then(|declared| match &declared.source {
            HistorySource::Syringe(syringe) => Some(syringe),
            HistorySource::Schedule { syringe, .. } => syringe.as_ref(),
            HistorySource::Lag { .. } | HistorySource::Trace { .. } => None,
        });
        let warm_up_s = match (warm_up.as_lag(), declared.map(|d| &d.source)) {
            (Some(lag), _) => Some(lag.time_constant_s),
            (None, Some(HistorySource::Lag { time_constant_s })) => Some(*time_constant_s),
            _ => None,
        };
        Self {
            blend: blend.blend.clone(),
            needle: setup.needle.label(),
            bore_m: setup.needle.bore_m,
            bore_tolerance_m: setup.needle.bore_tolerance_m,
            bore_basis: setup
                .needle
                .bore_basis
                .map_or_else(|| "given".to_owned(), |b| b.to_string()),
            length_m: setup.needle.length_m,
            barrel_bore_m: setup.barrel.bore_m,
            syringe: setup.barrel.syringe.clone(),
            flow_rate_m3_per_s: setup.flow_rate_m3_per_s,
            doubts: setup.doubts,
            friction_n: setup.friction_n,
            friction_is_default: setup.friction_is_default,
            tissue_pressure_pa: setup.tissue_pressure_pa,
            end_losses: setup.include_end_losses,
            force_limit_n: setup.force_limit_n,
            flow_index: gel.thinning.flow_index_plateau,
            flow_index_source: gel.index_source,
            flow_index_course: gel.thinning.course,
            yield_stress_plateau_pa: yield_stress_plateau_pa(gel),
            reference_shear_rate_per_s: stated
                .shear_rate_per_s
                .or(blend.reference_shear_rate_per_s),
            gel_temp_k: setup.gel_kelvin,
            gel_temp_factor: gel.temperature_factor,
            warm_up: warm_up.word().to_owned(),
            warm_up_s,
            start_temp_k: warm_up
                .as_lag()
                .map(|lag| lag.start_kelvin)
                .or(declared.map(|d| d.start_kelvin)),
            heated_syringe: heated.map(|syringe| syringe.name.clone()),
            contact_w_per_m2_kelvin: heated.map(|syringe| syringe.contact_w_per_m2_kelvin),
            cooling_counted: warm_up.counts_cooling(),
            cool_time_s: declared.and_then(|d| d.cooling).map(|c| c.cool_time_s),
            draws,
            seed,
            invented,
            extrapolated,
        }
    }
}

/// Yield stress of the fully set gel at the temperature of the push, in Pa; a gel point has no
/// fully set gel.
fn yield_stress_plateau_pa(gel: &Gel) -> f64 {
    if gel.thinning.yield_share_plateau == 0.0 {
        return 0.0;
    }
    let plateau = gel.setting.firmness.plateau() * gel.temperature_factor.ratio();
    gel.thinning.yield_stress_pa(plateau, 1.0)
}

/// Warnings that every answer about a push shares.
#[must_use]
pub fn answer_warnings(
    blend: &BlendCalibration,
    gel: &Gel,
    push: Option<&Push>,
    flow: &[FlowWarning],
    extrapolated: bool,
    invented: bool,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if invented {
        warnings.push(Warning::new(
            "invented_data",
            "Invented data: this calibration was made from readings that nobody took. The answer is for learning the tool, for nothing else.",
        ));
    }
    if extrapolated {
        warnings.push(Warning::new(
            "extrapolated",
            "Extrapolated: this lies outside what was measured, where nobody knows whether the fitted law goes on.",
        ));
    }
    for code in ["blend_between", "one_lot", "lots_pooled", "few_lots"] {
        if let Some(lot) = blend.warnings.iter().find(|w| w.code == code) {
            warnings.push(lot.clone());
        }
    }
    if let Some(push) = push {
        warnings.extend(shear_rate_warning(blend, gel, push));
    }
    warnings.extend(flow.iter().map(|w| Warning::new(w.code(), w.to_string())));
    warnings
}

fn shear_rate_warning(blend: &BlendCalibration, gel: &Gel, push: &Push) -> Option<Warning> {
    let wall = push.wall_shear_rate_per_s;
    let assumed = match gel.index_source {
        FlowIndexSource::Assumed => {
            "No shear thinning is known, so none is counted (flow index 1); a gel that thins needs less force and may be heated longer."
        }
        FlowIndexSource::Stated => "The stated flow index carries it there.",
        FlowIndexSource::Fitted => "The fitted flow index carries it there.",
    };
    match blend.range.shear_rate_per_s {
        Some([low, high]) if wall >= low && wall <= high => None,
        Some([low, high]) => Some(Warning::new(
            "shear_rate_outside",
            format!(
                "The needle shears at {} 1/s, the bench read at {}. {assumed}",
                display::significant(wall, 2),
                if low == high {
                    format!("{} 1/s", display::significant(low, 2))
                } else {
                    format!(
                        "{} to {} 1/s",
                        display::significant(low, 2),
                        display::significant(high, 2)
                    )
                }
            ),
        )),
        None => Some(Warning::new(
            "shear_rate_unknown",
            format!(
                "The needle shears at {} 1/s; the bench does not say at which shear rate it read. {assumed}",
                display::significant(wall, 2)
            ),
        )),
    }
}
