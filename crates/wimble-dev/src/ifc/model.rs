//! A model being written: the spatial structure, placements, and what is shared.

use super::element::TypeOf;
use super::file::{File, Layout, Schema};
use super::guid::guid;
use super::relate::Relations;
use super::setup::{LengthUnit, Setup, WorldBy};
use super::shape::Shape;
use super::value::{Id, Value};
use glam::{DAffine3, DVec2, DVec3};
use std::collections::BTreeMap;

/// What an element is put into: a storey, or an element with parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Container {
    pub(super) id: Id,
    pub(super) placement: Option<Id>,
    /// Its frame in the building, millimetres.
    pub(super) frame: DAffine3,
    pub(super) spatial: bool,
}

impl Container {
    /// The number of its instance.
    #[must_use]
    pub const fn id(&self) -> Id {
        self.id
    }
}

/// A model being written. Coordinates are the building's, in millimetres.
#[derive(Debug, Clone)]
pub struct Model {
    pub(super) file: File,
    pub(super) body_context: Id,
    pub(super) axis_context: Id,
    pub(super) degrees: bool,
    pub(super) relations: Relations,
    pub(super) types: BTreeMap<String, Id>,
    pub(super) substances: BTreeMap<String, Id>,
    space: String,
    unit: LengthUnit,
    owner: Id,
    building: Container,
    /// Points, directions, placements by what they say: written once.
    shared: BTreeMap<String, Id>,
    maps: BTreeMap<String, Id>,
}

impl Model {
    /// Starts a model with project, site and building.
    #[must_use]
    pub fn new(setup: &Setup) -> Self {
        let mut file = File::new(setup.name.as_str(), setup.schema);
        let owner = owner(&mut file);
        let units = setup.units(&mut file);
        let mut model = Self {
            file,
            body_context: Id(0),
            axis_context: Id(0),
            degrees: setup.degrees,
            relations: Relations::default(),
            types: BTreeMap::new(),
            substances: BTreeMap::new(),
            space: setup.name.clone(),
            unit: setup.unit,
            owner,
            building: Container {
                id: Id(0),
                placement: None,
                frame: DAffine3::IDENTITY,
                spatial: true,
            },
            shared: BTreeMap::new(),
            maps: BTreeMap::new(),
        };
        let context = model.contexts(setup);
        let mut project = model.root("project", Some(&setup.project));
        project.extend([Value::Unset, Value::Unset, Value::Unset]);
        project.extend([Value::references([context]), units.into()]);
        let project = model.file.add("IfcProject", project);
        model.spatial(setup, project);
        model
    }

    fn contexts(&mut self, setup: &Setup) -> Id {
        let world = match setup.world_by {
            WorldBy::Context => setup.world,
            WorldBy::SitePlacement | WorldBy::EveryElement => DAffine3::IDENTITY,
        };
        let world = self.axes(world);
        let context = self.file.add(
            "IfcGeometricRepresentationContext",
            vec![
                Value::Unset,
                "Model".into(),
                Value::Integer(3),
                Value::Real(1e-5),
                world.into(),
                Value::Unset,
            ],
        );
        let mut sub = |name: &str| {
            let mut values = vec![name.into(), "Model".into()];
            values.extend([Value::Derived, Value::Derived, Value::Derived, Value::Derived]);
            values.extend([context.into(), Value::Unset, Value::Enumeration("MODEL_VIEW")]);
            values.push(Value::Unset);
            self.file.add("IfcGeometricRepresentationSubContext", values)
        };
        self.body_context = sub("Body");
        self.axis_context = sub("Axis");
        if let Some(map) = setup.georeference.as_ref().filter(|_| setup.schema != Schema::Ifc2x3) {
            let system = self.file.add(
                "IfcProjectedCRS",
                vec![
                    map.system.as_str().into(),
                    Value::Unset,
                    Value::Unset,
                    Value::Unset,
                    Value::Unset,
                    Value::Unset,
                    Value::Unset,
                ],
            );
            // Map coordinates are in the map's unit; without one, in the project's.
            let at = [map.eastings, map.northings, map.height].map(|m| self.length(m * 1000.0));
            let mut values = vec![context.into(), system.into()];
            values.extend(at);
            values.extend([Value::Unset, Value::Unset, Value::Unset]);
            self.file.add("IfcMapConversion", values);
        }
        context
    }

