//! Members and what carries them.

use crate::{Element, MemberIx, Note, Section};
use arcstr::ArcStr;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use thin_vec::ThinVec;

/// A timber member: a piece of timber (or timber product) that carries load.
///
/// A large building has hundreds of thousands: a list takes one word, and no memory while it is
/// empty.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Member {
    /// Where it came from.
    pub element: Element,
    /// What it is in the building.
    pub kind: MemberKind,
    /// What it does beyond its kind, derived from its neighbours; `None` for an ordinary member.
    pub role: Option<Role>,
    /// The other plies of a built-up member, if `role` is [`Role::Ply`].
    pub with: ThinVec<MemberIx>,
    /// Other elements that are the same piece given twice (`file, #instance`), the authority being this one.
    pub duplicates: ThinVec<Element>,
    /// Index into the storeys, if it is in one.
    pub storey: Option<u32>,
    /// Floor, flat roof, ceiling …
    pub place: Place,
    /// Material as the model names it (`C24 softwood`), with grade and species if stated.
    pub material: Option<Arc<str>>,
    /// Solid timber or an engineered product.
    pub make: TimberMake,
    /// Cross-section (at mid length, for a tapered member).
    pub section: Section,
    /// Whether section, depth and level change along the member (tapered, curved); the facts of a
    /// cut are then those at its mid x.
    pub varies: bool,
    /// Greatest less least x of the body with its end clips.
    pub length_mm: f64,
    /// Where it lies in the world.
    pub frame: Frame,
    /// What it rests on, by `from_mm`.
    pub bearings: ThinVec<Bearing>,
    /// Between neighbouring bearings, by `from_mm`.
    pub spans: ThinVec<Span>,
    /// The spans if every bearing under the middle whose `LoadBearing` is not stated does not
    /// carry: the cut is judged both ways and the worse verdict counts. `None` if there is none.
    pub spans_without_doubtful: Option<ThinVec<Span>>,
    /// Ends without a bearing, in words (`east end`), empty if both ends bear or overhang.
    pub open_ends: ThinVec<End>,
    /// Loads that stand on its deck.
    pub loads: ThinVec<DeckLoad>,
    /// `LoadBearing` of a stud, post or plate: stated, or of its wall; `None` if neither.
    pub load_bearing: Option<bool>,
    /// Remarks that change no verdict.
    pub notes: ThinVec<Note>,
}

/// Five and a half lines of a processor's cache.
const _: () = assert!(size_of::<Member>() <= 352, "a member has grown");

/// What a member is in the building.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum MemberKind {
    /// Repeated level member of a floor, flat roof or ceiling.
    Joist,
    /// Single level member that carries others (also lintels).
    Beam,
    /// Repeated sloping roof member; purlins, hips and valleys too.
    Rafter,
    /// Repeated upright in a wall.
    Stud,
    /// Single upright.
    Post,
    /// Lies flat on or under a wall: sole, head, binder, wall plate.
    Plate,
    /// Short piece between members: strutting, noggings.
    Blocking,
    /// Part of a truss.
    TrussPart,
    /// At the edge of a floor, along the ends of joists.
    Rim,
    /// Lies on or against a member and carries nothing: firring, batten, packer.
    Packing,
    /// Over an opening in a wall.
    Lintel,
    /// Timber, but what it does cannot be told.
    Unknown,
}

impl MemberKind {
    /// The word of the trade that every output prints.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Joist => "joist",
            Self::Beam => "beam",
            Self::Rafter => "rafter",
            Self::Stud => "stud",
            Self::Post => "post",
            Self::Plate => "plate",
            Self::Blocking => "blocking",
            Self::TrussPart => "truss-part",
            Self::Rim => "rim",
            Self::Packing => "packing",
            Self::Lintel => "lintel",
            Self::Unknown => "unknown",
        }
    }
}

/// What a member does beyond its kind.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// One of several side by side that act together.
    Ply,
    /// Carries a trimmer's end inside its span (the trimming joist).
    Trimming,
    /// Runs across and carries trimmed joists' ends.
    Trimmer,
    /// An ordinary joist that ends at a trimmer.
    Trimmed,
}

impl Role {
    /// The word of the trade that every output prints.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ply => "ply",
            Self::Trimming => "trimming",
            Self::Trimmer => "trimmer",
            Self::Trimmed => "trimmed",
        }
    }
}

/// Which part of the building a level member belongs to.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// A floor that people walk on.
    Floor,
    /// A flat roof.
    FlatRoof,
    /// A ceiling that carries only itself.
    Ceiling,
    /// A pitched roof.
    PitchedRoof,
    /// A wall.
    Wall,
    /// Cannot be told.
    Unknown,
}

