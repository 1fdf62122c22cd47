//! Bodies of members and services as solids in the world, for outputs in space.

use glam::{DAffine3, DMat3, DVec3};
use wimble_geom::{Aabb, Convex, Cylinder, Mesh, Plane, Prism, Profile, Solid};
use wimble_model::Frame;
use wimble_recognise::{MemberBody, PartShape, ServiceBody};

/// Millimetres of a frame in the metres of the world.
const METRE_MM: f64 = 1000.0;

/// The solids whose union a member is, before openings.
pub(crate) fn of_member(body: &MemberBody, frame: &Frame) -> Vec<Solid> {
    body.parts
        .iter()
        .map(|part| match &part.shape {
            PartShape::Box { bounds, ends } if ends.is_empty() => block(*bounds, frame),
            PartShape::Box { bounds, ends } => Solid::Mesh(with_ends(*bounds, ends, frame)),
            PartShape::Mesh(mesh) => Solid::Mesh(placed(mesh.clone(), frame)),
        })
        .collect()
}

/// The solid of a service; none for a mere line.
pub(crate) fn of_service(body: &ServiceBody) -> Option<Solid> {
    match body {
        ServiceBody::Round { from, to, radius } => {
            Some(Solid::Cylinder(Cylinder { from: *from, to: *to, radius: *radius, inner: None }))
        }
        ServiceBody::Rectangular { frame, half } => {
            let sweep = 2.0 * half.z * frame.matrix3.z_axis;
            let start = frame.translation - sweep / 2.0;
            Some(Solid::Prism(Prism {
                frame: DAffine3 { matrix3: frame.matrix3, translation: start },
                profile: Profile::Rectangle { x: 2.0 * half.x, y: 2.0 * half.y },
                sweep,
            }))
        }
        ServiceBody::Mesh(mesh) => Some(Solid::Mesh(mesh.clone())),
        ServiceBody::Line { .. } => None,
    }
}

/// A box of the member's frame, swept along the member.
fn block(bounds: Aabb, frame: &Frame) -> Solid {
    let (size, centre) = (bounds.size() / METRE_MM, bounds.centre());
    let start = DVec3::new(bounds.min.x, centre.y, centre.z);
    Solid::Prism(Prism {
        frame: DAffine3 {
            matrix3: DMat3::from_cols(frame.y(), frame.z, frame.x),
            translation: frame.world_m(start),
        },
        profile: Profile::Rectangle { x: size.y, y: size.z },
        sweep: size.x * frame.x,
    })
}

/// A box of the member's frame with skew or plumb ends.
fn with_ends(bounds: Aabb, ends: &[Plane], frame: &Frame) -> Mesh {
    let body = ends.iter().fold(Convex::of_box(bounds), |body, end| body.clipped(end));
    let mut mesh = Mesh { points: body.points, closed: true, ..Mesh::default() };
    for face in &body.faces {
        mesh.add_face(face, &[]);
    }
    placed(mesh, frame)
}

/// A mesh of the member's frame in the world.
fn placed(mut mesh: Mesh, frame: &Frame) -> Mesh {
    for point in &mut mesh.points {
        *point = frame.world_m(*point);
    }
    mesh.chord /= METRE_MM;
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;
    use wimble_recognise::{Part, PartKind};

    /// 4 m long, running along Y; the frame's y is then −X.
    const FRAME: Frame = Frame { origin_m: DVec3::new(1.0, 2.0, 3.0), x: DVec3::Y, z: DVec3::Z };
    const BOX: Aabb =
        Aabb { min: DVec3::new(0.0, -23.5, -110.0), max: DVec3::new(4000.0, 23.5, 110.0) };

    fn body(ends: &[Plane]) -> MemberBody {
        let shape = PartShape::Box { bounds: BOX, ends: ends.iter().copied().collect() };
        MemberBody { parts: vec![Part { kind: PartKind::Solid, shape }] }
    }

    #[test]
    fn a_box_is_swept_along_its_member() {
        let [solid] = &of_member(&body(&[]), &FRAME)[..] else { panic!("one solid") };
        assert!((solid.volume() - 0.047 * 0.220 * 4.0).abs() < 1e-12);
        let bounds = solid.bounds();
        assert!(bounds.min.abs_diff_eq(DVec3::new(0.9765, 2.0, 2.89), 1e-12), "{bounds:?}");
        assert!(bounds.max.abs_diff_eq(DVec3::new(1.0235, 6.0, 3.11), 1e-12), "{bounds:?}");
    }

    #[test]
    fn a_skew_end_takes_half_of_what_it_slants_over() {
        let end =
            Plane::through(DVec3::new(4000.0, 0.0, -110.0), DVec3::new(1.0, 0.0, 1.0)).unwrap();
        let [solid] = &of_member(&body(&[end]), &FRAME)[..] else { panic!("one solid") };
        let lost = 0.047 * 0.220 * 0.220 / 2.0;
        assert!((solid.volume() - (0.047 * 0.220 * 4.0 - lost)).abs() < 1e-12);
    }
}
