//! One worksheet of a workbook as cells by row, through calamine.

use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{
    DataRef, Dimensions, ExcelDateTime, Reader, SheetType, SheetVisible, Xlsx, XlsxError,
};

use super::archive::{ArchiveFault, LARGEST_UNPACKED_BYTES, Part, pack, unpack};
use crate::readings::columns::SheetCell;
use crate::readings::error::ReadingsError;
use crate::readings::limits::LARGEST_ROWS;

/// Cells with something in them that are read.
const LARGEST_CELLS: usize = 5_000_000;

/// A cell and its place, both counted from 0.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Placed {
    pub row: u32,
    pub column: u32,
    pub cell: SheetCell,
}

/// What stands in one worksheet, by row and column; empty cells are left out.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sheet {
    pub name: String,
    /// The other worksheets, `(hidden)` behind those that are.
    pub others: Vec<String>,
    pub cells: Vec<Placed>,
    /// First and last row and column of every merged range.
    pub merged: Vec<Merged>,
}

/// A merged range, counted from 0, both ends belonging to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Merged {
    pub rows: [u32; 2],
    pub columns: [u32; 2],
}

/// Reads the worksheet of that name, or the first one that is not hidden.
pub(crate) fn read_sheet(
    file: &str,
    bytes: &[u8],
    worksheet: Option<&str>,
) -> Result<Sheet, ReadingsError> {
    let mut parts = unpack(bytes).map_err(|fault| refused(file, fault))?;
    refuse_other_formats(file, &parts)?;
    forget_claimed_count(&mut parts);
    let plain = pack(&parts);
    drop(parts);
    // A damaged file can make the decoder panic: to the user that is a damaged file.
    catch_unwind(AssertUnwindSafe(|| sheet_of(file, plain, worksheet))).unwrap_or_else(|_| {
        Err(ReadingsError::DamagedWorkbook {
            file: file.to_string(),
            reason: "its parts do not fit together".to_string(),
        })
    })
}

fn refused(file: &str, fault: ArchiveFault) -> ReadingsError {
    let file = file.to_string();
    match fault {
        ArchiveFault::TooLarge => ReadingsError::TooLargeUnpacked {
            file,
            largest: LARGEST_UNPACKED_BYTES as u64,
        },
        ArchiveFault::TooManyParts => ReadingsError::DamagedWorkbook {
            file,
            reason: "it has more parts than a workbook can have".to_string(),
        },
        ArchiveFault::Broken(reason) => ReadingsError::DamagedWorkbook {
            file,
            reason: reason.to_string(),
        },
        ArchiveFault::Locked => ReadingsError::OtherFormat {
            file,
            what: "locked with a password",
            remedy: "save it without one, or save the table as CSV",
        },
    }
}

fn refuse_other_formats(file: &str, parts: &[Part]) -> Result<(), ReadingsError> {
    let part = |name: &str| parts.iter().find(|part| part.name == name);
    let what =
        if part("mimetype").is_some_and(|part| part.bytes.starts_with(b"application/vnd.oasis")) {
            "an OpenDocument file"
        } else if part("xl/workbook.bin").is_some() {
            "a binary workbook (XLSB)"
        } else if parts.iter().any(|part| part.name.ends_with("workbook.xml")) {
            return Ok(());
        } else {
            "a zip archive without a workbook in it"
        };
    Err(ReadingsError::OtherFormat {
        file: file.to_string(),
        what,
        remedy: "save the table as XLSX or CSV and give that",
    })
}

/// A decoder takes room for as many texts as a part claims to have. The claim is of no use.
fn forget_claimed_count(parts: &mut [Part]) {
    const CLAIM: &[u8] = b"uniqueCount";
    for part in parts {
        if !part.name.to_lowercase().ends_with("sharedstrings.xml") {
            continue;
        }
        let first_text = part.bytes.windows(3).position(|bytes| bytes == b"<si");
        let end = first_text.unwrap_or(part.bytes.len());
        let Some(head) = part.bytes.get_mut(..end) else {
            continue;
        };
        let mut from = 0;
        while let Some(at) = head
            .get(from..)
            .and_then(|rest| rest.windows(CLAIM.len()).position(|bytes| bytes == CLAIM))
        {
            if let Some(letter) = head.get_mut(from + at) {
                *letter = b'v';
            }
            from += at + CLAIM.len();
        }
    }
}

