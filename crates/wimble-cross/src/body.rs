//! Bodies in a member's frame, and the part of them within a region of it.

use glam::{DAffine3, DMat3, DVec2, DVec3};
use smallvec::SmallVec;
use std::borrow::Cow;
use std::cell::OnceCell;
use wimble_geom::tolerance::{CHORD, ROUND_FIT};
use wimble_geom::{
    Aabb, Convex, CutBar, Cylinder, Disc, Mesh, Plane, Profile, Solid, bar_through_box,
    fit_cylinder,
};
use wimble_model::Frame;
use wimble_recognise::ServiceBody;

/// Sides of the prism that stands for a round bar where an exact form is not needed.
const SIDES: usize = 128;

/// A service or an opening in a member's frame, millimetres.
#[derive(Debug, Clone)]
pub(crate) enum Body {
    /// Straight and round, square ends.
    Round(Cylinder),
    /// Straight and rectangular: frame's z along it, half sizes.
    Block(DAffine3, DVec3),
    /// Any other shape.
    Mesh(Mesh),
    /// A line without a size.
    Line(Vec<DVec3>),
}

/// A convex region of a member's frame: a box, cut by the planes of skew ends.
#[derive(Debug, Clone)]
pub(crate) struct Region<'a> {
    /// The box before its ends are cut.
    pub(crate) uncut: Aabb,
    ends: &'a [Plane],
    /// Its faces, once somebody asks.
    body: OnceCell<Convex>,
}

impl<'a> Region<'a> {
    pub(crate) const fn new(uncut: Aabb, ends: &'a [Plane]) -> Self {
        Self { uncut, ends, body: OnceCell::new() }
    }

    /// The half spaces whose intersection it is.
    pub(crate) fn planes(&self) -> SmallVec<[Plane; 8]> {
        self.uncut.planes().into_iter().chain(self.ends.iter().copied()).collect()
    }

    /// The box round it.
    pub(crate) fn bounds(&self) -> Aabb {
        if self.ends.is_empty() { self.uncut } else { self.body().bounds() }
    }

    /// It as a convex body.
    pub(crate) fn body(&self) -> &Convex {
        self.body.get_or_init(|| {
            if self.uncut.is_empty() {
                return Convex::default();
            }
            self.ends.iter().fold(Convex::of_box(self.uncut), |body, end| body.clipped(end))
        })
    }

    /// The box round what it shares with a bar that goes right through it from face to face, clear
    /// of its ends: the short way of [`CutBar`].
    fn passed_by(&self, bar: &Cylinder) -> Option<Aabb> {
        let shared = bar_through_box(bar, self.uncut)?;
        self.ends.iter().all(|end| shared.is_behind(end)).then_some(shared)
    }
}

/// World metres to the member's millimetres.
fn into_frame(frame: &Frame) -> DAffine3 {
    // Columns of the turning matrix are the world's axes in the member's frame.
    let turn = DMat3::from_cols(frame.turn(DVec3::X), frame.turn(DVec3::Y), frame.turn(DVec3::Z));
    DAffine3 { matrix3: turn * 1000.0, translation: DVec3::ZERO }
}

fn mesh_in(mesh: &Mesh, frame: &Frame) -> Mesh {
    Mesh {
        points: mesh.points.iter().map(|p| frame.local_mm(*p)).collect(),
        triangles: mesh.triangles.clone(),
        closed: mesh.closed,
        chord: mesh.chord * 1000.0,
    }
}

