//! Bench tables in workbooks: what other programs write is read, told by cell where it cannot be,
//! and what this project writes reads back.
//!
//! The workbooks of tests/data/workbooks were made by its make.py, with openpyxl 3.1.5 or as XML in
//! the shapes of ECMA-376; the rows are its own, invented.
#![cfg(feature = "tables")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::PathBuf;

use heatset::readings::write::{csv_bytes, workbook_bytes, workbook_of_csv};
use heatset::readings::{
    BenchTable, ReadingsError, blank_bench_workbook, read_bench, read_bench_bytes,
    read_bench_bytes_of_worksheet, read_bench_of_worksheet, read_bench_text,
};

/// The rows of make.py as text, which another reader of this project takes.
const AS_TEXT: &str = "heat_temp_C,heat_time_min,viscosity_Pa_s,lot
70,2,0.0021,L1
70,20,0.0105,L1
80,2,0.0049,L1
80,20,1.9,L2
90,2,0.22,L2
90,20,10.4,L2
";

fn path_of(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/workbooks")
        .join(name)
}

fn bytes_of(name: &str) -> Vec<u8> {
    std::fs::read(path_of(name)).unwrap()
}

fn refusal(name: &str, bytes: &[u8]) -> String {
    read_bench_bytes(name, bytes).unwrap_err().to_string()
}

fn assert_the_same_readings(table: &BenchTable, other: &BenchTable) {
    assert_eq!(table.kind, other.kind);
    assert_eq!(table.heat_temp_kelvin, other.heat_temp_kelvin);
    assert_eq!(table.heat_time_s, other.heat_time_s);
    assert_eq!(table.reading, other.reading);
    let lots =
        |table: &BenchTable| -> Vec<_> { table.rows.iter().map(|row| row.lot.clone()).collect() };
    assert_eq!(lots(table), lots(other));
}

#[test]
fn what_openpyxl_wrote_is_read_as_the_same_rows_in_text_are() {
    let text = read_bench_text("bench.csv", AS_TEXT.as_bytes()).unwrap();
    let table = read_bench(&[path_of("bench.xlsx")]).unwrap();
    assert_the_same_readings(&table, &text);
    // Row 1 is the header: rows are counted as the spreadsheet counts them.
    assert_eq!(table.rows[0].line, 2);
    assert_eq!(table.sources[0].worksheet.as_deref(), Some("Bench"));
}

#[test]
fn the_source_names_the_bytes_of_the_file() {
    // sha256sum of tests/data/workbooks/bench.xlsx by GNU coreutils
    const SHA256: &str = "8b2406f0abf8d75aceedc727a236041336df1e737469e4511fc969865225526c";
    let table = read_bench_bytes("bench.xlsx", &bytes_of("bench.xlsx")).unwrap();
    assert_eq!(table.sources[0].sha256, SHA256);
}

#[test]
fn streams_with_sizes_behind_their_parts_and_of_64_bits_are_read() {
    let text = read_bench_text("bench.csv", AS_TEXT.as_bytes()).unwrap();
    let table = read_bench_bytes("streamed", &bytes_of("streamed.xlsx")).unwrap();
    assert_the_same_readings(&table, &text);
    assert_eq!(table.sources[0].worksheet.as_deref(), Some("Tabelle & 1"));
}

#[test]
fn remarks_blank_rows_and_columns_and_hidden_sheets_are_passed_over() {
    let text = read_bench_text("bench.csv", AS_TEXT.as_bytes()).unwrap();
    let table = read_bench(&[path_of("several.xlsx")]).unwrap();
    assert_eq!(table.sources[0].worksheet.as_deref(), Some("Session 1"));
    assert_the_same_readings(&table, &text);
    // Header in row 6, a blank row behind the third reading.
    let lines: Vec<usize> = table.rows.iter().map(|row| row.line).collect();
    assert_eq!(lines, [7, 8, 9, 11, 12, 13]);
    assert!(table.invented, "a remark of the sheet says so");
}

