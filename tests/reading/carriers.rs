//! Ways that a model comes in: standard input, archives, files over 4 GiB.

use super::{json, run};
use std::fs::File;
use std::io::{Cursor, Seek, SeekFrom, Write};
use std::path::Path;
use wimble_dev::ifc::{Layout, LengthUnit, Model, Schema, Setup};
use zip::write::{SimpleFileOptions, ZipWriter};

fn model() -> Vec<u8> {
    let mut model = Model::new(&Setup::new("m.ifc", Schema::Ifc4, LengthUnit::Millimetre));
    model.storey("Ground", 0.0);
    model.bytes(Layout::default())
}

fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in files {
        writer.start_file(*name, SimpleFileOptions::default()).expect("an entry");
        writer.write_all(content).expect("its content");
    }
    writer.finish().expect("an archive").into_inner()
}

#[test]
fn standard_input_is_a_model_plain_or_packed() {
    let model = model();
    for bytes in [model.clone(), packed(&[("m.ifc", &model)])] {
        let output = run(Path::new("."), &["check", "--format", "json", "-"], Some(&bytes));
        assert_eq!(output.status.code(), Some(0));
        let report = json(&output);
        assert_eq!(report["inputs"][0]["path"], "standard input");
        assert_eq!(report["inputs"][0]["schema"], "IFC4");
    }
    let output = run(Path::new("."), &["check", "-"], Some(b""));
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(told.contains("standard input") && told.contains("empty"), "{told}");
}

#[test]
fn an_archive_holds_one_model() {
    let folder = tempfile::tempdir().expect("a folder");
    let model = model();
    let cases: [(&str, Vec<u8>, &str); 4] = [
        ("two.ifczip", packed(&[("a.ifc", &model), ("b.ifc", &model)]), "several .ifc files"),
        ("none.ifczip", packed(&[("plan.dwg", b"x")]), "no .ifc file (found: plan.dwg)"),
        ("damaged.ifczip", packed(&[("a.ifc", &model)])[..60].to_vec(), "cannot be read"),
        ("xml.ifc", b"<?xml version=\"1.0\"?><ifcXML/>".to_vec(), "XML"),
    ];
    for (name, bytes, told) in cases {
        std::fs::write(folder.path().join(name), bytes).expect("a file");
        let output = run(folder.path(), &["inspect", name], None);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(output.status.code(), Some(2), "{name}: {said}");
        assert!(flat.contains(told) && flat.contains(name), "{name}: {said}");
    }
}

/// Zero octets are outside the alphabet: a hole of more than 4 GiB before the records puts every
/// offset over 32 bits, and takes no room on the disk.
#[test]
fn a_file_over_four_gibibytes_is_read() {
    let folder = tempfile::tempdir().expect("a folder");
    let model = model();
    let data = model.windows(5).position(|w| w == b"DATA;").expect("a section") + 5;
    let mut file = File::create(folder.path().join("large.ifc")).expect("a file");
    file.write_all(&model[..data]).expect("its head");
    file.seek(SeekFrom::Start((1 << 32) + 12345)).expect("a hole");
    file.write_all(&model[data..]).expect("its records");
    drop(file);
    let output = run(folder.path(), &["inspect", "--format", "json", "large.ifc"], None);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let report = json(&output);
    let instances = model.iter().filter(|byte| **byte == b'=').count();
    assert_eq!(report["inputs"][0]["instances"], instances);
    assert_eq!(report["warnings"].as_array().map(Vec::len), Some(0));
}