impl Body {
    /// A service with `lagging_mm` on each side.
    pub(crate) fn of_service(body: &ServiceBody, frame: &Frame, lagging_mm: f64) -> Self {
        let bare = match body {
            ServiceBody::Round { from, to, radius } if *radius > 0.0 && from != to => {
                Self::Round(Cylinder {
                    from: frame.local_mm(*from),
                    to: frame.local_mm(*to),
                    radius: radius * 1000.0,
                    inner: None,
                })
            }
            ServiceBody::Round { from, to, .. } => {
                Self::Line(vec![frame.local_mm(*from), frame.local_mm(*to)])
            }
            ServiceBody::Rectangular { frame: own, half } => Self::block(own, *half, frame),
            ServiceBody::Mesh(mesh) => Self::Mesh(mesh_in(mesh, frame)),
            ServiceBody::Line { points } => {
                Self::Line(points.iter().map(|p| frame.local_mm(*p)).collect())
            }
        };
        if lagging_mm == 0.0 { bare } else { bare.grown(lagging_mm).into_owned() }
    }

    /// An opening: round if its faces fit a circle, a block if it has square corners.
    pub(crate) fn of_opening(solid: &Solid, frame: &Frame) -> Self {
        match solid {
            Solid::Cylinder(bar) => Self::bar(bar, frame),
            Solid::Prism(prism) => {
                let square = prism.sweep.cross(prism.frame.matrix3.z_axis).length()
                    <= 1e-9 * prism.sweep.length();
                match prism.profile {
                    Profile::Circle { radius, .. } if square => Self::bar(
                        &Cylinder {
                            from: prism.frame.translation,
                            to: prism.frame.translation + prism.sweep,
                            radius,
                            inner: None,
                        },
                        frame,
                    ),
                    Profile::Rectangle { x, y } if square => {
                        let mut own = prism.frame;
                        own.translation += prism.sweep / 2.0;
                        Self::block(&own, DVec3::new(x, y, prism.sweep.length()) / 2.0, frame)
                    }
                    _ => Self::of_faces(&solid.to_mesh(CHORD), frame),
                }
            }
            Solid::Mesh(mesh) => Self::of_faces(mesh, frame),
        }
    }

    fn of_faces(mesh: &Mesh, frame: &Frame) -> Self {
        let mesh = mesh_in(mesh, frame);
        if let Some(bar) = fit_cylinder(&mesh.points, ROUND_FIT * 1000.0) {
            return Self::Round(bar);
        }
        match block_of(&mesh.points) {
            Some((frame, half)) => Self::Block(frame, half),
            None => Self::Mesh(mesh),
        }
    }

    fn bar(bar: &Cylinder, frame: &Frame) -> Self {
        Self::Round(Cylinder {
            from: frame.local_mm(bar.from),
            to: frame.local_mm(bar.to),
            radius: bar.radius * 1000.0,
            inner: None,
        })
    }

    fn block(own: &DAffine3, half: DVec3, frame: &Frame) -> Self {
        let turn = into_frame(frame).matrix3 * (1.0 / 1000.0);
        let placed = DAffine3 {
            matrix3: right_handed(turn * own.matrix3),
            translation: frame.local_mm(own.translation),
        };
        Self::Block(placed, half * 1000.0)
    }

    /// Whether it is a bar, round or rectangular.
    pub(crate) const fn is_straight(&self) -> bool {
        matches!(self, Self::Round(_) | Self::Block(..))
    }

    /// Which way it runs, if it is straight.
    pub(crate) fn direction(&self) -> Option<DVec3> {
        match self {
            Self::Round(bar) => (bar.to - bar.from).try_normalize(),
            Self::Block(frame, _) => frame.matrix3.z_axis.try_normalize(),
            Self::Mesh(_) => None,
            Self::Line(points) => (*points.last()? - *points.first()?).try_normalize(),
        }
    }

