//! The words of the trade as plain types.
//!
//! A [`Member`] (joist, beam, stud …) lies on [`Bearing`]s and so has [`Span`]s; a [`Service`]
//! (pipe, cable, duct …) crosses it and implies a [`Cut`]; a rule answers with a [`Verdict`],
//! told in a [`Finding`] with the [`Remedy`]s that would make it comply. Every element of the
//! input ends in a [`CoverageRow`].
//!
//! Rows refer to each other by index ([`MemberIx`], [`ServiceIx`], [`OpeningIx`], [`CutIx`]), never
//! by name: GlobalIds repeat in real models. Names for the outside are made by `wimble-report`.
//!
//! Units: `_mm` is millimetres in the member's own frame, `_m` metres in the world, `_deg`
//! degrees. How each figure is measured is defined once, in `docs/measuring.md`.
//!
//! ```
//! use wimble_model::Verdict;
//! // The worst of several verdicts counts: fail, then refer, then unknown, then pass.
//! assert_eq!(Verdict::Pass.max(Verdict::Refer).max(Verdict::Unknown), Verdict::Refer);
//! ```
//!
//! Not here: geometry (`wimble-geom`), reading, rules, wording.

mod besides;
mod coverage;
mod cut;
mod finding;
mod index;
mod member;
mod section;
mod service;
mod source;
mod survey;
mod verdict;

pub use besides::{Besides, Seldom};
pub use coverage::{CoverageRow, CoverageStatus};
pub use cut::{Circle, Cut, CutKind, CutShape, Edge, Opening, OpeningSource};
pub use finding::{
    Action, Bound, CutPlaces, Few, Finding, FreeWindows, Level, Limit, Measured, Obligation,
    ObligationKind, Remedy, RunMove, RunPlan, Shift, Unit,
};
pub use index::{CutIx, MemberIx, OpeningIx, ServiceIx};
pub use member::{
    Basis, Bearing, DeckLoad, DeckLoadKind, End, Frame, Member, MemberKind, Place, Role, Span,
    TimberMake,
};
pub use section::Section;
pub use service::{Lagging, Service, ServiceKind, ServiceMaterial, ServiceShape, Trade};
pub use source::{Element, Note, Storey};
pub use survey::Survey;
pub use verdict::Verdict;
