//! What can be wrong with a bench table, all faults at once, in words that tell how to mend them.

use std::fmt;

use super::columns::SheetOfTable;
use super::table::ReadingKind;

/// How many faults of a file are shown; the rest is counted.
pub const SHOWN_FAULTS: usize = 20;

/// What the rows of a source are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Counted {
    /// Lines of a text file, the first being 1.
    #[default]
    Line,
    /// Rows of a table without lines (Parquet, columns in memory), the first being 1.
    Row,
}

impl fmt::Display for Counted {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Counted::Line => "line",
            Counted::Row => "row",
        })
    }
}

/// A worksheet, and a column of it by its letters where the fault has one.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SheetPlace {
    /// Name of the worksheet.
    pub sheet: String,
    /// Letters of the column.
    pub letters: Option<String>,
}

/// One fault of a table: where it is, what stands there, how to mend it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Problem {
    /// The line or row, where the fault has one.
    pub line: Option<usize>,
    /// What `line` counts.
    pub counted: Counted,
    /// The header of the column, where the fault has one.
    pub column: Option<String>,
    /// What was found, as it stands in the table (shortened).
    pub found: Option<String>,
    /// What is wrong, in words.
    pub message: String,
    /// How to mend it, where the message does not say so already.
    pub remedy: Option<String>,
    /// Which column it is, from 0, where the fault has one.
    pub column_index: Option<usize>,
    /// Where it stands in a workbook.
    pub sheet: Option<SheetPlace>,
}

impl Problem {
    /// 'sheet Bench, cell C7 (viscosity_Pa_s): '
    fn write_place_in_sheet(
        &self,
        place: &SheetPlace,
        formatter: &mut fmt::Formatter<'_>,
    ) -> fmt::Result {
        write!(formatter, "sheet {}", place.sheet)?;
        match (self.line, &place.letters) {
            (Some(line), Some(letters)) => write!(formatter, ", cell {letters}{line}")?,
            (Some(line), None) => write!(formatter, ", row {line}")?,
            (None, Some(letters)) => write!(formatter, ", column {letters}")?,
            (None, None) => {}
        }
        if let Some(column) = &self.column {
            write!(formatter, " ({column})")?;
        }
        formatter.write_str(": ")
    }

    fn write_place(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(place) = &self.sheet {
            return self.write_place_in_sheet(place, formatter);
        }
        match (self.line, &self.column) {
            (Some(line), Some(column)) => {
                write!(formatter, "{} {line}, column {column}: ", self.counted)?;
            }
            (Some(line), None) => write!(formatter, "{} {line}: ", self.counted)?,
            (None, Some(column)) => write!(formatter, "column {column}: ")?,
            (None, None) => {}
        }
        Ok(())
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.write_place(formatter)?;
        formatter.write_str(&self.message)?;
        if let Some(remedy) = &self.remedy {
            write!(formatter, " ({remedy})")?;
        }
        Ok(())
    }
}

/// Faults in the order of their lines: the first twenty, and how many there are.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FaultList {
    problems: Vec<Problem>,
    total: usize,
}

impl FaultList {
    /// Takes one more fault; only the first twenty are kept, all are counted.
    pub fn push(&mut self, problem: Problem) {
        self.total += 1;
        if self.problems.len() < SHOWN_FAULTS {
            self.problems.push(problem);
        }
    }

    /// Takes another list in and sorts by line; faults of the whole table stand first.
    pub fn merge(&mut self, other: FaultList) {
        self.total += other.total;
        self.problems.extend(other.problems);
        self.problems
            .sort_by_key(|problem| problem.line.unwrap_or(0));
        self.problems.truncate(SHOWN_FAULTS);
    }

    /// Says of every fault where it stands in a worksheet, unless it says so already.
    pub(crate) fn place_in(&mut self, sheet: &SheetOfTable) {
        for problem in &mut self.problems {
            let letters = problem
                .column_index
                .and_then(|index| sheet.letters.get(index).cloned());
            problem.sheet.get_or_insert(SheetPlace {
                sheet: sheet.name.clone(),
                letters,
            });
        }
    }

