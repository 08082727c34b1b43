//! Set times in sentences: the fit, when a gel has set, equal heats, an anchor's push.

use crate::fit::set_time::{Anchor, SetTimeBlend, SetTimeName, SetTimeParameter};
use crate::plan::set_time::{AnchorPush, SamePushAnswer, SameSettingAnswer, SetTimeAnswer};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::units::display::{self, Rounding};
use std::fmt::Write as _;

/// What a time of heating is never said without.
const HOT: &str = "  Out of the block the gel is hot and burns: let it cool before it is handed on ('heatset warmup' says how long).\n";

/// What stands over answers from invented looks and beyond what was looked at.
fn marks(invented: bool, extrapolated: bool) -> String {
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was looked at.\n");
    }
    text
}

/// Times of an interval, rounded as it deserves.
fn times([low, high]: [f64; 2]) -> String {
    let step = display::duration_step_s(low, high);
    let near = |time: f64| display::duration_rounded(time, step, Rounding::Nearest);
    format!("{} to {}", near(low), near(high))
}

/// A time rounded as its interval deserves.
fn time_of(time_s: f64, [low, high]: [f64; 2]) -> String {
    let step = display::duration_step_s(low, high);
    display::duration_rounded(time_s, step, Rounding::Nearest)
}

/// One blend in words.
pub(crate) fn blend_in_words(blend: &SetTimeBlend, invented: bool, several: bool) -> String {
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: nobody saw this.\n");
    }
    if several {
        let _ = writeln!(text, "Blend {}", blend.blend);
    }
    let _ = writeln!(text, "{}\n", headline(blend));
    let rows = parameter_rows(blend);
    let width = |column: usize| {
        rows.iter()
            .map(|row| row[column].chars().count())
            .max()
            .unwrap_or(0)
    };
    let (first, second) = (width(0), width(1));
    for [name, value, interval] in &rows {
        let line = format!("  {name:<first$}  {value:<second$}  {interval}");
        let _ = writeln!(text, "{}", line.trim_end());
    }
    text.push('\n');
    for criterion in &blend.criteria {
        let of = if blend.criteria.len() > 1 {
            format!(" ('{criterion}')")
        } else {
            String::new()
        };
        let _ = writeln!(text, "Set, by temperature{of}:");
        let own = blend.derived.set_time_s.iter();
        for at in own.filter(|at| at.criterion == *criterion) {
            let _ = writeln!(
                text,
                "  {}  half in {} ({}), 95 of 100 in {}",
                display::temperature(at.temp_k),
                time_of(at.median, at.median_ci95),
                times(at.median_ci95),
                time_of(at.by_95_percent, at.median_ci95)
            );
        }
    }
    let _ = writeln!(text, "\n{}", stands_on(blend));
    for (place, anchor) in blend.anchors.iter().enumerate() {
        let _ = writeln!(text, "Anchor {}: {}", place + 1, anchor_words(anchor));
    }
    for warning in &blend.warnings {
        let _ = writeln!(text, "Note: {}", warning.message);
    }
    text
}

/// How long it takes, and what ten degrees do.
fn headline(blend: &SetTimeBlend) -> String {
    let reference = blend.reference_temp_k;
    let energy = blend.estimate(SetTimeName::ActivationEnergy);
    let ten = (energy / GAS_CONSTANT_J_PER_MOL_K
        * (1.0 / (reference - 5.0) - 1.0 / (reference + 5.0)))
        .exp();
    let median = blend.estimate(SetTimeName::SetTimeRef)
        * (blend.estimate(SetTimeName::Scatter) * blend.scatter.deviate(0.5)).exp();
    format!(
        "Half of the syringes have set in {} at {}; ten degrees more make it {} times as fast.",
        display::duration(median),
        display::temperature(reference),
        display::significant(ten, 2)
    )
}

/// Name, estimate and interval of each parameter.
fn parameter_rows(blend: &SetTimeBlend) -> Vec<[String; 3]> {
    blend
        .parameters
        .iter()
        .map(|parameter| {
            let digits = parameter
                .ci95
                .map_or(3, |[low, high]| display::digits_for_interval(low, high));
            let value = |value: f64| value_words(parameter, value, digits);
            let interval = match (parameter.held, parameter.ci95) {
                (true, _) => "held".to_owned(),
                (_, Some([low, high])) => match parameter.name {
                    SetTimeName::SetTimeRef => times([low, high]),
                    // Few lots leave the lower end anywhere.
                    SetTimeName::LotSd if high > 10.0 * low => format!("up to {}", value(high)),
                    _ => format!("{} to {}", value(low), value(high)),
                },
                (_, None) => "none was found".to_owned(),
            };
            let estimate = match (parameter.name, parameter.ci95) {
                (SetTimeName::SetTimeRef, Some(interval)) => time_of(parameter.estimate, interval),
                _ => value(parameter.estimate),
            };
            [name_words(blend, parameter), estimate, interval]
        })
        .collect()
}

