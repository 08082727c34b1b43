//! The log itself: appended to and nothing else, whole after a writer is killed, shared by two.
#![cfg(feature = "batches")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use heatset::batches::{
    Altered, BatchLog, BatchesError, Codes, Heated, NeedlePush, NewEntry, Prediction, Reading,
};
use heatset::reference::Wall;
use rusqlite::Connection;
use rusqlite::types::ValueRef;
use sha2::{Digest, Sha256};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// Where a writer in another process writes, how much, and under which lot.
const LOG: &str = "HEATSET_TEST_LOG";
const COUNT: &str = "HEATSET_TEST_COUNT";
const LOT: &str = "HEATSET_TEST_LOT";

fn entry(lot: &str, force_n: f64) -> NewEntry {
    NewEntry {
        time: "2026-11-26T18:00:00Z".to_owned(),
        codes: Codes {
            lot: lot.to_owned(),
            operator: Some("op-2".to_owned()),
            ..Codes::default()
        },
        blend: "plain".to_owned(),
        ha_fraction: Some(0.0),
        heated: Heated {
            set_kelvin: 359.15,
            heat_time_s: 420.0,
            warm_up: "a warm-up lag of 40 s is counted".to_owned(),
        },
        reading: Reading::PlungerForce {
            force_n,
            push: NeedlePush {
                gauge: Some(27),
                wall: Some(Wall::Regular),
                bore_m: 0.2095e-3,
                length_m: 13e-3,
                syringe: Some("1mL".to_owned()),
                barrel_bore_m: 4.7e-3,
                flow_rate_m3_per_s: 1e-6 / 60.0,
                friction_n: 2.0,
            },
        },
        gel_kelvin: None,
        prediction: Some(Prediction {
            median_in_unit: 10.0,
            interval95_in_unit: [6.0, 17.0],
            draws: 10_000,
            z_sd: (force_n / 10.0).ln() / 0.27,
            ln_ratio: (force_n / 10.0).ln(),
            inside: (6.0..17.0).contains(&force_n),
        }),
        calibration_sha256: "ab".repeat(32),
        version: "0.1.0".to_owned(),
        invented: true,
        extrapolated: false,
        accepted: true,
        corrects: None,
    }
}

fn begun(folder: &tempfile::TempDir, count: usize) -> PathBuf {
    let path = folder.path().join("log.db");
    let mut log = BatchLog::open_or_create(&path).unwrap();
    for n in 0..count {
        log.append(&entry(&format!("C-{n}"), 9.0 + n as f64))
            .unwrap();
    }
    path
}

fn altered(path: &Path) -> Vec<Altered> {
    BatchLog::open(path).unwrap().check(None).unwrap().altered
}

/// Does in the file what no log does: the triggers out of the way, then a statement.
fn tamper(path: &Path, sql: &str) {
    let connection = Connection::open(path).unwrap();
    connection
        .execute_batch("DROP TRIGGER IF EXISTS no_update; DROP TRIGGER IF EXISTS no_delete;")
        .unwrap();
    assert_eq!(connection.execute(sql, []).unwrap(), 1, "{sql}");
}

#[test]
fn entries_come_back_as_they_were_entered() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let mut news = vec![entry("C-1", 11.5)];
    news.push(NewEntry {
        reading: Reading::Viscosity {
            viscosity_pa_s: 1.0 / 3.0,
            shear_rate_per_s: Some(10.0),
        },
        gel_kelvin: Some(296.15),
        codes: Codes {
            lot: "C-2".to_owned(),
            operator: None,
            block: Some("b1".to_owned()),
            place: Some("A.3".to_owned()),
            session: Some("S_9".to_owned()),
        },
        extrapolated: true,
        ..entry("C-2", 9.0)
    });
    news.push(NewEntry {
        reading: Reading::Bubble { held: false },
        prediction: None,
        ha_fraction: None,
        accepted: false,
        corrects: Some(1),
        ..entry("C-3", 9.0)
    });
    let mut log = BatchLog::open_or_create(&path).unwrap();
    for (number, new) in (1..).zip(&news) {
        assert_eq!(log.append(new).unwrap().number, number);
    }
    let read = BatchLog::open(&path).unwrap().entries().unwrap();
    assert_eq!(
        read.iter().map(|e| e.entered.clone()).collect::<Vec<_>>(),
        news
    );
    assert_eq!(
        read.iter().map(|e| e.corrected_by).collect::<Vec<_>>(),
        [Some(3), None, None]
    );
    assert!(altered(&path).is_empty());
}

