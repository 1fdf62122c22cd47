//! What was read of instances that many others refer to: profiles, directions, frames.

use std::cell::RefCell;
use wimble_step::Row;

/// So many are kept; a building has some tens of profiles and a handful of directions.
const PLACES: usize = 32;

/// Keeps what was last read of an instance, one for each remainder of its row.
pub(crate) struct Recent<T>(RefCell<[Option<(Row, T)>; PLACES]>);

impl<T: Clone> Recent<T> {
    pub(crate) fn get(&self, row: Row) -> Option<T> {
        match self.0.borrow().get(row.index() % PLACES)? {
            Some((known, value)) if *known == row => Some(value.clone()),
            _ => None,
        }
    }

    pub(crate) fn keep(&self, row: Row, value: T) {
        if let Some(place) = self.0.borrow_mut().get_mut(row.index() % PLACES) {
            *place = Some((row, value));
        }
    }
}

impl<T> Default for Recent<T> {
    fn default() -> Self {
        Self(RefCell::new([const { None }; PLACES]))
    }
}