    /// Its section made larger by `by` on every side. A mesh or a line is not changed: see
    /// [`Self::margin`].
    pub(crate) fn grown(&self, by: f64) -> Cow<'_, Self> {
        match self {
            Self::Round(bar) => {
                Cow::Owned(Self::Round(Cylinder { radius: bar.radius + by, ..*bar }))
            }
            Self::Block(frame, half) => {
                Cow::Owned(Self::Block(*frame, *half + DVec3::new(by, by, 0.0)))
            }
            Self::Mesh(_) | Self::Line(_) => Cow::Borrowed(self),
        }
    }

    /// What must be added to the extents of this body on each side to stand for the body grown
    /// by `by`: nothing where [`Self::grown`] is exact; for a mesh its chord tolerance besides.
    pub(crate) fn margin(&self, by: f64) -> f64 {
        match self {
            Self::Round(_) | Self::Block(..) => 0.0,
            Self::Mesh(mesh) => by + mesh.chord.clamp(0.0, CHORD * 1000.0),
            Self::Line(_) => by,
        }
    }

    /// The box round it.
    pub(crate) fn bounds(&self) -> Aabb {
        match self {
            Self::Round(bar) => Aabb::of([bar.from, bar.to]).grown(bar.radius),
            Self::Block(..) => self.convex().bounds(),
            Self::Mesh(mesh) => Aabb::of(mesh.points.iter().copied()),
            Self::Line(points) => Aabb::of(points.iter().copied()),
        }
    }

    /// The box round the part of it in a region; empty if there is none.
    pub(crate) fn extents(&self, region: &Region<'_>) -> Aabb {
        if let Self::Round(bar) = self
            && let Some(shared) = region.passed_by(bar)
        {
            return shared;
        }
        if !self.bounds().touches(region.uncut) {
            return Aabb::EMPTY;
        }
        match self {
            Self::Round(bar) => {
                CutBar::new(bar, &region.planes()).map_or(Aabb::EMPTY, |cut| cut.extents())
            }
            _ => Aabb::of(self.points(region)),
        }
    }

    /// How far the part of it in a region reaches along `direction`.
    pub(crate) fn reach(&self, region: &Region<'_>, direction: DVec3) -> Option<f64> {
        match self {
            Self::Round(bar) => CutBar::new(bar, &region.planes())?.reach(direction),
            _ => self.points(region).into_iter().map(|p| p.dot(direction)).max_by(f64::total_cmp),
        }
    }

    /// Points whose hull is that of the part in a region; for a round bar points of its surface,
    /// [`SIDES`] round it.
    pub(crate) fn points(&self, region: &Region<'_>) -> Vec<DVec3> {
        match self {
            Self::Mesh(mesh) => mesh.points_within(region.body()),
            Self::Line(points) => {
                let planes = region.planes();
                points.windows(2).flat_map(|w| clipped_line(w[0], w[1], &planes)).collect()
            }
            Self::Round(bar) => bar_points(bar, region),
            Self::Block(..) => {
                region.planes().iter().fold(self.convex(), |body, plane| body.clipped(plane)).points
            }
        }
    }

    /// The part of it in a mesh.
    pub(crate) fn extents_in(&self, mesh: &Mesh) -> Aabb {
        if !self.bounds().touches(Aabb::of(mesh.points.iter().copied())) {
            return Aabb::EMPTY;
        }
        match self {
            Self::Round(_) | Self::Block(..) => Aabb::of(mesh.points_within(&self.convex())),
            // Two meshes: against the other's box, which is never less.
            _ => self.extents(&Region::new(Aabb::of(mesh.points.iter().copied()), &[])),
        }
    }

    /// A convex body round it; empty for a mesh or a line.
    pub(crate) fn convex(&self) -> Convex {
        match self {
            Self::Round(bar) => {
                Convex::bar(&Cylinder { radius: bar.radius / facet(), ..*bar }, SIDES)
            }
            Self::Block(frame, half) => Convex::block(frame, *half),
            Self::Mesh(_) | Self::Line(_) => Convex::default(),
        }
    }

    /// Whether a point lies in it, `slack` outside its surface at most.
    pub(crate) fn holds(&self, point: DVec3, slack: f64) -> bool {
        match self {
            Self::Round(bar) => {
                let Some(along) = (bar.to - bar.from).try_normalize() else { return false };
                let arm = point - bar.from;
                let at = arm.dot(along);
                (-slack..=bar.from.distance(bar.to) + slack).contains(&at)
                    && (arm - at * along).length() <= bar.radius + slack
            }
            Self::Block(frame, half) => {
                let own = frame.inverse().transform_point3(point);
                own.abs().cmple(*half + DVec3::splat(slack)).all()
            }
            Self::Mesh(mesh) => {
                mesh.closed
                    && (mesh.encloses(point)
                        || DVec3::AXES.iter().any(|a| {
                            mesh.encloses(point + slack * *a) || mesh.encloses(point - slack * *a)
                        }))
            }
            Self::Line(_) => false,
        }
    }

    /// Its outline in the x–z plane, within a region, as discs: one for a round bar square to
    /// the plane, else the corners of what is there.
    pub(crate) fn outline(&self, region: &Region<'_>) -> Vec<Disc> {
        let margin = self.margin(0.0);
        if let Self::Round(bar) = self
            && let Some(along) = self.direction()
            && along.y.abs() > 1.0 - 1e-12
        {
            return vec![Disc { centre: DVec2::new(bar.from.x, bar.from.z), radius: bar.radius }];
        }
        // The corners of a prism round the bar, not in it: the circle must not come out less.
        let wide = match self {
            Self::Round(bar) => Self::Round(Cylinder { radius: bar.radius / facet(), ..*bar }),
            other => other.clone(),
        };
        let points = wide.points(region);
        points.into_iter().map(|p| Disc { centre: DVec2::new(p.x, p.z), radius: margin }).collect()
    }
}

