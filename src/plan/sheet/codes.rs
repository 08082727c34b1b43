//! Codes on a sheet: places of the block, and lots that must not tell who somebody is.

use super::error::SheetError;

/// Words that a code may hold beside letters in ones and twos.
const WORDS: [&str; 12] = [
    "lot", "run", "batch", "donor", "plasma", "pool", "bench", "test", "demo", "set", "gel", "day",
];
/// Longest code.
const LONGEST: usize = 24;
/// Years that a date of birth may have.
const YEARS: std::ops::RangeInclusive<u32> = 1900..=2100;

/// The code of a place in a turn: `A1` is the first place of the first turn, `B1` of the second.
///
/// # Example
/// ```
/// use heatset::plan::sheet::codes::place_code;
/// assert_eq!(place_code(1, 1), "A1");
/// assert_eq!(place_code(2, 6), "B6");
/// ```
#[must_use]
pub fn place_code(turn: usize, place: usize) -> String {
    let letter = (b'A'..=b'Z')
        .nth(turn.saturating_sub(1))
        .map_or('Z', char::from);
    format!("{letter}{place}")
}

/// A lot code, if it is nothing but a code.
///
/// Refused are words (a name has more than two letters in a row), anything with an @ (an e-mail
/// address), digits that read as a day, month and year in any order, blanks and other signs, and text
/// without any digit. A name of two letters and a date in disguise get through: no rule replaces the
/// care of whoever writes it.
///
/// # Errors
/// [`SheetError::NoCode`] with what it looks like.
///
/// # Source
/// Common practice, no source.
///
/// # Example
/// ```
/// use heatset::plan::sheet::codes::lot_code;
/// assert!(lot_code("L-0042").is_ok());
/// assert!(lot_code("1984-03-15").is_err());
/// ```
pub fn lot_code(text: &str) -> Result<String, SheetError> {
    let code = text.trim();
    let refused = |why| {
        Err(SheetError::NoCode {
            text: shown(code),
            why,
        })
    };
    if code.contains('@') {
        return refused("looks like an e-mail address");
    }
    if looks_like_date(code) {
        return refused("looks like a date, as a date of birth is written");
    }
    let word =
        |part: &str| part.chars().count() > 2 && !WORDS.contains(&part.to_lowercase().as_str());
    if code.split(|c: char| !c.is_alphabetic()).any(word) || code.split_whitespace().count() > 1 {
        return refused("looks like a name");
    }
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | '/');
    if !code.chars().all(plain) {
        return refused("holds signs that a code does not have");
    }
    if !code.chars().any(|c| c.is_ascii_digit()) {
        return refused("has no number");
    }
    if code.len() > LONGEST {
        return refused("is longer than a code");
    }
    Ok(code.to_owned())
}

fn shown(code: &str) -> String {
    code.chars()
        .take(LONGEST)
        .map(|c| if c.is_control() { '\u{fffd}' } else { c })
        .collect()
}

/// Whether digits in it read as a whole date: three numbers side by side, or six or eight digits.
fn looks_like_date(code: &str) -> bool {
    let numbers: Vec<&str> = code
        .split(|c: char| !c.is_ascii_digit())
        .filter(|part| !part.is_empty())
        .collect();
    let separate = numbers.windows(3).any(|three| {
        let short = three.iter().all(|part| part.len() <= 2);
        let long = three.iter().any(|part| part.len() == 4);
        (short || long) && is_date(three)
    });
    let joined = numbers.iter().any(|digits| match digits.len() {
        6 => parts(digits, &[2, 2, 2]).is_some_and(|three| is_date(&three)),
        8 => [[4, 2, 2], [2, 2, 4]]
            .iter()
            .any(|lengths| parts(digits, lengths).is_some_and(|three| is_date(&three))),
        _ => false,
    });
    separate || joined
}

fn parts<'a>(digits: &'a str, lengths: &[usize; 3]) -> Option<[&'a str; 3]> {
    let [first, second, _] = *lengths;
    Some([
        digits.get(..first)?,
        digits.get(first..first + second)?,
        digits.get(first + second..)?,
    ])
}

/// Whether three numbers are a year, a month and a day in one of the orders in use.
fn is_date(three: &[&str]) -> bool {
    let numbers: Vec<Option<u32>> = three.iter().map(|part| part.parse().ok()).collect();
    let [Some(a), Some(b), Some(c)] = numbers[..] else {
        return false;
    };
    let year = |n: u32| YEARS.contains(&n) || n < 100;
    let month = |n: u32| (1..=12).contains(&n);
    let day = |n: u32| (1..=31).contains(&n);
    // year month day; day month year; month day year
    (year(a) && month(b) && day(c))
        || (day(a) && month(b) && year(c))
        || (month(a) && day(b) && year(c))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_pass_and_persons_do_not() {
        for code in [
            "L-0042", "SK-03", "lot7", "DONOR-12", "2026-11", "A1", "plasma/3", "00417",
        ] {
            assert_eq!(lot_code(code).as_deref(), Ok(code));
        }
        for (text, why) in [
            ("Miller", "name"),
            ("J Smith", "name"),
            ("smith-01", "name"),
            ("Åse-3", "name"),
            ("a.b@example.org", "e-mail"),
            ("1984-03-15", "date"),
            ("15.03.1984", "date"),
            ("3/15/84", "date"),
            ("15031984", "date"),
            ("P840315", "date"),
            ("L=1", "signs"),
            ("L-A", "no number"),
            ("1-1-1-1-1-1-1-1-1-1-1-1-1", "date"),
            ("0000000000000000000000000", "longer"),
            ("", "no number"),
        ] {
            let said = lot_code(text).unwrap_err().to_string();
            assert!(said.contains(why), "{text}: {said}");
            assert!(said.contains("What helps: "), "{said}");
        }
    }

    #[test]
    fn every_syringe_of_a_sheet_has_a_code_of_its_own() {
        let mut codes: Vec<String> = (1..=20)
            .flat_map(|turn| (1..=20).map(move |place| place_code(turn, place)))
            .collect();
        codes.sort();
        codes.dedup();
        assert_eq!(codes.len(), 400);
    }
}
