//! What is said of a cut: findings, remedies, obligations.

use crate::{CutIx, MemberIx, ServiceIx, Verdict};
use arcstr::ArcStr;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use smallvec::SmallVec;
use std::cmp::Ordering;
use std::sync::Arc;

/// A list of mostly one or two, which lie inside it.
pub type Few<T> = SmallVec<[T; 2]>;

/// One thing said of one or more cuts of a member by one rule. What all findings of a rule have in
/// common is shared between them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// `pack/rule`, as printed (`uk-solid-joist/hole-zone`).
    pub rule: ArcStr,
    /// How it is shown.
    pub level: Level,
    /// What it says of the cuts.
    pub verdict: Verdict,
    /// The member.
    pub member: MemberIx,
    /// The cuts it speaks of, sorted; empty for a finding about the member alone.
    pub cuts: Few<CutIx>,
    /// The services in those cuts, sorted.
    pub services: Few<ServiceIx>,
    /// The figure that was measured.
    pub measured: Option<Measured>,
    /// What it was held against.
    pub limit: Option<Limit>,
    /// What is so, for a person, with the figures; one or two sentences.
    pub message: Box<str>,
    /// Source of the rule with its status (`LABC, notches and holes … (published)`).
    pub source: ArcStr,
    /// The name of the waiver or decision that lifts it, with its reason.
    pub waived: Option<ArcStr>,
    /// What would make it comply, nearest first; the last resort (`refer`) included.
    pub remedies: Arc<[Remedy]>,
}

impl Finding {
    /// The order of the report contract: by member, worst first, then rule and first cut. The rest
    /// settles what is equal in those.
    #[must_use]
    pub fn order(&self, other: &Self) -> Ordering {
        self.member
            .cmp(&other.member)
            .then_with(|| other.verdict.cmp(&self.verdict))
            .then_with(|| self.rule.cmp(&other.rule))
            .then_with(|| self.cuts.cmp(&other.cuts))
            .then_with(|| self.services.cmp(&other.services))
            .then_with(|| self.message.cmp(&other.message))
    }
}

/// A large building has half a million of them.
const _: () = assert!(size_of::<Finding>() <= 152, "a finding has grown");

/// How a finding is shown.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Level {
    /// A remark on a pass.
    Note,
    /// `refer` and `unknown`.
    Warning,
    /// `fail`.
    Error,
}

impl Level {
    /// The level at which a verdict is shown.
    #[must_use]
    pub const fn of(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Fail => Self::Error,
            Verdict::Refer | Verdict::Unknown => Self::Warning,
            Verdict::Pass => Self::Note,
        }
    }
}

/// A figure with its unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// The figure.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
}

/// What a figure is held against.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    /// The figure; for [`Bound::Within`] the upper end of the range.
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
    /// On which side of it things must be.
    pub bound: Bound,
}

/// Units of measured figures and limits. The words of the report contract.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Unit {
    /// Millimetres.
    Mm,
    /// Fraction of the clear span.
    Span,
    /// Fraction of the depth.
    Depth,
    /// A number of things.
    Count,
    /// Degrees.
    Degree,
}

/// On which side of a limit things must be. The words of the report contract.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Bound {
    /// Not less than it.
    AtLeast,
    /// Not more than it.
    AtMost,
    /// Between two figures.
    Within,
    /// Never: there is no figure to hold.
    None,
}

/// What would make a cut comply.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Remedy {
    /// What to do.
    #[serde(flatten)]
    pub action: Action,
    /// The services that it moves or changes, sorted; empty for a proposal.
    pub services: Vec<ServiceIx>,
    /// The same for a person.
    pub text: String,
}

impl Remedy {
    /// What is said where nobody but the engineer or the maker can say more.
    pub const ASK: &str = "Ask the engineer, or the maker of the member.";

    /// Whether it says no more than [`Self::ASK`].
    #[must_use]
    pub fn only_asks(&self) -> bool {
        self.action == Action::Refer && self.text == Self::ASK
    }
}

