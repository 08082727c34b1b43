//! What the gel felt: temperature histories and the heat dose they amount to.
//!
//! The block's clock is not the gel's: a syringe put into a hot block warms up first. A
//! [`TemperatureHistory`] turns clock time at a set temperature into the equivalent time at the
//! reference temperature, the heat dose, for the activation energy it is asked with.

mod dose_clock;
mod isothermal;
mod lag;
mod quadrature;
mod temperature_history;
mod warm_up;

pub use dose_clock::DoseClock;
pub use isothermal::Isothermal;
pub use lag::WarmUpLag;
pub use quadrature::{LegendreRule, legendre_rule};
pub use temperature_history::{HeatDose, TemperatureHistory, relative_rate};
pub use warm_up::{ThermalError, WarmUp};
