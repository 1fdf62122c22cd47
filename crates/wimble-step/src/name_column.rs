//! The names of a file's instances, row by row.

use std::ops::Range;

use crate::column::Column64;

/// Names in file order. Most programs number their instances one after another; such names take no
/// room, and are found without a table.
#[derive(Debug, Clone)]
pub(crate) enum NameColumn {
    /// `#7`, `#8`, `#9` …
    Run(Range<u64>),
    /// Any others.
    Listed(Column64),
}

impl Default for NameColumn {
    fn default() -> Self {
        Self::Run(0..0)
    }
}

impl NameColumn {
    pub(crate) fn len(&self) -> usize {
        match self {
            // A run holds no more names than the file has rows.
            Self::Run(run) => (run.end - run.start) as usize,
            Self::Listed(names) => names.len(),
        }
    }

    pub(crate) fn get(&self, at: usize) -> Option<u64> {
        match self {
            Self::Run(run) => run.clone().nth(at),
            Self::Listed(names) => names.get(at),
        }
    }

    #[inline]
    pub(crate) fn push(&mut self, name: u64) {
        match self {
            Self::Run(run) if run.end == name && name < u64::MAX => run.end = name + 1,
            Self::Listed(names) => names.push(name),
            Self::Run(_) => self.push_apart(name),
        }
    }

    /// Takes a name that does not follow those so far.
    #[cold]
    fn push_apart(&mut self, name: u64) {
        match self {
            Self::Run(run) if run.is_empty() && name < u64::MAX => *run = name..name + 1,
            _ => {
                let mut names = std::mem::take(self).into_list();
                names.push(name);
                *self = Self::Listed(names);
            }
        }
    }

    fn into_list(self) -> Column64 {
        match self {
            Self::Run(run) => run.collect(),
            Self::Listed(names) => names,
        }
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = u64> {
        // One of the two is empty; the chain is gone through once at most.
        let (run, listed) = match self {
            Self::Run(run) => (run.clone(), None),
            Self::Listed(names) => (0..0, Some(names)),
        };
        run.chain(listed.into_iter().flat_map(Column64::iter))
    }

    /// The columns one after another.
    pub(crate) fn join(columns: Vec<Self>) -> Self {
        Self::join_runs(&columns).map_or_else(
            || Self::Listed(Column64::join(columns.into_iter().map(Self::into_list).collect())),
            Self::Run,
        )
    }

    /// The run that the columns make together, if each takes up where the one before it ends.
    fn join_runs(columns: &[Self]) -> Option<Range<u64>> {
        let mut runs =
            columns.iter().filter(|column| column.len() > 0).map(|column| match column {
                Self::Run(run) => Some(run),
                Self::Listed(_) => None,
            });
        let Some(first) = runs.next() else { return Some(0..0) };
        runs.try_fold(first?.clone(), |all, next| {
            let next = next?;
            (all.end == next.start).then_some(all.start..next.end)
        })
    }

    pub(crate) fn truncate(&mut self, length: usize) {
        match self {
            Self::Run(run) => run.end = run.end.min(run.start.saturating_add(length as u64)),
            Self::Listed(names) => names.truncate(length),
        }
    }

    /// Keeps the names for whose places `keep` is true.
    pub(crate) fn retain(&mut self, keep: &[bool]) {
        let mut names = std::mem::take(self).into_list();
        names.retain(keep);
        *self = Self::Listed(names);
    }
}

impl FromIterator<u64> for NameColumn {
    fn from_iter<I: IntoIterator<Item = u64>>(names: I) -> Self {
        let mut column = Self::default();
        names.into_iter().for_each(|name| column.push(name));
        column
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn told(column: &NameColumn) -> Vec<u64> {
        assert_eq!(column.iter().count(), column.len());
        (0..column.len()).map(|at| column.get(at).unwrap()).collect()
    }

    #[test]
    fn names_one_after_another_take_no_room() {
        let column: NameColumn = (7..1000).collect();
        assert!(matches!(column, NameColumn::Run(_)));
        let joined = NameColumn::join(vec![column, NameColumn::default(), (1000..1007).collect()]);
        assert!(matches!(joined, NameColumn::Run(_)));
        assert_eq!((joined.get(0), joined.get(999), joined.get(1000)), (Some(7), Some(1006), None));
    }

    proptest! {
        #[test]
        fn nothing_is_lost_however_names_follow(
            parts in prop::collection::vec(
                prop::collection::vec(prop_oneof![1..9u64, u64::MAX - 2..=u64::MAX], 0..5), 0..5),
            keep in prop::collection::vec(any::<bool>(), 25),
            length in 0..25usize,
        ) {
            let mut all: Vec<u64> = parts.concat();
            let mut column = NameColumn::join(
                parts.into_iter().map(NameColumn::from_iter).collect());
            prop_assert_eq!(&told(&column), &all);
            column.truncate(length);
            all.truncate(length);
            prop_assert_eq!(&told(&column), &all);
            column.retain(&keep);
            let mut kept = keep.iter();
            all.retain(|_| *kept.next().unwrap());
            prop_assert_eq!(&told(&column), &all);
        }
    }
}
