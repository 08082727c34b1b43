//! What a bench table is refused for, and that every fault says where it is.
#![cfg(feature = "tables")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::PathBuf;

use heatset::readings::write::parquet_bytes;
use heatset::readings::{
    BenchTable, CellColumn, ColumnTable, LARGEST_FILE_BYTES, LARGEST_ROWS, ReadingKind,
    ReadingsError, read_bench, read_bench_bytes, read_bench_text,
};
use proptest::prelude::*;

const HEADER: &str = "heat_temp_C,heat_time_min,viscosity_Pa_s";

fn refusal(text: &str) -> String {
    read_bench_text("bench.csv", text.as_bytes())
        .expect_err("the table is refused")
        .to_string()
}

/// The one fault of a table.
fn fault(text: &str) -> String {
    let refusal = refusal(text);
    let (first, rest) = refusal.split_once('\n').expect("a fault has its line");
    assert_eq!(first, "bench.csv cannot be read: 1 fault", "{refusal}");
    rest.trim_start().to_string()
}

/// The fault of a table with one good row and this row under the usual header.
fn fault_of_row(row: &str) -> String {
    fault(&format!("{HEADER}\n80,1,2\n{row}\n"))
}

#[test]
fn a_missing_needed_column_is_refused_with_its_name() {
    assert_eq!(
        fault("heat_time_min,viscosity_Pa_s\n1,2\n"),
        "line 1: no column for the block's set temperature (add heat_temp_C, heat_temp_K or heat_temp_F)"
    );
    assert_eq!(
        fault("# bench\nheat_temp_C,viscosity_Pa_s\n80,2\n"),
        "line 2: no column for the heat time (add heat_time_min, heat_time_s or heat_time_h)"
    );
    assert_eq!(
        fault("heat_temp_C,heat_time_min\n80,1\n"),
        "line 1: no column for the reading (add one of viscosity_Pa_s, modulus_Pa, force_N, run_time_s, firmness_au)"
    );
}

#[test]
fn a_header_that_is_nearly_right_is_pointed_at() {
    assert_eq!(
        fault("heat_temp_degC,heat_time_min,viscosity_Pa_s\n80,1,2\n"),
        "line 1: no column for the block's set temperature (add heat_temp_C, heat_temp_K or heat_temp_F; is it \"heat_temp_degC\"?)"
    );
    assert!(
        fault("heat_temp_C,Heat Time (min),viscosity_Pa_s\n80,1,2\n")
            .contains("is it \"Heat Time (min)\"?")
    );
}

#[test]
fn two_reading_columns_are_refused() {
    for second in ["modulus_Pa", "viscosity_mPa_s", "firmness_au"] {
        assert_eq!(
            fault(&format!("{HEADER},{second}\n80,1,2,3\n")),
            format!(
                "line 1, column {second}: 2 reading columns: viscosity_Pa_s, {second} (keep one; the others can go into a table of their own)"
            )
        );
    }
}

#[test]
fn a_repeated_header_is_refused() {
    assert_eq!(
        fault(&format!("{HEADER},lot,lot\n80,1,2,a,b\n")),
        "line 1, column lot: this header stands twice (rename or remove one of the two columns)"
    );
    assert_eq!(
        fault(&format!("{HEADER},heat_temp_K\n80,1,2,353.15\n")),
        "line 1, column heat_temp_K: an earlier column gives the same in another unit (keep one of the two)"
    );
}

#[test]
fn a_header_without_a_unit_is_refused_with_the_ways_to_write_it() {
    assert_eq!(
        fault("heat_temp,heat_time_min,viscosity_Pa_s\n80,1,2\n"),
        "line 1, column heat_temp: the header has no unit (write heat_temp_C, heat_temp_K or heat_temp_F)"
    );
    assert_eq!(
        fault("heat_temp_C,heat_time_min,firmness\n80,1,2\n"),
        "line 1, column firmness: the header has no unit (write firmness_au)"
    );
    assert_eq!(
        fault(&format!("{HEADER},stand_time\n80,1,2,3\n")),
        "line 1, column stand_time: the header has no unit (write stand_time_min, stand_time_s or stand_time_h)"
    );
}

