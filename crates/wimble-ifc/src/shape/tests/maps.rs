use super::*;
use crate::Model;
use glam::DVec3;

const MAP: &str = "#110=IFCREPRESENTATIONMAP(#14,#111);
#111=IFCSHAPEREPRESENTATION($,'Body','SweptSolid',(#112));
#112=IFCEXTRUDEDAREASOLID(#113,$,#11,2.);
#113=IFCRECTANGLEPROFILEDEF(.AREA.,$,#114,0.1,0.2);
#114=IFCAXIS2PLACEMENT2D(#115,$);
#115=IFCCARTESIANPOINT((1.,0.));
";

fn mapped(operator: &str) -> Vec<Item> {
    items(&format!(
        "#100=IFCMAPPEDITEM(#110,#120);\n{MAP}#120={operator}\n#121=IFCCARTESIANPOINT((10.,0.,0.));\n#122=IFCDIRECTION((-1.,0.,0.));"
    ))
}

#[test]
fn a_mapped_item_keeps_its_prism_under_a_move_a_scale_and_a_mirror() {
    for (operator, min, max) in [
        (
            "IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#121,$,$);",
            [10.95, -0.1, 0.0],
            [11.05, 0.1, 2.0],
        ),
        (
            "IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#121,2.,$);",
            [11.9, -0.2, 0.0],
            [12.1, 0.2, 4.0],
        ),
        (
            "IFCCARTESIANTRANSFORMATIONOPERATOR3DNONUNIFORM($,$,#121,1.,$,3.,0.5);",
            [10.95, -0.3, 0.0],
            [11.05, 0.3, 1.0],
        ),
        (
            "IFCCARTESIANTRANSFORMATIONOPERATOR3D(#122,#13,#121,1.,#11);",
            [8.95, -0.1, 0.0],
            [9.05, 0.1, 2.0],
        ),
    ] {
        let items = mapped(operator);
        let Ok(solid) = &items[0].solid else { panic!() };
        assert!(matches!(solid, Solid::Prism(_)), "{operator}");
        spans(solid.bounds(), min, max);
        assert!(solid.to_mesh(1e-4).volume() > 0.0);
    }
}

#[test]
fn a_map_s_own_origin_comes_before_the_target() {
    let data = MAP.replace("#110=IFCREPRESENTATIONMAP(#14,#111);", "#110=IFCREPRESENTATIONMAP(#130,#111);\n#130=IFCAXIS2PLACEMENT3D(#131,$,$);\n#131=IFCCARTESIANPOINT((0.,5.,0.));");
    let body = body(
        "IFC4",
        &format!(
            "#100=IFCMAPPEDITEM(#110,#120);\n{data}#120=IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#10,$,$);"
        ),
    );
    near(body.items[0].solid.as_ref().unwrap().bounds().centre().y, 5.0);
    assert!(!body.remarks.is_empty());
}

#[test]
fn a_map_of_itself_and_one_without_items_say_so() {
    let ring = trouble(
        "#100=IFCMAPPEDITEM(#110,#120);\n#110=IFCREPRESENTATIONMAP(#14,#111);\n#111=IFCSHAPEREPRESENTATION($,'Body','MappedRepresentation',(#100));\n#120=IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#10,$,$);",
    );
    assert!(ring.contains("in itself"), "{ring}");
    let none = trouble(
        "#100=IFCMAPPEDITEM(#110,#120);\n#110=IFCREPRESENTATIONMAP(#14,#111);\n#111=IFCSHAPEREPRESENTATION($,'Body','MappedRepresentation',$);\n#120=IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#10,$,$);",
    );
    assert!(none.contains("without items"), "{none}");
}

