//! Where carriers touch a member. All lengths in millimetres of the member's frame.

use super::carriers::{Carrier, CarrierSort, Carriers, Told, Who};
use super::reach::{Region, Shape, reach};
use crate::scene::PartShape;
use crate::stick::Stick;
use compact_str::CompactString;
use glam::DVec3;
use thin_vec::ThinVec;
use wimble_geom::{Aabb, Plane, tolerance};
use wimble_model::{Basis, Note};

/// Contact is accepted up to this.
const CONTACT: f64 = 1000.0 * tolerance::CONTACT_ACCEPTED;
/// Over a bearing wall, a gap up to this is a missing plate.
const NEAR: f64 = 1000.0 * tolerance::NEAR_CONTACT;
/// Neighbours that only share a side's plane do not touch from below: the section is taken this
/// much smaller on each side.
const INSET: f64 = 1.0;
/// Contact longer than this share of the member is no bearing.
const ALONG: f64 = 0.6;
/// How far above, below and beside an end flanges and the sides of a pocket may be.
const POCKET: f64 = 120.0;
/// A pocket or flange reaches at most this far over the member.
const POCKET_LENGTH: f64 = 400.0;
/// Less bearing than this on masonry is worth a remark (practice.md).
const ON_MASONRY: f64 = 90.0;
/// How far beyond the ends carriers are looked for.
const BEYOND: f64 = 500.0;
/// Cosine above which two members run the same way.
const SAME_WAY: f64 = 0.99;

/// A place where something carries, or almost.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Found {
    /// From and to along x.
    pub(crate) at: [f64; 2],
    /// How it is known.
    pub(crate) basis: Basis,
    /// Who carries.
    pub(crate) who: Who,
    /// What a person calls it.
    pub(crate) called: CompactString,
    /// Whether it is a wall that does not say whether it carries.
    pub(crate) unsaid: bool,
    /// What should be said of it.
    pub(crate) note: Option<Note>,
}

/// What touches a member.
#[derive(Debug, Clone, Default)]
pub(crate) struct Touching {
    /// Bearings, not yet merged.
    pub(crate) found: Vec<Found>,
    /// Names of what carries it along its length.
    pub(crate) along: Vec<CompactString>,
    /// Names of what it lies within (a roof or floor drawn as one solid round its joists).
    pub(crate) within: Vec<CompactString>,
}

