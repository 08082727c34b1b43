//! What all requests share.

use super::bench::BenchRoom;
use super::guard::Whom;
use super::heat;
use super::pictures::Pictures;
use super::shelf::Shelf;
use super::uploads::Uploads;
use super::work::Work;
use std::path::PathBuf;
use std::sync::Arc;

/// What all requests share.
#[derive(Debug)]
pub struct PageState {
    /// The calibrations that answers can stand on.
    pub(super) shelf: Shelf,
    /// Where answers and fits are reckoned.
    pub(super) work: Work,
    /// Tables and fits of the bench room.
    pub(super) bench: BenchRoom,
    /// Pictures that were drawn.
    pub(super) pictures: Pictures,
    /// Bodies that come in.
    pub(super) uploads: Uploads,
    /// Whose requests are served.
    pub(super) whom: Whom,
    /// The log of batches, named on the command line and never by a request.
    pub(super) log: Option<PathBuf>,
    /// What the heat room keeps between requests.
    pub(super) heat: heat::Kept,
    /// Seed of the draws.
    pub(super) seed: u64,
}

/// The state as handlers are handed it.
pub(super) type Shared = Arc<PageState>;

impl PageState {
    /// State of a page that serves these calibrations to these people.
    #[must_use]
    pub fn new(shelf: Shelf, whom: Whom, log: Option<PathBuf>, seed: u64) -> Self {
        Self {
            shelf,
            work: Work::default(),
            bench: BenchRoom::default(),
            pictures: Pictures::default(),
            uploads: Uploads::default(),
            whom,
            log,
            heat: heat::Kept::default(),
            seed,
        }
    }
}
