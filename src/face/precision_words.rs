//! What a study of other hands and other blocks comes to, in words.

use crate::fit::precision::{
    AgreeVerdict, Comparison, MandelMark, OneWay, OutlierVerdict, Pairing, Study, StudyFactor,
    mandel_h_critical, mandel_k_critical,
};
use crate::units::display;

/// Codes from which a spread between them is worth more than a hint. Common practice, no source.
const FEW_CODES: usize = 6;
/// Two readings differ by less than this many standard deviations, 19 times in 20: ISO 5725-6, 4.1.
const LIMIT_FACTOR: f64 = 2.8;

/// One source of the scatter, ready to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ScatterSource {
    /// Operator, block, both together, the rest.
    pub name: String,
    /// Codes it is known from; readings for the rest.
    pub levels: usize,
    /// Share of the variance.
    pub share_ratio: f64,
    /// Standard deviation of ln.
    pub sd_ln: f64,
    /// Its 95 % interval; an end of none is open.
    pub sd_ln_interval95: (f64, Option<f64>),
    /// How the interval was made.
    pub interval_method: &'static str,
}

/// The sources of a study: by mean squares where the design is balanced and crossed, else by likelihood.
#[must_use]
pub fn scatter_sources(study: &Study) -> Vec<ScatterSource> {
    if let Some(table) = &study.crossed {
        let total = table.total_variance;
        let of = |name: &str, levels: usize, variance: f64, interval: Option<[f64; 2]>| {
            let (low, high) = interval.map_or((0.0, None), |[l, h]| (l, Some(h)));
            ScatterSource {
                name: name.to_owned(),
                levels,
                share_ratio: variance / total,
                sd_ln: variance.sqrt(),
                sd_ln_interval95: (low.sqrt(), high.map(f64::sqrt)),
                interval_method: "modified large sample",
            }
        };
        let (a, b) = (table.first_levels, table.second_levels);
        return vec![
            of("operator", a, table.first_variance, table.first_interval95),
            of("block", b, table.second_variance, table.second_interval95),
            of(
                "operator with block",
                a * b,
                table.both_variance,
                table.both_interval95,
            ),
            of(
                "rest",
                study.readings,
                table.rest_variance,
                table.rest_interval95,
            ),
        ];
    }
    let total = study.components.total_variance;
    study
        .components
        .components
        .iter()
        .map(|c| ScatterSource {
            name: c.name.clone(),
            levels: c.levels,
            share_ratio: c.variance / total,
            sd_ln: c.variance.sqrt(),
            sd_ln_interval95: (c.interval95.0.sqrt(), c.interval95.1.map(f64::sqrt)),
            interval_method: "profile of the restricted likelihood",
        })
        .collect()
}

/// `6.1 %`: a standard deviation of ln as people say it.
#[must_use]
pub fn relative(sd_ln: f64) -> String {
    if sd_ln < 0.5 {
        display::percent(sd_ln)
    } else {
        format!("factor {}", display::at_most(sd_ln.exp(), 2))
    }
}

/// How much larger one of two readings may be for nothing but scatter.
fn limit_words(sd_ln: f64) -> String {
    let ratio = (LIMIT_FACTOR * sd_ln).exp();
    if ratio < 2.0 {
        display::percent(ratio - 1.0)
    } else {
        format!("a factor of {}", display::at_most(ratio, 2))
    }
}

/// A share of the scatter: `61 %`, `under 0.1 %`.
fn share_words(share_ratio: f64) -> String {
    if share_ratio > 0.0 && share_ratio < 1e-3 {
        "under 0.1 %".to_owned()
    } else {
        display::percent(share_ratio)
    }
}

/// The first line: where the scatter comes from.
#[must_use]
pub fn headline(sources: &[ScatterSource]) -> String {
    let said: Vec<String> = sources
        .iter()
        .filter(|s| s.name != "rest")
        .map(|s| {
            let share = share_words(s.share_ratio);
            match s.name.as_str() {
                "operator with block" => {
                    format!("{share} an operator's way with one block")
                }
                name => format!("{share} is the {name}"),
            }
        })
        .collect();
    let rest = sources
        .iter()
        .find(|s| s.name == "rest")
        .map_or(0.0, |s| s.share_ratio);
    let of_hands = sources.iter().any(|s| s.name == "operator");
    format!(
        "Of the scatter between two syringes of one lot, heated alike, {}; {} does not repeat{}.",
        said.join(", "),
        share_words(rest),
        if of_hands { " in the same hands" } else { "" }
    )
}

fn interval_words((low, high): (f64, Option<f64>)) -> String {
    match high {
        Some(high) => format!("{} to {}", relative(low), relative(high)),
        None => format!("{} or more", relative(low)),
    }
}