fn name_words(blend: &SetTimeBlend, parameter: &SetTimeParameter) -> String {
    match parameter.name {
        SetTimeName::SetTimeRef => {
            let at = display::temperature(blend.reference_temp_k);
            let share = match blend.scatter {
                crate::fit::set_time::ScatterForm::Lognormal => "half",
                crate::fit::set_time::ScatterForm::Weibull => "63 of 100",
            };
            match (blend.criteria.len(), blend.criteria.first()) {
                (2.., Some(first)) => format!("{share} set at {at} ('{first}')"),
                _ => format!("{share} set at {at}"),
            }
        }
        SetTimeName::ActivationEnergy => "activation energy".to_owned(),
        SetTimeName::CriterionRatio => format!(
            "'{}', times as long",
            parameter.criterion.as_deref().unwrap_or_default()
        ),
        SetTimeName::Scatter => format!("scatter, {}", blend.scatter.as_str()),
        SetTimeName::LotSd => "spread between lots".to_owned(),
    }
}

fn value_words(parameter: &SetTimeParameter, value: f64, digits: usize) -> String {
    match parameter.name {
        SetTimeName::ActivationEnergy => display::energy_to(value, digits),
        _ => display::significant(value, digits),
    }
}

/// Syringes and how they were seen, lots, form of scatter.
fn stands_on(blend: &SetTimeBlend) -> String {
    let fit = &blend.fit;
    let lots = match &blend.lots {
        None => "lot not named".to_owned(),
        Some(lots) if lots.count == 1 => "1 lot".to_owned(),
        Some(lots) if lots.told_apart => format!("{} lots", lots.count),
        Some(lots) => format!("{} lots fitted as one", lots.count),
    };
    let form = match blend.candidates.as_slice() {
        [_] => format!("Scatter {} as asked.", blend.scatter.as_str()),
        candidates => {
            let weight = candidates
                .iter()
                .find(|c| c.scatter == blend.scatter)
                .and_then(|c| c.weight)
                .map_or_else(String::new, |w| {
                    format!(" (weight {})", display::significant(w, 2))
                });
            format!("Scatter {}{weight}.", blend.scatter.as_str())
        }
    };
    format!(
        "Stands on {} syringes of {lots}: {} set when first looked at, {} not set when last looked at, {} seen before and after. {form}",
        fit.syringes, fit.left_censored, fit.right_censored, fit.interval_censored
    )
}

fn anchor_words(anchor: &Anchor) -> String {
    let needle = match anchor.gauge {
        Some(gauge) => format!("{gauge}G x {}", display::length_mm(anchor.needle_length_m)),
        None => format!(
            "{} bore x {}",
            display::length_mm(anchor.bore_m),
            display::length_mm(anchor.needle_length_m)
        ),
    };
    format!(
        "{} at {} took {} through {needle} at {}; that is {} times the median set time there.",
        display::duration(anchor.heat_time_s),
        display::temperature(anchor.heat_temp_k),
        display::force(anchor.plunger_force_n),
        display::flow_rate(anchor.flow_rate_m3_per_s),
        display::significant(anchor.over_median_set_time_ratio, 2)
    )
}

/// What an answer stands on.
pub(crate) fn stands_line(file: &str, blend: &SetTimeBlend, new_lot: bool) -> String {
    let range = &blend.range;
    let lots = match &blend.lots {
        Some(lots) if lots.told_apart && new_lot => {
            format!("{} lots, a new one allowed for", lots.count)
        }
        Some(lots) if lots.told_apart => format!("{} lots", lots.count),
        Some(lots) if lots.count > 1 => format!("{} lots fitted as one", lots.count),
        _ => "one lot: nothing is known of the next person's".to_owned(),
    };
    format!(
        "Stands on: {file}, {} syringes seen set or not, {} to {}, {} to {}; {lots}.",
        blend.fit.syringes,
        display::celsius(range.heat_temp_k[0]),
        display::temperature(range.heat_temp_k[1]),
        display::duration(range.heat_time_s[0]),
        display::duration(range.heat_time_s[1])
    )
}

