//! Random floors for tests: what a floor is, what is expected of it, and how it is written.
//!
//! A [`Floor`] is a row of joists on walls with services through them. [`expect`] works out its cuts
//! and verdicts from closed forms of its own (`docs/measuring.md` and the rules of `uk-solid-joist`,
//! written apart from the crates that are tested); it gives a [`Doubt`] where a hair decides or no closed
//! form is at hand. [`write()`] spells the same floor in a [`Style`]: schema, unit, representation,
//! nesting, place in the world, one file or two.

mod closed_form;
mod draw;
mod random;
mod rules;
mod style;

pub use closed_form::{Doubt, ExpectedCut, expect};
pub use draw::floor;
pub use random::Random;
pub use style::{MemberForm, ServiceForm, Style, write};

use glam::DVec3;

/// A row of joists along Y, all alike, on walls along X; millimetres, Z up.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// Breadth of every joist.
    pub breadth: f64,
    /// Depth of every joist.
    pub depth: f64,
    /// Level of the joists' tops.
    pub top: f64,
    /// Both ends of every joist.
    pub ends: [f64; 2],
    /// Centre lines of the joists, ascending.
    pub joists: Vec<f64>,
    /// Bearing walls under the joists: from and to along Y, ascending.
    pub walls: Vec<[f64; 2]>,
    /// What passes through.
    pub services: Vec<Through>,
    /// Clearance on the diameter.
    pub clearance: f64,
}

impl Floor {
    /// Name of a joist.
    #[must_use]
    pub fn joist_name(joist: usize) -> String {
        format!("J{}", joist + 1)
    }

    /// Level of mid-depth.
    #[must_use]
    pub fn middle(&self) -> f64 {
        self.top - self.depth / 2.0
    }
}

/// A straight service.
#[derive(Debug, Clone, PartialEq)]
pub struct Through {
    /// Name, unique in the floor.
    pub name: String,
    /// Centre of one end.
    pub from: DVec3,
    /// Centre of the other end.
    pub to: DVec3,
    /// Cross-section.
    pub section: Section,
}

/// Cross-section of a service.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Section {
    /// By diameter.
    Round(f64),
    /// Along the joists, and up.
    Rectangle(f64, f64),
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    /// What a hundred floors hold, so that a kind or verdict that is no longer drawn is missed.
    #[test]
    fn floors_hold_every_kind_and_verdict() {
        let mut seen: BTreeMap<(&str, &str), usize> = BTreeMap::new();
        let mut shared = 0;
        for seed in 0..100 {
            let floor = floor(&mut Random::new(seed));
            for cut in expect(&floor).unwrap() {
                *seen.entry((cut.kind, cut.verdict)).or_default() += 1;
                shared += usize::from(cut.services.len() > 1);
            }
        }
        println!("{seen:#?} shared {shared}");
        for wanted in [
            ("hole", "pass"),
            ("hole", "refer"),
            ("hole", "fail"),
            ("top-notch", "pass"),
            ("top-notch", "refer"),
            ("top-notch", "fail"),
            ("bottom-notch", "refer"),
            ("bottom-notch", "fail"),
            ("lengthwise", "refer"),
            ("lengthwise", "fail"),
            ("severed", "fail"),
            ("bore", "fail"),
            ("side-cut", "fail"),
            ("end-cut", "fail"),
        ] {
            assert!(seen.contains_key(&wanted), "no {wanted:?} in {seen:?}");
        }
        assert!(shared > 0);
    }
}