/// Cells of the table of sources: name, share, standard deviation, interval, known from.
#[must_use]
pub fn source_cells(source: &ScatterSource) -> [String; 5] {
    let known = match source.name.as_str() {
        "rest" => format!("{} readings", source.levels),
        "operator with block" => format!("{} pairs", source.levels),
        name => format!("{} {name}s", source.levels),
    };
    [
        source.name.clone(),
        share_words(source.share_ratio),
        relative(source.sd_ln),
        interval_words(source.sd_ln_interval95),
        known,
    ]
}

/// How little few codes tell; empty where they are enough.
#[must_use]
pub fn few_codes_words(sources: &[ScatterSource]) -> Option<String> {
    let few: Vec<String> = sources
        .iter()
        .filter(|s| s.name != "rest" && s.name != "operator with block" && s.levels < FEW_CODES)
        .map(|s| format!("{} {}s", s.levels, s.name))
        .collect();
    (!few.is_empty()).then(|| {
        format!(
            "{} tell little about others: go by the upper end of the interval.",
            few.join(" and ")
        )
    })
}

fn sd_words(sd: f64, interval: Option<[f64; 2]>) -> String {
    match interval {
        Some([low, high]) => format!("{}, {} to {}", relative(sd), relative(low), relative(high)),
        None => relative(sd),
    }
}

/// Repeatability and reproducibility as two lines.
#[must_use]
pub fn repeat_words(
    precision: &OneWay,
    factor: StudyFactor,
    held_alike: Option<StudyFactor>,
) -> String {
    let alike = held_alike.map_or_else(String::new, |other| format!(", same {other}"));
    let other = match factor {
        StudyFactor::Operator => "Other hands",
        StudyFactor::Block => "Another block",
        StudyFactor::Place => "Another place",
        StudyFactor::Session => "Another day",
    };
    format!(
        "Same {factor}{alike}: two readings differ by less than {}, 19 times in 20 (s_r {}).\n{other}: by less than {} (s_R {}).",
        limit_words(precision.repeatability_sd),
        sd_words(
            precision.repeatability_sd,
            precision.repeatability_interval95
        ),
        limit_words(precision.reproducibility_sd),
        sd_words(
            precision.reproducibility_sd,
            precision.reproducibility_interval95
        )
    ) + if precision.cells > 1 {
        "\n  These two count an offset as new with every gel; where it is kept from gel to gel, go by the table above."
    } else {
        ""
    }
}

/// Whether a mark passes what chance passes one time in twenty, or in a hundred.
#[must_use]
pub fn mark_verdict(
    mark: &MandelMark,
    groups: usize,
    readings_each: usize,
) -> (OutlierVerdict, OutlierVerdict) {
    let judged =
        |value: Option<f64>, at: &dyn Fn(f64) -> Option<f64>| match (value, at(0.05), at(0.01)) {
            (Some(v), _, Some(one)) if v > one => OutlierVerdict::Outlier,
            (Some(v), Some(five), _) if v > five => OutlierVerdict::Straggler,
            _ => OutlierVerdict::Consistent,
        };
    (
        judged(Some(mark.h.abs()), &|p| mandel_h_critical(groups, p)),
        judged(mark.k, &|p| mandel_k_critical(groups, readings_each, p)),
    )
}

/// Who stands out, one line each: tests first, then marks.
#[must_use]
pub fn stands_out(study: &Study) -> Vec<String> {
    let mut lines = Vec::new();
    let word = |verdict: OutlierVerdict| match verdict {
        OutlierVerdict::Outlier => "outlier (chance: under 1 in 100)",
        OutlierVerdict::Straggler => "straggler (chance: under 1 in 20)",
        OutlierVerdict::Consistent => "consistent",
    };
    for cell in &study.cells {
        let code = |group: usize| cell.groups.get(group).map_or("", |g| g.code.as_str());
        if let Some(test) = cell
            .grubbs
            .filter(|t| t.verdict != OutlierVerdict::Consistent)
        {
            lines.push(format!(
                "{} {} in {}: mean far from the others, {}; Grubbs {:.3}, limits {:.3} and {:.3}",
                study.factor,
                code(test.group),
                cell.cell,
                word(test.verdict),
                test.statistic,
                test.critical_5_percent,
                test.critical_1_percent
            ));
        }
        if let Some(test) = cell
            .cochran
            .filter(|t| t.verdict != OutlierVerdict::Consistent)
        {
            lines.push(format!(
                "{} {} in {}: scatters more than the others, {}; Cochran {:.3}, limits {:.3} and {:.3}",
                study.factor,
                code(test.group),
                cell.cell,
                word(test.verdict),
                test.statistic,
                test.critical_5_percent,
                test.critical_1_percent
            ));
        }
        // A group that a test names already is not named again for its marks.
        let named: Vec<usize> = [cell.grubbs, cell.cochran]
            .into_iter()
            .flatten()
            .filter(|t| t.verdict != OutlierVerdict::Consistent)
            .map(|t| t.group)
            .collect();
        for (place, group) in cell.groups.iter().enumerate() {
            let Some(mark) = group.mark.as_ref().filter(|_| !named.contains(&place)) else {
                continue;
            };
            let (h, k) = mark_verdict(mark, cell.groups.len(), group.readings);
            if h != OutlierVerdict::Consistent || k != OutlierVerdict::Consistent {
                lines.push(format!(
                    "{} {} in {}: marks h {:+.2}, k {}, beyond what chance passes 1 time in 20",
                    study.factor,
                    group.code,
                    cell.cell,
                    mark.h,
                    mark.k
                        .map_or_else(|| "none".to_owned(), |k| format!("{k:.2}"))
                ));
            }
        }
    }
    lines
}

