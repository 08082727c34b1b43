//! Where tables are read, answers and fits are reckoned: each has threads of its own, so that a long fit does
//! not hold an answer, and no request is reckoned on the threads that talk to browsers.

use super::problem::PageError;
use crate::units::shown::{Shown, showing};
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::sync::Arc;
use tokio::sync::Semaphore;

/// How many tables wait to be read before newcomers are told to come back.
const READINGS_WAITING: usize = 16;
/// How many answers wait before newcomers are told to come back.
const ANSWERS_WAITING: usize = 512;

/// Threads for answers and fits.
#[derive(Debug)]
pub(super) struct Work {
    answering: Arc<Semaphore>,
    waiting: Arc<Semaphore>,
    /// Tables are read one at a time: a large one takes seconds and hundreds of megabytes.
    reading: Arc<Semaphore>,
    waiting_to_read: Arc<Semaphore>,
    /// The fits' own threads: the draws of an answer run in the common pool and find it free.
    fits: Option<Arc<ThreadPool>>,
    fitting: Arc<Semaphore>,
}

impl Default for Work {
    fn default() -> Self {
        let cores = std::thread::available_parallelism().map_or(2, std::num::NonZero::get);
        Self {
            answering: Arc::new(Semaphore::new(cores.max(2))),
            waiting: Arc::new(Semaphore::new(ANSWERS_WAITING)),
            reading: Arc::new(Semaphore::new(1)),
            waiting_to_read: Arc::new(Semaphore::new(READINGS_WAITING)),
            fits: ThreadPoolBuilder::new()
                .num_threads(cores.div_ceil(2))
                .thread_name(|place| format!("fit-{place}"))
                .build()
                .ok()
                .map(Arc::new),
            fitting: Arc::new(Semaphore::new(cores.div_ceil(2))),
        }
    }
}

impl Work {
    /// Reckons an answer, its quantities shown in these units.
    ///
    /// # Errors
    /// Too many are waiting, or the work ended early.
    pub(super) async fn answer<T, W>(&self, shown: Shown, work: W) -> Result<T, PageError>
    where
        T: Send + 'static,
        W: FnOnce() -> T + Send + 'static,
    {
        in_turn(&self.waiting, &self.answering, shown, work).await
    }

    /// Reads what was sent, one at a time and beside the answers.
    ///
    /// # Errors
    /// Too many are waiting, or the work ended early.
    pub(super) async fn read<T, W>(&self, shown: Shown, work: W) -> Result<T, PageError>
    where
        T: Send + 'static,
        W: FnOnce() -> T + Send + 'static,
    {
        in_turn(&self.waiting_to_read, &self.reading, shown, work).await
    }

    /// Fits, on threads of its own; waits for its turn.
    ///
    /// # Errors
    /// The work ended early.
    pub(super) async fn fit<T, W>(&self, shown: Shown, work: W) -> Result<T, PageError>
    where
        T: Send + 'static,
        W: FnOnce() -> T + Send + 'static,
    {
        let turn = Arc::clone(&self.fitting)
            .acquire_owned()
            .await
            .map_err(|_| PageError::Busy)?;
        let fits = self.fits.clone();
        tokio::task::spawn_blocking(move || {
            let _turn = turn;
            match fits {
                Some(fits) => fits.install(|| showing(shown, work)),
                None => showing(shown, work),
            }
        })
        .await
        .map_err(|_| PageError::EndedEarly)
    }
}

/// Waits for its turn where there is room to wait, then works.
pub(super) async fn in_turn<T, W>(
    waiting: &Semaphore,
    turns: &Arc<Semaphore>,
    shown: Shown,
    work: W,
) -> Result<T, PageError>
where
    T: Send + 'static,
    W: FnOnce() -> T + Send + 'static,
{
    let _place = waiting.try_acquire().map_err(|_| PageError::Busy)?;
    let turn = Arc::clone(turns)
        .acquire_owned()
        .await
        .map_err(|_| PageError::Busy)?;
    tokio::task::spawn_blocking(move || {
        let _turn = turn;
        showing(shown, work)
    })
    .await
    .map_err(|_| PageError::EndedEarly)
}
