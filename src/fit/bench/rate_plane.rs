//! Sums of squares over a plane of rates and activation energies, from one table a temperature.
//!
//! The fit needs no start from anybody: the lowest hollows of the plane are followed to their ends.

use super::grid::{ENERGY_LIMITS_J_PER_MOL, SURELY_LOST_RATIO, Start};
use super::model::BenchModel;
use super::rate_tables::{BLOCK, Place, RateTables};
use super::rows::BenchRows;
use crate::fit::least_squares::in_wide_registers;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use std::f64::consts::LN_2;
use std::ops::Range;

/// Energies step so that the rate between the extreme temperatures turns by at most this power of e:
/// a little over one rung on either side of the middle.
const ENERGY_STEP_EXPONENT: f64 = 1.5;
/// Largest number of energies.
const MOST_ENERGIES: usize = 48;
/// Most cells of a line: a thousand decades.
const WIDEST: usize = 4096;
/// Most hollows that are followed to their end.
const MOST_HOLLOWS: usize = 16;
/// The plane: sums of squares, a line an energy.
#[derive(Debug, Clone)]
pub(super) struct RatePlane {
    tables: RateTables,
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
        let tables = RateTables::new(model, rows, reference_kelvin)?;
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
        let mut places = vec![Place::default(); tables.count()];
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
            start.search[0] += rungs * LN_2 - shift * self.tables.middle_share();
            start.search[1] += shift;
        }
        start
    }

    /// Points that lie no higher than their neighbours, the lowest first, without those that have
    /// lost already.
    pub(super) fn hollows(&self) -> Vec<Start> {
        let mut places = Vec::with_capacity(MOST_HOLLOWS);
        // Where no line explains anything there is nothing to follow.
        let floor = self.tables.whole() * (1.0 - 1e-6);
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
