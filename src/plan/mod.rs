//! Answers: heat time for a force, force for a heat time, and what they take for granted.

mod alternatives;
mod another_lot;
mod assumptions;
pub mod bench_plan;
mod block_says;
mod consequences;
mod contributions;
mod crossing;
mod draws;
mod error;
mod finest_needle;
mod force_curve;
mod force_table;
mod gel;
mod hand_over;
mod heat_time;
mod heat_time_gradient;
mod heated;
mod iso_force;
mod lot_freedom;
mod monte_carlo;
mod next_answer;
mod next_reading;
mod other_pushes;
mod practice_fluid;
mod predicted_reading;
mod range_check;
mod reading_candidates;
mod same_as;
pub mod set_time;
mod setup;
pub mod sheet;
mod stand;
mod stand_curve;
mod stand_draws;
mod stand_question;
mod thinning_consequence;
mod time_for_reading;
mod time_question;
mod window;
mod window_curve;

pub use alternatives::Alternative;
pub use another_lot::{LotFactors, another_lot, mean_sd_ratio, new_lot_factor};
pub use assumptions::Assumptions;
pub use block_says::{BlockSays, block_says, corrected_kelvin};
pub use consequences::{Change, Consequence, Consequences, consequences};
pub use draws::{Draw, DrawSource, Varied, quantile};
pub use error::PlanError;
pub use finest_needle::{NeedleWindow, finest_needle, finest_needle_alone, needle_windows};
pub use force_curve::{ForcePoint, force_curve};
pub use force_table::{ForceAnswer, ForceQuestion, ForceSpread, NeedleForce, force_for_heat_time};
pub use gel::{FlowIndexSource, Gel, StatedThinning, TemperatureFactor};
pub use hand_over::{CoolingAsked, HandOver, hand_over};
pub use heat_time::heat_time;
pub use heat_time_gradient::{AskedHeatTime, HeatTimeGradient, heat_time_gradient};
pub use heated::{
    Heated, PartOfSyringe, QuestionWarmUp, StatedHeating, heated, heated_on_schedule,
    history_words, syringe_of,
};
pub use iso_force::{IsoForceTimes, iso_force_times};
pub use monte_carlo::monte_carlo;
pub use next_answer::{
    AskedNow, HeatTimeIntervals, LotOutlook, NarrowedParameter, Narrows, NextAnswer,
    ProposedReading, SeveralReadings,
};
pub use next_reading::{NextQuestion, next_reading};
pub use other_pushes::{PushWindow, other_pushes};
pub use practice_fluid::{
    AtOtherSpeed, PracticeFluid, PracticeQuestion, PracticeRecipe, PracticeSensitivity,
    PracticeTarget, practice_fluid,
};
pub use predicted_reading::{PredictedReading, predicted_force, predicted_viscosity};
pub use same_as::{Protocol, SameAsAnswer, SameAsQuestion, same_as};
pub use setup::{
    BarrelUsed, DEFAULT_BLOCK_TOLERANCE_K, DEFAULT_FLOW_RATE_M3_PER_S,
    DEFAULT_FLOW_TOLERANCE_RATIO, DEFAULT_LENGTH_M, DEFAULT_SYRINGE, LARGEST_FORCE_N, NeedleUsed,
    PushDoubts, PushSetup, STATED_FRICTION_TOLERANCE_RATIO,
};
pub use stand::stand;
pub use stand_curve::{StandingPoint, StandingReadingAsPush, standing_curve, standing_readings};
pub use stand_question::{
    AtStorage, NOT_A_SHELF_LIFE, PASSING_ONLY, PASSING_ONLY_WORDS, PassesUntil, PushAfter,
    STAND_TIMES_S, StandAnswer, StandQuestion,
};
pub use thinning_consequence::{EXAMPLE_FLOW_INDEX, ThinningConsequence, thinning_consequences};
pub use time_for_reading::{
    ReadingTimeAnswer, ReadingTimeQuestion, reading_words, time_for_reading,
};
pub use time_question::{
    AtAim, DEFAULT_DRAWS, Least, Spread, TimeAnswer, TimeQuestion, Uneven, Window,
};
pub use window::{
    AIM_PROBABILITY, RawWindow, WINDOW_PROBABILITY, probability_of_firmness,
    probability_of_passing, raw_window,
};
pub use window_curve::{WindowCurve, WindowPoint, window_curve};
