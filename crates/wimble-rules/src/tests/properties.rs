//! What holds for every pack: limits, windows and verdicts agree, mirrors mirror, smaller is
//! never worse.

use super::alone::everyone;
use crate::{
    LimitRow, PackSet, Probe, RuleSettings, Situation, check, cut_by_hand, limits, member_by_hand,
    windows,
};
use proptest::prelude::*;
use wimble_model::{Cut, CutKind, Member, MemberIx, MemberKind, Section, TimberMake, Verdict};

const KINDS: [MemberKind; 7] = [
    MemberKind::Joist,
    MemberKind::Beam,
    MemberKind::Rafter,
    MemberKind::Stud,
    MemberKind::Post,
    MemberKind::Plate,
    MemberKind::Lintel,
];

fn verdict(member: &Member, cuts: &[Cut], packs: &PackSet) -> Verdict {
    let situation =
        Situation { members: std::slice::from_ref(member), services: &[], openings: &[], cuts };
    check(&situation, packs, &RuleSettings::default()).cuts[0].verdict
}

/// The probe made at `x` (its middle), as a cut.
fn at(member: &Member, probe: &Probe, x: f64) -> Cut {
    let mark = probe.at(x, member);
    let (x, z) = ((mark.x0, mark.x1), (mark.z0, mark.z1));
    let mut cut = cut_by_hand(MemberIx(0), member, probe.kind, x, z);
    (cut.min_mm.y, cut.max_mm.y) = (mark.y0, mark.y1);
    cut.shape = probe.shape;
    cut.bit_mm = probe.bit_mm;
    cut
}

/// Members of every kind, make and section that a pack may apply to.
pub(super) fn members() -> Vec<Member> {
    let mut members = Vec::new();
    for kind in KINDS {
        for depth_mm in [89.0, 90.0, 140.0, 184.15, 220.0, 234.95, 250.0, 360.0, 450.0] {
            let breadth_mm = if depth_mm > 300.0 { 115.0 } else { 45.0 };
            let span = if matches!(kind, MemberKind::Stud) { 2400.0 } else { 4200.0 };
            let section = Section::Rectangle { breadth_mm, depth_mm };
            for make in [TimberMake::Solid, TimberMake::Glulam] {
                for load_bearing in [true, false] {
                    let mut member = member_by_hand(kind, section, span);
                    member.make = make;
                    member.load_bearing = Some(load_bearing);
                    members.push(member);
                }
            }
        }
    }
    let section = Section::Rectangle { breadth_mm: 38.1, depth_mm: 88.9 };
    let mut doubled = member_by_hand(MemberKind::Stud, section, 2400.0);
    doubled.role = Some(wimble_model::Role::Ply);
    doubled.load_bearing = Some(true);
    members.push(doubled);
    for (depth_mm, flange_mm) in [(240.0, 45.0), (301.625, 38.1)] {
        let section = Section::IJoist { breadth_mm: 63.5, depth_mm, flange_mm, web_mm: 10.0 };
        let mut member = member_by_hand(MemberKind::Joist, section, 4200.0);
        member.material = Some("Series 40".to_owned().into());
        members.push(member);
    }
    members
}

/// Whether a row says that such a cut may lie with its middle at `x` (from the left face).
fn admits(row: &LimitRow, probe: &Probe, x: f64) -> bool {
    let within = |bands: &[[f64; 2]], half: f64| {
        bands.iter().any(|[from, to]| *from <= x - half + 1e-9 && x + half <= *to + 1e-9)
    };
    let no_more = |limit: Option<f64>, mm: f64| limit.is_none_or(|limit| mm <= limit + 1e-9);
    row.verdict == Verdict::Pass
        && within(&row.zones_mm, probe.width_mm / 2.0)
        && row.centre_zones_mm.as_deref().is_none_or(|bands| within(bands, 0.0))
        && no_more(row.greatest_mm, probe.height_mm)
        && no_more(row.greatest_length_mm, probe.width_mm)
        && no_more(row.level_mm, probe.offset_mm.abs())
}

