//! Shapes, and how each is spelt in the schema at hand.

use super::file::Schema;
use super::model::Model;
use super::value::{Id, Value};
use glam::{DAffine3, DVec2, DVec3};

/// A cross-section in its own plane, millimetres.
#[derive(Debug, Clone, PartialEq)]
pub enum Outline {
    /// Centred.
    Rectangle(f64, f64),
    /// Corners in order, closed by itself; written as a polyline.
    Polygon(Vec<DVec2>),
    /// The same as an indexed curve (IFC4 and later; a polyline before).
    IndexedPolygon(Vec<DVec2>),
    /// An outer polygon with polygonal voids.
    PolygonWithVoids(Vec<DVec2>, Vec<Vec<DVec2>>),
    /// Centred, by radius.
    Circle(f64),
    /// Centred; width, depth, web and flange thickness.
    IShape {
        /// Over the flanges.
        width: f64,
        /// Over all.
        depth: f64,
        /// Of the web.
        web: f64,
        /// Of each flange.
        flange: f64,
    },
}

/// A line that a disk is swept along, millimetres.
#[derive(Debug, Clone, PartialEq)]
pub enum Path {
    /// Straight pieces.
    Line(Vec<DVec3>),
    /// Part of a circle: from the x axis of the frame anticlockwise about its z axis.
    Arc {
        /// Centre and axes.
        at: DAffine3,
        /// Of the centre line.
        radius: f64,
        /// How far round.
        degrees: f64,
    },
}

/// How a body of plane faces is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Faces {
    /// Faceted boundary representation.
    Brep,
    /// Face-based surface model.
    Surface,
    /// Triangulated face set (IFC4 and later; a brep before).
    Triangulated,
    /// Polygonal face set (IFC4 and later; a brep before).
    Polygonal,
}

/// What is cut off: everything on the side that the normal points to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfSpace {
    /// A point of the plane, millimetres.
    pub point: DVec3,
    /// Unit vector towards what goes.
    pub away: DVec3,
}

/// A body in the building's coordinates, millimetres.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// An outline in the x–y plane of a frame, drawn out along its z axis.
    Extrusion {
        /// Cross-section.
        outline: Outline,
        /// Frame of the outline.
        at: DAffine3,
        /// How far along z.
        depth: f64,
    },
    /// Plane faces, each a ring of points seen anticlockwise from outside.
    Mesh {
        /// Corners.
        points: Vec<DVec3>,
        /// Rings of indices into the corners.
        faces: Vec<Vec<usize>>,
        /// How it is written.
        kind: Faces,
    },
    /// A disk swept along a path.
    Disk {
        /// Centre line.
        path: Path,
        /// Outside radius.
        radius: f64,
    },
    /// A body with its ends cut off by planes.
    Clipped(Box<Self>, Vec<HalfSpace>),
    /// A body less others.
    Difference(Box<Self>, Vec<Self>),
    /// A body in coordinates of its own, put into place; bodies with the same key are written once.
    Mapped {
        /// Name of the body.
        key: String,
        /// The body, in its own coordinates.
        body: Vec<Self>,
        /// Where it goes.
        at: DAffine3,
    },
}

impl Shape {
    /// An upright box from corner to corner.
    #[must_use]
    pub fn block(min: DVec3, max: DVec3) -> Self {
        let size = max - min;
        Self::Extrusion {
            outline: Outline::Rectangle(size.x, size.y),
            at: DAffine3::from_translation(DVec3::new(
                f64::midpoint(min.x, max.x),
                f64::midpoint(min.y, max.y),
                min.z,
            )),
            depth: size.z,
        }
    }

    /// A stick of rectangular section between two points on its axis: `breadth` lies level, `depth`
    /// stands square to it (for an upright stick `breadth` lies along the world's x).
    #[must_use]
    pub fn stick(from: DVec3, to: DVec3, breadth: f64, depth: f64) -> Self {
        Self::Extrusion {
            outline: Outline::Rectangle(breadth, depth),
            at: frame_along(from, to),
            depth: (to - from).length(),
        }
    }

