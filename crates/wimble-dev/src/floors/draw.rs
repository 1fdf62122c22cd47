//! Draws random floors that have an expectation.

use super::{Doubt, Floor, Random, Section, Through, expect};
use glam::{DVec3, dvec3};

/// Depths drawn: now and then one that the rules do not cover.
const DEPTHS: [f64; 13] =
    [97.0, 120.0, 145.0, 145.0, 170.0, 170.0, 195.0, 195.0, 220.0, 220.0, 220.0, 245.0, 275.0];

/// A random floor and its number of services; every service that would leave its expectation in doubt
/// is drawn anew.
#[must_use]
pub fn floor(random: &mut Random) -> Floor {
    let depth = random.pick(&DEPTHS, 220.0);
    let breadth = random.pick(&[38.0, 44.0, 47.0, 63.0, 75.0], 47.0);
    let clear = random.between(2200.0, 4800.0);
    let bearing = random.between(60.0, 140.0);
    let overhang = if random.one_in(3) { random.between(5.0, 90.0) } else { 0.0 };
    let mut walls = vec![[0.0, bearing], [bearing + clear, 2.0 * bearing + clear]];
    if random.one_in(8) {
        let middle = bearing + clear * 0.55;
        walls.insert(1, [middle, middle + 100.0]);
    }
    let spacing = random.pick(&[300.0, 400.0, 450.0, 600.0], 400.0);
    let count = 3 + random.below(4);
    let mut floor = Floor {
        breadth,
        depth,
        top: random.between(2300.0, 2900.0),
        ends: [-overhang, 2.0 * bearing + clear + overhang],
        joists: (0..u32::try_from(count).unwrap_or(3))
            .map(|n| 200.0 + spacing * f64::from(n))
            .collect(),
        walls,
        services: Vec::new(),
        clearance: random.pick(&[0.0, 3.0, 4.0, 5.0, 8.0, 10.0], 5.0),
    };
    let wanted = 3 + random.below(8);
    let mut tries = 0;
    while floor.services.len() < wanted && tries < 200 {
        tries += 1;
        let mut service = draw(&floor, spacing, random);
        service.name = format!("S{}", floor.services.len() + 1);
        floor.services.push(service);
        let fine: Result<_, Doubt> = expect(&floor);
        if fine.is_err() || clash(&floor) {
            floor.services.pop();
        }
    }
    floor
}

/// Whether the last service runs into another, or comes so near an end of one that both might be
/// taken for one run.
fn clash(floor: &Floor) -> bool {
    let Some((last, others)) = floor.services.split_last() else { return false };
    let radius = |service: &Through| match service.section {
        Section::Round(diameter) => diameter / 2.0,
        Section::Rectangle(along, up) => along.hypot(up) / 2.0,
    };
    others.iter().any(|other| {
        let apart = distance([last.from, last.to], [other.from, other.to]);
        let parallel = (last.to - last.from).cross(other.to - other.from).length() < 1e-6;
        apart < radius(last) + radius(other) + if parallel { 1.5 } else { 8.0 }
    })
}

/// Least distance of two pieces of line, by sampling one and projecting on the other: a few tenths
/// too large at most, which the margin of [`clash`] covers.
fn distance([a, b]: [DVec3; 2], [c, d]: [DVec3; 2]) -> f64 {
    (0..=400_u32)
        .map(|step| {
            let p = a.lerp(b, f64::from(step) / 400.0);
            let t = ((p - c).dot(d - c) / (d - c).length_squared()).clamp(0.0, 1.0);
            p.distance(c.lerp(d, t))
        })
        .fold(f64::INFINITY, f64::min)
}

fn draw(floor: &Floor, spacing: f64, random: &mut Random) -> Through {
    match random.below(8) {
        0 => companion(floor, random).unwrap_or_else(|| fitting(floor, spacing, random)),
        1..=3 => fitting(floor, spacing, random),
        _ => anything(floor, spacing, random),
    }
}

/// A second pipe beside the last one, as flow and return lie.
fn companion(floor: &Floor, random: &mut Random) -> Option<Through> {
    let last = floor.services.last()?;
    let Section::Round(size) = last.section else { return None };
    let diameter = random.pick(&[12.0, 15.0, 22.0, size, size], size);
    let apart = f64::midpoint(diameter, size)
        + random.pick(&[2.0, floor.clearance * 0.5, floor.clearance + 60.0, 110.0], 2.0);
    let aside = if random.one_in(4) { dvec3(0.0, 0.0, apart) } else { dvec3(0.0, apart, 0.0) };
    Some(Through {
        name: String::new(),
        from: last.from + aside,
        to: last.to + aside,
        section: Section::Round(diameter),
    })
}

