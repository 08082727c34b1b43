//! Monte Carlo over what is uncertain, after JCGM 101: seeded, parallel, the same bytes on any
//! number of threads.

use super::gel::Gel;
use super::monte_carlo::monte_carlo;
use super::setup::{NeedleUsed, PushSetup};
use crate::fit::{BlendCalibration, ErrorModel, ParameterName};
use crate::kinetics::{FirmnessCurve, FlowIndexCourse, ReactionOrder, ShearThinning};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::WarmUp;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution, StandardNormal, Uniform};
use serde::Serialize;

/// A draw's share of the yield stress stays under one, where nothing would flow.
const MOST_YIELD_SHARE: f64 = 0.999;

/// Which inputs vary.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Varied {
    /// The fitted parameters.
    pub parameters: bool,
    /// The lot: one person against the next.
    pub lot: bool,
    /// The scatter of single readings: one syringe against the next.
    pub reading: bool,
    /// The needle's bore.
    pub bore: bool,
    /// The contact between block and barrel, where the warm-up is computed from it.
    pub contact: bool,
    /// The friction of the stopper.
    pub friction: bool,
    /// The flow rate of a hand.
    pub flow: bool,
    /// The temperature of a place of the block.
    pub block_temperature: bool,
}

impl Varied {
    /// Everything that is uncertain.
    pub const ALL: Self = Self {
        parameters: true,
        lot: true,
        reading: true,
        bore: true,
        contact: true,
        friction: true,
        flow: true,
        block_temperature: true,
    };
    /// Nothing.
    pub const NONE: Self = Self {
        parameters: false,
        lot: false,
        reading: false,
        bore: false,
        contact: false,
        friction: false,
        flow: false,
        block_temperature: false,
    };
}

/// One draw: a gel, the scatter of its reading, and a bore.
#[derive(Debug, Clone)]
pub struct Draw {
    /// The gel.
    pub gel: Gel,
    /// Deviation of the reading: on its logarithm under relative errors, else in its unit.
    pub deviation: f64,
    /// Whether the deviation is on the logarithm.
    pub deviation_is_relative: bool,
    /// Bore over the stated bore.
    pub bore_ratio: f64,
    /// Friction less the stated friction, in N.
    pub friction_shift_n: f64,
    /// Flow rate over the stated flow rate.
    pub flow_ratio: f64,
}

impl Draw {
    /// The estimates, without any deviation.
    #[must_use]
    pub const fn of_estimates(gel: Gel) -> Self {
        Self {
            gel,
            deviation: 0.0,
            deviation_is_relative: true,
            bore_ratio: 1.0,
            friction_shift_n: 0.0,
            flow_ratio: 1.0,
        }
    }

    /// Ratio of a needle's bore to its stated one, in a draw for all needles.
    #[must_use]
    pub fn bore_ratio_of(&self, needle: &NeedleUsed) -> f64 {
        1.0 + needle.bore_tolerance_m.unwrap_or(0.0) / needle.bore_m * (self.bore_ratio - 1.0)
    }

    /// Reading at a conversion, scatter included; never below zero.
    #[must_use]
    pub fn reading(&self, fraction: f64) -> f64 {
        let plain = self.gel.setting.reading_at_conversion(fraction);
        if self.deviation_is_relative {
            plain * self.deviation.exp()
        } else {
            (plain + self.deviation).max(0.0)
        }
    }

    /// Logarithm of [`Draw::reading`], for many conversions of one draw.
    pub(super) fn ln_reading(&self) -> impl Fn(f64) -> f64 + '_ {
        let plain = self.gel.setting.firmness.ln_reading();
        move |fraction| {
            if self.deviation_is_relative {
                plain(fraction) + self.deviation
            } else {
                self.reading(fraction).ln()
            }
        }
    }

    /// Reading without scatter that the scatter turns into `reading`.
    #[must_use]
    pub fn underlying(&self, reading: f64) -> f64 {
        if self.deviation_is_relative {
            reading * (-self.deviation).exp()
        } else {
            reading - self.deviation
        }
    }
}

