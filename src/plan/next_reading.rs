//! Which reading to take next.

use super::another_lot::another_lot;
use super::error::PlanError;
use super::heat_time::no_warm_up;
use super::heat_time_gradient::{AskedHeatTime, HeatTimeGradient, heat_time_gradient};
use super::next_answer::{
    AskedNow, HeatTimeIntervals, LotOutlook, NarrowedParameter, Narrows, NextAnswer,
    ProposedReading, SeveralReadings,
};
use super::range_check::{check_temperature, check_time};
use super::reading_candidates::{
    Candidates, Setting, expected_reading, measured_settings, new_settings,
};
use crate::fit::{
    BlendCalibration, Criterion, Design, ErrorModel, Predictor, Proposal, Warning, t_quantile,
};
use crate::thermal::WarmUp;
use ndarray::Array2;

/// Settings that are proposed.
const PROPOSED: usize = 3;
/// Temperatures that count as different in a proposal, in K, in a bench of a wide range.
const DIFFERENT_KELVIN: f64 = 5.0;
/// Of candidates whose gain comes as near as this to the best, the easiest to take is proposed.
const NEAR_BEST_RATIO: f64 = 0.995;
/// Readings that are looked ahead.
const SEVERAL: usize = 10;
/// Most readings that another lot is weighed against.
const MOST_READINGS: usize = 300;

/// A question about the next reading.
#[derive(Debug, Clone, PartialEq)]
pub struct NextQuestion {
    /// The answer to narrow; all parameters together where none.
    pub asked: Option<AskedHeatTime>,
    /// Altitude of the place, in m.
    pub altitude_m: f64,
    /// Whether an answer outside the measured range may be narrowed.
    pub extrapolate: bool,
    /// Whether the calibration stands on invented data.
    pub invented: bool,
}

/// Proposes the next reading.
///
/// The covariance of the document is that of readings and, where lots were told apart, of the few
/// lots: `sd^2 / lots` of it no reading on the lots at hand can take away, and it stays.
///
/// # Errors
/// An asked answer that is none (see [`PlanError`]) or lies outside what was measured; readings
/// without any scatter.
pub fn next_reading(
    blend: &BlendCalibration,
    question: &NextQuestion,
) -> Result<NextAnswer, PlanError> {
    let outlook = Outlook::new(blend, question)?;
    let fresh = new_settings(blend, &outlook.predictor, question.altitude_m)?;
    let ranking = outlook
        .design
        .ranking(outlook.criterion(), &fresh.derivatives);
    let places = proposed_places(blend, &fresh.settings, &ranking);
    let best = *places.first().ok_or_else(|| PlanError::NoScatter {
        blend: blend.blend.clone(),
    })?;
    let measured = measured_settings(blend, &outlook.predictor);
    let repeat = outlook
        .design
        .best_next(outlook.criterion(), &measured.derivatives);
    Ok(NextAnswer {
        narrows: match outlook.gradient {
            Some(_) => Narrows::HeatTime,
            None => Narrows::Parameters,
        },
        asked: outlook.asked_now(question),
        reading_unit: blend.reading_unit.clone(),
        proposals: places
            .iter()
            .map(|place| outlook.proposed(&fresh, *place))
            .collect::<Result<_, _>>()?,
        repeat: repeat
            .map(|r| outlook.proposed(&measured, r.place))
            .transpose()?,
        several: outlook.several(&fresh, SEVERAL),
        parameters: outlook.parameters(&fresh.derivatives[best]),
        another_lot: outlook.lots(&fresh),
        warnings: warnings(blend, question, outlook.extrapolated),
    })
}

/// Places of the settings to propose: the best, then the best that differ from those before. Of
/// those that are as good as the best, one inside the measured times and then the shortest.
fn proposed_places(
    blend: &BlendCalibration,
    settings: &[Setting],
    ranking: &[Proposal],
) -> Vec<usize> {
    let mut places: Vec<usize> = Vec::new();
    while places.len() < PROPOSED {
        let left: Vec<&Proposal> = ranking
            .iter()
            .filter(|p| {
                let here = &settings[p.place];
                places.iter().all(|q| differ(blend, &settings[*q], here))
            })
            .collect();
        let Some(enough) = left.first().map(|p| p.gain_ratio * NEAR_BEST_RATIO) else {
            break;
        };
        let easiest = left
            .iter()
            .take_while(|p| p.gain_ratio >= enough)
            .min_by(|a, b| {
                let (a, b) = (&settings[a.place], &settings[b.place]);
                (a.outside_measured_times.cmp(&b.outside_measured_times))
                    .then(a.heat_time_s.total_cmp(&b.heat_time_s))
            });
        places.extend(easiest.map(|p| p.place));
    }
    places
}

