//! Members among their neighbours: what may carry them, who lies beside, which wall they stand in.

use crate::candidate::{Candidate, Family};
use crate::kinds::First;
use crate::neighbours::Neighbours;
use crate::pieces::Piece;
use crate::sorting::{Sort, names};
use crate::stick::{Figure, sides_of_plan};
use crate::supports::{Carrier, CarrierSort, Who};
use crate::words::{Topic, topics};
use glam::DVec3;
use rayon::prelude::*;
use std::borrow::Cow;
use wimble_model::MemberKind;

/// The elements that may carry members.
pub(crate) fn carriers<'a>(candidates: &'a [Candidate], sorts: &[Sort]) -> Vec<Carrier<'a>> {
    candidates
        .par_iter()
        .zip(sorts)
        .zip(0u32..candidates.len().try_into().unwrap_or(u32::MAX))
        .flat_map_iter(|((candidate, sort), at)| element(candidate, sort, at))
        .collect()
}

/// Whether a piece may carry others.
pub(crate) const fn carries(first: &First) -> bool {
    match first.kind {
        MemberKind::Packing => false,
        MemberKind::Blocking => !first.said,
        _ => true,
    }
}

/// The solids of an element that may carry.
fn element<'a>(candidate: &'a Candidate, sort: &Sort, at: u32) -> Vec<Carrier<'a>> {
    let carrier_sort = match sort {
        Sort::Carrier(Some(false), _) => return Vec::new(),
        Sort::Carrier(..) | Sort::LayerOnly(_) => match candidate.family {
            Family::Wall => CarrierSort::Wall,
            Family::Part => CarrierSort::Structure,
            _ => CarrierSort::Structure,
        },
        Sort::Fastener if is_hanger(candidate) => CarrierSort::Hanger,
        _ => return Vec::new(),
    };
    let told = matches!(sort, Sort::Carrier(Some(true), _)).then_some(true);
    let partition = carrier_sort == CarrierSort::Wall && is_partition(candidate);
    let load_bearing = told.or(candidate.load_bearing).or(partition.then_some(false));
    candidate
        .solids()
        .map(|(_, solid)| Carrier {
            who: Who::Element(at),
            sort: carrier_sort,
            of: Some(candidate),
            load_bearing,
            figure: Cow::Owned(Figure::of(solid)),
            along: None,
            lining_mm: (carrier_sort == CarrierSort::Wall).then(|| lining_mm(candidate)).flatten(),
            made_of: carrier_sort != CarrierSort::Wall || !candidate.materials.entries.is_empty(),
            masonry: carrier_sort == CarrierSort::Wall && is_masonry(candidate),
        })
        .collect()
}

/// Hangers by their words; bolts and nails are none.
fn is_hanger(candidate: &Candidate) -> bool {
    names(candidate).has(Topic::Hanger) || candidate.of_type.predefined.contains("SHOE")
}

/// A wall that its type says does not carry.
fn is_partition(candidate: &Candidate) -> bool {
    matches!(candidate.of_type.predefined.as_str(), "PARTITIONING" | "MOVABLE" | "PARAPET")
        || names(candidate).has(Topic::Partition)
}

/// Whether any of its materials is masonry.
fn is_masonry(candidate: &Candidate) -> bool {
    candidate.materials.entries.iter().any(|m| topics(&m.name).has(Topic::Masonry))
}

/// Thickness of the lining on the thicker side of a layered wall, mm.
fn lining_mm(candidate: &Candidate) -> Option<f64> {
    if !candidate.materials.layered {
        return None;
    }
    let finish = |m: &&crate::candidate::Material| {
        let said = topics(&m.name).or(topics(&m.text));
        said.has(Topic::Finish) && !said.has_any(&[Topic::Timber, Topic::Masonry, Topic::Concrete])
    };
    let side = |layers: &mut dyn Iterator<Item = &crate::candidate::Material>| -> f64 {
        layers.take_while(finish).filter_map(|m| m.thickness_m).sum::<f64>() * 1000.0
    };
    let entries = &candidate.materials.entries;
    if entries.iter().all(|m| finish(&m)) {
        return None;
    }
    Some(side(&mut entries.iter()).max(side(&mut entries.iter().rev())))
}

/// For each steep piece the direction across the wall that it stands in, if plates or a host wall
/// tell it.
pub(crate) fn across_walls(
    pieces: &[Piece],
    near: &Neighbours,
    candidates: &[Candidate],
) -> Vec<Option<DVec3>> {
    let stick = |j: &u32| pieces.get(*j as usize).map(|piece| &*piece.stick);
    pieces
        .par_iter()
        .enumerate()
        .map(|(at, piece)| {
            if !piece.stick.is_steep() {
                return None;
            }
            let mut near = near.near(piece.stick.figure.world_box().grown(0.005));
            near.retain(|j| *j as usize != at);
            // A level piece at its foot or head, lying flat or not, is its plate.
            let ends = [0.0, piece.stick.length_mm]
                .map(|x| piece.stick.frame.world_m(DVec3::new(x, 0.0, 0.0)));
            let plate = near.iter().filter_map(stick).find(|other| {
                let level = other.frame.x.z.abs() < 0.5;
                let at_end = ends.iter().any(|end| {
                    let local = other.frame.local_mm(*end);
                    let b = other.local_box().grown(15.0);
                    local.cmpge(b.min).all() && local.cmple(b.max).all()
                });
                level && at_end && other.length_mm > 2.0 * piece.stick.section.depth_mm()
            });
            if let Some(plate) = plate {
                return plate.frame.x.cross(DVec3::Z).try_normalize();
            }
            let wall = candidates.get(piece.candidate as usize)?.whole?;
            let wall = candidates.get(wall as usize).filter(|w| w.family == Family::Wall)?;
            let figures: Vec<Figure> = wall.solids().map(|(_, s)| Figure::of(s)).collect();
            sides_of_plan(&Figure::union(&figures))
        })
        .collect()
}
