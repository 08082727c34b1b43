//! The grid's cells as the text of a table: what is typed into it is read by the same reader, and
//! refused in the same words, as a file.

/// The most columns and rows that a grid is taken with.
pub(super) const MOST_COLUMNS: usize = 60;
/// The most rows.
pub(super) const MOST_ROWS: usize = 5000;

/// A grid as it came with a form.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Grid {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
    /// Whether numbers are written with a decimal comma.
    pub(super) decimal_comma: bool,
    /// Whether the table that the grid was filled from says that it is invented.
    pub(super) invented: bool,
}

/// Name of a header's field.
pub(super) fn header_name(column: usize) -> String {
    format!("h-{column}")
}

/// Name of a cell's field.
pub(super) fn cell_name(row: usize, column: usize) -> String {
    format!("c-{row}-{column}")
}

impl Grid {
    /// Takes one field of the form; says whether it belongs to the grid.
    pub(super) fn take(&mut self, name: &str, value: &str) -> bool {
        let mut parts = name.split('-');
        let kind = parts.next();
        let numbers: Vec<usize> = parts.map_while(|part| part.parse().ok()).collect();
        let (cells, column) = match (kind, numbers.as_slice()) {
            (Some("h"), [column]) if *column < MOST_COLUMNS => (&mut self.header, *column),
            (Some("c"), [row, column]) if *row < MOST_ROWS && *column < MOST_COLUMNS => {
                if self.rows.len() <= *row {
                    self.rows.resize(row + 1, Vec::new());
                }
                match self.rows.get_mut(*row) {
                    Some(cells) => (cells, *column),
                    None => return false,
                }
            }
            _ => return false,
        };
        if cells.len() <= column {
            cells.resize(column + 1, String::new());
        }
        if let Some(cell) = cells.get_mut(column) {
            value.trim().clone_into(cell);
        }
        true
    }

    /// Whether any cell under the header is filled.
    pub(super) fn is_filled(&self) -> bool {
        self.rows.iter().flatten().any(|cell| !cell.is_empty())
    }

    /// The grid as the text of a table. Blank rows, and columns without header and cells, are left out.
    pub(super) fn to_text(&self) -> String {
        let has_cells = |column: usize| {
            self.rows
                .iter()
                .any(|row| row.get(column).is_some_and(|cell| !cell.is_empty()))
        };
        // An empty column beside another of the same name is one that nobody meant.
        let filled = |column: usize| {
            has_cells(column)
                || self.header.get(column).is_some_and(|name| {
                    !name.is_empty()
                        && self.header.iter().filter(|other| *other == name).count() == 1
                })
        };
        let width = self
            .rows
            .iter()
            .map(Vec::len)
            .chain([self.header.len()])
            .max()
            .unwrap_or(0);
        let columns: Vec<usize> = (0..width).filter(|column| filled(*column)).collect();
        let separator = if self.decimal_comma { ';' } else { ',' };
        let mut text = String::new();
        if self.invented {
            text.push_str("# Invented data: nobody took these readings.\n");
        }
        let written = self
            .rows
            .iter()
            .filter(|row| row.iter().any(|cell| !cell.is_empty()));
        for row in std::iter::once(&self.header).chain(written) {
            for (place, column) in columns.iter().enumerate() {
                if place > 0 {
                    text.push(separator);
                }
                let cell = row.get(*column).map_or("", String::as_str);
                text.push_str(&quoted(cell, place == 0));
            }
            text.push('\n');
        }
        text
    }
}

/// A cell so that the reader finds it again: RFC 4180. A row that begins with # would be a comment, and
/// what is typed is never dropped in silence.
fn quoted(cell: &str, first: bool) -> String {
    let cell: String = cell
        .chars()
        .map(|letter| if letter.is_control() { ' ' } else { letter })
        .collect();
    let mark = if first && cell.trim_start().starts_with('#') {
        "'"
    } else {
        ""
    };
    if cell.contains([',', ';', '"']) {
        format!("\"{mark}{}\"", cell.replace('"', "\"\""))
    } else {
        format!("{mark}{cell}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(fields: &[(&str, &str)]) -> Grid {
        let mut grid = Grid::default();
        for (name, value) in fields {
            assert!(grid.take(name, value), "{name}");
        }
        grid
    }

    #[test]
    fn blank_rows_and_columns_are_left_out_and_quotes_doubled() {
        let grid = grid(&[
            ("h-0", "heat_temp_C"),
            ("h-2", "note"),
            ("c-0-0", "80"),
            ("c-3-0", "90"),
            ("c-3-2", "said \"warm\", twice"),
        ]);
        assert_eq!(
            grid.to_text(),
            "heat_temp_C,note\n80,\n90,\"said \"\"warm\"\", twice\"\n"
        );
    }

    #[test]
    fn an_empty_column_gives_way_to_another_of_its_name() {
        let typed = [
            ("h-0", "lot"),
            ("h-1", "lot"),
            ("h-2", "blend"),
            ("c-0-0", "A"),
        ];
        assert_eq!(grid(&typed).to_text(), "lot,blend\nA,\n");
        // Two that are filled are for the reader to refuse.
        let typed = [
            ("h-0", "lot"),
            ("h-1", "lot"),
            ("c-0-0", "A"),
            ("c-0-1", "B"),
        ];
        assert_eq!(grid(&typed).to_text(), "lot,lot\nA,B\n");
    }

    #[test]
    fn a_row_that_looks_like_a_comment_is_kept_for_the_reader_to_refuse() {
        let grid = grid(&[("h-0", "heat_temp_C"), ("c-0-0", "#80")]);
        assert_eq!(grid.to_text(), "heat_temp_C\n'#80\n");
    }

    #[test]
    fn names_that_are_no_cells_are_not_taken() {
        let mut grid = Grid::default();
        for name in [
            "c-1", "h-", "c-0-60", "c-5000-0", "c-x-1", "law", "c-0-0-0", "h--1",
        ] {
            assert!(!grid.take(name, "1"), "{name}");
        }
        assert!(!grid.is_filled());
    }
}
