//! A gel with its fitted parameters moved away from their estimates.

use super::source::DrawSource;
use crate::fit::ParameterName;
use crate::kinetics::{FirmnessCurve, FlowIndexCourse, ReactionOrder, ShearThinning};
use crate::plan::gel::Gel;
use crate::thermal::WarmUp;

/// A draw's share of the yield stress stays under one, where nothing would flow.
const MOST_YIELD_SHARE: f64 = 0.999;

impl DrawSource {
    #[inline]
    pub(super) fn move_parameters(&self, gel: &mut Gel, shifts: &[f64]) {
        for ((name, is_log), shift) in self.free.iter().zip(shifts) {
            let Some(name) = name else { continue };
            let moved = |value: f64| {
                if *is_log {
                    value * shift.exp()
                } else {
                    value + shift
                }
            };
            let setting = &mut gel.setting;
            match name {
                ParameterName::RateRef => {
                    setting.rate.rate_ref_per_s = moved(setting.rate.rate_ref_per_s);
                }
                ParameterName::ActivationEnergy => {
                    setting.rate.activation_energy_j_per_mol += shift;
                }
                ParameterName::Order => {
                    setting.order = ReactionOrder(moved(setting.order.0).max(0.05));
                }
                ParameterName::DoseLag => setting.dose_lag_s = moved(setting.dose_lag_s),
                ParameterName::FlowIndexPlateau => {
                    if gel.thinning.course == FlowIndexCourse::WithSetting
                        && gel.thinning != ShearThinning::NEWTONIAN
                    {
                        gel.thinning.flow_index_plateau =
                            moved(gel.thinning.flow_index_plateau).max(0.01);
                    }
                }
                ParameterName::YieldSharePlateau => {
                    // A stated flow index stands for the whole curve.
                    if gel.thinning.yield_share_plateau > 0.0 {
                        gel.thinning.yield_share_plateau =
                            moved(gel.thinning.yield_share_plateau).clamp(0.0, MOST_YIELD_SHARE);
                    }
                }
                ParameterName::FlowActivationEnergy => {
                    gel.temperature_factor = gel.temperature_factor.moved(*shift);
                }
                ParameterName::WarmUp => {
                    if let WarmUp::Lag {
                        time_constant_s, ..
                    } = &mut setting.warm_up
                    {
                        *time_constant_s = moved(*time_constant_s);
                    }
                }
                firmness => setting.firmness = move_firmness(setting.firmness, *firmness, moved),
            }
        }
    }
}

/// A firmness curve with one of its numbers moved.
fn move_firmness(
    curve: FirmnessCurve,
    name: ParameterName,
    moved: impl Fn(f64) -> f64,
) -> FirmnessCurve {
    match (curve, name) {
        (FirmnessCurve::Log { initial, plateau }, ParameterName::Initial) => FirmnessCurve::Log {
            initial: moved(initial),
            plateau,
        },
        (FirmnessCurve::Log { initial, plateau }, ParameterName::Plateau) => FirmnessCurve::Log {
            initial,
            plateau: moved(plateau),
        },
        (FirmnessCurve::Linear { initial, plateau }, ParameterName::Initial) => {
            FirmnessCurve::Linear {
                initial: moved(initial),
                plateau,
            }
        }
        (FirmnessCurve::Linear { initial, plateau }, ParameterName::Plateau) => {
            FirmnessCurve::Linear {
                initial,
                plateau: moved(plateau),
            }
        }
        (
            FirmnessCurve::GelPoint {
                initial,
                gel_conversion,
                gel_exponent,
            },
            name,
        ) => {
            let mut numbers = [initial, gel_conversion, gel_exponent];
            match name {
                ParameterName::Initial => numbers[0] = moved(initial),
                ParameterName::GelConversion => numbers[1] = moved(gel_conversion).max(1e-6),
                ParameterName::GelExponent => numbers[2] = moved(gel_exponent).max(1e-6),
                _ => {}
            }
            FirmnessCurve::GelPoint {
                initial: numbers[0],
                gel_conversion: numbers[1],
                gel_exponent: numbers[2],
            }
        }
        (other, _) => other,
    }
}
