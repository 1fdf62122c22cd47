//! Two shifts along one line, each within its own stretches and their difference within others:
//! the least sum of both, exactly.
//!
//! With both shifts as coordinates what is allowed is a union of polygons whose edges keep the
//! first, the second or the difference as it is. On an edge of the last kind the sum of both sizes
//! is least at an end of it or where one of the two is zero, so that the least of all has one of
//! them at an end of its stretches or at zero: finitely many candidates.

use crate::ranges::Ranges;

/// What is known to be allowed of two shifts, mm. What refuses a difference may hold only while
/// each of the two lies between certain places: the plane is parted there into cells.
#[derive(Debug, Clone)]
pub(crate) struct Plane {
    /// Where each may be as far as it alone is asked.
    pub(crate) free: [Ranges; 2],
    /// Cells of each from one of its places to the next, ascending.
    cells: [Vec<(f64, f64)>; 2],
    /// First less second, for each cell of the first and, in it, of the second.
    differences: Vec<Ranges>,
}

/// Two shifts, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Two(pub(crate) [f64; 2]);

impl Two {
    pub(crate) fn sum(self) -> f64 {
        self.0[0].abs() + self.0[1].abs()
    }

    pub(crate) fn difference(self) -> f64 {
        self.0[0] - self.0[1]
    }
}

impl Plane {
    /// Parted at places of the first and of the second.
    pub(crate) fn new(free: [Ranges; 2], places: [Vec<f64>; 2]) -> Self {
        let cells = places.map(|mut places| {
            places.extend([f64::NEG_INFINITY, f64::INFINITY]);
            places.sort_by(f64::total_cmp);
            places.windows(2).filter_map(|two| Some((*two.first()?, *two.last()?))).collect()
        });
        let differences = vec![Ranges::all(); cells.each_ref().map(Vec::len).iter().product()];
        Self { free, cells, differences }
    }

    /// Takes a stretch of one of the two out.
    pub(crate) fn refuse(&mut self, which: usize, (from, to): (f64, f64)) {
        if let Some(free) = self.free.get_mut(which) {
            *free = free.without(from, to);
        }
    }

    /// Takes a stretch of differences out, wherever the two are.
    pub(crate) fn refuse_difference(&mut self, (from, to): (f64, f64)) {
        for allowed in &mut self.differences {
            *allowed = allowed.without(from, to);
        }
    }

    /// Takes a stretch of differences out in the cells that the two lie in.
    pub(crate) fn refuse_difference_at(&mut self, at: Two, (from, to): (f64, f64)) {
        let [first, second] = &self.cells;
        let within = |cell: &(f64, f64), place: f64| (cell.0..=cell.1).contains(&place);
        for (n, _) in first.iter().enumerate().filter(|(_, cell)| within(cell, at.0[0])) {
            for (m, _) in second.iter().enumerate().filter(|(_, cell)| within(cell, at.0[1])) {
                if let Some(allowed) = self.differences.get_mut(n * second.len() + m) {
                    *allowed = allowed.without(from, to);
                }
            }
        }
    }

    /// The least sum; `None` where nothing is left.
    pub(crate) fn least(&self) -> Option<Two> {
        self.least_of(Some)
    }

    /// The least sum of two shifts that are whole multiples of a step.
    pub(crate) fn least_in_steps(&self, step_mm: f64) -> Option<Two> {
        self.least_of(|(from, to)| {
            let from = (from / step_mm - 1e-9).ceil() * step_mm;
            let to = (to / step_mm + 1e-9).floor() * step_mm;
            (from <= to).then_some((from, to))
        })
    }

    fn least_of(&self, part: impl Fn((f64, f64)) -> Option<(f64, f64)>) -> Option<Two> {
        let [first, second] = &self.cells;
        let mut best: Option<Two> = None;
        let cells = first.iter().flat_map(|a| second.iter().map(move |b| (a, b)));
        for ((a, b), differences) in cells.zip(&self.differences) {
            let firsts = self.free[0].and(&Ranges::of([*a]));
            let seconds = self.free[1].and(&Ranges::of([*b]));
            for a in firsts.iter().filter_map(&part) {
                for b in seconds.iter().filter_map(&part) {
                    for difference in differences.iter().filter_map(&part) {
                        let found = least_in(a, b, difference);
                        best = [best, found]
                            .into_iter()
                            .flatten()
                            .reduce(|x, y| if y.sum() < x.sum() { y } else { x });
                    }
                }
            }
        }
        best
    }
}

