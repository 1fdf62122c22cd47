//! The rows of the contract.

use super::SCHEMA;
use crate::{Number, Summary};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use wimble_model::{
    Basis, Bound, CoverageStatus, CutKind, Edge, Level, MemberKind, ObligationKind, OpeningSource,
    Role, ServiceKind, Unit, Verdict,
};

/// Text that is borrowed from the report when written, or from the file when read.
type Text<'a> = Cow<'a, str>;

/// The whole report.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Document<'a> {
    /// Name and version of this contract.
    #[serde(borrow)]
    #[schemars(extend("const" = SCHEMA))]
    pub schema: Text<'a>,
    /// What made the report.
    pub tool: Tool<'a>,
    /// The files, in the order given.
    pub inputs: Vec<InputRow<'a>>,
    /// The rule packs in force.
    pub packs: Vec<PackRow<'a>>,
    /// When and by which settings it was made.
    #[serde(default)]
    pub issue: IssueRow<'a>,
    /// What was assumed, in sentences.
    pub assumptions: Vec<Text<'a>>,
    /// Members, by storey elevation, GlobalId, item.
    pub members: Vec<MemberRow<'a>>,
    /// Services, by storey elevation, GlobalId, item.
    pub services: Vec<ServiceRow<'a>>,
    /// Openings already modelled in members, by member, GlobalId.
    pub openings: Vec<OpeningRow<'a>>,
    /// Cuts, by member, x0, z0, kind.
    pub cuts: Vec<CutRow<'a>>,
    /// What the rules say, by member, worst verdict, rule, first cut.
    pub findings: Vec<FindingRow<'a>>,
    /// What would make all crossings of a straight run comply: one for each run with a cut that
    /// fails or is referred. Empty where remedies were not looked for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub plans: Vec<PlanRow<'a>>,
    /// Where there is room after all cuts, by member. Empty where it was not asked for and nothing
    /// is reserved.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub free: Vec<FreeRow<'a>>,
    /// What happened to every element, by input, class, status, reason.
    pub coverage: Vec<CoverageRow<'a>>,
    /// What a person should know before trusting the result.
    pub warnings: Vec<WarningRow<'a>>,
    /// The counts; last, so that the rest can be streamed.
    pub summary: Summary,
}

/// The program that made the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tool<'a> {
    /// Its name.
    #[serde(borrow)]
    pub name: Text<'a>,
    /// Its version.
    pub version: Text<'a>,
}

/// When and by which settings the report was made.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct IssueRow<'a> {
    /// The time that the user gave (`2026-11-25T14:00:00Z`).
    #[serde(borrow)]
    pub time: Option<Text<'a>>,
    /// What the settings state, one `key = value` each.
    pub settings: Vec<Text<'a>>,
}

/// One input file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InputRow<'a> {
    /// As given.
    #[serde(borrow)]
    pub path: Text<'a>,
    /// BLAKE3 of its bytes, hex.
    pub blake3: Text<'a>,
    /// Schema as the file names it.
    pub schema: Text<'a>,
    /// Length unit in words.
    pub length_unit: Text<'a>,
    /// Number of instances.
    pub instances: u64,
    /// Whether only a part of it could be read.
    pub partial: bool,
}

/// A rule pack.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PackRow<'a> {
    /// Its id.
    #[serde(borrow)]
    pub id: Text<'a>,
    /// First digits of the BLAKE3 digest of its text.
    #[serde(default)]
    pub version: Text<'a>,
    /// What it covers.
    pub title: Text<'a>,
    /// Its sources with their status.
    pub sources: Vec<Text<'a>>,
}

/// A timber member.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MemberRow<'a> {
    /// GlobalId, or `GlobalId~n` where several rows have it.
    #[serde(borrow)]
    pub id: Text<'a>,
    /// GlobalId as written.
    pub guid: Text<'a>,
    /// `Name`.
    pub name: Option<Text<'a>>,
    /// `Tag`: the mark of the piece, or the number that the authoring program gave it.
    #[serde(default)]
    pub tag: Option<Text<'a>>,
    /// Index of its file.
    pub input: u32,
    /// Which item of the element's body, if it was split.
    pub item: Option<u32>,
    /// IFC class.
    pub class: Text<'a>,
    /// What it is in the building.
    pub kind: MemberKind,
    /// What it does beyond its kind.
    pub role: Option<Role>,
    /// Ids of the other plies of a built-up member.
    pub with: Vec<Text<'a>>,
    /// Name of its storey.
    pub storey: Option<Text<'a>>,
    /// Material as the model names it.
    pub material: Option<Text<'a>>,
    /// Its cross-section.
    pub section: SectionRow,
    /// Greatest less least x of its body.
    pub length_mm: Number,
    /// Where it lies.
    pub frame: FrameRow,
    /// What it rests on, along x.
    pub bearings: Vec<BearingRow<'a>>,
    /// Between neighbouring bearings, along x.
    pub spans: Vec<SpanRow>,
    /// Remarks that change no verdict.
    pub notes: Vec<Text<'a>>,
}

