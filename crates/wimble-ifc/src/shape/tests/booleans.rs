use super::*;
use wimble_geom::{Prism, Profile};

/// A joist along z: 0.05 by 0.2, 4 m long.
const JOIST: &str = "#101=IFCEXTRUDEDAREASOLID(#102,$,#11,4.);\n#102=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.05,0.2);\n";

fn plane_at(z: f64, agrees: &str) -> String {
    format!(
        "#110=IFCHALFSPACESOLID(#111,{agrees});\n#111=IFCPLANE(#112);\n#112=IFCAXIS2PLACEMENT3D(#113,$,$);\n#113=IFCCARTESIANPOINT((0.,0.,{z:?}));\n"
    )
}

#[test]
fn an_agreeing_half_space_lies_behind_its_normal() {
    // The material below z = 1 is taken away.
    let cut = solid(&format!(
        "#100=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#101,#110);\n{JOIST}{}",
        plane_at(1.0, ".T.")
    ));
    assert!(matches!(cut, Solid::Prism(Prism { profile: Profile::Rectangle { .. }, .. })));
    spans(cut.bounds(), [-0.025, -0.1, 1.0], [0.025, 0.1, 4.0]);
    let other = solid(&format!(
        "#100=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#101,#110);\n{JOIST}{}",
        plane_at(1.0, ".F.")
    ));
    spans(other.bounds(), [-0.025, -0.1, 0.0], [0.025, 0.1, 1.0]);
}

#[test]
fn an_intersection_keeps_what_a_difference_takes() {
    let kept = solid(&format!(
        "#100=IFCBOOLEANRESULT(.INTERSECTION.,#101,#110);\n{JOIST}{}",
        plane_at(1.0, ".T.")
    ));
    spans(kept.bounds(), [-0.025, -0.1, 0.0], [0.025, 0.1, 1.0]);
}

#[test]
fn a_body_clipped_away_says_so() {
    let text = trouble(&format!(
        "#100=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#101,#110);\n{JOIST}{}",
        plane_at(9.0, ".T.")
    ));
    assert!(text.contains("clipped away"), "{text}");
}

fn bounded(position: &str, half: f64) -> String {
    format!(
        "#110=IFCPOLYGONALBOUNDEDHALFSPACE(#111,.F.,{position},#114);
#111=IFCPLANE(#112);
#112=IFCAXIS2PLACEMENT3D(#113,$,$);
#113=IFCCARTESIANPOINT((0.,0.,3.));
#114=IFCPOLYLINE((#115,#116,#117,#118,#115));
#115=IFCCARTESIANPOINT((-1.,{half:?}));
#116=IFCCARTESIANPOINT((1.,{half:?}));
#117=IFCCARTESIANPOINT((1.,1.));
#118=IFCCARTESIANPOINT((-1.,1.));
#120=IFCAXIS2PLACEMENT3D(#121,$,$);
#121=IFCCARTESIANPOINT((0.,0.,5.));
"
    )
}

#[test]
fn a_bounded_half_space_whose_bounds_hold_the_whole_cut_is_a_plain_one() {
    let cut = solid(&format!(
        "#100=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#101,#110);\n{JOIST}{}",
        bounded("#14", -1.0)
    ));
    assert!(matches!(cut, Solid::Prism(Prism { profile: Profile::Rectangle { .. }, .. })));
    near(cut.bounds().max.z, 3.0);
}

#[test]
fn a_bounded_half_space_over_half_the_depth_leaves_a_step() {
    let cut = solid(&format!(
        "#100=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#101,#110);\n{JOIST}{}",
        bounded("#14", 0.0)
    ));
    about(cut.volume(), 0.05 * (0.2 * 3.0 + 0.1), 1e-9);
    spans(cut.bounds(), [-0.025, -0.1, 0.0], [0.025, 0.1, 4.0]);
}

#[test]
fn bounds_that_begin_beyond_the_body_cut_both_ways_with_a_remark() {
    let body = body(
        "IFC4",
        &format!(
            "#100=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#101,#110);\n{JOIST}{}",
            bounded("#120", -1.0)
        ),
    );
    near(body.items[0].solid.as_ref().unwrap().bounds().max.z, 3.0);
    assert!(body.remarks[0].text.contains("cuts below its position, too"));
}

/// A hole along y through the joist, 60 mm, at 2 m.
const HOLE: &str = "#130=IFCRIGHTCIRCULARCYLINDER(#131,1.,0.03);\n#131=IFCAXIS2PLACEMENT3D(#132,#12,#11);\n#132=IFCCARTESIANPOINT((-0.5,0.,2.));\n";