/// Every limit in the rows of every pack is the verdict's own: the cut at the limit passes, and a
/// tenth of a millimetre beyond it passes only where another row says so. In size, in length, in
/// level, and at both ends of every zone. Each rule alone is in `alone`.
#[test]
fn the_exact_limit_of_every_pack_passes_and_a_tenth_beyond_does_not() {
    let settings = RuleSettings::default();
    let mut tried = 0;
    for pack in PackSet::built_in().known() {
        let packs = PackSet::built_in().choose(&[pack.id()]).unwrap();
        for member in everyone() {
            let told = limits(&member, &packs, &settings);
            let face = member.spans[0].from_mm;
            for row in told.rows.iter().filter(|r| r.verdict == Verdict::Pass) {
                let kinds = [
                    CutKind::Hole,
                    CutKind::TopNotch,
                    CutKind::BottomNotch,
                    CutKind::WebHole,
                    CutKind::Bore,
                    CutKind::SideCut,
                    CutKind::Enclosed,
                ];
                let Some(kind) = kinds.into_iter().find(|k| k.word() == row.cut) else { continue };
                let of_kind: Vec<&LimitRow> =
                    told.rows.iter().filter(|other| other.cut == row.cut).collect();
                let holds = |probe: &Probe, x: f64| {
                    let cut = at(&member, probe, face + x);
                    let passes = verdict(&member, &[cut], &packs) == Verdict::Pass;
                    let said = of_kind.iter().any(|row| admits(row, probe, x));
                    // A table looks a size up to its next row, so that what lies between two rows
                    // is the verdict's alone.
                    let between = row.centre_zones_mm.is_some()
                        && of_kind.len() > 4
                        && !of_kind.iter().any(|r| r.greatest_mm == Some(probe.height_mm));
                    if !between {
                        assert_eq!(
                            passes,
                            said,
                            "{} {kind:?} {probe:?} at {x}: {row:?}",
                            pack.id()
                        );
                    }
                    passes
                };
                let of_size = |width: f64, height: f64| match kind {
                    CutKind::TopNotch | CutKind::BottomNotch => Probe::notch(kind, width, height),
                    other => Probe {
                        width_mm: width,
                        bit_mm: width.max(height),
                        ..Probe::hole(height, 0.0).as_kind(other)
                    },
                };
                let bands = row.centre_zones_mm.as_ref().unwrap_or(&row.zones_mm);
                assert!(!bands.is_empty(), "{} {row:?}", pack.id());
                let of_notch = matches!(kind, CutKind::TopNotch | CutKind::BottomNotch);
                let wide = |height: f64| if of_notch { 10.0 } else { height };
                let mut limits_met = 0;
                for [from, to] in bands {
                    let middle = f64::midpoint(*from, *to);
                    let room = to - from;
                    if let Some(greatest) = row.greatest_mm.filter(|mm| *mm > 1.0)
                        && (row.centre_zones_mm.is_some() || room > wide(greatest) + 1.0)
                    {
                        assert!(holds(&of_size(wide(greatest), greatest), middle), "{row:?}");
                        holds(&of_size(wide(greatest) + 0.1, greatest + 0.1), middle);
                        limits_met += 1;
                    }
                    let small = row.greatest_mm.unwrap_or(8.0).min(8.0);
                    if small < 0.2 || (row.centre_zones_mm.is_none() && room <= small) {
                        continue;
                    }
                    if let Some(long) = row.greatest_length_mm.filter(|long| room > *long + 1.0) {
                        assert!(holds(&of_size(long, small), middle), "{row:?}");
                        holds(&of_size(long + 0.1, small), middle);
                    }
                    if let Some(level) = row.level_mm {
                        let lifted = |by: f64| Probe { offset_mm: by, ..of_size(small, small) };
                        for by in [level, -level] {
                            assert!(holds(&lifted(by), middle), "{row:?}");
                            holds(&lifted(by + 0.1 * by.signum()), middle);
                        }
                    }
                    let probe = of_size(wide(small), small);
                    let half =
                        if row.centre_zones_mm.is_some() { 0.0 } else { probe.width_mm / 2.0 };
                    let (first, last) = (from + half, to - half);
                    assert!(holds(&probe, first) && holds(&probe, last), "{row:?}");
                    // Beyond the end of the member it would be another kind of cut.
                    let ends = [-face, member.length_mm - face];
                    let is_end = |x: f64| ends.iter().any(|end| (end - x).abs() < 1e-6);
                    for (beyond, end) in [(first - 0.1, *from), (last + 0.1, *to)] {
                        if !is_end(end) {
                            holds(&probe, beyond);
                            limits_met += 1;
                        }
                    }
                }
                tried += limits_met;
            }
        }
    }
    assert!(tried > 500, "{tried} limits were tried");
}

