//! Errors on site: what passes as planned, and would not as it may turn out, is `tight`.

use crate::check::Free;
use crate::subject::{Mark, View};

/// Errors on site, each alone: a cut that one of them would break is `tight`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SiteTolerance {
    /// Along the member, either way.
    pub along_mm: f64,
    /// In level, either way.
    pub level_mm: f64,
    /// Larger than planned.
    pub size_mm: f64,
}

impl Default for SiteTolerance {
    fn default() -> Self {
        Self { along_mm: 10.0, level_mm: 3.0, size_mm: 2.0 }
    }
}

/// A cut as it may turn out on site.
pub(super) struct SiteError {
    pub(super) mark: Mark,
    /// By how much.
    by_mm: f64,
    /// How far it might be out that way.
    free: fn(&Free) -> f64,
}

/// Each error alone.
pub(super) fn errors(mark: Mark, site: SiteTolerance) -> impl Iterator<Item = SiteError> {
    let along =
        |by: f64| SiteError { mark: mark.shifted(by), by_mm: by.abs(), free: |free| free.along_mm };
    let level =
        |by: f64| SiteError { mark: mark.raised(by), by_mm: by.abs(), free: |free| free.level_mm };
    let size = SiteError {
        mark: mark.grown(site.size_mm),
        by_mm: site.size_mm.abs(),
        free: |free| free.size_mm,
    };
    let (x, z) = (site.along_mm, site.level_mm);
    [along(x), along(-x), level(z), level(-z), size].into_iter()
}

impl SiteError {
    /// Whether it is within what is free, so that the cut passes all the same: nothing is asked
    /// of it that was not asked where it is planned.
    pub(super) fn is_within<'v>(
        &self,
        free: &Free,
        planned: Mark,
        mut views: impl Iterator<Item = &'v View<'v>>,
    ) -> bool {
        let span = |view: &View<'_>, mark: &Mark| view.span_at(mark.mid_x());
        self.by_mm <= (self.free)(free)
            && views.all(|view| span(view, &self.mark) == span(view, &planned))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::trials::{marks, members};
    use crate::judge::{Judge, RuleSettings};
    use crate::pack::PackSet;
    use crate::subject::Neighbours;
    use wimble_model::Verdict;

    #[test]
    fn what_is_free_to_turn_out_otherwise_passes_when_it_does_by_every_pack() {
        let settings = RuleSettings::default();
        let (mut free, mut asked) = (0, 0);
        for pack in PackSet::built_in().known() {
            let packs = PackSet::built_in().choose(&[pack.id()]).unwrap();
            for member in members() {
                let judge = Judge::of(&member, &packs, &settings);
                let view = View::of(&member);
                // Alone, and beside all the others.
                let all = marks(&member);
                for (mark, beside) in all.iter().flat_map(|m| [(*m, &[][..]), (*m, &all)]) {
                    let beside = Neighbours::from(beside);
                    let planned = judge.cut(&view, mark, beside);
                    if planned.verdict != Verdict::Pass {
                        continue;
                    }
                    for by in [0.01, 0.3, 1.0, 3.0, 10.0, 40.0, 160.0] {
                        let site = SiteTolerance { along_mm: by, level_mm: by, size_mm: by };
                        for error in errors(mark, site) {
                            asked += 1;
                            if !error.is_within(&planned.free, mark, std::iter::once(&view)) {
                                continue;
                            }
                            free += 1;
                            let verdict = judge.verdict(&view, error.mark, beside);
                            assert_eq!(verdict, Verdict::Pass, "{} {by} {mark:?}", pack.id());
                        }
                    }
                }
            }
        }
        assert!(free > 10_000 && free < asked, "{free} of {asked}");
    }
}
