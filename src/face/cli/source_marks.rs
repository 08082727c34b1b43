//! Marks for the sources of a reference table: a letter in the row, the source once below.

use super::text_table::{Side, TextTable};
use crate::reference::Source;

/// Sources in the order in which they were first marked.
#[derive(Default)]
pub(super) struct SourceMarks {
    seen: Vec<Source>,
}

impl SourceMarks {
    /// The letter of a source.
    pub(super) fn mark(&mut self, source: Source) -> String {
        let place = self
            .seen
            .iter()
            .position(|known| *known == source)
            .unwrap_or_else(|| {
                self.seen.push(source);
                self.seen.len() - 1
            });
        letters(place)
    }

    /// Every source with its letter, how it is known, and what else is to be known of it.
    pub(super) fn legend(&self) -> String {
        let mut table = TextTable::new([("", Side::Left), ("Sources", Side::Left)]);
        for (place, source) in self.seen.iter().enumerate() {
            table.push([letters(place), source.to_string()]);
        }
        table.text(0)
    }
}

/// a, b, ... z, aa, ab, ...
fn letters(place: usize) -> String {
    let last = char::from(b'a' + (place % 26) as u8);
    match place / 26 {
        0 => last.to_string(),
        before => format!("{}{last}", letters(before - 1)),
    }
}
