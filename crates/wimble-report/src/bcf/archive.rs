//! The zip around topics: fixed order, fixed times, and distrust of what is read.

use super::BcfError;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipArchive, ZipWriter};

/// Files by their path in the archive.
pub(crate) type Files = BTreeMap<String, Vec<u8>>;

/// More than this in one archive is no list of topics but an attack or a mistake.
const MOST_BYTES: u64 = 1 << 30;

/// Packs files; the same files give the same bytes. `bcf.version` comes first, as readers like it.
pub(crate) fn pack(files: &Files) -> Result<Vec<u8>, BcfError> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let first = |path: &str| path != "bcf.version";
    let mut paths: Vec<&String> = files.keys().collect();
    paths.sort_by_key(|path| (first(path), path.contains('/'), *path));
    for path in paths {
        // A picture is packed already.
        let method = if path.ends_with(".png") {
            CompressionMethod::Stored
        } else {
            CompressionMethod::Deflated
        };
        let options = SimpleFileOptions::default()
            .compression_method(method)
            .last_modified_time(DateTime::default())
            .unix_permissions(0o644);
        zip.start_file(path.as_str(), options)?;
        zip.write_all(files.get(path).map_or(&[], Vec::as_slice))?;
    }
    Ok(zip.finish()?.into_inner())
}

/// Unpacks an archive. Paths that lead out of it are refused; folders of their own are no files.
pub(crate) fn unpack(bytes: &[u8]) -> Result<Files, BcfError> {
    let mut zip = ZipArchive::new(Cursor::new(bytes))?;
    let mut files = Files::new();
    let mut total = 0;
    for at in 0..zip.len() {
        let entry = zip.by_index(at)?;
        let path = entry.name()?.replace('\\', "/");
        if entry.is_dir() || path.ends_with('/') {
            continue;
        }
        let leads_out = path.starts_with('/') || path.contains(':');
        if leads_out || path.split('/').any(|part| part == ".." || part == ".") {
            return Err(BcfError::Path(crate::say::plain(&path)));
        }
        let mut content = Vec::new();
        entry.take(MOST_BYTES).read_to_end(&mut content)?;
        total += content.len() as u64;
        if total >= MOST_BYTES {
            return Err(BcfError::TooLarge);
        }
        files.insert(path, content);
    }
    Ok(files)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_come_back_and_packing_is_repeatable() {
        let files = Files::from([
            ("bcf.version".into(), b"<Version/>".to_vec()),
            ("a/markup.bcf".into(), b"<Markup/>".to_vec()),
            ("a/snapshot.png".into(), vec![1, 2, 3]),
        ]);
        let packed = pack(&files).unwrap();
        assert_eq!(packed, pack(&files).unwrap());
        assert_eq!(unpack(&packed).unwrap(), files);
        assert_eq!(
            ZipArchive::new(Cursor::new(&packed)).unwrap().by_index(0).unwrap().name().unwrap(),
            "bcf.version"
        );
    }

    #[test]
    fn paths_that_lead_out_are_refused() {
        for path in ["../evil", "/evil", "a\\..\\..\\evil", "C:/evil"] {
            let packed = pack(&Files::from([(path.into(), vec![])])).unwrap();
            assert!(matches!(unpack(&packed), Err(BcfError::Path(_))), "{path}");
        }
    }

    #[test]
    fn no_archive_is_an_error() {
        assert!(matches!(unpack(b"milk"), Err(BcfError::Zip(_))));
    }
}
