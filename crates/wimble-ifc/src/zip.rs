//! The one model inside an `.ifczip`.

use std::io::{Cursor, Read};
use zip::ZipArchive;

/// The largest model that is unpacked, bytes.
pub const ZIP_LARGEST: u64 = 8 << 30;
/// The greatest ratio of unpacked to packed size; real models reach about 20.
pub const ZIP_RATIO: u64 = 200;
/// Below this size the ratio is not looked at, bytes.
pub const ZIP_SMALL: u64 = 64 << 20;

/// Why no model could be taken from a zip archive.
#[derive(Debug, thiserror::Error)]
pub enum ZipError {
    /// Damaged, or packed in a way other than deflate.
    #[error("the zip archive cannot be read ({0}); pack the model again")]
    Unreadable(String),
    /// Locked with a password.
    #[error("{0} in the zip archive is locked with a password; pack the model again without one")]
    Locked(String),
    /// No `.ifc` in it.
    #[error("the zip archive holds no .ifc file{}; pack one model into it", found(.0))]
    NoModel(Vec<String>),
    /// More than one `.ifc` in it.
    #[error("the zip archive holds several .ifc files{}; unpack it and name one", found(.0))]
    SeveralModels(Vec<String>),
    /// Larger than what is unpacked.
    #[error(
        "{name} in the zip archive is larger than {}; unpack it and give the .ifc itself",
        size(*limit)
    )]
    TooLarge {
        /// Name inside the archive.
        name: String,
        /// The limit that it passes, bytes.
        limit: u64,
    },
    /// Packed so tightly that it is no real model.
    #[error(
        "{name} in the zip archive is larger than {}, more than {ratio} times its packed size: no \
         real model packs so well; unpack it, look at it, and give the .ifc itself",
        size(*limit)
    )]
    TooTight {
        /// Name inside the archive.
        name: String,
        /// The limit that it passes, bytes.
        limit: u64,
        /// The ratio of unpacked to packed size that it passes.
        ratio: u64,
    },
}

/// A size for a message.
fn size(bytes: u64) -> String {
    for (unit, shift) in [("GiB", 30), ("MiB", 20)] {
        if bytes >= 1 << shift && bytes.trailing_zeros() >= shift {
            return format!("{} {unit}", bytes >> shift);
        }
    }
    format!("{bytes} bytes")
}

/// Names for a message: a few, without what could disturb a terminal.
fn found(names: &[String]) -> String {
    const SHOWN: usize = 5;
    if names.is_empty() {
        return String::new();
    }
    let clean = |name: &String| name.chars().filter(|c| !c.is_control()).take(80).collect();
    let shown: Vec<String> = names.iter().take(SHOWN).map(clean).collect();
    let rest = names.len().saturating_sub(SHOWN);
    let more = if rest > 0 { format!(" and {rest} more") } else { String::new() };
    format!(" (found: {}{more})", shown.join(", "))
}

/// Whether the bytes begin as a zip archive does.
#[must_use]
pub fn is_zip(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06")
}

/// The bytes of the one `.ifc` file inside a zip archive (`.ifczip`, in any letter case).
///
/// # Errors
/// The archive cannot be read, holds no or several `.ifc` files, or one that is too large.
pub fn unzip(bytes: &[u8]) -> Result<Vec<u8>, ZipError> {
    unzip_within(bytes, ZIP_LARGEST, ZIP_RATIO, ZIP_SMALL)
}

