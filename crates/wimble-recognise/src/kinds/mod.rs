//! What each member is in the building: by geometry, words, repetition and neighbours together.

mod first;
mod later;
mod pitch;

pub(crate) use first::{First, first};
pub(crate) use later::{are_plies, carried, later, roles};
pub(crate) use pitch::{Pitch, pitches};
