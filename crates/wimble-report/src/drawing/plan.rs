//! The key plan of a storey: members as lines whose weight shows the worst verdict, supports
//! hatched, services that cut fine, marks where there is room for them.

use super::ink;
use super::sheet::{MARGIN, WIDTH};
use super::svg::{Anchor, Pen, Svg, width_of};
use crate::rows_by::RowsBy;
use crate::{Report, say};
use glam::{DVec2, DVec3};
use std::collections::BTreeMap;
use std::io::{self, Write};
use wimble_model::{Bearing, Cut, Member, MemberIx, Verdict};

/// The plan is no higher than this, units.
const HIGHEST: f64 = 620.0;
/// A member whose plan is shorter than this share of its length stands upright.
const UPRIGHT: f64 = 0.3;
/// Supports whose bearings lie within this of one line are drawn as one band, metres.
const IN_LINE_M: f64 = 0.15;

/// A stretch of a member that is marked on its plan.
pub(crate) struct NailStrip {
    pub(crate) member: MemberIx,
    pub(crate) from_mm: f64,
    pub(crate) to_mm: f64,
    /// What is written beside it.
    pub(crate) says: String,
}

/// A storey from above.
pub(crate) struct Plan<'r> {
    report: &'r Report,
    rows: &'r RowsBy,
    storey: Option<u32>,
    members: Vec<(MemberIx, &'r Member)>,
    /// Least corner and greatest corner, metres.
    box_m: [DVec2; 2],
    scale: f64,
}

/// Every storey that has members, one under the other.
///
/// # Errors
/// If the text cannot be written.
pub fn write<W: Write>(report: &Report, out: &mut W) -> io::Result<()> {
    let rows = RowsBy::of(report);
    let mut page = Svg::default();
    let mut y = 0.0;
    for plan in Plan::all(report, &rows) {
        let (drawing, height) = plan.draw(&|_| None);
        let mut headed = Svg::default();
        headed.heading([MARGIN, MARGIN + ink::HEADING], &plan.title());
        headed.under(MARGIN + ink::HEADING, &drawing);
        page.under(y, &headed);
        y += height + MARGIN + ink::HEADING;
    }
    out.write_all(page.finish(WIDTH, y.max(1.0), "Key plans").as_bytes())
}

/// Whether it is on none, and which: what is on no storey comes last.
type StoreyKey = (bool, Option<u32>);

impl<'r> Plan<'r> {
    /// Plans of the storeys that have members with cuts, lowest first; what is on no storey last.
    pub(crate) fn all(report: &'r Report, rows: &'r RowsBy) -> Vec<Self> {
        let mut storeys: BTreeMap<StoreyKey, Vec<(MemberIx, &Member)>> = BTreeMap::new();
        for (at, member) in report.members.iter().enumerate() {
            let key = (member.storey.is_none(), member.storey);
            storeys.entry(key).or_default().push((MemberIx::from(at), member));
        }
        let plans = storeys
            .into_iter()
            .filter(|(_, members)| members.iter().any(|(ix, _)| rows.worst(report, *ix).is_some()));
        plans.map(|((_, storey), members)| Self::new(report, rows, storey, members)).collect()
    }

    fn new(
        report: &'r Report,
        rows: &'r RowsBy,
        storey: Option<u32>,
        members: Vec<(MemberIx, &'r Member)>,
    ) -> Self {
        let ends = members.iter().flat_map(|(_, member)| ends(member));
        let ends = ends.filter(|p| p.is_finite());
        let (least, greatest) =
            ends.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(a, b), p| (a.min(p), b.max(p)));
        let around = DVec2::splat(0.3);
        let box_m = if least.is_finite() && greatest.is_finite() {
            [least - around, greatest + around]
        } else {
            [DVec2::ZERO, DVec2::ONE]
        };
        let size = box_m[1] - box_m[0];
        let room = WIDTH - 2.0 * MARGIN - 120.0;
        let scale = (room / size.x).min(HIGHEST / size.y);
        Self { report, rows, storey, members, box_m, scale }
    }

    /// Its storey's name.
    pub(crate) fn title(&self) -> String {
        say::storey(self.report, self.storey)
    }

    pub(crate) fn storey(&self) -> Option<u32> {
        self.storey
    }

    /// As part of a page; `target` gives the place of a member on that page.
    pub(crate) fn inline(&self, target: &dyn Fn(MemberIx) -> Option<String>) -> String {
        let (svg, height) = self.draw(target);
        svg.inline(WIDTH, height, &format!("Key plan of {}", self.title()))
    }

