//! The value that every format is made from.

use crate::baseline::Baseline;
use crate::grouped::Grouped;
use crate::issue::Issue;
use glam::DVec3;
use rayon::prelude::*;
use std::cmp::Ordering;
use wimble_geom::Solid;
use wimble_model::{
    CoverageRow, Cut, CutIx, CutKind, CutPlaces, Finding, FreeWindows, Member, MemberIx, Opening,
    RunPlan, Service, Storey, Survey, Verdict,
};

/// Everything that a check has to say. Rows refer to each other by index; the lists are in the
/// order in which they are printed (see [`Report::sort`] for the findings).
#[derive(Debug, Clone, Default)]
pub struct Report {
    /// The files, in the order given.
    pub inputs: Vec<Input>,
    /// The rule packs in force.
    pub packs: Vec<Pack>,
    /// What was assumed, in sentences.
    pub assumptions: Vec<String>,
    /// What a person should know before trusting the result.
    pub warnings: Vec<Warning>,
    /// Storeys, by elevation.
    pub storeys: Vec<Storey>,
    /// Members, by storey elevation, GlobalId, item.
    pub members: Vec<Member>,
    /// Line of each member's element in its file (parallel to `members`; may be empty).
    pub member_lines: Vec<Option<u64>>,
    /// Services, by storey elevation, GlobalId, item.
    pub services: Vec<Service>,
    /// Centre of each service (parallel to `services`), world, metres.
    pub service_centres_m: Vec<DVec3>,
    /// Solids of each member, whose union it is before openings, world, metres (parallel to
    /// `members`; empty unless an output draws in space).
    pub member_solids: Vec<Vec<Solid>>,
    /// Bare solid of each service, world, metres; `None` for a mere line (parallel to `services`;
    /// empty unless an output draws in space).
    pub service_solids: Vec<Option<Solid>>,
    /// Openings already modelled, by member, GlobalId.
    pub openings: Vec<Opening>,
    /// Cuts, by member, x0, z0, kind.
    pub cuts: Vec<Cut>,
    /// What the rules say.
    pub findings: Vec<Finding>,
    /// What happened to every element, by input, class, status, reason.
    pub coverage: Vec<CoverageRow>,
    /// Where cuts that fail or are referred might be, in the order of the cuts; empty where
    /// remedies were not looked for.
    pub places: Vec<CutPlaces>,
    /// What would make all crossings of a straight run comply.
    pub plans: Vec<RunPlan>,
    /// Where there is room after all cuts, by member; empty where it was not asked for.
    pub free: Vec<FreeWindows>,
    /// What is not known of the models as a whole, in sentences: each is an `unknown`.
    pub unanswered: Vec<String>,
    /// Who measured, where cuts were measured on site and not only planned.
    pub survey: Option<Survey>,
    /// What is allowed in the members of a site sheet or of an as-built survey, for the record.
    pub limits: Vec<MemberLimits>,
    /// Where cuts may be along the members that have one which does not pass: by member, holes
    /// before notches.
    pub windows: Vec<Windows>,
    /// Axis of each straight service, end to end (parallel to `services`; may be empty), world,
    /// metres; `None` for any other shape.
    pub service_axes_m: Vec<Option<[DVec3; 2]>>,
    /// What marking-out sheets say; only where they are asked for.
    pub marking: Option<crate::marking::Marking>,
    /// Line of each service's element in its file (parallel to `services`; may be empty).
    pub service_lines: Vec<Option<u64>>,
    /// When and by which settings the report was made.
    pub issue: Issue,
    /// The earlier report that this one is held against, if any.
    pub baseline: Option<Baseline>,
}

/// What is allowed in one member.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MemberLimits {
    /// The member.
    pub member: MemberIx,
    /// One sentence for each kind of cut, with the rules that it comes from.
    pub lines: Vec<String>,
}

/// Where a cut of one size may be along a member, beside the cuts of it that pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Windows {
    /// The member.
    pub member: MemberIx,
    /// Hole or notch.
    pub kind: CutKind,
    /// Width and height of the cut in question.
    pub asked_mm: [f64; 2],
    /// Width and height for which the places hold: those asked for, or, where no place in the
    /// member takes that size, the greatest that has one.
    pub size_mm: [f64; 2],
    /// Stretches in which the middle of the cut may lie, along the member; none if no size that
    /// is any use has a place.
    pub middles_mm: Vec<[f64; 2]>,
    /// The best that the cut in question can come to anywhere in the member.
    pub best: Verdict,
}

/// One input file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Input {
    /// As given.
    pub path: String,
    /// BLAKE3 of its bytes, hex.
    pub blake3: String,
    /// Schema as the file names it.
    pub schema: String,
    /// Length unit in words (`mm`, `m`, `foot`).
    pub length_unit: String,
    /// Number of instances.
    pub instances: u64,
    /// Whether only a part could be read.
    pub partial: bool,
    /// GlobalId of its project, if it has one.
    pub project: Option<String>,
    /// When it was written, as its header says.
    pub written: String,
}

/// A rule pack in force.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Pack {
    /// Its id (`uk-solid-joist`).
    pub id: String,
    /// First digits of the BLAKE3 digest of its text.
    pub version: String,
    /// What it covers.
    pub title: String,
    /// Its sources with their status.
    pub sources: Vec<String>,
    /// Its rules, explained.
    pub rules: Vec<Rule>,
}

