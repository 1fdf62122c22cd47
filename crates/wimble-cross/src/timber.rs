//! A member made ready to be crossed.

use crate::body::{Body, Region};
use glam::DVec3;
use smallvec::SmallVec;
use wimble_geom::tolerance::CROSSING;
use wimble_geom::{Aabb, Mesh, Plane};
use wimble_model::{Member, MemberKind, Section};
use wimble_recognise::{MemberBody, Part, PartKind, PartShape};

/// A crossing shares more than this with the member in each of x, y and z, mm.
pub(crate) const CROSSING_MM: f64 = CROSSING * 1000.0;
/// Figures are compared with a limit in favour of the cut by this, mm (`docs/measuring.md`).
pub(crate) const FAVOUR_MM: f64 = 0.05 + 1e-9;
/// Beyond any depth: a region that is not clipped in depth ends here, mm.
const OPEN_MM: f64 = 1e5;

/// How a member is made, as far as kinds of cut differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Make {
    /// One piece through the section.
    Solid,
    /// Two flanges and a web.
    IJoist { flange_mm: f64, web_mm: f64 },
    /// Two chords and webs between.
    OpenWeb { chord_mm: f64, webs_known: bool },
    /// Part of a truss.
    TrussPart,
}

/// The section at a place along the member.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LocalSection {
    /// Middle of the breadth.
    pub(crate) y: f64,
    /// Middle of the depth.
    pub(crate) z: f64,
    pub(crate) breadth: f64,
    pub(crate) depth: f64,
}

/// A member made ready to be crossed.
#[derive(Debug)]
pub(crate) struct Timber<'a> {
    pub(crate) member: &'a Member,
    pub(crate) make: Make,
    pub(crate) length: f64,
    /// Half spaces of skew or plumb ends.
    pub(crate) ends: &'a [Plane],
    parts: SmallVec<[TimberPart<'a>; 1]>,
}

#[derive(Debug)]
struct TimberPart<'a> {
    kind: PartKind,
    shape: Shape<'a>,
}

