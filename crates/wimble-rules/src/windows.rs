//! Where a cut would hold: the places along a member, from the same answers as the verdict.

use crate::check::{Answer, Answered, Axis};
use crate::interval::Intervals;
use crate::judge::{Judge, RuleSettings, speaks_for};
use crate::pack::{Otherwise, Pack, PackSet};
use crate::subject::{Mark, Subject, View};
use wimble_model::{Cut, CutIx, CutKind, CutShape, Member, Verdict};

/// A cut without a place: what is asked where it may go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probe {
    /// What it is.
    pub kind: CutKind,
    /// Round or rectangular.
    pub shape: CutShape,
    /// Along the member, mm.
    pub width_mm: f64,
    /// Up the depth, mm (of a notch: its depth; of a bore, a cut in one side or a cavity: across
    /// the breadth).
    pub height_mm: f64,
    /// Level of its centre above mid-depth, mm; a notch lies at its edge whatever is said here.
    pub offset_mm: f64,
    /// The bit it needs, mm.
    pub bit_mm: f64,
}

impl Probe {
    /// A round hole.
    #[must_use]
    pub const fn hole(diameter_mm: f64, offset_mm: f64) -> Self {
        Self {
            kind: CutKind::Hole,
            shape: CutShape::Round,
            width_mm: diameter_mm,
            height_mm: diameter_mm,
            offset_mm,
            bit_mm: diameter_mm,
        }
    }

    /// A notch in the top or the bottom edge.
    #[must_use]
    pub const fn notch(kind: CutKind, width_mm: f64, depth_mm: f64) -> Self {
        Self {
            kind,
            shape: CutShape::Rectangular,
            width_mm,
            height_mm: depth_mm,
            offset_mm: 0.0,
            bit_mm: width_mm,
        }
    }

    /// The same as another kind of cut (a hole in a web, say).
    #[must_use]
    pub const fn as_kind(self, kind: CutKind) -> Self {
        Self { kind, ..self }
    }

    /// The cut as a mark with its middle at `x`.
    pub(crate) fn at(&self, x: f64, member: &Member) -> Mark {
        let (depth, breadth) = (member.section.depth_mm(), member.section.breadth_mm());
        let (half, up) = (self.width_mm / 2.0, self.height_mm / 2.0);
        let (z0, z1) = match self.kind {
            CutKind::TopNotch => (depth / 2.0 - self.height_mm, depth / 2.0),
            // A joint is cut over its bearing, from below.
            CutKind::BottomNotch | CutKind::Joinery => {
                (-depth / 2.0, -depth / 2.0 + self.height_mm)
            }
            CutKind::Bore | CutKind::Severed => (-depth / 2.0, depth / 2.0),
            CutKind::SideCut => (self.offset_mm - half, self.offset_mm + half),
            _ => (self.offset_mm - up, self.offset_mm + up),
        };
        let (y0, y1) = match self.kind {
            CutKind::Bore | CutKind::Enclosed => (-up, up),
            CutKind::SideCut => (-breadth / 2.0, -breadth / 2.0 + self.height_mm),
            _ => (-breadth / 2.0, breadth / 2.0),
        };
        Mark {
            cut: u32::MAX,
            kind: self.kind,
            shape: self.shape,
            x0: x - half,
            x1: x + half,
            y0,
            y1,
            z0,
            z1,
            bit: self.bit_mm,
            shared: 1,
            proud: 0.0,
            sizes_known: true,
            trades: 0,
            services: 0,
            depth,
            breadth,
        }
    }
}

/// The places (of the cut's middle, mm along the member) where a cut would pass, on exact
/// limits, beside the neighbours given. Where it would overlap a neighbour and so become one cut
/// with it is not looked at.
#[must_use]
pub fn windows(
    member: &Member,
    probe: &Probe,
    neighbours: &[Cut],
    packs: &PackSet,
    settings: &RuleSettings,
) -> Vec<(f64, f64)> {
    windows_for(member, probe, neighbours, packs, settings, Verdict::Pass)
}

/// The same for another verdict: the places where the cut would come to `target` or better.
#[must_use]
pub fn windows_for(
    member: &Member,
    probe: &Probe,
    neighbours: &[Cut],
    packs: &PackSet,
    settings: &RuleSettings,
    target: Verdict,
) -> Vec<(f64, f64)> {
    let judge = Judge::of(member, packs, settings);
    let marks: Vec<Mark> = neighbours
        .iter()
        .enumerate()
        .map(|(n, cut)| Mark::of(CutIx::from(n).0, cut, &[]))
        .collect();
    let mut places = in_view(&judge, &View::of(member), probe, &marks, target);
    if let Some(without) = View::without_doubtful(member) {
        places = places.and(&in_view(&judge, &without, probe, &marks, target));
    }
    places.iter().collect()
}

fn in_view(
    judge: &Judge<'_>,
    view: &View<'_>,
    probe: &Probe,
    marks: &[Mark],
    target: Verdict,
) -> Intervals {
    in_view_of(judge, view, &|x| probe.at(x, view.member), marks, target)
}

