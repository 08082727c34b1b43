//! Sums of squares over a plane of rates and activation energies, from one table a temperature.
//!
//! With no lag and first order, all that a row knows of rate and energy is the rate at its own
//! temperature. The sums that a straight line in the unset fraction asks for are therefore tabled
//! once for each temperature, over rates that double; a point of the plane adds up one place of
//! each table. So a plane of hundreds of points costs little more than its tables.

use super::grid::{ENERGY_LIMITS_J_PER_MOL, SURELY_LOST_RATIO, Start};
use super::model::BenchModel;
use super::rows::BenchRows;
use crate::fit::least_squares::{dot, in_wide_registers};
use crate::kinetics::unset_fractions;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use std::f64::consts::LN_2;
use std::ops::Range;

/// Energies step so that the rate between the extreme temperatures turns by at most this power of e:
/// a little over one rung on either side of the middle.
const ENERGY_STEP_EXPONENT: f64 = 1.5;
/// Largest number of energies.
const MOST_ENERGIES: usize = 48;
/// Most rates at one energy: ten decades.
const MOST_RATES: i64 = 33;
/// Most cells of a line: a thousand decades.
const WIDEST: usize = 4096;
/// Most hollows that are followed to their end.
const MOST_HOLLOWS: usize = 16;
/// Rates taken at a time.
const BLOCK: usize = 8;
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

/// The plane: sums of squares, a line an energy.
#[derive(Debug, Clone)]
pub(super) struct RatePlane {
    tables: Tables,
    energy_ratios: Vec<f64>,
    /// Rungs that are looked at on each line.
    windows: Vec<Range<i64>>,
    /// The rung of the first cell but one of each line; cells outside a window are infinite.
    first_rung: i64,
    width: usize,
    cells: Vec<f64>,
}

impl RatePlane {
    /// Looks at the whole plane; `None` for a bench that was never heated, or at temperatures so far
    /// apart that no plane holds them all.
    ///
    /// # Valid for
    /// A model whose response is a straight line in the unset fraction of a first-order reaction
    /// without lag, both ends solved for.
    pub(super) fn new(model: &BenchModel<'_>, rows: &BenchRows) -> Option<Self> {
        let reference_kelvin = model.shape().reference_kelvin;
        let tables = Tables::new(model, rows, reference_kelvin)?;
        let energy_ratios = energy_ratios(rows, reference_kelvin);
        let windows: Vec<Range<i64>> = energy_ratios.iter().map(|e| tables.window(*e)).collect();
        let first = windows.iter().map(|w| w.start).min()?;
        let last = windows.iter().map(|w| w.end).max()?;
        // At either end of a line one cell more, so that every window has neighbours.
        let width = (last - first) as usize + 2;
        if width > WIDEST {
            return None;
        }
        let mut plane = Self {
            cells: vec![f64::INFINITY; width * energy_ratios.len()],
            tables,
            energy_ratios,
            windows,
            first_rung: first,
            width,
        };
        plane.fill();
        Some(plane)
    }

    fn fill(&mut self) {
        let lines = self.cells.chunks_exact_mut(self.width);
        let lines = lines.zip(self.energy_ratios.iter().zip(&self.windows));
        let (tables, first_rung) = (&self.tables, self.first_rung);
        let mut places = vec![Place::default(); tables.tables.len()];
        in_wide_registers(
            #[inline(always)]
            || {
                for (line, (energy, window)) in lines {
                    let from = (window.start - first_rung) as usize + 1;
                    let count = (window.end - window.start) as usize;
                    let (blocks, _) = line[from..from + count].as_chunks_mut::<BLOCK>();
                    tables.find_places(*energy, window.start, &mut places);
                    for block in blocks {
                        tables.write_sums_of_squares(&mut places, block);
                    }
                }
            },
        );
    }

    /// Columns of a line that are looked at.
    fn columns(&self, line: usize) -> Range<usize> {
        let window = &self.windows[line];
        let place = |rung: i64| (rung - self.first_rung) as usize + 1;
        place(window.start)..place(window.end)
    }

    fn start(&self, line: usize, column: usize) -> Start {
        let energy_ratio = self.energy_ratios[line];
        let rung = self.first_rung + column as i64 - 1;
        Start {
            search: vec![self.tables.ln_rate_ref(energy_ratio, rung), energy_ratio],
            sum_of_squares: self.cells[line * self.width + column],
        }
    }

