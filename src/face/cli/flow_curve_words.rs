//! What `heatset flow-curve` says.

use super::stated_curve::curve_option;
use super::text_table::{Side, TextTable};
use crate::fit::Warning;
use crate::fit::flow_curve::{CurveFit, CurveParameter, ShearErrors};
use crate::flow::FlowCurve;
use crate::units::display;

/// A needle that everybody knows, for saying how far a rheometer is from it: 27G nominal at
/// 1 mL/min shears a Newtonian liquid at 32 Q/(pi D^3).
const EXAMPLE_NEEDLE: &str = "27G needle at 1 mL/min";
const EXAMPLE_RATE_PER_S: f64 = 18_000.0;
/// Relative scatter beyond which a law does not describe the readings. Source: common
/// practice, no source; rheometers repeat to a few per cent.
const ILL_FITTING: f64 = 0.15;

/// The law of one sample: the answer, its figures, what it stands on and how to use it.
pub(super) fn words(
    sample: Option<&str>,
    rows: usize,
    errors: ShearErrors,
    fit: &CurveFit,
) -> Vec<String> {
    let chosen = &fit.chosen;
    let headline = headline(&chosen.curve);
    let mut lines = vec![match sample {
        Some(name) => format!("{name}: {headline}"),
        None => {
            let mut letters = headline.chars();
            letters.next().map_or_else(String::new, |first| {
                first.to_uppercase().chain(letters).collect()
            })
        }
    }];
    lines.push(String::new());
    let mut table = TextTable::new([("", Side::Left), ("", Side::Left), ("95 %", Side::Left)]);
    for parameter in &chosen.parameters {
        table.push(parameter_row(parameter));
    }
    let scatter = match errors {
        ShearErrors::Absolute => display::pressure_to(chosen.residual_sd, 2),
        ShearErrors::Relative | ShearErrors::Log => {
            format!("{} of a reading", display::percent(chosen.residual_sd))
        }
    };
    table.push([
        "scatter".to_owned(),
        scatter,
        "one time in three larger".to_owned(),
    ]);
    lines.extend(
        table
            .text(2)
            .lines()
            .filter(|line| !line.trim().is_empty())
            .map(str::to_owned),
    );
    lines.push(String::new());
    lines.push(choice_words(errors, fit));
    let (lowest, highest) = fit.shear_rate_range_per_s;
    lines.push(format!(
        "Stands on: {rows} readings from {} to {} /s{}.",
        display::at_most(lowest, 3),
        display::at_most(highest, 3),
        if highest < EXAMPLE_RATE_PER_S {
            format!(
                "; beyond them the law is a guess, and a {EXAMPLE_NEEDLE} shears at some {EXAMPLE_RATE_PER_S:.0} /s"
            )
        } else {
            String::new()
        }
    ));
    lines.push(format!(
        "Use it: heatset flow {} --gauge 27",
        curve_option(&chosen.curve, 4)
    ));
    lines
}

fn choice_words(errors: ShearErrors, fit: &CurveFit) -> String {
    let chosen = &fit.chosen;
    let kind = match errors {
        ShearErrors::Relative => "relative errors",
        ShearErrors::Log => "errors of the logarithm",
        ShearErrors::Absolute => "absolute errors",
    };
    let law = format!("Law {}, {kind}", chosen.model.words());
    let others = fit.candidates.len().saturating_sub(1);
    if others == 0 {
        return format!("{law}, as asked for.");
    }
    if chosen.aicc.is_none() {
        return format!("{law}: the simplest, for want of readings to choose by.");
    }
    let weight = fit
        .candidates
        .iter()
        .find(|candidate| candidate.model == chosen.model)
        .and_then(|candidate| candidate.weight)
        .map_or_else(String::new, |weight| format!(" (weight {weight:.2})"));
    let missing: Vec<&str> = fit
        .candidates
        .iter()
        .filter(|candidate| candidate.not_found.is_some())
        .map(|candidate| candidate.model.words())
        .collect();
    let not_found = if missing.is_empty() {
        String::new()
    } else {
        format!(" Not found in these readings: {}.", missing.join(", "))
    };
    format!("{law}, chosen over {others} others{weight}.{not_found}")
}

