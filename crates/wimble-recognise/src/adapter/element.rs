//! One element of a file as a candidate.

use super::shared::Shared;
use crate::candidate::{Candidate, Family, Item, More, OfType, StatedSize};
use crate::place::is_load;
use compact_str::{CompactString, format_compact};
use glam::DAffine3;
use rustc_hash::FxHashMap;
use thin_vec::ThinVec;
use wimble_geom::Solid;
use wimble_ifc::{Body, Class, Model, PropertyValue, Root, Unreadable};
use wimble_model::Element;
use wimble_step::{Record, Row};

/// Properties that name the outside diameter, then the width and the height of a duct or a carrier.
/// A pipe's nominal size is not its outside.
const SIZES: [&str; OUTSIDE + WIDTH + 2] = [
    "OuterDiameter",
    "OutsideDiameter",
    "Outer Diameter",
    "Outside Diameter",
    "NominalWidth",
    "NominalDiameterOrWidth",
    "Width",
    "NominalHeight",
    "Height",
];
/// How many of them name the outside diameter, and the width.
const OUTSIDE: usize = 4;
const WIDTH: usize = 3;
/// Properties and quantities that name the thickness of a covering.
const THICKNESS: [&str; 5] =
    ["TotalThickness", "Thickness", "Insulation Thickness", "InsulationThickness", "Width"];
/// Whether a part of the building carries, and properties that speak of its material.
const BUILT: [&str; 7] = [
    "LoadBearing",
    "Species",
    "StrengthGrade",
    "StrengthClass",
    "Strength Class",
    "Grade",
    "Structural Material",
];

/// Reads the elements of one file.
pub(super) struct Reader<'a, 'b> {
    model: &'a Model<'b>,
    input: u32,
    shift: &'a Option<DAffine3>,
    storeys: &'a FxHashMap<(u32, Row), u32>,
    /// The candidate of the first product; the others follow in their order.
    first: u32,
    /// Whether the user says of some elements what they are.
    mapped: bool,
}

impl<'a, 'b> Reader<'a, 'b> {
    /// A reader whose products are candidates from `first` on.
    pub(super) fn new(
        model: &'a Model<'b>,
        input: u32,
        first: u32,
        shift: &'a Option<DAffine3>,
        storeys: &'a FxHashMap<(u32, Row), u32>,
        mapped: bool,
    ) -> Self {
        Self { model, input, shift, storeys, first, mapped }
    }

    /// One product.
    pub(super) fn candidate(&self, row: Row, shared: &mut Shared<'a, '_>) -> Candidate {
        let model = self.model;
        let record = model.step().record(row);
        let root = model.root_of(&record);
        let class = model.class(row);
        let family = class.map_or(Family::Other, |class| shared.family(class));
        let mut candidate = Candidate {
            element: Element {
                input: self.input,
                instance: model.step().name(row),
                guid: root.guid.as_ref().into(),
                class: class.map_or_else(|| model.step().keyword(row).into(), |c| c.name().into()),
                name: root.name.as_deref().map(Into::into),
                tag: root.tag.as_deref().filter(|tag| !tag.trim().is_empty()).map(Into::into),
                item: None,
            },
            family,
            of_type: shared.of_type(of_type(&root)),
            storey: model.storey(row).and_then(|s| self.storeys.get(&(self.input, s)).copied()),
            whole: model.whole(row).and_then(|whole| self.at(whole)),
            has_parts: !model.parts(row).is_empty(),
            ..shared.blank.clone()
        };
        let virtual_element = candidate.element.class == "IfcVirtualElement";
        if matches!(family, Family::Spatial | Family::PortOrAnnotation) && !virtual_element {
            return candidate;
        }
        let mut more = More::default();
        self.relations(row, &mut candidate, &mut more, shared);
        self.said(row, &mut candidate, &mut more, shared);
        self.shape(record, &mut candidate, &mut more, shared);
        candidate.more = (more != More::default()).then(|| Box::new(more));
        candidate
    }

    fn at(&self, row: Row) -> Option<u32> {
        // Products come by their rows.
        let place = self.model.products().binary_search(&row).ok()?;
        self.first.checked_add(u32::try_from(place).ok()?)
    }

    fn relations(
        &self,
        row: Row,
        candidate: &mut Candidate,
        more: &mut More,
        shared: &mut Shared<'_, '_>,
    ) {
        let model = self.model;
        let all = |rows: &[Row]| rows.iter().filter_map(|&r| self.at(r)).collect();
        more.connected = all(model.connections(row));
        if candidate.family == Family::Opening {
            candidate.host = model.host(row).and_then(|host| self.at(host));
            candidate.filled = !model.fillings(row).is_empty();
            return;
        }
        if candidate.family.is_flow() || candidate.family == Family::Proxy {
            more.joined = all(&model.connected(row));
            more.coverings = all(&model.coverings(row));
            candidate.systems = shared.systems(row);
            candidate.covers = model.covers(row);
        }
    }

