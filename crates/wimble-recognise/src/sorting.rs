//! The first look at each element: member, service, possible support, or none of them.

use crate::candidate::{Candidate, Family, Item};
use crate::services::{Bare, bare};
use crate::settings::{Mapping, Subject, Take};
use crate::stick::{Figure, Items, Joined, Members, join};
use crate::timber::{Evidence, ShapeHint};
use crate::words::{Topic, Topics, topics};
use smallvec::SmallVec;
use wimble_model::{MemberKind, Section, ServiceKind};

/// What an element is at first sight.
#[derive(Debug, Clone)]
pub(crate) enum Sort {
    /// Timber sticks.
    Members(Box<Sticks>),
    /// A thin board that may be the web of an I-joist.
    Web(Box<Joined>),
    /// A service.
    Service(Box<Served>),
    /// May carry members (`Some(true)`: the user says so).
    Carrier(Option<bool>, Box<str>),
    /// A hanger, shoe or other fastener.
    Fastener,
    /// Timber as a layer only.
    LayerOnly(Box<str>),
    /// An opening or voiding feature.
    Opening,
    /// A provision for a void: asked for, not cut.
    Provision,
    /// A covering.
    Covering,
    /// Part of the spatial structure.
    Spatial,
    /// Port, annotation, grid.
    PortOrAnnotation,
    /// Has no shape.
    NoShape,
    /// Its shape could not be read.
    Unreadable(Box<str>),
    /// The user ignores it.
    Ignored,
    /// Nothing to do with the check, and why.
    Other(Box<str>),
}

/// There is one for every element.
const _: () = assert!(size_of::<Sort>() <= 24, "a sort has grown");

/// Timber at first sight.
#[derive(Debug, Clone)]
pub(crate) struct Sticks {
    /// Its members.
    pub(crate) joined: Members,
    /// Why.
    pub(crate) evidence: Evidence,
    /// What the user says it is.
    pub(crate) kind: Option<MemberKind>,
}

/// A service at first sight.
#[derive(Debug, Clone, Default)]
pub(crate) struct Served {
    /// The kind that the user gives, if any.
    pub(crate) told: Option<ServiceKind>,
    /// Its solids, each with its number if they are several.
    pub(crate) shapes: SmallVec<[(Option<u32>, Box<Bare>); 1]>,
}

impl Served {
    fn sort(candidate: &Candidate, told: Option<ServiceKind>) -> Sort {
        let several = candidate.items.len() > 1;
        let number = |item: &Item| several.then_some(item.index);
        let shape = |(item, solid)| (number(item), Box::new(bare(solid)));
        Sort::Service(Box::new(Self { told, shapes: candidate.solids().map(shape).collect() }))
    }
}

/// What an element is at first sight.
pub(crate) fn sort(candidate: &Candidate, storey: &str, mapping: &[Mapping]) -> Sort {
    let take = mapped(candidate, storey, mapping);
    match take {
        Some(Take::Ignore) => return Sort::Ignored,
        Some(Take::Service(kind)) => return Served::sort(candidate, Some(kind)),
        Some(Take::Support(carries)) => {
            return Sort::Carrier(Some(carries), "the settings say so".into());
        }
        _ => {}
    }
    if is_requested_void(candidate) {
        return Sort::Provision;
    }
    match candidate.family {
        Family::Opening => return Sort::Opening,
        Family::Covering => return Sort::Covering,
        Family::Spatial => return Sort::Spatial,
        Family::PortOrAnnotation => return Sort::PortOrAnnotation,
        Family::FlowSegment | Family::FlowFitting | Family::FlowTerminal
            if !matches!(take, Some(Take::Member(_))) =>
        {
            return if is_gutter(candidate) {
                Sort::Other("a gutter: outside the building".into())
            } else {
                Served::sort(candidate, None)
            };
        }
        _ => {}
    }
    if let Some(why) = never_looked_at(candidate.family) {
        return Sort::Other(why.into());
    }
    let names = names(candidate);
    if candidate.family == Family::Proxy && is_service_proxy(candidate, names) {
        return Served::sort(candidate, None);
    }
    if candidate.items.is_empty() || candidate.lines_only {
        return Sort::NoShape;
    }
    if candidate.solids().next().is_none() {
        return Sort::Unreadable(candidate.trouble().unwrap_or("no solid in its shape").into());
    }
    match take {
        Some(Take::Member(kind)) => {
            let joined = joined(candidate, names);
            let kind = (kind != MemberKind::Unknown).then_some(kind);
            return Sort::Members(Box::new(Sticks {
                joined,
                evidence: Evidence::of(candidate),
                kind,
            }));
        }
        Some(Take::NotTimber) => return other_than_timber(candidate, "the settings say so".into()),
        _ => {}
    }
    built(candidate, names)
}

