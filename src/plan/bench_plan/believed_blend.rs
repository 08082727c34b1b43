//! A believed gel as a calibration that nobody measured, for the rooms that answer from one.

use super::beliefs::{BeliefCase, Beliefs};
use crate::fit::{
    BlendCalibration, Derived, Diagnostics, ErrorModel, FitSummary, IntervalKind, Parameter,
    ParameterName, Range, RobustLoss,
};
use crate::kinetics::FirmnessLaw;
use crate::readings::ReadingKind;
use crate::thermal::WarmUp;

/// The gel of a case under the law `log`, order 1; rate at the temperature of its half time.
///
/// # Equation
/// `k_ref = ln 2 / t_half` (order 1)
///
/// # Source
/// P. Atkins, J. de Paula, Physical Chemistry, integrated first-order rate law (from memory).
pub(super) fn believed_blend(
    beliefs: &Beliefs,
    case: &BeliefCase,
    block_kelvin: [f64; 2],
    longest_s: f64,
    warm_up: &WarmUp,
) -> BlendCalibration {
    let parameter = |name: ParameterName, unit: &str, estimate: f64, held: bool| Parameter {
        name,
        unit: unit.to_owned(),
        scale: name.scale(ErrorModel::Relative),
        estimate,
        std_error: None,
        ci95: None,
        held,
    };
    let rate_per_s = std::f64::consts::LN_2 / case.half_time_s;
    let mut parameters = vec![
        parameter(ParameterName::Initial, "Pa.s", case.initial_pa_s, false),
        parameter(ParameterName::Plateau, "Pa.s", case.plateau_pa_s, false),
        parameter(ParameterName::RateRef, "1/s", rate_per_s, false),
        parameter(
            ParameterName::ActivationEnergy,
            "J/mol",
            case.activation_energy_j_per_mol,
            false,
        ),
    ];
    let mut start_temp_k = 0.0;
    if let WarmUp::Lag {
        time_constant_s,
        start_temp_k: start,
    } = warm_up
    {
        start_temp_k = *start;
        parameters.push(parameter(
            ParameterName::WarmUp,
            "s",
            *time_constant_s,
            true,
        ));
    }
    BlendCalibration {
        blend: "believed".to_owned(),
        ha_fraction: None,
        reading: ReadingKind::Viscosity,
        reading_unit: "Pa.s".to_owned(),
        law: FirmnessLaw::Log,
        order: 1.0,
        error: ErrorModel::Relative,
        warm_up: if start_temp_k > 0.0 { "lag" } else { "none" }.to_owned(),
        history: None,
        start_temp_k,
        reference_temp_k: beliefs.half_time_temp_k,
        reference_shear_rate_per_s: None,
        read_temp_k: None,
        covariance: vec![vec![0.0; 4]; 4],
        parameters,
        derived: Derived {
            pre_exponential_per_s: None,
            z_value_k: 0.0,
            half_time_s: Vec::new(),
            yield_stress_plateau_pa: None,
        },
        fit: FitSummary {
            rows: 0,
            degrees_of_freedom: 1,
            residual_sd: beliefs.reading_scatter_ratio,
            weighted_rss: 0.0,
            log_likelihood: None,
            aicc: None,
            iterations: 0,
            converged: false,
            interval: IntervalKind::default(),
            robust: RobustLoss::default(),
        },
        candidates: Vec::new(),
        lots: None,
        range: Range {
            heat_temp_k: block_kelvin,
            heat_time_s: [0.0, longest_s],
            shear_rate_per_s: None,
            reading: [case.initial_pa_s, case.plateau_pa_s],
        },
        diagnostics: Diagnostics::default(),
        warnings: Vec::new(),
        readings: Vec::new(),
        standing: None,
    }
}
