//! What many elements of a file share, read once by each thread.

use super::family::family;
use crate::candidate::{Candidate, Family, Material, Materials, OfType, System};
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;
use wimble_ifc::{Bodies, Class, MaterialKind, Model};
use wimble_step::Row;

/// What one thread has read of a file so far.
pub(super) struct Shared<'m, 'a> {
    pub(super) bodies: Bodies<'m, 'a>,
    model: &'m Model<'a>,
    families: FxHashMap<Class, Family>,
    types: FxHashSet<Arc<OfType>>,
    /// Of which nothing is known yet.
    pub(super) blank: Candidate,
    /// By the definitions that an element, or its type, is associated with.
    materials: FxHashMap<[&'m [Row]; 2], Arc<Materials>>,
    systems: FxHashMap<Vec<Row>, Arc<[System]>>,
}

impl<'m, 'a> Shared<'m, 'a> {
    pub(super) fn of(model: &'m Model<'a>) -> Self {
        Self {
            bodies: Bodies::of(model),
            model,
            families: FxHashMap::default(),
            types: FxHashSet::default(),
            blank: Candidate::default(),
            materials: FxHashMap::default(),
            systems: FxHashMap::default(),
        }
    }

    /// What a class makes an element.
    pub(super) fn family(&mut self, class: Class) -> Family {
        *self.families.entry(class).or_insert_with(|| family(class))
    }

    /// What the type of an element says, which others may be of too.
    pub(super) fn of_type(&mut self, said: OfType) -> Arc<OfType> {
        if let Some(known) = self.types.get(&said) {
            return Arc::clone(known);
        }
        let said = Arc::new(said);
        self.types.insert(Arc::clone(&said));
        said
    }

    /// The materials of an element.
    pub(super) fn materials(&mut self, row: Row) -> Arc<Materials> {
        let definitions = self.model.material_rows(row);
        if let Some(known) = self.materials.get(&definitions) {
            return Arc::clone(known);
        }
        let materials = Arc::new(read(self.model, row));
        self.materials.insert(definitions, Arc::clone(&materials));
        materials
    }

    /// The systems of an element.
    pub(super) fn systems(&mut self, row: Row) -> Arc<[System]> {
        let rows = self.model.systems(row);
        if let Some(known) = self.systems.get(&rows) {
            return Arc::clone(known);
        }
        let systems: Arc<[System]> = rows.iter().map(|&row| system(self.model, row)).collect();
        self.systems.insert(rows, Arc::clone(&systems));
        systems
    }
}

fn read(model: &Model<'_>, row: Row) -> Materials {
    let found = model.materials(row);
    let entries = found.entries.into_iter().map(|material| {
        let grade = material.grade.clone();
        let texts = [material.category, material.grade, material.species, material.part_name];
        Material {
            name: material.name.unwrap_or_default(),
            text: texts.into_iter().flatten().collect::<Vec<_>>().join(" / "),
            grade,
            thickness_m: material.thickness_m,
        }
    });
    Materials::new(found.kind == MaterialKind::Layers, entries.collect())
}

fn system(model: &Model<'_>, system: Row) -> System {
    let texts = [
        model.text(system, "ObjectType"),
        model.text(system, "LongName"),
        model.enumeration(system, "PredefinedType"),
    ];
    System {
        name: model.system_name(system).unwrap_or_default().into(),
        text: texts.into_iter().flatten().collect::<Vec<_>>().join(" / "),
    }
}
