//! Tables of the sums that a straight line in the unset fraction asks for, one a temperature.
//!
//! With no lag and first order, all that a row knows of rate and energy is the rate at its own
//! temperature. So the sums are tabled once for each temperature, over rates that double; a point of
//! the plane of rates and energies adds up one place of each table, and hundreds of points cost
//! little more than the tables.

use super::model::BenchModel;
use super::rows::BenchRows;
use crate::fit::least_squares::{dot, in_wide_registers};
use crate::kinetics::unset_fractions;
use std::f64::consts::LN_2;
use std::ops::Range;

/// Most rates at one energy: ten decades.
const MOST_RATES: i64 = 33;
/// Rates taken at a time.
pub(super) const BLOCK: usize = 8;
/// Rungs written at a time: rates of 1, 2, 4 and 8, whose unset fractions to the power of 16 are
/// those of the next four.
const LANES: usize = 4;
/// Rate dose at the lowest rung and the longest time, `2^-10`: next to nothing has set, even beside
/// the 0.1 of the hottest temperature at the lowest rates looked at.
const LEAST_RATE_DOSE: f64 = 9.765_625e-4;
/// Rungs beside the doublings from the longest time to the shortest: up to a rate dose of `2^4`,
/// where all has set but `exp(-16)`.
const RUNGS_BESIDE: f64 = 14.0;
/// Most rungs: 19 decades.
const MOST_RUNGS: usize = 64;
/// Rungs like the lowest below it, and like the highest above it, so that a block that leaves the
/// table reads what holds there.
const PADDING: usize = BLOCK + 1;

/// The table of one temperature.
#[derive(Debug, Clone, Copy)]
struct Table {
    /// `1 - T_ref/T`: the derivative of `ln k` by `E/(R T_ref)`.
    share: f64,
    /// Logarithm of the rate at the lowest rung.
    ln_first_rate: f64,
    /// Logarithms of shortest and longest time.
    ln_times: (f64, f64),
    rungs: usize,
    /// Where the sums begin: the padded sums of u, then of u^2, then of u y.
    begins: usize,
}

/// Tables of all temperatures, with weights squared as factors throughout.
#[derive(Debug, Clone)]
pub(super) struct RateTables {
    tables: Vec<Table>,
    sums: Vec<f64>,
    /// Mean of the tables' shares over the doses: along it rate and energy trade off the least.
    middle_share: f64,
    weight: f64,
    /// Sum of squares about the mean: what no line explains.
    whole: f64,
}

impl RateTables {
    /// Tables of all temperatures; `None` for a bench that was never heated.
    pub(super) fn new(
        model: &BenchModel<'_>,
        rows: &BenchRows,
        reference_kelvin: f64,
    ) -> Option<Self> {
        // Squared weight and weighted response of each point: replicates are one.
        let mut points = vec![Point::default(); rows.points.len()];
        let (weights, responses) = (model.weights(), model.weighted_response());
        let weight = dot(weights, weights);
        let mean = dot(weights, responses) / weight;
        let mut whole = 0.0;
        let cells = weights.iter().zip(responses);
        for (&place, (w, y)) in rows.point_of_row.iter().zip(cells) {
            let left = y - w * mean;
            whole += left * left;
            points[place].weight += w * w;
            points[place].response += w * left;
        }
        let mut share_sum = 0.0;
        let mut tables = Vec::with_capacity(rows.temperatures_kelvin.len());
        let mut rate_doses = Vec::with_capacity(points.len());
        let mut begins = 0;
        let ln_least_rate_dose = LEAST_RATE_DOSE.ln();
        for group in rows.points.chunk_by(|a, b| a.0 == b.0) {
            let positive = group.iter().map(|p| p.1).filter(|time_s| *time_s > 0.0);
            let (least, most) =
                positive.fold((f64::INFINITY, 0.0_f64), |(l, m), t| (l.min(t), m.max(t)));
            // Where nothing was heated at all, one table of unset fractions 1 serves every rate.
            let (ln_least, ln_most) = (least.ln(), most.ln());
            let (first_rate, doublings) = if most > 0.0 {
                let doublings = (ln_most - ln_least) / LN_2 + RUNGS_BESIDE;
                (LEAST_RATE_DOSE / most, doublings)
            } else {
                (0.0, 1.0)
            };
            let rungs = (doublings as usize + 1)
                .next_multiple_of(LANES)
                .min(MOST_RUNGS);
            rate_doses.extend(group.iter().map(|p| first_rate * p.1));
            let share = 1.0 - reference_kelvin / rows.temperatures_kelvin[group[0].0];
            share_sum += share * group.len() as f64;
            tables.push(Table {
                share,
                ln_first_rate: if most > 0.0 {
                    ln_least_rate_dose - ln_most
                } else {
                    0.0
                },
                ln_times: (ln_least, ln_most),
                rungs,
                begins,
            });
            begins += 3 * (rungs + 2 * PADDING);
        }
        // A bench that was never heated has no rate to look at.
        let was_heated = tables.iter().any(|t| t.ln_times.1.is_finite());
        if !was_heated {
            return None;
        }
        let mut unset = vec![0.0; rate_doses.len()];
        unset_fractions(&mut rate_doses, &mut unset);
        for (point, u) in points.iter_mut().zip(&unset) {
            point.unset[0] = *u;
            for lane in 1..LANES {
                point.unset[lane] = point.unset[lane - 1] * point.unset[lane - 1];
            }
        }
        let mut found = Self {
            tables,
            sums: vec![0.0; begins],
            middle_share: share_sum / rows.points.len() as f64,
            weight,
            whole,
        };
        found.fill(&mut points, rows);
        Some(found)
    }

