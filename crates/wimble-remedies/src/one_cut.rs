//! What would make one cut comply.

use crate::deeper::deeper;
use crate::search::{Found, Goal, Search, Ways};
use crate::shop::{Mover, Shop};
use crate::sizes::smaller;
use crate::words;
use wimble_cross::Change;
use wimble_model::{
    Action, Cut, CutIx, CutKind, CutPlaces, Member, Remedy, Service, Shift, Verdict,
};

/// Millimetres that the search both ways for a single cut may follow blindly.
const RATION_MM: usize = 120;

/// What was found for one cut.
#[derive(Debug)]
pub(crate) struct OfCut {
    /// Nearest first.
    pub(crate) remedies: Vec<Remedy>,
    pub(crate) places: CutPlaces,
}

/// Whether a remedy is looked for: it fails, or is for the engineer, for a service.
pub(crate) fn wants(cut: &Cut) -> bool {
    matches!(cut.verdict, Verdict::Fail | Verdict::Refer)
        && cut.kind != CutKind::Joinery
        && !cut.services.is_empty()
}

/// Everything that makes a cut pass.
pub(crate) fn of_cut(shop: &Shop<'_>, ix: CutIx) -> Option<OfCut> {
    let cut = shop.cut(ix)?;
    let member = shop.scene.members.get(cut.member.at())?;
    let mut remedies: Vec<(f64, Remedy)> = Vec::new();
    let mut proposal = None;
    for mover in choices(shop, cut) {
        let found = moves(shop, cut, member, &mover);
        let done = !found.is_empty();
        for (shift, remedy) in found {
            proposal.get_or_insert(shift);
            remedies.push((shift.along_mm.hypot(shift.depth_mm), remedy));
        }
        if let Some(remedy) = smaller_pipe(shop, cut, &mover) {
            remedies.push((f64::MAX, remedy));
        }
        if done {
            break;
        }
    }
    remedies.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut remedies: Vec<Remedy> = remedies.into_iter().map(|(_, remedy)| remedy).collect();
    remedies.extend(deeper_member(shop, cut, member));
    let places = CutPlaces { cut: ix, windows_mm: windows(shop, cut), proposal };
    Some(OfCut { remedies, places })
}

/// What may be moved for a cut: one after the other as they move first, then all of it together.
fn choices(shop: &Shop<'_>, cut: &Cut) -> Vec<Mover> {
    let Some(mut movers) = shop.movers(cut) else { return Vec::new() };
    let together = (movers.len() > 1).then(|| shop.together(&movers)).flatten();
    movers.extend(together);
    movers
}

/// Along, and up or down.
fn moves<'a>(
    shop: &Shop<'a>,
    cut: &'a Cut,
    member: &Member,
    mover: &Mover,
) -> Vec<(Shift, Remedy)> {
    let own = cut.member;
    let goal = Goal {
        aims: &|m| (m == own).then_some(Verdict::Pass),
        all_of: Some((own, &cut.services)),
        may_leave: false,
        base: Vec::new(),
    };
    let search = Search::new(shop, mover, member.frame.x, member.frame.z, &goal);
    let what = name(shop, cut, mover);
    let mut found = Vec::new();
    if let Some(Found { along_mm, .. }) = search.least(Ways::Along).filter(|f| f.length() > 0.0) {
        let text = format!(
            "Move {what} {} {}{}{}.",
            words::mm(along_mm),
            words::way_along(member, cut, along_mm),
            becomes(shop, cut, &search.changes(along_mm, 0.0)),
            elsewhere(shop, mover, cut)
        );
        let action = Action::MoveAlong { by_mm: along_mm };
        let remedy = Remedy { action, services: mover.pieces.clone(), text };
        found.push((Shift { along_mm, depth_mm: 0.0 }, remedy));
    }
    if let Some(Found { up_mm, .. }) = search.least(Ways::UpOrDown) {
        let text = format!(
            "{}{}{}.",
            words::up_or_down(member, up_mm, &what),
            becomes(shop, cut, &search.changes(0.0, up_mm)),
            falls(shop, mover)
        );
        let action = Action::MoveDepth { by_mm: up_mm };
        let remedy = Remedy { action, services: mover.pieces.clone(), text };
        found.push((Shift { along_mm: 0.0, depth_mm: up_mm }, remedy));
    }
    // Both ways costs many times more: only where one way alone does not serve.
    if !found.is_empty() {
        return found;
    }
    search.ration(RATION_MM);
    for least in both_ways(&search, cut) {
        let Found { along_mm, up_mm, .. } = least;
        let text = format!(
            "Move {what} {} {} and {}{}{}{}.",
            words::mm(along_mm),
            words::way_along(member, cut, along_mm),
            words::mm(up_mm),
            words::up_or_across(member, up_mm),
            becomes(shop, cut, &search.changes(along_mm, up_mm)),
            falls(shop, mover)
        );
        let vector = search.vector_m(along_mm, up_mm);
        let action = Action::ShiftRun { vector_m: vector.to_array() };
        let remedy = Remedy { action, services: mover.pieces.clone(), text };
        found.push((Shift { along_mm, depth_mm: up_mm }, remedy));
    }
    found
}

