//! Where no shift serves: which members prevent it, and what would serve.

use crate::deeper::deeper;
use crate::one_cut::{name, wants};
use crate::search::{Free, Goal, Search, Ways};
use crate::shop::{Aim, Fault, Mover, Shop};
use crate::sizes::{resized, sizes};
use crate::words;
use glam::DVec3;
use wimble_model::{
    Cut, CutKind, Member, MemberIx, MemberKind, Service, ServiceShape, Trade, Verdict,
};
use wimble_recognise::ServiceBody;
use wimble_rules::StandardPipe;

/// How far to each side of a member the next one is looked for, metres.
const BAY_M: f64 = 2.0;

/// Members that a run passes, sorted.
pub(crate) fn passed(shop: &Shop<'_>, mover: &Mover) -> Vec<MemberIx> {
    let mut members: Vec<MemberIx> = shop
        .cuts_of(&mover.pieces)
        .iter()
        .filter_map(|ix| shop.cut(*ix))
        .map(|cut| cut.member)
        .collect();
    members.dedup();
    members
}

/// Why no shift of a run serves, and what would. `sure`: every shift was ruled out.
pub(crate) fn none(shop: &Shop<'_>, mover: &Mover, worst: &Cut, sure: bool) -> String {
    let what = name(shop, worst, mover);
    let why = why(shop, mover);
    let ways = ways(shop, mover, worst);
    let ways = if ways.is_empty() {
        "The engineer has to say".to_owned()
    } else {
        format!("What would serve: {}; else the engineer has to say", ways.join(", or "))
    };
    let serves = if sure { "serves" } else { "was found that serves" };
    format!("No shift of the run of {what} {serves}: {why}. {ways}.")
}

/// The members that would not let it pass anywhere even if it passed no other; where each would, what
/// is in the way there.
fn why(shop: &Shop<'_>, mover: &Mover) -> String {
    let members = passed(shop, mover);
    let called = |ixs: &[MemberIx]| -> String {
        let members = ixs.iter().filter_map(|ix| shop.scene.members.get(ix.at()));
        words::list(members.map(words::member).collect())
    };
    let preventing: Vec<MemberIx> =
        members.iter().copied().filter(|ix| allows_nowhere(shop, mover, *ix)).collect();
    let all = called(&members);
    let allow = if members.len() == 1 { "allows" } else { "allow" };
    match preventing.as_slice() {
        [] => {}
        [only] => return format!("{} allows it nowhere", called(&[*only])),
        several => return format!("{} allow it nowhere", called(several)),
    }
    let there = format!("at the nearest place that {all} {allow}");
    match in_the_way(shop, mover) {
        Some(Fault::Member(other)) if !members.contains(&other) => {
            let other = called(&[other]);
            format!("{there} it would go through {other} too, which does not allow it there")
        }
        Some(Fault::Member(_)) => {
            format!("{there} it would be one cut with another or make one worse")
        }
        Some(Fault::Near(service)) => {
            let service = shop.scene.services.get(service.at());
            let service = service.map_or_else(|| "another service".to_owned(), words::service);
            format!("{there} it would come too near to {service}")
        }
        None => format!("what {all} {allow} does not come together"),
    }
}

/// Whether a member would not let a run pass at any place and level even if it passed no other.
fn allows_nowhere(shop: &Shop<'_>, mover: &Mover, ix: MemberIx) -> bool {
    let Some(member) = shop.scene.members.get(ix.at()) else { return false };
    let aims = |m: MemberIx| Some(if m == ix { Verdict::Pass } else { Verdict::Fail });
    let goal = Goal { aims: &aims, all_of: None, may_leave: false, base: Vec::new() };
    let search = Search::new(shop, mover, member.frame.x, member.frame.z, &goal);
    match search.nearest_free() {
        Free::Nowhere => true,
        Free::At(..) => false,
        Free::NotKnown => search.least(Ways::Both).is_none(),
    }
}

