//! What is not known of set times, drawn.

use crate::fit::set_time::{ScatterForm, SetTimeBlend, SetTimeName};
use crate::plan::draws::lower_triangle;
use crate::plan::monte_carlo::monte_carlo;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use rand_chacha::ChaCha8Rng;
use rand_distr::{ChiSquared, Distribution, OpenClosed01, StandardNormal};

/// Of a variance: not less than this share of it is left to what is not the lots'.
const LEAST_WITHIN_RATIO: f64 = 0.02;
/// What the scatter of few syringes is raised by is at most this, on its logarithm.
const LARGEST_SCATTER_SHIFT: f64 = 0.5;

/// The fitted course, as one draw has it.
#[derive(Debug, Clone, PartialEq)]
pub struct SetTimeDraw {
    /// ln of the place at the reference temperature, t in s.
    pub ln_place: f64,
    /// Activation energy, in J/mol.
    pub activation_energy_j_per_mol: f64,
    /// ln of each further criterion's time over the first's.
    pub shifts: Vec<f64>,
    /// Scatter.
    pub scatter: f64,
    /// Standard deviation between lots of what is not known of the lot asked about; 0 where it is one
    /// that was looked at.
    pub lot_sd: f64,
    /// Standard deviation between lots.
    pub lot_spread: f64,
    /// Deviation of the lot asked about, which is in the place already; 0 for a new lot.
    pub own_lot_deviation: f64,
    form: ScatterForm,
    reference_kelvin: f64,
}

impl SetTimeDraw {
    /// `(1/T - 1/T_ref)/R`, in mol/J.
    fn inverse(&self, kelvin: f64) -> f64 {
        (1.0 / kelvin - 1.0 / self.reference_kelvin) / GAS_CONSTANT_J_PER_MOL_K
    }

    /// ln of the place at a temperature by a criterion, for the usual lot.
    #[must_use]
    pub fn ln_place_at(&self, kelvin: f64, criterion: usize) -> f64 {
        let shift = criterion
            .checked_sub(1)
            .and_then(|place| self.shifts.get(place))
            .copied()
            .unwrap_or(0.0);
        self.ln_place + self.activation_energy_j_per_mol * self.inverse(kelvin) + shift
    }

    /// ln of the median over syringes of the usual lot.
    #[must_use]
    pub fn ln_median(&self, kelvin: f64, criterion: usize) -> f64 {
        self.ln_place_at(kelvin, criterion) + self.scatter * self.form.deviate(0.5)
    }

    /// ln of the ratio of times that are one dose at two temperatures.
    ///
    /// # Equation
    /// `ln(t_to/t_from) = (E/R)(1/T_to - 1/T_from)`
    #[must_use]
    pub fn ln_time_ratio(&self, from_kelvin: f64, to_kelvin: f64) -> f64 {
        self.activation_energy_j_per_mol * (self.inverse(to_kelvin) - self.inverse(from_kelvin))
    }

    /// Deviation of ln of one lot.
    #[must_use]
    pub fn lot_deviation(&self, random: &mut ChaCha8Rng) -> f64 {
        let z: f64 = StandardNormal.sample(random);
        self.lot_sd * z
    }

    /// Deviation of ln of a lot that nobody looked at.
    #[must_use]
    pub fn other_lot_deviation(&self, random: &mut ChaCha8Rng) -> f64 {
        let z: f64 = StandardNormal.sample(random);
        self.lot_spread * z
    }

    /// Deviation of ln of one syringe from its lot's place.
    #[must_use]
    pub fn syringe_deviation(&self, random: &mut ChaCha8Rng) -> f64 {
        match self.form {
            ScatterForm::Lognormal => {
                let z: f64 = StandardNormal.sample(random);
                self.scatter * z
            }
            ScatterForm::Weibull => {
                let share: f64 = OpenClosed01.sample(random);
                self.scatter * (-share.ln()).max(f64::MIN_POSITIVE).ln()
            }
        }
    }
}

