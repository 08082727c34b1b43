//! A blend that nobody read, between two that were.

use super::calibration::{BlendCalibration, Calibration};
use super::calibration_parts::{Derived, Diagnostics, HalfTime, Lots, Parameter, Range, Warning};
use super::error::FitError;
use super::interval::t_quantile;
use super::parameter::{ParameterName, Scale};
use crate::kinetics::{ArrheniusRate, ReactionOrder, rate_dose_for_conversion, z_value_kelvin};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::units::display;

/// Half-width of what the mixing rule may be off half-way, as a share of the difference between the
/// two blends.
///
/// # Source
/// What two published mixtures are off a straight line on the logarithm, as a share of
/// `4 w (1 - w)` times their span: a hyaluronic acid solution whose viscosity goes with the power 3.3
/// of its concentration (ten times for twice, Bothner & Wik 1987) over a solvent ten thousand times
/// thinner, at most 0.35; glycerol and water at 20 °C (Segur & Oberstar 1951), at most 0.25.
pub const MIXING_DOUBT_RATIO: f64 = 0.35;
/// Fractions this near to a measured one are that one.
const SAME_FRACTION: f64 = 1e-6;
/// Temperatures of reading that may be taken for one, in K.
const SAME_READ_KELVIN: f64 = 3.0;

impl Calibration {
    /// The blend at a volume fraction of hyaluronic acid solution: the one that was measured there,
    /// or one between the two nearest that were.
    ///
    /// # Equation
    /// Each parameter on its scale (ln P0, ln Pinf, ln k_ref; E, flow index as they are):
    /// `p = (1 - w) p_a + w p_b`, `w = (x - x_a)/(x_b - x_a)`; covariance
    /// `C = (1 - w) C_a + w C_b + diag { [0.35/sqrt(3) 4 w (1 - w) (p_b - p_a)]^2 }`.
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | x | `ha_fraction` | 1 |
    /// | x_a, x_b | `ha_fraction` of the blends | 1 |
    /// | C | `covariance` | on the scales |
    ///
    /// The first two terms of C are the most that the covariance can be, however the two fits hang
    /// together (same donors, same needle); the last is what the mixing rule itself may be off,
    /// taken as rectangular.
    ///
    /// # Valid for
    /// Between measured fractions only; two blends of one law, order, kind of reading and warm-up.
    ///
    /// # Errors
    /// A fraction outside the measured ones, fewer than two measured fractions, two blends at one
    /// fraction, or two neighbours that were not fitted alike.
    ///
    /// # Source
    /// The logarithm of a viscosity is taken to mix in proportion: S. Arrhenius, Z. phys. Chem. 1
    /// (1887) 285 (from memory); for the other parameters common practice, no source.
    pub fn blend_at(&self, ha_fraction: f64) -> Result<BlendCalibration, FitError> {
        let mut measured: Vec<(f64, &BlendCalibration)> = self
            .blends
            .iter()
            .filter_map(|b| Some((b.ha_fraction?, b)))
            .collect();
        measured.sort_by(|a, b| a.0.total_cmp(&b.0));
        let fractions: Vec<f64> = measured.iter().map(|m| m.0).collect();
        if let Some(pair) = measured
            .windows(2)
            .find(|pair| pair[1].0 - pair[0].0 <= SAME_FRACTION)
        {
            return Err(FitError::TwoBlendsAtFraction {
                first: pair[0].1.blend.clone(),
                second: pair[1].1.blend.clone(),
                fraction: pair[0].0,
            });
        }
        if let Some((_, same)) = measured
            .iter()
            .find(|m| (m.0 - ha_fraction).abs() <= SAME_FRACTION)
        {
            return Ok((*same).clone());
        }
        let pair = measured
            .windows(2)
            .find(|pair| pair[0].0 < ha_fraction && ha_fraction < pair[1].0);
        match pair {
            Some([(low, first), (high, second)]) => between(
                first,
                second,
                (ha_fraction - low) / (high - low),
                ha_fraction,
            ),
            _ => Err(FitError::FractionOutside {
                asked: ha_fraction,
                measured: fractions,
            }),
        }
    }
}

