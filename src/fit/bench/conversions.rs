//! Conversion of every row at a set of parameters, and its derivatives.

use super::rows::BenchRows;
use crate::fit::parameter::ParameterName;
use crate::kinetics::{ReactionOrder, conversion};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::{HeatDose, TemperatureHistory, WarmUp, relative_rate};
use std::sync::Arc;

/// Parameters on which a conversion depends, in the order of the derivatives below.
pub(super) const TIMING: [ParameterName; 5] = [
    ParameterName::RateRef,
    ParameterName::ActivationEnergy,
    ParameterName::Order,
    ParameterName::DoseLag,
    ParameterName::WarmUp,
];

/// Numbers of one evaluation.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Timing {
    pub(super) ln_rate: f64,
    pub(super) energy_j_per_mol: f64,
    pub(super) order: f64,
    pub(super) dose_lag_s: f64,
    pub(super) warm_up: WarmUp,
    pub(super) reference_kelvin: f64,
}

/// Conversions of all rows, with derivatives by `ln k`, `E/(R T_ref)`, order, `ln theta_lag` and
/// `ln tau`; the last three only where they are fitted.
#[derive(Debug, Clone, Default)]
pub(super) struct Conversions {
    pub(super) fraction: Vec<f64>,
    pub(super) unset: Vec<f64>,
    pub(super) by: [Vec<f64>; 5],
    points: Vec<Point>,
    doses: Doses,
    /// Whether order, dose lag and warm-up are wanted too.
    extended: bool,
}

/// Heat doses of all points, kept while only rate, order or dose lag change: the grid tries many
/// rates at one energy, and a dose by conduction costs far more than the conversion that follows.
#[derive(Debug, Clone, Default)]
struct Doses {
    /// What they were computed with: energy, reference temperature, warm-up.
    made_with: Option<(f64, f64, WarmUp)>,
    /// Share of each shell.
    shares: Vec<f64>,
    /// Point by point, shell by shell.
    values: Vec<HeatDose>,
}

impl Doses {
    fn refresh(&mut self, rows: &BenchRows, timing: &Timing) {
        let current = self
            .made_with
            .as_ref()
            .is_some_and(|(energy, reference, warm_up)| {
                *energy == timing.energy_j_per_mol
                    && *reference == timing.reference_kelvin
                    && is_same(warm_up, &timing.warm_up)
            });
        if current {
            return;
        }
        self.values.clear();
        let mut place_before = usize::MAX;
        let mut clock = None;
        for &(place, time_s) in &rows.points {
            if place != place_before {
                place_before = place;
                clock = Some(timing.warm_up.dose_clock(
                    rows.temperatures_kelvin[place],
                    timing.energy_j_per_mol,
                    timing.reference_kelvin,
                ));
            }
            let Some(clock) = &clock else { continue };
            self.shares.clear();
            self.shares.extend_from_slice(clock.shares());
            let shells = 0..clock.shares().len();
            self.values
                .extend(shells.map(|shell| clock.shell_dose(shell, time_s)));
        }
        self.made_with = Some((
            timing.energy_j_per_mol,
            timing.reference_kelvin,
            timing.warm_up.clone(),
        ));
    }
}

/// Whether two warm-ups are one; histories are compared by where they lie, not sample by sample.
fn is_same(one: &WarmUp, other: &WarmUp) -> bool {
    match (one.as_sampled(), other.as_sampled()) {
        (Some(one), Some(other)) => Arc::ptr_eq(one, other),
        (None, None) => one == other,
        _ => false,
    }
}

#[derive(Debug, Clone, Copy, Default)]
struct Point {
    fraction: f64,
    unset: f64,
    by: [f64; 5],
}

impl Conversions {
    pub(super) fn new(rows: &BenchRows, extended: bool) -> Self {
        let count = rows.len();
        let column = |wanted: bool| if wanted { vec![0.0; count] } else { Vec::new() };
        Self {
            fraction: column(true),
            unset: column(true),
            by: [
                column(true),
                column(true),
                column(extended),
                column(extended),
                column(extended),
            ],
            points: vec![Point::default(); rows.points.len()],
            doses: Doses::default(),
            extended,
        }
    }

