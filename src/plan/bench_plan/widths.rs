//! How wide a heat time's interval will be with a number of lots.

use crate::fit::t_quantile;
use crate::plan::another_lot::mean_sd_ratio;
use serde::Serialize;
use statrs::distribution::{ChiSquared, ContinuousCDF};

/// Student's t and the normal quantile for 95 % in the middle.
const PROBABILITY: f64 = 0.975;
/// Share of benches that stay under the careful width.
const NINE_OF_TEN: f64 = 0.9;

/// What the doubt of ln heat time is made of, in one case: variances.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WidthParts {
    /// Of one lot's estimates, by the scatter of its readings.
    pub within_lot_variance: f64,
    /// Between lots.
    pub between_lots_variance: f64,
    /// Of one syringe of a lot: its reading, the needle's bore, friction, flow, place of the block.
    pub syringe_variance: f64,
}

/// Expected half-widths of the 95 % interval of ln heat time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LotWidths {
    /// For a syringe of a new lot.
    pub new_lot_ln: f64,
    /// The same in the bench that is wider than nine of ten.
    pub new_lot_nine_of_ten_ln: f64,
    /// Of the typical lot's curve.
    pub typical_lot_ln: f64,
    /// The same in the bench that is wider than nine of ten.
    pub typical_lot_nine_of_ten_ln: f64,
    /// For a syringe of a new lot with readings and lots without end: nothing goes below.
    pub least_new_lot_ln: f64,
}

/// Half-widths of the 95 % interval of ln heat time with `lots` lots, each read alike.
///
/// # Equation
/// Typical lot: `t(L-1) c4(L) sqrt((w + b)/L)`. New lot: the square root of
/// `[t(L-1) c4(L)]^2 [(w + b)/L + b] + z^2 s`, with w within a lot, b between lots, s of a syringe; nine
/// benches of ten: `sqrt(chi2(0.9; L-1)/(L-1))` in place of `c4(L)`. Never below `z sqrt(b + s)`.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | L | `lots` | 1 |
/// | w | `within_lot_variance` | 1 |
/// | b | `between_lots_variance` | 1 |
/// | s | `syringe_variance` | 1 |
/// | t, z | quantiles at 0.975 of Student's t and the normal distribution | 1 |
///
/// # Valid for
/// Two lots and more, none told with fewer; widths small enough for the answer to be straight in the
/// parameters. Adding t and normal parts by squares is an approximation.
///
/// # Source
/// Prediction interval for one further observation: G. Hahn, W. Meeker, Statistical Intervals, 1991,
/// 4.7 (from memory); c4: NIST/SEMATECH e-Handbook 6.3.2.
///
/// # Example
/// Without scatter, as in that handbook's setting: three lots, t = 4.303 (e-Handbook 1.3.6.7.2), c4 =
/// 0.8862 (6.3.2): 4.303 x 0.8862 x sqrt(4/3) times the spread between lots.
/// ```
/// use heatset::plan::bench_plan::{WidthParts, lot_widths};
/// let parts = WidthParts {
///     within_lot_variance: 0.0,
///     between_lots_variance: 0.01,
///     syringe_variance: 0.0,
/// };
/// let widths = lot_widths(&parts, 3).unwrap();
/// let expected = 4.303 * 0.8862 * (4.0_f64 / 3.0).sqrt() * 0.1;
/// approx::assert_abs_diff_eq!(widths.new_lot_ln, expected, epsilon = 1e-4);
/// ```
#[must_use]
pub fn lot_widths(parts: &WidthParts, lots: usize) -> Option<LotWidths> {
    let freedom = lots.checked_sub(1).filter(|freedom| *freedom > 0)?;
    let count = lots as f64;
    let t = t_quantile(PROBABILITY, freedom)?;
    let z = normal_quantile();
    let expected = mean_sd_ratio(lots)?;
    let careful = ChiSquared::new(freedom as f64)
        .ok()
        .map(|chi| (chi.inverse_cdf(NINE_OF_TEN) / freedom as f64).sqrt())?;
    let typical = (parts.within_lot_variance + parts.between_lots_variance) / count;
    let by_lots = typical + parts.between_lots_variance;
    let new_lot =
        |ratio: f64| ((t * ratio).powi(2) * by_lots + z * z * parts.syringe_variance).sqrt();
    Some(LotWidths {
        new_lot_ln: new_lot(expected),
        new_lot_nine_of_ten_ln: new_lot(careful),
        typical_lot_ln: t * expected * typical.sqrt(),
        typical_lot_nine_of_ten_ln: t * careful * typical.sqrt(),
        least_new_lot_ln: z * (parts.between_lots_variance + parts.syringe_variance).sqrt(),
    })
}

fn normal_quantile() -> f64 {
    statrs::distribution::Normal::standard().inverse_cdf(PROBABILITY)
}

/// Half the width of a time's interval over the time, from that of its logarithm.
///
/// # Equation
/// `[exp(h) - exp(-h)]/2 = sinh h`
///
/// # Valid for
/// Any half-width of the logarithm.
///
/// # Source
/// The interval `[t exp(-h), t exp(h)]` of a time whose logarithm is known to +-h.
#[must_use]
pub fn half_width_ratio(half_width_ln: f64) -> f64 {
    half_width_ln.sinh()
}
