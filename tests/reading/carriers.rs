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
        // As tightly as it goes: what is refused for its ratio must be refused at any level.
        let options = SimpleFileOptions::default().compression_level(Some(9));
        writer.start_file(*name, options).expect("an entry");
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

/// An archive whose entries say that they are locked (bit 0 of their flags, in the local headers and
/// in the directory).
fn locked(mut archive: Vec<u8>) -> Vec<u8> {
    for at in 0..archive.len() - 10 {
        let flags = match &archive[at..at + 4] {
            b"PK\x03\x04" => at + 6,
            b"PK\x01\x02" => at + 8,
            _ => continue,
        };
        archive[flags] |= 1;
    }
    archive
}

/// What is told of a file that cannot be opened, on one line.
fn refused(folder: &Path, name: &str) -> String {
    let output = run(folder, &["inspect", name], None);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{name}: {said}");
    said.trim().to_owned()
}

#[test]
fn an_archive_holds_one_model_that_can_be_opened() {
    let folder = tempfile::tempdir().expect("a folder");
    let model = model();
    let one = packed(&[("a.ifc", &model)]);
    // 65 MiB of blanks: deflate packs them about a thousand times over.
    let blanks = vec![b' '; 65 << 20];
    for (name, bytes, told) in [
        (
            "two.ifczip",
            packed(&[("a.ifc", &model), ("b.ifc", &model)]),
            "the zip archive holds several .ifc files (found: a.ifc, b.ifc); unpack it and name one",
        ),
        (
            "none.ifczip",
            packed(&[("plan.dwg", b"x")]),
            "the zip archive holds no .ifc file (found: plan.dwg); pack one model into it",
        ),
        ("empty.ifczip", packed(&[]), "the zip archive holds no .ifc file; pack one model into it"),
        (
            "locked.ifczip",
            locked(one.clone()),
            "a.ifc in the zip archive is locked with a password; pack the model again without one",
        ),
        (
            "tight.ifczip",
            packed(&[("a.ifc", &blanks)]),
            "a.ifc in the zip archive is larger than 64 MiB, more than 200 times its packed size: \
             no real model packs so well; unpack it, look at it, and give the .ifc itself",
        ),
    ] {
        std::fs::write(folder.path().join(name), bytes).expect("a file");
        assert_eq!(refused(folder.path(), name), format!("error: {name}: {told}"));
    }
    for (name, bytes, told) in [
        ("damaged.ifczip", one[..60].to_vec(), "the zip archive cannot be read"),
        ("xml.ifc", b"<?xml version=\"1.0\"?><ifcXML/>".to_vec(), "XML"),
    ] {
        std::fs::write(folder.path().join(name), bytes).expect("a file");
        let said = refused(folder.path(), name);
        assert!(said.starts_with(&format!("error: {name}: ")) && said.contains(told), "{said}");
    }
}

/// What stands in the directory of an archive of one stored file: names, sizes in 64 bits.
fn directory(name: &[u8], size: u64, at: u64) -> Vec<u8> {
    let far = u32::MAX.to_le_bytes();
    let length = u16::try_from(name.len()).expect("a short name").to_le_bytes();
    let mut bytes = b"PK\x01\x02".to_vec();
    // Versions, flags, stored, time and date, checksum, both sizes elsewhere.
    bytes.extend([45, 3, 45, 0, 0, 0, 0, 0, 0, 0, 0x21, 0, 0, 0, 0, 0]);
    bytes.extend([far, far].concat());
    bytes.extend(length);
    // 20 octets more; no comment, first disk, attributes, the local header at 0.
    bytes.extend([20, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    bytes.extend(name);
    bytes.extend([1, 0, 16, 0]);
    bytes.extend([size.to_le_bytes(), size.to_le_bytes()].concat());
    let long = bytes.len() as u64;
    // The end in 64 bits, where it is, and the end.
    let end = at + long;
    bytes.extend(b"PK\x06\x06");
    bytes.extend(44u64.to_le_bytes());
    bytes.extend([45, 3, 45, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    bytes.extend([1, 1, long, at].map(u64::to_le_bytes).concat());
    bytes.extend(b"PK\x06\x07\0\0\0\0");
    bytes.extend(end.to_le_bytes());
    bytes.extend([1, 0, 0, 0]);
    bytes.extend(b"PK\x05\x06\0\0\0\0\x01\0\x01\0");
    bytes.extend([u32::try_from(long).expect("short").to_le_bytes(), far].concat());
    bytes.extend([0, 0]);
    bytes
}

/// A stored model of a little over 8 GiB, which takes no room on the disk: what it says of itself is
/// enough to refuse it before anything is unpacked.
#[test]
fn an_archive_over_eight_gibibytes_is_refused_at_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let (name, size) = (b"a.ifc", (8 << 30) + 1);
    let mut file = File::create(folder.path().join("large.ifczip")).expect("a file");
    file.write_all(b"PK\x03\x04\x2d\0\0\0\0\0\0\0\x21\0\0\0\0\0").expect("a local header");
    file.write_all(&[0xff; 8]).expect("its sizes");
    file.write_all(&[5, 0, 0, 0]).expect("its lengths");
    file.write_all(name).expect("its name");
    let at = 35 + size;
    file.seek(SeekFrom::Start(at)).expect("a hole");
    file.write_all(&directory(name, size, at)).expect("the directory");
    drop(file);
    assert_eq!(
        refused(folder.path(), "large.ifczip"),
        "error: large.ifczip: a.ifc in the zip archive is larger than 8 GiB; unpack it and give the \
         .ifc itself"
    );
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