#[test]
fn solids_taken_away_are_kept_apart_and_net_takes_them() {
    let items = items(&format!(
        "#100=IFCBOOLEANRESULT(.DIFFERENCE.,#140,#130);\n#140=IFCBOOLEANRESULT(.DIFFERENCE.,#101,#110);\n{JOIST}{HOLE}{}",
        plane_at(3.0, ".F.")
    ));
    let item = &items[0];
    let Ok(Solid::Prism(prism)) = &item.solid else { panic!("{:?}", item.solid) };
    near(prism.sweep.z, 3.0);
    assert_eq!(item.subtracted.len(), 1);
    assert!(matches!(item.subtracted[0].solid, Ok(Solid::Cylinder(c)) if c.radius == 0.03));
    let net = item.net().unwrap().unwrap();
    about(net.volume(), 0.05 * (0.2 * 3.0 - PI * 0.0009), 1e-4);
}

#[test]
fn an_operand_written_twice_is_taken_once_and_one_that_misses_not_at_all() {
    let twice = items(&format!(
        "#100=IFCBOOLEANRESULT(.DIFFERENCE.,#140,#130);\n#140=IFCBOOLEANRESULT(.DIFFERENCE.,#101,#130);\n{JOIST}{HOLE}"
    ));
    assert_eq!(twice[0].subtracted.len(), 1);
    let missed = items(&format!(
        "#100=IFCBOOLEANRESULT(.DIFFERENCE.,#101,#133);\n#133=IFCBLOCK(#134,1.,1.,1.);\n#134=IFCAXIS2PLACEMENT3D(#135,$,$);\n#135=IFCCARTESIANPOINT((7.,0.,0.));\n{JOIST}"
    ));
    assert!(missed[0].subtracted.is_empty());
}

#[test]
fn an_operand_that_cannot_be_read_is_told_and_the_rest_kept() {
    let items = items(&format!(
        "#100=IFCBOOLEANRESULT(.DIFFERENCE.,#101,#133);\n#133=IFCBLOCK(#14,0.,1.,1.);\n{JOIST}"
    ));
    assert!(items[0].solid.is_ok());
    let unread: Vec<_> = items[0].unread_operands().map(|u| u.reason.clone()).collect();
    assert_eq!(unread, ["IfcBlock #133 has a XLength of 0 m"]);
}

#[test]
fn unions_count_what_is_shared_once_and_intersections_keep_it() {
    let blocks = "#101=IFCBLOCK(#14,2.,1.,1.);\n#102=IFCBLOCK(#103,2.,1.,1.);\n#103=IFCAXIS2PLACEMENT3D(#104,$,$);\n#104=IFCCARTESIANPOINT((1.5,0.,0.));\n";
    about(
        solid(&format!("#100=IFCBOOLEANRESULT(.UNION.,#101,#102);\n{blocks}")).volume(),
        3.5,
        1e-9,
    );
    about(
        solid(&format!("#100=IFCBOOLEANRESULT(.INTERSECTION.,#101,#102);\n{blocks}")).volume(),
        0.5,
        1e-9,
    );
}

#[test]
fn a_chain_of_a_thousand_clips_is_read_and_a_ring_refused() {
    let mut data = String::new();
    for i in 0..1000 {
        let (own, first) = (1000 + i, if i == 0 { 101 } else { 999 + i });
        data += &format!("#{own}=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#{first},#110);\n");
    }
    let cut = solid(&format!(
        "#100=IFCBOOLEANCLIPPINGRESULT(.DIFFERENCE.,#1999,#110);\n{data}{JOIST}{}",
        plane_at(1.0, ".T.")
    ));
    near(cut.bounds().min.z, 1.0);
    let ring = trouble(&format!(
        "#100=IFCBOOLEANRESULT(.UNION.,#101,#140);\n#140=IFCBOOLEANRESULT(.UNION.,#101,#100);\n{JOIST}"
    ));
    assert!(ring.contains("in itself"), "{ring}");
    let chain = trouble("#100=IFCBOOLEANRESULT(.UNION.,#100,#110);\n#110=IFCBLOCK(#14,1.,1.,1.);");
    assert!(chain.contains("of itself"), "{chain}");
}

#[test]
fn a_half_space_alone_has_no_end() {
    assert!(
        trouble(&format!("#100=IFCCSGSOLID(#110);\n{}", plane_at(1.0, ".T."))).contains("no end")
    );
}
