//! The smallest bench, in words.

use crate::plan::bench_plan::{
    Aggregate, AskedWidth, BenchPlan, BenchPlanQuestion, BenchSetting, ForWhom, PlanStep, Span,
};
use crate::thermal::WarmUp;
use crate::units::display;
use std::fmt::Write as _;

/// Half-widths past this share tell no heat time worth the name.
const TELLS_NOTHING: f64 = 3.0;

/// The plan: what to read, what it tells, what one more or less would do, what it stands on.
pub(crate) fn in_words(
    question: &BenchPlanQuestion,
    plan: &BenchPlan,
    source: impl Fn(&str) -> &'static str,
) -> String {
    let mut text = String::new();
    if plan.reached {
        let _ = writeln!(
            text,
            "{} lots, {} readings each ({} in all, in {}) tell the heat time {} to {}; {} was asked.",
            plan.lots,
            plan.readings_a_lot,
            plan.readings,
            sessions_words(plan),
            whom_words(question),
            width_words(question, plan.half_width_ratio, plan.half_width_s),
            asked_words(question)
        );
    } else {
        let _ = writeln!(text, "{}", not_reached(question, plan));
        let _ = writeln!(
            text,
            "\nThe largest bench that was allowed: {} lots, {} readings each ({} in all, in {}).",
            plan.lots,
            plan.readings_a_lot,
            plan.readings,
            sessions_words(plan)
        );
    }
    let gels = gels(plan);
    let _ = writeln!(
        text,
        "  {}; nine benches of ten stay under ±{}.",
        match question.aggregate {
            _ if gels == 1 => "That is for the one gel that is believed in".to_owned(),
            Aggregate::Worst =>
                format!("That is the worst of the {gels} gels that are believed possible"),
            Aggregate::Mean =>
                format!("That is the mean of the {gels} gels that are believed possible"),
        },
        percent(plan.half_width_ratio_nine_of_ten)
    );
    if plan.cases_without_heat_time > 0 {
        let _ = writeln!(
            text,
            "  {} more are left out: they never take {} through this needle.",
            plan.cases_without_heat_time,
            display::force(question.setup.force_limit_n)
        );
    }
    settings_lines(&mut text, plan);
    steps_lines(&mut text, question, plan);
    floor_lines(&mut text, question, plan);
    belief_lines(&mut text, question, source);
    text
}

/// Different gels among the cases: each stands once for every temperature that was asked about.
fn gels(plan: &BenchPlan) -> usize {
    plan.cases.chunk_by(|a, b| a.case == b.case).count()
}

/// That the width cannot be had, and what helps.
pub(crate) fn not_reached(question: &BenchPlanQuestion, plan: &BenchPlan) -> String {
    let asked = asked_words(question);
    let floor = width_words(
        question,
        plan.floor.half_width_ratio,
        plan.floor.half_width_s,
    );
    let never = match question.width {
        AskedWidth::Ratio(ratio) => plan.floor.half_width_ratio > ratio,
        AskedWidth::Seconds(seconds) => plan.floor.half_width_s > seconds,
    };
    if never {
        return format!(
            "{asked} cannot be reached, with any number of readings: for a new lot the spread between lots and what differs from syringe to syringe leave {floor}.\nWhat helps: ask for more than that; --answer typical-lot for the curve alone; a measured bore, a timed push and a checked block (--bore-tolerance, --flow-tolerance, --block-tolerance); or read the lot itself, a few syringes before its session"
        );
    }
    format!(
        "{asked} is not reached within these limits: {} lots of {} readings tell {}.\nWhat helps: more lots or readings (--lots, --readings-a-lot); a narrower belief (a first session at two temperatures, then this again with what it shows); or --serve mean, which lets the worst gels fare worse",
        plan.lots,
        plan.readings_a_lot,
        width_words(question, plan.half_width_ratio, plan.half_width_s)
    )
}

fn whom_words(question: &BenchPlanQuestion) -> String {
    let at: Vec<String> = question
        .asked_kelvin
        .iter()
        .map(|kelvin| display::temperature(*kelvin))
        .collect();
    let whom = match question.for_whom {
        ForWhom::NewLot => "a syringe of a new lot",
        ForWhom::TypicalLot => "the typical lot's curve",
    };
    format!(
        "at {} for {whom} ({} through {})",
        at.join(" and "),
        display::force(question.setup.force_limit_n),
        question.setup.needle.label()
    )
}

fn asked_words(question: &BenchPlanQuestion) -> String {
    match question.width {
        AskedWidth::Ratio(ratio) => format!("±{}", percent(ratio)),
        AskedWidth::Seconds(seconds) => format!("±{}", display::duration(seconds)),
    }
}

fn width_words(question: &BenchPlanQuestion, ratio: f64, seconds: f64) -> String {
    if ratio > TELLS_NOTHING {
        return "next to nothing".to_owned();
    }
    match question.width {
        AskedWidth::Ratio(_) => format!("±{}", percent(ratio)),
        AskedWidth::Seconds(_) => format!("±{}", display::duration(seconds)),
    }
}

fn percent(ratio: f64) -> String {
    format!("{:.0} %", 100.0 * ratio)
}

fn sessions_words(plan: &BenchPlan) -> String {
    match plan.sessions.len() {
        1 => "1 session".to_owned(),
        n => format!("{n} sessions"),
    }
}