/// The hash as it is described to those who carry on, from the file and by other code.
#[test]
fn the_chain_is_the_one_described() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 4);
    let connection = Connection::open(&path).unwrap();
    let mut statement = connection
        .prepare("SELECT * FROM entry ORDER BY number")
        .unwrap();
    let names: Vec<String> = statement.column_names().map(str::to_owned).collect();
    assert_eq!(names.last().unwrap(), "hash");
    let mut rows = statement.query([]).unwrap();
    let mut before = vec![0_u8; 32];
    let mut count = 0;
    while let Some(row) = rows.next().unwrap() {
        let mut bytes = before.clone();
        for (place, name) in names.iter().enumerate().take(names.len() - 1) {
            bytes.extend_from_slice(name.as_bytes());
            bytes.push(b'=');
            match row.get_ref(place).unwrap() {
                ValueRef::Null => bytes.push(b'-'),
                ValueRef::Integer(n) => bytes.extend_from_slice(format!("i{n}").as_bytes()),
                ValueRef::Real(x) => {
                    bytes.push(b'r');
                    for byte in x.to_be_bytes() {
                        bytes.extend_from_slice(format!("{byte:02x}").as_bytes());
                    }
                }
                ValueRef::Text(t) => {
                    bytes.extend_from_slice(format!("t{}:", t.len()).as_bytes());
                    bytes.extend_from_slice(t);
                }
                ValueRef::Blob(_) => panic!("no column of an entry is a blob"),
            }
            bytes.push(b'\n');
        }
        before = Sha256::digest(&bytes).to_vec();
        assert_eq!(
            row.get_ref(names.len() - 1).unwrap().as_blob().unwrap(),
            before
        );
        count += 1;
    }
    assert_eq!(count, 4);
}

#[test]
fn the_file_itself_refuses_changes() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 2);
    let connection = Connection::open(&path).unwrap();
    for sql in [
        "UPDATE entry SET lot = 'C-9' WHERE number = 1",
        "DELETE FROM entry WHERE number = 2",
        "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE number = 2",
    ] {
        let said = connection.execute(sql, []).unwrap_err().to_string();
        assert!(said.contains("add a correction"), "{said}");
    }
    assert!(altered(&path).is_empty());
}

#[test]
fn every_column_that_is_altered_shows_at_its_entry() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 5);
    let connection = Connection::open(&path).unwrap();
    let columns: Vec<(String, String)> = connection
        .prepare("SELECT name, type FROM pragma_table_info('entry')")
        .unwrap()
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))
        .unwrap()
        .map(Result::unwrap)
        .collect();
    assert_eq!(columns.len(), 40);
    for (name, kind) in columns.iter().filter(|(name, _)| name != "number") {
        let copy = folder.path().join(format!("{name}.db"));
        std::fs::copy(&path, &copy).unwrap();
        let other = match (name.as_str(), kind.as_str()) {
            ("corrects", _) => "1",
            ("hash", _) => "zeroblob(32)",
            (_, "REAL") => "coalesce(heat_time_s, 0) + 0.125",
            (_, "INTEGER") => "77",
            _ => "'other'",
        };
        tamper(
            &copy,
            &format!("UPDATE entry SET {name} = {other} WHERE number = 3"),
        );
        let found = altered(&copy);
        // A false hash also breaks the link that follows from it.
        let expected: Vec<Altered> = if name == "hash" {
            vec![Altered::Entry { entry: 3 }, Altered::Entry { entry: 4 }]
        } else {
            vec![Altered::Entry { entry: 3 }]
        };
        assert_eq!(found, expected, "{name}");
    }
}

#[test]
fn entries_that_are_gone_show_and_a_cut_end_shows_by_its_head() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 5);
    let head = BatchLog::open(&path).unwrap().check(None).unwrap().head;
    assert_eq!(head.len(), 64);
    let copy = folder.path().join("gap.db");
    std::fs::copy(&path, &copy).unwrap();
    tamper(&copy, "DELETE FROM entry WHERE number = 2");
    assert_eq!(altered(&copy), [Altered::Missing { first: 2, last: 2 }]);

    let copy = folder.path().join("cut.db");
    std::fs::copy(&path, &copy).unwrap();
    tamper(&copy, "DELETE FROM entry WHERE number = 5");
    let log = BatchLog::open(&copy).unwrap();
    // The chain by itself cannot tell; the head that was written down can.
    assert!(log.check(None).unwrap().altered.is_empty());
    let short = head[..10].to_uppercase();
    assert!(matches!(
        log.check(Some(&short)).unwrap().altered[..],
        [Altered::Head { .. }]
    ));
    let whole = BatchLog::open(&path).unwrap();
    assert!(whole.check(Some(&short)).unwrap().altered.is_empty());
    // A head of the past is still in a log that has grown since.
    drop(whole);
    let mut grown = BatchLog::open(&path).unwrap();
    grown.append(&entry("C-6", 9.0)).unwrap();
    assert!(grown.check(Some(&short)).unwrap().altered.is_empty());
}