    pub(crate) fn members(&self) -> impl Iterator<Item = (MemberIx, &'r Member)> {
        self.members.iter().copied()
    }

    /// The plan with stretches of members marked, all else fine.
    pub(crate) fn inline_with(&self, strips: &[NailStrip]) -> String {
        let mut svg = Svg::default();
        self.supports(&mut svg);
        for (_, member) in &self.members {
            self.member(&mut svg, member, None);
        }
        self.services(&mut svg);
        let pen = Pen { tone: ink::tone(Verdict::Fail), width: 7.0, dash: None };
        for strip in strips {
            let Some(member) = self.report.members.get(strip.member.at()) else { continue };
            let at = |x: f64| self.point(member.frame.world_m(DVec3::new(x, 0.0, 0.0)).truncate());
            let (from, to) = (at(strip.from_mm), at(strip.to_mm));
            svg.line(from, to, pen);
            let beside = [f64::midpoint(from[0], to[0]) + 8.0, f64::midpoint(from[1], to[1]) + 4.0];
            svg.strong(beside, Anchor::Start, ink::tone(Verdict::Fail), &strip.says);
        }
        let members: Vec<_> =
            self.members.iter().map(|(ix, member)| (None, *ix, *member)).collect();
        self.marks(&mut svg, &members);
        let bottom = self.at(self.box_m[0]).1;
        svg.line([MARGIN + 40.0, bottom + 18.0], [MARGIN + 74.0, bottom + 18.0], pen);
        let words = "no nails: millimetres of wood over the pipe or cable";
        svg.text([MARGIN + 82.0, bottom + 22.0], Anchor::Start, ink::INK, words);
        svg.inline(WIDTH, bottom + 40.0, &format!("No nails: plan of {}", self.title()))
    }

    /// The drawing and its height.
    pub(crate) fn draw(&self, target: &dyn Fn(MemberIx) -> Option<String>) -> (Svg, f64) {
        let mut svg = Svg::default();
        self.supports(&mut svg);
        self.services(&mut svg);
        let mut members: Vec<(Option<Verdict>, MemberIx, &Member)> = self
            .members
            .iter()
            .map(|(ix, member)| (self.rows.worst(self.report, *ix), *ix, *member))
            .collect();
        // The worst is drawn last, over what would hide it.
        members.sort_by_key(|(worst, ix, _)| (*worst, *ix));
        for (worst, ix, member) in &members {
            let link = target(*ix);
            if let Some(target) = &link {
                svg.open_link(target, &self.said(*ix, member, *worst));
            }
            self.member(&mut svg, member, *worst);
            if link.is_some() {
                svg.close_link();
            }
        }
        for (worst, ix, _) in &members {
            if worst.is_some() {
                self.cuts(&mut svg, *ix);
            }
        }
        members.reverse();
        self.marks(&mut svg, &members);
        let bottom = self.at(self.box_m[0]).1;
        self.key(&mut svg, bottom + 18.0);
        (svg, bottom + 52.0)
    }

    /// A place of the world on the page.
    fn at(&self, p: DVec2) -> (f64, f64) {
        let from = DVec2::new(p.x - self.box_m[0].x, self.box_m[1].y - p.y) * self.scale;
        (MARGIN + 40.0 + from.x, 12.0 + from.y)
    }

    fn point(&self, p: DVec2) -> [f64; 2] {
        let (x, y) = self.at(p);
        [x, y]
    }

    fn said(&self, ix: MemberIx, member: &Member, worst: Option<Verdict>) -> String {
        let cuts = crate::summary::plural(self.rows.cuts(ix).len(), "cut");
        let word = worst.map_or("no cut", Verdict::word);
        format!("{}: {word}, {cuts}", say::member_name(member))
    }

    fn member(&self, svg: &mut Svg, member: &Member, worst: Option<Verdict>) {
        let pen = weight(worst);
        let [from, to] = ends(member).map(|p| self.point(p));
        if upright(member) {
            let half = f64::max(2.5, 0.0005 * self.scale * member.section.depth_mm());
            let corner = [from[0] - half, from[1] - half];
            svg.rectangle(corner, [2.0 * half, 2.0 * half], ink::TIMBER, Some(pen));
        } else {
            svg.line(from, to, pen);
        }
    }

    /// What breaks or is open at its place; what passes as a dot.
    fn cuts(&self, svg: &mut Svg, member: MemberIx) {
        for cut in self.cuts_of(member) {
            let centre = self.point(self.report.point_m(cut).truncate());
            match cut.verdict {
                Verdict::Pass => svg.circle(centre, 2.4, ink::INK, None),
                verdict => {
                    svg.circle(centre, 7.0, ink::PAPER, None);
                    svg.mark(centre, verdict);
                }
            }
        }
    }

