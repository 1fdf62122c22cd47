//! However a file is damaged, every question has an answer: nothing panics, nothing hangs.

use proptest::prelude::*;
use wimble_ifc::{Model, unzip};

/// A bit of everything that a model is asked for.
const FILE: &str = "ISO-10303-21;HEADER;FILE_SCHEMA(('IFC4'));ENDSEC;DATA;
#1=IFCPROJECT('p',$,$,$,$,$,$,(#4),#2);#2=IFCUNITASSIGNMENT((#3));
#3=IFCCONVERSIONBASEDUNIT(#3,.LENGTHUNIT.,'INCH',#5);#5=IFCMEASUREWITHUNIT(IFCREAL(25.4),#6);
#6=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
#4=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,$,#7,#9);#7=IFCAXIS2PLACEMENT3D(#8,#9,$);
#8=IFCCARTESIANPOINT((0.,0.,0.));#9=IFCDIRECTION((0.,0.,1.));
#10=IFCBEAM('b',$,'J1',$,$,#11,$,$,.JOIST.);#11=IFCLOCALPLACEMENT(#12,#7);
#12=IFCLOCALPLACEMENT($,#7);#13=IFCBUILDINGSTOREY('s',$,'1',$,$,#12,$,$,$,2.7);
#14=IFCRELCONTAINEDINSPATIALSTRUCTURE('x',$,$,$,(#10),#13);
#15=IFCBEAMTYPE('t',$,$,$,$,(#21),$,$,$,.JOIST.);#16=IFCRELDEFINESBYTYPE('x',$,$,$,(#10),#15);
#17=IFCRELASSOCIATESMATERIAL('x',$,$,$,(#10),#18);#18=IFCMATERIALPROFILESET($,$,(#19),$);
#19=IFCMATERIALPROFILE($,$,#20,$,$,$);#20=IFCMATERIAL('C24',$,'wood');
#21=IFCPROPERTYSET('q',$,'Pset_BeamCommon',$,(#22,#23));
#22=IFCPROPERTYSINGLEVALUE('Span',$,IFCLENGTHMEASURE(4200.),#6);
#23=IFCCOMPLEXPROPERTY('c',$,'u',(#22));
#24=IFCGRID('g',$,$,$,$,#12,$,(#25),(#26),$);#25=IFCGRIDAXIS('A',#27,.T.);
#26=IFCGRIDAXIS('1',#28,.T.);#27=IFCPOLYLINE((#8,#29));#28=IFCPOLYLINE((#8,#30));
#29=IFCCARTESIANPOINT((1.,0.));#30=IFCCARTESIANPOINT((0.,1.));
#31=IFCVIRTUALGRIDINTERSECTION((#25,#26),(0.,0.));#32=IFCGRIDPLACEMENT(#31,$);
#33=IFCPIPESEGMENT('d',$,$,$,$,#32,$,$,$);#34=IFCDISTRIBUTIONPORT('e',$,$,$,$,$,$,$,$,$);
#35=IFCRELNESTS('x',$,$,$,#33,(#34));#36=IFCMAPCONVERSION(#4,#37,1.,2.,3.,0.,1.,$);
#37=IFCPROJECTEDCRS('EPSG:1',$,$,$,$,$,#6);
ENDSEC;END-ISO-10303-21;";

fn ask_everything(bytes: &[u8]) {
    let Ok(model) = Model::open(bytes) else { return };
    model.read_ahead();
    for row in model.step().rows() {
        let _ = (model.root(row), model.placement(row), model.storey(row), model.container(row));
        let _ = (model.materials(row), model.properties(row), model.classifications(row));
        let _ = (model.property(row, None, "Span"), model.parts(row), model.coverings(row));
        let _ = (model.connected(row), model.systems(row), model.storey_elevation_m(row));
    }
    let _ = (model.site_region(), model.georeference(), model.unclassed(), model.diagnostics());
}

#[test]
fn the_whole_file_is_read_without_a_remark() -> Result<(), Box<dyn std::error::Error>> {
    let model = Model::open(FILE.as_bytes())?;
    model.read_ahead();
    for row in model.products() {
        model.placement(*row)?;
    }
    assert!(model.diagnostics().is_empty(), "{:?}", model.diagnostics());
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_file_that_was_cut_short_anywhere(length in 0..FILE.len()) {
        ask_everything(FILE.as_bytes().get(..length).unwrap_or_default());
    }

    #[test]
    fn a_file_with_bytes_exchanged(changes in prop::collection::vec((0..FILE.len(), any::<u8>()), 1..6)) {
        let mut bytes = FILE.as_bytes().to_vec();
        for (place, byte) in changes {
            bytes[place] = byte;
        }
        ask_everything(&bytes);
    }

    #[test]
    fn a_file_with_references_exchanged(changes in prop::collection::vec((0usize..90, 1u32..40), 1..8)) {
        // Cycles of every kind come about this way.
        let mut pieces: Vec<String> = FILE.split('#').map(str::to_owned).collect();
        for (place, name) in changes {
            if let Some(piece) = pieces.get_mut(place + 1) {
                let digits = piece.bytes().take_while(u8::is_ascii_digit).count();
                // The name that is being defined stays.
                if piece.as_bytes().get(digits) != Some(&b'=') {
                    piece.replace_range(..digits, &name.to_string());
                }
            }
        }
        ask_everything(pieces.join("#").as_bytes());
    }

    #[test]
    fn bytes_that_are_no_archive(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let mut zip = b"PK\x03\x04".to_vec();
        zip.extend(bytes);
        prop_assert!(unzip(&zip).is_err());
    }
}