fn sheet_of(file: &str, plain: Vec<u8>, worksheet: Option<&str>) -> Result<Sheet, ReadingsError> {
    let damaged = |error: XlsxError| damaged(file, &error);
    let mut workbook = Xlsx::new(Cursor::new(plain)).map_err(damaged)?;
    let name = chosen(file, &workbook, worksheet)?;
    let mut others = names_of(&workbook);
    others.retain(|other| *other != name);
    let merged = workbook
        .merge_cells_by_sheet_name(&name)
        .map_err(damaged)?
        .iter()
        .map(|range: &Dimensions| Merged {
            rows: [range.start.0, range.end.0],
            columns: [range.start.1, range.end.1],
        })
        .collect();
    let mut reader = workbook.worksheet_cells_reader(&name).map_err(damaged)?;
    let mut cells: Vec<Placed> = Vec::new();
    let mut text_bytes = 0_usize;
    let mut last = (0, 0);
    loop {
        let (place, cell) = match reader.next_cell_with_formula_metadata() {
            Ok(None) => break,
            Ok(Some(found)) => {
                let reckoned = found.formula.is_some();
                (found.pos, cell_of(&found.value, reckoned))
            }
            // An error that the decoder has no name for: where it stands is known but roughly.
            Err(XlsxError::CellError(error)) => (
                (last.0, last.1 + 1),
                SheetCell::Error(crate::units::quantity::excerpt(&error)),
            ),
            Err(error) => return Err(damaged(error)),
        };
        last = place;
        if let SheetCell::Text(text) | SheetCell::Date(text) = &cell {
            text_bytes += text.len();
        }
        if cell.is_blank() {
            continue;
        }
        if place.0 as usize > LARGEST_ROWS + 100 {
            return Err(ReadingsError::TooManyRows {
                file: file.to_string(),
                largest: LARGEST_ROWS,
            });
        }
        if cells.len() >= LARGEST_CELLS {
            return Err(ReadingsError::TooManyCells {
                file: file.to_string(),
                largest: LARGEST_CELLS,
            });
        }
        if text_bytes > LARGEST_UNPACKED_BYTES {
            return Err(refused(file, ArchiveFault::TooLarge));
        }
        cells.push(Placed {
            row: place.0,
            column: place.1,
            cell,
        });
    }
    // Spreadsheets write them in order; others need not.
    cells.sort_by_key(|placed| (placed.row, placed.column));
    cells.dedup_by_key(|placed| (placed.row, placed.column));
    Ok(Sheet {
        name,
        others,
        cells,
        merged,
    })
}

/// The worksheet that was asked for; without a name the first that is not hidden.
fn chosen(
    file: &str,
    workbook: &Xlsx<Cursor<Vec<u8>>>,
    worksheet: Option<&str>,
) -> Result<String, ReadingsError> {
    let sheets = workbook
        .sheets_metadata()
        .iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet);
    let found = match worksheet {
        Some(asked) => sheets.clone().find(|sheet| sheet.name == asked),
        None => sheets
            .clone()
            .find(|sheet| sheet.visible == SheetVisible::Visible),
    };
    if let Some(sheet) = found {
        return Ok(sheet.name.clone());
    }
    let names = names_of(workbook);
    Err(match worksheet {
        Some(asked) => ReadingsError::NoSuchWorksheet {
            file: file.to_string(),
            asked: crate::units::quantity::excerpt(asked),
            names,
        },
        None => ReadingsError::NoWorksheetToSee {
            file: file.to_string(),
            names,
        },
    })
}

/// The worksheets, `(hidden)` behind those that are; the first fifty.
fn names_of(workbook: &Xlsx<Cursor<Vec<u8>>>) -> Vec<String> {
    workbook
        .sheets_metadata()
        .iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
        .map(|sheet| {
            let name = crate::units::quantity::excerpt(&sheet.name);
            match sheet.visible {
                SheetVisible::Visible => name,
                _ => format!("{name} (hidden)"),
            }
        })
        .take(50)
        .collect()
}

fn damaged(file: &str, error: &XlsxError) -> ReadingsError {
    if matches!(error, XlsxError::Password) {
        return refused(file, ArchiveFault::Locked);
    }
    ReadingsError::DamagedWorkbook {
        file: file.to_string(),
        reason: error.to_string(),
    }
}

