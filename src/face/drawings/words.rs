//! Words that the charts share.

use crate::chart::ChartWords;
use crate::face::cautions;
use crate::face::sentences::lots_words;
use crate::fit::{BlendCalibration, Calibration};

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

/// What was read, for an axis.
pub(super) fn quantity(blend: &BlendCalibration) -> &'static str {
    match blend.reading_unit.as_str() {
        "Pa.s" => "viscosity",
        "Pa" => "storage modulus",
        _ => "firmness",
    }
}