#[derive(Debug)]
enum Shape<'a> {
    Box(Region<'a>),
    Mesh(&'a Mesh),
}

impl<'a> Timber<'a> {
    pub(crate) fn new(member: &'a Member, body: &'a MemberBody) -> Self {
        let make = match member.section {
            Section::IJoist { flange_mm, web_mm, .. } => Make::IJoist { flange_mm, web_mm },
            Section::OpenWeb { chord_mm, webs_known, .. } => Make::OpenWeb { chord_mm, webs_known },
            _ if member.kind == MemberKind::TrussPart => Make::TrussPart,
            _ => Make::Solid,
        };
        let ends = body
            .parts
            .iter()
            .find_map(|part| match &part.shape {
                PartShape::Box { ends, .. } if !ends.is_empty() => Some(ends.as_slice()),
                _ => None,
            })
            .unwrap_or_default();
        let parts = SmallVec::new();
        let mut timber = Self { member, make, length: member.length_mm, ends, parts };
        timber.parts = timber.parts_of(&body.parts);
        timber
    }

    fn parts_of(&self, parts: &'a [Part]) -> SmallVec<[TimberPart<'a>; 1]> {
        let drawn_apart =
            |a, b| parts.iter().any(|p| p.kind == a) && parts.iter().any(|p| p.kind == b);
        let whole = self.bounds(self.section());
        match self.make {
            // An I-joist known by its section alone.
            Make::IJoist { flange_mm, web_mm } if !drawn_apart(PartKind::Flange, PartKind::Web) => {
                let slice = |low: f64, high: f64, breadth: f64, kind| {
                    let min = DVec3::new(whole.min.x, -breadth / 2.0, low);
                    let max = DVec3::new(whole.max.x, breadth / 2.0, high);
                    let shape = Shape::Box(Region::new(Aabb { min, max }, self.ends));
                    TimberPart { kind, shape }
                };
                let (low, high) = (whole.min.z, whole.max.z);
                let breadth = whole.size().y;
                SmallVec::from_iter([
                    slice(low, low + flange_mm, breadth, PartKind::Flange),
                    slice(high - flange_mm, high, breadth, PartKind::Flange),
                    slice(low + flange_mm, high - flange_mm, web_mm, PartKind::Web),
                ])
            }
            _ if parts.is_empty() => {
                let shape = Shape::Box(Region::new(whole, self.ends));
                SmallVec::from_buf([TimberPart { kind: PartKind::Solid, shape }])
            }
            _ => parts
                .iter()
                .map(|part| TimberPart {
                    kind: part.kind,
                    shape: match &part.shape {
                        PartShape::Box { bounds, ends } => Shape::Box(Region::new(*bounds, ends)),
                        PartShape::Mesh(mesh) => Shape::Mesh(mesh),
                    },
                })
                .collect(),
        }
    }

    /// The nominal section, centred.
    pub(crate) fn section(&self) -> LocalSection {
        LocalSection {
            y: 0.0,
            z: 0.0,
            breadth: self.member.section.breadth_mm(),
            depth: self.member.section.depth_mm(),
        }
    }

    /// The section at `x`: the nominal one, or for a member that varies what a slice shows.
    pub(crate) fn section_at(&self, x: f64) -> LocalSection {
        if !self.member.varies {
            return self.section();
        }
        let slices = self.parts.iter().map(|part| match &part.shape {
            Shape::Box(region) => region.bounds(),
            Shape::Mesh(mesh) => slice(mesh, x),
        });
        let found = slices.fold(Aabb::EMPTY, Aabb::union);
        if found.is_empty() {
            return self.section();
        }
        let (centre, size) = (found.centre(), found.size());
        LocalSection { y: centre.y, z: centre.z, breadth: size.y, depth: size.z }
    }

    /// The box of the member with this section.
    pub(crate) fn bounds(&self, section: LocalSection) -> Aabb {
        Aabb {
            min: DVec3::new(
                0.0,
                section.y - section.breadth / 2.0,
                section.z - section.depth / 2.0,
            ),
            max: DVec3::new(
                self.length,
                section.y + section.breadth / 2.0,
                section.z + section.depth / 2.0,
            ),
        }
    }

    /// A box round every part, the nominal section included; skew ends may lie within it.
    pub(crate) fn reach(&self) -> Aabb {
        self.parts.iter().fold(self.bounds(self.section()), |all, part| match &part.shape {
            Shape::Box(region) => all.union(region.uncut),
            Shape::Mesh(mesh) => all.union(Aabb::of(mesh.points.iter().copied())),
        })
    }

    /// The region of the member with this section and its ends.
    pub(crate) fn region(&self, section: LocalSection) -> Region<'a> {
        Region::new(self.bounds(section), self.ends)
    }

    /// The same, not ended in depth.
    pub(crate) fn region_open_in_depth(&self, section: LocalSection) -> Region<'a> {
        let mut bounds = self.bounds(section);
        bounds.min.z = section.z - OPEN_MM;
        bounds.max.z = section.z + OPEN_MM;
        Region::new(bounds, self.ends)
    }

    /// What a body shares with the member's solid: the box round it, over the parts that it
    /// enters by more than `least` in each of x, y and z. A line has no thickness: it enters if
    /// more than `least` of its length is inside.
    pub(crate) fn shared(&self, body: &Body, least: f64) -> Option<Aabb> {
        self.touched(body, least).map(|(_, shared)| shared).reduce(Aabb::union)
    }

    /// Whether a body enters a part of a kind.
    pub(crate) fn enters(&self, body: &Body, kind: PartKind, least: f64) -> bool {
        self.touched(body, least).any(|(part, _)| part == kind)
    }

    fn touched(&self, body: &Body, least: f64) -> impl Iterator<Item = (PartKind, Aabb)> {
        self.parts.iter().filter_map(move |part| {
            let shared = match &part.shape {
                Shape::Box(region) => body.extents(region),
                Shape::Mesh(mesh) => body.extents_in(mesh),
            };
            let enough = match body {
                Body::Line(_) => shared.size().length() > least,
                _ => shared.size().min_element() > least,
            };
            (!shared.is_empty() && enough).then_some((part.kind, shared))
        })
    }
}

/// The box, across the member, of where a mesh meets the plane at `x`.
fn slice(mesh: &Mesh, x: f64) -> Aabb {
    let mut found = Aabb::EMPTY;
    for triangle in &mesh.triangles {
        let [a, b, c] = mesh.corners(*triangle);
        for (p, q) in [(a, b), (b, c), (c, a)] {
            let (dp, dq) = (p.x - x, q.x - x);
            if dp * dq <= 0.0 {
                let at = if dp == dq { p } else { p.lerp(q, dp / (dp - dq)) };
                found = found.with(DVec3::new(x, at.y, at.z));
            }
        }
    }
    found
}
