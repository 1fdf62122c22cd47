//! The cuts of a floor, from closed forms.
//!
//! Written from `docs/measuring.md` alone. Along, across and up are called x, y, z as there: x runs
//! north along the joist from its south end, y runs west from its middle, z up from mid-depth.

use super::rules;
use super::{Floor, Section, Through};
use glam::{DVec2, DVec3, dvec2, dvec3};

/// A cut that is expected, in the sense of x that runs north.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedCut {
    /// Index of the joist.
    pub joist: usize,
    /// Names of the services, sorted.
    pub services: Vec<String>,
    /// As the report spells it.
    pub kind: &'static str,
    /// As the report spells it.
    pub edge: &'static str,
    /// Least corner of the envelope.
    pub min: DVec3,
    /// Greatest corner.
    pub max: DVec3,
    /// The bit, for holes.
    pub bit: Option<f64>,
    /// Distance to the nearer face of the span.
    pub from_bearing: Option<f64>,
    /// The worst verdict.
    pub verdict: &'static str,
    pub(super) shape: Shape,
    pub(super) proud: f64,
    /// For a hole that is shared: centre and diameter of its circle.
    pub(super) circle: Option<(DVec2, f64)>,
    bare: Vec<(DVec2, f64)>,
    rises: bool,
    along: bool,
}

/// Round or rectangular.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    Round,
    Rectangular,
}

/// Why a floor has no expectation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// Some comparison lies within half a millimetre of its limit.
    Hair,
    /// Some crossing has no closed form here.
    NoClosedForm,
}

/// Comparisons that remember how close they came.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hair(f64);

impl Hair {
    pub(super) const fn new() -> Self {
        Self(f64::INFINITY)
    }

    /// Whether there is slack; a small one of either sign is remembered.
    pub(super) fn slack(&mut self, slack: f64) -> bool {
        self.0 = self.0.min(slack.abs());
        slack >= 0.0
    }

    fn doubtful(self) -> bool {
        self.0 < 0.5
    }
}

/// All cuts of a floor with their verdicts, by joist and then along it.
///
/// # Errors
///
/// [`Doubt`], where an expectation would rest on a hair or on a shape without a closed form.
pub fn expect(floor: &Floor) -> Result<Vec<ExpectedCut>, Doubt> {
    let mut hair = Hair::new();
    let mut all = Vec::new();
    for (joist, x) in floor.joists.iter().enumerate() {
        let mut cuts = Vec::new();
        for service in &floor.services {
            if let Some(cut) = crossing(floor, joist, *x, service, &mut hair)? {
                cuts.push(cut);
            }
        }
        let mut cuts = merged(cuts, floor, &mut hair)?;
        for cut in &mut cuts {
            kind(cut, floor, &mut hair);
            place(cut, floor, &mut hair);
        }
        rules::judge(&mut cuts, floor, &mut hair)?;
        cuts.sort_by(|a, b| a.min.x.total_cmp(&b.min.x).then(a.min.z.total_cmp(&b.min.z)));
        all.extend(cuts);
    }
    if hair.doubtful() { Err(Doubt::Hair) } else { Ok(all) }
}

/// Least and greatest corner of a service of half size `r` (x–z), grown or bare, within the breadth:
/// not clipped along the joist.
struct Extent {
    min: DVec3,
    max: DVec3,
}

fn crossing(
    floor: &Floor,
    joist: usize,
    x: f64,
    service: &Through,
    hair: &mut Hair,
) -> Result<Option<ExpectedCut>, Doubt> {
    let local = |p: DVec3| dvec3(p.y - floor.ends[0], x - p.x, p.z - floor.middle());
    let (from, to) = (local(service.from), local(service.to));
    let bare = match extent(floor, from, to, service.section, 0.0)? {
        Some(extent) => extent,
        None => return Ok(None),
    };
    let (length, depth) = (floor.ends[1] - floor.ends[0], floor.depth);
    // More than a millimetre of each is shared, the bare service being meant.
    let shared_x = bare.max.x.min(length) - bare.min.x.max(0.0);
    let shared_y = bare.max.y - bare.min.y;
    let shared_z = bare.max.z.min(depth / 2.0) - bare.min.z.max(-depth / 2.0);
    let mut crosses = true;
    for shared in [shared_x, shared_y, shared_z] {
        crosses &= hair.slack(shared - 1.0);
    }
    if !crosses {
        return Ok(None);
    }
    let Some(grown) = extent(floor, from, to, service.section, floor.clearance)? else {
        return Err(Doubt::NoClosedForm);
    };
    let half = depth / 2.0;
    let direction = (to - from).normalize();
    let mut cut = ExpectedCut {
        joist,
        services: vec![service.name.clone()],
        kind: "",
        edge: "none",
        min: grown.min,
        max: grown.max,
        bit: None,
        from_bearing: None,
        verdict: "pass",
        shape: match service.section {
            Section::Round(_) => Shape::Round,
            Section::Rectangle(..) => Shape::Rectangular,
        },
        proud: (bare.max.z - half).max(-half - bare.min.z).max(0.0),
        circle: None,
        bare: Vec::new(),
        rises: direction.z.abs() > direction.y.abs(),
        along: direction.x.abs() >= 30.0_f64.to_radians().cos(),
    };
    if let Section::Round(diameter) = service.section
        && direction.y.abs() > 1.0 - 1e-12
    {
        cut.bare.push((dvec2(from.x, from.z), diameter / 2.0));
    }
    Ok(Some(cut))
}

