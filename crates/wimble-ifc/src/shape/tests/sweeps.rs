use super::*;
use wimble_geom::Mesh;

fn mesh(solid: Solid) -> Mesh {
    match solid {
        Solid::Mesh(mesh) => mesh,
        other => panic!("not a mesh: {other:?}"),
    }
}

const BOX: &str = "#101=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.1,0.2);\n";

#[test]
fn an_extrusion_follows_its_unit_direction_and_may_lean() {
    let solid = solid(&format!(
        "#100=IFCEXTRUDEDAREASOLID(#101,#14,#102,2.);\n#102=IFCDIRECTION((0.,3.,4.));\n{BOX}"
    ));
    spans(solid.bounds(), [-0.05, -0.1, 0.0], [0.05, 1.3, 1.6]);
    near(solid.volume(), 0.02 * 1.6);
}

#[test]
fn an_extrusion_within_its_plane_or_without_depth_says_so() {
    let flat = trouble(&format!("#100=IFCEXTRUDEDAREASOLID(#101,$,#12,2.);\n{BOX}"));
    assert_eq!(flat, "IfcExtrudedAreaSolid #100 is swept within its profile's plane");
    assert!(
        trouble(&format!("#100=IFCEXTRUDEDAREASOLID(#101,$,#11,0.);\n{BOX}")).contains("no depth")
    );
    assert!(trouble(&format!("#100=IFCEXTRUDEDAREASOLID(#101,$,#99,1.);\n{BOX}")).contains("#99"));
}

#[test]
fn a_tapered_extrusion_blends_its_profiles() {
    let solid = solid(&format!(
        "#100=IFCEXTRUDEDAREASOLIDTAPERED(#101,$,#11,3.,#102);\n#102=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.1,0.4);\n{BOX}"
    ));
    near(solid.volume(), 0.1 * 0.3 * 3.0);
    spans(solid.bounds(), [-0.05, -0.2, 0.0], [0.05, 0.2, 3.0]);
    let round = solid_round();
    about(round.volume(), PI * 3.0 * (0.01 + 0.04 + 0.02) / 3.0, 4e-3);
}

fn solid_round() -> Solid {
    solid(
        "#100=IFCEXTRUDEDAREASOLIDTAPERED(#101,$,#11,3.,#102);\n#101=IFCCIRCLEPROFILEDEF(.AREA.,$,$,0.1);\n#102=IFCCIRCLEPROFILEDEF(.AREA.,$,$,0.2);",
    )
}

const AXIS: &str = "#102=IFCAXIS1PLACEMENT(#103,#13);\n#103=IFCCARTESIANPOINT((1.,0.,0.));\n";

#[test]
fn a_revolved_area_turns_about_its_axis_by_pappus() {
    // The middle runs on a circle of 1 m.
    let quarter = mesh(solid(&format!("#100=IFCREVOLVEDAREASOLID(#101,$,#102,90.);\n{AXIS}{BOX}")));
    assert!(quarter.closed);
    about(quarter.volume(), 0.02 * PI / 2.0, 1e-3);
    // Right-handed about +y at x = 1: the far end stands at z = 1.
    spans(quarter.bounds(), [-0.05, -0.1, 0.0], [1.0, 0.1, 1.05]);
    let ring = mesh(solid(&format!("#100=IFCREVOLVEDAREASOLID(#101,$,#102,360.);\n{AXIS}{BOX}")));
    assert!(ring.closed);
    about(ring.volume(), 0.02 * 2.0 * PI, 1e-3);
}

#[test]
fn a_disk_along_a_straight_line_is_a_bar_however_the_line_is_divided() {
    let data = "#100=IFCSWEPTDISKSOLID(#102,0.05,0.04,$,$);\n#102=IFCPOLYLINE((#10,#103,#104));\n#103=IFCCARTESIANPOINT((1.,0.,0.));\n#104=IFCCARTESIANPOINT((3.,0.,0.));";
    let Solid::Cylinder(bar) = solid(data) else { panic!() };
    assert_eq!(
        (bar.from.to_array(), bar.to.to_array(), bar.radius, bar.inner),
        ([0.0; 3], [3.0, 0.0, 0.0], 0.05, Some(0.04))
    );
}

const CORNER: &str = "#102=IFCPOLYLINE((#10,#103,#104));\n#103=IFCCARTESIANPOINT((1.,0.,0.));\n#104=IFCCARTESIANPOINT((1.,1.,0.));\n";

#[test]
fn a_corner_of_a_swept_disk_is_mitred() {
    let bent = mesh(solid(&format!("#100=IFCSWEPTDISKSOLID(#102,0.05,$,$,$);\n{CORNER}")));
    assert!(bent.closed);
    spans(bent.bounds(), [0.0, -0.05, -0.05], [1.05, 1.0, 0.05]);
    about(bent.volume(), PI * 0.0025 * 2.0, 4e-3);
}

