//! Seeded draws in chunks: the same on any number of threads.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Draws to a chunk: each chunk has its own random stream, whatever thread takes it.
const CHUNK: usize = 512;

/// Propagates distributions by drawing from them: `count` answers, in the order of the draws.
///
/// `chunk` is handed a random stream of its own and the number of answers that it is to make.
///
/// # Equation
/// The empirical distribution of `y_r = f(x_1r, ..., x_Nr)`, `r = 1 ... count`, stands for that of
/// the answer; [`super::quantile`] gives the ends of its intervals.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | r | one of `count` draws | 1 |
/// | y_r | an answer | its own |
///
/// # Valid for
/// Any model and any distributions; the standard error of a probability `p` that is read off is
/// `sqrt(p (1 - p)/count)`.
///
/// # Source
/// JCGM 101:2008, clause 7.
///
/// # Example
/// ```
/// use heatset::plan::{monte_carlo, quantile};
/// use rand_distr::{Distribution, StandardNormal};
/// // JCGM 101:2008, 9.2.2: the sum of four standard normal inputs lies within -3.92 and 3.92
/// let mut sums = monte_carlo(100_000, 1, |random, count| {
///     (0..count)
///         .map(|_| {
///             let inputs: [f64; 4] = std::array::from_fn(|_| StandardNormal.sample(random));
///             inputs.iter().sum::<f64>()
///         })
///         .collect()
/// });
/// sums.sort_by(f64::total_cmp);
/// assert!((quantile(&sums, 0.025) + 3.92).abs() < 0.05);
/// assert!((quantile(&sums, 0.975) - 3.92).abs() < 0.05);
/// ```
pub fn monte_carlo<Answer: Send>(
    count: usize,
    seed: u64,
    chunk: impl Fn(&mut ChaCha8Rng, usize) -> Vec<Answer> + Sync,
) -> Vec<Answer> {
    (0..count.div_ceil(CHUNK))
        .into_par_iter()
        .flat_map_iter(|place| {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            random.set_stream(place as u64);
            chunk(&mut random, CHUNK.min(count - place * CHUNK))
        })
        .collect()
}
