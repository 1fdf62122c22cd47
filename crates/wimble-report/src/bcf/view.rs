//! The viewpoint: camera, what is selected, in which tones.

use super::Version;
use super::camera::{ASPECT, Camera, FIELD_DEG};
use super::topic::Topic;
use super::xml::Node;
use crate::{Report, drawing};
use glam::DVec3;
use std::collections::{BTreeMap, BTreeSet};
use wimble_model::{Element, Verdict};

/// Readers grow slow on long selections.
const MOST_COMPONENTS: usize = 500;

/// The viewpoint of a topic without its id, which is made from it.
pub(crate) fn info(report: &Report, topic: &Topic, camera: &Camera, version: Version) -> Node {
    let mut node = Node::new("VisualizationInfo")
        .of([components(report, topic, version), perspective(camera, version)]);
    if let Some([location, direction]) = camera.deck {
        let plane = Node::new("ClippingPlane")
            .of([point("Location", location), point("Direction", direction)]);
        node.children.push(Node::new("ClippingPlanes").of([plane]));
    }
    node
}

fn perspective(camera: &Camera, version: Version) -> Node {
    let mut node = Node::new("PerspectiveCamera").of([
        point("CameraViewPoint", camera.at),
        point("CameraDirection", camera.direction),
        point("CameraUpVector", camera.up),
        Node::leaf("FieldOfView", FIELD_DEG.to_string()),
    ]);
    if version == Version::V3 {
        node.children.push(Node::leaf("AspectRatio", number(ASPECT)));
    }
    node
}

/// Metres and directions as the JSON report rounds them.
fn point(name: &str, at: DVec3) -> Node {
    Node::new(name).of([
        Node::leaf("X", number(at.x)),
        Node::leaf("Y", number(at.y)),
        Node::leaf("Z", number(at.z)),
    ])
}

fn number(value: f64) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    format!("{}", crate::number::round(value, 1e6))
}

fn components(report: &Report, topic: &Topic, version: Version) -> Node {
    let members = topic.members.iter().filter_map(|ix| report.members.get(ix.at()));
    let services = topic.services.iter().filter_map(|ix| report.services.get(ix.at()));
    let openings = topic.cuts.iter().filter_map(|ix| report.cuts.get(ix.at()));
    let openings = openings.flat_map(|cut| &cut.openings);
    let openings = openings.filter_map(|ix| report.openings.get(ix.at()));
    let mut seen = BTreeSet::new();
    let selected: Vec<Node> = members
        .clone()
        .map(|m| &m.element)
        .chain(services.clone().map(|s| &s.element))
        .chain(openings.map(|o| &o.element))
        .filter(|element| seen.insert(element.guid.clone()))
        .take(MOST_COMPONENTS)
        .map(component)
        .collect();
    let hints = Node::new("ViewSetupHints")
        .with("SpacesVisible", "false")
        .with("SpaceBoundariesVisible", "false")
        .with("OpeningsVisible", "false");
    let mut visibility = Node::new("Visibility").with("DefaultVisibility", "true");
    let mut node = Node::new("Components");
    match version {
        Version::V2 => node.children.push(hints),
        Version::V3 => visibility.children.push(hints),
    }
    if !selected.is_empty() {
        node.children.push(Node::new("Selection").of(selected));
    }
    node.children.push(visibility);
    let mut tones: BTreeMap<&str, BTreeMap<&str, &Element>> = BTreeMap::new();
    for (at, member) in topic.members.iter().zip(members) {
        let worst = topic.cuts.iter().filter_map(|ix| report.cuts.get(ix.at()));
        let worst = worst.filter(|cut| cut.member == *at).map(|cut| cut.verdict).max();
        let tone = drawing::tone(worst.unwrap_or(topic.verdict));
        tones.entry(tone).or_default().insert(&member.element.guid, &member.element);
    }
    for service in services {
        let tone = drawing::tone(Verdict::Pass);
        tones.entry(tone).or_default().insert(&service.element.guid, &service.element);
    }
    let colours = tones.into_iter().map(|(tone, elements)| {
        let parts = elements.into_values().take(MOST_COMPONENTS).map(component);
        let colour = Node::new("Color").with("Color", tone.trim_start_matches('#'));
        match version {
            Version::V2 => colour.of(parts),
            Version::V3 => colour.of([Node::new("Components").of(parts)]),
        }
    });
    let colours: Vec<Node> = colours.collect();
    if !colours.is_empty() {
        node.children.push(Node::new("Coloring").of(colours));
    }
    node
}

/// A GlobalId where the model has a proper one, else the label that it has.
fn component(element: &Element) -> Node {
    let node = Node::new("Component");
    let proper = element.guid.len() == 22
        && element.guid.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'$');
    if proper {
        return node.with("IfcGuid", element.guid.as_str());
    }
    let label = crate::say::plain(&element.guid);
    let label = if label.is_empty() { format!("#{}", element.instance) } else { label };
    node.of([Node::leaf("AuthoringToolId", label)])
}