    pub(crate) fn cuts_of(&self, member: MemberIx) -> impl Iterator<Item = &'r Cut> {
        let cuts = self.rows.cuts(member).iter();
        cuts.filter_map(|cut| self.report.cuts.get(cut.at()))
            .filter(|cut| self.report.point_m(cut).is_finite())
    }

    /// Marks, those that need attention first, where nothing else is written yet.
    fn marks(&self, svg: &mut Svg, members: &[(Option<Verdict>, MemberIx, &Member)]) {
        let mut taken: Vec<[f64; 4]> = Vec::new();
        for (worst, ix, member) in members {
            // A GlobalId says nothing to someone with a plan in hand.
            let name = match member.element.name {
                Some(_) => say::member_name(member),
                None => format!("no. {}", ix.0.saturating_add(1)),
            };
            let width = 0.84 * width_of(&name) + 4.0;
            let [from, to] = ends(member).map(|p| self.point(p));
            // Blocking and studs without a cut would only fill the plan with letters.
            if worst.is_none() && (upright(member) || member.length_mm < 900.0) {
                continue;
            }
            let places = if upright(member) {
                vec![[from[0] + 6.0, from[1] + 4.0], [from[0] + 6.0, from[1] - 6.0]]
            } else if (to[0] - from[0]).abs() > (to[1] - from[1]).abs() {
                let middle = [f64::midpoint(from[0], to[0]) - 0.5 * width, from[1] - 4.0];
                vec![[to[0] + 6.0, to[1] + 4.0], [from[0] - width - 4.0, from[1] + 4.0], middle]
            } else {
                let across = |p: [f64; 2], dy: f64| [p[0] - 0.5 * width, p[1] + dy];
                let (upper, lower) = if from[1] < to[1] { (from, to) } else { (to, from) };
                vec![across(upper, -5.0), across(lower, 14.0), across(lower, 27.0)]
            };
            let free = places.into_iter().find_map(|[x, y]| {
                let spot = [x, y - 11.0, x + width, y + 2.0];
                let apart = |t: &[f64; 4]| {
                    t[2] <= spot[0] || t[0] >= spot[2] || t[3] <= spot[1] || t[1] >= spot[3]
                };
                let inside = spot[0] > 2.0 && spot[2] < WIDTH - 2.0;
                (inside && taken.iter().all(apart)).then_some(([x, y], spot))
            });
            if let Some((at, spot)) = free {
                taken.push(spot);
                // Lines that pass behind must not cross the letters out.
                let size = [spot[2] - spot[0], spot[3] - spot[1]];
                svg.rectangle([spot[0] - 1.0, spot[1]], size, ink::PAPER, None);
                match worst {
                    Some(v) if *v > Verdict::Pass => {
                        svg.strong(at, Anchor::Start, ink::tone(*v), &name);
                    }
                    _ => svg.text(at, Anchor::Start, ink::INK, &name),
                }
            }
        }
    }

    /// What carries, from the bearings on it: a band where they lie in one line, else each alone.
    fn supports(&self, svg: &mut Svg) {
        let mut supports: BTreeMap<&str, Vec<(DVec2, f64)>> = BTreeMap::new();
        for (_, member) in self.members.iter().filter(|(_, m)| !upright(m)) {
            for bearing in member.bearings.iter().filter(|b| b.member.is_none()) {
                let middle = DVec3::new(f64::midpoint(bearing.from_mm, bearing.to_mm), 0.0, 0.0);
                let place = member.frame.world_m(middle).truncate();
                if place.is_finite() {
                    let long = 0.001 * (bearing.to_mm - bearing.from_mm);
                    supports.entry(name_of(bearing)).or_default().push((place, long));
                }
            }
        }
        for places in supports.values() {
            let wide = places.iter().map(|p| p.1).fold(0.06, f64::max);
            match band(places) {
                Some([from, to]) => self.hatched(svg, from, to, wide),
                None => {
                    for (place, _) in places {
                        let half = DVec2::new(0.5 * wide, 0.0);
                        self.hatched(svg, *place - half, *place + half, wide);
                    }
                }
            }
        }
    }

    fn hatched(&self, svg: &mut Svg, from: DVec2, to: DVec2, wide: f64) {
        let along = (to - from).normalize_or(DVec2::X);
        let (past, side) = (along * 0.5 * wide, along.perp() * 0.5 * wide);
        let corners = [from - past + side, to + past + side, to + past - side, from - past - side];
        let points = corners.map(|p| self.point(p));
        svg.polygon(&points, "url(#bearing)", Some(Pen::fine(ink::INK)));
    }

    /// Straight services that cut a member of this storey.
    fn services(&self, svg: &mut Svg) {
        let mut seen: Vec<usize> = self
            .members
            .iter()
            .flat_map(|(ix, _)| self.cuts_of(*ix))
            .flat_map(|cut| cut.services.iter().map(|s| s.at()))
            .collect();
        seen.sort_unstable();
        seen.dedup();
        for service in seen {
            if let Some(Some([from, to])) = self.report.service_axes_m.get(service)
                && from.is_finite()
                && to.is_finite()
            {
                let pen = Pen::fine(ink::ALLOWED).dashed("9 3");
                svg.line(self.point(from.truncate()), self.point(to.truncate()), pen);
            }
        }
    }

    /// Verdicts as they are drawn, how long a metre is, which way is north.
    fn key(&self, svg: &mut Svg, y: f64) {
        let mut x = MARGIN + 40.0;
        let rows = [
            (Some(Verdict::Fail), "fail"),
            (Some(Verdict::Refer), "refer"),
            (Some(Verdict::Unknown), "unknown"),
            (Some(Verdict::Pass), "pass"),
            (None, "no cut"),
        ];
        for (worst, word) in rows {
            svg.line([x, y], [x + 34.0, y], weight(worst));
            let mut from = x + 42.0;
            if let Some(verdict) = worst {
                svg.mark([from + 4.0, y], verdict);
                from += 15.0;
            }
            svg.text([from, y + 4.0], Anchor::Start, ink::INK, word);
            x = from + width_of(word) + 26.0;
        }
        svg.line([x, y], [x + 34.0, y], Pen::fine(ink::ALLOWED).dashed("9 3"));
        svg.text([x + 42.0, y + 4.0], Anchor::Start, ink::INK, "service");
        let metres = if self.scale > 120.0 { 1.0 } else { 2.0 };
        let long = metres * self.scale;
        let right = WIDTH - MARGIN - 34.0;
        let pen = Pen::outline(ink::INK);
        svg.line([right - long, y], [right, y], pen);
        for end in [right - long, right] {
            svg.line([end, y - 4.0], [end, y + 4.0], pen);
        }
        let words = if metres > 1.0 { "2 m" } else { "1 m" };
        svg.text([right - 0.5 * long, y - 6.0], Anchor::Middle, ink::INK, words);
        let tip = WIDTH - MARGIN - 8.0;
        svg.line([tip, y + 10.0], [tip, y - 12.0], pen);
        svg.polygon(&[[tip - 4.0, y - 6.0], [tip + 4.0, y - 6.0], [tip, y - 16.0]], ink::INK, None);
        svg.text([tip, y + 22.0], Anchor::Middle, ink::INK, "N");
    }
}

