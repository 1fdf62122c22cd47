//! Which kinds of shape are read, and as what.

/// What a kind of shape is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ShapeGroup {
    /// Bodies: solids, surfaces that enclose one, booleans.
    Body,
    /// Plane areas that are swept.
    Profile,
    /// Lines.
    Curve,
    /// Surfaces that faces lie on.
    Surface,
}

/// A kind of shape that is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShapeKind {
    /// The class, as the schemas spell it.
    pub class: &'static str,
    /// What it is for.
    pub group: ShapeGroup,
    /// What it becomes, for a person.
    pub becomes: &'static str,
}

macro_rules! kinds {
    ($($group:ident $becomes:literal: $($class:literal)+;)+) => {
        &[$($(ShapeKind { class: $class, group: ShapeGroup::$group, becomes: $becomes },)+)+]
    };
}

/// Every kind of shape that is read, by group. Kinds that are not in this list are named as
/// unreadable where they are met.
pub const SHAPE_KINDS: &[ShapeKind] = kinds! {
    Body "a prism; a bar or tube if it is round and swept square": "IfcExtrudedAreaSolid";
    Body "a mesh; a prism if both ends are alike": "IfcExtrudedAreaSolidTapered";
    Body "a mesh within the chord tolerance": "IfcRevolvedAreaSolid" "IfcRevolvedAreaSolidTapered";
    Body "a bar or tube along a straight line, else a mesh, mitred at corners": "IfcSweptDiskSolid" "IfcSweptDiskSolidPolygonal";
    Body "a prism along a straight line, else a mesh": "IfcFixedReferenceSweptAreaSolid" "IfcDirectrixDerivedReferenceSweptAreaSolid" "IfcSurfaceCurveSweptAreaSolid";
    Body "a mesh, blended from section to section": "IfcSectionedSpine" "IfcSectionedSolid" "IfcSectionedSolidHorizontal";
    Body "a mesh, turned outward by its volume; faces that cannot be read are left out with a remark": "IfcFacetedBrep" "IfcFacetedBrepWithVoids" "IfcAdvancedBrep" "IfcAdvancedBrepWithVoids" "IfcShellBasedSurfaceModel" "IfcFaceBasedSurfaceModel" "IfcTriangulatedFaceSet" "IfcTriangulatedIrregularNetwork" "IfcPolygonalFaceSet";
    Body "clips at once, exact where the cut is square; solids that are taken away are kept apart; unions and intersections as meshes": "IfcBooleanResult" "IfcBooleanClippingResult" "IfcCsgSolid" "IfcHalfSpaceSolid" "IfcPolygonalBoundedHalfSpace" "IfcBoxedHalfSpace";
    Body "a prism": "IfcBlock";
    Body "a bar": "IfcRightCircularCylinder";
    Body "a mesh": "IfcRightCircularCone" "IfcRectangularPyramid" "IfcSphere";
    Body "its items one by one, moved": "IfcMappedItem";
    Body "its surfaces; a set with only lines is named as such": "IfcGeometricSet";
    Profile "a rectangle": "IfcRectangleProfileDef";
    Profile "a circle or a ring": "IfcCircleProfileDef" "IfcCircleHollowProfileDef";
    Profile "an outline; arcs as chords": "IfcRoundedRectangleProfileDef" "IfcRectangleHollowProfileDef" "IfcEllipseProfileDef" "IfcTrapeziumProfileDef" "IfcIShapeProfileDef" "IfcAsymmetricIShapeProfileDef" "IfcTShapeProfileDef" "IfcLShapeProfileDef" "IfcUShapeProfileDef" "IfcZShapeProfileDef" "IfcCShapeProfileDef";
    Profile "a rectangle or circle if it is one, else an outline; lines that cross are cleared up": "IfcArbitraryClosedProfileDef" "IfcArbitraryProfileDefWithVoids";
    Profile "the band of its thickness": "IfcCenterLineProfileDef";
    Profile "one outline if its parts touch": "IfcCompositeProfileDef";
    Profile "its parent, moved": "IfcDerivedProfileDef" "IfcMirroredProfileDef";
    Curve "straight lines": "IfcPolyline" "IfcLine";
    Curve "lines and arcs": "IfcIndexedPolyCurve";
    Curve "an arc": "IfcCircle" "IfcEllipse";
    Curve "the part between its trims; where angles and points disagree the points decide": "IfcTrimmedCurve";
    Curve "its segments, put in order, gaps bridged with a remark": "IfcCompositeCurve" "IfcCompositeCurveOnSurface" "IfcBoundaryCurve" "IfcOuterBoundaryCurve" "Ifc2DCompositeCurve";
    Curve "chords": "IfcBSplineCurve" "IfcBezierCurve" "IfcRationalBezierCurve" "IfcBSplineCurveWithKnots" "IfcRationalBSplineCurveWithKnots" "IfcOffsetCurve2D";
    Curve "its curve in space": "IfcSurfaceCurve" "IfcSeamCurve" "IfcIntersectionCurve" "IfcEdgeCurve";
    Surface "plane triangles": "IfcPlane";
    Surface "triangles within the chord tolerance; a hundred grid lines at most each way": "IfcCylindricalSurface" "IfcSphericalSurface" "IfcToroidalSurface" "IfcSurfaceOfLinearExtrusion" "IfcSurfaceOfRevolution" "IfcBSplineSurface" "IfcBSplineSurfaceWithKnots" "IfcRationalBSplineSurfaceWithKnots";
    Surface "the surface that it bounds": "IfcRectangularTrimmedSurface" "IfcCurveBoundedPlane" "IfcCurveBoundedSurface";
};

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Class;

    #[test]
    fn every_kind_is_a_class_of_a_schema_and_listed_once() {
        for (i, kind) in SHAPE_KINDS.iter().enumerate() {
            let class = Class::of_keyword(&kind.class.to_uppercase());
            assert_eq!(class.map(Class::name), Some(kind.class));
            assert!(
                SHAPE_KINDS[..i].iter().all(|other| other.class != kind.class),
                "{}",
                kind.class
            );
        }
    }
}
