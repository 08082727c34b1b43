//! Readings laid out in turns of the block and in sessions, in a random order.

use super::settings::{BenchLimits, BenchSetting};
use rand::SeedableRng;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;
use serde::Serialize;

/// One reading of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchReading {
    /// Code of the lot: `L01`.
    pub lot: String,
    /// Code of the place in the block: `P3`; none for an unheated gel.
    pub place: Option<String>,
    /// Setting.
    #[serde(flatten)]
    pub setting: BenchSetting,
}

/// One session: its readings in the order in which they are taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchSession {
    /// Code: `S01`.
    pub session: String,
    /// Time that it takes, in s.
    pub takes_s: f64,
    /// Readings.
    pub readings: Vec<BenchReading>,
}

/// A turn of the block: what is in it together, of one lot and temperature; unheated gels are a turn
/// that asks nothing of the block.
struct Turn {
    lot: usize,
    heat_temp_k: Option<f64>,
    settings: Vec<BenchSetting>,
}

impl Turn {
    /// The longest heat time of what is in it.
    fn heated_s(&self) -> f64 {
        self.settings
            .iter()
            .map(|s| s.heat_time_s)
            .fold(0.0, f64::max)
    }
}

/// Lays every lot's readings out: lots in order (a lot is a day's draw), the temperatures of a lot in
/// a random order, what is in the block together in random places.
///
/// The block has one temperature at a time, so that temperatures come in random order and not single
/// readings: a split plot.
///
/// # Valid for
/// Heat times that fit into a session.
///
/// # Source
/// Randomised order against drift: G. Box, J. Hunter, W. Hunter, Statistics for Experimenters, 2nd ed.
/// 2005, 3.1 and 9.1 (from memory).
#[must_use]
pub fn laid_out_in_sessions(
    settings: &[BenchSetting],
    lots: usize,
    limits: &BenchLimits,
    seed: u64,
) -> Vec<BenchSession> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut sessions: Vec<BenchSession> = Vec::new();
    for lot in 0..lots {
        let together = limits.places.min(limits.readings_a_day).max(1);
        let mut turns = turns_of_lot(settings, lot, together);
        turns.shuffle(&mut random);
        let mut block_kelvin = None;
        let mut open = false;
        for turn in turns {
            let change_s = if turn.heat_temp_k.is_none() || turn.heat_temp_k == block_kelvin {
                0.0
            } else {
                limits.block_change_s
            };
            let fits = open
                && sessions.last().is_some_and(|session| {
                    session.takes_s + change_s + turn.heated_s() <= limits.session_s
                        && session.readings.len() + turn.settings.len() <= limits.readings_a_day
                });
            let change_s = match turn.heat_temp_k {
                Some(_) if !fits => limits.block_change_s,
                _ => change_s,
            };
            if !fits {
                sessions.push(BenchSession {
                    session: format!("S{:02}", sessions.len() + 1),
                    takes_s: 0.0,
                    readings: Vec::new(),
                });
                open = true;
                // The block was cold in between.
                block_kelvin = None;
            }
            block_kelvin = turn.heat_temp_k.or(block_kelvin);
            if let Some(session) = sessions.last_mut() {
                session.takes_s += change_s + turn.heated_s();
                session
                    .readings
                    .extend(placed(&turn, limits.places.max(1), &mut random));
            }
        }
    }
    sessions
}

