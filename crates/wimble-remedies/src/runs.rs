//! What would make every crossing of a straight run comply.

use crate::none::{none, passed};
use crate::one_cut::{falls, name, wants};
use crate::pair::with_another;
use crate::search::{Found, Goal, Search, Ways};
use crate::shop::{Mover, Shop};
use crate::words;
use glam::DVec3;
use wimble_model::{Action, Cut, CutIx, Member, MemberIx, Remedy, RunMove, RunPlan, Verdict};

/// A shift both ways that is this much shorter than one in a single direction is worth it, mm.
const WORTH_MM: f64 = 1.0;

/// A plan, and the shifts as remedies, the nearest first.
#[derive(Debug)]
pub(crate) struct OfRun {
    pub(crate) plan: RunPlan,
    pub(crate) remedies: Vec<Remedy>,
}

/// What is wanted of a run's cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wanted {
    /// All pass.
    Pass,
    /// Those that fail pass; what only an engineer or a fact can settle stays.
    NoFail,
    /// Those that fail pass or come before the engineer.
    Refer,
}

/// The plan of a run that has a cut which does not pass.
pub(crate) fn of_run(shop: &Shop<'_>, mover: &Mover) -> Option<OfRun> {
    let (cuts, worst) = wanting(shop, mover)?;
    match shift(shop, mover, &cuts, worst)? {
        Ok(found) => Some(found),
        Err(_) if let Some(pair) = with_another(shop, mover, &cuts, worst) => Some(pair),
        Err(sure) => {
            let text = none(shop, mover, worst, sure);
            let services = mover.pieces.clone();
            let plan = RunPlan { services, cuts, moves: Vec::new(), least: sure, text };
            Some(OfRun { plan, remedies: Vec::new() })
        }
    }
}

/// What moves for a run, without a word where nothing serves.
pub(crate) fn moves_of(shop: &Shop<'_>, mover: &Mover) -> Option<Vec<RunMove>> {
    let (cuts, worst) = wanting(shop, mover)?;
    let found = shift(shop, mover, &cuts, worst)?.ok();
    Some(found.or_else(|| with_another(shop, mover, &cuts, worst))?.plan.moves)
}

/// The cuts of a run that do not pass, and the worst of them.
fn wanting<'a>(shop: &Shop<'a>, mover: &Mover) -> Option<(Vec<CutIx>, &'a Cut)> {
    let mut cuts = shop.cuts_of(&mover.pieces);
    cuts.retain(|ix| shop.cut(*ix).is_some_and(wants));
    let worst = cuts
        .iter()
        .filter_map(|ix| shop.cut(*ix))
        .max_by(|a, b| a.verdict.cmp(&b.verdict).then(b.member.cmp(&a.member)))?;
    Some((cuts, worst))
}

/// The least shift of a run, or whether every shift was ruled out.
fn shift(
    shop: &Shop<'_>,
    mover: &Mover,
    cuts: &[CutIx],
    worst: &Cut,
) -> Option<Result<OfRun, bool>> {
    let member = shop.scene.members.get(worst.member.at())?;
    let mut sure = true;
    // What is for the engineer alone is no reason to move.
    let ways: &[Wanted] = match worst.verdict {
        Verdict::Fail => &[Wanted::Pass, Wanted::NoFail, Wanted::Refer],
        _ => &[Wanted::Pass],
    };
    for &wanted in ways {
        let (shifts, ruled_out) = shifts(shop, mover, member, wanted);
        sure &= ruled_out;
        let Some((least, vector)) = shifts.first().copied() else { continue };
        let remedies: Vec<Remedy> = shifts
            .iter()
            .map(|(found, vector)| remedy(shop, mover, worst, member, wanted, *found, *vector))
            .collect();
        let plan = RunPlan {
            services: mover.pieces.clone(),
            cuts: cuts.to_vec(),
            moves: vec![RunMove { services: mover.pieces.clone(), vector_m: vector.to_array() }],
            least: least.least,
            text: remedies.first()?.text.clone(),
        };
        return Some(Ok(OfRun { plan, remedies }));
    }
    Some(Err(sure))
}