/// Where a cut that does not pass might be in its member, for a drawing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CutPlaces {
    /// The cut.
    pub cut: CutIx,
    /// Stretches of x that the whole cut, at its level, may lie in beside its neighbours, mm.
    pub windows_mm: Vec<[f64; 2]>,
    /// The nearest place that is proved, if there is one.
    pub proposal: Option<Shift>,
}

/// How far a cut is moved in its member, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Shift {
    /// Along x, signed.
    pub along_mm: f64,
    /// Along z, signed.
    pub depth_mm: f64,
}

/// Where a hole of a size has a place in a member after all its cuts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FreeWindows {
    /// The member.
    pub member: MemberIx,
    /// What the windows are kept for (`[[reserve]]` of the settings); `None` for the usual size.
    pub kept_for: Option<String>,
    /// Diameter of the hole, at mid-depth, mm.
    pub size_mm: f64,
    /// Stretches of x that the whole hole may lie in, mm; empty if there is no place.
    pub windows_mm: Vec<[f64; 2]>,
}

/// What would make every crossing of a straight run comply, or that nothing found would.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunPlan {
    /// The pieces of the straight run, sorted.
    pub services: Vec<ServiceIx>,
    /// Its cuts that do not pass, sorted.
    pub cuts: Vec<CutIx>,
    /// What moves, and by what: the run, and where it is not enough another with it. Empty if no
    /// shift serves.
    pub moves: Vec<RunMove>,
    /// No shorter shift does it; of two runs, no shorter sum of shifts along the members.
    pub least: bool,
    /// The same for a person; where there is no shift, which members prevent it and what would
    /// serve.
    pub text: String,
}

/// Pieces that move together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunMove {
    /// The pieces, sorted.
    pub services: Vec<ServiceIx>,
    /// World, metres.
    pub vector_m: [f64; 3],
}

/// A remedy's action. The words of the report contract.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "action", rename_all = "kebab-case")]
pub enum Action {
    /// Along x, signed.
    MoveAlong {
        /// How far.
        by_mm: f64,
    },
    /// Along z, signed.
    MoveDepth {
        /// How far.
        by_mm: f64,
    },
    /// A smaller service.
    Smaller {
        /// Its outside size.
        to_mm: f64,
    },
    /// A deeper member.
    DeeperMember {
        /// The least standard depth that passes.
        to_mm: f64,
    },
    /// Further from the neighbour.
    Separate {
        /// How far.
        by_mm: f64,
    },
    /// The whole straight run, moved by this vector in the world.
    ShiftRun {
        /// Metres.
        vector_m: [f64; 3],
    },
    /// Proposal: run along the members instead.
    Turn,
    /// Proposal: trim out the members for the service.
    TrimOut,
    /// Proposal: ask the engineer or the maker.
    Refer,
}

/// What must be done besides, for a pass to hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Obligation {
    /// What.
    pub kind: ObligationKind,
    /// The rule that asks for it (`pack/rule`).
    pub rule: ArcStr,
    /// For a person.
    pub text: String,
}

/// Kinds of obligation.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum ObligationKind {
    /// A steel plate over the cut, against nails.
    NailPlate,
    /// A clip plate over a notched pipe.
    PipeClipPlate,
    /// A strap across a cut plate.
    TieStrap,
    /// A second stud.
    DoubledStud,
    /// Product and seal are not checked.
    FireStop,
    /// A sleeve round the service.
    Sleeve,
    /// A wrap round the pipe where it passes.
    Wrap,
}

impl ObligationKind {
    /// In a word or two, for a person.
    #[must_use]
    pub const fn short(self) -> &'static str {
        match self {
            Self::NailPlate => "nail plate",
            Self::PipeClipPlate => "pipe clip plate",
            Self::TieStrap => "tie strap",
            Self::DoubledStud => "second stud",
            Self::FireStop => "fire-stop",
            Self::Sleeve => "sleeve",
            Self::Wrap => "wrap",
        }
    }
}
