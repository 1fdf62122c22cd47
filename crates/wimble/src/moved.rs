//! A copy of a model with some placements moved, every other byte as it was.

use glam::DVec3;
use rustc_hash::{FxHashMap, FxHashSet};
use wimble_ifc::{Model, Unreadable};
use wimble_step::{AppendError, NewInstance, NewValue, PatchError, Row, StepFile, append, patch};

/// Why a model cannot be written with what is to be moved.
#[derive(Debug, thiserror::Error)]
pub(crate) enum MoveError {
    #[error("#{0} is not in the file")]
    Missing(u64),
    #[error("#{0}: {1}")]
    Placement(u64, String),
    #[error(transparent)]
    Unreadable(#[from] Unreadable),
    #[error(transparent)]
    Patch(#[from] PatchError),
    #[error(transparent)]
    Append(#[from] AppendError),
    #[error("{0}")]
    Open(String),
}

/// The model with each product (by instance name) moved by a vector of its world, metres. A
/// placement that nothing else rests on or shares is given new coordinates; for one that is
/// shared the product gets a placement of its own.
pub(crate) fn moved(bytes: &[u8], moves: &[(u64, DVec3)]) -> Result<Vec<u8>, MoveError> {
    let model = Model::open(bytes).map_err(|e| MoveError::Open(e.to_string()))?;
    let uses = Uses::of(&model);
    let moving: FxHashMap<Row, DVec3> = moves
        .iter()
        .map(|(name, by)| Ok((model.step().find(*name).ok_or(MoveError::Missing(*name))?, *by)))
        .collect::<Result<_, MoveError>>()?;
    let mut next = model.step().largest_name() + 1;
    let mut added: Vec<NewInstance> = Vec::new();
    let mut changed: Vec<(Row, Vec<u8>)> = Vec::new();
    let mut products: Vec<(Row, DVec3)> = moving.iter().map(|(row, by)| (*row, *by)).collect();
    products.sort_by_key(|(row, _)| *row);
    for (product, by) in products {
        let name = model.step().name(product);
        let placement = model.reference(product, "ObjectPlacement").ok_or_else(|| {
            MoveError::Placement(name, "it has no placement that could be moved".into())
        })?;
        if uses.carried(&model, placement, &moving, by) {
            continue;
        }
        let frame = moved_frame(&model, placement, by, &mut next, &mut added)?;
        if uses.alone(placement, product, &moving, by) {
            let at = place_of(&model, placement, "RelativePlacement")?;
            changed.push((placement, with_reference(model.step(), placement, at, frame)?));
        } else {
            let base = model.attribute(placement, "PlacementRelTo").reference();
            let own = NewInstance {
                name: next,
                keyword: "IFCLOCALPLACEMENT".into(),
                values: vec![
                    base.map_or(NewValue::Unset, NewValue::Reference),
                    NewValue::Reference(frame),
                ],
            };
            let at = place_of(&model, product, "ObjectPlacement")?;
            changed.push((product, with_reference(model.step(), product, at, next)?));
            added.push(own);
            next += 1;
        }
    }
    let records: Vec<(Row, &[u8])> = changed.iter().map(|(row, text)| (*row, &**text)).collect();
    let patched = patch(model.step(), &records)?;
    let file = StepFile::index(&patched).map_err(|e| MoveError::Open(e.to_string()))?;
    Ok(append(&file, &added)?)
}

/// What rests on placements and shares them.
struct Uses {
    /// Products by their placement.
    products: FxHashMap<Row, Vec<Row>>,
    /// Placements that rest on one.
    resting: FxHashMap<Row, Vec<Row>>,
}

impl Uses {
    fn of(model: &Model<'_>) -> Self {
        let mut products: FxHashMap<Row, Vec<Row>> = FxHashMap::default();
        for &product in model.products() {
            if let Some(placement) = model.reference(product, "ObjectPlacement") {
                products.entry(placement).or_default().push(product);
            }
        }
        let mut resting: FxHashMap<Row, Vec<Row>> = FxHashMap::default();
        for &placement in model.step().rows_of("IFCLOCALPLACEMENT") {
            if let Some(base) = model.reference(placement, "PlacementRelTo") {
                resting.entry(base).or_default().push(placement);
            }
        }
        Self { products, resting }
    }

    /// Whether a placement may be changed for a product: it is the product's alone, or moves the
    /// same way with all that share it, and what rests on it are its ports, or moves with it.
    fn alone(
        &self,
        placement: Row,
        product: Row,
        moving: &FxHashMap<Row, DVec3>,
        by: DVec3,
    ) -> bool {
        let sharing = self.products.get(&placement).map_or(&[][..], Vec::as_slice);
        let mut below = vec![placement];
        let mut seen: FxHashSet<Row> = FxHashSet::default();
        while let Some(row) = below.pop() {
            if !seen.insert(row) {
                continue;
            }
            for resting in self.resting.get(&row).into_iter().flatten() {
                let of = self.products.get(resting).map_or(&[][..], Vec::as_slice);
                if !of.iter().all(|p| moving.get(p).is_none_or(|other| *other == by)) {
                    return false;
                }
                below.push(*resting);
            }
        }
        sharing == [product]
    }

    /// Whether a placement rests on one that is moved by as much, and so goes with it.
    fn carried(
        &self,
        model: &Model<'_>,
        placement: Row,
        moving: &FxHashMap<Row, DVec3>,
        by: DVec3,
    ) -> bool {
        let mut seen: FxHashSet<Row> = FxHashSet::default();
        let mut next = model.reference(placement, "PlacementRelTo");
        while let Some(base) = next {
            if !seen.insert(base) {
                return false;
            }
            let of = self.products.get(&base).map_or(&[][..], Vec::as_slice);
            if let [product] = of
                && moving.get(product) == Some(&by)
                && self.alone(base, *product, moving, by)
            {
                return true;
            }
            next = model.reference(base, "PlacementRelTo");
        }
        false
    }
}

/// A new frame like a local placement's own, moved; the name of it.
fn moved_frame(
    model: &Model<'_>,
    placement: Row,
    by: DVec3,
    next: &mut u64,
    added: &mut Vec<NewInstance>,
) -> Result<u64, MoveError> {
    let name = model.step().name(placement);
    let odd = |what: &str| MoveError::Placement(name, what.to_owned());
    let own = model
        .reference(placement, "RelativePlacement")
        .filter(|row| model.step().keyword(*row) == "IFCAXIS2PLACEMENT3D")
        .ok_or_else(|| odd("only a local placement in space can be moved"))?;
    let point = model.reference(own, "Location").ok_or_else(|| odd("it has no location"))?;
    let [x, y, z] = model.numbers(point, "Coordinates")[..] else {
        return Err(odd("its location has no three coordinates"));
    };
    let base = model.placement_base(placement)?;
    let local = base.matrix3.inverse() * by / model.units().metres_per_length;
    let coordinates = DVec3::new(x, y, z) + local;
    let reals = coordinates.to_array().map(NewValue::Real).to_vec();
    let (at, frame) = (*next, *next + 1);
    *next += 2;
    let axis = |attribute: &str| {
        let reference = model.attribute(own, attribute).reference();
        reference.map_or(NewValue::Unset, NewValue::Reference)
    };
    added.push(NewInstance {
        name: at,
        keyword: "IFCCARTESIANPOINT".into(),
        values: vec![NewValue::List(reals)],
    });
    added.push(NewInstance {
        name: frame,
        keyword: "IFCAXIS2PLACEMENT3D".into(),
        values: vec![NewValue::Reference(at), axis("Axis"), axis("RefDirection")],
    });
    Ok(frame)
}

fn place_of(model: &Model<'_>, row: Row, attribute: &str) -> Result<usize, MoveError> {
    let name = model.step().name(row);
    model
        .position(row, attribute)
        .ok_or_else(|| MoveError::Placement(name, format!("it has no {attribute}")))
}

/// The text of a record with another reference in one place.
fn with_reference(
    file: &StepFile<'_>,
    row: Row,
    place: usize,
    name: u64,
) -> Result<Vec<u8>, MoveError> {
    let raw = file.raw(row);
    let end = raw.iter().rposition(|b| !b.is_ascii_whitespace()).map_or(0, |end| end + 1);
    let raw = raw.get(..end).unwrap_or_default();
    let span = parameter(raw, place).ok_or_else(|| {
        MoveError::Placement(file.name(row), "its record cannot be changed as it is written".into())
    })?;
    let (before, rest) = raw.split_at(span.start);
    let after = rest.get(span.len()..).unwrap_or_default();
    Ok([before, format!("#{name}").as_bytes(), after].concat())
}

/// Where a parameter of a record stands: between the commas or brackets round it.
fn parameter(raw: &[u8], place: usize) -> Option<std::ops::Range<usize>> {
    let (mut depth, mut count, mut start) = (0_usize, 0_usize, None);
    let mut at = 0;
    while let Some(&byte) = raw.get(at) {
        match byte {
            b'\'' => at += 1 + raw.get(at + 1..)?.iter().position(|b| *b == b'\'')?,
            b'/' if raw.get(at + 1) == Some(&b'*') => {
                at += 3 + raw.get(at + 2..)?.windows(2).position(|two| two == b"*/")?;
            }
            b'(' => {
                depth += 1;
                if depth == 1 && place == 0 {
                    start = Some(at + 1);
                }
            }
            b',' | b')' if depth == 1 => {
                if count == place && start.is_some() {
                    return start.map(|start| start..at);
                }
                count += 1;
                if count == place {
                    start = Some(at + 1);
                }
                if byte == b')' {
                    return None;
                }
            }
            b')' => depth = depth.checked_sub(1)?,
            _ => {}
        }
        at += 1;
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(placements: &str) -> String {
        format!(
            "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\n\
             FILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n\
             #1=IFCPROJECT('0Wimble000000000000001',$,'p',$,$,$,$,(#2),#3);\n\
             #2=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-5,#4,$);\n\
             #3=IFCUNITASSIGNMENT((#5));\n#4=IFCAXIS2PLACEMENT3D(#6,$,$);\n\
             #5=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);\n#6=IFCCARTESIANPOINT((0.,0.,0.));\n\
             #7=IFCDIRECTION((0.,0.,1.));\n#8=IFCDIRECTION((0.,1.,0.));\n\
             #9=IFCAXIS2PLACEMENT3D(#6,#7,#8);\n#10=IFCLOCALPLACEMENT($,#9);\n{placements}\
             ENDSEC;\nEND-ISO-10303-21;\n"
        )
    }

    const PIPE: &str =
        "#20=IFCPIPESEGMENT('0Wimble000000000000020',$,'a, ''b'' /* ',$,$,#11,$,$,$);\n";

    fn stands(bytes: &[u8], name: u64) -> DVec3 {
        let model = Model::open(bytes).unwrap();
        let row = model.step().find(name).unwrap();
        model.placement(row).unwrap().translation
    }

    #[test]
    fn a_placement_of_its_own_is_moved_in_the_frame_that_it_is_measured_in() {
        // The storey is turned a quarter: its y is the world's −x.
        let text = file(&format!("#11=IFCLOCALPLACEMENT(#10,/*,*/#9);\n{PIPE}"));
        let before = stands(text.as_bytes(), 20);
        let by = DVec3::new(0.1, 0.2, -0.03);
        let new = moved(text.as_bytes(), &[(20, by)]).unwrap();
        assert!((stands(&new, 20) - before - by).length() < 1e-9);
        let new = String::from_utf8(new).unwrap();
        assert!(new.contains(PIPE), "the product's own record stays");
        let lines = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
        let (old, new) = (lines(&text), lines(&new));
        let kept = old.iter().filter(|line| new.contains(line)).count();
        assert_eq!((kept, new.len()), (old.len() - 1, old.len() + 2));
    }

    #[test]
    fn a_shared_placement_is_left_to_the_others() {
        let other = "#21=IFCPIPESEGMENT('0Wimble000000000000021',$,'c',$,$,#11,$,$,$);\n";
        let text = file(&format!("#11=IFCLOCALPLACEMENT(#10,#9);\n{PIPE}{other}"));
        let new = moved(text.as_bytes(), &[(20, DVec3::X)]).unwrap();
        assert!((stands(&new, 20) - DVec3::X).length() < 1e-9);
        assert!(stands(&new, 21).length() < 1e-9);
    }

    #[test]
    fn what_rests_on_a_moved_placement_goes_with_it_once() {
        let other = "#12=IFCLOCALPLACEMENT(#11,#9);\n#21=IFCPIPESEGMENT('0Wimble000000000000021',$,'c',$,$,#12,$,$,$);\n";
        let text = file(&format!("#11=IFCLOCALPLACEMENT(#10,#9);\n{PIPE}{other}"));
        let new = moved(text.as_bytes(), &[(20, DVec3::X), (21, DVec3::X)]).unwrap();
        assert!((stands(&new, 20) - DVec3::X).length() < 1e-9);
        assert!((stands(&new, 21) - DVec3::X).length() < 1e-9);
    }

    #[test]
    fn what_has_no_placement_is_refused() {
        let text = file("#20=IFCPIPESEGMENT('0Wimble000000000000020',$,$,$,$,$,$,$,$);\n");
        let error = moved(text.as_bytes(), &[(20, DVec3::X)]).unwrap_err().to_string();
        assert!(error.contains("#20") && error.contains("no placement"), "{error}");
    }
}