/// How a member's line shows the worst that is said of it.
fn weight(worst: Option<Verdict>) -> Pen {
    let (width, dash) = match worst {
        Some(Verdict::Fail) => (5.0, None),
        Some(Verdict::Refer) => (3.6, None),
        Some(Verdict::Unknown) => (3.0, Some("5 3")),
        Some(Verdict::Pass) => (1.8, None),
        None => (ink::FINE, None),
    };
    Pen { tone: worst.map_or(ink::INK, ink::tone), width, dash }
}

fn ends(member: &Member) -> [DVec2; 2] {
    [0.0, member.length_mm].map(|x| member.frame.world_m(DVec3::new(x, 0.0, 0.0)).truncate())
}

fn upright(member: &Member) -> bool {
    let [from, to] = ends(member);
    from.distance(to) < UPRIGHT * 0.001 * member.length_mm
}

/// What tells one support from another.
fn name_of(bearing: &Bearing) -> &str {
    bearing.element.as_ref().map_or(bearing.name.as_str(), |e| e.guid.as_str())
}

/// The ends of the line on which all places lie, if they lie on one.
fn band(places: &[(DVec2, f64)]) -> Option<[DVec2; 2]> {
    let (first, _) = places.first()?;
    let farthest = |from: DVec2| {
        let far = |a: &&(DVec2, f64), b: &&(DVec2, f64)| {
            a.0.distance(from).total_cmp(&b.0.distance(from))
        };
        places.iter().max_by(far).map(|p| p.0)
    };
    let from = farthest(*first)?;
    let to = farthest(from)?;
    let along = (to - from).try_normalize()?;
    let in_line = |p: &(DVec2, f64)| (p.0 - from).perp_dot(along).abs() < IN_LINE_M;
    places.iter().all(in_line).then_some([from, to])
}
