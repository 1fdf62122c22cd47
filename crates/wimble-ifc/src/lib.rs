//! IFC2X3, IFC4 and IFC4X3 over [`wimble_step`]: what stands in a model, as plain answers.
//!
//! [`Model::open`] reads a file's header, units and representation context; everything else is
//! read when it is asked for. Instances are [`Row`](wimble_step::Row)s of the file; questions
//! about them are methods of [`Model`]:
//!
//! * what it is: [`Model::class`], [`Model::root`], [`Model::attribute`];
//! * where it is: [`Model::placement`] in world metres, [`Model::storey`], [`Model::container`],
//!   [`Model::whole`], [`Model::parts`];
//! * what shape it has: [`Model::body`], [`Model::axis`], [`Model::opening_solids`];
//! * what it is made of and what is said of it: [`Model::materials`], [`Model::properties`],
//!   [`Model::classifications`];
//! * what it is joined to: [`Model::voids`], [`Model::connections`], [`Model::connected`],
//!   [`Model::coverings`], [`Model::systems`].
//!
//! ```
//! use wimble_ifc::{Model, class};
//!
//! let model = Model::open(b"ISO-10303-21;HEADER;FILE_SCHEMA(('IFC4'));ENDSEC;DATA;
//!     #1=IFCPROJECT('p',$,$,$,$,$,$,$,#2);
//!     #2=IFCUNITASSIGNMENT((#3));
//!     #3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
//!     #4=IFCBEAM('b',$,'J1',$,$,#5,$,$,.JOIST.);
//!     #5=IFCLOCALPLACEMENT($,#6);
//!     #6=IFCAXIS2PLACEMENT3D(#7,$,$);
//!     #7=IFCCARTESIANPOINT((400.,0.,2600.));
//!     ENDSEC;END-ISO-10303-21;")?;
//! assert_eq!(model.units().length_name, "mm");
//! let [joist] = model.products() else { return Err("one product is expected".into()) };
//! assert!(model.is_a(*joist, class!("IfcBuildingElement")));
//! assert_eq!(model.root(*joist).predefined_type.as_deref(), Some("JOIST"));
//! assert!((model.placement(*joist)?.translation.z - 2.6).abs() < 1e-12);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Real files are wrong in many ways: a missing instance, an unknown class, an odd unit make a
//! [`Diagnostic`], never a panic, and an element that cannot be placed is a value that says why
//! ([`Unreadable`]).
//!
//! This crate opens no files, knows nothing of timber and judges nothing.

mod connections;
mod context;
mod diagnostic;
mod error;
mod georeference;
mod keywords;
mod material;
mod model;
mod placement;
mod property;
mod recent;
mod region;
mod relation;
mod root;
mod schema;
mod shape;
mod spatial;
#[cfg(test)]
mod testing;
mod units;
mod zip;

pub use crate::zip::{ZIP_LARGEST, ZIP_RATIO, ZIP_SMALL, ZipError, is_zip, unzip};
pub use connections::Classification;
pub use diagnostic::Diagnostic;
pub use error::{OpenError, Unreadable};
pub use georeference::{Georeference, GeoreferenceKind};
pub use material::{Material, MaterialKind, Materials};
pub use model::Model;
pub use property::{Measure, Number, Property, PropertySet, PropertyValue};
pub use region::Region;
pub use root::{GuidFault, Root, guid_fault};
pub use schema::{Attribute, Class, Schema};
pub use shape::{
    Bodies, Body, Census, Count, Item, Remark, SHAPE_KINDS, ShapeGroup, ShapeKind, Subtraction,
};
pub use units::Units;
