//! Workbooks through the commands: `--worksheet`, `template`, `convert`, `batches export` and `sheet`.
//!
//! The workbooks of tests/data/workbooks were made by its make.py, with openpyxl 3.1.5.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use calamine::{Data, Reader, Xlsx};
use said::{document, refused, served};

fn workbook(name: &str) -> String {
    format!("{}/tests/data/workbooks/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn data(name: &str) -> String {
    format!("{}/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn in_folder(folder: &tempfile::TempDir, name: &str) -> String {
    folder.path().join(name).display().to_string()
}

#[test]
fn check_counts_the_rows_of_a_workbook_and_of_the_worksheet_asked_for() {
    let first = document(&format!("check {}", workbook("several.xlsx")));
    assert_eq!((&first["rows"], &first["used"]), (&6.into(), &6.into()));
    assert_eq!(first["source"][0]["worksheet"], "Session 1");
    let second = served(
        &format!(
            "check {} --worksheet=Session\u{a0}2",
            workbook("bench.xlsx")
        )
        .replace("Session\u{a0}2", "Bench"),
    );
    assert!(second.contains("6 viscosity readings"), "{second}");
    let none = refused(
        &format!("check {} --worksheet Nowhere", workbook("bench.xlsx")),
        1,
    );
    assert!(
        none.contains("it has Bench. Name one of them with --worksheet"),
        "{none}"
    );
    let text = refused(
        &format!("check {} --worksheet Bench", data("demo_bench.csv")),
        1,
    );
    assert!(text.contains("leave --worksheet Bench out"), "{text}");
}

#[test]
fn a_faulty_workbook_is_told_by_cell_on_screen() {
    let said = refused(&format!("check {}", workbook("faulty.xlsx")), 1);
    assert!(
        said.contains("sheet Bench, cell C3 (viscosity_Pa_s): #N/A stands here"),
        "{said}"
    );
}

/// The demo bench once as CSV, once as the workbook that a spreadsheet of the same numbers is.
#[test]
fn a_fit_of_a_workbook_is_that_of_the_same_table_in_text() {
    let folder = tempfile::tempdir().unwrap();
    let csv = std::fs::read_to_string(data("demo_bench.csv")).unwrap();
    let book = in_folder(&folder, "bench.xlsx");
    std::fs::write(
        &book,
        heatset::readings::write::workbook_of_csv("Bench", &csv).unwrap(),
    )
    .unwrap();
    let of_text = document(&format!("fit {} --blend plain", data("demo_bench.csv")));
    let of_book = document(&format!("fit {book} --blend plain"));
    assert_eq!(
        of_book["blends"][0]["parameters"],
        of_text["blends"][0]["parameters"]
    );
    assert_eq!(of_book["invented"], of_text["invented"]);
    assert_eq!(of_book["source"][0]["worksheet"], "Bench");
    assert!(of_text["source"][0].get("worksheet").is_none());
    assert_ne!(
        of_book["source"][0]["sha256"],
        of_text["source"][0]["sha256"]
    );
}

#[test]
fn the_template_as_a_workbook_is_a_workbook_with_two_sheets() {
    let folder = tempfile::tempdir().unwrap();
    let file = in_folder(&folder, "bench.xlsx");
    served(&format!("template --out {file}"));
    let book: Xlsx<_> = calamine::open_workbook(&file).unwrap();
    assert_eq!(book.sheet_names(), ["Bench", "Needle bench", "Columns"]);
    let said = refused(&format!("check {file}"), 1);
    assert!(
        said.contains("sheet Bench: there are no rows under the header (write one row a reading, or name another sheet with --worksheet: Needle bench, Columns)"),
        "{said}"
    );
    assert!(refused(&format!("template --out {file}"), 1).contains("--replace"));
}

#[test]
fn convert_writes_a_workbook_that_reads_as_its_table_in_text_does() {
    let folder = tempfile::tempdir().unwrap();
    let (csv, book) = (in_folder(&folder, "v.csv"), in_folder(&folder, "v.xlsx"));
    for out in [&csv, &book] {
        served(&format!("convert {} --out {out}", data("needle_bench.csv")));
    }
    let readings = |file: &str| {
        let table = heatset::readings::read_bench(&[file.into()]).unwrap();
        (table.reading, table.heat_time_s, table.invented)
    };
    assert_eq!(readings(&book), readings(&csv));
}

#[test]
fn a_run_sheet_is_a_workbook_with_one_row_a_syringe() {
    let folder = tempfile::tempdir().unwrap();
    let calibration = in_folder(&folder, "cal.json");
    served(&format!(
        "fit {} --blend plain --out {calibration}",
        data("demo_bench.csv")
    ));
    let (csv, book) = (in_folder(&folder, "s.csv"), in_folder(&folder, "s.xlsx"));
    served(&format!(
        "sheet {calibration} --at 80C --gauge 27 --syringes 4 --out {csv} --out {book}"
    ));
    let text = std::fs::read_to_string(&csv).unwrap();
    let rows: Vec<&str> = text.lines().filter(|line| !line.starts_with('#')).collect();
    let mut workbook: Xlsx<_> = calamine::open_workbook(&book).unwrap();
    let range = workbook.worksheet_range("Run sheet").unwrap();
    let header = range
        .rows()
        .position(|row| row[0] == Data::String("code".to_string()))
        .unwrap();
    assert_eq!(range.rows().count() - header, rows.len());
    for (row, line) in range.rows().skip(header).zip(rows) {
        assert_eq!(row[0].to_string(), line.split(',').next().unwrap());
    }
}
