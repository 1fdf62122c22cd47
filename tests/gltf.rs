//! The scene for viewers is valid glTF 2.0 by the validator of the format's makers (npm
//! `gltf-validator`, Apache-2.0; `npm ci --prefix tests/gltf` installs it), and holds what the
//! report holds.

#[expect(dead_code, reason = "each test uses its own part of it")]
#[path = "support/shared.rs"]
mod shared;

use serde_json::Value;
use shared::top;
use std::path::{Path, PathBuf};
use std::process::Command;

fn scene(folder: &Path) -> PathBuf {
    let models = top().join("sample-models");
    let path = folder.join("view.glb");
    let output = Command::new(env!("CARGO_BIN_EXE_wimble"))
        .arg("check")
        .args([models.join("structure.ifc"), models.join("services.ifc")])
        .args(["-o".into(), path.clone()])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", String::from_utf8_lossy(&output.stderr));
    path
}

fn validated(path: &Path) -> Value {
    let folder = top().join("tests/gltf");
    assert!(
        folder.join("node_modules/gltf-validator").is_dir(),
        "the validator is missing: run npm ci --prefix tests/gltf"
    );
    let output = Command::new("node")
        .arg(folder.join("validate.js"))
        .arg(path)
        .output()
        .expect("node is missing: install nodejs, then run npm ci --prefix tests/gltf");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn the_demo_building_is_a_valid_scene() {
    let folder = tempfile::tempdir().unwrap();
    let report = validated(&scene(folder.path()));
    let issues = &report["issues"];
    assert_eq!(
        (&issues["numErrors"], &issues["numWarnings"]),
        (&0.into(), &0.into()),
        "{issues:#}"
    );
    let info = &report["info"];
    assert_eq!(info["version"], "2.0");
    assert!(info["totalTriangleCount"].as_u64() > Some(5_000), "{info:#}");
}

#[test]
fn a_broken_scene_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path());
    let mut bytes = std::fs::read(&path).unwrap();
    let at = bytes.windows(9).position(|w| w == b"\"scene\":0").unwrap();
    bytes[at + 8] = b'7';
    std::fs::write(&path, bytes).unwrap();
    assert!(validated(&path)["issues"]["numErrors"].as_u64() > Some(0));
}

#[test]
fn the_scene_is_the_same_byte_for_byte() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let [a, b] = folders.each_ref().map(|folder| std::fs::read(scene(folder.path())).unwrap());
    assert_eq!(a, b);
}
