//! Cuts and openings.

use crate::{Besides, Element, Member, MemberIx, Obligation, OpeningIx, ServiceIx, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use smallvec::SmallVec;
use thin_vec::ThinVec;

/// What is removed from one member at one place.
///
/// A large building has a million of them: what few of them have takes one word together, the
/// services, nearly always one, take no memory of their own, and what follows from the member is
/// worked out when it is asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cut {
    /// The member that is cut.
    pub member: MemberIx,
    /// The services that pass here, sorted.
    pub services: SmallVec<[ServiceIx; 4]>,
    /// The openings already modelled that are part of it, sorted.
    pub openings: ThinVec<OpeningIx>,
    /// What the cut is.
    pub kind: CutKind,
    /// The edge that is reached.
    pub edge: Edge,
    /// Round or rectangular.
    pub shape: CutShape,
    /// The span (index into the member's) that holds its mid x; `None` in an overhang or without spans.
    pub span: Option<u32>,
    /// How many services share it: united pieces of one run count once, an opening not at all.
    pub shared: u32,
    /// Envelope in the member's frame: least corner.
    pub min_mm: glam::DVec3,
    /// Envelope in the member's frame: greatest corner.
    pub max_mm: glam::DVec3,
    /// Whether the outside sizes of all its services are known; else it is at least as large as
    /// this, and nothing that depends on its size can pass.
    pub sizes_known: bool,
    /// What a tool must be: the size of bit.
    pub bit_mm: f64,
    /// How many degrees the service is off square to the member, for the one worst of them.
    pub skew_deg: f64,
    /// Depth of the member at the cut (differs from the section's where the member tapers).
    pub depth_mm: f64,
    /// Breadth of the member at the cut.
    pub breadth_mm: f64,
    /// Least signed slack over the rules evaluated; `None` if none of them is a length.
    pub margin_mm: Option<f64>,
    /// Passes, but a site error within the tolerances would break a rule.
    pub tight: bool,
    /// What must be done besides, for the pass to hold.
    pub obligations: ThinVec<Obligation>,
    /// The worst verdict of the rules that apply.
    pub verdict: Verdict,
    /// What few cuts have.
    pub besides: Besides,
}

/// Two and three quarter lines of a processor's cache.
const _: () = assert!(size_of::<Cut>() <= 176, "a cut has grown");

impl Cut {
    /// Size along the member: x1 − x0.
    #[must_use]
    pub fn width_mm(&self) -> f64 {
        self.max_mm.x - self.min_mm.x
    }

    /// Size up the depth: z1 − z0.
    #[must_use]
    pub fn height_mm(&self) -> f64 {
        self.max_mm.z - self.min_mm.z
    }

    /// Level of the centre above (+) or below (−) mid-depth.
    #[must_use]
    pub fn offset_mm(&self) -> f64 {
        f64::midpoint(self.min_mm.z, self.max_mm.z)
    }

    /// Where its middle is along the member.
    #[must_use]
    pub fn mid_x_mm(&self) -> f64 {
        f64::midpoint(self.min_mm.x, self.max_mm.x)
    }

    /// Least of `x0 − left face` and `right face − x1` of its span; negative over a bearing, `None`
    /// without a span.
    #[must_use]
    pub fn from_bearing_mm(&self, member: &Member) -> Option<f64> {
        let span = member.spans.get(self.span? as usize)?;
        Some((self.min_mm.x - span.from_mm).min(span.to_mm - self.max_mm.x))
    }

    /// Its centre, world, metres.
    #[must_use]
    pub fn point_m(&self, member: &Member) -> glam::DVec3 {
        member.frame.world_m(self.min_mm.midpoint(self.max_mm) + self.besides.middle_mm)
    }
}

/// A circle in the x–z plane of a member.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Circle {
    /// Centre along the member.
    pub x_mm: f64,
    /// Centre in the depth.
    pub z_mm: f64,
    /// Diameter, clearance included.
    pub diameter_mm: f64,
}

/// Round or rectangular.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum CutShape {
    /// Made with a bit.
    Round,
    /// Has corners.
    Rectangular,
    /// Any other, or several kinds in one.
    Other,
}

/// What a cut is; the first that fits, in this order. The words of the report contract.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum CutKind {
    /// Part-depth opening or machined place at an end, bearing or other member, no service in it.
    Joinery,
    /// Passes through a void of the member and removes nothing.
    BetweenWebs,
    /// Reaches past an end of the member.
    EndCut,
    /// Touches a flange of an I-joist.
    FlangeCut,
    /// Wholly between the flanges of an I-joist.
    WebHole,
    /// Touches a chord of an open-web joist or truss.
    ChordCut,
    /// Touches a web of an open-web joist or truss.
    WebCut,
    /// Reaches both edges and both sides.
    Severed,
    /// The service runs within 30° of the member.
    Lengthwise,
    /// A riser through the member.
    Bore,
    /// Reaches one side only.
    SideCut,
    /// Reaches no side and no edge.
    Enclosed,
    /// Reaches both sides and the top edge.
    TopNotch,
    /// Reaches both sides and the bottom edge.
    BottomNotch,
    /// Reaches both sides and no edge.
    Hole,
}

impl CutKind {
    /// Whether its size is measured across the member's breadth: it does not go straight through
    /// from side to side.
    #[must_use]
    pub const fn is_across(self) -> bool {
        matches!(self, Self::Bore | Self::SideCut | Self::Enclosed)
    }

    /// The word of the report contract.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Joinery => "joinery",
            Self::BetweenWebs => "between-webs",
            Self::EndCut => "end-cut",
            Self::FlangeCut => "flange-cut",
            Self::WebHole => "web-hole",
            Self::ChordCut => "chord-cut",
            Self::WebCut => "web-cut",
            Self::Severed => "severed",
            Self::Lengthwise => "lengthwise",
            Self::Bore => "bore",
            Self::SideCut => "side-cut",
            Self::Enclosed => "enclosed",
            Self::TopNotch => "top-notch",
            Self::BottomNotch => "bottom-notch",
            Self::Hole => "hole",
        }
    }
}

/// The edge of a member that a cut reaches. The words of the report contract.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Edge {
    /// z = +h/2.
    Top,
    /// z = −h/2.
    Bottom,
    /// Both.
    Full,
    /// Neither.
    None,
}

/// A void already modelled in a member, or a void asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Opening {
    /// Where it came from (the host's element, for a void found in its body).
    pub element: Element,
    /// The member that it is in.
    pub member: MemberIx,
    /// How it is modelled.
    pub source: OpeningSource,
    /// Whether a hanger, plate, bolt or other element that is neither a member nor a service lies
    /// in it or touches it: the void is there for that, so it is joinery.
    pub touches: bool,
}

/// How an opening is modelled.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum OpeningSource {
    /// An opening element or voiding feature with a voids relation.
    Element,
    /// A boolean difference inside the body.
    Boolean,
    /// A void found in the faces of the body.
    Body,
    /// A provision for void: asked for, not cut.
    Provision,
    /// Measured on site: a cut for a service, never a joint.
    Measured,
}
