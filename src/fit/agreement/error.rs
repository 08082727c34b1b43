//! What keeps judgements from being compared.

use thiserror::Error;

/// Why no figure of agreement can be given, and what would help.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum AgreementError {
    /// Lists of different lengths.
    #[error("{first} judgements against {second}: both readers have to judge the same samples")]
    UnequalLengths {
        /// Judgements of the first.
        first: usize,
        /// Judgements of the second.
        second: usize,
    },
    /// Too few samples.
    #[error(
        "{samples} samples were judged by all who are compared, and {needed} are needed.\nWhat helps: let them look at more of the same samples"
    )]
    TooFewSamples {
        /// Samples there.
        samples: usize,
        /// Samples needed.
        needed: usize,
    },
    /// Fewer than two readers.
    #[error(
        "{readers} reader: agreement takes two.\nWhat helps: a second reader, or a second round"
    )]
    TooFewReaders {
        /// Readers there.
        readers: usize,
    },
    /// Everybody always said the same.
    #[error(
        "every judgement is the same, and chance alone would agree as well.\nWhat helps: samples that differ, from clear to opaque"
    )]
    NoSpread,
    /// A step outside the card.
    #[error("step {step} is not on a card of {steps} steps, which count from 0")]
    OutsideCard {
        /// The step.
        step: usize,
        /// Steps of the card.
        steps: usize,
    },
    /// A number that is not finite.
    #[error("judgement {number} is not a finite number")]
    NotFinite {
        /// Its number, from 1.
        number: usize,
    },
}
