//! Frames, boxes, solids and meshes, and what can be asked of them.
//!
//! World coordinates are f64 metres, Z up. Nothing here knows of IFC or of timber.
//!
//! * [`Aabb`]: a box along the axes.
//! * [`Profile`]: a plane area; [`Prism`]: a profile swept along a straight line;
//!   [`Cylinder`]; [`Mesh`]: triangles. [`Solid`] is any of these; exact data (a cylinder's
//!   radius, a prism's profile) is kept as long as it exists.
//! * [`Plane`], [`Convex`]: half spaces and convex bodies; [`CutBar`]: a round bar cut by half
//!   spaces, exact, and [`bar_through_box`] for one that goes right through a box;
//!   [`BroadPhase`]: which boxes are near a box.
//! * [`tolerance`]: every tolerance, once.

mod aabb;
mod bar;
mod boolean;
mod broad;
mod clip;
mod convex;
mod cut_solid;
mod least_circle;
mod least_rectangle;
mod mesh;
mod orient;
mod pieces;
mod plane;
mod polygon;
mod profile;
mod round;
mod solid;
mod through;
pub mod tolerance;
mod within;

pub use aabb::Aabb;
pub use bar::CutBar;
pub use boolean::{BooleanTrouble, HalfSpaces};
pub use broad::BroadPhase;
pub use convex::Convex;
pub use least_circle::{Disc, least_circle};
pub use least_rectangle::{Rectangle, convex_hull, least_area_rectangle};
pub use mesh::Mesh;
pub use pieces::convex_rings;
pub use plane::Plane;
pub use polygon::{
    clean_ring, clip_convex_ring, ring_area, ring_contains, triangulate, triangulate_compactly,
    triangulate_sparsely,
};
pub use profile::{Outline, Profile, Ring, circle_chords, circle_ring};
pub use round::fit_cylinder;
pub use solid::{Cylinder, Prism, Solid, cone, in_space, loft, sphere};
pub use through::bar_through_box;
