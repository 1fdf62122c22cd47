//! What elements are joined to: ports, systems, coverings, classifications.

use crate::{Model, class};
use wimble_step::Row;

/// A classification of an element, a type or a material.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Classification {
    /// Name of the system it belongs to (`Uniclass 2015`), if the file says so.
    pub system: Option<String>,
    /// Code in that system.
    pub code: Option<String>,
    /// Name of the class in words.
    pub name: Option<String>,
}

impl Model<'_> {
    /// The ports of an element.
    #[must_use]
    pub fn ports(&self, element: Row) -> &[Row] {
        self.ports_of_elements().down.of(element)
    }

    /// The element that a port belongs to.
    #[must_use]
    pub fn port_element(&self, port: Row) -> Option<Row> {
        self.ports_of_elements().up.of(port).first().copied()
    }

    /// The ports that a port is joined to.
    #[must_use]
    pub fn joined_ports(&self, port: Row) -> &[Row] {
        self.ports_of_ports().of(port)
    }

    /// The elements that an element is joined to through ports, by the order of its ports.
    #[must_use]
    pub fn connected(&self, element: Row) -> Vec<Row> {
        let mut found = Vec::new();
        for port in self.ports(element) {
            for other in self.joined_ports(*port) {
                let joined = self.port_element(*other).filter(|joined| *joined != element);
                found.extend(joined.filter(|joined| !found.contains(joined)));
            }
        }
        found
    }

    /// The elements that a relation joins to an element, whichever side it is named on, with
    /// those that realise the joint (a hanger, a bracket).
    #[must_use]
    pub fn connections(&self, element: Row) -> &[Row] {
        self.joined().of(element)
    }

    /// The coverings of an element: related as such, or parts of it.
    #[must_use]
    pub fn coverings(&self, element: Row) -> Vec<Row> {
        let mut found = self.covered().down.of(element).to_vec();
        for part in self.parts(element) {
            if self.is_a(part, class!("IfcCovering")) && !found.contains(&part) {
                found.push(part);
            }
        }
        found
    }

    /// The element that a covering covers.
    #[must_use]
    pub fn covered_element(&self, covering: Row) -> Option<Row> {
        let related = self.covered().up.of(covering).first().copied();
        related.or_else(|| self.whole(covering))
    }

    /// Whether a relation says that this covers an element.
    #[must_use]
    pub fn covers(&self, row: Row) -> bool {
        !self.covered().up.of(row).is_empty()
    }

    /// The systems that an element belongs to (zones are not systems); its own, else those of
    /// its ports.
    #[must_use]
    pub fn systems(&self, element: Row) -> Vec<Row> {
        let own = |row: Row| {
            let groups = self.groups().up.of(row).iter().copied();
            groups.filter(|group| {
                self.is_a(*group, class!("IfcSystem")) && !self.is_a(*group, class!("IfcZone"))
            })
        };
        let mut found: Vec<Row> = own(element).collect();
        if found.is_empty() {
            for port in self.ports(element) {
                for system in own(*port) {
                    if !found.contains(&system) {
                        found.push(system);
                    }
                }
            }
        }
        found
    }

    /// A system's name: `Name`, else `LongName`, else `ObjectType`.
    #[must_use]
    pub fn system_name(&self, system: Row) -> Option<String> {
        self.name(system)
            .or_else(|| self.text(system, "LongName"))
            .or_else(|| self.text(system, "ObjectType"))
    }

    /// All groups that an object is assigned to, systems and zones among them.
    #[must_use]
    pub fn groups_of(&self, object: Row) -> &[Row] {
        self.groups().up.of(object)
    }

    /// The members of a group or system.
    #[must_use]
    pub fn members(&self, group: Row) -> &[Row] {
        self.groups().down.of(group)
    }

    /// Classifications of an object: its own, then those of its type.
    #[must_use]
    pub fn classifications(&self, row: Row) -> Vec<Classification> {
        let mut found = Vec::new();
        for holder in std::iter::once(row).chain(self.type_of(row)) {
            let own = self.classified().up.of(holder);
            found.extend(own.iter().map(|reference| self.classification(*reference)));
        }
        found
    }

    fn classification(&self, reference: Row) -> Classification {
        if !self.is_a(reference, class!("IfcClassificationReference")) {
            // The system as a whole, or a notation of IFC2X3.
            let name = self.text(reference, "Name");
            return Classification { system: name, ..Classification::default() };
        }
        let mut system = None;
        let mut source = self.reference(reference, "ReferencedSource");
        for _ in 0..16 {
            let Some(row) = source else { break };
            if self.is_a(row, class!("IfcClassification")) {
                system = self.text(row, "Name");
                break;
            }
            source = self.reference(row, "ReferencedSource");
        }
        Classification {
            system,
            // IFC2X3 calls it ItemReference.
            code: self
                .text(reference, "Identification")
                .or_else(|| self.text(reference, "ItemReference")),
            name: self.text(reference, "Name"),
        }
    }
}
