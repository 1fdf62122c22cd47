use crate::Units;
use crate::testing::{file, open, told};

fn units(data: &str) -> (Units, String) {
    let bytes = file("IFC4", data);
    let model = open(&bytes);
    (model.units().clone(), told(&model))
}

const PROJECT: &str = "#1=IFCPROJECT('p',$,$,$,$,$,$,$,#2);";

#[test]
fn prefixes_count_once_for_lengths_and_by_power_for_areas_and_volumes() {
    let (units, told) = units(&format!(
        "{PROJECT}#2=IFCUNITASSIGNMENT((#3,#4,#5,#6));#3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
        #4=IFCSIUNIT(*,.AREAUNIT.,.CENTI.,.SQUARE_METRE.);
        #5=IFCSIUNIT(*,.VOLUMEUNIT.,.MILLI.,.CUBIC_METRE.);#6=IFCSIUNIT(*,.MASSUNIT.,.KILO.,.GRAM.);"
    ));
    assert_eq!((units.metres_per_length, units.length_name.as_str()), (1e-3, "mm"));
    assert!((units.square_metres_per_area - 1e-4).abs() < 1e-18);
    assert!((units.cubic_metres_per_volume - 1e-9).abs() < 1e-22);
    assert!((units.kilograms_per_mass - 1.0).abs() < 1e-15);
    assert_eq!(told, "");
}

#[test]
fn conversion_based_units_take_their_factor_and_may_rest_on_each_other() {
    let (units, told) = units(&format!(
        "{PROJECT}#2=IFCUNITASSIGNMENT((#3,#10));#3=IFCCONVERSIONBASEDUNIT($,.LENGTHUNIT.,'FOOT',#4);
        #4=IFCMEASUREWITHUNIT(IFCLENGTHMEASURE(12.),#5);
        #5=IFCCONVERSIONBASEDUNIT($,.LENGTHUNIT.,'INCH',#6);
        #6=IFCMEASUREWITHUNIT(IFCRATIOMEASURE(25.4),#7);#7=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
        #10=IFCCONVERSIONBASEDUNIT($,.PLANEANGLEUNIT.,'DEGREE',#11);
        #11=IFCMEASUREWITHUNIT(IFCPLANEANGLEMEASURE(0.0174532925199433),#12);
        #12=IFCSIUNIT(*,.PLANEANGLEUNIT.,$,.RADIAN.);"
    ));
    assert!((units.metres_per_length - 0.3048).abs() < 1e-15);
    assert_eq!((units.length_name.as_str(), units.angle_name.as_str()), ("foot", "degree"));
    assert!((units.radians_per_angle - 1f64.to_radians()).abs() < 1e-15);
    assert_eq!(told, "");
}

#[test]
fn a_name_that_contradicts_the_factor_is_told_and_the_factor_counts() {
    let (units, told) = units(&format!(
        "{PROJECT}#2=IFCUNITASSIGNMENT((#3));#3=IFCCONVERSIONBASEDUNIT($,.LENGTHUNIT.,'METER',#4);
        #4=IFCMEASUREWITHUNIT(IFCLENGTHMEASURE(0.3048),#5);#5=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);"
    ));
    assert_eq!(units.length_name, "foot");
    assert!(told.contains("called 'METER' but is defined as 0.3048 m"), "{told}");
}

#[test]
fn only_the_units_that_the_project_assigns_count() {
    let (units, told) = units(&format!(
        "#9=IFCUNITASSIGNMENT((#8));#8=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);{PROJECT}
        #2=IFCUNITASSIGNMENT((#3,#4));#3=IFCSIUNIT(*,.LENGTHUNIT.,.CENTI.,.METRE.);
        #4=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);"
    ));
    assert_eq!(units.length_name, "cm");
    assert!(told.contains("a second unit for the same measure"), "{told}");
}

#[test]
fn without_a_length_unit_metres_are_read_with_a_warning() {
    let (units, told) = units("#1=IFCPROJECT('p',$,$,$,$,$,$,$,$);");
    assert_eq!(units, Units::default());
    assert!(told.contains("lengths are read as metres"), "{told}");
    let (_, told) = self::units(&format!("{PROJECT}#2=IFCUNITASSIGNMENT(());"));
    assert!(told.contains("no length unit is assigned"), "{told}");
}

#[test]
fn a_unit_that_rests_on_itself_is_not_followed_for_ever() {
    let (units, told) = units(&format!(
        "{PROJECT}#2=IFCUNITASSIGNMENT((#3));#3=IFCCONVERSIONBASEDUNIT($,.LENGTHUNIT.,'X',#4);
        #4=IFCMEASUREWITHUNIT(IFCLENGTHMEASURE(2.),#3);"
    ));
    assert_eq!(units, Units::default());
    assert!(told.contains("cannot be followed to an SI unit"), "{told}");
}
