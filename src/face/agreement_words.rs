//! What agreement between readers comes to, in words.

use crate::fit::agreement::{
    Correlation, IntraclassSet, Kappa, LimitsOfAgreement, OpacityAgreement, OpacityAndPush,
    TwoJudges,
};
use crate::units::display;

/// What no agreement and no correlation proves; stands under every answer about opacity.
pub const CANNOT_PROVE: &str = "\
What this cannot prove:
  Opacity is not push: a gel can turn white before it stiffens, and stiffen after it is white.
  A correlation in one donor says nothing of the next: lots differ in both.
  Agreement is not truth: readers who share a card, a lamp or a habit share its mistakes.
  A blend changes opacity: what was seen in plain plasma does not hold for it, nor between blends.";

/// An estimate to as many digits as its interval allows, the interval beside it.
pub fn with_interval(estimate: f64, [low, high]: [f64; 2]) -> String {
    let decimals = |value: f64| format!("{:.2}", value + 0.0);
    format!(
        "{} ({} to {})",
        decimals(estimate),
        decimals(low),
        decimals(high)
    )
}

/// `17 of 24 samples (71 %, 49 to 87 %)`.
fn same_step_words(kappa: &Kappa) -> String {
    let [low, high] = kappa.same_step_ratio_interval95;
    format!(
        "{} of {} samples ({}, {} to {})",
        kappa.same_step,
        kappa.samples,
        display::percent(kappa.same_step as f64 / kappa.samples.max(1) as f64),
        display::at_most(100.0 * low, 2),
        display::percent(high)
    )
}

/// The first line: what the readers do.
#[must_use]
pub fn headline(found: &OpacityAgreement) -> String {
    if let (Some(all), Some(quadratic)) = (&found.all_unweighted, &found.all_quadratic) {
        return format!(
            "{} readers: two judgements of one sample are the same step {} of the time; beyond chance kappa {}, with near misses counted in part {}.",
            found.readers.len(),
            display::percent(all.observed_ratio),
            with_interval(all.estimate, all.interval95),
            with_interval(quadratic.estimate, quadratic.interval95)
        );
    }
    if let (Some(set), true) = (&found.intraclass, found.readers.len() > 2) {
        return format!("{} readers: {}", found.readers.len(), intraclass_words(set));
    }
    match found.pairs.first().or(found.same_reader.first()) {
        Some(two) => pair_headline(two),
        None => "Nothing to compare.".to_owned(),
    }
}

fn pair_headline(two: &TwoJudges) -> String {
    let who = if two.first.reader == two.second.reader {
        format!("{}, looking twice,", two.first.reader)
    } else {
        format!("{} and {}", two.first.reader, two.second.reader)
    };
    let verb = |one: &'static str, several: &'static str| {
        if two.first.reader == two.second.reader {
            one
        } else {
            several
        }
    };
    if let Some(steps) = &two.steps {
        let plain = &steps.unweighted;
        return format!(
            "{who} {} the same step to {}; at most one step apart: {} of {}.",
            verb("gives", "give"),
            same_step_words(plain),
            plain.within_one_step,
            plain.samples
        );
    }
    if let Some(limits) = &two.ratios {
        return format!(
            "{who} {} within {} to {} of each other, 19 times in 20.",
            verb("reads ratios", "read ratios"),
            signed(limits.limits[0]),
            signed(limits.limits[1])
        );
    }
    format!(
        "{who} cannot be compared: {}",
        two.not_told.as_deref().unwrap_or_default()
    )
}

fn signed(value: f64) -> String {
    format!("{value:+.3}")
}

/// The intraclass correlations as a sentence.
#[must_use]
pub fn intraclass_words(set: &IntraclassSet) -> String {
    format!(
        "of the scatter of single judgements {} lies between samples (intraclass correlation {}, bias between readers counted as disagreement; {} for these readers with their bias set aside).",
        display::percent(set.agreement.estimate.max(0.0)),
        with_interval(set.agreement.estimate, set.agreement.interval95),
        with_interval(set.consistency.estimate, set.consistency.interval95)
    )
}

/// The bias and the limits of two readers of ratios.
#[must_use]
pub fn limits_words(two: &TwoJudges, limits: &LimitsOfAgreement) -> String {
    let [low, high] = limits.bias_interval95;
    format!(
        "{} less {}: {} on average ({} to {}); limits of agreement {} ({} to {}) and {} ({} to {}); {} samples.",
        judge_words(two, true),
        judge_words(two, false),
        signed(limits.bias),
        signed(low),
        signed(high),
        signed(limits.limits[0]),
        signed(limits.lower_limit_interval95[0]),
        signed(limits.lower_limit_interval95[1]),
        signed(limits.limits[1]),
        signed(limits.upper_limit_interval95[0]),
        signed(limits.upper_limit_interval95[1]),
        limits.samples
    )
}

/// `R1`, or `R1 round 2`.
#[must_use]
pub fn judge_words(two: &TwoJudges, first: bool) -> String {
    let judge = if first { &two.first } else { &two.second };
    match &judge.round {
        Some(round) => format!("{} round {round}", judge.reader),
        None => judge.reader.clone(),
    }
}

/// Cells of a table of kappas: who, samples, same step, within one, three kappas.
#[must_use]
pub fn kappa_cells(two: &TwoJudges) -> Option<[String; 6]> {
    let steps = two.steps.as_ref()?;
    let cell = |kappa: &Kappa| with_interval(kappa.estimate, kappa.interval95);
    let plain = &steps.unweighted;
    Some([
        format!("{}, {}", judge_words(two, true), judge_words(two, false)),
        format!("{} of {}", plain.same_step, plain.samples),
        format!("{} of {}", plain.within_one_step, plain.samples),
        cell(plain),
        cell(&steps.linear),
        cell(&steps.quadratic),
    ])
}

/// How opacity goes with the push.
#[must_use]
pub fn push_words(push: &OpacityAndPush) -> String {
    let one = |c: &Correlation| match c.interval95 {
        Some(interval) => with_interval(c.estimate, interval),
        None => format!("{:.2} (too few samples for an interval)", c.estimate),
    };
    let of_lots = match (push.lots_named, push.lots) {
        (true, 1) => "one lot".to_owned(),
        (true, lots) => format!("{lots} lots"),
        (false, _) => "lots not all named".to_owned(),
    };
    format!(
        "Opacity and {}, {} samples, {of_lots}: Spearman {}; Kendall {}; Pearson with ln {} {}.",
        push.quantity,
        push.association.samples,
        one(&push.association.spearman),
        one(&push.association.kendall),
        push.quantity,
        one(&push.association.pearson)
    )
}
