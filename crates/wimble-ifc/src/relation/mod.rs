//! Relations between instances, both ways, as sorted arrays.
//!
//! Each group is read when it is first asked for, in one pass over its relations' records. The
//! pass uses one thread: it runs inside a lock that other threads may wait for, and work that is
//! handed out from there could wait for itself. Only what is read ahead of all questions, outside
//! the lock, is read on all threads.

mod pairs;
#[cfg(test)]
mod tests;

use crate::{Class, Model, class};
pub(crate) use pairs::Pairs;
use rayon::prelude::*;
use std::sync::OnceLock;
use wimble_step::Row;

/// Both directions of one relation.
#[derive(Debug, Default)]
pub(crate) struct TwoWay {
    /// From the side that holds one (whole, host, type, container) to the many.
    pub(crate) down: Pairs,
    /// From each of the many to the one.
    pub(crate) up: Pairs,
}

impl TwoWay {
    fn new(pairs: &[(Row, Row)]) -> Self {
        Self { down: Pairs::new(pairs), up: Self::up(pairs) }
    }

    fn up(pairs: &[(Row, Row)]) -> Pairs {
        let turned: Vec<(Row, Row)> = pairs.iter().map(|(one, many)| (*many, *one)).collect();
        Pairs::new(&turned)
    }
}

/// The relations that have been read so far.
#[derive(Debug, Default)]
pub(crate) struct Relations {
    aggregates: OnceLock<TwoWay>,
    nests: OnceLock<TwoWay>,
    contained: OnceLock<TwoWay>,
    referenced: OnceLock<TwoWay>,
    voids: OnceLock<TwoWay>,
    fills: OnceLock<TwoWay>,
    types: OnceLock<TwoWay>,
    properties: OnceLock<TwoWay>,
    materials: OnceLock<TwoWay>,
    classifications: OnceLock<TwoWay>,
    material_properties: OnceLock<Pairs>,
    connects: OnceLock<Pairs>,
    ports: OnceLock<TwoWay>,
    port_to_port: OnceLock<Pairs>,
    groups: OnceLock<TwoWay>,
    covers: OnceLock<TwoWay>,
}

