//! Boolean trees: clips are applied at once, other operands that are taken away are kept apart.

use super::Subtraction;
use super::reader::{Entity, Read, Reader};
use super::solid::Made;
use crate::Unreadable;
use glam::DVec2;
use wimble_geom::{Plane, Profile, Solid, clean_ring, convex_rings, tolerance};

/// A half space, bounded by a prism or not.
struct HalfSpace {
    plane: Plane,
    bounds: Option<Bounds>,
}

/// A prism that bounds a half space.
struct Bounds {
    /// The walls of its convex parts.
    parts: Vec<Vec<Plane>>,
    /// Where it begins.
    floor: Option<Plane>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Operator {
    Union,
    Difference,
    Intersection,
}

impl<'m> Reader<'m, '_> {
    /// The first operand with everything done to it, from the innermost operation out.
    pub(super) fn boolean(&self, entity: &Entity<'m>) -> Read<Made> {
        // Chains are hundreds of operations long: they are walked, not descended.
        let mut chain: Vec<(Operator, Entity<'m>)> = Vec::new();
        let mut at = self.at(entity.row);
        loop {
            let operator = match at.get(0).enumeration() {
                Some("UNION") => Operator::Union,
                Some("INTERSECTION") => Operator::Intersection,
                Some("DIFFERENCE") => Operator::Difference,
                _ if at.keyword == "IFCBOOLEANCLIPPINGRESULT" => Operator::Difference,
                _ => return Err(at.trouble("has no operator")),
            };
            chain.push((operator, self.part(&at, 2, "SecondOperand")?));
            self.count(&at, 1)?;
            let first = self.part(&at, 1, "FirstOperand")?;
            if !matches!(first.keyword, "IFCBOOLEANRESULT" | "IFCBOOLEANCLIPPINGRESULT") {
                at = first;
                break;
            }
            if chain.len() > 20_000 {
                return Err(entity.trouble("is a boolean of itself"));
            }
            self.met(&first, true);
            at = first;
        }
        let mut made = if is_half_space(at.keyword) {
            // A half space first only makes sense in an intersection with a solid.
            match chain.pop() {
                Some((Operator::Intersection, second)) if !is_half_space(second.keyword) => {
                    let made = self.made(&second)?;
                    chain.push((Operator::Intersection, at));
                    made
                }
                _ => return Err(at.trouble("is a half space, which has no end")),
            }
        } else {
            self.made(&at)?
        };
        let mut done: Vec<(Operator, u64)> = Vec::new();
        for (operator, second) in chain.into_iter().rev() {
            // Exporters write the same operand many times over: once is enough.
            let key = (operator, second.record.name());
            if operator == Operator::Difference && done.contains(&key) {
                continue;
            }
            done.push(key);
            made = self.apply(entity, made, operator, &second)?;
        }
        Ok(made)
    }

    fn apply(
        &self,
        whole: &Entity<'m>,
        made: Made,
        operator: Operator,
        second: &Entity<'m>,
    ) -> Read<Made> {
        if is_half_space(second.keyword) {
            let half = self.half_space(second);
            self.met(second, half.is_ok());
            return match (half, operator) {
                (Ok(half), Operator::Difference) => {
                    match self.take_away(second, &made.solid, &half) {
                        Some(solid) => Ok(Made { solid, ..made }),
                        None => Err(whole.trouble("is clipped away altogether")),
                    }
                }
                (Ok(half), Operator::Intersection) => match keep(&made.solid, &half) {
                    Some(solid) => Ok(Made { solid, ..made }),
                    None => Err(whole.trouble("is clipped away altogether")),
                },
                (Ok(_), Operator::Union) => Err(second.trouble("is added, but has no end")),
                (Err(trouble), Operator::Difference) => {
                    // The rest of the body is still worth having; the operand is listed as unread.
                    let mut made = made;
                    made.subtracted.push(Subtraction { row: second.row, solid: Err(trouble) });
                    Ok(made)
                }
                (Err(trouble), _) => Err(trouble),
            };
        }
        match operator {
            Operator::Difference => {
                let mut made = made;
                let solid = self.made(second).and_then(|other| net(second, &other));
                match solid {
                    Ok(Some(solid)) if made.solid.bounds().touches(solid.bounds()) => {
                        made.subtracted.push(Subtraction { row: second.row, solid: Ok(solid) });
                    }
                    Ok(_) => {}
                    Err(trouble) => {
                        made.subtracted.push(Subtraction { row: second.row, solid: Err(trouble) });
                    }
                }
                Ok(made)
            }
            Operator::Union => {
                let (first, other) = (self.whole_net(whole, &made)?, self.made(second)?);
                let Some(other) = net(second, &other)? else { return Ok(first.into()) };
                Ok(match first.plus(&other) {
                    Ok(both) => both.into(),
                    Err(trouble) => {
                        self.remark(
                            whole.row,
                            format!(
                                "{}: {trouble}; what both share is counted twice",
                                whole.label()
                            ),
                        );
                        let mut mesh = first.to_mesh(self.chord);
                        mesh.append(&other.to_mesh(self.chord));
                        Solid::Mesh(mesh).into()
                    }
                })
            }
            Operator::Intersection => {
                let (first, other) = (self.whole_net(whole, &made)?, self.made(second)?);
                let Some(other) = net(second, &other)? else {
                    return Err(whole.trouble("is cut away altogether"));
                };
                match first.common(&other) {
                    Ok(Some(solid)) => Ok(solid.into()),
                    Ok(None) => Err(whole.trouble("has operands that share nothing")),
                    Err(trouble) => {
                        Err(whole.trouble(format_args!("cannot be worked out: {trouble}")))
                    }
                }
            }
        }
    }

    /// A bounding polygon is taken to reach both ways from its position, with a remark where that
    /// makes a difference: see `docs/decisions/0005-bounded-half-spaces.md`.
    fn take_away(&self, operand: &Entity<'m>, solid: &Solid, half: &HalfSpace) -> Option<Solid> {
        let both_ways = take_away(solid, half, false)?;
        let floor = half.bounds.as_ref().and_then(|bounds| bounds.floor);
        let below = |floor: Plane| {
            solid.extent_along(floor.normal).1 > floor.offset + tolerance::SAME_POINT
        };
        if floor.is_some_and(below) {
            let volume = |solid: Option<&Solid>| solid.map_or(0.0, Solid::volume);
            let upward = volume(take_away(solid, half, true).as_ref());
            if upward - volume(Some(&both_ways)) > SKIN * solid.to_mesh(self.chord).area() {
                let label = operand.label();
                self.remark(operand.row, format!("{label} cuts below its position, too"));
            }
        }
        Some(both_ways)
    }

    fn whole_net(&self, whole: &Entity<'m>, made: &Made) -> Read<Solid> {
        net(whole, made)?.ok_or_else(|| whole.trouble("is cut away altogether"))
    }

    fn half_space(&self, entity: &Entity<'m>) -> Read<HalfSpace> {
        let surface = self.part(entity, 0, "BaseSurface")?;
        let frame = self.plane_frame(&surface)?;
        let agrees = entity.get(1).boolean().unwrap_or(true);
        let normal = if agrees { frame.matrix3.z_axis } else { -frame.matrix3.z_axis };
        let plane = Plane::through(frame.translation, normal)
            .ok_or_else(|| surface.trouble("has no normal"))?;
        if entity.keyword != "IFCPOLYGONALBOUNDEDHALFSPACE" {
            return Ok(HalfSpace { plane, bounds: None });
        }
        let place = self.frame_or_none(entity, 2)?;
        let path = self.path(&self.part(entity, 3, "PolygonalBoundary")?)?;
        let ring = clean_ring(
            &path.points(self.chord).iter().map(|p| p.truncate()).collect::<Vec<DVec2>>(),
        );
        let area = Profile::from_rings(&ring, &[], 0.0)
            .ok_or_else(|| entity.trouble("is bounded by nothing"))?;
        let z = place.matrix3.z_axis;
        // Extruded along +Z of its position only.
        let floor = Plane::through(place.translation, -z);
        let parts = convex_rings(&area.outline(self.chord))
            .iter()
            .map(|ring| {
                let at = |p: DVec2| place.transform_point3(p.extend(0.0));
                let walls = (0..ring.len()).filter_map(|i| {
                    let (a, b) = (at(ring[i]), at(ring[(i + 1) % ring.len()]));
                    Plane::through(a, (b - a).cross(z))
                });
                walls.collect()
            })
            .collect();
        Ok(HalfSpace { plane, bounds: Some(Bounds { parts, floor }) })
    }

    /// The frame of a plane; of a bounded plane, that of the plane that is bounded.
    pub(super) fn plane_frame(&self, entity: &Entity<'m>) -> Read<glam::DAffine3> {
        match entity.keyword {
            "IFCPLANE" => self.frame_or_none(entity, 0),
            "IFCCURVEBOUNDEDPLANE" | "IFCRECTANGULARTRIMMEDSURFACE" => {
                let basis = self.part(entity, 0, "BasisSurface")?;
                self.deeper(entity, || self.plane_frame(&basis))
            }
            _ => Err(entity.trouble("bounds a half space and is not a plane")),
        }
    }
}

/// How thick a cut must be, on average over the body's surface, to count: far
/// below a micrometre.
const SKIN: f64 = 1e-10;

fn is_half_space(keyword: &str) -> bool {
    matches!(keyword, "IFCHALFSPACESOLID" | "IFCPOLYGONALBOUNDEDHALFSPACE" | "IFCBOXEDHALFSPACE")
}

/// What is left of a solid when all that is kept apart is taken away; operands that could not be
/// read are not. `None` if nothing.
pub(super) fn net(entity: &Entity<'_>, made: &Made) -> Result<Option<Solid>, Unreadable> {
    let others: Vec<&Solid> =
        made.subtracted.iter().filter_map(|s| s.solid.as_ref().ok()).collect();
    if others.is_empty() {
        return Ok(Some(made.solid.clone()));
    }
    made.solid
        .minus(&others)
        .map_err(|trouble| entity.trouble(format_args!("cannot be worked out: {trouble}")))
}

fn take_away(solid: &Solid, half: &HalfSpace, upward_only: bool) -> Option<Solid> {
    let Some(bounds) = &half.bounds else { return solid.clipped(&half.plane.flipped()) };
    let Some(removed) = solid.clipped(&half.plane) else { return Some(solid.clone()) };
    let mesh = removed.to_mesh(tolerance::CHORD);
    let floor = bounds.floor.filter(|_| upward_only);
    let within = |planes: &Vec<Plane>| {
        let behind =
            |plane: &Plane| mesh.points.iter().all(|p| plane.distance(*p) <= tolerance::SAME_POINT);
        planes.iter().chain(&floor).all(behind)
    };
    if bounds.parts.iter().any(within) {
        // All that the half space removes lies within its bounds: they do not matter.
        return solid.clipped(&half.plane.flipped());
    }
    let whole = solid.bounds();
    let shift = glam::DAffine3::from_translation(-whole.centre());
    let mut mesh = solid.to_mesh(tolerance::CHORD).transformed(&shift);
    let before = mesh.clone();
    for piece in &bounds.parts {
        let planes: Vec<Plane> = piece
            .iter()
            .chain(&floor)
            .chain([&half.plane])
            .filter_map(|plane| plane.moved(&shift))
            .collect();
        mesh = mesh.minus_convex(&planes);
    }
    // Cut by nothing but a skin: the solid stays as exact as it was.
    if (before.volume() - mesh.volume()).abs() <= SKIN * before.area() {
        return Some(solid.clone());
    }
    (!mesh.triangles.is_empty()).then(|| Solid::Mesh(mesh.transformed(&shift.inverse())))
}

fn keep(solid: &Solid, half: &HalfSpace) -> Option<Solid> {
    let clipped = solid.clipped(&half.plane)?;
    let Some(bounds) = &half.bounds else { return Some(clipped) };
    let shift = glam::DAffine3::from_translation(-clipped.bounds().centre());
    let whole = clipped.to_mesh(tolerance::CHORD).transformed(&shift);
    let mut mesh = wimble_geom::Mesh::default();
    for piece in &bounds.parts {
        let planes: Vec<Plane> = piece.iter().filter_map(|plane| plane.moved(&shift)).collect();
        mesh.append(&whole.common_convex(&planes));
    }
    (!mesh.triangles.is_empty()).then(|| Solid::Mesh(mesh.transformed(&shift.inverse())))
}