/// Solid timber or an engineered product.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum TimberMake {
    /// Sawn or finger-jointed solid timber.
    Solid,
    /// Glued laminated timber.
    Glulam,
    /// Laminated veneer lumber and other structural composites.
    Lvl,
    /// Cross-laminated timber and other plates.
    Panel,
    /// I-joist or open-web product.
    Engineered,
    /// Not stated; solid is assumed only where the section fits it, and said so.
    NotStated,
}

/// A member's frame: x along it, z up its depth, y across its breadth (y = z × x).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// Centre of the section at x = 0, world, metres.
    pub origin_m: glam::DVec3,
    /// Unit vector along the member.
    pub x: glam::DVec3,
    /// Unit vector up the depth.
    pub z: glam::DVec3,
}

impl Frame {
    /// Unit vector across the breadth.
    #[must_use]
    pub fn y(&self) -> glam::DVec3 {
        self.z.cross(self.x)
    }

    /// A world point (metres) in the member's frame (millimetres).
    #[must_use]
    pub fn local_mm(&self, world_m: glam::DVec3) -> glam::DVec3 {
        1000.0 * self.turn(world_m - self.origin_m)
    }

    /// A world direction in the member's frame; length is kept.
    #[must_use]
    pub fn turn(&self, direction: glam::DVec3) -> glam::DVec3 {
        glam::DVec3::new(direction.dot(self.x), direction.dot(self.y()), direction.dot(self.z))
    }

    /// A point of the member's frame (millimetres) in the world (metres).
    #[must_use]
    pub fn world_m(&self, local_mm: glam::DVec3) -> glam::DVec3 {
        let p = local_mm / 1000.0;
        self.origin_m + p.x * self.x + p.y * self.y() + p.z * self.z
    }
}

/// An end of a member.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// At x = 0.
    Start,
    /// At x = length.
    Finish,
}

/// How a bearing (or a span between two) is known. Ordered from the surest to the weakest.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// The user says so.
    Stated,
    /// A relationship in the model names it.
    Relationship,
    /// It touches the underside.
    Contact,
    /// A hanger or a notch in the carrying member holds the end.
    Hanger,
    /// The end lies within a pocket or between flanges.
    BuiltIn,
    /// The end butts against a face.
    EndFace,
    /// The user accepts the ends of members as bearings.
    MemberEnds,
    /// Something that carries lies 15 to 75 mm below: a plate may be missing.
    NearContact,
}

impl Basis {
    /// The word of the report contract.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Stated => "stated",
            Self::Relationship => "relationship",
            Self::Contact => "contact",
            Self::Hanger => "hanger",
            Self::BuiltIn => "built-in",
            Self::EndFace => "end-face",
            Self::MemberEnds => "member-ends",
            Self::NearContact => "near-contact",
        }
    }
}

/// The length of a member that sits on a support.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bearing {
    /// Where it begins along x.
    pub from_mm: f64,
    /// Where it ends along x; equal to `from_mm` for an end face.
    pub to_mm: f64,
    /// What carries: a member of this list, or …
    pub member: Option<MemberIx>,
    /// … the element that carries (a wall, say), if known; it carries many.
    pub element: Option<Arc<Element>>,
    /// What a person calls it (`wall W-S`, `steel beam B2`).
    pub name: ArcStr,
    /// How it is known.
    pub basis: Basis,
    /// The support lies under the middle and does not say whether it carries.
    pub doubtful: bool,
}

/// A clear span between the inner faces of two neighbouring bearings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// Inner face of the bearing with the lesser x.
    pub from_mm: f64,
    /// Inner face of the bearing with the greater x.
    pub to_mm: f64,
    /// The weaker of its two bearings' bases.
    pub basis: Basis,
    /// Index of the bearing at `from_mm`, if the span lies between bearings of the list.
    pub from_bearing: Option<u32>,
    /// Index of the bearing at `to_mm`.
    pub to_bearing: Option<u32>,
}

impl Span {
    /// Clear span L.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.to_mm - self.from_mm
    }
}

/// Something heavy that stands on the deck over a member.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DeckLoad {
    /// What it is.
    pub kind: DeckLoadKind,
    /// Its name for a person.
    pub name: String,
    /// Where it begins along x.
    pub from_mm: f64,
    /// Where it ends along x.
    pub to_mm: f64,
}

/// What stands on a deck.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DeckLoadKind {
    /// A partition that runs along the joist, within half a spacing of it.
    PartitionAlong,
    /// A partition that crosses the joist.
    PartitionAcross,
    /// Cylinder, tank, boiler, stove.
    Vessel,
    /// Bath or shower tray: a note, no more.
    Bath,
}