/// Positions in the records of relations: the same in all three schemas (a test holds them
/// against the tables). The first four belong to `IfcRoot`.
struct Ends {
    class: Class,
    /// Position and name of the side that holds one.
    one: (usize, &'static str),
    /// Position and name of the side that holds many.
    many: (usize, &'static str),
}

macro_rules! ends {
    ($class:literal, $one:literal $one_name:literal, $many:literal $many_name:literal) => {
        Ends { class: class!($class), one: ($one, $one_name), many: ($many, $many_name) }
    };
}

/// Relations that a thread reads in one piece.
const PIECE: usize = 1 << 12;

const AGGREGATES: Ends = ends!("IfcRelAggregates", 4 "RelatingObject", 5 "RelatedObjects");
const NESTS: Ends = ends!("IfcRelNests", 4 "RelatingObject", 5 "RelatedObjects");
const CONTAINED: Ends =
    ends!("IfcRelContainedInSpatialStructure", 5 "RelatingStructure", 4 "RelatedElements");
const REFERENCED: Ends =
    ends!("IfcRelReferencedInSpatialStructure", 5 "RelatingStructure", 4 "RelatedElements");
const VOIDS: Ends =
    ends!("IfcRelVoidsElement", 4 "RelatingBuildingElement", 5 "RelatedOpeningElement");
const FILLS: Ends =
    ends!("IfcRelFillsElement", 4 "RelatingOpeningElement", 5 "RelatedBuildingElement");
const TYPES: Ends = ends!("IfcRelDefinesByType", 5 "RelatingType", 4 "RelatedObjects");
const PROPERTIES: Ends =
    ends!("IfcRelDefinesByProperties", 5 "RelatingPropertyDefinition", 4 "RelatedObjects");
const MATERIALS: Ends = ends!("IfcRelAssociatesMaterial", 5 "RelatingMaterial", 4 "RelatedObjects");
const CLASSIFICATIONS: Ends =
    ends!("IfcRelAssociatesClassification", 5 "RelatingClassification", 4 "RelatedObjects");
const CONNECTS: Ends = ends!("IfcRelConnectsElements", 5 "RelatingElement", 6 "RelatedElement");
const PORT_TO_ELEMENT: Ends =
    ends!("IfcRelConnectsPortToElement", 5 "RelatedElement", 4 "RelatingPort");
const PORTS: Ends = ends!("IfcRelConnectsPorts", 4 "RelatingPort", 5 "RelatedPort");
const GROUPS: Ends = ends!("IfcRelAssignsToGroup", 6 "RelatingGroup", 4 "RelatedObjects");
const COVERS: Ends =
    ends!("IfcRelCoversBldgElements", 4 "RelatingBuildingElement", 5 "RelatedCoverings");
/// `IfcRelConnectsWithRealizingElements` only.
const REALIZING: usize = 7;

impl Model<'_> {
    /// Reads all relations of a kind as pairs of the one and each of the many, in file order.
    fn pairs(&self, ends: &Ends) -> Vec<(Row, Row)> {
        self.pairs_in(ends, &self.rows_of_class(ends.class))
    }

    /// Reads some relations of a kind.
    fn pairs_in(&self, ends: &Ends, relations: &[Row]) -> Vec<(Row, Row)> {
        let mut pairs = Vec::new();
        let mut ones = Vec::new();
        let mut many = Vec::new();
        for &relation in relations {
            let record = self.step().record(relation);
            ones.clear();
            many.clear();
            self.gather(relation, record.get(ends.one.0), &mut |at| ones.push(at));
            self.gather(relation, record.get(ends.many.0), &mut |at| many.push(at));
            if ones.is_empty() || many.is_empty() {
                let empty = if ones.is_empty() { ends.one.1 } else { ends.many.1 };
                let label = self.label(relation);
                self.note(relation, format!("{label} relates nothing: its {empty} is empty"));
            }
            for one in &ones {
                pairs.extend(many.iter().map(|other| (*one, *other)));
            }
        }
        pairs
    }

    fn two_way(&self, ends: &Ends) -> TwoWay {
        TwoWay::new(&self.pairs(ends))
    }

    pub(crate) fn aggregates(&self) -> &TwoWay {
        self.relations.aggregates.get_or_init(|| self.two_way(&AGGREGATES))
    }

    /// Nesting of anything but ports.
    pub(crate) fn nests(&self) -> &TwoWay {
        self.relations.nests.get_or_init(|| {
            let mut pairs = self.pairs(&NESTS);
            pairs.retain(|(_, part)| !self.is_a(*part, class!("IfcPort")));
            TwoWay::new(&pairs)
        })
    }

    pub(crate) fn contained(&self) -> &TwoWay {
        self.relations.contained.get_or_init(|| self.two_way(&CONTAINED))
    }

    pub(crate) fn referenced(&self) -> &TwoWay {
        self.relations.referenced.get_or_init(|| self.two_way(&REFERENCED))
    }

    pub(crate) fn voided(&self) -> &TwoWay {
        self.relations.voids.get_or_init(|| self.two_way(&VOIDS))
    }

    pub(crate) fn filled(&self) -> &TwoWay {
        self.relations.fills.get_or_init(|| self.two_way(&FILLS))
    }

    pub(crate) fn types(&self) -> &TwoWay {
        self.relations.types.get_or_init(|| self.two_way(&TYPES))
    }

    pub(crate) fn property_definitions(&self) -> &TwoWay {
        self.relations.properties.get_or_init(|| self.two_way(&PROPERTIES))
    }

    pub(crate) fn material_definitions(&self) -> &TwoWay {
        self.relations.materials.get_or_init(|| self.two_way(&MATERIALS))
    }

    pub(crate) fn classified(&self) -> &TwoWay {
        self.relations.classifications.get_or_init(|| {
            let mut pairs = self.pairs(&CLASSIFICATIONS);
            // Materials and other resources have relations of their own.
            for (class, one, many) in [
                (
                    class!("IfcMaterialClassificationRelationship"),
                    "MaterialClassifications",
                    "ClassifiedMaterial",
                ),
                (
                    class!("IfcExternalReferenceRelationship"),
                    "RelatingReference",
                    "RelatedResourceObjects",
                ),
            ] {
                for row in self.rows_of_class(class) {
                    let many = self.references(row, many);
                    for one in self.references(row, one) {
                        pairs.extend(many.iter().map(|other| (one, *other)));
                    }
                }
            }
            pairs.retain(|(one, _)| {
                self.is_a(*one, class!("IfcClassificationReference"))
                    || self.is_a(*one, class!("IfcClassification"))
                    || self.is_a(*one, class!("IfcClassificationNotation"))
            });
            TwoWay::new(&pairs)
        })
    }

    /// From a material to its `IfcMaterialProperties`.
    pub(crate) fn properties_of_materials(&self) -> &Pairs {
        self.relations.material_properties.get_or_init(|| {
            let rows = self.rows_of_class(class!("IfcMaterialProperties"));
            let pairs: Vec<(Row, Row)> = rows
                .into_iter()
                .filter_map(|row| Some((self.reference(row, "Material")?, row)))
                .collect();
            Pairs::new(&pairs)
        })
    }

    /// Elements that a relation joins, both ways, with the elements that realise the joint.
    pub(crate) fn joined(&self) -> &Pairs {
        self.relations.connects.get_or_init(|| {
            let mut pairs = Vec::new();
            for relation in self.rows_of_class(CONNECTS.class) {
                let mut rows = self.references_at(relation, CONNECTS.one.0);
                rows.extend(self.references_at(relation, CONNECTS.many.0));
                if self.is_a(relation, class!("IfcRelConnectsWithRealizingElements")) {
                    rows.extend(self.references_at(relation, REALIZING));
                }
                both_ways(&rows, &mut pairs);
            }
            Pairs::new(&pairs)
        })
    }

    /// Ports of elements, by nesting or by the relation of IFC2X3.
    pub(crate) fn ports_of_elements(&self) -> &TwoWay {
        self.relations.ports.get_or_init(|| {
            let mut pairs = self.pairs(&PORT_TO_ELEMENT);
            let nested = self.pairs(&NESTS);
            pairs.extend(nested.iter().filter(|(_, part)| self.is_a(*part, class!("IfcPort"))));
            TwoWay::new(&pairs)
        })
    }

    pub(crate) fn ports_of_ports(&self) -> &Pairs {
        self.relations.port_to_port.get_or_init(|| {
            let mut pairs = Vec::new();
            for (one, other) in self.pairs(&PORTS) {
                both_ways(&[one, other], &mut pairs);
            }
            Pairs::new(&pairs)
        })
    }

    pub(crate) fn groups(&self) -> &TwoWay {
        self.relations.groups.get_or_init(|| self.two_way(&GROUPS))
    }

    pub(crate) fn covered(&self) -> &TwoWay {
        self.relations.covers.get_or_init(|| self.two_way(&COVERS))
    }

    /// Sets of properties are related to elements one by one, so that these relations are the most.
    fn read_property_definitions(&self) {
        let relations = self.rows_of_class(PROPERTIES.class);
        let parts = relations.par_chunks(PIECE).map(|part| self.pairs_in(&PROPERTIES, part));
        let pairs = parts.collect::<Vec<_>>().concat();
        let (down, up) = rayon::join(|| Pairs::new(&pairs), || TwoWay::up(&pairs));
        self.relations.properties.get_or_init(|| TwoWay { down, up });
    }

    /// Reads all relations now, on all threads: a saving of time where all will be asked for.
    pub fn read_ahead(&self) {
        rayon::scope(|scope| {
            scope.spawn(|_| self.read_property_definitions());
            scope.spawn(|_| _ = self.products());
            scope.spawn(|_| _ = self.types());
            scope.spawn(|_| _ = self.material_definitions());
            scope.spawn(|_| _ = self.contained());
            scope.spawn(|_| _ = self.ports_of_elements());
            scope.spawn(|_| {
                self.aggregates();
                self.nests();
                self.voided();
                self.filled();
                self.groups();
                self.covered();
                self.joined();
                self.ports_of_ports();
                self.classified();
                self.properties_of_materials();
            });
        });
    }
}

/// All pairs of different rows, each way.
fn both_ways(rows: &[Row], pairs: &mut Vec<(Row, Row)>) {
    for one in rows {
        pairs.extend(rows.iter().filter(|other| *other != one).map(|other| (*one, *other)));
    }
}
