//! The packs that are known, and those that are in force.

use super::load::{Files, load};
use super::{Pack, PackError, PackText};
use std::sync::{Arc, OnceLock};

/// The packs that are shipped: name of the text, text, tables beside it.
const SHIPPED: &[(&str, &str)] = &[
    ("always.toml", include_str!("../../packs/always.toml")),
    ("never-cut.toml", include_str!("../../packs/never-cut.toml")),
    ("light-pieces.toml", include_str!("../../packs/light-pieces.toml")),
    ("joinery.toml", include_str!("../../packs/joinery.toml")),
    ("uk-solid-joist.toml", include_str!("../../packs/uk-solid-joist.toml")),
    ("uk-warranty-joist.toml", include_str!("../../packs/uk-warranty-joist.toml")),
    ("uk-stud.toml", include_str!("../../packs/uk-stud.toml")),
    ("uk-cable-gas-cover.toml", include_str!("../../packs/uk-cable-gas-cover.toml")),
    ("ie-solid-joist.toml", include_str!("../../packs/ie-solid-joist.toml")),
    ("i-joist-general.toml", include_str!("../../packs/i-joist-general.toml")),
    ("open-web-general.toml", include_str!("../../packs/open-web-general.toml")),
    ("us-irc-joist.toml", include_str!("../../packs/us-irc-joist.toml")),
    ("us-irc-wall.toml", include_str!("../../packs/us-irc-wall.toml")),
    ("us-cover.toml", include_str!("../../packs/us-cover.toml")),
    ("us-i-joist.toml", include_str!("../../packs/us-i-joist.toml")),
    ("i-joist-table.toml", include_str!("../../packs/i-joist-table.toml")),
    ("ca-nbc.toml", include_str!("../../packs/ca-nbc.toml")),
    ("au-stud.toml", include_str!("../../packs/au-stud.toml")),
    ("au-i-joist.toml", include_str!("../../packs/au-i-joist.toml")),
    ("nz-stud.toml", include_str!("../../packs/nz-stud.toml")),
    ("nz-i-joist.toml", include_str!("../../packs/nz-i-joist.toml")),
    ("glulam-lvl-de.toml", include_str!("../../packs/glulam-lvl-de.toml")),
    ("se-glulam.toml", include_str!("../../packs/se-glulam.toml")),
    ("nl-solid.toml", include_str!("../../packs/nl-solid.toml")),
];

/// Tables beside the shipped packs.
const TABLES: &[(&str, &str)] =
    &[("i-joist-table.csv", include_str!("../../packs/i-joist-table.csv"))];

/// In force whatever else is chosen.
const ALWAYS: [&str; 4] = ["always", "never-cut", "light-pieces", "joinery"];

/// The usual packs of a region.
const REGIONS: &[(&str, &str, &[&str])] = &[
    ("GB", "United Kingdom", &["uk-solid-joist", "uk-stud", "i-joist-general", "open-web-general"]),
    ("IE", "Ireland", &["ie-solid-joist", "i-joist-general", "open-web-general"]),
    ("US", "United States", &["us-irc-joist", "us-irc-wall", "us-i-joist", "open-web-general"]),
    ("CA", "Canada", &["ca-nbc", "us-i-joist", "open-web-general"]),
    ("AU", "Australia", &["au-stud", "au-i-joist", "open-web-general"]),
    ("NZ", "New Zealand", &["nz-stud", "nz-i-joist", "open-web-general"]),
    ("DE", "Germany", &["glulam-lvl-de", "i-joist-general", "open-web-general"]),
    ("SE", "Sweden", &["se-glulam", "i-joist-general", "open-web-general"]),
    ("NL", "Netherlands", &["nl-solid", "i-joist-general", "open-web-general"]),
];

/// The packs that are known, and which of them are in force.
#[derive(Debug, Clone)]
pub struct PackSet {
    known: Vec<Arc<Pack>>,
    in_force: Vec<Arc<Pack>>,
}

/// A pack or region that nobody knows.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no {what} `{name}`; known are {}", known.join(", "))]
pub struct UnknownPack {
    /// `pack` or `region`.
    pub what: &'static str,
    /// The name that was asked for.
    pub name: String,
    /// The names that there are.
    pub known: Vec<String>,
}

impl PackSet {
    /// The packs that are shipped; in force are only those that always are (what may never be
    /// cut, what is always judged).
    #[must_use]
    pub fn built_in() -> Self {
        static SET: OnceLock<PackSet> = OnceLock::new();
        SET.get_or_init(|| {
            let mut known: Vec<Arc<Pack>> = Vec::new();
            for (name, text) in SHIPPED {
                match read(name, text, &known, &shipped_table) {
                    Ok(pack) => known.push(Arc::new(pack)),
                    Err(error) => refuse(&error),
                }
            }
            let mut set = Self { known, in_force: Vec::new() };
            set.in_force = ALWAYS.iter().filter_map(|id| set.find(id)).collect();
            set
        })
        .clone()
    }

