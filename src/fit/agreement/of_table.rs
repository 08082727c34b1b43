//! A table of judgements, asked whether its readers agree.

use super::association::{Association, association};
use super::error::AgreementError;
use super::intraclass::{IntraclassSet, intraclass};
use super::kappa::{Kappa, KappaWeights, kappa};
use super::limits::{LimitsOfAgreement, limits_of_agreement};
use super::many_readers::{ManyReaders, fleiss};
use crate::readings::{CARD_STEPS, Judgement, MeasuredPush, Opacity, OpacityTable};
use serde::Serialize;
use std::cmp::Ordering;

/// One who judged, in one round.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Judge {
    /// Code of the reader.
    pub reader: String,
    /// The round; none where the first of each sample is meant.
    pub round: Option<String>,
}

/// Kappa of two judges, with each kind of weights.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StepAgreement {
    /// Only the same step agrees.
    pub unweighted: Kappa,
    /// Less by equal amounts a step.
    pub linear: Kappa,
    /// Less by the square of the steps apart.
    pub quadratic: Kappa,
}

/// Two judges of the same samples.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TwoJudges {
    /// The first.
    pub first: Judge,
    /// The second.
    pub second: Judge,
    /// Samples that both judged.
    pub samples: usize,
    /// Of steps.
    pub steps: Option<StepAgreement>,
    /// Of ratios.
    pub ratios: Option<LimitsOfAgreement>,
    /// Why there is neither.
    pub not_told: Option<String>,
}

/// How opacity goes with a push that was measured on the same samples.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OpacityAndPush {
    /// What was measured.
    pub quantity: &'static str,
    /// Lots that are named among the samples.
    pub lots: usize,
    /// Whether samples say their lot.
    pub lots_named: bool,
    /// Correlations of the mean judgement of a sample with the logarithm of its push.
    pub association: Association,
}

/// What a table of judgements tells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OpacityAgreement {
    /// Samples.
    pub samples: usize,
    /// Readers.
    pub readers: Vec<String>,
    /// Every two readers, by the first judgement of each sample.
    pub pairs: Vec<TwoJudges>,
    /// Every reader with two rounds or more: the first against the second.
    pub same_reader: Vec<TwoJudges>,
    /// All readers of steps, where there are three or more: unweighted.
    pub all_unweighted: Option<ManyReaders>,
    /// The same with quadratic weights.
    pub all_quadratic: Option<ManyReaders>,
    /// All readers of ratios, on the samples that each judged.
    pub intraclass: Option<IntraclassSet>,
    /// How opacity goes with the push, where one was measured.
    pub push: Option<OpacityAndPush>,
    /// Why a push that was measured tells nothing.
    pub push_not_told: Option<String>,
}

/// Rounds in their order: 2 before 10, names after numbers.
fn by_number(one: &str, other: &str) -> Ordering {
    let number = |round: &str| round.trim().parse().unwrap_or(f64::INFINITY);
    number(one)
        .total_cmp(&number(other))
        .then_with(|| one.cmp(other))
}

/// Asks a table of judgements whether its readers agree, with each other and with themselves, and how what they saw
/// goes with a measured push.
///
/// # Valid for
/// Judgements made apart from each other. Between readers the judgement of each sample's first round counts,
/// wherever it stands in the table.
///
/// # Errors
/// A single reader who never looked again; no two judges with two samples in common.
///
/// # Source
/// As [`kappa()`], [`fleiss()`], [`intraclass()`], [`limits_of_agreement()`] and [`association()`].
pub fn opacity_agreement(table: &OpacityTable) -> Result<OpacityAgreement, AgreementError> {
    let samples = distinct(table.judgements.iter().map(|j| j.sample.as_str()));
    let readers = distinct(table.judgements.iter().map(|j| j.reader.as_str()));
    let first = |sample: &str, reader: &str| {
        table
            .judgements
            .iter()
            .filter(|j| j.sample == sample && j.reader == reader)
            .min_by(|one, other| by_number(&one.round, &other.round))
    };
    let mut pairs = Vec::new();
    for (place, one) in readers.iter().enumerate() {
        for other in &readers[place + 1..] {
            let both = samples
                .iter()
                .filter_map(|s| Some((first(s, one)?, first(s, other)?)))
                .collect();
            pairs.push(two_judges(judge(one, None), judge(other, None), both));
        }
    }
    let mut same_reader = Vec::new();
    for reader in &readers {
        let of_reader = || table.judgements.iter().filter(|j| j.reader == **reader);
        let mut rounds = distinct(of_reader().map(|j| j.round.as_str()));
        rounds.sort_by(|one, other| by_number(one, other));
        let [before, after, ..] = rounds.as_slice() else {
            continue;
        };
        let at = |sample: &str, round: &str| {
            of_reader().find(|j| j.sample == sample && j.round == round)
        };
        let both: Vec<_> = samples
            .iter()
            .filter_map(|s| Some((at(s, before)?, at(s, after)?)))
            .collect();
        if !both.is_empty() {
            same_reader.push(two_judges(
                judge(reader, Some(before)),
                judge(reader, Some(after)),
                both,
            ));
        }
    }
    if pairs.is_empty() && same_reader.is_empty() {
        return Err(AgreementError::TooFewReaders {
            readers: readers.len(),
        });
    }
    if pairs.iter().chain(&same_reader).all(|p| p.samples < 2) {
        return Err(AgreementError::TooFewSamples {
            samples: pairs.iter().map(|p| p.samples).max().unwrap_or(0),
            needed: 2,
        });
    }
    let counts: Vec<Vec<usize>> = samples
        .iter()
        .map(|sample| {
            let mut row = vec![0; CARD_STEPS];
            for reader in &readers {
                if let Some(Opacity::Step(step)) = first(sample, reader).map(|j| j.opacity)
                    && let Some(count) = row.get_mut(step)
                {
                    *count += 1;
                }
            }
            row
        })
        .collect();
    let many = |weights| {
        (table.steps && readers.len() > 2)
            .then(|| fleiss(&counts, weights).ok())
            .flatten()
    };
    let complete: Vec<Vec<f64>> = samples
        .iter()
        .filter_map(|sample| {
            readers
                .iter()
                .map(|reader| first(sample, reader).map(|j| number(j.opacity)))
                .collect::<Option<Vec<f64>>>()
        })
        .collect();
    let (push, push_not_told) = match with_push(table, &samples, &readers) {
        None => (None, None),
        Some(Ok(push)) => (Some(push), None),
        Some(Err(why)) => (None, Some(why.to_string())),
    };
    Ok(OpacityAgreement {
        samples: samples.len(),
        all_unweighted: many(KappaWeights::Unweighted),
        all_quadratic: many(KappaWeights::Quadratic),
        intraclass: (!table.steps).then(|| intraclass(&complete).ok()).flatten(),
        readers: readers.into_iter().map(str::to_owned).collect(),
        pairs,
        same_reader,
        push,
        push_not_told,
    })
}

