use super::Lately;
use crate::testing::{file, open, row, told};
use glam::{DMat3, DVec3};

const MILLI: &str = "#1=IFCPROJECT('p',$,$,$,$,$,$,(#4),#2);#2=IFCUNITASSIGNMENT((#3));
#3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
#4=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-5,#5,$);#5=IFCAXIS2PLACEMENT3D(#6,$,$);
#6=IFCCARTESIANPOINT((0.,0.,1000.));";

fn placed(data: &str) -> (Result<DVec3, String>, DMat3, String) {
    let bytes = file("IFC4", &format!("{MILLI}{data}"));
    let model = open(&bytes);
    let frame = model.placement(row(&model, 10)).map_err(|trouble| trouble.reason);
    let turn = frame.as_ref().map_or(DMat3::NAN, |frame| frame.matrix3);
    (frame.map(|frame| frame.translation), turn, told(&model))
}

#[test]
fn nested_placements_and_the_world_coordinate_system_add_up_in_metres() {
    let (at, turn, told) = placed(
        "#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);
        #11=IFCLOCALPLACEMENT(#12,#13);#13=IFCAXIS2PLACEMENT3D(#14,$,$);
        #14=IFCCARTESIANPOINT((100.,0.,0.));
        #12=IFCLOCALPLACEMENT($,#15);#15=IFCAXIS2PLACEMENT3D(#16,#18,#17);
        #16=IFCCARTESIANPOINT((0.,5000.,0.));#17=IFCDIRECTION((0.,7.,0.));#18=IFCDIRECTION((0.,0.,2.));",
    );
    assert!(at.expect("a place").abs_diff_eq(DVec3::new(0.0, 5.1, 1.0), 1e-12));
    assert!(turn.abs_diff_eq(DMat3::from_cols(DVec3::Y, -DVec3::X, DVec3::Z), 1e-12));
    assert_eq!(told, "");
}

#[test]
fn a_placement_that_rests_on_itself_is_refused() {
    let (at, ..) = placed(
        "#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);#13=IFCAXIS2PLACEMENT3D(#6,$,$);
        #11=IFCLOCALPLACEMENT(#12,#13);#12=IFCLOCALPLACEMENT(#11,#13);",
    );
    assert_eq!(at, Err("IfcLocalPlacement #11 rests on itself".to_owned()));
    let (other_way_in, ..) = placed(
        "#10=IFCBEAM('b',$,$,$,$,#12,$,$,$);#13=IFCAXIS2PLACEMENT3D(#6,$,$);
        #11=IFCLOCALPLACEMENT(#12,#13);#12=IFCLOCALPLACEMENT(#11,#13);",
    );
    assert_eq!(at, other_way_in);
}

#[test]
fn a_missing_placement_is_a_reason_and_an_unset_one_is_the_worlds_origin() {
    let (at, ..) = placed("#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);");
    assert_eq!(at, Err("its placement #11 is not in the file".to_owned()));
    let (at, ..) = placed("#10=IFCBEAM('b',$,$,$,$,$,$,$,$);");
    assert_eq!(at, Ok(DVec3::Z));
    let (at, ..) = placed("#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);#11=IFCLOCALPLACEMENT(#12,#5);");
    assert_eq!(
        at,
        Err("IfcLocalPlacement #11 rests on #12, which the file does not have".to_owned())
    );
}

#[test]
fn directions_along_each_other_fall_back_with_a_remark() {
    let (at, turn, told) = placed(
        "#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);#11=IFCLOCALPLACEMENT($,#12);
        #12=IFCAXIS2PLACEMENT3D(#6,#13,#13);#13=IFCDIRECTION((0.,0.,1.));",
    );
    assert_eq!(at, Ok(DVec3::new(0.0, 0.0, 2.0)));
    assert!(turn.abs_diff_eq(DMat3::IDENTITY, 1e-12));
    assert!(told.contains("RefDirection along its Axis"), "{told}");
}

#[test]
fn a_linear_placement_falls_back_on_its_cartesian_position() {
    let linear = "#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);#12=IFCAXIS2PLACEMENTLINEAR($,$,$);
        #13=IFCAXIS2PLACEMENT3D(#14,$,$);#14=IFCCARTESIANPOINT((500.,0.,0.));";
    let (at, ..) = placed(&format!("{linear}#11=IFCLINEARPLACEMENT($,#12,#13);"));
    assert_eq!(at, Ok(DVec3::new(0.5, 0.0, 1.0)));
    let (at, ..) = placed(&format!("{linear}#11=IFCLINEARPLACEMENT($,#12,$);"));
    let reason = at.expect_err("no place");
    assert!(reason.contains("gives no CartesianPosition"), "{reason}");
}

