//! The contact between barrel and block, from one thermocouple run in a filled syringe.

use serde::Serialize;

use super::conduction::{RadialGrid, RadialModel, unit_heating};
use super::input_error::ThermalInputError;
use super::syringe_setup::{SyringeInput, SyringeSetup};
use super::trace::{MeasuredTrace, TracePoint};

/// Coefficients between which the search looks, in W/m2/K: from still air to a wet, tight fit.
const LOWEST: f64 = 5.0;
const HIGHEST: f64 = 5000.0;
const GRID_STEPS: u32 = 24;
/// Step of the derivative by the logarithm of the coefficient.
const LOG_STEP: f64 = 1e-3;

/// Where the thermocouple sits in the gel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ProbePlace {
    /// At r = 0.
    Core,
    /// At the wall.
    Edge,
    /// A probe so large that it reads the mean of the gel.
    Mean,
    /// At this share of the gel's radius.
    Radius(f64),
}

/// What the fit is asked with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContactQuestion {
    /// Temperature that the block was at.
    pub set_kelvin: f64,
    /// Where the thermocouple sat.
    pub probe: ProbePlace,
    /// Temperature of gel and barrel at time 0; fitted where nothing is stated.
    pub start_kelvin: Option<f64>,
    /// Range of the wall's conductivity, where it was not measured.
    pub wall_conductivity_range_w_per_m_kelvin: Option<(f64, f64)>,
}

/// A contact coefficient fitted to a trace.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ContactFit {
    /// Coefficient between barrel and block.
    #[serde(rename = "contact_W_per_m2_K")]
    pub contact_w_per_m2_kelvin: f64,
    /// Its standard error, for readings that scatter independently of each other.
    #[serde(rename = "contact_std_error_W_per_m2_K")]
    pub contact_std_error_w_per_m2_kelvin: f64,
    /// Its 95 % interval, from Student's t on its logarithm.
    #[serde(rename = "contact_ci95_W_per_m2_K")]
    pub contact_ci95_w_per_m2_kelvin: [f64; 2],
    /// Temperature at time 0, in K.
    #[serde(rename = "start_temp_K")]
    pub start_kelvin: f64,
    /// Its standard error; nothing where it was stated.
    #[serde(rename = "start_temp_std_error_K")]
    pub start_std_error_kelvin: Option<f64>,
    /// Root mean square of what the fit leaves of the readings.
    #[serde(rename = "residual_rms_K")]
    pub residual_rms_kelvin: f64,
    /// Scatter about the fit, over degrees of freedom.
    #[serde(rename = "residual_sd_K")]
    pub residual_sd_kelvin: f64,
    /// Readings that the fit stands on.
    pub points: usize,
    /// Time of the last of them; a cooling part is left out.
    pub used_until_s: f64,
    /// What the trace levels off at, less the temperature that the block was said to be at.
    #[serde(rename = "plateau_less_set_K")]
    pub plateau_less_set_kelvin: f64,
    /// False where the trace still rises at its end: it does not show what the block was at.
    pub levelled: bool,
    /// The coefficient that the same readings give, were the probe half-way between core and wall
    /// (half-way out, where it was said to sit elsewhere); nothing where none fits.
    #[serde(rename = "contact_if_off_centre_W_per_m2_K")]
    pub contact_if_off_centre_w_per_m2_kelvin: Option<f64>,
    /// The same at the ends of the range of the wall's conductivity; nothing without a wall or range.
    #[serde(rename = "contact_over_wall_conductivity_W_per_m2_K")]
    pub contact_over_wall_conductivity_w_per_m2_kelvin: Option<[f64; 2]>,
}

