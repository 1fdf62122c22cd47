//! What recognition must hold, on plain values. Lengths of the helpers are millimetres.

mod elements;
mod frame;
mod kinds;
mod openings;
mod services;
mod speed;
mod supports;

use crate::candidate::{Candidate, Family, Item, Material, Materials};
use crate::core::{Building, look, scene};
use crate::scene::{Input, Scene};
use crate::settings::RecogniseSettings;
use glam::{DAffine3, DMat3, DVec2, DVec3};
use thin_vec::ThinVec;
use wimble_geom::{Mesh, Prism, Profile, Solid};
use wimble_model::{Element, Member};

/// A box from corner to corner, swept along an axis (0: x, 1: y, 2: z).
pub(super) fn block(min: [f64; 3], max: [f64; 3], along: usize) -> Solid {
    let (min, max) = (DVec3::from(min) / 1000.0, DVec3::from(max) / 1000.0);
    let size = max - min;
    let axes = [DVec3::X, DVec3::Y, DVec3::Z];
    let (u, v, w) = (axes[(along + 1) % 3], axes[(along + 2) % 3], axes[along]);
    let base = min + 0.5 * (size.dot(u) * u + size.dot(v) * v);
    Solid::Prism(Prism {
        frame: DAffine3 { matrix3: DMat3::from_cols(u, v, w), translation: base },
        profile: Profile::Rectangle { x: size.dot(u), y: size.dot(v) },
        sweep: size.dot(w) * w,
    })
}

/// Any plane outline (in x and z, mm) swept along y from one value to another.
pub(super) fn slab_of(outline: &[[f64; 2]], y: [f64; 2]) -> Solid {
    let outer: Vec<DVec2> = outline.iter().map(|p| DVec2::from(*p) / 1000.0).collect();
    // x × z points to −y: sweep backwards so that the frame is right-handed.
    let frame = DAffine3 {
        matrix3: DMat3::from_cols(DVec3::X, DVec3::Z, DVec3::NEG_Y),
        translation: DVec3::new(0.0, y[1] / 1000.0, 0.0),
    };
    Solid::Prism(Prism {
        frame,
        profile: Profile::from_rings(&outer, &[], 0.0).expect("an outline"),
        sweep: DVec3::new(0.0, (y[0] - y[1]) / 1000.0, 0.0),
    })
}

/// Any outline (in y and z, mm) swept along x.
pub(super) fn bar_of(outline: &[[f64; 2]], x: [f64; 2]) -> Solid {
    let outer: Vec<DVec2> = outline.iter().map(|p| DVec2::from(*p) / 1000.0).collect();
    let frame = DAffine3 {
        matrix3: DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X),
        translation: DVec3::new(x[0] / 1000.0, 0.0, 0.0),
    };
    Solid::Prism(Prism {
        frame,
        profile: Profile::from_rings(&outer, &[], 0.0).expect("an outline"),
        sweep: DVec3::new((x[1] - x[0]) / 1000.0, 0.0, 0.0),
    })
}

/// The same solid as triangles.
pub(super) fn mesh(solid: &Solid) -> Solid {
    Solid::Mesh(solid.to_mesh(wimble_geom::tolerance::CHORD))
}

/// The same solid as triangles with points of their own, rounded to a thousandth of a millimetre
/// as exporters write them.
pub(super) fn loose(solid: &Solid) -> Solid {
    let mesh = solid.to_mesh(wimble_geom::tolerance::CHORD);
    let points: Vec<DVec3> = mesh
        .triangles
        .iter()
        .flat_map(|t| mesh.corners(*t))
        .map(|p| (p * 1e6).round() / 1e6)
        .collect();
    let triangles = (0..mesh.triangles.len())
        .map(|i| [0, 1, 2].map(|k| u32::try_from(3 * i + k).expect("few")))
        .collect();
    Solid::Mesh(Mesh { points, triangles, closed: true, chord: mesh.chord })
}

/// Turned and moved.
pub(super) fn moved(solid: &Solid, map: &DAffine3) -> Solid {
    solid.transformed(map).expect("not flattened")
}

/// An element of a family with one material and solids.
pub(super) fn element(family: Family, name: &str, material: &str, solids: Vec<Solid>) -> Candidate {
    let class = match family {
        Family::Wall => "IfcWall",
        Family::Column => "IfcColumn",
        Family::Member => "IfcMember",
        Family::Slab => "IfcSlab",
        Family::FlowSegment => "IfcPipeSegment",
        Family::Opening => "IfcOpeningElement",
        Family::Fastener => "IfcDiscreteAccessory",
        _ => "IfcBeam",
    };
    let entries = match material {
        "" => Vec::new(),
        name => vec![Material { name: name.into(), ..Material::default() }],
    };
    Candidate {
        element: Element {
            guid: format!("guid-{name}").into(),
            name: Some(name.into()),
            class: class.into(),
            ..Element::default()
        },
        family,
        materials: Materials::new(false, entries).into(),
        items: solids
            .into_iter()
            .zip(0..)
            .map(|(solid, index)| Item { index, solid: Ok(solid), subtracted: ThinVec::new() })
            .collect(),
        ..Candidate::default()
    }
}

/// A timber beam.
pub(super) fn timber(name: &str, solid: Solid) -> Candidate {
    element(Family::Beam, name, "C24", vec![solid])
}

/// A joist of 47 × 220 along y, its top at z = 2620.
pub(super) fn joist(name: &str, x: f64, y: [f64; 2]) -> Candidate {
    timber(name, block([x - 23.5, y[0], 2400.0], [x + 23.5, y[1], 2620.0], 1))
}

/// A wall that carries.
pub(super) fn wall(name: &str, min: [f64; 3], max: [f64; 3]) -> Candidate {
    Candidate {
        load_bearing: Some(true),
        ..element(Family::Wall, name, "block", vec![block(min, max, 2)])
    }
}

/// The scene of candidates, all of one file.
pub(super) fn scene_of(candidates: Vec<Candidate>) -> Scene {
    scene_with(candidates, &RecogniseSettings::default())
}

/// The scene of candidates under settings.
pub(super) fn scene_with(mut candidates: Vec<Candidate>, settings: &RecogniseSettings) -> Scene {
    for (candidate, instance) in candidates.iter_mut().zip(1..) {
        candidate.element.instance = instance;
    }
    let files = candidates.iter().map(|c| c.element.input + 1).max().unwrap_or(1);
    let inputs = (0..files).map(|_| Input::default()).collect();
    let (candidates, sorts) =
        candidates.into_iter().map(|candidate| look(candidate, &[], settings)).unzip();
    scene(Building { inputs, candidates, ..Building::default() }, sorts, settings)
}

/// The only member.
pub(super) fn only(scene: &Scene) -> &Member {
    let [member] = scene.members.as_slice() else { panic!("{} members", scene.members.len()) };
    member
}

/// The member of this name.
pub(super) fn named<'a>(scene: &'a Scene, name: &str) -> &'a Member {
    scene
        .members
        .iter()
        .find(|m| m.element.name.as_deref() == Some(name))
        .unwrap_or_else(|| panic!("no member {name}: {:?}", scene.coverage))
}

pub(super) fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.1
}
