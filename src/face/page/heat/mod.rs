//! The room of whoever heats a syringe: needle, syringe and push in; how long to heat out.
//!
//! | file | holds |
//! |---|---|
//! | [`quantity`] | quantities of an address: the unit stands in the key, so that an address reads the same in any unit shown |
//! | [`keys`] | the keys of this room |
//! | [`setting`] | what an address asks: needle, syringe, blend, heat, push |
//! | [`push_read`] | its needle, syringe and push |
//! | [`questions`] | the setting as the rooms below are asked |
//! | [`histories`], [`answers`] | warm-ups that were computed, and answers that were given already |
//! | [`faults`] | what cannot be read or answered, and at which field |
//! | [`controls`], [`tiles`], [`more`] | the form |
//! | [`answer`], [`said`] | the answer |
//! | [`beside`], [`others`], [`standing`] | what stands beside it: other pushes, longer heating, standing |
//! | [`of_reading`] | the answer of a calibration that says nothing of a push |
//! | [`pictures`] | charts of the same setting |
//! | [`view`] | the view, and its parts |

mod answer;
mod answers;
mod beside;
mod controls;
mod faults;
mod histories;
mod keys;
mod more;
mod of_reading;
mod others;
mod pictures;
mod push_read;
mod quantity;
mod questions;
mod said;
mod setting;
mod standing;
mod tiles;
mod view;

/// What this room keeps between requests.
#[derive(Debug, Default)]
pub(super) struct Kept {
    histories: histories::Histories,
    answers: answers::Answers,
}

pub(super) use pictures::{force_picture, window_picture};
pub(super) use view::heat;
