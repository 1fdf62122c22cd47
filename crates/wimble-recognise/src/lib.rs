//! From IFC elements to timber members, services, supports, spans and openings.
//!
//! The result is a [`Scene`]: plain values that crossing, rules and reports work on. A scene can
//! be made without any file (a site sheet, a test).

mod scene;
mod words;

pub use scene::{Input, MemberBody, Part, PartKind, PartShape, Scene, ServiceBody, Warning};