/// What a practitioner wants to know of a curve.
fn headline(curve: &FlowCurve) -> String {
    let shear = |index: f64| {
        if index < 0.995 {
            format!(
                "thins with shear (flow index {})",
                display::at_most(index, 2)
            )
        } else if index > 1.005 {
            format!(
                "thickens with shear (flow index {}), which gels do not: look at the readings",
                display::at_most(index, 2)
            )
        } else {
            "flows like a Newtonian liquid".to_owned()
        }
    };
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => format!(
            "one viscosity at every shear rate, {}.",
            display::viscosity(viscosity_pa_s)
        ),
        FlowCurve::PowerLaw { flow_index, .. } => {
            format!("it {}; no yield stress shows.", shear(flow_index))
        }
        FlowCurve::Bingham {
            yield_stress_pa, ..
        } => format!(
            "it holds still up to {}, then flows like a Newtonian liquid.",
            display::pressure(yield_stress_pa)
        ),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            flow_index,
            ..
        } => format!(
            "it holds still up to {}, then {}.",
            display::pressure(yield_stress_pa),
            shear(flow_index)
        ),
        FlowCurve::CarreauYasuda(shape) => format!(
            "{} at rest; from about {} /s on it {}.",
            display::viscosity(shape.zero_shear_viscosity_pa_s),
            display::at_most(1.0 / shape.time_constant_s, 2),
            shear(shape.flow_index)
        ),
    }
}

fn parameter_row(parameter: &CurveParameter) -> [String; 3] {
    let unit = match parameter.unit {
        "1" => String::new(),
        unit => format!(" {unit}"),
    };
    let (digits, interval) = match parameter.ci95 {
        Some([low, high]) => {
            let digits = display::digits_for_interval(low, high).max(2);
            let ends = [low, high].map(|end| display::significant(end, digits));
            (digits, format!("{} to {}", ends[0], ends[1]))
        }
        None => (3, "not known".to_owned()),
    };
    [
        parameter.name.replace('_', " "),
        format!("{}{unit}", display::significant(parameter.estimate, digits)),
        interval,
    ]
}

/// What the chosen law leaves in doubt.
pub(super) fn doubts(
    sample: Option<&str>,
    errors_are_relative: bool,
    fit: &CurveFit,
) -> Vec<Warning> {
    let of = sample.map_or_else(String::new, |name| format!("sample {name}: "));
    let chosen = &fit.chosen;
    let mut found = Vec::new();
    for parameter in &chosen.parameters {
        if let Some([low, _]) = parameter.ci95
            && parameter.name == "yield_stress"
            && low <= 0.0
        {
            found.push(Warning::new(
                "yield_stress_not_sure",
                format!(
                    "{of}the yield stress may as well be zero.\nWhat helps: readings at lower shear rates, where the stress levels off"
                ),
            ));
        }
    }
    if errors_are_relative && chosen.residual_sd > ILL_FITTING {
        found.push(Warning::new(
            "law_misses_readings",
            format!(
                "{of}the law misses a reading by more than {} one time in three: it does not describe this gel.\nWhat helps: --model auto, or look for readings that are not of this gel",
                display::percent(chosen.residual_sd)
            ),
        ));
    }
    let (lowest, highest) = fit.shear_rate_range_per_s;
    if highest < 10.0 * lowest {
        found.push(Warning::new(
            "narrow_shear_rates",
            format!(
                "{of}the shear rates span less than a factor of ten: the law's bend and slope stand on little.\nWhat helps: readings over two decades"
            ),
        ));
    }
    if chosen.degrees_of_freedom < 5 {
        found.push(Warning::new(
            "few_readings",
            format!(
                "{of}only {} readings more than unknowns: the intervals rest on few numbers.",
                chosen.degrees_of_freedom
            ),
        ));
    }
    if chosen.aicc.is_none() && fit.candidates.len() > 1 {
        found.push(Warning::new(
            "no_choice",
            format!(
                "{of}too few readings to choose among laws; the simplest was taken.\nWhat helps: six readings or more"
            ),
        ));
    }
    found
}
