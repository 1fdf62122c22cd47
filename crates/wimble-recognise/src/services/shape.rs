//! The bare shape of a service, exact where its solid is.

use crate::candidate::StatedSize;
use crate::scene::ServiceBody;
use crate::stick::{Figure, Stick, stick};
use glam::{DAffine3, DMat3, DVec3};
use wimble_geom::{Cylinder, Mesh, Prism, Profile, Solid, fit_cylinder, tolerance};
use wimble_model::{Section, ServiceShape};

/// Sine under which a sweep is square to its profile.
const SQUARE: f64 = 1e-6;

/// A rectangular body fills its box to this share.
const FULL: f64 = 0.005;

/// Shape and body of one service.
#[derive(Debug, Clone)]
pub(crate) struct Bare {
    /// Shape, for the report.
    pub(crate) shape: ServiceShape,
    /// Body.
    pub(crate) body: ServiceBody,
    /// What should be said of it.
    pub(crate) note: Option<String>,
}

/// The bare shape of one solid.
pub(crate) fn bare(solid: &Solid) -> Bare {
    if let Some(cylinder) = cylinder(solid) {
        return round(cylinder);
    }
    rectangular(Figure::of(solid)).unwrap_or_else(|| mesh(solid))
}

/// A straight round body with square ends, given as such or faceted.
fn cylinder(solid: &Solid) -> Option<Cylinder> {
    match solid {
        Solid::Cylinder(cylinder) => Some(*cylinder),
        Solid::Prism(Prism { frame, profile: Profile::Circle { radius, inner }, sweep }) => {
            let skew = sweep.normalize_or_zero().cross(frame.matrix3.z_axis.normalize_or_zero());
            (skew.length() < SQUARE).then_some(Cylinder {
                from: frame.translation,
                to: frame.translation + *sweep,
                radius: *radius,
                inner: *inner,
            })
        }
        Solid::Prism(Prism { profile: Profile::Rectangle { .. }, .. }) => None,
        Solid::Prism(_) | Solid::Mesh(_) => {
            fit_cylinder(&Figure::of(solid).world_points(), tolerance::ROUND_FIT)
        }
    }
}

fn round(Cylinder { from, to, radius, .. }: Cylinder) -> Bare {
    Bare {
        shape: ServiceShape::RoundMm(2000.0 * radius),
        body: ServiceBody::Round { from, to, radius },
        note: None,
    }
}

/// A straight rectangular body with square ends, hollow or not: its outside.
fn rectangular(figure: Figure) -> Option<Bare> {
    let stick = stick(figure, None)?;
    let Stick { frame, section, length_mm, figure, .. } = &stick;
    // A hollow duct's section is a ring: what counts is that its corners are those of a box.
    let box_mm = stick.local_box();
    let hollow = matches!(section, Section::Other { .. }) && is_hollow_box(&stick);
    let square_ends = stick.body.parts.iter().all(|part| match &part.shape {
        crate::scene::PartShape::Box { ends, .. } => ends.is_empty(),
        crate::scene::PartShape::Mesh(_) => hollow,
    });
    // Without notches or bends: it fills its box.
    let volume = box_mm.size().element_product() * 1e-9;
    let full = !figure.is_closed() || (figure.volume() - volume).abs() < FULL * volume;
    let solid = matches!(section, Section::Rectangle { .. }) && full;
    if stick.varies || !square_ends || !(solid || hollow) {
        return None;
    }
    let size = box_mm.size();
    let matrix = DMat3::from_cols(frame.y(), frame.z, frame.x);
    let middle = frame.world_m(box_mm.centre());
    let sides = [size.y.max(size.z), size.y.min(size.z)];
    Some(Bare {
        shape: ServiceShape::RectangleMm(sides),
        body: ServiceBody::Rectangular {
            frame: Box::new(DAffine3 { matrix3: matrix, translation: middle }),
            half: DVec3::new(size.y, size.z, *length_mm) / 2000.0,
        },
        note: None,
    })
}

/// Whether the outermost points of a body are the corners of its box and every other point lies
/// in the planes of its two ends.
fn is_hollow_box(stick: &Stick) -> bool {
    let bounds = stick.local_box();
    let mut corners = [false; 8];
    for p in stick.figure.points().iter() {
        let p = stick.frame.local_mm(*p + stick.figure.base);
        let at_end = p.x.min(bounds.max.x - p.x).abs() < 0.2;
        if !at_end {
            return false;
        }
        for (seen, corner) in corners.iter_mut().zip(bounds.corners()) {
            *seen |= p.distance(corner) < 0.2;
        }
    }
    corners.into_iter().all(|seen| seen)
}

fn mesh(solid: &Solid) -> Bare {
    let mesh: Mesh = solid.to_mesh(tolerance::CHORD);
    Bare { shape: ServiceShape::Mesh, body: ServiceBody::Mesh(mesh), note: None }
}

/// Straight pieces that a line of stated size is split into at most; finer ones are an arc.
const PIECES: usize = 16;
/// Sine of the slope up to which a line lies level.
const LEVEL: f64 = 0.05;

/// A service that is only a line: its straight pieces in the size that properties state, else the
/// line itself, whose size is not known.
pub(crate) fn line(points: &[DVec3], stated: Option<StatedSize>) -> Vec<Bare> {
    let sized = |stated: StatedSize| {
        let pieces = points.windows(2).filter(|p| p[0].distance(p[1]) > tolerance::CROSSING);
        let pieces: Vec<Bare> =
            pieces.take(PIECES + 1).map(|p| piece(p[0], p[1], stated)).collect::<Option<_>>()?;
        (1..=PIECES).contains(&pieces.len()).then_some(pieces)
    };
    stated.and_then(sized).unwrap_or_else(|| {
        vec![Bare {
            shape: ServiceShape::Unknown,
            body: ServiceBody::Line { points: points.to_vec() },
            note: Some("no body is modelled: what it would cut is not known".to_owned()),
        }]
    })
}

/// One straight piece of a line in its stated size; a rectangle stands upright on a level line.
fn piece(from: DVec3, to: DVec3, stated: StatedSize) -> Option<Bare> {
    let note = "only a line is modelled: its size is the outside that a property states";
    let bare = match stated {
        StatedSize::Round(diameter) => {
            round(Cylinder { from, to, radius: 0.5 * diameter, inner: None })
        }
        StatedSize::Rectangle(width, height) => {
            let along = (to - from).normalize_or_zero();
            if along.z.abs() > LEVEL {
                return None;
            }
            let across = DVec3::Z.cross(along).normalize_or_zero();
            let matrix3 = DMat3::from_cols(across, along.cross(across), along);
            let sides = [width, height].map(|side| 1000.0 * side);
            Bare {
                shape: ServiceShape::RectangleMm([sides[0].max(sides[1]), sides[0].min(sides[1])]),
                body: ServiceBody::Rectangular {
                    frame: Box::new(DAffine3 { matrix3, translation: 0.5 * (from + to) }),
                    half: DVec3::new(width, height, from.distance(to)) / 2.0,
                },
                note: None,
            }
        }
    };
    Some(Bare { note: Some(note.to_owned()), ..bare })
}
