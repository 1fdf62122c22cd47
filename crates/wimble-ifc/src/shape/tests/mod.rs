//! Shapes from small files. Expected figures are closed forms worked out here.

mod booleans;
mod boundaries;
mod curves;
mod maps;
mod profiles;
mod sweeps;

use crate::shape::{Body, Item};
use crate::testing::{file, open, row};
use std::f64::consts::PI;
use wimble_geom::{Aabb, Solid};

/// Points, directions and placements that most tests need. Lengths are metres, angles degrees.
const COMMON: &str = "
#1=IFCPROJECT('p',$,$,$,$,$,$,$,#2);
#2=IFCUNITASSIGNMENT((#3,#4));
#3=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);
#4=IFCCONVERSIONBASEDUNIT(#5,.PLANEANGLEUNIT.,'DEGREE',#6);
#5=IFCDIMENSIONALEXPONENTS(0,0,0,0,0,0,0);
#6=IFCMEASUREWITHUNIT(IFCPLANEANGLEMEASURE(0.0174532925199433),#7);
#7=IFCSIUNIT(*,.PLANEANGLEUNIT.,$,.RADIAN.);
#10=IFCCARTESIANPOINT((0.,0.,0.));
#11=IFCDIRECTION((0.,0.,1.));
#12=IFCDIRECTION((1.,0.,0.));
#13=IFCDIRECTION((0.,1.,0.));
#14=IFCAXIS2PLACEMENT3D(#10,#11,#12);
#15=IFCCARTESIANPOINT((0.,0.));
#16=IFCAXIS2PLACEMENT2D(#15,$);
";

/// The body of item #100 of a file with these instances.
fn body(schema: &str, data: &str) -> Body {
    let bytes = file(schema, &format!("{COMMON}{data}"));
    let model = open(&bytes);
    model.shape_of(row(&model, 100))
}

fn items(data: &str) -> Vec<Item> {
    body("IFC4", data).items
}

/// The one solid that item #100 is.
fn solid(data: &str) -> Solid {
    solid_in("IFC4", data)
}

fn solid_in(schema: &str, data: &str) -> Solid {
    let mut body = body(schema, data);
    assert_eq!(body.items.len(), 1);
    let item = body.items.remove(0);
    match item.solid {
        Ok(solid) => solid,
        Err(trouble) => panic!("{trouble}"),
    }
}

/// Why item #100 cannot be read.
fn trouble(data: &str) -> String {
    let mut items = items(data);
    assert_eq!(items.len(), 1);
    items.remove(0).solid.map(|solid| format!("{solid:?}")).expect_err("unreadable").reason
}

/// A profile with this text as #101, extruded by 1 m.
fn extruded(profile: &str) -> Solid {
    extruded_in("IFC4", profile)
}

fn extruded_in(schema: &str, profile: &str) -> Solid {
    solid_in(schema, &format!("#100=IFCEXTRUDEDAREASOLID(#101,$,#11,1.);\n#101={profile}"))
}

#[track_caller]
fn near(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 + 1e-9 * b.abs(), "{a} is not {b}");
}

/// Within a share: for what is only a mesh.
#[track_caller]
fn about(a: f64, b: f64, share: f64) {
    assert!((a - b).abs() <= share * b.abs(), "{a} is not about {b}");
}

#[track_caller]
fn spans(bounds: Aabb, min: [f64; 3], max: [f64; 3]) {
    let off = bounds.min.distance(min.into()).max(bounds.max.distance(max.into()));
    assert!(off < 2e-4, "{bounds:?} is not {min:?} to {max:?}");
}

const QUARTER: f64 = PI / 4.0;
