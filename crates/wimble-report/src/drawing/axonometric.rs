//! A stretch of a member seen from its side and a little above, with what crosses it.
//!
//! Drawn in the member's frame: what lies stands over the elevation with the same end at the left,
//! what stands upright is drawn upright. Straight timber and straight cuts need no hidden-surface search: what lies behind the
//! member is drawn first, then the wood with the cut taken out, then what passes inside the cut,
//! then what lies in front.

use super::ink;
use super::solids::{self, Piece};
use super::svg::{Anchor, Pen, Svg};
use glam::DVec3;
use wimble_geom::Solid;
use wimble_model::{Cut, CutShape, Edge, Member, Section, Verdict};

/// How far to the side and how far above the viewer stands, degrees.
const TURN_DEG: f64 = 30.0;
const ABOVE_DEG: f64 = 24.0;
/// Shown of a service on either side of the member, mm.
const REACH_MM: f64 = 170.0;
/// Shown of what carries, under the member, mm.
const BEARER_MM: f64 = 70.0;
/// Points of a circle.
const CIRCLE: u32 = 48;

/// What is drawn.
pub(crate) struct View<'a> {
    pub(crate) member: &'a Member,
    /// The cut that is looked at.
    pub(crate) cut: &'a Cut,
    /// All cuts of the member that may be in sight, the one looked at included.
    pub(crate) cuts: Vec<&'a Cut>,
    /// Bodies of the services in them, world, metres.
    pub(crate) services: Vec<&'a Solid>,
    /// Where the cut may go instead: moved along, moved in depth, mm.
    pub(crate) proposal: Option<[f64; 2]>,
}

/// The stretch, and how millimetres become units of the page.
struct Page {
    from: f64,
    to: f64,
    scale: f64,
    shift: [f64; 2],
    /// Page height of the lowest point.
    bottom: f64,
    stands: Stands,
}

/// How a member's axes are turned to the viewer.
#[derive(Clone, Copy, PartialEq)]
enum Stands {
    /// x to the right, z up.
    Lying,
    /// x up; z, across the wall, to the left.
    Upright,
}

impl Stands {
    /// A point or a way of the member as the picture has it: right, away from the viewer, up.
    fn turned(self, p: DVec3) -> DVec3 {
        match self {
            Self::Lying => p,
            Self::Upright => DVec3::new(-p.z, p.y, p.x),
        }
    }

    /// The reverse.
    fn back(self, p: DVec3) -> DVec3 {
        match self {
            Self::Lying => p,
            Self::Upright => DVec3::new(p.z, p.y, -p.x),
        }
    }
}

impl Page {
    fn at(&self, p: DVec3) -> [f64; 2] {
        let [x, y] = projected(self.stands.turned(p));
        [x * self.scale + self.shift[0], y * self.scale + self.shift[1]]
    }

    fn ring(&self, points: &[DVec3]) -> Vec<[f64; 2]> {
        points.iter().map(|p| self.at(*p)).collect()
    }

    /// The way the viewer looks, in the member's frame.
    fn looking(&self) -> DVec3 {
        self.stands.back(looking())
    }
}

/// Right and down of the picture, before scaling.
fn projected(p: DVec3) -> [f64; 2] {
    let ((sin_a, cos_a), (sin_e, cos_e)) =
        (TURN_DEG.to_radians().sin_cos(), ABOVE_DEG.to_radians().sin_cos());
    let right = p.x * cos_a - p.y * sin_a;
    let up = p.x * sin_a * sin_e + p.y * cos_a * sin_e + p.z * cos_e;
    [right, -up]
}

/// The way the viewer looks, in the picture.
fn looking() -> DVec3 {
    let ((sin_a, cos_a), (sin_e, cos_e)) =
        (TURN_DEG.to_radians().sin_cos(), ABOVE_DEG.to_radians().sin_cos());
    DVec3::new(sin_a * cos_e, cos_a * cos_e, -sin_e)
}

