//! The names that the outside sees: ids of rows, fingerprints and places of findings.

mod cuts;
mod digest;
mod ids;
mod places;
mod prints;

use crate::Report;
use compact_str::CompactString;
pub use digest::Hex;
use glam::DVec3;
use places::Corners;
use wimble_model::{Cut, CutIx, Finding, Member, MemberIx, OpeningIx, ServiceIx};

/// Names of a report's rows; each list is parallel to the report's.
///
/// GlobalIds repeat in real models, so an id is the GlobalId only where no other row has it, else
/// `GlobalId~n`. A fingerprint outlives small changes of the model: it is made of the rule and the
/// GlobalIds, not of figures. A place outlives changed GlobalIds: it is made of figures alone.
#[derive(Debug, Clone, Default)]
pub struct Names {
    /// Ids of members.
    pub members: Vec<CompactString>,
    /// Ids of services.
    pub services: Vec<CompactString>,
    /// Ids of openings.
    pub openings: Vec<CompactString>,
    /// Ids of cuts.
    pub cuts: Vec<Hex<13>>,
    /// Fingerprints of findings.
    pub fingerprints: Vec<Hex<16>>,
    corners: Corners,
}

impl Names {
    /// Names all rows.
    #[must_use]
    pub fn of(report: &Report) -> Self {
        let (members, services) = ids::rows(report);
        let openings = ids::openings(report);
        let mut names = Self { members, services, openings, ..Self::default() };
        names.cuts = cuts::ids(&names, &report.cuts);
        names.fingerprints = prints::fingerprints(report, &names);
        names.corners = Corners::of(&report.members);
        names
    }

    /// Where a finding is: what outlives changed GlobalIds. Worked out when it is asked for.
    #[must_use]
    pub fn place(&self, report: &Report, finding: &Finding) -> String {
        self.corners.place(report, finding)
    }

    /// Id of a member; empty if there is none.
    #[must_use]
    pub fn member(&self, ix: MemberIx) -> &str {
        self.members.get(ix.at()).map_or("", CompactString::as_str)
    }

    /// Id of a service; empty if there is none.
    #[must_use]
    pub fn service(&self, ix: ServiceIx) -> &str {
        self.services.get(ix.at()).map_or("", CompactString::as_str)
    }

    /// Id of an opening; empty if there is none.
    #[must_use]
    pub fn opening(&self, ix: OpeningIx) -> &str {
        self.openings.get(ix.at()).map_or("", CompactString::as_str)
    }

    /// Fingerprint of the finding at a place in the report; empty if there is none.
    #[must_use]
    pub fn fingerprint(&self, at: usize) -> &str {
        self.fingerprints.get(at).map_or("", |print| print)
    }

    /// Id of a cut; empty if there is none.
    #[must_use]
    pub fn cut(&self, ix: CutIx) -> &str {
        self.cuts.get(ix.at()).map_or("", |id| id)
    }
}

fn cuts_of<'a>(report: &'a Report, finding: &'a Finding) -> impl Iterator<Item = &'a Cut> {
    finding.cuts.iter().filter_map(|cut| report.cuts.get(cut.at()))
}

fn centre_m(member: &Member) -> DVec3 {
    member.frame.world_m(DVec3::new(member.length_mm / 2.0, 0.0, 0.0))
}

#[cfg(test)]
mod tests;
