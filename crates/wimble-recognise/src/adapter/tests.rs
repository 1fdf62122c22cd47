//! Candidates from small IFC files.

use super::{Source, building, recognise};
use crate::candidate::{Candidate, Family};
use crate::scene::{Input, Scene};
use crate::settings::{Mapping, RecogniseSettings, Selector, Take};
use crate::sorting::Sort;
use wimble_ifc::Model;
use wimble_model::{CoverageStatus, Lagging, OpeningSource, ServiceKind, ServiceShape, Trade};

/// A file of a schema in millimetres, with the usual context, placement and directions.
fn file(schema: &str, body: &str) -> String {
    format!(
        "ISO-10303-21;HEADER;FILE_SCHEMA(('{schema}'));ENDSEC;DATA;
        #1=IFCPROJECT('p',$,$,$,$,$,$,(#4),#2);
        #2=IFCUNITASSIGNMENT((#3));
        #3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
        #4=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-05,#6,$);
        #5=IFCCARTESIANPOINT((0.,0.,0.));
        #6=IFCAXIS2PLACEMENT3D(#5,$,$);
        #7=IFCLOCALPLACEMENT($,#6);
        #8=IFCDIRECTION((0.,0.,1.));
        #9=IFCCARTESIANPOINT((0.,0.));
        #10=IFCAXIS2PLACEMENT2D(#9,$);
        {body}
        ENDSEC;END-ISO-10303-21;"
    )
}

/// A shape: a profile (instance `at`) swept along `way` from `from` by `depth`; instances
/// `at`..`at+7`, the product definition shape being `at+7`.
fn swept(at: u32, profile: &str, from: [f64; 3], way: [f64; 3], depth: f64) -> String {
    let point = |p: [f64; 3]| format!("({:.3},{:.3},{:.3})", p[0], p[1], p[2]);
    format!(
        "#{at}={profile};
        #{}=IFCCARTESIANPOINT({});
        #{}=IFCDIRECTION({});
        #{}=IFCAXIS2PLACEMENT3D(#{},#{},$);
        #{}=IFCEXTRUDEDAREASOLID(#{at},#{},#8,{depth:.3});
        #{}=IFCSHAPEREPRESENTATION(#4,'Body','SweptSolid',(#{}));
        #{}=IFCPRODUCTDEFINITIONSHAPE($,$,(#{}));",
        at + 1,
        point(from),
        at + 2,
        point(way),
        at + 3,
        at + 1,
        at + 2,
        at + 4,
        at + 3,
        at + 5,
        at + 4,
        at + 7,
        at + 5,
    )
}

fn rectangle(x: f64, y: f64) -> String {
    format!("IFCRECTANGLEPROFILEDEF(.AREA.,$,#10,{x:.3},{y:.3})")
}

fn circle(radius: f64) -> String {
    format!("IFCCIRCLEPROFILEDEF(.AREA.,$,#10,{radius:.3})")
}

fn scene_of(texts: &[String]) -> Scene {
    scene_with(texts, &RecogniseSettings::default())
}

fn scene_with(texts: &[String], settings: &RecogniseSettings) -> Scene {
    let models: Vec<Model<'_>> =
        texts.iter().map(|t| Model::open(t.as_bytes()).expect("a model")).collect();
    let sources: Vec<Source<'_, '_>> =
        models.iter().map(|model| Source { input: Input::default(), model }).collect();
    recognise(&sources, settings)
}

fn candidates(text: &str) -> Vec<Candidate> {
    let model = Model::open(text.as_bytes()).expect("a model");
    let source = Source { input: Input::default(), model: &model };
    let look = |candidate, _: &[_]| (candidate, Sort::NoShape);
    building(&[source], &RecogniseSettings::default(), look).0.candidates
}

