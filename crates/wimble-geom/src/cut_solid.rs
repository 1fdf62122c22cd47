//! Cutting a solid by a half space, exactly where that can be said exactly.

use crate::polygon::clip_convex_ring;
use crate::tolerance::{SAME_DIRECTION, SAME_POINT};
use crate::{Cylinder, Mesh, Plane, Prism, Profile, Solid, in_space, tolerance};
use glam::{DAffine3, DVec2, DVec3};

impl Solid {
    /// The part behind a plane; `None` if that is nothing (less than a micrometre thick).
    ///
    /// A plane that misses changes nothing. A prism cut parallel to its profile is a shorter
    /// prism, a bar cut square a shorter bar, a rectangle cut along its length a rectangle or a
    /// polygon of the same length. Everything else becomes a mesh.
    #[must_use]
    pub fn clipped(&self, plane: &Plane) -> Option<Self> {
        let (least, greatest) = self.extent_along(plane.normal);
        if greatest <= plane.offset + SAME_POINT {
            return Some(self.clone());
        }
        if least >= plane.offset - SAME_POINT {
            return None;
        }
        let exact = match self {
            Self::Prism(prism) => clip_prism(prism, plane).map(|p| p.map(Self::Prism)),
            Self::Cylinder(bar) => clip_bar(bar, plane).map(|c| c.map(Self::Cylinder)),
            Self::Mesh(_) => None,
        };
        if let Some(exact) = exact {
            return exact;
        }
        let mesh = match self {
            Self::Mesh(mesh) => clip_near_origin(mesh, plane),
            other => clip_near_origin(&other.to_mesh(tolerance::CHORD), plane),
        };
        (!mesh.triangles.is_empty()).then_some(Self::Mesh(mesh))
    }
}

/// Far from the origin a plane's offset loses digits: the work is done near it.
fn clip_near_origin(mesh: &Mesh, plane: &Plane) -> Mesh {
    let Some(&origin) = mesh.points.first() else { return Mesh::default() };
    if origin.length() < 1e4 {
        return mesh.clipped(plane);
    }
    let shift = DAffine3::from_translation(-origin);
    let near = Plane { normal: plane.normal, offset: -plane.distance(origin) };
    mesh.transformed(&shift).clipped(&near).transformed(&DAffine3::from_translation(origin))
}

