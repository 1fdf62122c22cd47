//! What elements are made of.

#[cfg(test)]
mod tests;

use crate::{Model, PropertySet, PropertyValue, class};
use rustc_hash::FxHashMap;
use std::sync::{PoisonError, RwLock};
use wimble_step::Row;

/// How an element's materials are given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum MaterialKind {
    /// Not at all.
    #[default]
    None,
    /// One material.
    Single,
    /// A list without order or sizes.
    List,
    /// Layers with thicknesses.
    Layers,
    /// Profiles, each of a material.
    Profiles,
    /// Constituents, maybe with fractions.
    Constituents,
}

/// The materials of an element.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Materials {
    /// How they are given; of several relations that of the first.
    pub kind: MaterialKind,
    /// Each of them, in the order of the file.
    pub entries: Vec<Material>,
    /// Whether they are those of the element's type: it has none of its own.
    pub of_type: bool,
}

/// A material as used in an element.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Material {
    /// The `IfcMaterial`, if there is one: a layer of air may have none.
    pub row: Option<Row>,
    /// Its name.
    pub name: Option<String>,
    /// Category of the material, else of the layer, profile or constituent (`wood`).
    pub category: Option<String>,
    /// Strength grade, from the material's property sets.
    pub grade: Option<String>,
    /// Species, from the material's property sets.
    pub species: Option<String>,
    /// Thickness of the layer, metres.
    pub thickness_m: Option<f64>,
    /// Fraction of the constituent, 0 to 1.
    pub fraction: Option<f64>,
    /// Name of the layer, profile or constituent.
    pub part_name: Option<String>,
    /// The `IfcProfileDef` of a material profile.
    pub profile: Option<Row>,
}

/// Materials that have been read.
pub(crate) type Known = RwLock<FxHashMap<Row, Material>>;

/// How deep a set of usages, sets and lists may be nested.
const DEEPEST: u32 = 8;

impl Model<'_> {
    /// The materials of an element: its own, else its type's.
    #[must_use]
    pub fn materials(&self, row: Row) -> Materials {
        let own = self.own_materials(row);
        if own.kind != MaterialKind::None {
            return own;
        }
        match self.type_of(row).map(|row| self.own_materials(row)) {
            Some(typed) if typed.kind != MaterialKind::None => Materials { of_type: true, ..typed },
            _ => own,
        }
    }

    /// The definitions that the materials of an element are read from: its own, else its type's.
    /// Elements of the same definitions have the same materials.
    #[must_use]
    pub fn material_rows(&self, row: Row) -> [&[Row]; 2] {
        let definitions = self.material_definitions();
        let of = |row| definitions.up.of(row);
        [of(row), self.type_of(row).map_or(&[][..], of)]
    }

    fn own_materials(&self, row: Row) -> Materials {
        let mut found = Materials::default();
        for definition in self.material_definitions().up.of(row) {
            let before = found.entries.len();
            let kind = self.read_materials(*definition, DEEPEST, &mut found.entries);
            if found.kind == MaterialKind::None && found.entries.len() > before {
                found.kind = kind;
            }
        }
        found
    }

    /// Reads a material definition of any form.
    fn read_materials(&self, row: Row, deepest: u32, into: &mut Vec<Material>) -> MaterialKind {
        let Some(class) = self.class(row) else {
            self.note(row, "stands where a material is needed; it is left out");
            return MaterialKind::None;
        };
        let Some(deepest) = deepest.checked_sub(1) else { return MaterialKind::None };
        let all = |attribute: &str, kind, into: &mut Vec<Material>| {
            for part in self.references(row, attribute) {
                self.read_materials(part, deepest, into);
            }
            kind
        };
        if class.is_a(class!("IfcMaterial")) {
            into.push(self.material(row));
            MaterialKind::Single
        } else if class.is_a(class!("IfcMaterialList")) {
            all("Materials", MaterialKind::List, into)
        } else if class.is_a(class!("IfcMaterialLayerSetUsage")) {
            all("ForLayerSet", MaterialKind::Layers, into)
        } else if class.is_a(class!("IfcMaterialLayerSet")) {
            all("MaterialLayers", MaterialKind::Layers, into)
        } else if class.is_a(class!("IfcMaterialProfileSetUsage")) {
            // A tapered member names a second set for its end: the first counts.
            all("ForProfileSet", MaterialKind::Profiles, into)
        } else if class.is_a(class!("IfcMaterialProfileSet")) {
            all("MaterialProfiles", MaterialKind::Profiles, into)
        } else if class.is_a(class!("IfcMaterialConstituentSet")) {
            all("MaterialConstituents", MaterialKind::Constituents, into)
        } else if class.is_a(class!("IfcMaterialLayer")) {
            let thickness = self.number(row, "LayerThickness");
            into.push(Material {
                thickness_m: thickness.map(|length| length * self.units().metres_per_length),
                ..self.part(row)
            });
            MaterialKind::Layers
        } else if class.is_a(class!("IfcMaterialProfile")) {
            into.push(Material { profile: self.reference(row, "Profile"), ..self.part(row) });
            MaterialKind::Profiles
        } else if class.is_a(class!("IfcMaterialConstituent")) {
            into.push(Material { fraction: self.number(row, "Fraction"), ..self.part(row) });
            MaterialKind::Constituents
        } else {
            self.note(row, format!("{class} stands where a material is needed; it is left out"));
            MaterialKind::None
        }
    }

    /// The material of a layer, profile or constituent, with what the part says of itself.
    fn part(&self, row: Row) -> Material {
        let base = match self.reference(row, "Material") {
            Some(material) => self.material(material),
            None => Material::default(),
        };
        Material {
            part_name: self.text(row, "Name"),
            category: base.category.or_else(|| self.text(row, "Category")),
            ..base
        }
    }

    /// An `IfcMaterial`, read once: a building is made of a few, named by every element.
    fn material(&self, row: Row) -> Material {
        let known = self.materials.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(material) = known.get(&row) {
            return material.clone();
        }
        drop(known);
        let material = self.read_material(row);
        let mut known = self.materials.write().unwrap_or_else(PoisonError::into_inner);
        known.insert(row, material.clone());
        material
    }

    fn read_material(&self, row: Row) -> Material {
        let sets = self.material_properties(row);
        let find = |name: &str| {
            let in_set = |set: &PropertySet| set.property(name).and_then(PropertyValue::text);
            sets.iter().find_map(in_set)
        };
        Material {
            row: Some(row),
            name: self.text(row, "Name"),
            category: self.text(row, "Category"),
            grade: find("StrengthGrade")
                .or_else(|| find("Grade"))
                .or_else(|| find("StrengthClass")),
            species: find("Species"),
            ..Material::default()
        }
    }

    /// The property sets of an `IfcMaterial`.
    #[must_use]
    pub fn material_properties(&self, material: Row) -> Vec<PropertySet> {
        let rows = self.properties_of_materials().of(material);
        rows.iter().map(|row| self.material_property_set(*row)).collect()
    }
}