    fn spatial(&mut self, setup: &Setup, project: Id) {
        let (at, building) = match setup.world_by {
            WorldBy::SitePlacement => (setup.world, DAffine3::IDENTITY),
            WorldBy::Context => (DAffine3::IDENTITY, DAffine3::IDENTITY),
            // Storeys stay at the origin; `frame` is what takes building to world there.
            WorldBy::EveryElement => (DAffine3::IDENTITY, setup.world.inverse()),
        };
        let site_placement = self.local_placement(None, at);
        let address = setup.country.as_deref().map(|country| {
            let mut values = vec![Value::Unset; 9];
            values.push(country.into());
            self.file.add("IfcPostalAddress", values)
        });
        let element = Value::Enumeration("ELEMENT");
        let mut site = self.root("site", Some("Field Nine"));
        site.extend([Value::Unset, site_placement.into(), Value::Unset, Value::Unset]);
        site.push(element.clone());
        site.extend(vec![Value::Unset; 4]);
        site.push(address.into());
        let site = self.file.add("IfcSite", site);
        let placement = self.local_placement(Some(site_placement), DAffine3::IDENTITY);
        let mut values = self.root("building", Some(&setup.project));
        values.extend([Value::Unset, placement.into(), Value::Unset, Value::Unset, element]);
        values.extend(vec![Value::Unset; 3]);
        let id = self.file.add("IfcBuilding", values);
        self.aggregate("project", project, &[site]);
        self.aggregate("site", site, &[id]);
        let placement = (setup.world_by != WorldBy::EveryElement).then_some(placement);
        self.building = Container { id, placement, frame: building, spatial: true };
    }

    /// The schema that it is written in.
    #[must_use]
    pub const fn schema(&self) -> Schema {
        self.file.schema()
    }

    /// Adds a storey at a level above the building's zero.
    pub fn storey(&mut self, name: &str, elevation_mm: f64) -> Container {
        let at = DAffine3::from_translation(DVec3::Z * elevation_mm);
        let placement = self.local_placement(self.building.placement, at);
        let mut values = self.root(&format!("storey {name}"), Some(name));
        values.extend([Value::Unset, placement.into(), Value::Unset, Value::Unset]);
        values.extend([Value::Enumeration("ELEMENT"), self.length(elevation_mm)]);
        let id = self.file.add("IfcBuildingStorey", values);
        self.relations.part(self.building.id, id);
        let (placement, frame) = match self.building.placement {
            Some(_) => (Some(placement), self.building.frame * at),
            None => (None, self.building.frame),
        };
        Container { id, placement, frame, spatial: true }
    }

    /// Adds a room without a shape to a storey.
    pub fn room(&mut self, storey: Container, name: &str) {
        let mut values = self.root(&format!("room {name}"), Some(name));
        values.extend([Value::Unset, Value::Unset, Value::Unset, Value::Unset]);
        values.push(Value::Enumeration("ELEMENT"));
        values.push(if self.file.schema() == Schema::Ifc2x3 {
            Value::Enumeration("INTERNAL")
        } else {
            Value::Unset
        });
        values.push(Value::Unset);
        let id = self.file.add("IfcSpace", values);
        self.relations.part(storey.id, id);
    }

    /// The building, for what belongs to no storey.
    #[must_use]
    pub const fn building(&self) -> Container {
        self.building
    }

    /// The file's bytes, all relations written.
    #[must_use]
    pub fn bytes(&self, layout: Layout) -> Vec<u8> {
        let mut whole = self.clone();
        whole.write_relations();
        whole.file.bytes(layout)
    }

    /// GlobalId of the thing called `name` in this file.
    #[must_use]
    pub fn guid(&self, name: &str) -> String {
        guid(&self.space, name)
    }

    /// The first four attributes of every rooted instance.
    pub(super) fn root(&self, key: &str, name: Option<&str>) -> Vec<Value> {
        vec![self.guid(key).as_str().into(), self.owner.into(), name.into(), Value::Unset]
    }

    pub(super) fn aggregate(&mut self, key: &str, whole: Id, parts: &[Id]) {
        let mut values = self.root(&format!("parts of {key}"), None);
        values.extend([whole.into(), Value::references(parts.iter().copied())]);
        self.file.add("IfcRelAggregates", values);
    }