impl View<'_> {
    /// Draws into a room of this size with its upper left corner at `corner`; gives the height
    /// that was used.
    pub(crate) fn draw(&self, svg: &mut Svg, corner: [f64; 2], room: [f64; 2]) -> f64 {
        let (b, h) = self.size();
        let (from, to) = self.stretch();
        let page = fitted(from, to, [b, h], corner, room, self.stands());
        let cuts: Vec<&Cut> = self
            .cuts
            .iter()
            .copied()
            .filter(|cut| cut.max_mm.x > from && cut.min_mm.x < to)
            .collect();
        let services = self.pieces(&page);
        self.bearers(svg, &page);
        for piece in &services {
            self.part(svg, &page, piece, Side::Behind);
        }
        if let Section::IJoist { flange_mm, web_mm, .. } = self.member.section {
            self.i_section(svg, &page, &cuts, &services, [flange_mm, web_mm]);
        } else {
            self.wood(svg, &page, &cuts, &services);
            self.front(svg, &page, &cuts, &services);
        }
        for piece in &services {
            self.part(svg, &page, piece, Side::Front);
        }
        self.remedy(svg, &page);
        self.point_out(svg, &page, corner);
        page.bottom - corner[1] + 8.0
    }

    fn stands(&self) -> Stands {
        if self.member.frame.x.z.abs() > 0.5 { Stands::Upright } else { Stands::Lying }
    }

    fn size(&self) -> (f64, f64) {
        (self.member.section.breadth_mm().max(1.0), self.member.section.depth_mm().max(1.0))
    }

    /// The stretch round the cut that shows the bearing face it is measured from, if it is near.
    fn stretch(&self) -> (f64, f64) {
        let (_, h) = self.size();
        let beside = (1.3 * h).clamp(220.0, 420.0);
        let (mut from, mut to) = (self.cut.min_mm.x - beside, self.cut.max_mm.x + beside);
        if let Some([along, _]) = self.proposal.filter(|[along, _]| along.abs() < 700.0) {
            from = from.min(self.cut.min_mm.x + along - 90.0);
            to = to.max(self.cut.max_mm.x + along + 90.0);
        }
        let near = 500.0;
        for bearing in &self.member.bearings {
            if bearing.to_mm < from && from - bearing.to_mm < near {
                from = bearing.from_mm.max(bearing.to_mm - 120.0) - 40.0;
            }
            if bearing.from_mm > to && bearing.from_mm - to < near {
                to = bearing.to_mm.min(bearing.from_mm + 120.0) + 40.0;
            }
        }
        (from.max(0.0), to.min(self.member.length_mm))
    }

    /// The services as pieces in the member's frame, cut to what is shown.
    fn pieces(&self, page: &Page) -> Vec<Piece> {
        let (b, h) = self.size();
        let least = DVec3::new(page.from - 60.0, -0.5 * b - REACH_MM, -0.5 * h - REACH_MM);
        let most = DVec3::new(page.to + 60.0, 0.5 * b + REACH_MM, 0.5 * h + REACH_MM);
        let pieces = self.services.iter().map(|solid| Piece::of(solid, &self.member.frame));
        let pieces = pieces.map(|piece| {
            [DVec3::X, DVec3::Y, DVec3::Z].into_iter().fold(piece, |piece, axis| {
                piece.beyond(axis, least.dot(axis)).beyond(-axis, -most.dot(axis))
            })
        });
        let mut pieces: Vec<Piece> = pieces.filter(|piece| !piece.is_empty()).collect();
        let depth = |piece: &Piece| piece.middle().dot(page.looking());
        pieces.sort_by(|a, b| depth(b).total_cmp(&depth(a)));
        pieces
    }

    /// The part of a service on one side of the member.
    fn part(&self, svg: &mut Svg, page: &Page, piece: &Piece, side: Side) {
        let (b, h) = self.size();
        let (y, z) = (0.5 * b, 0.5 * h);
        let parts = match side {
            // Behind its back, or below it but not in front.
            Side::Behind => vec![
                piece.clone().beyond(DVec3::Y, y),
                piece.clone().beyond(-DVec3::Z, z).beyond(-DVec3::Y, -y).beyond(DVec3::Y, -y),
            ],
            // Above it and not behind, or before its face.
            Side::Front => vec![
                piece.clone().beyond(DVec3::Z, z).beyond(-DVec3::Y, -y).beyond(DVec3::Y, -y),
                piece.clone().beyond(-DVec3::Y, y),
            ],
        };
        for part in parts {
            body(svg, page, &part);
        }
    }

    /// What carries, as hatched blocks.
    fn bearers(&self, svg: &mut Svg, page: &Page) {
        let (b, h) = self.size();
        for bearing in &self.member.bearings {
            let (from, to) = (bearing.from_mm.max(page.from), bearing.to_mm.min(page.to));
            if to - from < 1.0 {
                continue;
            }
            let (y, top, under) = (0.5 * b + 50.0, -0.5 * h, -0.5 * h - BEARER_MM);
            let pen = Some(Pen::fine(ink::INK));
            let face = |svg: &mut Svg, points: [DVec3; 4], hatched: bool| {
                let ring = page.ring(&points);
                svg.polygon(&ring, ink::PAPER, pen);
                if hatched {
                    svg.polygon(&ring, "url(#bearing)", pen);
                }
            };
            let v = DVec3::new;
            face(svg, [v(from, -y, top), v(to, -y, top), v(to, y, top), v(from, y, top)], false);
            face(
                svg,
                [v(from, -y, under), v(from, y, under), v(from, y, top), v(from, -y, top)],
                true,
            );
            face(
                svg,
                [v(from, -y, under), v(to, -y, under), v(to, -y, top), v(from, -y, top)],
                true,
            );
            let name = crate::say::plain(&bearing.name);
            let at = page.at(v(f64::midpoint(from, to), -y, under));
            svg.text([at[0], at[1] + ink::LINE], Anchor::Middle, ink::INK, &name);
        }
    }

    /// Top and end of the wood, and the insides of notches with what passes in them.
    fn wood(&self, svg: &mut Svg, page: &Page, cuts: &[&Cut], services: &[Piece]) {
        let (b, h) = self.size();
        let (y, z) = (0.5 * b, 0.5 * h);
        let v = DVec3::new;
        let line = Some(Pen::fine(ink::INK));
        // The insides first: floor and the wall that faces the viewer.
        for cut in cuts.iter().filter(|cut| open_side(cut, y)) {
            let [x0, x1] = [cut.min_mm.x.max(page.from), cut.max_mm.x.min(page.to)];
            let [z0, z1] = [cut.min_mm.z.max(-z), cut.max_mm.z.min(z)];
            let seen = if page.stands == Stands::Lying { x1 } else { x0 };
            let wall = [v(seen, -y, z0), v(seen, y, z0), v(seen, y, z1), v(seen, -y, z1)];
            svg.polygon(&page.ring(&wall), ink::INSIDE, line);
            if z0 > -z {
                let floor = [v(x0, -y, z0), v(x1, -y, z0), v(x1, y, z0), v(x0, y, z0)];
                svg.polygon(&page.ring(&floor), ink::INSIDE, line);
            }
        }
        for piece in services {
            let inside = piece.clone().beyond(DVec3::Y, -y).beyond(-DVec3::Y, -y);
            let inside = inside.beyond(DVec3::Z, -z).beyond(-DVec3::Z, -z);
            if cuts.iter().any(|cut| open_side(cut, y)) {
                body(svg, page, &inside);
            }
        }
        // The top, in the stretches that no cut takes.
        let mut tops = vec![[page.from, page.to]];
        for cut in cuts.iter().filter(|cut| open_side(cut, y) && cut.max_mm.z > z - 1.0) {
            tops = tops
                .into_iter()
                .flat_map(|[a, b]| {
                    [[a, b.min(cut.min_mm.x)], [a.max(cut.max_mm.x), b]]
                        .into_iter()
                        .filter(|[a, b]| b - a > 0.5)
                })
                .collect();
        }
        for [from, to] in tops {
            let top = [v(from, -y, z), v(to, -y, z), v(to, y, z), v(from, y, z)];
            svg.polygon(&page.ring(&top), ink::TIMBER_TOP, Some(Pen::outline(ink::INK)));
        }
        self.end(svg, page, [-y, y], [-z, z]);
    }

    /// The end that is seen, over these stretches of the section: the left of what lies, the top
    /// of what stands upright. Paper where the member goes on.
    fn end(&self, svg: &mut Svg, page: &Page, [y0, y1]: [f64; 2], [z0, z1]: [f64; 2]) {
        let (x, goes_on) = match page.stands {
            Stands::Lying => (page.from, page.from > 0.5),
            Stands::Upright => (page.to, page.to < self.member.length_mm - 0.5),
        };
        let end = [[y0, z0], [y1, z0], [y1, z1], [y0, z1]].map(|[y, z]| DVec3::new(x, y, z));
        let fill = if goes_on { ink::PAPER } else { ink::INSIDE };
        svg.polygon(&page.ring(&end), fill, Some(Pen::outline(ink::INK)));
    }

    /// A flange of an I-joist: top, end and the face that is seen.
    fn flange(&self, svg: &mut Svg, page: &Page, [z0, z1]: [f64; 2]) {
        let y = 0.5 * self.member.section.breadth_mm();
        let v = |x: f64, y: f64, z: f64| DVec3::new(x, y, z);
        let (from, to) = (page.from, page.to);
        let pen = Some(Pen::outline(ink::INK));
        let top = [v(from, -y, z1), v(to, -y, z1), v(to, y, z1), v(from, y, z1)];
        svg.polygon(&page.ring(&top), ink::TIMBER_TOP, pen);
        self.end(svg, page, [-y, y], [z0, z1]);
        let face = [v(from, -y, z0), v(to, -y, z0), v(to, -y, z1), v(from, -y, z1)];
        svg.polygon(&page.ring(&face), ink::TIMBER, pen);
    }

    /// An I-joist from below upwards: flange, web with its holes, what passes there, flange.
    fn i_section(
        &self,
        svg: &mut Svg,
        page: &Page,
        cuts: &[&Cut],
        services: &[Piece],
        [flange, web]: [f64; 2],
    ) {
        let (b, h) = self.size();
        let (y, z, w) = (0.5 * b, 0.5 * h, 0.5 * web);
        self.flange(svg, page, [-z, flange - z]);
        self.end(svg, page, [-w, w], [flange - z, z - flange]);
        let v = |x: f64, z: f64| DVec3::new(x, -w, z);
        let (low, high) = (flange - z, z - flange);
        let face = [v(page.from, low), v(page.to, low), v(page.to, high), v(page.from, high)];
        svg.polygon(&page.ring(&face), ink::TIMBER, Some(Pen::outline(ink::INK)));
        let holes = || cuts.iter().filter(|cut| cut.edge == Edge::None);
        for cut in holes() {
            let outline = page.ring(&outline(cut, w, [0.0, 0.0]));
            svg.polygon(&outline, ink::INSIDE, None);
            for piece in services {
                let inside = piece.clone().beyond(DVec3::Y, -w).beyond(-DVec3::Y, -y);
                svg.clipped(&outline, |svg| body(svg, page, &inside));
            }
            svg.polygon(&outline, "none", Some(self.pen(cut)));
        }
        // Between the web and the face of the flanges.
        for piece in services {
            body(svg, page, &piece.clone().beyond(-DVec3::Y, w).beyond(DVec3::Y, -y));
        }
        self.flange(svg, page, [high, z]);
        // What a flange loses shows on its face.
        for cut in cuts.iter().filter(|cut| cut.min_mm.z < low || cut.max_mm.z > high) {
            svg.polygon(&page.ring(&outline(cut, y, [0.0, 0.0])), "none", Some(self.pen(cut)));
        }
    }

    /// The outline of a cut.
    fn pen(&self, cut: &Cut) -> Pen {
        let looked_at = std::ptr::eq(cut, self.cut);
        Pen {
            tone: ink::tone(cut.verdict),
            width: if looked_at { 2.6 } else { ink::OUTLINE },
            dash: (cut.verdict == Verdict::Unknown).then_some("3 2"),
        }
    }

    /// The side that is seen, with its cuts taken out, and what passes through its holes.
    fn front(&self, svg: &mut Svg, page: &Page, cuts: &[&Cut], services: &[Piece]) {
        let (b, h) = self.size();
        let (y, z) = (0.5 * b, 0.5 * h);
        let v = |x: f64, z: f64| DVec3::new(x, -y, z);
        // Upper and lower outline, notches stepped out of them.
        let mut pieces: Vec<Vec<DVec3>> = Vec::new();
        let mut upper = vec![v(page.from, z)];
        let mut lower = vec![v(page.from, -z)];
        let mut open: Vec<&&Cut> = cuts.iter().filter(|cut| open_side(cut, y)).collect();
        open.sort_by(|a, b| a.min_mm.x.total_cmp(&b.min_mm.x));
        for cut in open {
            let [x0, x1] = [cut.min_mm.x.max(page.from), cut.max_mm.x.min(page.to)];
            let (top, bottom) = (cut.max_mm.z > z - 1.0, cut.min_mm.z < 1.0 - z);
            match (top, bottom) {
                (true, true) => {
                    upper.push(v(x0, z));
                    lower.push(v(x0, -z));
                    lower.reverse();
                    upper.append(&mut lower);
                    pieces.push(std::mem::take(&mut upper));
                    upper.push(v(x1, z));
                    lower.push(v(x1, -z));
                }
                (true, false) => {
                    let floor = cut.min_mm.z;
                    upper.extend([v(x0, z), v(x0, floor), v(x1, floor), v(x1, z)]);
                }
                _ => {
                    let ceiling = cut.max_mm.z;
                    lower.extend([v(x0, -z), v(x0, ceiling), v(x1, ceiling), v(x1, -z)]);
                }
            }
        }
        upper.push(v(page.to, z));
        lower.push(v(page.to, -z));
        lower.reverse();
        upper.append(&mut lower);
        pieces.push(upper);
        for ring in &pieces {
            svg.polygon(&page.ring(ring), ink::TIMBER, Some(Pen::outline(ink::INK)));
        }
        if let Section::OpenWeb { chord_mm: part, .. } = self.member.section {
            for level in [z - part, part - z] {
                let ends = [page.at(v(page.from, level)), page.at(v(page.to, level))];
                svg.line(ends[0], ends[1], Pen::fine(ink::INK));
            }
        }
        for cut in cuts {
            let pen = self.pen(cut);
            let outline = page.ring(&outline(cut, y, [0.0, 0.0]));
            let through = cut.min_mm.y < 1.0 - y;
            if cut.edge == Edge::None && through {
                svg.polygon(&outline, ink::INSIDE, None);
                for piece in services {
                    let inside = piece.clone().beyond(DVec3::Y, -y).beyond(-DVec3::Y, -y);
                    svg.clipped(&outline, |svg| body(svg, page, &inside));
                }
                svg.polygon(&outline, "none", Some(pen));
            } else if through {
                svg.polygon(&outline, "none", Some(pen));
            } else {
                // Out of sight in the wood: its outline, dashed.
                svg.polygon(&outline, "none", Some(pen.dashed("6 3")));
            }
        }
    }

    /// Where the cut may go instead.
    fn remedy(&self, svg: &mut Svg, page: &Page) {
        let Some(by) = self.proposal else { return };
        let (b, _) = self.size();
        let [x0, x1] = [self.cut.min_mm.x + by[0], self.cut.max_mm.x + by[0]];
        if x0 < page.from || x1 > page.to {
            return;
        }
        let ring = page.ring(&outline(self.cut, 0.5 * b, by));
        svg.polygon(&ring, "none", Some(Pen::outline(ink::ALLOWED).dashed("5 3")));
        // The words stand beside the member, so that the outline stays in sight.
        let (middle, h) = (f64::midpoint(x0, x1), self.size().1);
        let level = self.cut.min_mm.z + by[1];
        let [from, edge] = [level, -0.5 * h].map(|z| page.at(DVec3::new(middle, -0.5 * b, z)));
        let (words, anchor) = match page.stands {
            Stands::Lying => ([edge[0], edge[1] + 2.0 * ink::LINE], Anchor::Middle),
            Stands::Upright => ([edge[0] + 2.0 * ink::LINE, edge[1] + 4.0], Anchor::Start),
        };
        let to = match page.stands {
            Stands::Lying => [words[0], words[1] - ink::LINE],
            Stands::Upright => [words[0] - 4.0, words[1] - 4.0],
        };
        svg.line(from, to, Pen::fine(ink::ALLOWED));
        let moved = if by[0].abs() > by[1].abs() { by[0] } else { by[1] };
        let text = format!("here: {} mm", crate::say::mm(moved.abs()));
        svg.note(words, anchor, ink::ALLOWED, &text);
    }

    /// The verdict in words at the cut, so that the eye goes there first.
    fn point_out(&self, svg: &mut Svg, page: &Page, corner: [f64; 2]) {
        let (b, _) = self.size();
        let cut = self.cut;
        let target = page.at(DVec3::new(cut.mid_x_mm(), -0.5 * b, cut.max_mm.z));
        let tone = ink::tone(cut.verdict);
        let label = [corner[0] + 20.0, corner[1] + 16.0];
        let text = match cut.verdict {
            Verdict::Fail => "fail: do not cut here",
            Verdict::Refer => "refer: ask the engineer or the maker before cutting",
            Verdict::Unknown => "unknown: a fact is missing, do not cut yet",
            Verdict::Pass => "pass",
        };
        svg.line([label[0], label[1] + 6.0], target, Pen { tone, width: 1.2, dash: None });
        svg.mark([label[0], label[1] - 5.0], cut.verdict);
        svg.note([label[0] + 14.0, label[1]], Anchor::Start, tone, text);
    }
}

