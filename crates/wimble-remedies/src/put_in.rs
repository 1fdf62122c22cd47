//! Can it be put in: a straight rigid pipe that passes holes in three or more members has to be
//! slid in from one end, which takes its whole length there.

use crate::body::axis;
use crate::words;
use arcstr::literal;
use glam::DVec3;
use rayon::prelude::*;
use std::sync::Arc;
use wimble_cross::Crosser;
use wimble_model::{
    Cut, CutIx, CutKind, Few, Finding, Level, Member, MemberIx, Service, ServiceIx, ServiceKind,
    ServiceMaterial, Verdict,
};
use wimble_recognise::{Scene, ServiceBody};

/// From how many members on (`docs/practice.md`).
const MEMBERS: usize = 3;
/// How far the next member mostly is, or nearer, m. No figure of the trade: whatever it is, the same is
/// found, sooner or later.
const BAY_M: f64 = 0.7;

/// A pipe that has too little room at both ends: what a finding says of it, in a few words of memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PutIn {
    /// The first of its members, and its cut there.
    member: MemberIx,
    cut: CutIx,
    pipe: ServiceIx,
    length_mm: f64,
    /// How many members it goes through.
    members: usize,
    /// What is free at the better end.
    most_mm: f64,
}

/// Each pipe that has too little room at both ends, in the order of findings. Only members are seen
/// in the way: walls and what else stands there are not looked at.
#[must_use]
pub fn put_in(scene: &Scene, crosser: &Crosser<'_>, cuts: &[Cut]) -> Vec<PutIn> {
    let is_hole = |(_, cut): &(usize, &Cut)| {
        matches!(cut.kind, CutKind::Hole | CutKind::WebHole | CutKind::BetweenWebs)
    };
    let mut passed: Vec<Passed> = cuts
        .par_iter()
        .enumerate()
        .filter(is_hole)
        .flat_map_iter(|(n, cut)| {
            cut.services.iter().map(move |s| (*s, CutIx::from(n), cut.member))
        })
        .collect();
    passed.par_sort_unstable();
    let by_pipe: Vec<&[Passed]> =
        passed.chunk_by(|a, b| a.0 == b.0).filter(|its| its.len() >= MEMBERS).collect();
    let mut noted: Vec<PutIn> =
        by_pipe.par_iter().filter_map(|its| look(scene, crosser, its)).collect();
    noted.par_sort_unstable_by_key(|noted| (noted.member, noted.cut, noted.pipe));
    noted
}

impl PutIn {
    /// The note for the pipe.
    #[must_use]
    pub fn finding(&self, scene: &Scene) -> Finding {
        let service = scene.services.get(self.pipe.at());
        Finding {
            rule: literal!("practice/room-to-put-in"),
            level: Level::Note,
            verdict: Verdict::Pass,
            member: self.member,
            cuts: Few::from_iter([self.cut]),
            services: Few::from_iter([self.pipe]),
            measured: None,
            limit: None,
            // A copy: as long as it has to be, not as it grew.
            message: format!(
                "{} is {} long and goes through holes in {} members: to be slid in it needs its \
                 length free at one end, and other members leave {} at most. Join it in a bay, or \
                 put it in before them.",
                service.map_or_else(|| "A pipe".to_owned(), words::service),
                words::mm(self.length_mm),
                self.members,
                words::mm(self.most_mm)
            )
            .as_str()
            .into(),
            source: literal!("How straight pipes are put into joists (our own reading)"),
            waived: None,
            remedies: Arc::default(),
        }
    }
}

/// A service in a hole of a member.
type Passed = (ServiceIx, CutIx, MemberIx);

/// Whether it does not bend on site.
fn is_rigid(service: &Service) -> bool {
    matches!(service.kind, ServiceKind::Pipe | ServiceKind::Carrier)
        && service.material != ServiceMaterial::Plastic
}

fn look(scene: &Scene, crosser: &Crosser<'_>, its: &[Passed]) -> Option<PutIn> {
    let (pipe, cut, member) = *its.first()?;
    scene.services.get(pipe.at()).filter(|service| is_rigid(service))?;
    let (from, to) = axis(scene.service_bodies.get(pipe.at())?)?;
    let length = from.distance(to);
    let along = (to - from).try_normalize()?;
    let mut members: Vec<MemberIx> = its.iter().map(|(_, _, member)| *member).collect();
    members.sort_unstable();
    members.dedup();
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
        let (start, way) = (from + start * along, way * along);
        first_reached(length, |reach| {
            let body = ServiceBody::Line { points: vec![start, start + reach * way] };
            crosser
                .members_near(&body)
                .into_iter()
                .filter(|m| members.binary_search(m).is_err())
                .filter_map(|m| scene.members.get(m.at()))
                .filter_map(|member| reached(member, start, way, length))
                .fold(length, f64::min)
        })
    };
    // Where one end has room the other is not asked.
    let short = |room: &f64| *room < length - 1e-6;
    let before = Some(room(first, -1.0)).filter(short)?;
    let behind = Some(room(last, 1.0)).filter(short)?;
    // Whole millimetres to the safe side, but noise takes none away.
    let most_mm = (1000.0 * before.max(behind) + 1e-6).floor();
    Some(PutIn { member, cut, pipe, length_mm: 1000.0 * length, members: members.len(), most_mm })
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

/// Where the first of what stands in the way is reached along a length, metres: of what stands
/// within the next bay, if something does there, else of all. `of_near` tells it of what stands
/// within a reach, and may know of more.
fn first_reached(length: f64, of_near: impl Fn(f64) -> f64) -> f64 {
    if length > BAY_M {
        let first = of_near(BAY_M);
        // Whatever begins before the end of the reach stands within it.
        if first < BAY_M - 1e-6 {
            return first;
        }
    }
    of_near(length)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_reached_first_is_so_of_the_next_bay_as_of_all() {
        // From where to where each stands in the way.
        let all = [(0.1, 0.15), (0.69, 0.74), (0.7, 0.75), (0.71, 0.76), (1.4, 1.45), (3.0, 3.05)];
        for some in 0..1_u32 << all.len() {
            let some = || all.iter().enumerate().filter(move |(n, _)| some >> n & 1 == 1);
            for length in [0.5, 0.7, 0.72, 2.0] {
                let first = |reach: f64| {
                    let near = some().filter(|(_, at)| at.0 <= reach).map(|(_, at)| at.0);
                    near.filter(|at| *at <= length).fold(length, f64::min)
                };
                assert_eq!(first_reached(length, first), first(length), "{length}");
            }
        }
    }
}
