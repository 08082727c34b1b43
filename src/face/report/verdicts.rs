//! How well it fits, in words, and what to know before relying on it.

use super::markup::heading_words;
use super::measured::reading_words;
use crate::face::sentences::name_words;
use crate::fit::{BlendCalibration, ParameterName};
use crate::units::display;
use maud::{Markup, html};

/// A test under this probability is spoken of as a finding.
const FINDING: f64 = 0.05;
/// Two estimates over this correlation move together.
const MOVES_TOGETHER: f64 = 0.95;
/// A condition number over this leaves some combination of the unknowns hardly determined.
const ILL_CONDITIONED: f64 = 1e3;

/// The part of a blend's section.
pub(super) fn part(blend: &BlendCalibration, invented: bool) -> Markup {
    html! {
        h3 { (heading_words("How well it fits", invented)) }
        ul {
            @for line in lines(blend) { li { (line) } }
        }
        @if !blend.warnings.is_empty() {
            h3 { (heading_words("Know before relying on it", invented)) }
            ul {
                @for warning in &blend.warnings { li { (warning.message) } }
            }
        }
    }
}

/// Each verdict, one a line.
pub(crate) fn lines(blend: &BlendCalibration) -> Vec<String> {
    let found = &blend.diagnostics;
    let mut lines = vec![if blend.fit.converged {
        format!(
            "The search ended in a minimum, by its gradient; {} readings, {} more than unknowns.",
            blend.fit.rows, blend.fit.degrees_of_freedom
        )
    } else {
        "The search did not end in a minimum: do not rely on this fit.".to_owned()
    }];
    if let Some(test) = found.lack_of_fit {
        let (ratio, p) = (display::significant(test.f, 3), probability(test.p));
        lines.push(if test.p < FINDING {
            format!(
                "Replicates agree better with each other than with the law (lack of fit F {ratio} on {} and {}, p {p}): the law misses something.",
                test.df1, test.df2
            )
        } else {
            format!(
                "Replicates differ from each other as much as from the law (lack of fit F {ratio} on {} and {}, p {p}): no sign against it.",
                test.df1, test.df2
            )
        });
    }
    // Lots that were told apart have curves of their own, and residuals about these.
    let pooled = blend
        .lots
        .as_ref()
        .is_some_and(|l| l.count > 1 && !l.are_separate());
    if let Some(p) = found.runs_p {
        lines.push(if p < FINDING {
            format!(
                "Residuals of one sign come in stretches (runs p {}): {}.",
                probability(p),
                if pooled {
                    "lots that differ do this, and so does a law that bends off"
                } else {
                    "the law bends off, or the readings drifted"
                }
            )
        } else {
            format!(
                "The signs of the residuals change as chance would have it (runs p {}).",
                probability(p)
            )
        });
    }
    if let Some(p) = found.normality_p {
        lines.push(if p < FINDING {
            format!(
                "Residuals are not normally scattered (Anderson-Darling p {}): look for outliers{}.",
                probability(p),
                if pooled { " and for lots that stand apart" } else { "" }
            )
        } else {
            format!("Residuals scatter as a normal law would (Anderson-Darling p {}).", probability(p))
        });
    }
    if let Some(correlation) = &found.largest_correlation {
        let [first, second] = correlation
            .pair
            .map(|name: ParameterName| name_words(blend, name));
        let size = display::significant(correlation.value, 2).replace('-', "−");
        lines.push(if correlation.value.abs() > MOVES_TOGETHER {
            format!("{} and {second} can hardly be told apart (correlation {size}): read neither interval alone.", capital(&first))
        } else {
            format!("Of all estimates, {first} and {second} move together most (correlation {size}).")
        });
    }
    if let Some(condition) = found.condition {
        let size = display::at_most(condition, 2);
        lines.push(if condition > ILL_CONDITIONED {
            format!("Some combination of the unknowns is hardly determined (condition {size}).")
        } else {
            format!("The readings determine every unknown (condition {size}).")
        });
    }
    lines.extend(row_lines(blend));
    lines
}

/// The rows that pull hardest, and those that were down-weighted.
fn row_lines(blend: &BlendCalibration) -> Vec<String> {
    let named = |rows: &[usize]| {
        let words: Vec<String> = rows
            .iter()
            .map(|row| match blend.readings.iter().find(|r| r.row == *row) {
                Some(r) => format!(
                    "row {row} ({}, {}, {})",
                    display::temperature(r.heat_temp_k),
                    display::duration(r.heat_time_s),
                    reading_words(blend, r.reading)
                ),
                None => format!("row {row}"),
            })
            .collect();
        words.join(", ")
    };
    let found = &blend.diagnostics;
    let mut lines = Vec::new();
    if !found.influential.is_empty() {
        lines.push(format!(
            "These data rows pull hardest on the fit: {}. Look at them first.",
            named(&found.influential)
        ));
    }
    if !found.downweighted.is_empty() {
        lines.push(format!(
            "Down-weighted as outliers: {}.",
            named(&found.downweighted)
        ));
    }
    lines
}

fn probability(p: f64) -> String {
    match p {
        p if p < 0.001 => "under 0.001".to_owned(),
        p if p < 0.01 => format!("{p:.3}"),
        p => format!("{p:.2}"),
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
