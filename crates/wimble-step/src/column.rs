//! Columns of numbers that take half the room while the numbers are small.

use rayon::prelude::*;

/// A column of numbers: each takes an `N` while all fit, else each a `W`.
#[derive(Debug, Clone)]
pub(crate) enum Column<N, W> {
    Narrow(Vec<N>),
    Wide(Vec<W>),
}

/// Offsets and names: 32 bits in files below 4 GiB.
pub(crate) type Column64 = Column<u32, u64>;

/// Keyword numbers: 16 bits while there are fewer than 65 536 keywords.
pub(crate) type Column32 = Column<u16, u32>;

impl<N, W> Column<N, W>
where
    N: Copy + Default + Into<W> + TryFrom<W> + Send + Sync,
    W: Copy + Send + Sync,
{
    pub(crate) fn with_capacity(capacity: usize) -> Self {
        Self::Narrow(Vec::with_capacity(capacity))
    }

    pub(crate) fn len(&self) -> usize {
        match self {
            Self::Narrow(values) => values.len(),
            Self::Wide(values) => values.len(),
        }
    }

    pub(crate) fn get(&self, at: usize) -> Option<W> {
        match self {
            Self::Narrow(values) => values.get(at).map(|&value| value.into()),
            Self::Wide(values) => values.get(at).copied(),
        }
    }

    #[inline]
    pub(crate) fn push(&mut self, value: W) {
        match (&mut *self, N::try_from(value)) {
            (Self::Narrow(values), Ok(value)) => values.push(value),
            _ => self.push_wide(value),
        }
    }

    #[cold]
    fn push_wide(&mut self, value: W) {
        if let Self::Narrow(values) = self {
            *self = Self::Wide(values.iter().map(|&value| value.into()).collect());
        }
        if let Self::Wide(values) = self {
            values.push(value);
        }
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = W> {
        // One of the two is empty; the chain is gone through once at most.
        let (narrow, wide): (&[N], &[W]) = match self {
            Self::Narrow(values) => (values, &[]),
            Self::Wide(values) => (&[], values),
        };
        narrow.iter().map(|&value| value.into()).chain(wide.iter().copied())
    }

    /// The columns one after another.
    pub(crate) fn join(columns: Vec<Self>) -> Self {
        Self::concat(columns.into_iter().map(|column| (column, |value| value)).collect())
    }

    /// The columns one after another, each value changed by the change that belongs to its column.
    pub(crate) fn concat<F: Fn(W) -> W + Sync>(columns: Vec<(Self, F)>) -> Self {
        Self::concat_narrow(&columns).unwrap_or_else(|| {
            columns.iter().flat_map(|(column, change)| column.iter().map(change)).collect()
        })
    }

    /// The same where all values fit into an `N`: each column is copied to its place.
    fn concat_narrow<F: Fn(W) -> W + Sync>(columns: &[(Self, F)]) -> Option<Self> {
        let mut all = vec![N::default(); columns.iter().map(|(column, _)| column.len()).sum()];
        let mut rest = all.as_mut_slice();
        let mut places = Vec::with_capacity(columns.len());
        for (column, change) in columns {
            let Self::Narrow(values) = column else { return None };
            let (place, behind) = rest.split_at_mut_checked(values.len())?;
            places.push((place, values, change));
            rest = behind;
        }
        places.into_par_iter().try_for_each(|(place, values, change)| {
            place.iter_mut().zip(values).try_for_each(|(place, &value)| {
                *place = N::try_from(change(value.into())).ok()?;
                Some(())
            })
        })?;
        Some(Self::Narrow(all))
    }

    pub(crate) fn truncate(&mut self, length: usize) {
        match self {
            Self::Narrow(values) => values.truncate(length),
            Self::Wide(values) => values.truncate(length),
        }
    }

    /// Keeps the values for whose places `keep` is true.
    pub(crate) fn retain(&mut self, keep: &[bool]) {
        let mut keep = keep.iter().copied();
        let mut kept = || keep.next().unwrap_or(true);
        match self {
            Self::Narrow(values) => values.retain(|_| kept()),
            Self::Wide(values) => values.retain(|_| kept()),
        }
    }
}

impl<N, W> FromIterator<W> for Column<N, W>
where
    N: Copy + Default + Into<W> + TryFrom<W> + Send + Sync,
    W: Copy + Send + Sync,
{
    fn from_iter<I: IntoIterator<Item = W>>(values: I) -> Self {
        let values = values.into_iter();
        let mut column = Self::with_capacity(values.size_hint().0);
        values.for_each(|value| column.push(value));
        column
    }
}

impl Column64 {
    /// Number of leading values below `limit`, of a column that ascends.
    pub(crate) fn below(&self, limit: u64) -> usize {
        match self {
            Self::Narrow(values) => values.partition_point(|&value| u64::from(value) < limit),
            Self::Wide(values) => values.partition_point(|&value| value < limit),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_joined_in_order_and_changed() {
        let columns = |last: u32| vec![([1, 2], 10), ([3, last], 20)];
        for last in [4, 1 << 20] {
            let parts = columns(last).into_iter();
            let parts = parts.map(|(values, by)| {
                (values.into_iter().collect::<Column32>(), move |value: u32| value + by)
            });
            let joined = Column32::concat(parts.collect());
            assert_eq!(joined.iter().collect::<Vec<_>>(), [11, 12, 23, last + 20]);
            assert_eq!(matches!(joined, Column32::Wide(_)), last > 4);
        }
    }

    #[test]
    fn a_large_number_widens_the_column_and_loses_nothing() {
        let mut column = Column64::with_capacity(2);
        let values = [5, 7, u64::from(u32::MAX), 1 << 40];
        for value in values {
            column.push(value);
        }
        assert!(matches!(column, Column64::Wide(_)));
        assert_eq!(column.iter().collect::<Vec<_>>(), values);
        assert_eq!((column.get(1), column.get(4), column.len()), (Some(7), None, 4));
        assert_eq!(column.below(8), 2);
        column.retain(&[true, false, true, true]);
        column.truncate(2);
        assert_eq!(column.iter().collect::<Vec<_>>(), [5, u64::from(u32::MAX)]);
    }
}
