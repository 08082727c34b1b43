//! Answers of a calibration of set times: when a gel has set, which other heat sets it as far, and
//! when a push is that of an anchor again.

mod answer;
mod draws;
mod question;
mod same_push;
mod same_setting;

pub use answer::{SetTimeAnswer, SetTimes, set_time};
pub use draws::{SetTimeDraw, SetTimeSource};
pub use question::SetTimeQuestion;
pub use same_push::{AnchorPush, PushAtIndex, SamePushAnswer, SamePushInterval, same_push};
pub use same_setting::{SameSettingAnswer, same_setting};