#[test]
fn a_header_with_another_quantity_s_unit_is_refused() {
    assert!(
        fault("heat_temp_C,heat_time_mm,viscosity_Pa_s\n80,1,2\n")
            .starts_with("line 1, column heat_time_mm: mm is no unit for this column")
    );
    assert!(
        fault("heat_temp_C,heat_time_min,viscosity_Pa\n80,1,2\n")
            .starts_with("line 1, column viscosity_Pa: Pa is no unit for this column")
    );
}

#[test]
fn values_without_a_header_are_refused() {
    assert!(
        fault(&format!("{HEADER},\n80,1,2,stray\n"))
            .starts_with("line 1: column 4 has values and no header")
    );
}

#[test]
fn text_where_a_number_belongs_is_refused_with_the_remedy() {
    assert_eq!(
        fault_of_row("80,1,\"1,2\""),
        "line 3, column viscosity_Pa_s: \"1,2\" is not a number (is this decimal comma? then separate with semicolons)"
    );
    assert_eq!(
        fault_of_row("80,1 min,2"),
        "line 3, column heat_time_min: \"1 min\" is not a number (write the number alone; the unit stands in the header)"
    );
    assert_eq!(
        fault_of_row("80,1,none"),
        "line 3, column viscosity_Pa_s: \"none\" is not a number (leave the cell empty where nothing was measured)"
    );
    assert_eq!(
        fault(&format!("{}\n80;1;1.000,5\n", HEADER.replace(',', ";"))),
        "line 2, column viscosity_Pa_s: \"1.000,5\" is not a number (write the number without a separator of thousands)"
    );
}

#[test]
fn infinite_and_not_a_number_are_refused() {
    for word in ["inf", "-inf", "Infinity", "NaN", "nan", "1e999"] {
        let fault = fault_of_row(&format!("80,1,{word}"));
        assert!(
            fault.starts_with(&format!(
                "line 3, column viscosity_Pa_s: \"{word}\" is not a finite number"
            )),
            "{fault}"
        );
    }
}

#[test]
fn a_reading_of_zero_or_less_is_refused_unless_it_is_a_firmness() {
    assert!(fault_of_row("80,1,-2").starts_with("line 3, column viscosity_Pa_s: -2 is negative"));
    assert!(
        fault_of_row("80,1,0").starts_with("line 3, column viscosity_Pa_s: 0 is not above zero")
    );
    for column in ["modulus_Pa", "modulus_kPa", "viscosity_cP"] {
        let fault = fault(&format!("heat_temp_C,heat_time_min,{column}\n80,1,0\n"));
        assert!(
            fault.starts_with(&format!("line 2, column {column}: 0 is not above zero")),
            "{fault}"
        );
    }
    let needle = "needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min";
    let fault = fault(&format!(
        "heat_temp_C,heat_time_min,force_N,{needle}\n80,1,-1,30,regular,13,4.7,1\n"
    ));
    assert!(
        fault.starts_with("line 2, column force_N: -1 is negative"),
        "{fault}"
    );
    let kept = "heat_temp_C,heat_time_min,firmness_au\n80,1,0\n80,2,-3\n";
    assert_eq!(
        read_bench_text("bench.csv", kept.as_bytes()).unwrap().len(),
        2
    );
}

#[test]
fn a_negative_time_is_refused() {
    assert_eq!(
        fault_of_row("80,-2,2"),
        "line 3, column heat_time_min: -2 is negative"
    );
    assert!(
        fault(&format!("{HEADER},stand_time_h\n80,1,2,-1\n"))
            .starts_with("line 2, column stand_time_h: -1 is negative")
    );
}

#[test]
fn impossible_temperatures_are_refused_in_every_unit() {
    for (column, low, high) in [
        ("C", "-273.16", "400.1"),
        ("K", "-0.01", "673.25"),
        ("F", "-459.68", "752.2"),
    ] {
        let table =
            |value: &str| format!("heat_temp_{column},heat_time_min,viscosity_Pa_s\n{value},1,2\n");
        let fault_low = fault(&table(low));
        assert!(
            fault_low.starts_with(&format!(
                "line 2, column heat_temp_{column}: {low} is below absolute zero"
            )),
            "{fault_low}"
        );
        let fault_high = fault(&table(high));
        assert!(
            fault_high.starts_with(&format!(
                "line 2, column heat_temp_{column}: {high} is over 400 °C"
            )),
            "{fault_high}"
        );
    }
    for (column, value) in [("C", "400"), ("K", "0"), ("F", "752")] {
        let text = format!("heat_temp_{column},heat_time_min,viscosity_Pa_s\n{value},1,2\n");
        assert!(
            read_bench_text("bench.csv", text.as_bytes()).is_ok(),
            "{value} {column}"
        );
    }
}

