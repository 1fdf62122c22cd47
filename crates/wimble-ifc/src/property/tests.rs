use super::{Measure, PropertyValue};
use crate::testing::{file, open, row, told};

/// A project in millimetres, a beam with a type, each with its sets.
const BEAM: &str = "#1=IFCPROJECT('p',$,$,$,$,$,$,$,#2);#2=IFCUNITASSIGNMENT((#3));
    #3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);#4=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);
    #10=IFCBEAM('b',$,$,$,$,$,$,$,$);#11=IFCBEAMTYPE('t',$,$,$,$,(#40),$,$,$,.JOIST.);
    #12=IFCRELDEFINESBYTYPE('x',$,$,$,(#10),#11);
    #13=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#10),IFCPROPERTYSETDEFINITIONSET((#20,#30)));
    #20=IFCPROPERTYSET('s',$,'Pset_BeamCommon',$,(#21,#22,#23,#24,#25));
    #21=IFCPROPERTYSINGLEVALUE('Span',$,IFCPOSITIVELENGTHMEASURE(4200.),$);
    #22=IFCPROPERTYSINGLEVALUE('Bearing',$,IFCLENGTHMEASURE(0.075),#4);
    #23=IFCPROPERTYSINGLEVALUE('LoadBearing',$,IFCBOOLEAN(.T.),$);
    #24=IFCPROPERTYSINGLEVALUE('IsExternal',$,IFCLOGICAL(.U.),$);
    #25=IFCPROPERTYENUMERATEDVALUE('Status',$,(IFCLABEL('NEW')),$);
    #30=IFCELEMENTQUANTITY('q',$,'Qto_BeamBaseQuantities',$,$,(#31));
    #31=IFCQUANTITYLENGTH('Length',$,$,4250.,$);
    #40=IFCPROPERTYSET('s',$,'Pset_BeamCommon',$,(#41,#42,#43));
    #41=IFCPROPERTYSINGLEVALUE('Span',$,IFCPOSITIVELENGTHMEASURE(3000.),$);
    #42=IFCPROPERTYSINGLEVALUE('Reference',$,IFCIDENTIFIER('J47x220'),$);
    #43=IFCPROPERTYBOUNDEDVALUE('Slope',$,IFCPLANEANGLEMEASURE(0.2),IFCPLANEANGLEMEASURE(0.1),$,$);";

#[test]
fn lengths_come_in_metres_by_the_projects_or_their_own_unit() {
    let bytes = file("IFC4", BEAM);
    let model = open(&bytes);
    let beam = row(&model, 10);
    let length = |set, name| model.property(beam, set, name).and_then(|value| value.length_m());
    assert_eq!(length(Some("Pset_BeamCommon"), "Span"), Some(4.2));
    assert_eq!(length(None, "Bearing"), Some(0.075));
    assert_eq!(length(None, "Length"), Some(4.25));
    assert_eq!(length(None, "Reference"), None);
}

#[test]
fn the_elements_own_value_counts_before_its_types() {
    let bytes = file("IFC4", BEAM);
    let model = open(&bytes);
    let sets = model.properties(row(&model, 10));
    let names: Vec<&str> = sets.iter().map(|set| set.name.as_str()).collect();
    assert_eq!(names, ["Pset_BeamCommon", "Qto_BeamBaseQuantities"]);
    let common = &sets[0];
    assert_eq!(common.property("Span").and_then(PropertyValue::number), Some(4200.0));
    let reference = common.property("Reference").and_then(PropertyValue::text);
    assert_eq!(reference.as_deref(), Some("J47x220"));
    assert_eq!(common.property("LoadBearing").and_then(PropertyValue::boolean), Some(true));
    assert_eq!(common.property("IsExternal"), None);
    assert_eq!(common.property("Status").and_then(PropertyValue::text).as_deref(), Some("NEW"));
    assert_eq!(common.property("Slope").map(ToString::to_string).as_deref(), Some("0.1 … 0.2"));
    assert_eq!(common.property("Slope").and_then(PropertyValue::number), None);
}

