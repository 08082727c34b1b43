//! Control charts: [`ShewhartLimits`], [`Cusum`] and [`Ewma`], with how long each waits before it
//! signals.

mod cusum;
mod ewma;
mod run_length;
mod shewhart;

pub use cusum::{Cusum, CusumPoint};
pub use ewma::{Ewma, EwmaPoint};
pub use shewhart::{ShewhartLimits, moving_range_sigma, two_of_three};
