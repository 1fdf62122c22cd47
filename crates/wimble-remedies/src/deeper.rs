//! The least standard depth of the member at which a cut would pass.

use crate::shop::{Aim, Shop};
use wimble_model::{Cut, CutKind, Member, Section, Verdict};
use wimble_recognise::{MemberBody, Part, PartKind, PartShape};
use wimble_rules::MemberRules;

/// Depths tried (`docs/practice.md`, defaults).
const METRIC_MM: [f64; 7] = [97.0, 120.0, 145.0, 170.0, 195.0, 220.0, 245.0];
const INCH_MM: [f64; 4] = [5.5 * 25.4, 7.25 * 25.4, 9.25 * 25.4, 11.25 * 25.4];
const I_JOISTS_MM: [f64; 4] = [220.0, 240.0, 300.0, 360.0];
const OPEN_WEB_MM: [f64; 4] = [202.0, 225.0, 254.0, 304.0];

/// The least depth at which the cut would pass and no other be worse: a hole keeps its level from
/// mid-depth, a notch its depth.
pub(crate) fn deeper(shop: &Shop<'_>, cut: &Cut) -> Option<f64> {
    let member = shop.scene.members.get(cut.member.at())?;
    let body = shop.scene.member_bodies.get(cut.member.at())?;
    if member.varies {
        return None;
    }
    depths(member)
        .iter()
        .copied()
        .find(|depth| serves(shop, cut, member, body, *depth) == Some(true))
}

fn depths(member: &Member) -> Vec<f64> {
    let now = member.section.depth_mm();
    let list: &[f64] = match member.section {
        Section::Rectangle { .. } if INCH_MM.iter().any(|d| (d - now).abs() < 1.0) => &INCH_MM,
        Section::Rectangle { .. } => &METRIC_MM,
        Section::IJoist { .. } => &I_JOISTS_MM,
        Section::OpenWeb { .. } => &OPEN_WEB_MM,
        _ => &[],
    };
    list.iter().copied().filter(|depth| *depth > now + 0.5).collect()
}

fn serves(
    shop: &Shop<'_>,
    cut: &Cut,
    member: &Member,
    body: &MemberBody,
    depth: f64,
) -> Option<bool> {
    let more = depth - member.section.depth_mm();
    let mut member = member.clone();
    match &mut member.section {
        Section::Rectangle { depth_mm, .. }
        | Section::IJoist { depth_mm, .. }
        | Section::OpenWeb { depth_mm, .. } => *depth_mm = depth,
        _ => return None,
    }
    let down = match cut.kind {
        CutKind::TopNotch => more / 2.0,
        CutKind::BottomNotch => -more / 2.0,
        _ => 0.0,
    };
    member.frame.origin_m -= down / 1000.0 * member.frame.z;
    let body = grown(body, depth)?;
    let after = shop.crosser.recut_as(cut.member, &member, &body, &[]);
    let verdicts =
        MemberRules::of(&member, shop.packs, shop.rules).verdicts(&after, &shop.scene.services);
    let stands = after.iter().any(|c| c.services == cut.services);
    let aim = Aim { verdict: Some(Verdict::Pass), also: &cut.services };
    Some(stands && shop.no_worse(cut.member, &[], aim, &after, &verdicts))
}

/// The body of the deeper member; `None` for one that is no box. Parts drawn apart are left to
/// the section.
fn grown(body: &MemberBody, depth: f64) -> Option<MemberBody> {
    let [Part { kind: PartKind::Solid, shape: PartShape::Box { bounds, ends } }] =
        body.parts.as_slice()
    else {
        let drawn_apart = body.parts.iter().all(|part| part.kind != PartKind::Solid);
        return drawn_apart.then(MemberBody::default);
    };
    let mut bounds = *bounds;
    (bounds.min.z, bounds.max.z) = (-depth / 2.0, depth / 2.0);
    let shape = PartShape::Box { bounds, ends: ends.clone() };
    Some(MemberBody { parts: vec![Part { kind: PartKind::Solid, shape }] })
}
