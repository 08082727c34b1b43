//! What the draws are made from, and how each is drawn.

use super::deviations::Deviations;
use super::draw::Draw;
use super::lower_triangle::lower_triangle;
use super::varied::Varied;
use crate::fit::{BlendCalibration, ErrorModel, ParameterName};
use crate::plan::gel::Gel;
use crate::plan::monte_carlo::monte_carlo;
use crate::plan::setup::PushSetup;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::WarmUp;
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution, StandardNormal, Uniform};

/// What the draws are made from.
#[derive(Debug, Clone)]
pub struct DrawSource {
    gel: Gel,
    /// Free parameters in the order of the covariance (`None`: stays), and whether on the logarithm.
    pub(super) free: Vec<(Option<ParameterName>, bool)>,
    pub(in crate::plan) lower_triangle: Vec<Vec<f64>>,
    /// Standard deviation between lots of each free parameter, on its scale.
    pub(in crate::plan) lot_sds: Vec<f64>,
    /// Degrees of freedom of the scatter of readings.
    degrees_of_freedom: f64,
    /// Degrees of freedom of what varies between lots; none where no new lot is drawn.
    pub(in crate::plan) lot_freedom: Option<f64>,
    residual_sd: f64,
    relative: bool,
    bore_half_width_ratio: f64,
    friction_half_width_n: f64,
    flow_half_width_ratio: f64,
    /// Slope of ln k by the block's temperature over the activation energy at the set temperature,
    /// `1/(R T^2)` in mol/(J K), times the half-width in K.
    block_half_width_mol_per_j: f64,
    /// Warm-ups over the range of the contact coefficient, all as likely as each other.
    pub(in crate::plan) contact_histories: Vec<WarmUp>,
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
    pub(in crate::plan) fn draw_at(&self, at: &Deviations) -> Draw {
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
