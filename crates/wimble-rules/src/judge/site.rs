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

/// One error on site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum SiteError {
    /// Along the member, signed.
    Along(f64),
    /// In level, signed.
    Level(f64),
    /// Larger.
    Size(f64),
}

impl SiteTolerance {
    /// Each error that is to be expected.
    pub(super) fn errors(self) -> [SiteError; 5] {
        [
            SiteError::Along(self.along_mm),
            SiteError::Along(-self.along_mm),
            SiteError::Level(self.level_mm),
            SiteError::Level(-self.level_mm),
            SiteError::Size(self.size_mm),
        ]
    }

    /// Whether every error is within what is free: the short way of [`SiteError::is_within`] in
    /// members of one span.
    pub(super) fn is_within(self, free: Free) -> bool {
        self.along_mm.abs() <= free.along_mm
            && self.level_mm.abs() <= free.level_mm
            && self.size_mm.abs() <= free.size_mm
    }
}

impl SiteError {
    /// The cut as it turns out with it.
    pub(super) fn of(self, planned: Mark) -> Mark {
        match self {
            Self::Along(mm) => planned.shifted(mm),
            Self::Level(mm) => planned.raised(mm),
            Self::Size(mm) => planned.grown(mm),
        }
    }

    /// Whether it is within what is free, so that a cut that passes does so all the same: nothing
    /// is asked of it that was not asked where it is planned.
    pub(super) fn is_within(self, free: Free, planned: Mark, view: &View<'_>) -> bool {
        let (by_mm, free_mm) = match self {
            Self::Along(mm) => (mm, free.along_mm),
            Self::Level(mm) => (mm, free.level_mm),
            Self::Size(mm) => (mm, free.size_mm),
        };
        let span = |mark: Mark| view.span_at(mark.mid_x());
        by_mm.abs() <= free_mm && (view.spans.len() < 2 || span(self.of(planned)) == span(planned))
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
                        let each =
                            site.errors().iter().all(|e| e.is_within(planned.free, mark, &view));
                        if view.spans.len() < 2 {
                            assert_eq!(site.is_within(planned.free), each);
                        }
                        for error in site.errors() {
                            asked += 1;
                            if !error.is_within(planned.free, mark, &view) {
                                continue;
                            }
                            free += 1;
                            let verdict = judge.verdict(&view, error.of(mark), beside);
                            assert_eq!(verdict, Verdict::Pass, "{} {by} {mark:?}", pack.id());
                        }
                    }
                }
            }
        }
        assert!(free > 10_000 && free < asked, "{free} of {asked}");
    }
}
