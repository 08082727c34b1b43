//! What stands on a run sheet, whatever it is written on.

use super::facts::{Section, sections};
use crate::face::answer_words::{assumed_line, stands_line, thinning_line};
use crate::face::cautions::{self, Caution};
use crate::fit::BlendCalibration;
use crate::plan::PushSetup;
use crate::plan::sheet::RunSheet;
use crate::units::display::{self, Rounding};

/// Words that mark what stands on invented readings.
const INVENTED: &str = "INVENTED DATA: a sheet for learning the tool, for nothing else.";
/// Words that mark what lies outside the measured.
const EXTRAPOLATED: &str = "EXTRAPOLATED: this lies outside what was measured.";

/// What a form is made from.
pub(crate) struct FormRequest<'a> {
    /// The sheet.
    pub sheet: &'a RunSheet,
    /// The blend that was asked about.
    pub blend: &'a BlendCalibration,
    /// The push that was asked about.
    pub setup: &'a PushSetup,
    /// Pressure at the joint at the estimates, in Pa.
    pub joint_pressure_pa: Option<f64>,
    /// What the heat time is least sure of, where it is the aim of an answer.
    pub sure: Option<String>,
    /// Whether the times are those of a clock, rather than counted from the start.
    pub clock_is_stated: bool,
}

/// One row: what is planned; everything else on its line is for the hand.
pub(crate) struct Row {
    pub(super) code: String,
    pub(super) in_at: String,
    pub(super) out_at: String,
    pub(super) cool_until: String,
}

/// A form.
pub(crate) struct Form {
    /// What marks the whole of it, before anything else.
    pub(super) marks: Vec<&'static str>,
    /// Code of the lot.
    pub(super) lot: Option<String>,
    /// The first lines: what is done, and the heat and push of it.
    pub(super) headlines: Vec<String>,
    /// The figures.
    pub(super) sections: Vec<Section>,
    /// The syringes.
    pub(super) rows: Vec<Row>,
    /// What is ticked once a session.
    pub(super) checks: Vec<String>,
    /// What is filled in once a session.
    pub(super) blanks: Vec<&'static str>,
    /// What the reader should know.
    pub(super) notes: Vec<String>,
    /// What it stands on and takes for granted.
    pub(super) stands: Vec<String>,
    /// The two lines under every answer.
    pub(super) short: String,
    /// The cautions that a session needs before its eyes.
    pub(super) cautions: Vec<Caution>,
}

/// Puts the words of a sheet together.
pub(crate) fn form(request: &FormRequest<'_>) -> Form {
    let sheet = request.sheet;
    let mut marks = Vec::new();
    if sheet.invented {
        marks.push(INVENTED);
    }
    if sheet.extrapolated {
        marks.push(EXTRAPOLATED);
    }
    Form {
        marks,
        lot: sheet.lot_code.clone(),
        headlines: headlines(request),
        sections: sections(sheet),
        rows: sheet
            .syringes
            .iter()
            .map(|syringe| Row {
                code: syringe.code.clone(),
                in_at: syringe.in_at.clone(),
                out_at: syringe.out_at.clone(),
                cool_until: syringe
                    .cool_until_at
                    .clone()
                    .unwrap_or_else(|| "measure".to_owned()),
            })
            .collect(),
        checks: checks(sheet),
        blanks: vec![
            "date",
            "signature code",
            "block",
            "room temperature",
            "syringe lot",
            "needle lot",
            "cap lot",
            "hyaluronic acid lot",
            "tube lot",
            "buffer lot",
        ],
        notes: sheet.warnings.iter().map(|w| w.message.clone()).collect(),
        stands: stands(request),
        short: cautions::SHORT.replace("   heatset cautions", ""),
        cautions: cautions::ALL.to_vec(),
    }
}

/// What the sheet stands on, is least sure of and takes for granted.
fn stands(request: &FormRequest<'_>) -> Vec<String> {
    let sheet = request.sheet;
    let mut lines = vec![stands_line(&sheet.calibration, request.blend)];
    lines.extend(request.sure.clone());
    lines.push(assumed_line(
        &sheet.assumptions,
        request.setup,
        request.joint_pressure_pa,
    ));
    lines.extend(thinning_line(&sheet.push.if_flow_index, &sheet.push.needle));
    lines
}

/// '8 syringes in 2 turns ...', and what is done with each.
fn headlines(request: &FormRequest<'_>) -> Vec<String> {
    let sheet = request.sheet;
    let counted = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
    let when = if request.clock_is_stated {
        format!(
            "first in at {}, last out at {}",
            sheet.start_at, sheet.end_at
        )
    } else {
        format!(
            "times count from the first syringe; last out at {}",
            sheet.end_at
        )
    };
    let still = match (sheet.heat.cool_time_s, sheet.heat.cool_time_s_range) {
        (Some(usual_s), Some([_, still_s])) => format!(
            " (clock: moving air; still air {} more)",
            display::duration_rounded(still_s - usual_s, 10.0, Rounding::Up)
        ),
        _ => String::new(),
    };
    let force = sheet.push.plunger_force_n;
    let [low, high] = force.interval95;
    let digits = display::digits_for_interval(low, high).max(2);
    vec![
        format!(
            "{} in {} of the block; {when}.",
            counted(sheet.syringes.len(), "syringe"),
            counted(sheet.block.turns, "turn")
        ),
        format!(
            "Each {} at {} in the block{}, then cool until the core is under {}{still}.",
            display::duration(sheet.heat.heat_time_s),
            display::temperature(sheet.heat.heat_temp_k),
            if sheet.heat.is_stated {
                " (stated)"
            } else {
                ""
            },
            display::temperature(sheet.heat.cool_until_k)
        ),
        format!(
            "Expected push through a {} needle: about {} ({} to {} N); limit asked {}.",
            sheet.push.needle,
            display::force_to(force.median, digits),
            display::significant(low, digits),
            display::significant(high, digits),
            display::force(sheet.push.force_limit_n)
        ),
    ]
}

/// What is ticked before, during and after.
fn checks(sheet: &RunSheet) -> Vec<String> {
    let mut checks = vec![
        "identity and code of every syringe checked before".to_owned(),
        format!(
            "block at {}, measured in a place",
            display::temperature(sheet.heat.heat_temp_k)
        ),
    ];
    if sheet.buffer.is_some() || sheet.volumes.buffer_m3 > 0.0 {
        checks.push("no gas comes any more: carbon dioxide has left, only then capped".to_owned());
    }
    checks.extend(
        [
            "air expelled from every syringe",
            "locking joint and cap tight",
            "cap vented where it can be",
            "volume of every syringe as on the sheet",
        ]
        .map(str::to_owned),
    );
    checks.push(format!(
        "core under {} before hand-over",
        display::temperature(sheet.heat.cool_until_k)
    ));
    checks.push("identity and code of every syringe checked after".to_owned());
    checks
}
