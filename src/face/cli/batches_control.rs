//! Rules of the control charts of a log, and what an answer should say of them.

use super::CliError;
use crate::batches::{Basis, ControlSettings, Judged};
use crate::fit::Warning;
use clap::{Args, ValueEnum};

/// Rules and their numbers.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Control charts")]
pub(super) struct ControlArguments {
    /// What is charted: z, the deviation in standard deviations of the prediction; or ratio, the
    /// logarithm of reading over prediction, its spread from the moving ranges
    #[arg(long, value_enum, default_value_t = OfChoice::Z, value_name = "WHAT")]
    of: OfChoice,
    /// Let two of three batches in a row beyond 2 sd, on one side, signal too
    #[arg(long)]
    two_of_three: bool,
    /// Allowance of the cumulative sum, in sd: half the shift to be found
    #[arg(long, default_value_t = 0.5, value_name = "K", value_parser = from_0_to_5)]
    cusum_k: f64,
    /// Decision value of the cumulative sum, in sd
    #[arg(long, default_value_t = 5.0, value_name = "H", value_parser = from_0_to_20)]
    cusum_h: f64,
    /// Weight of the newest batch in the moving average
    #[arg(long, default_value_t = 0.2, value_name = "W", value_parser = weight)]
    ewma_weight: f64,
    /// Half the width of the moving average's limits, in its sd
    #[arg(long, default_value_t = 2.962, value_name = "L", value_parser = from_0_to_5)]
    ewma_width: f64,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum OfChoice {
    Z,
    Ratio,
}

impl ControlArguments {
    pub(super) fn settings(&self) -> Result<ControlSettings, CliError> {
        Ok(ControlSettings {
            basis: match self.of {
                OfChoice::Z => Basis::Z,
                OfChoice::Ratio => Basis::LnRatio,
            },
            two_of_three: self.two_of_three,
            cusum_allowance_sigmas: self.cusum_k,
            cusum_decision_sigmas: self.cusum_h,
            ewma_weight_ratio: self.ewma_weight,
            ewma_width_sigmas: self.ewma_width,
            ..ControlSettings::default()
        })
    }
}

/// What the reader should know of the verdict.
pub(super) fn notes(judged: &Judged) -> Vec<Warning> {
    let mut notes = Vec::new();
    if judged.most_of_a_lot > 1 {
        notes.push(Warning::new(
            "several_of_a_lot",
            format!(
                "One lot has {} of the charted entries. They share what is peculiar to it, so that drift is signalled more often than the false alarm rates say. What helps: one reading a lot; --leave-out does not take an entry off the chart, --corrects does.",
                judged.most_of_a_lot
            ),
        ));
    }
    notes
}

fn number_between(text: &str, low: f64, high: f64) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value > low && value <= high => Ok(value),
        _ => Err(format!(
            "a number above {low} and up to {high}, such as {}, and not '{text}'",
            0.5 * (low + high).min(4.0)
        )),
    }
}

fn from_0_to_5(text: &str) -> Result<f64, String> {
    number_between(text, 0.0, 5.0)
}

fn from_0_to_20(text: &str) -> Result<f64, String> {
    number_between(text, 0.0, 20.0)
}

fn weight(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if (0.02..=1.0).contains(&value) => Ok(value),
        _ => Err(format!(
            "a weight is a number from 0.02 to 1, such as 0.2, and not '{text}'"
        )),
    }
}