    /// The start at a hollow, moved to the lowest point of the paraboloid through the cells around,
    /// where that has one within them.
    fn start_in_hollow(&self, line: usize, column: usize) -> Start {
        let mut start = self.start(line, column);
        if line == 0 || line + 1 == self.energy_ratios.len() {
            return start;
        }
        let place = line * self.width + column;
        let row = |place: usize| {
            [
                self.cells[place - 1],
                self.cells[place],
                self.cells[place + 1],
            ]
        };
        let [below, here, above] = [row(place - self.width), row(place), row(place + self.width)];
        let by_rate = (here[2] - here[0]) / 2.0;
        let by_energy = (above[1] - below[1]) / 2.0;
        let rate_twice = here[2] - 2.0 * here[1] + here[0];
        let energy_twice = above[1] - 2.0 * here[1] + below[1];
        let mixed = (above[2] - above[0] - below[2] + below[0]) / 4.0;
        let determinant = rate_twice * energy_twice - mixed * mixed;
        let rungs = (mixed * by_energy - energy_twice * by_rate) / determinant;
        let lines = (mixed * by_rate - rate_twice * by_energy) / determinant;
        // Not so where a neighbour is infinite, or the paraboloid has no lowest point.
        if determinant > 0.0 && rungs.abs() <= 1.0 && lines.abs() <= 1.0 {
            let energy_step = self.energy_ratios[line + 1] - self.energy_ratios[line];
            let shift = lines * energy_step;
            start.search[0] += rungs * LN_2 - shift * self.tables.middle_share;
            start.search[1] += shift;
        }
        start
    }

    /// Points that lie no higher than their neighbours, the lowest first, without those that have
    /// lost already.
    pub(super) fn hollows(&self) -> Vec<Start> {
        let mut places = Vec::with_capacity(MOST_HOLLOWS);
        // Where no line explains anything there is nothing to follow.
        let floor = self.tables.whole * (1.0 - 1e-6);
        let mut lowest = f64::INFINITY;
        for line in 0..self.energy_ratios.len() {
            for column in self.columns(line) {
                let here = self.cells[line * self.width + column];
                let contends = here < floor && here <= SURELY_LOST_RATIO * lowest;
                if contends && is_hollow(&self.cells, self.width, line, column) {
                    lowest = lowest.min(here);
                    places.push((here, line, column));
                }
            }
        }
        let mut found: Vec<Start> = places
            .into_iter()
            .filter(|(here, ..)| *here <= SURELY_LOST_RATIO * lowest)
            .map(|(_, line, column)| self.start_in_hollow(line, column))
            .collect();
        found.sort_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares));
        found.truncate(MOST_HOLLOWS);
        found
    }

    /// The lowest points of each energy's line, the lowest first.
    pub(super) fn valleys(&self) -> Vec<Start> {
        let mut found = Vec::new();
        for line in 0..self.energy_ratios.len() {
            let cells = &self.cells[line * self.width..(line + 1) * self.width];
            for column in self.columns(line) {
                if cells[column] < cells[column - 1] && cells[column] <= cells[column + 1] {
                    found.push(self.start(line, column));
                }
            }
        }
        found.sort_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares));
        found
    }
}

/// Whether none of the eight cells around is lower, nor any before it as low: of a level floor the
/// first cell counts.
fn is_hollow(cells: &[f64], width: usize, line: usize, column: usize) -> bool {
    let place = line * width + column;
    let here = cells[place];
    let before = |place: usize| cells[place - 1..=place + 1].iter().all(|c| here < *c);
    let after = |place: usize| cells[place - 1..=place + 1].iter().all(|c| here <= *c);
    here < cells[place - 1]
        && here <= cells[place + 1]
        && (line == 0 || before(place - width))
        && (place + width + 1 >= cells.len() || after(place + width))
}

/// `E/(R T_ref)` of the energies looked at.
fn energy_ratios(rows: &BenchRows, reference_kelvin: f64) -> Vec<f64> {
    let inverse = |t: Option<&f64>| 1.0 / t.copied().unwrap_or(reference_kelvin);
    let span = inverse(rows.temperatures_kelvin.first()) - inverse(rows.temperatures_kelvin.last());
    let (low, high) = ENERGY_LIMITS_J_PER_MOL;
    let step = ENERGY_STEP_EXPONENT * GAS_CONSTANT_J_PER_MOL_K / span.max(1e-9);
    let count = (((high - low) / step).ceil() as usize).clamp(3, MOST_ENERGIES);
    let thermal_energy = GAS_CONSTANT_J_PER_MOL_K * reference_kelvin;
    (0..count)
        .map(|i| (low + (high - low) * (i as f64 + 0.5) / count as f64) / thermal_energy)
        .collect()
}

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
struct Tables {
    tables: Vec<Table>,
    sums: Vec<f64>,
    /// Mean of the tables' shares over the doses: along it rate and energy trade off the least.
    middle_share: f64,
    weight: f64,
    /// Sum of squares about the mean: what no line explains.
    whole: f64,
}

impl Tables {
    fn new(model: &BenchModel<'_>, rows: &BenchRows, reference_kelvin: f64) -> Option<Self> {
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
    fn window(&self, energy_ratio: f64) -> Range<i64> {
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
    fn ln_rate_ref(&self, energy_ratio: f64, rung: i64) -> f64 {
        rung as f64 * LN_2 - energy_ratio * self.middle_share
    }

    /// Where a rung of the plane lies in each table.
    #[inline(always)]
    fn find_places(&self, energy_ratio: f64, rung: i64, places: &mut [Place]) {
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
    fn write_sums_of_squares(&self, places: &mut [Place], block: &mut [f64; BLOCK]) {
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
struct Place {
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
        let tables = Tables::new(problem.model(), &rows, 346.15).unwrap();
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
