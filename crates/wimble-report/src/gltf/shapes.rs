//! Meshes of things. What is a box or a round bar shares one unit mesh for each tone.

use super::buffer::{Buffer, Placing};
use super::marks;
use super::tones::Tone;
use glam::{DMat3, DQuat, DVec3};
use std::collections::BTreeMap;
use wimble_geom::{Aabb, Convex, Cylinder, Mesh, Profile, Solid};
use wimble_model::Verdict;

/// Sides of a round bar.
const SIDES: usize = 24;
/// How far a curved face may leave the true one, metres.
const CHORD_M: f64 = 0.001;

/// Which shared mesh.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Shared {
    Block(Tone),
    Bar(Tone),
    Mark(Verdict),
}

/// The shared meshes made so far.
#[derive(Debug, Default)]
pub(super) struct Shapes {
    made: BTreeMap<Shared, usize>,
}

impl Shapes {
    /// The mesh of a solid and where it stands; `None` if there is nothing to show.
    pub(super) fn solid(
        &mut self,
        buffer: &mut Buffer,
        solid: &Solid,
        tone: Tone,
        origin: DVec3,
    ) -> Option<(usize, Placing)> {
        match solid {
            Solid::Prism(prism) => {
                if let Profile::Rectangle { x, y } = prism.profile
                    && let Some(placing) =
                        upright(prism.frame.matrix3, prism.sweep).map(|turn| Placing {
                            at: prism.frame.translation + prism.sweep / 2.0 - origin,
                            turn,
                            stretch: DVec3::new(x, y, prism.sweep.length()),
                        })
                {
                    return Some((self.shared(buffer, Shared::Block(tone)), placing));
                }
            }
            Solid::Cylinder(bar) if bar.inner.is_none() => {
                let along = (bar.to - bar.from).try_normalize()?;
                let across = along.any_orthonormal_vector();
                let axes = DMat3::from_cols(across, along.cross(across), along);
                let placing = Placing {
                    at: bar.from.midpoint(bar.to) - origin,
                    turn: DQuat::from_mat3(&axes),
                    stretch: DVec3::new(
                        2.0 * bar.radius,
                        2.0 * bar.radius,
                        bar.from.distance(bar.to),
                    ),
                };
                return Some((self.shared(buffer, Shared::Bar(tone)), placing));
            }
            _ => {}
        }
        let mesh = solid.to_mesh(CHORD_M);
        let name = tone_name(tone);
        let mesh = put(buffer, name, &mesh, tone.material(), origin)?;
        Some((mesh, Placing::HERE))
    }

    /// The mark of a verdict, in a cube of 2 × 2 × 2 about zero.
    pub(super) fn mark(&mut self, buffer: &mut Buffer, verdict: Verdict) -> usize {
        self.shared(buffer, Shared::Mark(verdict))
    }

    fn shared(&mut self, buffer: &mut Buffer, shared: Shared) -> usize {
        *self.made.entry(shared).or_insert_with(|| {
            let half = DVec3::splat(0.5);
            let (name, parts, tone) = match shared {
                Shared::Block(tone) => {
                    ("block", vec![Convex::of_box(Aabb { min: -half, max: half })], tone)
                }
                Shared::Bar(tone) => {
                    let [from, to] = [-0.5, 0.5].map(|z| DVec3::new(0.0, 0.0, z));
                    let bar = Cylinder { from, to, radius: 0.5, inner: None };
                    ("bar", vec![Convex::bar(&bar, SIDES)], tone)
                }
                Shared::Mark(verdict) => (verdict.word(), marks::parts(verdict), Tone::of(verdict)),
            };
            let mut mesh = Mesh::default();
            for part in &parts {
                mesh.append(&faces(part));
            }
            // These meshes are never empty.
            put(buffer, name, &mesh, tone.material(), DVec3::ZERO).unwrap_or(0)
        })
    }
}

const fn tone_name(tone: Tone) -> &'static str {
    match tone {
        Tone::Timber => "timber",
        Tone::Paper => "service",
        Tone::Pass => "pass",
        Tone::Fail => "fail",
        Tone::Refer => "refer",
        Tone::Unknown => "unknown",
    }
}

/// The turn of a profile's frame, if it is one and the sweep is square to the profile.
fn upright(axes: DMat3, sweep: DVec3) -> Option<DQuat> {
    let along = sweep.try_normalize()?;
    let turns = (axes.determinant() - 1.0).abs() < 1e-6
        && (axes * axes.transpose()).abs_diff_eq(DMat3::IDENTITY, 1e-6);
    (turns && axes.z_axis.dot(along) > 1.0 - 1e-9).then(|| DQuat::from_mat3(&axes).normalize())
}

/// A convex body as triangles; its faces are convex rings.
fn faces(body: &Convex) -> Mesh {
    let mut mesh = Mesh { points: body.points.clone(), closed: true, ..Mesh::default() };
    for face in &body.faces {
        if let [first, rest @ ..] = &face[..] {
            mesh.triangles.extend(rest.windows(2).map(|pair| [*first, pair[0], pair[1]]));
        }
    }
    mesh
}

/// Writes a mesh with only the points that it uses; `None` if it has no triangle that can be
/// shown.
fn put(
    buffer: &mut Buffer,
    name: &str,
    mesh: &Mesh,
    material: usize,
    origin: DVec3,
) -> Option<usize> {
    #[expect(clippy::cast_possible_truncation, reason = "the format holds single precision")]
    let near = |p: &DVec3| (*p - origin).to_array().map(|c| c as f32 + 0.0);
    let mut of_point: Vec<Option<u32>> = vec![None; mesh.points.len()];
    let (mut points, mut triangles) = (Vec::new(), Vec::new());
    for triangle in &mesh.triangles {
        let mut corners = [0; 3];
        for (corner, &at) in corners.iter_mut().zip(triangle) {
            let (point, known) = (mesh.points.get(at as usize)?, of_point.get_mut(at as usize)?);
            *corner = match *known {
                Some(known) => known,
                None => {
                    let new = u32::try_from(points.len()).ok()?;
                    points.push(near(point));
                    *known = Some(new);
                    new
                }
            };
        }
        triangles.push(corners);
    }
    let shown = !triangles.is_empty() && points.iter().flatten().all(|c| c.is_finite());
    shown.then(|| buffer.mesh(name, &points, &triangles, material))
}