    /// Computes all rows.
    pub(super) fn compute(&mut self, rows: &BenchRows, timing: &Timing) {
        let plain = timing.warm_up == WarmUp::None
            && timing.dose_lag_s == 0.0
            && timing.order == 1.0
            && !self.extended;
        if plain {
            self.first_order_points(rows, timing);
        } else {
            self.general_points(rows, timing);
        }
        let by = self.by.split_at_mut(2);
        let ([by_rate, by_energy], extra) = (by.0, by.1) else {
            return;
        };
        let targets = self
            .fraction
            .iter_mut()
            .zip(&mut self.unset)
            .zip(by_rate.iter_mut().zip(by_energy.iter_mut()));
        for (&place, ((fraction, unset), (rate, energy))) in rows.point_of_row.iter().zip(targets) {
            let point = &self.points[place];
            *fraction = point.fraction;
            *unset = point.unset;
            *rate = point.by[0];
            *energy = point.by[1];
        }
        for (which, column) in extra.iter_mut().enumerate() {
            for (value, &place) in column.iter_mut().zip(&rows.point_of_row) {
                *value = self.points[place].by[which + 2];
            }
        }
    }

    /// Order 1, no lag of any kind: the case of nearly every fit, kept lean.
    fn first_order_points(&mut self, rows: &BenchRows, timing: &Timing) {
        let rate = timing.ln_rate.exp();
        let mut place_before = usize::MAX;
        let (mut rate_here, mut energy_share) = (0.0, 0.0);
        for (point, &(place, time_s)) in self.points.iter_mut().zip(&rows.points) {
            if place != place_before {
                place_before = place;
                let kelvin = rows.temperatures_kelvin[place];
                let reference = timing.reference_kelvin;
                rate_here = rate * relative_rate(kelvin, reference, timing.energy_j_per_mol);
                // d ln k / d (E/(R T_ref)) = -T_ref (1/T - 1/T_ref)
                energy_share = 1.0 - reference / kelvin;
            }
            let rate_dose = rate_here * time_s;
            let unset = (-rate_dose).exp();
            let by_ln = rate_dose * unset;
            point.fraction = 1.0 - unset;
            point.unset = unset;
            point.by[0] = by_ln;
            point.by[1] = by_ln * energy_share;
        }
    }

    fn general_points(&mut self, rows: &BenchRows, timing: &Timing) {
        let rate = timing.ln_rate.exp();
        let reference = timing.reference_kelvin;
        let thermal_energy = GAS_CONSTANT_J_PER_MOL_K * reference;
        let tau_s = timing
            .warm_up
            .as_lag()
            .map_or(0.0, |lag| lag.time_constant_s);
        self.doses.refresh(rows, timing);
        let Doses { shares, values, .. } = &self.doses;
        let by_point = values.chunks_exact(shares.len().max(1));
        for (point, doses) in self.points.iter_mut().zip(by_point) {
            // The mean over the volume: a needle mixes what was set unevenly.
            *point = Point::default();
            for (dose, share) in doses.iter().zip(shares) {
                let counted_s = dose.dose_s - timing.dose_lag_s;
                if counted_s <= 0.0 {
                    continue;
                }
                let c = conversion(ReactionOrder(timing.order), rate * counted_s);
                let by_ln = c.by_ln_rate_dose;
                let by = [
                    by_ln,
                    by_ln * dose.by_activation_energy_s_mol_per_j / counted_s * thermal_energy,
                    c.by_order,
                    -by_ln * timing.dose_lag_s / counted_s,
                    by_ln * dose.by_lag_ratio * tau_s / counted_s,
                ];
                point.fraction += share * c.fraction;
                for (sum, part) in point.by.iter_mut().zip(by) {
                    *sum += share * part;
                }
            }
            point.unset = 1.0 - point.fraction;
        }
    }
}
