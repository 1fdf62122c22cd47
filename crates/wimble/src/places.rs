//! Where a cut could be: the strips under the drawings, from the same answers as the verdicts.

use rayon::prelude::*;
use wimble_model::{Cut, CutKind, CutShape, Member, MemberIx, Verdict};
use wimble_report::{Report, Windows};
use wimble_rules::{PackSet, Probe, RuleSettings, windows, windows_for};

/// Sizes below this are no use to any service.
const LEAST_MM: f64 = 6.0;
/// How finely the greatest size that has a place is looked for.
const STEP_MM: f64 = 0.5;

/// Works out the windows of every member that has a cut which does not pass.
pub(crate) fn fill(report: &mut Report, packs: &PackSet, settings: &RuleSettings) {
    let mut by_member: Vec<Vec<&Cut>> = vec![Vec::new(); report.members.len()];
    for cut in &report.cuts {
        if let Some(list) = by_member.get_mut(cut.member.at()) {
            list.push(cut);
        }
    }
    let found: Vec<Vec<Windows>> = report
        .members
        .par_iter()
        .zip(&by_member)
        .enumerate()
        .filter(|(_, (_, cuts))| cuts.iter().any(|cut| cut.verdict > Verdict::Pass))
        .map(|(at, (member, cuts))| of_member(MemberIx::from(at), member, cuts, packs, settings))
        .collect();
    report.windows = found.into_iter().flatten().collect();
}

/// A strip for holes and one for notches, each for the worst of the cuts in question.
fn of_member(
    ix: MemberIx,
    member: &Member,
    cuts: &[&Cut],
    packs: &PackSet,
    settings: &RuleSettings,
) -> Vec<Windows> {
    let stay: Vec<Cut> =
        cuts.iter().filter(|cut| cut.verdict == Verdict::Pass).map(|&cut| cut.clone()).collect();
    let kinds: [&[CutKind]; 2] =
        [&[CutKind::Hole, CutKind::WebHole], &[CutKind::TopNotch, CutKind::BottomNotch]];
    let mut strips = Vec::new();
    for kinds in kinds {
        let of_kind = cuts.iter().filter(|cut| kinds.contains(&cut.kind));
        let worst = of_kind
            .filter(|cut| cut.verdict > Verdict::Pass)
            .max_by(|a, b| a.verdict.cmp(&b.verdict).then(a.height_mm().total_cmp(&b.height_mm())));
        let Some(cut) = worst else { continue };
        let asked = probe(cut);
        let places = |probe: &Probe| {
            apart(windows(member, probe, &stay, packs, settings), probe, &stay, member)
        };
        let mut size = asked;
        let mut middles = places(&asked);
        if middles.is_empty()
            && let Some((smaller, there)) = greatest(&asked, &places)
        {
            (size, middles) = (smaller, there);
        }
        strips.push(Windows {
            member: ix,
            kind: cut.kind,
            asked_mm: [asked.width_mm, asked.height_mm],
            size_mm: [size.width_mm, size.height_mm],
            best: if middles.is_empty() {
                best(member, &asked, &stay, packs, settings)
            } else {
                Verdict::Pass
            },
            middles_mm: middles,
        });
    }
    strips
}

/// The best verdict that a cut which passes nowhere comes to.
fn best(
    member: &Member,
    probe: &Probe,
    stay: &[Cut],
    packs: &PackSet,
    settings: &RuleSettings,
) -> Verdict {
    if member.spans.is_empty() {
        return Verdict::Unknown;
    }
    [Verdict::Unknown, Verdict::Refer]
        .into_iter()
        .find(|&target| !windows_for(member, probe, stay, packs, settings, target).is_empty())
        .unwrap_or(Verdict::Fail)
}

/// The cut as it would be asked for anew: a hole at mid-depth, a notch at its edge.
fn probe(cut: &Cut) -> Probe {
    let (width, height) = (cut.width_mm(), cut.height_mm());
    let hole = matches!(cut.kind, CutKind::Hole | CutKind::WebHole);
    if hole && cut.shape == CutShape::Round {
        // Shared holes are judged on the circle round their services.
        let size = if cut.shared > 1 { cut.bit_mm } else { width.max(height) };
        return Probe::hole(size, 0.0).as_kind(cut.kind);
    }
    Probe {
        kind: cut.kind,
        shape: cut.shape,
        width_mm: width,
        height_mm: height,
        offset_mm: 0.0,
        bit_mm: cut.bit_mm,
    }
}

