//! A view of the place: along the member and a little above, the deck cut away.

use super::topic::Topic;
use crate::Report;
use glam::DVec3;
use wimble_model::{CutIx, Member};

/// Vertical field of view, degrees: within what both versions take.
pub(crate) const FIELD_DEG: f64 = 60.0;
/// Width over height of the view.
pub(crate) const ASPECT: f64 = 4.0 / 3.0;
/// Room round what has to be seen.
const ROOM: f64 = 1.3;
/// Wood seen round a cut, metres.
const ROUND_M: f64 = 0.25;
/// Cuts further apart than this are not framed together, metres.
const TOGETHER_M: f64 = 3.0;
/// How far above the member the deck is cut away, metres.
const ABOVE_M: f64 = 0.002;

/// Where a viewer stands. World, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Camera {
    pub(crate) at: DVec3,
    pub(crate) direction: DVec3,
    pub(crate) up: DVec3,
    /// A plane just above a level member; what is on its upper side is not shown.
    pub(crate) deck: Option<[DVec3; 2]>,
    /// Centre and radius of the sphere that is framed.
    pub(crate) framed: (DVec3, f64),
}

/// The camera of a topic; `None` without a member.
pub(crate) fn of(report: &Report, topic: &Topic) -> Option<Camera> {
    let member = report.members.get(topic.member.at())?;
    let framed = framed(report, topic, member);
    let direction = direction(member);
    // Up is Z made square to the direction, which is never upright.
    let up = (DVec3::Z - direction * direction.z).normalize_or(DVec3::Y);
    let distance = framed.1 / (0.5 * FIELD_DEG).to_radians().sin() * ROOM;
    let top = member.frame.z.z > 0.99 && member.frame.x.z.abs() < 0.01;
    let deck = top.then(|| {
        let half = 0.5 * member.section.depth_mm() / 1000.0 + ABOVE_M;
        [member.frame.origin_m + half * member.frame.z, DVec3::Z]
    });
    Some(Camera { at: framed.0 - distance * direction, direction, up, deck, framed })
}

/// What has to be seen: the topic's cuts if they lie together, else the one that is looked at.
fn framed(report: &Report, topic: &Topic, member: &Member) -> (DVec3, f64) {
    let point = |ix: &CutIx| report.cuts.get(ix.at()).map(|cut| report.point_m(cut));
    let wood = member.section.depth_mm().max(member.section.breadth_mm()) / 1000.0;
    let size = |ix: &CutIx| {
        let cut = report.cuts.get(ix.at());
        cut.map_or(0.0, |cut| 0.5 * (cut.max_mm - cut.min_mm).length() / 1000.0)
    };
    let middle = member.frame.world_m(DVec3::new(0.5 * member.length_mm, 0.0, 0.0));
    let centre = topic.cut.as_ref().and_then(point).unwrap_or(middle);
    let near: Vec<&CutIx> = topic
        .cuts
        .iter()
        .filter(|ix| point(ix).is_some_and(|p| p.distance(centre) <= TOGETHER_M))
        .collect();
    let all = near.len() == topic.cuts.len();
    let shown: Vec<&CutIx> = if all { near } else { topic.cut.iter().collect() };
    let points: Vec<DVec3> = shown.iter().filter_map(|ix| point(ix)).collect();
    let Some(first) = points.first() else {
        return (centre, (0.5 * member.length_mm / 1000.0).max(wood));
    };
    let (least, most) = points.iter().fold((*first, *first), |(a, b), p| (a.min(*p), b.max(*p)));
    let centre = least.midpoint(most);
    let reach = points.iter().map(|p| p.distance(centre)).fold(0.0, f64::max);
    let largest = shown.iter().map(|ix| size(ix)).fold(0.0, f64::max);
    (centre, reach + wood.max(largest) + ROUND_M)
}

/// Along a level member, a little from the side and from above; an upright one is looked at across
/// its wall.
fn direction(member: &Member) -> DVec3 {
    let along = if member.frame.x.z.abs() > 0.5 { member.frame.y() } else { member.frame.x };
    let level = DVec3::new(along.x, along.y, 0.0).normalize_or(DVec3::X);
    let side = DVec3::Z.cross(level);
    (level * 0.8 + side * 0.45 - DVec3::Z * 0.4).normalize()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bcf::{Told, topic};
    use crate::{Names, fixture};

    #[test]
    fn every_cut_of_a_topic_lies_in_the_view() {
        let report = fixture::report();
        let topics = topic::topics(&report, &Names::of(&report), &Told::default());
        assert_eq!(topics.len(), 4);
        for topic in &topics {
            let camera = of(&report, topic).unwrap();
            assert!(camera.direction.dot(camera.up).abs() < 1e-12);
            for ix in &topic.cuts {
                let seen = report.point_m(&report.cuts[ix.at()]) - camera.at;
                let angle = seen.angle_between(camera.direction).to_degrees();
                assert!(angle < 0.5 * FIELD_DEG, "{}: {angle}° off", topic.title);
            }
            // The sphere fits into the field with the room that is meant.
            let distance = camera.at.distance(camera.framed.0);
            let half = (camera.framed.1 / distance).asin().to_degrees();
            assert!(half < 0.5 * FIELD_DEG && half > 0.25 * FIELD_DEG, "{half}°");
        }
    }

    #[test]
    fn the_view_is_in_the_coordinates_of_the_model_however_far_it_is() {
        let far = DVec3::new(2_600_000.0, 1_200_000.0, 430.0);
        let near = fixture::report();
        let mut moved = near.clone();
        for member in &mut moved.members {
            member.frame.origin_m += far;
        }
        let camera = |report: &Report| {
            let topics = topic::topics(report, &Names::of(report), &Told::default());
            of(report, &topics[0]).unwrap()
        };
        let offset = camera(&moved).at - camera(&near).at;
        assert!(offset.abs_diff_eq(far, 1e-6), "{offset}");
    }
}
