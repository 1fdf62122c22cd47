//! One direction of a relation as sorted arrays.

use wimble_step::Row;

/// From a row to the rows it is related to, in the order in which the file relates them.
#[derive(Debug, Default)]
pub(crate) struct Pairs {
    keys: Vec<Row>,
    /// Where each key's values end.
    ends: Vec<u32>,
    values: Vec<Row>,
}

impl Pairs {
    /// From pairs in file order. A pair that is repeated counts once.
    pub(crate) fn new(pairs: &[(Row, Row)]) -> Self {
        // As most files list them, nothing is repeated and all is in order already.
        if pairs.is_sorted_by(|one, next| one < next) {
            return Self::in_order(pairs.iter().copied());
        }
        let mut order: Vec<u32> = (0..pairs.len() as u32).collect();
        let pair = |place: u32| pairs.get(place as usize).copied();
        // Repeated pairs come to lie side by side, the first in the file first …
        order.sort_unstable_by_key(|&place| (pair(place), place));
        order.dedup_by_key(|place| pair(*place));
        // … then the order of the file comes back within each key.
        order.sort_unstable_by_key(|&place| (pair(place).map(|pair| pair.0), place));
        Self::in_order(order.into_iter().filter_map(pair))
    }

    /// From pairs of which those of one key stand together, keys rising.
    fn in_order(pairs: impl Iterator<Item = (Row, Row)>) -> Self {
        let mut made = Self::default();
        made.values.reserve_exact(pairs.size_hint().0);
        for (key, value) in pairs {
            if made.keys.last() == Some(&key) {
                made.ends.pop();
            } else {
                made.keys.push(key);
            }
            made.values.push(value);
            made.ends.push(made.values.len() as u32);
        }
        made
    }

    /// What a row is related to.
    pub(crate) fn of(&self, row: Row) -> &[Row] {
        let Ok(place) = self.keys.binary_search(&row) else { return &[] };
        let end = self.ends.get(place).copied().unwrap_or(0) as usize;
        let before = place.checked_sub(1).and_then(|place| self.ends.get(place));
        let start = before.copied().unwrap_or(0) as usize;
        self.values.get(start..end).unwrap_or(&[])
    }
}
