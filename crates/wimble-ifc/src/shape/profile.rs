//! Profiles as plane areas.

use super::curve::offset_line;
use super::path::Path;
use super::reader::{Entity, Read, Reader};
use super::steel::Corner;
use glam::{DAffine2, DMat2, DVec2, DVec3};
use wimble_geom::{Profile, Ring, clean_ring};

/// A profile with the rigid map that places it in the plane.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Area {
    pub(super) profile: Profile,
    pub(super) place: DAffine2,
}

impl Area {
    /// An area under a plane map.
    fn moved(&self, map: &DAffine2) -> Option<Self> {
        let (profile, place) = self.profile.moved(&(*map * self.place))?;
        Some(Self { profile, place })
    }
}

impl<'m> Reader<'m, '_> {
    /// The areas of a profile: one, or several of a composite one.
    pub(super) fn areas(&self, entity: &Entity<'m>) -> Read<Vec<Area>> {
        let areas = self.deeper(entity, || self.areas_of(entity));
        self.met(entity, areas.is_ok());
        areas
    }

    fn areas_of(&self, entity: &Entity<'m>) -> Read<Vec<Area>> {
        let size = |place: usize, what: &str| self.size(entity, place, what);
        let optional = |place: usize| self.length_or(entity, place, 0.0).max(0.0);
        let profile = match entity.keyword {
            "IFCRECTANGLEPROFILEDEF" => {
                Profile::Rectangle { x: size(3, "XDim")?, y: size(4, "YDim")? }
            }
            "IFCROUNDEDRECTANGLEPROFILEDEF" => {
                let ring = self.rounded(size(3, "XDim")?, size(4, "YDim")?, optional(5));
                self.rings(entity, &ring, &[])?
            }
            "IFCRECTANGLEHOLLOWPROFILEDEF" => {
                let (x, y, wall) = (size(3, "XDim")?, size(4, "YDim")?, size(5, "WallThickness")?);
                let outer = self.rounded(x, y, optional(7));
                if 2.0 * wall >= x.min(y) {
                    self.remark(
                        entity.row,
                        format!("{} has walls that meet; it is read as solid", entity.label()),
                    );
                    self.rings(entity, &outer, &[])?
                } else {
                    let inner = self.rounded(x - 2.0 * wall, y - 2.0 * wall, optional(6));
                    self.rings(entity, &outer, &[inner])?
                }
            }
            "IFCCIRCLEPROFILEDEF" => Profile::Circle { radius: size(3, "Radius")?, inner: None },
            "IFCCIRCLEHOLLOWPROFILEDEF" => {
                let (radius, wall) = (size(3, "Radius")?, size(4, "WallThickness")?);
                Profile::Circle { radius, inner: (wall < radius).then_some(radius - wall) }
            }
            "IFCELLIPSEPROFILEDEF" => {
                let (a, b) = (size(3, "SemiAxis1")?, size(4, "SemiAxis2")?);
                let chords = wimble_geom::circle_chords(a.max(b), self.chord);
                let ring: Ring = wimble_geom::circle_ring(1.0, chords)
                    .into_iter()
                    .map(|p| p * DVec2::new(a, b))
                    .collect();
                self.rings(entity, &ring, &[])?
            }
            "IFCTRAPEZIUMPROFILEDEF" => {
                let (bottom, top, y) =
                    (size(3, "BottomXDim")?, size(4, "TopXDim")?, size(5, "YDim")?);
                let shift = self.length(entity, 6, "TopXOffset")?;
                let (low, high) = (shift.min(0.0), (shift + top).max(bottom));
                let middle = DVec2::new(low.midpoint(high), y / 2.0);
                let corners = [(0.0, 0.0), (bottom, 0.0), (shift + top, y), (shift, y)];
                let ring: Ring = corners.iter().map(|&p| DVec2::from(p) - middle).collect();
                self.rings(entity, &ring, &[])?
            }
            "IFCISHAPEPROFILEDEF"
            | "IFCASYMMETRICISHAPEPROFILEDEF"
            | "IFCTSHAPEPROFILEDEF"
            | "IFCLSHAPEPROFILEDEF"
            | "IFCUSHAPEPROFILEDEF"
            | "IFCZSHAPEPROFILEDEF"
            | "IFCCSHAPEPROFILEDEF" => {
                let ring = self.round_corners(&self.steel(entity)?);
                self.rings(entity, &ring, &[])?
            }
            "IFCARBITRARYCLOSEDPROFILEDEF" | "IFCARBITRARYPROFILEDEFWITHVOIDS" => {
                return self.arbitrary(entity);
            }
            "IFCCENTERLINEPROFILEDEF" => {
                let thickness = size(3, "Thickness")?;
                let path = self.path(&self.part(entity, 2, "Curve")?)?;
                return self.along_centre_line(entity, &path, thickness);
            }
            "IFCCOMPOSITEPROFILEDEF" => {
                let mut areas = Vec::new();
                for part in self.parts(entity, 2) {
                    areas.extend(self.areas(&part)?);
                }
                return if areas.is_empty() {
                    Err(entity.trouble("has no profiles"))
                } else {
                    Ok(areas)
                };
            }
            "IFCDERIVEDPROFILEDEF" | "IFCMIRROREDPROFILEDEF" => {
                let parent = self.areas(&self.part(entity, 2, "ParentProfile")?)?;
                let map = match self.part(entity, 3, "Operator") {
                    Ok(operator) => flat(&self.operator(&operator)?),
                    // About the y axis; the operator is derived and not in the file.
                    Err(_) if entity.keyword == "IFCMIRROREDPROFILEDEF" => {
                        DAffine2::from_mat2(DMat2::from_cols(DVec2::NEG_X, DVec2::Y))
                    }
                    Err(trouble) => return Err(trouble),
                };
                let moved: Option<Vec<Area>> = parent.iter().map(|area| area.moved(&map)).collect();
                return moved.ok_or_else(|| entity.trouble("flattens its parent"));
            }
            _ => return Err(entity.trouble("is a profile of a kind that is not read")),
        };
        let place = self.frame2_or_none(entity, 2)?;
        Ok(vec![Area { profile, place }])
    }

    pub(super) fn rings(
        &self,
        entity: &Entity<'_>,
        outer: &[DVec2],
        holes: &[Ring],
    ) -> Read<Profile> {
        Profile::from_rings(outer, holes, 0.0).ok_or_else(|| entity.trouble("encloses no area"))
    }

    /// A rectangle with round corners.
    fn rounded(&self, x: f64, y: f64, radius: f64) -> Ring {
        let corners = [(-x, -y), (x, -y), (x, y), (-x, y)]
            .map(|(x, y)| Corner { at: DVec2::new(x, y) / 2.0, radius });
        self.round_corners(&corners)
    }

    fn arbitrary(&self, entity: &Entity<'m>) -> Read<Vec<Area>> {
        let outer = self.path(&self.part(entity, 2, "OuterCurve")?)?;
        let mut holes = Vec::new();
        if entity.keyword == "IFCARBITRARYPROFILEDEFWITHVOIDS" {
            for inner in self.parts(entity, 3) {
                match self.path(&inner) {
                    Ok(path) => holes.push(path),
                    Err(trouble) => self
                        .remark(trouble.row, format!("{}; that void is left out", trouble.reason)),
                }
            }
        }
        // A circle, or two about one centre, keep their radii.
        if let Some((centre, radius)) = outer.as_circle() {
            let inner = match &holes[..] {
                [] => Some(None),
                [one] => one
                    .as_circle()
                    .filter(|(c, r)| c.distance(centre) < 1e-6 && *r < radius)
                    .map(|(_, r)| Some(r)),
                _ => None,
            };
            if let Some(inner) = inner {
                let place = DAffine2::from_translation(centre.truncate());
                return Ok(vec![Area { profile: Profile::Circle { radius, inner }, place }]);
            }
        }
        let curved = |path: &Path| {
            path.stretches.iter().any(|s| !matches!(s.piece, super::path::Piece::Line { .. }))
        };
        let chord = if curved(&outer) || holes.iter().any(curved) { self.chord } else { 0.0 };
        let ring = |path: &Path| {
            clean_ring(&path.points(self.chord).iter().map(|p| p.truncate()).collect::<Vec<_>>())
        };
        let rings: Vec<Ring> = holes.iter().map(ring).collect();
        let points = ring(&outer);
        self.count(entity, points.len())?;
        if let Some(profiles) = super::join::cleared_up(&points, &rings) {
            let label = entity.label();
            self.remark(
                entity.row,
                format!("{label} has lines that cross; what they enclose is read"),
            );
            return Ok(profiles
                .into_iter()
                .map(|profile| Area { profile, place: DAffine2::IDENTITY })
                .collect());
        }
        let profile = Profile::from_rings(&points, &rings, chord)
            .ok_or_else(|| entity.trouble("encloses no area"))?;
        let (profile, place) = profile.simplified();
        Ok(vec![Area { profile, place }])
    }

    /// The band of a thickness along a line.
    fn along_centre_line(
        &self,
        entity: &Entity<'_>,
        path: &Path,
        thickness: f64,
    ) -> Read<Vec<Area>> {
        let points: Vec<DVec2> = path.points(self.chord).iter().map(|p| p.truncate()).collect();
        let side = |distance: f64| {
            offset_line(&points, distance).ok_or_else(|| entity.trouble("has no length"))
        };
        let (left, right) = (side(thickness / 2.0)?, side(-thickness / 2.0)?);
        let profile = if path.is_closed(1e-6) && points.len() > 3 {
            let (a, b) = (clean_ring(&left), clean_ring(&right));
            let (outer, inner) =
                if wimble_geom::ring_area(&a).abs() > wimble_geom::ring_area(&b).abs() {
                    (a, b)
                } else {
                    (b, a)
                };
            Profile::from_rings(&outer, &[inner], 0.0)
        } else {
            let ring: Ring = left.into_iter().chain(right.into_iter().rev()).collect();
            Profile::from_rings(&ring, &[], 0.0)
        };
        let (profile, place) =
            profile.ok_or_else(|| entity.trouble("encloses no area"))?.simplified();
        Ok(vec![Area { profile, place }])
    }
}

/// The part of a map of space that lies in the x–y plane.
fn flat(map: &glam::DAffine3) -> DAffine2 {
    let cut = |v: DVec3| v.truncate();
    DAffine2 {
        matrix2: DMat2::from_cols(cut(map.matrix3.x_axis), cut(map.matrix3.y_axis)),
        translation: cut(map.translation),
    }
}
