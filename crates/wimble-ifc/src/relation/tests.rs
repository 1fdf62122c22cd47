use super::{
    AGGREGATES, CLASSIFICATIONS, CONNECTS, CONTAINED, COVERS, FILLS, GROUPS, MATERIALS, NESTS,
    PORT_TO_ELEMENT, PORTS, PROPERTIES, Pairs, REALIZING, REFERENCED, TYPES, VOIDS,
};
use crate::testing::{file, open, row, told};
use crate::{Schema, class};
use proptest::prelude::*;
use std::collections::BTreeMap;
use wimble_step::Row;

#[test]
fn the_positions_are_those_of_all_schemas() {
    for ends in [
        AGGREGATES,
        CLASSIFICATIONS,
        CONNECTS,
        CONTAINED,
        COVERS,
        FILLS,
        GROUPS,
        MATERIALS,
        NESTS,
        PORT_TO_ELEMENT,
        PORTS,
        PROPERTIES,
        REFERENCED,
        TYPES,
        VOIDS,
    ] {
        for schema in Schema::ALL {
            for (position, name) in [ends.one, ends.many] {
                let class = ends.class;
                assert_eq!(class.position(schema, name), Some(position), "{class} {schema}");
            }
        }
    }
    for schema in Schema::ALL {
        let class = class!("IfcRelConnectsWithRealizingElements");
        assert_eq!(class.position(schema, "RealizingElements"), Some(REALIZING));
    }
}

const HOUSE: &str = "#1=IFCBUILDINGSTOREY('s',$,'Upper floor',$,$,$,$,$,$,2.7);
    #2=IFCSPACE('r',$,$,$,$,$,$,$,$,$,$);
    #3=IFCRELAGGREGATES('x',$,$,$,#1,(#2));
    #10=IFCELEMENTASSEMBLY('a',$,$,$,$,$,$,$,$,$);
    #11=IFCMEMBER('m',$,$,$,$,$,$,$,$);
    #12=IFCRELAGGREGATES('x',$,$,$,#10,(#11));
    #13=IFCRELCONTAINEDINSPATIALSTRUCTURE('x',$,$,$,(#10),#2);
    #14=IFCOPENINGELEMENT('o',$,$,$,$,$,$,$,$);
    #15=IFCRELVOIDSELEMENT('x',$,$,$,#11,#14);
    #16=IFCWINDOW('w',$,$,$,$,$,$,$,$,$,$,$,$);
    #17=IFCRELFILLSELEMENT('x',$,$,$,#14,#16);";

#[test]
fn a_storey_is_found_through_assemblies_spaces_hosts_and_openings() {
    let bytes = file("IFC4", HOUSE);
    let model = open(&bytes);
    for element in [2, 10, 11, 14, 16] {
        assert_eq!(model.storey(row(&model, element)), Some(row(&model, 1)), "#{element}");
    }
    assert_eq!(model.container(row(&model, 16)), Some(row(&model, 2)));
    assert_eq!(model.parts(row(&model, 10)), [row(&model, 11)]);
    assert_eq!(model.whole(row(&model, 11)), Some(row(&model, 10)));
    assert_eq!(model.voids(row(&model, 11)), [row(&model, 14)]);
    assert_eq!(model.host(row(&model, 14)), Some(row(&model, 11)));
    assert_eq!(model.fillings(row(&model, 14)), [row(&model, 16)]);
}

#[test]
fn wholes_that_go_round_in_a_circle_end() {
    let bytes = file(
        "IFC4",
        "#1=IFCBEAM('a',$,$,$,$,$,$,$,$);#2=IFCBEAM('b',$,$,$,$,$,$,$,$);
        #3=IFCRELAGGREGATES('x',$,$,$,#1,(#2));#4=IFCRELAGGREGATES('x',$,$,$,#2,(#1));",
    );
    let model = open(&bytes);
    assert_eq!(model.storey(row(&model, 1)), None);
}

