//! The bytes of a scene: meshes, their accessors, the picture of the legend.

use glam::{DQuat, DVec3};
use serde_json::{Map, Value, json};
use std::io::{self, Write};

/// Component types, targets and chunk names of the format (glTF 2.0, 3.6.2 and 4.4).
const FLOAT: u32 = 5126;
const UNSIGNED: u32 = 5125;
const VERTICES: u32 = 34962;
const INDICES: u32 = 34963;
const JSON_CHUNK: u32 = 0x4E4F_534A;
const BIN_CHUNK: u32 = 0x004E_4942;

/// Everything that the document refers to by position.
#[derive(Debug, Default)]
pub(super) struct Buffer {
    bytes: Vec<u8>,
    views: Vec<Value>,
    accessors: Vec<Value>,
    meshes: Vec<Value>,
    /// View of the one picture.
    picture: Option<usize>,
}

/// Where a mesh stands: turned, stretched, moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placing {
    pub(super) at: DVec3,
    pub(super) turn: DQuat,
    pub(super) stretch: DVec3,
}

impl Placing {
    pub(super) const HERE: Self =
        Self { at: DVec3::ZERO, turn: DQuat::IDENTITY, stretch: DVec3::ONE };

    pub(super) fn set_node(self, node: &mut Map<String, Value>) {
        let short = |v: DVec3| json!(v.to_array().map(|c| (c * 1e6).round() / 1e6));
        if self.at != DVec3::ZERO {
            node.insert("translation".into(), short(self.at));
        }
        if self.turn != DQuat::IDENTITY {
            node.insert("rotation".into(), json!(quaternion(self.turn)));
        }
        if self.stretch != DVec3::ONE {
            node.insert("scale".into(), short(self.stretch));
        }
    }
}

/// A turn as the format wants it; one of the two equal spellings, so that runs repeat.
pub(super) fn quaternion(turn: DQuat) -> [f64; 4] {
    let turn = if turn.w < 0.0 { -turn } else { turn };
    turn.to_array().map(|c| (c * 1e9).round() / 1e9 + 0.0)
}

impl Buffer {
    /// A mesh of triangles in one material.
    pub(super) fn mesh(
        &mut self,
        name: &str,
        points: &[[f32; 3]],
        triangles: &[[u32; 3]],
        material: usize,
    ) -> usize {
        let position = self.positions(points);
        self.primitive(name, json!({ "POSITION": position }), triangles, material)
    }

    /// A mesh with a picture on it.
    pub(super) fn board(
        &mut self,
        name: &str,
        points: &[[f32; 3]],
        on_picture: &[[f32; 2]],
        triangles: &[[u32; 3]],
        material: usize,
    ) -> usize {
        let position = self.positions(points);
        let bytes: Vec<u8> = on_picture.iter().flatten().flat_map(|c| c.to_le_bytes()).collect();
        let view = self.view(&bytes, Some(VERTICES));
        self.accessors.push(json!({
            "bufferView": view, "componentType": FLOAT, "count": on_picture.len(), "type": "VEC2",
        }));
        let attributes = json!({ "POSITION": position, "TEXCOORD_0": self.accessors.len() - 1 });
        self.primitive(name, attributes, triangles, material)
    }

    /// The picture, as PNG.
    pub(super) fn picture(&mut self, png: &[u8]) {
        self.picture = Some(self.view(png, None));
    }

    pub(super) fn has_picture(&self) -> bool {
        self.picture.is_some()
    }

    fn primitive(
        &mut self,
        name: &str,
        attributes: Value,
        triangles: &[[u32; 3]],
        material: usize,
    ) -> usize {
        let bytes: Vec<u8> = triangles.iter().flatten().flat_map(|i| i.to_le_bytes()).collect();
        let view = self.view(&bytes, Some(INDICES));
        self.accessors.push(json!({
            "bufferView": view, "componentType": UNSIGNED,
            "count": 3 * triangles.len(), "type": "SCALAR",
        }));
        let indices = self.accessors.len() - 1;
        let primitive =
            json!({ "attributes": attributes, "indices": indices, "material": material });
        self.meshes.push(json!({ "name": name, "primitives": [primitive] }));
        self.meshes.len() - 1
    }