/// Middle of a facet over corner, of a prism with [`SIDES`].
fn facet() -> f64 {
    (std::f64::consts::PI / SIDES as f64).cos()
}

/// Lines along a bar's surface, clipped, and the corners that the region has in it.
fn bar_points(bar: &Cylinder, region: &Region<'_>) -> Vec<DVec3> {
    let planes = region.planes();
    let Some(cut) = CutBar::new(bar, &planes) else { return Vec::new() };
    let Some(along) = (bar.to - bar.from).try_normalize() else { return Vec::new() };
    let (u, v) = along.any_orthonormal_pair();
    let mut found = cut.corners();
    for i in 0..SIDES {
        let a = DVec2::from_angle(std::f64::consts::TAU * i as f64 / SIDES as f64) * bar.radius;
        let out = a.x * u + a.y * v;
        found.extend(clipped_line(bar.from + out, bar.to + out, &planes));
    }
    found
}

/// A block is the same with an axis turned round.
fn right_handed(axes: DMat3) -> DMat3 {
    if axes.determinant() < 0.0 {
        DMat3::from_cols(-axes.x_axis, axes.y_axis, axes.z_axis)
    } else {
        axes
    }
}

/// The part of a segment behind all planes, as its two ends.
fn clipped_line(a: DVec3, b: DVec3, planes: &[Plane]) -> Vec<DVec3> {
    let (mut from, mut to) = (0.0f64, 1.0f64);
    for plane in planes {
        let (da, db) = (plane.distance(a), plane.distance(b));
        if da > 0.0 && db > 0.0 {
            return Vec::new();
        }
        if da > 0.0 {
            from = from.max(da / (da - db));
        } else if db > 0.0 {
            to = to.min(da / (da - db));
        }
    }
    if from <= to { vec![a.lerp(b, from), a.lerp(b, to)] } else { Vec::new() }
}