/// Where draws come from: the estimates, their covariance, and the spread between lots with what few
/// lots do not tell of it.
///
/// # Equation
/// Energy, ratios and scatter: normal with the covariance of the fit, the part of the lots taken out
/// of the place's variance. Greatest likelihood finds too small a scatter: ln of it is raised by
/// `(p + 1) v_s`, and the place's deviations are widened by `exp(p v_s)`, `p` the free coefficients of the place and `v_s` its variance; of complete
/// observations, where `v_s = 1/(2 n)`, that is the mean of ln of `sqrt(n/chi^2_(n-p))`. Spread between lots, with `L` of them: a generalised pivotal quantity
/// `w*^2 = max(0, (w^2 L/(L-1) + v) (L-1)/chi^2_(L-1) - v)`, `v` the variance of one lot's own mean;
/// the place moves by `w* z/sqrt(L)`. In the limit of many syringes a lot that is Student's t with
/// `L - 1` degrees of freedom.
///
/// | symbol | meaning | unit |
/// |---|---|---|
/// | w, w* | standard deviation between lots: estimated, drawn | 1 |
/// | v | L times the place's variance without the lots' part | 1 |
///
/// # Valid for
/// Lots with about equally many syringes.
///
/// # Source
/// S. Weerahandi, J. Am. Stat. Assoc. 88 (1993) 899, doi:10.1080/01621459.1993.10476355 (from memory);
/// w^2 L/(L-1): the bias of greatest likelihood, D. Harville, J. Am. Stat. Assoc. 72 (1977) 320.
#[derive(Debug, Clone, PartialEq)]
pub struct SetTimeSource {
    estimate: SetTimeDraw,
    /// Lower triangle of the covariance of what is free, lots' part taken out; the place comes last, so
    /// that taking it out leaves the others as they are.
    lower: Vec<Vec<f64>>,
    holds_energy: bool,
    holds_scatter: bool,
    /// What few syringes widen the doubt of the place by.
    wider: f64,
    /// What ln of the scatter, as greatest likelihood finds it, falls short by.
    scatter_shift: f64,
    /// Lots, where they are told apart.
    lots: Option<usize>,
    /// Variance of one lot's own mean.
    within_lot: f64,
    /// A lot that is asked about: mean and variance of its deviation.
    this_lot: Option<(f64, f64)>,
}

impl SetTimeSource {
    /// The source of a blend; `this_lot` is the deviation of a lot asked about and its variance.
    #[must_use]
    pub fn new(blend: &SetTimeBlend, this_lot: Option<(f64, f64)>) -> Self {
        let held = |name| blend.parameter(name).is_some_and(|p| p.held);
        let shifts = (1..blend.criteria.len())
            .map(|criterion| blend.ln_criterion_ratio(criterion))
            .collect();
        let lots = blend.lots_told_apart();
        let lot_sd = blend.lot_sd();
        // The last row of the covariance is the spread between lots, which is drawn by itself.
        let with_lot_sd = blend
            .parameter(SetTimeName::LotSd)
            .is_some_and(|p| p.std_error.is_some());
        let size = blend.covariance.len() - usize::from(with_lot_sd);
        let mut covariance: Vec<Vec<f64>> = blend
            .covariance
            .iter()
            .take(size)
            .map(|row| row.iter().take(size).copied().collect())
            .collect();
        let scatter_shift = blend
            .parameter(SetTimeName::Scatter)
            .and_then(|p| p.std_error)
            .map_or(0.0, |error| {
                let coefficients = (size - 1) as f64;
                ((coefficients + 1.0) * error * error).min(LARGEST_SCATTER_SHIFT)
            });
        let mut within_lot = 0.0;
        if let (true, Some(place)) = (lots > 1, covariance.first_mut().and_then(|r| r.first_mut()))
        {
            let least = LEAST_WITHIN_RATIO * *place;
            *place = (*place - lot_sd * lot_sd / lots as f64).max(least);
            within_lot = *place * lots as f64;
        }
        Self {
            estimate: SetTimeDraw {
                ln_place: blend.estimate(SetTimeName::SetTimeRef).ln(),
                activation_energy_j_per_mol: blend.estimate(SetTimeName::ActivationEnergy),
                shifts,
                scatter: blend.estimate(SetTimeName::Scatter),
                lot_sd,
                lot_spread: lot_sd,
                own_lot_deviation: 0.0,
                form: blend.scatter,
                reference_kelvin: blend.reference_temp_k,
            },
            lower: lower_triangle(&place_last(covariance)),
            holds_energy: held(SetTimeName::ActivationEnergy),
            holds_scatter: held(SetTimeName::Scatter),
            wider: blend.error_correction_ratio(),
            scatter_shift,
            lots: (lots > 1).then_some(lots),
            within_lot,
            this_lot,
        }
    }

