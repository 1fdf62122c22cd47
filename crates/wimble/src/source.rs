//! Files as the command reads them: paths, standard input, settings beside the models.

use crate::{Input, Settings};
use anyhow::{Context, Result, bail};
use memmap2::Mmap;
use std::borrow::Cow;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Name of the settings that lie beside the models.
const SETTINGS: &str = "wimble.toml";
/// How standard input is called in reports.
const STDIN: &str = "standard input";
/// A smaller file is read: a map would cost more than it saves.
const MAPPED_FROM: u64 = 1 << 20;

/// A model's bytes, held while it is checked.
pub(crate) struct Source {
    path: String,
    bytes: Bytes,
}

enum Bytes {
    Read(Vec<u8>),
    Mapped(Mmap),
}

impl Source {
    /// Opens a model; `-` is standard input.
    pub(crate) fn open(path: &Path) -> Result<Self> {
        if path == Path::new("-") {
            let mut bytes = Vec::new();
            io::stdin().read_to_end(&mut bytes).context("standard input cannot be read")?;
            return Ok(Self { path: STDIN.into(), bytes: Bytes::Read(bytes) });
        }
        let shown = path.display();
        let meta = match fs::metadata(path) {
            Ok(meta) => meta,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                bail!("{shown}: there is no such file; check the path")
            }
            Err(error) => return Err(error).with_context(|| format!("{shown} cannot be read")),
        };
        if meta.is_dir() {
            bail!("{shown}: this is a folder; name the .ifc files in it");
        }
        let open = || -> io::Result<Bytes> {
            let mut file = File::open(path)?;
            if meta.is_file() && meta.len() >= MAPPED_FROM {
                return map(&file).map(Bytes::Mapped);
            }
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes)?;
            Ok(Bytes::Read(bytes))
        };
        let bytes = open().with_context(|| format!("{shown} cannot be read"))?;
        Ok(Self { path: shown.to_string(), bytes })
    }

    /// The model for the check.
    pub(crate) fn input(&self) -> Input<'_> {
        let bytes: &[u8] = match &self.bytes {
            Bytes::Read(bytes) => bytes,
            Bytes::Mapped(map) => map,
        };
        Input { path: self.path.clone(), bytes: Cow::Borrowed(bytes) }
    }

    /// Lets go of the memory in which a mapped model stands; what is looked at again is read again.
    pub(crate) fn let_go(&self) {
        if let Bytes::Mapped(map) = &self.bytes {
            let_go(map);
        }
    }
}

/// Maps a file, so that only the pages that are looked at are read.
#[expect(unsafe_code, reason = "the one memory map of the program")]
fn map(file: &File) -> io::Result<Mmap> {
    // SAFETY: the map is only read. What cannot be ruled out is that another program changes or
    // shortens the file meanwhile: changed bytes give a wrong or damaged model, which every reader
    // above takes as untrusted input anyway; a shortened file ends the program with a bus error,
    // and an exporter that is still writing is no input to check.
    unsafe { Mmap::map(file) }
}

/// Hands the pages of a map back to the system, which keeps them as long as it has no other use.
#[cfg(unix)]
#[expect(unsafe_code, reason = "the one memory map of the program")]
fn let_go(map: &Mmap) {
    // SAFETY: the map is of a file and is never written to: pages that are given up are read from
    // the file again, with the bytes that they had.
    let _ = unsafe { map.unchecked_advise(memmap2::UncheckedAdvice::DontNeed) };
}

#[cfg(not(unix))]
fn let_go(_: &Mmap) {}

/// The settings: those named, else `wimble.toml` beside the first model that has one.
pub(crate) fn settings(config: Option<&Path>, models: &[PathBuf]) -> Result<Settings> {
    let path = match config {
        Some(path) => Some(path.to_path_buf()),
        None => models
            .iter()
            .filter(|model| model.as_path() != Path::new("-"))
            .map(|model| model.with_file_name(SETTINGS))
            .find(|path| path.is_file()),
    };
    let Some(path) = path else {
        return Ok(Settings::default());
    };
    let shown = path.display().to_string();
    let text = match fs::read(&path) {
        Ok(bytes) => String::from_utf8(bytes)
            .map_err(|_| anyhow::anyhow!("{shown}: the settings are not UTF-8 text"))?,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            bail!("{shown}: there are no such settings; check the path given to --config")
        }
        Err(error) => return Err(error).with_context(|| format!("{shown} cannot be read")),
    };
    let folder = path.parent().map(Path::to_path_buf).unwrap_or_default();
    let beside = |name: &str| fs::read_to_string(folder.join(name)).ok();
    Ok(Settings::read(&shown, &text, &beside)?)
}