    /// A round bar between two points on its axis.
    #[must_use]
    pub fn bar(from: DVec3, to: DVec3, diameter: f64) -> Self {
        Self::Extrusion {
            outline: Outline::Circle(diameter / 2.0),
            at: frame_along(from, to),
            depth: (to - from).length(),
        }
    }

    /// As `RepresentationType` names it.
    fn type_name(&self, schema: Schema) -> &'static str {
        match self {
            Self::Extrusion { .. } => "SweptSolid",
            Self::Mesh { kind: Faces::Surface, .. } => "SurfaceModel",
            Self::Mesh { kind: Faces::Triangulated | Faces::Polygonal, .. }
                if schema != Schema::Ifc2x3 =>
            {
                "Tessellation"
            }
            Self::Mesh { .. } => "Brep",
            Self::Disk { .. } => "AdvancedSweptSolid",
            Self::Clipped(..) => "Clipping",
            Self::Difference(..) => "CSG",
            Self::Mapped { .. } => "MappedRepresentation",
        }
    }
}

/// A frame at `from` whose z axis runs to `to`; its x axis lies level.
#[must_use]
pub fn frame_along(from: DVec3, to: DVec3) -> DAffine3 {
    let z = (to - from).normalize_or(DVec3::Z);
    let x = DVec3::Z.cross(z).normalize_or(DVec3::X);
    DAffine3::from_mat3_translation(glam::DMat3::from_cols(x, z.cross(x), z), from)
}

impl Model {
    /// Writes bodies as one representation. `local` moves the building's coordinates into the
    /// element's.
    pub(super) fn body(&mut self, shapes: &[Shape], local: DAffine3) -> Id {
        let schema = self.file.schema();
        let kind = shapes.first().map_or("SweptSolid", |shape| shape.type_name(schema));
        let items: Vec<Id> = shapes.iter().map(|shape| self.item(shape, local)).collect();
        let context = self.body_context;
        self.file.add(
            "IfcShapeRepresentation",
            vec![context.into(), "Body".into(), kind.into(), Value::references(items)],
        )
    }

    fn item(&mut self, shape: &Shape, local: DAffine3) -> Id {
        match shape {
            Shape::Extrusion { outline, at, depth } => {
                let outline = self.outline(outline);
                let position = self.axes(local * *at);
                let up = self.direction(DVec3::Z);
                let depth = self.length(*depth);
                self.file.add(
                    "IfcExtrudedAreaSolid",
                    vec![outline.into(), position.into(), up.into(), depth],
                )
            }
            Shape::Mesh { points, faces, kind } => {
                let points: Vec<DVec3> =
                    points.iter().map(|point| local.transform_point3(*point)).collect();
                self.mesh(&points, faces, *kind)
            }
            Shape::Disk { path, radius } => self.disk(path, *radius, local),
            Shape::Clipped(body, planes) => {
                let mut result = self.item(body, local);
                for plane in planes {
                    let half = self.half_space(plane, local);
                    result = self.boolean("IfcBooleanClippingResult", result, half);
                }
                result
            }
            Shape::Difference(body, tools) => {
                let mut result = self.item(body, local);
                for tool in tools {
                    let tool = self.item(tool, local);
                    result = self.boolean("IfcBooleanResult", result, tool);
                }
                result
            }
            Shape::Mapped { key, body, at } => {
                let map = self.representation_map(key, body);
                let target = self.operator(local * *at);
                self.file.add("IfcMappedItem", vec![map.into(), target.into()])
            }
        }
    }

    fn boolean(&mut self, class: &str, first: Id, second: Id) -> Id {
        self.file.add(class, vec![Value::Enumeration("DIFFERENCE"), first.into(), second.into()])
    }

    /// The material of the half space lies on the side away from the plane's normal when the flag
    /// is true, and the material is what a difference takes away.
    fn half_space(&mut self, plane: &HalfSpace, local: DAffine3) -> Id {
        let z = -plane.away;
        let x = if z.x.abs() < 0.9 { DVec3::X } else { DVec3::Y };
        let x = (x - z * x.dot(z)).normalize();
        let frame =
            DAffine3::from_mat3_translation(glam::DMat3::from_cols(x, z.cross(x), z), plane.point);
        let position = self.axes(local * frame);
        let plane = self.file.add("IfcPlane", vec![position.into()]);
        self.file.add("IfcHalfSpaceSolid", vec![plane.into(), Value::boolean(true)])
    }

