//! Putting files together: by their placements, or by their map conversions if the user asks.

use crate::scene::Warning;
use glam::{DAffine3, DMat3, DVec3};
use wimble_ifc::{Georeference, Model};

/// Map conversions that put a kilometre this near to the same place are the same, metres.
const SAME: f64 = 1e-3;

/// For each file, how it is moved into the frame of the first; with what should be said of it.
pub(super) fn moves(models: &[&Model<'_>], by_map: bool) -> (Vec<Option<DAffine3>>, Vec<Warning>) {
    let mut warnings = Vec::new();
    let first = models.first().and_then(|model| model.georeference()).map(to_map);
    let moves = (0u32..)
        .zip(models)
        .map(|(input, model)| {
            if input == 0 {
                return None;
            }
            let own = model.georeference().map(to_map);
            let (Some(first), Some(own)) = (first, own) else {
                if by_map {
                    warnings.push(warning(input, "has no map conversion to be put in place by, or the first file has none: its placement is used"));
                }
                return None;
            };
            let shift = first.inverse() * own;
            let same = [DVec3::ZERO, DVec3::new(1e3, 0.0, 0.0), DVec3::new(0.0, 1e3, 0.0)]
                .into_iter()
                .all(|p| shift.transform_point3(p).distance(p) < SAME);
            match (same, by_map) {
                (true, _) => None,
                (false, true) => Some(shift),
                (false, false) => {
                    warnings.push(warning(
                        input,
                        "its map conversion differs from the first file's; placements are used: \
                         set align = \"map\" if the files should be put together on the map",
                    ));
                    None
                }
            }
        })
        .collect();
    (moves, warnings)
}

fn warning(input: u32, text: &str) -> Warning {
    Warning { input: Some(input), line: None, text: text.to_owned() }
}

/// From the world (metres) to the map (metres).
fn to_map(georeference: &Georeference) -> DAffine3 {
    let metres = georeference.metres_per_map_unit;
    let at = |p: DVec3| georeference.to_map(p) * metres;
    let origin = at(DVec3::ZERO);
    DAffine3 {
        matrix3: DMat3::from_cols(
            at(DVec3::X) - origin,
            at(DVec3::Y) - origin,
            at(DVec3::Z) - origin,
        ),
        translation: origin,
    }
}
