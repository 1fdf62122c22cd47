//! Towers for measuring speed: floor over floor of joists on walls with pipes through them, and
//! the worst cases of each stage.
//!
//! A tower is written straight to its file, a few hundred bytes at a time, so that one of a million
//! members needs no memory. How many cuts it implies is known from how it is drawn: every pipe
//! ends midway between two joists, and pipes of one bay never share a place. The same numbers give
//! the same bytes.

mod everyday;
mod text;
mod worst;

pub use everyday::everyday;
pub use worst::{many_records, one_joist, one_pipe, round_bodies};

use crate::floors::Random;
use std::io::{self, Write};
use text::Text;

/// Joists of a bay, and bays of a floor.
const JOISTS: usize = 100;
const BAYS: usize = 20;
/// Joists: at these centres, of this size; millimetres.
const PITCH: f64 = 400.0;
const LENGTH: f64 = 4200.0;
const DEPTH: f64 = 220.0;
/// Floor to floor.
const STOREY: f64 = 2700.0;
/// Bearing walls: so thick, joists of two bays meeting at the middle.
const WALL: f64 = 200.0;
/// Levels along the joists, from their end, at which pipes run: four where holes may be, one in
/// mid span where they may not.
const LANES: [f64; 5] = [1150.0, 1450.0, 2100.0, 2750.0, 3050.0];
/// How far a pipe may lie off its lane and off mid-depth.
const STRAY: f64 = 40.0;
const STRAY_UP: f64 = 4.0;
/// Outside diameters of the pipes.
const PIPES: [f64; 4] = [15.0, 22.0, 22.0, 28.0];
/// One joist in this many has its hole already as an opening.
const OPENING: usize = 100;

/// A tower to be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tower {
    /// Number of joists, and of pipes.
    pub members: usize,
}

/// What was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Written {
    /// Instances.
    pub instances: u64,
    /// Bytes.
    pub bytes: u64,
    /// Joists.
    pub members: u64,
    /// Pipes.
    pub services: u64,
    /// Cuts that the pipes imply.
    pub cuts: u64,
}

impl Tower {
    /// Writes the tower as one IFC4 model.
    ///
    /// # Errors
    /// Those of the writer.
    pub fn write(self, out: &mut impl Write) -> io::Result<Written> {
        let mut text = Text::begin(out, "tower.ifc")?;
        let mut random = Random::new(4);
        let mut written = Written::default();
        for (floor, joists) in floors(self.members) {
            let storey = text.storey(floor, STOREY * floor as f64)?;
            let of_storey = bays(&mut text, &storey, joists, &mut random, &mut written)?;
            text.contained(&storey, &of_storey)?;
        }
        text.end(&mut written)?;
        Ok(written)
    }
}

/// The floors that so many joists make, with the joists of each.
fn floors(joists: usize) -> impl Iterator<Item = (usize, usize)> {
    let of_floor = JOISTS * BAYS;
    (0..joists.div_ceil(of_floor)).map(move |n| (n, of_floor.min(joists - n * of_floor)))
}

/// The walls, joists and pipes of one floor, bay by bay; the elements made.
fn bays<W: Write>(
    text: &mut Text<'_, W>,
    storey: &text::Storey,
    joists: usize,
    random: &mut Random,
    written: &mut Written,
) -> io::Result<Vec<u64>> {
    let mut of_storey = Vec::new();
    let (mut left, mut walls) = (joists, 0);
    for bay in 0..BAYS {
        let joists = left.min(JOISTS);
        if joists == 0 {
            break;
        }
        left -= joists;
        let y = LENGTH * bay as f64;
        for at in walls..=bay + 1 {
            let near = LENGTH * at as f64 - WALL / 2.0;
            of_storey.push(text.wall(storey, near, WALL, PITCH * JOISTS as f64)?);
        }
        walls = bay + 2;
        let bodies = joists_of_bay(text, storey, y, joists, &mut of_storey)?;
        written.members += joists as u64;
        let pipes = pipes_of_bay(text, storey, random, (y, joists), &bodies, &mut of_storey)?;
        written.services += pipes.0;
        written.cuts += pipes.1;
    }
    Ok(of_storey)
}

/// The joists of a bay side by side along X; their instances.
fn joists_of_bay<W: Write>(
    text: &mut Text<'_, W>,
    storey: &text::Storey,
    y: f64,
    joists: usize,
    of_storey: &mut Vec<u64>,
) -> io::Result<Vec<u64>> {
    let mut made = Vec::with_capacity(joists);
    for n in 0..joists {
        let joist = text.joist(storey, [PITCH * (n as f64 + 0.5), y, -DEPTH / 2.0], LENGTH)?;
        made.push(joist);
        of_storey.push(joist);
    }
    text.of_timber(&made)?;
    Ok(made)
}

/// As many pipes as joists, lane by lane; how many, and how many joists they cross.
fn pipes_of_bay<W: Write>(
    text: &mut Text<'_, W>,
    storey: &text::Storey,
    random: &mut Random,
    (y, joists): (f64, usize),
    bodies: &[u64],
    of_storey: &mut Vec<u64>,
) -> io::Result<(u64, u64)> {
    let (mut pipes, mut cuts) = (0, 0);
    let mut lanes = LANES.iter();
    let mut lane = lanes.next();
    let mut from = 0;
    while pipes < joists as u64 {
        let Some(along) = lane else { break };
        // Two to seven joists: 0.8 to 2.8 m.
        let crossed = (2 + random.below(6)).min(joists - from);
        if crossed == 0 {
            lane = lanes.next();
            from = 0;
            continue;
        }
        let diameter = random.pick(&PIPES, 22.0);
        let at = [
            PITCH * from as f64,
            y + along + random.between(-STRAY, STRAY),
            -DEPTH / 2.0 + random.between(-STRAY_UP, STRAY_UP),
        ];
        of_storey.push(text.pipe(storey, at, PITCH * crossed as f64, diameter)?);
        if pipes % OPENING as u64 == 0
            && let Some(host) = bodies.get(from)
        {
            text.opening(
                storey,
                *host,
                [PITCH * (from as f64 + 0.5), at[1], at[2]],
                diameter + 5.0,
            )?;
        }
        pipes += 1;
        cuts += crossed as u64;
        from += crossed;
    }
    Ok((pipes, cuts))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(members: usize) -> (Vec<u8>, Written) {
        let mut bytes = Vec::new();
        let written = Tower { members }.write(&mut bytes).unwrap();
        (bytes, written)
    }

    #[test]
    fn a_tower_has_the_proportions_of_a_large_building() {
        let (bytes, written) = written(4000);
        assert_eq!(bytes.len() as u64, written.bytes);
        assert_eq!(written.members, 4000);
        assert!(written.services > 3900, "{written:?}");
        let cuts = written.cuts as f64 / written.members as f64;
        assert!((4.0..5.0).contains(&cuts), "{cuts} cuts a joist");
        let instances = written.instances as f64 / (written.members + written.services) as f64;
        assert!((11.0..13.5).contains(&instances), "{instances} instances an element");
        assert!(bytes.iter().filter(|b| **b == b'#').count() as u64 > 2 * written.instances);
    }

    #[test]
    fn the_same_bytes_every_time() {
        assert!(written(300) == written(300));
    }
}
