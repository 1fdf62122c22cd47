//! Relations, gathered while elements are written and written out at the end.

use super::model::Model;
use super::value::{Id, Value};
use std::collections::BTreeMap;

/// What belongs to what. One relation instance is written per left side.
#[derive(Debug, Clone, Default)]
pub(super) struct Relations {
    contained: BTreeMap<Id, Vec<Id>>,
    parts: BTreeMap<Id, Vec<Id>>,
    types: BTreeMap<Id, Vec<Id>>,
    materials: BTreeMap<Id, Vec<Id>>,
    properties: BTreeMap<Id, Vec<Id>>,
    groups: BTreeMap<Id, Vec<Id>>,
}

impl Relations {
    pub(super) fn contain(&mut self, structure: Id, element: Id) {
        self.contained.entry(structure).or_default().push(element);
    }

    pub(super) fn part(&mut self, whole: Id, part: Id) {
        self.parts.entry(whole).or_default().push(part);
    }

    pub(super) fn typed(&mut self, type_row: Id, element: Id) {
        self.types.entry(type_row).or_default().push(element);
    }

    pub(super) fn made_of(&mut self, material: Id, element: Id) {
        self.materials.entry(material).or_default().push(element);
    }

    pub(super) fn described(&mut self, set: Id, element: Id) {
        self.properties.entry(set).or_default().push(element);
    }

    pub(super) fn grouped(&mut self, group: Id, element: Id) {
        self.groups.entry(group).or_default().push(element);
    }
}

impl Model {
    pub(super) fn write_relations(&mut self) {
        let all = std::mem::take(&mut self.relations);
        for (whole, parts) in all.parts {
            self.aggregate(&format!("#{}", whole.0), whole, &parts);
        }
        // These four have the many first and the one last; the group has a type between.
        self.many_to_one("IfcRelContainedInSpatialStructure", all.contained, &[]);
        self.many_to_one("IfcRelDefinesByType", all.types, &[]);
        self.many_to_one("IfcRelAssociatesMaterial", all.materials, &[]);
        self.many_to_one("IfcRelDefinesByProperties", all.properties, &[]);
        self.many_to_one("IfcRelAssignsToGroup", all.groups, &[Value::Unset]);
    }

    fn many_to_one(&mut self, class: &str, rows: BTreeMap<Id, Vec<Id>>, between: &[Value]) {
        for (one, many) in rows {
            let mut values = self.root(&format!("{class} #{}", one.0), None);
            values.push(Value::references(many));
            values.extend_from_slice(between);
            values.push(one.into());
            self.file.add(class, values);
        }
    }

    /// A system; what is `grouped` into it follows.
    pub fn system(&mut self, name: &str, kind: &str) -> Id {
        let mut values = self.root(&format!("system {name}"), Some(name));
        values.push(kind.into());
        let system = self.file.add("IfcSystem", values);
        let mut values = self.root(&format!("system {name} serves"), None);
        values.extend([system.into(), Value::references([self.building().id])]);
        self.file.add("IfcRelServicesBuildings", values);
        system
    }

    /// Puts an element into a system.
    pub fn join_system(&mut self, system: Id, element: Id) {
        self.relations.grouped(system, element);
    }

    /// Says that one element carries another, through a third (a hanger).
    pub fn connect_through(&mut self, key: &str, carrying: Id, carried: Id, through: Id) {
        let mut values = self.root(&format!("connection {key}"), None);
        values.extend([Value::Unset, carrying.into(), carried.into()]);
        values.extend([Value::references([through]), "hanger".into()]);
        self.file.add("IfcRelConnectsWithRealizingElements", values);
    }

    /// Joins the ends of two flow elements by a pair of ports.
    pub fn connect_ports(&mut self, key: &str, from: Id, to: Id) {
        let mut port = |side: &str, element: Id, direction: &'static str| {
            let name = format!("port {key} {side}");
            let mut values = self.root(&name, None);
            values.extend([Value::Unset, Value::Unset, Value::Unset]);
            values.push(Value::Enumeration(direction));
            if self.file.schema() != super::Schema::Ifc2x3 {
                values.extend([Value::Unset, Value::Unset]);
            }
            let port = self.file.add("IfcDistributionPort", values);
            let mut values = self.root(&format!("{name} belongs"), None);
            if self.file.schema() == super::Schema::Ifc2x3 {
                values.extend([port.into(), element.into()]);
                self.file.add("IfcRelConnectsPortToElement", values);
            } else {
                values.extend([element.into(), Value::references([port])]);
                self.file.add("IfcRelNests", values);
            }
            port
        };
        let (out, into) = (port("out", from, "SOURCE"), port("in", to, "SINK"));
        let mut values = self.root(&format!("ports {key}"), None);
        values.extend([out.into(), into.into(), Value::Unset]);
        self.file.add("IfcRelConnectsPorts", values);
    }

    /// Says that an opening is a void of its host.
    pub(super) fn void(&mut self, key: &str, host: Id, opening: Id) {
        let mut values = self.root(&format!("void {key}"), None);
        values.extend([host.into(), opening.into()]);
        self.file.add("IfcRelVoidsElement", values);
    }
}
