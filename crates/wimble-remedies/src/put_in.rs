//! Can it be put in: a straight rigid pipe that passes holes in three or more members has to be
//! slid in from one end, which takes its whole length there.

use crate::body::axis;
use crate::words;
use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;
use std::sync::Arc;
use wimble_cross::Crosser;
use wimble_model::{
    Cut, CutIx, CutKind, Few, Finding, Level, Member, MemberIx, Service, ServiceIx, ServiceKind,
    ServiceMaterial, Verdict,
};
use wimble_recognise::{Scene, ServiceBody};

/// From how many members on (`docs/practice.md`).
const MEMBERS: usize = 3;

/// A note for each pipe that has too little room at both ends. Only members are seen in the way:
/// walls and what else stands there are not looked at.
#[must_use]
pub fn put_in(scene: &Scene, crosser: &Crosser<'_>, cuts: &[Cut]) -> Vec<Finding> {
    let mut holes: FxHashMap<ServiceIx, Vec<CutIx>> = FxHashMap::default();
    for (n, cut) in cuts.iter().enumerate() {
        if matches!(cut.kind, CutKind::Hole | CutKind::WebHole | CutKind::BetweenWebs) {
            let rigid = |ix: &ServiceIx| scene.services.get(ix.at()).is_some_and(is_rigid);
            for service in cut.services.iter().copied().filter(rigid) {
                holes.entry(service).or_default().push(CutIx::from(n));
            }
        }
    }
    let mut pipes: Vec<(ServiceIx, Vec<CutIx>)> =
        holes.into_iter().filter(|(_, cuts)| cuts.len() >= MEMBERS).collect();
    pipes.sort();
    pipes.par_iter().filter_map(|(pipe, its)| note(scene, crosser, cuts, *pipe, its)).collect()
}

/// Whether it does not bend on site.
fn is_rigid(service: &Service) -> bool {
    matches!(service.kind, ServiceKind::Pipe | ServiceKind::Carrier)
        && service.material != ServiceMaterial::Plastic
}

fn note(
    scene: &Scene,
    crosser: &Crosser<'_>,
    cuts: &[Cut],
    pipe: ServiceIx,
    its: &[CutIx],
) -> Option<Finding> {
    let service = scene.services.get(pipe.at())?;
    let (from, to) = axis(scene.service_bodies.get(pipe.at())?)?;
    let length = from.distance(to);
    let along = (to - from).try_normalize()?;
    let members: BTreeSet<MemberIx> =
        its.iter().filter_map(|ix| cuts.get(ix.at())).map(|cut| cut.member).collect();
    if members.len() < MEMBERS {
        return None;
    }
    // Before its first member the whole pipe has to lie.
    let faces: Vec<[f64; 2]> = members
        .iter()
        .filter_map(|m| scene.members.get(m.at()))
        .map(|member| faces(member, from, along))
        .collect();
    let first = faces.iter().map(|f| f[0]).fold(f64::INFINITY, f64::min);
    let last = faces.iter().map(|f| f[1]).fold(f64::NEG_INFINITY, f64::max);
    let room = |start: f64, way: f64| {
        let start = from + start * along;
        let end = start + way * length * along;
        let body = ServiceBody::Line { points: vec![start, end] };
        crosser
            .members_near(&body)
            .into_iter()
            .filter(|m| !members.contains(m))
            .filter_map(|m| scene.members.get(m.at()))
            .filter_map(|member| reached(member, start, way * along, length))
            .fold(length, f64::min)
    };
    let rooms = [room(first, -1.0), room(last, 1.0)];
    if rooms.iter().any(|room| *room >= length - 1e-6) {
        return None;
    }
    // Whole millimetres to the safe side, but noise takes none away.
    let most = (1000.0 * rooms[0].max(rooms[1]) + 1e-6).floor();
    let cut = its.first().copied()?;
    let member = cuts.get(cut.at())?.member;
    Some(Finding {
        rule: "practice/room-to-put-in".into(),
        level: Level::Note,
        verdict: Verdict::Pass,
        member,
        cuts: Few::from_iter([cut]),
        services: Few::from_iter([pipe]),
        measured: None,
        limit: None,
        message: format!(
            "{} is {} long and goes through holes in {} members: to be slid in it needs its \
             length free at one end, and other members leave {} at most. Join it in a bay, or put \
             it in before them.",
            words::service(service),
            words::mm(1000.0 * length),
            members.len(),
            words::mm(most)
        ),
        source: "How straight pipes are put into joists (our own reading)".into(),
        waived: None,
        remedies: Arc::default(),
    })
}

/// Where a line enters and leaves the breadth of a member, metres along it.
fn faces(member: &Member, from: DVec3, along: DVec3) -> [f64; 2] {
    let y = member.frame.y();
    let (start, rate) = ((from - member.frame.origin_m).dot(y), along.dot(y));
    let half = member.section.breadth_mm() / 2000.0;
    if rate.abs() < 1e-6 {
        return [0.0, 0.0];
    }
    let (a, b) = ((-half - start) / rate, (half - start) / rate);
    [a.min(b), a.max(b)]
}

/// How far along a line of a length a member's box is reached, metres.
fn reached(member: &Member, start: DVec3, along: DVec3, length: f64) -> Option<f64> {
    let place = member.frame.local_mm(start) / 1000.0;
    let way = member.frame.turn(along);
    let half = DVec3::new(
        member.length_mm / 2000.0,
        member.section.breadth_mm() / 2000.0,
        member.section.depth_mm() / 2000.0,
    );
    let middle = DVec3::new(half.x, 0.0, 0.0);
    let (mut enters, mut leaves) = (0.0_f64, length);
    for axis in 0..3 {
        let (at, rate) = (place[axis] - middle[axis], way[axis]);
        if rate.abs() < 1e-9 {
            if at.abs() > half[axis] {
                return None;
            }
            continue;
        }
        let (a, b) = ((-half[axis] - at) / rate, (half[axis] - at) / rate);
        enters = enters.max(a.min(b));
        leaves = leaves.min(a.max(b));
    }
    (enters <= leaves).then_some(enters)
}
