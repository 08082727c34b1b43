//! Pictures that were drawn: kept for a while, and drawn as raster one at a time, so that a sheet for
//! the wall does not hold an answer.

use super::problem::PageError;
use super::work::in_turn;
use crate::chart::{ChartFormat, ChartSize};
use crate::units::shown::Shown;
use axum::body::Bytes;
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::Semaphore;

/// How much is kept, in bytes.
const KEPT_BYTES: usize = 48 * 1024 * 1024;
/// How many are kept.
const KEPT: usize = 128;
/// How many rasters wait for their turn before newcomers are told to come back.
const WAITING: usize = 8;
/// The most pixels of a picture: a sheet of A3 at 300 dots an inch has 17.4 million.
const MOST_PX: u64 = 18_000_000;

/// A picture.
#[derive(Debug)]
pub(super) struct Picture {
    /// Everything that it was asked with.
    pub(super) key: String,
    /// The file.
    pub(super) bytes: Bytes,
    /// What it states.
    pub(super) finding: String,
    /// Its size.
    pub(super) size: ChartSize,
}

/// The pictures.
#[derive(Debug)]
pub(super) struct Pictures {
    kept: Mutex<VecDeque<Arc<Picture>>>,
    turn: Arc<Semaphore>,
    waiting: Arc<Semaphore>,
}

impl Default for Pictures {
    fn default() -> Self {
        Self {
            kept: Mutex::default(),
            turn: Arc::new(Semaphore::new(1)),
            waiting: Arc::new(Semaphore::new(WAITING)),
        }
    }
}

impl Pictures {
    /// The picture that was asked with this before.
    pub(super) fn find(&self, key: &str) -> Option<Arc<Picture>> {
        self.kept().iter().find(|one| one.key == key).cloned()
    }

    /// Keeps a picture; the oldest make room for it.
    pub(super) fn keep(&self, picture: Arc<Picture>) {
        if picture.bytes.len() > KEPT_BYTES / 4 {
            return;
        }
        let mut kept = self.kept();
        kept.push_back(picture);
        let mut sum: usize = kept.iter().map(|one| one.bytes.len()).sum();
        while sum > KEPT_BYTES || kept.len() > KEPT {
            match kept.pop_front() {
                Some(oldest) => sum -= oldest.bytes.len(),
                None => break,
            }
        }
    }

    /// Does work that takes seconds, one piece at a time.
    ///
    /// # Errors
    /// Too many are waiting, or the work ended early.
    pub(super) async fn in_turn<T, W>(&self, shown: Shown, work: W) -> Result<T, PageError>
    where
        T: Send + 'static,
        W: FnOnce() -> T + Send + 'static,
    {
        in_turn(&self.waiting, &self.turn, shown, work).await
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<Arc<Picture>>> {
        // A list of pointers is whole whatever happened to the thread that held it.
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Refuses a picture that would take the memory of the machine.
///
/// # Errors
/// More pixels than a sheet of A3 has.
pub(super) fn check_size(size: ChartSize) -> Result<(), String> {
    let pixels = u64::from(size.width_px()) * u64::from(size.height_px());
    if pixels <= MOST_PX {
        return Ok(());
    }
    Err(format!(
        "{}x{} are {} million pixels, and this page draws {} at most. What helps: 4961x3508, a sheet of A3 lying; or 'heatset chart' on the command line",
        size.width_px(),
        size.height_px(),
        pixels / 1_000_000,
        MOST_PX / 1_000_000
    ))
}

/// Ending and kind of a file of a picture.
pub(super) const fn file_kind(format: ChartFormat) -> (&'static str, &'static str) {
    match format {
        ChartFormat::Svg => ("svg", "image/svg+xml"),
        ChartFormat::Png => ("png", "image/png"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn picture(key: usize, bytes: usize) -> Arc<Picture> {
        Arc::new(Picture {
            key: key.to_string(),
            bytes: Bytes::from(vec![0; bytes]),
            finding: String::new(),
            size: ChartSize::default(),
        })
    }

    #[test]
    fn what_is_kept_stays_under_its_bounds() {
        let pictures = Pictures::default();
        for key in 0..300 {
            pictures.keep(picture(key, 1024 * 1024));
        }
        let kept = pictures.kept();
        assert!(kept.iter().map(|one| one.bytes.len()).sum::<usize>() <= KEPT_BYTES);
        assert!(kept.len() <= KEPT);
        drop(kept);
        assert!(pictures.find("299").is_some() && pictures.find("0").is_none());
        pictures.keep(picture(300, KEPT_BYTES));
        assert!(pictures.find("300").is_none());
    }

    #[test]
    fn a_sheet_of_a3_is_drawn_and_a_wall_of_them_is_not() {
        assert!(check_size(ChartSize::A3_SHEET).is_ok());
        assert!(check_size(ChartSize::new(8000, 8000).unwrap()).is_err());
    }
}
