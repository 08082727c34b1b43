//! A small strict reader for the embedded tables.
//!
//! Strict, because a table that is read by halves would change answers in silence:
//! every row has as many cells as the header, every number is finite, every row names
//! its source. Cells may be quoted; a quote inside a quoted cell is refused, so that
//! every cell can be lent from the embedded text.

use std::sync::OnceLock;

use super::constants::ZERO_CELSIUS_KELVIN;
use super::error::ReferenceError;
use super::source::{Provenance, Source};

/// A table that is parsed at its first use and kept.
pub(super) type Parsed<T> = OnceLock<Result<Vec<T>, ReferenceError>>;

/// An embedded file.
#[derive(Clone, Copy)]
pub(super) struct Embedded {
    /// File name, for messages.
    pub name: &'static str,
    /// The whole text.
    pub text: &'static str,
}

/// Parses a table at the first call and lends it from then on.
pub(super) fn rows_of<T>(
    parsed: &'static Parsed<T>,
    file: Embedded,
    row: fn(&Row<'_>) -> Result<T, ReferenceError>,
) -> Result<&'static [T], ReferenceError> {
    match parsed.get_or_init(|| parse(file, row)) {
        Ok(rows) => Ok(rows),
        Err(error) => Err(error.clone()),
    }
}

/// Reads every row of a table through `row`.
pub(super) fn parse<T>(
    file: Embedded,
    row: impl Fn(&Row<'_>) -> Result<T, ReferenceError>,
) -> Result<Vec<T>, ReferenceError> {
    let fault = |line: usize, column: &str, reason: &str| ReferenceError::BrokenTable {
        table: file.name,
        line,
        column: column.to_owned(),
        reason: reason.to_owned(),
    };
    let mut lines = (1..).zip(file.text.lines());
    let Some((_, first)) = lines.next() else {
        return Err(fault(1, "-", "the table is empty"));
    };
    let header = cells(first).map_err(|reason| fault(1, "-", reason))?;
    if let Some((place, name)) = header
        .iter()
        .enumerate()
        .find(|(place, name)| header.iter().take(*place).any(|n| n == *name))
    {
        return Err(fault(
            1,
            name,
            &format!("the header names it twice (again at column {})", place + 1),
        ));
    }
    let mut rows = Vec::new();
    for (line, text) in lines {
        let cells = cells(text).map_err(|reason| fault(line, "-", reason))?;
        if cells.len() != header.len() {
            let reason = format!(
                "{} values where the header names {}",
                cells.len(),
                header.len()
            );
            return Err(fault(line, "-", &reason));
        }
        rows.push(row(&Row {
            file,
            line,
            header: &header,
            cells,
        })?);
    }
    if rows.is_empty() {
        return Err(fault(1, "-", "the table has a header and no rows"));
    }
    Ok(rows)
}

/// Splits one line at its commas; a cell in double quotes may hold commas.
fn cells(line: &'static str) -> Result<Vec<&'static str>, &'static str> {
    let mut cells = Vec::new();
    let mut rest = line;
    loop {
        let (cell, after) = match rest.strip_prefix('"') {
            Some(quoted) => {
                let (cell, after) = quoted
                    .split_once('"')
                    .ok_or("a quoted value is not closed on its line")?;
                match after.strip_prefix(',') {
                    Some(after) => (cell, Some(after)),
                    None if after.is_empty() => (cell, None),
                    None => {
                        return Err("a quoted value is followed by something else than a comma");
                    }
                }
            }
            None => match rest.split_once(',') {
                Some((cell, after)) => (cell, Some(after)),
                None => (rest, None),
            },
        };
        if !rest.starts_with('"') && cell.contains('"') {
            return Err("a quote stands inside a value; quote the whole value");
        }
        cells.push(cell);
        match after {
            Some(after) => rest = after,
            None => return Ok(cells),
        }
    }
}

/// One row of a table, asked by column name.
pub(super) struct Row<'a> {
    file: Embedded,
    line: usize,
    header: &'a [&'static str],
    cells: Vec<&'static str>,
}

