//! What a marking-out sheet prints: whole millimetres from one datum, with a bit that there is,
//! judged once more as it will really be cut.
//!
//! A cut that passes as planned need not pass with the next larger bit, or half a millimetre
//! further along. Each is rounded to the side on which the rules still hold; where there is none,
//! the joist is not marked out and the reason is asked about.

use rayon::prelude::*;
use std::collections::BTreeMap;
use wimble_model::{
    Circle, Cut, CutIx, CutKind, CutShape, End, Member, MemberIx, OpeningSource, Verdict,
};
use wimble_report::Report;
use wimble_report::marking::{Datum, Issue, MarkedCut, MarkedMember, Marking};
use wimble_rules::{HOLDS_MM, PackSet, Probe, RuleSettings, Situation, windows};

/// Bits that are tried, mm (`docs/practice.md`).
const BITS_MM: [f64; 16] = [
    16.0, 20.0, 22.0, 25.0, 28.0, 32.0, 35.0, 38.0, 40.0, 44.0, 48.0, 51.0, 54.0, 57.0, 60.0, 64.0,
];

/// Works out the marking of every member with cuts.
pub(crate) fn fill(report: &mut Report, packs: &PackSet, rules: &RuleSettings, issue: Issue) {
    let mut by_member: BTreeMap<MemberIx, Vec<CutIx>> = BTreeMap::new();
    for (at, cut) in report.cuts.iter().enumerate() {
        by_member.entry(cut.member).or_default().push(CutIx::from(at));
    }
    let faces = common_faces(report, by_member.keys().copied());
    let work: Vec<(MemberIx, Vec<CutIx>)> = by_member.into_iter().collect();
    let shared: &Report = report;
    let members = work
        .par_iter()
        .filter_map(|(ix, cuts)| {
            let member = shared.members.get(ix.at())?;
            let (datum, check) = datums(member, &faces);
            let bench = Bench { report: shared, packs, rules, member, datum };
            let (cuts, ask) = bench.mark(cuts);
            Some(MarkedMember { member: *ix, datum, check, cuts, ask })
        })
        .collect();
    report.marking = Some(Marking { issue, members });
}

/// How often a face is one end of a member of the same storey and direction.
type Faces<'r> = BTreeMap<(Option<u32>, i64, &'r str), usize>;

fn common_faces(
    report: &Report,
    members: impl Iterator<Item = MemberIx>,
) -> BTreeMap<(Option<u32>, i64, String), usize> {
    let mut faces: Faces<'_> = BTreeMap::new();
    for member in members.filter_map(|ix| report.members.get(ix.at())) {
        for end in [End::Start, End::Finish] {
            if let Some(name) = face_name(member, end) {
                *faces.entry((member.storey, direction(member), name)).or_default() += 1;
            }
        }
    }
    faces.into_iter().map(|((s, d, name), n)| ((s, d, name.to_owned()), n)).collect()
}

/// The direction of a member in the plan, to five degrees.
fn direction(member: &Member) -> i64 {
    let degrees = member.frame.x.y.atan2(member.frame.x.x).to_degrees();
    #[expect(clippy::cast_possible_truncation, reason = "between -36 and 36")]
    let step = (degrees / 5.0).round() as i64;
    step
}

fn face_name(member: &Member, end: End) -> Option<&str> {
    let span = match end {
        End::Start => member.spans.first()?.from_bearing?,
        End::Finish => member.spans.last()?.to_bearing?,
    };
    member.bearings.get(span as usize).map(|bearing| bearing.name.as_str())
}

/// The end that most of the neighbours share is the datum, the other is for checking: who mixes
/// the ends of a floor cuts in the wrong place.
fn datums(member: &Member, faces: &BTreeMap<(Option<u32>, i64, String), usize>) -> (Datum, Datum) {
    let count = |end: End| {
        let name = face_name(member, end)?;
        faces.get(&(member.storey, direction(member), name.to_owned())).copied()
    };
    let at = |end: End| {
        let span = match end {
            End::Start => member.spans.first().map(|s| (s.from_mm, s.from_bearing)),
            End::Finish => member.spans.last().map(|s| (s.to_mm, s.to_bearing)),
        };
        let bare = if end == End::Start { 0.0 } else { member.length_mm };
        let (x_mm, bearing) = span.unwrap_or((bare, None));
        Datum { end, x_mm, bearing }
    };
    if count(End::Finish) > count(End::Start) {
        (at(End::Finish), at(End::Start))
    } else {
        (at(End::Start), at(End::Finish))
    }
}

