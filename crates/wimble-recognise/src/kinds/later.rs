//! Kinds and roles as far as neighbours tell them.

use super::{First, Pitch};
use crate::stick::Stick;
use rayon::prelude::*;
use wimble_model::{Basis, Bearing, MemberKind, Role};

/// A carried end farther than this from both bearings of the carrier lies inside its span, mm.
const INSIDE_MM: f64 = 25.0;
/// A member this short between two others is strutting unless something ends on it, mm.
const SHORT_MM: f64 = 1300.0;
/// Faces of plies are at most this far apart, mm.
const PLY_GAP_MM: f64 = 12.0;
/// Plies lie beside each other over this share of the longer.
const PLY_LENGTH: f64 = 0.6;
/// Plies lie at one level within this, mm.
const PLY_LEVEL_MM: f64 = 5.0;
/// Cosine above which plies are parallel.
const PARALLEL: f64 = 0.999_4;

/// What a member carries.
#[derive(Debug, Clone, Default)]
pub(crate) struct Carried {
    /// Members whose end it carries, with the x (of the carrier) where.
    pub(crate) ends: Vec<(u32, f64)>,
    /// Members that lie on it with an outer bearing but pass over it or rest on top.
    pub(crate) on_top: u32,
}

/// What each member carries, from everybody's bearings.
pub(crate) fn carried(sticks: &[&Stick], bearings: &[&[Bearing]]) -> Vec<Carried> {
    let mut carried = vec![Carried::default(); sticks.len()];
    for (me, list) in (0u32..).zip(bearings) {
        for bearing in *list {
            let Some(ix) = bearing.member else { continue };
            let (Some(carrier), Some(stick), Some(row)) =
                (sticks.get(ix.at()), sticks.get(me as usize), carried.get_mut(ix.at()))
            else {
                continue;
            };
            let hung = matches!(bearing.basis, Basis::EndFace | Basis::Hanger);
            let x = f64::midpoint(bearing.from_mm, bearing.to_mm);
            let at = stick.frame.world_m(glam::DVec3::new(x, 0.0, 0.0));
            if hung {
                row.ends.push((me, carrier.frame.local_mm(at).x));
            } else {
                row.on_top += 1;
            }
        }
    }
    carried
}

/// The kind that a member has when its neighbours are known.
pub(crate) fn later(
    first: First,
    stick: &Stick,
    pitch: Pitch,
    carried: &Carried,
    bearings: &[Bearing],
    along: bool,
) -> MemberKind {
    let between =
        |b: &&Bearing| b.member.is_some() && matches!(b.basis, Basis::EndFace | Basis::Hanger);
    let strutting = !first.said
        && !pitch.is_row()
        && !first.trimmer
        && !stick.is_steep()
        && stick.length_mm < SHORT_MM
        && bearings.iter().filter(between).count() == 2
        && carried.ends.is_empty()
        && carried.on_top == 0
        && matches!(
            first.kind,
            MemberKind::Unknown | MemberKind::Joist | MemberKind::Beam | MemberKind::Plate
        );
    if strutting {
        return MemberKind::Blocking;
    }
    if first.said {
        return first.kind;
    }
    // Lying flat along something that carries it: a plate.
    let flat = stick.section.breadth_mm() > stick.section.depth_mm() + 1.0;
    if flat && along && !stick.is_steep() {
        return MemberKind::Plate;
    }
    match first.kind {
        MemberKind::Unknown if carried.ends.len() + carried.on_top as usize >= 1 => {
            MemberKind::Beam
        }
        MemberKind::Joist if pitch.neighbours < 2 && carried.on_top >= 2 => MemberKind::Beam,
        other => other,
    }
}

/// Roles: plies first, then what carries ends and what is carried.
pub(crate) fn roles(
    sticks: &[&Stick],
    kinds: &[MemberKind],
    firsts: &[First],
    bearings: &[&[Bearing]],
    carried: &[Carried],
) -> Vec<Option<Role>> {
    let level = |kind: &MemberKind| {
        matches!(kind, MemberKind::Joist | MemberKind::Beam | MemberKind::Rim | MemberKind::Unknown)
    };
    // A member that carries other joists' ends inside its span and itself hangs at both ends.
    let trimmer = |i: usize| {
        let inside = carried_inside(i, bearings, carried).count();
        let hung = bearings.get(i).map_or(0, |list| {
            list.iter()
                .filter(|b| b.member.is_some() && matches!(b.basis, Basis::EndFace | Basis::Hanger))
                .count()
        });
        let beam = sticks.get(i).is_none_or(|s| s.length_mm <= 0.0);
        !beam && inside >= 1 && hung >= 2
    };
    let trimmers: Vec<bool> = (0..sticks.len())
        .into_par_iter()
        .map(|i| {
            kinds.get(i).is_some_and(level)
                && (trimmer(i) || firsts.get(i).is_some_and(|f| f.trimmer))
        })
        .collect();
    (0..sticks.len())
        .into_par_iter()
        .map(|i| {
            if !kinds.get(i).is_some_and(level) {
                return None;
            }
            if trimmers.get(i) == Some(&true) {
                return Some(Role::Trimmer);
            }
            let is_joist = kinds.get(i) == Some(&MemberKind::Joist);
            if is_joist && carried_inside(i, bearings, carried).next().is_some() {
                return Some(Role::Trimming);
            }
            let at_trimmer = bearings.get(i).is_some_and(|list| {
                list.iter().any(|b| {
                    b.member.is_some_and(|m| trimmers.get(m.at()) == Some(&true))
                        && matches!(b.basis, Basis::EndFace | Basis::Hanger)
                })
            });
            (is_joist && at_trimmer).then_some(Role::Trimmed)
        })
        .collect()
}

/// Members whose ends a member carries inside one of its spans.
fn carried_inside<'a>(
    i: usize,
    bearings: &'a [&'a [Bearing]],
    carried: &'a [Carried],
) -> impl Iterator<Item = u32> + 'a {
    let own = bearings.get(i).copied().unwrap_or_default();
    carried.get(i).into_iter().flat_map(|c| &c.ends).filter_map(move |&(who, x)| {
        let free = own.iter().all(|b| x < b.from_mm - INSIDE_MM || x > b.to_mm + INSIDE_MM);
        free.then_some(who)
    })
}

/// Whether two members are plies of one: parallel, faces within 12 mm, at one level, beside each
/// other over 60 % of the longer.
pub(crate) fn are_plies(a: &Stick, b: &Stick) -> bool {
    if a.is_steep() || a.frame.x.dot(b.frame.x).abs() < PARALLEL {
        return false;
    }
    let (long, other) = if a.length_mm >= b.length_mm { (a, b) } else { (b, a) };
    let middle = long.frame.local_mm(other.middle_m());
    let gap = middle.y.abs() - 0.5 * (long.section.breadth_mm() + other.section.breadth_mm());
    let tops = middle.z + 0.5 * (other.section.depth_mm() - long.section.depth_mm());
    let bottoms = middle.z - 0.5 * (other.section.depth_mm() - long.section.depth_mm());
    gap.abs() <= PLY_GAP_MM
        && tops.abs() <= PLY_LEVEL_MM
        && bottoms.abs() <= PLY_LEVEL_MM
        && super::pitch::overlap(&long.frame, long.length_mm, other) >= PLY_LENGTH * long.length_mm
}
