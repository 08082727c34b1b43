//! A run sheet for one session: from blood to filled syringes, turns of the block, clock times, cost.
//!
//! [`plasma`], [`centrifuge`], [`blend`], [`buffer`] and [`syringes`] are arithmetic on volumes;
//! [`turns`] puts syringes into the block; [`codes`] keeps names out; [`prices`] and [`cost`] count
//! money; [`run_sheet()`] puts all of it on one page together with an answer about heat and push.

mod aim;
pub mod blend;
pub mod buffer;
pub mod centrifuge;
pub mod codes;
pub mod cost;
mod error;
pub mod plasma;
pub mod prices;
mod question;
mod run_sheet;
pub mod syringes;
pub mod turns;
mod volumes;

pub use aim::usable_aim_s;
pub use error::SheetError;
pub use question::{AcdAsked, BlendStated, BufferStated, SheetQuestion, SpinStated, Supply};
pub use run_sheet::{
    BlockOnSheet, HeatOnSheet, PushOnSheet, RunSheet, SpinOnSheet, StandingOnSheet, SyringeOnSheet,
    run_sheet,
};
pub use volumes::{MOST_SYRINGES, VolumesOnSheet, volumes};