    fn disk(&mut self, path: &Path, radius: f64, local: DAffine3) -> Id {
        let (directrix, end) = match path {
            Path::Line(points) => {
                let ids: Vec<Id> =
                    points.iter().map(|point| self.point(local.transform_point3(*point))).collect();
                let last = f64::from(u32::try_from(ids.len().max(1) - 1).unwrap_or(u32::MAX));
                (self.file.add("IfcPolyline", vec![Value::references(ids)]), last)
            }
            Path::Arc { at, radius, degrees } => {
                let position = self.axes(local * *at);
                let radius = self.length(*radius);
                let circle = self.file.add("IfcCircle", vec![position.into(), radius]);
                let angle = if self.degrees { *degrees } else { degrees.to_radians() };
                let parameter = |value: f64| {
                    Value::List(vec![Value::typed("IFCPARAMETERVALUE", Value::Real(value))])
                };
                let arc = self.file.add(
                    "IfcTrimmedCurve",
                    vec![
                        circle.into(),
                        parameter(0.0),
                        parameter(angle),
                        Value::boolean(true),
                        Value::Enumeration("PARAMETER"),
                    ],
                );
                (arc, angle)
            }
        };
        let radius = self.length(radius);
        // The parameters may be left out from IFC4 on.
        let (start, end) = if self.file.schema() == Schema::Ifc2x3 {
            (Value::Real(0.0), Value::Real(end))
        } else {
            (Value::Unset, Value::Unset)
        };
        self.file.add("IfcSweptDiskSolid", vec![directrix.into(), radius, Value::Unset, start, end])
    }

    fn mesh(&mut self, points: &[DVec3], faces: &[Vec<usize>], kind: Faces) -> Id {
        let indexed = self.file.schema() != Schema::Ifc2x3;
        match kind {
            Faces::Triangulated if indexed => {
                let list = self.point_list(points);
                let triangles = faces.iter().flat_map(|ring| fan(ring)).map(|t| ring_of(&t));
                self.file.add(
                    "IfcTriangulatedFaceSet",
                    vec![
                        list.into(),
                        Value::Unset,
                        Value::boolean(true),
                        Value::List(triangles.collect()),
                        Value::Unset,
                    ],
                )
            }
            Faces::Polygonal if indexed => {
                let list = self.point_list(points);
                let rings: Vec<Id> = faces
                    .iter()
                    .map(|ring| self.file.add("IfcIndexedPolygonalFace", vec![ring_of(ring)]))
                    .collect();
                self.file.add(
                    "IfcPolygonalFaceSet",
                    vec![list.into(), Value::boolean(true), Value::references(rings), Value::Unset],
                )
            }
            _ => self.shell(points, faces, kind == Faces::Surface),
        }
    }

    fn shell(&mut self, points: &[DVec3], faces: &[Vec<usize>], surface: bool) -> Id {
        let corners: Vec<Id> = points.iter().map(|point| self.point(*point)).collect();
        let faces: Vec<Id> = faces
            .iter()
            .map(|ring| {
                let ring = ring.iter().filter_map(|corner| corners.get(*corner).copied());
                let ring = self.file.add("IfcPolyLoop", vec![Value::references(ring)]);
                let bound =
                    self.file.add("IfcFaceOuterBound", vec![ring.into(), Value::boolean(true)]);
                self.file.add("IfcFace", vec![Value::references([bound])])
            })
            .collect();
        if surface {
            let set = self.file.add("IfcConnectedFaceSet", vec![Value::references(faces)]);
            self.file.add("IfcFaceBasedSurfaceModel", vec![Value::references([set])])
        } else {
            let shell = self.file.add("IfcClosedShell", vec![Value::references(faces)]);
            self.file.add("IfcFacetedBrep", vec![shell.into()])
        }
    }

