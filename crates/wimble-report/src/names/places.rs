//! Places of findings.

use super::{centre_m, cuts_of};
use crate::Report;
use glam::DVec3;
use std::collections::BTreeMap;
use std::fmt::Write;
use wimble_model::{Finding, Member};

/// From what the places of a report's findings are measured.
#[derive(Debug, Clone, Default)]
pub(super) struct Corners {
    /// Least corner of the boxes of each storey's members, world, metres.
    of_storeys: BTreeMap<Option<u32>, DVec3>,
}

impl Corners {
    pub(super) fn of(members: &[Member]) -> Self {
        let mut of_storeys: BTreeMap<Option<u32>, DVec3> = BTreeMap::new();
        for member in members {
            let corner = of_storeys.entry(member.storey).or_insert(DVec3::INFINITY);
            let (y, z) = (member.section.breadth_mm() / 2.0, member.section.depth_mm() / 2.0);
            for x in [0.0, member.length_mm] {
                for (y, z) in [(-y, -z), (-y, z), (y, -z), (y, z)] {
                    *corner = corner.min(member.frame.world_m(DVec3::new(x, y, z)));
                }
            }
        }
        Self { of_storeys }
    }

    /// Class and size of the member, and the centre of what the finding speaks of to 10 mm from the
    /// least corner of its storey's members.
    pub(super) fn place(&self, report: &Report, finding: &Finding) -> String {
        let Some(member) = report.members.get(finding.member.at()) else {
            return String::new();
        };
        let points = cuts_of(report, finding).map(|cut| report.point_m(cut));
        let (sum, count) =
            points.fold((DVec3::ZERO, 0.0), |(sum, count), point| (sum + point, count + 1.0));
        let centre = if count > 0.0 { sum / count } else { centre_m(member) };
        let corner = self.of_storeys.get(&member.storey).copied().unwrap_or_default();
        let whole = |value: f64| crate::number::round(value, 1.0);
        // By way of tenths of a millimetre, so that a tie falls the same way wherever the building is.
        let centimetres = |metres: f64| whole(whole(metres * 1e4) / 100.0);
        let (at, size) = (
            centre - corner,
            [member.section.breadth_mm(), member.section.depth_mm(), member.length_mm],
        );
        let mut place = String::with_capacity(member.element.class.len() + 48);
        place.push_str(&member.element.class);
        for (before, figure) in [" ", "x", "x"].into_iter().zip(size) {
            place.push_str(before);
            push_whole(&mut place, whole(figure));
        }
        for (before, figure) in [" at ", ",", ","].into_iter().zip(at.to_array()) {
            place.push_str(before);
            push_whole(&mut place, 10.0 * centimetres(figure));
        }
        place
    }
}

/// Appends a figure without decimals.
fn push_whole(text: &mut String, figure: f64) {
    // Half of what an i64 holds: nothing is cut off.
    if figure.abs() < 4e18 {
        #[expect(clippy::cast_possible_truncation, reason = "asked just above")]
        text.push_str(itoa::Buffer::new().format(figure as i64));
    } else {
        let _ = write!(text, "{figure}");
    }
}