    /// A length as the file's unit has it.
    pub(super) fn length(&self, mm: f64) -> Value {
        Value::Real(mm / self.unit.millimetres())
    }

    fn once(&mut self, class: &str, values: Vec<Value>) -> Id {
        let mut key = class.to_owned();
        Value::List(values.clone()).write(&mut key);
        if let Some(id) = self.shared.get(&key) {
            return *id;
        }
        let id = self.file.add(class, values);
        self.shared.insert(key, id);
        id
    }

    pub(super) fn point(&mut self, point: DVec3) -> Id {
        let numbers = point.to_array().map(|n| self.length(n)).to_vec();
        self.once("IfcCartesianPoint", vec![Value::List(numbers)])
    }

    pub(super) fn point_2d(&mut self, point: DVec2) -> Id {
        let numbers = point.to_array().map(|n| self.length(n)).to_vec();
        self.once("IfcCartesianPoint", vec![Value::List(numbers)])
    }

    pub(super) fn direction(&mut self, direction: DVec3) -> Id {
        self.once("IfcDirection", vec![Value::reals(direction.to_array())])
    }

    pub(super) fn axes(&mut self, frame: DAffine3) -> Id {
        let at = self.point(frame.translation);
        let turned = frame.matrix3 != glam::DMat3::IDENTITY;
        let z = turned.then(|| self.direction(frame.matrix3.z_axis));
        let x = turned.then(|| self.direction(frame.matrix3.x_axis));
        self.once("IfcAxis2Placement3D", vec![at.into(), z.into(), x.into()])
    }

    pub(super) fn axes_2d(&mut self) -> Id {
        let at = self.point_2d(DVec2::ZERO);
        self.once("IfcAxis2Placement2D", vec![at.into(), Value::Unset])
    }

    pub(super) fn operator(&mut self, frame: DAffine3) -> Id {
        let x = self.direction(frame.matrix3.x_axis);
        let y = self.direction(frame.matrix3.y_axis);
        let z = self.direction(frame.matrix3.z_axis);
        let at = self.point(frame.translation);
        self.once(
            "IfcCartesianTransformationOperator3D",
            vec![x.into(), y.into(), at.into(), Value::Real(1.0), z.into()],
        )
    }

    pub(super) fn local_placement(&mut self, parent: Option<Id>, frame: DAffine3) -> Id {
        let axes = self.axes(frame);
        self.file.add("IfcLocalPlacement", vec![parent.into(), axes.into()])
    }

    pub(super) fn representation_map(&mut self, key: &str, body: &[Shape]) -> Id {
        if let Some(id) = self.maps.get(key) {
            return *id;
        }
        let representation = self.body(body, DAffine3::IDENTITY);
        let origin = self.axes(DAffine3::IDENTITY);
        let id = self.file.add("IfcRepresentationMap", vec![origin.into(), representation.into()]);
        self.maps.insert(key.to_owned(), id);
        id
    }

    /// The type's row, written once for the same class and name.
    pub(super) fn type_row(&mut self, of: &TypeOf) -> Id {
        let key = format!("{} {}", of.class, of.name);
        if let Some(id) = self.types.get(&key) {
            return *id;
        }
        let mut values = self.root(&key, Some(of.name));
        values.extend(vec![Value::Unset; 4]);
        values.push(of.element_type.into());
        values.push(Value::Enumeration(of.predefined));
        let id = self.file.add(of.class, values);
        self.types.insert(key, id);
        id
    }
}

fn owner(file: &mut File) -> Id {
    let person = file
        .add("IfcPerson", [vec![Value::Unset, "Wimble".into()], vec![Value::Unset; 6]].concat());
    let organization = file.add(
        "IfcOrganization",
        vec![Value::Unset, "Wimble".into(), Value::Unset, Value::Unset, Value::Unset],
    );
    let user = file
        .add("IfcPersonAndOrganization", vec![person.into(), organization.into(), Value::Unset]);
    let application = file.add(
        "IfcApplication",
        vec![organization.into(), "1".into(), "wimble-dev".into(), "wimble-dev".into()],
    );
    file.add(
        "IfcOwnerHistory",
        vec![
            user.into(),
            application.into(),
            Value::Unset,
            Value::Enumeration("NOCHANGE"),
            Value::Unset,
            Value::Unset,
            Value::Unset,
            // 2026-01-01, as the header says.
            Value::Integer(1_767_225_600),
        ],
    )
}