/// The greatest smaller size that has a place at all, and its places. Every rule of size is a
/// greatest size, so halving finds it.
fn greatest(
    asked: &Probe,
    places: &dyn Fn(&Probe) -> Vec<[f64; 2]>,
) -> Option<(Probe, Vec<[f64; 2]>)> {
    let sized = |height_mm: f64| {
        if asked.kind == CutKind::TopNotch || asked.kind == CutKind::BottomNotch {
            Probe { height_mm, ..*asked }
        } else {
            Probe::hole(height_mm, 0.0).as_kind(asked.kind)
        }
    };
    let (mut fits, mut too_large) = (LEAST_MM, asked.height_mm);
    let mut best = (sized(fits), places(&sized(fits)));
    if best.1.is_empty() || too_large <= fits {
        return None;
    }
    while too_large - fits > STEP_MM {
        let middle = f64::midpoint(fits, too_large);
        let probe = sized((middle / STEP_MM).floor() * STEP_MM);
        let there = places(&probe);
        if probe.height_mm <= fits {
            break;
        }
        if there.is_empty() {
            too_large = probe.height_mm;
        } else {
            fits = probe.height_mm;
            best = (probe, there);
        }
    }
    Some(best)
}

/// Takes away where the cut would run into one that stays and become one with it.
fn apart(windows: Vec<(f64, f64)>, probe: &Probe, stay: &[Cut], member: &Member) -> Vec<[f64; 2]> {
    let half = 0.5 * probe.width_mm;
    let (low, high) = levels(probe, member);
    let mut free: Vec<[f64; 2]> = windows.into_iter().map(|(from, to)| [from, to]).collect();
    for cut in stay.iter().filter(|cut| cut.min_mm.z < high && cut.max_mm.z > low) {
        let taken = [cut.min_mm.x - half, cut.max_mm.x + half];
        free = free
            .into_iter()
            .flat_map(|[from, to]| [[from, to.min(taken[0])], [from.max(taken[1]), to]])
            .filter(|[from, to]| from < to)
            .collect();
    }
    free
}

/// Between which levels a probe lies.
fn levels(probe: &Probe, member: &Member) -> (f64, f64) {
    let edge = 0.5 * member.section.depth_mm();
    match probe.kind {
        CutKind::TopNotch => (edge - probe.height_mm, edge),
        CutKind::BottomNotch => (-edge, probe.height_mm - edge),
        _ => (probe.offset_mm - 0.5 * probe.height_mm, probe.offset_mm + 0.5 * probe.height_mm),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wimble_model::{MemberKind, Section};
    use wimble_rules::{Situation, cut_by_hand, member_by_hand};

    /// Clear span 3600 from the face at 100 (`member_by_hand`).
    fn joist() -> Member {
        let section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };
        member_by_hand(MemberKind::Joist, section, 3600.0)
    }

    /// A cut: its kind, its stretch along the member, its stretch up the depth.
    type Made = (CutKind, (f64, f64), (f64, f64));

    fn strips(cuts: &[Made]) -> Vec<Windows> {
        let member = joist();
        let packs = PackSet::built_in().region_set("GB").unwrap();
        let settings = RuleSettings::default();
        let mut cuts: Vec<Cut> = cuts
            .iter()
            .map(|(kind, x, z)| cut_by_hand(MemberIx(0), &member, *kind, *x, *z))
            .collect();
        let members = [member];
        let situation = Situation { members: &members, services: &[], openings: &[], cuts: &cuts };
        wimble_rules::check(&situation, &packs, &settings).write_into(&mut cuts);
        let mut report = Report { members: members.to_vec(), cuts, ..Report::default() };
        fill(&mut report, &packs, &settings);
        report.windows
    }

    #[test]
    fn a_hole_out_of_its_zone_may_be_in_the_zones() {
        // Holes: 0.25 to 0.40 of the span from either support, at most 0.25 of the depth
        // (LABC and NBS, uk-solid-joist/hole-zone): whole hole in 1000..1540 and 2260..2800.
        let strips = strips(&[(CutKind::Hole, (486.5, 513.5), (-13.5, 13.5))]);
        assert_eq!(strips.len(), 1);
        assert_eq!(strips[0].middles_mm, [[1013.5, 1526.5], [2273.5, 2786.5]]);
        assert_eq!(strips[0].size_mm, strips[0].asked_mm);
    }

    #[test]
    fn a_hole_too_large_anywhere_shows_where_the_greatest_may_be() {
        // 0.25 × 220 = 55.
        let strips = strips(&[(CutKind::Hole, (1200.0, 1270.0), (-35.0, 35.0))]);
        assert_eq!(strips[0].asked_mm, [70.0, 70.0]);
        assert_eq!(strips[0].size_mm, [55.0, 55.0]);
        assert_eq!(strips[0].middles_mm, [[1027.5, 1512.5], [2287.5, 2772.5]]);
    }

    #[test]
    fn what_stays_keeps_its_place() {
        let strips = strips(&[
            (CutKind::Hole, (486.5, 513.5), (-13.5, 13.5)),
            (CutKind::Hole, (1250.0, 1277.0), (-13.5, 13.5)),
        ]);
        let near = |x: f64| strips[0].middles_mm.iter().any(|[a, b]| *a < x && x < *b);
        assert!(!near(1263.5), "on top of the hole that stays");
        assert!(!near(1300.0), "nearer to it than the rule of spacing allows");
        assert!(near(1500.0));
    }
}
