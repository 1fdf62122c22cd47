//! Where services meet members, and the cut that each crossing implies.
//!
//! How a cut is measured is defined once, in `docs/measuring.md`; the steps of its section "From
//! a crossing to a cut" are the modules of this crate:
//!
//! 1. `settings`: clearance and lagging of a service.
//! 2. `timber`, `body`, `crossed`: whether the bare service enters the member, and the envelope of
//!    what it takes with its clearance.
//! 3. `group`: pieces of one run united, nested services set aside, services taken into the
//!    openings that hold them.
//! 4. `merge`: overlapping envelopes are one cut.
//! 5. `joinery`, `kind`, `figures`: what the cut is, and its figures.
//!
//! `in_member` takes these steps for one member. A service with nothing beside it, as nearly all have
//! nothing, goes from 2 to 5 directly.
//!
//! [`cross`] does it for a whole `Scene`; a [`Crosser`] keeps what is sorted once, to ask for one
//! member again with services moved; [`tight_to`] lists services that touch timber only with their
//! clearance. The order of the cuts is by member, x0, z0, kind, whatever the number of threads.
//!
//! ```
//! use wimble_cross::{CrossSettings, cross};
//! use wimble_recognise::Scene;
//! assert!(cross(&Scene::default(), &CrossSettings::default()).is_empty());
//! ```
//!
//! Not here: what is allowed (`wimble-rules`). Cuts leave with the verdict `pass`, no margin and no
//! obligations.

mod body;
mod crossed;
mod crosser;
mod figures;
mod group;
mod in_member;
mod joinery;
mod kind;
mod knock_outs;
mod merge;
mod settings;
#[cfg(test)]
mod testing;
#[cfg(test)]
mod tests;
mod timber;

pub use crosser::{Change, Crosser, Tight, cross, recut, tight_to};
pub use settings::{Clearance, ClearanceKind, CrossSettings, LaggingMode};