/// How far each input lies from its estimate.
#[derive(Debug, Clone)]
pub(super) struct Deviations {
    /// Of the free parameters, on their scales.
    pub(super) shifts: Vec<f64>,
    /// Of a reading, in standard deviations.
    pub(super) reading: f64,
    /// In half-widths of the range, as are the next three.
    pub(super) bore: f64,
    pub(super) friction: f64,
    pub(super) flow: f64,
    pub(super) block: f64,
    /// Which of the contact histories; the estimate's own where none.
    pub(super) contact: Option<usize>,
}

impl Deviations {
    pub(super) fn none(parameters: usize) -> Self {
        Self {
            shifts: vec![0.0; parameters],
            reading: 0.0,
            bore: 0.0,
            friction: 0.0,
            flow: 0.0,
            block: 0.0,
            contact: None,
        }
    }
}

/// What the draws are made from.
#[derive(Debug, Clone)]
pub struct DrawSource {
    gel: Gel,
    /// Free parameters in the order of the covariance (`None`: stays), and whether on the logarithm.
    free: Vec<(Option<ParameterName>, bool)>,
    pub(super) lower_triangle: Vec<Vec<f64>>,
    /// Standard deviation between lots of each free parameter, on its scale.
    pub(super) lot_sds: Vec<f64>,
    /// Degrees of freedom of the scatter of readings.
    degrees_of_freedom: f64,
    /// Degrees of freedom of what varies between lots; none where no new lot is drawn.
    pub(super) lot_freedom: Option<f64>,
    residual_sd: f64,
    relative: bool,
    bore_half_width_ratio: f64,
    friction_half_width_n: f64,
    flow_half_width_ratio: f64,
    /// Slope of ln k by the block's temperature over the activation energy at the set temperature,
    /// `1/(R T^2)` in mol/(J K), times the half-width in K.
    block_half_width_mol_per_j: f64,
    /// Warm-ups over the range of the contact coefficient, all as likely as each other.
    pub(super) contact_histories: Vec<WarmUp>,
    seed: u64,
}

impl DrawSource {
    /// Sets up for a blend, a gel and a push, heated in a block that is set to `set_kelvin`.
    ///
    /// A place that is hotter by dT has its whole history scaled up with it: near the set
    /// temperature, where a gel sets, every rate is then multiplied by exp(E dT/(R T^2)).
    #[must_use]
    pub fn new(
        blend: &BlendCalibration,
        gel: Gel,
        setup: &PushSetup,
        set_kelvin: f64,
        seed: u64,
    ) -> Self {
        let needle = &setup.needle;
        Self {
            bore_half_width_ratio: needle.bore_tolerance_m.unwrap_or(0.0) / needle.bore_m,
            friction_half_width_n: setup.doubts.friction_tolerance_n,
            flow_half_width_ratio: setup.doubts.flow_tolerance_ratio,
            ..Self::without_needle(blend, gel, seed)
                .with_block(setup.doubts.block_tolerance_k, set_kelvin)
        }
    }

    /// The same for a question without a needle.
    #[must_use]
    pub fn without_needle(blend: &BlendCalibration, gel: Gel, seed: u64) -> Self {
        let relative = blend.error == ErrorModel::Relative;
        // A warm-up that the question declares in place of the fitted one does not vary.
        let own_warm_up = gel.setting.warm_up == blend.warm_up();
        let free = blend
            .parameters
            .iter()
            .filter(|p| !p.held)
            .map(|p| {
                let stays = p.name == ParameterName::WarmUp && !own_warm_up;
                (
                    (!stays).then_some(p.name),
                    p.scale == crate::fit::Scale::Log,
                )
            })
            .collect();
        Self {
            gel,
            free,
            lower_triangle: lower_triangle(&blend.covariance),
            lot_sds: lot_sds(blend),
            lot_freedom: blend
                .lots
                .as_ref()
                .filter(|lots| lots.are_separate())
                .map(|lots| lots.count.saturating_sub(1).max(1) as f64),
            degrees_of_freedom: blend.fit.degrees_of_freedom.max(1) as f64,
            residual_sd: if blend.error == ErrorModel::Given {
                0.0
            } else {
                blend.fit.residual_sd
            },
            relative,
            bore_half_width_ratio: 0.0,
            friction_half_width_n: 0.0,
            flow_half_width_ratio: 0.0,
            block_half_width_mol_per_j: 0.0,
            contact_histories: Vec::new(),
            seed,
        }
    }

