//! How often each kind of 95 % interval holds the truth on simulated benches, as a Markdown document:
//! `cargo run --release --no-default-features --example coverage`.
#![allow(clippy::print_stdout)]

use heatset::fit::bench::{BenchFit, BenchRows, Shape, fit_bench};
use heatset::fit::{ErrorModel, ParameterName, Resample, bootstrap, profile_interval, t_quantile};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Simulated benches for Student's t.
const BENCHES: usize = 4000;
/// Simulated benches, the first of them, for what takes longer: profile and bootstraps.
const BENCHES_SLOW: usize = 1000;
/// Draws of each bootstrap.
const DRAWS: usize = 1000;
/// Scatter of a reading, on the logarithm.
const SCATTER: f64 = 0.08;
const RATE_80C_PER_S: f64 = 2.2e-3;
const ENERGY_J_PER_MOL: f64 = 150e3;
const REFERENCE_KELVIN: f64 = 353.15;
const CELSIUS: [f64; 5] = [70.0, 75.0, 80.0, 85.0, 90.0];
const SEED: u64 = 20_261_125;

/// Times of reading at each of the five temperatures, in s.
type Times = &'static [f64];

const TO_THE_PLATEAU: [Times; 3] = [
    &[
        30.0, 60.0, 90.0, 120.0, 180.0, 240.0, 300.0, 360.0, 480.0, 600.0, 720.0, 900.0,
    ],
    &[30.0, 90.0, 180.0, 300.0, 480.0, 900.0],
    &[60.0, 240.0, 900.0],
];

const CUT_SHORT: [Times; 3] = [
    &[
        15.0, 30.0, 45.0, 60.0, 75.0, 90.0, 105.0, 120.0, 135.0, 150.0, 165.0, 180.0,
    ],
    &[30.0, 60.0, 90.0, 120.0, 150.0, 180.0],
    &[60.0, 120.0, 180.0],
];

#[derive(Clone, Copy)]
enum Kind {
    T,
    Profile,
    Residuals,
    Rows,
}

impl Kind {
    const ALL: [Self; 4] = [Self::T, Self::Profile, Self::Residuals, Self::Rows];

    fn in_words(self) -> &'static str {
        match self {
            Self::T => "Student's t",
            Self::Profile => "profile likelihood",
            Self::Residuals => "bootstrap, residuals",
            Self::Rows => "bootstrap, rows",
        }
    }

    fn benches(self) -> usize {
        match self {
            Self::T => BENCHES,
            Self::Profile | Self::Residuals | Self::Rows => BENCHES_SLOW,
        }
    }
}

/// Intervals of ln k_ref and E from one bench; `None` where an end is open.
type Found = [Option<[f64; 2]>; 2];

const NAMES: [ParameterName; 2] = [ParameterName::RateRef, ParameterName::ActivationEnergy];

fn simulate(times_s: Times, bench: usize) -> Vec<(f64, f64, f64)> {
    let truth = SettingModel {
        firmness: FirmnessCurve::Log {
            initial: 1.5e-3,
            plateau: 11.5,
        },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: RATE_80C_PER_S,
            activation_energy_j_per_mol: ENERGY_J_PER_MOL,
            reference_kelvin: REFERENCE_KELVIN,
        },
        dose_lag_s: 0.0,
        warm_up: WarmUp::None,
    };
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    random.set_stream(bench as u64);
    let mut rows = Vec::new();
    for celsius in CELSIUS {
        for &time in times_s {
            let error: f64 = StandardNormal.sample(&mut random);
            let set = celsius + 273.15;
            rows.push((
                set,
                time,
                truth.reading(set, time) * (SCATTER * error).exp(),
            ));
        }
    }
    rows
}

/// The intervals that the library gives for this bench; `None` where the fit finds no minimum.
fn intervals(kind: Kind, rows: &[(f64, f64, f64)], seed: u64) -> Option<Found> {
    let rows = BenchRows::new(rows);
    let shape = Shape::new(FirmnessLaw::Log, ErrorModel::Relative, REFERENCE_KELVIN);
    let fit = fit_bench(&rows, &shape);
    if !fit.termination.was_successful() {
        return None;
    }
    Some(match kind {
        Kind::T => NAMES.map(|name| by_student(&fit, name)),
        Kind::Profile => NAMES.map(|name| match profile_interval(&rows, &fit, name, 0.95) {
            [Some(low), Some(high)] => Some([low, high]),
            _ => None,
        }),
        Kind::Residuals | Kind::Rows => {
            let resample = if matches!(kind, Kind::Rows) {
                Resample::Rows
            } else {
                Resample::Residuals
            };
            let draws = bootstrap(&rows, &fit, &resample, DRAWS, seed);
            NAMES.map(|name| percentiles(&draws, place_of(&fit, name)?))
        }
    })
}

fn place_of(fit: &BenchFit, name: ParameterName) -> Option<usize> {
    fit.free.iter().position(|free| *free == name)
}

fn by_student(fit: &BenchFit, name: ParameterName) -> Option<[f64; 2]> {
    let place = place_of(fit, name)?;
    let variance = fit.covariance.as_ref()?.unscaled[[place, place]];
    let half = t_quantile(0.975, fit.degrees_of_freedom())? * variance.sqrt() * fit.residual_sd();
    let scale = name.scale(ErrorModel::Relative);
    let centre = scale.of(fit.estimates.get(name));
    Some([scale.back(centre - half), scale.back(centre + half)])
}

