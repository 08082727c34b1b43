//! Small pieces of markup that every part of the report uses.

use maud::{Markup, html};

/// Words that mark what stands on invented readings.
pub(super) const INVENTED: &str = "invented data";

/// A heading's words, marked where the readings are invented.
pub(super) fn heading_words(words: &str, invented: bool) -> Markup {
    html! {
        (words)
        @if invented { " " span.invented { "(" (INVENTED) ")" } }
    }
}

/// A number as tables print it, its power of ten raised: '5.0e-4 /s' becomes 5.0 × 10^-4 /s.
pub(super) fn number(words: &str) -> Markup {
    let mut parts = Vec::new();
    for (place, word) in words.split(' ').enumerate() {
        let space = if place > 0 { " " } else { "" };
        match power_of_ten(word) {
            Some((mantissa, exponent)) => parts.push(html! {
                (space) span.whole { (mantissa) " × 10" sup { (exponent.replace('-', "−")) } }
            }),
            None => parts.push(html! { (space) (word) }),
        }
    }
    html! { @for part in parts { (part) } }
}

fn power_of_ten(word: &str) -> Option<(&str, &str)> {
    let (mantissa, exponent) = word.split_once('e')?;
    let numeric = mantissa.parse::<f64>().is_ok() && exponent.parse::<i32>().is_ok();
    numeric.then_some((mantissa, exponent))
}

/// A table in a box of its own that scrolls sideways where the screen is narrow.
pub(super) fn wide(name: &str, content: &Markup) -> Markup {
    html! { div.wide role="region" aria-label=(name) tabindex="0" { (content) } }
}

/// 'one reading', '12 readings'.
pub(super) fn counted(count: usize, what: &str) -> String {
    if count == 1 {
        format!("1 {what}")
    } else {
        format!("{count} {what}s")
    }
}

/// The text as a string of a style sheet, every unusual letter written as its code point.
pub(super) fn style_string(text: &str) -> String {
    let mut safe = String::from("\"");
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() || " .,:-_".contains(letter) {
            safe.push(letter);
        } else {
            safe.push_str(&format!("\\{:x} ", u32::from(letter)));
        }
    }
    safe.push('"');
    safe
}

/// A file's name without its folder.
pub(super) fn file_name(path: &str) -> String {
    std::path::Path::new(path).file_name().map_or_else(
        || path.to_owned(),
        |name| name.to_string_lossy().into_owned(),
    )
}

/// '2026-11-25T09:54:03Z' as people read it: '2026-11-25, 09:54 UTC'.
pub(super) fn date_words(created: &str) -> String {
    match (
        created.get(..10),
        created.get(11..16),
        created.ends_with('Z'),
    ) {
        (Some(day), Some(time), true) => format!("{day}, {time} UTC"),
        _ => created.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_leave_its_string_in_the_style_sheet() {
        let text = style_string("a\"};</style>é");
        assert_eq!(
            text,
            "\"a\\22 \\7d ;\\3c \\2f style\\3e \\e9 \"".replace(';', "\\3b ")
        );
    }

    #[test]
    fn powers_of_ten_are_raised_and_other_words_stay() {
        assert_eq!(
            number("5.0e-4 /s").into_string(),
            "<span class=\"whole\">5.0 × 10<sup>−4</sup></span> /s"
        );
        assert_eq!(number("no interval").into_string(), "no interval");
    }

    #[test]
    fn a_date_is_read_to_the_minute() {
        assert_eq!(date_words("2026-11-25T09:54:03Z"), "2026-11-25, 09:54 UTC");
        assert_eq!(date_words("yesterday"), "yesterday");
    }
}