/// All places where carriers touch the member.
///
/// `named` are those that a relationship in the model connects it to.
pub(crate) fn bearings(
    me: Who,
    stick: &Stick,
    carriers: &Carriers<'_>,
    named: &[Who],
    assume: bool,
) -> Touching {
    let place = stick.figure.world_box().grown(NEAR.max(POCKET) / 1000.0 + 0.005);
    let member = Around::new(stick);
    let mut touching = Touching::default();
    let near: Vec<(Carrier<'_>, Shape)> = carriers
        .near(place)
        .filter(|carrier| carrier.who != me && may_carry(carrier, assume))
        .map(|carrier| {
            let shape = Shape::of(&carrier.figure, &stick.frame);
            (carrier, shape)
        })
        .filter(|(_, shape)| shape.bounds().touches(member.all))
        .collect();
    for (carrier, shape) in &near {
        if stick.is_steep() {
            member.ends_of_steep(carrier, shape, &mut touching);
        } else if carrier.sort != CarrierSort::Hanger {
            member.underside_or_end(carrier, shape, &mut touching);
        }
    }
    if !stick.is_steep() {
        for end in [End::Start, End::Finish] {
            member.hanger(end, &near, &mut touching);
            if !touching.found.iter().any(|f| member.is_at(end, f)) {
                member.pocket(end, &near, &mut touching);
            }
        }
        member.relationships(named, &near, &mut touching);
        member.missing_plates(&near, &mut touching);
    }
    member.finishes(&near, carriers, &mut touching);
    touching
}

fn may_carry(carrier: &Carrier<'_>, assume: bool) -> bool {
    match carrier.load_bearing {
        Some(carries) => carries,
        None => assume || carrier.sort != CarrierSort::Wall,
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    Start,
    Finish,
}

/// A member and the regions round it.
struct Around<'a> {
    stick: &'a Stick,
    length: f64,
    /// Half breadth and half depth.
    half: [f64; 2],
    /// Everything that is looked at.
    all: Aabb,
    /// Skew ends, moved out by the contact that is accepted.
    ends: ThinVec<Plane>,
    /// Greatest x of the start's face and least x of the finish's.
    faces: [f64; 2],
}

impl<'a> Around<'a> {
    fn new(stick: &'a Stick) -> Self {
        let length = stick.length_mm;
        let half = [0.5 * stick.section.breadth_mm(), 0.5 * stick.section.depth_mm()];
        let bounds = stick.local_box();
        let reach = DVec3::new(BEYOND, POCKET, NEAR.max(POCKET));
        let all = Aabb { min: bounds.min - reach, max: bounds.max + reach };
        let planes: &[Plane] = match stick.body.parts.first().map(|part| &part.shape) {
            Some(PartShape::Box { ends, .. }) if !stick.varies => ends,
            _ => &[],
        };
        let mut faces = [0.0_f64, length];
        for plane in planes {
            for (y, z) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
                let n = plane.normal;
                let x = (plane.offset - n.y * y * half[0] - n.z * z * half[1]) / n.x;
                if n.x < 0.0 {
                    faces[0] = faces[0].max(x.min(length));
                } else {
                    faces[1] = faces[1].min(x.max(0.0));
                }
            }
        }
        let ends =
            planes.iter().map(|p| Plane { normal: p.normal, offset: p.offset + CONTACT }).collect();
        Self { stick, length, half, all, ends, faces }
    }

    /// A region from ranges of x, y and z.
    fn region(x: [f64; 2], y: [f64; 2], z: [f64; 2]) -> Region<'static> {
        Region {
            within: Aabb { min: DVec3::new(x[0], y[0], z[0]), max: DVec3::new(x[1], y[1], z[1]) },
            and: &[],
        }
    }

    /// The breadth, a little less on each side.
    fn breadth(&self) -> [f64; 2] {
        let half = (self.half[0] - INSET).max(0.1);
        [-half, half]
    }

    /// The depth, a little less on each side.
    fn depth(&self) -> [f64; 2] {
        let half = (self.half[1] - INSET).max(0.1);
        [-half, half]
    }

    fn x(&self) -> [f64; 2] {
        [-BEYOND, self.length + BEYOND]
    }

    fn clip(&self, at: [f64; 2]) -> [f64; 2] {
        at.map(|x| x.clamp(0.0, self.length))
    }

    fn is_at(&self, end: End, found: &Found) -> bool {
        match end {
            End::Start => found.at[0] <= self.faces[0] + CONTACT,
            End::Finish => found.at[1] >= self.faces[1] - CONTACT,
        }
    }

    /// Contact from below, else an end built in or against a face.
    fn underside_or_end(&self, carrier: &Carrier<'_>, shape: &Shape, touching: &mut Touching) {
        let bottom = -self.half[1];
        let under = Self::region(self.x(), self.breadth(), [bottom - CONTACT, bottom + CONTACT]);
        if let Some(at) = reach(shape, &under).map(|at| self.clip(at)) {
            let long = at[1] - at[0];
            let enters = |z: f64| {
                let inner = Self::region(at, self.breadth(), [z, self.half[1] - INSET]);
                reach(shape, &inner).is_some()
            };
            if long > ALONG * self.length {
                let into = if enters(bottom + CONTACT + INSET) {
                    &mut touching.within
                } else {
                    &mut touching.along
                };
                into.push(carrier.called());
                return;
            }
            let at_end = at[0] <= self.faces[0] + CONTACT || at[1] >= self.faces[1] - CONTACT;
            let built_in = enters(bottom + CONTACT + INSET);
            // Another member that crosses at the same level is carried, or clashes: what carries
            // from below stays under mid-depth.
            if built_in && !at_end && carrier.sort == CarrierSort::Member && enters(0.0) {
                return;
            }
            // A hair of overlap with something that stands before the end is its face.
            let face = built_in && at_end && long <= CONTACT;
            if long > 0.1 && !face {
                let basis = if built_in { Basis::BuiltIn } else { Basis::Contact };
                // How far below the underside its top lies: contact beyond 3 mm is accepted, said.
                let gap = bottom - shape.bounds().max.z;
                let note = (gap > 1000.0 * tolerance::CONTACT).then(|| {
                    Note::from(format!(
                        "{gap:.0} mm between the underside and {}: taken as contact",
                        carrier.called()
                    ))
                });
                touching.found.push(self.found(carrier, at, basis, note));
                return;
            }
        }
        let same_way = carrier.along.is_some_and(|x| x.dot(self.stick.frame.x).abs() > SAME_WAY);
        if same_way {
            return;
        }
        let within = Region {
            and: &self.ends,
            ..Self::region([-CONTACT, self.length + CONTACT], self.breadth(), self.depth())
        };
        let Some(at) = reach(shape, &within) else { return };
        if at[1] - at[0] > ALONG * self.length {
            touching.within.push(carrier.called());
            return;
        }
        let face = |x: f64| [x.clamp(0.0, self.length); 2];
        if at[0] <= self.faces[0] && at[1] <= self.faces[0] + CONTACT {
            touching.found.push(self.found(carrier, face(at[1]), Basis::EndFace, None));
        } else if at[1] >= self.faces[1] && at[0] >= self.faces[1] - CONTACT {
            touching.found.push(self.found(carrier, face(at[0]), Basis::EndFace, None));
        } else if at[0] <= self.faces[0] + CONTACT || at[1] >= self.faces[1] - CONTACT {
            touching.found.push(self.found(carrier, self.clip(at), Basis::BuiltIn, None));
        }
    }

    /// The ends of a stud or post: anything that touches them.
    fn ends_of_steep(&self, carrier: &Carrier<'_>, shape: &Shape, touching: &mut Touching) {
        for (x, end) in [(0.0, self.faces[0]), (self.length, self.faces[1])] {
            let range = if x > 0.0 { [end - 5.0, x + CONTACT] } else { [-CONTACT, end + 5.0] };
            let region =
                Region { and: &self.ends, ..Self::region(range, self.breadth(), self.depth()) };
            if reach(shape, &region).is_some() {
                touching.found.push(self.found(carrier, [x; 2], Basis::EndFace, None));
            }
        }
    }

    /// A hanger at an end: the bearing's face is that of the member which carries it.
    fn hanger(&self, end: End, near: &[(Carrier<'_>, Shape)], touching: &mut Touching) {
        let x = match end {
            End::Start => [-CONTACT, self.faces[0] + POCKET],
            End::Finish => [self.faces[1] - POCKET, self.length + CONTACT],
        };
        let round = Self::region(
            x,
            [-self.half[0] - CONTACT, self.half[0] + CONTACT],
            [-self.half[1] - CONTACT, self.half[1] + CONTACT],
        );
        let Some((hanger, _)) = near.iter().find(|(carrier, shape)| {
            carrier.sort == CarrierSort::Hanger && reach(shape, &round).is_some()
        }) else {
            return;
        };
        let mut held = false;
        for found in &mut touching.found {
            let here = match end {
                End::Start => found.at[0] <= self.faces[0] + CONTACT,
                End::Finish => found.at[1] >= self.faces[1] - CONTACT,
            };
            if here && found.basis == Basis::EndFace {
                found.basis = Basis::Hanger;
                held = true;
            }
        }
        if !held && !touching.found.iter().any(|f| self.is_at(end, f)) {
            let face = if end == End::Start { 0.0 } else { self.length };
            touching.found.push(self.found(hanger, [face; 2], Basis::Hanger, None));
        }
    }

    /// An end between the flanges of a beam, or in a pocket of a wall or slab.
    fn pocket(&self, end: End, near: &[(Carrier<'_>, Shape)], touching: &mut Touching) {
        let (x, tip) = match end {
            End::Start => ([-CONTACT, POCKET_LENGTH.min(0.3 * self.length)], 1),
            End::Finish => {
                ([self.length - POCKET_LENGTH.min(0.3 * self.length), self.length + CONTACT], 0)
            }
        };
        let [b, h] = self.half;
        let pairs = [
            [
                Self::region(x, self.breadth(), [h, h + POCKET]),
                Self::region(x, self.breadth(), [-h - POCKET, -h]),
            ],
            [
                Self::region(x, [b, b + POCKET], self.depth()),
                Self::region(x, [-b - POCKET, -b], self.depth()),
            ],
        ];
        for (carrier, shape) in near {
            if carrier.sort == CarrierSort::Hanger
                || carrier.along.is_some_and(|x| x.dot(self.stick.frame.x).abs() > SAME_WAY)
            {
                continue;
            }
            let inner = pairs.iter().find_map(|[one, other]| {
                let (one, other) = (reach(shape, one)?, reach(shape, other)?);
                let inner = if tip == 1 { one[1].min(other[1]) } else { one[0].max(other[0]) };
                (inner > 1.0 && inner < self.length - 1.0).then_some(inner)
            });
            if let Some(inner) = inner {
                let at = if tip == 1 { [0.0, inner] } else { [inner, self.length] };
                touching.found.push(self.found(carrier, at, Basis::BuiltIn, None));
            }
        }
    }

    /// What the model says the member is connected to and that touches nowhere, but lies at an
    /// end.
    fn relationships(&self, named: &[Who], near: &[(Carrier<'_>, Shape)], touching: &mut Touching) {
        if named.is_empty() {
            return;
        }
        let grown = |half: f64, by: f64| [-half - by, half + by];
        let round = Self::region(
            [-POCKET, self.length + POCKET],
            grown(self.half[0], POCKET),
            grown(self.half[1], NEAR),
        );
        for (carrier, shape) in near {
            let touches = touching.found.iter().any(|f| f.who == carrier.who);
            if touches || !named.contains(&carrier.who) {
                continue;
            }
            let Some(at) = reach(shape, &round) else { continue };
            let face = if at[1] <= self.faces[0] + POCKET {
                at[1]
            } else if at[0] >= self.faces[1] - POCKET {
                at[0]
            } else {
                continue;
            };
            let end = if at[1] <= self.faces[0] + POCKET { End::Start } else { End::Finish };
            if !touching.found.iter().any(|f| self.is_at(end, f)) {
                let x = face.clamp(0.0, self.length);
                let note =
                    format!("{} is named as its support; they do not touch", carrier.called());
                touching.found.push(self.found(
                    carrier,
                    [x; 2],
                    Basis::Relationship,
                    Some(note.into()),
                ));
            }
        }
    }

    /// The bearing starts at the structure where layers tell the lining; where nothing does, the
    /// face may be a finish.
    fn finishes(
        &self,
        near: &[(Carrier<'_>, Shape)],
        carriers: &Carriers<'_>,
        touching: &mut Touching,
    ) {
        for found in &mut touching.found {
            let carrier = near.iter().find(|(carrier, _)| carrier.who == found.who);
            let Some((carrier, _)) = carrier else { continue };
            let long = found.at[1] - found.at[0];
            if carrier.masonry && found.basis == Basis::Contact && long < ON_MASONRY {
                let called = &found.called;
                found.note.get_or_insert_with(|| {
                    format!("bears {long:.0} mm on {called}: 90 mm is usual on masonry").into()
                });
            }
            match carrier.lining_mm {
                Some(lining)
                    if lining > 0.0 && matches!(found.basis, Basis::Contact | Basis::BuiltIn) =>
                {
                    let [from, to] = found.at;
                    let inner = [
                        if from > 0.0 { from + lining } else { from },
                        if to < self.length { to - lining } else { to },
                    ];
                    if inner[0] < inner[1] {
                        found.at = inner;
                        let called = &found.called;
                        found.note.get_or_insert_with(|| {
                            Note::from(format!(
                                "bearing on {called} taken from its structure, \
                                 {lining:.0} mm behind the face"
                            ))
                        });
                    }
                }
                None if !carrier.made_of && found.note.is_none() => {
                    found.note = carriers.told(found.who).map(Told::face);
                }
                _ => {}
            }
        }
    }

    /// Walls 15 to 75 mm below, where nothing else carries: a plate may be missing.
    fn missing_plates(&self, near: &[(Carrier<'_>, Shape)], touching: &mut Touching) {
        let bottom = -self.half[1];
        let below = Self::region(self.x(), self.breadth(), [bottom - NEAR, bottom - CONTACT]);
        for (carrier, shape) in near {
            if carrier.sort != CarrierSort::Wall || shape.bounds().max.z > bottom - CONTACT {
                continue;
            }
            let Some(at) = reach(shape, &below).map(|at| self.clip(at)) else { continue };
            let covered =
                touching.found.iter().any(|f| f.at[0] <= at[1] + 25.0 && f.at[1] >= at[0] - 25.0);
            let long = at[1] - at[0];
            let at_end = at[0] <= self.faces[0] + CONTACT || at[1] >= self.faces[1] - CONTACT;
            if covered
                || long < 0.1
                || long > ALONG * self.length
                || !(at_end || carrier.load_bearing == Some(true))
            {
                continue;
            }
            let gap = bottom - shape.bounds().max.z;
            let note = format!(
                "{gap:.0} mm between the underside and {}: a plate may be missing",
                carrier.called()
            );
            touching.found.push(self.found(carrier, at, Basis::NearContact, Some(note.into())));
        }
    }

    fn found(
        &self,
        carrier: &Carrier<'_>,
        at: [f64; 2],
        basis: Basis,
        note: Option<Note>,
    ) -> Found {
        Found {
            at,
            basis,
            who: carrier.who,
            called: carrier.called(),
            unsaid: carrier.sort == CarrierSort::Wall && carrier.load_bearing.is_none(),
            note,
        }
    }
}