/// The same of any mark, `at` a place.
pub(crate) fn in_view_of(
    judge: &Judge<'_>,
    view: &View<'_>,
    at: &dyn Fn(f64) -> Mark,
    marks: &[Mark],
    target: Verdict,
) -> Intervals {
    let mut places = Intervals::none();
    for (n, span) in view.spans.iter().enumerate() {
        let middle = f64::midpoint(span.from_mm, span.to_mm);
        let mark = at(middle);
        let subject = Subject { view, mark, neighbours: marks.into(), span: Some(n) };
        let within = Intervals::one(span.from_mm, span.to_mm);
        places = places.or(&allowed(judge, &subject, target).and(&within));
    }
    places
}

/// Where the middle of the cut may be, by all packs.
fn allowed(judge: &Judge<'_>, subject: &Subject<'_>, target: Verdict) -> Intervals {
    let mut places = Intervals::all();
    let mut spoke = false;
    for pack in &judge.selected.packs {
        let (by_pack, heard) = by_pack(judge, pack, subject, target);
        places = places.and(&by_pack);
        spoke |= heard;
    }
    let silent = if judge.selected.missing.is_some() { Verdict::Unknown } else { Verdict::Refer };
    if !spoke && silent > target { Intervals::none() } else { places }
}

/// Where the middle may be by one pack, and whether the pack spoke of such a cut.
fn by_pack<'p>(
    judge: &Judge<'p>,
    pack: &'p Pack,
    subject: &Subject<'_>,
    target: Verdict,
) -> (Intervals, bool) {
    let mut places = Intervals::all();
    let mut spoke = pack.free.has(subject.mark.kind);
    let mut in_scope = true;
    for rule in pack.rules.iter().filter(|rule| rule.is_scope()) {
        let answer = judge.asks_anywhere(pack, rule, subject);
        in_scope &= match &answer {
            Answer::Parts(parts) => parts.iter().all(|part| part.room.holds()),
            Answer::Missing(_) => false,
            Answer::Silent | Answer::Obliged { .. } => true,
        };
        places = places.and(&of_answer(&answer, rule.otherwise, subject, target));
    }
    spoke |= !in_scope;
    let mut groups: Vec<&str> = Vec::new();
    for rule in pack.rules.iter().filter(|rule| !rule.is_scope() && (in_scope || rule.always)) {
        let Some(group) = &rule.group else {
            let answer = judge.asks_anywhere(pack, rule, subject);
            spoke |= speaks_for(rule) && heard(&answer);
            places = places.and(&of_answer(&answer, rule.otherwise, subject, target));
            continue;
        };
        if groups.contains(&group.as_str()) {
            continue;
        }
        groups.push(group);
        if let Some(any) = of_group(judge, pack, group, in_scope, subject, target) {
            spoke = true;
            places = places.and(&any);
        }
    }
    (places, spoke)
}

/// Where any option of a group holds; `None` if none of them speaks.
fn of_group<'p>(
    judge: &Judge<'p>,
    pack: &'p Pack,
    group: &str,
    in_scope: bool,
    subject: &Subject<'_>,
    target: Verdict,
) -> Option<Intervals> {
    let mut options: Vec<(&str, Intervals)> = Vec::new();
    let rules = pack.rules.iter().filter(|r| r.group.as_deref() == Some(group));
    for rule in rules.filter(|r| in_scope || r.always) {
        let answer = judge.asks_anywhere(pack, rule, subject);
        if !heard(&answer) {
            continue;
        }
        let here = of_answer(&answer, rule.otherwise, subject, target);
        let name = rule.option.as_deref().unwrap_or_default();
        match options.iter_mut().find(|(option, _)| *option == name) {
            Some((_, places)) => *places = places.and(&here),
            None => options.push((name, here)),
        }
    }
    options.into_iter().map(|(_, places)| places).reduce(|all, places| all.or(&places))
}

fn heard(answer: &Answer) -> bool {
    match answer {
        Answer::Silent => false,
        Answer::Parts(parts) => !parts.is_empty(),
        Answer::Missing(_) | Answer::Obliged { .. } => true,
    }
}

/// Where one answer comes to the target or better.
fn of_answer(
    answer: &Answer,
    otherwise: Otherwise,
    subject: &Subject<'_>,
    target: Verdict,
) -> Intervals {
    match answer {
        Answer::Silent | Answer::Obliged { .. } => Intervals::all(),
        Answer::Missing(_) if otherwise == Otherwise::Note || Verdict::Unknown <= target => {
            Intervals::all()
        }
        Answer::Missing(_) => Intervals::none(),
        Answer::Parts(parts) => parts
            .iter()
            .filter(|part| part.otherwise.verdict() > target)
            .fold(Intervals::all(), |all, part| all.and(&of_part(part, subject))),
    }
}

fn of_part(part: &Answered, subject: &Subject<'_>) -> Intervals {
    if part.axis == Axis::X {
        let mid = subject.mark.mid_x();
        part.allowed.shrunk(mid - part.lo, part.hi - mid)
    } else if part.room.holds_exactly() {
        Intervals::all()
    } else {
        Intervals::none()
    }
}