    /// The same in a place of the block that may be off the set temperature, either way.
    #[must_use]
    pub fn with_block(self, block_tolerance_k: f64, set_kelvin: f64) -> Self {
        Self {
            block_half_width_mol_per_j: block_tolerance_k
                / (GAS_CONSTANT_J_PER_MOL_K * set_kelvin * set_kelvin),
            ..self
        }
    }

    /// The same with warm-ups, all as likely as each other, that stand for what is not known of the
    /// contact between block and barrel.
    #[must_use]
    pub fn with_contact(self, contact_histories: Vec<WarmUp>) -> Self {
        Self {
            contact_histories,
            ..self
        }
    }

    /// The same draws for many needles: the bore's ratio less 1 runs over the whole of -1 to 1, to be
    /// narrowed to each needle's own tolerance with [`Draw::bore_ratio_of`].
    #[must_use]
    pub fn for_all_needles(&self) -> Self {
        Self {
            bore_half_width_ratio: 1.0,
            ..self.clone()
        }
    }

    /// Answers a question for each of `count` draws, in the order of the draws.
    pub fn answer<Answer: Send>(
        &self,
        count: usize,
        varied: Varied,
        question: impl Fn(&Draw) -> Answer + Sync,
    ) -> Vec<Answer> {
        monte_carlo(count, self.seed, |random, size| {
            self.chunk(random, size, varied)
                .iter()
                .map(&question)
                .collect()
        })
    }

    fn chunk(&self, random: &mut ChaCha8Rng, size: usize, varied: Varied) -> Vec<Draw> {
        let chi_squared = ChiSquared::new(self.degrees_of_freedom).ok();
        let even = Uniform::new_inclusive(-1.0_f64, 1.0).ok();
        let lot_chi_squared = self.lot_freedom.and_then(|f| ChiSquared::new(f).ok());
        let mut normals = vec![0.0; self.free.len()];
        (0..size)
            .map(|_| {
                let mut at = Deviations::none(self.free.len());
                // The residual variance is itself only known from its degrees of freedom.
                let width = chi_squared
                    .as_ref()
                    .map_or(1.0, |c| (self.degrees_of_freedom / c.sample(random)).sqrt());
                for normal in &mut normals {
                    *normal = StandardNormal.sample(random);
                }
                let scatter: f64 = StandardNormal.sample(random);
                let bore: f64 = even.as_ref().map_or(0.0, |e| e.sample(random));
                // So is the spread between lots, from no more than the lots there are: a new lot and
                // the typical one share that doubt, which makes their sum Student's t.
                let lot_width = match (&lot_chi_squared, self.lot_freedom) {
                    (Some(c), Some(freedom)) => (freedom / c.sample(random)).sqrt(),
                    _ => width,
                };
                if varied.parameters {
                    for (shift, row) in at.shifts.iter_mut().zip(&self.lower_triangle) {
                        let sum: f64 = row.iter().zip(&normals).map(|(l, z)| l * z).sum();
                        *shift = lot_width * sum;
                    }
                }
                if self.lot_freedom.is_some() {
                    for (shift, sd) in at.shifts.iter_mut().zip(&self.lot_sds) {
                        let z: f64 = StandardNormal.sample(random);
                        if varied.lot {
                            *shift += lot_width * sd * z;
                        }
                    }
                }
                if !self.contact_histories.is_empty() {
                    let place = random.random_range(0..self.contact_histories.len());
                    at.contact = varied.contact.then_some(place);
                }
                let [friction, flow, block] =
                    [varied.friction, varied.flow, varied.block_temperature].map(|varies| {
                        let drawn: f64 = even.as_ref().map_or(0.0, |e| e.sample(random));
                        if varies { drawn } else { 0.0 }
                    });
                self.draw_at(&Deviations {
                    reading: if varied.reading { width * scatter } else { 0.0 },
                    bore: if varied.bore { bore } else { 0.0 },
                    friction,
                    flow,
                    block,
                    ..at
                })
            })
            .collect()
    }