/// A cut as it may really be made.
#[derive(Clone)]
struct Made {
    cut: Cut,
    row: MarkedCut,
}

/// One member under the pencil.
struct Bench<'a> {
    report: &'a Report,
    packs: &'a PackSet,
    rules: &'a RuleSettings,
    member: &'a Member,
    datum: Datum,
}

impl Bench<'_> {
    /// The cuts that can be marked, and what has to be asked about first.
    fn mark(&self, cuts: &[CutIx]) -> (Vec<MarkedCut>, Vec<String>) {
        let mut ask = Vec::new();
        if self.member.varies {
            ask.push("its depth changes along it, so a level cannot be given".to_owned());
        }
        let mut choices: Vec<Vec<Made>> = Vec::new();
        for ix in cuts {
            let Some(cut) = self.report.cuts.get(ix.at()) else { continue };
            match (cut.verdict, cut.kind) {
                (_, CutKind::Joinery) | (Verdict::Pass, CutKind::BetweenWebs) => {}
                (Verdict::Pass, _) if self.is_there(cut) => {
                    choices.push(vec![Made { cut: cut.clone(), row: MarkedCut::there(*ix) }]);
                }
                (Verdict::Pass, _) => {
                    let made = self.ways(*ix, cut);
                    if made.is_empty() {
                        ask.push("a cut of it cannot be set out with a bit and a saw".to_owned());
                    }
                    choices.push(made);
                }
                _ => ask.push(String::new()),
            }
        }
        if !ask.is_empty() {
            // A joist that does not pass whole is not marked in part.
            ask.retain(|text| !text.is_empty());
            return (Vec::new(), ask);
        }
        let mut made: Vec<Made> = choices.iter().filter_map(|ways| ways.first().cloned()).collect();
        for at in 0..made.len() {
            if self.holds(&made, at) {
                continue;
            }
            let ways = choices.get(at).into_iter().flatten();
            for way in ways {
                let mut other = made.clone();
                if let Some(slot) = other.get_mut(at) {
                    *slot = way.clone();
                }
                if self.holds(&other, at) {
                    made = other;
                    break;
                }
            }
        }
        if (0..made.len()).any(|at| !self.holds(&made, at)) {
            let reason =
                "in whole millimetres and with a bit that there is, a cut no longer passes";
            return (Vec::new(), vec![reason.to_owned()]);
        }
        let margins = self.judge(&made);
        for (at, (_, margin)) in margins.iter().enumerate() {
            let stops = self.stops(&made, at);
            if let Some(one) = made.get_mut(at) {
                one.row.spare_mm = margin.map(f64::floor);
                one.row.stops_mm = stops;
            }
        }
        let to_cut = made.into_iter().filter(|made| !self.is_there(&made.cut));
        (to_cut.map(|made| made.row).collect(), Vec::new())
    }

    /// Whether it was measured on site: it is there already.
    fn is_there(&self, cut: &Cut) -> bool {
        let mut openings = cut.openings.iter().filter_map(|o| self.report.openings.get(o.at()));
        openings.any(|opening| opening.source == OpeningSource::Measured)
    }

    /// From the datum, always counted up.
    fn from(&self, datum: Datum, x_mm: f64) -> f64 {
        if datum.end == End::Start { x_mm - datum.x_mm } else { datum.x_mm - x_mm }
    }

    fn along(&self, from_datum: f64) -> f64 {
        if self.datum.end == End::Start {
            self.datum.x_mm + from_datum
        } else {
            self.datum.x_mm - from_datum
        }
    }

    /// The ways to make a cut, the best first.
    fn ways(&self, ix: CutIx, cut: &Cut) -> Vec<Made> {
        match cut.kind {
            CutKind::Hole | CutKind::WebHole if cut.shape != CutShape::Rectangular => {
                self.holes(ix, cut)
            }
            CutKind::TopNotch | CutKind::BottomNotch => self.notches(ix, cut),
            _ => Vec::new(),
        }
    }

    fn holes(&self, ix: CutIx, cut: &Cut) -> Vec<Made> {
        let half = 0.5 * self.member.section.depth_mm();
        let middle = || (cut.mid_x_mm(), cut.offset_mm());
        let (x, z) = cut.besides.circle.as_ref().map_or_else(middle, |c| (c.x_mm, c.z_mm));
        let least = cut.bit_mm - HOLDS_MM;
        let listed = BITS_MM.into_iter().find(|bit| *bit >= least);
        let mut ways = Vec::new();
        for bit_mm in listed.into_iter().chain([least.ceil()]) {
            for along in whole(self.from(self.datum, x)) {
                for top in whole(half - z) {
                    let (x, z, r) = (self.along(along), half - top, 0.5 * bit_mm);
                    let mut made = cut.clone();
                    (made.min_mm.x, made.max_mm.x) = (x - r, x + r);
                    (made.min_mm.z, made.max_mm.z) = (z - r, z + r);
                    made.bit_mm = bit_mm;
                    if let Some(circle) = &mut made.besides.circle {
                        *circle = Circle { x_mm: x, z_mm: z, diameter_mm: bit_mm };
                    }
                    let row = MarkedCut {
                        cut: ix,
                        from_datum_mm: vec![along],
                        top_mm: top,
                        bottom_mm: (2.0 * half - top).round(),
                        bit_mm,
                        listed: listed == Some(bit_mm),
                        notch_mm: None,
                        spare_mm: None,
                        stops_mm: None,
                    };
                    ways.push(Made { cut: made, row });
                }
            }
        }
        ways
    }

    /// The root is drilled with the largest bit that the notch takes, so that no saw runs past it.
    fn notches(&self, ix: CutIx, cut: &Cut) -> Vec<Made> {
        let half = 0.5 * self.member.section.depth_mm();
        let ends = [cut.min_mm.x, cut.max_mm.x].map(|x| self.from(self.datum, x));
        let (near, far) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let depth = (cut.height_mm() - HOLDS_MM).ceil();
        let width = far - near;
        let mut ways = Vec::new();
        for from in [near.floor(), near.ceil()] {
            let to = from + (width - HOLDS_MM).ceil();
            let xs = [self.along(from), self.along(to)];
            let mut made = cut.clone();
            (made.min_mm.x, made.max_mm.x) = (xs[0].min(xs[1]), xs[0].max(xs[1]));
            if cut.kind == CutKind::TopNotch {
                made.min_mm.z = half - depth;
            } else {
                made.max_mm.z = depth - half;
            }
            let root = BITS_MM.into_iter().rev().find(|bit| *bit <= to - from);
            let row = MarkedCut {
                cut: ix,
                from_datum_mm: vec![from, to],
                top_mm: if cut.kind == CutKind::TopNotch { 0.0 } else { 2.0 * half - depth },
                bottom_mm: if cut.kind == CutKind::TopNotch { 2.0 * half - depth } else { 0.0 },
                bit_mm: root.unwrap_or(0.0),
                listed: root.is_some(),
                notch_mm: Some([to - from, depth]),
                spare_mm: None,
                stops_mm: None,
            };
            ways.push(Made { cut: made, row });
        }
        ways
    }

    /// Verdict and margin of each cut, all of them made so.
    fn judge(&self, made: &[Made]) -> Vec<(Verdict, Option<f64>)> {
        let cuts: Vec<Cut> = made.iter().map(|one| one.cut.clone()).collect();
        let situation = Situation {
            members: &self.report.members,
            services: &self.report.services,
            openings: &self.report.openings,
            cuts: &cuts,
        };
        let judged = wimble_rules::check(&situation, self.packs, self.rules);
        judged.cuts.iter().map(|cut| (cut.verdict, cut.margin_mm)).collect()
    }

    fn holds(&self, made: &[Made], at: usize) -> bool {
        self.judge(made).get(at).is_some_and(|(verdict, _)| *verdict == Verdict::Pass)
    }

    /// Between which distances from the datum the middle of a cut may stray, beside the others.
    fn stops(&self, made: &[Made], at: usize) -> Option<[f64; 2]> {
        let cut = &made.get(at)?.cut;
        let others = made.iter().enumerate().filter(|(n, _)| *n != at);
        let others: Vec<Cut> = others.map(|(_, one)| one.cut.clone()).collect();
        let probe = Probe {
            kind: cut.kind,
            shape: cut.shape,
            width_mm: cut.width_mm(),
            height_mm: if cut.kind.is_across() {
                cut.max_mm.y - cut.min_mm.y
            } else {
                cut.height_mm()
            },
            offset_mm: cut.offset_mm(),
            bit_mm: cut.bit_mm,
        };
        let middle = cut.mid_x_mm();
        let places = windows(self.member, &probe, &others, self.packs, self.rules);
        let (from, to) =
            places.into_iter().find(|(from, to)| from - 0.5 <= middle && middle <= to + 0.5)?;
        let ends = [from, to].map(|x| self.from(self.datum, x));
        // Never outside, whatever is rounded.
        Some([ends[0].min(ends[1]).ceil(), ends[0].max(ends[1]).floor()])
    }
}