/// Packs whose figures nobody has confirmed, or that lack the maker's table: at best `refer`.
const NEVER_PASS: [&str; 7] = [
    "glulam-lvl-de",
    "nl-solid",
    "au-stud",
    "i-joist-general",
    "us-i-joist",
    "au-i-joist",
    "nz-i-joist",
];

#[test]
fn what_nobody_has_confirmed_never_passes() {
    for id in NEVER_PASS {
        let packs = PackSet::built_in().choose(&[id]).unwrap();
        let pack = packs.get(id).unwrap();
        let mut judged = 0;
        for member in everyone() {
            let told = limits(&member, &packs, &RuleSettings::default());
            if !told.packs.iter().any(|name| name == pack.id()) {
                continue;
            }
            // A joint is no cut for a service, and no pack of these speaks of it.
            for row in told.rows.iter().filter(|row| row.cut != "joinery") {
                assert!(row.verdict >= Verdict::Refer, "{id}: {row:?}");
            }
            for kind in crate::limits::kinds(&member).0 {
                for (size, part) in [(1.0, 0.1), (1.0, 0.3), (10.0, 0.5), (25.0, 0.2)] {
                    let probe = Probe {
                        kind: *kind,
                        shape: wimble_model::CutShape::Round,
                        width_mm: size,
                        height_mm: size,
                        offset_mm: 0.0,
                        bit_mm: size,
                    };
                    let x = member.spans[0].from_mm + part * member.spans[0].length_mm();
                    let cut = at(&member, &probe, x);
                    assert!(verdict(&member, &[cut], &packs) >= Verdict::Refer, "{id} {probe:?}");
                    judged += 1;
                }
            }
        }
        assert!(judged > 0, "{id} was never asked");
    }
    let memory = |pack: &&crate::Pack| {
        pack.sources().iter().any(|source| source.status == crate::Status::Memory)
            && pack.id() != "us-cover"
    };
    for pack in PackSet::built_in().known().filter(memory) {
        assert!(NEVER_PASS.contains(&pack.id()), "{} has figures from memory", pack.id());
    }
}

fn gb() -> PackSet {
    PackSet::built_in().region_set("GB").unwrap()
}

fn joist(depth: f64, span: f64) -> Member {
    member_by_hand(
        MemberKind::Joist,
        Section::Rectangle { breadth_mm: 47.0, depth_mm: depth },
        span,
    )
}

/// Every pack, with some of the members that it applies to.
fn cases() -> Vec<(PackSet, Member)> {
    let mut cases = Vec::new();
    for pack in PackSet::built_in().known() {
        let packs = PackSet::built_in().choose(&[pack.id()]).unwrap();
        let applies = |member: &Member| {
            let told = limits(member, &packs, &RuleSettings::default());
            told.packs.iter().any(|id| id == pack.id())
        };
        let of_pack: Vec<Member> = everyone().into_iter().filter(applies).collect();
        let step = of_pack.len().div_ceil(8).max(1);
        cases.extend(of_pack.into_iter().rev().step_by(step).map(|m| (packs.clone(), m)));
    }
    cases
}