/// The extent of a service within the breadth, by the closed form that suits its direction.
fn extent(
    floor: &Floor,
    from: DVec3,
    to: DVec3,
    section: Section,
    clearance: f64,
) -> Result<Option<Extent>, Doubt> {
    let direction = (to - from).normalize();
    let is = |component: f64| component.abs() > 1.0 - 1e-12;
    match section {
        Section::Rectangle(along, up) if is(direction.y) => {
            let half = dvec2(along + clearance, up + clearance) / 2.0;
            Ok(square(floor, from, to, half.x, half.y))
        }
        Section::Rectangle(..) => Err(Doubt::NoClosedForm),
        Section::Round(diameter) => {
            let r = (diameter + clearance) / 2.0;
            if is(direction.y) {
                round_square(floor, from, to, r)
            } else if is(direction.z) || is(direction.x) {
                Ok(beside(floor, from, to, r))
            } else {
                skew(floor, from, to, r)
            }
        }
    }
}

/// Straight across: a box, or a round one away from the ends.
fn square(floor: &Floor, from: DVec3, to: DVec3, rx: f64, rz: f64) -> Option<Extent> {
    let half = floor.breadth / 2.0;
    let (y0, y1) = (from.y.min(to.y).max(-half), from.y.max(to.y).min(half));
    (y1 > y0).then(|| Extent {
        min: dvec3(from.x - rx, y0, from.z - rz),
        max: dvec3(from.x + rx, y1, from.z + rz),
    })
}

/// Straight across; an end of the joist may take part of the cylinder.
fn round_square(floor: &Floor, from: DVec3, to: DVec3, r: f64) -> Result<Option<Extent>, Doubt> {
    let length = floor.ends[1] - floor.ends[0];
    let beyond = (-from.x).max(from.x - length);
    if beyond >= r {
        return Ok(None);
    }
    if beyond > -r && from.z.abs() + r > floor.depth / 2.0 - 1.5 {
        return Err(Doubt::NoClosedForm); // at a corner
    }
    let rz = if beyond > 0.0 { (r * r - beyond * beyond).sqrt() } else { r };
    Ok(square(floor, from, to, r, rz))
}

/// Upright, or along the joist: within the breadth a circle whose centre may lie outside it.
fn beside(floor: &Floor, from: DVec3, to: DVec3, r: f64) -> Option<Extent> {
    let half = floor.breadth / 2.0;
    let outside = (from.y.abs() - half).max(0.0);
    if outside >= r {
        return None;
    }
    let reach = (r * r - outside * outside).sqrt();
    let (y0, y1) = ((from.y - r).max(-half), (from.y + r).min(half));
    let (low, high) = (from.min(to), from.max(to));
    Some(if from.x == to.x {
        Extent { min: dvec3(from.x - reach, y0, low.z), max: dvec3(from.x + reach, y1, high.z) }
    } else {
        Extent { min: dvec3(low.x, y0, from.z - reach), max: dvec3(high.x, y1, from.z + reach) }
    })
}

/// Across the whole breadth, away from the joist's ends and its own: the centre line at both sides,
/// widened by r·√(1 − dz²)/|dy| along and r·√(1 − dx²)/|dy| up.
fn skew(floor: &Floor, from: DVec3, to: DVec3, r: f64) -> Result<Option<Extent>, Doubt> {
    let d = (to - from).normalize();
    let half = floor.breadth / 2.0;
    let (low, high) = (from.y.min(to.y), from.y.max(to.y));
    let cap = r * (1.0 - d.y * d.y).sqrt() + 2.0;
    if low > half + cap || high < -half - cap {
        return Ok(None);
    }
    if low > -half - cap || high < half + cap || d.z.abs() > d.y.abs() || d.y.abs() < 0.5 {
        return Err(Doubt::NoClosedForm);
    }
    let at = |y: f64| from + d * ((y - from.y) / d.y);
    let (a, b) = (at(-half), at(half));
    let rx = r * (1.0 - d.z * d.z).sqrt() / d.y.abs();
    let rz = r * (1.0 - d.x * d.x).sqrt() / d.y.abs();
    let grow = dvec3(rx, 0.0, rz);
    let (min, max) = (a.min(b) - grow, a.max(b) + grow);
    if min.x < 5.0 || max.x > floor.ends[1] - floor.ends[0] - 5.0 {
        return Err(Doubt::NoClosedForm);
    }
    Ok(Some(Extent { min, max }))
}