#[test]
fn a_missing_end_of_a_relation_is_told_and_the_rest_is_read() {
    let bytes = file(
        "IFC4",
        "#1=IFCBEAM('a',$,$,$,$,$,$,$,$);#2=IFCBUILDINGSTOREY('s',$,$,$,$,$,$,$,$,$);
        #3=IFCRELCONTAINEDINSPATIALSTRUCTURE('x',$,$,$,(#99,#1),#2);
        #4=IFCRELVOIDSELEMENT('x',$,$,$,#1,$);",
    );
    let model = open(&bytes);
    model.read_ahead();
    assert_eq!(model.contents(row(&model, 2)), [row(&model, 1)]);
    let told = told(&model);
    assert!(told.contains("refers to #99, which the file does not have"), "{told}");
    assert!(told.contains("relates nothing: its RelatedOpeningElement is empty"), "{told}");
}

#[test]
fn ports_join_elements_by_nesting_and_by_the_older_relation() {
    let bytes = file(
        "IFC4",
        "#1=IFCPIPESEGMENT('a',$,$,$,$,$,$,$,$);#2=IFCPIPEFITTING('b',$,$,$,$,$,$,$,$);
        #3=IFCDISTRIBUTIONPORT('p',$,$,$,$,$,$,$,$,$);#4=IFCDISTRIBUTIONPORT('q',$,$,$,$,$,$,$,$,$);
        #5=IFCRELNESTS('x',$,$,$,#1,(#3));#6=IFCRELCONNECTSPORTTOELEMENT('x',$,$,$,#4,#2);
        #7=IFCRELCONNECTSPORTS('x',$,$,$,#3,#4,$);
        #8=IFCDISTRIBUTIONSYSTEM('s',$,'Cold water',$,$,$,.DOMESTICCOLDWATER.);
        #9=IFCRELASSIGNSTOGROUP('x',$,$,$,(#4),$,#8);
        #10=IFCZONE('z',$,$,$,$,$);#11=IFCRELASSIGNSTOGROUP('x',$,$,$,(#2),$,#10);",
    );
    let model = open(&bytes);
    let [pipe, bend] = [row(&model, 1), row(&model, 2)];
    assert_eq!(model.connected(pipe), [bend]);
    assert_eq!(model.connected(bend), [pipe]);
    assert!(model.parts(pipe).is_empty());
    assert_eq!(model.systems(bend), [row(&model, 8)]);
    assert_eq!(model.system_name(row(&model, 8)).as_deref(), Some("Cold water"));
    assert!(model.systems(pipe).is_empty());
}

#[test]
fn joints_are_found_from_either_side_with_what_realises_them() {
    let bytes = file(
        "IFC4",
        "#1=IFCBEAM('a',$,$,$,$,$,$,$,$);#2=IFCBEAM('b',$,$,$,$,$,$,$,$);
        #3=IFCMECHANICALFASTENER('h',$,$,$,$,$,$,$,$,$,$);
        #4=IFCRELCONNECTSWITHREALIZINGELEMENTS('x',$,$,$,$,#1,#2,(#3),'hanger');",
    );
    let model = open(&bytes);
    assert_eq!(model.connections(row(&model, 2)), [row(&model, 1), row(&model, 3)]);
    assert_eq!(model.connections(row(&model, 3)), [row(&model, 1), row(&model, 2)]);
}

#[test]
fn insulation_is_a_covering_by_relation_or_as_a_part() {
    let bytes = file(
        "IFC4",
        "#1=IFCPIPESEGMENT('a',$,$,$,$,$,$,$,$);#2=IFCCOVERING('c',$,$,$,$,$,$,$,.INSULATION.);
        #3=IFCCOVERING('d',$,$,$,$,$,$,$,.INSULATION.);
        #4=IFCRELCOVERSBLDGELEMENTS('x',$,$,$,#1,(#2));#5=IFCRELAGGREGATES('x',$,$,$,#1,(#3));",
    );
    let model = open(&bytes);
    assert_eq!(model.coverings(row(&model, 1)), [row(&model, 2), row(&model, 3)]);
    assert_eq!(model.covered_element(row(&model, 3)), Some(row(&model, 1)));
}