/// Whether two settings are worth proposing side by side.
fn differ(blend: &BlendCalibration, a: &Setting, b: &Setting) -> bool {
    let [low, high] = blend.range.heat_temp_k;
    let apart = DIFFERENT_KELVIN.min((high - low) / 4.0).max(0.5);
    let (short, long) = (
        a.heat_time_s.min(b.heat_time_s),
        a.heat_time_s.max(b.heat_time_s),
    );
    (a.heat_temp_k - b.heat_temp_k).abs() >= apart || long >= 2.0 * short && long > 0.0
}

/// Everything that proposals are weighed with.
struct Outlook<'a> {
    blend: &'a BlendCalibration,
    predictor: Predictor,
    /// What readings can narrow.
    design: Design,
    gradient: Option<HeatTimeGradient>,
    extrapolated: bool,
    /// Variance of ln heat time that stays: in the curve's, and beyond it in a syringe's.
    curve_stays: f64,
    syringe_stays: f64,
    /// Variance of a lot's ln heat time about the typical one.
    between_lots: f64,
    freedom: usize,
    freedom_after: usize,
}

impl<'a> Outlook<'a> {
    fn new(blend: &'a BlendCalibration, question: &NextQuestion) -> Result<Self, PlanError> {
        let predictor = Predictor::new(blend)?;
        let lot_variances = lot_variances(blend);
        let lot_count = blend.lots.as_ref().map_or(1, |l| l.count.max(1)) as f64;
        let mut covariance: Array2<f64> = predictor.covariance().clone();
        for (place, variance) in lot_variances.iter().enumerate() {
            if let Some(value) = covariance.get_mut((place, place)) {
                *value -= variance / lot_count;
            }
        }
        let design = Design::new(covariance, predictor.residual_variance()).ok_or_else(|| {
            PlanError::NoScatter {
                blend: blend.blend.clone(),
            }
        })?;
        let (mut gradient, mut extrapolated, mut scatter) = (None, false, 0.0);
        if let Some(asked) = &question.asked {
            asked.setup.check_force(asked.setup.force_limit_n)?;
            let outside = check_temperature(
                blend,
                asked.set_kelvin,
                question.altitude_m,
                question.extrapolate,
            )?;
            let found = heat_time_gradient(blend, asked)?;
            extrapolated = check_time(blend, found.heat_time_s, question.extrapolate)? || outside;
            scatter = scatter_variance(blend, asked, &found);
            gradient = Some(found);
        }
        let between_lots = gradient.as_ref().map_or(0.0, |g| {
            g.by_parameter
                .iter()
                .zip(&lot_variances)
                .map(|(s, v)| s * s * v)
                .sum()
        });
        let separate = lot_variances.iter().any(|v| *v > 0.0);
        let freedom = blend.interval_freedom();
        Ok(Self {
            blend,
            predictor,
            design,
            gradient,
            extrapolated,
            curve_stays: between_lots / lot_count,
            syringe_stays: between_lots + scatter,
            between_lots,
            freedom,
            freedom_after: if separate { freedom } else { freedom + 1 },
        })
    }