/// A cross-section. Breadth lies along y and depth along z of the member's frame; of a round one
/// both are the diameter, of any other shape they are those of its box.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "shape", rename_all = "kebab-case")]
pub enum SectionRow {
    /// Solid rectangle.
    Rectangle {
        /// Along y.
        breadth_mm: Number,
        /// Along z.
        depth_mm: Number,
    },
    /// Solid round timber.
    Round {
        /// Diameter.
        breadth_mm: Number,
        /// Diameter.
        depth_mm: Number,
    },
    /// Two flanges glued to a thin web.
    IJoist {
        /// The wider flange.
        breadth_mm: Number,
        /// Overall.
        depth_mm: Number,
        /// Depth of a flange.
        flange_mm: Number,
        /// Thickness of the web.
        web_mm: Number,
    },
    /// Two chords held apart by webs.
    OpenWeb {
        /// Breadth of the chords.
        breadth_mm: Number,
        /// Overall.
        depth_mm: Number,
        /// Depth of a chord.
        chord_mm: Number,
    },
    /// A shape that no rule knows.
    Other {
        /// Along y.
        breadth_mm: Number,
        /// Along z.
        depth_mm: Number,
    },
    /// Could not be read.
    Unknown {
        /// Along y.
        breadth_mm: Number,
        /// Along z.
        depth_mm: Number,
    },
}

/// A member's frame: x along it, z up its depth, y = z × x.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FrameRow {
    /// Centre of the section at x = 0, world, metres.
    pub origin_m: [Number; 3],
    /// Unit vector along the member.
    pub x: [Number; 3],
    /// Unit vector up the depth.
    pub z: [Number; 3],
}

/// The length of a member that sits on a support.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BearingRow<'a> {
    /// Where it begins along x.
    pub from_mm: Number,
    /// Where it ends along x.
    pub to_mm: Number,
    /// Id of the member, or GlobalId of the element, that carries.
    #[serde(borrow)]
    pub support: Option<Text<'a>>,
    /// What a person calls it.
    pub name: Text<'a>,
    /// How it is known.
    pub basis: Basis,
}

/// A clear span.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SpanRow {
    /// Inner face of the bearing with the lesser x.
    pub from_mm: Number,
    /// Inner face of the bearing with the greater x.
    pub to_mm: Number,
    /// The weaker of its two bearings' bases.
    pub basis: Basis,
}

/// A pipe, cable, duct or carrier, or a fitting or terminal of one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ServiceRow<'a> {
    /// GlobalId, or `GlobalId~n` where several rows have it.
    #[serde(borrow)]
    pub id: Text<'a>,
    /// GlobalId as written.
    pub guid: Text<'a>,
    /// `Name`.
    pub name: Option<Text<'a>>,
    /// Index of its file.
    pub input: u32,
    /// IFC class.
    pub class: Text<'a>,
    /// What it is.
    pub kind: ServiceKind,
    /// System as the model names it.
    pub system: Option<Text<'a>>,
    /// Connected services have the same.
    pub run: Text<'a>,
    /// Bare outside shape; null if the model gives no size.
    pub shape: Option<ShapeRow>,
    /// Remarks that change no verdict.
    pub notes: Vec<Text<'a>>,
}

/// Bare outside shape of a service.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ShapeRow {
    /// Straight and round: outside diameter.
    RoundMm(Number),
    /// Straight and rectangular: the two sides, the greater first.
    RectangleMm([Number; 2]),
    /// Any other shape; always `true`.
    Mesh(bool),
}

