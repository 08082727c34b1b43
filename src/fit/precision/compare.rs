//! One operator or block against a reference: whether they agree within a stated margin.

use super::error::PrecisionError;
use super::study::{StudyFactor, StudyReading, distinct, sorted};
use super::tost::{Tost, tost, tost_sample_size};
use crate::fit::t_quantile_real;
use serde::Serialize;

/// Fewest pairs whose differences tell their own scatter.
const FEWEST_PAIRS: usize = 3;

/// What is to be compared.
#[derive(Debug, Clone, PartialEq)]
pub struct ComparisonAsked {
    /// Operator, block, place or session.
    pub factor: StudyFactor,
    /// Code that is tested.
    pub tested: String,
    /// Code that it is held against.
    pub reference: String,
    /// Ratio less one that still counts as agreement: 0.2 allows 1/1.2 to 1.2.
    pub margin_ratio: f64,
    /// Probability with which readings to come shall show an agreement that is there.
    pub power_ratio: f64,
}

/// How readings were set against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Pairing {
    /// Means of the same gel, session and block (or operator).
    CellSessionAndOther,
    /// Means of the same gel and session.
    CellAndSession,
    /// Means of the same gel.
    Cell,
    /// Single readings, cell by cell.
    WithinCells,
}

/// What a comparison comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum AgreeVerdict {
    /// The 90 % interval lies within the margin.
    Agrees,
    /// The 90 % interval lies beyond the margin.
    Differs,
    /// Neither.
    NotEnough,
}

/// A comparison of two codes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Operator, block, place or session.
    pub factor: StudyFactor,
    /// Code that was tested.
    pub tested: String,
    /// Code that it was held against.
    pub reference: String,
    /// Lower and upper margin of the ratio.
    pub margin_ratios: [f64; 2],
    /// How readings were set against each other.
    pub pairing: Pairing,
    /// Pairs; without pairing cells that both read.
    pub pairs: usize,
    /// Readings of the tested code that count.
    pub readings_tested: usize,
    /// Readings of the reference that count.
    pub readings_reference: usize,
    /// Geometric mean ratio, tested over reference.
    pub ratio: f64,
    /// Its 90 % interval, which the tests go by.
    pub ratio_interval90: [f64; 2],
    /// Its 95 % interval.
    pub ratio_interval95: [f64; 2],
    /// Standard deviation of ln ratio: of a pair, or of single readings within cells.
    pub sd_ln: f64,
    /// Degrees of freedom.
    pub degrees_of_freedom: f64,
    /// The tests.
    pub tests: Tost,
    /// What they come to.
    pub verdict: AgreeVerdict,
    /// Pairs (or readings a side) in all that would show agreement with the power asked, if the two are truly
    /// alike; none where these readings tell already.
    pub needed_if_alike: Option<usize>,
    /// The same if they differ by as much as was seen; none where that is beyond the margin.
    pub needed_if_as_seen: Option<usize>,
    /// The power.
    pub power_ratio: f64,
}

/// Compares two codes by two one-sided tests on the logarithm of the ratio.
///
/// # Equation
/// Pairs: d_i = mean ln reading of the tested less that of the reference in the same gel (and session, and
/// block, where three pairs or more agree in these); d, s/sqrt(n), n - 1. Without three pairs: differences of cell
/// means, weighted by n_t n_r/(n_t + n_r); scatter within cells and sides.
/// Margins: -ln(1 + m) and ln(1 + m).
///
/// | symbol | field | unit |
/// |---|---|---|
/// | d | ln of `ratio` | 1 |
/// | m | `margin_ratio` | 1 |
/// | s | `sd_ln` | 1 |
///
/// # Valid for
/// Logarithms of readings with normal scatter. Pairs of one lot tell of that lot.
///
/// # Errors
/// Codes that no reading has; a margin that is none; no gel that both read; no scatter to judge by.
///
/// # Source
/// As [`tost`].
pub fn compare(
    readings: &[StudyReading],
    asked: &ComparisonAsked,
) -> Result<Comparison, PrecisionError> {
    let margin = asked.margin_ratio;
    if !(margin > 0.0 && margin <= 1.0) {
        return Err(PrecisionError::NoMargin {
            margin_ratio: margin,
        });
    }
    let factor = asked.factor;
    let known = sorted(readings.iter().filter_map(|r| r.code(factor)));
    for code in [&asked.tested, &asked.reference] {
        if known.is_empty() {
            return Err(PrecisionError::NoCodes {
                what: factor.word(),
            });
        }
        if !known.contains(code) {
            return Err(PrecisionError::UnknownCode {
                what: factor.word(),
                code: code.clone(),
                known: known.join(", "),
            });
        }
    }
    if let Some((place, reading)) = readings
        .iter()
        .enumerate()
        .find(|(_, r)| !r.ln_reading.is_finite())
    {
        return Err(PrecisionError::NotFinite {
            number: place + 1,
            value: reading.ln_reading,
        });
    }
    let margins = [-(1.0 + margin).ln(), (1.0 + margin).ln()];
    let found = paired(readings, asked).map_or_else(|| within_cells(readings, asked), Ok)?;
    let tests = tost(
        found.difference,
        found.std_error,
        found.degrees_of_freedom,
        margins,
    )
    .ok_or(PrecisionError::NoScatter)?;
    let [low, high] = tests.interval90;
    let verdict = if margins[0] < low && high < margins[1] {
        AgreeVerdict::Agrees
    } else if high < margins[0] || low > margins[1] {
        AgreeVerdict::Differs
    } else {
        AgreeVerdict::NotEnough
    };
    let half = t_quantile_real(0.975, found.degrees_of_freedom).ok_or(PrecisionError::NoScatter)?
        * found.std_error;
    let is_paired = found.pairing != Pairing::WithinCells;
    let needed = |ln: f64| {
        (verdict == AgreeVerdict::NotEnough)
            .then(|| tost_sample_size(ln, found.sd, margins, asked.power_ratio, is_paired))
            .flatten()
    };
    Ok(Comparison {
        factor,
        tested: asked.tested.clone(),
        reference: asked.reference.clone(),
        margin_ratios: margins.map(f64::exp),
        pairing: found.pairing,
        pairs: found.pairs,
        readings_tested: found.readings[0],
        readings_reference: found.readings[1],
        ratio: found.difference.exp(),
        ratio_interval90: tests.interval90.map(f64::exp),
        ratio_interval95: [found.difference - half, found.difference + half].map(f64::exp),
        sd_ln: found.sd,
        degrees_of_freedom: found.degrees_of_freedom,
        tests,
        verdict,
        needed_if_alike: needed(0.0),
        needed_if_as_seen: needed(found.difference),
        power_ratio: asked.power_ratio,
    })
}