    fn criterion(&self) -> Criterion<'_> {
        self.gradient.as_ref().map_or(Criterion::Parameters, |g| {
            Criterion::Answer(&g.by_parameter)
        })
    }

    fn asked_now(&self, question: &NextQuestion) -> Option<AskedNow> {
        let gradient = self.gradient.as_ref()?;
        let variance = self.design.variance(&gradient.by_parameter);
        Some(AskedNow {
            heat_temp_k: question.asked.as_ref()?.set_kelvin,
            heat_time_s_point: gradient.heat_time_s,
            heat_time_interval95: self.intervals(gradient, variance, self.freedom),
            extrapolated: self.extrapolated,
        })
    }

    /// Intervals of the answer with a variance of what readings narrow.
    fn intervals(
        &self,
        gradient: &HeatTimeGradient,
        variance: f64,
        freedom: usize,
    ) -> HeatTimeIntervals {
        let curve = variance + self.curve_stays;
        HeatTimeIntervals {
            curve_s: interval_s(gradient.heat_time_s, curve, freedom),
            syringe_s: interval_s(gradient.heat_time_s, curve + self.syringe_stays, freedom),
        }
    }

    fn proposed(&self, among: &Candidates, place: usize) -> Result<ProposedReading, PlanError> {
        let (setting, derivative) = (among.settings[place], &among.derivatives[place]);
        let free = self.design.covariance().nrows() as f64;
        let answer = self.gradient.as_ref().map(|gradient| {
            let now = self.design.variance(&gradient.by_parameter);
            let after = self
                .design
                .variance_with(&gradient.by_parameter, derivative);
            let ratio = ((after + self.curve_stays) / (now + self.curve_stays)).sqrt();
            (self.intervals(gradient, after, self.freedom_after), ratio)
        });
        Ok(ProposedReading {
            heat_temp_k: setting.heat_temp_k,
            heat_time_s: setting.heat_time_s,
            shear_rate_per_s: setting.shear_rate_per_s,
            expected_reading: expected_reading(self.blend, &setting)?,
            outside_measured_times: setting.outside_measured_times,
            heat_time_interval95: answer.map(|a| a.0),
            heat_time_std_error_ratio: answer.map(|a| a.1),
            parameter_std_error_ratio: self.design.determinant_ratio(derivative).powf(0.5 / free),
        })
    }

    fn parameters(&self, derivative: &[f64]) -> Vec<NarrowedParameter> {
        let after = self.design.with_reading(derivative);
        let stays = self.predictor.covariance() - self.design.covariance();
        self.blend
            .parameters
            .iter()
            .filter(|p| !p.held)
            .enumerate()
            .map(|(place, parameter)| {
                let error = |design: &Design| {
                    (design.covariance()[[place, place]] + stays[[place, place]])
                        .max(0.0)
                        .sqrt()
                };
                NarrowedParameter {
                    name: parameter.name,
                    unit: parameter.unit.clone(),
                    scale: parameter.scale,
                    std_error_now: error(&self.design),
                    std_error_after: error(&after),
                }
            })
            .collect()
    }

    /// What so many more readings do, each the best that is left: standard errors with them over
    /// those now, and the variance that is left of what readings narrow of the asked answer.
    fn ahead(&self, fresh: &Candidates, readings: usize) -> (f64, f64) {
        let free = self.design.covariance().nrows() as f64;
        let mut design = self.design.clone();
        let mut ln_determinant = 0.0;
        for _ in 0..readings.min(MOST_READINGS) {
            let best = design.best_next(self.criterion(), &fresh.derivatives);
            let Some(best) = best else { break };
            let derivative = &fresh.derivatives[best.place];
            ln_determinant += design.determinant_ratio(derivative).ln();
            design = design.with_reading(derivative);
        }
        match &self.gradient {
            None => ((0.5 * ln_determinant / free).exp(), 0.0),
            Some(gradient) => {
                let now = self.design.variance(&gradient.by_parameter) + self.curve_stays;
                let variance = design.variance(&gradient.by_parameter);
                (((variance + self.curve_stays) / now).sqrt(), variance)
            }
        }
    }

    fn several(&self, fresh: &Candidates, readings: usize) -> SeveralReadings {
        let (std_error_ratio, variance) = self.ahead(fresh, readings);
        let freedom = self.freedom + readings * (self.freedom_after - self.freedom);
        SeveralReadings {
            readings,
            heat_time_interval95: self
                .gradient
                .as_ref()
                .map(|gradient| self.intervals(gradient, variance, freedom)),
            std_error_ratio,
        }
    }

    /// Another lot against as many more readings on the lots at hand.
    fn lots(&self, fresh: &Candidates) -> Option<LotOutlook> {
        let lots = self.blend.lots.as_ref()?;
        let factors = another_lot(lots.count)?;
        let readings_a_lot = (self.blend.fit.rows as f64 / lots.count as f64)
            .round()
            .max(1.0) as usize;
        let (ratio, narrowed) = self.ahead(fresh, readings_a_lot);
        let count = lots.count as f64;
        let known = lots.are_separate();
        let new_lot = |variance: f64, lots: f64| {
            let gradient = self.gradient.as_ref().filter(|_| known)?;
            let whole = variance + self.between_lots * (1.0 + 1.0 / lots);
            Some(interval_s(gradient.heat_time_s, whole, lots as usize - 1))
        };
        let now = self
            .gradient
            .as_ref()
            .map_or(0.0, |g| self.design.variance(&g.by_parameter));
        Some(LotOutlook {
            lots: lots.count,
            lot_spread_known: known,
            factors,
            readings_a_lot,
            std_error_ratio_with_as_many_readings: ratio,
            new_lot_heat_time_s_now: new_lot(now, count),
            // Another lot brings readings too: what they narrow falls as with so many more.
            new_lot_heat_time_s_with_another_lot: new_lot(now * count / (count + 1.0), count + 1.0),
            new_lot_heat_time_s_with_as_many_readings: new_lot(narrowed, count),
        })
    }
}

