//! The local page: the same answers as the command line, for people with gloves on.
//!
//! The server listens on the loopback address, keeps what it is handed in memory, and reads and
//! writes no file that a request names. Pages are whole without script; the script redraws the
//! part that answers while a control moves.
//!
//! | file | holds |
//! |---|---|
//! | `serve` | the listener: connections, time limits, end |
//! | `routes` | which address shows what |
//! | `guard` | whose requests are served, and with which headers |
//! | `shelf` | the calibrations that answers can stand on |
//! | `work` | where tables are read, answers and fits reckoned, so that none holds another |
//! | `uploads` | bodies of requests, read whole within a stated time |
//! | `shell` | the frame round every view |
//! | `query` | what an address asks for: calibration, units, part |
//! | `bench` | the bench room |
//! | `problem` | what is said when a request cannot be served |
//! | `heat` | the room of whoever heats a syringe |
//! | `fields` | the fields of forms that state a command's options |
//! | `pictures` | pictures that were drawn |
//! | `charts` | the room of charts |
//! | `session` | the room of a session: run sheet and log |

mod assets;
mod bench;
mod calibrations;
mod charts;
mod fields;
mod guard;
mod heat;
mod pictures;
mod problem;
mod query;
mod routes;
mod serve;
mod session;
mod shelf;
mod shell;
mod start;
mod state;
mod uploads;
mod work;

pub use guard::Whom;
pub use problem::PageError;
pub use serve::serve;
pub use shelf::Shelf;
pub use state::PageState;
