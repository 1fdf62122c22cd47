use super::GeoreferenceKind;
use crate::testing::{file, open, told};
use glam::DVec3;

const MILLI: &str = "#1=IFCPROJECT('p',$,$,$,$,$,$,(#4),#2);#2=IFCUNITASSIGNMENT((#3));
    #3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
    #4=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,$,#5,#7);#5=IFCAXIS2PLACEMENT3D(#6,$,$);
    #6=IFCCARTESIANPOINT((0.,0.,0.));#7=IFCDIRECTION((1.,1.));#8=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);
    #9=IFCPROJECTEDCRS('EPSG:27700',$,'OSGB36',$,'BNG',$,#8);";

/// Where a point that stands 2 m along X and 3 m up lands on the map.
fn mapped(data: &str) -> (DVec3, String) {
    let bytes = file("IFC4", &format!("{MILLI}{data}"));
    let model = open(&bytes);
    let place = model.georeference().expect("a georeference");
    assert_eq!(place.crs_name.as_deref(), Some("EPSG:27700"));
    (place.to_map(DVec3::new(2.0, 0.0, 3.0)), told(&model))
}

#[test]
fn a_map_conversion_scales_turns_and_moves() {
    let turned = "#10=IFCMAPCONVERSION(#4,#9,530000.,180000.,12.,0.,1.";
    let wanted = DVec3::new(530_000.0, 180_002.0, 15.0);
    let (point, told) = mapped(&format!("{turned},0.001);"));
    assert!(point.abs_diff_eq(wanted, 1e-9), "{point}");
    assert_eq!(told, "");
    // Left out or 1 although the units differ: the units are allowed for.
    let (point, told) = mapped(&format!("{turned},$);"));
    assert!(point.abs_diff_eq(wanted, 1e-9) && told.is_empty(), "{point} {told}");
    let (point, told) = mapped(&format!("{turned},1.);"));
    assert!(point.abs_diff_eq(wanted, 1e-9), "{point}");
    assert!(told.contains("the units are allowed for"), "{told}");
}

#[test]
fn a_map_without_a_unit_of_its_own_is_in_the_projects() {
    let bytes = file(
        "IFC4",
        &format!(
            "{MILLI}#10=IFCMAPCONVERSION(#4,#11,1000.,0.,0.,$,$,$);#11=IFCPROJECTEDCRS('X',$,$,$,$,$,$);"
        ),
    );
    let model = open(&bytes);
    let place = model.georeference().expect("a georeference");
    assert_eq!(place.to_map(DVec3::X), DVec3::new(2000.0, 0.0, 0.0));
}

#[test]
fn ifc2x3_keeps_the_same_in_property_sets_of_the_site() {
    let data = "#1=IFCSITE('s',$,$,$,$,$,$,$,.ELEMENT.,(51,30,0),(-0,-7,-30),10.,$,#40);
        #2=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#1),#3);
        #3=IFCPROPERTYSET('a',$,'ePSet_MapConversion',$,(#4,#5));
        #4=IFCPROPERTYSINGLEVALUE('Eastings',$,IFCLENGTHMEASURE(100.),$);
        #5=IFCPROPERTYSINGLEVALUE('XAxisOrdinate',$,IFCREAL(0.),$);
        #6=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#1),#7);
        #7=IFCPROPERTYSET('b',$,'ePSet_ProjectedCRS',$,(#8));
        #8=IFCPROPERTYSINGLEVALUE('Name',$,IFCLABEL('EPSG:28992'),$);
        #40=IFCPOSTALADDRESS($,$,$,$,$,$,'Delft',$,$,'Netherlands');";
    let bytes = file("IFC2X3", data);
    let model = open(&bytes);
    let place = model.georeference().expect("a georeference");
    assert_eq!(place.kind, GeoreferenceKind::PropertySet);
    assert_eq!(place.to_map(DVec3::X), DVec3::new(101.0, 0.0, 0.0));
    let region = model.site_region();
    assert_eq!(region.country.as_deref(), Some("Netherlands"));
    assert_eq!(region.crs_name.as_deref(), Some("EPSG:28992"));
    assert_eq!((region.latitude_deg, region.longitude_deg), (Some(51.5), Some(-0.125)));
}

#[test]
fn true_north_is_told_as_an_angle_from_y() {
    let bytes = file("IFC4", MILLI);
    let model = open(&bytes);
    assert!(model.georeference().is_none());
    let north = model.site_region().true_north_deg.expect("a north");
    assert!((north + 45.0).abs() < 1e-12);
}
