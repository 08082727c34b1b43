//! The blank bench table as a workbook: a sheet to fill in and a sheet that explains it.

use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, DataValidationRule, Format, FormatAlign, Workbook,
    XlsxError,
};

use super::write::{header_format, written};
use crate::readings::error::ReadingsError;
use crate::readings::row::Content;
use crate::readings::template::{Explained, explained_columns, template_headers};
use crate::reference::Wall;

/// The sheet of a bench whose viscometer is a needle.
const NEEDLE_HEADERS: [&str; 15] = [
    "heat_temp_C",
    "heat_time_min",
    "force_N",
    "flow_mL_per_min",
    "needle_gauge",
    "needle_wall",
    "needle_length_mm",
    "barrel_bore_mm",
    "friction_N",
    "content",
    "read_temp_C",
    "lot",
    "blend",
    "use",
    "note",
];

/// Rows that are made ready.
const READY_ROWS: u32 = 1000;
/// Widest explanation, in digits.
const EXPLANATION_WIDTH: f64 = 90.0;

/// The blank bench table as the bytes of a workbook: the sheets `Bench` and `Needle bench` (forces
/// through a needle, for who has no rheometer) have the header alone, `Columns` explains every column
/// that is understood.
///
/// # Errors
/// What the writer cannot write; nothing of the kind is known.
///
/// # Example
/// ```
/// use heatset::readings::{blank_bench_workbook, read_bench_bytes};
/// let refused = read_bench_bytes("bench.xlsx", &blank_bench_workbook()?).unwrap_err();
/// assert!(refused.to_string().contains("there are no rows under the header"));
/// # Ok::<(), heatset::readings::ReadingsError>(())
/// ```
pub fn blank_bench_workbook() -> Result<Vec<u8>, ReadingsError> {
    written(|book| {
        put_bench(book, "Bench", template_headers())?;
        put_bench(book, "Needle bench", NEEDLE_HEADERS.into_iter())?;
        put_columns(book)
    })
}

fn put_bench(
    book: &mut Workbook,
    sheet_name: &str,
    headers: impl Iterator<Item = &'static str>,
) -> Result<(), XlsxError> {
    let sheet = book.add_worksheet();
    sheet.set_name(sheet_name)?;
    sheet.set_freeze_panes(1, 0)?;
    for (column, name) in (0_u16..).zip(headers) {
        sheet.write_string_with_format(0, column, name, &header_format())?;
        sheet.set_column_width(column, (name.len() + 3).max(10) as f64)?;
        let text = is_text(name);
        let format = if text { "@" } else { "General" };
        // Text columns take '1/5' and '007' as they are typed.
        sheet.set_column_format(column, &Format::new().set_num_format(format))?;
        if let Some(check) = check_of(name)? {
            sheet.add_data_validation(1, column, READY_ROWS, column, &check)?;
        }
    }
    Ok(())
}

/// Whether a column holds codes and words.
fn is_text(name: &str) -> bool {
    explained_columns()
        .iter()
        .any(|known| known.column == name && known.unit == "text")
}

/// What the spreadsheet asks of a cell; our own check asks the same and more.
fn check_of(name: &str) -> Result<Option<DataValidation>, XlsxError> {
    let rule = match name {
        "use" => DataValidation::new().allow_list_strings(&["yes", "no"])?,
        "needle_wall" => DataValidation::new().allow_list_strings(&Wall::ALL.map(Wall::as_str))?,
        "content" => {
            DataValidation::new().allow_list_strings(&Content::ALL.map(Content::as_str))?
        }
        "heat_temp_C" | "read_temp_C" | "stand_temp_C" => {
            DataValidation::new().allow_decimal_number(DataValidationRule::Between(-273.15, 400.0))
        }
        "heat_time_min" | "stand_time_min" | "friction_N" => DataValidation::new()
            .allow_decimal_number(DataValidationRule::GreaterThanOrEqualTo(0.0)),
        "ha_fraction" => {
            DataValidation::new().allow_decimal_number(DataValidationRule::Between(0.0, 1.0))
        }
        "viscosity_Pa_s" | "shear_rate_per_s" | "reading_sd" | "force_N" | "flow_mL_per_min"
        | "needle_length_mm" | "barrel_bore_mm" => {
            DataValidation::new().allow_decimal_number(DataValidationRule::GreaterThan(0.0))
        }
        "needle_gauge" => {
            DataValidation::new().allow_whole_number(DataValidationRule::Between(5, 40))
        }
        _ => return Ok(None),
    };
    let Some(known) = explained_columns()
        .iter()
        .find(|known| known.column == name)
    else {
        return Ok(Some(rule));
    };
    let message: String = known.explanation.chars().take(255).collect();
    Ok(Some(
        rule.set_input_message(message)?
            .set_error_message(known.asks)?
            .set_error_style(DataValidationErrorStyle::Stop),
    ))
}

fn put_columns(book: &mut Workbook) -> Result<(), XlsxError> {
    let sheet = book.add_worksheet();
    sheet.set_name("Columns")?;
    sheet.set_freeze_panes(1, 0)?;
    let wrapped = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    for (column, (name, width)) in (0_u16..).zip([
        ("column", 26.0),
        ("also written", 34.0),
        ("needed", 22.0),
        ("unit", 12.0),
        ("what it is", EXPLANATION_WIDTH),
    ]) {
        sheet.write_string_with_format(0, column, name, &header_format())?;
        sheet.set_column_width(column, width)?;
    }
    for (row, known) in (1_u32..).zip(explained_columns()) {
        let Explained {
            column,
            also,
            needed,
            unit,
            explanation,
            asks: _,
        } = known;
        for (place, text) in (0_u16..).zip([column, also, needed, unit, explanation]) {
            sheet.write_string_with_format(row, place, *text, &wrapped)?;
        }
    }
    Ok(())
}
