//! Storeys of all files: the same storey of two files is one.

use glam::DAffine3;
use rustc_hash::FxHashMap;
use wimble_ifc::{Class, Model};
use wimble_model::Storey;
use wimble_step::Row;

/// Storeys this near in elevation are the same, metres.
const SAME: f64 = 0.01;

/// Storeys by elevation and name, and which one each file's storey is.
pub(super) struct Merged {
    pub(super) list: Vec<Storey>,
    pub(super) of_row: FxHashMap<(u32, Row), u32>,
}

/// Merges the storeys of all files.
pub(super) fn merged(models: &[&Model<'_>], moves: &[Option<DAffine3>]) -> Merged {
    let mut list: Vec<(Storey, u32)> = Vec::new();
    let mut of_row: FxHashMap<(u32, Row), usize> = FxHashMap::default();
    for (input, (model, shift)) in (0u32..).zip(models.iter().zip(moves)) {
        let Some(class) = Class::of_keyword("IfcBuildingStorey") else { continue };
        for row in model.rows_of_class(class) {
            let lift = shift.map_or(0.0, |shift| shift.translation.z);
            let storey = Storey {
                name: model.name(row).unwrap_or_else(|| format!("storey {}", model.guid(row))),
                elevation_m: model.storey_elevation_m(row).map(|e| e + lift),
            };
            let same = list.iter().position(|(known, of)| *of != input && is_same(known, &storey));
            let at = same.unwrap_or_else(|| {
                list.push((storey, input));
                list.len() - 1
            });
            of_row.insert((input, row), at);
        }
    }
    let mut order: Vec<usize> = (0..list.len()).collect();
    order.sort_by(|&a, &b| {
        let key = |i: usize| (list[i].0.elevation_m.unwrap_or(f64::INFINITY), &list[i].0.name);
        let (ka, kb) = (key(a), key(b));
        ka.0.total_cmp(&kb.0).then_with(|| ka.1.cmp(kb.1)).then(a.cmp(&b))
    });
    let mut place = vec![0u32; list.len()];
    for (new, &old) in (0u32..).zip(&order) {
        place[old] = new;
    }
    let list = order.iter().map(|&old| list[old].0.clone()).collect();
    let of_row = of_row.into_iter().map(|(key, old)| (key, place[old])).collect();
    Merged { list, of_row }
}

fn is_same(a: &Storey, b: &Storey) -> bool {
    match (a.elevation_m, b.elevation_m) {
        (Some(one), Some(other)) => (one - other).abs() <= SAME,
        _ => a.name.to_lowercase() == b.name.to_lowercase(),
    }
}
