//! Topics for modelling tools: the BIM Collaboration Format, versions 2.1 and 3.0.
//!
//! One topic for each thing to settle ([`Group`]), named and told as an installer would say it: a
//! view of the place (`camera`), the elements selected, a drawing as its snapshot. Ids are made
//! of what a topic is about, so that the next check finds them again; with the file of an earlier
//! check ([`Told::before`]) what people wrote since is carried on (`update`).
//!
//! The same report gives the same bytes. Every file is valid against the published schemas; what
//! readers are known to trip over (names of the first viewpoint, order of elements, a missing
//! snapshot, shifted coordinates) is avoided.

mod archive;
mod camera;
mod entry;
mod markup;
mod told;
mod topic;
mod update;
mod version;
mod view;
mod xml;

pub use told::{Group, Told, Version};

use crate::{Names, Report, drawing, say};
use archive::Files;
use entry::Entry;
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::io::{self, Write};

/// Why topics could not be written, or an earlier file not be read.
#[derive(Debug, thiserror::Error)]
pub enum BcfError {
    /// The archive is damaged, or none.
    #[error("the file of topics is no zip archive that can be read: {0}")]
    Zip(#[from] zip::result::ZipError),
    /// A path leads out of the archive.
    #[error("the file of topics holds the path `{0}`, which leads out of it")]
    Path(String),
    /// The archive holds more than can be held.
    #[error("the file of topics unpacks to more than 1 GB")]
    TooLarge,
    /// No version, or one that is not known.
    #[error("the file of topics says no version that is known (2.1 or 3.0)")]
    Version,
    /// A markup cannot be read.
    #[error("the topic `{0}` cannot be read; export the file again from the tool that wrote it")]
    Markup(String),
    /// Another version is asked for than the earlier file has.
    #[error(
        "the earlier file of topics is version {had}, and {asked} is asked for; what people wrote \
         is kept only in the version it was written in"
    )]
    OtherVersion {
        /// Version of the earlier file.
        had: &'static str,
        /// Version asked for.
        asked: &'static str,
    },
    /// A picture could not be drawn.
    #[error(transparent)]
    Picture(#[from] drawing::PictureError),
    /// The file could not be read or written.
    #[error(transparent)]
    Io(#[from] io::Error),
}

/// Writes the topics.
///
/// # Errors
/// Those of the writer; and of the earlier file, if there is one.
pub fn write(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let packed = topics_file(report).map_err(|error| match error {
        BcfError::Io(error) => error,
        other => io::Error::other(other),
    })?;
    out.write_all(&packed)
}

/// Looks whether an earlier file can be carried on, before any work is done.
///
/// # Errors
/// If it cannot be read, or is of another version than is asked for.
pub fn look(told: &Told) -> Result<(), BcfError> {
    Before::of(told).map(|_| ())
}

fn topics_file(report: &Report) -> Result<Vec<u8>, BcfError> {
    let told = &report.issue.topics;
    let mut before = Before::of(told)?;
    let version = before.version;
    let names = Names::of(report);
    let topics = topic::topics(report, &names, told);
    let entries: Vec<Entry> = topics
        .par_iter()
        .map(|topic| markup::entry(report, told, version, topic))
        .collect::<Result<_, _>>()?;
    let files: Vec<String> = report.inputs.iter().map(|input| say::plain(&input.path)).collect();
    let voice = update::Voice {
        author: told.author.clone(),
        time: markup::made(report),
        files: say::all_of(&files),
    };
    let mut all: BTreeMap<String, Entry> = BTreeMap::new();
    for entry in entries {
        let entry = match before.entries.remove(&entry.id()) {
            Some((_, old)) => update::again(entry, old, version, &voice),
            None => entry,
        };
        all.insert(entry.id(), entry);
    }
    for (_, (folder, old)) in before.entries {
        all.insert(folder, update::gone(old, version, &voice));
    }
    let mut packed = before.rest;
    for (name, bytes) in version::files(report, &all, version) {
        // What the project is called is other people's word, if they have said it.
        if name != "project.bcfp" || !packed.contains_key(&name) {
            packed.insert(name, bytes);
        }
    }
    for (folder, entry) in all {
        packed.insert(format!("{folder}/markup.bcf"), entry.markup.document().into_bytes());
        for (name, bytes) in entry.files {
            packed.insert(format!("{folder}/{name}"), bytes);
        }
    }
    archive::pack(&packed)
}

/// An earlier file, taken apart.
struct Before {
    version: Version,
    /// Topics by their id in small letters, with the folder that they lie in.
    entries: BTreeMap<String, (String, Entry)>,
    /// Documents and whatever else lies beside the topics.
    rest: Files,
}

impl Before {
    fn of(told: &Told) -> Result<Self, BcfError> {
        let Some(bytes) = &told.before else {
            let version = told.version.unwrap_or(Version::V2);
            return Ok(Self { version, entries: BTreeMap::new(), rest: Files::new() });
        };
        let mut rest = archive::unpack(bytes)?;
        let had = version::of(&rest).ok_or(BcfError::Version)?;
        if let Some(asked) = told.version.filter(|asked| *asked != had) {
            return Err(BcfError::OtherVersion { had: had.text(), asked: asked.text() });
        }
        let folders: Vec<String> = rest
            .keys()
            .filter_map(|path| path.strip_suffix("/markup.bcf").map(str::to_owned))
            .collect();
        let mut entries = BTreeMap::new();
        for folder in folders {
            let path = format!("{folder}/markup.bcf");
            let mut entry = Entry::read(&rest.remove(&path).unwrap_or_default(), &path)?;
            let inside = format!("{folder}/");
            let of_topic: Vec<String> =
                rest.keys().filter(|path| path.starts_with(&inside)).cloned().collect();
            for path in of_topic {
                if let Some(bytes) = rest.remove(&path) {
                    entry.files.insert(path[inside.len()..].to_owned(), bytes);
                }
            }
            entries.insert(entry.id(), (folder, entry));
        }
        Ok(Self { version: had, entries, rest })
    }
}

#[cfg(test)]
mod tests;