#[test]
fn a_unit_that_contradicts_the_measure_gives_no_size() {
    let data = "#1=IFCPROPERTYSET('s',$,'X',$,(#2,#3));
        #2=IFCPROPERTYSINGLEVALUE('Odd',$,IFCLENGTHMEASURE(5.),#9);
        #3=IFCPROPERTYSINGLEVALUE('Plain',$,IFCREAL(5.),#8);
        #8=IFCSIUNIT(*,.LENGTHUNIT.,.CENTI.,.METRE.);#9=IFCSIUNIT(*,.MASSUNIT.,.KILO.,.GRAM.);
        #10=IFCBEAM('b',$,$,$,$,$,$,$,$);#11=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#10),#1);";
    let bytes = file("IFC4", data);
    let model = open(&bytes);
    let value = |name| model.property(row(&model, 10), Some("X"), name).expect("a value");
    assert_eq!(value("Odd").length_m(), None);
    assert_eq!(value("Odd").number(), Some(5.0));
    assert_eq!(value("Plain").length_m(), Some(0.05));
}

#[test]
fn lists_ranges_and_complex_properties_are_values_too() {
    let data = "#1=IFCPROPERTYSET('s',$,'X',$,(#2,#3,#4,#5));
        #2=IFCPROPERTYLISTVALUE('NominalDiameter',$,(IFCPOSITIVELENGTHMEASURE(0.1),IFCPOSITIVELENGTHMEASURE(0.08)),$);
        #3=IFCPROPERTYLISTVALUE('One',$,(IFCPOSITIVELENGTHMEASURE(0.1)),$);
        #4=IFCCOMPLEXPROPERTY('Group',$,'use',(#6));
        #5=IFCPROPERTYBOUNDEDVALUE('Set',$,IFCREAL(2.),IFCREAL(1.),$,IFCREAL(1.5));
        #6=IFCPROPERTYSINGLEVALUE('Inner',$,IFCVOLUMEMEASURE(2.),$);
        #10=IFCFLOWSEGMENT('b',$,$,$,$,$,$,$);#11=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#10),#1);";
    let bytes = file("IFC4", data);
    let model = open(&bytes);
    let value = |name| model.property(row(&model, 10), None, name).expect("a value");
    assert_eq!(value("NominalDiameter").text().as_deref(), Some("0.1, 0.08"));
    assert_eq!(value("NominalDiameter").length_m(), None);
    assert_eq!(value("One").length_m(), Some(0.1));
    assert_eq!(value("Set").number(), Some(1.5));
    let PropertyValue::Complex(inner) = value("Group") else { panic!("complex") };
    assert_eq!(inner[0].value.si(Measure::Volume), Some(2.0));
}

#[test]
fn a_complex_property_that_holds_itself_ends() {
    let data = "#1=IFCPROPERTYSET('s',$,'X',$,(#2));#2=IFCCOMPLEXPROPERTY('Loop',$,'use',(#2));
        #10=IFCBEAM('b',$,$,$,$,$,$,$,$);#11=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#10),#1);";
    let bytes = file("IFC4", data);
    let model = open(&bytes);
    assert!(model.property(row(&model, 10), None, "Loop").is_some());
    assert!(told(&model).contains("nested too deep"));
}

/// The first text of a property tells that nobody asks for it, where it is plain; where it is not, its
/// record is read.
#[test]
fn several_are_found_at_once_as_each_by_itself() {
    const NAMES: [&str; 6] = ["Span", "Bearing", "Load'Bearing", "Länge", "Slope", "Missing"];
    let odd = r"#14=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#10),#50);
        #50=IFCPROPERTYSET('s',$,'Odd',$,(#51,#52,#53,#54,#55));
        #51=IFCPROPERTYSINGLEVALUE('Load''Bearing',$,IFCBOOLEAN(.T.),$);
        #52=IFCPROPERTYSINGLEVALUE( 'L\X\E4nge' ,$,IFCLENGTHMEASURE(5.),$);
        #53=IFCPROPERTYSINGLEVALUE($,$,IFCLABEL('nameless'),$);
        #54=IFCPROPERTYSINGLEVALUE('Spa\X\6E',$,IFCLABEL('again'),$);
        #55=IFCPROPERTYSINGLEVALUE('Spans',$,IFCLABEL('another'),$);";
    let bytes = file("IFC4", &format!("{BEAM}{odd}"));
    let model = open(&bytes);
    let beam = row(&model, 10);
    let each = NAMES.map(|name| model.property(beam, None, name));
    assert_eq!(model.properties_named(beam, NAMES), each);
    assert_eq!(each.iter().flatten().count(), 5);
}
