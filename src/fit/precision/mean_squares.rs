//! Intervals of variances that are put together from mean squares.

use crate::fit::{chi_squared_quantile, f_quantile};

/// One mean square of a combination.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanSquareTerm {
    /// What it is multiplied by; may be negative.
    pub coefficient: f64,
    /// The mean square, in the unit of the reading squared.
    pub mean_square: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: f64,
}

/// 95 % interval of a sum or difference of expected mean squares, by the modified large-sample method;
/// limits below zero are zero.
///
/// # Equation
/// lower: g - sqrt( sum+ G_q^2 c_q^2 S_q^2 + sum- H_r^2 c_r^2 S_r^2 + sum+- G_qr c_q c_r S_q S_r )
///
/// upper: g + sqrt( sum+ H_q^2 c_q^2 S_q^2 + sum- G_r^2 c_r^2 S_r^2 + sum+- H_qr c_q c_r S_q S_r )
///
/// G = 1 - 1/F(0.975; n, inf), H = 1/F(0.025; n, inf) - 1,
/// G_qr = [(F - 1)^2 - G_q^2 F^2 - H_r^2]/F at F = F(0.975; n_q, n_r),
/// H_qr = [(1 - F)^2 - H_q^2 F^2 - G_r^2]/F at F = F(0.025; n_q, n_r)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | g | sum of `coefficient` times `mean_square` | unit² |
/// | c, S, n | `coefficient` without its sign, `mean_square`, `degrees_of_freedom` | 1, unit², 1 |
///
/// # Valid for
/// Independent mean squares of normal effects, any number with a plus sign or one plus and one minus; the
/// published terms for several of each sign are left out. Exact for a single mean square.
///
/// # Source
/// F. Graybill, C. Wang, J. Am. Stat. Assoc. 75 (1980) 869, doi:10.2307/2287174 (sums); N. Ting,
/// R. Burdick, F. Graybill, S. Jeyaratnam, T. Lu, J. Stat. Comput. Simul. 35 (1990) 135 (differences);
/// R. Burdick, F. Graybill, Confidence Intervals on Variance Components, 1992, chapter 3. From
/// memory; held by simulated coverage.
#[must_use]
pub fn combination_interval(terms: &[MeanSquareTerm]) -> Option<[f64; 2]> {
    let one = |term: &MeanSquareTerm| {
        let n = term.degrees_of_freedom;
        let g = 1.0 - n / chi_squared_quantile(0.975, n)?;
        let h = n / chi_squared_quantile(0.025, n)? - 1.0;
        Some((g, h, (term.coefficient * term.mean_square).abs()))
    };
    let estimate: f64 = terms.iter().map(|t| t.coefficient * t.mean_square).sum();
    let (mut below, mut above) = (0.0, 0.0);
    for term in terms.iter().filter(|t| t.coefficient != 0.0) {
        let (g, h, size) = one(term)?;
        if term.coefficient > 0.0 {
            below += (g * size).powi(2);
            above += (h * size).powi(2);
        } else {
            below += (h * size).powi(2);
            above += (g * size).powi(2);
        }
    }
    for plus in terms.iter().filter(|t| t.coefficient > 0.0) {
        for minus in terms.iter().filter(|t| t.coefficient < 0.0) {
            let (g_plus, h_plus, size_plus) = one(plus)?;
            let (g_minus, h_minus, size_minus) = one(minus)?;
            let (n, m) = (plus.degrees_of_freedom, minus.degrees_of_freedom);
            let f = f_quantile(0.975, n, m)?;
            let cross = ((f - 1.0).powi(2) - (g_plus * f).powi(2) - h_minus * h_minus) / f;
            below += cross * size_plus * size_minus;
            let f = f_quantile(0.025, n, m)?;
            let cross = ((1.0 - f).powi(2) - (h_plus * f).powi(2) - g_minus * g_minus) / f;
            above += cross * size_plus * size_minus;
        }
    }
    Some([
        (estimate - below.max(0.0).sqrt()).max(0.0),
        (estimate + above.max(0.0).sqrt()).max(0.0),
    ])
}
