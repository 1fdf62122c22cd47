//! glTF 2.0 in one file (`.glb`): the building as any viewer shows it, coloured by verdict.
//!
//! A member with bad cuts has the tone of its worst; each cut has a mark that stands out of both
//! sides of its member, with the shape of its verdict (solid square, cross, disc, dashed square).
//! A legend in words stands before the model as a picture. Names and extras of the nodes say
//! in words what the tones say; the evidence (packs, inputs, assumptions, caution) is in the
//! extras of the asset.
//!
//! Single precision cannot hold map coordinates: positions are metres from a whole point near the
//! model's middle, which the extras of the root node give as `origin_m`.

mod buffer;
mod legend;
mod marks;
mod shapes;
mod tones;

#[cfg(test)]
mod tests;

use crate::{Names, Report, say};
use buffer::{Buffer, Placing};
use glam::{DQuat, DVec3};
use serde_json::{Map, Value, json};
use shapes::Shapes;
use std::collections::BTreeMap;
use std::io::{self, Write};
use tones::Tone;
use wimble_geom::Aabb;
use wimble_model::{CutIx, Element, Verdict};

/// Writes the scene.
///
/// # Errors
/// Those of the writer, and a scene too large for the format's 4 GiB.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let mut scene = Scene::new(report);
    scene.fill();
    let document = scene.document();
    scene.buffer.write_glb(&document, out)
}

/// A scene being put together.
struct Scene<'a> {
    report: &'a Report,
    names: Names,
    buffer: Buffer,
    shapes: Shapes,
    /// What is subtracted from every position.
    origin: DVec3,
    bounds: Aabb,
    nodes: Vec<Value>,
}

impl<'a> Scene<'a> {
    fn new(report: &'a Report) -> Self {
        let solids =
            report.member_solids.iter().flatten().chain(report.service_solids.iter().flatten());
        let corners = solids.flat_map(|solid| {
            let bounds = solid.bounds();
            [bounds.min, bounds.max]
        });
        let bounds = Aabb::of(corners.filter(|corner| corner.is_finite()));
        let bounds =
            if bounds.is_empty() { Aabb { min: DVec3::ZERO, max: DVec3::ONE } } else { bounds };
        Self {
            report,
            names: Names::of(report),
            buffer: Buffer::default(),
            shapes: Shapes::default(),
            origin: bounds.centre().round(),
            bounds,
            // The root comes first; its children are known at the end.
            nodes: vec![Value::Null],
        }
    }

    /// All nodes: a group for each storey that holds its members, services and marks; the legend.
    fn fill(&mut self) {
        let mut storeys: BTreeMap<(bool, Option<u32>), Vec<usize>> = BTreeMap::new();
        let of_members = worst(
            self.report.members.len(),
            self.report.cuts.iter().map(|cut| (cut.member.at(), cut.verdict)),
        );
        let of_services = worst(
            self.report.services.len(),
            self.report
                .cuts
                .iter()
                .flat_map(|cut| cut.services.iter().map(|s| (s.at(), cut.verdict))),
        );
        let mut put = |storey: Option<u32>, node: usize| {
            storeys.entry((storey.is_none(), storey)).or_default().push(node);
        };
        for (at, member) in self.report.members.iter().enumerate() {
            let verdict = of_members.get(at).copied().flatten();
            let node = self.member(at, verdict);
            put(member.storey, node);
        }
        for (at, service) in self.report.services.iter().enumerate() {
            let verdict = of_services.get(at).copied().flatten();
            if let Some(node) = self.service(at, verdict) {
                put(service.storey, node);
            }
        }
        for (at, cut) in self.report.cuts.iter().enumerate() {
            if let Some(node) = self.mark(at) {
                put(self.report.members.get(cut.member.at()).and_then(|m| m.storey), node);
            }
        }
        let mut children: Vec<usize> = storeys
            .into_iter()
            .map(|((_, storey), nodes)| {
                let name = say::storey(self.report, storey);
                self.node(json!({ "name": name, "children": nodes }))
            })
            .collect();
        children.extend(self.legend());
        // glTF is Y up, the model Z up.
        let up = DQuat::from_rotation_x(-std::f64::consts::FRAC_PI_2);
        let root = json!({
            "name": "Cuts in timber members",
            "rotation": buffer::quaternion(up),
            "children": children,
            "extras": { "origin_m": self.origin.to_array() },
        });
        if let Some(first) = self.nodes.first_mut() {
            *first = root;
        }
    }

