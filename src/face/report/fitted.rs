//! What was fitted: parameters with their intervals, law and candidates, derived figures.

use super::markup::{heading_words, number, wide};
use crate::face::sentences;
use crate::fit::{BlendCalibration, Candidate, ErrorModel, IntervalKind, ParameterName};
use crate::kinetics::FirmnessLaw;
use crate::units::display;
use maud::{Markup, html};

/// The part of a blend's section.
pub(crate) fn part(blend: &BlendCalibration, invented: bool) -> Markup {
    html! {
        h3 { (heading_words("What was fitted", invented)) }
        (wide("Parameters", &parameters(blend)))
        p.note { (errors_words(blend.fit.interval, blend.error)) }
        p { (sentences::law_line(blend)) }
        (law_itself(blend))
        @if blend.candidates.len() > 1 { (wide("Laws compared", &candidates(blend))) }
        (wide("Half times", &half_times(blend)))
        p.note { (derived_words(blend)) }
    }
}

fn parameters(blend: &BlendCalibration) -> Markup {
    html! {
        table {
            caption { "Parameters of blend " (blend.blend) }
            thead {
                tr {
                    th scope="col" { "Parameter" }
                    th scope="col" { "Estimate" }
                    th scope="col" { "95 % interval" }
                }
            }
            tbody {
                @for [name, estimate, interval] in sentences::parameter_rows(blend) {
                    tr {
                        th scope="row" { (name) }
                        td { (number(&estimate)) }
                        td { (number(&interval)) }
                    }
                }
            }
        }
    }
}

fn errors_words(interval: IntervalKind, error: ErrorModel) -> String {
    let intervals = match interval {
        IntervalKind::T => "t intervals",
        IntervalKind::Profile => "profile-likelihood intervals",
        IntervalKind::Bootstrap => "bootstrap intervals",
    };
    let readings = match error {
        ErrorModel::Relative => {
            "Readings are taken to scatter by the same share everywhere, so their logarithm is fitted."
        }
        ErrorModel::Absolute => "Readings are taken to scatter by the same amount everywhere.",
        ErrorModel::Given => "Readings are weighted by the standard deviation stated for each.",
    };
    format!("Intervals are {intervals}. {readings}")
}

/// The fitted equations, in the letters of the table.
fn law_itself(blend: &BlendCalibration) -> Markup {
    html! {
        dl.law {
            div.together {
                dt { "Reading" }
                dd {
                    @match blend.law {
                        FirmnessLaw::Linear => { "P = P" sub { "0" } " + (P" sub { "∞" } " − P" sub { "0" } ") a" },
                        FirmnessLaw::GelPoint => { "P = P" sub { "0" } " (1 − a/a" sub { "gel" } ")" sup { "−s" } },
                        FirmnessLaw::Log => { "ln P = ln P" sub { "0" } " + (ln P" sub { "∞" } " − ln P" sub { "0" } ") a" },
                    }
                    ", P" sub { "0" } " the initial reading, "
                    @if blend.law == FirmnessLaw::GelPoint {
                        "a" sub { "gel" } " the conversion at the gel point, s its exponent"
                    } @else { "P" sub { "∞" } " the plateau" }
                    ", a the conversion"
                }
            }
            div.together {
                dt { "Conversion" }
                dd {
                    @if blend.order == 1.0 { "a = 1 − exp(−k t)" }
                    @else {
                        "a = 1 − [1 + (n − 1) k t]" sup { "−1/(n − 1)" }
                        ", n = " (display::plain(blend.order))
                    }
                    ", t the time at temperature (the heat dose over k where it changes)"
                }
            }
            div.together {
                dt { "Rate" }
                dd {
                    "k = k" sub { "ref" } " exp[−(E/R)(1/T − 1/T" sub { "ref" } ")], T"
                    sub { "ref" } " = " (display::temperature(blend.reference_temp_k))
                    ", E the activation energy, R = 8.314462618 J/mol/K"
                }
            }
        }
    }
}

fn candidates(blend: &BlendCalibration) -> Markup {
    html! {
        table {
            caption { "Laws compared (lowest AICc wins)" }
            thead {
                tr {
                    th scope="col" { "Law" }
                    th scope="col" { "Order" }
                    th scope="col" { "AICc" }
                    th scope="col" { "Weight" }
                }
            }
            tbody {
                @for candidate in &blend.candidates {
                    tr {
                        th scope="row" {
                            (candidate.law.name())
                            @if candidate.yield_stress { " with a yield stress" }
                            @if candidate.lag == "fitted" { " with a lag" }
                            @if is_chosen(candidate, blend) { " (chosen)" }
                        }
                        td { (display::plain(candidate.order)) }
                        td { (candidate.aicc.map_or_else(|| "none".to_owned(), |v| format!("{v:.1}").replace('-', "−"))) }
                        td { (candidate.weight.map_or_else(|| "none".to_owned(), weight_words)) }
                    }
                }
            }
        }
    }
}

fn is_chosen(candidate: &Candidate, blend: &BlendCalibration) -> bool {
    let fitted = |name| blend.parameter(name).is_some_and(|p| !p.held);
    candidate.law == blend.law
        && candidate.order == blend.order
        && candidate.yield_stress == fitted(ParameterName::YieldSharePlateau)
        && (candidate.lag == "fitted") == fitted(ParameterName::DoseLag)
}

fn weight_words(weight: f64) -> String {
    if weight > 0.995 {
        "over 0.99".to_owned()
    } else if weight < 0.005 {
        "under 0.01".to_owned()
    } else {
        display::significant(weight, 2)
    }
}

fn half_times(blend: &BlendCalibration) -> Markup {
    html! {
        table {
            caption { "Time in which half sets, for gel at that temperature" }
            thead {
                tr {
                    @for half in &blend.derived.half_time_s {
                        th scope="col" { (display::temperature(half.temp_k)) }
                    }
                }
            }
            tbody {
                tr {
                    @for half in &blend.derived.half_time_s {
                        td { (display::duration(half.value)) }
                    }
                }
            }
        }
    }
}

fn derived_words(blend: &BlendCalibration) -> Markup {
    html! {
        "A step of " (display::at_most(blend.derived.z_value_k, 3))
        " °C changes the rate tenfold at the reference temperature (z-value)."
        @if let Some(factor) = blend.derived.pre_exponential_per_s {
            " Pre-exponential factor A = " (number(&display::rate_to(factor, 3)))
            "; its digits hang on E, so compare k"
            sub { "ref" } " and E instead."
        }
    }
}