/// The contact coefficient that a trace asks for, by least squares.
///
/// # Equation
/// `T(t) = T_set - (T_set - T_start) [1 - U(t; h)]`, `U` the answer to a step of one
/// ([`unit_heating`]), fitted in `ln h` and, where it is not stated, `T_start`, which is linear and
/// solved for inside. One number is searched, on a grid and by golden section. Standard errors:
/// `s^2 (J^T J)^-1`, derivatives by central differences.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | h | `contact_w_per_m2_kelvin` | W/m2/K |
/// | T_set | `set_kelvin` | K |
/// | T_start | `start_kelvin` | K |
///
/// # Valid for
/// One heat stage in a block of one temperature, time 0 when the syringe went in, a syringe that
/// sits in the block as far as it is filled. The wall's resistance and the contact lie in series,
/// so an error of the one goes into the other: hence the range over the wall's conductivity.
///
/// # Errors
/// Fewer readings than unknowns and one; a change under 1 K; a best fit at an end of the search.
///
/// # Source
/// G. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413 (variable projection); D. Bates,
/// D. Watts, Nonlinear Regression Analysis and Its Applications, 1988, eq. 2.20 (standard errors;
/// from memory).
pub fn fit_contact(
    setup: &SyringeSetup,
    trace: &MeasuredTrace,
    question: ContactQuestion,
) -> Result<ContactFit, ThermalInputError> {
    trace.scale(Some(question.set_kelvin))?;
    let plateau = trace.plateau();
    let used_until_s = plateau.heating_end_s;
    let points: Vec<TracePoint> = trace
        .points()
        .iter()
        .filter(|point| point.time_s >= 0.0 && point.time_s <= used_until_s)
        .copied()
        .collect();
    let unknowns = 1 + usize::from(question.start_kelvin.is_none());
    if points.len() <= unknowns + 1 {
        return Err(ThermalInputError::TooFewPoints {
            points: points.len(),
            purpose: "a contact coefficient, from time 0 to the end of the heating",
            needed: unknowns + 2,
        });
    }
    let problem = Problem::new(setup, &points, question)?;
    let logarithm = problem.best_logarithm()?;
    let mut fit = problem.result(logarithm, unknowns)?;
    fit.used_until_s = used_until_s;
    fit.plateau_less_set_kelvin = plateau.temperature_kelvin - question.set_kelvin;
    fit.levelled = plateau.levelled;

    let elsewhere = ContactQuestion {
        probe: ProbePlace::Radius(0.5),
        ..question
    };
    fit.contact_if_off_centre_w_per_m2_kelvin = Problem::new(setup, &points, elsewhere)?
        .best_logarithm()
        .ok()
        .map(f64::exp);
    let range = question
        .wall_conductivity_range_w_per_m_kelvin
        .filter(|_| setup.barrel.has_wall());
    if let Some((low, high)) = range {
        let with = |conductivity: f64| -> Result<f64, ThermalInputError> {
            let other = setup.with(SyringeInput::WallConductivity, conductivity)?;
            let problem = Problem::new(&other, &points, question)?;
            Ok(problem.best_logarithm().map_or(f64::NAN, f64::exp))
        };
        let ends = [with(low)?, with(high)?];
        fit.contact_over_wall_conductivity_w_per_m2_kelvin =
            ends.iter().all(|end| end.is_finite()).then_some(ends);
    }
    Ok(fit)
}

struct Problem<'a> {
    model: RadialModel,
    points: &'a [TracePoint],
    times_s: Vec<f64>,
    question: ContactQuestion,
}

struct Solved {
    start_kelvin: f64,
    sum_of_squares: f64,
}

impl<'a> Problem<'a> {
    fn new(
        setup: &SyringeSetup,
        points: &'a [TracePoint],
        question: ContactQuestion,
    ) -> Result<Self, ThermalInputError> {
        Ok(Self {
            model: RadialModel::new(&setup.barrel, RadialGrid::default())?,
            points,
            times_s: points.iter().map(|point| point.time_s).collect(),
            question,
        })
    }

    /// Share of the way that the probe still has to go, by reading.
    fn to_go(&self, logarithm: f64) -> Result<Vec<f64>, ThermalInputError> {
        let unit = unit_heating(&self.model, logarithm.exp(), &self.times_s)?;
        let covered: Vec<f64> = match self.question.probe {
            ProbePlace::Core => unit.core_fractions().to_vec(),
            ProbePlace::Edge => unit.edge_fractions().to_vec(),
            ProbePlace::Mean => unit.mean_fractions().to_vec(),
            ProbePlace::Radius(share) => {
                let square_m2 = (share * self.model.barrel().gel_radius_m()).powi(2);
                let centres = &self.model.centre_radii_m()[..self.model.gel_cell_count()];
                let next = centres
                    .iter()
                    .position(|centre| centre * centre > square_m2)
                    .unwrap_or(centres.len() - 1)
                    .max(1);
                let (inner, outer) = (centres[next - 1].powi(2), centres[next].powi(2));
                // Between rings a warming cylinder is a parabola: straight in the radius squared.
                let part = (square_m2 - inner) / (outer - inner);
                unit.gel_fractions()
                    .map(|rings| rings[next - 1] + part * (rings[next] - rings[next - 1]))
                    .collect()
            }
        };
        Ok(covered.iter().map(|covered| 1.0 - covered).collect())
    }

    fn solve(&self, to_go: &[f64]) -> Solved {
        let set = self.question.set_kelvin;
        let start_kelvin = self.question.start_kelvin.unwrap_or_else(|| {
            let (mut above, mut below) = (0.0, 0.0);
            for (point, share) in self.points.iter().zip(to_go) {
                above += share * (point.temperature_kelvin - set);
                below += share * share;
            }
            set + above / below
        });
        let sum_of_squares = self
            .points
            .iter()
            .zip(to_go)
            .map(|(point, share)| {
                (point.temperature_kelvin - set - (start_kelvin - set) * share).powi(2)
            })
            .sum();
        Solved {
            start_kelvin,
            sum_of_squares,
        }
    }

