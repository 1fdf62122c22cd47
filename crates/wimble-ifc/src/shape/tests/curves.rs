use super::*;

/// Area inside a closed curve with this text as #102.
fn enclosed(curve: &str) -> f64 {
    extruded(&format!("IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#102);\n#102={curve}")).volume()
}

const HALF_DISC: &str = "IFCCOMPOSITECURVE((#103,#104),.F.);
#103=IFCCOMPOSITECURVESEGMENT(.CONTINUOUS.,.T.,#105);
#104=IFCCOMPOSITECURVESEGMENT(.CONTINUOUS.,.T.,#106);
#106=IFCPOLYLINE((#107,#108));
#107=IFCCARTESIANPOINT((-1.,0.));
#108=IFCCARTESIANPOINT((1.,0.));
#109=IFCCIRCLE(#16,1.);
";

#[test]
fn arcs_are_trimmed_in_the_file_s_unit_of_angle() {
    let arc = "#105=IFCTRIMMEDCURVE(#109,(IFCPARAMETERVALUE(0.)),(IFCPARAMETERVALUE(180.)),.T.,.PARAMETER.);";
    about(enclosed(&format!("{HALF_DISC}{arc}")), PI / 2.0, 3e-3);
}

#[test]
fn an_arc_in_the_other_unit_is_found_out_by_its_points() {
    let arc = "#105=IFCTRIMMEDCURVE(#109,(IFCPARAMETERVALUE(0.),#108),(IFCPARAMETERVALUE(3.14159265),#107),.T.,.PARAMETER.);";
    about(enclosed(&format!("{HALF_DISC}{arc}")), PI / 2.0, 3e-3);
}

#[test]
fn points_alone_trim_as_well_and_the_sense_tells_the_way_round() {
    let below = "#105=IFCTRIMMEDCURVE(#109,(#108),(#107),.F.,.CARTESIAN.);";
    let solid =
        extruded(&format!("IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#102);\n#102={HALF_DISC}{below}"));
    spans(solid.bounds(), [-1.0, -1.0, 0.0], [1.0, 0.0, 1.0]);
}

#[test]
fn segments_out_of_order_and_backwards_are_put_in_order() {
    let square = "IFCCOMPOSITECURVE((#103,#104,#105),.F.);
#103=IFCCOMPOSITECURVESEGMENT(.CONTINUOUS.,.T.,#106);
#104=IFCCOMPOSITECURVESEGMENT(.CONTINUOUS.,.T.,#107);
#105=IFCCOMPOSITECURVESEGMENT(.CONTINUOUS.,.F.,#108);
#106=IFCPOLYLINE((#110,#111));
#107=IFCPOLYLINE((#113,#110));
#108=IFCPOLYLINE((#111,#112,#113));
#110=IFCCARTESIANPOINT((0.,0.));
#111=IFCCARTESIANPOINT((1.,0.));
#112=IFCCARTESIANPOINT((1.,1.));
#113=IFCCARTESIANPOINT((0.,1.));";
    near(enclosed(square), 1.0);
}

#[test]
fn an_indexed_curve_has_lines_and_arcs() {
    let slot = "IFCINDEXEDPOLYCURVE(#103,(IFCLINEINDEX((1,2)),IFCARCINDEX((2,3,4)),IFCLINEINDEX((4,5)),IFCARCINDEX((5,6,1))),.F.);
#103=IFCCARTESIANPOINTLIST2D(((0.,-0.5),(2.,-0.5),(2.5,0.),(2.,0.5),(0.,0.5),(-0.5,0.)));";
    about(enclosed(slot), 2.0 + QUARTER, 2e-3);
    let text = trouble(
        "#100=IFCEXTRUDEDAREASOLID(#101,$,#11,1.);\n#101=IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#102);\n#102=IFCINDEXEDPOLYCURVE(#103,(IFCLINEINDEX((1,2,9))),.F.);\n#103=IFCCARTESIANPOINTLIST2D(((0.,0.),(1.,0.)));",
    );
    assert_eq!(text, "IfcIndexedPolyCurve #102 names point 9 of 2");
}

#[test]
fn a_rational_spline_draws_a_circle() {
    let w = std::f64::consts::FRAC_1_SQRT_2;
    let circle = format!("IFCRATIONALBSPLINECURVEWITHKNOTS(2,(#110,#111,#112,#113,#114,#115,#116,#117,#110),.CIRCULAR_ARC.,.T.,.F.,(3,2,2,2,3),(0.,1.,2.,3.,4.),.UNSPECIFIED.,(1.,{w},1.,{w},1.,{w},1.,{w},1.));
#110=IFCCARTESIANPOINT((1.,0.));
#111=IFCCARTESIANPOINT((1.,1.));
#112=IFCCARTESIANPOINT((0.,1.));
#113=IFCCARTESIANPOINT((-1.,1.));
#114=IFCCARTESIANPOINT((-1.,0.));
#115=IFCCARTESIANPOINT((-1.,-1.));
#116=IFCCARTESIANPOINT((0.,-1.));
#117=IFCCARTESIANPOINT((1.,-1.));");
    about(enclosed(&circle), PI, 1e-3);
}

#[test]
fn an_offset_curve_lies_to_the_left() {
    let square = "IFCOFFSETCURVE2D(#103,0.1,.F.);
#103=IFCPOLYLINE((#110,#111,#112,#113,#110));
#110=IFCCARTESIANPOINT((0.,0.));
#111=IFCCARTESIANPOINT((1.,0.));
#112=IFCCARTESIANPOINT((1.,1.));
#113=IFCCARTESIANPOINT((0.,1.));";
    near(enclosed(square), 0.64);
}

#[test]
fn curve_segments_of_4x3_start_at_their_placements() {
    let data = "#100=IFCSWEPTDISKSOLID(#102,0.05,$,$,$);
#102=IFCCOMPOSITECURVE((#103,#104),.F.);
#103=IFCCURVESEGMENT(.CONTSAMEGRADIENT.,#16,IFCLENGTHMEASURE(0.),IFCLENGTHMEASURE(2.),#105);
#104=IFCCURVESEGMENT(.CONTSAMEGRADIENT.,#106,IFCLENGTHMEASURE(0.),IFCLENGTHMEASURE(1.5707963267949),#107);
#105=IFCLINE(#15,#108);
#108=IFCVECTOR(#109,1.);
#109=IFCDIRECTION((1.,0.));
#106=IFCAXIS2PLACEMENT2D(#110,#109);
#110=IFCCARTESIANPOINT((2.,0.));
#107=IFCCIRCLE(#16,1.);";
    let solid = solid_in("IFC4X3", data);
    // Two metres straight on, then a quarter turn to the left about (2, 1).
    spans(solid.bounds(), [0.0, -0.05, -0.05], [3.05, 1.0, 0.05]);
}