    /// The estimates themselves.
    #[must_use]
    pub const fn estimate(&self) -> &SetTimeDraw {
        &self.estimate
    }

    /// Whether an answer is for a lot that was looked at.
    pub(super) const fn is_this_lot(&self) -> bool {
        self.this_lot.is_some()
    }

    /// Answers of draws, in their order.
    pub fn answers<Answer: Send>(
        &self,
        count: usize,
        seed: u64,
        answer: impl Fn(&SetTimeDraw, &mut ChaCha8Rng) -> Answer + Sync,
    ) -> Vec<Answer> {
        monte_carlo(count, seed, |random, chunk| {
            (0..chunk)
                .map(|_| {
                    let draw = self.draw(random);
                    answer(&draw, random)
                })
                .collect()
        })
    }

    fn draw(&self, random: &mut ChaCha8Rng) -> SetTimeDraw {
        let z: Vec<f64> = self
            .lower
            .iter()
            .map(|_| StandardNormal.sample(random))
            .collect();
        let mut moves = self.lower.iter().map(|row| {
            row.iter()
                .zip(&z)
                .map(|(factor, z)| factor * z)
                .sum::<f64>()
        });
        let wider = self.wider;
        let mut next = |is_free: bool| {
            if is_free {
                moves.next().unwrap_or(0.0)
            } else {
                0.0
            }
        };
        let mut draw = self.estimate.clone();
        draw.activation_energy_j_per_mol += wider * next(!self.holds_energy);
        for shift in &mut draw.shifts {
            *shift += wider * next(true);
        }
        draw.scatter *= (self.scatter_shift + next(!self.holds_scatter)).exp();
        draw.ln_place += wider * next(true);
        if let Some(lots) = self.lots {
            self.draw_lots(&mut draw, lots, random);
        }
        draw
    }

    fn draw_lots(&self, draw: &mut SetTimeDraw, lots: usize, random: &mut ChaCha8Rng) {
        let count = lots as f64;
        let freedom = count - 1.0;
        let unbiased = self.estimate.lot_sd.powi(2) * count / freedom;
        let share = ChiSquared::new(freedom)
            .map_or(1.0, |chi| chi.sample(random) / freedom)
            .max(f64::MIN_POSITIVE);
        let drawn = ((unbiased + self.within_lot) / share - self.within_lot).max(0.0);
        draw.lot_spread = drawn.sqrt();
        let z: f64 = StandardNormal.sample(random);
        if let Some((deviation, variance)) = self.this_lot {
            draw.own_lot_deviation = deviation + variance.sqrt() * z;
            draw.ln_place += draw.own_lot_deviation;
            draw.lot_sd = 0.0;
            return;
        }
        draw.lot_sd = draw.lot_spread;
        draw.ln_place += draw.lot_sd * z / count.sqrt();
    }
}

/// The first row and column moved to the end.
fn place_last(mut covariance: Vec<Vec<f64>>) -> Vec<Vec<f64>> {
    for row in &mut covariance {
        if !row.is_empty() {
            row.rotate_left(1);
        }
    }
    if !covariance.is_empty() {
        covariance.rotate_left(1);
    }
    covariance
}
