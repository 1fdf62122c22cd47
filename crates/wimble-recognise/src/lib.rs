//! From IFC elements to timber members, services, supports, spans and openings.
//!
//! The result is a [`Scene`]: plain values that crossing, rules and reports work on. A scene can
//! be made without any file (a site sheet, a test).

mod adapter;
mod alarm;
mod body_voids;
mod candidate;
mod core;
mod coverage;
mod duplicates;
mod kinds;
mod members;
mod openings;
mod pieces;
mod place;
mod scene;
mod services;
mod settings;
mod sorting;
mod stick;
mod supports;
mod timber;
#[cfg(test)]
mod tests;
mod words;

pub use adapter::{Source, recognise};
pub use scene::{Input, MemberBody, Part, PartKind, PartShape, Scene, ServiceBody, Warning};
pub use settings::{Mapping, RecogniseSettings, Selector, Stated, Take};