    fn cost(&self, logarithm: f64) -> Result<f64, ThermalInputError> {
        Ok(self.solve(&self.to_go(logarithm)?).sum_of_squares)
    }

    fn best_logarithm(&self) -> Result<f64, ThermalInputError> {
        let step = (HIGHEST / LOWEST).ln() / f64::from(GRID_STEPS);
        let at = |place: u32| LOWEST.ln() + step * f64::from(place);
        let costs = (0..=GRID_STEPS)
            .map(|place| self.cost(at(place)))
            .collect::<Result<Vec<f64>, _>>()?;
        let best = (0..=GRID_STEPS)
            .zip(&costs)
            .min_by(|a, b| a.1.total_cmp(b.1))
            .map_or(0, |(place, _)| place);
        if best == 0 || best == GRID_STEPS {
            return Err(ThermalInputError::ContactNotFound {
                contact_w_per_m2_kelvin: at(best).exp(),
                remedy: if best == 0 {
                    "it hardly warms: was it in the block, and is time 0 when it went in?"
                } else {
                    "it warms faster than the wall lets it: look at --probe, at the wall and the bore, and at time 0"
                },
            });
        }
        let (mut left, mut right) = (at(best - 1), at(best + 1));
        let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
        let mut inner = [
            right - golden * (right - left),
            left + golden * (right - left),
        ];
        let mut cost = [self.cost(inner[0])?, self.cost(inner[1])?];
        while right - left > 1e-5 {
            if cost[0] <= cost[1] {
                right = inner[1];
                inner = [right - golden * (right - left), inner[0]];
                cost = [self.cost(inner[0])?, cost[0]];
            } else {
                left = inner[0];
                inner = [inner[1], left + golden * (right - left)];
                cost = [cost[1], self.cost(inner[1])?];
            }
        }
        Ok(0.5 * (left + right))
    }

    fn result(&self, logarithm: f64, unknowns: usize) -> Result<ContactFit, ThermalInputError> {
        let set = self.question.set_kelvin;
        let to_go = self.to_go(logarithm)?;
        let solved = self.solve(&to_go);
        let rise = solved.start_kelvin - set;
        let ahead = self.to_go(logarithm + LOG_STEP)?;
        let behind = self.to_go(logarithm - LOG_STEP)?;
        let by_contact: Vec<f64> = ahead
            .iter()
            .zip(&behind)
            .map(|(ahead, behind)| rise * (ahead - behind) / (2.0 * LOG_STEP))
            .collect();
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let (cc, cs, ss) = (
            product(&by_contact, &by_contact),
            product(&by_contact, &to_go),
            product(&to_go, &to_go),
        );
        let count = self.points.len();
        let freedom = count - unknowns;
        let variance = solved.sum_of_squares / freedom as f64;
        let (inverse_contact, inverse_start) = match self.question.start_kelvin {
            Some(_) => (1.0 / cc, None),
            None => {
                let determinant = cc * ss - cs * cs;
                (ss / determinant, Some(cc / determinant))
            }
        };
        let log_error = (variance * inverse_contact).sqrt();
        let contact = logarithm.exp();
        let half_width = student_t_975(freedom) * log_error;
        Ok(ContactFit {
            contact_w_per_m2_kelvin: contact,
            contact_std_error_w_per_m2_kelvin: contact * log_error,
            contact_ci95_w_per_m2_kelvin: [
                contact * (-half_width).exp(),
                contact * half_width.exp(),
            ],
            start_kelvin: solved.start_kelvin,
            start_std_error_kelvin: inverse_start.map(|inverse| (variance * inverse).sqrt()),
            residual_rms_kelvin: (solved.sum_of_squares / count as f64).sqrt(),
            residual_sd_kelvin: variance.sqrt(),
            points: count,
            used_until_s: 0.0,
            plateau_less_set_kelvin: 0.0,
            levelled: false,
            contact_if_off_centre_w_per_m2_kelvin: None,
            contact_over_wall_conductivity_w_per_m2_kelvin: None,
        })
    }
}

/// Student's t of 97.5 %; the normal's where there is no such distribution.
fn student_t_975(freedom: usize) -> f64 {
    use statrs::distribution::{ContinuousCDF, StudentsT};
    StudentsT::new(0.0, 1.0, freedom as f64).map_or(1.959_964, |t| t.inverse_cdf(0.975))
}
