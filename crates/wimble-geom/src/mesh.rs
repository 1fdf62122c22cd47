//! Triangle meshes.

use glam::DVec3;

/// Triangles over shared points. Normals point outward when `closed`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Mesh {
    /// Points.
    pub points: Vec<DVec3>,
    /// Triangles as indices into `points`, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Whether the surface encloses a volume.
    pub closed: bool,
    /// Greatest distance between the true surface and the triangles, metres; 0 if all faces are plane.
    pub chord: f64,
}
