//! Cuts whose verdict the tape cannot settle.
//!
//! A measured cut may be a little elsewhere, or a little larger, than was read. Where such an error
//! would turn a pass, it does not pass: the fact that decides is not known well enough. Where it
//! would turn a fail, that is said, and the fail stands.

use glam::DVec3;
use std::sync::Arc;
use wimble_model::{Cut, CutIx, CutKind, Few, Finding, Level, Verdict};
use wimble_report::Report;
use wimble_rules::{PackSet, RuleSettings, SiteTolerance, Situation, check};

/// The rule that these findings carry.
const RULE: &str = "site/within-tolerance";

/// Judges every measured cut again with each error alone. `measured` says which cuts are.
pub(crate) fn doubt(
    report: &mut Report,
    packs: &PackSet,
    rules: &RuleSettings,
    measured: &dyn Fn(&Cut) -> bool,
) {
    let mut said = Vec::new();
    for at in 0..report.cuts.len() {
        let Some(cut) = report.cuts.get(at).filter(|cut| measured(cut)) else { continue };
        if cut.kind == CutKind::Joinery {
            continue;
        }
        if let Some((error, verdict)) = other_verdict(report, at, packs, rules) {
            said.push((CutIx::from(at), error, verdict));
        }
    }
    for (ix, error, verdict) in said {
        let Some(cut) = report.cuts.get_mut(ix.at()) else { continue };
        cut.tight = false;
        let passes = cut.verdict == Verdict::Pass;
        let message = if passes {
            cut.verdict = Verdict::Unknown;
            format!(
                "As measured it passes, but not if it is really {error}: within the tolerance of the \
                 limit. Measure again with a finer rule."
            )
        } else {
            format!(
                "As measured it is {}; if it is really {error} it is {}: within the tolerance of \
                 the limit. Measure again before acting on it.",
                cut.verdict.word(),
                verdict.word()
            )
        };
        let said = if passes { Verdict::Unknown } else { Verdict::Pass };
        let finding = Finding {
            rule: RULE.into(),
            level: Level::of(said),
            verdict: said,
            member: cut.member,
            cuts: Few::from_iter([ix]),
            services: cut.services.iter().copied().collect(),
            measured: None,
            limit: None,
            message: message.into(),
            source: "Wimble, practice (our own figure)".into(),
            waived: None,
            remedies: Arc::default(),
        };
        report.findings.push(finding);
    }
}

/// The first error that gives the cut another verdict, in words, with that verdict.
fn other_verdict(
    report: &Report,
    at: usize,
    packs: &PackSet,
    rules: &RuleSettings,
) -> Option<(String, Verdict)> {
    let cut = report.cuts.get(at)?;
    let mut neighbours: Vec<Cut> =
        report.cuts.iter().filter(|other| other.member == cut.member).cloned().collect();
    let position = neighbours.iter().position(|other| other == cut)?;
    let mut judge = |moved: &Cut| {
        if let Some(place) = neighbours.get_mut(position) {
            place.clone_from(moved);
        }
        let situation = Situation {
            members: &report.members,
            services: &report.services,
            openings: &report.openings,
            cuts: &neighbours,
        };
        check(&situation, packs, rules).cuts.get(position).map(|judged| judged.verdict)
    };
    let before = judge(cut)?;
    errors(cut, rules.site)
        .into_iter()
        .find_map(|(moved, words)| judge(&moved).filter(|v| *v != before).map(|v| (words, v)))
}

/// The cut with each error alone, in words.
fn errors(cut: &Cut, site: SiteTolerance) -> Vec<(Cut, String)> {
    let mut all = Vec::new();
    let both = |mm: f64| [(mm, true), (-mm, false)];
    for (by, more) in both(site.along_mm) {
        let mut moved = cut.clone();
        (moved.min_mm.x, moved.max_mm.x) = (cut.min_mm.x + by, cut.max_mm.x + by);
        if let Some(circle) = &mut moved.besides.circle {
            circle.x_mm += by;
        }
        let side = if more { "right" } else { "left" };
        all.push((moved, format!("{} mm further {side}", site.along_mm)));
    }
    for (by, more) in both(site.level_mm) {
        let mut moved = cut.clone();
        match cut.kind {
            CutKind::TopNotch => moved.min_mm.z += by,
            CutKind::BottomNotch => moved.max_mm.z += by,
            _ => {
                moved.min_mm.z += by;
                moved.max_mm.z += by;
                if let Some(circle) = &mut moved.besides.circle {
                    circle.z_mm += by;
                }
            }
        }
        all.push((
            moved,
            format!("{} mm {}", site.level_mm, if more { "higher" } else { "lower" }),
        ));
    }
    for (by, more) in both(site.size_mm) {
        let mut moved = cut.clone();
        let half = DVec3::new(by / 2.0, 0.0, by / 2.0);
        match cut.kind {
            CutKind::TopNotch => {
                (moved.min_mm.x, moved.max_mm.x) = (cut.min_mm.x - half.x, cut.max_mm.x + half.x);
                moved.min_mm.z -= by;
            }
            CutKind::BottomNotch => {
                (moved.min_mm.x, moved.max_mm.x) = (cut.min_mm.x - half.x, cut.max_mm.x + half.x);
                moved.max_mm.z += by;
            }
            _ => (moved.min_mm, moved.max_mm) = (cut.min_mm - half, cut.max_mm + half),
        }
        moved.bit_mm += by;
        if let Some(circle) = &mut moved.besides.circle {
            circle.diameter_mm += by;
        }
        let word = if more { "larger" } else { "smaller" };
        all.push((moved, format!("{} mm {word}", site.size_mm)));
    }
    all.retain(|(moved, _)| {
        moved.min_mm.x < moved.max_mm.x && moved.min_mm.z < moved.max_mm.z && moved != cut
    });
    all
}