fn between(
    first: &BlendCalibration,
    second: &BlendCalibration,
    weight: f64,
    ha_fraction: f64,
) -> Result<BlendCalibration, FitError> {
    check_alike(first, second)?;
    let second = at_reference(second, first);
    let mix = |a: f64, b: f64| (1.0 - weight) * a + weight * b;
    let free = first.free_parameters();
    let mut covariance: Vec<Vec<f64>> = first
        .covariance
        .iter()
        .zip(&second.covariance)
        .map(|(a, b)| a.iter().zip(b).map(|(a, b)| mix(*a, *b)).collect())
        .collect();
    let freedom = first
        .fit
        .degrees_of_freedom
        .min(second.fit.degrees_of_freedom);
    let t = t_quantile(0.975, freedom).unwrap_or(f64::INFINITY);
    let mut parameters = Vec::with_capacity(first.parameters.len());
    for (a, b) in first.parameters.iter().zip(&second.parameters) {
        let (low, high) = (a.scale.of(a.estimate), a.scale.of(b.estimate));
        let here = mix(low, high);
        let doubt =
            MIXING_DOUBT_RATIO / 3_f64.sqrt() * 4.0 * weight * (1.0 - weight) * (high - low);
        let place = free.iter().position(|name| *name == a.name);
        let std_error = place.and_then(|place| {
            let variance = covariance.get_mut(place)?.get_mut(place)?;
            *variance += doubt * doubt;
            Some(variance.sqrt())
        });
        parameters.push(Parameter {
            estimate: a.scale.back(here),
            std_error,
            ci95: std_error
                .map(|error| [here - t * error, here + t * error].map(|v| a.scale.back(v))),
            ..a.clone()
        });
    }
    let overlap = |a: [f64; 2], b: [f64; 2]| [a[0].max(b[0]), a[1].min(b[1])];
    let range = Range {
        heat_temp_k: overlap(first.range.heat_temp_k, second.range.heat_temp_k),
        heat_time_s: overlap(first.range.heat_time_s, second.range.heat_time_s),
        shear_rate_per_s: first
            .range
            .shear_rate_per_s
            .zip(second.range.shear_rate_per_s)
            .map(|(a, b)| overlap(a, b))
            .filter(|[low, high]| low <= high),
        reading: [
            first.range.reading[0].min(second.range.reading[0]),
            first.range.reading[1].max(second.range.reading[1]),
        ],
    };
    if range.heat_temp_k[0] > range.heat_temp_k[1] || range.heat_time_s[0] > range.heat_time_s[1] {
        return Err(unlike(
            first,
            &second,
            "were heated at other temperatures or times",
            "heat both over the same range",
        ));
    }
    let mut mixed = BlendCalibration {
        blend: format!("ha {}", display::at_most(ha_fraction, 4)),
        ha_fraction: Some(ha_fraction),
        order: mix(first.order, second.order),
        read_temp_k: first
            .read_temp_k
            .zip(second.read_temp_k)
            .map(|(a, b)| mix(a, b)),
        parameters,
        covariance,
        candidates: Vec::new(),
        lots: lots(first, &second, &mix),
        range,
        diagnostics: Diagnostics::default(),
        warnings: warnings(first, &second, ha_fraction),
        readings: Vec::new(),
        standing: None,
        ..first.clone()
    };
    mixed.fit.rows = first.fit.rows + second.fit.rows;
    mixed.fit.degrees_of_freedom = freedom;
    mixed.fit.residual_sd = mix(
        first.fit.residual_sd.powi(2),
        second.fit.residual_sd.powi(2),
    )
    .sqrt();
    mixed.fit.aicc = None;
    mixed.fit.log_likelihood = None;
    mixed.derived = derived(&mixed)?;
    Ok(mixed)
}

/// Spread between lots: the larger share of the two, from no more lots than the poorer has.
fn lots(
    first: &BlendCalibration,
    second: &BlendCalibration,
    mix: &impl Fn(f64, f64) -> f64,
) -> Option<Lots> {
    let (a, b) = (first.lots.as_ref()?, second.lots.as_ref()?);
    let sd =
        a.sd.iter()
            .filter_map(|(name, sd)| {
                let other = b.sd.get(name)?;
                Some((name.clone(), mix(sd * sd, other * other).sqrt()))
            })
            .collect();
    Some(Lots {
        count: a.count.min(b.count),
        sd,
        log_likelihood: None,
        effects: Vec::new(),
    })
}

fn warnings(first: &BlendCalibration, second: &BlendCalibration, ha_fraction: f64) -> Vec<Warning> {
    let mut found = vec![Warning::new(
        "blend_between",
        format!(
            "Nobody read a blend with {} of hyaluronic acid solution: it is reckoned between {} and {}, and the interval is wider for what the mixing rule may be off. What helps: a few readings of this very blend.",
            display::at_most(ha_fraction, 4),
            named(first),
            named(second),
        ),
    )];
    // The blend with fewer lots says what is known of people.
    let lots = |blend: &BlendCalibration| blend.lots.as_ref().map_or(0, |l| l.count);
    let (poorer, richer) = if lots(second) < lots(first) {
        (second, first)
    } else {
        (first, second)
    };
    for code in ["one_lot", "lots_pooled", "few_lots"] {
        let of = |blend: &BlendCalibration| blend.warnings.iter().find(|w| w.code == code).cloned();
        found.extend(of(poorer).or_else(|| of(richer)));
    }
    found
}