#[test]
fn nothing_is_added_behind_an_end_that_was_altered() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 3);
    tamper(
        &path,
        "UPDATE entry SET plunger_force_N = 5.0 WHERE number = 3",
    );
    let refused = BatchLog::open(&path)
        .unwrap()
        .append(&entry("C-9", 9.0))
        .unwrap_err();
    assert!(
        matches!(refused, BatchesError::AlteredEnd { number: 3, .. }),
        "{refused}"
    );
    assert_eq!(BatchLog::open(&path).unwrap().entries().unwrap().len(), 3);
}

#[test]
fn a_correction_names_an_entry_that_stands() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 2);
    let mut log = BatchLog::open(&path).unwrap();
    let corrects = |number| NewEntry {
        corrects: Some(number),
        ..entry("C-9", 9.0)
    };
    for number in [0, 3, u64::MAX] {
        let refused = log.append(&corrects(number)).unwrap_err();
        assert!(
            matches!(refused, BatchesError::NothingToCorrect { count: 2, .. }),
            "{refused}"
        );
    }
    log.append(&corrects(2)).unwrap();
    let refused = log.append(&corrects(2)).unwrap_err();
    assert_eq!(refused, BatchesError::CorrectedAlready { number: 2, by: 3 });
    // The correction can be corrected.
    log.append(&corrects(3)).unwrap();
    let standing: Vec<u64> = log
        .entries()
        .unwrap()
        .iter()
        .filter(|e| e.stands())
        .map(|e| e.number)
        .collect();
    assert_eq!(standing, [1, 4]);
}

#[test]
fn what_is_no_log_is_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let text = folder.path().join("bench.csv");
    let bytes = b"heat_temp_C,heat_time_min,viscosity_Pa_s\n80,1,2\n".repeat(40);
    std::fs::write(&text, &bytes).unwrap();
    let other = folder.path().join("other.db");
    Connection::open(&other)
        .unwrap()
        .execute_batch("CREATE TABLE t (a)")
        .unwrap();
    let other_bytes = std::fs::read(&other).unwrap();
    for path in [&text, &other] {
        let refused = BatchLog::open_or_create(path).unwrap_err();
        assert!(matches!(refused, BatchesError::NotALog { .. }), "{refused}");
    }
    assert_eq!(std::fs::read(&text).unwrap(), bytes);
    assert_eq!(std::fs::read(&other).unwrap(), other_bytes);
    let missing = BatchLog::open(&folder.path().join("none.db")).unwrap_err();
    assert!(matches!(missing, BatchesError::NoLog { .. }));
    let later = begun(&folder, 1);
    Connection::open(&later)
        .unwrap()
        .execute_batch("PRAGMA user_version = 9")
        .unwrap();
    let refused = BatchLog::open(&later).unwrap_err();
    assert!(
        matches!(refused, BatchesError::LaterLayout { found: 9, .. }),
        "{refused}"
    );
}

/// Bytes damaged anywhere past the first page are found or refused, or lie where nothing is stored:
/// never a panic, never a changed entry that is called whole.
#[test]
fn damage_to_the_file_is_found_where_it_touches_an_entry() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 120);
    let bytes = std::fs::read(&path).unwrap();
    let entries = BatchLog::open(&path).unwrap().entries().unwrap();
    let copy = folder.path().join("damaged.db");
    let mut found = 0;
    for turn in 0..40 {
        let mut damaged = bytes.clone();
        let from = 4096 + turn * (bytes.len() - 4096 - 64) / 40;
        for byte in &mut damaged[from..from + 64] {
            *byte ^= 0x5a;
        }
        std::fs::write(&copy, &damaged).unwrap();
        match BatchLog::open(&copy).and_then(|log| Ok((log.check(None)?, log.entries()))) {
            Ok((check, read)) if check.altered.is_empty() => {
                assert_eq!(read.unwrap(), entries, "damage at {from}");
            }
            Ok(_) => found += 1,
            Err(error) => {
                assert!(error.to_string().contains("What helps"), "{error}");
                found += 1;
            }
        }
    }
    assert!(found > 20, "{found} of 40");
}

