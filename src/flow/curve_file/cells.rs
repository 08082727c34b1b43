//! Takes a text table apart: separator, comments, header, rows with their lines.

use super::fault::CurveFault;

/// The words by which a file says of itself that nobody measured it.
const INVENTED: &str = "invented data";

/// A text table, taken apart.
#[derive(Debug, Default)]
pub(super) struct Cells {
    pub decimal_comma: bool,
    pub invented: bool,
    pub header_line: usize,
    pub header: Vec<String>,
    pub rows: Vec<CellRow>,
}

#[derive(Debug)]
pub(super) struct CellRow {
    pub line: usize,
    pub cells: Vec<String>,
}

/// Takes the text apart; rows of another length than the header's are faults.
pub(super) fn cells_of(text: &str, most_rows: usize, faults: &mut Vec<CurveFault>) -> Cells {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut table = Cells::default();
    let mut separator = ',';
    // Old spreadsheets end lines with a carriage return alone.
    let line_end = if text.contains('\n') { '\n' } else { '\r' };
    for (number, line) in (1..).zip(text.split(line_end)) {
        let line = line.trim_end_matches('\r');
        let bare = line.trim_start_matches([' ', '"']);
        if bare.starts_with('#') {
            table.invented |= bare.to_lowercase().contains(INVENTED);
            continue;
        }
        if line.trim_matches([' ', ',', ';', '\t']).is_empty() {
            continue;
        }
        if table.header.is_empty() {
            separator = ['\t', ';', ',']
                .into_iter()
                .find(|separator| line.contains(*separator))
                .unwrap_or(',');
            table.decimal_comma = separator != ',';
            table.header_line = number;
            table.header = split(line, separator);
            while table.header.last().is_some_and(String::is_empty) {
                table.header.pop();
            }
            continue;
        }
        let mut cells = split(line, separator);
        // Separators behind the last named column are a spreadsheet's, nobody's values.
        while cells.len() > table.header.len() && cells.last().is_some_and(String::is_empty) {
            cells.pop();
        }
        if cells.len() == table.header.len() {
            table.rows.push(CellRow {
                line: number,
                cells,
            });
        } else {
            faults.push(wrong_length(
                number,
                cells.len(),
                table.header.len(),
                separator,
            ));
        }
        if table.rows.len() > most_rows {
            faults.push(CurveFault::of_file(
                format!("more than {most_rows} rows"),
                "is it the right file? Some tens of shear rates are plenty",
            ));
            break;
        }
    }
    table
}

fn wrong_length(line: usize, found: usize, wanted: usize, separator: char) -> CurveFault {
    let values = match found {
        1 => "1 value".to_owned(),
        count => format!("{count} values"),
    };
    CurveFault::on_line(
        line,
        format!("{values} where the header names {wanted}"),
        if found > wanted && separator == ',' {
            "are these decimal commas? then separate the values with semicolons"
        } else if found > wanted {
            "take out what stands behind the last column"
        } else {
            "keep the separators of empty cells"
        },
    )
}

/// The cells of one line, trimmed and without the quotation marks round them.
fn split(line: &str, separator: char) -> Vec<String> {
    line.split(separator)
        .map(|cell| cell.trim().trim_matches('"').trim().to_owned())
        .collect()
}

/// A number as it stands in a cell, or what is wrong with it and how to mend it.
pub(super) fn number_of(text: &str, decimal_comma: bool) -> Result<f64, (String, &'static str)> {
    let shown: String = text.chars().take(40).collect();
    if shown.is_empty() {
        return Err((
            "the value is missing".to_owned(),
            "every row has a shear rate and a reading",
        ));
    }
    let mut plain = text.replace('\u{2212}', "-");
    let commas = plain.matches(',').count();
    if decimal_comma && commas == 1 && !plain.contains('.') {
        plain = plain.replace(',', ".");
    }
    // 'inf' and 'nan' read as numbers elsewhere, and are none that an instrument shows
    let digits = plain.chars().any(|character| character.is_ascii_digit());
    match plain.parse::<f64>() {
        Ok(number) if digits && number.is_finite() => Ok(number),
        Ok(_) => Err((
            format!("\"{shown}\" is not a finite number"),
            "leave the row out",
        )),
        Err(_) if commas > 0 => Err((
            format!("\"{shown}\" is not a number"),
            "is this a decimal comma? then separate with semicolons",
        )),
        Err(_) => Err((
            format!("\"{shown}\" is not a number"),
            "write the number alone; the unit stands in the header",
        )),
    }
}
