//! Words that the charts share.

use crate::chart::ChartWords;
use crate::face::cautions;
use crate::face::sentences::lots_words;
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{TimeQuestion, history_words};
use crate::thermal::WarmUp;
use crate::units::display;

/// Words under every chart of a blend.
pub(super) fn words(
    calibration: &Calibration,
    blend: &BlendCalibration,
    title: String,
    extra: &str,
) -> ChartWords {
    let files: Vec<String> = calibration
        .source
        .iter()
        .map(|s| {
            std::path::Path::new(&s.file)
                .file_name()
                .map_or_else(|| s.file.clone(), |n| n.to_string_lossy().into_owned())
        })
        .collect();
    let lots = match &blend.lots {
        None => String::new(),
        Some(_) => format!(", {}", lots_words(blend)),
    };
    ChartWords {
        title,
        subtitle: format!(
            "{}, blend {}{lots}, {} readings{extra}",
            files.join(" + "),
            blend.blend,
            blend.fit.rows
        ),
        note: cautions::SHORT.replace("   heatset cautions", ""),
        invented: calibration.invented,
        extrapolated: false,
    }
}

/// Push and warm-up of a question, for a subtitle.
pub(super) fn push_words(blend: &BlendCalibration, question: &TimeQuestion) -> String {
    let warm_up = question.warm_up.clone().unwrap_or_else(|| blend.warm_up());
    format!(
        ", {}, {}, {}",
        question.setup.barrel.label(),
        display::flow_rate(question.setup.flow_rate_m3_per_s),
        match warm_up {
            WarmUp::None => "warm-up not counted".to_owned(),
            declared => history_words(&declared),
        }
    )
}

/// A needle's name, kept together where a title is wrapped.
pub(super) fn needle_words(question: &TimeQuestion) -> String {
    question.setup.needle.label().replace(' ', "\u{a0}")
}

/// What was read, for an axis.
pub(super) fn quantity(blend: &BlendCalibration) -> &'static str {
    match blend.reading_unit.as_str() {
        "Pa.s" => "viscosity",
        "Pa" => "storage modulus",
        _ => "firmness",
    }
}