#[test]
fn a_joist_says_its_class_type_material_storey_and_load() {
    let body = format!(
        "{}
        #30=IFCBEAM('j',$,'J1',$,'47x220',#7,#27,'t',.JOIST.);
        #31=IFCBUILDINGSTOREY('s',$,'Level 1',$,$,#7,$,$,.ELEMENT.,2600.);
        #32=IFCRELCONTAINEDINSPATIALSTRUCTURE('c',$,$,$,(#30),#31);
        #33=IFCMATERIAL('C24',$,'wood');
        #34=IFCRELASSOCIATESMATERIAL('m',$,$,$,(#30),#33);
        #35=IFCPROPERTYSINGLEVALUE('LoadBearing',$,IFCBOOLEAN(.T.),$);
        #36=IFCPROPERTYSET('ps',$,'Pset_BeamCommon',$,(#35));
        #37=IFCRELDEFINESBYPROPERTIES('rp',$,$,$,(#30),#36);",
        swept(20, &rectangle(220.0, 47.0), [0.0, 0.0, 2600.0], [0.0, 1.0, 0.0], 3800.0)
    );
    let all = candidates(&file("IFC4", &body));
    let joist = all.iter().find(|c| c.family == Family::Beam).expect("the joist");
    assert_eq!(
        (joist.element.class.as_str(), joist.of_type.predefined.as_str()),
        ("IfcBeam", "JOIST")
    );
    assert_eq!(&*joist.of_type.text, "47x220");
    assert_eq!(
        (joist.materials.entries[0].name.as_str(), joist.materials.entries[0].text.as_str()),
        ("C24", "wood")
    );
    assert_eq!(joist.load_bearing, Some(true));
    assert_eq!(joist.items.len(), 1);
    let scene = scene_of(&[file("IFC4", &body)]);
    let [member] = scene.members.as_slice() else { panic!("{:?}", scene.coverage) };
    assert_eq!(scene.storeys[member.storey.expect("a storey") as usize].name, "Level 1");
    assert!((member.length_mm - 3800.0).abs() < 1e-6);
    assert_eq!(scene.coverage.iter().map(|r| r.count).sum::<u32>(), 2);
}

#[test]
fn a_segment_of_ifc2x3_is_what_its_type_says() {
    let body = format!(
        "{}
        #30=IFCFLOWSEGMENT('f',$,'S1',$,$,#7,#27,$);
        #31=IFCDUCTSEGMENTTYPE('t',$,'Supply duct',$,$,$,$,$,$,.RIGIDSEGMENT.);
        #32=IFCRELDEFINESBYTYPE('r',$,$,$,(#30),#31);
        #33=IFCSYSTEM('y',$,'Zuluft',$,$);
        #34=IFCRELASSIGNSTOGROUP('g',$,$,$,(#30),$,#33);",
        swept(20, &circle(62.5), [0.0; 3], [1.0, 0.0, 0.0], 2000.0)
    );
    let scene = scene_of(&[file("IFC2X3", &body)]);
    let [duct] = scene.services.as_slice() else { panic!("{:?}", scene.coverage) };
    assert_eq!((duct.kind, duct.trade), (ServiceKind::Duct, Trade::Air));
    assert_eq!(duct.system.as_deref(), Some("Zuluft"));
    assert_eq!(duct.shape, ServiceShape::RoundMm(125.0));
}

#[test]
fn furniture_is_drawn_up_only_if_it_may_load_a_floor_or_the_user_says_what_elements_are() {
    let box_of = |at| swept(at, &rectangle(800.0, 1600.0), [0.0; 3], [0.0, 0.0, 1.0], 600.0);
    let body = format!(
        "{}{}
        #60=IFCFURNISHINGELEMENT('c',$,'Chair',$,$,#7,#27,$);
        #61=IFCFURNISHINGELEMENT('b',$,'Bath tub',$,$,#7,#47,$);",
        box_of(20),
        box_of(40)
    );
    let text = file("IFC4", &body);
    let solids = |settings: &RecogniseSettings| -> Vec<usize> {
        let model = Model::open(text.as_bytes()).expect("a model");
        let source = Source { input: Input::default(), model: &model };
        let look = |candidate, _: &[_]| (candidate, Sort::NoShape);
        let candidates = building(&[source], settings, look).0.candidates;
        candidates.iter().map(|c| c.solids().count()).collect()
    };
    assert_eq!(solids(&RecogniseSettings::default()), [0, 1]);
    let chairs = Selector { name: Some("Chair".into()), ..Selector::default() };
    let mapping = vec![Mapping { selector: chairs, take: Take::Support(true) }];
    let mapped = RecogniseSettings { mapping, ..RecogniseSettings::default() };
    assert_eq!(solids(&mapped), [1, 1]);
    // Drawn up or not, it is told in the coverage.
    assert_eq!(
        scene_of(std::slice::from_ref(&text)).coverage.iter().map(|row| row.count).sum::<u32>(),
        2
    );
}