/// The probe as a kind of cut that can be made in such a member.
fn made_in(member: &Member, probe: Probe) -> Probe {
    let usual = crate::limits::kinds(member).0;
    if usual.contains(&probe.kind) && member.kind != MemberKind::Plate {
        return probe;
    }
    let size = probe.height_mm.min(member.section.breadth_mm() - 5.0);
    Probe { offset_mm: 0.0, ..Probe::hole(size, 0.0).as_kind(usual[0]) }
}

/// The member seen from its other side: x becomes length − x.
fn mirrored(member: &Member) -> Member {
    let length = member.length_mm;
    let turn = |from: f64, to: f64| (length - to, length - from);
    let mut other = member.clone();
    let last = u32::try_from(other.bearings.len()).unwrap() - 1;
    for bearing in &mut other.bearings {
        (bearing.from_mm, bearing.to_mm) = turn(bearing.from_mm, bearing.to_mm);
    }
    other.bearings.reverse();
    for span in &mut other.spans {
        (span.from_mm, span.to_mm) = turn(span.from_mm, span.to_mm);
        let ends = (span.to_bearing.map(|b| last - b), span.from_bearing.map(|b| last - b));
        (span.from_bearing, span.to_bearing) = ends;
    }
    other.spans.reverse();
    for load in &mut other.loads {
        (load.from_mm, load.to_mm) = turn(load.from_mm, load.to_mm);
    }
    other
}

fn any_probe() -> impl Strategy<Value = Probe> {
    prop_oneof![
        (5.0..70.0_f64, -20.0..20.0_f64).prop_map(|(d, z)| Probe::hole(d, z)),
        (5.0..80.0_f64, 3.0..40.0_f64).prop_map(|(w, d)| Probe::notch(CutKind::TopNotch, w, d)),
    ]
}

/// Packs whose windows are tried, with a member that they apply to.
fn any_case() -> impl Strategy<Value = (PackSet, Member)> {
    prop_oneof![
        5 => proptest::sample::select(cases()),
        1 => (100.0..250.0_f64, 1500.0..5000.0_f64).prop_map(|(d, l)| (gb(), joist(d, l))),
        1 => (100.0..250.0_f64, 1500.0..5000.0_f64).prop_map(|(d, l)| {
            (PackSet::built_in().choose(&["uk-warranty-joist"]).unwrap(), joist(d, l))
        }),
        1 => (140.0..290.0_f64, 1500.0..5000.0_f64)
            .prop_map(|(d, l)| (PackSet::built_in().region_set("US").unwrap(), joist(d, l))),
        1 => (140.0..290.0_f64, 1500.0..5000.0_f64)
            .prop_map(|(d, l)| (PackSet::built_in().region_set("CA").unwrap(), joist(d, l))),
    ]
}