/// Families that are neither timber, nor services, nor supports, whatever their shape.
const fn never_looked_at(family: Family) -> Option<&'static str> {
    match family {
        Family::Fitting => Some("door, window, curtain wall or railing"),
        Family::Reinforcement => Some("reinforcement"),
        Family::Feature => Some("a feature that takes nothing away"),
        Family::Furnishing => Some("furniture or equipment"),
        _ => None,
    }
}

/// What the user says an element is: the first entry that fits.
fn mapped(candidate: &Candidate, storey: &str, mapping: &[Mapping]) -> Option<Take> {
    if mapping.is_empty() {
        return None;
    }
    let materials: Vec<&str> =
        candidate.materials.entries.iter().map(|m| m.name.as_str()).collect();
    let subject = Subject {
        guid: &candidate.element.guid,
        name: candidate.element.name.as_deref().unwrap_or_default(),
        class: &candidate.element.class,
        type_name: &candidate.of_type.name,
        materials: &materials,
        storey,
    };
    mapping.iter().find(|entry| entry.selector.fits(&subject)).map(|entry| entry.take)
}

/// What its name and type speak of.
pub(crate) fn names(candidate: &Candidate) -> Topics {
    *candidate.names.get_or_init(|| {
        topics(candidate.element.name.as_deref().unwrap_or_default())
            .or(candidate.of_type.text.topics())
    })
}

/// A provision for a void: `IfcVirtualElement` (IFC4X3), a proxy that says so by its predefined
/// type (IFC4), by its object type (IFC2X3) or by its name.
fn is_requested_void(candidate: &Candidate) -> bool {
    let asks = || {
        candidate.of_type.predefined == "PROVISIONFORVOID" || names(candidate).has(Topic::Provision)
    };
    match candidate.family {
        Family::Proxy => asks(),
        Family::PortOrAnnotation => candidate.element.class == "IfcVirtualElement" && asks(),
        _ => false,
    }
}

fn is_gutter(candidate: &Candidate) -> bool {
    candidate.of_type.predefined == "GUTTER" || names(candidate).has(Topic::Gutter)
}

/// A proxy is a service if it belongs to a system, or is named as one and looks like no timber.
fn is_service_proxy(candidate: &Candidate, names: Topics) -> bool {
    const SERVICES: [Topic; 4] = [Topic::Pipe, Topic::Duct, Topic::Cable, Topic::Carrier];
    !candidate.systems.is_empty()
        || (names.has_any(&SERVICES) && !Evidence::of(candidate).is_timber())
}

/// A part of the building with a shape.
fn built(candidate: &Candidate, names: Topics) -> Sort {
    use Family::{Beam, Column, Fastener, Member, Other, Part, Plate, Proxy, Roof, Slab, Wall};
    let evidence = Evidence::of(candidate);
    match candidate.family {
        Fastener => return Sort::Fastener,
        Beam | Member | Column | Plate | Proxy | Part | Other => {}
        Wall | Slab | Roof => return plane(candidate, &evidence),
        _ => return other_than_timber(candidate, Box::default()),
    }
    let hopeless = evidence.score + 1 < 3 && evidence.against.is_empty();
    let board = evidence.material.or(evidence.text).has(Topic::Panel);
    if hopeless && !board && !matches!(candidate.family, Beam | Member | Column) {
        return other_than_timber(candidate, evidence.why_not().into());
    }
    let joined = joined(candidate, names);
    let Some(first) = joined.first() else {
        return Sort::Unreadable("its shape has no length or no breadth".into());
    };
    let shape = hint(&joined, candidate.family);
    let evidence = evidence.with_shape(shape);
    if evidence.is_timber() && shape != ShapeHint::NoStick {
        return Sort::Members(Box::new(Sticks { joined, evidence, kind: None }));
    }
    let size = [first.stick.section.breadth_mm(), first.stick.section.depth_mm()];
    let thin = size[0].min(size[1]);
    if (board || evidence.is_timber()) && thin <= 20.0 && joined.len() == 1 {
        return Sort::Web(Box::new(first.clone()));
    }
    if evidence.is_timber() {
        return Sort::Carrier(
            None,
            "timber, but a board or block rather than a member: cuts in it are not checked".into(),
        );
    }
    other_than_timber(candidate, evidence.why_not().into())
}

