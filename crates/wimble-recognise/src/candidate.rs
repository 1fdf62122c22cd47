//! What the files say of one element, as plain values.
//!
//! Recognition works on these alone, so it can be tried without any file; `adapter` makes them
//! from IFC.

use crate::sorting::{Sort, names};
use crate::words::{Said, Topic, Topics, topics};
use compact_str::{CompactString, format_compact};
use glam::DVec3;
use std::sync::{Arc, OnceLock};
use thin_vec::ThinVec;
use wimble_geom::Solid;
use wimble_model::Element;

/// What the files say of one element.
#[derive(Debug, Clone, Default)]
pub(crate) struct Candidate {
    /// Where it came from.
    pub(crate) element: Element,
    /// What its class makes it.
    pub(crate) family: Family,
    /// What its type says: those of one type share it.
    pub(crate) of_type: Arc<OfType>,
    /// Its materials: those of one kind share them.
    pub(crate) materials: Arc<Materials>,
    /// `LoadBearing`.
    pub(crate) load_bearing: Option<bool>,
    /// Storey: index into the merged list.
    pub(crate) storey: Option<u32>,
    /// The whole that it is a part of.
    pub(crate) whole: Option<u32>,
    /// Whether it covers something.
    pub(crate) covers: bool,
    /// Whether it has parts of its own.
    pub(crate) has_parts: bool,
    /// The element that it is an opening in.
    pub(crate) host: Option<u32>,
    /// Whether something (a door, a pipe) is said to fill it.
    pub(crate) filled: bool,
    /// Systems it belongs to: name, object type and predefined type of each.
    pub(crate) systems: Arc<[System]>,
    /// Solids of its body.
    pub(crate) items: ThinVec<Item>,
    /// Whether it is drawn with lines only: it has no body, and nothing failed to be read.
    pub(crate) lines_only: bool,
    /// What few elements have: [`Candidate::more`].
    pub(crate) more: Option<Box<More>>,
    /// What its name and type speak of, once it has been asked.
    pub(crate) names: OnceLock<Topics>,
}

/// What the type of an element says.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub(crate) struct OfType {
    /// Class of the type, if any (`IfcPipeSegmentType`: what IFC2X3 tells services apart by).
    pub(crate) class: &'static str,
    /// Effective predefined type, upper case.
    pub(crate) predefined: CompactString,
    /// `ObjectType` and the names of the type, with blanks between.
    pub(crate) text: Said,
    /// Names of the types alone, for the user's mapping.
    pub(crate) name: CompactString,
}

/// What few elements have, or what is asked of them at the first look alone.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct More {
    /// Species, strength grade and the like from its properties.
    pub(crate) property_text: String,
    /// Outside size that its properties state.
    pub(crate) stated: Option<StatedSize>,
    /// Elements joined to it through ports.
    pub(crate) joined: Vec<u32>,
    /// Elements that a relationship says it is connected to.
    pub(crate) connected: Vec<u32>,
    /// Coverings of it (lagging).
    pub(crate) coverings: Vec<u32>,
    /// Lines that stand for it where it has no solid.
    pub(crate) lines: Vec<Vec<DVec3>>,
    /// Thickness that a covering's properties state, metres.
    pub(crate) thickness_m: Option<f64>,
}

/// What most elements have.
static NO_MORE: More = More {
    property_text: String::new(),
    stated: None,
    joined: Vec::new(),
    connected: Vec::new(),
    coverings: Vec::new(),
    lines: Vec::new(),
    thickness_m: None,
};

/// Outside size of a service as its properties state it, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum StatedSize {
    /// Diameter.
    Round(f64),
    /// Width (level) and height.
    Rectangle(f64, f64),
}

/// A system as its model names it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct System {
    /// Name, for a person.
    pub(crate) name: Arc<str>,
    /// Everything else that it says of itself.
    pub(crate) text: String,
}

/// One solid of a body.
#[derive(Debug, Clone)]
pub(crate) struct Item {
    /// Its number in the body.
    pub(crate) index: u32,
    /// The solid with its half-space clips, or why it could not be read.
    pub(crate) solid: Result<Solid, String>,
    /// What a boolean difference takes out of it, not yet taken out.
    pub(crate) subtracted: ThinVec<Result<Solid, String>>,
}

/// Materials of an element.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Materials {
    /// Whether they are layers of a wall or slab.
    pub(crate) layered: bool,
    /// In the order given.
    pub(crate) entries: Vec<Material>,
    /// What the first is called for a person, once it has been asked.
    called: OnceLock<Option<Arc<str>>>,
    /// What they all speak of, once it has been asked.
    topics: OnceLock<Topics>,
}

impl Materials {
    /// Materials in the order given.
    pub(crate) fn new(layered: bool, entries: Vec<Material>) -> Self {
        Self { layered, entries, called: OnceLock::new(), topics: OnceLock::new() }
    }

    /// What they all speak of.
    pub(crate) fn topics(&self) -> Topics {
        *self.topics.get_or_init(|| {
            let texts = self.entries.iter().flat_map(|material| [&material.name, &material.text]);
            texts.fold(Topics::NONE, |all, text| all.or(topics(text)))
        })
    }

    /// The first as the model names it, with its grade where the name does not say it; what else it
    /// says only where it has no name.
    pub(crate) fn called(&self) -> Option<Arc<str>> {
        self.called.get_or_init(|| self.entries.first()?.called()).clone()
    }
}

