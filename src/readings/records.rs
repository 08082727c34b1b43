//! Splits the text of a table into records, with the line each begins on.
//!
//! # Source
//! Y. Shafranovich, *RFC 4180: Common Format and MIME Type for CSV Files*, 2005, section 2;
//! tab and semicolon as separators and `#` comment lines are our own addition.

use super::error::{Counted, FaultList, Problem};
use super::limits::LARGEST_ROWS;

/// One line of values.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Record {
    /// The line that it begins on, from 1.
    pub line: usize,
    pub fields: Vec<String>,
}

/// The text, taken apart.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Records {
    pub separator: char,
    pub header: Option<Record>,
    /// Records as long as the header; others are faults.
    pub rows: Vec<Record>,
    /// Records that are not as long as the header, for showing what is wrong with them.
    #[cfg_attr(not(feature = "page"), allow(dead_code))]
    pub uneven: Vec<Record>,
    pub invented: bool,
    pub too_many: bool,
    pub faults: FaultList,
}

/// The words by which a file says of itself that nobody measured it.
const INVENTED: &str = "invented data";

/// Takes the text of a table apart. Comment lines and blank lines are left out.
pub(crate) fn split(text: &str) -> Records {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let line_end = if text.contains('\n') { '\n' } else { '\r' };
    let separator = find_separator(text, line_end);
    let mut records = Records {
        separator,
        ..Records::default()
    };
    let mut splitter = Splitter {
        rest: text,
        line: 1,
        separator,
        line_end,
    };
    while let Some(next) = splitter.next() {
        match next {
            Next::Comment(comment) => {
                records.invented |= comment.to_lowercase().contains(INVENTED);
            }
            Next::Broken {
                line,
                message,
                remedy,
            } => records.faults.push(Problem {
                line: Some(line),
                counted: Counted::Line,
                message: message.to_string(),
                remedy: Some(remedy.to_string()),
                ..Problem::default()
            }),
            Next::Record(record) => {
                if record.fields.iter().all(|field| field.trim().is_empty()) {
                    continue;
                }
                // A spreadsheet puts a comment with a comma in it between quotes.
                if record
                    .fields
                    .first()
                    .is_some_and(|field| field.trim_start().starts_with('#'))
                {
                    records.invented |= record.fields.join(" ").to_lowercase().contains(INVENTED);
                    continue;
                }
                match &records.header {
                    None => records.header = Some(record),
                    Some(header) if header.fields.len() == record.fields.len() => {
                        records.rows.push(record);
                        if records.rows.len() > LARGEST_ROWS {
                            records.too_many = true;
                            return records;
                        }
                    }
                    Some(header) => {
                        let problem = unequal(
                            record.line,
                            record.fields.len(),
                            header.fields.len(),
                            separator,
                        );
                        records.faults.push(problem);
                        records.uneven.push(record);
                    }
                }
            }
        }
    }
    drop_empty_last_columns(&mut records);
    records
}

fn unequal(line: usize, found: usize, wanted: usize, separator: char) -> Problem {
    let values = if found == 1 {
        "1 value".to_string()
    } else {
        format!("{found} values")
    };
    let remedy = if found > wanted && separator == ',' {
        "put text with a comma between quotation marks; with decimal commas separate with semicolons"
    } else if found > wanted {
        "put text with a separator in it between quotation marks"
    } else {
        "keep the separators of empty cells"
    };
    Problem {
        line: Some(line),
        counted: Counted::Line,
        found: Some(values.clone()),
        message: format!("{values} where the header names {wanted}"),
        remedy: Some(remedy.to_string()),
        ..Problem::default()
    }
}

/// Spreadsheets leave columns without header or value at the end: they are nobody's.
fn drop_empty_last_columns(records: &mut Records) {
    let Some(header) = &mut records.header else {
        return;
    };
    while header
        .fields
        .last()
        .is_some_and(|field| field.trim().is_empty())
        && records.rows.iter().all(|row| {
            row.fields
                .last()
                .is_none_or(|field| field.trim().is_empty())
        })
    {
        header.fields.pop();
        for row in &mut records.rows {
            row.fields.pop();
        }
    }
}

