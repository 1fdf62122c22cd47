//! Elements: what a product is, what it is made of, where it stands.

use super::file::Schema;
use super::model::{Container, Model};
use super::shape::{Outline, Shape};
use super::value::{Id, Value};
use glam::{DAffine3, DVec3};

/// A type that elements share.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TypeOf {
    /// `IfcBeamType`
    pub class: &'static str,
    /// Name of the type.
    pub name: &'static str,
    /// `JOIST`
    pub predefined: &'static str,
    /// Wording where the predefined type is USERDEFINED.
    pub element_type: Option<&'static str>,
}

/// A material.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Substance {
    /// Name.
    pub name: &'static str,
    /// Category (IFC4 and later).
    pub category: Option<&'static str>,
    /// Strength grade and species (IFC4 and later).
    pub wood: Option<(&'static str, &'static str)>,
}

/// How an element is made of materials.
#[derive(Debug, Clone, PartialEq)]
pub enum SubstanceUse {
    /// One throughout.
    Single(Substance),
    /// Layers with their thickness, from the element's own y = 0 towards +y.
    Layers(Vec<(Substance, f64)>),
    /// With its cross-section (IFC4 and later; the material alone before).
    Profile(Substance, Outline),
}

/// An element to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Element<'a> {
    /// As the schema spells it (`IfcBeam`).
    pub class: &'a str,
    /// Name, unique in the file: its GlobalId comes from it.
    pub name: &'a str,
    /// Object type, if stated.
    pub object_type: Option<&'a str>,
    /// Predefined type of the occurrence, where its class has one in this schema.
    pub predefined: Option<&'static str>,
    /// Type.
    pub of: Option<TypeOf>,
    /// Made of.
    pub substance: Option<SubstanceUse>,
    /// Property set and one true-or-false property each: `("Pset_WallCommon", "LoadBearing", true)`.
    pub flags: &'a [(&'a str, &'a str, bool)],
    /// Its own frame in the building, millimetres.
    pub frame: DAffine3,
    /// Frames between its container and itself, each placed in the one before.
    pub nesting: &'a [DAffine3],
    /// Body, in the building's coordinates.
    pub body: &'a [Shape],
    /// Ends of its axis, if it is to be written.
    pub axis: Option<[DVec3; 2]>,
}

impl<'a> Element<'a> {
    /// An element of this class and name; everything else is left out.
    #[must_use]
    pub const fn new(class: &'a str, name: &'a str, body: &'a [Shape]) -> Self {
        Self {
            class,
            name,
            object_type: None,
            predefined: None,
            of: None,
            substance: None,
            flags: &[],
            frame: DAffine3::IDENTITY,
            nesting: &[],
            body,
            axis: None,
        }
    }
}

impl Model {
    /// Writes an element into a storey, or as a part of an element.
    pub fn element(&mut self, element: &Element<'_>, container: Container) -> Container {
        let mut parent = container.placement;
        let mut outer = container.frame;
        for frame in element.nesting {
            parent = Some(self.local_placement(parent, outer.inverse() * *frame));
            outer = *frame;
        }
        let placement = self.local_placement(parent, outer.inverse() * element.frame);
        let representation = self.product_shape(element);
        let mut values = self.root(element.name, Some(element.name));
        values.push(element.object_type.into());
        values.extend([placement.into(), representation.into(), element.name.into()]);
        values.extend(self.tail(element));
        let id = self.file.add(element.class, values);
        if matches!(element.class, "IfcOpeningElement" | "IfcVoidingFeature") {
            self.void(element.name, container.id, id);
        } else if container.spatial {
            self.relations.contain(container.id, id);
        } else {
            self.relations.part(container.id, id);
        }
        if let Some(of) = &element.of {
            let type_row = self.type_row(of);
            self.relations.typed(type_row, id);
        }
        if let Some(substance) = &element.substance {
            let material = self.substance_use(substance);
            self.relations.made_of(material, id);
        }
        for (set, property, value) in element.flags {
            let set = self.flag(set, property, *value);
            self.relations.described(set, id);
        }
        Container { id, placement: Some(placement), frame: element.frame, spatial: false }
    }

    fn product_shape(&mut self, element: &Element<'_>) -> Option<Id> {
        let local = element.frame.inverse();
        let mut representations = Vec::new();
        if let Some(ends) = element.axis {
            let points = ends.map(|end| self.point(local.transform_point3(end)));
            let line = self.file.add("IfcPolyline", vec![Value::references(points)]);
            let context = self.axis_context;
            representations.push(self.file.add(
                "IfcShapeRepresentation",
                vec![context.into(), "Axis".into(), "Curve3D".into(), Value::references([line])],
            ));
        }
        if !element.body.is_empty() {
            representations.push(self.body(element.body, local));
        }
        (!representations.is_empty()).then(|| {
            self.file.add(
                "IfcProductDefinitionShape",
                vec![Value::Unset, Value::Unset, Value::references(representations)],
            )
        })
    }

