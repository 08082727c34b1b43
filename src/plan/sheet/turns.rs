//! Syringes into the block and out of it, by the clock.

use serde::Serialize;

/// The block and the hands that serve it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockService {
    /// Places of the block.
    pub places: usize,
    /// Heat time of every syringe, in s.
    pub heat_time_s: f64,
    /// From one syringe to the next, in or out, in s.
    pub handling_s: f64,
    /// After the last syringe of a turn is out and the hands are free, until the next turn begins, in s.
    pub between_turns_s: f64,
    /// From the block until the core is cool enough, in s.
    pub cool_time_s: Option<f64>,
}

/// One syringe's way through the block; times from the start.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SyringeTurn {
    /// Turn of the block, from 1.
    pub turn: usize,
    /// Place in it, from 1.
    pub place: usize,
    /// Into the block, in s.
    pub in_s: f64,
    /// Out of it, in s.
    pub out_s: f64,
    /// Cooling until, in s; null where the air does not cool it.
    pub cool_until_s: Option<f64>,
}

/// How many syringes one pair of hands serves in one turn: the last is in before the first comes out.
///
/// # Equation
/// m = min(places, floor(t_heat/t_hand)), at least 1
///
/// | symbol | field | unit |
/// |---|---|---|
/// | m | returned | 1 |
/// | t_heat | `heat_time_s` | s |
/// | t_hand | `handling_s` | s |
///
/// # Valid for
/// One pair of hands, that takes as long to put a syringe in as to take it out.
///
/// # Source
/// Common practice, no source: every syringe then has the same heat time.
#[must_use]
pub fn syringes_a_turn(service: &BlockService) -> usize {
    let by_hand = if service.handling_s > 0.0 {
        (service.heat_time_s / service.handling_s + 1e-9).floor() as usize
    } else {
        service.places
    };
    service.places.min(by_hand).max(1)
}

/// In, out and cool for every syringe, turn by turn: the block is emptied before it is filled again.
///
/// # Equation
/// in = start of the turn + k t_hand; out = in + t_heat; next turn = last out + t_hand + t_between
///
/// | symbol | field | unit |
/// |---|---|---|
/// | k | syringe of the turn, from 0 | 1 |
/// | t_hand | `handling_s` | s |
/// | t_heat | `heat_time_s` | s |
/// | t_between | `between_turns_s` | s |
///
/// # Source
/// Common practice, no source.
///
/// # Example
/// ```
/// use heatset::plan::sheet::turns::{BlockService, turns};
/// // By hand: 2 places, 7 min, 30 s a syringe. The third goes in when the second, out at 7:30, is
/// // put away: at 8:00.
/// let service = BlockService {
///     places: 2,
///     heat_time_s: 420.0,
///     handling_s: 30.0,
///     between_turns_s: 0.0,
///     cool_time_s: None,
/// };
/// let third = turns(3, &service)[2];
/// assert_eq!((third.turn, third.place, third.in_s, third.out_s), (2, 1, 480.0, 900.0));
/// ```
#[must_use]
pub fn turns(syringes: usize, service: &BlockService) -> Vec<SyringeTurn> {
    let in_a_turn = syringes_a_turn(service);
    let mut planned: Vec<SyringeTurn> = Vec::with_capacity(syringes);
    let mut turn_start_s = 0.0;
    for number in 0..syringes {
        let place = number % in_a_turn;
        if place == 0
            && let Some(last) = planned.last()
        {
            turn_start_s = last.out_s + service.handling_s + service.between_turns_s;
        }
        let in_s = turn_start_s + place as f64 * service.handling_s;
        let out_s = in_s + service.heat_time_s;
        planned.push(SyringeTurn {
            turn: number / in_a_turn + 1,
            place: place + 1,
            in_s,
            out_s,
            cool_until_s: service.cool_time_s.map(|cool_s| out_s + cool_s),
        });
    }
    planned
}
