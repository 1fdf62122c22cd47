//! What can be said of a cut.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What can be said of a cut. Ordered by how much it weighs: the greatest of several counts.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Default,
    Serialize,
    Deserialize,
    JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Every rule that applies was evaluated with known facts, and holds.
    #[default]
    Pass,
    /// A fact is missing; the finding names it.
    Unknown,
    /// Only an engineer or the maker can say.
    Refer,
    /// A rule is broken.
    Fail,
}

impl Verdict {
    /// All verdicts, worst first: the order in which a person reads them.
    pub const WORST_FIRST: [Self; 4] = [Self::Fail, Self::Refer, Self::Unknown, Self::Pass];

    /// The word that every output prints.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Unknown => "unknown",
            Self::Refer => "refer",
            Self::Fail => "fail",
        }
    }
}