/// Along and up or down together; and a hole in place of a notch, or the reverse, where that is
/// another place.
fn both_ways(search: &Search<'_, '_>, cut: &Cut) -> Vec<Found> {
    let takes_both = |found: &Found| found.along_mm != 0.0 && found.up_mm != 0.0;
    let both = search.least(Ways::Both).filter(takes_both);
    let notch = |kind| matches!(kind, CutKind::TopNotch | CutKind::BottomNotch);
    let other: Option<Found> = match cut.kind {
        CutKind::TopNotch | CutKind::BottomNotch => {
            search.least_as(cut.member, &|kind| kind == CutKind::Hole)
        }
        CutKind::Hole => search.least_as(cut.member, &notch),
        _ => None,
    };
    let other = other.filter(|other| takes_both(other) && both != Some(*other));
    both.into_iter().chain(other).collect()
}

/// What it then is, if that is another kind of cut, or one with a neighbour.
pub(crate) fn becomes(shop: &Shop<'_>, cut: &Cut, changes: &[Change]) -> String {
    let after = shop.crosser.recut_changed(cut.member, changes);
    let moved = |new: &&Cut| changes.iter().any(|c| new.services.contains(&c.service));
    let Some(new) = after.iter().find(moved) else { return ", clear of the timber".to_owned() };
    let others: Vec<String> = new
        .services
        .iter()
        .filter(|s| !cut.services.contains(s))
        .filter_map(|s| shop.scene.services.get(s.at()))
        .map(words::service)
        .collect();
    let notch = |edge: &str| format!("a notch {} deep in the {edge}", words::mm(new.height_mm()));
    let what = match new.kind {
        CutKind::Hole | CutKind::WebHole => format!("a {} hole", words::mm(new.bit_mm)),
        CutKind::TopNotch => notch("top"),
        CutKind::BottomNotch => notch("bottom"),
        _ => return String::new(),
    };
    if !others.is_empty() {
        return format!(", into {what} that it shares with {}", words::list(others));
    }
    if new.kind != cut.kind {
        return format!(", for {what} instead");
    }
    if new.besides.proud_mm <= 0.0 && cut.besides.proud_mm > 0.0 {
        return ", so that it lies within the depth".to_owned();
    }
    String::new()
}

/// That it moves in other members too.
pub(crate) fn elsewhere(shop: &Shop<'_>, mover: &Mover, cut: &Cut) -> String {
    let mut members: Vec<_> = shop
        .cuts_of(&mover.pieces)
        .iter()
        .filter_map(|ix| shop.cut(*ix))
        .map(|c| c.member)
        .filter(|m| *m != cut.member)
        .collect();
    members.dedup();
    match members.len() {
        0 => String::new(),
        1 => " (it moves in one more member too)".to_owned(),
        n => format!(" (it moves in {n} more members too)"),
    }
}

/// What a drain needs besides when its level changes.
pub(crate) fn falls(shop: &Shop<'_>, mover: &Mover) -> String {
    let Some(first) = mover.pieces.first() else { return String::new() };
    let drains =
        shop.scene.services.get(first.at()).is_some_and(|service| words::drains(service.trade));
    let joined = shop.run_of(*first).iter().filter(|s| !mover.pieces.contains(s)).count();
    if drains && joined > 0 {
        "; it keeps its own fall, check that of what is joined to it".to_owned()
    } else {
        String::new()
    }
}

fn smaller_pipe<'a>(shop: &Shop<'a>, cut: &'a Cut, mover: &Mover) -> Option<Remedy> {
    let pipe = smaller(shop, mover, cut)?;
    let text = format!(
        "Use {} ({}, {} outside) for {}, if the services designer agrees.",
        pipe.name,
        pipe.system,
        words::mm(pipe.outside_mm),
        name(shop, cut, mover)
    );
    let action = Action::Smaller { to_mm: pipe.outside_mm };
    Some(Remedy { action, services: mover.pieces.clone(), text })
}

fn deeper_member(shop: &Shop<'_>, cut: &Cut, member: &Member) -> Option<Remedy> {
    let depth = deeper(shop, cut)?;
    let kept = match cut.kind {
        CutKind::TopNotch | CutKind::BottomNotch => "the notch as deep as it is",
        _ => "the hole as far from mid-depth as it is",
    };
    let text = format!(
        "Use a member {} deep for {}, {kept}: a proposal to its designer.",
        words::mm(depth),
        words::member(member)
    );
    let action = Action::DeeperMember { to_mm: depth };
    Some(Remedy { action, services: Vec::new(), text })
}

/// What is to be moved, in words.
pub(crate) fn name(shop: &Shop<'_>, cut: &Cut, mover: &Mover) -> String {
    let own: Vec<&Service> = cut
        .services
        .iter()
        .filter(|s| mover.pieces.contains(s) && !cut.besides.inside.contains(s))
        .filter_map(|s| shop.scene.services.get(s.at()))
        .collect();
    let mut names: Vec<String> = own.into_iter().map(words::service).collect();
    names.dedup();
    if names.is_empty() { "it".to_owned() } else { words::list(names) }
}

/// Where the whole cut may lie at its level, beside its neighbours.
fn windows(shop: &Shop<'_>, cut: &Cut) -> Vec<[f64; 2]> {
    let Some(rules) = shop.rules_of(cut.member) else { return Vec::new() };
    let (_, cuts) = shop.cuts_in(cut.member);
    let neighbours: Vec<Cut> = cuts.iter().filter(|c| *c != cut).cloned().collect();
    let half = cut.width_mm() / 2.0;
    rules
        .windows(cut, &neighbours, &shop.scene.services, Verdict::Pass)
        .into_iter()
        .map(|(from, to)| [from - half, to + half])
        .collect()
}