/// Not a test of its own: the writer of another process, which the tests below start.
#[test]
fn writer_of_another_process() {
    let Ok(path) = std::env::var(LOG) else { return };
    let count: usize = std::env::var(COUNT).unwrap().parse().unwrap();
    let lot = std::env::var(LOT).unwrap();
    for n in 0..count {
        // Opened anew each time, as the command does.
        let mut log = BatchLog::open_or_create(Path::new(&path)).unwrap();
        let added = log.append(&entry(&format!("{lot}-{n}"), 9.0)).unwrap();
        let mut out = std::io::stdout().lock();
        writeln!(out, "added {}", added.number).unwrap();
        out.flush().unwrap();
    }
}

fn start_writer(path: &Path, lot: &str, count: usize) -> Child {
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "writer_of_another_process", "--nocapture"])
        .env(LOG, path)
        .env(COUNT, count.to_string())
        .env(LOT, lot)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// The last number that a writer said it had added; 0 for none.
fn last_added(child: &mut Child) -> u64 {
    let out = BufReader::new(child.stdout.take().unwrap());
    out.lines()
        .map_while(Result::ok)
        .filter_map(|line| line.rsplit_once("added ")?.1.trim().parse().ok())
        .last()
        .unwrap_or(0)
}

fn journal_of(path: &Path) -> PathBuf {
    PathBuf::from(format!("{}-journal", path.display()))
}

/// Killed again and again, most of the time in the middle of a write: whatever a writer said was added
/// is there, nothing else is half there, the chain is whole and goes on.
#[test]
fn a_writer_killed_in_the_middle_leaves_whole_entries_only() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let mut in_the_middle = 0;
    let mut before = 0;
    for turn in 0..60_u64 {
        let mut child = start_writer(&path, &format!("K{turn}"), 100_000);
        std::thread::sleep(Duration::from_millis(12 + 7 * (turn % 13)));
        child.kill().unwrap();
        child.wait().unwrap();
        let said = last_added(&mut child);
        let journal = std::fs::metadata(journal_of(&path)).is_ok_and(|m| m.len() > 0);
        in_the_middle += u32::from(journal);
        if !path.exists() {
            continue;
        }
        let log = BatchLog::open(&path).unwrap();
        let check = log.check(None).unwrap();
        assert!(check.altered.is_empty(), "turn {turn}: {:?}", check.altered);
        // The kill can fall between the commit and the words of it.
        assert!(
            check.entries >= said.max(before),
            "turn {turn}: {} {said}",
            check.entries
        );
        assert_eq!(log.entries().unwrap().len() as u64, check.entries);
        before = check.entries;
    }
    assert!(in_the_middle > 0, "no kill fell into a write");
    assert!(before > 20, "only {before} entries were written");
    let added = BatchLog::open(&path)
        .unwrap()
        .append(&entry("after", 9.0))
        .unwrap();
    assert_eq!(added.number, before + 1);
    assert!(altered(&path).is_empty());
}

/// Two at once, from the first moment of a log that neither has begun.
#[test]
fn two_writers_at_once_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.db");
    let count = 60;
    let mut writers = [
        start_writer(&path, "A", count),
        start_writer(&path, "B", count),
    ];
    for writer in &mut writers {
        let _ = last_added(writer);
        assert!(writer.wait().unwrap().success());
    }
    let log = BatchLog::open(&path).unwrap();
    let entries = log.entries().unwrap();
    assert_eq!(entries.len(), 2 * count);
    for lot in ["A", "B"] {
        let own: Vec<String> = entries
            .iter()
            .map(|e| e.entered.codes.lot.clone())
            .filter(|l| l.starts_with(lot))
            .collect();
        let wanted: Vec<String> = (0..count).map(|n| format!("{lot}-{n}")).collect();
        assert_eq!(own, wanted);
    }
    assert!(log.check(None).unwrap().altered.is_empty());
}

/// A writer waits for another program that holds the file for a moment.
#[test]
fn a_writer_waits_its_turn() {
    let folder = tempfile::tempdir().unwrap();
    let path = begun(&folder, 1);
    let holder = Connection::open(&path).unwrap();
    holder.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let waiting = {
        let path = path.clone();
        std::thread::spawn(move || {
            BatchLog::open(&path).and_then(|mut log| log.append(&entry("C-2", 9.0)))
        })
    };
    std::thread::sleep(Duration::from_millis(400));
    assert!(!waiting.is_finished());
    holder.execute_batch("COMMIT").unwrap();
    assert_eq!(waiting.join().unwrap().unwrap().number, 2);
}
