use super::*;
use wimble_geom::{Prism, Profile};

fn area(profile: &str) -> f64 {
    extruded(profile).volume()
}

#[test]
fn a_rectangle_is_centred_on_its_position_and_stays_exact() {
    let solid = extruded(
        "IFCRECTANGLEPROFILEDEF(.AREA.,$,#102,0.1,0.2);\n#102=IFCAXIS2PLACEMENT2D(#103,#13);\n#103=IFCCARTESIANPOINT((1.,0.));",
    );
    assert!(matches!(solid, Solid::Prism(Prism { profile: Profile::Rectangle { .. }, .. })));
    // Turned by a right angle: the 0.2 lies along x.
    spans(solid.bounds(), [0.9, -0.05, 0.0], [1.1, 0.05, 1.0]);
}

#[test]
fn a_closed_polyline_of_four_right_angles_is_a_rectangle() {
    let solid = extruded(
        "IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#102);\n#102=IFCPOLYLINE((#103,#104,#105,#106,#103));\n#103=IFCCARTESIANPOINT((0.,0.));\n#104=IFCCARTESIANPOINT((0.,0.2));\n#105=IFCCARTESIANPOINT((0.1,0.2));\n#106=IFCCARTESIANPOINT((0.1,0.));",
    );
    assert!(matches!(solid, Solid::Prism(Prism { profile: Profile::Rectangle { .. }, .. })));
    spans(solid.bounds(), [0.0, 0.0, 0.0], [0.1, 0.2, 1.0]);
}

#[test]
fn a_circle_extruded_square_is_a_bar_and_a_hollow_one_a_tube() {
    let Solid::Cylinder(bar) = extruded("IFCCIRCLEPROFILEDEF(.AREA.,$,#16,0.05);") else {
        panic!()
    };
    near(bar.radius, 0.05);
    let Solid::Cylinder(tube) = extruded("IFCCIRCLEHOLLOWPROFILEDEF(.AREA.,$,$,0.05,0.002);")
    else {
        panic!()
    };
    near(tube.inner.unwrap(), 0.048);
    let drawn = extruded(
        "IFCARBITRARYPROFILEDEFWITHVOIDS(.AREA.,$,#102,(#103));\n#102=IFCCIRCLE(#16,0.05);\n#103=IFCCIRCLE(#16,0.04);",
    );
    assert!(matches!(drawn, Solid::Cylinder(c) if c.inner == Some(0.04)), "{drawn:?}");
}

#[test]
fn rounded_and_hollow_rectangles_lose_their_corners_and_their_inside() {
    let corner = |r: f64| (4.0 - PI) * r * r;
    about(
        area("IFCROUNDEDRECTANGLEPROFILEDEF(.AREA.,$,$,0.1,0.2,0.02);"),
        0.02 - corner(0.02),
        1e-3,
    );
    let hollow = 0.1 * 0.2 - corner(0.01) - (0.08 * 0.18 - corner(0.005));
    about(area("IFCRECTANGLEHOLLOWPROFILEDEF(.AREA.,$,$,0.1,0.2,0.01,0.005,0.01);"), hollow, 1e-3);
}

#[test]
fn an_ellipse_and_a_trapezium_are_centred_on_their_boxes() {
    about(area("IFCELLIPSEPROFILEDEF(.AREA.,$,$,0.2,0.1);"), PI * 0.02, 4e-3);
    let solid = extruded("IFCTRAPEZIUMPROFILEDEF(.AREA.,$,$,0.3,0.1,0.2,0.1);");
    near(solid.volume(), 0.04);
    spans(solid.bounds(), [-0.15, -0.1, 0.0], [0.15, 0.1, 1.0]);
}

/// One of the four fillets that a square inner corner of radius r carries.
fn fillet(r: f64) -> f64 {
    r * r * (1.0 - QUARTER)
}

#[test]
fn i_t_l_u_z_and_c_have_the_areas_of_their_parts() {
    // Flanges 0.1 × 0.01 twice, web 0.18 × 0.006.
    about(
        area("IFCISHAPEPROFILEDEF(.AREA.,$,$,0.1,0.2,0.006,0.01,0.012,$,$);"),
        0.002 + 0.18 * 0.006 + 4.0 * fillet(0.012),
        2e-3,
    );
    near(area("IFCISHAPEPROFILEDEF(.AREA.,$,$,0.1,0.2,0.006,0.01,$,$,$);"), 0.002 + 0.18 * 0.006);
    near(
        area("IFCTSHAPEPROFILEDEF(.AREA.,$,$,0.2,0.1,0.006,0.01,$,$,$,$,$);"),
        0.001 + 0.19 * 0.006,
    );
    near(area("IFCLSHAPEPROFILEDEF(.AREA.,$,$,0.2,0.1,0.01,$,$,$);"), 0.002 + 0.09 * 0.01);
    near(area("IFCLSHAPEPROFILEDEF(.AREA.,$,$,0.1,$,0.01,$,$,$);"), 0.001 + 0.09 * 0.01);
    near(area("IFCUSHAPEPROFILEDEF(.AREA.,$,$,0.2,0.1,0.006,0.01,$,$,$);"), 0.002 + 0.18 * 0.006);
    near(
        area("IFCZSHAPEPROFILEDEF(.AREA.,$,$,0.2,0.1,0.006,0.01,$,$);"),
        0.2 * 0.006 + 2.0 * 0.094 * 0.01,
    );
    near(
        area("IFCCSHAPEPROFILEDEF(.AREA.,$,$,0.2,0.1,0.002,0.02,$);"),
        0.2 * 0.002 + 2.0 * 0.098 * 0.002 + 2.0 * 0.018 * 0.002,
    );
}