#[test]
fn parameters_of_a_swept_disk_count_segments_and_zero_to_one_is_the_whole() {
    let part = solid(&format!("#100=IFCSWEPTDISKSOLID(#102,0.05,$,0.5,1.);\n{CORNER}"));
    spans(part.bounds(), [0.5, -0.05, -0.05], [1.0, 0.05, 0.05]);
    let whole = body("IFC4", &format!("#100=IFCSWEPTDISKSOLID(#102,0.05,$,0.,1.);\n{CORNER}"));
    assert!(whole.items[0].solid.as_ref().unwrap().bounds().max.y > 0.99);
    assert!(whole.remarks[0].text.contains("the whole directrix is taken"));
    let outside = solid(&format!("#100=IFCSWEPTDISKSOLID(#102,0.05,$,3.,9.);\n{CORNER}"));
    assert!(outside.bounds().max.y > 0.99);
}

#[test]
fn a_polygonal_disk_has_round_corners() {
    let bent =
        mesh(solid(&format!("#100=IFCSWEPTDISKSOLIDPOLYGONAL(#102,0.05,$,$,$,0.2);\n{CORNER}")));
    about(bent.volume(), PI * 0.0025 * (1.6 + 0.1 * PI), 4e-3);
}

#[test]
fn a_fixed_reference_holds_the_profile_upright() {
    // x of the profile is up: 0.1 high, 0.2 across.
    let straight = solid(&format!(
        "#100=IFCFIXEDREFERENCESWEPTAREASOLID(#101,$,#102,$,$,#11);\n#102=IFCPOLYLINE((#10,#103));\n#103=IFCCARTESIANPOINT((2.,0.,0.));\n{BOX}"
    ));
    assert!(matches!(straight, Solid::Prism(_)));
    spans(straight.bounds(), [0.0, -0.1, -0.05], [2.0, 0.1, 0.05]);
    let bent = mesh(solid(&format!(
        "#100=IFCFIXEDREFERENCESWEPTAREASOLID(#101,$,#102,$,$,#11);\n{CORNER}{BOX}"
    )));
    spans(bent.bounds(), [0.0, -0.1, -0.05], [1.1, 1.0, 0.05]);
    about(bent.volume(), 0.02 * 2.0, 1e-6);
}

#[test]
fn a_surface_curve_sweep_takes_its_upright_from_the_surface() {
    let plane = solid(&format!(
        "#100=IFCSURFACECURVESWEPTAREASOLID(#101,$,#102,$,$,#104);\n#102=IFCPOLYLINE((#10,#103));\n#103=IFCCARTESIANPOINT((2.,0.,0.));\n#104=IFCPLANE(#14);\n{BOX}"
    ));
    spans(plane.bounds(), [0.0, -0.1, -0.05], [2.0, 0.1, 0.05]);
    // Along a helix-like half ring on a cylinder about z: x of the profile points outward.
    let ring = mesh(solid(&format!(
        "#100=IFCSURFACECURVESWEPTAREASOLID(#101,$,#102,$,$,#104);\n#102=IFCTRIMMEDCURVE(#103,(IFCPARAMETERVALUE(0.)),(IFCPARAMETERVALUE(180.)),.T.,.PARAMETER.);\n#103=IFCCIRCLE(#14,1.);\n#104=IFCCYLINDRICALSURFACE(#14,1.);\n{BOX}"
    )));
    spans(ring.bounds(), [-1.05, 0.0, -0.1], [1.05, 1.05, 0.1]);
    about(ring.volume(), 0.02 * PI, 2e-3);
}

#[test]
fn a_sectioned_spine_blends_from_place_to_place() {
    let solid = solid(
        "#100=IFCSECTIONEDSPINE(#105,(#101,#102,#101),(#14,#103,#104));
#101=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.1,0.2);
#102=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.1,0.4);
#103=IFCAXIS2PLACEMENT3D(#106,$,$);
#104=IFCAXIS2PLACEMENT3D(#107,$,$);
#105=IFCCOMPOSITECURVE((),.F.);
#106=IFCCARTESIANPOINT((0.,0.,1.));
#107=IFCCARTESIANPOINT((0.,0.,2.));",
    );
    near(solid.volume(), 0.1 * 0.3 * 2.0);
}

#[test]
fn primitives_have_their_volumes() {
    near(solid("#100=IFCCSGSOLID(#101);\n#101=IFCBLOCK(#14,1.,2.,3.);").volume(), 6.0);
    spans(solid("#100=IFCBLOCK(#14,1.,2.,3.);").bounds(), [0.0; 3], [1.0, 2.0, 3.0]);
    near(solid("#100=IFCRECTANGULARPYRAMID(#14,1.,2.,3.);").volume(), 2.0);
    assert!(matches!(solid("#100=IFCRIGHTCIRCULARCYLINDER(#14,2.,0.1);"), Solid::Cylinder(_)));
    about(solid("#100=IFCRIGHTCIRCULARCONE(#14,3.,1.);").volume(), PI, 3e-3);
    about(solid("#100=IFCSPHERE(#14,1.);").volume(), 4.0 / 3.0 * PI, 3e-3);
}
