//! How millimetres of a member become units of the picture: the same scale both ways.

use wimble_model::{Cut, Member};

/// Width of every elevation.
pub(crate) const WIDTH: f64 = 1000.0;
/// White round the drawing.
pub(crate) const MARGIN: f64 = 28.0;
/// Column at the right for the section.
pub(crate) const SECTION_COLUMN: f64 = 170.0;

/// Below this scale (units per mm) a cut is too small to read: only a stretch is drawn.
const LEAST_SCALE: f64 = 0.16;
/// Above this scale a short member would fill the page with wood.
const GREATEST_SCALE: f64 = 0.5;
/// Shown past the ends, so that bearings and end cuts are seen whole.
const PAST_END_MM: f64 = 120.0;
/// Shown beside the cuts when only a stretch is drawn.
const BESIDE_CUT_MM: f64 = 500.0;

/// The stretch that is drawn and where it lies on the page.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sheet {
    /// Least x drawn.
    pub(crate) from_mm: f64,
    /// Greatest x drawn.
    pub(crate) to_mm: f64,
    /// Units of the picture per millimetre.
    pub(crate) scale: f64,
    /// Page height of mid-depth.
    pub(crate) axis: f64,
}

impl Sheet {
    /// The stretch for these cuts; `axis` is set once the labels above are laid out.
    pub(crate) fn new(member: &Member, cuts: &[&Cut]) -> Self {
        let room = WIDTH - 2.0 * MARGIN - SECTION_COLUMN;
        let (mut from_mm, mut to_mm) = (-PAST_END_MM, member.length_mm + PAST_END_MM);
        if room / (to_mm - from_mm) < LEAST_SCALE {
            (from_mm, to_mm) = stretch(member, cuts, room / LEAST_SCALE);
        }
        let scale = (room / (to_mm - from_mm)).min(GREATEST_SCALE);
        Self { from_mm, to_mm, scale, axis: 0.0 }
    }

    /// Whether the whole member is drawn.
    pub(crate) fn is_whole(&self, member: &Member) -> bool {
        self.from_mm <= 0.0 && self.to_mm >= member.length_mm
    }

    pub(crate) fn x(&self, x_mm: f64) -> f64 {
        MARGIN + (x_mm.clamp(self.from_mm, self.to_mm) - self.from_mm) * self.scale
    }

    pub(crate) fn z(&self, z_mm: f64) -> f64 {
        self.axis - z_mm * self.scale
    }

    pub(crate) fn right(&self) -> f64 {
        self.x(self.to_mm)
    }
}

/// The stretch round the cuts that shows the bearing face they are measured from, if it fits.
fn stretch(member: &Member, cuts: &[&Cut], room_mm: f64) -> (f64, f64) {
    let least = cuts.iter().map(|c| c.min_mm.x).fold(f64::INFINITY, f64::min);
    let greatest = cuts.iter().map(|c| c.max_mm.x).fold(f64::NEG_INFINITY, f64::max);
    let (mut from, mut to) = if least.is_finite() && greatest - least < room_mm {
        (least - BESIDE_CUT_MM, greatest + BESIDE_CUT_MM)
    } else {
        (-PAST_END_MM, room_mm - PAST_END_MM)
    };
    let faces = member.spans.iter().flat_map(|s| [s.from_mm, s.to_mm]);
    for face in faces {
        let wider = (from.min(face - PAST_END_MM), to.max(face + PAST_END_MM));
        if wider.1 - wider.0 <= room_mm {
            (from, to) = wider;
        }
    }
    if to - from < room_mm {
        let spare = 0.5 * (room_mm - (to - from));
        (from, to) = (from - spare, to + spare);
    }
    (from.max(-PAST_END_MM), to.min(member.length_mm + PAST_END_MM))
}