#[test]
fn sloping_flanges_keep_their_thickness_half_way_out() {
    // The mean thickness of the outstand is the nominal one: the area does not change.
    near(area("IFCISHAPEPROFILEDEF(.AREA.,$,$,0.1,0.2,0.006,0.01,$,$,5.);"), 0.002 + 0.18 * 0.006);
    near(area("IFCUSHAPEPROFILEDEF(.AREA.,$,$,0.2,0.1,0.006,0.01,$,$,5.);"), 0.002 + 0.18 * 0.006);
}

#[test]
fn an_asymmetric_i_is_read_by_the_layout_of_its_schema() {
    let expected = 0.1 * 0.01 + 0.06 * 0.008 + (0.2 - 0.018) * 0.006;
    near(
        area(
            "IFCASYMMETRICISHAPEPROFILEDEF(.AREA.,$,$,0.1,0.2,0.006,0.01,$,0.06,0.008,$,$,$,$,$);",
        ),
        expected,
    );
    let old = extruded_in(
        "IFC2X3",
        "IFCASYMMETRICISHAPEPROFILEDEF(.AREA.,$,#16,0.1,0.2,0.006,0.01,$,0.06,0.008,$,0.08);",
    );
    near(old.volume(), expected);
}

#[test]
fn a_composite_whose_parts_touch_is_one_prism() {
    // Three parts of an I-joist.
    let data = "IFCCOMPOSITEPROFILEDEF(.AREA.,$,(#102,#103,#104),$);
#102=IFCRECTANGLEPROFILEDEF(.AREA.,$,#105,0.045,0.039);
#103=IFCRECTANGLEPROFILEDEF(.AREA.,$,#16,0.009,0.222);
#104=IFCRECTANGLEPROFILEDEF(.AREA.,$,#106,0.045,0.039);
#105=IFCAXIS2PLACEMENT2D(#107,$);
#106=IFCAXIS2PLACEMENT2D(#108,$);
#107=IFCCARTESIANPOINT((0.,0.1305));
#108=IFCCARTESIANPOINT((0.,-0.1305));";
    let solid = extruded(data);
    let Solid::Prism(Prism { profile: Profile::Rings { outer, .. }, .. }) = &solid else {
        panic!("{solid:?}")
    };
    assert_eq!(outer.len(), 12);
    about(solid.volume(), 2.0 * 0.045 * 0.039 + 0.009 * 0.222, 1e-6);
}

#[test]
fn a_derived_profile_is_moved_and_a_mirrored_one_is_turned_about_y() {
    let derived = extruded(
        "IFCDERIVEDPROFILEDEF(.AREA.,$,#102,#103,$);\n#102=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.1,0.2);\n#103=IFCCARTESIANTRANSFORMATIONOPERATOR2D(#12,#13,#104,2.);\n#104=IFCCARTESIANPOINT((1.,0.));",
    );
    spans(derived.bounds(), [0.9, -0.2, 0.0], [1.1, 0.2, 1.0]);
    let mirrored = extruded(
        "IFCMIRROREDPROFILEDEF(.AREA.,$,#102,*,$);\n#102=IFCRECTANGLEPROFILEDEF(.AREA.,$,#103,0.1,0.2);\n#103=IFCAXIS2PLACEMENT2D(#104,$);\n#104=IFCCARTESIANPOINT((1.,0.));",
    );
    spans(mirrored.bounds(), [-1.05, -0.1, 0.0], [-0.95, 0.1, 1.0]);
}

#[test]
fn a_centre_line_has_its_thickness_on_both_sides() {
    let solid = extruded(
        "IFCCENTERLINEPROFILEDEF(.AREA.,$,#102,0.1);\n#102=IFCPOLYLINE((#103,#104,#105));\n#103=IFCCARTESIANPOINT((0.,0.));\n#104=IFCCARTESIANPOINT((1.,0.));\n#105=IFCCARTESIANPOINT((1.,1.));",
    );
    spans(solid.bounds(), [0.0, -0.05, 0.0], [1.05, 1.0, 1.0]);
    near(solid.volume(), 0.2);
}

#[test]
fn a_profile_of_no_size_says_so() {
    let text = trouble(
        "#100=IFCEXTRUDEDAREASOLID(#101,$,#11,1.);\n#101=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.,0.2);",
    );
    assert_eq!(text, "IfcRectangleProfileDef #101 has a XDim of 0 m");
}

#[test]
fn lines_that_cross_enclose_what_they_enclose() {
    // A bow tie of two triangles, and a square whose void reaches over its edge.
    let points = |first: usize, at: [(f64, f64); 4]| -> String {
        at.iter()
            .enumerate()
            .map(|(i, (x, y))| format!("#{}=IFCCARTESIANPOINT(({x:?},{y:?}));\n", first + i))
            .collect()
    };
    let tie = extruded(&format!(
        "IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#102);\n#102=IFCPOLYLINE((#110,#111,#112,#113,#110));\n{}",
        points(110, [(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)])
    ));
    about(tie.volume(), 2.0, 1e-6);
    let notched = extruded(&format!(
        "IFCARBITRARYPROFILEDEFWITHVOIDS(.AREA.,$,#102,(#103));\n#102=IFCPOLYLINE((#110,#111,#112,#113,#110));\n#103=IFCPOLYLINE((#120,#121,#122,#123,#120));\n{}{}",
        points(110, [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]),
        points(120, [(1.0, -1.0), (1.5, -1.0), (1.5, 1.0), (1.0, 1.0)])
    ));
    about(notched.volume(), 3.5, 1e-6);
    assert!(matches!(notched, Solid::Prism(_)));
}
