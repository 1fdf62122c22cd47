//! Where a thing came from in the input, and remarks about it.

use arcstr::ArcStr;
use compact_str::CompactString;
use serde::{Deserialize, Serialize};

/// The element of the input that a row was made from. Its texts are short: up to 24 bytes, a
/// GlobalId or a class among them, they lie in the row itself.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Element {
    /// Index of the input file, in the order given.
    pub input: u32,
    /// Instance name in that file (the number behind `#`); 0 for a site sheet's row number.
    pub instance: u64,
    /// GlobalId as written: a label only, since real models repeat them.
    pub guid: CompactString,
    /// IFC class as the schema spells it (`IfcBeam`).
    pub class: CompactString,
    /// `Name`, if any.
    pub name: Option<CompactString>,
    /// `Tag` (the mark of a piece, or the number that the authoring program gave it), if any.
    pub tag: Option<CompactString>,
    /// Which item of a body with several, if the element was split; `None` for the whole.
    pub item: Option<u32>,
}

/// A storey of the building.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Storey {
    /// Its name.
    pub name: String,
    /// Its elevation in the world, metres; `None` when neither stated nor placed.
    pub elevation_m: Option<f64>,
}

/// A remark that changes no verdict, in words that a person on site understands; what is said of a
/// support is shared by all that lie on it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note(pub ArcStr);

impl From<String> for Note {
    fn from(words: String) -> Self {
        Self(words.into())
    }
}

impl From<&str> for Note {
    fn from(words: &str) -> Self {
        Self(words.into())
    }
}