/// The turns of one lot: a temperature each, the longest times together.
fn turns_of_lot(settings: &[BenchSetting], lot: usize, places: usize) -> Vec<Turn> {
    let mut heated: Vec<BenchSetting> = settings
        .iter()
        .copied()
        .filter(|s| s.heat_time_s > 0.0)
        .collect();
    heated.sort_by(|a, b| {
        (a.heat_temp_k.total_cmp(&b.heat_temp_k)).then(b.heat_time_s.total_cmp(&a.heat_time_s))
    });
    let mut turns: Vec<Turn> = heated
        .chunk_by(|a, b| a.heat_temp_k == b.heat_temp_k)
        .flat_map(|same| same.chunks(places))
        .map(|together| Turn {
            lot,
            heat_temp_k: together.first().map(|s| s.heat_temp_k),
            settings: together.to_vec(),
        })
        .collect();
    let unheated: Vec<BenchSetting> = settings
        .iter()
        .copied()
        .filter(|s| s.heat_time_s <= 0.0)
        .collect();
    turns.extend(unheated.chunks(places).map(|together| Turn {
        lot,
        heat_temp_k: None,
        settings: together.to_vec(),
    }));
    turns
}

fn placed(turn: &Turn, places: usize, random: &mut ChaCha8Rng) -> Vec<BenchReading> {
    let mut numbers: Vec<usize> = (1..=places).collect();
    numbers.shuffle(random);
    let mut numbers = numbers.into_iter();
    let mut readings: Vec<BenchReading> = turn
        .settings
        .iter()
        .map(|setting| BenchReading {
            lot: format!("L{:02}", turn.lot + 1),
            place: (setting.heat_time_s > 0.0)
                .then(|| numbers.next())
                .flatten()
                .map(|number| format!("P{number}")),
            setting: *setting,
        })
        .collect();
    readings.shuffle(random);
    readings
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settings() -> Vec<BenchSetting> {
        [
            (343.15, 1200.0),
            (343.15, 2400.0),
            (353.15, 300.0),
            (363.15, 60.0),
            (363.15, 60.0),
            (363.15, 0.0),
        ]
        .map(|(heat_temp_k, heat_time_s)| BenchSetting {
            heat_temp_k,
            heat_time_s,
        })
        .to_vec()
    }

    #[test]
    fn every_reading_of_every_lot_is_laid_out_once_within_the_limits() {
        let limits = BenchLimits {
            places: 2,
            readings_a_day: 4,
            session_s: 4800.0,
            block_change_s: 600.0,
            ..BenchLimits::default()
        };
        let sessions = laid_out_in_sessions(&settings(), 3, &limits, 7);
        let all: Vec<&BenchReading> = sessions.iter().flat_map(|s| &s.readings).collect();
        assert_eq!(all.len(), 18);
        for lot in ["L01", "L02", "L03"] {
            let mut own: Vec<(f64, f64)> = all
                .iter()
                .filter(|r| r.lot == lot)
                .map(|r| (r.setting.heat_temp_k, r.setting.heat_time_s))
                .collect();
            own.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
            let mut asked: Vec<(f64, f64)> = settings()
                .iter()
                .map(|s| (s.heat_temp_k, s.heat_time_s))
                .collect();
            asked.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
            assert_eq!(own, asked);
        }
        for seed in 0..60 {
            for session in &laid_out_in_sessions(&settings(), 3, &limits, seed) {
                assert!(session.takes_s <= limits.session_s, "{session:?}");
                assert!(session.readings.len() <= limits.readings_a_day);
                // By hand: every temperature costs a change of the block, the first of a session too.
                let heated: Vec<&BenchReading> = session
                    .readings
                    .iter()
                    .filter(|reading| reading.place.is_some())
                    .collect();
                let by_hand_s: f64 = heated
                    .chunk_by(|a, b| a.setting.heat_temp_k == b.setting.heat_temp_k)
                    .map(|alike| {
                        let times = alike.iter().map(|reading| reading.setting.heat_time_s);
                        limits.block_change_s + times.fold(0.0, f64::max)
                    })
                    .sum();
                assert!(
                    session.takes_s >= by_hand_s - 1e-9,
                    "{by_hand_s} {session:?}"
                );
            }
        }
        assert_eq!(sessions, laid_out_in_sessions(&settings(), 3, &limits, 7));
        assert_ne!(sessions, laid_out_in_sessions(&settings(), 3, &limits, 8));
    }
}