/// A rule of a pack, for those who read a finding and ask why.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rule {
    /// `pack/rule`.
    pub id: String,
    /// What has to be so, in one sentence.
    pub what: String,
    /// The rest a line each: title and text (`Why`, `Worked`, `Source`).
    pub more: Vec<(String, String)>,
}

/// A remark about the input.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Warning {
    /// Which input, if one alone.
    pub input: Option<u32>,
    /// Line in it, if known.
    pub line: Option<u64>,
    /// For a person: what is so and what to do.
    pub text: String,
}

impl Report {
    /// Puts the findings in the order of the contract: member, worst verdict, rule, first cut.
    /// The rows of the other lists come in order from the stages that made them.
    pub fn sort(&mut self) {
        sort_in_place(&mut self.findings, Finding::order);
    }

    /// The worst that is said of any cut, in any finding that is not waived, or of the models as a
    /// whole: what the exit code is taken from. A cut all of whose bad findings are waived counts as
    /// a pass; with a baseline only what is new or worse counts.
    #[must_use]
    pub fn worst(&self) -> Verdict {
        let mut spoken_of = vec![false; self.cuts.len()];
        for cut in self.findings.iter().filter(|f| f.verdict > Verdict::Pass).flat_map(|f| &f.cuts)
        {
            if let Some(seen) = spoken_of.get_mut(cut.at()) {
                *seen = true;
            }
        }
        // A bad cut of which no finding speaks still counts: nothing is lost.
        let silent = self.cuts.iter().zip(&spoken_of).filter(|(_, seen)| !**seen);
        let counts = |at: usize| self.baseline.as_ref().is_none_or(|b| b.of_finding(at).counts());
        let open = self.findings.iter().enumerate();
        let open = open.filter(|(at, f)| f.waived.is_none() && counts(*at)).map(|(_, f)| f.verdict);
        let known =
            |text: &&String| self.baseline.as_ref().is_some_and(|b| b.unanswered.contains(text));
        let whole = self.unanswered.iter().filter(|t| !known(t)).map(|_| Verdict::Unknown);
        silent.map(|(cut, _)| cut.verdict).chain(open).chain(whole).max().unwrap_or_default()
    }

    /// What cannot be said because a figure is not a number, in sentences. Such a figure prints as
    /// null; this is the reason that goes with it.
    #[must_use]
    pub fn figures_missing(&self) -> Vec<String> {
        let members = self.members.iter().filter(|m| {
            !(m.length_mm.is_finite()
                && m.frame.origin_m.is_finite()
                && m.frame.x.is_finite()
                && m.frame.z.is_finite()
                && m.section.depth_mm().is_finite()
                && m.section.breadth_mm().is_finite())
        });
        let of_members = members.map(|m| {
            format!(
                "{} {}: a size or place could not be worked out",
                m.element.class, m.element.guid
            )
        });
        let cuts = self.cuts.iter().filter(|c| {
            !(c.min_mm.is_finite()
                && c.max_mm.is_finite()
                && c.besides.middle_mm.is_finite()
                && c.bit_mm.is_finite())
        });
        let of_cuts = cuts.filter_map(|c| self.members.get(c.member.at())).map(|m| {
            format!(
                "a cut in {} {}: a size or place could not be worked out",
                m.element.class, m.element.guid
            )
        });
        of_members.chain(of_cuts).collect()
    }

    /// Centre of a cut, world, metres; no number if its member is not in the list.
    #[must_use]
    pub fn point_m(&self, cut: &Cut) -> DVec3 {
        self.members.get(cut.member.at()).map_or(DVec3::NAN, |member| cut.point_m(member))
    }

    /// For each cut the positions of the findings that speak of it, in their order.
    pub(crate) fn findings_of_cuts(&self) -> Grouped<usize> {
        Grouped::of(self.cuts.len(), || {
            let findings = self.findings.iter().enumerate();
            findings.flat_map(|(at, finding)| finding.cuts.iter().map(move |cut| (cut.at(), at)))
        })
    }

    /// Where a cut might be, if that was looked for.
    pub(crate) fn places_of(&self, cut: CutIx) -> Option<&CutPlaces> {
        let at = self.places.binary_search_by_key(&cut, |places| places.cut).ok()?;
        self.places.get(at)
    }
}

/// Sorts large rows without a second list of them; what is equal keeps its order.
fn sort_in_place<T: Sync>(rows: &mut [T], order: impl Fn(&T, &T) -> Ordering + Sync) {
    if rows.is_sorted_by(|a, b| order(a, b).is_le()) {
        return;
    }
    let mut from: Vec<usize> = (0..rows.len()).collect();
    from.par_sort_unstable_by(|&a, &b| order(&rows[a], &rows[b]).then(a.cmp(&b)));
    // Rows go round in rings: each place takes the row that belongs there, and leaves its own where
    // that came from.
    for start in 0..from.len() {
        let mut at = start;
        loop {
            let next = std::mem::replace(&mut from[at], at);
            if next == start {
                break;
            }
            rows.swap(at, next);
            at = next;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_sorted_in_place_as_by_a_stable_sort() {
        let mut seed = 7_u32;
        for length in [0, 1, 2, 3, 10, 500] {
            let rows: Vec<(u32, usize)> = (0..length)
                .map(|at| {
                    seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    ((seed >> 16) % 20, at)
                })
                .collect();
            let (mut ours, mut twin) = (rows.clone(), rows);
            sort_in_place(&mut ours, |a, b| a.0.cmp(&b.0));
            twin.sort_by_key(|row| row.0);
            assert_eq!(ours, twin);
        }
    }
}