/// One material of an element.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Material {
    /// Its name.
    pub(crate) name: String,
    /// Category, grade, species, layer name: whatever else it says.
    pub(crate) text: String,
    /// Strength grade, if one is stated.
    pub(crate) grade: Option<String>,
    /// Thickness of the layer, metres.
    pub(crate) thickness_m: Option<f64>,
}

impl Material {
    fn called(&self) -> Option<Arc<str>> {
        let name = self.name.trim();
        if name.is_empty() {
            return (!self.text.is_empty()).then(|| self.text.replace(" / ", " ").into());
        }
        let grade = self.grade.as_deref().map(str::trim).filter(|grade| !name.contains(grade));
        Some(grade.map_or_else(|| name.into(), |grade| format!("{name} {grade}").into()))
    }
}

/// What a class makes an element, before anything else is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub(crate) enum Family {
    /// Beam.
    Beam,
    /// Member: rafters, studs, purlins, mullions.
    Member,
    /// Column.
    Column,
    /// Plate.
    Plate,
    /// Slab.
    Slab,
    /// Wall, curtain walls left out.
    Wall,
    /// Roof.
    Roof,
    /// Footing or pile.
    Footing,
    /// Stair, ramp and their flights.
    Stair,
    /// Part of a building element (a layer, often).
    Part,
    /// Assembly of elements.
    Assembly,
    /// Proxy: the author had no class for it.
    Proxy,
    /// Fasteners and accessories: hangers, plates, bolts.
    Fastener,
    /// Covering: finishes, ceilings, lagging.
    Covering,
    /// Door, window, curtain wall, railing.
    Fitting,
    /// Furniture and equipment that are no services.
    Furnishing,
    /// Reinforcement.
    Reinforcement,
    /// Flow segment: pipe, duct, cable, carrier.
    FlowSegment,
    /// Flow fitting.
    FlowFitting,
    /// Flow terminal, controller, moving device and the rest of distribution.
    FlowTerminal,
    /// Opening in another element, or a feature that voids it.
    Opening,
    /// Other features (projections, surface features).
    Feature,
    /// Site, building, storey, space, zone.
    Spatial,
    /// Port, annotation, grid, virtual element.
    PortOrAnnotation,
    /// Anything else.
    #[default]
    Other,
}

impl Family {
    /// Whether elements of it are pieces or planes of a building's structure.
    pub(crate) const fn is_built(self) -> bool {
        matches!(
            self,
            Self::Beam
                | Self::Member
                | Self::Column
                | Self::Plate
                | Self::Slab
                | Self::Wall
                | Self::Roof
                | Self::Footing
                | Self::Stair
                | Self::Part
                | Self::Assembly
                | Self::Proxy
                | Self::Other
        )
    }

    /// Whether elements of it are distribution elements.
    pub(crate) const fn is_flow(self) -> bool {
        matches!(self, Self::FlowSegment | Self::FlowFitting | Self::FlowTerminal)
    }
}

impl Candidate {
    /// What few elements have.
    pub(crate) fn more(&self) -> &More {
        self.more.as_deref().unwrap_or(&NO_MORE)
    }

    /// What few elements have, to be filled in.
    #[cfg(test)]
    pub(crate) fn more_mut(&mut self) -> &mut More {
        self.more.get_or_insert_default()
    }

    /// Lets go of what nothing asks of it any more once it was looked at alone: most of what a
    /// building takes in memory.
    pub(crate) fn let_go(&mut self, sort: &Sort) {
        if let Some(more) = &mut self.more {
            more.property_text = String::new();
            // A size that is stated is asked for only where no solid has one.
            if matches!(sort, Sort::Service(served) if !served.shapes.is_empty()) {
                more.stated = None;
            }
        }
        self.more = self.more.take().filter(|more| **more != NO_MORE);
        let done = match sort {
            // Its sticks stand for its solids, unless it may be the web of something or lie on it.
            Sort::Members(sticks) => {
                matches!(self.family, Family::Beam | Family::Member | Family::Column)
                    && self.whole.is_none()
                    && sticks.joined.len() == 1
                    && self.items.iter().all(|item| item.subtracted.is_empty())
                    && !names(self).has(Topic::Packing)
            }
            Sort::Service(_) => {
                matches!(self.family, Family::FlowSegment | Family::FlowFitting) && !self.covers
            }
            _ => false,
        };
        if done && self.trouble().is_none() && self.solids().next().is_some() {
            self.items = ThinVec::new();
        }
    }

    /// Name for a person: its own, else its class and GlobalId.
    pub(crate) fn called(&self) -> CompactString {
        match &self.element.name {
            Some(name) if !name.trim().is_empty() => name.clone(),
            _ => format_compact!("{} {}", self.element.class, self.element.guid),
        }
    }

    /// Its solids that could be read.
    pub(crate) fn solids(&self) -> impl Iterator<Item = (&Item, &Solid)> {
        self.items.iter().filter_map(|item| item.solid.as_ref().ok().map(|solid| (item, solid)))
    }

    /// The first reason why an item could not be read.
    pub(crate) fn trouble(&self) -> Option<&str> {
        self.items.iter().find_map(|item| item.solid.as_ref().err().map(String::as_str))
    }
}
