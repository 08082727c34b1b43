//! Takes a text table of a trace apart: separator, comments, header, rows with their lines.
//!
//! Comma, semicolon or tab between the values (found in the header), a decimal comma where it is
//! not the comma, `#` comment lines, blank lines, values between quotation marks on one line.

use super::input_error::{InputFault, InputFaults};

/// More rows than this are another file.
pub(crate) const LARGEST_ROWS: usize = 1_000_000;

/// The words by which a file says of itself that nobody measured it.
const INVENTED: &str = "invented data";

/// A text table, taken apart.
#[derive(Debug, Default)]
pub(crate) struct TraceTable {
    pub decimal_comma: bool,
    pub invented: bool,
    pub header_line: usize,
    pub header: Vec<String>,
    pub rows: Vec<TraceTableRow>,
}

#[derive(Debug)]
pub(crate) struct TraceTableRow {
    pub line: usize,
    pub cells: Vec<String>,
}

/// Takes the text apart; rows of another length than the header's are faults.
pub(crate) fn split(text: &str, faults: &mut InputFaults) -> TraceTable {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut table = TraceTable::default();
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
            separator = separator_of(line);
            table.decimal_comma = separator != ',';
        }
        let cells = match cells_of(line, separator) {
            Ok(cells) => cells,
            Err((message, remedy)) => {
                faults.push(InputFault::at(
                    number,
                    None,
                    message,
                    Some(remedy.to_owned()),
                ));
                continue;
            }
        };
        if table.header.is_empty() {
            table.header_line = number;
            table.header = cells;
            while table.header.last().is_some_and(String::is_empty) {
                table.header.pop();
            }
        } else {
            push_row(&mut table, number, cells, separator, faults);
        }
        if table.rows.len() > LARGEST_ROWS {
            faults.push(InputFault::of_file(
                format!("more than {LARGEST_ROWS} rows"),
                "is it the right file? Thin the readings out, one a second is plenty",
            ));
            break;
        }
    }
    table
}

fn push_row(
    table: &mut TraceTable,
    line: usize,
    mut cells: Vec<String>,
    separator: char,
    faults: &mut InputFaults,
) {
    let wanted = table.header.len();
    // Separators behind the last named column are a spreadsheet's, nobody's values.
    while cells.len() > wanted && cells.last().is_some_and(String::is_empty) {
        cells.pop();
    }
    if cells.len() == wanted {
        table.rows.push(TraceTableRow { line, cells });
        return;
    }
    let remedy = if cells.len() > wanted && separator == ',' {
        "are these decimal commas? then separate the values with semicolons"
    } else if cells.len() > wanted {
        "put text with a separator in it between quotation marks"
    } else {
        "keep the separators of empty cells"
    };
    let values = match cells.len() {
        1 => "1 value".to_owned(),
        count => format!("{count} values"),
    };
    faults.push(InputFault::at(
        line,
        None,
        format!("{values} where the header names {wanted}"),
        Some(remedy.to_owned()),
    ));
}

/// Tab, semicolon or comma, whichever the header has outside quotation marks.
fn separator_of(header: &str) -> char {
    let outside: String = header.split('"').step_by(2).collect();
    ['\t', ';', ',']
        .into_iter()
        .find(|separator| outside.contains(*separator))
        .unwrap_or(',')
}

/// The cells of one line, trimmed; a doubled quotation mark inside a quoted cell stands for one.
fn cells_of(line: &str, separator: char) -> Result<Vec<String>, (&'static str, &'static str)> {
    let mut cells = Vec::new();
    let mut cell = String::new();
    let mut quoted = false;
    let mut characters = line.chars().peekable();
    while let Some(character) = characters.next() {
        match character {
            '"' if quoted && characters.peek() == Some(&'"') => {
                characters.next();
                cell.push('"');
            }
            '"' if quoted => quoted = false,
            '"' if cell.trim().is_empty() => {
                cell.clear();
                quoted = true;
            }
            other if other == separator && !quoted => {
                cells.push(cell.trim().to_owned());
                cell.clear();
            }
            other => cell.push(other),
        }
    }
    if quoted {
        return Err((
            "a quotation mark opens here and is not closed on its line",
            "close it, or take it out",
        ));
    }
    cells.push(cell.trim().to_owned());
    Ok(cells)
}

/// A number as it stands in a cell, or what is wrong with it and how to mend it.
pub(crate) fn number_of(text: &str, decimal_comma: bool) -> Result<f64, (String, Option<String>)> {
    let shown: String = text.chars().take(40).collect();
    let mut plain = text.replace('\u{2212}', "-");
    let commas = plain.matches(',').count();
    if decimal_comma && commas == 1 && !plain.contains('.') {
        plain = plain.replace(',', ".");
    }
    // 'inf' and 'nan' read as numbers elsewhere, and are none that a thermometer shows.
    let digits = plain.chars().any(|character| character.is_ascii_digit());
    if digits && let Ok(number) = plain.parse::<f64>() {
        return if number.is_finite() {
            Ok(number)
        } else {
            Err((format!("\"{shown}\" is not a finite number"), None))
        };
    }
    let remedy = if commas == 1 && !decimal_comma {
        "is this decimal comma? then separate with semicolons"
    } else if plain.contains(',') && plain.contains('.') {
        "write the number without a separator of thousands"
    } else if plain.starts_with(|first: char| first.is_ascii_digit() || first == '-') {
        "write the number alone; the unit stands in the header"
    } else {
        "leave the temperature empty where nothing was measured"
    };
    Err((
        format!("\"{shown}\" is not a number"),
        Some(remedy.to_owned()),
    ))
}