#[test]
fn an_empty_table_is_refused() {
    for text in ["", "\u{feff}", "\n\n", "# only a comment\n"] {
        assert_eq!(
            fault(text),
            "the table is empty: no header and no rows (heatset template writes a table to start from)"
        );
    }
    for text in [format!("{HEADER}\n"), format!("{HEADER}\n# no row\n,,\n")] {
        assert_eq!(
            fault(&text),
            "there are no rows under the header (write one row a reading)"
        );
    }
}

#[test]
fn rows_of_unequal_length_are_refused_by_line() {
    assert_eq!(
        fault_of_row("80,1"),
        "line 3: 2 values where the header names 3 (keep the separators of empty cells)"
    );
    assert_eq!(
        fault_of_row("80,1,1,2"),
        "line 3: 4 values where the header names 3 (put text with a comma between quotation marks; with decimal commas separate with semicolons)"
    );
    assert_eq!(
        fault(&format!("{}\n80;1;2;3\n", HEADER.replace(',', ";"))),
        "line 2: 4 values where the header names 3 (put text with a separator in it between quotation marks)"
    );
}

#[test]
fn broken_quotation_marks_are_refused_where_they_open() {
    assert_eq!(
        fault(&format!("{HEADER},note\n80,1,2,a\n90,1,3,\"b\n90,1,4,c\n")),
        "line 3: a quotation mark opens here and is never closed (close it, or take it out)"
    );
    assert!(
        fault(&format!("{HEADER},note\n80,1,2,\"a\"b\n90,1,3,c\n"))
            .starts_with("line 2: text stands behind a closing quotation mark")
    );
}

#[test]
fn text_that_is_not_utf_8_is_refused_by_line() {
    let mut bytes = format!("{HEADER},note\n80,1,2,").into_bytes();
    bytes.extend_from_slice(b"25 \xb0C\n");
    let refused = read_bench_text("bench.csv", &bytes)
        .unwrap_err()
        .to_string();
    assert_eq!(
        refused,
        "bench.csv cannot be read: 1 fault\n  line 2: not UTF-8: byte 0xb0 is no letter (save the table as CSV UTF-8)"
    );
    let utf16: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(HEADER.bytes().flat_map(|byte| [byte, 0]))
        .collect();
    assert!(
        read_bench_text("bench.csv", &utf16)
            .unwrap_err()
            .to_string()
            .contains("UTF-16")
    );
    assert!(
        read_bench_text("bench.csv", b"a\0b")
            .unwrap_err()
            .to_string()
            .contains("zero byte")
    );
}

#[test]
fn readings_that_do_not_change_are_refused() {
    assert_eq!(
        refusal(&format!("{HEADER}\n80,1,2\n90,1,2\n90,5,2\n")),
        "bench.csv: all 3 readings that are used are the same (2 Pa.s): nothing sets here. Check the column, or measure longer or hotter"
    );
    // a row that is left out does not save the table
    assert!(
        refusal(&format!("{HEADER},use\n80,1,2,yes\n90,1,2,\n90,5,9,no\n"))
            .contains("all 2 readings")
    );
}

#[test]
fn a_table_of_which_nothing_is_used_is_refused() {
    assert!(fault(&format!("{HEADER},use\n80,1,2,no\n90,1,3,No\n")).starts_with("no row is used"));
}

#[test]
fn an_empty_needed_cell_is_refused() {
    for (row, column) in [
        (",1,2", "heat_temp_C"),
        ("80, ,2", "heat_time_min"),
        ("80,1,", "viscosity_Pa_s"),
    ] {
        assert_eq!(
            fault_of_row(row),
            format!(
                "line 3, column {column}: the cell is empty (give the number, or take the row out)"
            )
        );
    }
}

