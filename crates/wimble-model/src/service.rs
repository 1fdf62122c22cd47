//! Services.

use crate::{Element, Note};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use thin_vec::ThinVec;

/// A pipe, cable, duct or carrier, or a fitting or terminal of one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Service {
    /// Where it came from.
    pub element: Element,
    /// What it is.
    pub kind: ServiceKind,
    /// What it carries: decides clearance, who moves, and whether it may shrink.
    pub trade: Trade,
    /// What it is made of, as far as clearance needs it.
    pub material: ServiceMaterial,
    /// System as the model names it.
    pub system: Option<Arc<str>>,
    /// Run (connected services): a number, equal for all of one run.
    pub run: u32,
    /// Index into the storeys, if it is in one.
    pub storey: Option<u32>,
    /// Bare shape (outside sizes, without lagging).
    pub shape: ServiceShape,
    /// Its lagging.
    pub lagging: Lagging,
    /// Remarks that change no verdict.
    pub notes: ThinVec<Note>,
}

/// What a service is. The words of the report contract.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum ServiceKind {
    /// Pipe segment.
    Pipe,
    /// Duct segment.
    Duct,
    /// Cable segment.
    Cable,
    /// Conduit, trunking, tray, ladder.
    Carrier,
    /// Bend, tee, valve and the like, of any of them.
    Fitting,
    /// Outlet, appliance, equipment.
    Terminal,
    /// None of these.
    Other,
}

impl ServiceKind {
    /// The word of the report contract.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pipe => "pipe",
            Self::Duct => "duct",
            Self::Cable => "cable",
            Self::Carrier => "carrier",
            Self::Fitting => "fitting",
            Self::Terminal => "terminal",
            Self::Other => "other",
        }
    }
}

/// What a service carries. The order is who moves last: the last of the list moves first.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Trade {
    /// Soil: WC branches and stacks.
    Soil,
    /// Waste: basins, baths, sinks, condensate, overflow.
    Waste,
    /// Flue.
    Flue,
    /// Gas.
    Gas,
    /// Air.
    Air,
    /// Heating flow and return.
    Heating,
    /// Hot and cold water.
    Water,
    /// Chilled water and refrigerant: passes with its lagging.
    Chilled,
    /// Cables and what carries them.
    Electric,
    /// Cannot be told.
    Unknown,
}

/// What a service is made of, as far as clearance needs it.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum ServiceMaterial {
    /// Copper, steel, cast iron.
    Metal,
    /// Plastic and multilayer pipe.
    Plastic,
    /// Push-fit waste.
    PushFit,
    /// Solvent-welded waste.
    Solvent,
    /// Not stated.
    NotStated,
}

/// Bare outside shape of a service.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ServiceShape {
    /// Straight and round: outside diameter.
    RoundMm(f64),
    /// Straight and rectangular: the two sides, the greater first.
    RectangleMm([f64; 2]),
    /// Any other shape (bend, fitting, flexible, oval).
    Mesh,
    /// Only a line or no size at all: what it would cut is not known.
    Unknown,
}

/// Lagging of a service.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Lagging {
    /// None modelled.
    None,
    /// A covering of this thickness (mm; 0 if unknown) is modelled on it.
    Covering {
        /// Thickness on each side.
        thickness_mm: f64,
    },
    /// The system says lagged but the model shows one solid: the fat size is judged.
    InTheSolid,
}