fn judge(reader: &str, round: Option<&str>) -> Judge {
    Judge {
        reader: reader.to_owned(),
        round: round.map(str::to_owned),
    }
}

/// The judgement as a number.
fn number(opacity: Opacity) -> f64 {
    match opacity {
        Opacity::Step(step) => step as f64,
        Opacity::Ratio(ratio) => ratio,
    }
}

fn two_judges(first: Judge, second: Judge, both: Vec<(&Judgement, &Judgement)>) -> TwoJudges {
    let samples = both.len();
    let steps: Option<(Vec<usize>, Vec<usize>)> = both
        .iter()
        .map(|(a, b)| match (a.opacity, b.opacity) {
            (Opacity::Step(a), Opacity::Step(b)) => Some((a, b)),
            _ => None,
        })
        .collect::<Option<Vec<_>>>()
        .map(|pairs| pairs.into_iter().unzip());
    let mut found = TwoJudges {
        first,
        second,
        samples,
        steps: None,
        ratios: None,
        not_told: None,
    };
    match steps {
        Some((a, b)) => {
            let with = |weights| kappa(&a, &b, CARD_STEPS, weights);
            let all = with(KappaWeights::Unweighted).and_then(|unweighted| {
                Ok(StepAgreement {
                    unweighted,
                    linear: with(KappaWeights::Linear)?,
                    quadratic: with(KappaWeights::Quadratic)?,
                })
            });
            match all {
                Ok(steps) => found.steps = Some(steps),
                Err(why) => found.not_told = Some(why.to_string()),
            }
        }
        None => {
            let (a, b): (Vec<f64>, Vec<f64>) = both
                .iter()
                .map(|(a, b)| (number(a.opacity), number(b.opacity)))
                .unzip();
            match limits_of_agreement(&a, &b) {
                Ok(limits) => found.ratios = Some(limits),
                Err(why) => found.not_told = Some(why.to_string()),
            }
        }
    }
    found
}

fn with_push(
    table: &OpacityTable,
    samples: &[&str],
    readers: &[&str],
) -> Option<Result<OpacityAndPush, AgreementError>> {
    let quantity = table.judgements.iter().find_map(|j| j.push)?.quantity();
    let (mut opacities, mut pushes, mut lots) = (Vec::new(), Vec::new(), Vec::new());
    let mut lots_named = true;
    for sample in samples {
        let of_sample: Vec<&Judgement> = table
            .judgements
            .iter()
            .filter(|j| j.sample == *sample)
            .collect();
        let Some(push) = of_sample.iter().find_map(|j| j.push) else {
            continue;
        };
        let firsts: Vec<f64> = readers
            .iter()
            .filter_map(|reader| of_sample.iter().find(|j| j.reader == *reader))
            .map(|j| number(j.opacity))
            .collect();
        opacities.push(firsts.iter().sum::<f64>() / firsts.len().max(1) as f64);
        pushes.push(MeasuredPush::value_in_unit(push).ln());
        match of_sample.iter().find_map(|j| j.lot.as_deref()) {
            Some(lot) => lots.push(lot),
            None => lots_named = false,
        }
    }
    Some(
        association(&opacities, &pushes).map(|association| OpacityAndPush {
            quantity,
            lots: distinct(lots.into_iter()).len(),
            lots_named,
            association,
        }),
    )
}

fn distinct<'a>(texts: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut seen = Vec::new();
    for text in texts {
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen
}