/// The least sum with each of the two in a stretch, and their difference in another.
fn least_in(a: (f64, f64), b: (f64, f64), difference: (f64, f64)) -> Option<Two> {
    let nearest = |from: f64, to: f64| (from <= to).then(|| 0.0_f64.clamp(from, to));
    let places = |(from, to): (f64, f64)| {
        [from, to, 0.0].into_iter().filter(move |p| p.is_finite() && (from..=to).contains(p))
    };
    let with_a = places(a).filter_map(|at| {
        let second = nearest(b.0.max(at - difference.1), b.1.min(at - difference.0))?;
        Some(Two([at, second]))
    });
    let with_b = places(b).filter_map(|at| {
        let first = nearest(a.0.max(at + difference.0), a.1.min(at + difference.1))?;
        Some(Two([first, at]))
    });
    with_a.chain(with_b).min_by(|x, y| x.sum().total_cmp(&y.sum()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_in_the_way_is_pushed_no_further_than_it_has_to_be() {
        // The first may be from 10 on, and wants 81 between the two; the second lies 60 further.
        let free = [Ranges::of([(10.0, 90.0)]), Ranges::of([(-20.0, 40.0)])];
        let mut plane = Plane::new(free, [Vec::new(), Vec::new()]);
        plane.refuse_difference((60.0 - 81.0, 60.0 + 81.0));
        assert_eq!(plane.least(), Some(Two([10.0, 31.0])));
        // Where the second has to stay within 20, nothing is left.
        plane.refuse(1, (20.0, f64::INFINITY));
        assert_eq!(plane.least(), None);
    }

    #[test]
    fn what_holds_in_one_cell_alone_leaves_the_others() {
        let free = [Ranges::of([(-50.0, 50.0)]), Ranges::of([(-50.0, 50.0)])];
        let mut plane = Plane::new(free, [vec![0.0], Vec::new()]);
        plane.refuse_difference_at(Two([5.0, 0.0]), (-100.0, 100.0));
        plane.refuse_difference_at(Two([-5.0, 0.0]), (-30.0, 30.0));
        assert_eq!(plane.least().map(Two::sum), Some(30.0));
    }

    #[test]
    fn whole_steps_are_the_least_whole_steps() {
        let free = [Ranges::of([(9.3, 90.0)]), Ranges::of([(-20.0, 40.0)])];
        let mut plane = Plane::new(free, [Vec::new(), Vec::new()]);
        plane.refuse_difference((-21.5, 141.0));
        assert_eq!(plane.least(), Some(Two([9.3, 30.8])));
        assert_eq!(plane.least_in_steps(1.0), Some(Two([10.0, 32.0])));
    }

    /// Against every pair of whole figures, with stretches that begin and end at such.
    #[test]
    fn no_pair_on_a_grid_is_shorter() {
        let mut seed = 7_u64;
        let mut draw = |from: i32, to: i32| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            from + i32::try_from((seed >> 33) % u64::from((to - from).unsigned_abs())).unwrap()
        };
        let mut stretches = |count: i32| -> Vec<(f64, f64)> {
            (0..count)
                .map(|_| {
                    let from = draw(-40, 40);
                    (f64::from(from), f64::from(from + draw(0, 25)))
                })
                .collect()
        };
        for _ in 0..200 {
            let free = [Ranges::of(stretches(2)), Ranges::of(stretches(2))];
            let taken = stretches(3);
            let mut plane = Plane::new(free.clone(), [Vec::new(), Vec::new()]);
            taken.iter().for_each(|stretch| plane.refuse_difference(*stretch));
            let within = |ranges: &Ranges, at: f64| ranges.iter().any(|(a, b)| a <= at && at <= b);
            let mut least: Option<f64> = None;
            for (a, b) in (-70..70).flat_map(|a| (-70..70).map(move |b| (a, b))) {
                let (a, b) = (f64::from(a), f64::from(b));
                let free = within(&free[0], a) && within(&free[1], b);
                if free && !taken.iter().any(|(from, to)| *from < a - b && a - b < *to) {
                    least = Some(least.map_or(a.abs() + b.abs(), |l| l.min(a.abs() + b.abs())));
                }
            }
            assert_eq!(plane.least().map(Two::sum), least);
            assert_eq!(plane.least_in_steps(1.0).map(Two::sum), least);
        }
    }
}