/// A void already modelled in a member.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OpeningRow<'a> {
    /// GlobalId, or `GlobalId~n` where several openings have it.
    #[serde(borrow)]
    pub id: Text<'a>,
    /// GlobalId as written; of the host, for a void found in its body.
    pub guid: Text<'a>,
    /// `Name`.
    pub name: Option<Text<'a>>,
    /// Index of its file.
    pub input: u32,
    /// IFC class.
    pub class: Text<'a>,
    /// Id of the member that it is in.
    pub member: Text<'a>,
    /// How it is modelled.
    pub source: OpeningSource,
}

/// What is removed from one member at one place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CutRow<'a> {
    /// `c` and 12 hex digits.
    #[serde(borrow)]
    #[schemars(regex(pattern = "^c[0-9a-f]{12}$"))]
    pub id: Text<'a>,
    /// Id of the member.
    pub member: Text<'a>,
    /// Ids of the services that pass, sorted.
    pub services: Vec<Text<'a>>,
    /// Ids of the openings that are part of it, sorted.
    pub openings: Vec<Text<'a>>,
    /// Ids of services wholly inside another of them.
    pub inside: Vec<Text<'a>>,
    /// What the cut is.
    pub kind: CutKind,
    /// The edge that is reached.
    pub edge: Edge,
    /// Index of its span in the member's.
    pub span: Option<u32>,
    /// How many services share it.
    pub shared: u32,
    /// Envelope in the member's frame, along it.
    pub x0_mm: Number,
    /// Envelope in the member's frame, along it.
    pub x1_mm: Number,
    /// Envelope in the member's frame, across it.
    pub y0_mm: Number,
    /// Envelope in the member's frame, across it.
    pub y1_mm: Number,
    /// Envelope in the member's frame, up its depth from mid-depth.
    pub z0_mm: Number,
    /// Envelope in the member's frame, up its depth from mid-depth.
    pub z1_mm: Number,
    /// x1 − x0.
    pub width_mm: Number,
    /// z1 − z0.
    pub height_mm: Number,
    /// Middle of z0 and z1.
    pub offset_mm: Number,
    /// What a tool must be.
    pub bit_mm: Number,
    /// Least distance to a face of its span's bearings; negative over a bearing.
    pub from_bearing_mm: Option<Number>,
    /// Least signed slack over the rules evaluated.
    pub margin_mm: Option<Number>,
    /// Passes, but a site error within the tolerances would break a rule.
    pub tight: bool,
    /// What must be done besides, for the pass to hold.
    pub obligations: Vec<ObligationRow<'a>>,
    /// Centre of the cut, world, metres.
    pub point_m: [Number; 3],
    /// The worst verdict of the rules that apply.
    pub verdict: Verdict,
    /// Stretches of x that the whole cut, at its level, may lie in beside its neighbours; null
    /// where remedies were not looked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub windows_mm: Option<Vec<[Number; 2]>>,
    /// Fingerprints of the findings that speak of it.
    pub findings: Vec<Text<'a>>,
    /// Remarks from measuring.
    pub notes: Vec<Text<'a>>,
}

/// What must be done besides, for a pass to hold.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ObligationRow<'a> {
    /// What.
    pub kind: ObligationKind,
    /// The rule that asks for it.
    #[serde(borrow)]
    pub rule: Text<'a>,
    /// For a person.
    pub text: Text<'a>,
}

/// One thing said of one or more cuts of a member by one rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingRow<'a> {
    /// 16 hex digits: the same finding in the next issue of the model.
    #[serde(borrow)]
    #[schemars(regex(pattern = "^[0-9a-f]{16}$"))]
    pub fingerprint: Text<'a>,
    /// Finds it again when GlobalIds have changed.
    pub place: Text<'a>,
    /// `pack/rule`.
    pub rule: Text<'a>,
    /// How it is shown.
    pub level: Level,
    /// What it says of the cuts.
    pub verdict: Verdict,
    /// Id of the member.
    pub member: Text<'a>,
    /// Ids of the cuts.
    pub cuts: Vec<Text<'a>>,
    /// Ids of the services, sorted.
    pub services: Vec<Text<'a>>,
    /// The figure that was measured.
    pub measured: Option<MeasuredRow>,
    /// What it was held against.
    pub limit: Option<LimitRow>,
    /// What is so, for a person.
    pub message: Text<'a>,
    /// Source of the rule.
    pub source: Text<'a>,
    /// The waiver that lifts it, with its reason.
    pub waived: Option<Text<'a>>,
    /// What would make it comply, nearest first.
    pub remedies: Vec<RemedyRow<'a>>,
}

