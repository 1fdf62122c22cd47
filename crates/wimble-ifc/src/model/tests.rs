use crate::testing::{file, open, row, told};
use crate::{Model, OpenError, Schema};
use wimble_step::NotStep;

#[test]
fn what_is_no_model_is_refused_with_what_to_do() {
    let refused = |bytes: &[u8]| Model::open(bytes).err().map(|error| error.to_string());
    assert!(matches!(Model::open(b" \n"), Err(OpenError::NotStep(NotStep::Empty))));
    assert!(refused(b"%PDF-1.4 something else").is_some_and(|told| told.contains("not a STEP")));
    assert!(refused(b"PK\x03\x04xx").is_some_and(|told| told.contains("zip archive")));
    let told = refused(&file("AP214", "#1=POINT(1);")).expect("refused");
    assert!(told.contains("schema AP214; export it as IFC2X3"), "{told}");
    let none = b"ISO-10303-21;HEADER;ENDSEC;DATA;#1=IFCBEAM();ENDSEC;END-ISO-10303-21;";
    assert!(refused(none).is_some_and(|told| told.contains("names no schema")));
    assert!(refused(&file("IFC4", "")).is_some_and(|told| told.contains("no instances")));
}

#[test]
fn a_draft_schema_is_read_as_the_nearest_with_a_remark() {
    let bytes = file("IFC4X3_RC2", "#1=IFCBEAM('b',$,$,$,$,$,$,$,$);");
    let model = open(&bytes);
    assert_eq!((model.schema(), model.schema_name()), (Schema::Ifc4x3, "IFC4X3_RC2"));
    assert!(told(&model).contains("schema IFC4X3_RC2 is read as IFC4X3"));
}

#[test]
fn a_class_of_another_schema_is_read_as_there() {
    let bytes = file("IFC2X3", "#1=IFCPIPESEGMENT('b',$,$,$,$,$,$,'T1',.RIGIDSEGMENT.);");
    let model = open(&bytes);
    let root = model.root(row(&model, 1));
    assert_eq!(root.predefined_type.as_deref(), Some("RIGIDSEGMENT"));
    assert_eq!(model.products(), [row(&model, 1)]);
    assert!(told(&model).contains("IFCPIPESEGMENT is not a class of IFC2X3"));
}

#[test]
fn unknown_classes_that_may_be_products_are_listed() {
    let data = "#1=IFCGIRDER('g',$,$,$,$,$,#9,$);#2=IFCCURVETHING((1.,2.),#9);
        #3=IFCNOTE('n',$,$,$,'text','text','text');";
    let bytes = file("IFC4", data);
    let model = open(&bytes);
    assert!(model.products().is_empty());
    assert_eq!(model.unclassed(), [row(&model, 1)]);
    let told = told(&model);
    assert!(told.contains("IFCGIRDER is a class of no schema; 1 of it may be elements"), "{told}");
    assert!(told.contains("IFCCURVETHING is a class of no schema; it is left out"), "{told}");
}

#[test]
fn the_predefined_type_is_the_occurrences_else_the_types_and_user_defined_is_spelt_out() {
    let types = "#1=IFCBEAMTYPE('t',$,'47x220',$,$,$,$,$,'Trimmer joist',.USERDEFINED.);
        #2=IFCBEAM('a',$,$,$,$,$,$,$,.NOTDEFINED.);#3=IFCBEAM('b',$,$,$,'Rim',$,$,$,.USERDEFINED.);
        #4=IFCBEAM('c',$,$,$,$,$,$,$,.LINTEL.);#5=IFCRELDEFINESBYTYPE('x',$,$,$,(#2,#3,#4),#1);";
    let bytes = file("IFC4", types);
    let model = open(&bytes);
    let kind = |name| model.root(row(&model, name)).predefined_type.unwrap_or_default();
    assert_eq!([kind(2), kind(3), kind(4)], ["Trimmer joist", "Rim", "LINTEL"]);
    let root = model.root(row(&model, 2));
    assert_eq!(root.type_name.as_deref(), Some("47x220"));
    assert_eq!(model.occurrences(row(&model, 1)).len(), 3);
}