/// Two axes of a grid that stands at (1, 2, 3) m; U runs along X at y = 4 m, V along Y at x = 6 m.
const GRID: &str = "#20=IFCGRID('g',$,$,$,$,#21,$,(#30),(#40),$);
    #21=IFCLOCALPLACEMENT($,#22);#22=IFCAXIS2PLACEMENT3D(#23,$,$);
    #23=IFCCARTESIANPOINT((1000.,2000.,2000.));
    #30=IFCGRIDAXIS('A',#31,.T.);#31=IFCPOLYLINE((#32,#33));
    #32=IFCCARTESIANPOINT((0.,4000.));#33=IFCCARTESIANPOINT((9000.,4000.));
    #40=IFCGRIDAXIS('1',#41,.F.);#41=IFCPOLYLINE((#42,#43));
    #42=IFCCARTESIANPOINT((6000.,9000.));#43=IFCCARTESIANPOINT((6000.,0.));
    #50=IFCVIRTUALGRIDINTERSECTION((#30,#40),(0.,0.));
    #51=IFCVIRTUALGRIDINTERSECTION((#40,#30),(100.,200.,300.));
    #52=IFCVIRTUALGRIDINTERSECTION((#30,#30),(0.,0.));";

#[test]
fn grid_placements_stand_on_the_crossing_with_its_offsets() {
    let beam = "#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);";
    let (at, turn, _) = placed(&format!("{GRID}{beam}#11=IFCGRIDPLACEMENT(#50,$);"));
    assert!(at.expect("a place").abs_diff_eq(DVec3::new(7.0, 6.0, 3.0), 1e-12));
    assert!(turn.abs_diff_eq(DMat3::IDENTITY, 1e-12));
    // The first axis runs along +Y (its curve against it): left of it is −X, left of A is +Y.
    let (at, turn, _) = placed(&format!("{GRID}{beam}#11=IFCGRIDPLACEMENT(#51,$);"));
    assert!(at.expect("a place").abs_diff_eq(DVec3::new(6.9, 6.2, 3.3), 1e-12));
    assert!(turn.abs_diff_eq(DMat3::from_cols(DVec3::Y, -DVec3::X, DVec3::Z), 1e-12));
    let (at, ..) = placed(&format!("{GRID}{beam}#11=IFCGRIDPLACEMENT(#52,$);"));
    assert!(at.expect_err("no place").contains("run side by side"));
}

#[test]
fn a_grid_that_is_placed_on_itself_is_refused() {
    let (at, ..) = placed(
        "#20=IFCGRID('g',$,$,$,$,#11,$,(#30),(#40),$);#11=IFCGRIDPLACEMENT(#50,$);
        #30=IFCGRIDAXIS('A',#31,.T.);#31=IFCPOLYLINE((#32,#33));
        #32=IFCCARTESIANPOINT((0.,0.));#33=IFCCARTESIANPOINT((1.,0.));
        #40=IFCGRIDAXIS('1',#41,.T.);#41=IFCPOLYLINE((#32,#43));#43=IFCCARTESIANPOINT((0.,1.));
        #50=IFCVIRTUALGRIDINTERSECTION((#30,#40),(0.,0.));#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);",
    );
    assert_eq!(at, Err("IfcGrid #20 is itself placed on a grid, which is not followed".to_owned()));
}

#[test]
fn ifc4x3_puts_a_grid_placements_location_second() {
    let data = format!(
        "{MILLI}{GRID}#10=IFCBEAM('b',$,$,$,$,#11,$,$,$);#11=IFCGRIDPLACEMENT(#21,#50,#60);
        #60=IFCDIRECTION((0.,1.,0.));"
    );
    let bytes = file("IFC4X3_ADD2", &data);
    let model = open(&bytes);
    let frame = model.placement(row(&model, 10)).expect("a place");
    assert!(frame.translation.abs_diff_eq(DVec3::new(7.0, 6.0, 3.0), 1e-12));
    assert!(frame.matrix3.x_axis.abs_diff_eq(DVec3::Y, 1e-12));
}

/// More directions and bases than are kept, and products that share them.
#[test]
fn with_what_was_read_lately_products_stand_where_they_stand_by_themselves() {
    let mut data = String::new();
    for n in 0..40 {
        let [point, direction, axes, base] = [100, 200, 300, 400].map(|from| from + n);
        data += &format!(
            "#{point}=IFCCARTESIANPOINT(({n}.,0.,0.));#{direction}=IFCDIRECTION(({n}.,1.,0.));
            #{axes}=IFCAXIS2PLACEMENT3D(#{point},$,#{direction});
            #{base}=IFCLOCALPLACEMENT($,#{axes});"
        );
    }
    for n in 0..200 {
        let [product, own] = [1000, 2000].map(|from| from + n);
        let (base, axes) = (400 + n * 7 % 40, 300 + n * 11 % 40);
        data += &format!(
            "#{product}=IFCBEAM('b',$,$,$,$,#{own},$,$,$);#{own}=IFCLOCALPLACEMENT(#{base},#{axes});"
        );
    }
    let bytes = file("IFC4", &format!("{MILLI}{data}"));
    let (model, alone) = (open(&bytes), open(&bytes));
    let lately = Lately::default();
    for _ in 0..2 {
        for product in 1000..1200 {
            let record = model.step().record(row(&model, product));
            let frame = model.placement_of(&record, &lately);
            assert_eq!(frame, alone.placement(row(&alone, product)), "#{product}");
        }
    }
}