/// A pipe where the rules would have it: a hole in its zone, or a notch in its own.
fn fitting(floor: &Floor, spacing: f64, random: &mut Random) -> Through {
    let hole = random.one_in(2);
    let (low, high) = if hole { (0.27, 0.38) } else { (0.11, 0.19) };
    let from = floor.walls.first().map_or(0.0, |wall| wall[1]);
    let to = floor.walls.get(1).map_or(0.0, |wall| wall[0]);
    let part = random.between(low * (to - from), high * (to - from));
    let y = if random.one_in(2) { from + part } else { to - part };
    let most = if hole { 0.25 } else { 0.12 } * floor.depth - floor.clearance;
    let sizes: Vec<f64> =
        [8.0, 12.0, 15.0, 18.0, 22.0, 28.0, 36.0, 43.0].into_iter().filter(|d| *d < most).collect();
    let diameter = random.pick(&sizes, 8.0);
    let edge = floor.depth / 2.0 - diameter / 2.0 - 0.5;
    let z = floor.middle()
        + match (hole, random.below(4)) {
            (true, _) => random.between(-2.0, 2.0),
            (false, 0) => -edge,
            (false, _) => edge,
        };
    let (x0, x1) = across(floor, spacing, random);
    Through {
        name: String::new(),
        from: dvec3(x0, y, z),
        to: dvec3(x1, y, z),
        section: Section::Round(diameter),
    }
}

fn anything(floor: &Floor, spacing: f64, random: &mut Random) -> Through {
    let (half, clear) = (floor.depth / 2.0, floor.clearance / 2.0);
    // Most lie in the first or the last part of the span, where the zones are.
    let length = floor.ends[1] - floor.ends[0];
    let part = random.between(0.5, 49.0) / 100.0 * length;
    let y = if random.one_in(2) { floor.ends[0] + part } else { floor.ends[1] - part };
    let diameter = random.pick(&[12.0, 15.0, 22.0, 28.0, 36.0, 43.0, 54.0], 22.0);
    let r = diameter / 2.0;
    let z = floor.middle()
        + match random.below(8) {
            0 | 1 => 0.0,
            2 => random.between(-10.0, 10.0),
            3 => half - r - random.between(0.0, 4.0).min(clear),
            4 => -half + r + random.between(0.0, 4.0).min(clear),
            5 => half - random.between(-10.0, 30.0),
            _ => random.between(-half, half),
        };
    let (x0, x1) = across(floor, spacing, random);
    let section = Section::Round(diameter);
    let (from, to, section) = match random.below(12) {
        0 | 1 => {
            // In plan off square, and falling.
            let run = random.between(-0.8, 0.8) * (x1 - x0).min(900.0);
            let fall = random.between(-0.03, 0.03) * (x1 - x0);
            (dvec3(x0, y, z), dvec3(x1, y + run, z + fall), section)
        }
        2 => {
            let along = random.between(20.0, 220.0);
            let up = random.between(15.0, 90.0);
            (dvec3(x0, y, z), dvec3(x1, y, z), Section::Rectangle(along, up))
        }
        3 => {
            // Upright, near a joist.
            let diameter = if random.one_in(2) { 110.0 } else { diameter };
            let x = near(floor, random, diameter / 4.0);
            let reach =
                if random.one_in(3) { random.between(-0.4, 0.4) * half } else { half + 300.0 };
            let low = floor.middle() - half - 300.0;
            (dvec3(x, y, low), dvec3(x, y, floor.middle() + reach), Section::Round(diameter))
        }
        4 => {
            let x = near(floor, random, r);
            let run = random.pick(&[40.0, 70.0, 200.0, 500.0], 200.0);
            let inside = z.clamp(floor.middle() - half + r + 3.0, floor.middle() + half - r - 3.0);
            (dvec3(x, y, inside), dvec3(x, y + run, inside), section)
        }
        5 => {
            // Ends inside a joist.
            let joist = floor.joists.get(random.below(floor.joists.len())).copied().unwrap_or(0.0);
            let stop = joist + random.between(-0.4, 0.4) * floor.breadth;
            (dvec3(x0.min(joist - 80.0), y, z), dvec3(stop, y, z), section)
        }
        _ => (dvec3(x0, y, z), dvec3(x1, y, z), section),
    };
    Through { name: String::new(), from, to, section }
}

/// From one bay to another, both ends in the middle of their bays.
fn across(floor: &Floor, spacing: f64, random: &mut Random) -> (f64, f64) {
    let first = floor.joists.first().copied().unwrap_or(0.0) - spacing / 2.0;
    let bays = floor.joists.len() + 1;
    let (a, b) = (random.below(bays), random.below(bays));
    let (a, b) = if a == b { (0, bays - 1) } else { (a.min(b), a.max(b)) };
    let at = |bay: usize| first + spacing * f64::from(u32::try_from(bay).unwrap_or(0));
    (at(a) + random.between(-30.0, 30.0), at(b) + random.between(-30.0, 30.0))
}

/// Beside or inside a joist.
fn near(floor: &Floor, random: &mut Random, r: f64) -> f64 {
    let joist = floor.joists.get(random.below(floor.joists.len())).copied().unwrap_or(0.0);
    joist + random.between(-1.0, 1.0) * (floor.breadth / 2.0 + r)
}