#[test]
fn another_sheet_is_read_by_its_name_and_a_date_is_a_fine_code_for_a_day() {
    let table = read_bench_of_worksheet(&[path_of("several.xlsx")], Some("Session 2")).unwrap();
    assert!(!table.invented);
    let used: Vec<bool> = table.rows.iter().map(|row| row.used).collect();
    assert_eq!(used, [true, true, true, true, false, true]);
    assert_eq!(table.rows[0].session.as_deref(), Some("2026-11-02"));
    assert_eq!(table.rows[0].note.as_deref(), Some("=not a formula"));
}

#[test]
fn a_sheet_that_is_not_there_names_those_that_are() {
    let refused = read_bench_of_worksheet(&[path_of("several.xlsx")], Some("Session 3"))
        .unwrap_err()
        .to_string();
    assert!(
        refused.ends_with(
            "several.xlsx has no worksheet Session 3: it has Old (hidden), Session 1, Session 2. Name one of them with --worksheet"
        ),
        "{refused}"
    );
    let refused = read_bench_bytes_of_worksheet("bench.csv", AS_TEXT.as_bytes(), Some("Bench"))
        .unwrap_err()
        .to_string();
    assert_eq!(
        refused,
        "bench.csv is no workbook and has no worksheets: leave --worksheet Bench out"
    );
    // A hidden sheet is read where it is named.
    let refused = read_bench_of_worksheet(&[path_of("several.xlsx")], Some("Old"))
        .unwrap_err()
        .to_string();
    assert!(
        refused.contains("sheet Old, row 1: no column for"),
        "{refused}"
    );
}

#[test]
fn every_cell_that_cannot_be_is_told_at_once_and_by_its_name() {
    let refused = refusal("faulty.xlsx", &bytes_of("faulty.xlsx"));
    assert_eq!(
        refused,
        "faulty.xlsx cannot be read: 9 faults
  sheet Bench, cell B2 (heat_time_min): a date or time stands here (0:06:10), not a number (format the cell as a number and write it anew, in the unit of the header)
  sheet Bench, cell B3 (heat_time_min): a date or time stands here (0:06:10), not a number (format the cell as a number and write it anew, in the unit of the header)
  sheet Bench, cell C3 (viscosity_Pa_s): #N/A stands here: the spreadsheet could not reckon it (mend its formula, or empty the cell where nothing was measured)
  sheet Bench, cell A4 (heat_temp_C): a date or time stands here (2026-05-01), not a number (format the cell as a number and write it anew, in the unit of the header)
  sheet Bench, cell C4 (viscosity_Pa_s): a formula stands here, and its value was not stored (open the workbook in a spreadsheet and save it again, or write the value)
  sheet Bench, cell C5 (viscosity_Pa_s): TRUE is not a number (leave the cell empty where nothing was measured)
  sheet Bench, cell C6 (viscosity_Pa_s): \"1,5\" is not a number (the cell holds text: write the number anew, so that the spreadsheet takes it as one)
  sheet Bench, cell B7 (heat_time_min): -2 is negative
  sheet Bench, cell D7 (lot): #REF! stands here: the spreadsheet could not reckon it (mend its formula, or empty the cell where nothing was measured)"
    );
}

#[test]
fn formulas_stand_for_the_values_that_were_stored() {
    let refused = refusal("formulas.xlsx", &bytes_of("formulas.xlsx"));
    assert_eq!(
        refused,
        "formulas.xlsx cannot be read: 1 fault
  sheet Tabelle & 1, cell C4 (viscosity_Pa_s): a formula stands here, and its value was not stored (open the workbook in a spreadsheet and save it again, or write the value)"
    );
}

#[test]
fn merged_cells_of_the_table_are_refused_and_those_beside_it_are_not() {
    let refused = refusal("merged.xlsx", &bytes_of("merged.xlsx"));
    assert!(
        refused.contains("sheet Bench, cell A2: cells A2:A3 are merged, and only the first of them holds a value (take them apart"),
        "{refused}"
    );
    assert!(!refused.contains("A20"), "{refused}");
}