    fn positions(&mut self, points: &[[f32; 3]]) -> usize {
        let bytes: Vec<u8> = points.iter().flatten().flat_map(|c| c.to_le_bytes()).collect();
        let view = self.view(&bytes, Some(VERTICES));
        // The limits must be the very figures that are stored, so they are printed in full.
        let limit = |pick: fn(f32, f32) -> f32, start: f32| {
            points.iter().fold([start; 3], |limit, point| {
                [pick(limit[0], point[0]), pick(limit[1], point[1]), pick(limit[2], point[2])]
            })
        };
        let (min, max) = (limit(f32::min, f32::INFINITY), limit(f32::max, f32::NEG_INFINITY));
        self.accessors.push(json!({
            "bufferView": view, "componentType": FLOAT, "count": points.len(), "type": "VEC3",
            "min": min.map(f64::from), "max": max.map(f64::from),
        }));
        self.accessors.len() - 1
    }

    fn view(&mut self, bytes: &[u8], target: Option<u32>) -> usize {
        let mut view = json!({
            "buffer": 0, "byteOffset": self.bytes.len(), "byteLength": bytes.len(),
        });
        if let (Some(target), Some(view)) = (target, view.as_object_mut()) {
            view.insert("target".into(), target.into());
        }
        self.bytes.extend_from_slice(bytes);
        self.bytes.resize(self.bytes.len().next_multiple_of(4), 0);
        self.views.push(view);
        self.views.len() - 1
    }

    /// What the document says of the bytes; empty lists are not allowed in it.
    pub(super) fn tell_document(&self, document: &mut Map<String, Value>) {
        let lists = [
            ("bufferViews", &self.views),
            ("accessors", &self.accessors),
            ("meshes", &self.meshes),
        ];
        for (name, list) in lists.into_iter().filter(|(_, list)| !list.is_empty()) {
            document.insert(name.into(), list.clone().into());
        }
        if !self.bytes.is_empty() {
            document.insert("buffers".into(), json!([{ "byteLength": self.bytes.len() }]));
        }
        if let Some(view) = self.picture {
            let image = json!([{ "name": "Legend", "bufferView": view, "mimeType": "image/png" }]);
            document.insert("images".into(), image);
            document.insert("samplers".into(), json!([{ "wrapS": 33071, "wrapT": 33071 }]));
            document.insert("textures".into(), json!([{ "sampler": 0, "source": 0 }]));
        }
    }

    /// The one file: a head, the document, the bytes.
    pub(super) fn write_glb(&self, document: &Value, out: &mut impl Write) -> io::Result<()> {
        let mut text = serde_json::to_vec(document)?;
        text.resize(text.len().next_multiple_of(4), b' ');
        let chunk = |bytes: usize| if bytes == 0 { 0 } else { 8 + bytes };
        let too_large = || io::Error::other("the scene is too large for glTF (4 GiB)");
        let length = |bytes: usize| u32::try_from(bytes).map_err(|_| too_large());
        out.write_all(b"glTF")?;
        out.write_all(&2u32.to_le_bytes())?;
        let whole = 12 + chunk(text.len()) + chunk(self.bytes.len());
        out.write_all(&length(whole)?.to_le_bytes())?;
        for (name, bytes) in [(JSON_CHUNK, &text), (BIN_CHUNK, &self.bytes)] {
            if !bytes.is_empty() {
                out.write_all(&length(bytes.len())?.to_le_bytes())?;
                out.write_all(&name.to_le_bytes())?;
                out.write_all(bytes)?;
            }
        }
        Ok(())
    }
}