struct Difference {
    pairing: Pairing,
    pairs: usize,
    readings: [usize; 2],
    difference: f64,
    sd: f64,
    std_error: f64,
    degrees_of_freedom: f64,
}

/// The two sides of every group of readings with the same key.
fn sides<'a>(
    readings: &'a [StudyReading],
    asked: &ComparisonAsked,
    key: &dyn Fn(&'a StudyReading) -> Option<String>,
) -> Vec<[Vec<f64>; 2]> {
    let keyed: Vec<(String, &StudyReading)> =
        readings.iter().filter_map(|r| Some((key(r)?, r))).collect();
    distinct(keyed.iter().map(|(key, _)| key.as_str()))
        .into_iter()
        .map(|group| {
            [&asked.tested, &asked.reference].map(|code| {
                keyed
                    .iter()
                    .filter(|(key, r)| key == group && r.code(asked.factor) == Some(code.as_str()))
                    .map(|(_, r)| r.ln_reading)
                    .collect::<Vec<f64>>()
            })
        })
        .filter(|[tested, reference]| !tested.is_empty() && !reference.is_empty())
        .collect()
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// What readings must share to be set against each other; none for a reading that does not say it.
type Key<'a> = &'a dyn Fn(&StudyReading) -> Option<String>;

/// The finest pairing that gives three pairs or more.
fn paired(readings: &[StudyReading], asked: &ComparisonAsked) -> Option<Difference> {
    let other = if asked.factor == StudyFactor::Block {
        StudyFactor::Operator
    } else {
        StudyFactor::Block
    };
    let in_session = move |r: &StudyReading| {
        (asked.factor != StudyFactor::Session)
            .then(|| Some(format!("{}\n{}", r.cell, r.session.as_deref()?)))
            .flatten()
    };
    let with_other =
        move |r: &StudyReading| Some(format!("{}\n{}", in_session(r)?, r.code(other)?));
    let in_cell = |r: &StudyReading| Some(r.cell.clone());
    let keys: [(Pairing, Key<'_>); 3] = [
        (Pairing::CellSessionAndOther, &with_other),
        (Pairing::CellAndSession, &in_session),
        (Pairing::Cell, &in_cell),
    ];
    for (pairing, key) in keys {
        let pairs = sides(readings, asked, key);
        if pairs.len() < FEWEST_PAIRS {
            continue;
        }
        let differences: Vec<f64> = pairs.iter().map(|[t, r]| mean(t) - mean(r)).collect();
        let n = differences.len() as f64;
        let centre = mean(&differences);
        let squares: f64 = differences.iter().map(|d| (d - centre).powi(2)).sum();
        let sd = (squares / (n - 1.0)).sqrt();
        return Some(Difference {
            pairing,
            pairs: pairs.len(),
            readings: [0, 1].map(|side| pairs.iter().map(|pair| pair[side].len()).sum()),
            difference: centre,
            sd,
            std_error: sd / n.sqrt(),
            degrees_of_freedom: n - 1.0,
        });
    }
    None
}

/// Readings of both sides, cell by cell, with the scatter within cells and sides.
fn within_cells(
    readings: &[StudyReading],
    asked: &ComparisonAsked,
) -> Result<Difference, PrecisionError> {
    let cells = sides(readings, asked, &|r| Some(r.cell.clone()));
    if cells.is_empty() {
        return Err(PrecisionError::NothingInCommon {
            first: asked.tested.clone(),
            second: asked.reference.clone(),
        });
    }
    let (mut squares, mut freedom, mut weights, mut weighted) = (0.0, 0_usize, 0.0, 0.0);
    let mut counts = [0, 0];
    for cell in &cells {
        let [tested, reference] = cell;
        for (count, side) in counts.iter_mut().zip(cell) {
            let centre = mean(side);
            squares += side.iter().map(|v| (v - centre).powi(2)).sum::<f64>();
            freedom += side.len() - 1;
            *count += side.len();
        }
        let (n, m) = (tested.len() as f64, reference.len() as f64);
        let weight = n * m / (n + m);
        weights += weight;
        weighted += weight * (mean(tested) - mean(reference));
    }
    if freedom == 0 {
        return Err(PrecisionError::NoReplicates);
    }
    let sd = (squares / freedom as f64).sqrt();
    Ok(Difference {
        pairing: Pairing::WithinCells,
        pairs: cells.len(),
        readings: counts,
        difference: weighted / weights,
        sd,
        std_error: sd / f64::sqrt(weights),
        degrees_of_freedom: freedom as f64,
    })
}