    fn said(
        &self,
        row: Row,
        candidate: &mut Candidate,
        more: &mut More,
        shared: &mut Shared<'_, '_>,
    ) {
        let model = self.model;
        candidate.materials = shared.materials(row);
        if candidate.family.is_flow() {
            more.stated = self.stated(row);
            return;
        }
        if candidate.family == Family::Covering {
            let found = model.properties_named(row, THICKNESS);
            more.thickness_m = found.iter().flatten().find_map(PropertyValue::length_m);
        }
        if candidate.family.is_built() {
            let [load_bearing, material @ ..] = model.properties_named(row, BUILT);
            candidate.load_bearing = load_bearing.and_then(|value| value.boolean());
            let texts = material.iter().flatten().filter_map(PropertyValue::text);
            more.property_text = texts.collect::<Vec<_>>().join(" / ");
        }
    }

    /// The outside size that a service's properties state.
    fn stated(&self, row: Row) -> Option<StatedSize> {
        let found = self.model.properties_named(row, SIZES);
        let length = |values: &[Option<PropertyValue>]| {
            let found = values.iter().flatten().find_map(PropertyValue::length_m);
            found.filter(|m| m.is_finite() && *m > 0.0)
        };
        let (outside, sides) = found.split_at(OUTSIDE);
        let (width, height) = sides.split_at(WIDTH);
        length(outside)
            .map(StatedSize::Round)
            .or_else(|| Some(StatedSize::Rectangle(length(width)?, length(height)?)))
    }

    fn shape(
        &self,
        record: Record<'a>,
        candidate: &mut Candidate,
        more: &mut More,
        shared: &Shared<'a, '_>,
    ) {
        if !self.is_looked_at(candidate) {
            return;
        }
        let row = record.row();
        let body = match candidate.family {
            Family::Opening => shared.bodies.opening_solids_of(record),
            _ => shared.bodies.body_of(record),
        };
        candidate.lines_only = body.is_lines_only();
        candidate.items = self.items(body);
        // A service whose body cannot be read still crosses something along its axis.
        let service = candidate.family.is_flow()
            || candidate.family == Family::Proxy && !candidate.systems.is_empty();
        if service && candidate.solids().next().is_none() {
            let moved = |p| self.shift.map_or(p, |shift| shift.transform_point3(p));
            let lines = self.model.lines(row).into_iter();
            more.lines = lines.map(|line| line.into_iter().map(moved).collect()).collect();
        }
    }

    /// Doors, furniture and the like are never looked at closely, however many faces they have; what
    /// may load a floor is.
    fn is_looked_at(&self, candidate: &Candidate) -> bool {
        match candidate.family {
            Family::Fitting | Family::Reinforcement | Family::Feature => false,
            Family::Furnishing => self.mapped || is_load(candidate),
            _ => true,
        }
    }

    fn items(&self, body: Body) -> ThinVec<Item> {
        fitted(body.items.into_iter().map(|item| Item {
            index: item.index,
            solid: self.moved(item.solid),
            subtracted: fitted(item.subtracted.into_iter().map(|s| self.moved(s.solid))),
        }))
    }

    fn moved(&self, solid: Result<Solid, Unreadable>) -> Result<Solid, String> {
        let solid = solid.map_err(|trouble| trouble.reason)?;
        match self.shift {
            None => Ok(solid),
            Some(shift) => solid
                .transformed(shift)
                .ok_or_else(|| "it is flattened by its file's map conversion".to_owned()),
        }
    }
}

fn of_type(root: &Root<'_>) -> OfType {
    let (object, name) = (root.object_type.as_deref(), root.type_name.as_deref());
    OfType {
        class: root.type_class.map_or("", Class::name),
        predefined: predefined(root),
        text: match (object, name) {
            (Some(object), Some(name)) => format_compact!("{object} / {name}"),
            (one, other) => one.or(other).unwrap_or("").into(),
        }
        .into(),
        name: name.or(object).unwrap_or("").into(),
    }
}

/// In capitals, as most are written.
fn predefined(root: &Root<'_>) -> CompactString {
    let own = root.predefined_type.as_deref().unwrap_or("");
    if own.bytes().all(|byte| byte.is_ascii_uppercase()) {
        own.into()
    } else {
        own.to_uppercase().into()
    }
}

/// A list that keeps no room to grow: a model has one for every element.
fn fitted<T>(all: impl ExactSizeIterator<Item = T>) -> ThinVec<T> {
    let mut list = ThinVec::with_capacity(all.len());
    list.extend(all);
    list
}