#[test]
fn other_formats_are_refused_with_the_way_out() {
    let old = refusal("bench.xls", b"x");
    assert!(
        old.contains("old workbook (XLS)") && old.contains("save the table as XLSX"),
        "{old}"
    );
    let locked = refusal("bench.xlsx", &[0xd0, 0xcf, 0x11, 0xe0, 0xa1]);
    assert!(locked.contains("locked with a password"), "{locked}");
    for (name, bytes) in [
        ("bench.ods", b"x".to_vec()),
        ("bench.xlsx", bytes_of("opendocument.zip")),
    ] {
        let refused = refusal(name, &bytes);
        assert!(
            refused.contains("OpenDocument") && refused.contains("save the table as XLSX or CSV"),
            "{refused}"
        );
    }
}

#[test]
fn a_broken_archive_is_told_in_words() {
    let whole = bytes_of("bench.xlsx");
    for bytes in [
        b"anything".to_vec(),
        b"PK\x03\x04rest".to_vec(),
        whole[..whole.len() / 2].to_vec(),
        whole[whole.len() / 2..].to_vec(),
        Vec::new(),
    ] {
        let refused = refusal("bench.xlsx", &bytes);
        assert!(
            refused.contains("cannot be read as a workbook") && refused.contains("save"),
            "{refused}"
        );
    }
}

/// Writes a size into the directory's last entry, which is the worksheet, and into its own header.
fn claiming(size: u32) -> Vec<u8> {
    let mut bytes = bytes_of("blanks.xlsx");
    for (signature, at) in [(b"PK\x01\x02", 24), (b"PK\x03\x04", 22)] {
        let place = bytes.windows(4).rposition(|w| w == signature).unwrap();
        bytes[place + at..place + at + 4].copy_from_slice(&size.to_le_bytes());
    }
    bytes
}

#[test]
fn archives_that_unpack_to_more_than_a_bench_are_refused_before_they_do() {
    // A million blanks in a thousand bytes: as it is, an XML without a sheet.
    let honest = refusal("blanks.xlsx", &claiming(1_000_000));
    assert!(honest.contains("cannot be read as a workbook"), "{honest}");
    let large = refusal("blanks.xlsx", &claiming(3_000_000_000));
    assert!(
        large.contains("comes to more than 200000000 bytes")
            && large.contains("is it the right file?"),
        "{large}"
    );
    let lies = refusal("blanks.xlsx", &claiming(1000));
    assert!(
        lies.contains("a part of it is larger than it says"),
        "{lies}"
    );
}

#[test]
fn no_change_of_a_byte_and_no_cut_panics() {
    for (name, times, every) in [("bench.xlsx", 1, 20), ("streamed.xlsx", 2, 1)] {
        let whole = bytes_of(name);
        assert!(read_bench_bytes(name, &whole).is_ok());
        let mut step = 0_usize;
        for place in 0..whole.len() {
            for _ in 0..times {
                step += 1;
                let mut changed = whole.clone();
                changed[place] ^= ((step * 7) % 255 + 1) as u8;
                if let Err(error) = read_bench_bytes(name, &changed) {
                    assert!(!error.to_string().is_empty());
                }
            }
        }
        for end in (0..whole.len()).step_by(every) {
            assert!(read_bench_bytes(name, &whole[..end]).is_err(), "{end}");
        }
    }
}

/// A table with all that makes writing hard: tiny and long numbers, codes that look like numbers,
/// texts that look like formulas.
const HARD: &str = "# invented data
heat_temp_C,heat_time_min,viscosity_Pa_s,lot,use,note
70,0.1,1.7976931348623157e-7,007,yes,=1+1
80.25,3,0.30000000000000004,1e5,no,+49 or so
90,20,123456.789,12345678901234567890,yes,-3 and falling
90,20,10,@home,yes,\"quoted \"\"text\"\", with a comma\"
";

