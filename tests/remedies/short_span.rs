//! A small floor of our own: three joists of a short span.

use wimble_dev::floors::{Floor, Section, Through};

/// Three joists of a short span, 47 × 170, with pipes across them: diameter and place. Zones for
/// holes: 0.25 to 0.40 of the 1000 from either face, 350 to 500 and 700 to 850. Too shallow for one
/// hole round two of the pipes.
pub(crate) fn short_span(pipes: &[(f64, f64)]) -> Floor {
    let pipe = |(n, (diameter, y)): (usize, &(f64, f64))| Through {
        name: format!("S{}", n + 1),
        from: glam::dvec3(-200.0, *y, 2510.0),
        to: glam::dvec3(1000.0, *y, 2510.0),
        section: Section::Round(*diameter),
    };
    Floor {
        breadth: 47.0,
        depth: 170.0,
        top: 2595.0,
        ends: [0.0, 1200.0],
        joists: vec![0.0, 400.0, 800.0],
        walls: vec![[0.0, 100.0], [1100.0, 1200.0]],
        services: pipes.iter().enumerate().map(pipe).collect(),
        clearance: 5.0,
    }
}