/// What refuses a run at the nearest place that all its members' limits allow; `None` where there is
/// no such place.
fn in_the_way(shop: &Shop<'_>, mover: &Mover) -> Option<Fault> {
    let first = shop.scene.members.get(passed(shop, mover).first()?.at())?;
    let aims = |_: MemberIx| Some(Verdict::Pass);
    let goal = Goal { aims: &aims, all_of: None, may_leave: false, base: Vec::new() };
    let search = Search::new(shop, mover, first.frame.x, first.frame.z, &goal);
    match search.nearest_free() {
        Free::At(along_mm, up_mm) => search.fault_at(along_mm, up_mm),
        Free::Nowhere | Free::NotKnown => None,
    }
}

/// What would serve besides a shift.
fn ways(shop: &Shop<'_>, mover: &Mover, worst: &Cut) -> Vec<String> {
    let mut ways = Vec::new();
    if let Some(pipe) = smaller_everywhere(shop, mover, worst) {
        ways.push(format!("{} ({} outside)", pipe.name, words::mm(pipe.outside_mm)));
    }
    if let Some(depth) = deeper_everywhere(shop, mover) {
        ways.push(format!("members {} deep", words::mm(depth)));
    }
    if let Some(clear) = clear_bay(shop, worst) {
        let needs = width(shop, worst) + 2.0 * reach(shop, worst);
        if needs > 0.0 && needs <= clear {
            ways.push(format!("to run between the members, {} clear there", words::mm(clear)));
        }
    }
    ways
}

/// A smaller size at which the run passes where it is.
fn smaller_everywhere(shop: &Shop<'_>, mover: &Mover, cut: &Cut) -> Option<&'static StandardPipe> {
    let service = shop.scene.services.get(cut.services.first()?.at())?;
    sizes(service).into_iter().find(|pipe| {
        resized(shop, mover, pipe.outside_mm)
            .is_some_and(|changes| shop.prove(&changes, &|_| Some(Aim::default())).is_ok())
    })
}

/// The depth at which each member where the run does not pass would let it, where it is.
fn deeper_everywhere(shop: &Shop<'_>, mover: &Mover) -> Option<f64> {
    let cuts = shop.cuts_of(&mover.pieces);
    let wanting = cuts.iter().filter_map(|ix| shop.cut(*ix)).filter(|cut| wants(cut));
    wanting.map(|cut| deeper(shop, cut)).try_fold(0.0, |most: f64, depth| Some(most.max(depth?)))
}

fn reach(shop: &Shop<'_>, cut: &Cut) -> f64 {
    cut.services.first().map_or(0.0, |s| shop.crosser.reach_mm(*s))
}

fn width(shop: &Shop<'_>, cut: &Cut) -> f64 {
    let service = cut.services.first().and_then(|s| shop.scene.services.get(s.at()));
    match service.map(|s| s.shape) {
        Some(ServiceShape::RoundMm(d)) => d,
        Some(ServiceShape::RectangleMm([a, _])) => a,
        _ => 0.0,
    }
}

/// The nearest member of the same kind on each side of a member where it is cut (across −y, then
/// across +y), with the clear width between.
fn beside<'s>(shop: &'s Shop<'_>, cut: &Cut) -> [Option<(f64, &'s Member)>; 2] {
    let mut sides = [None, None];
    let Some(member) = shop.scene.members.get(cut.member.at()) else { return sides };
    let frame = &member.frame;
    let at = frame.local_mm(cut.point_m(member)).x;
    let middle = frame.world_m(DVec3::new(at, 0.0, 0.0));
    let across = BAY_M * frame.y();
    let line = ServiceBody::Line { points: vec![middle - across, middle + across] };
    let half = member.section.breadth_mm() / 2.0;
    for ix in shop.crosser.members_near(&line) {
        let Some(other) = shop.scene.members.get(ix.at()) else { continue };
        if other.kind != member.kind || frame.x.dot(other.frame.x).abs() < 0.999 {
            continue;
        }
        let place = frame.local_mm(other.frame.origin_m);
        let start =
            if frame.x.dot(other.frame.x) > 0.0 { place.x } else { place.x - other.length_mm };
        let level = place.z.abs() < member.section.depth_mm();
        if !level || at < start || at > start + other.length_mm {
            continue;
        }
        let gap = place.y.abs() - half - other.section.breadth_mm() / 2.0;
        let Some(side) = sides.get_mut(usize::from(place.y > 0.0)) else { continue };
        if gap > 0.0 && side.is_none_or(|(least, _)| gap < least) {
            *side = Some((gap, other));
        }
    }
    sides
}

