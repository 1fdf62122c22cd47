//! IFC2X3, IFC4 and IFC4X3 over wimble-step: units, placements, relations, materials, shapes as solids.

mod schema;

pub use schema::{Attribute, Class, Schema};
