//! Rows by what they belong to.

/// Rows of groups that are numbered from 0, group after group in one list.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Grouped<T> {
    rows: Vec<T>,
    /// Where each group ends in `rows`.
    ends: Vec<usize>,
}

impl<T: Copy> Grouped<T> {
    /// Groups rows that are told with the number of their group; within a group they keep their
    /// order. What belongs to no group of the first `groups` is left out.
    pub(crate) fn of<I: Iterator<Item = (usize, T)>>(groups: usize, told: impl Fn() -> I) -> Self {
        // Counted first; each group's start then moves to its end while its rows are put in place.
        let mut ends = vec![0; groups];
        for (group, _) in told() {
            if let Some(count) = ends.get_mut(group) {
                *count += 1;
            }
        }
        let mut sum = 0;
        for end in &mut ends {
            sum += std::mem::replace(end, sum);
        }
        let mut rows = told().next().map_or_else(Vec::new, |(_, any)| vec![any; sum]);
        for (group, row) in told() {
            if let Some(next) = ends.get_mut(group)
                && let Some(place) = rows.get_mut(*next)
            {
                *place = row;
                *next += 1;
            }
        }
        Self { rows, ends }
    }

    /// The rows of a group; none for one that there is not.
    pub(crate) fn get(&self, group: usize) -> &[T] {
        let end = self.ends.get(group).copied().unwrap_or_default();
        let start = group.checked_sub(1).and_then(|before| self.ends.get(before));
        self.rows.get(start.copied().unwrap_or_default()..end).unwrap_or_default()
    }

    /// The rows of each group.
    pub(crate) fn iter(&self) -> impl Iterator<Item = &[T]> {
        (0..self.ends.len()).map(|group| self.get(group))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stand_in_their_groups_in_order() {
        let told = [(2, 'a'), (0, 'b'), (2, 'c'), (3, 'd'), (9, 'e'), (0, 'f')];
        let grouped = Grouped::of(4, || told.into_iter());
        let groups: Vec<_> = grouped.iter().collect();
        assert_eq!(groups, [&['b', 'f'][..], &[], &['a', 'c'], &['d']]);
        assert!(grouped.get(4).is_empty() && grouped.get(9).is_empty());
        assert_eq!(Grouped::of(0, || told.into_iter()).iter().count(), 0);
    }
}
