//! Which inputs vary from draw to draw.

use serde::Serialize;

/// Which inputs vary.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Varied {
    /// The fitted parameters.
    pub parameters: bool,
    /// The lot: one person against the next.
    pub lot: bool,
    /// The scatter of single readings: one syringe against the next.
    pub reading: bool,
    /// The needle's bore.
    pub bore: bool,
    /// The contact between block and barrel, where the warm-up is computed from it.
    pub contact: bool,
    /// The friction of the stopper.
    pub friction: bool,
    /// The flow rate of a hand.
    pub flow: bool,
    /// The temperature of a place of the block.
    pub block_temperature: bool,
}

impl Varied {
    /// Everything that is uncertain.
    pub const ALL: Self = Self {
        parameters: true,
        lot: true,
        reading: true,
        bore: true,
        contact: true,
        friction: true,
        flow: true,
        block_temperature: true,
    };
    /// Nothing.
    pub const NONE: Self = Self {
        parameters: false,
        lot: false,
        reading: false,
        bore: false,
        contact: false,
        friction: false,
        flow: false,
        block_temperature: false,
    };
}
