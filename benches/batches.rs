//! The log of batches: 100 000 entries listed with their control limits, and their chain followed.
//!
//! A log of that size is a century of a busy practice; what takes longer than a blink here would be
//! felt at a tenth of it on a slow disk.

use criterion::{Criterion, criterion_group, criterion_main};
use heatset::batches::{
    BatchLog, Codes, ControlSettings, Heated, NeedlePush, NewEntry, Prediction, Reading, judge,
};
use heatset::reference::Wall;
use std::hint::black_box;
use std::path::{Path, PathBuf};

const ENTRIES: usize = 100_000;

fn entry(number: usize) -> NewEntry {
    // Any spread will do: the fractional parts of multiples of the golden ratio, as deviations.
    let z_sd = 3.4 * ((number as f64 * 0.618_033_988_749_895).fract() - 0.5);
    NewEntry {
        time: "2026-11-26T18:00:00Z".to_owned(),
        codes: Codes {
            lot: format!("C-{number}"),
            operator: Some("op-2".to_owned()),
            block: Some("b-1".to_owned()),
            place: None,
            session: Some(format!("s-{}", number / 8)),
        },
        blend: "plain".to_owned(),
        ha_fraction: Some(0.0),
        heated: Heated {
            set_kelvin: 359.15,
            heat_time_s: 420.0,
            warm_up: "warm-up in a 1 mL syringe (contact with the block 150 W/m²K) is counted"
                .to_owned(),
        },
        reading: Reading::PlungerForce {
            force_n: 10.0 * (0.27 * z_sd).exp(),
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
        gel_kelvin: Some(296.15),
        prediction: Some(Prediction {
            median_in_unit: 10.0,
            interval95_in_unit: [5.9, 17.0],
            draws: 10_000,
            z_sd,
            ln_ratio: 0.27 * z_sd,
            inside: z_sd.abs() < 1.96,
        }),
        calibration_sha256: "ab".repeat(32),
        version: "0.1.0".to_owned(),
        invented: true,
        extrapolated: false,
        accepted: true,
        corrects: None,
    }
}

fn written(folder: &Path) -> PathBuf {
    let path = folder.join("log.db");
    let entries: Vec<NewEntry> = (0..ENTRIES).map(entry).collect();
    let added = BatchLog::open_or_create(&path).and_then(|mut log| log.append_all(&entries));
    assert!(
        added.is_ok_and(|a| a.len() == ENTRIES),
        "the log was not written"
    );
    path
}

fn batches(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder for the log");
    let path = written(folder.path());
    let settings = ControlSettings::default();
    let mut group = criterion.benchmark_group("batches, 100 000 entries");
    group.sample_size(10);
    group.bench_function("list with limits and verdict", |bencher| {
        bencher.iter(|| {
            let entries = BatchLog::open(&path).and_then(|log| log.entries());
            let entries = entries.expect("a log that was just written");
            black_box(judge(&entries, &settings, None).signals.len())
        });
    });
    group.bench_function("follow the chain", |bencher| {
        bencher.iter(|| {
            let check = BatchLog::open(&path).and_then(|log| log.check(None));
            black_box(check.expect("a log that was just written").entries)
        });
    });
    group.finish();
}

criterion_group!(benches, batches);
criterion_main!(benches);