    /// The draw at stated deviations of the inputs.
    pub(super) fn draw_at(&self, at: &Deviations) -> Draw {
        let mut gel = self.gel.clone();
        if let Some(history) = at
            .contact
            .and_then(|place| self.contact_histories.get(place))
        {
            gel.setting.warm_up = history.clone();
        }
        self.move_parameters(&mut gel, &at.shifts);
        let rate = &mut gel.setting.rate;
        rate.rate_ref_per_s *=
            (rate.activation_energy_j_per_mol * self.block_half_width_mol_per_j * at.block).exp();
        Draw {
            gel,
            deviation: self.residual_sd * at.reading,
            deviation_is_relative: self.relative,
            bore_ratio: 1.0 + self.bore_half_width_ratio * at.bore,
            friction_shift_n: self.friction_half_width_n * at.friction,
            flow_ratio: 1.0 + self.flow_half_width_ratio * at.flow,
        }
    }

    fn move_parameters(&self, gel: &mut Gel, shifts: &[f64]) {
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

/// Standard deviation between lots of each free parameter, 0 where it does not vary.
fn lot_sds(blend: &BlendCalibration) -> Vec<f64> {
    blend
        .free_parameters()
        .iter()
        .map(|name| {
            let lots = blend.lots.as_ref();
            lots.and_then(|lots| lots.sd.get(name.as_str()).copied())
                .unwrap_or(0.0)
        })
        .collect()
}

/// Lower triangle of the Cholesky factors of a covariance; a row that has no variance left is zero.
pub(super) fn lower_triangle(covariance: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = covariance.len();
    let mut lower = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = covariance[i][j] - sum;
            lower[i][j] = if i == j {
                rest.max(0.0).sqrt()
            } else if lower[j][j] > 0.0 {
                rest / lower[j][j]
            } else {
                0.0
            };
        }
    }
    lower
}

/// Quantile of sorted values by linear interpolation between order statistics.
///
/// # Equation
/// `h = (n-1) p`, `q = x_floor(h) + (h - floor(h)) (x_floor(h)+1 - x_floor(h))`
///
/// # Source
/// R. Hyndman, Y. Fan, Am. Stat. 50 (1996) 361, definition 7, doi:10.1080/00031305.1996.10473566.
#[must_use]
pub fn quantile(sorted: &[f64], probability: f64) -> f64 {
    let (Some(first), Some(last)) = (sorted.first(), sorted.last()) else {
        return f64::NAN;
    };
    let place = (sorted.len() - 1) as f64 * probability;
    let below = place.floor() as usize;
    match (sorted.get(below), sorted.get(below + 1)) {
        (Some(low), Some(high)) if low.is_finite() && high.is_finite() => {
            low + (place - place.floor()) * (high - low)
        }
        (Some(low), Some(high)) => {
            if place > place.floor() {
                *high
            } else {
                *low
            }
        }
        (Some(low), None) => *low,
        (None, _) => {
            if probability < 0.5 {
                *first
            } else {
                *last
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_triangle_times_its_transpose_is_the_covariance() {
        let covariance = vec![
            vec![4.0, 2.0, 0.6],
            vec![2.0, 5.0, 1.0],
            vec![0.6, 1.0, 3.0],
        ];
        let lower = lower_triangle(&covariance);
        for i in 0..3 {
            for j in 0..3 {
                let product: f64 = (0..3).map(|k| lower[i][k] * lower[j][k]).sum();
                assert_relative_eq!(product, covariance[i][j], max_relative = 1e-12);
            }
        }
    }

    /// R, quantile(c(1, 2, 4, 8), c(.25, .5, .9)) gives 1.75, 3.00, 6.80.
    #[test]
    fn quantiles_are_those_of_r() {
        let sorted = [1.0, 2.0, 4.0, 8.0];
        for (p, expected) in [(0.25, 1.75), (0.5, 3.0), (0.9, 6.8)] {
            assert_relative_eq!(quantile(&sorted, p), expected, max_relative = 1e-12);
        }
    }
}