#[test]
fn elements_types_and_materials_are_classified() {
    let bytes = file(
        "IFC4",
        "#1=IFCBEAM('b',$,$,$,$,$,$,$,$);#2=IFCBEAMTYPE('t',$,$,$,$,$,$,$,$,.JOIST.);
        #3=IFCRELDEFINESBYTYPE('x',$,$,$,(#1),#2);#4=IFCMATERIAL('Spruce',$,$);
        #5=IFCCLASSIFICATION($,$,$,'Uniclass 2015',$,$,$);
        #6=IFCCLASSIFICATIONREFERENCE($,'Ss_20_20','Beam systems',#5,$,$);
        #7=IFCRELASSOCIATESCLASSIFICATION('x',$,$,$,(#2),#6);
        #8=IFCCLASSIFICATIONREFERENCE($,'Pr_20','Timber',#6,$,$);
        #9=IFCEXTERNALREFERENCERELATIONSHIP($,$,#8,(#4));",
    );
    let model = open(&bytes);
    let [beam] = &model.classifications(row(&model, 1))[..] else { panic!("one") };
    assert_eq!(beam.system.as_deref(), Some("Uniclass 2015"));
    assert_eq!(
        (beam.code.as_deref(), beam.name.as_deref()),
        (Some("Ss_20_20"), Some("Beam systems"))
    );
    let [material] = &model.classifications(row(&model, 4))[..] else { panic!("one") };
    assert_eq!(material.system.as_deref(), Some("Uniclass 2015"));
    assert_eq!(material.code.as_deref(), Some("Pr_20"));
}

proptest! {
    #[test]
    fn sorted_arrays_answer_as_a_map_of_lists_does(
        pairs in prop::collection::vec((0usize..12, 0usize..12), 0..80),
    ) {
        let data: String = (1..=12).map(|name| format!("#{name}=IFCZONE('',$,$,$,$,$);")).collect();
        let bytes = file("IFC4", &data);
        let model = open(&bytes);
        let rows: Vec<Row> = model.step().rows().collect();
        let pairs: Vec<(Row, Row)> =
            pairs.iter().map(|(one, other)| (rows[*one], rows[*other])).collect();
        let mut slow: BTreeMap<Row, Vec<Row>> = BTreeMap::new();
        for (one, other) in &pairs {
            let values = slow.entry(*one).or_default();
            if !values.contains(other) {
                values.push(*other);
            }
        }
        let fast = Pairs::new(&pairs);
        for row in rows {
            prop_assert_eq!(fast.of(row), slow.get(&row).map_or(&[][..], |values| &values[..]));
        }
    }
}

/// More than a thread reads in one piece, some of them of one element, some of one set.
#[test]
fn what_is_read_ahead_is_what_is_read_when_it_is_asked_for() {
    let relation = |n: usize| {
        let (element, set) = (n % 5000 + 1, 5001 + n / 3 % 5000);
        format!("#{}=IFCRELDEFINESBYPROPERTIES('x',$,$,$,(#{element}),#{set});", 10_001 + n)
    };
    let elements = (1..=5000).map(|n| format!("#{n}=IFCBEAM('b',$,$,$,$,$,$,$,$);"));
    let sets = (5001..=10_000).map(|n| format!("#{n}=IFCPROPERTYSET('s',$,$,$,());"));
    let text: String = elements.chain(sets).chain((0..12_000).map(relation)).collect();
    let text = file("IFC4", &text);
    let (ahead, asked) = (open(&text), open(&text));
    ahead.read_ahead();
    for name in 1..=10_000 {
        let (of, at) = (row(&ahead, name), row(&asked, name));
        let (ahead, asked) = (ahead.property_definitions(), asked.property_definitions());
        assert_eq!(ahead.up.of(of), asked.up.of(at), "#{name}");
        assert_eq!(ahead.down.of(of), asked.down.of(at), "#{name}");
        assert!(!ahead.up.of(of).is_empty() || !ahead.down.of(of).is_empty() || name > 9000);
    }
}
