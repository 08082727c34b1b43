//! From the conversion of a row to its response, and the derivatives of that.

use super::shape::ErrorModel;
use crate::kinetics::FirmnessLaw;

/// Numbers of a firmness law, natural scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ends {
    pub(super) initial: f64,
    pub(super) plateau: f64,
    pub(super) gel_conversion: f64,
    pub(super) gel_exponent: f64,
    /// `1 - n` of the fully set gel.
    pub(super) thinning: f64,
    /// Share of the stress at the reference shear rate that the fully set gel bears at rest.
    pub(super) yield_share: f64,
    /// `E_flow/(R T_ref)` at the reference temperature of reading.
    pub(super) flow_energy: f64,
}

/// How a row was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Read {
    /// `ln(g/g_ref)`.
    pub(super) ln_shear: f64,
    /// `T_ref/T_read - 1`.
    pub(super) temperature_ratio: f64,
}

/// Response of a row and its derivatives: by initial and plateau on their scales (logarithmic
/// under relative errors), by gel conversion, gel exponent, `1 - n`, share of the yield stress, `E_flow/(R T_ref)`,
/// and by the conversion.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Response {
    pub(super) value: f64,
    pub(super) by_initial: f64,
    pub(super) by_plateau: f64,
    pub(super) by_gel_conversion: f64,
    pub(super) by_gel_exponent: f64,
    pub(super) by_thinning: f64,
    pub(super) by_yield_share: f64,
    pub(super) by_flow_energy: f64,
    pub(super) by_conversion: f64,
}

/// Logarithm of the viscosity at a shear rate over that at the reference rate, and its derivatives.
struct Shear {
    value: f64,
    by_thinning: f64,
    by_yield_share: f64,
    by_conversion: f64,
}

/// `ln { s x^-1 + (1 - s) x^(n-1) }` with `s = s_inf a`, `n - 1 = -(1 - n_inf) a` and `x = g/g_ref`; a
/// plain power law is kept apart, so that it stays linear to the last digit.
fn shear(ends: &Ends, a: f64, ln_shear: f64) -> Shear {
    if ln_shear == 0.0 {
        return Shear {
            value: 0.0,
            by_thinning: 0.0,
            by_yield_share: 0.0,
            by_conversion: 0.0,
        };
    }
    // Both stresses over the power law's, so that nothing overflows.
    let power = -ends.thinning * a * ln_shear;
    let resting = (-ln_shear - power).exp();
    let share = ends.yield_share * a;
    let sum = share * resting + 1.0 - share;
    let flowing = (1.0 - share) / sum;
    Shear {
        value: power + if share == 0.0 { 0.0 } else { sum.ln() },
        by_thinning: -a * ln_shear * flowing,
        by_yield_share: a * (resting - 1.0) / sum,
        by_conversion: ends.yield_share * (resting - 1.0) / sum
            - ends.thinning * ln_shear * flowing,
    }
}

/// Response at conversion `a` (`u = 1 - a`, kept apart for its digits) of a row read at a shear rate
/// and a temperature: on the logarithm that of `s g_ref/g + (1 - s)(g/g_ref)^(n-1)` and
/// `E_flow/R (1/T_read - 1/T_ref)` are added.
pub(super) fn response(
    law: FirmnessLaw,
    errors: ErrorModel,
    ends: &Ends,
    (a, u): (f64, f64),
    read: Read,
) -> Response {
    let Read {
        ln_shear,
        temperature_ratio,
    } = read;
    let relative = errors == ErrorModel::Relative;
    if law == FirmnessLaw::Linear && !relative {
        return linear_absolute(ends, a, u, read);
    }
    // On the logarithm first; additive errors then take the reading itself.
    let shear = shear(ends, a, ln_shear);
    let mut found = match law {
        FirmnessLaw::Log => {
            let (ln_initial, ln_plateau) = (ends.initial.ln(), ends.plateau.ln());
            Response {
                value: u * ln_initial + a * ln_plateau,
                by_initial: u,
                by_plateau: a,
                by_conversion: ln_plateau - ln_initial,
                ..Response::default()
            }
        }
        FirmnessLaw::Linear => {
            let plain = ends.initial * u + ends.plateau * a;
            Response {
                value: plain.ln(),
                by_initial: ends.initial * u / plain,
                by_plateau: ends.plateau * a / plain,
                by_conversion: (ends.plateau - ends.initial) / plain,
                ..Response::default()
            }
        }
        FirmnessLaw::GelPoint => {
            let (gel, exponent) = (ends.gel_conversion, ends.gel_exponent);
            let ln_left = (-a / gel).ln_1p();
            Response {
                value: ends.initial.ln() - exponent * ln_left,
                by_initial: 1.0,
                by_gel_conversion: -exponent * a / (gel * (gel - a)),
                by_gel_exponent: -ln_left,
                by_conversion: exponent / (gel - a),
                ..Response::default()
            }
        }
    };
    found.value += shear.value;
    found.by_thinning = shear.by_thinning;
    found.by_yield_share = shear.by_yield_share;
    found.by_conversion += shear.by_conversion;
    found.value += ends.flow_energy * temperature_ratio;
    found.by_flow_energy = temperature_ratio;
    if relative {
        return found;
    }
    let reading = found.value.exp();
    Response {
        value: reading,
        by_initial: reading * found.by_initial / ends.initial,
        by_plateau: reading * found.by_plateau / ends.plateau,
        by_gel_conversion: reading * found.by_gel_conversion,
        by_gel_exponent: reading * found.by_gel_exponent,
        by_thinning: reading * found.by_thinning,
        by_yield_share: reading * found.by_yield_share,
        by_flow_energy: reading * found.by_flow_energy,
        by_conversion: reading * found.by_conversion,
    }
}

/// Readings may be zero or negative here, so nothing goes through the logarithm.
fn linear_absolute(ends: &Ends, a: f64, u: f64, read: Read) -> Response {
    let Read {
        ln_shear,
        temperature_ratio,
    } = read;
    let plain = ends.initial * u + ends.plateau * a;
    let shear = shear(ends, a, ln_shear);
    let factor = (ends.flow_energy * temperature_ratio + shear.value).exp();
    Response {
        value: plain * factor,
        by_initial: u * factor,
        by_plateau: a * factor,
        by_thinning: plain * factor * shear.by_thinning,
        by_yield_share: plain * factor * shear.by_yield_share,
        by_flow_energy: plain * factor * temperature_ratio,
        by_conversion: factor * (ends.plateau - ends.initial + plain * shear.by_conversion),
        ..Response::default()
    }
}
