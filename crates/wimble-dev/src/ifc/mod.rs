//! A writer of IFC models for demo buildings and tests.
//!
//! Knows nothing of reading: what it writes is the other side's word, in three schemas and four
//! length units, so that a test can hold the reader against it. Coordinates are handed over in
//! millimetres of the building; [`Setup`] decides in which unit they are written and where the
//! building stands in the world.
//!
//! GlobalIds are hashes of names, times are fixed: the same calls give the same bytes.

mod element;
mod file;
mod guid;
mod model;
mod relate;
mod setup;
mod shape;
mod value;

pub use element::{Element, Substance, SubstanceUse, TypeOf};
pub use file::{File, Layout, LineEnding, Schema};
pub use guid::guid;
pub use model::{Container, Model};
pub use setup::{Georeference, LengthUnit, Setup, WorldBy};
pub use shape::{Faces, HalfSpace, Outline, Path, Shape, frame_along};
pub use value::{Id, Value};
