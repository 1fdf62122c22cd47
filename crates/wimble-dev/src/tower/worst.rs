//! The worst case of each stage.

use super::text::Text;
use super::{DEPTH, LENGTH, PITCH, WALL, Written};
use std::f64::consts::TAU;
use std::io::{self, Write};

/// Pipes through one joist, this far apart.
const APART: f64 = 120.0;

/// All pipes through one joist, which is as long as they need.
///
/// # Errors
/// Those of the writer.
pub fn one_joist(pipes: usize, out: &mut impl Write) -> io::Result<Written> {
    let mut text = Text::begin(out, "one-joist.ifc")?;
    let storey = text.storey(0, 0.0)?;
    let length = APART * (pipes + 1) as f64;
    let joist = text.joist(&storey, [0.0, 0.0, -DEPTH / 2.0], length)?;
    text.of_timber(&[joist])?;
    let mut of_storey = vec![joist];
    of_storey.push(text.wall(&storey, 0.0, WALL / 2.0, PITCH)?);
    of_storey.push(text.wall(&storey, length - WALL / 2.0, WALL / 2.0, PITCH)?);
    for n in 1..=pipes {
        let at = [-PITCH / 2.0, APART * n as f64, -DEPTH / 2.0];
        of_storey.push(text.pipe(&storey, at, PITCH, 22.0)?);
    }
    text.contained(&storey, &of_storey)?;
    let pipes = pipes as u64;
    let mut written = Written { members: 1, services: pipes, cuts: pipes, ..Written::default() };
    text.end(&mut written)?;
    Ok(written)
}

/// One pipe through all joists of an endless floor.
///
/// # Errors
/// Those of the writer.
pub fn one_pipe(joists: usize, out: &mut impl Write) -> io::Result<Written> {
    let mut text = Text::begin(out, "one-pipe.ifc")?;
    let storey = text.storey(0, 0.0)?;
    let long = PITCH * joists as f64;
    let mut of_storey = super::joists_of_bay(&mut text, &storey, 0.0, joists, &mut Vec::new())?;
    of_storey.push(text.wall(&storey, 0.0, WALL / 2.0, long)?);
    of_storey.push(text.wall(&storey, LENGTH - WALL / 2.0, WALL / 2.0, long)?);
    of_storey.push(text.pipe(&storey, [0.0, 1200.0, -DEPTH / 2.0], long, 22.0)?);
    text.contained(&storey, &of_storey)?;
    let joists = joists as u64;
    let mut written = Written { members: joists, services: 1, cuts: joists, ..Written::default() };
    text.end(&mut written)?;
    Ok(written)
}

/// A small tower's worth of nothing: tiny records that no element uses.
///
/// # Errors
/// Those of the writer.
pub fn many_records(records: usize, out: &mut impl Write) -> io::Result<Written> {
    let mut text = Text::begin(out, "records.ifc")?;
    for n in 0..records {
        text.plain("IFCDIRECTION", format_args!("(1.,{}.)", n % 10))?;
    }
    let mut written = Written::default();
    text.end(&mut written)?;
    Ok(written)
}

/// One joist, and pipes through it whose bodies are faceted with `sides` sides each.
///
/// # Errors
/// Those of the writer.
pub fn round_bodies(pipes: usize, sides: usize, out: &mut impl Write) -> io::Result<Written> {
    let mut text = Text::begin(out, "bodies.ifc")?;
    let storey = text.storey(0, 0.0)?;
    let length = APART * (pipes + 1) as f64;
    let joist = text.joist(&storey, [0.0, 0.0, -DEPTH / 2.0], length)?;
    text.of_timber(&[joist])?;
    let mut of_storey = vec![joist];
    of_storey.push(text.wall(&storey, 0.0, WALL / 2.0, PITCH)?);
    of_storey.push(text.wall(&storey, length - WALL / 2.0, WALL / 2.0, PITCH)?);
    for n in 1..=pipes {
        let at = [0.0, APART * n as f64, -DEPTH / 2.0];
        let body = faceted(&mut text, at, sides)?;
        of_storey.push(text.product_of(
            &storey,
            "IFCPIPESEGMENT",
            "Brep",
            body,
            ".RIGIDSEGMENT.",
        )?);
    }
    text.contained(&storey, &of_storey)?;
    let pipes = pipes as u64;
    let mut written = Written { members: 1, services: pipes, cuts: pipes, ..Written::default() };
    text.end(&mut written)?;
    Ok(written)
}

/// A round bar of 22 mm along X, about a point, as a faceted boundary.
pub(super) fn faceted<W: Write>(
    text: &mut Text<'_, W>,
    [x, y, z]: [f64; 3],
    sides: usize,
) -> io::Result<u64> {
    let mut rings = [Vec::with_capacity(sides), Vec::with_capacity(sides)];
    for (ring, x) in rings.iter_mut().zip([x - PITCH / 2.0, x + PITCH / 2.0]) {
        for n in 0..sides {
            let (sin, cos) = (TAU * n as f64 / sides as f64).sin_cos();
            let (y, z) = (y + 11.0 * cos, z + 11.0 * sin);
            ring.push(text.plain("IFCCARTESIANPOINT", format_args!("({x:?},{y:?},{z:?})"))?);
        }
    }
    let [near, far] = rings;
    let mut faces = Vec::with_capacity(sides + 2);
    for n in 0..sides {
        let m = (n + 1) % sides;
        faces.push(face(text, &[near[n], far[n], far[m], near[m]])?);
    }
    faces.push(face(text, &near)?);
    faces.push(face(text, &far.into_iter().rev().collect::<Vec<_>>())?);
    let faces: Vec<String> = faces.iter().map(|face| format!("#{face}")).collect();
    let shell = text.plain("IFCCLOSEDSHELL", format_args!("({})", faces.join(",")))?;
    text.plain("IFCFACETEDBREP", format_args!("#{shell}"))
}

fn face<W: Write>(text: &mut Text<'_, W>, ring: &[u64]) -> io::Result<u64> {
    let ring: Vec<String> = ring.iter().map(|point| format!("#{point}")).collect();
    let ring = text.plain("IFCPOLYLOOP", format_args!("({})", ring.join(",")))?;
    let bound = text.plain("IFCFACEOUTERBOUND", format_args!("#{ring},.T."))?;
    text.plain("IFCFACE", format_args!("(#{bound})"))
}