fn named(blend: &BlendCalibration) -> String {
    format!(
        "{} ({})",
        blend.blend,
        display::at_most(blend.ha_fraction.unwrap_or(0.0), 4)
    )
}

fn derived(blend: &BlendCalibration) -> Result<Derived, FitError> {
    let setting = blend.setting()?;
    let half = rate_dose_for_conversion(ReactionOrder(blend.order), 0.5);
    let pre_exponential = setting.rate.pre_exponential_per_s();
    Ok(Derived {
        pre_exponential_per_s: pre_exponential.is_finite().then_some(pre_exponential),
        z_value_k: z_value_kelvin(
            setting.rate.activation_energy_j_per_mol,
            setting.rate.reference_kelvin,
        ),
        half_time_s: blend
            .range
            .heat_temp_k
            .into_iter()
            .map(|temp_k| HalfTime {
                temp_k,
                value: half / setting.rate.rate_per_s(temp_k),
            })
            .collect(),
        yield_stress_plateau_pa: None,
    })
}

/// A blend with its rate at the reference temperature of another: `ln k' = ln k - (E/R)(1/T' - 1/T)`.
fn at_reference(blend: &BlendCalibration, other: &BlendCalibration) -> BlendCalibration {
    let mut moved = blend.clone();
    let slope =
        -(1.0 / other.reference_temp_k - 1.0 / blend.reference_temp_k) / GAS_CONSTANT_J_PER_MOL_K;
    if slope == 0.0 {
        return moved;
    }
    let energy = blend
        .parameter(ParameterName::ActivationEnergy)
        .map_or(0.0, |p| p.estimate);
    if let Some(rate) = moved
        .parameters
        .iter_mut()
        .find(|p| p.name == ParameterName::RateRef)
    {
        let before = ArrheniusRate {
            rate_ref_per_s: rate.estimate,
            activation_energy_j_per_mol: energy,
            reference_kelvin: blend.reference_temp_k,
        };
        rate.estimate = before.rate_per_s(other.reference_temp_k);
    }
    moved.reference_temp_k = other.reference_temp_k;
    let free = blend.free_parameters();
    let place = |name| free.iter().position(|n| *n == name);
    // Row and column of the rate take up those of the energy; a held energy has no doubt to add.
    if let (Some(rate), Some(energy)) = (
        place(ParameterName::RateRef),
        place(ParameterName::ActivationEnergy),
    ) {
        let size = moved.covariance.len();
        for column in 0..size {
            let from = moved.covariance[energy][column];
            moved.covariance[rate][column] += slope * from;
        }
        for row in 0..size {
            let from = moved.covariance[row][energy];
            moved.covariance[row][rate] += slope * from;
        }
    }
    moved
}

fn unlike(
    first: &BlendCalibration,
    second: &BlendCalibration,
    what: &str,
    remedy: &str,
) -> FitError {
    FitError::BlendsUnlike {
        first: first.blend.clone(),
        second: second.blend.clone(),
        what: what.to_owned(),
        remedy: remedy.to_owned(),
    }
}

/// Refuses two blends whose parameters do not mean the same.
fn check_alike(first: &BlendCalibration, second: &BlendCalibration) -> Result<(), FitError> {
    let refuse = |what: &str, remedy: &str| Err(unlike(first, second, what, remedy));
    if first.reading != second.reading || first.reading_unit != second.reading_unit {
        return refuse("were read by different quantities", "read both alike");
    }
    if first.law != second.law || first.error != second.error {
        return refuse(
            "were fitted with different laws or errors",
            "fit both with one law: --law log",
        );
    }
    let names = |blend: &BlendCalibration| -> Vec<(ParameterName, bool, Scale)> {
        blend
            .parameters
            .iter()
            .map(|p| (p.name, p.held, p.scale))
            .collect()
    };
    if names(first) != names(second) {
        return refuse(
            "do not have the same parameters (order, dose lag, flow index, yield stress)",
            "read both at the same shear rates, and fit with --order 1 --dose-lag none --yield-stress none",
        );
    }
    if first.warm_up != second.warm_up || first.history != second.history {
        return refuse(
            "were fitted with different warm-ups",
            "fit both with one --warm-up",
        );
    }
    let thins = first.flow_index_plateau().is_some();
    if thins && first.reference_shear_rate_per_s != second.reference_shear_rate_per_s {
        return refuse(
            "hold at different shear rates",
            "take most readings of both at one shear rate",
        );
    }
    let apart = match (first.read_temp_k, second.read_temp_k) {
        (Some(a), Some(b)) => (a - b).abs() > SAME_READ_KELVIN,
        _ => false,
    };
    if apart {
        return refuse(
            "were read at temperatures more than 3 K apart",
            "read both at one temperature",
        );
    }
    Ok(())
}