    /// Adds a pack of the user's.
    ///
    /// # Errors
    /// The first mistake in the text, with its place.
    pub fn with_text(self, name: &str, text: &str) -> Result<Self, PackError> {
        self.with_text_beside(name, text, &|_| None)
    }

    /// Adds a pack of the user's whose tables lie beside it: `files` gives a file's text.
    ///
    /// # Errors
    /// The first mistake in the text or its tables, with its place.
    pub fn with_text_beside(
        mut self,
        name: &str,
        text: &str,
        files: &dyn Fn(&str) -> Option<String>,
    ) -> Result<Self, PackError> {
        let pack = read(name, text, &self.known, files)?;
        if self.find(&pack.id).is_some() {
            let at = text.find(&pack.id).unwrap_or_default();
            return Err(PackText { name, text }.wrong(
                at..at + pack.id.len(),
                format!(
                    "there is a pack `{0}` already: give yours a name of its own and `extends = \"{0}\"`",
                    pack.id
                ),
            ));
        }
        self.known.push(Arc::new(pack));
        Ok(self)
    }

    /// Puts these packs in force, besides those that always are. A pack stands for the one that
    /// it extends.
    ///
    /// # Errors
    /// A name that no known pack has.
    pub fn choose<S: AsRef<str>>(mut self, ids: &[S]) -> Result<Self, UnknownPack> {
        self.in_force = ALWAYS.iter().filter_map(|id| self.find(id)).collect();
        for id in ids {
            let id = id.as_ref();
            let Some(pack) = self.find(id) else {
                return Err(UnknownPack {
                    what: "pack",
                    name: id.to_owned(),
                    known: self.known.iter().map(|p| p.id.clone()).collect(),
                });
            };
            if !self.in_force.iter().any(|p| p.id == pack.id) {
                self.in_force.push(pack);
            }
        }
        let stood_for: Vec<String> = self.in_force.iter().flat_map(|p| self.line(p)).collect();
        self.in_force.retain(|p| !stood_for.contains(&p.id));
        Ok(self)
    }

    /// Puts the usual packs of a region in force.
    ///
    /// # Errors
    /// A region that has no set of its own.
    pub fn region_set(self, region: &str) -> Result<Self, UnknownPack> {
        let found = REGIONS.iter().find(|(code, _, _)| code.eq_ignore_ascii_case(region.trim()));
        match found {
            Some((_, _, ids)) => self.choose(ids),
            None => Err(UnknownPack {
                what: "region",
                name: region.to_owned(),
                known: REGIONS.iter().map(|(code, _, _)| (*code).to_owned()).collect(),
            }),
        }
    }

    /// Regions that have a set of packs: code and name.
    pub fn regions() -> impl Iterator<Item = (&'static str, &'static str)> {
        REGIONS.iter().map(|(code, name, _)| (*code, *name))
    }

    /// One pack alone, without those that are always in force.
    #[cfg(test)]
    pub(crate) fn of_one(pack: Pack) -> Self {
        let pack = Arc::new(pack);
        Self { known: vec![Arc::clone(&pack)], in_force: vec![pack] }
    }

    /// All packs that are known.
    pub fn known(&self) -> impl Iterator<Item = &Pack> {
        self.known.iter().map(Arc::as_ref)
    }

    /// The packs in force, in the order in which they are asked.
    pub fn in_force(&self) -> impl Iterator<Item = &Pack> {
        self.in_force.iter().map(Arc::as_ref)
    }

    /// A pack by its id.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<&Pack> {
        self.known().find(|pack| pack.id == id)
    }

    /// The switches (`[rules] allow`) that the known packs have.
    #[must_use]
    pub fn switches(&self) -> Vec<String> {
        let mut names: Vec<String> = self
            .known()
            .flat_map(|pack| pack.rules.iter().filter_map(|rule| rule.lifted_by.clone()))
            .collect();
        names.sort();
        names.dedup();
        names
    }

    fn find(&self, id: &str) -> Option<Arc<Pack>> {
        self.known.iter().find(|pack| pack.id == id).cloned()
    }

    /// The packs that a pack stands for.
    fn line(&self, pack: &Pack) -> Vec<String> {
        let mut line: Vec<String> = Vec::new();
        let mut next = pack.extends.clone();
        while let Some(id) = next {
            next = self.get(&id).and_then(|p| p.extends.clone()).filter(|p| !line.contains(p));
            line.push(id);
        }
        line
    }
}

fn read(name: &str, text: &str, known: &[Arc<Pack>], files: Files<'_>) -> Result<Pack, PackError> {
    let parent = |id: &str| known.iter().find(|pack| pack.id == id).map(Arc::as_ref);
    load(PackText { name, text }, &parent, files)
}

fn shipped_table(file: &str) -> Option<String> {
    TABLES.iter().find(|(name, _)| *name == file).map(|(_, text)| (*text).to_owned())
}

#[expect(
    clippy::panic,
    reason = "the shipped packs are part of the program: a test reads them all"
)]
fn refuse(error: &PackError) -> ! {
    panic!("a shipped pack is wrong: {error}")
}