fn settings_lines(text: &mut String, plan: &BenchPlan) {
    text.push_str("\nEach lot is read at:\n");
    let mut settings = plan.settings.clone();
    settings.sort_by(|a, b| {
        let unheated = |s: &BenchSetting| s.heat_time_s > 0.0;
        (unheated(a).cmp(&unheated(b)))
            .then(a.heat_temp_k.total_cmp(&b.heat_temp_k))
            .then(a.heat_time_s.total_cmp(&b.heat_time_s))
    });
    let times = |same: &[BenchSetting]| -> String {
        let words: Vec<String> = same
            .chunk_by(|a, b| a.heat_time_s == b.heat_time_s)
            .filter_map(|alike| {
                let time = display::duration(alike.first()?.heat_time_s);
                Some(match alike.len() {
                    1 => time,
                    n => format!("{time} ({n} times)"),
                })
            })
            .collect();
        words.join(", ")
    };
    for same in settings.chunk_by(|a, b| {
        (a.heat_time_s > 0.0) == (b.heat_time_s > 0.0)
            && (a.heat_time_s == 0.0 || a.heat_temp_k == b.heat_temp_k)
    }) {
        let Some(first) = same.first() else { continue };
        let line = if first.heat_time_s > 0.0 {
            format!(
                "{:<7} {}",
                display::temperature(first.heat_temp_k),
                times(same)
            )
        } else {
            match same.len() {
                1 => "unheated".to_owned(),
                n => format!("unheated ({n} times)"),
            }
        };
        let _ = writeln!(text, "  {line}");
    }
}

fn change_words(step: &PlanStep) -> String {
    match step.change {
        "one-lot-more" | "one-lot-less" => format!("{} lots", step.lots),
        "one-reading-more" | "one-reading-less" => {
            format!("{} readings a lot", step.readings_a_lot)
        }
        "every-setting-twice" => "every setting twice".to_owned(),
        _ => format!("{} temperatures", step.temperatures),
    }
}

fn steps_lines(text: &mut String, question: &BenchPlanQuestion, plan: &BenchPlan) {
    let _ = writeln!(
        text,
        "\nWhat one more or one less of each would tell ({} as planned):",
        width_words(question, plan.half_width_ratio, plan.half_width_s)
    );
    for step in &plan.steps {
        let _ = writeln!(
            text,
            "  {:<20} {:<9} {} readings in all",
            change_words(step),
            width_words(question, step.half_width_ratio, step.half_width_s),
            step.readings
        );
    }
}

fn floor_lines(text: &mut String, question: &BenchPlanQuestion, plan: &BenchPlan) {
    match question.for_whom {
        ForWhom::NewLot => {
            let _ = writeln!(
                text,
                "\nFor a new lot no number of readings or lots tells better than {}: lots differ, and so do syringes, bores and pushes.",
                width_words(question, plan.floor.half_width_ratio, plan.floor.half_width_s)
            );
        }
        ForWhom::TypicalLot => text.push_str(
            "\nThis is the typical lot's curve. A syringe of a new lot lies further off: lots differ, and no reading takes that away (--answer new-lot).\n",
        ),
    }
    text.push_str("With few lots the spread between them is itself hardly known: Student's t with lots less one degrees of freedom is counted.\n");
}

fn span_words(span: Span, words: impl Fn(f64) -> String) -> String {
    if span.is_one_value() {
        words(span.least)
    } else {
        format!("{} to {}", words(span.least), words(span.most))
    }
}

fn belief_lines(
    text: &mut String,
    question: &BenchPlanQuestion,
    source: impl Fn(&str) -> &'static str,
) {
    let beliefs = &question.beliefs;
    text.push_str("\nStands on no reading, only on what is believed of the gel:\n");
    let lines = [
        (
            "activation_energy",
            format!(
                "activation energy {}",
                span_words(beliefs.activation_energy_j_per_mol, display::energy)
            ),
        ),
        (
            "half_time",
            format!(
                "half set at {} in {}",
                display::temperature(beliefs.half_time_temp_k),
                span_words(beliefs.half_time_s, display::duration)
            ),
        ),
        (
            "initial",
            format!(
                "before heat {}",
                span_words(beliefs.initial_pa_s, display::viscosity)
            ),
        ),
        (
            "plateau",
            format!(
                "all set {}",
                span_words(beliefs.plateau_pa_s, display::viscosity)
            ),
        ),
        (
            "scatter",
            format!(
                "a reading scatters by {}",
                percent(beliefs.reading_scatter_ratio)
            ),
        ),
        (
            "lot_spread_rate",
            format!(
                "lots differ in rate by {}",
                percent(beliefs.lot_spread_rate_ratio)
            ),
        ),
        (
            "lot_spread_initial",
            format!(
                "before heat by {}",
                percent(beliefs.lot_spread_initial_ratio)
            ),
        ),
        (
            "lot_spread_plateau",
            format!("when set by {}", percent(beliefs.lot_spread_plateau_ratio)),
        ),
    ];
    for (name, words) in lines {
        let _ = writeln!(text, "  {words}: {}", source(name));
    }
    let warm_up = match &question.warm_up {
        WarmUp::Lag {
            time_constant_s, ..
        } => format!(
            "the bench's gels warm up with a lag of {}",
            display::duration(*time_constant_s)
        ),
        _ => "the bench's gels are at the block's temperature at once (--warm-up 40s for a lag)"
            .to_owned(),
    };
    let _ = writeln!(
        text,
        "  law log, order 1; {warm_up}.\nAfter the first session: heatset fit, then heatset next, which knows your gel."
    );
}