/// When it has set.
pub(crate) fn time_in_words(answer: &SetTimeAnswer, several_criteria: bool) -> String {
    let mut text = marks(answer.invented, answer.extrapolated);
    let set = &answer.set_time_s;
    let [low, high] = set.syringe_interval95;
    // Rounded up, but not by so much that it says another thing.
    let step = display::duration_step_s(low, high).min(10.0);
    let by = if several_criteria {
        format!(" by '{}'", answer.criterion)
    } else {
        String::new()
    };
    let _ = writeln!(
        text,
        "At {} the gel has set{by} not before {} of heating: by then 19 of 20 syringes have.",
        display::temperature(answer.heat_temp_k),
        display::duration_rounded(set.not_before, step, Rounding::Up)
    );
    let whose = match &answer.lot {
        Some(lot) => format!("of lot {lot}"),
        None if answer.new_lot_allowed_for => "of a new lot".to_owned(),
        None => "of this lot".to_owned(),
    };
    let _ = writeln!(
        text,
        "  Half of the syringes {whose} set by {} ({}); one syringe sets within {}.",
        time_of(set.median, set.median_interval95),
        times(set.median_interval95),
        times(set.syringe_interval95)
    );
    text.push_str("  Clock time, warm-up included, in the syringe and block that were looked at. How firm it is, and what passes a needle, set and not-set do not tell.\n");
    text.push_str(HOT);
    text
}

/// Equal setting at another temperature.
pub(crate) fn same_setting_in_words(answer: &SameSettingAnswer) -> String {
    let mut text = marks(answer.invented, answer.extrapolated);
    let known = format!(
        "{} at {}",
        display::duration(answer.same_as_time_s),
        display::temperature(answer.same_as_temp_k)
    );
    let interval = answer.heat_time_s_interval95;
    let _ = writeln!(
        text,
        "{} ({}) at {} sets the gel as far as {known}.",
        time_of(answer.heat_time_s_median, interval),
        times(interval),
        display::temperature(answer.heat_temp_k)
    );
    if let Some(share) = answer.set_share_by_then {
        let _ = writeln!(
            text,
            "  By then {:.0} of 100 syringes have set, at either.",
            100.0 * share
        );
    }
    text.push_str("  Clock times in the same syringe and block: their warm-up is taken to be a like share of both.\n");
    text.push_str(HOT);
    text
}

/// When a push is the anchor's again.
pub(crate) fn same_push_in_words(answer: &SamePushAnswer) -> String {
    let mut text = marks(answer.invented, answer.extrapolated);
    let dose = answer.heat_time_interval95.dose_s;
    let _ = writeln!(
        text,
        "{} at {} takes the push of {} at {}: {} as it was pushed there{}.",
        time_of(answer.heat_time_s_point, dose),
        display::temperature(answer.heat_temp_k),
        display::duration(answer.anchor_time_s),
        display::temperature(answer.anchor_temp_k),
        display::force_to(answer.anchor_plunger_force_n, 2),
        match answer.anchor_pushes {
            1 => String::new(),
            count => format!(", the mean of {count} pushes"),
        }
    );
    let _ = writeln!(
        text,
        "  The same dose lies within {}; a syringe that sets sooner or later than the usual one, as the anchor's may have too, within {}.",
        times(dose),
        times(answer.heat_time_interval95.syringe_s)
    );
    if let Some(push) = &answer.push {
        text.push_str(&push_words(push));
    }
    text.push_str("  This dose and no other: one push does not say how firmness goes with time.\n");
    text.push_str(HOT);
    text
}

fn push_words(push: &AnchorPush) -> String {
    let mut text = String::new();
    let [low, high] = push.plunger_force_n.interval95;
    let digits = display::digits_for_interval(low, high).max(2);
    let force = |newton: f64| display::force_to(newton, digits);
    let _ = writeln!(
        text,
        "  Through {} that gel takes {} ({} to {}); limit asked {}.",
        push.needle,
        force(push.plunger_force_n.median),
        force(low),
        force(high),
        display::force(push.force_limit_n)
    );
    if push.flow_index_is_assumed && !push.is_the_anchors_own {
        let with: Vec<String> = push
            .if_flow_index
            .iter()
            .map(|other| {
                format!(
                    "{} with a flow index of {}",
                    display::force_to(other.plunger_force_n, 2),
                    display::at_most(other.flow_index, 2)
                )
            })
            .collect();
        let _ = writeln!(
            text,
            "  How it thins is not known, and it matters between needles: {}. State it with --flow-index.",
            with.join(", ")
        );
    }
    if push.plunger_force_n.median > push.force_limit_n {
        text.push_str("  That is over the limit. What helps: a wider needle, a slower push, a smaller syringe, or less heat.\n");
    }
    text
}