/// Cuts whose envelopes overlap are one. Only two round ones straight across have a closed form.
fn merged(
    cuts: Vec<ExpectedCut>,
    floor: &Floor,
    hair: &mut Hair,
) -> Result<Vec<ExpectedCut>, Doubt> {
    let mut done: Vec<ExpectedCut> = Vec::new();
    for mut cut in cuts {
        let mut partner = None;
        for (index, other) in done.iter().enumerate() {
            let x = cut.max.x.min(other.max.x) - cut.min.x.max(other.min.x);
            let z = cut.max.z.min(other.max.z) - cut.min.z.max(other.min.z);
            let overlap = x.min(z);
            // A millimetre either way, and the bare services apart.
            if hair.slack(overlap) {
                if partner.is_some() || cut.bare.len() != 1 || other.bare.len() != 1 {
                    return Err(Doubt::NoClosedForm);
                }
                partner = Some(index);
            }
        }
        if let Some(index) = partner {
            let other = done.remove(index);
            let [(c1, r1), (c2, r2)] = [cut.bare[0], other.bare[0]];
            let apart = c1.distance(c2);
            if apart < r1 + r2 + 1.0 {
                return Err(Doubt::NoClosedForm);
            }
            let diameter = apart + r1 + r2;
            let centre = c1 + (c2 - c1) / apart * (diameter / 2.0 - r1);
            cut.circle = Some((centre, diameter + floor.clearance));
            cut.min = cut.min.min(other.min);
            cut.max = cut.max.max(other.max);
            cut.proud = cut.proud.max(other.proud);
            cut.services.extend(other.services);
            cut.services.sort();
            cut.bare.extend(other.bare);
        }
        done.push(cut);
    }
    Ok(done)
}

/// The first kind that fits, on the envelope; then the envelope is clipped to the joist.
fn kind(cut: &mut ExpectedCut, floor: &Floor, hair: &mut Hair) {
    let (side, edge) = (floor.breadth / 2.0, floor.depth / 2.0);
    let length = floor.ends[1] - floor.ends[0];
    let mut reached = |left: f64| !hair.slack(left - 1.0);
    let sides = [reached(side + cut.min.y), reached(side - cut.max.y)];
    let (bottom, top) = (reached(edge + cut.min.z), reached(edge - cut.max.z));
    let both_sides = sides == [true, true];
    let ends = !hair.slack(cut.min.x) || !hair.slack(length - cut.max.x);
    cut.kind = if ends {
        "end-cut"
    } else if both_sides && top && bottom {
        "severed"
    } else if cut.along {
        "lengthwise"
    } else if (top && bottom) || (cut.rises && (top || bottom)) {
        "bore"
    } else if sides == [false, false] && !top && !bottom {
        "enclosed"
    } else if !both_sides {
        "side-cut"
    } else if top {
        "top-notch"
    } else if bottom {
        "bottom-notch"
    } else {
        "hole"
    };
    cut.edge = match (top, bottom) {
        (true, true) => "full",
        (true, false) => "top",
        (false, true) => "bottom",
        (false, false) => "none",
    };
    cut.min = dvec3(cut.min.x.max(0.0), cut.min.y, cut.min.z.max(-edge));
    cut.max = dvec3(cut.max.x.min(length), cut.max.y, cut.max.z.min(edge));
    if cut.kind == "hole" {
        let size = cut.max - cut.min;
        cut.bit = Some(cut.circle.map_or(size.x.max(size.z), |(_, diameter)| diameter));
    } else {
        cut.circle = None;
    }
}

/// The clear spans of a joist, from its south end.
pub(super) fn spans(floor: &Floor) -> Vec<[f64; 2]> {
    floor
        .walls
        .windows(2)
        .map(|pair| [pair[0][1] - floor.ends[0], pair[1][0] - floor.ends[0]])
        .collect()
}

/// The span that holds a cut: by its mid x; over a bearing the nearer; beyond them none.
pub(super) fn span_of(cut: &ExpectedCut, floor: &Floor, hair: &mut Hair) -> Option<[f64; 2]> {
    let mid = f64::midpoint(cut.min.x, cut.max.x);
    let outer = [floor.walls.first()?[0] - floor.ends[0], floor.walls.last()?[1] - floor.ends[0]];
    if !hair.slack(mid - outer[0]) || !hair.slack(outer[1] - mid) {
        return None;
    }
    let mut best: Option<([f64; 2], f64)> = None;
    for span in spans(floor) {
        let away = (span[0] - mid).max(mid - span[1]).max(0.0);
        if best.is_none_or(|(_, least)| {
            // Two spans equally near is a hair; one that holds it is not.
            if away > 0.0 && least > 0.0 { hair.slack(least - away) } else { away < least }
        }) {
            best = Some((span, away));
        }
    }
    best.map(|(span, _)| span)
}

fn place(cut: &mut ExpectedCut, floor: &Floor, hair: &mut Hair) {
    cut.from_bearing =
        span_of(cut, floor, hair).map(|[left, right]| (cut.min.x - left).min(right - cut.max.x));
}
