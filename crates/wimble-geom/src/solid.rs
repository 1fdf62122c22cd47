//! Solids.

use crate::{Mesh, Profile};
use glam::{DAffine3, DVec3};

/// A solid in the world (metres). Exact data is kept as long as it exists.
#[derive(Debug, Clone, PartialEq)]
pub enum Solid {
    /// A profile swept along a straight line.
    Prism(Prism),
    /// A straight round bar or tube with square ends.
    Cylinder(Cylinder),
    /// Anything else.
    Mesh(Mesh),
}

/// A profile swept along a straight line.
#[derive(Debug, Clone, PartialEq)]
pub struct Prism {
    /// Places the profile's plane: x and y axes (unit, at right angles) and origin; z = x × y.
    pub frame: DAffine3,
    /// The area that is swept.
    pub profile: Profile,
    /// The way it is swept, with its length; not in the profile's plane, not always square to it.
    pub sweep: DVec3,
}

/// A straight round bar or tube with square ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cylinder {
    /// Centre of one end.
    pub from: DVec3,
    /// Centre of the other end.
    pub to: DVec3,
    /// Outer radius.
    pub radius: f64,
    /// Inner radius of a hollow one.
    pub inner: Option<f64>,
}
