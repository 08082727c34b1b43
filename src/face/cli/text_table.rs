//! A table in plain text, its columns aligned.

/// Which side the cells of a column keep to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table with a header.
pub(super) struct TextTable<const COLUMNS: usize> {
    sides: [Side; COLUMNS],
    rows: Vec<[String; COLUMNS]>,
}

impl<const COLUMNS: usize> TextTable<COLUMNS> {
    /// A table with its header and no rows.
    pub(super) fn new(header: [(&str, Side); COLUMNS]) -> Self {
        Self {
            sides: header.map(|(_, side)| side),
            rows: vec![header.map(|(name, _)| name.to_owned())],
        }
    }

    /// Adds a row.
    pub(super) fn push(&mut self, row: [String; COLUMNS]) {
        self.rows.push(row);
    }

    /// The table, every line indented by `indent` blanks.
    pub(super) fn text(&self, indent: usize) -> String {
        let mut widths = [0; COLUMNS];
        for row in &self.rows {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = cell.chars().count().max(*width);
            }
        }
        let mut text = String::new();
        for row in &self.rows {
            let mut line = " ".repeat(indent);
            for ((cell, width), side) in row.iter().zip(widths).zip(self.sides) {
                let gap = " ".repeat(width - cell.chars().count());
                match side {
                    Side::Left => line.extend([cell.as_str(), &gap, "  "]),
                    Side::Right => line.extend([&gap, cell.as_str(), "  "]),
                }
            }
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text
    }
}
