//! What is not known of a push and of the block: the options that widen an answer.

use super::CliError;
use crate::plan::{DEFAULT_BLOCK_TOLERANCE_K, PushSetup};
use crate::units;
use clap::Args;

/// Half-widths, all rectangular.
#[derive(Debug, Clone, Copy, Args)]
#[command(next_help_heading = "What is not known")]
pub(super) struct DoubtArguments {
    /// How far the stopper's friction may be off, either way [default: the usual range of the syringe;
    /// 20 % of a stated friction]
    #[arg(long, value_name = "FORCE", value_parser = units::force_or_zero_n)]
    #[arg(allow_hyphen_values = true)]
    friction_tolerance: Option<f64>,
    /// How far the speed of the push may be off, either way: 0.1mL/min [default: 10 % of it]
    #[arg(long, value_name = "RATE", value_parser = units::flow_rate_or_zero_m3_per_s)]
    #[arg(allow_hyphen_values = true)]
    flow_tolerance: Option<f64>,
    /// How far a place of the block may be off the set temperature, either way: 0.5K
    /// [default: 0.5K; half of what the places differ by, with a block's check]
    #[arg(long, value_name = "DIFFERENCE", value_parser = units::temperature_difference_or_zero_kelvin)]
    #[arg(allow_hyphen_values = true)]
    block_tolerance: Option<f64>,
}

impl DoubtArguments {
    /// How far a place of the block may be off, in K, where nothing is pushed.
    pub(super) fn block_tolerance_k(&self) -> f64 {
        self.block_tolerance.unwrap_or(DEFAULT_BLOCK_TOLERANCE_K)
    }

    /// The push with what was stated of it.
    ///
    /// # Errors
    /// A flow that may be off by all of itself.
    pub(super) fn applied(
        &self,
        setup: PushSetup,
        place_spread_k: Option<f64>,
    ) -> Result<PushSetup, CliError> {
        let mut doubts = setup.doubts;
        if let Some(tolerance_n) = self.friction_tolerance {
            doubts.friction_tolerance_n = tolerance_n;
        }
        if let Some(tolerance_m3_per_s) = self.flow_tolerance {
            doubts.flow_tolerance_ratio = tolerance_m3_per_s / setup.flow_rate_m3_per_s;
            if doubts.flow_tolerance_ratio >= 1.0 {
                return Err(CliError::question(
                    "--flow-tolerance is as large as the flow itself, so the push might stand still.\nWhat helps: less than --flow, such as a tenth of it",
                ));
            }
        }
        if let Some(tolerance_k) = self.block_tolerance.or(place_spread_k.map(|k| 0.5 * k)) {
            doubts.block_tolerance_k = tolerance_k;
        }
        Ok(PushSetup { doubts, ..setup })
    }
}