#[derive(Clone, Copy)]
enum Side {
    Behind,
    Front,
}

/// Whether a cut opens an edge over the whole breadth that is seen: it is stepped out of the wood.
fn open_side(cut: &Cut, y: f64) -> bool {
    cut.edge != Edge::None && cut.min_mm.y < 1.0 - y && cut.max_mm.y > y - 1.0
}

/// The outline of a cut on the side that is seen, moved along and in depth.
fn outline(cut: &Cut, y: f64, by: [f64; 2]) -> Vec<DVec3> {
    let (x0, x1) = (cut.min_mm.x + by[0], cut.max_mm.x + by[0]);
    let (z0, z1) = (cut.min_mm.z + by[1], cut.max_mm.z + by[1]);
    let (middle, half) = match &cut.besides.circle {
        Some(circle) => {
            let r = 0.5 * circle.diameter_mm;
            ([circle.x_mm + by[0], circle.z_mm + by[1]], [r, r])
        }
        None => {
            ([f64::midpoint(x0, x1), f64::midpoint(z0, z1)], [0.5 * (x1 - x0), 0.5 * (z1 - z0)])
        }
    };
    let round = cut.besides.circle.is_some() || cut.shape == CutShape::Round;
    if round && cut.edge == Edge::None {
        return (0..CIRCLE)
            .map(|i| {
                let (sin, cos) =
                    (f64::from(i) / f64::from(CIRCLE) * std::f64::consts::TAU).sin_cos();
                DVec3::new(middle[0] + half[0] * cos, -y, middle[1] + half[1] * sin)
            })
            .collect();
    }
    [[x0, z0], [x1, z0], [x1, z1], [x0, z1]].map(|[x, z]| DVec3::new(x, -y, z)).to_vec()
}

