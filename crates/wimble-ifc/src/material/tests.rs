use crate::testing::{file, open, row, told};
use crate::{Material, MaterialKind, Materials};

const BEAM: &str = "#1=IFCBEAM('b',$,$,$,$,$,$,$,$);#2=IFCBEAMTYPE('t',$,$,$,$,$,$,$,$,.JOIST.);
    #3=IFCRELDEFINESBYTYPE('x',$,$,$,(#1),#2);#4=IFCMATERIAL('Spruce',$,'wood');";

fn materials(data: &str) -> (Materials, String) {
    let bytes = file("IFC4", &format!("{BEAM}{data}"));
    let model = open(&bytes);
    (model.materials(row(&model, 1)), told(&model))
}

fn names(materials: &Materials) -> Vec<&str> {
    materials.entries.iter().filter_map(|entry| entry.name.as_deref()).collect()
}

#[test]
fn the_elements_own_material_counts_before_its_types() {
    let typed = "#10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#2),#4);";
    let (found, _) = materials(typed);
    assert_eq!(
        (found.kind, found.of_type, names(&found)),
        (MaterialKind::Single, true, vec!["Spruce"])
    );
    let own = "#11=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#12);#12=IFCMATERIAL('Oak',$,$);";
    let (found, _) = materials(&format!("{typed}{own}"));
    assert_eq!((found.of_type, names(&found)), (false, vec!["Oak"]));
}

#[test]
fn grade_and_species_come_from_the_materials_property_sets() {
    let (found, _) = materials(
        "#10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#4);
        #11=IFCMATERIALPROPERTIES('Pset_MaterialWood',$,(#12,#13),#4);
        #12=IFCPROPERTYSINGLEVALUE('StrengthGrade',$,IFCLABEL('C24'),$);
        #13=IFCPROPERTYSINGLEVALUE('Species',$,IFCLABEL('Picea abies'),$);",
    );
    let [Material { category, grade, species, .. }] = &found.entries[..] else { panic!("one") };
    let told = [category, grade, species].map(|text| text.as_deref());
    assert_eq!(told, [Some("wood"), Some("C24"), Some("Picea abies")]);
}

#[test]
fn layers_profiles_constituents_and_lists_are_read_through_their_usages() {
    let (layers, _) = materials(
        "#10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#11);
        #11=IFCMATERIALLAYERSETUSAGE(#12,.AXIS3.,.POSITIVE.,0.,$);
        #12=IFCMATERIALLAYERSET((#13,#14),$,$);#13=IFCMATERIALLAYER(#4,0.018,$,'deck',$,$,$);
        #14=IFCMATERIALLAYER($,0.2,.T.,'air',$,$,$);",
    );
    assert_eq!(layers.kind, MaterialKind::Layers);
    let parts: Vec<_> =
        layers.entries.iter().map(|e| (e.part_name.as_deref(), e.thickness_m)).collect();
    assert_eq!(parts, [(Some("deck"), Some(0.018)), (Some("air"), Some(0.2))]);
    assert_eq!(names(&layers), ["Spruce"]);

    let (profiles, _) = materials(
        "#10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#11);
        #11=IFCMATERIALPROFILESETUSAGE(#12,5,$);#12=IFCMATERIALPROFILESET($,$,(#13),$);
        #13=IFCMATERIALPROFILE('47x220',$,#4,#14,$,$);
        #14=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.047,0.22);",
    );
    assert_eq!(profiles.kind, MaterialKind::Profiles);
    assert!(profiles.entries.iter().all(|entry| entry.profile.is_some()));

    let (constituents, _) = materials(
        "#10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#11);
        #11=IFCMATERIALCONSTITUENTSET($,$,(#12));#12=IFCMATERIALCONSTITUENT('web',$,#4,0.25,$);",
    );
    assert_eq!(constituents.entries.first().and_then(|entry| entry.fraction), Some(0.25));

    let (list, _) = materials(
        "#10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#11);#11=IFCMATERIALLIST((#4,#12));
        #12=IFCMATERIAL('Steel',$,$);",
    );
    assert_eq!((list.kind, names(&list)), (MaterialKind::List, vec!["Spruce", "Steel"]));
}

#[test]
fn ifc2x3_keeps_a_grade_in_extended_properties() {
    let data = "#1=IFCBEAM('b',$,$,$,$,$,$,$);#4=IFCMATERIAL('Vuren');
        #10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#4);
        #11=IFCEXTENDEDMATERIALPROPERTIES(#4,(#12),$,'Wood');
        #12=IFCPROPERTYSINGLEVALUE('StrengthGrade',$,IFCLABEL('C18'),$);";
    let bytes = file("IFC2X3", data);
    let model = open(&bytes);
    let materials = model.materials(row(&model, 1));
    assert_eq!(materials.entries.first().and_then(|entry| entry.grade.as_deref()), Some("C18"));
}

#[test]
fn what_is_no_material_is_told_and_left_out() {
    let (found, told) = materials("#10=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#1),#3);");
    assert_eq!(found, Materials::default());
    assert!(told.contains("stands where a material is needed"), "{told}");
}
