//! Boundaries: breps, surface models and face sets as meshes.

use super::curve::whole_numbers;
use super::reader::{Entity, Read, Reader};
use glam::DVec3;
use rustc_hash::FxHashMap;
use wimble_geom::{Mesh, ring_area};

/// A mesh that grows face by face.
#[derive(Default)]
pub(super) struct Shell {
    pub(super) mesh: Mesh,
    /// Points by their instance's name.
    points: FxHashMap<u64, u32>,
    /// Edges by their instance's name, as points from start to end.
    pub(super) edges: FxHashMap<u64, Vec<DVec3>>,
    faces: usize,
    dropped: Vec<(wimble_step::Row, String)>,
}

impl<'m> Reader<'m, '_> {
    pub(super) fn brep(&self, entity: &Entity<'m>) -> Read<Mesh> {
        let outer = self.part(entity, 0, "Outer")?;
        let mut shell = Shell::default();
        self.shell(&outer, &mut shell);
        let mut mesh = self.finished(entity, shell)?;
        for void in self.parts(entity, 1) {
            let mut shell = Shell::default();
            self.shell(&void, &mut shell);
            match self.finished(&void, shell) {
                Ok(cavity) if cavity.closed => mesh.append(&cavity.flipped()),
                Ok(_) => self.remark(
                    void.row,
                    format!("{} is a void that is not closed; it is left out", void.label()),
                ),
                Err(trouble) => {
                    self.remark(trouble.row, format!("{}; that void is left out", trouble.reason));
                }
            }
        }
        Ok(mesh)
    }

    pub(super) fn surface_model(&self, entity: &Entity<'m>) -> Read<Mesh> {
        let mut shell = Shell::default();
        match entity.keyword {
            "IFCSHELLBASEDSURFACEMODEL" | "IFCFACEBASEDSURFACEMODEL" => {
                for part in self.parts(entity, 0) {
                    self.shell(&part, &mut shell);
                }
            }
            _ => self.shell(entity, &mut shell),
        }
        self.finished(entity, shell)
    }

    /// All faces of a shell; those that cannot be read are dropped and told.
    fn shell(&self, entity: &Entity<'m>, shell: &mut Shell) {
        for face in self.parts(entity, 0) {
            shell.faces += 1;
            let read = self.deeper(&face, || self.face(&face, shell));
            self.met(&face, read.is_ok());
            if let Err(trouble) = read {
                shell.dropped.push((trouble.row, trouble.reason));
            }
        }
        self.met(entity, true);
    }

    fn finished(&self, entity: &Entity<'m>, shell: Shell) -> Read<Mesh> {
        let (faces, dropped) = (shell.faces, shell.dropped.len());
        if let Some((row, reason)) = shell.dropped.into_iter().next() {
            if shell.mesh.triangles.is_empty() {
                return Err(crate::Unreadable::new(row, reason));
            }
            let label = entity.label();
            self.remark(
                row,
                format!(
                    "{dropped} of {faces} faces of {label} are left out; the first because {reason}"
                ),
            );
        }
        self.put_in_order(entity, &shell.mesh)
    }

    fn face(&self, face: &Entity<'m>, shell: &mut Shell) -> Read<()> {
        if !matches!(face.keyword, "IFCFACE" | "IFCFACESURFACE" | "IFCADVANCEDFACE") {
            return Err(face.trouble("stands where a face is needed"));
        }
        if face.keyword != "IFCFACE" {
            let surface = self.part(face, 1, "FaceSurface")?;
            if surface.keyword != "IFCPLANE" {
                return self.curved_face(face, &surface, shell);
            }
        }
        let mut rings: Vec<(Vec<u32>, bool)> = Vec::new();
        for bound in self.parts(face, 0) {
            let looped = self.part(&bound, 0, "Bound")?;
            let mut ring: Vec<u32> = if looped.keyword == "IFCPOLYLOOP" {
                let mut ring = Vec::new();
                for name in looped.get(0).as_list().references() {
                    ring.push(self.shell_point(&looped, name, shell)?);
                }
                ring
            } else {
                let points = self.loop_points(&looped, shell)?;
                let first = shell.mesh.points.len() as u32;
                shell.mesh.points.extend(&points);
                (first..first + points.len() as u32).collect()
            };
            self.count(face, ring.len())?;
            ring.dedup_by(|a, b| shell.mesh.points[*a as usize] == shell.mesh.points[*b as usize]);
            if ring.len() > 1 && ring.first() == ring.last() {
                ring.pop();
            }
            if !bound.get(1).boolean().unwrap_or(true) {
                ring.reverse();
            }
            if ring.len() >= 3 {
                rings.push((ring, bound.keyword == "IFCFACEOUTERBOUND"));
            }
        }
        if rings.is_empty() {
            return Err(face.trouble("has no bound with three points"));
        }
        let outer = outer_ring(&rings, &shell.mesh);
        let (outer, _) = rings.swap_remove(outer);
        let holes: Vec<Vec<u32>> = rings.into_iter().map(|(ring, _)| ring).collect();
        if shell.mesh.add_face(&outer, &holes) { Ok(()) } else { Err(face.trouble("has no area")) }
    }

    fn shell_point(&self, from: &Entity<'m>, name: u64, shell: &mut Shell) -> Read<u32> {
        if let Some(&index) = shell.points.get(&name) {
            return Ok(index);
        }
        let Some(row) = self.file.find(name) else {
            return Err(from.trouble(format_args!("names #{name}, which is not in the file")));
        };
        let point = self.point(&self.at(row))?;
        let index = shell.mesh.points.len() as u32;
        shell.mesh.points.push(point);
        shell.points.insert(name, index);
        Ok(index)
    }

    pub(super) fn triangulated(&self, entity: &Entity<'m>) -> Read<Mesh> {
        let points = self.point_list(&self.part(entity, 0, "Coordinates")?)?;
        // Where PnIndex is given, triangles name its places.
        let through = whole_numbers(entity.get(4));
        let through = if entity.keyword == "IFCTRIANGULATEDFACESET" { through } else { Vec::new() };
        let mut mesh = Mesh { points, ..Mesh::default() };
        let mut bad = 0;
        for value in entity.get(3).as_list() {
            let corners = whole_numbers(value);
            let found: Vec<u32> =
                corners.iter().filter_map(|&i| look_up(&mesh.points, &through, i)).collect();
            match found[..] {
                [a, b, c] if corners.len() == 3 => {
                    if a != b && b != c && a != c {
                        mesh.triangles.push([a, b, c]);
                    }
                }
                _ => bad += 1,
            }
        }
        if bad > 0 {
            self.remark(
                entity.row,
                format!(
                    "{} has {bad} triangles that name points it does not have; they are left out",
                    entity.label()
                ),
            );
        }
        self.put_in_order(entity, &mesh)
    }

    pub(super) fn polygonal(&self, entity: &Entity<'m>) -> Read<Mesh> {
        let points = self.point_list(&self.part(entity, 0, "Coordinates")?)?;
        let through = whole_numbers(entity.get(3));
        let mut mesh = Mesh { points, ..Mesh::default() };
        let mut bad = 0;
        for face in self.parts(entity, 2) {
            let ring = |value| -> Option<Vec<u32>> {
                whole_numbers(value)
                    .into_iter()
                    .map(|i| look_up(&mesh.points, &through, i))
                    .collect()
            };
            let outer = ring(face.get(0));
            let holes: Option<Vec<Vec<u32>>> = match face.keyword {
                "IFCINDEXEDPOLYGONALFACEWITHVOIDS" => {
                    face.get(1).as_list().iter().map(ring).collect()
                }
                _ => Some(Vec::new()),
            };
            match (outer, holes) {
                (Some(outer), Some(holes)) if mesh.add_face(&outer, &holes) => {}
                _ => bad += 1,
            }
        }
        if bad > 0 {
            self.remark(entity.row, format!("{} has {bad} faces without area or with points it does not have; they are left out", entity.label()));
        }
        self.put_in_order(entity, &mesh)
    }
}

