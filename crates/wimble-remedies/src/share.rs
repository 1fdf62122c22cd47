//! One hole or notch for two cuts that are too near to each other: who moves first moves up to the
//! other, until both are bored or cut as one.

use crate::one_cut::{becomes, elsewhere, name};
use crate::search::changes;
use crate::shop::{Aim, Mover, Shop};
use crate::words;
use wimble_cross::Change;
use wimble_model::{Action, Cut, CutIx, CutKind, Member, MemberIx, Remedy, ServiceIx, Verdict};

/// Envelopes that share more than this in x and in z are one cut, mm.
const OVERLAP_MM: f64 = 0.01;
/// So far they have to run into each other at least that no hair parts them, mm.
const SURE_MM: f64 = 0.05;
/// So far at most: by as much two services in one hole may lie nearer than their clearances, mm.
const INTO_MM: f64 = 1.0 + SURE_MM;
/// So far off the answer has to be the same, mm.
const STEADY_MM: f64 = 0.02;

/// The move along that makes one hole or notch of two cuts, which then passes.
pub(crate) fn one_for_both(shop: &Shop<'_>, pair: [CutIx; 2]) -> Option<Remedy> {
    let [a, b] = [shop.cut(pair[0])?, shop.cut(pair[1])?];
    if !may_be_one(a, b) {
        return None;
    }
    let member = shop.scene.members.get(a.member.at())?;
    let alone = |cut: &Cut| match shop.movers(cut)?.as_slice() {
        [mover] => Some(mover.clone()),
        _ => None,
    };
    let mut orders: Vec<(Mover, [&Cut; 2])> = Vec::with_capacity(2);
    for order in [[a, b], [b, a]] {
        orders.extend(alone(order[0]).map(|mover| (mover, order)));
    }
    orders.sort_by_key(|(mover, _)| std::cmp::Reverse(shop.rank(mover)));
    orders.into_iter().find_map(|(mover, order)| up_to(shop, member, &mover, order))
}

/// Whether two cuts are of a kind that is made as one, and run into each other if one is moved
/// along.
fn may_be_one(a: &Cut, b: &Cut) -> bool {
    use CutKind::{BottomNotch, Hole, TopNotch, WebHole};
    let level = a.max_mm.z.min(b.max_mm.z) - a.min_mm.z.max(b.min_mm.z) > OVERLAP_MM;
    let kind = matches!(a.kind, Hole | WebHole | TopNotch | BottomNotch) && a.kind == b.kind;
    kind && level && a.openings.is_empty() && b.openings.is_empty()
}

/// Moves the first up to the second.
fn up_to(
    shop: &Shop<'_>,
    member: &Member,
    mover: &Mover,
    [cut, beside]: [&Cut; 2],
) -> Option<Remedy> {
    let apart = beside.mid_x_mm() - cut.mid_x_mm();
    let side = 1.0_f64.copysign(apart);
    let touching = apart - side * f64::midpoint(cut.width_mm(), beside.width_mm());
    // Whole millimetres.
    let whole = if side > 0.0 { touching.floor() + 1.0 } else { touching.ceil() - 1.0 };
    let by_mm = if (whole - touching).abs() < SURE_MM { whole + side } else { whole };
    let at = |by_mm: f64| changes(shop, mover, by_mm / 1000.0 * member.frame.x);
    let steady = [0.0, STEADY_MM, -STEADY_MM];
    if by_mm == 0.0
        || !steady.iter().all(|hair| serves(shop, mover, [cut, beside], &at(by_mm + hair)))
    {
        return None;
    }
    let text = format!(
        "Move {} {} {}{}{}.",
        name(shop, cut, mover),
        words::mm(by_mm),
        words::way_along(member, cut, by_mm),
        becomes(shop, cut, &at(by_mm)),
        elsewhere(shop, mover, cut)
    );
    Some(Remedy { action: Action::MoveAlong { by_mm }, services: mover.pieces.clone(), text })
}

/// Whether both are one cut then that passes, and no other is worse.
fn serves(shop: &Shop<'_>, mover: &Mover, [cut, beside]: [&Cut; 2], changes: &[Change]) -> bool {
    let both: Vec<ServiceIx> = cut.services.iter().chain(&beside.services).copied().collect();
    let aim = |member: MemberIx| {
        if member == cut.member {
            Aim { verdict: Some(Verdict::Pass), also: &both }
        } else {
            Aim::of(shop.now(member, mover))
        }
    };
    let is_one = |after: &Cut| both.iter().all(|s| after.services.contains(s));
    shop.too_near_but(changes, &beside.services, INTO_MM).is_none()
        && shop.crosser.recut_changed(cut.member, changes).iter().any(is_one)
        && shop.touched(changes).into_iter().all(|m| shop.serves(m, changes, aim(m)))
}