/// Variance between lots of each free parameter on its scale; zeros where it is not known.
fn lot_variances(blend: &BlendCalibration) -> Vec<f64> {
    let sds = blend.lots.as_ref().map(|l| &l.sd);
    blend
        .free_parameters()
        .iter()
        .map(|name| {
            sds.and_then(|s| s.get(name.as_str()))
                .map_or(0.0, |sd| sd * sd)
        })
        .collect()
}

/// Variance of ln heat time by the scatter of single readings and the bore.
pub(super) fn scatter_variance(
    blend: &BlendCalibration,
    asked: &AskedHeatTime,
    gradient: &HeatTimeGradient,
) -> f64 {
    // Stated standard deviations say how well each reading was taken, not how syringes differ.
    let reading_sd = match blend.error {
        ErrorModel::Given => 0.0,
        ErrorModel::Relative | ErrorModel::Absolute => blend.fit.residual_sd,
    };
    let needle = &asked.setup.needle;
    // A rectangular tolerance has the standard deviation a/sqrt(3): JCGM 100:2008, 4.3.7.
    let rectangular = |slope: f64, half_width: f64| (slope * half_width).powi(2) / 3.0;
    let doubts = &asked.setup.doubts;
    (gradient.by_deviation * reading_sd).powi(2)
        + rectangular(
            gradient.by_ln_bore,
            needle.bore_tolerance_m.unwrap_or(0.0) / needle.bore_m,
        )
        + rectangular(gradient.by_friction_n, doubts.friction_tolerance_n)
        + rectangular(gradient.by_ln_flow, doubts.flow_tolerance_ratio)
        + rectangular(gradient.by_set_kelvin, doubts.block_tolerance_k)
}

/// 95 % interval of a time from the variance of its logarithm.
fn interval_s(time_s: f64, variance: f64, freedom: usize) -> [f64; 2] {
    let half = t_quantile(0.975, freedom).unwrap_or(f64::INFINITY) * variance.max(0.0).sqrt();
    [time_s * (-half).exp(), time_s * half.exp()]
}

fn warnings(blend: &BlendCalibration, question: &NextQuestion, extrapolated: bool) -> Vec<Warning> {
    let mut found = Vec::new();
    if question.invented {
        found.push(Warning::new(
            "invented_data",
            "This calibration stands on invented data: the answer is for learning the tool, for nothing else.",
        ));
    }
    if extrapolated {
        found.push(Warning::new(
            "extrapolated",
            "Extrapolated: the asked answer lies outside what was measured, where nobody knows whether the fitted law goes on.",
        ));
    }
    for code in ["one_lot", "lots_pooled", "few_lots"] {
        found.extend(blend.warnings.iter().filter(|w| w.code == code).cloned());
    }
    if let Some(asked) = &question.asked
        && asked.warm_up.clone().unwrap_or(blend.warm_up()) == WarmUp::None
    {
        found.push(no_warm_up());
    }
    found
}
