//! `heatset check` on a table of what was seen.

use super::output::Output;
use super::{CliError, Context};
use crate::readings::{SeenAt, SeenSummary, SeenTable, Source, summarise_seen};
use crate::units::display;
use serde::Serialize;
use std::fmt::Write as _;

#[derive(Serialize)]
struct Document<'a> {
    reading: &'static str,
    rows: usize,
    used: usize,
    invented: bool,
    source: &'a [Source],
    seen: Vec<At<'a>>,
    lots: Vec<Lot<'a>>,
    anchors: usize,
    unknown_columns: &'a [String],
    gaps: Vec<Gap>,
}

#[derive(Serialize)]
struct At<'a> {
    blend: &'a str,
    criterion: &'a str,
    #[serde(rename = "temp_K")]
    temp_kelvin: f64,
    set_by: usize,
    not_set: usize,
    between: usize,
    latest_not_set_s: Option<f64>,
    earliest_set_s: Option<f64>,
}

#[derive(Serialize)]
struct Lot<'a> {
    lot: Option<&'a str>,
    rows: usize,
}

#[derive(Serialize)]
struct Gap {
    code: &'static str,
    message: String,
}

/// What the table holds.
pub(super) fn answer(table: &SeenTable, context: Context) -> Result<Output, CliError> {
    let summary = summarise_seen(table);
    // Pushes that cannot be used are faults, and are told here as in a fit.
    for blend in table.blends() {
        if let Some((pushes, _)) = table.pushes(&blend) {
            pushes.viscosity_readings()?;
        }
    }
    if context.json {
        return Output::json(&document(table, &summary));
    }
    Ok(Output::words(words(table, &summary)))
}

fn document<'a>(table: &'a SeenTable, summary: &'a SeenSummary) -> Document<'a> {
    Document {
        reading: "seen",
        rows: summary.rows,
        used: summary.used,
        invented: table.invented,
        source: &table.sources,
        seen: summary
            .at
            .iter()
            .map(|at| At {
                blend: &at.blend,
                criterion: &at.criterion,
                temp_kelvin: at.heat_temp_kelvin,
                set_by: at.set_by,
                not_set: at.not_set,
                between: at.between,
                latest_not_set_s: at.latest_not_set_s,
                earliest_set_s: at.earliest_set_s,
            })
            .collect(),
        lots: summary
            .by_lot
            .iter()
            .map(|(lot, rows)| Lot {
                lot: lot.as_deref(),
                rows: *rows,
            })
            .collect(),
        anchors: summary.anchors,
        unknown_columns: &table.unknown_columns,
        gaps: summary
            .gaps
            .iter()
            .map(|gap| Gap {
                code: gap.code(),
                message: gap.message(),
            })
            .collect(),
    }
}

fn words(table: &SeenTable, summary: &SeenSummary) -> String {
    let mut text = String::new();
    let used = if summary.used == summary.rows {
        "all used".to_owned()
    } else {
        format!("{} of them used", summary.used)
    };
    let _ = writeln!(
        text,
        "{} can be read: {} rows of what was seen, {used}.",
        table.file_names(),
        summary.rows
    );
    if table.invented {
        let _ = writeln!(text, "  Invented data: the table says so itself.");
    }
    let mut heading = None;
    for at in &summary.at {
        if heading != Some((&at.blend, &at.criterion)) {
            let _ = writeln!(text, "  Syringes of {} by '{}':", at.blend, at.criterion);
            heading = Some((&at.blend, &at.criterion));
        }
        let _ = writeln!(text, "    {}", line(at));
    }
    let lots: Vec<String> = summary
        .by_lot
        .iter()
        .map(|(lot, rows)| format!("{}: {rows}", lot.as_deref().unwrap_or("not named")))
        .collect();
    let _ = writeln!(text, "  Lots ({}): {}", lots.len(), lots.join(", "));
    let _ = writeln!(
        text,
        "  Pushes that anchor it to a force: {}",
        summary.anchors
    );
    if !table.unknown_columns.is_empty() {
        let columns = table.unknown_columns.join(", ");
        let _ = writeln!(text, "  Columns kept as notes only: {columns}");
    }
    if summary.gaps.is_empty() {
        let _ = writeln!(text, "\nNo gap was found that a fit would stumble over.");
    } else {
        let _ = writeln!(text, "\nAdvice, what these looks cannot tell:");
        for gap in &summary.gaps {
            let _ = writeln!(text, "  {}", gap.message());
        }
    }
    text
}

/// '80 °C: 6 set, 5 not, 2 seen before and after; not set until 9 min, set from 6 min on'.
fn line(at: &SeenAt) -> String {
    let mut text = format!(
        "{}: {} set, {} not set, {} seen before and after",
        display::temperature(at.heat_temp_kelvin),
        at.set_by,
        at.not_set,
        at.between
    );
    if let (Some(latest), Some(earliest)) = (at.latest_not_set_s, at.earliest_set_s) {
        let _ = write!(
            text,
            "; the first set by {}, the last not set at {}",
            display::duration(earliest),
            display::duration(latest)
        );
    }
    text
}