/// A piece of a service: its shape filled once, its edges that are seen, its cut ends.
fn body(svg: &mut Svg, page: &Page, piece: &Piece) {
    if piece.is_empty() {
        return;
    }
    let toward = page.looking();
    let faces: Vec<Vec<[f64; 2]>> = piece.seen(toward).map(|face| page.ring(face)).collect();
    svg.rings(&faces, ink::SERVICE);
    for end in piece.ends(toward) {
        svg.polygon(&page.ring(end), ink::PAPER, Some(Pen::fine(ink::INK)));
    }
    for [from, to] in solids::edges(piece, toward) {
        svg.line(page.at(from), page.at(to), Pen { tone: ink::INK, width: 1.0, dash: None });
    }
}

/// The scale at which the stretch fills the room.
fn fitted(
    from: f64,
    to: f64,
    [b, h]: [f64; 2],
    corner: [f64; 2],
    room: [f64; 2],
    stands: Stands,
) -> Page {
    let (y, z) = (0.5 * b + REACH_MM, 0.5 * h);
    let corners = [from, to].into_iter().flat_map(|x| {
        [-y, y].into_iter().flat_map(move |y| {
            [-z - BEARER_MM, z + 30.0]
                .into_iter()
                .map(move |z| projected(stands.turned(DVec3::new(x, y, z))))
        })
    });
    let corners: Vec<[f64; 2]> = corners.collect();
    let span = |axis: usize| {
        let of = corners.iter().map(|c| c[axis]);
        (of.clone().fold(f64::INFINITY, f64::min), of.fold(f64::NEG_INFINITY, f64::max))
    };
    let ((left, right), (top, bottom)) = (span(0), span(1));
    let scale = (room[0] / (right - left).max(1.0)).min(room[1] / (bottom - top).max(1.0)).min(1.1);
    let spare = 0.5 * (room[0] - (right - left) * scale);
    let down = corner[1] + 24.0 - top * scale;
    Page {
        from,
        to,
        scale,
        shift: [corner[0] + spare - left * scale, down],
        bottom: bottom * scale + down,
        stands,
    }
}