/// A figure with its unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasuredRow {
    /// The figure.
    pub value: Number,
    /// Its unit.
    pub unit: Unit,
}

/// What a figure is held against.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LimitRow {
    /// The figure.
    pub value: Number,
    /// Its unit.
    pub unit: Unit,
    /// On which side of it things must be.
    pub bound: Bound,
}

/// What would make a cut comply.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "action", rename_all = "kebab-case")]
pub enum RemedyRow<'a> {
    /// Move it along x, signed.
    MoveAlong {
        /// How far.
        by_mm: Number,
        /// Ids of the services that it moves or changes, sorted.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        services: Vec<Text<'a>>,
        /// For a person.
        #[serde(borrow)]
        text: Text<'a>,
    },
    /// Move it along z, signed.
    MoveDepth {
        /// How far.
        by_mm: Number,
        /// Ids of the services that it moves or changes, sorted.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        services: Vec<Text<'a>>,
        /// For a person.
        text: Text<'a>,
    },
    /// A smaller service.
    Smaller {
        /// Its outside size.
        to_mm: Number,
        /// Ids of the services that it moves or changes, sorted.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        services: Vec<Text<'a>>,
        /// For a person.
        text: Text<'a>,
    },
    /// A deeper member.
    DeeperMember {
        /// The least standard depth that passes.
        to_mm: Number,
        /// For a person.
        text: Text<'a>,
    },
    /// Further from its neighbour.
    Separate {
        /// How far.
        by_mm: Number,
        /// Ids of the services that it moves or changes, sorted.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        services: Vec<Text<'a>>,
        /// For a person.
        text: Text<'a>,
    },
    /// Move the whole straight run.
    ShiftRun {
        /// World, metres.
        vector_m: [Number; 3],
        /// Ids of the services that it moves or changes, sorted.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        services: Vec<Text<'a>>,
        /// For a person.
        text: Text<'a>,
    },
    /// Proposal: run along the members instead.
    Turn {
        /// For a person.
        text: Text<'a>,
    },
    /// Proposal: trim out the members for the service.
    TrimOut {
        /// For a person.
        text: Text<'a>,
    },
    /// Proposal: ask the engineer or the maker.
    Refer {
        /// For a person.
        text: Text<'a>,
    },
}

/// What would make all crossings of a straight run comply.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanRow<'a> {
    /// Ids of the pieces of the straight run, sorted.
    #[serde(borrow)]
    pub services: Vec<Text<'a>>,
    /// Ids of its cuts that do not pass.
    pub cuts: Vec<Text<'a>>,
    /// What moves, and by what; empty if no shift serves.
    pub moves: Vec<MoveRow<'a>>,
    /// Whether it is proved that no shorter shift does it; of two runs, that no two shorter shifts
    /// of them along the members do.
    pub least: bool,
    /// The same for a person; where no shift serves, what prevents it and what would.
    pub text: Text<'a>,
}

/// Where a hole of a size has a place in a member after all its cuts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FreeRow<'a> {
    /// Id of the member.
    #[serde(borrow)]
    pub member: Text<'a>,
    /// What the windows are kept for (`[[reserve]]` of the settings); null for the usual size.
    pub kept_for: Option<Text<'a>>,
    /// Diameter of the hole, at mid-depth.
    pub size_mm: Number,
    /// Stretches of x that the whole hole may lie in; empty if there is no place.
    pub windows_mm: Vec<[Number; 2]>,
}

/// Pieces that move together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveRow<'a> {
    /// Ids of the pieces, sorted.
    #[serde(borrow)]
    pub services: Vec<Text<'a>>,
    /// World, metres.
    pub vector_m: [Number; 3],
}

/// A group of elements that ended the same way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CoverageRow<'a> {
    /// Index of the file.
    pub input: u32,
    /// IFC class.
    #[serde(borrow)]
    pub class: Text<'a>,
    /// How many.
    pub count: u32,
    /// How they ended.
    pub status: CoverageStatus,
    /// Why.
    pub reason: Text<'a>,
    /// GlobalIds of the first few.
    pub examples: Vec<Text<'a>>,
}

/// A remark about the input.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WarningRow<'a> {
    /// Index of the file, if one alone.
    pub input: Option<u32>,
    /// Line in it.
    pub line: Option<u64>,
    /// What is so and what to do.
    #[serde(borrow)]
    pub text: Text<'a>,
}
