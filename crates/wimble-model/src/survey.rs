//! Who measured what is there.

/// Who measured what is there, when, and how exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// Who measured.
    pub by: String,
    /// When, as written.
    pub on: String,
    /// With what (`5 m tape, class II`).
    pub with: String,
    /// Error of a distance along the member, either way.
    pub along_mm: f64,
    /// Error of a level, either way.
    pub level_mm: f64,
    /// Error of a size, either way.
    pub size_mm: f64,
    /// The errors are ours, not what the sheet says.
    pub tolerance_assumed: bool,
}