/// The verdict of a comparison, its figures, and what would tell more.
#[must_use]
pub fn comparison_words(found: &Comparison, margin_ratio: f64) -> String {
    let margin = display::percent(margin_ratio);
    let who = format!("{} {}", found.factor, found.tested);
    let [low, high] = found.ratio_interval90;
    let figures = format!(
        "ratio {:.2} ({low:.2} to {high:.2}, 90 %; allowed {:.2} to {:.2})",
        found.ratio, found.margin_ratios[0], found.margin_ratios[1]
    );
    let mut lines = vec![match found.verdict {
        AgreeVerdict::Agrees => format!(
            "Agrees: {who} reads as {} does, within {margin}: {figures}.",
            found.reference
        ),
        AgreeVerdict::Differs => format!(
            "Differs: {who} and {} lie more than {margin} apart: {figures}.",
            found.reference
        ),
        AgreeVerdict::NotEnough => format!(
            "Not enough readings: whether {who} reads as {} does, within {margin}, is open: {figures}.",
            found.reference
        ),
    }];
    let paired = found.pairing != Pairing::WithinCells;
    let have = match found.pairing {
        Pairing::CellSessionAndOther => {
            let other = if found.factor == StudyFactor::Block {
                "operator"
            } else {
                "block"
            };
            format!(
                "{} pairs of means of the same gel, session and {other}",
                found.pairs
            )
        }
        Pairing::CellAndSession => {
            format!("{} pairs of means of the same gel and session", found.pairs)
        }
        Pairing::Cell => format!("{} pairs of means of the same gel", found.pairs),
        Pairing::WithinCells => format!(
            "{} and {} single readings, too few gels in common for pairs",
            found.readings_tested, found.readings_reference
        ),
    };
    lines.push(format!(
        "  From {have}; p {} of two one-sided tests; scatter of {} {}.",
        display::significant(found.tests.p, 2),
        if paired { "a pair" } else { "a reading" },
        relative(found.sd_ln)
    ));
    if found.verdict == AgreeVerdict::NotEnough {
        lines.push(more_words(found, paired));
    }
    if found.factor == StudyFactor::Block {
        lines.push(match found.verdict {
            AgreeVerdict::Agrees => format!(
                "  As far as these readings go, {} and {} may share a calibration.",
                found.tested, found.reference
            ),
            AgreeVerdict::Differs => format!(
                "  {} and {} each need a calibration of their own, or the reason found: blockcheck compares their temperatures.",
                found.tested, found.reference
            ),
            AgreeVerdict::NotEnough => {
                "  Until it is known, answers of one block are not those of the other.".to_owned()
            }
        });
    }
    lines.join("\n")
}

fn more_words(found: &Comparison, paired: bool) -> String {
    let have = if paired {
        found.pairs
    } else {
        found.readings_tested.min(found.readings_reference)
    };
    let unit = if paired {
        "pairs"
    } else {
        "readings on each side"
    };
    let power = display::percent(found.power_ratio);
    match (found.needed_if_alike, found.needed_if_as_seen) {
        (None, _) => format!(
            "  What helps: less scatter first; with this one not even 5000 {unit} would tell."
        ),
        (Some(alike), seen) => {
            let as_seen = match seen {
                Some(seen) if seen > have => format!(
                    "if they differ as seen, {} more ({seen} in all)",
                    seen - have
                ),
                Some(seen) => format!("if they differ as seen, {seen}"),
                None => "what was seen lies beyond the margin, and more readings may as well show that they differ".to_owned(),
            };
            if alike > have {
                format!(
                    "  What helps: {} more {unit} ({alike} in all) would show it {power} of the time if they are truly alike; {as_seen}.",
                    alike - have
                )
            } else {
                format!(
                    "  If they were truly alike, {alike} {unit} would show it {power} of the time, and these did not.\n  What helps: more {unit}; {as_seen}."
                )
            }
        }
    }
}