#[test]
fn further_columns_are_checked_too() {
    for (column, value, words) in [
        ("ha_fraction", "1.5", "1.5 is outside 0 to 1"),
        ("ha_fraction", "-0.1", "-0.1 is outside 0 to 1"),
        ("use", "maybe", "\"maybe\" is neither yes nor no"),
        ("flow_mL_per_min", "0", "0 is not above zero"),
        ("needle_gauge", "27.5", "27.5 is not a whole gauge"),
        ("needle_gauge", "270", "270 is no needle gauge"),
        ("needle_wall", "thick", "\"thick\" is no wall of a needle"),
        ("needle_length_mm", "0", "0 is not above zero"),
        ("barrel_bore_mm", "-4.7", "-4.7 is negative"),
        ("friction_N", "-1", "-1 is negative"),
        ("reading_sd", "0", "0 is not above zero"),
        ("shear_rate_per_s", "0", "0 is not above zero"),
        ("read_temp_C", "-300", "-300 is below absolute zero"),
        ("stand_temp_K", "900", "900 is over 400 °C"),
        ("stand_time_s", "x", "\"x\" is not a number"),
    ] {
        let fault = fault(&format!("{HEADER},{column}\n80,1,2,{value}\n90,1,3,\n"));
        assert!(
            fault.starts_with(&format!("line 2, column {column}: {words}")),
            "{fault}"
        );
    }
}

#[test]
fn a_force_needs_its_needle_and_push() {
    let refused = refusal("heat_temp_C,heat_time_min,force_N\n80,1,5\n");
    for column in [
        "needle_gauge",
        "needle_wall",
        "needle_length_mm",
        "barrel_bore_mm",
        "flow_mL_per_min",
    ] {
        assert!(refused.contains(&format!("add {column}")), "{refused}");
    }
    assert!(refused.starts_with("bench.csv cannot be read: 5 faults\n"));
    let empty = fault(
        "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min\n80,1,5,30,regular,13,4.7,\n",
    );
    assert_eq!(
        empty,
        "line 2, column flow_mL_per_min: the cell is empty (a force reading needs it)"
    );
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_their_lines() {
    let text = "heat_temp_C,heat_time_min,viscosity_Pa_s,stand_time\n\
                80,1,2,\n\
                80,-2,\"1,2\",\n\
                80,1\n\
                500,x,0,\n";
    assert_eq!(
        refusal(text),
        "bench.csv cannot be read: 7 faults\n  \
         line 1, column stand_time: the header has no unit (write stand_time_min, stand_time_s or stand_time_h)\n  \
         line 3, column heat_time_min: -2 is negative\n  \
         line 3, column viscosity_Pa_s: \"1,2\" is not a number (is this decimal comma? then separate with semicolons)\n  \
         line 4: 2 values where the header names 4 (keep the separators of empty cells)\n  \
         line 5, column heat_temp_C: 500 is over 400 °C (check the sign and the unit in the header)\n  \
         line 5, column heat_time_min: \"x\" is not a number (leave the cell empty where nothing was measured)\n  \
         line 5, column viscosity_Pa_s: 0 is not above zero (take the row out, or give what was measured)"
    );
}

#[test]
fn after_twenty_faults_the_rest_is_counted() {
    let mut text = format!("{HEADER}\n");
    for _ in 0..30 {
        text.push_str("80,-1,2\n80,1\n");
    }
    let refused = refusal(&text);
    assert!(refused.starts_with("bench.csv cannot be read: 60 faults\n"));
    assert_eq!(refused.lines().count(), 22);
    assert_eq!(refused.lines().last(), Some("  and 40 more"));
    // the first twenty by line, of both kinds
    assert!(
        refused.contains("line 20, ") || refused.contains("line 21: "),
        "{refused}"
    );
    assert!(!refused.contains("line 22"), "{refused}");
}

#[test]
fn faults_of_several_files_are_told_together() {
    let folder = tempfile::tempdir().unwrap();
    let paths: Vec<PathBuf> = ["a.csv", "b.csv", "c.csv"]
        .iter()
        .zip([
            format!("{HEADER}\n80,-1,2\n"),
            format!("{HEADER}\n80,1,2\n"),
            format!("{HEADER}\n80,1,x\n"),
        ])
        .map(|(name, text)| {
            let path = folder.path().join(name);
            std::fs::write(&path, text).unwrap();
            path
        })
        .collect();
    let refused = read_bench(&paths).unwrap_err().to_string();
    assert!(
        refused.contains("a.csv cannot be read: 1 fault\n  line 2, column heat_time_min"),
        "{refused}"
    );
    assert!(
        refused.contains("c.csv cannot be read: 1 fault\n  line 2, column viscosity_Pa_s"),
        "{refused}"
    );
    assert!(!refused.contains("b.csv"));
}

#[test]
fn files_that_cannot_be_opened_say_why() {
    let folder = tempfile::tempdir().unwrap();
    let missing = read_bench(&[folder.path().join("none.csv")])
        .unwrap_err()
        .to_string();
    assert!(
        missing.ends_with("none.csv cannot be opened: there is no such file; check the name"),
        "{missing}"
    );
    let dir = read_bench(&[folder.path().to_path_buf()])
        .unwrap_err()
        .to_string();
    assert!(
        dir.ends_with("it is a folder; name the table in it"),
        "{dir}"
    );
    assert!(matches!(read_bench(&[]), Err(ReadingsError::NoFile)));
}

#[test]
fn tables_too_large_for_a_bench_are_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("large.csv");
    // A sparse file: it has the size without the bytes.
    std::fs::File::create(&path)
        .unwrap()
        .set_len(LARGEST_FILE_BYTES + 1)
        .unwrap();
    let refused = read_bench(&[path]).unwrap_err().to_string();
    assert!(
        refused.contains("200000001 bytes") && refused.contains("is it the right file?"),
        "{refused}"
    );

    let mut text = format!("{HEADER}\n");
    text.push_str(&"80,1,2\n".repeat(LARGEST_ROWS + 1));
    let refused = refusal(&text);
    assert!(refused.contains("more than 1000000 rows"), "{refused}");

    let wide = (0..1001)
        .map(|index| format!("c{index}"))
        .collect::<Vec<_>>()
        .join(",");
    assert!(fault(&format!("{wide}\n")).contains("1001 columns"));
}