/// A wall, slab or roof: timber only as a layer, or something that may carry.
fn plane(candidate: &Candidate, evidence: &Evidence) -> Sort {
    let lumber = candidate.materials.entries.iter().find(|material| {
        let said = topics(&material.name).or(topics(&material.text));
        said.has_any(&[Topic::Timber, Topic::Glulam, Topic::Engineered])
            && !said.has_any(&[Topic::Panel, Topic::Steel, Topic::Concrete])
    });
    if let (Some(layer), false) = (lumber, candidate.has_parts) {
        let thick =
            layer.thickness_m.map_or_else(String::new, |t| format!(" {:.0} mm", 1000.0 * t));
        let reason = format!(
            "timber only as a layer (\"{}\"{thick}): its members are not modelled, so no cut in \
             them is checked",
            layer.name
        );
        return Sort::LayerOnly(reason.into());
    }
    let why = if lumber.is_some() { String::new() } else { evidence.why_not() };
    other_than_timber(candidate, why.into())
}

/// Not a timber member: may it carry one?
fn other_than_timber(candidate: &Candidate, why: Box<str>) -> Sort {
    use Family::{Assembly, Beam, Column, Footing, Member, Part, Plate, Proxy, Roof, Slab, Wall};
    let names = names(candidate);
    let finish = {
        let all = candidate.materials.entries.iter().map(|m| topics(&m.name));
        let finish = |t: &Topics| t.has(Topic::Finish) || t.has(Topic::Insulation);
        let all: Vec<Topics> = all.collect();
        !all.is_empty() && all.iter().all(finish)
    };
    match candidate.family {
        Wall | Slab | Footing | Beam | Column | Member | Plate if !finish => {
            Sort::Carrier(None, why)
        }
        Part if !finish => Sort::Carrier(None, why),
        Proxy if names.has_any(&[Topic::Hanger]) => Sort::Fastener,
        Proxy
            if names.has_any(&[
                Topic::Beam,
                Topic::Post,
                Topic::Steel,
                Topic::Concrete,
                Topic::Masonry,
            ]) =>
        {
            Sort::Carrier(None, why)
        }
        Roof | Assembly => {
            Sort::Other(if why.is_empty() { "no member of its own".into() } else { why })
        }
        _ if finish => Sort::Other("a finish".into()),
        _ if why.is_empty() => Sort::Other("neither timber, nor a service, nor a support".into()),
        _ => Sort::Other(why),
    }
}

/// The members that the items of an element make.
fn joined(candidate: &Candidate, names: Topics) -> Members {
    let figures = candidate.solids().map(|(_, solid)| Figure::of(solid)).collect();
    let mut joined = join(figures, None, names.has(Topic::Engineered));
    let places = candidate.items.iter().enumerate().filter(|(_, item)| item.solid.is_ok());
    let places: Items = places.map(|(at, _)| at).collect();
    for one in &mut joined {
        one.items = one.items.iter().filter_map(|&at| places.get(at).copied()).collect();
    }
    joined
}

/// What the shape of an element says.
fn hint(joined: &[Joined], family: Family) -> ShapeHint {
    let structural = matches!(family, Family::Beam | Family::Member | Family::Column);
    let hints = joined.iter().map(|one| {
        let stick = &one.stick;
        let (b, h) = (stick.section.breadth_mm(), stick.section.depth_mm());
        let (thin, thick) = (b.min(h), b.max(h));
        match stick.section {
            // Timber flanges are as thick as a stick; rolled ones are plates.
            Section::IJoist { flange_mm, .. } if flange_mm < 28.0 => ShapeHint::RolledSteel,
            Section::Other { .. } if thin < 12.0 => ShapeHint::NoStick,
            _ if thin < 12.0 || thick > 2000.0 => ShapeHint::NoStick,
            _ if !structural
                && (stick.length_mm < 2.0 * thick || thick > 8.0 * thin && thick > 450.0) =>
            {
                ShapeHint::NoStick
            }
            _ => ShapeHint::TimberStick,
        }
    });
    // One stick that is timber's is enough; rolled steel among them is not.
    hints.fold(ShapeHint::NoStick, |all, one| match (all, one) {
        (ShapeHint::RolledSteel, _) | (_, ShapeHint::RolledSteel) => ShapeHint::RolledSteel,
        (ShapeHint::TimberStick, _) | (_, ShapeHint::TimberStick) => ShapeHint::TimberStick,
        _ => ShapeHint::NoStick,
    })
}
