//! From heat dose to conversion, and from conversion to the reading.

mod arrhenius;
mod conversion;
mod decay;
mod firmness;
mod setting;
mod setting_course;
mod standing;
mod thinning;

pub use arrhenius::{ArrheniusRate, activation_energy_from_z_value, z_value_kelvin};
pub use conversion::{Conversion, ReactionOrder, conversion, rate_dose_for_conversion};
pub use decay::unset_fractions;
pub use firmness::{FirmnessCurve, FirmnessLaw};
pub use setting::SettingModel;
pub use setting_course::SettingCourse;
pub use standing::StandingCourse;
pub use thinning::{FlowIndexCourse, ShearThinning};