    /// The faults that are shown.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// How many there are in all.
    pub fn total(&self) -> usize {
        self.total
    }

    /// True where nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.total == 0
    }
}

impl fmt::Display for FaultList {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, problem) in self.problems.iter().enumerate() {
            if number > 0 {
                formatter.write_str("\n")?;
            }
            write!(formatter, "  {problem}")?;
        }
        let unseen = self.total.saturating_sub(self.problems.len());
        if unseen > 0 {
            write!(formatter, "\n  and {unseen} more")?;
        }
        Ok(())
    }
}

/// A bench table that cannot be used, written or converted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadingsError {
    /// The table has faults.
    #[error("{file} cannot be read: {} fault{}\n{faults}", faults.total(), if faults.total() == 1 { "" } else { "s" })]
    Faults {
        /// The file as it was named.
        file: String,
        /// Every fault.
        faults: FaultList,
    },
    /// Several files have faults; each is told in full.
    #[error("{}", errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    SeveralFiles {
        /// One refusal a file.
        errors: Vec<ReadingsError>,
    },
    /// The file cannot be opened.
    #[error("{file} cannot be opened: {reason}")]
    Unreadable {
        /// The file as it was named.
        file: String,
        /// What the system says, and what to look at.
        reason: String,
    },
    /// A kind of file that is not read.
    #[error("{file} is {what}, which is not read here: {remedy}")]
    OtherFormat {
        /// The file as it was named.
        file: String,
        /// What it is.
        what: &'static str,
        /// What to do.
        remedy: &'static str,
    },
    /// Parquet that the reader cannot make sense of.
    #[error("{file} cannot be read as Parquet: {reason}; write it again, or save the table as CSV")]
    Damaged {
        /// The file as it was named.
        file: String,
        /// What the reader says.
        reason: String,
    },
    /// A workbook that the reader cannot make sense of.
    #[error(
        "{file} cannot be read as a workbook: {reason}; open it in a spreadsheet and save it again as XLSX, or save the table as CSV"
    )]
    DamagedWorkbook {
        /// The file as it was named.
        file: String,
        /// What does not fit.
        reason: String,
    },
    /// A workbook that comes to more bytes than are unpacked.
    #[error(
        "{file} comes to more than {largest} bytes when it is unpacked, and no bench table does: is it the right file? Save the table alone, or as CSV"
    )]
    TooLargeUnpacked {
        /// The file as it was named.
        file: String,
        /// The most that is unpacked.
        largest: u64,
    },
    /// More cells than a bench table can have.
    #[error(
        "{file} has more than {largest} cells: is it the right file? Save the table alone, or thin the readings"
    )]
    TooManyCells {
        /// The file as it was named.
        file: String,
        /// The most that are read.
        largest: usize,
    },
    /// A worksheet that the workbook does not have.
    #[error(
        "{file} has no worksheet {asked}: it has {}. Name one of them with --worksheet", if names.is_empty() { "none".to_string() } else { names.join(", ") }
    )]
    NoSuchWorksheet {
        /// The file as it was named.
        file: String,
        /// The name that was asked for.
        asked: String,
        /// The names that there are.
        names: Vec<String>,
    },
    /// A workbook without a worksheet to be seen.
    #[error(
        "{file} has no worksheet that can be seen{}", if names.is_empty() { ": save the table as XLSX or CSV and give that".to_string() } else { format!(": name one with --worksheet: {}", names.join(", ")) }
    )]
    NoWorksheetToSee {
        /// The file as it was named.
        file: String,
        /// The names of the hidden ones.
        names: Vec<String>,
    },
    /// A worksheet was named, and the file has none.
    #[error("{file} is no workbook and has no worksheets: leave --worksheet {asked} out")]
    NoWorksheets {
        /// The file as it was named.
        file: String,
        /// The name that was asked for.
        asked: String,
    },
    /// More bytes than a bench table can have.
    #[error(
        "{file} has {bytes} bytes, and a bench table has at most {largest}: is it the right file? Split it, or leave out what is not a reading"
    )]
    TooLarge {
        /// The file as it was named.
        file: String,
        /// Its size.
        bytes: u64,
        /// The most that is read.
        largest: u64,
    },
    /// More rows than a bench table can have.
    #[error(
        "{file} has more than {largest} rows: is it the right file? Thin the readings, or split it"
    )]
    TooManyRows {
        /// The file as it was named.
        file: String,
        /// The most that is read.
        largest: usize,
    },
    /// No file was named.
    #[error("no bench table was named: give at least one file")]
    NoFile,
    /// Two files with different kinds of reading.
    #[error(
        "{first_file} holds {first_kind} readings and {second_file} {second_kind} readings: one fit takes one kind; fit them apart"
    )]
    DifferentKinds {
        /// The first file.
        first_file: String,
        /// Its kind of reading.
        first_kind: ReadingKind,
        /// The file that differs.
        second_file: String,
        /// Its kind of reading.
        second_kind: ReadingKind,
    },
    /// A table of what was seen where readings are asked for.
    #[error(
        "{file} says what was seen (column seen: set or not-set) and holds no readings.\nWhat helps: 'heatset check' and 'heatset fit' take it, and 'heatset time' answers from that fit when the gel has set; every other command needs readings"
    )]
    SeenTable {
        /// The file as it was named.
        file: String,
    },
    /// Tables of readings and of what was seen together.
    #[error(
        "{first_file} says what was seen, and {second_file} holds readings: one fit takes one kind; fit them apart"
    )]
    SeenAndReadings {
        /// The table of what was seen.
        first_file: String,
        /// The table of readings.
        second_file: String,
    },
    /// The same table given twice would count every reading twice.
    #[error(
        "{first_file} and {second_file} hold the same bytes: name the table once, else every reading counts twice"
    )]
    SameTableTwice {
        /// The first file.
        first_file: String,
        /// The same again.
        second_file: String,
    },
    /// All used readings are the same number.
    #[error(
        "{file}: all {rows} readings that are used are the same ({reading} {unit}): nothing sets here. Check the column, or measure longer or hotter"
    )]
    ReadingsDoNotChange {
        /// The file or files.
        file: String,
        /// How many rows are used.
        rows: usize,
        /// The reading, in SI.
        reading: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// Arrays of different lengths.
    #[error(
        "{temperatures} temperatures, {times} times and {readings} readings: give one of each a row"
    )]
    UnequalLengths {
        /// Number of temperatures.
        temperatures: usize,
        /// Number of times.
        times: usize,
        /// Number of readings.
        readings: usize,
    },
    /// The table cannot be written.
    #[error("{file} cannot be written: {reason}")]
    Unwritable {
        /// The file as it was named.
        file: String,
        /// What the system says, and what to do.
        reason: String,
    },
    /// The file is there already.
    #[error("{file} is there already: choose another name, or give --replace")]
    ExistsAlready {
        /// The file as it was named.
        file: String,
    },
    /// Forces or timed runs that cannot be turned into viscosities.
    #[error("the {what} of {file} cannot be turned into viscosities: {} fault{}\n{faults}", faults.total(), if faults.total() == 1 { "" } else { "s" })]
    NotConverted {
        /// What they are: forces, or timed runs.
        what: &'static str,
        /// The file as it was named.
        file: String,
        /// Every fault.
        faults: FaultList,
    },
}

/// What the system says, in words.
pub(crate) fn system_words(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file; check the name".to_string(),
        std::io::ErrorKind::PermissionDenied => "you may not; check its permissions".to_string(),
        std::io::ErrorKind::IsADirectory => "it is a folder; name the file in it".to_string(),
        _ => error.to_string(),
    }
}