#[test]
fn columns_in_memory_are_refused_as_a_file_is() {
    let table = ColumnTable {
        file: "in memory".to_string(),
        columns: vec![
            (
                "heat_temp_K".to_string(),
                CellColumn::Number(vec![Some(350.0), Some(f64::INFINITY)]),
            ),
            (
                "heat_time_s".to_string(),
                CellColumn::Number(vec![Some(1.0), None]),
            ),
            (
                "modulus_Pa".to_string(),
                CellColumn::Text(vec![Some("5".to_string()), Some("2".to_string())]),
            ),
        ],
        lines: vec![1, 2],
        ..ColumnTable::default()
    };
    let refused = table.check().unwrap_err().to_string();
    assert!(
        refused.contains("line 2, column heat_temp_K: without limit is not a finite number"),
        "{refused}"
    );
    assert!(
        refused.contains("line 2, column heat_time_s: the cell is empty"),
        "{refused}"
    );
    let arrays =
        BenchTable::from_arrays(ReadingKind::Modulus, vec![300.0], vec![1.0, 2.0], vec![1.0]);
    assert!(matches!(
        arrays,
        Err(ReadingsError::UnequalLengths {
            temperatures: 1,
            times: 2,
            readings: 1
        })
    ));
    let arrays =
        BenchTable::from_arrays(ReadingKind::Modulus, vec![-1.0], vec![-1.0], vec![f64::NAN]);
    assert!(
        arrays
            .unwrap_err()
            .to_string()
            .starts_with("arrays in memory cannot be read: 3 faults")
    );
}

/// Every fault of a row names its line, and the line is in the file.
fn assert_told_well(error: &ReadingsError, lines: usize) {
    assert!(!error.to_string().is_empty());
    if let ReadingsError::Faults { faults, .. } = error {
        assert!(faults.total() >= faults.problems().len());
        assert!(!faults.is_empty());
        for problem in faults.problems() {
            assert!(!problem.message.is_empty());
            if let Some(line) = problem.line {
                assert!(
                    (1..=lines).contains(&line),
                    "line {line} of {lines}: {problem}"
                );
            }
        }
    }
}

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => (0.0..120.0).prop_map(|number: f64| format!("{number:.3}")),
        1 => "[-+0-9.,;eEinfa \"#\t]{0,8}",
        1 => any::<f64>().prop_map(|number| number.to_string()),
        1 => "\\PC{0,6}",
        1 => Just(String::new()),
    ]
}

