//! How far a check is.

/// A stage of the work, as it begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Indexing the files and reading their elements; said again now and then.
    Reading,
    /// Finding members, services and what carries.
    Recognising,
    /// Working out the cuts.
    Crossing,
    /// Judging them.
    Judging,
    /// Looking for what would make them comply.
    Remedies,
}

impl Stage {
    /// What is being done, for a person.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Reading => "reading the models",
            Self::Recognising => "finding members, services and supports",
            Self::Crossing => "working out the cuts",
            Self::Judging => "judging the cuts",
            Self::Remedies => "looking for remedies",
        }
    }
}