/// The least shifts along, up or down, both ways and aside, the nearest first; and whether every
/// other was ruled out.
fn shifts(
    shop: &Shop<'_>,
    mover: &Mover,
    member: &Member,
    wanted: Wanted,
) -> (Vec<(Found, DVec3)>, bool) {
    let aims = |m: MemberIx| {
        let now = shop.now(m, mover)?;
        Some(match (wanted, now) {
            (Wanted::Pass, _) | (_, Verdict::Pass) => Verdict::Pass,
            (Wanted::NoFail, Verdict::Fail) => Verdict::Pass,
            (Wanted::Refer, Verdict::Fail) => Verdict::Refer,
            (_, now) => now,
        })
    };
    let frame = &member.frame;
    let goal = Goal { aims: &aims, all_of: None, may_leave: false, base: Vec::new() };
    let search = Search::new(shop, mover, frame.x, frame.z, &goal);
    let mut found: Vec<(Found, DVec3)> = Vec::new();
    let mut take = |search: &Search<'_, '_>, least: Option<Found>| {
        if let Some(least) = least.filter(|f| f.length() > 0.0) {
            found.push((least, search.vector_m(least.along_mm, least.up_mm)));
        }
    };
    let mut sure = true;
    let straight = frame.turn(mover.along).y.abs() > 0.2;
    if straight {
        let (along, up) = (search.least(Ways::Along), search.least(Ways::UpOrDown));
        let single = [along, up].into_iter().flatten().map(|f| f.length()).reduce(f64::min);
        take(&search, along);
        take(&search, up);
        let both = search.least(Ways::Both);
        take(&search, both.filter(|b| single.is_none_or(|s| b.length() < s - WORTH_MM)));
    } else {
        // It rises through a member or runs in it: aside, into the bay.
        let goal = Goal { may_leave: true, ..goal };
        let aside = Search::new(shop, mover, frame.y(), frame.z, &goal);
        take(&aside, aside.least(Ways::Along));
        sure &= aside.is_sure();
        let along = search.least(Ways::Along);
        take(&search, along);
    }
    sure &= search.is_sure();
    found.sort_by(|a, b| a.0.length().total_cmp(&b.0.length()));
    (found, sure)
}

fn remedy(
    shop: &Shop<'_>,
    mover: &Mover,
    cut: &Cut,
    member: &Member,
    wanted: Wanted,
    found: Found,
    vector: DVec3,
) -> Remedy {
    let way = member.frame.turn(vector) * 1000.0;
    let what = name(shop, cut, mover);
    let ways = ways(cut, member, vector);
    let members = passed(shop, mover);
    let where_to = match (members.len(), wanted) {
        (0 | 1, Wanted::Pass) => String::new(),
        (2, Wanted::Pass) => ", which makes it pass in both members".to_owned(),
        (n, Wanted::Pass) => format!(", which makes it pass in all {n} members"),
        (_, Wanted::NoFail | Wanted::Refer) => {
            ", which leaves only what the engineer has to say or a fact that is missing".to_owned()
        }
    };
    let drains = if way.z.abs() > 1e-6 { falls(shop, mover) } else { String::new() };
    let sure = if found.least { "" } else { " (a shorter shift is not ruled out)" };
    let text = format!("Shift the run of {what} {ways}{where_to}{drains}{sure}.");
    Remedy {
        action: Action::ShiftRun { vector_m: vector.to_array() },
        services: mover.pieces.clone(),
        text,
    }
}

/// How far and which way, in words.
pub(crate) fn ways(cut: &Cut, member: &Member, vector: DVec3) -> String {
    let way = member.frame.turn(vector) * 1000.0;
    let mut ways = Vec::new();
    if way.x.abs() > 1e-6 {
        ways.push(format!("{} {}", words::mm(way.x), words::way_along(member, cut, way.x)));
    }
    if way.y.abs() > 1e-6 {
        let aside = if way.y > 0.0 { member.frame.y() } else { -member.frame.y() };
        ways.push(format!(
            "{} sideways, {}, clear of {}",
            words::mm(way.y),
            words::compass(aside),
            words::member(member)
        ));
    }
    if way.z.abs() > 1e-6 {
        ways.push(format!("{}{}", words::mm(way.z), words::up_or_across(member, way.z)));
    }
    ways.join(" and ")
}
