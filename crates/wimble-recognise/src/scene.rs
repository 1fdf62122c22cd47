//! What was recognised, as plain values.

use glam::{DAffine3, DVec3};
use rayon::prelude::*;
use thin_vec::ThinVec;
use wimble_geom::{Aabb, Mesh, Plane, Solid};
use wimble_model::{CoverageRow, Member, Opening, Service, Storey};

/// Everything that was recognised in all inputs. Lists that belong together are parallel.
#[derive(Debug, Clone, Default)]
pub struct Scene {
    /// The files, in the order given.
    pub inputs: Vec<Input>,
    /// Storeys of all files, by elevation and name; the same storey of two files is one.
    pub storeys: Vec<Storey>,
    /// Members, by storey elevation, GlobalId, item.
    pub members: Vec<Member>,
    /// Their bodies (parallel to `members`).
    pub member_bodies: Vec<MemberBody>,
    /// Services, by storey elevation, GlobalId, item.
    pub services: Vec<Service>,
    /// Their bodies (parallel to `services`).
    pub service_bodies: Vec<ServiceBody>,
    /// Openings, by member, GlobalId.
    pub openings: Vec<Opening>,
    /// Their bodies in the world (parallel to `openings`).
    pub opening_bodies: Vec<Solid>,
    /// What happened to every element, by input, class, status, reason.
    pub coverage: Vec<CoverageRow>,
    /// What a person should know before trusting the result.
    pub warnings: Vec<Warning>,
    /// What was assumed, in words, for the head of the report.
    pub assumptions: Vec<String>,
}

impl Scene {
    /// Lets go of the bodies, for who asks no more where things cross.
    pub fn let_go_of_bodies(&mut self) {
        // A building has as many as pieces: to free them takes as long as to look at them.
        std::mem::take(&mut self.member_bodies).into_par_iter().for_each(drop);
        std::mem::take(&mut self.service_bodies).into_par_iter().for_each(drop);
        self.opening_bodies = Vec::new();
    }
}

/// One input file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Input {
    /// As given.
    pub path: String,
    /// BLAKE3 of its bytes, hex.
    pub blake3: String,
    /// Schema as the file names it.
    pub schema: String,
    /// Length unit in words (`mm`, `m`, `foot`).
    pub length_unit: String,
    /// Number of instances.
    pub instances: u64,
    /// Whether only a part could be read.
    pub partial: bool,
}

/// A remark about an input as a whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Which input, if one alone.
    pub input: Option<u32>,
    /// Line in it, if known.
    pub line: Option<u64>,
    /// For a person: what is so and what to do.
    pub text: String,
}

/// Body of a member: parts whose union is the member before openings, in the member's frame,
/// millimetres.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MemberBody {
    /// One part for a solid section; flanges and web of an I-joist; chords and webs of an
    /// open-web joist.
    pub parts: Vec<Part>,
}

/// A part of a member's body.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is in the section.
    pub kind: PartKind,
    /// Its shape in the member's frame, millimetres.
    pub shape: PartShape,
}

/// What a part is in the section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PartKind {
    /// The whole of a solid section.
    Solid,
    /// Flange of an I-joist.
    Flange,
    /// Web of an I-joist.
    Web,
    /// Chord of an open-web joist.
    Chord,
    /// Web (strut, tie, plate) of an open-web joist.
    Strut,
}

/// Shape of a part in the member's frame, millimetres.
#[derive(Debug, Clone, PartialEq)]
pub enum PartShape {
    /// A box, cut by half spaces (skew or plumb ends): straight members, exact.
    Box {
        /// The box before the ends are cut.
        bounds: Aabb,
        /// Half spaces that hold the material.
        ends: ThinVec<Plane>,
    },
    /// Anything else (round, tapered, curved, a round web).
    Mesh(Mesh),
}

/// Bare body of a service in the world, metres. Most are round: what only others have lies apart.
#[derive(Debug, Clone, PartialEq)]
pub enum ServiceBody {
    /// Straight, round, square ends.
    Round {
        /// Centre of one end.
        from: DVec3,
        /// Centre of the other end.
        to: DVec3,
        /// Outside radius.
        radius: f64,
    },
    /// Straight, rectangular, square ends.
    Rectangular {
        /// Centre and unit axes; z runs along the service.
        frame: Box<DAffine3>,
        /// Half sizes along those axes.
        half: DVec3,
    },
    /// Any other shape.
    Mesh(Mesh),
    /// Only a line, or nothing that gives a size: what it would cut is not known.
    Line {
        /// Points along it.
        points: Vec<DVec3>,
    },
}

/// One line of a processor's cache.
const _: () = assert!(size_of::<ServiceBody>() <= 64, "the body of a service has grown");
