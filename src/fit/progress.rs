//! What a fit is doing, for whoever waits for it.

use crate::kinetics::FirmnessLaw;

/// What is being fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct FitStep {
    /// The blend.
    pub blend: String,
    /// What of it.
    pub stage: FitStage,
}

/// What of a blend is being fitted, in this order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FitStage {
    /// A candidate of law, order and lag.
    Candidate {
        /// Which, from 1.
        number: usize,
        /// How many there are.
        of: usize,
        /// Its law.
        law: FirmnessLaw,
    },
    /// Whether the best has a yield stress too.
    YieldStress,
    /// How far lots differ.
    Lots,
    /// Intervals and diagnoses.
    Intervals,
}