/// Looks at the header for a tab, a semicolon or a comma outside quotation marks.
fn find_separator(text: &str, line_end: char) -> char {
    let header = text
        .split(line_end)
        .find(|line| {
            let line = line.trim_start_matches([' ', '\r', '\t', ',', ';']);
            !line.is_empty() && !line.starts_with('#') && !line.starts_with("\"#")
        })
        .unwrap_or("");
    let mut quoted = false;
    let mut outside = String::new();
    for character in header.chars() {
        if character == '"' {
            quoted = !quoted;
        } else if !quoted {
            outside.push(character);
        }
    }
    ['\t', ';', ',']
        .into_iter()
        .find(|separator| outside.contains(*separator))
        .unwrap_or(',')
}

enum Next {
    Comment(String),
    Record(Record),
    Broken {
        line: usize,
        message: &'static str,
        remedy: &'static str,
    },
}

/// Walks through the text, record by record.
struct Splitter<'a> {
    rest: &'a str,
    line: usize,
    separator: char,
    /// LF, also where it follows a CR (cells are trimmed); CR where the text has no LF.
    line_end: char,
}

impl<'a> Splitter<'a> {
    fn next(&mut self) -> Option<Next> {
        if self.rest.is_empty() {
            return None;
        }
        if self.rest.trim_start_matches(' ').starts_with('#') {
            return Some(Next::Comment(self.up_to_line_end().to_string()));
        }
        let line = self.line;
        let mut fields = Vec::new();
        let mut broken = None;
        loop {
            let field = if self.rest.starts_with('"') {
                match self.quoted_field() {
                    Ok(field) => field,
                    Err(Quote::NeverClosed) => {
                        self.rest = "";
                        return Some(Next::Broken {
                            line,
                            message: "a quotation mark opens here and is never closed",
                            remedy: "close it, or take it out",
                        });
                    }
                    Err(Quote::TextBehind) => {
                        broken = Some(Next::Broken {
                            line,
                            message: "text stands behind a closing quotation mark",
                            remedy: "double the quotation marks inside a quoted text",
                        });
                        String::new()
                    }
                }
            } else {
                self.plain_field().to_string()
            };
            fields.push(field);
            let Some(character) = self.rest.chars().next() else {
                break;
            };
            if character == self.separator {
                self.take(character.len_utf8());
            } else {
                self.pass_line_end();
                break;
            }
        }
        Some(broken.unwrap_or(Next::Record(Record { line, fields })))
    }

    /// Text up to the next separator or line end.
    fn plain_field(&mut self) -> &'a str {
        let separator = self.separator;
        let end = self
            .rest
            .find([separator, self.line_end])
            .unwrap_or(self.rest.len());
        self.take(end)
    }

    /// A field between quotation marks; a doubled mark stands for one.
    fn quoted_field(&mut self) -> Result<String, Quote> {
        self.take(1);
        let mut field = String::new();
        loop {
            let Some(end) = self.rest.find('"') else {
                return Err(Quote::NeverClosed);
            };
            let part = self.take(end);
            self.line += part.matches(self.line_end).count();
            field.push_str(part);
            self.take(1);
            if self.rest.starts_with('"') {
                field.push('"');
                self.take(1);
                continue;
            }
            let behind = self.plain_field();
            return if behind.trim().is_empty() {
                Ok(field)
            } else {
                Err(Quote::TextBehind)
            };
        }
    }

    fn up_to_line_end(&mut self) -> &'a str {
        let end = self.rest.find(self.line_end).unwrap_or(self.rest.len());
        let text = self.take(end);
        self.pass_line_end();
        text
    }

    /// Passes over one line end.
    fn pass_line_end(&mut self) {
        if self.rest.starts_with(self.line_end) {
            self.take(1);
            self.line += 1;
        }
    }

    fn take(&mut self, length: usize) -> &'a str {
        // `length` always ends on a character: it comes from `find` or `len_utf8`.
        match self.rest.split_at_checked(length) {
            Some((taken, rest)) => {
                self.rest = rest;
                taken
            }
            None => std::mem::take(&mut self.rest),
        }
    }
}

enum Quote {
    NeverClosed,
    TextBehind,
}