fn cell_of(value: &DataRef<'_>, reckoned: bool) -> SheetCell {
    match value {
        DataRef::Int(number) => SheetCell::Number(*number as f64),
        DataRef::Float(number) => SheetCell::Number(*number),
        DataRef::String(text) => text_cell(text),
        DataRef::SharedString(text) => text_cell(text),
        DataRef::Bool(yes) => SheetCell::YesNo(*yes),
        DataRef::DateTime(moment) => SheetCell::Date(moment_words(moment)),
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => SheetCell::Date(text.clone()),
        DataRef::Error(error) => SheetCell::Error(error.to_string()),
        DataRef::Empty if reckoned => SheetCell::NotReckoned,
        DataRef::Empty => SheetCell::Blank,
    }
}

/// A line end inside a cell is a blank, as in a text table.
fn text_cell(text: &str) -> SheetCell {
    let text = text.trim();
    if text.is_empty() {
        return SheetCell::Blank;
    }
    SheetCell::Text(text.replace(['\n', '\r'], " "))
}

/// A date, a time of day or a duration as people read it.
fn moment_words(moment: &ExcelDateTime) -> String {
    let days = moment.as_f64();
    let of_day = |seconds: f64| {
        let whole = seconds.round() as u64;
        format!("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60)
    };
    if !days.is_finite() || !(0.0..3e6).contains(&days) {
        return crate::units::display::plain(days);
    }
    if moment.is_duration() || days < 1.0 {
        return of_day(days * 86_400.0);
    }
    let (year, month, day, hours, minutes, seconds, _) = moment.to_ymd_hms_milli();
    let date = format!("{year}-{month:02}-{day:02}");
    if hours == 0 && minutes == 0 && seconds == 0 {
        date
    } else {
        format!("{date} {hours}:{minutes:02}:{seconds:02}")
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::readings::workbook::write::workbook_of_csv;

    /// Written by openpyxl 3.1, and as XML by hand (tests/data/workbooks/make.py).
    const BENCH: &[u8] = include_bytes!("../../../tests/data/workbooks/bench.xlsx");
    const BY_HAND: &[u8] = include_bytes!("../../../tests/data/workbooks/formulas.xlsx");

    /// Changes every so-many-th byte of every part, with checksums that fit again.
    fn change_bytes(archive: &[u8], every: usize) -> usize {
        let parts = unpack(archive).unwrap();
        let mut step = 0_usize;
        for number in 0..parts.len() {
            for place in (0..parts[number].bytes.len()).step_by(every) {
                step += 1;
                let mut changed = parts.clone();
                changed[number].bytes[place] ^= ((step * 7) % 255 + 1) as u8;
                let _ = read_sheet("damaged.xlsx", &pack(&changed), None);
            }
        }
        step
    }

    #[test]
    fn parts_changed_and_packed_anew_are_read_or_refused() {
        assert!(change_bytes(BY_HAND, 2) > 1_000);
        assert!(change_bytes(BENCH, 20) > 800);
        // Ours has its texts in a part of their own.
        let own = workbook_of_csv("Bench", "heat_temp_C,lot\n80,one\n90,two\n").unwrap();
        assert!(change_bytes(&own, 20) > 500);
    }

    #[test]
    fn a_part_that_claims_a_billion_texts_takes_no_room_for_them() {
        let csv = "heat_temp_C,heat_time_min,viscosity_Pa_s\n80,1,2\n90,1,3\n";
        let mut parts = unpack(&workbook_of_csv("Bench", csv).unwrap()).unwrap();
        let texts = parts
            .iter_mut()
            .find(|part| part.name == "xl/sharedStrings.xml")
            .unwrap();
        let text = String::from_utf8(texts.bytes.clone()).unwrap();
        let (head, rest) = text.split_once("uniqueCount=\"").unwrap();
        let (_, rest) = rest.split_once('"').unwrap();
        texts.bytes = format!("{head}uniqueCount=\"999999999999999\"{rest}").into_bytes();
        let sheet = read_sheet("claims.xlsx", &pack(&parts), None).unwrap();
        let first = sheet.cells.first().unwrap();
        assert_eq!(first.cell, SheetCell::Text("heat_temp_C".to_string()));
    }
}
