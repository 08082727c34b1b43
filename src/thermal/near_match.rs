//! The known word that a mistyped one was meant to be.

/// The nearest of the known words, where it is near enough to be a slip: at most one wrong,
/// missing, added or exchanged letter in three.
pub(crate) fn nearest<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let lower: Vec<char> = word
        .to_lowercase()
        .chars()
        .map(|letter| if letter == '-' { '_' } else { letter })
        .take(64)
        .collect();
    known
        .iter()
        .map(|candidate| {
            let letters: Vec<char> = candidate.to_lowercase().replace('-', "_").chars().collect();
            let slips = slips(&lower, &letters);
            let allowed = lower.len().max(letters.len()).div_ceil(3);
            // A word that begins alike ('temp' for 'temp_C', 'stages' for 'stage') was meant too.
            let begins =
                lower.len() >= 3 && (letters.starts_with(&lower) || lower.starts_with(&letters));
            (begins, slips, begins || slips <= allowed, *candidate)
        })
        .filter(|(.., near, _)| *near)
        .min_by_key(|(begins, slips, ..)| (!begins, *slips))
        .map(|(.., candidate)| candidate)
}

/// Least number of letters to change, drop, add or exchange with their neighbour.
fn slips(from: &[char], to: &[char]) -> usize {
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (row, letter) in from.iter().enumerate() {
        let mut next = vec![row + 1];
        for (place, other) in to.iter().enumerate() {
            let at =
                |line: &[usize], index: usize| line.get(index).copied().unwrap_or(usize::MAX / 2);
            let mut least = (at(&last, place) + usize::from(letter != other))
                .min(at(&last, place + 1) + 1)
                .min(at(&next, place) + 1);
            if row > 0
                && place > 0
                && from.get(row - 1) == Some(other)
                && to.get(place - 1) == Some(letter)
            {
                least = least.min(at(&before_last, place - 1) + 1);
            }
            next.push(least);
        }
        before_last = std::mem::replace(&mut last, next);
    }
    last.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_finds_its_word_and_a_stranger_finds_none() {
        let known = ["start_temp", "clock", "block_start", "ramp", "stage"];
        for (word, meant) in [
            ("start_tmep", "start_temp"),
            ("start-temp", "start_temp"),
            ("stages", "stage"),
            ("rampp", "ramp"),
            ("Clock", "clock"),
            ("blockstart", "block_start"),
        ] {
            assert_eq!(nearest(word, &known), Some(meant), "{word}");
        }
        for word in ["syringe", "x", "", "temperature_of_the_room"] {
            assert_eq!(nearest(word, &known), None, "{word}");
        }
    }
}