/// The point that a 1-based index names, through PnIndex where there is one.
fn look_up(points: &[DVec3], through: &[usize], index: usize) -> Option<u32> {
    let index = if through.is_empty() { index } else { *through.get(index.checked_sub(1)?)? };
    let place = index.checked_sub(1)?;
    points.get(place).filter(|p| p.is_finite())?;
    u32::try_from(place).ok()
}

/// Of several rings the one said to be outer, else the one that encloses most.
fn outer_ring(rings: &[(Vec<u32>, bool)], mesh: &Mesh) -> usize {
    let mut said = rings.iter().enumerate().filter(|(_, (_, outer))| *outer);
    if let (Some((only, _)), None) = (said.next(), said.next()) {
        return only;
    }
    let size = |ring: &Vec<u32>| {
        let points: Vec<DVec3> = ring.iter().map(|&i| mesh.points[i as usize]).collect();
        // The area seen along each axis; the sum of squares does not depend on how it is turned.
        let seen =
            |f: fn(&DVec3) -> glam::DVec2| ring_area(&points.iter().map(f).collect::<Vec<_>>());
        let (x, y, z) = (
            seen(|p| glam::DVec2::new(p.y, p.z)),
            seen(|p| glam::DVec2::new(p.z, p.x)),
            seen(|p| glam::DVec2::new(p.x, p.y)),
        );
        x * x + y * y + z * z
    };
    (0..rings.len()).max_by(|&i, &j| size(&rings[i].0).total_cmp(&size(&rings[j].0))).unwrap_or(0)
}