/// A length in whole millimetres: the nearest, then the other one beside it.
fn whole(mm: f64) -> Vec<f64> {
    let nearest = mm.round();
    let other = if nearest > mm { mm.floor() } else { mm.ceil() };
    if (other - nearest).abs() < 0.5 { vec![nearest] } else { vec![nearest, other] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use wimble_model::{MemberKind, Section};
    use wimble_rules::{cut_by_hand, member_by_hand};

    /// A cut: its kind, its stretch along the member, its stretch up the depth.
    type Made = (CutKind, (f64, f64), (f64, f64));

    fn marked(cuts: &[Made]) -> MarkedMember {
        let section = Section::Rectangle { breadth_mm: 47.0, depth_mm: 220.0 };
        let member = member_by_hand(MemberKind::Joist, section, 3600.0);
        let packs = PackSet::built_in().region_set("GB").unwrap();
        let rules = RuleSettings::default();
        let mut cuts: Vec<Cut> = cuts
            .iter()
            .map(|(kind, x, z)| cut_by_hand(MemberIx(0), &member, *kind, *x, *z))
            .collect();
        let members = [member];
        let situation = Situation { members: &members, services: &[], openings: &[], cuts: &cuts };
        wimble_rules::check(&situation, &packs, &rules).write_into(&mut cuts);
        let mut report = Report { members: members.to_vec(), cuts, ..Report::default() };
        fill(&mut report, &packs, &rules, Issue::default());
        report.marking.unwrap().members.remove(0)
    }

    #[test]
    fn a_hole_is_given_from_the_face_in_whole_millimetres_with_a_bit_that_there_is() {
        // 27 wide, middle at 1270.3: 1170 from the face at 100; the next bit is 28.
        let joist = marked(&[(CutKind::Hole, (1256.8, 1283.8), (-13.5, 13.5))]);
        assert!(joist.ask.is_empty());
        let cut = &joist.cuts[0];
        assert_eq!(
            (cut.from_datum_mm.as_slice(), cut.top_mm, cut.bottom_mm),
            (&[1170.0][..], 110.0, 110.0)
        );
        assert_eq!((cut.bit_mm, cut.listed), (28.0, true));
        // Zone 900..1440 from the face for the whole hole (uk-solid-joist/hole-zone): 914..1426.
        assert_eq!(cut.stops_mm, Some([914.0, 1426.0]));
    }

    #[test]
    fn a_bit_that_would_break_a_rule_is_not_taken() {
        // 0.25 × 220 = 55 at most (uk-solid-joist/hole-size); the next bit over 54.5 is 57.
        let joist = marked(&[(CutKind::Hole, (1245.0, 1299.5), (-27.25, 27.25))]);
        assert_eq!((joist.cuts[0].bit_mm, joist.cuts[0].listed), (55.0, false));
    }

    #[test]
    fn a_notch_is_given_by_both_edges_with_its_drilled_root() {
        let joist = marked(&[(CutKind::TopNotch, (500.4, 527.4), (90.0, 110.0))]);
        let cut = &joist.cuts[0];
        assert_eq!(cut.from_datum_mm, [400.0, 427.0]);
        assert_eq!((cut.notch_mm, cut.bit_mm), (Some([27.0, 20.0]), 25.0));
    }

    #[test]
    fn a_joist_with_a_cut_that_does_not_pass_is_not_marked() {
        let joist = marked(&[
            (CutKind::Hole, (1256.5, 1283.5), (-13.5, 13.5)),
            (CutKind::Hole, (300.0, 327.0), (-13.5, 13.5)),
        ]);
        assert!(joist.cuts.is_empty());
    }
}
