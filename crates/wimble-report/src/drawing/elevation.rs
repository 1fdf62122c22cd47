//! One member drawn side on.

use super::sheet::{MARGIN, Sheet, WIDTH};
use super::svg::{Pen, Svg};
use super::{bearings, cuts, dimensions, ink, labels, loads, overview, section, strips};
use wimble_model::{Cut, Member, Section, Verdict};

/// What an elevation shows.
#[derive(Debug, Clone)]
pub struct Elevation<'a> {
    /// Its title: mark, size, material, place.
    pub heading: String,
    /// The member.
    pub member: &'a Member,
    /// The cuts that are drawn, by x0.
    pub cuts: Vec<DrawnCut<'a>>,
    /// Where a cut may be, one strip for holes and one for notches.
    pub strips: Vec<Strip>,
}

/// A cut as it is drawn.
#[derive(Debug, Clone)]
pub struct DrawnCut<'a> {
    /// The cut.
    pub cut: &'a Cut,
    /// Its mark (`A-04/1`).
    pub mark: String,
    /// The service in the trade's words (`bath waste`).
    pub service: String,
    /// What breaks, measured against its limit, on one line; `None` for a pass.
    pub broken: Option<String>,
    /// Where it would comply.
    pub proposal: Option<Proposal>,
}

/// A cut's nearest allowed place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proposal {
    /// Moved along x, signed.
    pub along_mm: f64,
    /// Moved along z, signed.
    pub depth_mm: f64,
}

/// Where a cut of one kind may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// What may be there (`holes to 55`).
    pub title: String,
    /// Stretches of x, mm.
    pub windows: Vec<[f64; 2]>,
    /// What is written where there are none: who decides then.
    pub nowhere: String,
}

impl Elevation<'_> {
    /// The drawing as SVG text, 1000 units wide and as high as it needs.
    #[must_use]
    pub fn svg(&self) -> String {
        let (svg, height) = self.draw();
        svg.finish(WIDTH, height, &self.heading)
    }

    /// The drawing as part of a page, without a heading: the page has its own.
    pub(crate) fn inline(&self) -> String {
        let bare = Elevation { heading: String::new(), ..self.clone() };
        let (svg, height) = bare.draw();
        svg.inline(WIDTH, height, &self.heading)
    }

    /// The drawing and its height.
    pub(crate) fn draw(&self) -> (Svg, f64) {
        let shown: Vec<&Cut> = self.cuts.iter().map(|c| c.cut).collect();
        let mut sheet = Sheet::new(self.member, &shown);
        let mut svg = Svg::default();
        let mut y = 0.5 * MARGIN;
        if !self.heading.is_empty() {
            y = MARGIN + ink::HEADING;
            svg.heading([MARGIN, y], &self.heading);
            y += ink::LINE;
        }
        if !sheet.is_whole(self.member) {
            y = overview::draw(&mut svg, self.member, &sheet, y);
        }
        let placed = labels::place(&sheet, self.member, &self.cuts);
        let labels_bottom = y + labels::height(&placed);
        let half = 0.5 * self.member.section.depth_mm() * sheet.scale;
        sheet.axis = labels_bottom + loads::height(self.member) + half;
        labels::leaders(&mut svg, &sheet, &placed, labels_bottom);
        labels::draw(&mut svg, &placed, labels_bottom);
        loads::draw(&mut svg, &sheet, self.member);
        body(&mut svg, &sheet, self.member);
        cuts::draw(&mut svg, &sheet, self.member, &self.cuts);
        section::draw(&mut svg, &sheet, self.member, self.worst());
        y = bearings::draw(&mut svg, &sheet, self.member);
        y = dimensions::draw(&mut svg, &sheet, self.member, &self.cuts, y);
        y = strips::draw(&mut svg, &sheet, self.member, &self.strips, y);
        (svg, y + MARGIN)
    }

    /// The cut whose section is drawn: the worst, the first of equals.
    fn worst(&self) -> Option<&Cut> {
        Verdict::WORST_FIRST
            .iter()
            .find_map(|v| self.cuts.iter().map(|c| c.cut).find(|c| c.verdict == *v))
    }
}

/// The wood, with the flanges or chords of a made-up section.
fn body(svg: &mut Svg, sheet: &Sheet, member: &Member) {
    let half = 0.5 * member.section.depth_mm();
    let (left, right) = (sheet.x(0.0), sheet.x(member.length_mm));
    let size = [right - left, 2.0 * half * sheet.scale];
    svg.rectangle([left, sheet.z(half)], size, ink::TIMBER, Some(Pen::outline(ink::INK)));
    if let Section::IJoist { flange_mm: part, .. } | Section::OpenWeb { chord_mm: part, .. } =
        member.section
    {
        for z in [half - part, part - half] {
            svg.line([left, sheet.z(z)], [right, sheet.z(z)], Pen::fine(ink::INK));
        }
    }
    for (end_mm, shown) in [(sheet.from_mm, left), (sheet.to_mm, right)] {
        if end_mm > 0.0 && end_mm < member.length_mm {
            break_line(svg, shown, sheet.z(half), sheet.z(-half));
        }
    }
}

/// The zigzag where a member goes on past the drawing.
fn break_line(svg: &mut Svg, x: f64, top: f64, bottom: f64) {
    let mid = f64::midpoint(top, bottom);
    let points = [[x, top - 8.0], [x, mid - 6.0], [x + 5.0, mid - 2.0], [x - 5.0, mid + 2.0]];
    let pen = Pen { tone: ink::PAPER, width: 3.5, dash: None };
    svg.line([x, top], [x, bottom], pen);
    for pair in points.windows(2) {
        svg.line(pair[0], pair[1], Pen::fine(ink::INK));
    }
    svg.line([x - 5.0, mid + 2.0], [x, mid + 6.0], Pen::fine(ink::INK));
    svg.line([x, mid + 6.0], [x, bottom + 8.0], Pen::fine(ink::INK));
}
