//! Codes in place of names: what is refused, and why.

use super::error::BatchesError;

/// Most characters of a code.
pub const LONGEST_CODE: usize = 24;

/// Digits from which a run of them is a telephone number sooner than a running number.
const DIGITS_OF_A_TELEPHONE: usize = 7;

/// Checks that a text is a code and no name: letters, digits, `-`, `_` and `.`, 24 at most, and
/// nothing that reads as a mail address, a date, a telephone number or a person's name.
///
/// # Valid for
/// What can be told from the text alone. A surname in one word cannot: whoever gives out codes sees
/// to that.
///
/// # Errors
/// A text that is no code, with the reason.
///
/// # Example
/// ```
/// use heatset::batches::code;
/// assert_eq!(code("lot", "C-17").unwrap(), "C-17");
/// assert!(code("lot", "1961-04-12").unwrap_err().to_string().contains("date"));
/// ```
pub fn code(what: &'static str, text: &str) -> Result<String, BatchesError> {
    let text = text.trim();
    match fault(text) {
        None => Ok(text.to_owned()),
        Some((reason, helps)) => Err(BatchesError::NoCode {
            what,
            found: text.to_owned(),
            reason,
            helps,
        }),
    }
}

const OTHER_CODE: &str = "a code such as C-17; who is behind it stands in your own files, not here";
const RUNNING_NUMBER: &str =
    "a running number such as C-17; the log keeps the time of every entry itself";

fn fault(text: &str) -> Option<(&'static str, &'static str)> {
    if text.is_empty() {
        return Some(("it is empty", "a code such as C-17"));
    }
    if text.contains('@') {
        return Some(("it reads as a mail address", OTHER_CODE));
    }
    if is_date(text) {
        return Some(("it reads as a date, perhaps of birth", RUNNING_NUMBER));
    }
    if is_telephone(text) {
        return Some(("it reads as a telephone number", OTHER_CODE));
    }
    if text.split_whitespace().count() > 1 || is_two_names(text) {
        return Some(("it is more than one word, as a name is", OTHER_CODE));
    }
    if text.chars().count() > LONGEST_CODE {
        return Some((
            "it is longer than 24 characters",
            "a shorter code, such as C-17",
        ));
    }
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    if !text.chars().all(allowed) {
        return Some((
            "it holds something else than letters (a to z), digits, '-', '_' and '.'",
            "a code such as C-17",
        ));
    }
    None
}

/// Three numbers that can be day, month and year in some order, with one mark between them or with
/// none.
fn is_date(text: &str) -> bool {
    let parts: Vec<&str> = text
        .split(['-', '.', '/', '_', ' '])
        .filter(|part| !part.is_empty())
        .collect();
    let number = |part: &str| {
        part.bytes()
            .all(|b| b.is_ascii_digit())
            .then(|| part.parse::<u32>().ok())
            .flatten()
    };
    let day_and_month =
        |a: u32, b: u32| (1..=31).contains(&a) && (1..=31).contains(&b) && (a <= 12 || b <= 12);
    let year = |y: u32| (1900..=2100).contains(&y);
    match parts.as_slice() {
        [a, b, c] if [a, b, c].iter().all(|part| part.len() <= 4) => {
            let month_by_name = is_month(b) || is_month(a);
            match (number(a), number(b), number(c)) {
                (Some(a), Some(b), Some(c)) => {
                    (year(a) && day_and_month(b, c))
                        || (day_and_month(a, b) && (year(c) || parts.iter().all(|p| p.len() == 2)))
                }
                (_, _, Some(c)) => month_by_name && (year(c) || c <= 99),
                _ => false,
            }
        }
        [only] if only.len() == 8 => {
            let cut = |from: usize, to: usize| only.get(from..to).and_then(number);
            let first = (cut(0, 4), cut(4, 6), cut(6, 8));
            let last = (cut(0, 2), cut(2, 4), cut(4, 8));
            matches!(first, (Some(y), Some(a), Some(b)) if year(y) && day_and_month(a, b))
                || matches!(last, (Some(a), Some(b), Some(y)) if year(y) && day_and_month(a, b))
        }
        _ => false,
    }
}

fn is_month(text: &str) -> bool {
    const MONTHS: [&str; 12] = [
        "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
    ];
    let lower = text.to_ascii_lowercase();
    MONTHS.contains(&lower.as_str())
}

/// Digits with what stands between those of a telephone number, and nothing else.
fn is_telephone(text: &str) -> bool {
    let digits = text.bytes().filter(u8::is_ascii_digit).count();
    let only = |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | '/' | '(' | ')' | ' ');
    digits >= DIGITS_OF_A_TELEPHONE && text.chars().all(only)
}

/// Two or more words with capitals, joined by a mark: 'Ada_Example'.
fn is_two_names(text: &str) -> bool {
    let mut parts = text.split(['-', '_', '.', ',']).peekable();
    let name = |part: &str| {
        let mut letters = part.chars();
        letters.next().is_some_and(char::is_uppercase)
            && part.chars().count() > 2
            && letters.all(char::is_lowercase)
    };
    text.split(['-', '_', '.', ',']).count() > 1 && parts.by_ref().all(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_pass_as_they_are() {
        for text in [
            "C-17",
            "SK-03",
            "a",
            "lot_4.b",
            "2026-A",
            "123456",
            "N-2026-11",
            "1.2.3",
            "block-north",
            "ABCDEFGHIJKLMNOPQRSTUVWX",
        ] {
            assert_eq!(code("lot", text).unwrap(), text);
        }
    }

    #[test]
    fn what_reads_as_a_person_is_refused_with_the_reason() {
        for (text, reason) in [
            ("ada@example.org", "mail address"),
            ("1961-04-12", "date"),
            ("12.04.1961", "date"),
            ("04/12/1961", "date"),
            ("12.04.61", "date"),
            ("19610412", "date"),
            ("12041961", "date"),
            ("12-Apr-1961", "date"),
            ("+44 20 7946 0018", "telephone"),
            ("020-7946-0018", "telephone"),
            ("5550123456", "telephone"),
            ("Ada Example", "more than one word"),
            ("Ada_Example", "more than one word"),
            ("Example.Ada", "more than one word"),
            ("ABCDEFGHIJKLMNOPQRSTUVWXY", "24 characters"),
            ("C#17", "letters (a to z)"),
            ("Zoë", "letters (a to z)"),
            ("C-17\n", ""),
            ("  ", "empty"),
        ] {
            match code("lot", text) {
                Err(error) => {
                    let words = error.to_string();
                    assert!(
                        !reason.is_empty() && words.contains(reason),
                        "{text}: {words}"
                    );
                    assert!(words.contains("\nWhat helps: "), "{text}: {words}");
                }
                // White space at the ends is no part of a code.
                Ok(found) => assert!(reason.is_empty() && found == "C-17", "{text}"),
            }
        }
    }
}