/// The block whose eight corners the points are (repeats allowed), to 0.01 mm. Its z axis is the
/// one nearest to y: an opening is made through the breadth.
fn block_of(points: &[DVec3]) -> Option<(DAffine3, DVec3)> {
    const SAME: f64 = 0.01;
    let mut corners: Vec<DVec3> = Vec::with_capacity(8);
    for p in points {
        if corners.iter().all(|c| c.distance(*p) > SAME) {
            if corners.len() == 8 {
                return None;
            }
            corners.push(*p);
        }
    }
    let [foot, rest @ ..] = corners.as_slice() else { return None };
    if rest.len() != 7 {
        return None;
    }
    // The three nearest independent corners are the edges at `foot` if the sums are corners too.
    let mut arms: Vec<DVec3> = rest.iter().map(|c| *c - *foot).collect();
    arms.sort_by(|a, b| a.length().total_cmp(&b.length()));
    let square = |a: DVec3, b: DVec3| a.dot(b).abs() <= SAME * a.length().max(b.length());
    let a = *arms.first()?;
    let b = *arms.iter().skip(1).find(|b| square(a, **b))?;
    let c = *arms.iter().find(|c| square(a, **c) && square(b, **c))?;
    let expected = [a, b, c, a + b, a + c, b + c, a + b + c];
    if !expected.iter().all(|e| arms.iter().any(|arm| arm.distance(*e) <= 2.0 * SAME)) {
        return None;
    }
    let mut sides = [a, b, c];
    sides.sort_by(|p, q| {
        let slant = |s: &DVec3| s.y.abs() / s.length();
        slant(p).total_cmp(&slant(q))
    });
    let [x, y, z] = sides;
    let axes = DMat3::from_cols(x.try_normalize()?, y.try_normalize()?, z.try_normalize()?);
    let centre = *foot + (a + b + c) / 2.0;
    let half = DVec3::new(x.length(), y.length(), z.length()) / 2.0;
    Some((DAffine3 { matrix3: right_handed(axes), translation: centre }, half))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_of_a_bar_lie_on_its_surface_or_at_corners_and_span_its_extents() {
        let bar = Cylinder {
            from: DVec3::new(900.0, -100.0, -20.0),
            to: DVec3::new(1100.0, 100.0, 30.0),
            radius: 12.0,
            inner: None,
        };
        let bounds =
            Aabb { min: DVec3::new(0.0, -23.5, -200.0), max: DVec3::new(3000.0, 23.5, 200.0) };
        let region = Region::new(bounds, &[]);
        let body = Body::Round(bar);
        let points = body.points(&region);
        assert!(points.iter().all(|p| body.holds(*p, 1e-9)));
        let (exact, found) = (body.extents(&region), Aabb::of(points));
        assert!((exact.min - found.min).abs().max_element() < 0.02);
        assert!((exact.max - found.max).abs().max_element() < 0.02);
    }

    #[test]
    fn a_block_is_known_by_its_corners() {
        let frame = DAffine3::from_rotation_z(0.3) * DAffine3::from_translation(DVec3::X * 50.0);
        let block = Convex::block(&frame, DVec3::new(10.0, 30.0, 20.0));
        let (found, half) = block_of(&block.points).expect("a block");
        assert!(found.translation.distance(frame.translation) < 1e-9);
        assert!((half.element_product() - 6000.0).abs() < 1e-6);
        assert!(found.matrix3.determinant() > 0.0);
        // Its z axis is the one nearest to y.
        assert!(found.matrix3.z_axis.y.abs() > 0.9);
        let sheared: Vec<_> = block.points.iter().map(|p| *p + DVec3::X * p.z).collect();
        assert!(block_of(&sheared).is_none());
        assert!(block_of(&block.points[..7]).is_none());
    }

    #[test]
    fn a_line_is_clipped_to_both_sides() {
        let planes = Aabb { min: DVec3::splat(-1.0), max: DVec3::ONE }.planes();
        let through = clipped_line(DVec3::X * -5.0, DVec3::X * 5.0, &planes);
        assert_eq!(through, [DVec3::NEG_X, DVec3::X]);
        assert!(
            clipped_line(DVec3::new(-5.0, 2.0, 0.0), DVec3::new(5.0, 2.0, 0.0), &planes).is_empty()
        );
    }
}
