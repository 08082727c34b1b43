//! A number as it stands in a cell of text.

use crate::units::quantity::excerpt;

/// A number as it stands in a text table, or what is wrong with it and how to mend it.
pub(crate) fn read_number(
    text: &str,
    decimal_comma: bool,
) -> Result<f64, (String, Option<String>)> {
    let shown = excerpt(text);
    let mut plain = text.replace('\u{2212}', "-");
    let commas = plain.matches(',').count();
    if decimal_comma && commas == 1 && !plain.contains('.') {
        plain = plain.replace(',', ".");
    }
    let words = plain.trim_start_matches(['-', '+']).to_lowercase();
    if words.starts_with("inf") || words == "nan" {
        return Err((
            format!("\"{shown}\" is not a finite number"),
            Some("leave the cell empty where nothing was measured".to_string()),
        ));
    }
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        Ok(_) => Err((format!("\"{shown}\" is not a finite number"), None)),
        Err(_) => {
            let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
            let remedy = if commas == 1
                && !decimal_comma
                && plain
                    .split(',')
                    .all(|part| digits(part.trim_start_matches('-')))
            {
                Some("is this decimal comma? then separate with semicolons".to_string())
            } else if plain.contains(',') && plain.contains('.') {
                Some("write the number without a separator of thousands".to_string())
            } else if plain.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
                Some("write the number alone; the unit stands in the header".to_string())
            } else {
                Some("leave the cell empty where nothing was measured".to_string())
            };
            Err((format!("\"{shown}\" is not a number"), remedy))
        }
    }
}