/// `None`: not exact; `Some(None)`: nothing left.
fn clip_prism(prism: &Prism, plane: &Plane) -> Option<Option<Prism>> {
    let z = prism.frame.matrix3.z_axis;
    if z.cross(plane.normal).length() <= SAME_DIRECTION {
        // Parallel to the profile: along the sweep from a to b.
        let start = plane.distance(prism.frame.translation);
        let end = plane.distance(prism.frame.translation + prism.sweep);
        let (from, to) = shares_behind(start, end)?;
        if (to - from) * prism.sweep.length() <= SAME_POINT {
            return Some(None);
        }
        let frame = DAffine3::from_translation(prism.sweep * from) * prism.frame;
        return Some(Some(Prism {
            frame,
            profile: prism.profile.clone(),
            sweep: prism.sweep * (to - from),
        }));
    }
    let along = prism.sweep.try_normalize()?;
    if along.dot(plane.normal).abs() > SAME_DIRECTION {
        return None;
    }
    let Profile::Rectangle { x, y } = prism.profile else { return None };
    let normal = DVec2::new(
        plane.normal.dot(prism.frame.matrix3.x_axis),
        plane.normal.dot(prism.frame.matrix3.y_axis),
    );
    let offset = -plane.distance(prism.frame.translation);
    let corners = [(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| DVec2::new(x, y) / 2.0);
    let ring = clip_convex_ring(&corners, normal, offset);
    let Some(profile) = Profile::from_rings(&ring, &[], 0.0) else { return Some(None) };
    let (profile, place) = profile.simplified();
    Some(Some(Prism { frame: prism.frame * in_space(&place), profile, sweep: prism.sweep }))
}

fn clip_bar(bar: &Cylinder, plane: &Plane) -> Option<Option<Cylinder>> {
    let sweep = bar.to - bar.from;
    let along = sweep.try_normalize()?;
    if along.cross(plane.normal).length() > SAME_DIRECTION {
        return None;
    }
    let (from, to) = shares_behind(plane.distance(bar.from), plane.distance(bar.to))?;
    if (to - from) * sweep.length() <= SAME_POINT {
        return Some(None);
    }
    let at = |share: f64| -> DVec3 { bar.from + sweep * share };
    Some(Some(Cylinder { from: at(from), to: at(to), ..*bar }))
}

/// Of a stretch whose ends lie `start` and `end` in front of a plane, the shares (0 to 1) between
/// which it lies behind. `None` if it does not move towards the plane at all.
fn shares_behind(start: f64, end: f64) -> Option<(f64, f64)> {
    let fall = start - end;
    if fall == 0.0 {
        return None;
    }
    let crossing = (start / fall).clamp(0.0, 1.0);
    Some(if fall > 0.0 { (crossing, 1.0) } else { (0.0, crossing) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joist() -> Solid {
        Solid::Prism(Prism {
            frame: DAffine3::from_translation(DVec3::new(1e6, 2e6, 3.0)),
            profile: Profile::Rectangle { x: 0.05, y: 0.2 },
            sweep: DVec3::Z * 4.0,
        })
    }

    fn behind(x: f64, y: f64, z: f64, normal: DVec3) -> Plane {
        Plane::through(DVec3::new(1e6 + x, 2e6 + y, 3.0 + z), normal).unwrap()
    }

    #[test]
    fn a_square_end_cut_is_a_shorter_prism() {
        let Some(Solid::Prism(cut)) = joist().clipped(&behind(0.0, 0.0, 1.0, DVec3::NEG_Z)) else {
            panic!()
        };
        assert!((cut.sweep.z - 3.0).abs() < 1e-8);
        assert!((cut.frame.translation.z - 4.0).abs() < 1e-8);
        let Some(Solid::Prism(cut)) = joist().clipped(&behind(0.0, 0.0, 1.0, DVec3::Z)) else {
            panic!()
        };
        assert!((cut.sweep.z - 1.0).abs() < 1e-8);
    }

    #[test]
    fn a_cut_along_the_length_is_a_smaller_rectangle_or_a_polygon() {
        let Some(Solid::Prism(cut)) = joist().clipped(&behind(0.0, 0.05, 0.0, DVec3::Y)) else {
            panic!()
        };
        let Profile::Rectangle { x, y } = cut.profile else { panic!() };
        assert!((x - 0.05).abs() < 1e-8 && (y - 0.15).abs() < 1e-8, "{x} {y}");
        assert!((cut.frame.translation.y - 2e6 + 0.025).abs() < 1e-8);
        let Some(Solid::Prism(cut)) =
            joist().clipped(&behind(0.0, 0.0, 0.0, DVec3::new(1.0, 0.2, 0.0)))
        else {
            panic!()
        };
        assert!(matches!(cut.profile, Profile::Rings { .. }));
        assert!((cut.profile.area() - 0.005).abs() < 1e-8);
    }

    #[test]
    fn a_skew_cut_is_a_mesh_with_plane_faces() {
        let Some(Solid::Mesh(cut)) =
            joist().clipped(&behind(0.0, 0.0, 2.0, DVec3::new(0.0, 1.0, 1.0)))
        else {
            panic!()
        };
        assert!(cut.closed && cut.chord == 0.0);
        assert!((cut.volume() - 0.05 * 0.2 * 2.0).abs() < 1e-7);
    }

    #[test]
    fn a_plane_that_misses_changes_nothing_and_one_before_it_leaves_nothing() {
        assert_eq!(joist().clipped(&behind(0.025, 0.0, 0.0, DVec3::X)), Some(joist()));
        assert_eq!(joist().clipped(&behind(-0.025, 0.0, 0.0, DVec3::X)), None);
    }

    #[test]
    fn a_bar_cut_square_is_a_shorter_bar() {
        let bar = Solid::Cylinder(Cylinder {
            from: DVec3::ZERO,
            to: DVec3::X * 2.0,
            radius: 0.1,
            inner: None,
        });
        let cut = bar.clipped(&Plane { normal: DVec3::NEG_X, offset: -0.5 });
        assert_eq!(
            cut,
            Some(Solid::Cylinder(Cylinder {
                from: DVec3::X * 0.5,
                to: DVec3::X * 2.0,
                radius: 0.1,
                inner: None
            }))
        );
        assert!(matches!(
            bar.clipped(&Plane::through(DVec3::X, DVec3::ONE).unwrap()),
            Some(Solid::Mesh(_))
        ));
    }
}