/// A member at (100, 200, 3), turned to run along y, with these representations.
fn member(representations: &str) -> Vec<u8> {
    file(
        "IFC4",
        &format!(
            "{COMMON}
#20=IFCMEMBER('m',$,$,$,$,#21,#25,$,.STUD.);
#21=IFCLOCALPLACEMENT($,#22);
#22=IFCAXIS2PLACEMENT3D(#23,#13,#12);
#23=IFCCARTESIANPOINT((100.,200.,3.));
#25=IFCPRODUCTDEFINITIONSHAPE($,$,({representations}));
#30=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-5,#14,$);
#31=IFCSHAPEREPRESENTATION(#30,'Body','SweptSolid',(#112));
#32=IFCSHAPEREPRESENTATION(#30,'Axis','Curve3D',(#33));
#33=IFCPOLYLINE((#10,#34));
#34=IFCCARTESIANPOINT((0.,0.,2.));
#35=IFCSHAPEREPRESENTATION(#30,'Facetation','Brep',(#112));
#36=IFCSHAPEREPRESENTATION(#30,'Body','Curve3D',(#33));
#37=IFCSHAPEREPRESENTATION(#30,'Body','MappedRepresentation',(#100,#101));
#100=IFCMAPPEDITEM(#110,#120);
#101=IFCMAPPEDITEM(#110,#120);
#120=IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#10,$,$);
{MAP}"
        ),
    )
}

fn member_of(model: &Model<'_>) -> wimble_step::Row {
    row(model, 20)
}

#[test]
fn a_body_and_an_axis_stand_where_the_product_stands() {
    let bytes = member("#32,#31");
    let model = open(&bytes);
    let body = model.body(member_of(&model));
    assert_eq!(body.representation, "Body");
    let bounds = body.items[0].solid.as_ref().unwrap().bounds();
    // z of the member is y of the world, its y is −z.
    spans(bounds, [100.95, 200.0, 2.9], [101.05, 202.0, 3.1]);
    assert_eq!(
        model.axis(member_of(&model)),
        Some(vec![DVec3::new(100.0, 200.0, 3.0), DVec3::new(100.0, 202.0, 3.0)])
    );
}

#[test]
fn without_a_body_another_solid_representation_is_read() {
    let bytes = member("#32,#35");
    let model = open(&bytes);
    let body = model.body(member_of(&model));
    assert_eq!((body.items.len(), &*body.representation), (1, "Facetation"));
    assert!(body.items[0].solid.is_ok());
}

#[test]
fn a_product_with_lines_only_says_so_and_one_without_shape_has_no_items() {
    for (representations, words) in [("#36", "only lines"), ("#32", "no body")] {
        let bytes = member(representations);
        let model = open(&bytes);
        let body = model.body(member_of(&model));
        let reason = body.items[0].solid.as_ref().unwrap_err().reason.clone();
        assert!(reason.contains(words), "{reason}");
    }
    let bytes = member("");
    let model = open(&bytes);
    assert!(model.body(member_of(&model)).items.is_empty());
}

#[test]
fn each_mapped_item_is_an_item_with_its_index() {
    let bytes = member("#37");
    let model = open(&bytes);
    let indices: Vec<u32> =
        model.body(member_of(&model)).items.iter().map(|item| item.index).collect();
    assert_eq!(indices, [0, 1]);
}

#[test]
fn an_item_of_an_unknown_kind_is_named() {
    assert!(trouble("#100=IFCADVANCEDTHING(#10);").contains("IFCADVANCEDTHING"));
}

#[test]
fn what_was_met_is_counted() {
    let body = body(
        "IFC4",
        &format!(
            "#100=IFCMAPPEDITEM(#110,#120);\n{MAP}#120=IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#10,$,$);"
        ),
    );
    let read: Vec<&str> =
        body.census.counts.iter().filter(|(_, c)| c.read == 1).map(|(k, _)| k.as_str()).collect();
    assert_eq!(read, ["IFCEXTRUDEDAREASOLID", "IFCMAPPEDITEM", "IFCRECTANGLEPROFILEDEF"]);
}
