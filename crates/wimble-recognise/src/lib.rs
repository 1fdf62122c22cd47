//! From IFC elements to timber members, services, supports, spans and openings.
//!
//! [`recognise`] reads the models of a building and gives a [`Scene`]: plain values that crossing,
//! rules and reports work on. A scene can be made without any file (a site sheet, a test).
//!
//! How it goes:
//!
//! 1. `adapter` makes a plain candidate of every product; nothing behind it knows IFC.
//! 2. `sorting` looks at each alone: timber (`timber`: several kinds of evidence, never one), a
//!    service, something that may carry, an opening, a finish … The user's [`Mapping`] wins.
//! 3. `stick` finds axis, frame, section and ends of every piece, the same whatever way it was
//!    drawn; `pieces` puts together what is one member and splits what is several.
//! 4. `supports` finds what carries each member and the spans between; `kinds` tells joists from
//!    beams, trimmers from plies; `place` what part of the building it is and what stands on it.
//! 5. `openings` and `services` do the rest; `coverage` says how every product ended.
//!
//! Words are data (`words/vocabulary.toml`), in fourteen languages. All measures follow
//! `docs/measuring.md`, all judgements of practice `docs/practice.md`.
//!
//! ```
//! use wimble_ifc::Model;
//! use wimble_recognise::{Input, RecogniseSettings, Source, recognise};
//!
//! let model = Model::open(b"ISO-10303-21;HEADER;FILE_SCHEMA(('IFC4'));ENDSEC;DATA;
//!     #1=IFCPROJECT('p',$,$,$,$,$,$,$,#2);
//!     #2=IFCUNITASSIGNMENT((#3));
//!     #3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
//!     #4=IFCBEAM('b',$,'Floor joist 1',$,$,#5,#9,$,.JOIST.);
//!     #5=IFCLOCALPLACEMENT($,#6);
//!     #6=IFCAXIS2PLACEMENT3D(#7,#8,#20);
//!     #7=IFCCARTESIANPOINT((400.,0.,2510.));
//!     #8=IFCDIRECTION((0.,1.,0.));
//!     #20=IFCDIRECTION((1.,0.,0.));
//!     #9=IFCPRODUCTDEFINITIONSHAPE($,$,(#10));
//!     #10=IFCSHAPEREPRESENTATION($,'Body','SweptSolid',(#11));
//!     #11=IFCEXTRUDEDAREASOLID(#12,$,#13,3800.);
//!     #12=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,47.,220.);
//!     #13=IFCDIRECTION((0.,0.,1.));
//!     #14=IFCMATERIAL('C24',$,$);
//!     #15=IFCRELASSOCIATESMATERIAL('m',$,$,$,(#4),#14);
//!     ENDSEC;END-ISO-10303-21;")?;
//! let source = Source { input: Input::default(), model: &model };
//! let scene = recognise(&[source], &RecogniseSettings::default());
//!
//! let [joist] = scene.members.as_slice() else { return Err("one member is expected".into()) };
//! assert_eq!((joist.section.breadth_mm().round(), joist.section.depth_mm().round()), (47.0, 220.0));
//! assert!((joist.length_mm - 3800.0).abs() < 1e-6);
//! // Nothing carries it, and the scene says so.
//! assert!(joist.spans.is_empty() && joist.open_ends.len() == 2);
//! assert_eq!(scene.coverage.len(), 1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Not here: crossings, rules, wording of reports, files.

mod adapter;
mod alarm;
mod body_voids;
mod candidate;
mod core;
mod coverage;
mod duplicates;
mod kinds;
mod members;
mod neighbours;
mod openings;
mod pieces;
mod place;
mod rows;
mod scene;
mod services;
mod settings;
mod sorting;
mod stick;
mod supports;
#[cfg(test)]
mod tests;
mod timber;
mod words;

pub use adapter::{CLASS_USES, ClassUse, Elements, Source, moves, read, recognise};
pub use scene::{Input, MemberBody, Part, PartKind, PartShape, Scene, ServiceBody, Warning};
pub use settings::{Mapping, RecogniseSettings, Selector, Stated, Take, is_like};