    /// How many tables there are.
    pub(super) fn count(&self) -> usize {
        self.tables.len()
    }

    /// Mean of `1 - T_ref/T`: along it rate and energy trade off the least.
    pub(super) fn middle_share(&self) -> f64 {
        self.middle_share
    }

    /// Sum of squares that no line explains.
    pub(super) fn whole(&self) -> f64 {
        self.whole
    }

    /// Writes all tables.
    fn fill(&mut self, points: &mut [Point], rows: &BenchRows) {
        let Self { tables, sums, .. } = self;
        in_wide_registers(
            #[inline(always)]
            || {
                let mut rest = points;
                for (table, group) in tables.iter().zip(rows.points.chunk_by(|a, b| a.0 == b.0)) {
                    let (here, after) = std::mem::take(&mut rest).split_at_mut(group.len());
                    rest = after;
                    table.fill(here, sums);
                }
            },
        );
    }

    /// Rungs that the rates span at an energy, in whole blocks: from 'hardly anything has set at the
    /// longest dose' to 'nearly all at the shortest'.
    pub(super) fn window(&self, energy_ratio: f64) -> Range<i64> {
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for table in &self.tables {
            least = least.min(table.ln_times.0 + energy_ratio * table.share);
            most = most.max(table.ln_times.1 + energy_ratio * table.share);
        }
        let middle = energy_ratio * self.middle_share;
        let rung = |ln_rate_ref: f64| ((ln_rate_ref + middle) / LN_2).clamp(-1e6, 1e6);
        let from = rung(0.1_f64.ln() - most).floor() as i64;
        let to = rung(2.0_f64.ln() - least).ceil() as i64;
        let count = (to - from).clamp(1, MOST_RATES);
        from..from + (count as usize).next_multiple_of(BLOCK) as i64
    }

    /// The rate at the reference temperature: rungs count doublings of the rate in the middle.
    pub(super) fn ln_rate_ref(&self, energy_ratio: f64, rung: i64) -> f64 {
        rung as f64 * LN_2 - energy_ratio * self.middle_share
    }

    /// Where a rung of the plane lies in each table.
    #[inline(always)]
    pub(super) fn find_places(&self, energy_ratio: f64, rung: i64, places: &mut [Place]) {
        let ln_rate_ref = self.ln_rate_ref(energy_ratio, rung);
        for (place, table) in places.iter_mut().zip(&self.tables) {
            let ln_rate = ln_rate_ref + energy_ratio * table.share;
            let whole = (ln_rate - table.ln_first_rate) * (1.0 / LN_2) + PADDING as f64;
            let below = whole.floor();
            *place = Place {
                below: below as i32,
                fraction: whole - below,
            };
        }
    }

    /// Sums of squares about the best straight line in the unset fraction at a block of rungs, and
    /// moves the places on to the next.
    #[inline(always)]
    pub(super) fn write_sums_of_squares(&self, places: &mut [Place], block: &mut [f64; BLOCK]) {
        let mut sums = [[0.0; BLOCK]; 3];
        for (table, place) in self.tables.iter().zip(places) {
            table.add(place, &self.sums, &mut sums);
            place.below = place.below.saturating_add(BLOCK as i32);
        }
        let [unset, squares, cross] = sums;
        let inverse_weight = 1.0 / self.weight;
        for i in 0..BLOCK {
            let spread = squares[i] - unset[i] * unset[i] * inverse_weight;
            let left = self.whole - cross[i] * cross[i] / spread;
            let left = if left > 0.0 { left } else { 0.0 };
            block[i] = if spread > 1e-12 * squares[i] {
                left
            } else {
                self.whole
            };
        }
    }
}

/// Where a rate lies in a table: the rung below it, and the share of the way to the next.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Place {
    below: i32,
    fraction: f64,
}