fn unzip_within(bytes: &[u8], largest: u64, ratio: u64, small: u64) -> Result<Vec<u8>, ZipError> {
    let unreadable = |error: &dyn std::error::Error| ZipError::Unreadable(error.to_string());
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|error| unreadable(&error))?;
    let mut models = Vec::new();
    let mut names = Vec::new();
    for index in 0..archive.len() {
        let entry = archive.by_index_raw(index).map_err(|error| unreadable(&error))?;
        let name = String::from_utf8_lossy(entry.name_raw()).into_owned();
        // One operating system adds a shadow of every file under this name.
        if entry.is_dir() || name.starts_with("__MACOSX/") {
            continue;
        }
        if name.to_ascii_lowercase().ends_with(".ifc") {
            models.push((index, name));
        } else {
            names.push(name);
        }
    }
    let (index, name) = match &models[..] {
        [] => return Err(ZipError::NoModel(names)),
        [one] => one.clone(),
        several => {
            let names = several.iter().map(|(_, name)| name.clone()).collect();
            return Err(ZipError::SeveralModels(names));
        }
    };
    if archive.by_index_raw(index).is_ok_and(|entry| entry.encrypted()) {
        return Err(ZipError::Locked(name));
    }
    let entry = archive.by_index(index).map_err(|error| unreadable(&error))?;
    let tight = entry.compressed_size().saturating_mul(ratio).max(small);
    let limit = largest.min(tight);
    let passed = |name: String| match limit == largest {
        true => ZipError::TooLarge { name, limit },
        false => ZipError::TooTight { name, limit, ratio },
    };
    // What says itself that it is too large is not unpacked at all; since the archive's own figures
    // can lie, what is read is counted, too.
    if entry.size() > limit {
        return Err(passed(name));
    }
    let mut content = Vec::new();
    let room = usize::try_from(entry.size()).unwrap_or(usize::MAX);
    // A size that the machine cannot hold is told, not died of.
    if content.try_reserve_exact(room).is_err() {
        return Err(ZipError::TooLarge { name, limit: room as u64 });
    }
    entry.take(limit + 1).read_to_end(&mut content).map_err(|error| unreadable(&error))?;
    if content.len() as u64 > limit {
        return Err(passed(name));
    }
    Ok(content)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;
    use zip::write::{SimpleFileOptions, ZipWriter};

    fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        for (name, content) in files {
            let options = SimpleFileOptions::default();
            writer.start_file(*name, options).expect("an entry");
            writer.write_all(content).expect("its content");
        }
        writer.finish().expect("an archive").into_inner()
    }

    #[test]
    fn the_one_model_is_found_among_other_files_in_any_letter_case() {
        let archive = packed(&[("doc/readme.txt", b"x"), ("house/Model.IFC", b"ISO-10303-21;")]);
        assert!(is_zip(&archive));
        assert_eq!(unzip(&archive).expect("a model"), b"ISO-10303-21;");
    }

    #[test]
    fn the_shadow_files_of_one_operating_system_are_not_models() {
        let archive = packed(&[("__MACOSX/._a.ifc", b"shadow"), ("a.ifc", b"model")]);
        assert_eq!(unzip(&archive).expect("a model"), b"model");
    }

    #[test]
    fn without_a_model_the_names_that_were_found_are_told() {
        let error = unzip(&packed(&[("plan.dwg", b"x")])).expect_err("no model");
        assert!(error.to_string().contains("no .ifc file (found: plan.dwg)"), "{error}");
        let error = unzip(&packed(&[])).expect_err("no model");
        assert!(error.to_string().contains("no .ifc file;"), "{error}");
    }

    #[test]
    fn of_several_models_none_is_chosen() {
        let error = unzip(&packed(&[("a.ifc", b"x"), ("b.ifc", b"y")])).expect_err("several");
        assert!(error.to_string().contains("several .ifc files (found: a.ifc, b.ifc)"), "{error}");
    }

    #[test]
    fn a_model_over_the_size_or_the_ratio_is_refused() {
        let archive = packed(&[("a.ifc", &[b' '; 100_000])]);
        assert!(matches!(unzip_within(&archive, 1000, 5000, 0), Err(ZipError::TooLarge { .. })));
        assert!(matches!(unzip_within(&archive, 1 << 30, 2, 0), Err(ZipError::TooTight { .. })));
        assert_eq!(unzip_within(&archive, 100_000, 5000, 0).expect("within").len(), 100_000);
    }

    #[test]
    fn an_archive_that_lies_about_its_size_is_held_to_what_is_read() {
        // The unpacked size stands in the local header and, as the one that counts, in the
        // directory.
        let mut archive = packed(&[("a.ifc", &[b' '; 100_000])]);
        let size = 100_000u32.to_le_bytes();
        let places: Vec<usize> =
            (0..archive.len() - 4).filter(|at| archive[*at..at + 4] == size).collect();
        for at in places {
            archive[at..at + 4].copy_from_slice(&10u32.to_le_bytes());
        }
        assert!(unzip_within(&archive, 1000, 5000, 0).is_err());
    }

    #[test]
    fn sizes_are_said_in_the_largest_whole_unit() {
        assert_eq!(size(8 << 30), "8 GiB");
        assert_eq!(size(64 << 20), "64 MiB");
        assert_eq!(size((64 << 20) + 1), "67108865 bytes");
    }

    #[test]
    fn a_damaged_archive_says_so() {
        let mut archive = packed(&[("a.ifc", b"model")]);
        archive.truncate(archive.len() / 2);
        assert!(matches!(unzip(&archive), Err(ZipError::Unreadable(_))));
        assert!(!is_zip(b"ISO-10303-21;"));
    }
}
