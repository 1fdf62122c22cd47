//! Cross-sections.

use serde::{Deserialize, Serialize};

/// Cross-section of a member. Breadth lies along y, depth along z of the member's frame.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "shape", rename_all = "kebab-case")]
pub enum Section {
    /// Solid rectangle.
    Rectangle {
        /// Along y.
        breadth_mm: f64,
        /// Along z.
        depth_mm: f64,
    },
    /// Solid round timber.
    Round {
        /// Diameter.
        diameter_mm: f64,
    },
    /// Two flanges glued to a thin web.
    IJoist {
        /// The wider flange.
        breadth_mm: f64,
        /// Overall.
        depth_mm: f64,
        /// Depth of each flange (the deeper, if they differ).
        flange_mm: f64,
        /// Thickness of the web.
        web_mm: f64,
    },
    /// Two chords held apart by webs.
    OpenWeb {
        /// Breadth of the chords.
        breadth_mm: f64,
        /// Overall.
        depth_mm: f64,
        /// Depth of each chord (the deeper, if they differ).
        chord_mm: f64,
        /// Whether the webs are modelled, so that the voids between them are known.
        webs_known: bool,
    },
    /// A shape that no rule knows; its box.
    Other {
        /// Along y.
        breadth_mm: f64,
        /// Along z.
        depth_mm: f64,
    },
    /// Could not be read; its box.
    Unknown {
        /// Along y.
        breadth_mm: f64,
        /// Along z.
        depth_mm: f64,
    },
}

impl Section {
    /// Breadth b along y, mm (of the box).
    #[must_use]
    pub const fn breadth_mm(self) -> f64 {
        match self {
            Self::Round { diameter_mm } => diameter_mm,
            Self::Rectangle { breadth_mm, .. }
            | Self::IJoist { breadth_mm, .. }
            | Self::OpenWeb { breadth_mm, .. }
            | Self::Other { breadth_mm, .. }
            | Self::Unknown { breadth_mm, .. } => breadth_mm,
        }
    }

    /// Depth h along z, mm (of the box).
    #[must_use]
    pub const fn depth_mm(self) -> f64 {
        match self {
            Self::Round { diameter_mm } => diameter_mm,
            Self::Rectangle { depth_mm, .. }
            | Self::IJoist { depth_mm, .. }
            | Self::OpenWeb { depth_mm, .. }
            | Self::Other { depth_mm, .. }
            | Self::Unknown { depth_mm, .. } => depth_mm,
        }
    }

    /// The word of the report contract: `rectangle round i-joist open-web other unknown`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rectangle { .. } => "rectangle",
            Self::Round { .. } => "round",
            Self::IJoist { .. } => "i-joist",
            Self::OpenWeb { .. } => "open-web",
            Self::Other { .. } => "other",
            Self::Unknown { .. } => "unknown",
        }
    }
}