/// The clear width of the wider bay beside a member.
fn clear_bay(shop: &Shop<'_>, cut: &Cut) -> Option<f64> {
    beside(shop, cut).into_iter().flatten().map(|(gap, _)| gap).reduce(f64::max)
}

/// Whether trimming out is what one would do: something upright or too large to be drilled for
/// through a joist or a rafter (`docs/practice.md`, remedies).
pub(crate) fn may_be_trimmed_out(shop: &Shop<'_>, cut: &Cut) -> bool {
    let joist = shop
        .scene
        .members
        .get(cut.member.at())
        .is_some_and(|m| matches!(m.kind, MemberKind::Joist | MemberKind::Rafter));
    let large = |s: &Service| matches!(s.trade, Trade::Soil | Trade::Flue);
    let upright = matches!(cut.kind, CutKind::Bore | CutKind::Severed);
    let services = cut.services.iter().filter_map(|s| shop.scene.services.get(s.at()));
    joist && (upright || services.clone().any(large)) && rises_or_severs(shop, cut)
}

/// A pipe that runs through many joists is not trimmed out for.
fn rises_or_severs(shop: &Shop<'_>, cut: &Cut) -> bool {
    stopped(shop, cut).len() <= 2
}

/// The members of its kind that the services of a cut take.
fn stopped(shop: &Shop<'_>, cut: &Cut) -> Vec<MemberIx> {
    let kind = shop.scene.members.get(cut.member.at()).map(|m| m.kind);
    let mut members: Vec<MemberIx> = shop
        .cuts_of(&cut.services)
        .iter()
        .filter_map(|ix| shop.cut(*ix))
        .map(|c| c.member)
        .filter(|m| shop.scene.members.get(m.at()).map(|m| m.kind) == kind)
        .collect();
    members.dedup();
    members
}

/// Which members stop, and which then carry them.
pub(crate) fn trimmed_out(shop: &Shop<'_>, cut: &Cut) -> String {
    let stopped = stopped(shop, cut);
    let called = |ixs: &[MemberIx]| -> String {
        let members = ixs.iter().filter_map(|ix| shop.scene.members.get(ix.at()));
        words::list(members.map(words::member).collect())
    };
    // Those beside the members that stop, themselves not among them.
    let mut carry: Vec<String> = Vec::new();
    for ix in &stopped {
        let cuts = shop.cuts_in(*ix).1.iter();
        let here = cuts.filter(|c| c.services.iter().any(|s| cut.services.contains(s)));
        for (_, member) in here.flat_map(|c| beside(shop, c)).flatten() {
            let stops = stopped
                .iter()
                .filter_map(|s| shop.scene.members.get(s.at()))
                .any(|s| s.element.guid == member.element.guid);
            let called = words::member(member);
            if !stops && !carry.contains(&called) {
                carry.push(called);
            }
        }
    }
    let stop = if stopped.len() == 1 { "stops" } else { "stop" };
    let double = if carry.is_empty() {
        "the members beside them doubled".to_owned()
    } else {
        format!("{} doubled", words::list(carry))
    };
    format!(
        "Trim out: {} {stop} at a trimmer on either side of it, and {double} as trimming joists \
         carry the trimmers: a proposal to the engineer.",
        called(&stopped)
    )
}