fn percentiles(draws: &[Vec<f64>], place: usize) -> Option<[f64; 2]> {
    let mut values: Vec<f64> = draws.iter().map(|draw| draw[place]).collect();
    values.sort_by(f64::total_cmp);
    let last = values.len().checked_sub(1)?;
    let at = |p: f64| {
        let place = p * last as f64;
        let below = values[place.floor() as usize];
        below + place.fract() * (values[place.ceil() as usize] - below)
    };
    Some([at(0.025), at(0.975)])
}

/// What became of one parameter's intervals.
#[derive(Default, Clone, Copy)]
struct Tally {
    below: usize,
    above: usize,
    open: usize,
    served: usize,
}

impl Tally {
    fn line(self) -> String {
        let closed = (self.served - self.open) as f64;
        let holds = 1.0 - (self.below + self.above) as f64 / closed;
        let error = (holds * (1.0 - holds) / closed).sqrt();
        let percent = |count: usize| 100.0 * count as f64 / closed;
        format!(
            "{:.1} ± {:.1} | {:.1} / {:.1}",
            100.0 * holds,
            100.0 * error,
            percent(self.below),
            percent(self.above)
        )
    }
}

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

fn table(title: &str, designs: &[Times]) {
    println!("\n## {title}\n");
    println!(
        "| rows | interval | benches | refused | ln k_ref: holds, % | truth under / over, % | E: holds, % | truth under / over, % | E: width, kJ/mol | open ends |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    for &times_s in designs {
        for kind in Kind::ALL {
            let found: Vec<Option<Found>> = (0..kind.benches())
                .into_par_iter()
                .map(|bench| intervals(kind, &simulate(times_s, bench), bench as u64 + 1))
                .collect();
            let refused = found.iter().filter(|f| f.is_none()).count();
            let mut tallies = [Tally::default(); 2];
            let mut widths = Vec::new();
            for pair in found.into_iter().flatten() {
                let truths = [RATE_80C_PER_S, ENERGY_J_PER_MOL];
                for ((tally, ends), truth) in tallies.iter_mut().zip(pair).zip(truths) {
                    tally.served += 1;
                    match ends {
                        Some([low, _]) if truth < low => tally.below += 1,
                        Some([_, high]) if truth > high => tally.above += 1,
                        Some(_) => {}
                        None => tally.open += 1,
                    }
                }
                if let Some([low, high]) = pair[1] {
                    widths.push((high - low) * 1e-3);
                }
            }
            println!(
                "| {} | {} | {} | {refused} | {} | {} | {:.1} | {} |",
                times_s.len() * CELSIUS.len(),
                kind.in_words(),
                kind.benches(),
                tallies[0].line(),
                tallies[1].line(),
                middle(widths),
                tallies[0].open + tallies[1].open
            );
        }
    }
}

fn main() {
    println!(
        "\
# How often a 95 % interval holds the truth

Made by this command, the same on any number of threads:

```sh
cargo run --release --no-default-features --example coverage > shared/verification/coverage.md
```

Simulated benches, nothing measured: law `log`, order 1, readings at 70, 75, 80, 85 and 90 °C, scatter \
{SCATTER} on the logarithm (normal), initial 1.5 mPa.s, plateau 11.5 Pa.s, k_ref {RATE_80C_PER_S:e} 1/s at 80 °C, \
E {} kJ/mol. The law is taken as known. After ± stands the Monte Carlo standard error; between hundreds \
of simulations a difference of two of them means nothing. A bench that the fit refuses, and an interval \
with an open end, are counted apart. Width: the median. Bootstraps: percentiles of {DRAWS} draws.",
        ENERGY_J_PER_MOL * 1e-3
    );
    table(
        "Readings from 30 s (15 rows: 60 s) to 15 min: the plateau is reached at the hotter temperatures",
        &TO_THE_PLATEAU,
    );
    table(
        "Readings end at 3 min: even at 90 °C a fifth of the way to the plateau is left",
        &CUT_SHORT,
    );
    println!("{NOTES}");
}

const NOTES: &str = "
## Where they fall short

- Student's t and the profile hold what they promise at 60, 30 and 15 rows, in both designs: on the scales \
that heatset fits (logarithms of the readings and of the rate) the model is nearly linear. They take the \
scatter to be normal and alike in all rows, which these simulations make true.
- The bootstraps run narrow where rows are few. By residuals the interval holds 91 to 92 % at 15 rows: \
percentiles know no degrees of freedom, and 4 parameters are taken from 15 rows. By rows it holds 93 to 96 % \
at 60 and 30 rows; at 15 rows 94 to 97 %, with intervals wider than Student's t, probably because some draws \
leave a temperature with one reading or none. For few rows take t or the profile; the bootstrap is for \
scatter that is not normal, or differs between rows, or comes by lots, with rows (or lots) by the dozen.
- Not shown here: a law that is wrong or chosen from the same readings, a warm-up that nobody declared, \
and lots, which make readings of one lot alike.";
