//! Solids: what an item of a representation becomes.

use super::Subtraction;
use super::profile::Area;
use super::reader::{Entity, Read, Reader, class_name};
use glam::{DAffine3, DMat3, DVec2, DVec3};
use wimble_geom::{Cylinder, Mesh, Prism, Profile, Solid, cone, in_space, sphere, tolerance};

/// A solid with what is taken from it, kept apart.
#[derive(Debug, Clone)]
pub(super) struct Made {
    pub(super) solid: Solid,
    pub(super) subtracted: Vec<Subtraction>,
}

impl From<Solid> for Made {
    fn from(solid: Solid) -> Self {
        Self { solid, subtracted: Vec::new() }
    }
}

impl<'m> Reader<'m, '_> {
    /// The solid of an item.
    pub(super) fn made(&self, entity: &Entity<'m>) -> Read<Made> {
        let made = self.deeper(entity, || self.made_of(entity));
        self.met(entity, made.is_ok());
        made
    }

    fn made_of(&self, entity: &Entity<'m>) -> Read<Made> {
        let solid = match entity.keyword {
            "IFCBOOLEANRESULT" | "IFCBOOLEANCLIPPINGRESULT" => return self.boolean(entity),
            "IFCCSGSOLID" => return self.made(&self.part(entity, 0, "TreeRootExpression")?),
            "IFCEXTRUDEDAREASOLID" => self.extruded(entity)?,
            "IFCEXTRUDEDAREASOLIDTAPERED" => self.extruded_tapered(entity)?,
            "IFCREVOLVEDAREASOLID" | "IFCREVOLVEDAREASOLIDTAPERED" => self.revolved(entity)?,
            "IFCSWEPTDISKSOLID" | "IFCSWEPTDISKSOLIDPOLYGONAL" => self.swept_disk(entity)?,
            "IFCFIXEDREFERENCESWEPTAREASOLID"
            | "IFCDIRECTRIXDERIVEDREFERENCESWEPTAREASOLID"
            | "IFCSURFACECURVESWEPTAREASOLID" => self.swept_along(entity)?,
            "IFCSECTIONEDSPINE" | "IFCSECTIONEDSOLIDHORIZONTAL" | "IFCSECTIONEDSOLID" => {
                self.sectioned(entity)?
            }
            "IFCFACETEDBREP"
            | "IFCFACETEDBREPWITHVOIDS"
            | "IFCADVANCEDBREP"
            | "IFCADVANCEDBREPWITHVOIDS"
            | "IFCMANIFOLDSOLIDBREP" => Solid::Mesh(self.brep(entity)?),
            "IFCSHELLBASEDSURFACEMODEL"
            | "IFCFACEBASEDSURFACEMODEL"
            | "IFCCLOSEDSHELL"
            | "IFCOPENSHELL"
            | "IFCCONNECTEDFACESET" => Solid::Mesh(self.surface_model(entity)?),
            "IFCTRIANGULATEDFACESET" | "IFCTRIANGULATEDIRREGULARNETWORK" => {
                Solid::Mesh(self.triangulated(entity)?)
            }
            "IFCPOLYGONALFACESET" => Solid::Mesh(self.polygonal(entity)?),
            "IFCBLOCK"
            | "IFCRECTANGULARPYRAMID"
            | "IFCRIGHTCIRCULARCONE"
            | "IFCRIGHTCIRCULARCYLINDER"
            | "IFCSPHERE" => self.primitive(entity)?,
            "IFCHALFSPACESOLID" | "IFCPOLYGONALBOUNDEDHALFSPACE" | "IFCBOXEDHALFSPACE" => {
                return Err(entity.trouble("is a half space, which has no end"));
            }
            "IFCBOUNDINGBOX" => return Err(entity.trouble("is only a box round the shape")),
            keyword if is_line_only(keyword) => {
                return Err(entity.trouble("has only lines"));
            }
            keyword => {
                let name = class_name(keyword);
                return Err(entity.trouble(format_args!("is of a kind that is not read ({name})")));
            }
        };
        Ok(solid.into())
    }

    fn extruded(&self, entity: &Entity<'m>) -> Read<Solid> {
        let areas = self.areas_at(entity, 0, "SweptArea")?;
        let frame = self.frame_or_none(entity, 1)?;
        let sweep = frame.transform_vector3(self.extrusion(entity)?);
        let mut solids = areas.iter().map(|area| prism(&frame, area, sweep));
        let Some(first) = solids.next() else { return Err(entity.trouble("has no area")) };
        let rest: Vec<Solid> = solids.collect();
        if rest.is_empty() {
            return Ok(first);
        }
        // A profile of several parts: one prism if they join into one area.
        if let Some(profile) = super::join::joined(&areas) {
            return Ok(prism(&frame, &profile, sweep));
        }
        let mut mesh = first.to_mesh(self.chord);
        for solid in rest {
            mesh.append(&solid.to_mesh(self.chord));
        }
        Ok(Solid::Mesh(mesh))
    }

    /// The way of an extrusion in the frame of its profile, with its length.
    pub(super) fn extrusion(&self, entity: &Entity<'m>) -> Read<DVec3> {
        let way = self.direction_at(entity, 2, "ExtrudedDirection")?;
        let depth = self.length(entity, 3, "Depth")?;
        if way.z.abs() < 1e-6 {
            return Err(entity.trouble("is swept within its profile's plane"));
        }
        if depth.abs() < 1e-9 {
            return Err(entity.trouble("has no depth"));
        }
        Ok(way * depth)
    }

    fn primitive(&self, entity: &Entity<'m>) -> Read<Solid> {
        let frame = self.frame_or_none(entity, 0)?;
        let size = |place: usize, what: &str| self.size(entity, place, what);
        let solid = match entity.keyword {
            "IFCBLOCK" => {
                let (x, y, z) = (size(1, "XLength")?, size(2, "YLength")?, size(3, "ZLength")?);
                let middle = DAffine3::from_translation(DVec3::new(x, y, 0.0) / 2.0);
                Solid::Prism(Prism {
                    frame: middle,
                    profile: Profile::Rectangle { x, y },
                    sweep: DVec3::Z * z,
                })
            }
            "IFCRECTANGULARPYRAMID" => {
                let (x, y, z) = (size(1, "XLength")?, size(2, "YLength")?, size(3, "Height")?);
                let base =
                    [(0.0, 0.0), (0.0, y), (x, y), (x, 0.0)].map(|p| DVec2::from(p).extend(0.0));
                Solid::Mesh(cone(&base, DVec3::new(x / 2.0, y / 2.0, z), 0.0))
            }
            "IFCRIGHTCIRCULARCONE" => {
                let (z, radius) = (size(1, "Height")?, size(2, "BottomRadius")?);
                let chords = wimble_geom::circle_chords(radius, self.chord);
                let base: Vec<DVec3> = wimble_geom::circle_ring(radius, chords)
                    .into_iter()
                    .rev()
                    .map(|p| p.extend(0.0))
                    .collect();
                Solid::Mesh(cone(&base, DVec3::Z * z, self.chord))
            }
            "IFCRIGHTCIRCULARCYLINDER" => {
                let (z, radius) = (size(1, "Height")?, size(2, "Radius")?);
                Solid::Cylinder(Cylinder {
                    from: DVec3::ZERO,
                    to: DVec3::Z * z,
                    radius,
                    inner: None,
                })
            }
            _ => Solid::Mesh(sphere(DVec3::ZERO, size(1, "Radius")?, self.chord)),
        };
        solid.transformed(&frame).ok_or_else(|| entity.trouble("is flattened by its placement"))
    }

    /// A mesh that was built without regard to sense, put in order.
    pub(super) fn put_in_order(&self, entity: &Entity<'_>, mesh: &Mesh) -> Read<Mesh> {
        self.count(entity, mesh.triangles.len())?;
        let mesh = mesh.oriented();
        if mesh.triangles.is_empty() { Err(entity.trouble("has no surface")) } else { Ok(mesh) }
    }
}

