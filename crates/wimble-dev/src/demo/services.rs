//! The services file: every run as straight pieces with bends between, joined by ports.

use super::runs::{RUNS, Run, SYSTEMS, What};
use crate::ifc::{
    Container, Element, Id, Model, Path, Shape, Substance, SubstanceUse, TypeOf, frame_along,
};
use glam::{DAffine3, DMat3, DVec3, dvec3};
use std::collections::BTreeMap;

/// Radius of a bend's centre line.
const BEND: f64 = 40.0;
/// How much thicker a bend is than its tube.
const BEND_WALL: f64 = 6.0;

pub(super) fn write(model: &mut Model) {
    let ground = model.storey("Ground floor", 0.0);
    let first = model.storey("First floor", 2642.0);
    let systems: BTreeMap<&str, Id> =
        SYSTEMS.iter().map(|(name, kind)| (*name, model.system(name, kind))).collect();
    for run in RUNS {
        let porch = run.line.iter().all(|point| point[0] < 0.0);
        let system = systems.get(run.system).copied();
        write_run(model, run, if porch { ground } else { first }, system);
    }
    cylinder(model, first, systems.get("Hot and cold water").copied());
}

fn write_run(model: &mut Model, run: &Run, storey: Container, system: Option<Id>) {
    let line: Vec<DVec3> = run.line.iter().copied().map(DVec3::from_array).collect();
    let pieces = line.len() - 1;
    let mut last: Option<Id> = None;
    let mut join = |model: &mut Model, id: Id, name: &str| {
        if let Some(system) = system {
            model.join_system(system, id);
        }
        if let Some(last) = last.replace(id) {
            model.connect_ports(name, last, id);
        }
    };
    for (piece, ends) in line.windows(2).enumerate() {
        let (start, end) = (ends[0], ends[1]);
        let along = (end - start).normalize();
        let from = if piece == 0 { start } else { start + along * BEND };
        let to = if piece + 1 == pieces { end } else { end - along * BEND };
        let name =
            if pieces == 1 { run.name.to_owned() } else { format!("{} {}", run.name, piece + 1) };
        let body = [Shape::bar(from, to, run.outside)];
        let (of, substance) = stock(run.what);
        let element = Element {
            of: Some(of),
            substance: Some(SubstanceUse::Single(substance)),
            frame: frame_along(from, to),
            ..Element::new("IfcFlowSegment", &name, &body)
        };
        let placed = model.element(&element, storey);
        join(model, placed.id(), &name);
        if let Some(next) = line.get(piece + 2) {
            let name = format!("{} bend {}", run.name, piece + 1);
            let placed = bend(model, &name, [start, end, *next], run.outside, storey);
            join(model, placed.id(), &name);
        }
    }
}

/// A quarter bend at the middle of three corners.
fn bend(
    model: &mut Model,
    name: &str,
    [before, corner, after]: [DVec3; 3],
    outside: f64,
    storey: Container,
) -> Container {
    let (into, out) = ((corner - before).normalize(), (after - corner).normalize());
    // The arc starts at the x axis of its circle, heading along y.
    let (x, y) = (-out, into);
    let at = DAffine3::from_mat3_translation(
        DMat3::from_cols(x, y, x.cross(y)),
        corner - into * BEND + out * BEND,
    );
    let body = [Shape::Disk {
        path: Path::Arc { at, radius: BEND, degrees: 90.0 },
        radius: (outside + BEND_WALL) / 2.0,
    }];
    let element = Element {
        of: Some(TypeOf {
            class: "IfcPipeFittingType",
            name: "Bend",
            predefined: "BEND",
            element_type: None,
        }),
        frame: DAffine3::from_translation(corner),
        ..Element::new("IfcFlowFitting", name, &body)
    };
    model.element(&element, storey)
}

/// Stands on the deck over JB-09 and JC-1.
fn cylinder(model: &mut Model, storey: Container, system: Option<Id>) {
    let foot = dvec3(6600.0, 4800.0, 2642.0);
    let body = [Shape::bar(foot, foot + DVec3::Z * 1600.0, 600.0)];
    let element = Element {
        object_type: Some("Hot water cylinder"),
        of: Some(TypeOf {
            class: "IfcTankType",
            name: "Hot water cylinder 300 l",
            predefined: "PRESSUREVESSEL",
            element_type: None,
        }),
        frame: DAffine3::from_translation(foot),
        ..Element::new("IfcFlowStorageDevice", "hot water cylinder", &body)
    };
    let placed = model.element(&element, storey);
    if let Some(system) = system {
        model.join_system(system, placed.id());
    }
}

const fn plain(name: &'static str) -> Substance {
    Substance { name, category: None, wood: None }
}

fn stock(what: What) -> (TypeOf, Substance) {
    let of = |class, name, predefined| TypeOf { class, name, predefined, element_type: None };
    match what {
        What::Copper => (of("IfcPipeSegmentType", "Copper tube", "RIGIDSEGMENT"), plain("Copper")),
        What::Steel => (of("IfcPipeSegmentType", "Steel tube", "RIGIDSEGMENT"), plain("Steel")),
        What::Waste => {
            (of("IfcPipeSegmentType", "Waste pipe, solvent weld", "RIGIDSEGMENT"), plain("ABS"))
        }
        What::Soil => (of("IfcPipeSegmentType", "Soil pipe 110", "RIGIDSEGMENT"), plain("PVC-U")),
        What::Duct => {
            (of("IfcDuctSegmentType", "Round duct", "RIGIDSEGMENT"), plain("Sheet steel"))
        }
        What::Cable => {
            (of("IfcCableSegmentType", "Twin and earth cable", "CABLESEGMENT"), plain("PVC"))
        }
        What::Conduit => {
            (of("IfcCableCarrierSegmentType", "Conduit 25", "CONDUITSEGMENT"), plain("PVC conduit"))
        }
    }
}