#[test]
fn lagging_and_openings_come_from_relations() {
    let body = format!(
        "{}{}{}
        #60=IFCBEAM('b',$,'Joist',$,$,#7,#27,$,$);
        #61=IFCMATERIAL('softwood',$,$);
        #62=IFCRELASSOCIATESMATERIAL('m',$,$,$,(#60),#61);
        #63=IFCOPENINGELEMENT('o',$,'O1',$,$,#7,#37,$,.OPENING.);
        #64=IFCRELVOIDSELEMENT('v',$,$,$,#60,#63);
        #65=IFCPIPESEGMENT('q',$,'P1',$,$,#7,#47,$,$);
        #66=IFCCOVERING('k',$,'wrap',$,$,#7,$,$,.INSULATION.);
        #67=IFCRELCOVERSBLDGELEMENTS('rc',$,$,$,#65,(#66));
        #68=IFCMATERIAL('mineral wool',$,$);
        #69=IFCMATERIALLAYER(#68,13.,$,$,$,$,$);
        #70=IFCMATERIALLAYERSET((#69),$,$);
        #71=IFCRELASSOCIATESMATERIAL('m2',$,$,$,(#66),#70);",
        swept(20, &rectangle(220.0, 47.0), [0.0, 0.0, 110.0], [0.0, 1.0, 0.0], 3800.0),
        swept(30, &circle(20.0), [-100.0, 1000.0, 110.0], [1.0, 0.0, 0.0], 200.0),
        swept(40, &circle(11.0), [-100.0, 2000.0, 110.0], [1.0, 0.0, 0.0], 200.0),
    );
    let scene = scene_of(&[file("IFC4X3_ADD2", &body)]);
    let [opening] = scene.openings.as_slice() else { panic!("{:?}", scene.coverage) };
    assert_eq!((opening.source, opening.element.guid.as_str()), (OpeningSource::Element, "o"));
    let [pipe] = scene.services.as_slice() else { panic!("{:?}", scene.coverage) };
    assert!(
        matches!(pipe.lagging, Lagging::Covering { thickness_mm } if (thickness_mm - 13.0).abs() < 1e-9)
    );
    let statuses: Vec<_> = scene.coverage.iter().map(|r| r.status).collect();
    for status in [
        CoverageStatus::Member,
        CoverageStatus::Opening,
        CoverageStatus::Service,
        CoverageStatus::Covering,
    ] {
        assert!(statuses.contains(&status), "{statuses:?}");
    }
}

#[test]
fn ports_join_a_run() {
    let body = format!(
        "{}{}
        #60=IFCPIPESEGMENT('a',$,'P1',$,$,#7,#27,$,$);
        #61=IFCPIPESEGMENT('b',$,'P2',$,$,#7,#37,$,$);
        #62=IFCDISTRIBUTIONPORT('c',$,$,$,$,#7,$,$,$,$);
        #63=IFCDISTRIBUTIONPORT('d',$,$,$,$,#7,$,$,$,$);
        #64=IFCRELNESTS('e',$,$,$,#60,(#62));
        #65=IFCRELNESTS('f',$,$,$,#61,(#63));
        #66=IFCRELCONNECTSPORTS('g',$,$,$,#62,#63,$);",
        swept(20, &circle(11.0), [0.0; 3], [1.0, 0.0, 0.0], 500.0),
        swept(30, &circle(11.0), [900.0, 0.0, 0.0], [1.0, 0.0, 0.0], 500.0),
    );
    let scene = scene_of(&[file("IFC4", &body)]);
    let runs: Vec<u32> = scene.services.iter().map(|s| s.run).collect();
    assert_eq!(runs, [0, 0]);
}