/// An area swept along a straight line: a bar if it is round and the sweep square.
pub(super) fn prism(frame: &DAffine3, area: &Area, sweep: DVec3) -> Solid {
    let placed = *frame * in_space(&area.place);
    let along = sweep.normalize_or_zero();
    if let Profile::Circle { radius, inner } = area.profile
        && along.cross(placed.matrix3.z_axis).length() <= tolerance::SAME_DIRECTION
    {
        let from = placed.translation;
        return Solid::Cylinder(Cylinder { from, to: from + sweep, radius, inner });
    }
    let m = placed.matrix3;
    let frame = DAffine3 {
        matrix3: DMat3::from_cols(m.x_axis, m.y_axis, m.z_axis),
        translation: placed.translation,
    };
    Solid::Prism(Prism { frame, profile: area.profile.clone(), sweep })
}

/// Kinds of item that give no body.
pub(super) fn is_line_only(keyword: &str) -> bool {
    matches!(
        keyword,
        "IFCPOLYLINE"
            | "IFCINDEXEDPOLYCURVE"
            | "IFCTRIMMEDCURVE"
            | "IFCCOMPOSITECURVE"
            | "IFC2DCOMPOSITECURVE"
            | "IFCCIRCLE"
            | "IFCELLIPSE"
            | "IFCLINE"
            | "IFCBSPLINECURVE"
            | "IFCBSPLINECURVEWITHKNOTS"
            | "IFCRATIONALBSPLINECURVEWITHKNOTS"
            | "IFCBEZIERCURVE"
            | "IFCRATIONALBEZIERCURVE"
            | "IFCOFFSETCURVE2D"
            | "IFCOFFSETCURVE3D"
            | "IFCGEOMETRICCURVESET"
            | "IFCCARTESIANPOINT"
            | "IFCEDGE"
            | "IFCEDGECURVE"
            | "IFCVERTEXPOINT"
            | "IFCALIGNMENTCURVE"
            | "IFCGRADIENTCURVE"
            | "IFCSEGMENTEDREFERENCECURVE"
            | "IFCOFFSETCURVEBYDISTANCES"
            | "IFCPOLYLOOP"
            | "IFCEDGELOOP"
            | "IFCPATH"
            | "IFCSURFACECURVE"
            | "IFCINTERSECTIONCURVE"
            | "IFCSEAMCURVE"
            | "IFCTEXTLITERAL"
            | "IFCTEXTLITERALWITHEXTENT"
            | "IFCANNOTATIONFILLAREA"
            | "IFCPLANARBOX"
            | "IFCPLANAREXTENT"
            | "IFCCARTESIANPOINTLIST3D"
    )
}