/// A dose: its unset fraction at four rungs, its squared weight, and its response less the mean,
/// weighted twice.
#[derive(Debug, Clone, Copy, Default)]
struct Point {
    unset: [f64; LANES],
    weight: f64,
    response: f64,
}

impl Table {
    /// Sums over the points of this temperature, rung by rung.
    #[inline(always)]
    fn fill(&self, points: &mut [Point], all: &mut [f64]) {
        let stride = self.rungs + 2 * PADDING;
        let own = &mut all[self.begins..self.begins + 3 * stride];
        let (unset, rest) = own.split_at_mut(stride);
        let (squares, cross) = rest.split_at_mut(stride);
        for first in (PADDING..PADDING + self.rungs).step_by(LANES) {
            let mut sums = [[0.0; LANES]; 3];
            for point in points.iter_mut() {
                for (lane, u) in point.unset.iter_mut().enumerate() {
                    let weighted = point.weight * *u;
                    sums[0][lane] += weighted;
                    sums[1][lane] += weighted * *u;
                    sums[2][lane] += point.response * *u;
                    let mut power = *u * *u;
                    power *= power;
                    power *= power;
                    *u = power * power;
                }
            }
            unset[first..first + LANES].copy_from_slice(&sums[0]);
            squares[first..first + LANES].copy_from_slice(&sums[1]);
            cross[first..first + LANES].copy_from_slice(&sums[2]);
        }
        for sums in [unset, squares, cross] {
            let (low, high) = (sums[PADDING], sums[PADDING + self.rungs - 1]);
            sums[..PADDING].fill(low);
            sums[PADDING + self.rungs..].fill(high);
        }
    }

    /// Adds the sums at rates that double, from a place on, each on the straight line between the
    /// rungs beside it.
    #[inline(always)]
    fn add(&self, place: &Place, all: &[f64], sums: &mut [[f64; BLOCK]; 3]) {
        let stride = self.rungs + 2 * PADDING;
        // Out there one rung is like the other.
        let below = place.below.clamp(0, (stride - PADDING - 1) as i32) as usize;
        for (which, sum) in sums.iter_mut().enumerate() {
            let from = self.begins + which * stride + below;
            let Some(near) = all
                .get(from..)
                .and_then(|r| r.first_chunk::<{ BLOCK + 1 }>())
            else {
                continue;
            };
            for i in 0..BLOCK {
                sum[i] += near[i] + place.fraction * (near[i + 1] - near[i]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::bench::{ErrorModel, Shape};
    use crate::fit::least_squares::{LeastSquaresProblem, Projection};
    use crate::kinetics::FirmnessLaw;

    /// At an activation energy of 0 every temperature has the same rate, and with longest times that
    /// are powers of 2 it is one of the rungs: there the plane is the sum of squares that the search
    /// itself sees.
    #[test]
    fn at_a_rung_the_plane_is_the_sum_of_squares_of_the_search() {
        let mut rows = Vec::new();
        for (place, celsius) in [60.0, 70.0, 75.0, 90.0].into_iter().enumerate() {
            let longest_s = 2_f64.powi(12 - 2 * place as i32);
            for (reading, share) in [(1.5, 0.0), (2.0, 0.1), (4.0, 0.4), (7.0, 1.0), (9.0, 1.0)] {
                let scatter = 1.0 + 0.1 * (place as f64 + reading).sin();
                rows.push((celsius + 273.15, share * longest_s, reading * scatter));
            }
        }
        let rows = BenchRows::new(&rows);
        let shape = Shape::new(FirmnessLaw::Log, ErrorModel::Relative, 346.15);
        let mut problem = Projection::new(BenchModel::new(&rows, shape));
        let tables = RateTables::new(problem.model(), &rows, 346.15).unwrap();
        let mut residuals = vec![0.0; rows.len()];
        let mut places = vec![Place::default(); tables.tables.len()];
        let mut block = [0.0; BLOCK];
        let mut compared = 0;
        for first in (-24..16).step_by(BLOCK) {
            tables.find_places(0.0, first, &mut places);
            tables.write_sums_of_squares(&mut places, &mut block);
            for (rung, found) in (first..).zip(block) {
                problem.residuals(&[rung as f64 * LN_2, 0.0], &mut residuals);
                let expected: f64 = residuals.iter().map(|r| r * r).sum();
                // The lowest rung of the hottest is 2^-10 over its 2^6 s. A table ends where
                // exp(-16), 1.1e-7, is left unset.
                if (-16..=2).contains(&rung) {
                    let error = (found - expected).abs() / tables.whole;
                    assert!(error < 1e-6, "rung {rung}: {found}, not {expected}");
                    compared += 1;
                }
                assert!(found >= 0.0 && found <= tables.whole, "{found}");
            }
        }
        assert!(compared == 19, "{compared}");
    }
}