    fn node(&mut self, node: Value) -> usize {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    fn member(&mut self, at: usize, verdict: Option<Verdict>) -> usize {
        let (report, id) = (self.report, self.names.members.get(at).cloned());
        let Some(member) = report.members.get(at) else { return self.node(json!({})) };
        let name = format!("{}, {}", say::member_name(member), said(verdict));
        let mut extras = facts(&member.element, id.as_deref(), verdict);
        extras.insert("what".into(), say::member_facts(member).into());
        let solids = report.member_solids.get(at).map(Vec::as_slice).unwrap_or_default();
        let parts: Vec<(usize, Placing)> = solids
            .iter()
            .filter_map(|solid| {
                self.shapes.solid(&mut self.buffer, solid, Tone::of_member(verdict), self.origin)
            })
            .collect();
        self.placed(&name, extras, &parts)
    }

    fn service(&mut self, at: usize, verdict: Option<Verdict>) -> Option<usize> {
        let report = self.report;
        let service = report.services.get(at)?;
        let solid = report.service_solids.get(at)?.as_ref()?;
        let id = self.names.services.get(at).cloned();
        let name = format!("{}, {}", say::service(service), said(verdict));
        let extras = facts(&service.element, id.as_deref(), verdict);
        let tone = Tone::of_service(verdict);
        let part = self.shapes.solid(&mut self.buffer, solid, tone, self.origin)?;
        Some(self.placed(&name, extras, &[part]))
    }

    fn mark(&mut self, at: usize) -> Option<usize> {
        let report = self.report;
        let cut = report.cuts.get(at)?;
        let member = report.members.get(cut.member.at())?;
        let placing = marks::placing(cut, member, self.origin)?;
        let mesh = self.shapes.mark(&mut self.buffer, cut.verdict);
        let name = format!(
            "{}: {} in {}, {}",
            cut.verdict.word(),
            say::cut(cut),
            say::member_name(member),
            say::place(member, cut)
        );
        let mut extras = Map::new();
        extras.insert("cut".into(), self.names.cut(CutIx::from(at)).into());
        extras.insert("verdict".into(), cut.verdict.word().into());
        Some(self.placed(&name, extras, &[(mesh, placing)]))
    }

    /// A node of one mesh, or of several that are one thing.
    fn placed(
        &mut self,
        name: &str,
        extras: Map<String, Value>,
        parts: &[(usize, Placing)],
    ) -> usize {
        let mut node = Map::new();
        node.insert("name".into(), name.into());
        node.insert("extras".into(), extras.into());
        match parts {
            [] => {}
            [(mesh, placing)] => {
                node.insert("mesh".into(), (*mesh).into());
                placing.set_node(&mut node);
            }
            several => {
                let children: Vec<usize> = several
                    .iter()
                    .map(|(mesh, placing)| {
                        let mut part = Map::new();
                        part.insert("mesh".into(), (*mesh).into());
                        placing.set_node(&mut part);
                        self.node(part.into())
                    })
                    .collect();
                node.insert("children".into(), children.into());
            }
        }
        self.node(node.into())
    }

    fn legend(&mut self) -> Option<usize> {
        let (picture, size) = legend::picture(self.report)?;
        let (mesh, placing) =
            legend::board(&mut self.buffer, picture, size, self.bounds, self.origin);
        let mut extras = Map::new();
        extras.insert("text".into(), legend::lines(self.report).into());
        Some(self.placed("Legend", extras, &[(mesh, placing)]))
    }

    fn document(&self) -> Value {
        let report = self.report;
        let packs: Vec<Value> = report
            .packs
            .iter()
            .map(|pack| json!({ "id": pack.id, "title": pack.title, "sources": pack.sources }))
            .collect();
        let inputs: Vec<Value> = report
            .inputs
            .iter()
            .map(|input| {
                json!({
                    "path": input.path, "blake3": input.blake3,
                    "schema": input.schema, "partial": input.partial,
                })
            })
            .collect();
        let mut document = json!({
            "asset": {
                "version": "2.0",
                "generator": concat!("wimble ", env!("CARGO_PKG_VERSION")),
                "extras": {
                    "packs": packs,
                    "inputs": inputs,
                    "assumptions": report.assumptions,
                    "caution": legend::CAUTION,
                },
            },
            "scene": 0,
            "scenes": [{ "name": "Model", "nodes": [0] }],
            "nodes": self.nodes,
            "materials": tones::materials(self.buffer.has_picture()),
        });
        if let Some(document) = document.as_object_mut() {
            self.buffer.tell_document(document);
        }
        document
    }
}

/// Worst verdict of each of `count` things.
fn worst(count: usize, of: impl Iterator<Item = (usize, Verdict)>) -> Vec<Option<Verdict>> {
    let mut worst = vec![None; count];
    for (at, verdict) in of {
        if let Some(known) = worst.get_mut(at) {
            *known = (*known).max(Some(verdict));
        }
    }
    worst
}

/// A verdict in words, for a name.
fn said(verdict: Option<Verdict>) -> &'static str {
    verdict.map_or("no cuts", Verdict::word)
}

fn facts(element: &Element, id: Option<&str>, verdict: Option<Verdict>) -> Map<String, Value> {
    let mut facts = Map::new();
    facts.insert("id".into(), id.map(say::plain).into());
    facts.insert("class".into(), say::plain(&element.class).into());
    facts.insert("verdict".into(), verdict.map(Verdict::word).into());
    facts
}
