//! Two runs in each other's way, where no shift of the one alone serves: both are moved.

use crate::none::passed;
use crate::one_cut::name;
use crate::runs::{OfRun, ways};
use crate::search::{Found, Goal, Search, Together, Ways, changes};
use crate::shop::{Aim, Mover, Shop};
use glam::DVec3;
use wimble_cross::Change;
use wimble_model::{Cut, CutIx, CutKind, Member, RunMove, RunPlan, Verdict};

/// How many other runs are tried, the nearest first.
const OTHERS: usize = 3;
/// How many places of the first run are tried for each.
const CHOICES: usize = 8;
/// How many levels of each are tried with those of the other.
const LEVELS: usize = 4;
/// Only what cuts the member within this of it may be in the way, mm.
const NEAR_MM: f64 = 1500.0;

/// A pair moved up or down as well is worth it where that is so much shorter, mm.
const WORTH_MM: f64 = 1.0;

/// Two shifts that bring both runs to pass.
struct Both {
    first: DVec3,
    second: DVec3,
    /// Both are along the members, and no two shorter ones along them serve.
    least: bool,
}

impl Both {
    fn length_mm(&self) -> f64 {
        1000.0 * (self.first.length() + self.second.length())
    }
}

/// The shift of a run together with one that moves before it: the least sum of two shifts along
/// the members, which is exact; up or down as well at some levels of both, and with the run as near
/// as it may be and the other by its least shift beside it, which is a good answer, not proved to
/// be the least of all, and taken where it is shorter.
pub(crate) fn with_another(
    shop: &Shop<'_>,
    mover: &Mover,
    cuts: &[CutIx],
    worst: &Cut,
) -> Option<OfRun> {
    let member = shop.scene.members.get(worst.member.at())?;
    if member.frame.turn(mover.along).y.abs() < 0.2 || worst.verdict != Verdict::Fail {
        return None;
    }
    others(shop, mover)
        .into_iter()
        .filter_map(|other| Some((together(shop, member, mover, &other)?, other)))
        .min_by(|a, b| a.0.length_mm().total_cmp(&b.0.length_mm()))
        .map(|(both, other)| plan(shop, (mover, &other), cuts, worst, &both))
}

/// Runs that move before this one and cut the same members near it, the nearest first.
fn others(shop: &Shop<'_>, mover: &Mover) -> Vec<Mover> {
    let mut found: Vec<(f64, Mover)> = Vec::new();
    for ix in passed(shop, mover) {
        let (_, cuts) = shop.cuts_in(ix);
        let own = |cut: &&Cut| cut.services.iter().any(|s| mover.pieces.contains(s));
        for (here, cut) in
            cuts.iter().filter(own).flat_map(|own| cuts.iter().map(move |cut| (own, cut)))
        {
            let away = (cut.mid_x_mm() - here.mid_x_mm()).abs();
            let theirs = cut.services.iter().filter(|s| !cut.besides.inside.contains(s));
            for service in theirs.filter(|s| away < NEAR_MM && !mover.pieces.contains(s)) {
                if let Some((least, _)) =
                    found.iter_mut().find(|(_, other)| other.pieces.contains(service))
                {
                    *least = least.min(away);
                } else if let Some(other) = shop.mover(*service)
                    && shop.rank(&other) > shop.rank(mover)
                {
                    found.push((away, other));
                }
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, other)| other).take(OTHERS).collect()
}

/// The least pair of shifts that was found.
fn together(shop: &Shop<'_>, member: &Member, mover: &Mover, other: &Mover) -> Option<Both> {
    let (x, z) = (member.frame.x, member.frame.z);
    let goal = |base: Vec<Change>| Goal {
        aims: &|_| Some(Verdict::Pass),
        all_of: None,
        may_leave: false,
        base,
    };
    let gone = |of: &Mover| of.pieces.iter().map(|s| Change::gone(*s)).collect();
    let first = Search::new(shop, mover, x, z, &goal(gone(other)));
    let parallel = mover.along.cross(other.along).length() < 1e-6;
    let second = parallel.then(|| Search::new(shop, other, x, z, &goal(gone(mover))));
    let along = |second| at_levels([&first, second], [0.0, 0.0], f64::INFINITY);
    let mut best = second.as_ref().and_then(along);
    let choices = first.choices(CHOICES);
    if let Some(second) = &second {
        best = at_other_levels([&first, second], &choices, best);
    }
    // The other wherever it comes to, beside the first where that is nearest.
    for Found { along_mm, up_mm, .. } in choices {
        let by = first.vector_m(along_mm, up_mm);
        let limit = worth(best.as_ref());
        if 1000.0 * by.length() >= limit {
            break;
        }
        let second = Search::new(shop, other, x, z, &goal(changes(shop, mover, by)));
        let Some(least) = second.least(Ways::Both) else { continue };
        let second = second.vector_m(least.along_mm, least.up_mm);
        let both = Both { first: by, second, least: false };
        if both.length_mm() < limit && serves(shop, [(mover, both.first), (other, both.second)]) {
            best = Some(both);
        }
    }
    best
}

/// How short a pair has to be to be taken instead of one: up or down as well only where it is
/// worth it, mm.
fn worth(best: Option<&Both>) -> f64 {
    match best {
        Some(both) if both.least => both.length_mm() - WORTH_MM,
        Some(both) => both.length_mm(),
        None => f64::INFINITY,
    }
}

/// The least pair of two parallel runs that are moved up by so much, if it is shorter than `most`.
fn at_levels<'a>(searches: [&Search<'_, 'a>; 2], up_mm: [f64; 2], most: f64) -> Option<Both> {
    let together = Together::new(searches, up_mm);
    let (shifts, sure) = together.least(most);
    let two = shifts.filter(|two| together.length(*two) < most)?;
    let [first, second] = [0, 1].map(|n| searches[n].vector_m(two.0[n], up_mm[n]));
    Some(Both { first, second, least: sure && up_mm == [0.0, 0.0] })
}