    /// What follows the tag in this class and schema.
    fn tail(&self, element: &Element<'_>) -> Vec<Value> {
        let old = self.file.schema() == Schema::Ifc2x3;
        let predefined = element.predefined.map_or(Value::Unset, Value::Enumeration);
        match element.class {
            "IfcFlowSegment" | "IfcFlowFitting" | "IfcFlowStorageDevice" | "IfcFlowTerminal" => {
                Vec::new()
            }
            "IfcElementAssembly" => {
                let predefined = element.predefined.unwrap_or("NOTDEFINED");
                vec![Value::Enumeration("SITE"), Value::Enumeration(predefined)]
            }
            "IfcSlab" | "IfcCovering" => vec![predefined],
            "IfcBuildingElementProxy" if old => vec![Value::Unset],
            "IfcDoor" if old => vec![Value::Unset, Value::Unset],
            "IfcDoor" => vec![Value::Unset, Value::Unset, predefined, Value::Unset, Value::Unset],
            _ if old => Vec::new(),
            _ => vec![predefined],
        }
    }

    fn substance_use(&mut self, made: &SubstanceUse) -> Id {
        match made {
            SubstanceUse::Single(substance) => self.substance(substance),
            SubstanceUse::Profile(substance, _) if self.file.schema() == Schema::Ifc2x3 => {
                self.substance(substance)
            }
            SubstanceUse::Profile(substance, outline) => {
                let key = format!("{} {outline:?}", substance.name);
                if let Some(id) = self.substances.get(&key) {
                    return *id;
                }
                let material = self.substance(substance);
                let outline = self.outline(outline);
                let profile = self.file.add(
                    "IfcMaterialProfile",
                    vec![
                        Value::Unset,
                        Value::Unset,
                        material.into(),
                        outline.into(),
                        Value::Unset,
                        Value::Unset,
                    ],
                );
                let set = self.file.add(
                    "IfcMaterialProfileSet",
                    vec![Value::Unset, Value::Unset, Value::references([profile]), Value::Unset],
                );
                // Cardinal point 5: the axis runs through the middle of the section.
                let id = self.file.add(
                    "IfcMaterialProfileSetUsage",
                    vec![set.into(), Value::Integer(5), Value::Unset],
                );
                self.substances.insert(key, id);
                id
            }
            SubstanceUse::Layers(layers) => self.layers(layers),
        }
    }

    fn layers(&mut self, layers: &[(Substance, f64)]) -> Id {
        let key = format!("{layers:?}");
        if let Some(id) = self.substances.get(&key) {
            return *id;
        }
        let old = self.file.schema() == Schema::Ifc2x3;
        let mut ids = Vec::new();
        for (substance, thickness) in layers {
            let material = self.substance(substance);
            let mut values = vec![material.into(), self.length(*thickness), Value::Unset];
            if !old {
                values.extend(vec![Value::Unset; 4]);
            }
            ids.push(self.file.add("IfcMaterialLayer", values));
        }
        let mut set = vec![Value::references(ids), Value::Unset];
        let mut usage = Vec::new();
        if !old {
            set.push(Value::Unset);
            usage.push(Value::Unset);
        }
        let set = self.file.add("IfcMaterialLayerSet", set);
        let mut values = vec![set.into(), Value::Enumeration("AXIS2")];
        values.extend([Value::Enumeration("POSITIVE"), Value::Real(0.0)]);
        values.extend(usage);
        let id = self.file.add("IfcMaterialLayerSetUsage", values);
        self.substances.insert(key, id);
        id
    }

    fn substance(&mut self, substance: &Substance) -> Id {
        if let Some(id) = self.substances.get(substance.name) {
            return *id;
        }
        let old = self.file.schema() == Schema::Ifc2x3;
        let mut values = vec![substance.name.into()];
        if !old {
            values.extend([Value::Unset, substance.category.into()]);
        }
        let id = self.file.add("IfcMaterial", values);
        if let Some((grade, species)) = substance.wood.filter(|_| !old) {
            let label = |text: &str| Value::typed("IFCLABEL", text.into());
            let grade = self.property("StrengthGrade", label(grade));
            let species = self.property("Species", label(species));
            self.file.add(
                "IfcMaterialProperties",
                vec![
                    "Pset_MaterialWood".into(),
                    Value::Unset,
                    Value::references([grade, species]),
                    id.into(),
                ],
            );
        }
        self.substances.insert(substance.name.to_owned(), id);
        id
    }

    /// One property set for all elements that say the same.
    fn flag(&mut self, set: &str, property: &str, value: bool) -> Id {
        let key = format!("{set} {property} {value}");
        if let Some(id) = self.types.get(&key) {
            return *id;
        }
        let single = self.property(property, Value::typed("IFCBOOLEAN", Value::boolean(value)));
        let mut values = self.root(&key, Some(set));
        values.push(Value::references([single]));
        let id = self.file.add("IfcPropertySet", values);
        self.types.insert(key, id);
        id
    }

    fn property(&mut self, name: &str, value: Value) -> Id {
        self.file
            .add("IfcPropertySingleValue", vec![name.into(), Value::Unset, value, Value::Unset])
    }
}
