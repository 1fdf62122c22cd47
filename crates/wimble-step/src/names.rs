//! From instance names to rows.

use std::ops::Range;

use rustc_hash::FxHashMap;

use crate::column::Column64;
use crate::name_column::NameColumn;

/// Marks a name that no row has.
const NONE: u32 = u32::MAX;

/// Names per row up to which a table by name takes less room than a hash map.
const DENSE: u64 = 6;

/// Looks rows up by name: by counting where names follow one another, in a table while they are
/// dense, in a hash map otherwise.
#[derive(Debug)]
pub(crate) enum Names {
    Run(Range<u64>),
    Dense(Vec<u32>),
    Sparse(FxHashMap<u64, u32>),
}

impl Default for Names {
    fn default() -> Self {
        Self::Run(0..0)
    }
}

impl Names {
    /// Of rows in file order, the first with each name counts; `duplicate(first, later)` is called
    /// for each further one.
    pub(crate) fn new(names: &NameColumn, duplicate: impl FnMut(u32, u32)) -> Self {
        match names {
            NameColumn::Run(run) => Self::Run(run.clone()),
            NameColumn::Listed(Column64::Narrow(names)) => {
                Self::of(names.len(), || names.iter().map(|&name| u64::from(name)), duplicate)
            }
            NameColumn::Listed(Column64::Wide(names)) => {
                Self::of(names.len(), || names.iter().copied(), duplicate)
            }
        }
    }

    fn of<I: Iterator<Item = u64>>(
        count: usize,
        names: impl Fn() -> I,
        mut duplicate: impl FnMut(u32, u32),
    ) -> Self {
        let largest = names().max().unwrap_or(0);
        let rows = names().zip(0u32..);
        if largest <= DENSE * count as u64 + 1024 {
            let mut table = vec![NONE; largest as usize + 1];
            for (name, row) in rows {
                if let Some(place) = table.get_mut(name as usize) {
                    if *place == NONE {
                        *place = row;
                    } else {
                        duplicate(*place, row);
                    }
                }
            }
            Self::Dense(table)
        } else {
            let mut map = FxHashMap::default();
            map.reserve(count);
            for (name, row) in rows {
                let first = *map.entry(name).or_insert(row);
                if first != row {
                    duplicate(first, row);
                }
            }
            Self::Sparse(map)
        }
    }

    pub(crate) fn find(&self, name: u64) -> Option<u32> {
        match self {
            // A run holds no more names than there are rows, and rows fit in 32 bits.
            Self::Run(run) => run.contains(&name).then(|| (name - run.start) as u32),
            Self::Dense(table) => {
                let row = usize::try_from(name).ok().and_then(|name| table.get(name)).copied()?;
                (row != NONE).then_some(row)
            }
            Self::Sparse(map) => map.get(&name).copied(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn column(names: &[u64]) -> NameColumn {
        names.iter().copied().collect()
    }

    #[test]
    fn dense_and_sparse_names_are_found() {
        for names in [vec![1, 2, 3], vec![3, 1, 2], vec![u64::MAX, 92_147_483_647, 5]] {
            let lookup = Names::new(&column(&names), |_, _| panic!("no duplicates"));
            for (row, &name) in names.iter().enumerate() {
                assert_eq!(lookup.find(name), Some(row as u32));
            }
            assert_eq!(lookup.find(0), None);
            assert_eq!(lookup.find(4), None);
        }
    }

    #[test]
    fn the_first_of_a_name_counts() {
        for base in [0, u64::MAX - 2] {
            let mut seen = Vec::new();
            let lookup = Names::new(&column(&[base + 1, base + 2, base + 1]), |first, later| {
                seen.push((first, later));
            });
            assert_eq!(lookup.find(base + 1), Some(0));
            assert_eq!(seen, [(0, 2)]);
        }
    }
}