fn header() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("heat_temp_C".to_string()),
        Just("heat_time_min".to_string()),
        Just("viscosity_Pa_s".to_string()),
        Just("force_N".to_string()),
        Just("ha_fraction".to_string()),
        Just("needle_gauge".to_string()),
        Just("use".to_string()),
        Just("heat_temp".to_string()),
        Just("lot".to_string()),
        "\\PC{0,8}",
    ]
}

/// Every byte of a small Parquet file, changed in its lowest and highest bit: the page headers' counts
/// among them, whose decoder would otherwise reserve more memory than there is and end the program.
#[test]
fn no_single_damaged_byte_of_a_parquet_file_ends_the_program() {
    let table = BenchTable::from_arrays(
        ReadingKind::Modulus,
        vec![350.0, 360.0],
        vec![1.0, 2.0],
        vec![3.0, 4.0],
    )
    .unwrap();
    let whole = parquet_bytes(&table).unwrap();
    assert!(read_bench_bytes("whole.parquet", &whole).is_ok());
    for at in 0..whole.len() {
        for bit in [1_u8, 2, 128] {
            let mut changed = whole.clone();
            changed[at] ^= bit;
            let _ = read_bench_bytes("damaged.parquet", &changed);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn random_bytes_never_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let lines = 1 + bytes.iter().filter(|byte| matches!(byte, b'\n' | b'\r')).count();
        if let Err(error) = read_bench_bytes("random", &bytes) {
            assert_told_well(&error, lines);
        }
    }

    #[test]
    fn random_text_never_panics(text in "[-0-9.,;\t\n\r\"#a-z_CPµ ]{0,300}") {
        let lines = 1 + text.matches(['\n', '\r']).count();
        if let Err(error) = read_bench_text("random", text.as_bytes()) {
            assert_told_well(&error, lines);
        }
    }

    #[test]
    fn random_tables_never_panic_and_tell_their_lines(
        headers in proptest::collection::vec(header(), 1..7),
        rows in proptest::collection::vec(proptest::collection::vec(cell(), 1..7), 0..12),
        separator in prop_oneof![Just(","), Just(";"), Just("\t")],
    ) {
        let mut text = headers.join(separator);
        for row in rows {
            text.push('\n');
            text.push_str(&row.join(separator));
        }
        let lines = 1 + text.matches(['\n', '\r']).count();
        if let Err(error) = read_bench_text("random", text.as_bytes()) {
            assert_told_well(&error, lines);
        }
    }

    #[test]
    fn one_bad_cell_is_told_by_its_line_and_column(
        rows in 1_usize..40, bad in 0_usize..40, column in 0_usize..3, word in "[a-df-hj-mo-z]{1,8}",
    ) {
        let bad = bad % rows;
        let mut text = format!("{HEADER}\n");
        for row in 0..rows {
            let mut cells = ["80".to_string(), format!("{row}"), format!("{}", row + 1)];
            if row == bad {
                cells[column] = word.clone();
            }
            text.push_str(&cells.join(","));
            text.push('\n');
        }
        let name = HEADER.split(',').nth(column).unwrap();
        let wanted = format!("line {}, column {name}: \"{word}\" is not a number", bad + 2);
        prop_assert!(fault(&text).starts_with(&wanted));
    }

    #[test]
    fn damaged_parquet_never_panics(at in 0.0..1.0_f64, byte in any::<u8>(), cut in 0.0..1.0_f64) {
        let table = BenchTable::from_arrays(
            ReadingKind::Modulus, vec![350.0, 360.0], vec![1.0, 2.0], vec![3.0, 4.0],
        ).unwrap();
        let whole = parquet_bytes(&table).unwrap();
        let mut changed = whole.clone();
        let at = (at * whole.len() as f64) as usize;
        changed[at.min(whole.len() - 1)] ^= byte;
        let _ = read_bench_bytes("damaged.parquet", &changed);
        let end = (cut * whole.len() as f64) as usize;
        prop_assert!(read_bench_bytes("cut.parquet", &whole[..end]).is_err());
    }
}
