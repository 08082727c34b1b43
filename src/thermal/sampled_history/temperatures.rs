//! Temperatures of the shells: at one moment, at every sample, after a cooling.

use super::SampledHistory;
use crate::thermal::dose_clock::DoseClock;
use crate::thermal::dose_table::TabledClock;
use crate::thermal::sampled_clock::SampledClock;
use crate::thermal::temperature_history::TemperatureHistory;
use std::sync::Arc;

impl SampledHistory {
    /// Temperature of a shell, in K, `time_s` after the beginning of the samples.
    pub(in crate::thermal) fn shell_kelvin(
        &self,
        shell: usize,
        set_kelvin: f64,
        time_s: f64,
    ) -> f64 {
        let start = self.declared.start_kelvin;
        let by_air = self.aired.as_ref().map_or(0.0, |aired| {
            (aired.room_kelvin - start) * self.sample_at(&aired.fractions, shell, time_s)
        });
        start + (set_kelvin - start) * self.sample_at(&self.warmed, shell, time_s) + by_air
    }

    /// A sampled course of a shell between its samples.
    fn sample_at(&self, courses: &[f64], shell: usize, time_s: f64) -> f64 {
        let samples = self.times.sample_count();
        let course = &courses[shell * samples..(shell + 1) * samples];
        let nodes = &self.times.node_s;
        let after = nodes.partition_point(|node| *node <= time_s);
        match (after.checked_sub(1), nodes.get(after)) {
            (Some(before), Some(next)) => {
                // The parabola through both nodes and the middle between them.
                let way = (time_s - nodes[before]) / (next - nodes[before]);
                let [low, middle, high] = [0, 1, 2].map(|i| course[2 * before + i]);
                let rest = 1.0 - way;
                rest * (rest - way) * low + 4.0 * rest * way * middle + way * (way - rest) * high
            }
            (Some(_), None) => course[samples - 1],
            _ => course[0],
        }
    }

    /// Temperature of the innermost shell at the end of the cooling that counts after a heat time, in
    /// K; nothing where none does.
    #[must_use]
    pub fn core_after_cooling_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> Option<f64> {
        let cooling = self.cooling.as_ref()?;
        let time_s = clock_time_s + self.clock_delay_s;
        let start_s = |i: usize| self.times.node_s[cooling.from_nodes[i]];
        let starts = cooling.from_nodes.len();
        let end_kelvin = |start: usize| {
            let mut kelvin = Vec::new();
            self.cooling_kelvin(set_kelvin, start, &mut kelvin);
            kelvin.get(cooling.times.sample_count() - 1).copied()
        };
        let after = (0..starts).take_while(|i| start_s(*i) <= time_s).count();
        let before = end_kelvin(after.checked_sub(1)?)?;
        if after == starts {
            return Some(before);
        }
        let way = (time_s - start_s(after - 1)) / (start_s(after) - start_s(after - 1));
        Some(before + way * (end_kelvin(after)? - before))
    }

    /// Temperatures of the samples while heating, shell by shell.
    pub(in crate::thermal) fn heating_kelvin(&self, set_kelvin: f64, kelvin: &mut Vec<f64>) {
        let start = self.declared.start_kelvin;
        let rise = set_kelvin - start;
        kelvin.clear();
        kelvin.extend(self.warmed.iter().map(|u| start + rise * u));
        if let Some(aired) = &self.aired {
            let fall = aired.room_kelvin - start;
            for (kelvin, share) in kelvin.iter_mut().zip(&aired.fractions) {
                *kelvin += fall * share;
            }
        }
    }

    /// Temperatures of the samples of the cooling from one of its starts, shell by shell.
    pub(in crate::thermal) fn cooling_kelvin(
        &self,
        set_kelvin: f64,
        place: usize,
        kelvin: &mut Vec<f64>,
    ) {
        kelvin.clear();
        let Some(cooling) = &self.cooling else { return };
        let start = self.declared.start_kelvin;
        let (rise, fall) = (set_kelvin - start, cooling.ambient_kelvin - start);
        let size = self.shares.len() * cooling.times.sample_count();
        let here = place * size..(place + 1) * size;
        let left = &cooling.left[here.clone()];
        let taken = if cooling.taken.len() == size {
            &cooling.taken[..]
        } else {
            &cooling.taken[here]
        };
        kelvin.extend(
            left.iter()
                .zip(taken)
                .map(|(b, g)| start + rise * b + fall * g),
        );
    }
}

impl TemperatureHistory for Arc<SampledHistory> {
    fn temperature_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        let time_s = clock_time_s + self.clock_delay_s;
        (0..self.shares.len())
            .map(|shell| self.shares[shell] * self.shell_kelvin(shell, set_kelvin, time_s))
            .sum()
    }

    fn dose_clock(
        &self,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> DoseClock {
        let tabled = TabledClock::new(
            self,
            set_kelvin,
            activation_energy_j_per_mol,
            reference_kelvin,
        );
        if let Some(tabled) = tabled {
            return DoseClock::Tabled(tabled);
        }
        DoseClock::Sampled(Box::new(SampledClock::new(
            Self::clone(self),
            set_kelvin,
            activation_energy_j_per_mol,
            reference_kelvin,
        )))
    }
}
