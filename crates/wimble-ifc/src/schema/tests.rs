use super::generated::{CLASSES, DERIVED};
use super::{Attribute, Class, Schema};
use crate::class;

fn names(class: Class, schema: Schema) -> Vec<&'static str> {
    class.attributes(schema).iter().map(|attribute| attribute.name).collect()
}

#[test]
fn the_classes_stand_in_the_order_of_their_keywords() {
    assert!(CLASSES.is_sorted_by_key(|name| name.to_ascii_uppercase()));
    for name in CLASSES {
        assert_eq!(Class::of_keyword(name).map(Class::name), Some(name));
        assert_eq!(Class::of_keyword(&name.to_ascii_uppercase()).map(Class::name), Some(name));
    }
    assert_eq!(Class::of_keyword("IFCBEAMS"), None);
    assert_eq!(Class::of_keyword(""), None);
}

#[test]
fn a_predefined_type_on_a_beam_came_with_ifc4() {
    let beam = class!("IfcBeam");
    assert_eq!(beam.position(Schema::Ifc2x3, "PredefinedType"), None);
    assert_eq!(beam.position(Schema::Ifc4, "PredefinedType"), Some(8));
    assert_eq!(beam.position(Schema::Ifc4x3, "PredefinedType"), Some(8));
    assert_eq!(class!("IfcBeamType").position(Schema::Ifc2x3, "PredefinedType"), Some(9));
}

#[test]
fn a_grid_placement_has_two_layouts() {
    let placement = class!("IfcGridPlacement");
    assert_eq!(names(placement, Schema::Ifc4), ["PlacementLocation", "PlacementRefDirection"]);
    let later = ["PlacementRelTo", "PlacementLocation", "PlacementRefDirection"];
    assert_eq!(names(placement, Schema::Ifc4x3), later);
}

#[test]
fn derived_attributes_are_marked_where_a_subtype_derives_them() {
    let dimensions = class!("IfcSIUnit").attributes(Schema::Ifc4).first().copied();
    assert!(dimensions.is_some_and(|attribute: Attribute| attribute.derived));
    assert!(class!("IfcNamedUnit").attributes(Schema::Ifc4).iter().all(|a| !a.derived));
    assert!(DERIVED.len() > 10);
}

#[test]
fn a_parent_of_another_schema_counts() {
    assert!(class!("IfcWall").is_a(class!("IfcBuildingElement")));
    assert!(class!("IfcWall").is_a(class!("IfcBuiltElement")));
    assert!(!class!("IfcPipeSegment").is_in(Schema::Ifc2x3));
    assert!(class!("IfcPipeSegment").is_a(class!("IfcFlowSegment")));
    assert!(class!("IfcProduct").is_abstract_in(Schema::Ifc4));
}

#[test]
fn file_schema_names_are_matched_by_prefix_in_any_case() {
    for (name, expected) in [
        ("IFC2X3", Some((Schema::Ifc2x3, true))),
        ("ifc2x3", Some((Schema::Ifc2x3, true))),
        ("IFC2X2_FINAL", Some((Schema::Ifc2x3, false))),
        ("IFC4", Some((Schema::Ifc4, true))),
        ("IFC4_ADD2_TC1", Some((Schema::Ifc4, true))),
        ("IFC4X1", Some((Schema::Ifc4, false))),
        ("IFC4X3_RC4", Some((Schema::Ifc4x3, false))),
        ("IFC4X3_ADD2", Some((Schema::Ifc4x3, true))),
        ("AP214", None),
        ("", None),
    ] {
        assert_eq!(Schema::of_name(name), expected, "{name}");
    }
}