#[test]
fn a_table_written_as_a_workbook_reads_back_to_the_last_digit() {
    let table = read_bench_text("hard.csv", HARD.as_bytes()).unwrap();
    let again = read_bench_bytes("hard.xlsx", &workbook_bytes(&table).unwrap()).unwrap();
    assert_the_same_readings(&again, &table);
    assert!(again.invented);
    for (row, other) in again.rows.iter().zip(&table.rows) {
        assert_eq!((row.used, &row.note), (other.used, &other.note));
    }
    assert_eq!(
        String::from_utf8(csv_bytes(&again).unwrap()).unwrap(),
        String::from_utf8(csv_bytes(&table).unwrap()).unwrap()
    );
}

#[test]
fn text_that_begins_like_a_formula_is_written_as_text() {
    let bytes = workbook_of_csv("Bench", HARD).unwrap();
    let mut book: calamine::Xlsx<_> = calamine::Reader::new(std::io::Cursor::new(bytes)).unwrap();
    let formulas = calamine::Reader::worksheet_formula(&mut book, "Bench").unwrap();
    assert!(formulas.is_empty(), "{formulas:?}");
    let range = calamine::Reader::worksheet_range(&mut book, "Bench").unwrap();
    assert_eq!(
        range.get_value((2, 5)),
        Some(&calamine::Data::String("=1+1".to_string()))
    );
    assert_eq!(
        range.get_value((2, 3)),
        Some(&calamine::Data::String("007".to_string()))
    );
}

#[test]
fn the_same_table_gives_the_same_bytes() {
    assert_eq!(
        workbook_of_csv("Bench", HARD).unwrap(),
        workbook_of_csv("Bench", HARD).unwrap()
    );
    assert_eq!(
        blank_bench_workbook().unwrap(),
        blank_bench_workbook().unwrap()
    );
}

#[test]
fn the_blank_workbook_reads_as_a_table_without_rows_and_its_columns_are_explained() {
    let bytes = blank_bench_workbook().unwrap();
    match read_bench_bytes("bench.xlsx", &bytes) {
        Err(ReadingsError::Faults { faults, .. }) => {
            assert_eq!(faults.total(), 1);
            assert!(
                faults.problems()[0]
                    .message
                    .contains("there are no rows under the header")
            );
        }
        other => panic!("{other:?}"),
    }
    let mut book: calamine::Xlsx<_> = calamine::Reader::new(std::io::Cursor::new(bytes)).unwrap();
    let range = calamine::Reader::worksheet_range(&mut book, "Columns").unwrap();
    let header = calamine::Reader::worksheet_range(&mut book, "Bench").unwrap();
    let explained: Vec<String> = range
        .rows()
        .filter_map(|row| row.first())
        .map(ToString::to_string)
        .collect();
    for name in header.rows().next().unwrap() {
        assert!(explained.contains(&name.to_string()), "{name}");
    }
}

/// A needle bench as someone fills it in: every header of the blank sheet is understood.
#[test]
fn every_header_of_the_blank_sheets_is_a_known_column() {
    let mut book: calamine::Xlsx<_> =
        calamine::Reader::new(std::io::Cursor::new(blank_bench_workbook().unwrap())).unwrap();
    for (sheet, row) in [
        ("Bench", "80,1,2,10,L,plain,0.1,25,0,4,a,b,c,d,0.1,yes,text"),
        (
            "Needle bench",
            "80,1,9,1,27,thin,13,4.7,2,gel,25,L,plain,yes,text",
        ),
    ] {
        let range = calamine::Reader::worksheet_range(&mut book, sheet).unwrap();
        let header: Vec<String> = range
            .rows()
            .next()
            .unwrap()
            .iter()
            .map(ToString::to_string)
            .collect();
        let csv = format!("{}\n{row}\n", header.join(","));
        let table = read_bench_text("filled.csv", csv.as_bytes()).unwrap_or_else(|e| panic!("{e}"));
        assert!(
            table.unknown_columns.is_empty(),
            "{:?}",
            table.unknown_columns
        );
    }
}