proptest! {
    #[test]
    fn windows_agree_with_the_verdict(
        (packs, member) in any_case(),
        probe in any_probe(),
        others in proptest::collection::vec((any_probe(), 0.0..1.0_f64), 0..3),
        places in proptest::collection::vec(0.0..1.0_f64, 8),
    ) {
        let probe = made_in(&member, probe);
        let span = member.spans[0];
        let x_of = |part: f64| span.from_mm + part * span.length_mm();
        let neighbours: Vec<Cut> = others
            .iter()
            .map(|(p, x)| at(&member, &made_in(&member, *p), x_of(*x)))
            .collect();
        let found = windows(&member, &probe, &neighbours, &packs, &RuleSettings::default());
        let judge = |x: f64| {
            let mut cuts = vec![at(&member, &probe, x)];
            cuts.extend(neighbours.iter().cloned());
            let situation = Situation {
                members: std::slice::from_ref(&member), services: &[], openings: &[], cuts: &cuts,
            };
            check(&situation, &packs, &RuleSettings::default()).cuts.swap_remove(0)
        };
        let judged = |x: f64| judge(x).verdict;
        for (from, to) in &found {
            prop_assert_eq!(judged(*from), Verdict::Pass);
            prop_assert_eq!(judged(*to), Verdict::Pass);
            prop_assert_eq!(judged(f64::midpoint(*from, *to)), Verdict::Pass);
        }
        let away = |x: f64| {
            found.iter().map(|(from, to)| (from - x).max(x - to)).fold(f64::INFINITY, f64::min)
        };
        let ends = found.iter().flat_map(|(from, to)| [from - 0.1, to + 0.1]);
        for x in ends.chain(places.into_iter().map(x_of)) {
            // A centre-to-centre distance at different levels changes by less than the place.
            // Windows are places within the span; what may be cut freely may be so over a bearing.
            let in_span = span.from_mm <= x && x <= span.to_mm;
            if in_span && away(x) >= 0.099 && (away(x) > 5.0 || neighbours.is_empty()) {
                // Windows are on exact limits; a cut that misses one by a hair passes all the same.
                let by_a_hair = judge(x).margin_mm.is_some_and(|mm| (-0.0501..0.0).contains(&mm));
                prop_assert!(by_a_hair || judged(x) != Verdict::Pass, "at {}", x);
            } else if away(x) <= 0.0 {
                prop_assert_eq!(judged(x), Verdict::Pass, "at {}", x);
            }
        }
    }

    #[test]
    fn mirrored_members_have_mirrored_verdicts(
        (packs, member) in any_case(),
        cuts in proptest::collection::vec((any_probe(), 0.0..1.0_f64), 1..4),
    ) {
        let span = member.spans[0];
        let other = mirrored(&member);
        let (mut there, mut back) = (Vec::new(), Vec::new());
        for (probe, part) in &cuts {
            let probe = made_in(&member, *probe);
            let x = span.from_mm + part * span.length_mm();
            there.push(at(&member, &probe, x));
            back.push(at(&other, &probe, member.length_mm - x));
        }
        let judge = |member: &Member, cuts: &[Cut]| {
            let situation = Situation {
                members: std::slice::from_ref(member), services: &[], openings: &[], cuts,
            };
            check(&situation, &packs, &RuleSettings::default())
        };
        let (there, back) = (judge(&member, &there), judge(&other, &back));
        for (a, b) in there.cuts.iter().zip(&back.cuts) {
            prop_assert_eq!(a.verdict, b.verdict);
            prop_assert_eq!(a.tight, b.tight);
            match (a.margin_mm, b.margin_mm) {
                (Some(a), Some(b)) => prop_assert!((a - b).abs() < 1e-6),
                (a, b) => prop_assert_eq!(a, b),
            }
        }
        prop_assert_eq!(there.findings.len(), back.findings.len());
    }

    #[test]
    fn a_smaller_cut_or_one_in_the_middle_of_its_zone_is_never_worse(
        (packs, member) in any_case(),
        probe in any_probe(),
        part in 0.0..1.0_f64,
        smaller in 0.1..1.0_f64,
    ) {
        let probe = made_in(&member, probe);
        let span = member.spans[0];
        let x = span.from_mm + part * span.length_mm();
        let before = verdict(&member, &[at(&member, &probe, x)], &packs);
        let less = Probe {
            width_mm: probe.width_mm * smaller,
            height_mm: probe.height_mm * smaller,
            bit_mm: probe.bit_mm * smaller,
            ..probe
        };
        prop_assert!(verdict(&member, &[at(&member, &less, x)], &packs) <= before);
        for (from, to) in windows(&member, &probe, &[], &packs, &RuleSettings::default()) {
            let middle = at(&member, &probe, f64::midpoint(from, to));
            prop_assert!(verdict(&member, &[middle], &packs) <= before);
        }
    }
}
