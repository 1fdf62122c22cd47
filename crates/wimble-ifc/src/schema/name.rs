//! Which schema a file names.

use std::fmt;

/// One of the three schemas whose attribute positions are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Schema {
    /// IFC2X3 TC1.
    Ifc2x3,
    /// IFC4 ADD2 TC1 (ISO 16739-1:2018).
    Ifc4,
    /// IFC4X3 ADD2 (ISO 16739-1:2024).
    Ifc4x3,
}

impl Schema {
    /// All of them, oldest first.
    pub const ALL: [Self; 3] = [Self::Ifc2x3, Self::Ifc4, Self::Ifc4x3];

    /// The schema that fits a name of `FILE_SCHEMA` best (any letter case), and whether it fits
    /// without reserve: drafts and IFC4X1, IFC4X2 are read as the nearest published schema.
    /// `None` if the name is not one of IFC's, or of an edition older than IFC2X3.
    #[must_use]
    pub fn of_name(name: &str) -> Option<(Self, bool)> {
        let name = name.trim().to_ascii_uppercase();
        let rest = |prefix| name.strip_prefix(prefix);
        if let Some(rest) = rest("IFC2X3") {
            return Some((Self::Ifc2x3, matches!(rest, "" | "_TC1" | "_FINAL")));
        }
        if rest("IFC2X2").is_some() || rest("IFC2X_FINAL").is_some() {
            // Positions differ little; the reader tolerates missing attributes at the end.
            return Some((Self::Ifc2x3, false));
        }
        if let Some(rest) = rest("IFC4X3") {
            return Some((Self::Ifc4x3, matches!(rest, "" | "_TC1" | "_ADD1" | "_ADD2")));
        }
        if rest("IFC4X4").is_some() {
            return Some((Self::Ifc4x3, false));
        }
        if rest("IFC4X1").is_some() || rest("IFC4X2").is_some() {
            return Some((Self::Ifc4, false));
        }
        if let Some(rest) = rest("IFC4") {
            return Some((Self::Ifc4, matches!(rest, "" | "_ADD1" | "_ADD2" | "_ADD2_TC1")));
        }
        // Working name of IFC4 before it was published.
        rest("IFC2X4").map(|_| (Self::Ifc4, false))
    }
}

impl fmt::Display for Schema {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            Self::Ifc2x3 => "IFC2X3",
            Self::Ifc4 => "IFC4",
            Self::Ifc4x3 => "IFC4X3",
        })
    }
}