#[test]
fn files_in_different_units_and_schemas_make_one_building() {
    let structure = format!(
        "{}
        #30=IFCBEAM('j',$,'Joist',$,$,#7,#27,$,.JOIST.);
        #33=IFCMATERIAL('C24',$,$);
        #34=IFCRELASSOCIATESMATERIAL('m',$,$,$,(#30),#33);
        #31=IFCBUILDINGSTOREY('s',$,'Level 1',$,$,#7,$,$,.ELEMENT.,0.);",
        swept(20, &rectangle(220.0, 47.0), [0.0, 0.0, 110.0], [0.0, 1.0, 0.0], 3800.0)
    );
    let services = format!(
        "{}
        #30=IFCFLOWSEGMENT('f',$,'P1',$,$,#7,#27,$);
        #31=IFCBUILDINGSTOREY('s2',$,'Ebene 1',$,$,#7,$,$,.ELEMENT.,0.);",
        swept(20, &circle(0.011), [-0.1, 1.0, 0.11], [1.0, 0.0, 0.0], 0.2)
    );
    let services = file("IFC2X3", &services).replace(".MILLI.", "$");
    let scene = scene_of(&[file("IFC4", &structure), services]);
    assert_eq!((scene.members.len(), scene.services.len()), (1, 1));
    assert_eq!(scene.storeys.len(), 1);
    assert_eq!(scene.services[0].element.input, 1);
    assert!(matches!(scene.services[0].shape, ServiceShape::RoundMm(d) if (d - 22.0).abs() < 1e-9));
    assert!(!scene.warnings.iter().any(|w| w.text.contains("origin")), "{:?}", scene.warnings);
}

#[test]
fn map_conversions_put_files_together_only_when_asked() {
    let conversion = |east: f64| {
        format!(
            "#90=IFCPROJECTEDCRS('EPSG:27700',$,$,$,$,$,$);
            #91=IFCMAPCONVERSION(#4,#90,{east:.1},0.,0.,$,$,$);"
        )
    };
    let joist = |east: f64| {
        let body = format!(
            "{}{}
            #30=IFCBEAM('j',$,'Joist',$,$,#7,#27,$,.JOIST.);
            #33=IFCMATERIAL('C24',$,$);
            #34=IFCRELASSOCIATESMATERIAL('m',$,$,$,(#30),#33);",
            conversion(east),
            swept(20, &rectangle(220.0, 47.0), [0.0, 0.0, 110.0], [0.0, 1.0, 0.0], 3800.0)
        );
        file("IFC4", &body)
    };
    let texts = [joist(0.0), joist(5000.0)];
    let placed = scene_of(&texts);
    assert_eq!(placed.members.len(), 1, "the same place: given twice");
    assert!(placed.warnings.iter().any(|w| w.text.contains("map conversion differs")));
    let settings = RecogniseSettings { align_map: true, ..RecogniseSettings::default() };
    let mapped = scene_with(&texts, &settings);
    let xs: Vec<f64> = mapped.members.iter().map(|m| m.frame.origin_m.x).collect();
    assert_eq!(xs.len(), 2);
    assert!(xs.iter().any(|x| (x - 5.0).abs() < 1e-6), "{xs:?}");
}

#[test]
fn what_cannot_be_read_is_told_with_its_reason() {
    let body = "#20=IFCSPHERE(#6,100.);
        #21=IFCNOSUCHSOLID(#6);
        #25=IFCSHAPEREPRESENTATION(#4,'Body','CSG',(#21));
        #27=IFCPRODUCTDEFINITIONSHAPE($,$,(#25));
        #30=IFCBEAM('j',$,'Joist',$,$,#7,#27,$,.JOIST.);
        #31=IFCBEAM('k',$,'Joist',$,$,#7,$,$,.JOIST.);";
    let scene = scene_of(&[file("IFC4", body)]);
    let row = |status| scene.coverage.iter().find(|r| r.status == status);
    assert!(
        row(CoverageStatus::Unreadable).is_some_and(|r| !r.reason.is_empty()),
        "{:?}",
        scene.coverage
    );
    assert!(row(CoverageStatus::NoShape).is_some());
}
