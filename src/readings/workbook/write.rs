//! Tables to workbooks, through rust_xlsxwriter: the same bytes for the same table.

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet, XlsxError};

use crate::readings::error::ReadingsError;
use crate::readings::header::is_known_number;
use crate::readings::records::{Records, split};
use crate::units::display;

/// Widest column, in digits.
const WIDEST: usize = 40;
/// Time stamp where SOURCE_DATE_EPOCH does not say one: 2000-01-01, so that bytes repeat.
const FIXED_EPOCH_S: i64 = 946_684_800;

/// A table of text (CSV, as this project writes it) as a workbook of one sheet.
///
/// Comment lines stand above the header, one a row. What reads as a number is one, unless a digit
/// would be lost by it ('007'); all else is text, also where it begins like a formula.
///
/// # Errors
/// What the writer cannot write: a row or column past the end of a worksheet.
///
/// # Example
/// ```
/// use heatset::readings::{read_bench_bytes, write::workbook_of_csv};
/// let csv = "# invented data\nheat_temp_C,heat_time_min,viscosity_Pa_s\n80,1,0.002\n90,1,0.05\n";
/// let table = read_bench_bytes("bench.xlsx", &workbook_of_csv("Bench", csv)?)?;
/// assert_eq!(table.reading[1], 0.05);
/// assert!(table.invented);
/// # Ok::<(), heatset::readings::ReadingsError>(())
/// ```
pub fn workbook_of_csv(sheet_name: &str, csv: &str) -> Result<Vec<u8>, ReadingsError> {
    written(|book| {
        let sheet = book.add_worksheet();
        sheet.set_name(sheet_name)?;
        put_csv(sheet, csv)
    })
}

/// Lets the sheets be filled, and gives the bytes of the workbook.
pub(crate) fn written(
    fill: impl FnOnce(&mut Workbook) -> Result<(), XlsxError>,
) -> Result<Vec<u8>, ReadingsError> {
    let make = || {
        let mut book = Workbook::new();
        book.set_properties(&DocProperties::new().set_creation_datetime(&created()?));
        fill(&mut book)?;
        book.save_to_buffer()
    };
    make().map_err(|error| ReadingsError::Unwritable {
        file: "the workbook".to_string(),
        reason: error.to_string(),
    })
}

/// SOURCE_DATE_EPOCH where it is set and can be, else a fixed day.
fn created() -> Result<ExcelDateTime, XlsxError> {
    let stated = std::env::var("SOURCE_DATE_EPOCH")
        .ok()
        .and_then(|text| text.trim().parse::<i64>().ok());
    stated
        .and_then(|seconds| ExcelDateTime::from_timestamp(seconds).ok())
        .map_or_else(|| ExcelDateTime::from_timestamp(FIXED_EPOCH_S), Ok)
}

/// Bold, wrapped, shaded: a header.
pub(crate) fn header_format() -> Format {
    Format::new().set_bold().set_background_color("#E8EEF4")
}

fn put_csv(sheet: &mut Worksheet, csv: &str) -> Result<(), XlsxError> {
    let mut row = 0_u32;
    let comment = Format::new().set_italic();
    for line in csv.lines().take_while(|line| line.starts_with('#')) {
        sheet.write_string_with_format(row, 0, shortened(line), &comment)?;
        row += 1;
    }
    let Records { header, rows, .. } = split(csv);
    let header = header.unwrap_or_default();
    for (column, name) in (0_u16..).zip(&header.fields) {
        sheet.write_string_with_format(row, column, name.trim(), &header_format())?;
    }
    row += 1;
    sheet.set_freeze_panes(row, 0)?;
    let guarded = Format::new().set_quote_prefix();
    let mut widths: Vec<usize> = header.fields.iter().map(|name| name.len() + 2).collect();
    let known: Vec<bool> = header
        .fields
        .iter()
        .map(|name| is_known_number(name.trim()))
        .collect();
    for record in &rows {
        for (place, field) in record.fields.iter().enumerate() {
            let text = field.trim();
            if text.is_empty() {
                continue;
            }
            let column = place as u16;
            if let Some(width) = widths.get_mut(place) {
                *width = (*width).max(text.chars().count() + 1);
            }
            let is_known = known.get(place).copied().unwrap_or(false);
            match number_of(text, is_known) {
                Some(number) => sheet.write_number(row, column, number)?,
                // Text is text whatever it begins with; the mark keeps it so when it is edited.
                None if text.starts_with(['=', '+', '-', '@']) => {
                    sheet.write_string_with_format(row, column, shortened(text), &guarded)?
                }
                None => sheet.write_string(row, column, shortened(text))?,
            };
        }
        row += 1;
    }
    for (column, width) in (0_u16..).zip(widths) {
        sheet.set_column_width(column, width.min(WIDEST) as f64)?;
    }
    Ok(())
}

/// The number that a text is, where nothing of it would be lost: a code such as '1e5' or '007' is
/// none, unless its column holds numbers.
fn number_of(text: &str, column_holds_numbers: bool) -> Option<f64> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let plain = digits
        .chars()
        .all(|letter| letter.is_ascii_digit() || matches!(letter, '.' | 'e' | 'E' | '-'))
        && digits.starts_with(|letter: char| letter.is_ascii_digit());
    let leading_zero = digits.len() > 1
        && digits.starts_with('0')
        && digits
            .chars()
            .nth(1)
            .is_some_and(|letter| letter.is_ascii_digit());
    // A spreadsheet keeps 15 digits of a whole number: longer ones are codes.
    let code = digits.len() > 15 && digits.chars().all(|letter| letter.is_ascii_digit());
    if !plain || leading_zero || code {
        return None;
    }
    text.parse::<f64>()
        .ok()
        .filter(|number| number.is_finite())
        .filter(|number| column_holds_numbers || display::plain(*number) == text)
}

/// A cell holds 32767 characters and no more.
fn shortened(text: &str) -> String {
    text.chars().take(32_767).collect()
}