impl Row<'_> {
    /// The refusal of one cell.
    pub(super) fn fault(&self, column: &str, reason: impl Into<String>) -> ReferenceError {
        ReferenceError::BrokenTable {
            table: self.file.name,
            line: self.line,
            column: column.to_owned(),
            reason: reason.into(),
        }
    }

    /// The cell of a column; it may be empty.
    pub(super) fn cell(&self, column: &str) -> Result<&'static str, ReferenceError> {
        self.header
            .iter()
            .position(|name| *name == column)
            .and_then(|place| self.cells.get(place).copied())
            .ok_or_else(|| self.fault(column, "the header does not name it"))
    }

    /// A text that must be there.
    pub(super) fn text(&self, column: &str) -> Result<&'static str, ReferenceError> {
        match self.cell(column)? {
            "" => Err(self.fault(column, "the value is missing")),
            text => Ok(text),
        }
    }

    /// A text that must be there, turned into something else.
    pub(super) fn parsed<T>(
        &self,
        column: &str,
        from: impl Fn(&str) -> Option<T>,
    ) -> Result<T, ReferenceError> {
        let text = self.text(column)?;
        from(text).ok_or_else(|| self.fault(column, format!("\"{text}\" is not known here")))
    }

    /// A number in SI that must be there.
    pub(super) fn si(&self, column: &str) -> Result<f64, ReferenceError> {
        self.optional_si(column)?
            .ok_or_else(|| self.fault(column, "the value is missing"))
    }

    /// A number in SI, above zero.
    pub(super) fn positive_si(&self, column: &str) -> Result<f64, ReferenceError> {
        let value = self.si(column)?;
        if value > 0.0 {
            Ok(value)
        } else {
            Err(self.fault(column, "the value must be above zero"))
        }
    }

    /// A number in SI, or nothing where the cell is empty. The ending of the column's
    /// name says the unit that the table is written in.
    pub(super) fn optional_si(&self, column: &str) -> Result<Option<f64>, ReferenceError> {
        let text = self.cell(column)?;
        if text.is_empty() {
            return Ok(None);
        }
        let (exponent, zero) = scale(column);
        match format!("{text}{exponent}").parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(Some(value + zero)),
            _ => Err(self.fault(column, format!("\"{text}\" is not a number"))),
        }
    }

    /// Where the row's figures come from.
    pub(super) fn source(&self) -> Result<Source, ReferenceError> {
        Ok(Source {
            text: self.text("source")?,
            how: self.parsed("how", Provenance::from_words)?,
            note: Some(self.cell("note")?).filter(|note| !note.is_empty()),
        })
    }
}

/// Power of ten and zero of the unit that a column's name ends in. The power is put
/// behind the printed decimal before it is read, so that 4.9 mm is the number nearest to
/// 0.0049 m; a multiplication would round twice.
fn scale(column: &str) -> (&'static str, f64) {
    if column.ends_with("_mm") || column.ends_with("_mPa_s") {
        ("e-3", 0.0)
    } else if column.ends_with("_mL") {
        ("e-6", 0.0)
    } else if column.ends_with("_C") {
        ("", ZERO_CELSIUS_KELVIN)
    } else {
        ("", 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(text: &'static str) -> String {
        let file = Embedded {
            name: "test.csv",
            text,
        };
        match parse(file, |row| Ok((row.si("bore_mm")?, row.source()?))) {
            Ok(rows) => panic!("read {rows:?}"),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn a_quoted_cell_may_hold_commas() {
        let file = Embedded {
            name: "test.csv",
            text: "bore_mm,source,how,note\n0.16,\"a, b\",\"common practice, no source\",\n",
        };
        let rows = parse(file, |row| Ok((row.si("bore_mm")?, row.source()?))).unwrap();
        assert_eq!(rows.len(), 1);
        assert_eq!(rows[0].0, 0.00016);
        assert_eq!(rows[0].1.text, "a, b");
        assert_eq!(rows[0].1.how, Provenance::CommonPractice);
        assert_eq!(rows[0].1.note, None);
    }

    #[test]
    fn every_refusal_names_file_line_and_column() {
        for (text, says) in [
            ("", "line 1, column -: the table is empty"),
            (
                "bore_mm,source,how,note\n",
                "line 1, column -: the table has a header and no rows",
            ),
            (
                "bore_mm,bore_mm\n1,2\n",
                "line 1, column bore_mm: the header names it twice",
            ),
            (
                "bore_mm,source,how,note\n1,a,seen\n",
                "line 2, column -: 3 values where the header names 4",
            ),
            (
                "bore_mm,source,how,note\nwide,a,seen,\n",
                "line 2, column bore_mm: \"wide\" is not a number",
            ),
            (
                "bore_mm,source,how,note\nNaN,a,seen,\n",
                "line 2, column bore_mm: \"NaN\" is not a number",
            ),
            (
                "bore_mm,source,how,note\n,a,seen,\n",
                "line 2, column bore_mm: the value is missing",
            ),
            (
                "bore_mm,source,how,note\n1,,seen,\n",
                "line 2, column source: the value is missing",
            ),
            (
                "bore_mm,source,how,note\n1,a,rumour,\n",
                "line 2, column how: \"rumour\" is not known here",
            ),
            (
                "bore,source,how,note\n1,a,seen,\n",
                "line 2, column bore_mm: the header does not name it",
            ),
            (
                "bore_mm,source,how,note\n1,\"a,seen,\n",
                "line 2, column -: a quoted value is not closed",
            ),
            (
                "bore_mm,source,how,note\n1,\"a\"b,seen,\n",
                "line 2, column -: a quoted value is followed",
            ),
            (
                "bore_mm,source,how,note\n1,a\"b\",seen,\n",
                "line 2, column -: a quote stands inside",
            ),
        ] {
            let message = refusal(text);
            assert!(message.starts_with("shared/test.csv, "), "{message}");
            assert!(message.contains(says), "{message} should say {says}");
        }
    }
}