/// The same at those levels that take least where the other is not there (`choices` of the
/// first), where that is worth it.
fn at_other_levels(
    searches: [&Search<'_, '_>; 2],
    choices: &[Found],
    mut best: Option<Both>,
) -> Option<Both> {
    let theirs = searches[1].choices(LEVELS);
    let mut levels: Vec<(f64, [f64; 2])> = Vec::new();
    for a in choices.iter().take(LEVELS) {
        levels.extend(theirs.iter().map(|b| (a.length() + b.length(), [a.up_mm, b.up_mm])));
    }
    levels.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (at_least, up_mm) in levels.into_iter().filter(|(_, up)| *up != [0.0, 0.0]) {
        let most = worth(best.as_ref());
        if at_least >= most {
            break;
        }
        best = at_levels(searches, up_mm, most).or(best);
    }
    best
}

/// Whether every cut of both passes and no other is worse.
fn serves(shop: &Shop<'_>, moves: [(&Mover, DVec3); 2]) -> bool {
    let all: Vec<Change> = moves.iter().flat_map(|(mover, by)| changes(shop, mover, *by)).collect();
    shop.prove(&all, &|_| Some(Aim::default())).is_ok()
}

fn plan(
    shop: &Shop<'_>,
    (mover, other): (&Mover, &Mover),
    cuts: &[CutIx],
    worst: &Cut,
    both: &Both,
) -> OfRun {
    let mut moves = Vec::new();
    let mut said = Vec::new();
    for (mover, by) in [(mover, both.first), (other, both.second)] {
        if by.length() == 0.0 {
            continue;
        }
        // Said of a cut of its own, in the words of the member that it is in.
        let cut = own_cut(shop, mover, worst);
        let member = cut.and_then(|cut| shop.scene.members.get(cut.member.at()));
        if let (Some(cut), Some(member)) = (cut, member) {
            let way = ways(cut, member, by);
            said.push(format!("the run of {} {way}", name(shop, cut, mover)));
        }
        moves.push(RunMove { services: mover.pieces.clone(), vector_m: by.to_array() });
    }
    let sure = if both.least {
        "; no two shorter shifts of them along the members do"
    } else {
        " (shorter shifts of the two are not ruled out)"
    };
    let text = format!(
        "No shift of it alone serves. Shift {}: both then pass everywhere{sure}.",
        said.join(", and ")
    );
    let services = mover.pieces.clone();
    let plan = RunPlan { services, cuts: cuts.to_vec(), moves, least: both.least, text };
    OfRun { plan, remedies: Vec::new() }
}

/// A cut of a mover in the member of another, else its first.
fn own_cut<'a>(shop: &Shop<'a>, mover: &Mover, beside: &Cut) -> Option<&'a Cut> {
    let cuts = shop.cuts_of(&mover.pieces);
    let mut own = cuts.iter().filter_map(|ix| shop.cut(*ix));
    let across = own.clone().filter(|cut| cut.kind != CutKind::Joinery);
    across.clone().find(|cut| cut.member == beside.member).or_else(|| own.next())
}
