//! What was and was not checked.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A group of elements that ended the same way.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct CoverageRow {
    /// Index of the input file.
    pub input: u32,
    /// IFC class as the schema spells it.
    pub class: String,
    /// How they ended.
    pub status: CoverageStatus,
    /// Why, for a person.
    pub reason: String,
    /// How many.
    pub count: u32,
    /// GlobalIds of the first few, sorted (at most five).
    pub examples: Vec<String>,
}

/// How an element ended; each has exactly one. The words of the report contract.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum CoverageStatus {
    /// A timber member (also one that supports others).
    Member,
    /// A service.
    Service,
    /// Carries members.
    Support,
    /// An opening in an element.
    Opening,
    /// Finish, lagging, membrane.
    Covering,
    /// Project, site, building, storey, space, zone.
    Spatial,
    /// Port, annotation, grid.
    PortOrAnnotation,
    /// Timber only as a layer: members are not modelled.
    LayerOnly,
    /// Nothing to do with the check.
    Other,
    /// The same element given twice.
    Duplicate,
    /// Has no shape of its own.
    NoShape,
    /// Its shape could not be read; the reason says why.
    Unreadable,
    /// Ignored by the user's settings.
    Ignored,
}

impl CoverageStatus {
    /// The word of the report contract.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Member => "member",
            Self::Service => "service",
            Self::Support => "support",
            Self::Opening => "opening",
            Self::Covering => "covering",
            Self::Spatial => "spatial",
            Self::PortOrAnnotation => "port-or-annotation",
            Self::LayerOnly => "layer-only",
            Self::Other => "other",
            Self::Duplicate => "duplicate",
            Self::NoShape => "no-shape",
            Self::Unreadable => "unreadable",
            Self::Ignored => "ignored",
        }
    }
}