    fn point_list(&mut self, points: &[DVec3]) -> Id {
        let rows =
            points.iter().map(|p| Value::List(p.to_array().map(|n| self.length(n)).to_vec()));
        let mut values = vec![Value::List(rows.collect())];
        if self.file.schema() == Schema::Ifc4x3 {
            values.push(Value::Unset);
        }
        self.file.add("IfcCartesianPointList3D", values)
    }

    pub(super) fn outline(&mut self, outline: &Outline) -> Id {
        let area = Value::Enumeration("AREA");
        match outline {
            Outline::Rectangle(x, y) => {
                let position = self.axes_2d();
                let (x, y) = (self.length(*x), self.length(*y));
                self.file
                    .add("IfcRectangleProfileDef", vec![area, Value::Unset, position.into(), x, y])
            }
            Outline::Circle(radius) => {
                let position = self.axes_2d();
                let radius = self.length(*radius);
                self.file
                    .add("IfcCircleProfileDef", vec![area, Value::Unset, position.into(), radius])
            }
            Outline::IShape { width, depth, web, flange } => {
                let position = self.axes_2d();
                let mut values = vec![area, Value::Unset, position.into()];
                values.extend([*width, *depth, *web, *flange].map(|n| self.length(n)));
                values.push(Value::Unset);
                if self.file.schema() != Schema::Ifc2x3 {
                    values.extend([Value::Unset, Value::Unset]);
                }
                self.file.add("IfcIShapeProfileDef", values)
            }
            Outline::Polygon(corners) => {
                let curve = self.polyline_2d(corners);
                self.file
                    .add("IfcArbitraryClosedProfileDef", vec![area, Value::Unset, curve.into()])
            }
            Outline::IndexedPolygon(corners) if self.file.schema() == Schema::Ifc2x3 => {
                self.outline(&Outline::Polygon(corners.clone()))
            }
            Outline::IndexedPolygon(corners) => {
                let curve = self.indexed_curve(corners);
                self.file
                    .add("IfcArbitraryClosedProfileDef", vec![area, Value::Unset, curve.into()])
            }
            Outline::PolygonWithVoids(outer, voids) => {
                let outer = self.polyline_2d(outer);
                let voids: Vec<Id> = voids.iter().map(|ring| self.polyline_2d(ring)).collect();
                self.file.add(
                    "IfcArbitraryProfileDefWithVoids",
                    vec![area, Value::Unset, outer.into(), Value::references(voids)],
                )
            }
        }
    }

    fn polyline_2d(&mut self, corners: &[DVec2]) -> Id {
        let mut points: Vec<Id> = corners.iter().map(|corner| self.point_2d(*corner)).collect();
        points.extend(points.first().copied());
        self.file.add("IfcPolyline", vec![Value::references(points)])
    }

    fn indexed_curve(&mut self, corners: &[DVec2]) -> Id {
        let rows = corners.iter().map(|p| Value::List(p.to_array().map(|n| self.length(n)).into()));
        let mut values = vec![Value::List(rows.collect())];
        if self.file.schema() == Schema::Ifc4x3 {
            values.push(Value::Unset);
        }
        let list = self.file.add("IfcCartesianPointList2D", values);
        let mut ring: Vec<usize> = (0..corners.len()).collect();
        ring.push(0);
        let line = Value::typed("IFCLINEINDEX", ring_of(&ring));
        self.file.add(
            "IfcIndexedPolyCurve",
            vec![list.into(), Value::List(vec![line]), Value::boolean(false)],
        )
    }
}

/// A ring of indices, counted from one.
fn ring_of(ring: &[usize]) -> Value {
    Value::List(
        ring.iter().map(|at| Value::Integer(i64::try_from(at + 1).unwrap_or(i64::MAX))).collect(),
    )
}

/// Triangles of a convex ring.
fn fan(ring: &[usize]) -> Vec<[usize; 3]> {
    let Some((first, rest)) = ring.split_first() else { return Vec::new() };
    rest.windows(2).filter_map(|pair| Some([*first, *pair.first()?, *pair.last()?])).collect()
}
